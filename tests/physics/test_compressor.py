"""The piston compressor against the closed formula of the textbook and properties."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.physics import compressor
from simulator.physics.gas import R_AIR

REFERENCE = {
    "p_in": 101_325.0,
    "T": 293.15,
    "displacement": 8.5e-3,
    "speed_ratio": 1.0,
    "slip": 0.0,
    "clearance": 0.06,
    "index": 1.25,
    "wear": 0.0,
    "intake_blocked": 0.0,
}
ORDER = (
    "p_m", "p_in", "T", "displacement", "speed_ratio", "slip", "clearance", "index", "wear", "intake_blocked"
)  # fmt: skip


def deliver(p_m: float, **changes: float) -> float:
    values = REFERENCE | changes | {"p_m": p_m}
    return compressor.delivery(*(values[name] for name in ORDER))


def test_volumetric_efficiency_from_the_re_expansion_of_the_clearance_air() -> None:
    """Clearance air expands from p_2 to p_1 along p V^n: what is left of the stroke draws (textbook,
    exact)."""
    for ratio, clearance, index in ((3.0, 0.05, 1.3), (6.7, 0.06, 1.25), (8.0, 0.1, 1.0)):
        volume = clearance * ratio ** (1.0 / index)
        assert compressor.volumetric_efficiency(ratio, clearance, index) == pytest.approx(
            1.0 + clearance - volume, rel=1e-12
        )


def test_without_clearance_it_swallows_its_displacement() -> None:
    """p D / (R T), less what the filter costs: p = p_in / sqrt(1 + k^2), exact without clearance."""
    p = 101_325.0 / (1.0 + compressor.FILTER_RESISTANCE**2) ** 0.5
    assert deliver(6e5, clearance=0.0) == pytest.approx(p * 8.5e-3 / (R_AIR * 293.15), rel=1e-9)
    assert 0.985 < p / 101_325.0 < 0.995


def test_pressure_behind_the_filter_satisfies_both_laws() -> None:
    for blocked in (0.0, 0.5, 0.9, 0.97):
        p = 101_325.0 * compressor.intake(4e5, 101_325.0, 1.0, 0.06, 1.25, blocked)[0]
        swallowed = compressor.volumetric_efficiency(4e5 / p, 0.06, 1.25) * p
        through = compressor.FILTER_RESISTANCE / (1.0 - blocked) * swallowed
        assert p * p + through * through == pytest.approx(101_325.0**2, rel=1e-9)


def test_shut_off_pressure() -> None:
    """Zero delivery where r^(1/n) = 1 + 1/c (textbook)."""
    ratio = (1.0 + 1.0 / 0.06) ** 1.25
    assert deliver(1.001 * ratio * 101_325.0) == 0.0
    assert deliver(0.9 * ratio * 101_325.0) > 0.0


def test_a_broken_belt_or_a_standing_engine_gives_nothing() -> None:
    assert deliver(5e5, slip=1.0) == 0.0
    assert deliver(5e5, speed_ratio=0.0) == 0.0
    assert deliver(5e5, intake_blocked=1.0) == 0.0
    assert deliver(5e5, wear=1.0) == 0.0


@settings(deadline=None)
@given(
    name=st.sampled_from(["slip", "wear", "intake_blocked"]),
    a=st.floats(0.0, 1.0),
    b=st.floats(0.0, 1.0),
    p_m=st.floats(1e5, 12e5),
)
def test_a_worse_fault_never_delivers_more(name: str, a: float, b: float, p_m: float) -> None:
    mild, bad = sorted((a, b))
    assert deliver(p_m, **{name: bad}) <= deliver(p_m, **{name: mild}) * (1.0 + 1e-9) + 1e-15


@settings(deadline=None)
@given(a=st.floats(1e5, 40e5), b=st.floats(1e5, 40e5))
def test_delivery_falls_with_pressure(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert deliver(high) <= deliver(low) * (1.0 + 1e-9)
