"""When a run counts as primed, and how it ended in a code and a sentence."""

from __future__ import annotations

import math

import numpy as np

from simulator.run import layout as at
from simulator.run.result import STEP, ControlStep, Outcome

SHARE = 0.20  # of the steady flow
HELD = 5.0  # [s]
STILL = 300.0  # [Pa] of vacuum in 30 s: less counts as standing
PROOF_FACTOR, PROOF_SLACK = 1.25, 15.0  # a proof may take this times the sound rig's time, and [s] more
NO_MOTIVE = 0.5e5  # [Pa] gauge
TRICKLE = 0.02  # fill of the casing that counts as some water


def proof_limit(sound_prime_time: float) -> float:
    """A start that primes within this time [s] proves the rig, for one that takes ``sound_prime_time`` [s] in good order.

    Examples
    --------
    >>> proof_limit(40.0)
    65.0
    """
    return PROOF_FACTOR * sound_prime_time + PROOF_SLACK


def flow_held(time: np.ndarray, flow: np.ndarray, steady: float) -> np.ndarray:
    """True where the flow has stood above 20 % of its steady value for 5 s; shape (n,)."""
    if steady <= 0.0:
        return np.zeros(len(time), dtype=bool)
    above = flow > SHARE * steady
    need = round(HELD / STEP)
    count = np.zeros(len(time), dtype=int)
    running = 0
    for i, yes in enumerate(above):
        running = running + 1 if yes else 0
        count[i] = running
    return count > need


def prime_time(time: np.ndarray, flow: np.ndarray, steady: float) -> float:
    """Time [s] from which the flow first stands above 20 % of its steady value for 5 s; nan if it never does."""
    held = np.flatnonzero(flow_held(time, flow, steady))
    return float(time[held[0]] - HELD) if len(held) else math.nan


def judge(
    time: np.ndarray,
    series: np.ndarray,
    controls: tuple[ControlStep, ...],
    first: float,
    steady: float,
    p: np.ndarray,
) -> Outcome:
    """Outcome of a run from its series (channels, n)."""
    end = float(time[-1])
    flow = series[at.C_DISCHARGE_FLOW]
    if math.isfinite(first):
        if flow[-1] > SHARE * steady or controls[-1].speed == 0.0:
            return Outcome("primed", first, f"Primed after {first:.0f} s.")
        lost = float(time[np.flatnonzero(flow > SHARE * steady)[-1]])
        return Outcome(
            "lost_prime", lost, f"Primed after {first:.0f} s, then lost its prime at {lost:.0f} s."
        )
    vacuum = p[at.ATMOSPHERE] - series[at.C_SUCTION_PRESSURE]
    motive = series[at.C_MOTIVE_PRESSURE][-1] - p[at.ATMOSPHERE]
    if controls and controls[-1].speed > 0.0 and motive < NO_MOTIVE:
        return Outcome("no_motive_air", end, f"No motive air: {motive / 1e5:.1f} bar after {end:.0f} s.")
    back = min(len(vacuum) - 1, round(30.0 / STEP))
    if abs(vacuum[-1] - vacuum[-1 - back]) < STILL:
        water = "only a trickle of water" if series[at.C_CASING_FILL][-1] > TRICKLE else "no water"
        return Outcome("stalled", end, f"Stalled at {vacuum[-1] / 1e3:.0f} kPa vacuum, {water}.")
    return Outcome("time_up", end, f"Not primed after {end:.0f} s; the vacuum is still rising.")
