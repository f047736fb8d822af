"""Stated certainty: no statement pays better on average than the true one."""

from __future__ import annotations

from itertools import combinations
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simulator.attempt.calls import MARKERS, MAX_SUSPECTS, SOMETHING_ELSE
from simulator.marking.certainty import AS_IT_RUNS, certainty_points, stated
from simulator.marking.found import _certainty
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


@pytest.mark.parametrize(
    ("truth", "start_s", "on_it"),
    [
        ("strainer_clogs", None, 8),
        ("strainer_plugged", 60.0, 8),
        ("flange_works_loose", None, 8),
        ("flange_leaks", 60.0, 8),
        ("strainer_plugged", None, 4),
    ],
)
def test_two_names_of_what_came_as_it_ran_count_as_one(truth: str, start_s: float | None, on_it: int) -> None:
    """Eight of ten markers on two names of one trouble, which no look parts, counted as spread over two kinds."""
    first = next(name for name, late in AS_IT_RUNS.items() if truth in (name, late))
    markers = {first: 4, AS_IT_RUNS[first]: 4, SOMETHING_ELSE: 2}
    faults = [{"fault": truth, "start_s": start_s, "end_s": start_s and start_s + 20.0}]
    event = {"act": "call", "accepted": True, "result": {"markers": markers}}
    story: Any = SimpleNamespace(log=(event,), faults=faults, fault_ids=(truth,), ended="given_up")
    said = _certainty(story, SimpleNamespace(families=FAMILIES))  # type: ignore[arg-type]
    assert dict(said[0].fields)["n"] == on_it
