"""Drawing outcomes: the chances come true over cases, and repeating a cheap look is no proof."""

from __future__ import annotations

import itertools
import math

import pytest

from simulator.instruments.checks import CHECKS, draw, joint_probability

WALK = CHECKS["walk_round"]
CASES = 4000


def chances(missed: float) -> dict[str, float]:
    """A half-open drain that is missed with this chance."""
    out = dict.fromkeys(WALK.outcomes, 0.01)
    out["in_order"] = missed
    out["drain_open"] = 1.0 - missed - 0.01 * (len(WALK.outcomes) - 2)
    return out


def test_over_many_cases_the_chances_come_true() -> None:
    given = chances(0.4)
    for repeat in (0, 3):
        seen = [draw(WALK, given, seed, "rig", repeat) for seed in range(CASES)]
        for outcome, chance in given.items():
            # five standard deviations of a binomial share
            slack = 5.0 * math.sqrt(chance * (1.0 - chance) / CASES)
            assert abs(seen.count(outcome) / CASES - chance) < slack


def test_the_same_case_gives_the_same_draw() -> None:
    given = chances(0.5)
    for seed in range(50):
        assert draw(WALK, given, seed, "rig", 2) == draw(WALK, given, seed, "rig", 2)


def test_repeating_a_cheap_look_is_no_proof() -> None:
    given = chances(0.5)
    looks = 6
    never = sum(
        all(draw(WALK, given, seed, "rig", k) == "in_order" for k in range(looks)) for seed in range(CASES)
    )
    independent = 0.5**looks
    assert never / CASES > 15.0 * independent
    assert joint_probability(WALK, [(given, "in_order")] * looks) == pytest.approx(
        never / CASES, abs=5.0 * math.sqrt(0.25 / CASES)
    )


def test_ten_clean_looks_leave_most_of_the_doubt() -> None:
    # An open drain that half of the looks miss, against a shut one: even odds before.
    missed, shut = chances(0.5), chances(0.92)
    once = _posterior([missed], [shut])
    ten = _posterior([missed] * 10, [shut] * 10)
    independent = 0.5**10 / (0.5**10 + 0.92**10)
    assert ten > 100.0 * independent
    assert ten > 0.35 * once


def _posterior(suspected: list[dict[str, float]], shut: list[dict[str, float]]) -> float:
    a = joint_probability(WALK, [(p, "in_order") for p in suspected])
    b = joint_probability(WALK, [(p, "in_order") for p in shut])
    return a / (a + b)


def test_joint_probabilities_add_up_to_one() -> None:
    first, second = chances(0.3), chances(0.6)
    total = sum(
        joint_probability(WALK, [(first, a), (second, b)])
        for a, b in itertools.product(WALK.outcomes, repeat=2)
    )
    assert total == pytest.approx(1.0, abs=1e-12)
    for outcome in WALK.outcomes:
        assert joint_probability(WALK, [(first, outcome)]) == pytest.approx(first[outcome], abs=1e-12)


def test_joint_probability_matches_the_draws() -> None:
    first, second = chances(0.3), chances(0.6)
    pairs = [(draw(WALK, first, s, "rig", 0), draw(WALK, second, s, "rig", 1)) for s in range(CASES)]
    for pair in (("in_order", "in_order"), ("drain_open", "in_order"), ("drain_open", "drain_open")):
        expected = joint_probability(WALK, [(first, pair[0]), (second, pair[1])])
        slack = 5.0 * math.sqrt(max(expected * (1.0 - expected), 1e-4) / CASES)
        assert abs(pairs.count(pair) / CASES - expected) < slack
