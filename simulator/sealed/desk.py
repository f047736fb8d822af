"""Who may do what with the sealed calls of a class: each learner their own, under the name in the list of the class.

Throughout: ``account`` is whose token came with the question, ``attempt_id`` the opaque id of an attempt, ``units``
"metric" or "us", ``told`` what came with the question.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from simulator.attempt import Attempt
from simulator.classroom.call_sheet import CallSheet
from simulator.classroom.handing_out import Given, HandOut, sheets_of
from simulator.classroom.kept_sealed import OWN, SHARED, played_at_service, sheet_of
from simulator.classroom.people_and_pins import TRAINER
from simulator.classroom.record_desk import NotYours, Pace, RecordDesk
from simulator.classroom.sheet_attempts import latest_attempts, level_of
from simulator.errors import InputError
from simulator.marking.case_result import stored_sheet, worked_out
from simulator.panels.exercise.coach import PageCoach
from simulator.panels.learner.next_call import PRACTICE_SLOT
from simulator.panels.learner.sheet_calls import BEGUN, DONE, OPEN, SEALED
from simulator.sealed.marker import Marker
from simulator.sealed.played_calls import PlayedCall, PlayedCalls
from simulator.sealed.sittings import Sittings
from simulator.texts import text

#: Of each account: questions at once and a second [-]; a page asks for samples about once a second.
BURST, EACH_SECOND = 240.0, 20.0


class SealedDesk:
    """The sealed calls of a class.

    Parameters
    ----------
    folder : of the class.
    place : path or URL of the records.
    keys : folder of the trainer's keys.
    accounts : how those who play are parted, see :data:`simulator.classroom.kept_sealed.OWN`.
    """

    def __init__(
        self,
        folder: Path,
        place: str | Path | None = None,
        keys: Path | None = None,
        accounts: str = SHARED,
    ) -> None:
        self.records = RecordDesk(folder, place, Pace(burst=BURST, each_second=EACH_SECOND))
        self._sheets, self._marker = HandOut(folder, keys), Marker()
        self._played = PlayedCalls(self._over)
        self._sittings = Sittings(
            self._played, self._marker, OWN if accounts == OWN else SHARED, keys, lambda: datetime.now(UTC)
        )

    def close(self) -> None:
        """Let go of the records."""
        self.records.close()

    # sheets

    def sheets(self, account: str) -> dict[str, Any]:
        """The sealed sheets that are out, for JSON: of each call no more than its title and how it stands."""
        learner, store = self._whose(account), self._store(account)
        begun = self._begun(store, learner)
        return {"sheets": [self._told(sheet, given, begun) for sheet, given in self._sealed(learner)]}

    def begin(self, account: str, told: dict[str, Any]) -> dict[str, Any]:
        """A call of a sheet: the one that is begun goes on, else a new one begins.

        Parameters
        ----------
        told : ``sheet`` its id, ``number`` of the call from 0 [-], ``units``.

        Raises
        ------
        NotYours : there is no such call, or it is done.
        InputError : what was kept does not replay in this version.
        """
        learner, store = self._whose(account), self._store(account)
        found = [
            sheet
            for sheet, given in self._sealed(learner)
            if sheet.id == told.get("sheet") and not given.is_open
        ]
        number = told.get("number")
        if not found or type(number) is not int or not 0 <= number < len(found[0].calls):
            raise NotYours(text("sheets.no_such_call"))
        sheet = found[0]
        row = latest_attempts(sheet, self._begun(store, learner)).get(number)
        if row is not None and row.ending in ("", SEALED):
            if row.finished:
                raise NotYours(text("sheets.no_such_call"))
            played_call = self._played_call(store, learner, row.attempt_id)
        else:
            played_call = self._played.begin(store, learner, sheet.played(number), level_of(sheet.id, number))
        return self._played.state(played_call, str(told.get("units")))

    def _sealed(self, learner: str) -> list[tuple[CallSheet, Given]]:
        return [
            (sheet.of_learner(learner), given) for sheet, given in sheets_of(self._sheets) if sheet.sealed
        ]

    def _told(
        self, sheet: CallSheet, given: Given, begun: list[tuple[Any, dict[str, Any]]]
    ) -> dict[str, Any]:
        calls, latest = [], latest_attempts(sheet, begun)
        for number, call in enumerate(sheet.calls):
            row = latest.get(number)
            if row is None or row.ending not in ("", SEALED):
                calls.append({"title": call.title, "state": OPEN, "attempt": ""})
            else:
                state = DONE if row.finished else BEGUN
                calls.append({"title": call.title, "state": state, "attempt": row.attempt_id})
        return {"id": sheet.id, "title": sheet.title, "open": given.is_open, "calls": calls}

    def _begun(self, store: Any, learner: str) -> list[tuple[Any, dict[str, Any]]]:
        """What was begun here, in order, with its records."""
        rows = [
            row for row in store.list_attempts(learner, PRACTICE_SLOT) if played_at_service(row.attempt_id)
        ]
        return [(row, store.attempt_record(row.attempt_id)) for row in rows]

    # calls

    def state(self, account: str, attempt_id: str, units: str) -> dict[str, Any]:
        """A call as its page begins."""
        return self._played.state(self._own(account, attempt_id), units)

    def act(self, account: str, attempt_id: str, told: dict[str, Any]) -> dict[str, Any]:
        """Do something in a call."""
        return self._played.act(self._own(account, attempt_id), told)

    def look(self, account: str, attempt_id: str, told: dict[str, Any]) -> dict[str, Any]:
        """The page has shown more of a call."""
        return self._played.look(self._own(account, attempt_id), told)

    def leave(self, account: str, attempt_id: str) -> dict[str, Any]:
        """A call of a sheet is left; it may be begun anew.

        Raises
        ------
        NotYours : there is no such call.
        """
        played_call = self._own(account, attempt_id)
        record = self._store(account).attempt_record(attempt_id)
        if not sheet_of(record):
            raise NotYours(text("classroom.records.not_yours"))
        if not played_call.played.ended:
            self._store(account).end_attempt(attempt_id, "left")
        self._played.drop(attempt_id)
        return {}

    # sittings

    def sitting(self, account: str, act: str, told: dict[str, Any]) -> dict[str, Any]:
        """The latest sitting of a learner; ``act`` is "", begin, case, leave or settle.

        Raises
        ------
        NotYours : there is no such act.
        """
        learner, store = self._whose(account), self._store(account)
        return self._sittings.asked(store, learner, act, str(told.get("units", "metric")))

    # within

    def _whose(self, account: str) -> str:
        if account == TRAINER:
            raise NotYours(text("classroom.records.nobody"))
        return self.records.name_of(account)

    def _store(self, account: str) -> Any:
        return self.records.ask(account, lambda store: store)

    def _own(self, account: str, attempt_id: str) -> PlayedCall:
        return self._played_call(self._store(account), self._whose(account), attempt_id)

    def _played_call(self, store: Any, learner: str, attempt_id: str) -> PlayedCall:
        """The engine of a learner's own call, begun anew from its log where it is not at hand."""
        played_call = self._played.held(attempt_id)
        if played_call is None:
            try:
                record = store.attempt_record(attempt_id) if played_at_service(attempt_id) else {}
            except InputError as error:
                raise NotYours(text("classroom.records.not_yours")) from error
            if record.get("learner") != learner or "scenario" not in record:
                raise NotYours(text("classroom.records.not_yours"))
            case = self._sittings.attempt(store, learner, attempt_id) if record.get("sitting") else None
            played_call = self._played.hold(
                case or Attempt.resume(store, attempt_id, coach=PageCoach()), learner
            )
        if played_call.learner != learner:
            raise NotYours(text("classroom.records.not_yours"))
        return played_call

    def _over(self, attempt: Attempt) -> None:
        """A call has ended: it is done for the records at once, and marked beside whoever plays."""
        store: Any = attempt.store
        record = store.attempt_record(attempt.id)
        if record.get("sitting"):
            self._sittings.case_over(store, record, attempt)
            return
        store.end_attempt(attempt.id, SEALED)
        self._marker.add(attempt.id, lambda: _mark(attempt))

    def mark_the_rest(self) -> None:
        """What ended and was not marked, as the service went away meanwhile, is marked now."""
        store = self._store(TRAINER)
        for row in store.list_attempts(None, PRACTICE_SLOT):
            done = row.attempt_id
            if played_at_service(done) and row.ending == SEALED and stored_sheet(store, done) is None:
                self._marker.add(done, partial(_mark_again, store, done))


def _mark_again(store: Any, attempt_id: str) -> None:
    _mark(Attempt.resume(store, attempt_id))


def _mark(attempt: Attempt) -> None:
    store: Any = attempt.store
    if stored_sheet(store, attempt.id) is None:
        store.save_marks(attempt.id, worked_out(attempt))
