"""What is played at the service of the class: the line to it, its sealed sheets, what is fetched once the seal is off.

Throughout: ``store`` holds the records here, ``learner`` is the name of whoever's page this is.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from simulator.classroom.asking import ADDRESS, TOKEN, hands_out, in_a_class
from simulator.classroom.line import Line
from simulator.errors import InputError
from simulator.records import Store, data_folder
from simulator.records.hand_over import coming_from, take_in
from simulator.records.private import write_private
from simulator.signing.ring import Ring

SEALED_ADDRESS = "SIMULATOR_SEALED_SERVICE"
PATIENCE = 20.0  # [s] for an act, on a busy machine
SHORT = 4.0  # [s] for what a page can do without
KEPT = "sealed_sheets.json"  # what the service said last
#: The service is away, or says what this release cannot read.
ODD = (InputError, ValueError, TypeError, KeyError, AttributeError)


@dataclass(frozen=True)
class ToldCall:
    """All that is known here of a sealed call before its page: its title."""

    title: str


@dataclass(frozen=True)
class ToldSheet:
    """A sealed sheet as the service tells of it."""

    id: str
    title: str
    calls: tuple[ToldCall, ...]
    sealed: bool = True


@dataclass(frozen=True)
class Told:
    """A sealed sheet, whether its envelopes are open, and state and attempt (or nothing) of each call."""

    sheet: ToldSheet
    is_open: bool
    states: tuple[tuple[str, str], ...]


def sealed_line(patience: float = PATIENCE) -> Line | None:
    """The line to where sealed calls are played; None outside a class that has one.

    Parameters
    ----------
    patience : how long an answer is waited for [s].

    Examples
    --------
    >>> sealed_line() is None
    True
    """
    address = os.environ.get(SEALED_ADDRESS)
    return Line(address, os.environ[TOKEN], "calls", patience) if address and in_a_class() else None


def told_sheets() -> list[Told]:
    """The sealed sheets that are out, the newest first; with the service away what it said last.

    Examples
    --------
    >>> told_sheets()
    []
    """
    line, kept = sealed_line(SHORT), data_folder() / KEPT
    if line is None:
        return []
    try:
        raw: Any = line.ask("GET", "sheets")
        with contextlib.suppress(OSError):  # the page goes on with what it was told
            write_private(kept, json.dumps(raw, ensure_ascii=False))
    except InputError:
        try:
            raw = json.loads(kept.read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            return []
    try:
        return [_told(each) for each in raw["sheets"]]
    except ODD:
        return []


def _told(raw: dict[str, Any]) -> Told:
    calls = tuple(ToldCall(str(each["title"])) for each in raw["calls"])
    states = tuple((str(each["state"]), str(each["attempt"])) for each in raw["calls"])
    return Told(ToldSheet(str(raw["id"]), str(raw["title"]), calls), raw["open"] is True, states)


def fetch(store: Store, learner: str, attempt_ids: Iterable[str]) -> None:
    """Take over from the class what is not sealed any more, with the trainer's keys; what is away comes another time.

    Parameters
    ----------
    attempt_ids : of the records.
    """
    if not in_a_class():
        return
    line = Line(os.environ[ADDRESS], os.environ[TOKEN], "records", PATIENCE)
    with contextlib.suppress(*ODD):
        take_in(store, learner, [coming_from(line.ask("GET", f"records/{each}")) for each in attempt_ids])
        ring = Ring.load()
        for each in hands_out().ring().keys:
            ring = ring.trusting(each.key)
        ring.save()
