"""Sentences and figures as a page of a lesson shows them."""

from __future__ import annotations

from datetime import datetime

from simulator.texts import entry, text
from simulator.units import SYSTEMS, UNITS

UNSURE = "unsure"
#: [m] of suction head short of what the wheel takes from which on it is told that a pump cavitates: it rattles.
RATTLES = -0.3


def words(key: str) -> list[str]:
    """A list of sentences of the catalogue.

    Parameters
    ----------
    key : of the list, under the lessons'.
    """
    return [str(each) for each in entry(f"lessons.{key}")]


def format_quantity(quantity: str, value: float, units: str) -> str:
    """An SI value as people read it; quantities as in :data:`simulator.units.SYSTEMS`.

    Parameters
    ----------
    quantity : such as "vacuum" or "length".

    Examples
    --------
    >>> format_quantity("vacuum", 29.4e3, "metric"), format_quantity("length", 3.0, "us")
    ('29 kPa', '10 ft')
    """
    unit = UNITS[SYSTEMS[units][quantity]]
    figure = f"{unit.from_si(value):.{unit.decimals}f}"
    if quantity == "length":
        figure = figure.removesuffix(".0")
    return f"{'0' if float(figure) == 0.0 else figure} {unit.name}"


def reads_alike(quantity: str, value: float, other: float) -> bool:
    """Whether two SI values read the same, in whatever units.

    Parameters
    ----------
    quantity : such as "vacuum".
    value, other : in SI units.

    Examples
    --------
    >>> reads_alike("vacuum", 16.6e3, 17.1e3), reads_alike("vacuum", 16.9e3, 17.0e3)
    (False, True)
    """
    return all(
        format_quantity(quantity, value, each) == format_quantity(quantity, other, each) for each in SYSTEMS
    )


def height_words(altitude: float, units: str) -> str:
    """Where a rig stands, in the ``units`` of a page.

    Parameters
    ----------
    altitude : [m] above the sea.

    Examples
    --------
    >>> height_words(0.0, "metric"), height_words(1500.0, "metric")
    ('by the sea', '1500 m above the sea')
    """
    if altitude == 0.0:
        return text("teaching.by_the_sea")
    return text("teaching.above_the_sea", height=format_quantity("length", altitude, units))


def day_words(made_at: str) -> str:
    """Day and time of a record (ISO 8601, UTC) in this machine's own time.

    Parameters
    ----------
    made_at : ISO 8601, UTC.

    Examples
    --------
    >>> len(day_words("2026-03-01T07:10:00.000Z"))
    16
    """
    return datetime.fromisoformat(made_at).astimezone().strftime("%Y-%m-%d %H:%M")
