"""The same press, refused again with nothing done since, is one lapse: the page says so, the marks count one."""

from __future__ import annotations

from typing import Any

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.evidence import story_of
from simulator.marking.again import why_since
from simulator.marking.safety_gate import CHARGES, mark_safety
from simulator.panels.exercise.page_model import build_page
from tests.attempt.conftest import make_ready_to_start
from tests.marking.conftest import call_out

PRIME = "sound_prime_time"

WALK = {"check": "walk_round", "place": "rig"}
STRAINER = {"check": "strainer_out", "place": "strainer"}


def fresh() -> Attempt:
    return Attempt(call_out("drain_open", 1.0), MemoryStore(), mode="practice", seed=3)


def lost(attempt: Attempt) -> list[float]:
    return [item.points for item in mark_safety(story_of(attempt.state)).evidence if item.points]


def again_by_act(attempt: Attempt) -> dict[str, bool]:
    page = build_page(attempt)
    items = {i["args"].get("check", ""): i["again"] for p in page["places"] for i in p["items"]}
    return {**items, "start_engine": page["engine"]["again"]}


def test_the_same_press_is_charged_once_while_nothing_else_is_done() -> None:
    attempt = fresh()
    assert not again_by_act(attempt)["walk_round"]
    for _ in range(3):
        assert attempt.act("check", WALK).breach == "minor"
    assert lost(attempt) == [-CHARGES["minor"]]
    said = again_by_act(attempt)
    assert said["walk_round"]
    assert not said["strainer_out"]


def test_another_press_and_one_after_something_was_done_are_charged() -> None:
    attempt = fresh()
    for args in (WALK, STRAINER, WALK):
        attempt.act("check", args)
    assert len(lost(attempt)) == 2
    attempt.act("wait", {"seconds": 60})
    assert not again_by_act(attempt)["walk_round"]
    attempt.act("check", WALK)
    assert len(lost(attempt)) == 3


def test_a_start_and_what_was_warned_of_are_charged_once_too() -> None:
    attempt = fresh()
    for _ in range(2):
        attempt.act("start_engine")
    assert len(lost(attempt)) == 1
    assert again_by_act(attempt)["start_engine"]
    attempt = fresh()
    for act, args in (
        ("put_on_ppe", {}),
        ("secure_discharge", {}),
        ("predict", {"question": PRIME, "answer": 60}),
    ):
        assert attempt.act(act, args).accepted
    assert attempt.act("start_engine").accepted
    belt = {"act": "check", "args": {"check": "belt", "place": "belt"}}
    before = len(lost(attempt))
    for _ in range(2):
        assert attempt.act("nearly", belt).accepted
    assert len(lost(attempt)) == before + 1
    assert again_by_act(attempt)["belt"]


def test_a_worse_press_is_never_cheaper_where_nothing_came_of_either() -> None:
    """A grave one let be at the warning cost a third of a serious one that was refused."""
    attempt, costs = fresh(), []

    def costs_of(grade: str, action: str, args: dict[str, Any], breach: str) -> None:
        before = lost(attempt)
        assert attempt.act(action, args).breach == breach
        costs.append(sum(before) - sum(lost(attempt)))
        assert build_page(attempt)["lapse"][grade] == costs[-1]

    costs_of("minor", "check", WALK, "minor")
    make_ready_to_start(attempt)
    assert attempt.act("start_engine").accepted
    costs_of("serious", "check", {"check": "joint_apart", "place": "joint:1"}, "serious")
    belt = {"act": "check", "args": {"check": "belt", "place": "belt"}}
    costs_of("grave", "nearly", belt, "minor")  # as the log has it; the marks say what it counts
    assert costs == sorted(costs) == [CHARGES["minor"], CHARGES["serious"], CHARGES["serious"]]


def test_older_sheets_say_why_their_marks_differ() -> None:
    assert "one lapse" in why_since(5)
