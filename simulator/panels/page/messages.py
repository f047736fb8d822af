"""What pages send to the kernel: nothing they say can bring a panel down."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page


def heard(message: Any, answer: Callable[[str, dict[str, Any]], None]) -> None:
    """Answer a message by its kind; what is none is passed over, and what the answer raises is logged.

    Parameters
    ----------
    message : as it came from the page.
    answer : takes its kind, and the message.

    Examples
    --------
    >>> heard({"kind": "act", "action": "stop"}, lambda kind, message: print(kind, message["action"]))
    act stop
    >>> heard("no message", print)
    """
    if not isinstance(message, dict):
        return
    kind = str(message.get("kind", ""))
    try:
        answer(kind, message)
    except Exception:  # noqa: BLE001 - the panel must outlive any message
        _log.exception("a message of the kind %r failed", kind)
