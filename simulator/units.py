"""Units at the edges: everything inside is SI with absolute pressure; people read vacuum, bar, psi, inHg and feet.

Conversion factors: NIST SP 811 (2008), Appendix B; inch of mercury at 0 C (conventional).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

STANDARD_GRAVITY = 9.80665  # [m/s2], exact by definition (CGPM 1901)
STANDARD_ATMOSPHERE = 101_325.0  # [Pa], exact by definition
ZERO_CELSIUS = 273.15  # [K]
PASCAL_PER_BAR = 1.0e5
PASCAL_PER_PSI = 6_894.757_293
PASCAL_PER_INHG = 3_386.389
METRE_PER_FOOT = 0.3048
METRE_PER_INCH = 0.0254
CUBIC_METRE_PER_US_GALLON = 3.785_411_784e-3
KILOGRAM_PER_POUND = 0.453_592_37  # exact


def plain_figure(value: float, digits: int = 3) -> str:
    """A figure as people write it: so many ``digits`` that count, and never with a power of ten.

    Parameters
    ----------
    value : in whatever unit.

    Examples
    --------
    >>> plain_figure(1030.3), plain_figure(6.5), plain_figure(0.000012), plain_figure(3.0000001)
    ('1030', '6.5', '0.000012', '3')
    """
    return f"{Decimal(f'{value:.{digits}g}') + 0:f}"


@dataclass(frozen=True)
class Unit:
    """A unit people read: ``shown = (value_si) / size``; the sign of a vacuum is handled by the caller.

    Examples
    --------
    >>> round(UNITS["inHg"].from_si(3386.389), 6)
    1.0
    >>> UNITS["bar"].to_si(2.0)
    200000.0
    """

    name: str
    size: float
    decimals: int

    def from_si(self, value: float) -> float:
        """Value in this unit of an SI value [-]."""
        return value / self.size

    def to_si(self, value: float) -> float:
        """SI value of a figure read in this unit."""
        return value * self.size


UNITS: dict[str, Unit] = {
    unit.name: unit
    for unit in (
        Unit("kPa", 1e3, 0),
        Unit("bar", PASCAL_PER_BAR, 1),
        Unit("inHg", PASCAL_PER_INHG, 1),
        Unit("psi", PASCAL_PER_PSI, 0),
        Unit("m", 1.0, 1),
        Unit("ft", METRE_PER_FOOT, 0),
        Unit("mm", 1e-3, 0),
        Unit("in", METRE_PER_INCH, 1),
        Unit("L/s", 1e-3, 0),
        Unit("gpm", CUBIC_METRE_PER_US_GALLON / 60.0, 0),
    )
}

#: What each system shows for a quantity; the switch on the screen chooses the system.
SYSTEMS: dict[str, dict[str, str]] = {
    "metric": {"vacuum": "kPa", "pressure": "bar", "length": "m", "bore": "mm", "flow": "L/s"},
    "us": {"vacuum": "inHg", "pressure": "psi", "length": "ft", "bore": "in", "flow": "gpm"},
}
