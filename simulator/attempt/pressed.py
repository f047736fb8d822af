"""Which presses say again what was refused just before: a lapse counts once as long as nothing else is done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

#: As what a press on a grave act counts that was let be at the warning. One rule: a press is charged by what it could
#: have done, and a worse one is never cheaper. A serious one is refused with nothing done either, and counts as much;
#: only going on fails the call-out.
STEPPED_BACK = "serious"


def stepped_back(event: Mapping[str, Any]) -> bool:
    """Whether an event of a log is a grave act that was let be at its warning."""
    return bool(event.get("accepted")) and event["act"] == "nearly"


def graded(event: Mapping[str, Any]) -> str:
    """How grave an event of a log counts: "", minor, serious or grave.

    Examples
    --------
    >>> graded({"act": "nearly", "accepted": True, "breach": "minor"})
    'serious'
    >>> graded({"act": "check", "accepted": False, "breach": "minor"})
    'minor'
    """
    return STEPPED_BACK if stepped_back(event) else str(event.get("breach") or "")


def pressed_before(
    log: Sequence[dict[str, Any]], action: str, args: dict[str, Any], lacking: list[str]
) -> bool:
    """Whether an act that lacks these needs was refused, or warned of, since anything was last done.

    Parameters
    ----------
    log : events up to the press.
    action, args : the act, as a click names it.
    lacking : the needs that are not met.

    Examples
    --------
    >>> refused = {"act": "check", "args": {"check": "belt"}, "accepted": False, "result": {"lacking": ["ppe"]}}
    >>> pressed_before([refused], "check", {"check": "belt"}, ["ppe"]), pressed_before([], "check", {}, ["ppe"])
    (True, False)
    """
    wanted = (*_act(action, args), lacking)
    for event in reversed(log):
        if event["act"] == "nearly" and event["accepted"]:
            pressed = (*_pressed(event), event["result"]["lacking"])
        elif event["accepted"]:
            return False
        else:
            pressed = (*_pressed(event), event["result"].get("lacking"))
        if pressed == wanted:
            return True
    return False


def same_again(log: Sequence[dict[str, Any]], at: int) -> bool:
    """Whether the lapse at a place of the log says again what one before it said, with nothing done between."""
    event = log[at]
    if event["accepted"] and event["act"] != "nearly":
        return False
    act, args = event["act"], event["args"]
    if act == "nearly":
        act, args = args["act"], args.get("args") or {}
    return pressed_before(log[:at], act, args, event["result"].get("lacking", []))


def _pressed(event: dict[str, Any]) -> tuple[str, ...]:
    """The act of an event, or the one that was warned of."""
    args = event["args"]
    return _act(args["act"], args.get("args") or {}) if event["act"] == "nearly" else _act(event["act"], args)


def _act(action: str, args: dict[str, Any]) -> tuple[str, ...]:
    """What names an act; at which speed the engine was to start makes no other act of it."""
    return action, *(str(args.get(name, "")) for name in ("check", "remedy", "place"))
