"""Any fault may come while the rig runs, all at once or bit by bit; before its second the rig is as sound as ever."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.instruments.gauges import GAUGES, needle_of
from simulator.rig.faults import FAULTS
from simulator.rig.onset import as_at
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.run import simulate
from simulator.scenario import Scenario, build, read_scenario, scenario_from, scenario_text, sound_rig

CLOSE = 10.0  # [Pa]: the 0.01 kPa promised of a run that is gone on with from any moment
RING = {"fault": "joint_ring", "hole_diameter_mm": 9.0, "place": "joint:2", "start_s": 40.0, "end_s": 100.0}


def call(*faults: dict[str, object], rig: str = "osier", lift: float = 3.0, **more: object) -> Scenario:
    """A call-out made up for these tests."""
    head = {"format": "callout-scenario", "version": 3, "title": "A call", "brief": "It lost its water."}
    return scenario_from({**head, "rig": rig, "site": {"lift_m": lift}, "faults": list(faults), **more})


def choice(name: str, rig: str, start: float, end: float) -> dict[str, object]:
    """A fault in its middle size at its first place on a rig."""
    item = FAULTS[name]
    sized = {item.size.key: item.size.in_file(item.size.middle)} if item.size else {}
    place = item.places(load_rig(rig))[0]
    kind, _, number = place.partition(":")
    placed = {"place": f"{kind}:{int(number) + 1}"} if number else {}
    return {"fault": name, **sized, **placed, "start_s": start, "end_s": end}


def test_a_ring_that_opens_late_lets_no_air_in_before() -> None:
    ringed, whole = (simulate(*each, duration=150.0) for each in (build(call(RING)), sound_rig(call(RING))))
    before = ringed.time <= 40.0
    # the run is cut at the second the ring opens, and only the step that ends there is another one
    assert float(np.abs(ringed.suction_pressure - whole.suction_pressure)[before].max()) < CLOSE
    assert float(ringed.joint_air[ringed.time < 40.0].max()) == 0.0
    assert float(ringed.joint_air[-1]) > 0.0
    assert math.isfinite(ringed.prime_time)
    assert np.all(np.isfinite(ringed.series))


def test_what_grows_draws_ever_more_air_behind_a_plate() -> None:
    from simulator.run import Setup

    rig, site = build(call(RING | {"start_s": 5.0, "end_s": 45.0}))
    run = simulate(rig, site, duration=60.0, setup=Setup.CAPPED)
    air = run.joint_air[[run.index(t) for t in (4.0, 15.0, 25.0, 35.0, 44.0)]]
    assert float(air[0]) == 0.0
    assert np.all(np.diff(air) > 0.0)


def test_in_full_it_is_the_fault_as_it_always_was() -> None:
    late = simulate(*build(call(RING | {"start_s": 0.0, "end_s": 0.1})), duration=60.0)
    plain = {key: value for key, value in RING.items() if not key.endswith("_s")}
    always = simulate(*build(call(plain)), duration=60.0)
    # a tenth of a second of a start without the hole is all that parts them; 60 Pa is a tenth of a gauge's shake
    assert float(np.abs(late.suction_pressure - always.suction_pressure)[50:].max()) < 60.0


def test_air_and_water_balance_over_all_stretches() -> None:
    run = simulate(*build(call(RING)), duration=150.0)
    # the same limit as for every run without anything late: tests/run/test_signatures.py
    assert max(abs(run.balance.air_error), abs(run.balance.water_error), abs(run.balance.motive_error)) < 1e-6


def test_going_on_half_way_through_the_growth_changes_nothing() -> None:
    rig, site = build(call(RING))
    whole = simulate(rig, site, duration=150.0)
    rest = simulate(rig, site, start=whole.state_at(63.7), start_time=63.7, duration=150.0 - 63.7)
    later = whole.suction_pressure[whole.index(63.7) :]
    assert float(np.abs(rest.suction_pressure - later).max()) < CLOSE


@pytest.mark.parametrize("name", [name for name in FAULTS if name != "sound"])
def test_every_fault_may_come_late(name: str) -> None:
    rig = next(r for r in ("osier", *rig_names()) if FAULTS[name].places(load_rig(r), standard_site(r)))
    made = call(choice(name, rig, 20.0, 26.0), rig=rig)
    assert read_scenario(scenario_text(made)) == made
    broken, site = build(made)
    sound, there = sound_rig(made)
    run, good = (
        simulate(*each, duration=32.0, rtol=1e-4) for each in ((broken, site), (sound, there))
    )  # rough: what is asked is whether anything comes early
    early = run.time <= 20.0
    assert float(np.abs(run.suction_pressure - good.suction_pressure)[early].max()) < CLOSE
    assert np.all(np.isfinite(run.series))
    if broken.late:
        early_rig, early_site = as_at(broken, site, 0.0)
        hose = early_rig.suction_hose
        holes = tuple(hole for hole in hose.holes if hole.diameter > 0.0)  # one of no width is none
        assert replace(early_rig, suction_hose=replace(hose, holes=holes)) == sound
        assert early_site == there
        full, _ = as_at(broken, site, 1e9)
        assert not full.late


def test_a_gauge_that_sticks_late_stands_where_it_was() -> None:
    made = call({"fault": "gauge_stuck", "start_s": 12.0, "end_s": 13.0})
    rig, site = build(made)
    run = simulate(rig, site, duration=30.0)
    shown = needle_of(run, GAUGES["suction"], rig, 1, tremble=False)
    assert shown[119] > 5e3
    assert np.all(shown[120:] == shown[119])


def test_the_hands_find_it_at_rest_and_work_ends_it() -> None:
    rig, site = build(call(RING))
    renew = REMEDIES["renew_joint_ring"]
    assert renew.finding(rig, site, "joint:1") == "ring_torn"
    mended, place = renew.apply(rig, site, "joint:1")
    good = simulate(*sound_rig(call(RING)), duration=120.0)
    after = simulate(mended, place, duration=120.0)
    assert (
        float(np.abs(after.suction_pressure - good.suction_pressure).max()) < CLOSE
    )  # cut up, else the same rig


def test_it_is_played_as_any_other_and_comes_anew_at_every_start() -> None:
    attempt = Attempt(call(RING, lift=2.0), MemoryStore(), seed=3)
    for act in ("put_on_ppe", "secure_discharge", "start_engine"):
        attempt.act(act, {}, act)
    if attempt.timeline is None:  # the question about the time to prime waits first
        attempt.act("predict", {"question": "sound_prime_time", "value": 60}, "guess")
        attempt.act("start_engine", {}, "again")
    timeline = attempt.timeline
    assert timeline is not None
    history = timeline.history(1200)
    assert float(history.joint_air[:400].max()) == 0.0
    assert float(history.joint_air[1000:].max()) > 0.0
