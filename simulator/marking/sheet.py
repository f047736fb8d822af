"""The mark sheet: three parts that give points, safety that can only take them off, and the evidence for all.

Version 3 of the rules: safety is a gate and no part that everybody gets; hints count; certainty weighs twice.

Throughout: ``name`` is that of a part; ``marked`` says whether it counts.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from typing import Any

from simulator.rig.trainer import overrides
from simulator.texts import text

MARKING_VERSION = 14
FOUND, ECONOMY, SAFETY, UNDERSTANDING = "found", "economy", "safety", "understanding"
OUT_OF = {FOUND: 45.0, ECONOMY: 40.0, UNDERSTANDING: 15.0}
PASS = 70.0


@dataclass(frozen=True)
class Evidence:
    """One reason for points: its points [-] and a sentence by key and fields, put into words when it is
    read."""

    points: float
    key: str
    fields: tuple[tuple[str, Any], ...] = ()

    @property
    def sentence(self) -> str:
        """The reason in words."""
        return text(self.key, **dict(self.fields))


def because(points: float, key: str, **fields: Any) -> Evidence:
    """Evidence with a message key of the area ``marking``.

    Examples
    --------
    >>> because(0.0, "safety.clean").key
    'marking.safety.clean'
    """
    return Evidence(round(points, 2) + 0.0, f"marking.{key}", tuple(sorted(fields.items())))


@dataclass(frozen=True)
class Part:
    """One part of the sheet. ``points`` is None where the attempt ended before the part could be marked."""

    id: str
    points: float | None
    out_of: float
    evidence: tuple[Evidence, ...]

    @property
    def label(self) -> str:
        """What the part is called."""
        return text(f"marking.{self.id}.label")


def weights() -> dict[str, float]:
    """What the parts can give [-], together 100: the trainer's weights (``marks`` in the file) or the package's.

    Examples
    --------
    >>> weights()["found"], sum(weights().values())
    (45.0, 100.0)
    """
    given = overrides().marks
    raw = {name: given.get(name, usual) for name, usual in OUT_OF.items()}
    total = sum(raw.values())
    return {name: 100.0 * value / total for name, value in raw.items()} if given else dict(OUT_OF)


def part(name: str, evidence: list[Evidence], *, marked: bool = True) -> Part:
    """A part whose points are those of its evidence together, evidence on the package's scale put on the trainer's.

    Examples
    --------
    >>> part("understanding", [because(15.0, "understanding.sound_prime_time.close")]).points
    15.0
    >>> part("safety", [because(-5.0, "safety.minor")]).out_of
    0.0
    """
    out_of, usual = weights().get(name, 0.0), OUT_OF.get(name, 0.0)
    if out_of != usual and usual:
        evidence = [replace(item, points=round(item.points * out_of / usual, 2)) for item in evidence]
    points = round(sum(item.points for item in evidence), 1) + 0.0 if marked else None
    return Part(name, points, out_of, tuple(evidence))


def marks_words(total: float) -> str:
    """Marks as pages tell them: whole, a half counts upward, as in the page's scripts.

    Parameters
    ----------
    total : marks [-].

    Examples
    --------
    >>> marks_words(96.5), marks_words(96.4)
    ('97', '96')
    """
    return str(math.floor(total + 0.5))


@dataclass(frozen=True)
class MarkSheet:
    """All parts. ``version`` is that of the marking rules, ``model`` the fingerprint of the model behind them, ``hints``
    how many hint steps were taken [-]."""

    parts: tuple[Part, ...]
    version: int
    model: str
    grave: bool  # an act that could have cost a life ended the attempt
    hints: int = 0

    @property
    def total(self) -> float:
        """Points of all marked parts together, less what lapses of safety take off; at least 0."""
        return max(round(sum(part.points or 0.0 for part in self.parts), 1), 0.0)

    @property
    def out_of(self) -> float:
        """The most that all parts can give: what was not reached counts nothing, in every sheet alike."""
        return sum(part.out_of for part in self.parts)

    @property
    def passed(self) -> bool:
        """70 of 100 and nothing grave: no other marks make up for that."""
        return not self.grave and self.total >= PASS

    def points(self, name: str) -> float | None:
        """Points of one part; None where it was not marked."""
        return next(part.points for part in self.parts if part.id == name)

    def as_dict(self) -> dict[str, Any]:
        """For JSON, sentences by key: a stored sheet can be read in another language."""
        return {**asdict(self), "total": self.total, "out_of": self.out_of, "passed": self.passed}
