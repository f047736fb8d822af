"""Twenty random call-outs played by a simple expert: found in all but at most two."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import play
from simulator.attempt.rules_of_thumb_tables import SUSPECT_OF
from simulator.scenario import random_scenario

CALLS = 20
MISSES_ALLOWED = 2


def found(attempt: Attempt) -> bool:
    """Proven pumping, and what was wrong is put right."""
    wrong = {fault["fault"] for fault in attempt.truth()}
    mended = {SUSPECT_OF[done.partition("@")[0]] for done in attempt.yard.remedies}
    return attempt.yard.proven and wrong <= mended


@pytest.mark.full
@pytest.mark.parametrize("level", ["usual"])
def test_a_simple_expert_finds_nearly_all(level: str) -> None:
    missed, breaches = [], []
    for seed in range(CALLS):
        attempt = Attempt(random_scenario(seed, level), MemoryStore(), seed=1000 + seed)
        play(attempt)
        breaches += [event["breach"] for event in attempt.log if event["breach"]]
        if not found(attempt):
            missed.append((seed, attempt.truth(), attempt.yard.remedies, attempt.yard.ended))
    assert len(missed) <= MISSES_ALLOWED, missed
    assert breaches == []  # an expert works safely


@pytest.mark.full
def test_a_simple_expert_over_many() -> None:
    missed = 0
    for seed in range(100, 300):
        attempt = Attempt(random_scenario(seed), MemoryStore(), seed=seed)
        play(attempt)
        missed += not attempt.yard.proven
    assert missed <= 20
