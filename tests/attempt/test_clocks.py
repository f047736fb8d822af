"""Yard clock and run clock; acts that change nothing; clicks that come twice."""

from __future__ import annotations

import random

import numpy as np

from simulator.attempt import Attempt
from tests.attempt.conftest import Call, make_ready_to_start, markers

DRAIN = ("drain_open", 0.3)


def started(attempt: Attempt) -> Attempt:
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    return attempt


def test_minutes_of_a_standing_rig(call: Call) -> None:
    attempt = call(DRAIN)
    attempt.act("put_on_ppe")
    attempt.act("check", {"check": "walk_round"})
    assert attempt.snapshot().yard_minutes == 2.5


def test_a_check_on_a_running_rig_takes_its_run_time(call: Call) -> None:
    attempt = started(call(DRAIN))
    before = attempt.yard.minutes()
    attempt.act("check", {"check": "exhaust_stream"}, shown=7.0)
    assert attempt.shown == 37.0
    assert attempt.yard.minutes() == round(before + 37.0 / 60.0, 3)
    attempt.act("stop_engine", shown=40.0)
    attempt.act("check", {"check": "walk_round"})
    assert attempt.yard.minutes() == round(before + 40.0 / 60.0 + 1.5, 3)


def test_acts_happen_at_the_time_that_was_seen(call: Call) -> None:
    attempt = started(call(DRAIN))
    attempt.act("check", {"check": "gauges"}, shown=3.33)
    assert attempt.log[-1]["shown_s"] == 3.4  # rounded up to the grid
    attempt.act("check", {"check": "gauges"}, shown=1.0)
    assert attempt.log[-1]["shown_s"] == 3.4  # never back
    attempt.act("check", {"check": "gauges"}, shown=500.0)
    assert attempt.log[-1]["shown_s"] == 13.4  # never further than could have been shown
    attempt.act("stop_engine")
    attempt.act("start_engine")
    attempt.act("check", {"check": "gauges"}, shown=9.0, run=1)
    assert attempt.log[-1]["shown_s"] == 0.0  # a time of the run before


def test_an_act_that_changes_nothing_changes_no_later_dial(call: Call) -> None:
    untouched = started(call(DRAIN))
    untouched.timeline.extend_to(4000)
    wanted = {
        name: untouched.timeline.computed_needle(name)[:3000].copy()
        for name in ("suction", "motive", "discharge")
    }
    attempt = started(call(DRAIN))
    chance = random.Random(4)
    for shown in sorted(chance.uniform(0.0, 290.0) for _ in range(200)):
        while attempt.shown + 9.0 < shown:
            attempt.see(attempt.shown + 9.0)
        assert attempt.act("set_speed", {"speed": "rated"}, shown=shown).accepted
    attempt.timeline.extend_to(4000)
    assert attempt.timeline.version == 0
    for name, values in wanted.items():
        # 0.01 kPa; the solver is not asked again, so the values are the same ones
        assert np.max(np.abs(attempt.timeline.computed_needle(name)[:3000] - values)) < 10.0


def test_a_change_leaves_what_was_shown(call: Call) -> None:
    attempt = started(call(DRAIN))
    attempt.act("wait", {"seconds": 25})
    before = attempt.timeline.computed_needle("suction")[:251].copy()
    attempt.act("call", markers(drain_open=10))
    attempt.act("remedy", {"remedy": "close_drain"})
    after = attempt.timeline.computed_needle("suction")
    assert np.array_equal(after[:251], before)
    assert float(after[320]) > float(before[-1]) + 2e3


def test_computing_in_pieces_gives_the_same_dials(call: Call) -> None:
    # A run computed on from 300 s is the run computed at once, to 0.01 kPa.
    from simulator.instruments.gauges import GAUGES, GaugeState, needle
    from simulator.run import simulate

    attempt = started(call(("joint_ring", 0.011, "joint:1")))
    attempt.timeline.extend_to(5000)
    once = simulate(attempt.case.rig, attempt.case.site, duration=500.0)
    shown = needle(once, GAUGES["suction"], GaugeState(), attempt.timeline.seed)
    assert np.max(np.abs(attempt.timeline.computed_needle("suction")[:5000] - shown[:5000])) < 10.0


def test_the_column_falls_back_after_a_stop(call: Call) -> None:
    attempt = started(call(("joint_ring", 0.008, "joint:1")))
    attempt.act("wait", {"seconds": 40})
    at_stop = attempt.timeline.computed_history().front_position[400]
    attempt.act("stop_engine")
    assert not attempt.snapshot().run["final"]
    attempt.act("wait", {"seconds": 100})
    run = attempt.snapshot().run
    assert run["final"]
    assert run["shown"] == 100.0  # a minute of the rig coming to rest is shown
    assert attempt.timeline.computed_history().front_position[-1] < at_stop - 0.5
    assert abs(float(attempt.timeline.computed_needle("suction")[-1])) < 2e3


def test_a_repeated_click_acts_once(call: Call) -> None:
    attempt = started(call(DRAIN))
    first = attempt.act("check", {"check": "exhaust_stream"}, "click-7", 5.0)
    length, minutes = len(attempt.log), attempt.yard.minutes()
    again = attempt.act("check", {"check": "exhaust_stream"}, "click-7", 9.0)
    assert again == first
    assert len(attempt.log) == length
    assert attempt.yard.minutes() == minutes
    refused = attempt.act("finish", {}, "click-8")
    assert attempt.act("finish", {}, "click-8") == refused
    assert len(attempt.log) == length + 1


def test_samples_reach_ten_seconds_ahead_and_no_further(call: Call) -> None:
    attempt = started(call(DRAIN))
    attempt.see(6.0)
    got = attempt.samples(0.0, 300.0)
    assert got.data.dtype == np.float32
    assert got.data.shape == (len(got.channels), 161)
    assert attempt.samples(4.0, 5.0).start == 4.0
    assert attempt.samples(50.0, 60.0).data.shape[1] == 0
    assert attempt.snapshot().run["computed"] == 16.0
    assert not got.final
    attempt.act("stop_engine")
    attempt.act("wait", {"seconds": 100})
    assert attempt.samples(0.0, 300.0).final
