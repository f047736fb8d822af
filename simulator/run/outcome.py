"""When a run counts as primed, and how it ended in a code and a sentence.

Arguments, the same throughout: ``sound`` the run of the sound rig; ``states``, ``modes``, ``p`` state and
modes at each time, and parameters, as ``run.layout`` names them; ``told`` the signals that an outcome
hangs on at each time; ``time`` times [s]; ``controls`` steps of the controls; ``first``, ``steady`` beginning and
length of the flow that counts [s].
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from simulator.compiled import compiled
from simulator.physics.gas import R_AIR
from simulator.rig.trainer import overrides
from simulator.run import layout as at
from simulator.run.pockets import front_position, gas_pressure, gas_volumes
from simulator.run.result import STEP, ControlStep, Outcome

SHARE = 0.20  # of the steady flow
HELD = 5.0  # [s]
STILL = 300.0  # [Pa] of vacuum in 30 s: less counts as standing
WELL_HEAD = (0.8, 1.3)  # of the sound rig's discharge gauge, between which it counts as pumping well
SPRAY = 1e-4  # [m3/s] of water outside beyond the sound rig's that nobody would leave behind
NO_MOTIVE = 0.5e5  # [Pa] gauge
SPRAYS = ("drain_water", "frost_drain_water", "exhaust_water")
(T_SUCTION_PRESSURE, T_MOTIVE_PRESSURE, T_DISCHARGE_FLOW, T_FRONT, T_CASING_FILL) = range(5)
NO_FLOW = 5e-5  # [m3/s] that counts as none
TRICKLE = 0.02  # fill of the casing that counts as some water


def proof_limit(sound_prime_time: float) -> float:
    """A start that primes within this time [s] proves the rig, for one that takes ``sound_prime_time`` [s] in good order.

    Examples
    --------
    >>> proof_limit(40.0)
    65.0
    """
    figures = overrides()
    return figures.threshold("proof_factor") * sound_prime_time + figures.threshold("proof_slack_s")


def pumps_well(run: Any, sound: Any, time: float) -> bool:
    """Whether a run at a time [s] pumps as the sound rig does as long after its own prime: flow, discharge gauge, spray.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0)
    >>> pumps_well(run, run, 80.0), pumps_well(run, run, 20.0)
    (True, False)
    """
    prime, good = float(run.prime_time), float(sound.prime_time)
    if not (math.isfinite(prime) and math.isfinite(good)) or time < prime:
        return False

    def at_time(of: Any, channel: str, when: float) -> float:
        return float(np.interp(when, of.time, np.asarray(getattr(of, channel), dtype=float)))

    then = good + (time - prime)
    flow, usual = at_time(run, "discharge_flow", time), at_time(sound, "discharge_flow", then)
    if flow < overrides().threshold("proof_flow") * usual:
        return False
    head = at_time(run, "discharge_pressure", time) - run.atmosphere
    usual_head = at_time(sound, "discharge_pressure", then) - sound.atmosphere
    if not WELL_HEAD[0] * usual_head <= head <= WELL_HEAD[1] * usual_head:
        return False
    spray = sum(at_time(run, name, time) for name in SPRAYS) - sum(
        at_time(sound, name, then) for name in SPRAYS
    )
    return spray < SPRAY


def proves(run: Any, sound: Any) -> bool:
    """Whether a whole run proves the rig: primed in the time it should take, and pumping well to its end.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0)
    >>> proves(run, run)
    True
    """
    in_time = float(run.prime_time) <= proof_limit(float(sound.prime_time))
    return in_time and run.outcome.code == "primed" and pumps_well(run, sound, float(run.time[-1]))


@compiled
def fill_outcome_signals(states: np.ndarray, modes: np.ndarray, p: np.ndarray, told: np.ndarray) -> None:
    """The rows of :func:`outcome_signals`, in place."""
    for i in range(states.shape[0]):
        y, m = states[i], modes[i]
        _, volume = gas_volumes(y, p, m)
        told[T_SUCTION_PRESSURE, i] = gas_pressure(y[at.CASING_AIR], volume, p[at.HOSE_GIVE], p)
        told[T_MOTIVE_PRESSURE, i] = y[at.RECEIVER_AIR] * (R_AIR * p[at.AIR_T]) / p[at.RECEIVER_VOLUME]
        told[T_DISCHARGE_FLOW, i] = y[at.DISCHARGE_FLOW] if m[at.NRV_OPEN] > 0.5 else 0.0
        told[T_FRONT, i] = p[at.LENGTH] if m[at.HOSE_FULL] > 0.5 else front_position(y, p)
        told[T_CASING_FILL, i] = y[at.CASING_WATER] / p[at.CASING_VOLUME]


def outcome_signals(states: np.ndarray, modes: np.ndarray, p: np.ndarray) -> np.ndarray:
    """What an outcome hangs on, straight from states (n, states) and modes (n, modes): five rows, SI, as T_ counts."""
    told = np.empty((5, len(states)))
    fill_outcome_signals(states, modes, p, told)
    return told


def flow_held(time: np.ndarray, flow: np.ndarray, steady: float) -> np.ndarray:
    """True where the flow has stood above 20 % of its steady value for 5 s; shape (n,)."""
    if steady <= 0.0:
        return np.zeros(len(time), dtype=bool)
    index = np.arange(len(time))
    last_below = np.maximum.accumulate(np.where(flow > SHARE * steady, -1, index))
    return index - last_below > round(HELD / STEP)


def prime_time(time: np.ndarray, flow: np.ndarray, steady: float) -> float:
    """Time [s] from which the flow first stands above 20 % of its steady value for 5 s; nan if it never does."""
    held = np.flatnonzero(flow_held(time, flow, steady))
    return float(time[held[0]] - HELD) if len(held) else math.nan


def held(vacuum: float) -> str:
    """A vacuum [Pa] in words, to the kPa and never below none.

    Examples
    --------
    >>> held(27_400.0), held(-120.0)
    ('27 kPa', 'no')
    """
    whole = round(vacuum / 1e3)
    return f"{whole} kPa" if whole > 0 else "no"


def trickle(flow: float) -> str:
    """A small flow [m3/s] in words.

    Examples
    --------
    >>> trickle(0.0042), trickle(0.0)
    ('only 4.2 L/s goes out', 'no water goes out')
    """
    return f"only {1e3 * flow:.1f} L/s goes out" if flow > NO_FLOW else "no water goes out"


def judge(
    time: np.ndarray,
    told: np.ndarray,
    controls: tuple[ControlStep, ...],
    first: float,
    steady: float,
    p: np.ndarray,
) -> Outcome:
    """Outcome of a run from the rows of :func:`outcome_signals`, shape (5, n)."""
    end = float(time[-1])
    flow = told[T_DISCHARGE_FLOW]
    if math.isfinite(first):
        if flow[-1] > SHARE * steady or controls[-1].speed == 0.0:
            return Outcome("primed", first, f"Primed after {first:.0f} s.")
        lost = float(time[np.flatnonzero(flow > SHARE * steady)[-1]])
        return Outcome(
            "lost_prime", lost, f"Primed after {first:.0f} s, then lost its prime at {lost:.0f} s."
        )
    vacuum = p[at.ATMOSPHERE] - told[T_SUCTION_PRESSURE]
    motive = told[T_MOTIVE_PRESSURE][-1] - p[at.ATMOSPHERE]
    if controls and controls[-1].speed > 0.0 and motive < NO_MOTIVE:
        return Outcome("no_motive_air", end, f"No motive air: {motive / 1e5:.1f} bar after {end:.0f} s.")
    if told[T_CASING_FILL][-1] >= p[at.FULL_FILL] and controls[-1].speed > 0.0:
        return Outcome(
            "little_flow", end, f"The pump is full of water and holds it, but {trickle(flow[-1])}."
        )
    back = min(len(vacuum) - 1, round(30.0 / STEP))
    if abs(vacuum[-1] - vacuum[-1 - back]) < STILL:
        water = "only a trickle of water" if told[T_CASING_FILL][-1] > TRICKLE else "no water"
        return Outcome("stalled", end, f"Stalled at {held(vacuum[-1])} vacuum, {water}.")
    way = "rising" if vacuum[-1] > vacuum[-1 - back] else "falling"
    return Outcome("time_up", end, f"Not primed after {end:.0f} s; the vacuum is still {way}.")
