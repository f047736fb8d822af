"""The home page tells what is done, weak and due; the practice yard draws the call that teaches most. By a set clock."""

from __future__ import annotations

import pytest

from simulator.marking.mastery import DRAWN, SKILLS, skill_of
from simulator.panels import lesson_skills
from simulator.panels.lesson_home import StartHere
from simulator.panels.lesson_skills import next_scenario
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
