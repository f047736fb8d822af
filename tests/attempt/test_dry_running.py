"""A pump without water: the page's clock waits for the learner in time, and what follows is marked as before."""

from __future__ import annotations

import re

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.proof import DRY_LIMIT, DRY_NOTICE, DRY_TOLD
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import entry, text
from tests.attempt.conftest import Call, make_ready_to_start

OPEN = ("drain_open", 1.0)


def started(attempt: Attempt) -> Attempt:
    make_ready_to_start(attempt)
    attempt.act("start_engine")
    return attempt


def watch_to(attempt: Attempt, seconds: float) -> None:
    while attempt.shown < seconds - 0.05:
        attempt.see(min(attempt.shown + 9.0, seconds))


def test_the_clock_waits_after_two_minutes_without_water(call: Call) -> None:
    attempt = started(call(OPEN))
    watch_to(attempt, DRY_TOLD / 10 - 0.1)
    assert attempt.snapshot().run["wait"]["key"] == "1:overdue"
    watch_to(attempt, DRY_TOLD / 10)
    wait = attempt.snapshot().run["wait"]
    assert wait["sentence"] == text("attempt.run.wait_dry")
    watch_to(attempt, 300.0)
    assert attempt.snapshot().run["wait"]["key"] == wait["key"]  # asked once, and not at every look


def test_it_waits_once_more_before_the_mark(call: Call) -> None:
    attempt = started(call(OPEN))
    watch_to(attempt, (DRY_LIMIT - DRY_NOTICE) / 10 - 0.1)
    first = attempt.snapshot().run["wait"]["key"]
    watch_to(attempt, (DRY_LIMIT - DRY_NOTICE) / 10)
    assert attempt.snapshot().run["wait"]["key"] != first
    assert not attempt.act("check", {"check": "gauges"}).breach
    watch_to(attempt, DRY_LIMIT / 10)
    assert attempt.act("check", {"check": "gauges"}).breach == "minor"


def test_a_stopped_or_pumping_rig_waits_for_nobody(call: Call) -> None:
    attempt = started(call())
    watch_to(attempt, 50.0)
    assert attempt.proven()
    assert attempt.snapshot().run["wait"] is None
    dry = started(call(OPEN))
    watch_to(dry, 130.0)
    dry.act("stop_engine")
    assert dry.snapshot().run["wait"] is None


def test_a_rig_that_takes_long_in_good_order_is_left_to_prime() -> None:
    slow = started(
        Attempt(
            Scenario(
                title="A call", brief="It will not draw.", rig="reed", site=SiteChoice(lift_m=5.0),
                faults=(choose_fault("drain_open", 1.0),),
            ),
            MemoryStore(),
            seed=3,
        )
    )  # fmt: skip
    watch_to(slow, slow.case.proof_time - 0.2)
    assert slow.snapshot().run["wait"] is None


def test_the_clock_waits_once_a_good_rig_would_pump(call: Call) -> None:
    """Whoever goes by the page loses no minutes: at a fast clock the time is gone before one has read it."""
    attempt = started(call(OPEN))
    watch_to(attempt, attempt.case.proof_time - 0.2)
    assert attempt.snapshot().run["wait"] is None
    watch_to(attempt, attempt.case.proof_time + 0.2)
    assert attempt.snapshot().run["wait"]["key"] == "1:overdue"
    alone = started(call(OPEN, mode="assessment"))
    watch_to(alone, alone.case.proof_time + 0.2)
    assert alone.snapshot().run["wait"] is None


def test_the_clock_waits_where_the_prime_is_lost(call: Call) -> None:
    attempt = started(call(("level_falls", 2.2)))
    watch_to(attempt, 110.0)
    page = attempt.snapshot().run
    assert page["lost"]
    assert page["wait"]["key"] == "1:lost"


def test_full_against_a_shut_line(call: Call) -> None:
    attempt = started(call(("discharge_shut", 1.0)))
    watch_to(attempt, 420.0)
    wait = attempt.snapshot().run["wait"]
    assert wait is None or wait["key"].split(":")[1] == "shut"


def test_a_pump_past_its_time_without_water_is_overdue_by_its_own_proof_time(call: Call) -> None:
    attempt = started(call(OPEN))
    limit = attempt.case.proof_time
    watch_to(attempt, limit - 0.2)
    assert not attempt.snapshot().run["overdue"]
    watch_to(attempt, limit + 0.2)
    assert attempt.snapshot().run["overdue"]
    attempt.act("stop_engine")
    assert not attempt.snapshot().run["overdue"]


def test_a_pump_that_primes_is_not_overdue_and_its_prime_is_not_told_of_a_stopped_one(call: Call) -> None:
    attempt = started(call())
    watch_to(attempt, attempt.case.proof_time + 1.0)
    page = attempt.snapshot()
    assert not page.run["overdue"]
    assert page.run["ended"]["sentence"] != text("attempt.run.stopped")
    attempt.act("stop_engine")
    assert attempt.snapshot().run["ended"]["sentence"] == text("attempt.run.stopped")


def test_an_assessment_does_not_tell_that_a_pump_is_overdue(call: Call) -> None:
    attempt = started(call(OPEN, mode="assessment"))
    watch_to(attempt, attempt.case.proof_time + 1.0)
    assert not attempt.snapshot().run["overdue"]


@pytest.mark.parametrize("mode", ["assessment", "practice"])
def test_the_clock_waits_once_water_has_come_until_a_call_is_locked(call: Call, mode: str) -> None:
    attempt = started(call(("discharge_shut", 0.7), mode=mode))
    prime = attempt.case.sound_prime_time
    watch_to(attempt, prime + 20.0)
    assert attempt.snapshot().run["wait"] is None
    watch_to(attempt, prime + 40.0)
    assert attempt.snapshot().run["wait"]["key"] == "1:came"
    wait = attempt.snapshot().run["wait"]
    assert wait["sentence"] == text("attempt.run.wait_came")
    assert wait["good"]
    attempt.act("call", {"markers": {"discharge_shut": 10}})
    assert attempt.snapshot().run["wait"] is None


def test_a_start_at_half_speed_says_so_beside_its_time(call: Call) -> None:
    attempt = started(call(("belt_loose", 0.1)))
    attempt.act("set_speed", {"speed": "slow"})
    watch_to(attempt, 250.0)
    assert text("attempt.run.at_slow") in attempt.snapshot().run["ended"]["sentence"]
    rated = started(call(("belt_loose", 0.1)))
    watch_to(rated, 100.0)
    rated.act("set_speed", {"speed": "slow"})  # after the prime
    assert text("attempt.run.at_slow") not in rated.snapshot().run["ended"]["sentence"]


def test_a_prime_that_is_still_to_come_is_not_told(call: Call) -> None:
    """The run is worked out ahead: the page said "it pumped" of a pump that would do so twenty seconds later."""
    attempt = started(call(("screen_plugged", 0.95)))
    watch_to(attempt, attempt.case.proof_time + 1.0)
    assert attempt.timeline is not None
    prime = attempt.timeline.prime_tick()
    assert prime is not None
    assert prime > attempt.yard.shown
    assert attempt.snapshot().run["wait"]["key"] == "1:overdue"


def test_the_bar_says_what_is_the_case_and_never_what_to_do() -> None:
    """The bar said "stop, or go on", the line below "one quick look"; and "120 s" stood while 369 had gone."""
    said = {key: words for key, words in entry("attempt.run").items() if key.startswith("wait_")}
    assert said
    for key, words in said.items():
        assert not re.search(r"\b(stop|press|go on|make|call)\b", words), key
        assert "{seconds}" not in words, key
