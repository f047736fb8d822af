"""Sentences and figures as a page of a lesson shows them."""

from __future__ import annotations

from simulator.texts import entry
from simulator.units import SYSTEMS, UNITS

UNSURE = "unsure"


def words(key: str) -> list[str]:
    """A list of sentences of the catalogue."""
    return [str(each) for each in entry(f"lessons.{key}")]


def shown(quantity: str, value: float, units: str) -> str:
    """An SI value as people read it; quantities as in :data:`simulator.units.SYSTEMS`.

    Examples
    --------
    >>> shown("vacuum", 29.4e3, "metric"), shown("length", 3.0, "us")
    ('29 kPa', '10 ft')
    """
    unit = UNITS[SYSTEMS[units][quantity]]
    figure = f"{unit.from_si(value):.{unit.decimals}f}"
    if quantity == "length":
        figure = figure.removesuffix(".0")
    return f"{'0' if float(figure) == 0.0 else figure} {unit.name}"
