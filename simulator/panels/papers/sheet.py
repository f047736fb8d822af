"""A printed sheet: one HTML file that holds all it needs and asks nothing of the network."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from simulator.texts import entry, language, text
from simulator.units import SYSTEMS, UNITS

TEMPLATES = Path(__file__).parent / "templates"
_STRONG = re.compile(r"\*\*(.+?)\*\*")


def both(quantity: str, value: float) -> str:
    """An SI value in both unit systems; quantities as in :data:`simulator.units.SYSTEMS`.

    Parameters
    ----------
    quantity : such as "vacuum" or "length".

    Examples
    --------
    >>> both("vacuum", 29.4e3), both("length", 3.0), both("bore", 0.15)
    ('29 kPa (8.7 inHg)', '3 m (10 ft)', '150 mm (6 in)')
    """
    shown = []
    for system in ("metric", "us"):
        unit = UNITS[SYSTEMS[system][quantity]]
        decimals = 0 if quantity == "bore" else unit.decimals  # a bore is named by its whole inches
        figure = f"{unit.from_si(value):.{decimals}f}"
        if quantity == "length":
            figure = figure.removesuffix(".0")
        shown.append(f"{figure} {unit.name}")
    return f"{shown[0]} ({shown[1]})"


def rich(words: str) -> Markup:
    """Words of the catalogue with their **strong** parts, everything else escaped.

    Parameters
    ----------
    words : with strong parts between two asterisks.

    Examples
    --------
    >>> rich("a **b** < c")
    Markup('a <strong>b</strong> &lt; c')
    """
    return Markup(_STRONG.sub(r"<strong>\1</strong>", str(escape(words))))


@lru_cache(maxsize=1)
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["rich"] = rich
    made.globals.update(text=text, entry=entry, both=both)
    return made


def sheet(template: str, title: str, **fields: Any) -> str:
    """A sheet made from a template; drawings come in as markup, all else is escaped.

    Parameters
    ----------
    title : of the page.
    """
    return (
        _environment().get_template(template).render(title=title, language=language()[:2], **fields).strip()
        + "\n"
    )
