"""A gauge of the rig as a page draws it; the exercise and the lessons show the same one."""

from __future__ import annotations

from typing import Any

from simulator.instruments.gauges import GAUGES
from simulator.texts import text
from simulator.units import SYSTEMS, UNITS

#: How far below zero the face of a compound gauge reaches [Pa]; the needle rests at its stop beyond it.
FACE_BELOW_ZERO = {"metric": 20e3, "us": 5 * UNITS["inHg"].size}
_MARKS_A_FIGURE = {"metric": 10, "us": 5}


def dial(gauge_id: str) -> dict[str, Any]:
    """A gauge of the rig as the page draws it, in both unit systems.

    Parameters
    ----------
    gauge_id : "suction", "motive" or "discharge".

    Examples
    --------
    >>> dial("suction")["units"]["metric"]["minor"]
    2.0
    """
    gauge = GAUGES[gauge_id]
    faces = {}
    for system in SYSTEMS:
        unit = UNITS[SYSTEMS[system][gauge.quantity]]
        minor = gauge.graduation(system) / unit.size
        faces[system] = {
            "name": unit.name,
            "size_pa": unit.size,
            "major": minor * _MARKS_A_FIGURE[system],
            "minor": minor,
            "low": max(gauge.low, -FACE_BELOW_ZERO[system]) / unit.size,
            "high": gauge.high / unit.size,
            "decimals": unit.decimals,
        }
    return {
        "id": gauge.id,
        "label": text(f"attempt.gauges.{gauge.id}"),
        "quantity": "compound" if gauge.quantity == "vacuum" else "pressure",
        "low_pa": gauge.low,
        "high_pa": gauge.high,
        "units": faces,
    }
