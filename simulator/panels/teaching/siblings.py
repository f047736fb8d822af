"""Rigs of one kind differ: by a few percent in their ejectors, by the roughness of their hoses; air is neither quite
isothermal nor adiabatic. :data:`SPREAD` says by how much (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simulator.rig.rig import Rig

#: Half-width of each spread, as a share of the value [-].
SPREAD = {
    "nozzle_efficiency": 0.05,
    "mixing_efficiency": 0.05,
    "diffuser_efficiency": 0.05,
    "friction": 0.20,
    "openings": 0.10,
    "speed": 0.05,
}
EXPONENT = (1.0, 1.3)  # [-] polytropic exponent of the air
ROUGHNESS = 3.0  # [-] factor either way: it moves the friction factor by about as much as the losses
DRAWS = len(SPREAD) + 2  # quantities that differ from rig to rig


def sibling(rig: Rig, draw: np.ndarray) -> tuple[Rig, float, float]:
    """A rig of the same kind for draws in [-1, 1], with the exponent of its air and its speed over the nominal one [-].

    Parameters
    ----------
    draw : shape (n,), one for each property that differs from rig to rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> sibling(load_rig("osier"), np.zeros(8))[0] == load_rig("osier")
    True
    """
    share = {name: 1.0 + SPREAD[name] * float(d) for name, d in zip(SPREAD, draw, strict=False)}
    exponent = float(np.interp(draw[-2], (-1.0, 1.0), EXPONENT))
    rough = ROUGHNESS ** float(draw[-1])
    ejector, hose = rig.ejector, rig.suction_hose
    other = replace(
        rig,
        ejector=replace(
            ejector,
            nozzle_efficiency=min(ejector.nozzle_efficiency * share["nozzle_efficiency"], 1.0),
            mixing_efficiency=min(ejector.mixing_efficiency * share["mixing_efficiency"], 1.0),
            diffuser_efficiency=min(ejector.diffuser_efficiency * share["diffuser_efficiency"], 1.0),
            nozzle_diameter=ejector.nozzle_diameter * math.sqrt(share["openings"]),
        ),
        suction_hose=replace(
            hose,
            roughness=hose.roughness * rough,
            bend_loss=hose.bend_loss * share["friction"],
            strainer=replace(hose.strainer, loss=hose.strainer.loss * share["friction"]),
        ),
    )
    return other, exponent, share["speed"]
