"""Rows of an attempt hang on one another by hash: one that is altered, lost or moved is seen.

Link 0 is the record of the attempt; events, marks and the ending follow in the order in which they were kept. The hash
of a link is taken over the hash before it and over every column of its row. Who can write all hashes anew can
still forge: it is a guard against accidents, slips and curious hands.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

#: The columns under the hash, in this order for good: a change here is a new record schema.
COLUMNS: dict[str, tuple[str, ...]] = {
    "record": (
        *("attempt_id", "number", "learner", "lesson", "mode", "seed", "scenario_hash", "model_version"),
        *("record", "made_at"),
    ),
    "event": ("seq", "click_id", "yard_minutes", "run_seconds", "kind", "payload", "made_at"),
    "marks": ("source", "version", "marked_by", "sheet", "made_at"),
    "ending": ("reason", "made_at"),
}
Head = tuple[int, str]  # how many links [-], and the hash of the last


_encoded = json.JSONEncoder(separators=(",", ":"), default=repr).encode


class Link(NamedTuple):
    """A row of a chain as it was read: its place from 0 [-], what it is, its columns, and the hash that it bears."""

    number: int
    kind: str
    values: tuple[Any, ...]
    hash: str

    @property
    def name(self) -> str:
        """The row in words, such as ``event 12``."""
        which = {"event": self.values[0], "marks": " ".join(str(each) for each in self.values[:2])}
        return f"{self.kind} {which[self.kind]}" if self.kind in which else self.kind


@dataclass(frozen=True)
class Broken:
    """A chain that does not hold: ``sound`` links [-] from its front do, of ``expected``.

    ``how`` is ``altered``, ``lost`` (rows in the middle), ``short`` (rows at its end), ``replaced`` or ``gone``;
    ``row`` names the first row that does not hold.
    """

    attempt_id: str
    how: str
    sound: int
    expected: int
    row: str = ""


def link_hash(before: str, kind: str, values: Sequence[Any]) -> str:
    """Hash of a link, in hexadecimal.

    Parameters
    ----------
    before : hash of the link before it; empty for the first.
    kind : what the row is, one of :data:`COLUMNS`.
    values : its columns in the order given there.

    Examples
    --------
    >>> link_hash("", "ending", ("left", "2030-01-01T00:00:00.000Z"))[:16]
    '6dd86b3975a7e19a'
    """
    return hashlib.sha256(_encoded([before, kind, *values]).encode()).hexdigest()


def examine(
    attempt_id: str, links: Iterable[Link], head: Head | None, beside: Head | None
) -> tuple[Broken | None, Head]:
    """Look a chain over; what is wrong, and where its sound front part ends.

    Parameters
    ----------
    links : all rows of the attempt, in any order.
    head : the end of the chain as the database has it; None where it has none.
    beside : the same from the file beside the database, which may be behind; None where that has none.

    Examples
    --------
    >>> first = link_hash("", "record", ("a",))
    >>> record = Link(0, "record", ("a",), first)
    >>> examine("a", [record], (1, first), (1, first))[0] is None
    True
    >>> examine("a", [record], (1, first), (3, "cd"))[0]
    Broken(attempt_id='a', how='short', sound=1, expected=3, row='')
    """
    rows = sorted(links, key=lambda link: link.number if type(link.number) is int else 2**62)
    most = max(len(rows), head[0] if head else 0, beside[0] if beside else 0)
    if not rows:
        return Broken(attempt_id, "gone", 0, most), (0, "")
    hashes = [""]
    for expected, link in enumerate(rows):
        end = (expected, hashes[-1])
        if type(link.number) is not int or link.number < expected:
            return Broken(attempt_id, "altered", expected, most, link.name), end
        if link.number > expected:
            return Broken(attempt_id, "lost", expected, max(most, link.number + 1), link.name), end
        if link.hash != link_hash(hashes[-1], link.kind, link.values):
            return Broken(attempt_id, "altered", expected, most, link.name), end
        hashes.append(link.hash)
    count, end = len(rows), (len(rows), hashes[-1])
    for known in (beside, head):
        if known is not None and known[0] > count:
            return Broken(attempt_id, "short", count, known[0]), end
    if beside is not None and hashes[beside[0]] != beside[1]:
        return Broken(attempt_id, "replaced", count, most), end
    if beside is None and head is not None and hashes[head[0]] != head[1]:
        return Broken(attempt_id, "replaced", count, most), end
    return None, end
