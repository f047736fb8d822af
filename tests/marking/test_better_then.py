"""What a debrief says an old hand would have done: done at that very moment instead, it costs nothing and is safe."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.option import CHECK, REMEDY, WATCH, Option
from simulator.marking.economy import Judged
from simulator.marking.service import marked_attempt
from simulator.scenario import Scenario
from simulator.studies.skill import study_scenarios
from simulator.studies.trainees import ByList, Expert, HalfSplitter
from tests.marking.conftest import call_out

CALLS = 40
SOME = 3  # steps of a call that are played over: those that lost most


def before(attempt: Attempt, seq: int) -> Attempt:
    """The attempt as it stood before an event."""
    store, event = MemoryStore(), attempt.log[seq]
    store.create_attempt(attempt.store.attempt_record(attempt.id), attempt.id)
    for earlier in attempt.store.events(attempt.id)[:seq]:
        store.append_event(attempt.id, earlier["seq"], earlier, earlier.get("click_id"))
    again = Attempt.resume(store, attempt.id)
    if again.yard.engine_on:
        again.see(event["shown_s"])
    return again


def charged(item: Judged, attempt: Attempt) -> tuple[float, list[str]]:
    """Minutes that what would have been better costs there [min], and what of it was refused or unsafe."""
    again = before(attempt, item.step.seq)
    known = len(again.log)
    Expert(again, 0).do(item.better)
    again.act("give_up")
    refused = [str(event["act"]) for event in again.log[known:] if not event["accepted"] or event["breach"]]
    did = _act(item.better)
    marked = [one for one in marked_attempt(again)[2].judged if one.step.seq >= known]
    return next(one.lost for one in marked if _act(one.step.option) == did), refused


class Briefly(ByList):
    """Goes down the list for a few steps."""

    most_steps = 4


def _act(option: Option) -> tuple[str, str, str]:
    return option.kind, option.id, option.place


def lossy(attempt: Attempt) -> Iterator[Judged]:
    """The steps that lost most and name something else to do."""
    judged = marked_attempt(attempt)[2].judged
    named = [
        one for one in judged if one.lost > 0.0 and not one.same and one.better.kind in (CHECK, REMEDY, WATCH)
    ]
    yield from sorted(named, key=lambda one: -one.lost)[:SOME]


def _played(
    scenario: Scenario, seed: int, kind: type[ByList] | type[HalfSplitter]
) -> list[tuple[str, str, float]]:
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=seed)
    kind(attempt, seed).play()
    out = []
    for item in lossy(attempt):
        lost, refused = charged(item, attempt)
        if lost > 0.0 or refused:
            out.append((item.step.option.id, " ".join([item.better.id, *refused]), round(lost, 2)))
    return out


@pytest.mark.full
def test_what_would_have_been_better_costs_nothing() -> None:
    assert _played(call_out("belt_loose", 0.6), 7, Briefly) == []


@pytest.mark.full
@pytest.mark.parametrize("number", range(CALLS))
def test_what_would_have_been_better_costs_nothing_at_many_calls(number: int) -> None:
    kind = (ByList, HalfSplitter)[number % 2]
    assert _played(study_scenarios(CALLS)[number], 100 + number, kind) == []
