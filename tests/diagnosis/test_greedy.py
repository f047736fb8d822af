"""The plan followed belief by belief and with whole arrays: the same minutes and the same first act."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.diagnosis.greedy import (
    NOWHERE,
    Tables,
    Watching,
    after_watching,
    follow,
    follow_by_arrays,
    watch_by_arrays,
)


def made_up(seed: int, rows: int = 12, acts: int = 7) -> tuple[Tables, Watching, np.ndarray, np.ndarray]:
    """Random tables: half the acts work, half looks before it; the last row needs two works."""
    chance = np.random.default_rng(seed)
    moved = np.where(chance.random((rows, acts)) < 0.3, chance.random((rows, acts)), 0.0)
    target = np.full((rows, acts), NOWHERE)
    target[-1] = 1
    lost = np.where(moved > 0.0, 0.0, chance.random((rows, acts)))
    plain = np.array([NOWHERE if a < acts // 2 else a % (acts // 2) for a in range(acts)])
    steps = np.ones(rows)
    steps[-1] = 2.0
    tables = Tables(
        chance.uniform(0.5, 20.0, acts), moved, target, lost + 5.0 * moved, lost, steps, plain, 90.0
    )
    proves = np.zeros(rows, dtype=bool)
    proves[0] = True
    sign = np.arange(rows) % 4
    watching = Watching(proves, chance.random((4, rows)), sign, 1.5, 2e-3, 1e-3)
    weights = chance.dirichlet(np.full(rows, 0.4), size=9) * chance.random((9, 1))
    barred = chance.random((9, acts)) < 0.2
    return tables, watching, weights, barred


@pytest.mark.parametrize("seed", range(20))
def test_both_ways_give_the_same(seed: int) -> None:
    tables, watching, weights, barred = made_up(seed)
    minutes, first = follow(tables, weights, barred)
    other, act = follow_by_arrays(tables, weights, barred)
    np.testing.assert_allclose(minutes, other, rtol=1e-6)
    np.testing.assert_array_equal(first, act)
    known = np.random.default_rng(seed).random(weights.shape) < 0.3
    np.testing.assert_allclose(
        after_watching(tables, watching, weights, known, barred),
        watch_by_arrays(tables, watching, weights, known, barred),
        rtol=1e-6,
    )


def test_two_faults_take_two_works() -> None:
    """Row 1 needs work 0, row 2 work 0 and then, as row 3, work 1: what each costs is paid once."""
    moved = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    target = np.full((4, 2), NOWHERE)
    target[2, 0] = 3
    tables = Tables(
        np.array([4.0, 6.0]), moved, target, 1.5 * moved, np.zeros((4, 2)), np.array([1.0, 1.0, 2.0, 1.0]),
        np.array([NOWHERE, NOWHERE]), 90.0,
    )  # fmt: skip
    weights = np.array([[0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0]])
    minutes, first = follow(tables, weights, np.zeros((2, 2), dtype=bool))
    np.testing.assert_allclose(minutes, [5.5, 5.5 + 7.5], rtol=1e-12)
    assert first.tolist() == [0, 0]


def test_barred_acts_are_not_counted_on() -> None:
    tables, _, weights, _ = made_up(3)
    none = np.ones((len(weights), len(tables.base)), dtype=bool)
    minutes, first = follow(tables, weights, none)
    np.testing.assert_allclose(minutes, 90.0 * weights.sum(axis=1), rtol=1e-12)
    assert set(first.tolist()) == {NOWHERE}
