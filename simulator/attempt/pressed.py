"""Which presses say again what was refused just before: a lapse counts once as long as nothing else is done."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


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
