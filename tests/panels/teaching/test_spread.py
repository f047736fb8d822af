"""Rounds of questions: no kind of case twice in a row, the kinds spread, the same again for the same seed."""

from __future__ import annotations

from collections import Counter
from importlib import import_module
from itertools import pairwise

import pytest

from simulator.panels.lessons.registry import LESSONS
from simulator.panels.teaching.drill import build
from simulator.panels.teaching.spread import SHORT, kind_of, round_of
from simulator.rig.faults import FAULTS
from tests.conftest import thin

NUMBERS = ("02", "03", "04", "05", "06", "07", "08", "11")
MOST = 3  # of one kind in a round of eight or nine drills


@pytest.mark.parametrize("number", thin(*NUMBERS))
def test_no_kind_twice_in_a_row_and_all_of_them_about_as_often(number: str) -> None:
    plan = import_module(LESSONS[number].module).PLAN
    for part in (plan.drills, plan.check):
        firsts = set()
        for seed in (11, 7_919, 123_456):
            made = round_of(part, seed, "metric")
            assert [each.name for each in made] == [template.__name__ for template in part]
            kinds = [kind_of(each) for each in made]
            assert not [one for one, other in pairwise(kinds) if one == other], kinds
            assert max(Counter(kinds).values()) <= MOST
            assert len(set(kinds)) >= len(part) // 2
            firsts.add(tuple(each.case for each in made))
        assert len(firsts) == 3, "other seeds, other cases"
    first = round_of(plan.check, 11, "metric")
    round_of.cache_clear()
    assert [each.case for each in round_of(plan.check, 11, "metric")] == [each.case for each in first]
    assert [each.right for each in round_of(plan.check, 11, "us")] == [each.right for each in first]


def test_a_round_that_cannot_be_spread_is_asked_as_drawn() -> None:
    from simulator.panels.lessons.water_cannot_come.drills import light_through

    made = round_of((light_through, light_through), 5, "metric")
    assert made == (build(light_through, 5, "metric"),) * 2


def test_short_names_stand_for_faults() -> None:
    assert set(SHORT.values()) <= set(FAULTS)
