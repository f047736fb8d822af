"""The home page tells what is done, weak and due; the practice yard draws the call that teaches most. By a set clock."""

from __future__ import annotations

import pytest

from simulator.marking.mastery import SKILLS, shown_in
from simulator.panels.lessons.registry import lesson
from simulator.panels.lessons.start_here.page import StartHere
from simulator.panels.teaching.rounds import CHECK_SEED
from simulator.panels.teaching.spread import round_of
from tests.conftest import thin


def sheet(found: float) -> dict:
    parts = [("found", found, 40.0), ("economy", 20.0, 25.0), ("safety", 25.0, 25.0)]
    return {"parts": [{"id": n, "points": p, "out_of": o} for n, p, o in parts], "total": found + 45.0}


def keep(session, fault: str, found: float, case: str) -> None:
    record = {
        "learner": session.name, "lesson": "practice-yard", "mode": "practice", "seed": 1, "scenario_hash": case,
        "scenario": {"faults": [{"fault": fault}]},
    }  # fmt: skip
    session.store.save_marks(session.store.create_attempt(record), sheet(found))


def rows(session) -> dict[str, list[str]]:
    block = StartHere(session).welcome().block("skills")
    return {row["cells"][0]: row["cells"][1:] for row in block["rows"]}


def test_home_tells_done_weak_and_due(new_session, clock) -> None:
    session = new_session()
    session.set_name("Ash")
    assert "skills" not in [block["id"] for block in StartHere(session).welcome().content["blocks"]]
    keep(session, "drain_open", 38.0, "a")
    keep(session, "belt_loose", 5.0, "b")
    found = rows(session)
    assert len(found) == len(SKILLS)
    assert found["Finding where air gets in"] == ["getting there", "tomorrow"]
    assert found["Finding why air is not drawn out"] == ["weak", "now"]
    assert found["Finding what holds the water back"] == ["not met yet", "-"]
    clock.wait(1.0)
    assert rows(session)["Finding where air gets in"] == ["due again", "now"]
    keep(session, "joint_ring", 39.0, "c")
    assert rows(session)["Finding where air gets in"] == [
        "done",
        "in 7 days",
    ]  # two cases, both right: 0.952 known


def check_done(session, number: str, wrong: int = 0) -> None:
    """The check of a lesson, as the lesson itself keeps it, with some answers wrong."""
    page = lesson(number)
    page = type(page)(session)
    page.work.keep("seen:ideas", True, "ideas")
    made = round_of(page.plan.check, page.work.seed + CHECK_SEED, "metric")
    for n, each in enumerate(made):
        other = next(option.id for option in each.options if option.id != each.right)
        key = f"check:0:{n}"
        page.asking.answer(page.work, key, "check", each, other if n < wrong else each.right, f"c{n}")
        page.work.keep(f"next:{key}", True, f"n{n}")
    page.rounds.mark()


@pytest.mark.parametrize(
    ("number", "name"),
    thin(
        ["04", "Finding where air gets in"],
        ["05", "Finding why air is not drawn out"],
        ["06", "Finding what holds the water back"],
        ["08", "Finding why it loses its prime"],
    ),
)
def test_what_a_lesson_taught_counts_at_home_and_comes_back(
    new_session, clock, number: str, name: str
) -> None:
    session = new_session()
    session.set_name("Ash")
    check_done(session, number)
    found = rows(session)
    assert found[name] == ["getting there", "tomorrow"]
    assert sum(state[0] != "not met yet" for state in found.values()) <= 2
    clock.wait(1.0)
    assert rows(session)[name] == ["due again", "now"]


def test_a_check_gone_wrong_is_weak_and_halving_counts_for_the_family_of_each_case(new_session) -> None:
    session = new_session()
    session.set_name("Ash")
    check_done(session, "06", wrong=4)
    assert rows(session)["Finding what holds the water back"] == ["weak", "now"]
    check_done(session, "07")
    shown = {each.skill for each in shown_in(session.store, "Ash")}
    assert {"air_gets_in", "air_not_drawn_out", "safe_work"} & shown
    assert shown <= set(SKILLS)
    assert "time" not in shown, "how long a prime takes is not how many minutes one spends"


@pytest.mark.parametrize("number", ["04", "05", "06", "07", "08"])
def test_every_skill_of_these_lessons_is_one_that_calls_ask_for(number: str) -> None:
    skills = lesson(number).plan.skills
    assert {skill.partition(".")[0] for skill in skills} <= set(SKILLS)
