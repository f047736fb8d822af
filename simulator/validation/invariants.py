"""What holds for every run whatsoever: finite figures, no negative masses, bounded pressures, closed books."""

from __future__ import annotations

import math

import numpy as np

from simulator.physics.gas import GAMMA, R_AIR, choked_flow_factor
from simulator.physics.hose_losses import WAVE_SPEED
from simulator.run import layout as at
from simulator.run.equations import RELIEF
from simulator.run.result import Run

BOOKS = 1e-6  # [-] of what passed, for air, water and motive air
ROUNDING = 1e-6  # [-] of a pressure or a content: what the integrator's tolerance may leave
OVERSHOOT = 1.02  # [-] of what the relief valve holds (abs): its set pressure, or where it passes all that is delivered
FASTEST = 1.26  # [-] of rated speed that an engine may run at: set to 1.2, unloaded, 5 % droop


def breaches(run: Run) -> list[str]:
    """The ways in which a run breaks what always holds, as sentences; empty for a good run.

    Bounds: suction pressure from the water's vapour pressure to what the relief valve holds, or to what stops the water
    in the hose (``rho a v``, Joukowsky 1898) where that is more [Pa]; fills from 0 to 1, and what a hose full of water
    gives way at such a pressure [-]; air masses [kg] and water [m3] not below zero, books closed to 1e-6 [-].
    """
    from simulator.run.parameters import pack

    p = pack(run.rig, run.site, run.setup)
    found: list[str] = []
    if not np.all(np.isfinite(run.series)) or not np.all(np.isfinite(run.states)):
        found.append("a figure is not finite")
        return found
    least = {name: float(run.states[:, index].min()) for name, index in CONTENTS.items()}
    scale = {
        "air": p[at.ATMOSPHERE] * p[at.CASING_VOLUME] / (287.05 * p[at.AIR_T]),
        "water": p[at.CASING_VOLUME],
        "front": p[at.LENGTH],
    }
    for name, value in least.items():
        if value < -ROUNDING * scale[name.split()[-1]]:
            found.append(f"{name} falls to {value:.3g}")
    passed = p[at.DISPLACEMENT] * FASTEST * p[at.ATMOSPHERE] / math.sqrt(R_AIR * p[at.AIR_T])
    held = max(p[at.RELIEF_SET], passed / (RELIEF * p[at.RELIEF_AREA] * choked_flow_factor(GAMMA)))
    fastest = float(np.abs(run.suction_flow).max()) / p[at.BORE_AREA]
    stopped = p[at.ATMOSPHERE] + p[at.WATER_DENSITY] * WAVE_SPEED * fastest
    for name in ("suction_pressure", "hose_pressure", "motive_pressure"):
        values = getattr(run, name)
        most = held if name == "motive_pressure" else max(held, stopped)
        if values.min() < p[at.VAPOUR] * (1.0 - ROUNDING) and name != "motive_pressure":
            found.append(f"{name} falls to {values.min():.1f} Pa, vapour pressure {p[at.VAPOUR]:.1f} Pa")
        if values.max() > OVERSHOOT * most:
            found.append(
                f"{name} rises to {values.max():.0f} Pa, relief valve and stopped water hold {most:.0f} Pa"
            )
    for name in ("casing_fill", "line_fill"):
        values = getattr(run, name)
        pressed = max(float(run.suction_pressure.max()) - p[at.ATMOSPHERE], 0.0) * p[at.HOSE_GIVE]
        give = pressed / p[at.CASING_VOLUME] if name == "casing_fill" else 0.0
        if values.max() > 1.0 + give + 1e-3:
            found.append(f"{name} rises to {values.max():.5f}")
    for name in ("air_error", "water_error", "motive_error"):
        error = abs(getattr(run.balance, name))
        if not error < BOOKS:
            found.append(f"{name} is {error:.2e}")
    return found


CONTENTS = {
    "casing air": at.CASING_AIR,
    "hose air": at.HOSE_AIR,
    "carried air": at.CARRIED_FIRST,
    "receiver air": at.RECEIVER_AIR,
    "casing water": at.CASING_WATER,
    "line water": at.LINE_WATER,
    "front": at.FRONT,
}
