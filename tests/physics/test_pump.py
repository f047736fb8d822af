"""The pump: affinity laws and the crossing of pump and system curve (exact); air bands from memory."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.physics import pump


@settings(deadline=None)
@given(q=st.floats(0.0, 0.2), s=st.floats(0.1, 1.2))
def test_affinity_laws(q: float, s: float) -> None:
    """Q ~ n, H ~ n^2, the efficiency at the point stays (any pump handbook; exact for these curves)."""
    base = pump.head(q, 1.0, 32.0, 2600.0)
    assert pump.head(q * s, s, 32.0, 2600.0) == pytest.approx(base * s * s, rel=1e-9, abs=1e-9)
    at_rated = pump.efficiency(q, 1.0, 0.07, 0.72)
    assert pump.efficiency(q * s, s, 0.07, 0.72) == pytest.approx(at_rated, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(s=st.floats(0.3, 1.2), static=st.floats(0.0, 30.0), k_s=st.floats(1.0, 1e5), k_d=st.floats(1.0, 1e5))
def test_operating_point_is_where_pump_and_system_meet(
    s: float, static: float, k_s: float, k_d: float
) -> None:
    q = pump.operating_point(s, 32.0, 2600.0, static, k_s, k_d)
    made = pump.head(q, s, 32.0, 2600.0)
    if q == 0.0:
        assert made <= static
    else:
        assert made == pytest.approx(static + (k_s + k_d) * q * q, rel=1e-9)


def test_resistance_against_fluids() -> None:
    """Library fluids, head_from_K: K times velocity head."""
    velocity = 0.05 / (0.25 * math.pi * 0.15**2)
    expected = fluids.head_from_K(K=7.5, V=velocity)
    assert pump.resistance(7.5, 0.15) * 0.05**2 == pytest.approx(expected, rel=1e-12)


def test_air_in_the_eye() -> None:
    """Handbook bands, from memory: 2 % nothing, degradation between 3 and 15 %, let go at about 4 to 10 %."""
    assert pump.air_head_factor(0.02) == 1.0
    assert 0.9 < pump.air_head_factor(0.03) < 1.0
    assert pump.air_head_factor(0.04) > 0.5 > pump.air_head_factor(0.10)
    assert pump.air_head_factor(0.15) == 0.0


def test_cavitation_takes_three_per_cent_at_the_required_suction_head() -> None:
    """ISO 9906: NPSH3 is where head has fallen by 3 %."""
    assert pump.cavitation_head_factor(4.0, 4.0) == pytest.approx(0.97, rel=1e-12)
    assert pump.cavitation_head_factor(8.0, 4.0) > 0.999
    assert pump.cavitation_head_factor(2.0, 4.0) < 0.2
    assert pump.cavitation_head_factor(0.0, 4.0) == 0.0


def test_npsh_against_fluids() -> None:
    """Library fluids, head_from_P, for the pressure part; velocity head v^2 / 2 g."""
    expected = fluids.head_from_P(P=60e3 - 2339.0, rho=998.2) + 2.0**2 / (2.0 * 9.80665)
    assert pump.npsh_available(60e3, 2339.0, 998.2, 2.0) == pytest.approx(expected, rel=1e-9)
