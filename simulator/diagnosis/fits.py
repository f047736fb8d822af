"""How well the needles of one row's watched start would fit every other row: what watching is worth before it
is done."""

from __future__ import annotations

import numpy as np
import scipy

from simulator.diagnosis.gauge_likelihood import (
    PACE,
    PRIME_DOUBT,
    SCALE,
    SLICE,
    marginal,
    paces,
    predicted,
    shared_covariance,
)

READ_EVERY = 5.0  # [s] between needles taken down while watching
FAR = 3.0  # times to prime beyond this multiple of the watch are all alike


def curve_fits(
    needles: np.ndarray,
    cells: np.ndarray,
    prime_times: np.ndarray,
    watched: float,
    gauges: tuple[int, ...] = (0, 1),
) -> np.ndarray:
    """Likelihood of each row's needles and prime, watched for a time [s] (first axis), under every row; best
    is 1.

    ``needles`` and ``cells`` [Pa], shape (rows, gauges, seconds); ``prime_times`` [s], nan where there is
    none; ``gauges``: numbers of those the rig carries.
    """
    end = min(watched, needles.shape[2] - 1.0)
    prime = np.where(np.isfinite(prime_times), prime_times, np.inf)
    rows = np.arange(len(prime))
    told = np.log(np.minimum(prime, FAR * end))
    times = np.arange(READ_EVERY, max(end, 2.0 * READ_EVERY), READ_EVERY)
    # Whitening by a Cholesky factor goes forward in time: what is read up to some moment needs no factor of its own.
    white = []
    for gauge in gauges:
        factor = np.linalg.cholesky(shared_covariance(gauge, times))
        columns = np.stack(
            [
                predicted(needles, rows, gauge, times),
                PACE * paces(needles, rows, gauge, times),
                SLICE * predicted(cells, rows, gauge, times),
            ],
            axis=1,
        )
        flat = scipy.linalg.solve_triangular(
            factor, columns.reshape(-1, len(times)).T, lower=True, check_finite=False
        )
        white.append(flat.reshape(len(times), len(rows), 3))
    fits = np.empty((len(rows), len(rows)))
    for row in rows:
        stop = min(end, float(prime[row]) - READ_EVERY)
        count = int(np.count_nonzero(times < max(stop, 2.0 * READ_EVERY)))
        products = np.zeros((len(rows), 3, 3))
        for curves in white:
            own = curves[:count].copy()
            own[:, :, 0] = own[:, row : row + 1, 0] - own[:, :, 0]
            scale = (
                SCALE * curves[:count, row, 0]
            )  # a direction of its own, taken out as in the inversion lemma
            along = np.einsum("t,thi->hi", scale, own)
            products += np.einsum("thi,thj->hij", own, own)
            products -= along[:, :, None] * along[:, None, :] / (1.0 + float(scale @ scale))
        fit = marginal(products)
        unprimed = (prime[row] > end) & (prime > end)
        fit = fit - 0.5 * np.where(unprimed, 0.0, (told[row] - told) / (2.0 * PRIME_DOUBT)) ** 2
        fits[row] = np.exp(fit - fit.max())
    return fits
