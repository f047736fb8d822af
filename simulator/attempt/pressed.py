"""Which presses say again what was refused just before: a lapse counts once as long as nothing else is done."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


def pressed_before(log: Sequence[dict[str, Any]], action: str, args: dict[str, Any], lacking: list[str]) -> bool:
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
    wanted = (action, args, lacking)
    for event in reversed(log):
        if event["act"] == "nearly" and event["accepted"]:
            pressed = (event["args"]["act"], event["args"].get("args") or {}, event["result"]["lacking"])
        elif event["accepted"]:
            return False
        else:
            pressed = (event["act"], event["args"], event["result"].get("lacking"))
        if pressed == wanted:
            return True
    return False


def same_again(log: Sequence[dict[str, Any]], at: int) -> bool:
    """Whether the lapse at a place of the log says again what one before it said, with nothing done between."""
    event = log[at]
    nearly = event["act"] == "nearly"
    if event["accepted"] and not nearly:
        return False
    act, args = (event["args"]["act"], event["args"].get("args") or {}) if nearly else (event["act"], event["args"])
    return pressed_before(log[:at], act, args, event["result"].get("lacking", []))
