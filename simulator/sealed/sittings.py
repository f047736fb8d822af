"""Certificate sittings that are held at the service: drawn, played, marked and signed there.

Throughout: ``store`` holds the records of the class, ``learner`` is a name in them.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from simulator.attempt import Attempt
from simulator.classroom.kept_sealed import ACCOUNTS, SITTING_MODE, new_id, played_at_service
from simulator.errors import InputError, SimulatorError
from simulator.marking.certificate import LESSON, Sitting
from simulator.marking.certificate_signing import sign_sitting
from simulator.sealed.marker import Marker
from simulator.sealed.played_calls import PlayedCalls, checked_units
from simulator.signing import TrainerKey
from simulator.texts import text

_log = logging.getLogger(__name__)


class _Here:
    """The records, in which what is begun gets an id of the service's own and says how those who play are parted.

    Sittings that were held elsewhere are left out of the list where ``alone``: they hold up none that is held here.
    """

    def __init__(self, store: Any, accounts: str, *, alone: bool) -> None:
        self._store, self._accounts, self._alone = store, accounts, alone

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        return str(self._store.create_attempt({**record, ACCOUNTS: self._accounts}, attempt_id or new_id()))

    def list_attempts(self, learner: str | None = None, lesson: str | None = None) -> list[Any]:
        rows = self._store.list_attempts(learner, lesson)
        return [row for row in rows if not self._alone or played_at_service(row.attempt_id)]

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)


class Sittings:
    """The sittings of a class.

    Parameters
    ----------
    played : that cases are played in.
    marker : that works marks out.
    accounts : how those who play are parted.
    keys : folder of the trainer's keys.
    now : the clock, with its zone.
    """

    def __init__(
        self,
        played: PlayedCalls,
        marker: Marker,
        accounts: str,
        keys: Path | None,
        now: Callable[[], datetime],
    ) -> None:
        self._played, self._marker, self._accounts = played, marker, accounts
        self._keys, self._now = keys, now
        self._held: dict[str, Sitting] = {}
        self._far: dict[str, tuple[int, int]] = {}
        self._failed: dict[str, str] = {}
        self._locks: dict[str, threading.Lock] = {}
        self._lock = threading.Lock()

    def asked(self, store: Any, learner: str, act: str, units: str) -> dict[str, Any]:
        """The latest sitting of a learner, once something was done with it, for JSON.

        Parameters
        ----------
        act : "" for nothing, begin, case (gives its page as ``call``), leave, settle (``working`` while it is not done).
        units : of a case's page, "metric" or "us".

        Raises
        ------
        InputError : it cannot be done, with the reason.
        """
        checked_units(units)
        with self._lock:
            lock = self._locks.setdefault(learner, threading.Lock())
        with lock:
            sitting, more = self._latest(store, learner), {}
            if act == "begin" and (sitting is None or (sitting.over and not sitting.unmarked)):
                begun = Sitting.begin(_Here(store, self._accounts, alone=True), learner, packed=False)
                sitting = self._hold(store, learner, begun.id)
            elif sitting is not None and act == "case":
                more = {"call": self._played.state(self._played.hold(sitting.attempt(), learner), units)}
            elif sitting is not None and act == "leave" and not sitting.over:
                sitting.leave()
            elif sitting is not None and act == "settle":
                more = self._settled(sitting)
            return {"sitting": None if sitting is None else _told(sitting), **more}

    def attempt(self, store: Any, learner: str, attempt_id: str) -> Attempt | None:
        """The engine of the open case of a learner's sitting; None where that is another's id.

        Parameters
        ----------
        attempt_id : of the case.
        """
        sitting = self._latest(store, learner)
        number = None if sitting is None else sitting.current
        if sitting is None or number is None or sitting.case_id(number) != attempt_id:
            return None
        return sitting.attempt()

    def case_over(self, store: Any, record: dict[str, Any], attempt: Attempt) -> None:
        """A case has ended: what its marks need is worked out beside whoever plays, and shown to nobody.

        Parameters
        ----------
        record : of the case.
        attempt : at it.
        """
        sitting = self._latest(store, str(record["learner"]))
        if sitting is not None and sitting.id == record["sitting"]:
            self._marker.add(attempt.id, lambda: sitting.prepare(int(record["case"])))

    def _latest(self, store: Any, learner: str) -> Sitting | None:
        rows = [
            row
            for row in store.list_attempts(learner, LESSON)
            if row.mode == SITTING_MODE and played_at_service(row.attempt_id)
        ]
        return self._hold(store, learner, rows[-1].attempt_id) if rows else None

    def _hold(self, store: Any, learner: str, sitting_id: str) -> Sitting:
        held = self._held.get(learner)
        if held is None or held.id != sitting_id:
            held = Sitting(_Here(store, self._accounts, alone=False), sitting_id)
            self._held[learner] = held
        return held

    def _settled(self, sitting: Sitting) -> dict[str, Any]:
        """Begin to work out what comes of the cases, or tell how far that is."""
        if sitting.id in self._failed:
            raise InputError(self._failed.pop(sitting.id).rstrip("."))
        if not self._marker.under_way(sitting.id):
            if not sitting.unmarked:
                return {}
            self._far[sitting.id] = (0, sitting.asked)
            self._marker.add(sitting.id, lambda: self._settle(sitting))
        return {"working": list(self._far.get(sitting.id, (0, sitting.asked)))}

    def _settle(self, sitting: Sitting) -> None:
        def far(done: int, total: int) -> None:
            self._far[sitting.id] = (done, total)

        try:
            if sitting.settle(far):
                self._sign(sitting)
        except SimulatorError as error:
            self._failed[sitting.id] = str(error)
        except Exception:  # noqa: BLE001 - whoever waits gets a sentence
            _log.exception("a sitting could not be marked")
            self._failed[sitting.id] = text("panel.debrief.failed_quietly")

    def _sign(self, sitting: Sitting) -> None:
        """Marks and sheet are kept, and signed where the trainer has a key; the seal is off with the last of them."""
        sitting.result()
        try:
            key = TrainerKey.load(self._keys)
            if key is not None:
                sign_sitting(sitting.store, sitting, key, self._now(), folder=self._keys)
        except InputError:  # the sheet says itself that it is not signed
            _log.exception("a sheet could not be signed")


def _told(sitting: Sitting) -> dict[str, Any]:
    """What a learner may know of a sitting: no title of a case that is still to come."""
    return {
        "id": sitting.id,
        "number": sitting.number,
        "cases": [
            [case.number, case.title if case.state != "waiting" else "", case.state] for case in sitting.cases
        ],
        "current": sitting.current,
        "over": sitting.over,
        "unmarked": sitting.unmarked,
        "rule": sitting.rule.as_dict(),
    }
