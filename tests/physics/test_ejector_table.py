"""The smooth table of the ejector against its direct solution, and the smoothness a stiff solver needs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.physics import ejector, ejector_table, gas

EFFICIENCIES = (0.92, 0.90, 0.78)
AREA_M = 45.36e-6
T = 293.15
RATIOS = [2.85, 8.544, 43.0, 427.0]  # nozzle worn threefold, new, 80 % and 98 % plugged


def table_flow(ratio: float, p_m: float, p_s: float, p_b: float) -> float:
    table = ejector_table.build_table(ratio, *EFFICIENCIES)
    return ejector_table.table_flow(p_m, p_s, p_b, AREA_M / ratio, T, *table.arrays)


@pytest.mark.parametrize("ratio", RATIOS)
def test_error_over_the_working_range(ratio: float) -> None:
    """Motive 0 gauge to 11 bar, suction 2 to 115 kPa: under 1 % of the tube's choked flow nearly
    everywhere."""
    draw = np.random.default_rng(7)
    errors = []
    for _ in range(4000):
        p_b = draw.uniform(0.7e5, 1.3e5)
        p_m = p_b * math.exp(draw.uniform(-0.05, math.log(11.0)))
        p_s = draw.uniform(2e3, 1.15e5)
        exact = ejector.entrained_flow(p_m, p_s, p_b, AREA_M / ratio, AREA_M, T, *EFFICIENCIES)
        choked = gas.orifice_mass_flow(p_s, 0.0, AREA_M, 1.0, T)
        errors.append(abs(table_flow(ratio, p_m, p_s, p_b) - exact) / choked)
    assert np.quantile(errors, 0.95) < 0.005
    assert np.quantile(errors, 0.98) < 0.01
    assert max(errors) < 0.6  # where the jet begins to fill the tube and p_s is a few kPa


@pytest.mark.parametrize("ratio", RATIOS)
def test_monotone(ratio: float) -> None:
    scale = gas.orifice_mass_flow(1.6e5, 0.0, AREA_M, 1.0, T)
    for p_m in (0.7e5, 1.013e5, 1.1e5, 1.7e5, 4e5, 6.7e5, 7.3e5, 11e5):
        flows = np.array(
            [
                [table_flow(ratio, p_m, p_s, p_b) for p_s in np.linspace(1e3, 1.6e5, 160)]
                for p_b in np.linspace(0.6e5, 1.6e5, 41)
            ]
        )
        assert np.diff(flows, axis=1).min() > -1e-6 * scale
        # where the direct flow does not depend on p_b the table ripples, most with a badly worn nozzle
        assert np.diff(flows, axis=0).max() < (0.04 if ratio < 4.0 else 0.005) * scale


def steepest_turn(values: np.ndarray, step: float) -> float:
    """Greatest change of slope from one step to the next."""
    return float(np.abs(np.diff(values, 2)).max() / step)


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("along", ["motive", "suction", "back"])
def test_slope_has_no_jump(ratio: float, along: str) -> None:
    """Halving the step must shrink the change of slope between steps: a corner would keep it."""
    start = {"motive": 0.9e5, "suction": 5e3, "back": 0.9e5}[along]
    end = {"motive": 8e5, "suction": 1.2e5, "back": 1.5e5}[along]
    turns = []
    for count in (20_001, 80_001):
        points = np.linspace(start, end, count)
        base = {"motive": 5e5, "suction": 55e3, "back": 1.03e5}
        values = np.array([table_flow(ratio, *(base | {along: float(x)}).values()) for x in points])
        turns.append(steepest_turn(values, (end - start) / (count - 1)))
    assert turns[1] < 0.5 * turns[0]


def test_through_the_turning_point_and_the_start_the_slope_has_no_jump() -> None:
    for p_m in (1.013e5, 1.05e5, 3e5):
        p_dead = ejector_table.table_dead_pressure(
            p_m, 1.013e5, ejector_table.build_table(8.544, *EFFICIENCIES).dead
        )
        step = 1e-3
        below = (
            table_flow(8.544, p_m, p_dead - step, 1.013e5)
            - table_flow(8.544, p_m, p_dead - 2 * step, 1.013e5)
        ) / step
        above = (
            table_flow(8.544, p_m, p_dead + 2 * step, 1.013e5)
            - table_flow(8.544, p_m, p_dead + step, 1.013e5)
        ) / step
        assert above > 0.0
        assert below == pytest.approx(above, rel=0.01)
    step = 0.1
    slopes = [
        (table_flow(8.544, 1.013e5 + x + step, 60e3, 1.013e5) - table_flow(8.544, 1.013e5 + x, 60e3, 1.013e5))
        / step
        for x in (-2 * step, step)
    ]
    assert slopes[0] == 0.0
    assert abs(slopes[1]) < 1e-9


def test_without_motive_pressure_it_is_an_open_hole() -> None:
    for p_s in (5e3, 30e3, 60e3, 95e3):
        expected = -gas.orifice_mass_flow(1.013e5, p_s, AREA_M, ejector.REVERSE_DISCHARGE, T)
        assert table_flow(8.544, 1.013e5, p_s, 1.013e5) == pytest.approx(expected, rel=0.01)
        assert table_flow(8.544, 0.5e5, p_s, 1.013e5) == pytest.approx(expected, rel=0.01)
    assert table_flow(8.544, 1.013e5, 1.013e5, 1.013e5) == 0.0


def test_odd_inputs_give_figures() -> None:
    for p_m in (0.0, 1.0, 1e5, 1e8):
        for p_s in (0.0, 1e-3, 1e5, 1e8):
            for p_b in (0.0, 1.0, 1e5, 1e7):
                assert math.isfinite(table_flow(8.544, p_m, p_s, p_b))


def test_table_is_kept_and_frozen() -> None:
    table = ejector_table.build_table(9.0, *EFFICIENCIES)
    assert ejector_table.build_table(9.0, *EFFICIENCIES) is table
    assert table.flow.dtype == np.float64
    with pytest.raises(ValueError, match="read-only"):
        table.flow[0, 0, 0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        table.dead[0, 0] = 1.0


@pytest.mark.parametrize(
    "wrong", [(1.0, 0.9, 0.9, 0.9), (9.0, 0.2, 0.9, 0.9), (9.0, 0.9, 1.2, 0.9), (9.0, 0.9, 0.9, 0.0)]
)
def test_illegal_shapes_are_refused(wrong: tuple[float, float, float, float]) -> None:
    with pytest.raises(InputError, match="Legal"):
        ejector_table.build_table(*wrong)
