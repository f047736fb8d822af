"""What a validation report is made of: rows with a verdict each, figures, and sections that hold them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

State = Literal["pass", "miss", "absent", "shown"]


@dataclass(frozen=True)
class Row:
    """One check: what is compared, with which source, and how far the two may be apart.

    ``tolerance`` is absolute, in the row's unit; ``within`` says it in words. ``relation`` is "=", "≤" or "≥" between
    ours and theirs. A row without a tolerance is only shown; one without our value stands for a library that is not
    installed.
    """

    what: str
    source: str
    ours: float | None
    theirs: float | None
    unit: str
    relation: str = "="
    tolerance: float | None = None
    within: str = ""

    @property
    def state(self) -> State:
        """The verdict; a value that is not a number misses."""
        if self.ours is None or self.theirs is None:
            return "absent"
        if self.tolerance is None:
            return "shown"
        above = self.ours - self.theirs
        good = {
            "=": abs(above) <= self.tolerance,
            "≤": above <= self.tolerance,
            "≥": above >= -self.tolerance,
        }[self.relation]
        return "pass" if good else "miss"

    @property
    def our_text(self) -> str:
        """Our value for a reader."""
        return figure_text(self.ours)

    @property
    def their_text(self) -> str:
        """The source's value for a reader, with the relation where it is a bound."""
        if self.ours is None:
            return "not installed"
        sign = "" if self.relation == "=" else f"{self.relation} "
        return sign + figure_text(self.theirs)


@dataclass(frozen=True)
class Figure:
    """A chart with its caption; ``html`` comes from the plotting library."""

    title: str
    caption: str
    html: str


@dataclass(frozen=True)
class Section:
    """A subject of the report; ``details`` are rows that stand in the appendix."""

    title: str
    words: str
    rows: tuple[Row, ...]
    figures: tuple[Figure, ...] = ()
    details: tuple[Row, ...] = field(default=())

    @property
    def all_rows(self) -> tuple[Row, ...]:
        """Rows of the text and of the appendix."""
        return (*self.rows, *self.details)

    def count(self, state: State) -> int:
        """How many rows have a verdict.

        Parameters
        ----------
        state : the verdict: pass, miss, absent or shown.
        """
        return sum(1 for row in self.all_rows if row.state == state)


def equal(
    what: str, source: str, ours: float, theirs: float, unit: str, *, rel: float = 0.0, abs_: float = 0.0
) -> Row:
    """A row whose two values must agree within a share ``rel`` [-] of theirs or within ``abs_`` [unit of the row].

    Parameters
    ----------
    what, source : is compared, and where the other value comes from.
    ours : our value [``unit``].

    Examples
    --------
    >>> equal("half of it", "arithmetic", 0.501, 0.5, "-", rel=0.01).state
    'pass'
    >>> equal("half of it", "arithmetic", 0.51, 0.5, "-", rel=0.01).state
    'miss'
    """
    if rel > 0.0:
        return Row(what, source, float(ours), float(theirs), unit, "=", rel * abs(theirs), share_text(rel))
    return Row(what, source, float(ours), float(theirs), unit, "=", abs_, amount_text(abs_, unit))


def at_most(what: str, source: str, ours: float, bound: float, unit: str, *, margin: float = 0.0) -> Row:
    """A row whose value must not exceed a bound by more than a margin [unit of the row].

    Parameters
    ----------
    what, source : is judged, and where the bound comes from.
    ours : our value [``unit``].

    Examples
    --------
    >>> at_most("errors", "none wanted", 1.0, 0.0, "-").state
    'miss'
    """
    words = amount_text(margin, unit) if margin else ""
    return Row(what, source, float(ours), float(bound), unit, "≤", margin, words)


def at_least(what: str, source: str, ours: float, bound: float, unit: str, *, margin: float = 0.0) -> Row:
    """A row whose value must not fall below a bound by more than a margin [unit of the row].

    Parameters
    ----------
    what, source : is judged, and where the bound comes from.
    ours : our value [``unit``].

    Examples
    --------
    >>> at_least("runs", "all wanted", 5.0, 5.0, "-").state
    'pass'
    """
    words = amount_text(margin, unit) if margin else ""
    return Row(what, source, float(ours), float(bound), unit, "≥", margin, words)


def shown(what: str, source: str, ours: float, theirs: float, unit: str) -> Row:
    """A row for comparison only, without a verdict, in any unit [unit of the row].

    Parameters
    ----------
    what, source : is compared, and where the other value comes from.
    ours, theirs : the two values [``unit``].
    """
    return Row(what, source, float(ours), float(theirs), unit)


def absent(what: str, library: str) -> Row:
    """A row for a library that is not installed.

    Parameters
    ----------
    what : would have been compared.

    Examples
    --------
    >>> absent("friction factor", "fluids").state
    'absent'
    """
    return Row(what, f"library {library}", None, None, "")


def figure_text(value: float | None) -> str:
    """A number to about five figures, without needless zeros [-].

    Parameters
    ----------
    value : in any unit; None gives a dash.

    Examples
    --------
    >>> figure_text(101325.0), figure_text(0.52828), figure_text(1.3e-9), figure_text(float("nan"))
    ('101\u202f325', '0.52828', '1.3e-9', 'none')
    """
    if value is None:
        return "–"
    if not math.isfinite(value):
        return "none" if math.isnan(value) else ("never" if value > 0 else "−∞")
    value += 0.0  # no minus before a zero
    size = abs(value)
    if size != 0.0 and size < 1e-3:
        mantissa, exponent = f"{value:.1e}".split("e")
        text = f"{mantissa.removesuffix('.0')}e{int(exponent)}"
    elif size >= 1e4:
        text = f"{value:,.0f}".replace(",", "\u202f")
    else:
        text = f"{value:.5g}"
    return text.replace("-", "−") if value < 0 else text


def share_text(share: float) -> str:
    """A relative tolerance [-] for a reader.

    Parameters
    ----------
    share : [-], 0.01 is one percent.

    Examples
    --------
    >>> share_text(0.003), share_text(1e-6)
    ('0.3 %', '1e-6')
    """
    return f"{100.0 * share:g} %" if share >= 1e-5 else figure_text(share)


def amount_text(amount: float, unit: str) -> str:
    """An absolute tolerance [unit of the row] for a reader.

    Parameters
    ----------
    amount : [``unit``].

    Examples
    --------
    >>> amount_text(0.005, "m"), amount_text(0.0, "-")
    ('0.005 m', 'exact')
    """
    if amount == 0.0:
        return "exact"
    number = f"{amount:g}" if amount >= 1e-3 else figure_text(amount)
    return number if unit in ("-", "") else f"{number} {unit}"
