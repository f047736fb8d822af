"""Readings taken together: against SciPy's normal distribution, and never falsely certain for watching longer."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import block_diag
from scipy.stats import multivariate_normal

from simulator.diagnosis.gauge_likelihood import (
    FINE,
    SLICE,
    Readings,
    covariance,
    log_came_later,
    log_likelihoods,
    log_moved_to,
    log_unknown,
    paces,
    predicted,
    shake_of,
    tried_paces,
    went_against,
    with_doubt,
)
from simulator.diagnosis.outlook import CURVES
from simulator.instruments.gauges import GAUGES, read


def rows_of(*levels: float) -> np.ndarray:
    """Rows whose suction needle rises to a level [Pa], motive air flat at 5.6 bar."""
    seconds = np.arange(121.0)
    needles = np.zeros((len(levels), 2, 121))
    for row, level in enumerate(levels):
        needles[row, 0] = level * (1.0 - np.exp(-seconds / 15.0))
        needles[row, 1] = 5.6e5
    return needles


def readings_of(needles: np.ndarray, row: int, times: np.ndarray, run: int = 1) -> Readings:
    values = np.array([predicted(needles, np.array([row]), gauge, times)[0] for gauge in (0, 1)])
    return Readings(run, times, values, np.arange(len(needles)))


def test_agrees_with_the_normal_distribution_written_out() -> None:
    needles = rows_of(20e3, 24e3, 40e3)
    cells = 0.1 * needles
    times = np.array([3.0, 11.0, 26.0, 41.5])
    seen = readings_of(needles, 0, times)
    got = log_likelihoods(needles, cells, (seen,))
    values = seen.values.ravel()
    shared = block_diag(*(covariance(gauge, times, seen.values[gauge]) for gauge in (0, 1)))
    wanted = []
    for row in range(3):
        here, likely = np.array([row]), 0.0
        cell = SLICE * np.concatenate([predicted(cells, here, g, times)[0] for g in (0, 1)])
        for pace, share in zip(*tried_paces(), strict=True):
            quick = times * (1.0 + pace)
            more = FINE * np.concatenate([paces(needles, here, g, quick)[0] for g in (0, 1)])
            mean = np.concatenate([predicted(needles, here, g, quick)[0] for g in (0, 1)])
            full = shared + np.outer(more, more) + np.outer(cell, cell)
            likely += share * multivariate_normal(mean, full).pdf(values)
        wanted.append(np.log(likely))
    np.testing.assert_allclose(got - got[0], np.array(wanted) - wanted[0], rtol=1e-6, atol=1e-7)


def test_the_right_row_fits_best() -> None:
    needles = rows_of(15e3, 22e3, 40e3)
    times = np.arange(2.0, 60.0, 2.0)
    for row in range(3):
        found = log_likelihoods(needles, np.zeros_like(needles), (readings_of(needles, row, times),))
        assert int(np.argmax(found)) == row


def test_reading_more_often_adds_hardly_anything() -> None:
    needles = rows_of(20e3, 24e3)
    gap = []
    for every in (4.0, 2.0, 1.0, 0.5):
        seen = readings_of(needles, 0, np.arange(4.0, 61.0, every))
        found = log_likelihoods(needles, np.zeros_like(needles), (seen,))
        gap.append(float(found[0] - found[1]))
    assert gap[-1] < 1.15 * gap[0]


def test_starting_again_adds_hardly_anything() -> None:
    needles = rows_of(20e3, 24e3)
    times = np.arange(4.0, 61.0, 4.0)
    zero = np.zeros_like(needles)
    once = log_likelihoods(needles, zero, (readings_of(needles, 0, times),))
    five = log_likelihoods(needles, zero, tuple(readings_of(needles, 0, times, run) for run in range(1, 6)))
    assert five[0] - five[1] < 1.15 * (once[0] - once[1])


def test_watching_a_standing_needle_longer_never_makes_a_small_difference_certain() -> None:
    needles = np.zeros((2, 2, 121))
    needles[0, 0], needles[1, 0] = 20e3, 21.5e3
    needles[:, 1] = 5.6e5
    seen = readings_of(needles, 0, np.arange(2.0, 119.0, 2.0))
    found = log_likelihoods(needles, np.zeros_like(needles), (seen,))
    chance = 1.0 / (1.0 + np.exp(found[1] - found[0]))
    assert chance < 0.8


def test_a_gauge_that_is_not_there_is_left_out() -> None:
    needles = rows_of(15e3, 40e3)
    times = np.arange(2.0, 40.0, 2.0)
    seen = readings_of(needles, 0, times)
    values = seen.values.copy()
    values[1] = np.nan
    found = log_likelihoods(needles, np.zeros_like(needles), (Readings(1, times, values, seen.rows),))
    assert np.all(np.isfinite(found))
    assert found[0] > found[1]


def test_no_readings_tell_nothing() -> None:
    needles = rows_of(15e3, 40e3)
    empty = Readings(1, np.zeros(0), np.zeros((2, 0)), np.arange(2))
    np.testing.assert_array_equal(log_likelihoods(needles, np.zeros_like(needles), (empty,)), 0.0)


@pytest.mark.parametrize("gap", [10.0, 100.0, 1e6])
def test_doubt_keeps_every_hypothesis_alive(gap: float) -> None:
    found = with_doubt(np.array([0.0, -gap]), np.array([0.5, 0.5]))
    assert found[0] - found[1] < 7.0


def test_what_comes_under_way_shows_by_a_needle_that_was_right_until_then() -> None:
    needles = rows_of(15e3, 22e3, 40e3)
    times, zero = np.arange(3.0, 91.0, 3.0), np.zeros_like(needles)

    def ahead(suction: np.ndarray) -> float:
        values = np.array([suction, readings_of(needles, 2, times).values[1]])
        seen = (Readings(1, times, values, np.arange(3)),)
        return log_came_later(needles[2], seen) - float(log_likelihoods(needles, zero, seen).max())

    good, other = (readings_of(needles, row, times).values[0] for row in (2, 0))
    assert ahead(np.where(times < 40.0, good, 0.5 * good)) > 5.0
    assert max(ahead(good), ahead(other)) < -2.0  # what is there from the start is likelier so
    assert log_came_later(
        needles[2], (Readings(1, np.zeros(0), np.zeros((2, 0)), np.arange(3)),)
    ) == pytest.approx(0.0)


def shaken(plain: Readings, times_usual: float) -> Readings:
    """The same readings, the needles shaking so many times as much, read as gauges are."""
    chance, values = np.random.default_rng(4), plain.values.copy()
    for row, name in enumerate(CURVES):
        shake = times_usual * GAUGES[name].tremble * chance.standard_normal(len(plain.times))
        values[row] = [read(float(value), GAUGES[name]) for value in plain.values[row] + shake]
    return Readings(plain.run, plain.times, values, plain.rows)


@pytest.mark.parametrize(("times_usual", "least", "most"), [(1.0, 1.0, 1.5), (4.0, 2.5, 6.0)])
def test_how_much_a_needle_shakes_is_told_by_its_readings(
    times_usual: float, least: float, most: float
) -> None:
    plain = readings_of(rows_of(15e3, 40e3), 1, np.arange(3.0, 91.0, 3.0))
    seen = shaken(plain, times_usual)
    for gauge in (0, 1):
        assert least <= shake_of(gauge, (seen,)) <= most
        few = Readings(1, seen.times[:6], seen.values[:, :6], seen.rows)
        assert shake_of(gauge, (few,)) == 1.0
        still = Readings(1, seen.times, np.full_like(seen.values, 5e3), seen.rows)
        assert shake_of(gauge, (still,)) == pytest.approx(1.0, abs=0.05)


def test_a_needle_that_shakes_is_no_sign_of_what_came_under_way() -> None:
    """Shaking needles made nobody sure of anything: a walk follows them wherever they go."""
    needles = rows_of(30e3, 15e3)
    plain = readings_of(needles, 0, np.arange(3.0, 91.0, 3.0))

    def ahead(seen: Readings) -> float:
        there = log_likelihoods(needles, np.zeros_like(needles), (seen,))
        return log_came_later(needles[1], (seen,)) - float(there.max())

    assert ahead(plain) < -8.0
    assert ahead(shaken(plain, 4.0)) < -8.0  # -3.9 while the shake was taken for the usual one


def test_what_came_under_way_is_told_by_where_the_needle_went() -> None:
    needles = rows_of(30e3, 24e3, 5e3)  # in good order, a little wrong, all but gone
    times = np.arange(3.0, 91.0, 3.0)
    good, bad = (readings_of(needles, row, times) for row in (0, 2))
    seen = Readings(1, times, np.where(times < 40.0, good.values, bad.values), good.rows)
    little, much = log_moved_to(needles, (seen,))[1:]
    assert much > little + 2.0
    none = Readings(1, np.zeros(0), np.zeros((2, 0)), np.arange(3))
    np.testing.assert_allclose(log_moved_to(needles, (none,)), 0.0, atol=1e-12)


def test_what_lets_air_in_makes_no_needle_run_ahead_whenever_it_comes() -> None:
    needles = rows_of(30e3, 15e3, 60e3)  # in good order, with air let in, held back
    seen = readings_of(needles, 2, np.arange(3.0, 91.0, 3.0))
    assert went_against(needles, (seen,)).tolist() == [False, True, False]
    assert not went_against(needles, (readings_of(needles, 0, seen.times),)).any()


def test_readings_that_no_hypothesis_comes_near_tell_nothing() -> None:
    """A ring that tears as the water climbs: the needle turns back, and one that stands still was said at 0.99."""
    needles = rows_of(15e3, 22e3, 40e3)
    times, weights = np.arange(3.0, 91.0, 3.0), np.full(3, 1.0 / 3.0)

    def told(suction: np.ndarray, readings: Readings) -> np.ndarray:
        values = np.array([suction, readings.values[1]])
        seen = (Readings(1, times, values, readings.rows),)
        likely = log_likelihoods(needles, np.zeros_like(needles), seen)
        part = with_doubt(likely, weights, log_unknown(needles, seen, weights))
        return np.exp(part) / np.exp(part).sum()

    plain = readings_of(needles, 2, times)
    turned = np.where(times < 35.0, plain.values[0], 8e3)
    assert float(told(turned, plain).max()) < 0.5
    rough = plain.values[0] + 4.0 * 300.0 * np.where(np.arange(len(times)) % 2, 1.0, -1.0)
    assert told(plain.values[0], plain)[2] > 0.92
    assert told(rough, plain)[2] > 0.92  # a needle that shakes more than it should tells as much as ever
