"""How somebody worked: told beside the marks, over one call and over many."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from simulator.attempt import Attempt
from simulator.marking.service import marked_attempt
from simulator.panels.exercise.debrief_work import debrief_and_keep
from simulator.panels.exercise.working import first_to_halve, how_worked, minds, sentences, suspects
from simulator.panels.learner.how_sure import how_sure_so_far
from simulator.panels.learner.how_worked import (
    KEY,
    LAST,
    LEAST,
    NEWEST,
    calls_worked,
    how_worked_block,
    worked_from,
)
from simulator.panels.learner.session import LearnerSession
from simulator.records import Store
from simulator.texts import text

Player = Callable[..., Attempt]


def worked(attempt: Attempt) -> dict[str, Any]:
    story, _, marked = marked_attempt(attempt)
    return how_worked(story, marked)


def test_suspects_are_counted_as_by_shannon() -> None:
    """Worked by hand: eight alike are eight; of chances 1/2, 1/4, 1/8, 1/8 the entropy is 1.75 bits (Shannon 1948)."""
    assert suspects([0.125] * 8) == pytest.approx(8.0)
    assert suspects([0.5, 0.25, 0.125, 0.125]) == pytest.approx(2.0**1.75)


def test_who_looks_again_and_again_is_told_so_and_who_goes_straight_is_not(played: Player) -> None:
    straight, again = played("honest", "belt_loose", 0.7), played("spammer", "belt_loose", 0.7)
    one, many = worked(straight), worked(again)
    assert one["looks"] <= 2
    assert (one["vain"], one["changes"]) == (0, 0)
    assert one["old_hand"] == pytest.approx(one["minutes"], abs=0.2)
    assert many["vain"] >= 8
    assert many["old_hand"] < 0.25 * many["minutes"]
    story, _, marked = marked_attempt(again)
    assert f"of your {many['looks']} looks told nothing new" in sentences(story, marked)[0]


def test_work_before_any_look_and_a_change_of_mind_are_told(played: Player) -> None:
    swapper = played("swapper", "belt_loose", 0.7)
    found = worked(swapper)
    assert (found["looks"], found["minutes"], found["old_hand"]) == (0, 0.0, 0.0)
    story, _, marked = marked_attempt(swapper)
    said = sentences(story, marked)
    assert text("skills.how_worked.worked_first") in said
    assert found["changes"] == len(minds(story.log)) - 1 > 0


def test_the_first_look_that_halves_is_the_first_whose_suspects_are_half(played: Player) -> None:
    _, _, marked = marked_attempt(played("honest", "joint_ring", 0.006, "joint:1"))
    steps = marked.trail.steps
    minutes, step = first_to_halve(steps) or (math.nan, steps[0])
    left = [suspects(each.after.by_fault().values()) for each in steps]
    assert left[steps.index(step)] <= 0.5 * suspects(steps[0].before.by_fault().values())
    assert all(
        more > 0.5 * suspects(steps[0].before.by_fault().values()) for more in left[: steps.index(step)]
    )
    assert minutes >= sum(each.minutes for each in steps[: steps.index(step) + 1])


def test_the_debrief_tells_it_keeps_it_and_gives_the_same_marks(played: Player) -> None:
    attempt = played("honest", "belt_loose", 0.7)
    kept: dict[str, Any] = {}
    attempt.store.save_marks = lambda _, sheet: kept.update(sheet)  # type: ignore[attr-defined]
    found = debrief_and_keep(attempt, "metric", lambda done, total: None)
    del attempt.store.save_marks  # type: ignore[attr-defined]
    story, _, marked = marked_attempt(attempt)
    assert found["worked"]["said"] == sentences(story, marked)
    assert {name: value for name, value in kept.items() if name != KEY} == marked.sheet.as_dict()
    assert worked_from(kept[KEY]) is not None
    assert found["how_sure"] is None  # nobody's name stands in these records


def keep(store: Store, number: int, found: object, hints: int = 0) -> str:
    record = {
        "learner": "Ash", "lesson": "09", "mode": "practice", "seed": number, "scenario_hash": f"h{number}",
        "scenario": {"faults": []},
    }  # fmt: skip
    attempt = store.create_attempt(record)
    event = {"act": "call", "accepted": True, "result": {"markers": {"sound": 10}}}
    store.append_event(attempt, 0, event, f"{number}")
    store.save_marks(attempt, {"version": 8, "parts": [], "hints": hints, KEY: found})
    return attempt


def one(vain: int, halved: float | None = 4.0) -> dict[str, Any]:
    return {"looks": 5, "vain": vain, "halved_after": halved, "changes": 1, "minutes": 8.0, "old_hand": 6.0}


def test_the_latest_calls_stand_beside_those_before_once_there_are_enough(tmp_path) -> None:
    with Store.open(tmp_path / "records.sqlite3") as store:
        session = LearnerSession(store, folder=tmp_path)
        session.set_name("Ash")
        assert how_worked_block(session) == []  # an empty record
        for number in range(LEAST - 1):
            last = keep(store, number, one(2))
        keep(store, 90, one(5), hints=3)  # hinted: somebody else's looks
        keep(store, 91, {"looks": "many"})  # not of this release
        assert how_worked_block(session) == []
        few = how_sure_so_far(store, last)
        assert few is not None
        assert "rows" not in few
        keep(store, 92, one(2, None))
        (_, block) = how_worked_block(session)
        assert [row["cells"][1] for row in block["rows"]] == ["6 of 15", "4.0 (2 of 3 calls)", "1.0", "7.5"]
        for number in range(100, 100 + LAST):
            last = keep(store, number, one(0))
        (_, block) = how_worked_block(session)
        assert [len(row["cells"]) for row in block["rows"]] == [3] * 4
        assert block["rows"][0]["cells"][1:] == [f"0 of {5 * NEWEST}", f"0 of {5 * (LAST - NEWEST)}"]
        assert len(calls_worked(store, "Ash")) == LAST
        assert calls_worked(store, "Rowan") == ()
        sure = how_sure_so_far(store, last)
        assert sure is not None
        assert sure["rows"] == [["all 10", "20", "20"]]


@pytest.mark.parametrize(
    "wrong", [None, 3, {}, {**one(1), "vain": 6}, {**one(1), "minutes": math.nan}, {**one(1), "looks": True}]
)
def test_what_is_no_such_record_is_left_out(wrong: object) -> None:
    assert worked_from(wrong) is None
