"""Needles: lag against the exact answer of a first-order instrument, shake by seed and time alone."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
from scipy import stats
from scipy.signal import lfilter

from simulator.errors import InputError
from simulator.instruments.chance import key, normals, unit
from simulator.instruments.checks_from_outside import settled
from simulator.instruments.gauges import (
    GAUGES,
    gauges_of,
    grid_index,
    lagged,
    needle,
    read,
    reading,
    state_of,
)
from simulator.rig.parts import GaugeState
from simulator.rig.presets import load_rig, standard_site
from simulator.run import Run, simulate

SUCTION = GAUGES["suction"]
STILL = GaugeState()


@dataclass
class SmallRun:
    """Just enough of a run for a gauge: a pressure on the grid."""

    time: np.ndarray
    suction_pressure: np.ndarray
    atmosphere: float = 101_325.0
    extra: dict[str, Any] = field(default_factory=dict)


def pressure_run(vacuum: np.ndarray) -> SmallRun:
    return SmallRun(0.1 * np.arange(len(vacuum)), 101_325.0 - vacuum)


@pytest.fixture(scope="module")
def run() -> Run:
    return simulate(load_rig("osier"), standard_site(), duration=60.0)


def test_a_patient_eye_leaves_the_shake_out(run: Run) -> None:
    still, shaken = (needle(run, SUCTION, STILL, 0, tremble=shakes) for shakes in (False, True))
    for second in (20, 25, 30, 35):
        assert settled(run, run.rig, "suction", float(second)) == still[10 * second]
    assert np.max(np.abs(shaken - still)) > 50.0


def test_lag_follows_the_exact_ramp_response() -> None:
    # A first-order lag T answers a ramp u = t with t - T (1 - exp(-t/T)): exact, any text on control.
    time, lag = 0.1 * np.arange(200), 0.7
    exact = time - lag * (1.0 - np.exp(-time / lag))
    assert np.max(np.abs(lagged(time, lag) - exact)) < 1e-12


def test_lag_is_exact_on_a_coarse_and_a_fine_grid_alike() -> None:
    # Input straight between grid points: the discretisation is exact, so every third point must agree.
    coarse = np.interp(0.3 * np.arange(50), [0.0, 3.0, 6.0, 15.0], [0.0, 4.0, 1.0, 2.0])
    fine = np.interp(0.1 * np.arange(148), 0.3 * np.arange(50), coarse)
    assert np.max(np.abs(lagged(coarse, 0.9, 0.3) - lagged(fine, 0.9, 0.1)[::3])) < 1e-12


def test_lag_is_the_filter_of_the_reference_library() -> None:
    # The same recursion by scipy.signal.lfilter, with the state in which the first value has stood for ever.
    values, lag = np.random.default_rng(4).normal(40e3, 20e3, 3_001), 0.8
    keep = np.exp(-0.1 / lag)
    slope = lag / 0.1 * (1.0 - keep)
    start = np.array([values[0] * slope])
    shown, _ = lfilter([1.0 - slope, slope - keep], [1.0, -keep], values, zi=start)
    assert np.max(np.abs(lagged(values, lag) - shown)) < 1e-9


@pytest.mark.full
def test_a_needle_loads_no_large_library() -> None:
    """Seconds and memory of every page with a dial hang on it; ``tests/house/test_door.py`` asks it of a lesson."""
    asked = (
        "import sys, numpy; from simulator.instruments.gauges import lagged; "
        "lagged(numpy.arange(9.0), 0.7); print('scipy.signal' in sys.modules, 'scipy.stats' in sys.modules)"
    )
    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert said.stdout.split() == ["False", "False"]


def test_a_steady_needle_stands_at_the_true_value() -> None:
    assert np.all(
        needle(pressure_run(np.full(50, 2e4)), SUCTION, STILL, 1, tremble=False) == pytest.approx(2e4)
    )


def test_reading_knows_nothing_of_what_comes_after(run: Run) -> None:
    whole = needle(run, SUCTION, STILL, 5)
    for last in (1, 37, 250, 600):
        part = SmallRun(run.time[:last], run.suction_pressure[:last], run.atmosphere)
        assert np.array_equal(needle(part, SUCTION, STILL, 5), whole[:last])


def test_reading_does_not_depend_on_how_it_is_asked(run: Run) -> None:
    times = np.array([30.0, 0.0, 12.34, 12.34, 59.99])
    together = reading(run, SUCTION, STILL, 5, times)
    assert [float(reading(run, SUCTION, STILL, 5, t)) for t in times] == together.tolist()
    assert together[2] == float(
        reading(run, SUCTION, STILL, 5, 12.3)
    )  # the grid point before, never the next


def test_shake_depends_on_seed_gauge_and_absolute_time_only() -> None:
    flat = pressure_run(np.full(400, 3e4))
    late = SmallRun(flat.time[150:], flat.suction_pressure[150:])
    assert np.array_equal(needle(flat, SUCTION, STILL, 9)[150:], needle(late, SUCTION, STILL, 9))
    assert not np.array_equal(needle(flat, SUCTION, STILL, 9), needle(flat, SUCTION, STILL, 10))
    index = np.arange(100)
    assert not np.array_equal(normals(key(9, "suction"), index), normals(key(9, "motive"), index))


def test_shake_is_normal() -> None:
    # Kolmogorov-Smirnov test and sample moments of SciPy; 20,000 numbers of a fixed seed.
    sample = normals(key(2, "suction"), np.arange(20_000))
    assert stats.kstest(sample, "norm").pvalue > 0.01
    assert abs(float(np.mean(sample))) < 0.03
    assert abs(float(np.std(sample)) - 1.0) < 0.03
    assert abs(float(np.corrcoef(sample[:-1], sample[1:])[0, 1])) < 0.03


def test_unit_numbers_fill_the_interval_evenly() -> None:
    sample = [unit("case", i) for i in range(5000)]
    assert stats.kstest(sample, "uniform").pvalue > 0.01


def test_what_a_gauge_may_do_wrong(run: Run) -> None:
    true = needle(run, SUCTION, STILL, 0, tremble=False)
    off = needle(run, SUCTION, GaugeState(offset=5e3), 0, tremble=False)
    slow = needle(run, SUCTION, GaugeState(extra_lag=10.0), 0, tremble=False)
    stuck = needle(run, SUCTION, GaugeState(stuck=True, offset=2e3), 0)
    assert np.allclose(off - true, 5e3, atol=1e-6)
    assert slow[200] < true[200] - 2e3  # while the vacuum builds the slow needle hangs back
    assert np.all(stuck == 2e3)


def test_needle_stays_on_its_dial(run: Run) -> None:
    for gauge in gauges_of(load_rig("osier")):
        shown = needle(run, gauge, state_of(run.rig, gauge.id), 3)
        assert shown.shape == run.time.shape
        assert float(shown.min()) >= gauge.low
        assert float(shown.max()) <= gauge.high
    over = needle(pressure_run(np.full(20, 300e3)), SUCTION, STILL, 0)
    assert np.all(over == SUCTION.high)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("name", list(GAUGES))
def test_read_to_half_a_graduation(name: str, system: str) -> None:
    gauge = GAUGES[name]
    half = 0.5 * gauge.graduation(system)
    for value in np.linspace(0.0, gauge.high, 37):
        shown = read(float(value), gauge, system)
        assert abs(shown - value) <= 0.5 * half + 1e-6
        assert abs(shown / half - round(shown / half)) < 1e-9


def test_altitude_counts(run: Run) -> None:
    # The gauge reads against the air outside: at rest it stands at zero wherever the rig is.
    from dataclasses import replace

    high = simulate(load_rig("osier"), replace(standard_site(), altitude=1500.0), duration=1.0)
    assert abs(float(needle(high, SUCTION, STILL, 0, tremble=False)[0])) < 5.0


def test_grid_index_is_the_point_at_or_before() -> None:
    assert grid_index(np.array([0.1 * k for k in range(2000)])).tolist() == list(range(2000))


def test_an_empty_run_is_refused() -> None:
    with pytest.raises(InputError, match="empty"):
        reading(pressure_run(np.array([])), SUCTION, STILL, 0, 1.0)
