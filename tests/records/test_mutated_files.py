"""Damaged files of every kind: taken whole or refused in a sentence; see :mod:`tests.records.mutated`."""

from __future__ import annotations

import pytest

from tests.records.mutated import KINDS, Outcome, peak_memory, sweep

FEW = {"call-out": 6, "rig": 4, "trainer": 6, "progress": 4, "work": 3}


def fine(tried: Outcome, count: int) -> None:
    assert tried.bad == []
    assert tried.taken + tried.refused == count


@pytest.mark.parametrize(
    "kind", [pytest.param(k, marks=pytest.mark.full if k in ("work", "call-out") else ()) for k in KINDS]
)
def test_a_few_damaged_files(kind: str) -> None:
    fine(sweep(kind, FEW[kind], seed=3), FEW[kind])


@pytest.mark.full
def test_two_thousand_damaged_files() -> None:
    """The figures are printed by ``python -m tests.records.mutated --files 2000``, which also looks at the memory."""
    for kind in KINDS:
        fine(sweep(kind, 400), 400)
    assert peak_memory() > 0.0
