"""The strategies that marks were tried with: each has its reason, and the goals are told where they are missed."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import ECONOMY, OUT_OF
from simulator.scenario import choose_fault
from simulator.studies import strategies
from simulator.studies.habits import Asker
from simulator.studies.strategies import (
    GOALS,
    STRATEGIES,
    ByThumb,
    Novice,
    Opens,
    left_the_worse_half,
    misses,
)
from simulator.studies.trainee import USUAL_GUESS, Trainee
from simulator.studies.trainees import Expert
from tests.conftest import some
from tests.marking.conftest import call_out


def test_every_strategy_says_why_it_is_there_and_every_goal_has_one() -> None:
    assert len(STRATEGIES) == 13
    for name in STRATEGIES:
        assert f"\n{name}\n    " in strategies.__doc__ or name == "asker", name
    assert set(GOALS) <= set(STRATEGIES)


def test_giving_up_the_bad_ones_is_never_a_gain() -> None:
    for totals in ([10.0, 90.0], [50.0] * 6, [0.0, 0.0, 100.0]):
        assert left_the_worse_half(totals) <= sum(totals) / len(totals)


def test_goals_that_are_missed_are_told() -> None:
    assert misses({"expert": [95.0], "novice": [40.0, 50.0], "idle": [3.0]}) == []
    assert len(misses({"expert": [91.0], "novice": [46.0], "one start": [30.0]})) == 3


@pytest.mark.parametrize("kind", [Novice, Opens, Asker, ByThumb])
def test_who_does_not_know_is_not_told_by_the_model(kind: type[Trainee]) -> None:
    """The novice had all points for understanding: he predicted as the expert does."""
    one = object.__new__(kind)
    assert (one.guess(), one.blank_answer("belt_loose")) == (USUAL_GUESS, None)


@pytest.mark.full
def test_the_expert_changes_a_gauge_that_lies_before_he_hands_the_rig_over() -> None:
    """The fault was mended and the rig proved: the bad gauge beside it was left, and half the finding lost with it."""
    call = call_out("drain_open", 0.6)
    call = call.model_copy(update={"faults": (*call.faults, choose_fault("gauge_low", 15e3))})
    attempt = Attempt(call, MemoryStore(), mode="practice", seed=3)
    Expert(attempt, 3).play()
    done = [each["args"]["remedy"] for each in attempt.log if each["act"] == "remedy"]
    assert done == ["close_drain", "swap_suction_gauge"]
    assert attempt.yard.ended == "finished"
    assert marked_attempt(attempt)[2].sheet.points(ECONOMY) == OUT_OF[ECONOMY]


@pytest.mark.full
@pytest.mark.parametrize("name", some(STRATEGIES))
def test_every_strategy_comes_to_an_end_without_a_grave_breach(name: str) -> None:
    attempt = Attempt(call_out("belt_loose", 0.7), MemoryStore(), seed=1)
    STRATEGIES[name](attempt, 1).play()
    assert attempt.yard.ended
    assert not marked_attempt(attempt)[2].sheet.grave
