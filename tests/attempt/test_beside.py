"""What work lays open beside its own part: seen at once, noted, drawn, known to the belief."""

from __future__ import annotations

from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.commands import perform, perform_again
from simulator.attempt.hints import RuleOfThumbCoach
from simulator.attempt.state import AttemptState, Terms
from simulator.diagnosis.evidence import follow, story_of
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text

READY = ("put_on_ppe", "isolate_and_tag", "bleed_air")
CLEAN = {"remedy": "clean_intake", "place": ""}


def call_out(*faults: tuple[str, float]) -> Scenario:
    chosen = tuple(choose_fault(name, size) for name, size in faults)
    return Scenario(
        title="A call", brief="No vacuum.", rig="osier", site=SiteChoice(lift_m=3.0), faults=chosen
    )


def filter_changed(slip: float) -> tuple[Attempt, Any]:
    attempt = Attempt(call_out(("belt_loose", slip)), MemoryStore(), mode="practice", seed=2)
    for act in READY:
        assert attempt.act(act).accepted
    attempt.act("call", {"markers": {"belt_loose": 10}})
    reply = attempt.act("remedy", CLEAN)
    assert reply.accepted, reply.sentence
    return attempt, reply


@pytest.mark.parametrize(("slip", "said", "shown"), [(1.0, "belt_gone", 1.0), (0.3, "belt_on", None)])
def test_with_the_guard_off_it_is_seen_at_once_whether_there_is_a_belt(
    slip: float, said: str, shown: float | None
) -> None:
    attempt, reply = filter_changed(slip)
    assert text(f"attempt.beside.{said}") in reply.notes
    rig = attempt.snapshot().rig
    assert "intake" in rig["opened"]
    assert rig["parts"]["belt"] == said.removeprefix("belt_")
    assert rig["belt_slack_shown"] == shown  # how tight it is nobody has felt


def test_who_has_felt_the_belt_is_not_told_to_look_at_it() -> None:
    attempt = Attempt(call_out(("compressor_worn", 0.6)), MemoryStore(), mode="practice", seed=2)
    for act in READY:
        assert attempt.act(act).accepted
    attempt.act("call", {"markers": {"compressor_worn": 10}})
    assert attempt.act("check", {"check": "belt"}).accepted
    attempt.act("call", {"markers": {"compressor_worn": 10}})
    reply = attempt.act("remedy", CLEAN)
    assert reply.accepted, reply.sentence
    assert text("attempt.beside.belt_on") not in reply.notes


def test_the_belief_knows_what_was_seen_beside() -> None:
    attempt, _ = filter_changed(1.0)
    story = story_of(attempt.state)
    cases = hypothesis_set(*story.sound, ["belt_loose", "compressor_worn", "drain_open"])
    assert follow(story, cases).end.by_fault()["belt_loose"] > 0.9


def test_work_kept_from_before_still_replays() -> None:
    state, again = (
        AttemptState(Terms("a", call_out(("belt_loose", 1.0)), "practice", 2, RuleOfThumbCoach()))
        for _ in "ab"
    )
    acts = [(act, {}) for act in READY] + [("remedy", CLEAN)]
    for act, args in acts:
        stored = perform(state, act, args)
        if "beside" in stored["result"]:
            del stored["result"]["beside"]
            stored["notes"] = stored["notes"][:1]
        assert perform_again(again, stored), act
        state.log.append(stored)
        again.log.append(stored)
