"""Stated certainty: no statement pays better on average than the true one."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from simulator.attempt.calls import MARKERS, MAX_SUSPECTS, SOMETHING_ELSE
from simulator.marking.certainty import certainty_points, stated
from simulator.rig.faults import FAMILIES, FAULTS


def all_statements() -> list[dict[str, int]]:
    """Every allowed statement, one suspect of each family standing for its family."""
    one_each = [next(f.id for f in FAULTS.values() if f.family == family) for family in FAMILIES]
    out = []
    for count in range(MAX_SUSPECTS + 1):
        for chosen in combinations(one_each, count):
            for split in _splits(MARKERS, count + 1):
                markers = {name: n for name, n in zip((*chosen, SOMETHING_ELSE), split, strict=True) if n}
                out.append(markers)
    return out


def _splits(total: int, parts: int) -> list[tuple[int, ...]]:
    if parts == 1:
        return [(total,)]
    return [(n, *rest) for n in range(total + 1) for rest in _splits(total - n, parts - 1)]


def expected(statement: dict[str, float], belief: dict[str, float]) -> float:
    return sum(chance * certainty_points(statement, family, 15.0) for family, chance in belief.items())


def test_the_true_belief_has_the_best_expected_mark_of_all_allowed_statements() -> None:
    found = [stated(markers, FAMILIES) for markers in all_statements()]
    distinct = {tuple(round(chance, 9) for chance in belief.values()): belief for belief in found}
    statements = list(distinct.values())
    assert len(statements) > 250
    beliefs = np.array([[belief[family] for family in FAMILIES] for belief in statements])
    points = np.array([[certainty_points(s, family, 15.0) for family in FAMILIES] for s in statements])
    for number, belief in enumerate(beliefs):
        marks = points @ belief
        own = marks[number]
        marks[number] = -np.inf
        assert marks.max() < own - 1e-9


@pytest.mark.parametrize("truth", FAMILIES)
def test_knowing_nothing_earns_nothing_and_being_right_earns_all(truth: str) -> None:
    nothing = stated({SOMETHING_ELSE: MARKERS}, FAMILIES)
    assert certainty_points(nothing, truth, 15.0) == pytest.approx(0.0, abs=1e-12)
    right = next(fault.id for fault in FAULTS.values() if fault.family == truth)
    assert certainty_points(stated({right: MARKERS}, FAMILIES), truth, 15.0) == pytest.approx(15.0, rel=1e-12)


def test_honest_doubt_never_loses_on_average() -> None:
    for markers in all_statements():
        belief = stated(markers, FAMILIES)
        assert expected(belief, belief) >= -1e-9


def test_bluff_costs_more_than_it_can_win() -> None:
    sure = stated({"belt_loose": MARKERS}, FAMILIES)
    assert certainty_points(sure, "air_gets_in", 15.0) < -15.0


def test_markers_on_two_suspects_of_one_family_count_together() -> None:
    two = stated({"drain_open": 6, "joint_ring": 2, SOMETHING_ELSE: 2}, FAMILIES)
    one = stated({"nrv_fouled": 8, SOMETHING_ELSE: 2}, FAMILIES)
    assert two == pytest.approx(one)
    assert sum(two.values()) == pytest.approx(1.0, rel=1e-12)
