"""The state a run starts from, and the state a stopped rig comes to rest in.

Arguments, the same throughout: ``p`` packed parameters in SI units; ``y`` state in SI units; ``modes`` modes
[-], all as ``run.layout`` names them; ``site`` where the rig stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulator.physics.gas import R_AIR
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run import layout as at
from simulator.run.parameters import rest_position
from simulator.run.pockets import gas_volumes


@dataclass(frozen=True)
class State:
    """Everything the future of a run depends on: the state vector and the modes, both SI (see layout)."""

    y: np.ndarray
    modes: np.ndarray

    def copy(self) -> State:
        """An independent copy."""
        return State(self.y.copy(), self.modes.copy())


def air_at_rest(p: np.ndarray, y: np.ndarray, modes: np.ndarray) -> None:
    """Fill the pockets with air at atmospheric pressure."""
    per_volume = (p[at.ATMOSPHERE] - p[at.VAPOUR]) / (R_AIR * p[at.AIR_T])
    hose, casing = gas_volumes(y, p, modes)
    y[at.HOSE_AIR], y[at.CASING_AIR] = hose * per_volume, casing * per_volume


def rest_state(
    rig: Rig, site: Site, p: np.ndarray, casing_water: float = 0.0, line_water: float = 0.0
) -> State:
    """The rig standing still: column at the outside level, air at atmospheric pressure everywhere.

    ``casing_water`` [m3] stays behind up to the inlet lip, unless the drain is open; ``line_water`` [m3] stands on the
    ball as long as the ball seats.
    """
    y, modes = np.zeros(at.STATES), np.zeros(at.MODES)
    setup = int(p[at.SETUP])
    y[at.FRONT] = rest_position(hose_profile(rig, site)) if setup == at.Setup.NORMAL else 0.0
    kept = min(casing_water, p[at.LIP_FILL] * p[at.CASING_VOLUME])
    y[at.CASING_WATER] = 0.0 if p[at.DRAIN_AREA] > 0.0 else kept
    y[at.LINE_WATER] = 0.0 if p[at.NRV_GAP] > 0.0 and p[at.DRAIN_AREA] > 0.0 else line_water
    y[at.LINER_OPEN] = 1.0
    modes[at.COCK_SETTING] = 1.0
    modes[at.SPLIT] = float(setup == 0 and p[at.HAS_LINER] > 0.5 and y[at.FRONT] < p[at.LINER_AT])
    air_at_rest(p, y, modes)
    y[at.RECEIVER_AIR] = p[at.ATMOSPHERE] * p[at.RECEIVER_VOLUME] / (R_AIR * p[at.AIR_T])
    return State(y, modes)


def absolute_tolerances(p: np.ndarray) -> np.ndarray:
    """Absolute tolerance of each state, about 1e-7 of what it is when the rig runs; shape (STATES,)."""
    rt = R_AIR * p[at.AIR_T]
    air = p[at.ATMOSPHERE] * p[at.CASING_VOLUME] / rt
    tolerances = np.empty(at.STATES)
    tolerances[
        [
            at.HOSE_AIR,
            at.CASING_AIR,
            at.CARRIED_FIRST,
            at.CARRIED_SECOND,
            at.CARRIED_THIRD,
            at.TRAPPED_AIR,
            at.AIR_IN,
            at.AIR_OUT,
        ]
    ] = 1e-7 * air
    tolerances[at.FRONT] = 1e-6
    tolerances[[at.SUCTION_FLOW, at.DISCHARGE_FLOW]] = 1e-6 * p[at.BORE_AREA]
    tolerances[[at.CASING_WATER, at.LINE_WATER, at.WATER_IN, at.WATER_OUT]] = 1e-7 * p[at.CASING_VOLUME]
    tolerances[[at.RECEIVER_AIR, at.MOTIVE_IN, at.MOTIVE_OUT]] = (
        1e-6 * p[at.ATMOSPHERE] * p[at.RECEIVER_VOLUME] / rt
    )
    tolerances[[at.LINER_OPEN, at.SPEED, at.CLOCK]] = 1e-6
    return tolerances
