"""The spread of hypotheses, what remedies make of them, and what they show."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypotheses import LATE_TIMES, MOST, PAIRED, situations, sizes_of, spread
from simulator.diagnosis.hypothesis_set import StoppedError, content_key, hypothesis_set
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.remedies import remedies_for
from simulator.rig.rig import Site
from simulator.run import Setup, simulate
from simulator.scenario import load_scenario

RIG, SITE = load_rig("osier"), standard_site()
CALLS = Path(__file__).parents[2] / "lessons" / "scenarios"


def test_every_fault_is_among_them_with_its_weight() -> None:
    found = spread(RIG, SITE)
    assert found[0].fault == "sound"
    assert len(found) <= MOST
    here = {name: fault for name, fault in FAULTS.items() if fault.places(RIG, SITE)}
    total = sum(fault.weight for fault in here.values())
    assert {h.fault for h in found} == set(here)
    for name, fault in here.items():
        share = sum(h.weight for h in found if h.fault == name)
        assert share == pytest.approx(fault.weight / total, rel=1e-9)


@pytest.mark.parametrize("never", [("intake_blocked",), ("sound",), PAIRED])
def test_a_fault_that_a_trainer_never_lets_be_drawn_can_still_be_believed_in(
    never: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in never:
        monkeypatch.setitem(FAULTS, name, replace(FAULTS[name], weight=0.0))
    found = spread(RIG, SITE, pairs=len(never) > 1)
    assert all(h.weight > 0.0 for h in found)
    assert sum(h.weight for h in found) == pytest.approx(1.0, rel=1e-12)
    here = [name for name in never if FAULTS[name].places(RIG, SITE)]
    assert sum(h.weight for h in found if h.fault in here and not h.second) < 1e-3 * len(here)
    cases = hypothesis_set(RIG, SITE, ["intake_blocked"])
    assert np.all(cases.weights > 0.0)
    assert np.all(np.isfinite(Belief(cases).weights))


def test_a_fault_that_comes_late_may_come_in_part_and_in_full() -> None:
    """A belt that came off late stood on no row: work on it found what nobody thought of, and nothing was left."""
    found = [h for h in spread(RIG, SITE, ["belt_loose", "drain_open"], pairs=True) if h.late]
    for name in ("belt_loose", "drain_open"):
        size = FAULTS[name].size
        assert size is not None
        shares = {s: sum(h.weight for h in found if (h.fault, h.size) == (name, s)) for s in (size.large,)}
        own = sum(h.weight for h in found if h.fault == name)
        assert shares[size.large] == pytest.approx(size.end_share * own, rel=1e-9)
        assert len({h.size for h in found if h.fault == name}) == 2
        assert len({h.kind for h in found if h.fault == name}) == 2
    assert len(spread(RIG, SITE, pairs=True)) <= MOST


def test_a_fault_that_comes_by_its_nature_may_come_at_another_time() -> None:
    """A strainer that clogged within ten seconds fitted nothing: clean when it came out, and no water."""
    late = [h for h in spread(RIG, SITE, ["strainer_clogs"], pairs=True) if h.late]
    assert [h.late for h in late] == list(LATE_TIMES)
    for here in late:
        (ramp,) = here.apply(RIG, SITE)[0].ramps
        assert (ramp.start_time, ramp.end_time) == here.late


def test_each_place_has_its_sizes() -> None:
    found = spread(RIG, SITE, ["joint_ring"])
    places = {h.place for h in found if h.fault == "joint_ring"}
    assert places == {"joint:0", "joint:1", "joint:2"}
    deep = spread(RIG, Site(lift=1.0, submergence=6.0), ["joint_ring"])
    assert "joint:0" not in {h.place for h in deep}, "a joint under water draws no air"


@pytest.mark.parametrize("name", [name for name, fault in FAULTS.items() if fault.size])
def test_sizes_stay_in_the_legal_range_and_hold_the_small_and_large_ones(name: str) -> None:
    size = FAULTS[name].size
    sizes = sizes_of(size, 9)
    values = [value for value, _ in sizes]
    assert values == sorted(values)
    assert all(size.low <= value <= size.high for value in values)
    assert sum(share for _, share in sizes) == pytest.approx(1.0, rel=1e-12)
    assert min(values) <= max(size.small, min(size.usual_low, size.usual_high) * 1.3)


def off(name: str, size: float) -> float:
    """How far the nearest hypothesis of a fault lies from a size [SI]: in shares of it, or of the usual range."""
    item = FAULTS[name].size
    assert item is not None
    known = [value for value, _ in sizes_of(item, FAULTS[name].cuts)]
    if item.scale == "log":
        return min(abs(math.log(size / value)) for value in known)
    return min(abs(size - value) for value in known) / abs(item.usual_high - item.usual_low)


@pytest.mark.parametrize("name", [name for name, fault in FAULTS.items() if fault.size])
def test_every_size_that_a_random_call_draws_lies_near_a_hypothesis(name: str) -> None:
    size = FAULTS[name].size
    # Air comes in by the frost drain's line alone: its sizes read alike.
    far = 0.35 if name == "frost_drain_open" else 0.25
    assert max(off(name, size.drawn(chance / 200.0)) for chance in range(201)) < far


def test_every_size_of_the_shipped_call_outs_lies_near_a_hypothesis() -> None:
    for file in sorted(CALLS.glob("*.scenario.yaml")):
        for choice in load_scenario(file).faults:
            if FAULTS[choice.fault].size is not None:
                assert off(choice.fault, choice.size) < 0.2, (file.name, choice)


@pytest.mark.parametrize("name", ["flange_leaks", "hose_hole", "nrv_fouled", "drain_open", "joint_ring"])
def test_leaks_milder_than_usual_are_known_as_what_they_are(name: str) -> None:
    """Down to half the least usual size there is a hypothesis of the fault's own kind within two fifths."""
    size = FAULTS[name].size
    assert size is not None
    assert all(off(name, size.usual_low * 0.5 ** (i / 10.0)) < 0.4 for i in range(11))


def test_an_unknown_fault_is_refused() -> None:
    with pytest.raises(InputError, match="no fault"):
        spread(RIG, SITE, ["gremlin"])


@pytest.mark.parametrize("name", [name for name in FAULTS if name != "sound"])
def test_some_work_at_the_part_makes_each_hypothesis_prove_itself(cases, name: str) -> None:
    rows = cases.situations
    for h, start in zip(cases.hypotheses, rows.start, strict=True):
        if h.fault != name:
            continue
        part = FAULTS[name].part
        ends = [
            rows.after[act][start]
            for act in rows.after
            if act[0] in remedies_for(part) and act[1] in ("", h.place)
        ]
        assert any(cases.proves[end] for end in ends), h


def test_work_elsewhere_leaves_a_fault_as_it_is(cases) -> None:
    rows = cases.situations
    for h, start in zip(cases.hypotheses, rows.start, strict=True):
        if h.fault == "belt_loose":
            assert rows.after["clean_nrv", ""][start] == start
            assert rows.after["close_drain", ""][start] == start


def test_a_belt_that_is_gone_cannot_be_tightened(cases) -> None:
    rows = cases.situations
    gone = next(i for i, h in enumerate(cases.hypotheses) if h.fault == "belt_loose" and h.size == 1.0)
    start = rows.start[gone]
    assert rows.after["tighten_belt", ""][start] == start
    assert cases.proves[rows.after["renew_belt", ""][start]]


def test_chances_of_outcomes_add_up(cases) -> None:
    for (name, _), chances in cases.chances.items():
        assert chances.shape[2] == len(CHECKS[name].outcomes)
        assert np.all(chances > 0.0)
        np.testing.assert_allclose(chances.sum(axis=2), 1.0, atol=1e-9)


def test_needles_follow_the_model(cases) -> None:
    run = simulate(RIG, SITE, duration=60.0)
    shown = cases.needles[0, 0]
    # The needle lags by its own 0.6 s; away from the jump at the prime that is small.
    for second in (10, 20, 28):
        assert shown[second] == pytest.approx(float(run.vacuum[10 * second]), abs=1.5e3)


@pytest.mark.parametrize("name", ["joint_ring", "strainer_plugged", "liner_collapsed"])
def test_behind_the_plate_the_hose_does_not_count(name: str) -> None:
    fault = FAULTS[name]
    altered, site = fault.apply(RIG, SITE, fault.size.large, fault.places(RIG, SITE)[-1])
    blank = simulate(altered, site, duration=40.0, setup=Setup.BLANKED)
    good = simulate(RIG, SITE, duration=40.0, setup=Setup.BLANKED)
    np.testing.assert_allclose(blank.suction_pressure, good.suction_pressure, atol=50.0)


def test_progress_is_told_and_work_can_be_stopped() -> None:
    told: list[tuple[int, int]] = []
    hypothesis_set(
        RIG, SITE, ["drain_open"], progress=lambda done, of: told.append((done, of)), use_cache=False
    )
    assert told[-1][0] == told[-1][1] == len(told)
    assert [done for done, _ in told] == list(range(1, len(told) + 1))
    with pytest.raises(StoppedError):
        hypothesis_set(RIG, SITE, ["drain_open"], should_stop=lambda: True, use_cache=False)


def test_any_mapper_gives_the_same_set() -> None:
    one = hypothesis_set(RIG, SITE, ["belt_loose"], mapper=map, use_cache=False)
    two = hypothesis_set(RIG, SITE, ["belt_loose"], use_cache=False)
    np.testing.assert_array_equal(one.needles, two.needles)
    for key, chances in one.chances.items():
        np.testing.assert_array_equal(chances, two.chances[key])


def test_the_key_depends_on_rig_site_and_faults() -> None:
    def key(site: Site, faults: list[str] | None) -> str:
        return content_key(RIG, site, spread(RIG, site, faults))

    keys = {key(SITE, None), key(SITE, ["belt_loose"]), key(Site(lift=3.5), None), key(Site(lift=2.5), None)}
    assert len(keys) == 4
    assert key(SITE, None) == key(standard_site(), None)


def test_rows_are_closed_under_all_work() -> None:
    rows = situations(RIG, SITE, spread(RIG, SITE))
    for after in rows.after.values():
        assert after.min() >= 0
        assert after.max() < len(rows.rows)
    assert rows.rows[0] == (RIG, SITE)
