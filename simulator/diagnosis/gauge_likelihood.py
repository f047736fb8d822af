"""How well gauge readings fit each hypothesis, all readings of an attempt taken together.

What is read differs from what a hypothesis predicts by: the needle's tremble and the reading to half a mark,
new at every reading; an offset and a scale error of each gauge, one for the whole attempt; what the model
does not know, which wanders over some 20 s and is the same at every start; a pace that is not quite the
model's; and the width of the slice of sizes that a hypothesis stands for. All are taken as normal and
integrated out, the pace over a few values, so that watching longer does not turn into false certainty.

Throughout: ``needles`` are those of all rows, shape (rows, gauges, seconds) [Pa]; ``rows`` which of them are meant;
``log_likelihood`` and ``weights`` are those of the hypotheses, shape (hypotheses,).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy

from simulator.diagnosis.outlook import CURVES
from simulator.instruments.gauges import GAUGES


@dataclass(frozen=True)
class Uncertainty:
    """Standard deviations of what makes readings differ from a prediction."""

    offset: float  # [Pa] of a gauge
    wander: float  # [Pa] of the model


#: A common site gauge, and a model whose stated chances come true on rigs that are not quite as it thinks: ejector
#: 5 %, friction 20 %, holes 10 %, speed 5 % off, air not quite isothermal.
UNCERTAINTY = {
    "suction": Uncertainty(0.8e3, 2.5e3),
    "motive": Uncertainty(8e3, 15e3),
}
SCALE = 0.05  # [-] scale error of a gauge, and of a model's levels
MEMORY = 20.0  # [s] over which the model's error keeps its sign
PACE = 0.10  # [-] a real rig may be this much quicker or slower than the model
STEP, STEPS = (
    0.06,
    3,
)  # [-] paces are tried this far apart, so many to either side: a sudden change may come sooner
FINE = 0.035  # [-] doubt about the pace between two that are tried
SLICE = 12.0**-0.5  # standard deviation of a place within a slice of width 1
PRIME_DOUBT = 0.12  # [-] a real rig's time to prime beside the model's, natural logarithm
#: [-] share of readings that come of something no hypothesis knows, and may fit one that is not there: two troubles at
#: once, or a gauge that lies, do. Chosen on rigs a few percent off (``studies/belief_sets.py``), by seeds of its own.
DOUBT = 0.09
#: How far what no hypothesis knows moves the needles, in times of what the model does not know, and over how long [s]. On
#: rigs a few percent off, single faults hardly ever look so: a trouble that comes under way does.
UNKNOWN, UNKNOWN_MEMORY = 4.0, 10.0
#: A trouble that comes under way moves the needles from some moment on, tried so far apart [s], and farther the longer it
#: is there: as a walk, by so many times what the model does not know, in so long [s].
MOMENTS, WALKS, WALK_TIME = 8.0, (1.0, 4.0), 20.0
#: The same where it is known what came: moments so far apart [s], at once or growing for so long [s], and how far the
#: needles may then stand from where that trouble would have had them from the start, in times of what the model does not
#: know.
MOVES, GROW, NEARLY = 10.0, (6.0, 40.0), 3.0
#: How many times its usual tremble a needle may shake [-], and how often it does; from how many readings on it is asked.
#: A mean square of normal numbers less their largest quarter, beside the whole [-].
SHAKES, SHAKE_SHARES, FEW, QUARTER_LEFT = (1.0, 2.0, 4.0, 8.0), (0.85, 0.08, 0.05, 0.02), 8, 0.368
#: [standard deviations] of a reading, beyond which a needle stands clearly above or below the good rig's.
CLEARLY = 2.0


@dataclass(frozen=True)
class Readings:
    """Needles read in one run from a dry start at rated speed.

    ``times`` [s since the start], shape (k,), before the pump took its prime and within the 120 s that
    hypotheses are simulated for; ``values`` [Pa], shape (2, k): suction as vacuum, motive air; nan for a
    gauge the rig does not have.
    """

    run: int
    times: np.ndarray
    values: np.ndarray
    rows: np.ndarray  # (hypotheses,) the row each hypothesis was in


def predicted(needles: np.ndarray, rows: np.ndarray, gauge: int, times: np.ndarray) -> np.ndarray:
    """Needles [Pa] that rows predict at times [s], linear between seconds; shape (hypotheses, k)."""
    last = needles.shape[2] - 1
    spot = np.clip(times, 0.0, last - 1e-9)
    below = spot.astype(int)
    share = spot - below
    curve = needles[rows, gauge]
    return curve[:, below] * (1.0 - share) + curve[:, below + 1] * share


def paces(needles: np.ndarray, rows: np.ndarray, gauge: int, times: np.ndarray) -> np.ndarray:
    """Change of the needles [Pa] were the rig quicker by 100 %: time times slope, shape (hypotheses, k)."""
    half = 2.0  # [s] a slope is taken over twice this
    early = predicted(needles, rows, gauge, np.maximum(times - half, 0.0))
    late = predicted(needles, rows, gauge, times + half)
    return times * (late - early) / (2.0 * half)


def covariance(gauge: int, times: np.ndarray, values: np.ndarray, shake: float = 1.0) -> np.ndarray:
    """Covariance [Pa2] of readings of one gauge that all hypotheses share, shape (k, k); times [s], values
    [Pa]; ``shake``: how many times its usual tremble the needle shakes [-].

    Readings of different gauges share nothing but a hypothesis's own pace and size.
    """
    return shared_covariance(gauge, times, shake) + SCALE**2 * np.outer(values, values)


def shared_covariance(gauge: int, times: np.ndarray, shake: float = 1.0) -> np.ndarray:
    """The part of :func:`covariance` [Pa2] that does not depend on what is read, shape (k, k); times [s], ``shake``
    [-] as there."""
    spread = UNCERTAINTY[CURVES[gauge]]
    apart = np.abs(times[:, None] - times[None, :])
    shared = spread.wander**2 * np.exp(-apart / MEMORY) + spread.offset**2
    return shared + _own_variance(gauge, shake) * np.eye(len(times))


def _own_variance(gauge: int, shake: float) -> float:
    """Variance [Pa2] that is new at every reading: tremble, and reading to half a mark."""
    made = GAUGES[CURVES[gauge]]
    return (shake * made.tremble) ** 2 + (0.5 * made.graduation()) ** 2 / 12.0


def known_of(gauge: int, readings: tuple[Readings, ...]) -> Iterator[tuple[Readings, np.ndarray, np.ndarray]]:
    """Runs in which a gauge was read, with the times [s] and values [Pa] that it was read at, shape (k,) each."""
    for item in readings:
        known = np.isfinite(item.values[gauge])
        if known.any():
            yield item, item.times[known], item.values[gauge][known]


def shake_of(gauge: int, readings: tuple[Readings, ...]) -> float:
    """How many times its usual tremble a gauge's needle shakes [-], by the readings alone; 1 where they are few.

    A needle that shakes stands now above and now below the line between its neighbours, whatever the rig does: what is
    known of each reading by its neighbours is compared with what the usual tremble would leave. The largest quarter is
    left out, as a curve may bend there; ``SHAKES`` are weighed by how likely the rest is. Examples are in the tests.
    """
    off: list[np.ndarray] = []
    for _, times, values in known_of(gauge, readings):
        if len(times) < 3:
            continue
        span = times[2:] - times[:-2]
        before, after = (times[2:] - times[1:-1]) / span, (times[1:-1] - times[:-2]) / span
        between = before * values[:-2] + after * values[2:]
        off.append((values[1:-1] - between) / np.sqrt(1.0 + before**2 + after**2))
    squares = np.sort(np.concatenate(off) ** 2) if off else np.zeros(0)
    if len(squares) < FEW:
        return 1.0
    kept = squares[: int(0.75 * len(squares))]
    variance = float(kept.mean()) / QUARTER_LEFT
    each = np.array([_own_variance(gauge, shake) for shake in SHAKES])
    log_likely = (
        -0.5 * 0.5 * len(kept) * (np.log(each) + variance / each)
    )  # neighbours share what they are compared by
    likely = np.array(SHAKE_SHARES) * np.exp(log_likely - log_likely.max())
    return float(np.sqrt(likely @ np.array(SHAKES) ** 2 / likely.sum()))


def log_likelihoods(needles: np.ndarray, cells: np.ndarray, readings: tuple[Readings, ...]) -> np.ndarray:
    """Log of how likely all readings together are under each hypothesis, up to a constant; shape
    (hypotheses,).

    ``needles`` and ``cells`` [Pa] have shape (rows, gauges, seconds).
    """
    count = len(readings[0].rows) if readings else 0
    tried, shares = tried_paces()
    # Products of misfit, pace and slice, weighed by the shared covariance, for each pace and hypothesis.
    products = np.zeros((len(tried) * count, 3, 3))
    for gauge in range(len(CURVES)):
        parts = []
        for item, times, values in known_of(gauge, readings):
            cell = SLICE * predicted(cells, item.rows, gauge, times)
            columns = [
                np.stack(
                    [
                        values - predicted(needles, item.rows, gauge, times * (1.0 + pace)),
                        FINE * paces(needles, item.rows, gauge, times * (1.0 + pace)),
                        cell,
                    ],
                    axis=1,
                )
                for pace in tried
            ]
            parts.append((times, values, np.concatenate(columns)))
        if parts:
            times, values = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
            flat = np.concatenate([part[2] for part in parts], axis=2).reshape(-1, len(times))
            factor = np.linalg.cholesky(covariance(gauge, times, values, shake_of(gauge, readings)))
            white = scipy.linalg.solve_triangular(factor, flat.T, lower=True, check_finite=False)
            white = np.ascontiguousarray(white.T).reshape(-1, 3, len(times))
            products += white @ white.transpose(0, 2, 1)
    if not products.any():
        return np.zeros(count)
    each = marginal(products).reshape(len(tried), count) + np.log(shares)[:, None]
    return np.asarray(np.logaddexp.reduce(each, axis=0))


def tried_paces() -> tuple[np.ndarray, np.ndarray]:
    """Paces that are tried [-] and the share of each [-]: together with ``FINE`` about a normal doubt of ``PACE``.

    Examples
    --------
    >>> paces_tried, shares = tried_paces()
    >>> round(float(np.sqrt(shares @ paces_tried**2 + FINE**2)), 2), round(float(shares.sum()), 9)
    (0.1, 1.0)
    """
    tried = STEP * np.arange(-STEPS, STEPS + 1.0)
    shares = np.exp(-0.5 * tried**2 / (PACE**2 - FINE**2))
    return tried, shares / shares.sum()


def marginal(products: np.ndarray) -> np.ndarray:
    """Log likelihood up to a constant (hypotheses,) from products of misfit, pace and slice (hypotheses, 3, 3).

    Pace and slice are directions of each hypothesis's own, added by the matrix inversion lemma (Woodbury 1950).
    """
    mm, mp, mc = products[:, 0, 0], products[:, 0, 1], products[:, 0, 2]
    pp, pc, cc = 1.0 + products[:, 1, 1], products[:, 1, 2], 1.0 + products[:, 2, 2]
    determinant = pp * cc - pc**2
    explained = (cc * mp**2 - 2.0 * pc * mp * mc + pp * mc**2) / determinant
    return -0.5 * (mm - explained + np.log(determinant))


def log_unknown(needles: np.ndarray, readings: tuple[Readings, ...], weights: np.ndarray) -> float:
    """Log of how likely all readings together are were something there that no hypothesis knows, on the scale of
    :func:`log_likelihoods`: readings that no hypothesis comes near are likelier so. ``needles`` [Pa].
    """
    return float(scipy.special.logsumexp(log_unknown_beside(needles, readings), b=weights / weights.sum()))


def log_unknown_beside(needles: np.ndarray, readings: tuple[Readings, ...]) -> np.ndarray:
    """The same beside each hypothesis, shape (hypotheses,).

    Readings then lie beside it by what changes smoothly over :data:`UNKNOWN_MEMORY`, beside all that makes readings
    differ anyway; so a needle that shakes more than it should is no sign of it. ``needles`` [Pa].
    """
    total = np.zeros(len(readings[0].rows))
    for gauge in range(len(CURVES)):
        parts = []
        for item, times, values in known_of(gauge, readings):
            parts.append((times, values, values - predicted(needles, item.rows, gauge, times)))
        if not parts:
            continue
        times, values = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
        apart = times[:, None] - times[None, :]
        size = UNKNOWN * UNCERTAINTY[CURVES[gauge]].wander
        usual = covariance(gauge, times, values, shake_of(gauge, readings))
        moved = usual + size**2 * np.exp(-0.5 * (apart / UNKNOWN_MEMORY) ** 2)
        plain, wide = np.linalg.cholesky(usual), np.linalg.cholesky(moved)
        misfit = np.concatenate([part[2] for part in parts], axis=1)
        white = _whitened(wide, misfit)
        broader = np.log(np.diag(wide)).sum() - np.log(np.diag(plain)).sum()
        total -= 0.5 * (white**2).sum(axis=0) + broader
    return total


def log_came_later(sound: np.ndarray, readings: tuple[Readings, ...]) -> float:
    """Log of how likely all readings together are were the rig in good order at first, and not from some moment on: what
    came then, and how fast, nobody knows. On the scale of :func:`log_likelihoods`.

    One needle may be moved by it, or both. ``sound`` [Pa] are the needles of the rig in good order, shape (gauges,
    seconds).
    """
    tried, shares = tried_paces()
    last = max((float(item.times[-1]) for item in readings if len(item.times)), default=0.0)
    begins = np.arange(0.0, max(last, MOMENTS), MOMENTS)
    as_sound = np.zeros((len(CURVES), len(tried)))
    moved = np.zeros((len(CURVES), len(WALKS), len(begins), len(tried)))
    for gauge in range(len(CURVES)):
        parts = []
        for _, times, values in known_of(gauge, readings):
            spots = (times * (1.0 + tried[:, None])).ravel()
            curve = predicted(sound[None], np.zeros(1, dtype=int), gauge, spots).reshape(len(tried), -1)
            parts.append((times, values, values - curve))
        if not parts:
            continue
        times, values = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
        misfit = np.concatenate([part[2] for part in parts], axis=1)
        usual = covariance(gauge, times, values, shake_of(gauge, readings))
        wander = UNCERTAINTY[CURVES[gauge]].wander
        plain = np.linalg.cholesky(usual)
        as_sound[gauge] = -0.5 * (_whitened(plain, misfit) ** 2).sum(axis=0)
        for number, begin in enumerate(begins):
            since = np.maximum(times - begin, 0.0)
            walk = np.minimum(since[:, None], since[None, :]) / WALK_TIME
            for which, size in enumerate(WALKS):
                wide = np.linalg.cholesky(usual + (size * wander) ** 2 * walk)
                broader = np.log(np.diag(wide)).sum() - np.log(np.diag(plain)).sum()
                moved[gauge, which, number] = -0.5 * (_whitened(wide, misfit) ** 2).sum(axis=0) - broader
    ways = np.stack(
        [moved[0] + as_sound[1][None, None], as_sound[0][None, None] + moved[1], moved[0] + moved[1]]
    )
    return float(scipy.special.logsumexp(ways + np.log(shares)) - np.log(ways[..., 0].size))


def log_moved_to(needles: np.ndarray, readings: tuple[Readings, ...]) -> np.ndarray:
    """Log of how likely all readings together are were the rig in good order at first, and each hypothesis's own trouble
    there from some moment on, at once or by and by; shape (hypotheses,), on the scale of :func:`log_likelihoods`.

    The needles then leave the good rig's curve for the hypothesis's own, or nearly: water that stands higher by then than
    it would have with the trouble makes them differ by what changes smoothly. ``needles`` [Pa], the first row those of
    the rig in good order.
    """
    last = max((float(item.times[-1]) for item in readings if len(item.times)), default=0.0)
    begins = np.arange(0.0, max(last, MOVES), MOVES)
    count = len(readings[0].rows)
    told = np.zeros((len(begins), len(GROW), count))
    sound = np.zeros(1, dtype=int)
    for gauge in range(len(CURVES)):
        parts = []
        for item, times, values in known_of(gauge, readings):
            good = predicted(needles, sound, gauge, times)
            parts.append((times, values, predicted(needles, item.rows, gauge, times) - good, good[0]))
        if not parts:
            continue
        times, values = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
        change, good = (
            np.concatenate([part[2] for part in parts], axis=1),
            np.concatenate([part[3] for part in parts]),
        )
        usual = covariance(gauge, times, values, shake_of(gauge, readings))
        plain = np.log(np.diag(np.linalg.cholesky(usual))).sum()
        size = NEARLY * UNCERTAINTY[CURVES[gauge]].wander
        smooth = size**2 * np.exp(-0.5 * ((times[:, None] - times[None, :]) / MEMORY) ** 2)
        for number, begin in enumerate(begins):
            there = np.clip((times - begin) / MEMORY, 0.0, 1.0)
            wide = np.linalg.cholesky(usual + np.outer(there, there) * smooth)
            broader = np.log(np.diag(wide)).sum() - plain
            for which, long in enumerate(GROW):
                misfit = (values - good) - np.clip((times - begin) / long, 0.0, 1.0) * change
                told[number, which] -= 0.5 * (_whitened(wide, misfit) ** 2).sum(axis=0) + broader
    each = told.reshape(-1, count)
    return np.asarray(scipy.special.logsumexp(each, axis=0) - np.log(len(each)))


def went_against(needles: np.ndarray, readings: tuple[Readings, ...]) -> np.ndarray:
    """Whether a needle stands at last clearly on the other side of the good rig's than a hypothesis would have it, shape
    (hypotheses,): what lets air in makes no needle run ahead, whenever it comes. ``needles`` [Pa], the first row those of
    the rig in good order.
    """
    last, out = readings[-1], np.zeros(len(readings[-1].rows), dtype=bool)
    for gauge in range(len(CURVES)):
        known = np.flatnonzero(np.isfinite(last.values[gauge]))[-1:]
        if not len(known):
            continue
        time, value = last.times[known], last.values[gauge][known]
        apart = CLEARLY * float(np.sqrt(covariance(gauge, time, value)[0, 0]))
        good = predicted(needles[:1], np.zeros(1, dtype=int), gauge, time)[0, 0]
        own = predicted(needles, last.rows, gauge, time)[:, 0] - good
        gone = float(value[0]) - good
        out |= (gone > apart) & (own < -apart) | (gone < -apart) & (own > apart)
    return out


def _whitened(factor: np.ndarray, misfit: np.ndarray) -> np.ndarray:
    """Misfits (rows, k) in terms of a covariance's lower factor (k, k); shape (k, rows)."""
    return np.asarray(scipy.linalg.solve_triangular(factor, misfit.T, lower=True, check_finite=False))


def with_doubt(log_likelihood: np.ndarray, weights: np.ndarray, unknown: float = -np.inf) -> np.ndarray:
    """The same, were a share of readings (``DOUBT``) due to something unknown: no hypothesis is ever ruled out
    quite.

    Parameters
    ----------
    unknown : log of how likely the readings are were it there (:func:`log_unknown`); where they are far likelier so than
        under any hypothesis, they tell nothing between these.

    Examples
    --------
    >>> with_doubt(np.array([0.0, -100.0]), np.array([0.5, 0.5])).round(1)
    array([-0. , -3.1])
    >>> with_doubt(np.array([-90.0, -100.0]), np.array([0.5, 0.5]), unknown=-10.0).round(1)
    array([-2.4, -2.4])
    """
    top = max(float(np.max(log_likelihood)), unknown)
    likely = np.exp(log_likelihood - top)
    average = float(np.sum(weights * likely) / np.sum(weights)) + float(np.exp(unknown - top))
    return np.log((1.0 - DOUBT) * likely + DOUBT * average)
