"""The board: where everybody is now, from the summaries of records.

Throughout: ``now`` is a time.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from simulator.classroom.seen import Seen

STILL = 4.0  # [min] without a sign of life after which somebody stands still
GONE = 30.0  # [min] after which they are not at work any more
NOTHING, HERE, WORKING, STANDING, DONE, AWAY = "nothing", "here", "working", "standing", "done", "away"


@dataclass(frozen=True)
class Place:
    """Where somebody is: the record they were at last (None: nothing yet), how that stands, and for how long there has
    been no sign of life [min]. Whose page is open, but who has done nothing for long or ever, is ``here``."""

    person: str
    at: Seen | None
    state: str
    quiet: float


def places(
    people: Sequence[str], seen: Iterable[Seen], now: datetime, is_open: Collection[str] = ()
) -> list[Place]:
    """Everybody, in the order of their names.

    Parameters
    ----------
    people : their names.
    seen : summaries of all records.
    is_open : names of those who have a page open.

    Examples
    --------
    >>> at = Seen("a", "Ada", "call", "09", "practice", "2026-03-02T07:10:00Z", "2026-03-02T07:12:00Z", False)
    >>> now = datetime(2026, 3, 2, 7, 17, tzinfo=UTC)
    >>> [(each.person, each.state, each.quiet) for each in places(["Ada", "Bo", "Cy"], [at], now, {"Cy"})]
    [('Ada', 'standing', 5.0), ('Bo', 'nothing', 0.0), ('Cy', 'here', 0.0)]
    """
    latest: dict[str, Seen] = {}
    for each in seen:
        before = latest.get(each.learner)
        if before is None or each.last_at >= before.last_at:
            latest[each.learner] = each
    return [_place(person, latest.get(person), now, person in is_open) for person in people]


def _place(person: str, at: Seen | None, now: datetime, is_open: bool) -> Place:
    if at is None:
        return Place(person, None, HERE if is_open else NOTHING, 0.0)
    quiet = max((now.astimezone(UTC) - datetime.fromisoformat(at.last_at)).total_seconds() / 60.0, 0.0)
    if quiet > GONE:
        state = HERE if is_open else AWAY
    elif at.finished:
        state = DONE
    else:
        state = STANDING if quiet >= STILL else WORKING
    return Place(person, at, state, round(quiet, 1))


def gravest(at: Seen) -> str:
    """How grave the gravest breach in a record is; nothing where there is none.

    Parameters
    ----------
    at : the record.
    """
    found = {how for how, _, _ in at.breaches}
    return next((how for how in ("grave", "serious", "minor") if how in found), "")
