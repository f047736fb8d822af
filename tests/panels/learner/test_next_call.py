"""The next call: its level and rig follow the learner, its kind tells nothing, it was not met before."""

from __future__ import annotations

import random
from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats.contingency import association

from simulator.attempt import MemoryStore
from simulator.panels.learner.first_steps import PLAIN, TAUGHT_LATER
from simulator.panels.learner.next_call import level_after, next_rig, next_scenario, practice_level
from simulator.records import Store
from simulator.rig.faults import FAULTS
from simulator.rig.presets import rig_names
from simulator.scenario import scenario_hash

CALLS = 2000
MAX_V = 0.1  # Cramer's V between the last kind and the next: little is told


def test_the_level_goes_up_and_comes_down_with_the_marks() -> None:
    assert level_after([90.0, 60.0, 71.0, 80.0]) == "first"
    assert level_after([90.0, 60.0, 71.0, 80.0, 70.0]) == "usual"
    assert level_after([90.0] * 8) == "hard"
    assert level_after([90.0] * 8 + [50.0, 50.0]) == "hard"
    assert level_after([90.0] * 8 + [50.0] * 3) == "usual"
    assert level_after([10.0] * 9) == "first"


def test_calls_left_count_for_the_level(new_session) -> None:
    session = new_session()
    session.set_name("Ash")

    def call(total: float | None) -> None:
        made = session.store.create_attempt({"learner": "Ash", "lesson": "practice-yard", "mode": "practice"})
        if total is not None:
            session.store.save_marks(made, {"total": total})
            return
        for seq in range(3):
            session.store.append_event(made, seq, {"act": "wait"})
        session.store.end_attempt(made, "left")

    for total in (90.0, 80.0, None, 90.0):
        call(total)
    assert practice_level(session) == "first"
    call(90.0)
    call(90.0)
    assert practice_level(session) == "usual"
    for _ in range(3):
        call(None)
    assert practice_level(session) == "first"


def test_the_rig_follows_the_learner() -> None:
    chance = random.Random(7)
    assert {next_rig("first", Counter(), chance) for _ in range(40)} == {"osier"}
    drawn = Counter(next_rig("usual", Counter(osier=9), chance) for _ in range(400))
    assert set(drawn) == set(rig_names())
    assert drawn["osier"] == min(drawn.values())


def test_a_call_is_not_one_met_before(tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = next_scenario(MemoryStore(), "Ash", "first", random.Random(3))
    with Store.open(tmp_path / "records.sqlite3") as store:
        store.create_attempt(
            {"learner": "Ash", "lesson": "x", "mode": "practice", "scenario_hash": scenario_hash(first)}
        )
        assert next_scenario(store, "Ash", "first", random.Random(3)) != first
        assert next_scenario(store, "Rowan", "first", random.Random(3)) == first


def test_first_steps_are_plain_and_no_plate_is_asked_for_before_its_lesson(new_session) -> None:
    chance, store = random.Random(4), new_session().store
    drawn = [next_scenario(store, "Ash", "first", chance) for _ in range(40)]
    assert {name for each in drawn for name in each.fault_ids} <= set(PLAIN)
    assert len({each.fault_ids for each in drawn}) > 4
    for level in ("first", "usual", "hard"):
        assert not set(TAUGHT_LATER) & set(next_scenario(store, "Ash", level, chance).allowed_checks)
    made = store.create_attempt({"learner": "Ash", "lesson": "07", "mode": "lesson"})
    store.end_attempt(made, "finished")
    assert next_scenario(store, "Ash", "usual", chance).allowed_checks == "all"


@pytest.mark.full
@pytest.mark.parametrize("level", ["first", "usual", "hard"])
def test_the_last_kind_tells_little_of_the_next(level: str) -> None:
    chance = random.Random(f"kinds {level}")
    kinds = []
    for _ in range(CALLS):
        drawn = next_scenario(MemoryStore(), "", level, chance)
        kinds.append(FAULTS[drawn.fault_ids[0]].family if drawn.faults else "none")
    names = sorted(set(kinds))
    table = np.zeros((len(names), len(names)), dtype=int)
    for last, then in pairwise(kinds):
        table[names.index(last), names.index(then)] += 1
    assert len(names) >= 4
    assert 0.0 < association(table, method="cramer") <= MAX_V
