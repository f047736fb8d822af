"""Events of the log, and the reply that is read from one.

Arguments, the same throughout: ``state`` where the call-out stands.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from simulator.attempt.notes import render
from simulator.attempt.state import AttemptState, Event
from simulator.attempt.timeline import TICK
from simulator.texts import text


@dataclass(frozen=True)
class Reply:
    """What came of an act: whether it was done, a sentence, how unsafe it was, and the notes it added."""

    accepted: bool
    sentence: str
    breach: str  # "" | minor | serious | grave
    notes: tuple[str, ...]
    seq: int

    def as_dict(self) -> dict[str, Any]:
        """For a message to the page."""
        return {**asdict(self), "notes": list(self.notes)}


@dataclass(frozen=True)
class Moment:
    """When an act was made: yard clock [0.1 s], run number, run clock [s]; None before the first run."""

    clock: int
    run: int | None
    shown: float | None


def moment_of(state: AttemptState) -> Moment:
    """The present moment of an attempt."""
    timeline = state.timeline
    if timeline is None:
        return Moment(state.yard.ticks, None, None)
    return Moment(state.yard.ticks, timeline.number, state.shown)


def event_of(
    state: AttemptState,
    moment: Moment,
    action: str,
    args: dict[str, Any],
    result: dict[str, Any],
    *,
    reason: str = "",
    breach: str = "",
) -> Event:
    """The event of an act, as it is stored. Keys that are times end in their unit.

    Parameters
    ----------
    moment : when it was made, before its minutes went by.
    action, args : the act.
    result : what came of it, with its notes, which are taken out of it.
    reason : why it was refused; "" where it was done.
    breach : how unsafe it was: "", minor, serious or grave.
    """
    notes = [{**item, "clock": moment.clock} for item in result.pop("notes")]
    return {
        "seq": len(state.log),
        "act": action,
        "args": args,
        "click_id": None,
        "clock_s": round(moment.clock * TICK, 1),
        "run": moment.run,
        "shown_s": moment.shown,
        "accepted": not reason,
        "reason": reason,
        "breach": breach,
        "ended": state.yard.ended,
        "result": result,
        "notes": notes,
    }


def same_event(a: Any, b: Any) -> bool:
    """Whether two events, ``a`` and ``b``, or parts of them, tell the same.

    Figures may differ as they do from one processor to another.

    Examples
    --------
    >>> same_event({"outcome": "clean", "seen": [1000.0]}, {"outcome": "clean", "seen": [1000.2]})
    True
    >>> same_event({"outcome": "clean"}, {"outcome": "plugged"})
    False
    """
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(same_event(a[name], b[name]) for name in a)
    if isinstance(a, (list, tuple)) and isinstance(b, (list, tuple)):
        return len(a) == len(b) and all(same_event(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-3, abs_tol=0.11)
    return bool(a == b)


def reply_of(event: Event, units: str) -> Reply:
    """What the learner is told of an event, in the ``units`` of a system (metric, us)."""
    said = tuple(render(item, units) for item in event["notes"])
    sentence = said[0] if said else ""
    if event["reason"] == "needs":
        sentence = text("attempt.refused.waits_for", reasons=" ".join(said))
    return Reply(event["accepted"], sentence, event["breach"], said, event["seq"])
