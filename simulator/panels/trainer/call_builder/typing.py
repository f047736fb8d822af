"""What is typed into a field, as the file has it: figures with or without a unit, in metric or US units.

Arguments, the same throughout: ``typed`` as it stands in the field; ``key`` of the file, its ending the unit.
"""

from __future__ import annotations

import re
from typing import Any

from simulator.units import METRE_PER_FOOT, METRE_PER_INCH, PASCAL_PER_INHG, PASCAL_PER_PSI

_FIGURE = re.compile(
    r"^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?)\s*([a-zA-Z%°\"'²2/]*)$", re.IGNORECASE
)
_LENGTHS = {"m": 1.0, "cm": 0.01, "mm": 1e-3, "ft": METRE_PER_FOOT, "'": METRE_PER_FOOT, "in": METRE_PER_INCH,
            '"': METRE_PER_INCH}  # fmt: skip
_PRESSURES = {"kpa": 1e3, "bar": 1e5, "mbar": 1e2, "psi": PASCAL_PER_PSI, "inhg": PASCAL_PER_INHG}
_TIMES = {"s": 1.0, "sec": 1.0, "min": 60.0}
#: For each ending of a key: units that may be typed, with their size, and the size of the file's own.
_SIZES: dict[str, tuple[dict[str, float], float]] = {
    "m": (_LENGTHS, 1.0),
    "mm": (_LENGTHS, 1e-3),
    "kpa": (_PRESSURES, 1e3),
    "bar": (_PRESSURES, 1e5),
    "s": (_TIMES, 1.0),
    "percent": ({"%": 1.0}, 1.0),
    "mm2": ({"mm2": 1.0, "mm²": 1.0}, 1.0),
}
#: What stands beside a figure in the other system: ending of the key, size over the file's unit, name, decimals.
_OTHER = {
    "m": (METRE_PER_FOOT, "ft", 1),
    "mm": (METRE_PER_INCH * 1e3, "in", 2),
    "kpa": (PASCAL_PER_INHG / 1e3, "inHg", 1),
    "bar": (PASCAL_PER_PSI / 1e5, "psi", 0),
}


def ending_of(key: str) -> str:
    """The unit that a key ends in.

    Examples
    --------
    >>> ending_of("hole_diameter_mm"), ending_of("gap_mm2"), ending_of("seed")
    ('mm', 'mm2', '')
    """
    last = key.rpartition("_")[2]
    return last if last in (*_SIZES, "c") and last != key else ""


def figure(typed: str, key: str) -> float | str:
    """The figure for the file; what is none stays as it was typed, for the loader to say so.

    Examples
    --------
    >>> figure("5", "lift_m"), figure("16,4 ft", "lift_m"), figure("68 F", "air_temperature_c"), figure("much", "lift_m")
    (5.0, 4.99872, 20.0, 'much')
    """
    found = _FIGURE.match(typed.strip())
    if not found:
        return typed.strip()
    value, unit, ending = float(found[1].replace(",", ".")), found[2].lower(), ending_of(key)
    if not unit:
        return value
    if ending == "c" and unit.lstrip("°") in ("c", "f"):
        return value if unit.endswith("c") else round((value - 32.0) / 1.8, 6)
    known, own = _SIZES.get(ending, ({}, 1.0))
    return round(value * known[unit] / own, 6) if unit in known else typed.strip()


def shown(value: Any) -> str:
    """A value of the file as it stands in a field: the shortest figure that reads back the same.

    Examples
    --------
    >>> shown(5.0), shown(0.1), shown(None), shown("a")
    ('5', '0.1', '', 'a')
    """
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return str(value)


def beside(typed: str, key: str) -> str:
    """The same in the other system, for who thinks in feet; nothing where there is none.

    Examples
    --------
    >>> beside("5", "lift_m"), beside("10", "air_temperature_c"), beside("", "lift_m"), beside("3", "seed")
    ('16.4 ft', '50 °F', '', '')
    """
    value, ending = figure(typed, key), ending_of(key)
    if isinstance(value, str):
        return ""
    if ending == "c":
        return f"{value * 1.8 + 32.0:.0f} °F"
    if ending not in _OTHER:
        return ""
    size, name, decimals = _OTHER[ending]
    return f"{value / size:.{decimals}f} {name}"
