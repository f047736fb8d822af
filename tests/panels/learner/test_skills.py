"""The home page tells what is done, weak and due; the practice yard draws the call that teaches most. By a set clock."""

from __future__ import annotations

from typing import Any

import pytest

from simulator.marking.mastery import DRAWN, SKILLS, shown_in, skill_of
from simulator.panels.learner import skills as lesson_skills
from simulator.panels.learner.skills import next_scenario
from simulator.panels.lessons.registry import lesson
from simulator.panels.lessons.start_here.page import StartHere
from simulator.panels.teaching.rounds import CHECK_SEED
from simulator.panels.teaching.spread import round_of
from simulator.rig.faults import FAULTS
from simulator.scenario import random_scenario, scenario_hash


def sheet(found: float) -> dict:
    parts = [("found", found, 40.0), ("economy", 20.0, 25.0), ("safety", 25.0, 25.0)]
    return {"parts": [{"id": n, "points": p, "out_of": o} for n, p, o in parts], "total": found + 45.0}


def keep(desk, fault: str, found: float, case: str) -> None:
    record = {
        "learner": desk.name, "lesson": "practice-yard", "mode": "practice", "seed": 1, "scenario_hash": case,
        "scenario": {"faults": [{"fault": fault}]},
    }  # fmt: skip
    desk.store.save_marks(desk.store.create_attempt(record), sheet(found))


def rows(desk) -> dict[str, list[str]]:
    block = StartHere(desk).welcome().block("skills")
    return {row["cells"][0]: row["cells"][1:] for row in block["rows"]}


def test_home_tells_done_weak_and_due(new_desk, clock) -> None:
    desk = new_desk()
    desk.set_name("Ash")
    assert "skills" not in [block["id"] for block in StartHere(desk).welcome().content["blocks"]]
    keep(desk, "drain_open", 38.0, "a")
    keep(desk, "belt_loose", 5.0, "b")
    found = rows(desk)
    assert len(found) == len(SKILLS)
    assert found["Finding where air gets in"] == ["getting there", "tomorrow"]
    assert found["Finding why air is not drawn out"] == ["weak", "now"]
    assert found["Finding what holds the water back"] == ["not met yet", "-"]
    clock.wait(1.0)
    assert rows(desk)["Finding where air gets in"] == ["due again", "now"]
    keep(desk, "joint_ring", 39.0, "c")
    assert rows(desk)["Finding where air gets in"] == ["getting there", "in 7 days"]


@pytest.mark.parametrize("drawn", [1, 2, 3])
def test_the_next_call_is_the_best_of_those_drawn_and_not_met_before(
    new_desk, monkeypatch, drawn: int
) -> None:
    desk = new_desk()
    desk.set_name("Ash")
    calls = [random_scenario(100 * drawn + number, "usual") for number in range(DRAWN)]
    waiting = list(calls)
    monkeypatch.setattr(lesson_skills, "random_scenario", lambda seed, level: waiting.pop(0))
    assert next_scenario(desk.store, desk.name, "usual", desk.now()) == calls[0]  # nothing is known yet
    waiting[:] = calls
    first = FAULTS[calls[0].fault_ids[0]]
    keep(desk, first.id, 38.0, scenario_hash(calls[0]))
    keep(desk, first.id, 38.0, "again")
    chosen = next_scenario(desk.store, desk.name, "usual", desk.now())
    assert chosen != calls[0]
    others = {skill_of(FAULTS[call.fault_ids[0]].family) for call in calls} - {skill_of(first.family)}
    if others:
        assert skill_of(FAULTS[chosen.fault_ids[0]].family) in others


def check_done(desk, number: str, wrong: int = 0) -> None:
    """The check of a lesson, as the lesson itself keeps it, with some answers wrong."""
    page = lesson(number)
    page = type(page)(desk)
    page.work.keep("seen:ideas", True, "ideas")
    made = round_of(page.plan.check, page.work.seed + CHECK_SEED, "metric")
    for n, each in enumerate(made):
        other = next(option.id for option in each.options if option.id != each.right)
        key = f"check:0:{n}"
        page.asking.answer(page.work, key, "check", each, other if n < wrong else each.right, f"c{n}")
        page.work.keep(f"next:{key}", True, f"n{n}")
    page._mark()


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("04", "Finding where air gets in"),
        ("05", "Finding why air is not drawn out"),
        ("06", "Finding what holds the water back"),
        ("08", "Finding why it loses its prime"),
    ],
)
def test_what_a_lesson_taught_counts_at_home_and_comes_back(new_desk, clock, number: str, name: str) -> None:
    desk = new_desk()
    desk.set_name("Ash")
    check_done(desk, number)
    found = rows(desk)
    assert found[name] == ["getting there", "tomorrow"]
    assert sum(state[0] != "not met yet" for state in found.values()) <= 2
    clock.wait(1.0)
    assert rows(desk)[name] == ["due again", "now"]


def test_a_check_gone_wrong_is_weak_and_halving_counts_for_the_family_of_each_case(new_desk) -> None:
    desk = new_desk()
    desk.set_name("Ash")
    check_done(desk, "06", wrong=4)
    assert rows(desk)["Finding what holds the water back"] == ["weak", "now"]
    check_done(desk, "07")
    shown = {each.skill for each in shown_in(desk.store, "Ash")}
    assert {"air_gets_in", "air_not_drawn_out", "safe_work"} & shown
    assert shown <= set(SKILLS)
    assert "time" not in shown, "how long a prime takes is not how many minutes one spends"


def test_the_next_call_after_a_lesson_is_one_that_it_did_not_just_teach(new_desk, monkeypatch, clock) -> None:
    desk = new_desk()
    desk.set_name("Ash")
    check_done(desk, "06")
    strainer = random_scenario(1, "usual", only=("strainer_plugged",))
    belt = random_scenario(2, "usual", only=("belt_loose",))

    def chosen() -> Any:
        waiting = [strainer, *[belt] * (DRAWN - 1)]
        monkeypatch.setattr(lesson_skills, "random_scenario", lambda seed, level: waiting.pop(0))
        return next_scenario(desk.store, desk.name, "usual", desk.now())

    assert chosen() == belt
    keep(desk, "belt_loose", 38.0, scenario_hash(belt))
    clock.wait(1.0)  # both are due; the strainer was not met yet and is not the kind met last
    assert chosen() == strainer


@pytest.mark.parametrize("number", ["04", "05", "06", "07", "08"])
def test_every_skill_of_these_lessons_is_one_that_calls_ask_for(number: str) -> None:
    skills = lesson(number).plan.skills
    assert {skill.partition(".")[0] for skill in skills} <= set(SKILLS)
