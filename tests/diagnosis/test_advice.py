"""The order of looking, and the next best thing to do, against exact answers on small cases."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.diagnosis.advice import _after_the_best, minutes_with, next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.option import Option
from simulator.rig.remedies import REMEDIES
from tests.conftest import examples
from tests.diagnosis.looking_order import best_order, expected_minutes, first_act, remaining_minutes

CHANCES, MINUTES = [0.4, 0.3, 0.2, 0.1], [10.0, 5.0, 2.0, 1.0]


def test_known_example_of_chance_over_minutes() -> None:
    # Rule: Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995. The figures follow from it by hand:
    # 2 + 0.8 * 1 + 0.7 * 5 + 0.4 * 10 = 10.3 and 10 + 0.6 * 5 + 0.3 * 2 + 0.1 * 1 = 13.7.
    order = best_order(CHANCES, MINUTES)
    assert order == [2, 3, 1, 0]
    assert expected_minutes(order, CHANCES, MINUTES) == pytest.approx(10.3, rel=1e-12)
    assert expected_minutes([0, 1, 2, 3], CHANCES, MINUTES) == pytest.approx(13.7, rel=1e-12)
    tied = expected_minutes([3, 2, 1, 0], CHANCES, MINUTES)
    assert tied == pytest.approx(10.3, rel=1e-12), "the third and the fourth tie"


def test_no_other_order_is_better() -> None:
    best = min(expected_minutes(order, CHANCES, MINUTES) for order in permutations(range(4)))
    assert expected_minutes(best_order(CHANCES, MINUTES), CHANCES, MINUTES) == pytest.approx(best, rel=1e-12)


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.2, 30.0)), min_size=2, max_size=6))
def test_no_other_order_is_better_for_any_case(items: list[tuple[float, float]]) -> None:
    total = sum(chance for chance, _ in items)
    chances, minutes = [chance / total for chance, _ in items], [m for _, m in items]
    best = min(expected_minutes(order, chances, minutes) for order in permutations(range(len(items))))
    assert expected_minutes(best_order(chances, minutes), chances, minutes) == pytest.approx(best, rel=1e-9)


ACTS = (("close_drain", ""), ("tighten_belt", ""), ("clean_strainer", ""), ("clean_nrv", ""))


@pytest.fixture
def four_faults(small_set):
    """Row 0 is sound; faults 1 to 4 are each mended by one work alone, and the hands see when they have mended."""

    def make(weights):
        after = {}
        for number, act in enumerate(ACTS, start=1):
            after[act] = [0 if row == number else row for row in range(5)]
        return small_set([1e-12, *weights], after=after)

    return make


def exact_minutes(cases, weights) -> float:
    """Best expected minutes over every order of work; the start that proves is paid once, where the work mended."""
    minutes = [REMEDIES[name].minutes for name, _ in ACTS]
    best = min(expected_minutes(order, weights, minutes) for order in permutations(range(4)))
    return best + cases.watch_minutes


@pytest.mark.parametrize(
    "weights", [(0.4, 0.3, 0.2, 0.1), (0.1, 0.2, 0.3, 0.4), (0.25,) * 4, (0.01, 0.01, 0.01, 0.97)]
)
def test_the_plan_is_the_best_order_of_work(four_faults, weights) -> None:
    cases = four_faults(weights)
    belief = Belief(cases)
    got = remaining_minutes(cases, belief.weights[None, :], belief.now)[0]
    # Near enough exact: the rule divides by the whole cost of an act, start included.
    assert got == pytest.approx(exact_minutes(cases, weights), rel=0.03)
    assert got >= exact_minutes(cases, weights) - 1e-9


def test_minutes_grow_with_the_weight_they_are_for(four_faults) -> None:
    cases = four_faults((0.4, 0.3, 0.2, 0.1))
    belief = Belief(cases)
    one, half = remaining_minutes(cases, np.array([belief.weights, 0.5 * belief.weights]), belief.now)
    assert half == pytest.approx(0.5 * one, rel=1e-9)


def test_a_look_that_cannot_tell_is_only_its_minutes_lost(four_faults) -> None:
    cases = four_faults((0.4, 0.3, 0.2, 0.1))
    cases.chances["belt", ""] = np.full((5, 1, 4), 0.25)
    belief = Belief(cases)
    plain = min(remaining_minutes(cases, belief.weights[None, :], belief.now)[0], 1e9)
    option = Option("check", "belt", "", 4.0)
    assert minutes_with(belief, option) <= 4.0 + plain + 1e-9
    watch = Option("watch", "watch", "", cases.watch_minutes)
    assert minutes_with(belief, option) == pytest.approx(
        4.0 + min(plain, minutes_with(belief, watch)), rel=1e-9
    )


def test_what_tells_nothing_comes_after_the_best_that_does() -> None:
    own = np.array([0.5, 5.0, 2.0])
    prices = np.array([20.5, 24.0, 21.7])  # 20 min left by the plan: the first tells nothing, the others do
    _after_the_best(prices, own, 20.0)
    np.testing.assert_allclose(prices, [22.2, 24.0, 21.7], rtol=0.0, atol=1e-12)
    idle = np.array([20.5, 25.0])
    _after_the_best(idle, own[:2], 20.0)
    np.testing.assert_allclose(idle, [20.5, 25.0], rtol=0.0, atol=1e-12)


def test_a_cheap_look_that_tells_all_is_taken(four_faults) -> None:
    cases = four_faults((0.25, 0.25, 0.25, 0.25))
    sharp = np.full((5, 1, 4), 0.01)
    for row in range(1, 5):
        sharp[row, 0, row - 1] = 0.97
    sharp[0, 0] = 0.25
    cases.chances["belt", ""] = sharp
    belief = Belief(cases)
    choice = (
        Option("check", "belt", "", 0.5),
        *(Option("remedy", a, p, REMEDIES[a].minutes) for a, p in ACTS),
    )
    assert next_best(belief, choice).option.id == "belt"


def test_when_the_fault_is_plain_it_is_mended(cases) -> None:
    belief = Belief(cases).update_check("belt", "broken").update_check("exhaust_stream", "none", time=55.0)
    assert next_best(belief).option.id == "renew_belt"


def test_the_gauges_come_first(cases) -> None:
    belief = Belief(cases)
    assert next_best(belief, options(cases)).option.kind == "watch"
    free = next_best(belief, options(cases, started=False)).option
    assert free.id == "walk_round", (
        "a look round before the first start is asked for by safety, so it costs nothing"
    )


def test_after_one_look_round_the_start_is_watched(cases) -> None:
    belief = Belief(cases).update_check("walk_round", "in_order")
    assert next_best(belief, options(cases, started=False)).option.kind == "watch"


def test_once_proven_there_is_nothing_left(cases) -> None:
    belief = Belief(cases).update_restart(1, 60.0, 36.0, proof=True)
    found = next_best(belief)
    assert found.option.kind == "finish"
    assert found.minutes == 0.0


def test_advice_is_the_least_of_its_table_and_has_a_reason(cases) -> None:
    belief = (
        Belief(cases).update_check("exhaust_stream", "strong_on", time=60.0).update_restart(1, 80.0, None)
    )
    found = next_best(belief)
    assert found.minutes == min(minutes for _, minutes in found.table)
    assert found.reason.endswith(".")


def test_work_that_must_be_tried_pays_for_its_start(cases) -> None:
    # Nobody sees by hand whether a loose liner was in the old hose: a start must tell.
    belief = Belief(cases).update_check("clear_plate", "liner_closes")
    assert first_act(cases, belief.weights, belief.now) == ("replace_hose", "")
    left = remaining_minutes(cases, belief.weights[None, :], belief.now)[0]
    assert left >= REMEDIES["replace_hose"].minutes + 0.9 * cases.watch_minutes


def test_only_allowed_checks_are_offered(cases) -> None:
    offered = {option.id for option in options(cases, ["belt", "walk_round"]) if option.kind == "check"}
    assert offered == {"belt", "walk_round"}
