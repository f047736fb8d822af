"""Rounded corners: equal values and slopes at the seams (exact)."""

from __future__ import annotations

import pytest

from simulator.physics import smooth


def slope(function, x: float, step: float = 1e-6) -> float:  # type: ignore[no-untyped-def]
    return (function(x + step) - function(x - step)) / (2.0 * step)


def test_seams_have_no_corner() -> None:
    for seam in (0.0, 0.1):
        below = slope(lambda x: smooth.positive_part(x, 0.1), seam - 2e-6)
        above = slope(lambda x: smooth.positive_part(x, 0.1), seam + 2e-6)
        assert below == pytest.approx(above, abs=2e-4)
    for seam in (0.0, 1.0):
        assert slope(smooth.smooth_step, seam - 2e-6) == pytest.approx(
            slope(smooth.smooth_step, seam + 2e-6), abs=5e-5
        )
    for seam in (-0.01, 0.0, 0.01):
        below = slope(lambda x: smooth.signed_root(x, 0.01), seam - 2e-7, 1e-8)
        above = slope(lambda x: smooth.signed_root(x, 0.01), seam + 2e-7, 1e-8)
        assert below == pytest.approx(above, rel=1e-3)


def test_no_width_is_no_error() -> None:
    assert smooth.signed_root(0.0, 0.0) == 0.0
    assert smooth.signed_root(4.0, 0.0) == 2.0
    assert smooth.positive_part(0.0, 0.0) == 0.0
