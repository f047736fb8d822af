"""The fast integrator against SciPy's Radau at a relative tolerance of 1e-9 on the same compiled equations."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from simulator.compiled import PLAIN
from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.ramps import Ramp
from simulator.run import ControlStep, Setup, simulate
from simulator.run.reference import reference_run
from simulator.validation.comparison import Comparison, compare
from tests.conftest import thin

RIG, SITE = load_rig("osier"), standard_site()
AREA_CHANGE = (
    1e-4  # [-] of a hole's area, that a rig near stalling answers as strongly as the two methods differ
)

pytestmark = pytest.mark.skipif(
    PLAIN, reason="without the compiler there is one integrator, and no time for this"
)

FEW = (
    ("sound", 0.0),
    ("drain_open", 0.12),
    ("nrv_fouled", 25e-6),
    ("joint_ring", 0.007),
    ("belt_loose", 0.4),
    ("nozzle_plugged", 0.75),
    ("screen_plugged", 0.96),
    ("strainer_plugged", 0.99),
    ("liner_collapsed", 15e3),
)


def prime_moves(rig_name: str, fault: str, size: float, place: str, options: dict) -> float:
    """How far the prime time moves [s] when the area of the fault's opening changes by 1e-4."""
    share = 1.0 + (0.5 * AREA_CHANGE if fault == "joint_ring" else AREA_CHANGE)  # a diameter counts twice
    rig = load_rig(rig_name)
    times = [
        simulate(*FAULTS[fault].apply(rig, SITE, value, place), **options).prime_time
        for value in (size, size * share, size / share)
        if FAULTS[fault].size.low <= value <= FAULTS[fault].size.high
    ]
    if any(math.isnan(time) for time in times):
        return 0.0 if all(math.isnan(time) for time in times) else math.inf
    return max(times) - min(times)


def assert_same(found: Comparison, moves=lambda: 0.0) -> None:
    assert found.same_course, found.sentence()
    assert found.same_prime or found.prime_gap <= moves() + 1e-9, found.sentence()


def hold_against(rig_name: str, fault: str, size: float, **options) -> None:
    rig = load_rig(rig_name)
    place = FAULTS[fault].places(rig, SITE)[-1]
    altered = FAULTS[fault].apply(rig, SITE, size, place)
    found = compare(simulate(*altered, **options), reference_run(*altered, **options))
    assert_same(found, lambda: prime_moves(rig_name, fault, size, place, options))


@pytest.mark.full
@pytest.mark.parametrize(("fault", "size"), thin(*map(list, FEW)), ids=lambda value: str(value))
def test_a_few_faults(fault, size):
    hold_against("osier", fault, size, duration=30.0 if fault == "nozzle_plugged" else 120.0)


def every_fault() -> list[tuple[str, str, float]]:
    """Each fault at its three sizes on the 150 mm rig, and at one of them, in turn, on each of the others.

    The equations are the same on every rig, and each comparison takes two seconds: what another rig adds is its scale.
    """
    out = []
    for turn, rig in enumerate(rig_names()):
        for number, (fault, item) in enumerate(FAULTS.items()):
            if item.places(load_rig(rig), SITE):
                sizes = item.sizes if rig == "osier" else item.sizes[(number + turn) % len(item.sizes) :][:1]
                out += [(rig, fault, size) for size in sizes]
    return out


@pytest.mark.full
@pytest.mark.parametrize(("rig_name", "fault", "size"), every_fault())
def test_every_fault_at_three_sizes(rig_name, fault, size):
    hold_against(rig_name, fault, size, duration=200.0)


@pytest.mark.parametrize(
    "options",
    thin(
        {
            "setup": Setup.BLANKED,
            "controls": (ControlStep(0.0, 1.0), ControlStep(40.0, 1.0, cock_open=False)),
        },
        {"controls": (ControlStep(0.0, 1.0), ControlStep(55.0, 0.6), ControlStep(65.0, 0.0))},
        {"ramps": (Ramp("level_drop", 60.0, 80.0, 0.0, 1.4),)},
        {"gas_exponent": 1.4},
    ),
    ids=("hold", "shut-down", "falling level", "polytropic"),
)
def test_other_ways_to_run(options):
    run, reference = (
        simulate(RIG, SITE, duration=90.0, **options),
        reference_run(RIG, SITE, duration=90.0, **options),
    )
    assert_same(compare(run, reference))


def test_going_on_from_a_state():
    start = simulate(RIG, SITE, duration=20.0).state_at(20.0)
    options = {"start": start, "start_time": 20.0, "duration": 40.0}
    assert_same(compare(simulate(RIG, SITE, **options), reference_run(RIG, SITE, **options)))


@pytest.mark.full
def test_two_reference_methods_agree_better_than_the_rule_by_far():
    radau, bdf = (reference_run(RIG, SITE, duration=60.0, method=m) for m in ("radau", "bdf"))
    assert radau.solver.method == "radau"
    assert bdf.solver.method == "bdf"
    assert [event.kind for event in radau.events] == [event.kind for event in bdf.events]
    assert np.abs(radau.suction_pressure - bdf.suction_pressure).max() < 1.0
    assert max(abs(a.time - b.time) for a, b in zip(radau.events, bdf.events, strict=True)) < 1e-4


def test_its_books_close_to_rounding():
    run = reference_run(RIG, SITE, duration=60.0)
    assert (
        max(abs(run.balance.air_error), abs(run.balance.water_error), abs(run.balance.motive_error)) < 1e-10
    )


def test_an_unknown_method_is_refused():
    with pytest.raises(InputError, match="radau or bdf"):
        reference_run(RIG, SITE, method="euler")


def test_differences_are_seen():
    """The comparison itself: a run moved by what the rules forbid does not pass."""
    run = simulate(RIG, SITE, duration=80.0)
    assert compare(run, run).same_course
    assert compare(run, run).same_prime
    higher = replace(run, series=run.series + 60.0)
    assert not compare(higher, run).same_course
    later = replace(run, prime_time=run.prime_time + 0.3)
    assert not compare(later, run).same_prime
    never = replace(run, prime_time=math.nan)
    assert not compare(never, run).same_prime
    fewer = replace(run, events=run.events[:-1])
    assert not compare(fewer, run).same_course
    moved = simulate(RIG, replace(SITE, lift=3.01), duration=80.0)
    assert not compare(moved, run).same_course


def test_a_repeating_run_is_compared_by_count_mean_and_envelope():
    rig, site = FAULTS["nozzle_plugged"].apply(RIG, SITE, 0.8)
    run = simulate(rig, site, duration=30.0)
    pops = [event for event in run.events if event.kind == "relief_pop"]
    assert len(pops) >= 20
    one_less = replace(run, events=tuple(event for event in run.events if event is not pops[-1]))
    found = compare(one_less, run)
    assert found.repeating
    assert found.count_gap == pytest.approx(1.0 / len(pops))
    assert not found.same_course or len(pops) >= 100


def test_a_strainer_that_gulps_air_makes_a_run_that_repeats_itself():
    """Each gulp ends as the column it slows answers, so a thousandth of a second in one grows from gulp to gulp."""
    run = simulate(*FAULTS["level_falls"].apply(RIG, SITE, 1.4, ""), duration=90.0)
    assert compare(run, run).repeating
    later = replace(run, series=np.roll(run.series, 1, axis=1))
    assert compare(later, run).pressure_gap > 50.0
    assert compare(later, run).same_course
    assert not compare(replace(run, series=1.02 * run.series), run).same_course
    sound = simulate(RIG, SITE, duration=90.0)
    assert not compare(sound, sound).repeating
