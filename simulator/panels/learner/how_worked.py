"""How the learner worked over the latest calls, for the home page: told, never marked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.texts import text

KEY = "worked"  # under which a kept sheet of marks holds it
LAST = 20  # calls that count, the newest
LEAST = 3  # calls from which something can be told
NEWEST = 5  # calls that stand beside those before them, once these are LEAST too
AREA = "skills.how_worked"


@dataclass(frozen=True)
class Worked:
    """How somebody worked in one call, as :func:`simulator.panels.exercise.working.how_worked` gives it."""

    looks: int
    vain: int
    halved_after: float | None  # [min]
    changes: int
    minutes: float  # [min] of all looks
    old_hand: float  # [min] in which an old hand would have found out as much


def how_worked_block(session: LearnerSession) -> list[Block]:
    """How the learner worked, the latest calls beside those before; nothing before there are calls enough to tell.

    Parameters
    ----------
    session : of the learner.
    """
    calls = calls_worked(session.store, session.name) if session.name else ()
    if len(calls) < LEAST:
        return []
    new, old = calls[-NEWEST:], calls[:-NEWEST]
    columns = [text(f"{AREA}.what"), text(f"{AREA}.newest", n=len(new))]
    groups = [new]
    if len(old) >= LEAST:
        columns.append(text(f"{AREA}.before", n=len(old)))
        groups.append(old)
    title = text(f"{AREA}.title_calls", n=sum(len(group) for group in groups))
    cells = [_cells(group) for group in groups]
    rows = [
        {"cells": [text(f"{AREA}.rows.{name}"), *(cell[name] for cell in cells)]}
        for name in ("vain", "halved", "changes", "minutes")
    ]
    return [
        {
            "id": "how_worked_heading",
            "kind": "heading",
            "text": title,
            "paragraphs": [text(f"{AREA}.note_calls")],
        },
        {"id": "how_worked", "kind": "compare", "title": title, "columns": columns, "rows": rows},
    ]


def calls_worked(store: Any, learner: str) -> tuple[Worked, ...]:
    """How a learner worked in the latest marked call-outs, the newest last; those with hints are left out, as are those
    of which nothing is kept.

    Parameters
    ----------
    store : where the records are.
    learner : the name.
    """
    out: list[Worked] = []
    for row in reversed(store.list_attempts(learner)):
        if len(out) >= LAST:
            break
        sheets = [marks.sheet for marks in store.marks(row.attempt_id) if marks.source == "automatic"]
        found = worked_from(sheets[-1].get(KEY)) if sheets and not sheets[-1].get("hints") else None
        if found is not None:
            out.append(found)
    return tuple(reversed(out))


def worked_from(kept: object) -> Worked | None:
    """What is kept of one call; None where it is no such thing, as in what came from elsewhere.

    Parameters
    ----------
    kept : as it lies beside the marks.

    Examples
    --------
    >>> kept = {"looks": 6, "vain": 2, "halved_after": 4.0, "changes": 1, "minutes": 9.0, "old_hand": 5.5}
    >>> worked_from(kept).vain, worked_from({**kept, "vain": 7}) is None
    (2, True)
    """
    if not isinstance(kept, dict):
        return None
    looks, vain, changes = (_number(kept.get(name)) for name in ("looks", "vain", "changes"))
    minutes, old_hand = _number(kept.get("minutes")), _number(kept.get("old_hand"))
    halved = kept.get("halved_after")
    after = _number(halved)
    if looks is None or vain is None or changes is None or minutes is None or old_hand is None:
        return None
    if vain > looks or (halved is not None and after is None):
        return None
    return Worked(int(looks), int(vain), after, int(changes), minutes, old_hand)


MANY = 10_000  # looks, changes and minutes of one call: more is no such record


def _number(kept: object) -> float | None:
    """A count or a time that can be; None where it is none."""
    if isinstance(kept, bool) or not isinstance(kept, int | float):
        return None
    return float(kept) if math.isfinite(kept) and 0.0 <= kept <= MANY else None


def _cells(calls: Sequence[Worked]) -> dict[str, str]:
    """What some calls came to, in words, by row."""
    looks, vain = sum(call.looks for call in calls), sum(call.vain for call in calls)
    halved = [call.halved_after for call in calls if call.halved_after is not None]
    minutes, old_hand = sum(call.minutes for call in calls), sum(call.old_hand for call in calls)
    return {
        "vain": text(f"{AREA}.of", part=vain, whole=looks),
        "halved": text(f"{AREA}.minutes", n=f"{sum(halved) / len(halved):.1f}", k=len(halved), of=len(calls))
        if halved
        else text(f"{AREA}.never"),
        "changes": f"{sum(call.changes for call in calls) / len(calls):.1f}",
        "minutes": f"{10.0 * old_hand / minutes:.1f}" if minutes > 0.0 else text(f"{AREA}.no_looks_at_all"),
    }
