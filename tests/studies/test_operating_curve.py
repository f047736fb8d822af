"""The rule of the certificate: its operating curve three ways, and the variance study that it rests on."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, multivariate_normal, norm

from simulator.marking.bank import bank
from simulator.marking.certificate_forms import draw_form
from simulator.marking.decision import CASE_SD, LEAST, MOST, PASSED, Rule, Z
from simulator.marking.standard import FOUND_EARNS, MISSED_EARNS
from simulator.studies.bank_plays import read_table
from simulator.studies.case_variance import components, interval, marks_of, near, within_kinds
from simulator.studies.near_people import PATCHY, STEADY, at_ability, kind_mean
from simulator.studies.operating_curve import (
    ABILITIES,
    MARGINS,
    by_forms,
    by_integral,
    by_normal,
    sittings,
    wrong,
)

COUNT = 4000


def test_one_look_is_the_normal_distribution() -> None:
    """Without a second look the curve has a closed form."""
    rule = Rule(least=5, most=5, z=0.5, case_sd=15.4)
    for ability in ABILITIES:
        point, error = by_integral(ability, rule), rule.error(5)
        margin = rule.z * error
        assert point.passed == pytest.approx(norm.sf(70.0 + margin, ability, error), abs=1e-12)
        assert point.failed == pytest.approx(norm.cdf(70.0 - margin, ability, error), abs=1e-12)
        assert point.cases == pytest.approx(5.0, abs=1e-12)


@pytest.mark.parametrize("ability", [60.0, 72.0])
def test_two_looks_are_a_plane_normal_distribution(ability: float) -> None:
    """Against SciPy's bivariate normal distribution, which takes no part in the integration."""
    rule = Rule(least=5, most=6, z=0.8, case_sd=20.0)
    sums = multivariate_normal(
        [5.0 * ability, 6.0 * ability],
        20.0**2 * np.array([[5.0, 5.0], [5.0, 6.0]]),
        seed=np.random.RandomState(1),
    )
    (low, high), (_, top) = [
        (n * 70.0 - rule.z * 20.0 * n**0.5, n * 70.0 + rule.z * 20.0 * n**0.5) for n in (5, 6)
    ]
    five = norm(5.0 * ability, 20.0 * 5.0**0.5)
    between = five.cdf(high) - five.cdf(low)
    not_over = sums.cdf([high, top]) - sums.cdf([low, top])
    exact = five.sf(high) + between - not_over
    assert by_integral(ability, rule).passed == pytest.approx(exact, abs=2e-5)


def test_twice_as_many_nodes_change_nothing() -> None:
    for ability in ABILITIES:
        coarse, fine = by_integral(ability, Rule()), by_integral(ability, Rule(), 192)
        assert coarse.passed == pytest.approx(fine.passed, abs=1e-9)
        assert coarse.cases == pytest.approx(fine.cases, abs=1e-8)
        assert coarse.passed + coarse.failed + coarse.undecided == pytest.approx(1.0, abs=1e-9)


#: The rule with the least margin there is, which the integral asks for: the marks' own spread never counts.
LEAST_MARGIN = Rule(as_met=False)


def test_the_rules_own_code_follows_the_integral() -> None:
    """Shares of drawn sittings lie where a binomial with the integral's share would, but for once in 10,000."""
    chance = np.random.default_rng(20261)
    for ability in ABILITIES:
        exact, drawn = (
            by_integral(ability, LEAST_MARGIN),
            by_normal(ability, LEAST_MARGIN, COUNT, chance),
        )
        for share, wanted in ((drawn.passed, exact.passed), (drawn.failed, exact.failed)):
            low, high = binom.interval(0.9999, COUNT, wanted)
            assert low <= share * COUNT <= high
        assert drawn.cases == pytest.approx(exact.cases, abs=0.15)


def test_the_rule_in_use_passes_and_fails_few_wrongly() -> None:
    points = [by_integral(ability, Rule()) for ability in ABILITIES]
    assert wrong(points) == []
    assert points[0].passed > 0.02, "a wider margin than needed leaves more people undecided"
    assert MARGINS.index(Z) > 0


def test_marks_that_lie_far_apart_count_as_far_apart_as_they_are() -> None:
    """Of somebody perfect at six cases in ten and hopeless at the rest, by the rule and without that part of it."""
    chance, passes, fails = np.random.default_rng(8), [], []
    for rule in (Rule(), LEAST_MARGIN):
        for ability, shares in ((60.0, passes), (80.0, fails)):
            rows = iter(100.0 * (chance.random((COUNT, MOST)) < ability / 100.0))
            point = sittings(ability, rule, COUNT, lambda rows=rows: [float(mark) for mark in next(rows)])
            shares.append(point.passed if ability < 70.0 else point.failed)
    assert passes[0] < 0.7 * passes[1]
    assert fails[0] < 0.7 * fails[1]
    assert Rule().decide([100.0, 100.0, 100.0, 100.0, 0.0]) == "one_more"
    assert LEAST_MARGIN.decide([100.0, 100.0, 100.0, 100.0, 0.0]) == "one_more"
    assert Rule().decide([100.0] * 7 + [0.0] * 2) == "one_more"
    assert Rule().decide([90.0] * 5) == "passed", "marks close together are no sharper and no blunter"


def test_simulated_people_on_drawn_forms_are_decided_as_published() -> None:
    table = read_table()
    forms = [[case.id for case in draw_form(seed)] for seed in range(40)]
    points = []
    for ability in (60.0, 80.0):
        people = at_ability(table, PATCHY, ability, 400, 3)
        assert len(people) > 5
        points.append(by_forms(ability, Rule(), COUNT, people, forms, 1))
    assert wrong(points) == []


def test_the_standard_error_in_use_is_the_variance_studys() -> None:
    people = near(read_table(), 1)
    assert {person.sort for person in people} == {STEADY, PATCHY}
    cases, marks = marks_of(people)
    inside, whole = within_kinds(cases, marks), components(marks).case_sd
    assert inside <= CASE_SD
    assert inside > 0.75 * CASE_SD, "an error far too large would leave everybody undecided"
    low, high = interval(marks, 100, 1)
    assert inside < whole
    assert low < whole < high


def test_variance_components_of_a_made_up_table_come_back() -> None:
    chance = np.random.default_rng(4)
    people, cases = 400, 300
    marks = (
        70.0
        + chance.normal(0.0, 9.0, (people, 1))
        + chance.normal(0.0, 6.0, (1, cases))
        + chance.normal(0.0, 12.0, (people, cases))
    )
    found = components(marks)
    assert found.person == pytest.approx(81.0, rel=0.25)
    assert found.case == pytest.approx(36.0, rel=0.35)
    assert found.rest == pytest.approx(144.0, rel=0.02)


def test_what_a_found_and_a_missed_case_earn_is_what_simulated_people_earned() -> None:
    plays = read_table()["plays"]
    mixed = [
        play for name, own in plays.items() if name != "expert" for case in own.values() for play in case
    ]
    best = [play[0] for case in plays["expert"].values() for play in case if play[2]]
    found = [play[0] for play in mixed if play[2]]
    missed = [play[0] for play in mixed if not play[2]]
    assert np.mean(found) < FOUND_EARNS < np.mean(best)
    assert np.mean(missed) == pytest.approx(MISSED_EARNS, abs=5.0)


def test_a_mean_counts_each_kind_alike() -> None:
    marks = {case.id: 100.0 if case.slot == "loses_it" else 50.0 for case in bank()[0]}
    marks.pop(next(case.id for case in bank()[0] if case.slot == "loses_it"))
    assert kind_mean(marks) == pytest.approx(60.0)


@pytest.mark.full
def test_a_hundred_thousand_sittings_follow_the_integral() -> None:
    chance = np.random.default_rng(5)
    for ability in ABILITIES:
        exact, drawn = (
            by_integral(ability, LEAST_MARGIN),
            by_normal(ability, LEAST_MARGIN, 100_000, chance),
        )
        assert drawn.passed == pytest.approx(exact.passed, abs=0.006)
        assert drawn.undecided == pytest.approx(exact.undecided, abs=0.006)
        assert (LEAST, MOST, PASSED) == (5, 10, "passed")
