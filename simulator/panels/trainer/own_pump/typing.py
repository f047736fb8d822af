"""What is typed on the desk of the own pump: figures with or without a unit, metric or US.

Arguments, the same throughout: ``typed`` as it stands in the field; ``key`` whose ending is the unit of the file;
``system`` "metric" or "us": the units of figures that name none.
"""

from __future__ import annotations

import math
import re

from simulator.measured.figures import unit_of_key
from simulator.measured.table import figure_of, seconds_of
from simulator.units import (
    CUBIC_METRE_PER_US_GALLON,
    METRE_PER_FOOT,
    METRE_PER_INCH,
    PASCAL_PER_PSI,
    plain_figure,
)

KW_PER_HP = 0.745_699_871_6  # mechanical horsepower, NIST SP 811 (2008), Appendix B
L_S_PER_CFM = 1e3 * METRE_PER_FOOT**3 / 60.0
L_PER_GALLON = 1e3 * CUBIC_METRE_PER_US_GALLON
_LENGTHS = {"m": 1.0, "cm": 0.01, "mm": 1e-3, "ft": METRE_PER_FOOT, "'": METRE_PER_FOOT, "in": METRE_PER_INCH,
            '"': METRE_PER_INCH, "yd": 3.0 * METRE_PER_FOOT}  # fmt: skip
#: For each ending of a key: units that may be typed, in the file's own.
UNITS: dict[str, dict[str, float]] = {
    "m": _LENGTHS,
    "mm": {name: 1e3 * size for name, size in _LENGTHS.items()},
    "l": {"l": 1.0, "m3": 1e3, "gal": L_PER_GALLON},
    "l_s": {"l/s": 1.0, "l/min": 1 / 60, "m3/h": 1 / 3.6, "m3/min": 1e3 / 60,
            "gpm": L_PER_GALLON / 60, "cfm": L_S_PER_CFM},
    "rpm": {"rpm": 1.0, "1/min": 1.0},
    "kw": {"kw": 1.0, "hp": KW_PER_HP},
    "bar": {"bar": 1.0, "psi": PASCAL_PER_PSI / 1e5, "kpa": 0.01},
    "s": {"s": 1.0},
    "": {},
}  # fmt: skip
#: The unit of a figure that names none: metric, US; a key of its own goes before its ending.
PLAIN = {
    "m": ("m", "ft"),
    "mm": ("mm", "in"),
    "l": ("L", "gal"),
    "l_s": ("L/s", "gpm"),
    "compressor_l_s": ("L/s", "cfm"),
    "rpm": ("rpm", "rpm"),
    "kw": ("kW", "hp"),
    "bar": ("bar", "psi"),
    "s": ("s", "s"),
    "": ("", ""),
}
_TYPED = re.compile(r"^([+-]?[\d.,]+)\s*(.*)$")


def plain_unit(key: str, system: str) -> str:
    """The unit of a figure that names none.

    Examples
    --------
    >>> plain_unit("compressor_l_s", "us"), plain_unit("joints", "metric")
    ('cfm', '')
    """
    last = key.rpartition(".")[2]
    return PLAIN.get(last, PLAIN[unit_of_key(last)])[system == "us"]


def figure(typed: str, key: str, system: str) -> float:
    """The figure in the unit of the file; nan where it is none.

    Examples
    --------
    >>> figure("6 in", "hose_bore_mm", "metric"), figure("33", "hose_length_m", "us"), figure("1:05", "prime_s", "us")
    (152.4, 10.0584, 65.0)
    """
    if key.endswith("_s") and unit_of_key(key) == "s":
        return seconds_of(typed)
    found = _TYPED.match(typed.strip().replace("−", "-"))
    if not found:
        return math.nan
    value, unit = figure_of(found[1]), found[2].strip().lower().replace("³", "3")
    known = UNITS[unit_of_key(key.rpartition(".")[2])]
    unit = unit or plain_unit(key, system).lower()
    if not unit:
        return value
    return float(f"{value * known[unit]:.12g}") if unit in known else math.nan


def shown(value: float, key: str, system: str) -> str:
    """A figure of the file as it stands in a field.

    Parameters
    ----------
    value : in the unit of the file.

    Examples
    --------
    >>> shown(152.4, "hose_bore_mm", "us"), shown(10.0, "hose_length_m", "metric")
    ('6', '10')
    """
    unit = plain_unit(key, system).lower()
    size = UNITS[unit_of_key(key.rpartition(".")[2])].get(unit, 1.0) if unit else 1.0
    return plain_figure(value / size, 4) if abs(value / size) < 1e4 else f"{value / size:.0f}"


def beside(typed: str, key: str, system: str) -> str:
    """The same in the other system, with its unit; nothing where both say the same.

    Examples
    --------
    >>> beside("150", "hose_bore_mm", "metric"), beside("4", "joints", "metric")
    ('5.91 in', '')
    """
    value, other = figure(typed, key, system), "metric" if system == "us" else "us"
    unit = plain_unit(key, other)
    if math.isnan(value) or unit == plain_unit(key, system):
        return ""
    return f"{plain_figure(float(shown(value, key, other)))} {unit}"
