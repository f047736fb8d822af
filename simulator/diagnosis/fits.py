"""How well the needles of one row's watched start would fit every other row: what watching is worth before it
is done."""

from __future__ import annotations

import numpy as np

from simulator.diagnosis.gauge_likelihood import PRIME_DOUBT, Readings, log_likelihoods
from simulator.diagnosis.outlook import SPAN

READ_EVERY = 5.0  # [s] between needles taken down while watching
FAR = 3.0  # times to prime beyond this multiple of the watch are all alike


def curve_fits(needles: np.ndarray, cells: np.ndarray, prime_times: np.ndarray, watched: float) -> np.ndarray:
    """Likelihood of each row's needles and prime, watched for a time [s] (first axis), under every row; best
    is 1.

    ``needles`` and ``cells`` [Pa], shape (rows, gauges, seconds); ``prime_times`` [s], nan where there is
    none.
    """
    end = min(watched, SPAN)
    prime = np.where(np.isfinite(prime_times), prime_times, np.inf)
    rows = np.arange(len(prime))
    told = np.log(np.minimum(prime, FAR * end))
    fits = []
    for row in rows:
        stop = min(end, float(prime[row]) - READ_EVERY)
        times = np.arange(READ_EVERY, max(stop, 2.0 * READ_EVERY), READ_EVERY)
        values = needles[row][:, times.astype(int)]
        fit = log_likelihoods(needles, cells, (Readings(0, times, values, rows),))
        unprimed = (prime[row] > end) & (prime > end)
        fit = fit - 0.5 * np.where(unprimed, 0.0, (told[row] - told) / (2.0 * PRIME_DOUBT)) ** 2
        fits.append(np.exp(fit - fit.max()))
    return np.array(fits)
