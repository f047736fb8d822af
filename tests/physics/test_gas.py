"""Gas relations against NACA Report 1135 (tables I and II, gamma = 1.4; figures from memory) and ISO
6358-1."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.physics import gas

# NACA Report 1135, table I (subsonic and supersonic flow): M, p/p0, T/T0, A/A*
ISENTROPIC = [
    (0.50, 0.8430, 0.9524, 1.3398),
    (1.00, 0.5283, 0.8333, 1.0000),
    (1.50, 0.2724, 0.6897, 1.1762),
    (2.00, 0.1278, 0.5556, 1.6875),
    (3.00, 0.02722, 0.3571, 4.2346),
]
# NACA Report 1135, table II (normal shock): M1, M2, p2/p1, pt2/pt1
NORMAL_SHOCK = [(1.5, 0.7011, 2.4583, 0.9298), (2.0, 0.5774, 4.5000, 0.7209), (3.0, 0.4752, 10.3333, 0.3283)]


@pytest.mark.parametrize(("mach", "pressure", "temperature", "area"), ISENTROPIC)
def test_isentropic_flow_table(mach: float, pressure: float, temperature: float, area: float) -> None:
    assert gas.isentropic_pressure_ratio(mach, 1.4) == pytest.approx(pressure, rel=3e-4)
    assert gas.isentropic_temperature_ratio(mach, 1.4) == pytest.approx(temperature, abs=6e-5)
    assert gas.isentropic_area_ratio(mach, 1.4) == pytest.approx(area, rel=1e-4)


@pytest.mark.parametrize(("mach", "behind", "pressure", "stagnation"), NORMAL_SHOCK)
def test_normal_shock_table(mach: float, behind: float, pressure: float, stagnation: float) -> None:
    assert gas.normal_shock_mach(mach, 1.4) == pytest.approx(behind, rel=1e-4)
    assert gas.normal_shock_pressure_ratio(mach, 1.4) == pytest.approx(pressure, rel=1e-4)
    assert gas.normal_shock_stagnation_ratio(mach, 1.4) == pytest.approx(stagnation, rel=2e-4)


def test_constants_written_out_for_air() -> None:
    written = (gas._CRITICAL_AIR, gas._CHOKED_AIR)
    assert written == pytest.approx((gas.critical_ratio(1.4), gas.choked_flow_factor(1.4)), rel=1e-14)
    assert gas.R_AIR == 287.05287  # ISO 2533:1975


@pytest.mark.parametrize("gamma", [1.135, 1.3, 1.4, 1.667])
def test_critical_ratio_against_fluids(gamma: float) -> None:
    """Library fluids, P_critical_flow."""
    assert gas.critical_ratio(gamma) == pytest.approx(fluids.P_critical_flow(P=1.0, k=gamma), rel=1e-12)


def test_choked_air_flow_is_area_times_density_times_speed_of_sound_in_the_throat() -> None:
    """NACA Report 1135: the throat stands at Mach 1."""
    p, t = 101_325.0, 293.15
    throat_t = t * gas.isentropic_temperature_ratio(1.0, 1.4)
    throat_p = p * gas.isentropic_pressure_ratio(1.0, 1.4)
    expected = 1e-6 * throat_p / (gas.R_AIR * throat_t) * gas.speed_of_sound(throat_t, 1.4)
    assert gas.orifice_mass_flow(p, 20e3, 1e-6, 1.0, t) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("ratio", [0.55, 0.65, 0.75, 0.85, 0.95, 0.99])
def test_subsonic_flow_against_the_isentropic_tables(ratio: float) -> None:
    """Mach number from p/p0, then density times velocity: the formula of Saint-Venant and Wantzel (ISO
    6358-1)."""
    p, t = 101_325.0, 293.15
    mach = math.sqrt(5.0 * (ratio ** (-2.0 / 7.0) - 1.0))
    temperature = t * gas.isentropic_temperature_ratio(mach, 1.4)
    velocity = mach * gas.speed_of_sound(temperature, 1.4)
    expected = 0.8 * 1e-6 * ratio * p / (gas.R_AIR * temperature) * velocity
    assert gas.orifice_mass_flow(p, ratio * p, 1e-6, 0.8, t) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("ratio", [0.3, 0.6, 0.7, 0.8, 0.9, 0.97])
def test_against_the_ellipse_of_iso_6358(ratio: float) -> None:
    """ISO 6358-1: flow is an ellipse in the pressure ratio above b; with b = 0.5283 it lies within 1.2 % of
    the exact law."""
    b = 0.5283
    ellipse = 1.0 if ratio <= b else math.sqrt(1.0 - ((ratio - b) / (1.0 - b)) ** 2)
    exact = gas.flow_factor(ratio) / gas.flow_factor(0.0)
    assert exact == pytest.approx(ellipse, rel=0.012)


def test_small_differences_are_regularised_once_differentiably() -> None:
    def slope(ratio: float) -> float:
        return (gas.flow_factor(ratio + 1e-9) - gas.flow_factor(ratio - 1e-9)) / 2e-9

    edge = 1.0 - gas.SMALL_PRESSURE_SHARE
    assert slope(edge - 1e-8) == pytest.approx(slope(edge + 1e-8), rel=1e-3)
    assert gas.flow_factor(edge - 1e-12) == pytest.approx(gas.flow_factor(edge + 1e-12), rel=1e-8)
    ahead = gas.orifice_flow(1e5, 1e5 - 1e-3, 1e-4, 1.0, 293.15)
    back = gas.orifice_flow(1e5, 1e5 + 1e-3, 1e-4, 1.0, 293.15)
    assert ahead > 0.0
    assert ahead == pytest.approx(-back, rel=1e-6)
    critical = gas.critical_ratio(1.4)
    assert abs(slope(critical + 1e-5)) < 1e-3  # meets the choked plateau without a corner


@settings(deadline=None)
@given(
    p_up=st.floats(1e3, 2e6),
    a=st.floats(0.0, 1.0),
    b=st.floats(0.0, 1.0),
)
def test_flow_falls_as_the_back_pressure_rises(p_up: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    first = gas.orifice_flow(p_up, low * p_up, 1e-6, 0.65, 293.15)
    second = gas.orifice_flow(p_up, high * p_up, 1e-6, 0.65, 293.15)
    assert second <= first * (1.0 + 1e-12)
    assert first >= 0.0


def test_no_flow_without_pressure_and_no_error() -> None:
    assert gas.orifice_flow(0.0, 0.0, 1e-6, 0.65, 293.15) == 0.0
    assert gas.orifice_flow(1e5, 1e5, 1e-6, 0.65, 293.15) == 0.0
    assert gas.orifice_mass_flow(0.0, -1e-9, 1e-6, 0.65, 293.15) == 0.0
    assert gas.orifice_mass_flow(-5.0, -10.0, 1e-6, 0.65, 293.15) == 0.0
    assert gas.liquid_orifice_flow(1e5, 1e5, 1e-6, 0.65, 998.0) == 0.0


def test_liquid_orifice_is_torricelli() -> None:
    """A head of 10 m behind a hole: v = sqrt(2 g h)."""
    flow = gas.liquid_orifice_flow(1e5 + 1000.0 * 9.80665 * 10.0, 1e5, 1e-4, 0.62, 1000.0)
    assert flow == pytest.approx(0.62 * 1e-4 * math.sqrt(2.0 * 9.80665 * 10.0), rel=1e-12)
    assert gas.liquid_orifice_flow(1e5, 2e5, 1e-4, 0.62, 1000.0) < 0.0
