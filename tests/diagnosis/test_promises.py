"""For every fault a sequence of looks proves it and work makes the restart prime; checks see the rig and nothing else."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import product

import numpy as np
import pytest

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.catalogue import matrix
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.outlook import SPAN, Observer, check_keys, look_times
from simulator.diagnosis.usual_start import middle_place
from simulator.instruments.checks import CHECKS
from simulator.instruments.look import Look, joint_probability
from simulator.instruments.vacuum_tests import (
    BLANK_DURATION,
    CAPPED_DURATION,
    HOLD_DURATION,
    HOLD_FROM,
    HOLD_STEPS,
    fall_rate,
)
from simulator.physics.gas import hole_flow
from simulator.rig.faults import FAULTS
from simulator.rig.parts import Valve
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.rig import Rig, Site
from simulator.run import ControlStep, Run, Setup, rest_state, simulate
from simulator.run.outcome import proves
from simulator.run.parameters import pack
from tests.diagnosis.conftest import kept_for_tests

HOME = [("osier", name) for name in FAULTS if FAULTS[name].places(load_rig("osier"))]
AWAY = [
    (rig, name) for rig in ("alder", "reed", "sedge") for name in FAULTS if FAULTS[name].places(load_rig(rig))
]
OTHER_RIGS = [pytest.param(*pair, marks=pytest.mark.full) for pair in AWAY]
#: Faults that no look parts for sure, as the same work mends them and the same spot shows them.
TWINS = {
    "level_falls": {"strainer_high", "level_falls"},
    "strainer_high": {"strainer_high", "level_falls"},
    "flange_leaks": {"flange_leaks", "flange_works_loose"},
    "flange_works_loose": {"flange_leaks", "flange_works_loose"},
}
LIFTS = (3.0, 4.5, 6.0, 7.0, 7.5, 7.8, 8.4)  # [m]
#: Work at another part that mends it too.
ALSO_MENDS = {("joint_ring", "replace_hose")}


@lru_cache(maxsize=4)
def all_hypotheses(rig: str) -> HypothesisSet:
    return kept_for_tests(rig)


@lru_cache(maxsize=64)
def run_of(rig: Rig, site: Site, setup: Setup = Setup.NORMAL, duration: float = 180.0) -> Run:
    return simulate(rig, site, setup=setup, duration=duration, rtol=1e-5)


def altered(rig: str, name: str, size: float | None = None, place: str | None = None) -> tuple[Rig, Site]:
    item, sound, site = FAULTS[name], load_rig(rig), standard_site(rig)
    where = middle_place(item, sound, site) if place is None else place
    assert where is not None
    return item.apply(sound, site, item.sizes[len(item.sizes) // 2] if size is None else size, where)


@pytest.mark.parametrize(("rig", "name"), [*HOME, *OTHER_RIGS])
def test_looks_in_a_row_prove_each_fault(rig: str, name: str, request: pytest.FixtureRequest) -> None:
    """Needles, a start watched, and the likeliest outcome of every look: the fault, or its twin, stands out."""
    found = request.getfixturevalue("cases") if rig == "osier" else all_hypotheses(rig)
    sound, site = load_rig(rig), standard_site(rig)
    seen = Observer(sound, site).outlook(*altered(rig, name))
    belief = Belief(found)
    last = min(SPAN, seen.prime_time - 6.0) if np.isfinite(seen.prime_time) else SPAN
    times = np.arange(3.0, last, 3.0)
    needles = seen.needles.copy()
    if not sound.has_motive_gauge:
        needles[1] = np.nan
    belief = belief.update_gauges(1, times, needles[:, times.astype(int)])
    primed = float(seen.prime_time) if np.isfinite(seen.prime_time) else None
    end = (
        seen.outcome if primed is not None and seen.outcome in ("primed", "pumps_badly", "lost_prime") else ""
    )
    belief = belief.update_restart(1, SPAN, primed, end=end)
    for check, place in check_keys(sound):
        chances = seen.chances[check, place]
        for number, time in enumerate(look_times(CHECKS[check])):
            if np.isnan(time) or time == 90.0:
                outcome = CHECKS[check].outcomes[int(np.argmax(chances[number]))]
                belief = belief.update_check(check, outcome, place, time)
    twins = TWINS.get(name, {name})
    chance = sum(belief.by_fault().get(twin, 0.0) for twin in twins)
    if chance < 0.7:  # work at the likeliest other part is a look too: it is found in order
        other = next(fault for fault, _, _ in belief.top(3) if fault not in twins)
        work = REMEDIES[remedies_for(FAULTS[other].part)[0]]
        for where in work.places(sound):
            belief = belief.update_remedy(work.id, where, work.finding(*altered(rig, name), where))
        chance = sum(belief.by_fault().get(twin, 0.0) for twin in twins)
    assert chance > 0.7, belief.top(3)


#: Trouble that only costs seconds there, whatever its size and the lift: a short hose has little room in a hump.
ONLY_LATE = {("sedge", "hose_humped")}


@pytest.mark.parametrize(("rig", "name"), [*HOME, *OTHER_RIGS])
def test_the_right_work_makes_the_restart_prime_in_time(rig: str, name: str) -> None:
    card, item = load_rig(rig), FAULTS[name]
    if name == "sound":
        sound = run_of(card, standard_site(rig))
        assert proves(sound, sound)
        return
    # some faults trouble nobody at a small lift, and some of them nobody in a middle size
    for size, lift in product(item.sizes[len(item.sizes) // 2 :], LIFTS):
        here = replace(standard_site(rig), lift=lift)
        place = middle_place(item, card, here)
        assert place is not None
        broken, site = item.apply(card, here, size, place)
        sound = run_of(card, here, duration=300.0)
        if not proves(sound, sound):  # too high for it even in good order
            continue
        stays_bad = not proves(run_of(broken, site, duration=300.0), sound)
        if stays_bad or item.family == "instrument":
            break
    if (rig, name) in ONLY_LATE:
        assert run_of(broken, site, duration=300.0).prime_time > 1.1 * sound.prime_time
    else:
        assert stays_bad or item.family == "instrument"
    mended = []
    for work in REMEDIES.values():
        for where in work.places(broken):
            after = work.apply(broken, site, where)
            right = work.id in remedies_for(FAULTS[name].part) and where in ("", place)
            if after == (broken, site):
                continue
            if right:
                mended.append(proves(run_of(*after, duration=300.0), sound))
            elif stays_bad:
                assert not proves(run_of(*after, duration=300.0), sound) or (name, work.id) in ALSO_MENDS, (
                    work.id
                )
    assert any(mended)


def test_checks_see_the_rig_and_not_the_fault() -> None:
    """Two faults that alter the rig alike give the same chances: a torn gasket by two names."""
    observer = Observer(load_rig("osier"), standard_site())
    first = altered("osier", "flange_leaks", 0.005)
    other = replace(FAULTS["flange_leaks"], id="made_up", family="instrument", weight=0.5)
    second = other.apply(load_rig("osier"), standard_site(), 0.005)
    one, two = observer.outlook(*first), observer.outlook(*second)
    for key, chances in one.chances.items():
        np.testing.assert_array_equal(chances, two.chances[key])
    np.testing.assert_array_equal(one.needles, two.needles)


@pytest.mark.parametrize("check", ["walk_round", "listen_line", "exhaust_stream", "listen_pump"])
def test_a_cheap_look_again_and_again_is_no_proof(cases: HypothesisSet, check: str) -> None:
    """Ten misses weigh little more than two: a miss is mostly shared between repeats."""
    outcomes = CHECKS[check].outcomes
    missing = dict.fromkeys(outcomes, 0.4 / (len(outcomes) - 1)) | {outcomes[0]: 0.6}
    two = joint_probability(CHECKS[check], [(missing, outcomes[0])] * 2)
    ten = joint_probability(CHECKS[check], [(missing, outcomes[0])] * 10)
    assert ten > 0.6 * two
    belief = Belief(cases)
    chances = [belief.by_fault()["drain_open"]]
    for _ in range(6):
        belief = belief.update_check("walk_round", "in_order", "")
        chances.append(belief.by_fault()["drain_open"])
    assert chances[-1] > 0.5 * chances[1]


def outcome_of(kind: str, broken: tuple[Rig, Site], card: tuple[Rig, Site]) -> str:
    def blanked(rig: Rig, site: Site) -> Run:
        return run_of(rig, site, Setup.BLANKED, BLANK_DURATION)

    def capped(rig: Rig, site: Site) -> Run:
        return run_of(rig, site, Setup.CAPPED, CAPPED_DURATION)

    seen = Look(
        *broken,
        blank_run=lambda: blanked(*broken),
        sound_blank_run=lambda: blanked(*card),
        capped_run=lambda: capped(*broken),
        sound_capped_run=lambda: capped(*card),
    )
    chances = CHECKS[kind].probabilities(seen)
    return max(chances, key=lambda outcome: chances[outcome])


@pytest.mark.parametrize("rig", rig_names())
def test_the_half_split_parts_pump_end_and_hose(rig: str) -> None:
    card = load_rig(rig), standard_site(rig)
    for name in ("joint_ring", "hose_hole", "strainer_plugged", "liner_collapsed", "strainer_high"):
        assert outcome_of("blank_off", altered(rig, name), card) == "deep_quick", name
    for name in ("drain_open", "flange_leaks", "nrv_fouled"):
        size = FAULTS[name].size
        assert size is not None
        assert outcome_of("blank_off", altered(rig, name, size.large), card) in ("shallow", "nothing"), name
    assert outcome_of("blank_off", altered(rig, "screen_plugged", 0.975), card) == "deep_slow"
    for name in ("joint_ring", "hose_hole"):
        size = FAULTS[name].size
        assert size is not None
        told = outcome_of("capped_hose", altered(rig, name, size.large), card)
        assert told in ("shallow", "nothing", "deep_slow"), name
    assert outcome_of("capped_hose", altered(rig, "liner_collapsed"), card) in ("deep_quick", "deep_slow")
    assert outcome_of("capped_hose", altered(rig, "strainer_plugged"), card) == "deep_quick"


@pytest.mark.parametrize("hole", [0.001, 0.002])
def test_the_hold_test_falls_by_flow_over_volume(hole: float) -> None:
    """dp/dt = q/V while the flow is choked, isothermal: exact. V is the casing, q the choked flow of the hole."""
    rig, site = load_rig("alder"), standard_site("alder")
    rig = replace(rig, casing=replace(rig.casing, gasket_hole=hole))
    run = simulate(rig, site, duration=HOLD_DURATION, setup=Setup.BLANKED, controls=HOLD_STEPS)
    pressure = float(run.value("suction_pressure", HOLD_FROM))
    flow = hole_flow(run.atmosphere, pressure, np.pi / 4.0 * hole**2, site.air_temperature)
    exact = flow * 287.05 * site.air_temperature / rig.casing.volume
    assert fall_rate(run, rig, HOLD_FROM) == pytest.approx(exact, rel=0.02)


def test_a_ball_that_does_not_seat_under_a_full_line_shows_as_water_not_as_lost_vacuum() -> None:
    rig, site = altered("osier", "nrv_fouled", 25e-6)
    p = pack(rig, site)
    line = np.pi / 4.0 * rig.discharge.bore**2 * rig.discharge.length
    full = simulate(rig, site, start=rest_state(rig, site, p, 0.0, line), duration=60.0)
    empty = simulate(rig, site, duration=60.0)
    assert full.nrv_water.max() > 1e-5
    assert full.nrv_air.max() < 0.05 * empty.nrv_air.max()
    assert full.vacuum[250] > empty.vacuum[250]


def test_what_drifts_begins_sound_and_ends_badly() -> None:
    for name in ("flange_works_loose", "strainer_clogs", "level_falls", "line_bursts"):
        size = FAULTS[name].size
        assert size is not None
        for rig in rig_names():
            run = run_of(*altered(rig, name, size.large))
            sound = run_of(load_rig(rig), standard_site(rig))
            assert run.prime_time == pytest.approx(float(sound.prime_time), abs=0.5), (rig, name)
            assert not proves(run, sound), (rig, name)


def test_two_at_once_need_two_works() -> None:
    rig, site = altered("osier", "drain_open")
    rig, site = FAULTS["screen_plugged"].apply(rig, site, 0.985)
    sound = run_of(load_rig("osier"), standard_site())
    first = REMEDIES["close_drain"].apply(rig, site)
    assert not proves(run_of(*first), sound)
    assert proves(run_of(*REMEDIES["clean_screen"].apply(*first)), sound)


def test_the_cock_shuts_the_way_and_opens_it_again() -> None:
    rig, site = load_rig("alder"), standard_site("alder")
    steps = (ControlStep(0.0, 1.0, False), ControlStep(20.0, 1.0, True))
    run = simulate(rig, site, controls=steps, duration=100.0)
    assert run.vacuum[:199].max() < 200.0
    assert run.primed


def test_the_matrix_holds_every_fault_and_every_check_of_the_rig() -> None:
    rows = matrix(load_rig("sedge"), standard_site("sedge"))
    assert [row.fault for row in rows] == [n for n in FAULTS if FAULTS[n].places(load_rig("sedge"))]
    for row in rows:
        assert set(row.chances) == set(check_keys(load_rig("sedge")))
        assert all(abs(sum(chances.values()) - 1.0) < 1e-9 for chances in row.chances.values())


def test_a_made_up_fault_is_one_function_and_one_entry() -> None:
    """A fault nobody has thought of: checks answer to it at once, as they see only the rig."""
    odd = replace(
        FAULTS["drain_open"],
        id="made_up",
        part="frost_drain",
        change=lambda rig, site, size, place: (
            replace(rig, casing_drain=Valve(bore=0.01, opening=size)),
            site,
        ),
    )
    seen = Observer(load_rig("osier"), standard_site()).outlook(
        *odd.apply(load_rig("osier"), standard_site(), 1.0)
    )
    assert seen.outcome != "primed"
