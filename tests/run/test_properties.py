"""What holds for every run: over rig, site, fault, severity, set-up and controls; and where more means longer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.run import Setup, simulate
from simulator.run.batch import Case, CaseFailed, run_batch
from simulator.validation.invariants import breaches
from simulator.validation.random_cases import draw_case, random_cases
from tests.conftest import examples, thin

SITE = standard_site()
GRID = 0.1  # [s], what a prime time is told to
FAST = settings(
    max_examples=examples(60), deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)


class SearchChooser:
    """Choices made by the searching tool, so that a failure is boiled down to the smallest case."""

    def __init__(self, data: st.DataObject) -> None:
        self.data = data

    def between(self, low: float, high: float) -> float:
        return self.data.draw(st.floats(low, high))

    def one_of(self, things: Sequence[Any]) -> Any:
        return self.data.draw(st.sampled_from(list(things)))


@FAST
@given(st.data())
def test_what_always_holds(data):
    case = draw_case(SearchChooser(data))
    run = simulate(case.rig, case.site, **case.options)
    assert breaches(run) == []
    time = data.draw(st.floats(0.0, float(run.time[-1])))
    assert math.isfinite(run.value("suction_pressure", time))


@pytest.mark.full
def test_five_thousand_random_cases():
    """Without one failed run and without one breach."""
    failed, broken = [], []
    for seed in range(10):
        cases = random_cases(500, seed)
        for number, run in enumerate(run_batch(cases, return_exceptions=True)):
            if isinstance(run, CaseFailed):
                failed.append(f"seed {seed}, {run}")
            else:
                broken += [f"seed {seed}, case {number}: {sentence}" for sentence in breaches(run)]
    assert failed == []
    assert broken == []


def test_the_same_case_gives_the_same_figures():
    first, again = (run_batch(random_cases(6, seed=3)) for _ in range(2))
    for one, two in zip(first, again, strict=True):
        assert np.array_equal(one.series, two.series)
        assert one.events == two.events


def test_a_breach_is_seen():
    run = simulate(load_rig("osier"), SITE, duration=60.0)
    assert breaches(run) == []
    spoiled = run.series.copy()
    spoiled[0, 100] = 2000.0
    assert "vapour pressure" in breaches(replace(run, series=spoiled))[0]
    spoiled[0, 100] = math.nan
    assert breaches(replace(run, series=spoiled)) == ["a figure is not finite"]
    states = run.states.copy()
    states[5, 1] = -1e-3
    assert "casing air" in breaches(replace(run, states=states))[0]
    assert "air_error" in breaches(replace(run, balance=replace(run.balance, air_error=2e-6)))[0]


def prime_times(cases: list[Case]) -> np.ndarray:
    """Prime time of each [s]; inf for never."""
    runs = run_batch(cases, channels=("suction_pressure",), every=1.0)
    times = np.array([run.prime_time for run in runs])
    return np.where(np.isnan(times), np.inf, times)


def assert_never_sooner(times: np.ndarray, what: str) -> None:
    """Along a growing quantity no prime time lies before any earlier one, but for one tick of the grid."""
    best_so_far = np.maximum.accumulate(times)
    for value, before in zip(times[1:], best_so_far[:-1], strict=True):
        assert value >= before - GRID - 1e-9, f"{what}: {np.array2string(times, precision=1)}"


WORSE = ("drain_open", "nrv_fouled", "joint_ring", "screen_plugged", "strainer_plugged")


def check_worse_is_never_sooner(rig_name: str, fault: str, place: str, lift: float, count: int) -> None:
    rig, size = load_rig(rig_name), FAULTS[fault].size
    site = replace(SITE, lift=lift)
    cases = [
        Case(*FAULTS[fault].apply(rig, site, float(value), place), {"duration": 400.0})
        for value in np.linspace(size.low, size.high, count)
    ]
    times = prime_times([Case(rig, site, {"duration": 400.0}), *cases])
    assert_never_sooner(times, f"{rig_name}, {fault} {place}, lift {lift} m")


@pytest.mark.parametrize("fault", WORSE)
def test_a_worse_leak_screen_or_strainer_never_primes_sooner(fault):
    rig = load_rig("osier")
    check_worse_is_never_sooner("osier", fault, FAULTS[fault].places(rig, SITE)[-1], SITE.lift, 12)


@pytest.mark.full
@pytest.mark.parametrize("lift", [1.0, 3.0, 5.5])
@pytest.mark.parametrize("fault", WORSE)
@pytest.mark.parametrize("rig_name", rig_names())
def test_worse_is_never_sooner_on_any_rig(rig_name, fault, lift):
    for place in FAULTS[fault].places(load_rig(rig_name), replace(SITE, lift=lift)):
        check_worse_is_never_sooner(rig_name, fault, place, lift, 20)


def with_hose(rig, **changes):
    """The rig with another hose, its joints and liner at the same shares of the length."""
    hose = rig.suction_hose
    stretch = changes.get("length", hose.length) / hose.length
    joints = tuple(replace(joint, position=joint.position * stretch) for joint in hose.joints)
    liner = replace(hose.liner, position=hose.liner.position * stretch)
    return replace(rig, suction_hose=replace(hose, joints=joints, liner=liner, **changes))


HARDER = {
    "more lift": lambda rig, site: [
        (with_hose(rig, length=11.0), replace(site, lift=lift)) for lift in np.linspace(1.0, 8.0, 8)
    ],
    "higher up": lambda rig, site: [
        (rig, replace(site, altitude=height)) for height in np.linspace(0.0, 3000.0, 7)
    ],
    "warmer water": lambda rig, site: [
        (rig, replace(site, water_temperature=273.15 + warmth)) for warmth in np.linspace(1.0, 60.0, 7)
    ],
    "longer hose": lambda rig, site: [
        (with_hose(rig, length=length), site) for length in np.linspace(8.0, 30.0, 8)
    ],
    "larger bore": lambda rig, site: [
        (with_hose(rig, bore=rig.suction_hose.bore * factor), site) for factor in np.linspace(0.8, 1.4, 7)
    ],
}


@pytest.mark.parametrize("rig_name", rig_names())
@pytest.mark.parametrize("harder", HARDER)
def test_a_harder_site_takes_longer(harder, rig_name):
    """Common practice, no source: more lift, altitude, warmer water, longer hose, larger bore: longer."""
    cases = [Case(*pair, {"duration": 600.0}) for pair in HARDER[harder](load_rig(rig_name), SITE)]
    times = prime_times(cases)
    assert_never_sooner(times, f"{rig_name}, {harder}")
    assert times[-1] > times[0] + 2.0 * GRID, f"{rig_name}, {harder}: {times}"


def closed_suction_vacuum(rig_name: str, fault: str, count: int) -> np.ndarray:
    """Vacuum [Pa] that a plate on the flange holds after two minutes, along a motive-side fault's sizes."""
    rig, size = load_rig(rig_name), FAULTS[fault].size
    cases = [
        Case(*FAULTS[fault].apply(rig, SITE, float(value)), {"setup": Setup.BLANKED, "duration": 240.0})
        for value in np.linspace(size.low, size.high, count)
    ]
    cases.insert(0, Case(rig, SITE, cases[0].options))
    runs = run_batch(cases)
    return np.array([run.vacuum[-300:].mean() for run in runs])


@pytest.mark.parametrize("fault", ["belt_loose", "nozzle_plugged"])
@pytest.mark.parametrize("rig_name", thin(*rig_names()))
def test_past_the_optimum_a_worse_motive_side_never_deepens_the_closed_vacuum(rig_name, fault):
    """A mild fault may deepen it; from the deepest on it only gets shallower, within 20 Pa of popping's ripple."""
    vacuum = closed_suction_vacuum(rig_name, fault, 16)
    past = vacuum[int(np.argmax(vacuum)) :]
    assert np.diff(past).max(initial=0.0) < 20.0, np.array2string(vacuum, precision=0)
    assert past[-1] < 0.5 * vacuum.max()
