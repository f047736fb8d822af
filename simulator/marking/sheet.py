"""The mark sheet: four parts, each with its points and the evidence for them."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from simulator.rig.trainer import overrides
from simulator.texts import text

MARKING_VERSION = 2
FOUND, ECONOMY, SAFETY, UNDERSTANDING = "found", "economy", "safety", "understanding"
OUT_OF = {FOUND: 40.0, ECONOMY: 25.0, SAFETY: 25.0, UNDERSTANDING: 10.0}
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
    """What the four parts can give [-], together 100: the trainer's weights (``marks`` in the file) or the package's.

    Examples
    --------
    >>> weights()["found"], sum(weights().values())
    (40.0, 100.0)
    """
    given = overrides().marks
    raw = {name: given.get(name, usual) for name, usual in OUT_OF.items()}
    total = sum(raw.values())
    return {name: 100.0 * value / total for name, value in raw.items()} if given else dict(OUT_OF)


def part(name: str, evidence: list[Evidence], *, marked: bool = True) -> Part:
    """A part whose points are those of its evidence together, evidence on the package's scale put on the trainer's.

    Examples
    --------
    >>> part("safety", [because(25.0, "safety.clean")]).points
    25.0
    """
    out_of = weights()[name]
    if out_of != OUT_OF[name]:
        evidence = [replace(item, points=round(item.points * out_of / OUT_OF[name], 2)) for item in evidence]
    points = round(sum(item.points for item in evidence), 1) + 0.0 if marked else None
    return Part(name, points, out_of, tuple(evidence))


@dataclass(frozen=True)
class MarkSheet:
    """All four parts. ``version`` is that of the marking rules, ``model`` the fingerprint of the model behind
    them."""

    parts: tuple[Part, ...]
    version: int
    model: str
    grave: bool  # an act that could have cost a life ended the attempt

    @property
    def total(self) -> float:
        """Points of all marked parts together, at least 0."""
        return max(round(sum(part.points or 0.0 for part in self.parts), 1), 0.0)

    @property
    def out_of(self) -> float:
        """The most that the marked parts could give."""
        return sum(part.out_of for part in self.parts if part.points is not None)

    @property
    def passed(self) -> bool:
        """70 of 100 and nothing grave."""
        return not self.grave and self.total >= PASS

    def points(self, name: str) -> float | None:
        """Points of one part; None where it was not marked."""
        return next(part.points for part in self.parts if part.id == name)

    def as_dict(self) -> dict[str, Any]:
        """For JSON, sentences by key: a stored sheet can be read in another language."""
        return {**asdict(self), "total": self.total, "out_of": self.out_of, "passed": self.passed}
