"""The calls of the sheets that are handed out, and how far a learner has got with each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from simulator.classroom.asking import hands_out
from simulator.classroom.call_sheet import CallSheet
from simulator.classroom.handing_out import HandsOut, sheets_of
from simulator.classroom.kept_sealed import SHEET_LEVEL
from simulator.classroom.sheet_attempts import latest_attempts
from simulator.errors import InputError
from simulator.panels.learner.at_service import Told, ToldSheet, fetch, told_sheets

PREFIX = SHEET_LEVEL  # and the sheet's id; and, in the records, a dash and the call's number
SEALED = "sealed"  # why an attempt is over whose envelope is shut
OPEN, BEGUN, DONE = "open", "begun", "done"


@dataclass(frozen=True)
class SheetCall:
    """A call of a sheet: its number [-] from 0, the attempt at it (empty: none yet), and how it stands."""

    number: int
    attempt_id: str
    state: str


@dataclass(frozen=True)
class GivenSheet:
    """A sheet as a learner has it: whether its envelopes are open, and its calls in order."""

    sheet: CallSheet | ToldSheet
    is_open: bool
    calls: tuple[SheetCall, ...]

    @property
    def level(self) -> str:
        """What the practice yard calls it by."""
        return f"{PREFIX}{self.sheet.id}"

    @property
    def elsewhere(self) -> bool:
        """Whether its calls are played at the service of the class."""
        return isinstance(self.sheet, ToldSheet)

    @property
    def shut(self) -> bool:
        """Whether nothing is told yet of how a call went."""
        return self.sheet.sealed and not self.is_open

    @property
    def done(self) -> int:
        """How many of its calls are done [-]."""
        return sum(call.state == DONE for call in self.calls)

    @property
    def due(self) -> SheetCall | None:
        """The next call in order; None once all are done."""
        return next((call for call in self.calls if call.state != DONE), None)


def given_sheets(store: Any, learner: str, slot: str, desk: HandsOut | None = None) -> list[GivenSheet]:
    """The sheets handed out, the newest first; none where there are none or they cannot be read.

    Parameters
    ----------
    store : of the learner's attempts.
    learner : by name.
    slot : under which the calls are kept.
    desk : that hands things out; the class's or this machine's by default.
    """
    told = [] if desk is not None else told_sheets()
    _fetch_opened(store, learner, told)
    sealed = [_of_service(each) for each in told if not each.is_open]
    try:
        found = sheets_of(desk or hands_out())
    except InputError:  # the trainer's page says what is wrong with them
        return sealed
    if not found:
        return sealed
    begun = _begun(store, learner, slot)
    own = [(sheet.of_learner(learner), given) for sheet, given in found]
    return sealed + [GivenSheet(sheet, given.is_open, _calls(sheet, begun)) for sheet, given in own]


def _of_service(told: Told) -> GivenSheet:
    calls = (SheetCall(number, attempt, state) for number, (state, attempt) in enumerate(told.states))
    return GivenSheet(told.sheet, told.is_open, tuple(calls))


def _fetch_opened(store: Any, learner: str, told: list[Told]) -> None:
    """Calls whose envelope was opened since are taken over, to be read here."""
    done = {
        attempt
        for each in told
        if each.is_open
        for state, attempt in each.states
        if state == DONE and attempt
    }
    if done and hasattr(store, "list_attempts"):
        lacking = done - {row.attempt_id for row in store.list_attempts(learner)}
        if lacking:
            fetch(store, learner, sorted(lacking))


def _begun(store: Any, learner: str, slot: str) -> list[tuple[Any, dict[str, Any]]]:
    rows = store.list_attempts(learner, slot) if hasattr(store, "list_attempts") else ()
    return [(row, store.attempt_record(row.attempt_id)) for row in rows]


def _calls(sheet: CallSheet, begun: list[tuple[Any, dict[str, Any]]]) -> tuple[SheetCall, ...]:
    latest = latest_attempts(sheet, begun)
    return tuple(_call(latest.get(number), number) for number in range(len(sheet.calls)))


def _call(row: Any | None, number: int) -> SheetCall:
    if row is None or row.ending not in ("", SEALED):
        return SheetCall(number, "", OPEN)
    return SheetCall(number, row.attempt_id, DONE if row.finished else BEGUN)
