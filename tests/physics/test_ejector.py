"""The ejector, solved directly, against control-volume theory, the second law and a measured set."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.physics import ejector, gas
from tests.conftest import examples, some

DATA = Path(__file__).parent / "data"
NO_LOSS = (1.0, 1.0, 1.0)
USUAL = (0.92, 0.90, 0.78)
AREA_M = 45.36e-6  # 7.6 mm
T = 293.15


def rows(name: str) -> list[dict[str, str]]:
    text = [line for line in (DATA / name).read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(text))


def flow(
    p_m: float, p_s: float, p_b: float, ratio: float = 8.544, efficiencies: tuple[float, ...] = USUAL
) -> float:
    return ejector.entrained_flow(p_m, p_s, p_b, AREA_M / ratio, AREA_M, T, *efficiencies)


@pytest.mark.parametrize("row", rows("ejector_loss_free.csv"), ids=lambda r: "-".join(list(r.values())[:3]))
def test_loss_free_theory(row: dict[str, str]) -> None:
    """Keenan, Neumann and Lustwerk 1950; Fabri and Siestrunck 1958: within 0.3 %."""
    p_m, p_s = 1e3 * float(row["motive_kpa_abs"]), 1e3 * float(row["suction_kpa_abs"])
    ratio = float(row["area_ratio_mixing_to_throat"])
    entrainment, p_d = float(row["entrainment_ratio"]), 1e3 * float(row["greatest_discharge_kpa_abs"])
    motive = ejector.motive_flow(p_m, p_s, AREA_M / ratio, 1.0, T)
    assert flow(p_m, p_s, 0.997 * p_d, ratio, NO_LOSS) / motive == pytest.approx(entrainment, rel=3e-3)
    assert flow(p_m, p_s, 0.5 * p_d, ratio, NO_LOSS) / motive == pytest.approx(entrainment, rel=3e-3)
    assert ejector.suction_limit(p_s / p_m, ratio, 1.4, *NO_LOSS)[2] * p_m == pytest.approx(p_d, rel=3e-3)
    assert flow(p_m, p_s, 1.003 * p_d, ratio, NO_LOSS) / motive < entrainment


@pytest.mark.parametrize("mach", [1.5, 2.0, 2.5, 3.0])
def test_a_jet_that_fills_the_tube_goes_through_a_normal_shock(mach: float) -> None:
    """Loss-free jet alone in the tube: exit pressure is the stagnation pressure behind a normal shock (NACA
    1135)."""
    ratio = gas.isentropic_area_ratio(mach, 1.4)
    x_1 = gas.isentropic_pressure_ratio(mach, 1.4)
    exit_pressure, _, _ = ejector.mixed_pressure(x_1, 0.0, ratio, 1.4, *NO_LOSS)
    assert exit_pressure == pytest.approx(gas.normal_shock_stagnation_ratio(mach, 1.4), rel=1e-9)


@settings(max_examples=examples(300), deadline=None)
@given(
    p_m=st.floats(1.2e5, 12e5),
    x=st.floats(0.02, 0.99),
    y=st.floats(0.02, 0.99),
    ratio=st.floats(2.0, 400.0),
    efficiencies=st.tuples(st.floats(0.6, 1.0), st.floats(0.6, 1.0), st.floats(0.6, 1.0)),
)
def test_never_beats_the_second_law(
    p_m: float, x: float, y: float, ratio: float, efficiencies: tuple[float, float, float]
) -> None:
    """Two streams of equal temperature mixing without entropy: m_s/m_m <= ln(p_m/p_d) / ln(p_d/p_s)."""
    p_s, p_b = x * min(p_m, 1.2e5), y * min(p_m, 1.2e5)
    if p_s >= 0.999 * p_b:
        return
    drawn = flow(p_m, p_s, p_b, ratio, efficiencies)
    if drawn <= 0.0:
        return
    motive = ejector.motive_flow(p_m, p_s, AREA_M / ratio, 1.0, T)
    assert drawn / motive <= math.log(p_m / p_b) / math.log(p_b / p_s) * (1.0 + 1e-6)


def test_measured_set() -> None:
    """Huang, Chang, Wang and Petrenko 1999, R141b, figures from memory: a wide check of the choked flow.

    Their coefficients: 0.95 on the nozzle's and 0.85 on the suction stream's flow (under the root), 0.88 on
    the area of the jet. Streams of unequal temperature: flow per area goes with 1/sqrt(T). Within 17 %
    each, 8 % root mean square.
    """
    gamma = 1.135
    errors = []
    for row in rows("ejector_huang.csv"):
        x_s = float(row["suction_kpa_abs"]) / float(row["motive_kpa_abs"])
        ratio = float(row["area_ratio_mixing_to_throat"])
        hot, cold = float(row["motive_saturation_c"]) + 273.15, float(row["suction_saturation_c"]) + 273.15
        x_1 = x_s * gas.critical_ratio(gamma)
        motive, _, jet_area = ejector.jet(x_1, gamma, 1.0)
        choked = gas.choked_flow_factor(gamma)
        drawn = math.sqrt(0.85) * (ratio - 0.88 * jet_area) * x_s * choked
        entrainment = drawn / (math.sqrt(0.95) * motive) * math.sqrt(hot / cold)
        errors.append(entrainment / float(row["entrainment_ratio"]) - 1.0)
        # without the area coefficient it is the solver's own choked flow
        _, limit, _ = ejector.suction_limit(x_s, ratio, gamma, 1.0, 1.0, 1.0)
        assert limit == pytest.approx((ratio - jet_area) * x_s * choked, rel=1e-6)
    assert len(errors) == 25
    assert max(map(abs, errors)) < 0.17
    assert math.sqrt(sum(e * e for e in errors) / 25) < 0.09


GRID_S = np.linspace(2e3, 1.6e5, 159)


@pytest.mark.parametrize("ratio", [2.85, 8.544, 43.0, 427.0])
@pytest.mark.parametrize("p_m", some([0.7e5, 1.013e5, 1.2e5, 2.5e5, 6.7e5, 11e5], every=6))
def test_flow_rises_with_suction_pressure_and_falls_with_back_pressure(ratio: float, p_m: float) -> None:
    open_tube = gas.orifice_mass_flow(1.6e5, 0.0, AREA_M, 1.0, T)
    flows = np.array([[flow(p_m, p_s, p_b, ratio) for p_s in GRID_S] for p_b in np.linspace(0.5e5, 2e5, 31)])
    assert np.all(np.isfinite(flows))
    assert np.diff(flows, axis=1).min() > -1e-6 * open_tube
    assert np.diff(flows, axis=0).max() < 1e-6 * open_tube
    assert np.abs(flows).max() < 1.3 * open_tube


@pytest.mark.parametrize("p_m", [1.013e5, 3e5, 6.7e5, 11e5])
def test_flow_turns_continuously(p_m: float) -> None:
    p_dead = ejector.dead_pressure(p_m, 1.03e5, AREA_M / 8.544, AREA_M, *USUAL)
    scale = gas.orifice_mass_flow(p_dead, 0.0, AREA_M, 1.0, T)
    for share in (1e-5, -1e-5):
        assert abs(flow(p_m, p_dead * (1.0 + share), 1.03e5)) < 0.01 * scale
    assert flow(p_m, 1.2 * p_dead, 1.03e5) > 0.0 > flow(p_m, 0.9 * p_dead, 1.03e5)


def test_without_motive_pressure_it_is_an_open_hole() -> None:
    """Belt broken: air runs back through the mixing tube as through an orifice."""
    for p_s in (30e3, 60e3, 95e3):
        expected = -gas.orifice_mass_flow(1.013e5, p_s, AREA_M, ejector.REVERSE_DISCHARGE, T)
        assert flow(1.013e5, p_s, 1.013e5) == pytest.approx(expected, rel=1e-12)
        assert flow(0.3e5, p_s, 1.013e5) == pytest.approx(expected, rel=1e-12)
    assert flow(1.013e5, 1.013e5, 1.013e5) == 0.0


def test_a_blocked_exhaust_pushes_air_into_the_casing() -> None:
    """Back pressure near the motive pressure: the dead pressure is above the atmosphere."""
    area_t = AREA_M / 8.544
    assert ejector.dead_pressure(6.7e5, 4e5, area_t, AREA_M, *USUAL) > 1.5e5
    assert flow(6.7e5, 1.013e5, 4e5) < 0.0
    # a shut exhaust: all motive air turns into the casing at some back pressure below the motive pressure
    motive = ejector.motive_flow(6.7e5, 1.1e5, area_t, 1.0, T)
    assert flow(6.7e5, 1.013e5, 1.1e5) > -motive > flow(6.7e5, 1.013e5, 6.6e5)


def test_losses_only_lose() -> None:
    for which in range(3):
        for p_s in (30e3, 60e3, 90e3):
            worse = [1.0, 1.0, 1.0]
            worse[which] = 0.8
            assert (
                flow(6.7e5, p_s, 1.3e5, 8.544, tuple(worse)) < flow(6.7e5, p_s, 1.3e5, 8.544, NO_LOSS) + 1e-12
            )


@pytest.mark.parametrize("ratio", [4.0, 8.544, 20.0])
def test_it_is_never_deeper_than_the_jet_that_fills_the_tube(ratio: float) -> None:
    """Loss-free, into a deep vacuum: the jet at Mach 1 of the suction stream fills the tube (NACA 1135, area ratio)."""
    low, high = 1.0, 20.0
    for _ in range(80):
        mach = 0.5 * (low + high)
        low, high = (mach, high) if gas.isentropic_area_ratio(mach, 1.4) < ratio else (low, mach)
    filled = gas.isentropic_pressure_ratio(low, 1.4) / gas.critical_ratio(1.4)
    assert ejector.dead_pressure_ratio(0.5 * filled, ratio, 1.4, *NO_LOSS) <= 0.5 * filled
    found = ejector.dead_pressure_ratio(2.0 * filled, ratio, 1.4, *NO_LOSS)
    assert found == pytest.approx(filled, rel=1e-6)


def test_similarity() -> None:
    """Equal pressure ratios and area ratio: flow goes with area, pressure and 1/sqrt(T) (dimensional
    analysis)."""
    one = ejector.entrained_flow(6e5, 60e3, 1.1e5, 5e-6, 45e-6, 290.0, *USUAL)
    two = ejector.entrained_flow(9e5, 90e3, 1.65e5, 1e-5, 9e-5, 320.0, *USUAL)
    assert two == pytest.approx(one * 2.0 * 1.5 * math.sqrt(290.0 / 320.0), rel=1e-7)


@pytest.mark.parametrize("ratio", [2.85, 8.544, 427.0])
def test_odd_inputs_give_figures(ratio: float) -> None:
    for p_m in (0.0, 1.0, 1e5, 5e6):
        for p_s in (0.0, 1.0, 1e5, 1e6):
            for p_b in (1.0, 1e5, 1e6):
                assert math.isfinite(flow(p_m, p_s, p_b, ratio))
    assert ejector.entrained_flow(6e5, 6e4, 1e5, 0.0, AREA_M, T, *USUAL) < 0.0
    assert ejector.dead_pressure(6e5, 1e5, 0.0, AREA_M, *USUAL) == 1e5  # no jet draws nothing
