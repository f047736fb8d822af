"""The records of a class: who may read and write what of them, and how much at a time.

Whose token asks is the service's to know; here an account is a learner of the list of the class, and their name in it is
the name whose records they hand in and read. The trainer reads everybody's and hands in nobody's.

Throughout: ``account`` is whose token came with the question, ``attempt_id`` the opaque id of an attempt.
"""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simulator.classroom.handing_out import HandOut
from simulator.classroom.keeping import backup_class
from simulator.classroom.kept_sealed import played_at_service, sealed_of
from simulator.classroom.overview import Overview
from simulator.classroom.people_and_pins import FILE_NAME, TRAINER, People
from simulator.classroom.trainer_words import forget_person, say, word_from
from simulator.errors import BrokenFile, InputError, SimulatorError
from simulator.records import Store
from simulator.records.hand_over import Taken, chain_of, coming_from, standing, take_in, whose
from simulator.records.private import private_folder
from simulator.records.work_limits import Allowance
from simulator.texts import text

RECORDS_VARIABLE = "SIMULATOR_CLASS_RECORDS"  # a database URL; a file among those of the class without one
FOLDER = "records"
MAX_PARCEL = 1024 * 1024  # [byte] of one handing in; a single step may take half of it
MAX_VALUES = 60_000  # [-] of JSON in it
#: Of each account: questions at once and a second [-], bytes at once and a second.
BURST, EACH_SECOND = 60.0, 4.0
WORK = 8.0  # [-] questions as which a second of the service's own work counts: nobody takes more than half of its time
BYTES_BURST, BYTES_EACH_SECOND = 32.0 * MAX_PARCEL, MAX_PARCEL / 16
PAGE_LASTS = 20.0  # [s] after its last question for which a page counts as open
REOPEN = 2.0  # [s] between two tries to open records that could not be opened


class NotYours(SimulatorError):
    """The account may not do this."""


class TooMuch(SimulatorError):
    """Too much at once; ``wait`` [s] until it may be tried again, 0 where waiting does not help."""

    def __init__(self, sentence: str, wait: float = 0.0) -> None:
        self.wait = wait
        super().__init__(sentence)


class RecordsAway(SimulatorError):
    """The records themselves cannot be read or written just now; what went wrong is the cause."""


@dataclass
class _Left:
    questions: float
    size: float  # [byte]
    at: float  # [s] on the clock


class Pace:
    """How much each account may still ask: so many questions and bytes at once, and so many more each second.

    Parameters
    ----------
    now : a clock that never goes back [s].
    burst, each_second : questions at once and a second [-].

    Examples
    --------
    >>> pace = Pace(lambda: 0.0)
    >>> waits = [pace.wait("learner-1", 0) for _ in range(int(BURST) + 1)]
    >>> waits[-2], waits[-1], pace.wait("learner-2", 0)
    (0.0, 0.25, 0.0)
    """

    def __init__(
        self,
        now: Callable[[], float] = time.monotonic,
        burst: float = BURST,
        each_second: float = EACH_SECOND,
    ) -> None:
        self._now, self._burst, self._each = now, burst, each_second
        self._left: dict[str, _Left] = {}

    def wait(self, account: str, size: int) -> float:
        """Take one question off what is left; where nothing is, how long to wait [s].

        Parameters
        ----------
        size : of what came with it [byte].
        """
        now = self._now()
        left = self._left.setdefault(account, _Left(self._burst, BYTES_BURST, now))
        left.questions = min(self._burst, left.questions + self._each * (now - left.at))
        left.size = min(BYTES_BURST, left.size + BYTES_EACH_SECOND * (now - left.at))
        left.at = now
        lacking = max((1.0 - left.questions) / self._each, (size - left.size) / BYTES_EACH_SECOND)
        if lacking > 0.0:
            return lacking
        left.questions -= 1.0
        left.size -= size
        return 0.0

    def spent(self, account: str, seconds: float) -> None:
        """Count what answering has taken; what is not there is owed.

        Parameters
        ----------
        seconds : of the processor [s].
        """
        self._left.setdefault(account, _Left(self._burst, BYTES_BURST, self._now())).questions -= (
            WORK * seconds
        )


def place_of(folder: Path) -> str | Path:
    """Where the records of a class lie: a URL where one is set, else a folder of their own.

    Parameters
    ----------
    folder : of the class.

    Examples
    --------
    >>> place_of(Path("class")).name
    'records'
    """
    return os.environ.get(RECORDS_VARIABLE) or folder / FOLDER


def opened_records(place: str | Path) -> Store:
    """The records of a class, opened; a folder is made for them where it is missing.

    Parameters
    ----------
    place : as :func:`place_of` gives it.

    Raises
    ------
    InputError : they cannot be used; they are left as they are.
    """
    if isinstance(place, Path):
        try:
            private_folder(place, tighten=True)
        except OSError as error:
            reason = error.strerror or str(error)
            raise InputError(text("records.folder_not_writable", reason=reason), str(place)) from error
    return Store.open(place)


class RecordDesk:
    """The records of a class. They are opened when they are first needed, and again when that failed.

    Parameters
    ----------
    folder : of the class.
    place : path or URL of the records; see :func:`place_of`.
    pace : how much each account may ask.
    """

    def __init__(self, folder: Path, place: str | Path | None = None, pace: Pace | None = None) -> None:
        self._folder, self._place, self._sheets = folder, place or place_of(folder), HandOut(folder)
        self._pace = pace or Pace()
        self._store: Store | None = None
        self._failed, self._lock, self._writing = -REOPEN, threading.Lock(), threading.Lock()
        self._people: tuple[tuple[int, int], People] | None = None
        self._overview = Overview()
        self.held = False  # the trainer holds the class; not for longer than this service lives
        self._heard: dict[str, float] = {}  # by account: when a page of theirs asked last [s]

    def close(self) -> None:
        """Let go of the records."""
        with self._lock:
            if self._store is not None:
                self._store.close()
            self._store = None

    def check_pace(self, account: str, size: int) -> None:
        """Refuse what is too large, or too much at once.

        Parameters
        ----------
        size : of what came [byte].

        Raises
        ------
        TooMuch : it is; with how long to wait.
        """
        if size > MAX_PARCEL:
            raise TooMuch(text("classroom.records.too_large", most=MAX_PARCEL // 1024))
        wait = self._pace.wait(account, size)
        if wait > 0.0:
            raise TooMuch(text("classroom.records.too_fast", n=math.ceil(wait)), wait)

    def standing(self, account: str, of: str = "") -> dict[str, Any]:
        """How far somebody's records go: ``heads`` and ``shown`` by attempt, for JSON; sealed ones for the trainer alone.

        Parameters
        ----------
        of : the account whose they are; one's own by default, another's for the trainer alone.

        Raises
        ------
        NotYours : a learner asks for another's, or nobody has this account.
        RecordsAway : the records cannot be read.
        """
        if of and of != account and account != TRAINER:
            raise NotYours(text("classroom.records.not_yours"))
        learner = self.name_of(of or account)
        found = self.ask(account, lambda store: standing(store, learner))
        shut: set[str] = set()
        if account != TRAINER:
            shut = self.ask(account, lambda store: sealed_of(store, self._sheets, learner, found.heads))
        return {
            "heads": {key: list(head) for key, head in found.heads.items() if key not in shut},
            "shown": {key: at for key, at in found.shown.items() if key not in shut},
        }

    def chain(self, account: str, attempt_id: str) -> dict[str, Any]:
        """One attempt whole, for JSON; one's own that is not sealed, or for the trainer anybody's.

        Raises
        ------
        NotYours : there is none, it is another's or still sealed: which of these is not told.
        RecordsAway : the records cannot be read.
        """
        owner = self.ask(account, lambda store: whose(store, attempt_id))
        if owner is None or (account != TRAINER and owner != self.name_of(account)):
            raise NotYours(text("classroom.records.not_yours"))
        if account != TRAINER and self.ask(
            account, lambda store: sealed_of(store, self._sheets, owner, [attempt_id])
        ):
            raise NotYours(text("classroom.records.not_yours"))
        return self.ask(account, lambda store: chain_of(store, attempt_id)).as_dict()

    def hand_in(self, account: str, body: bytes) -> dict[str, Any]:
        """Keep what a learner hands in: where each chain ends now, and what was refused with a sentence each.

        Parameters
        ----------
        body : JSON with a list ``attempts``, each as ``Coming.as_dict`` gives it.

        Raises
        ------
        NotYours : this account has no records of its own.
        InputError : it cannot be read; nothing was kept.
        RecordsAway : it cannot be kept just now; nothing was.
        """
        learner, raw = self.name_of(account), _parsed(body)
        if not isinstance(raw, dict) or not isinstance(raw.get("attempts"), list):
            raise InputError(text("records.hand_over.not_read").rstrip("."))
        coming, unread = [], {}
        for each in raw["attempts"]:
            try:
                come = coming_from(each)
                if played_at_service(come.attempt_id):
                    raise InputError(text("classroom.records.of_the_service").rstrip("."))
                coming.append(come)
            except BrokenFile as error:
                raise RecordsAway(text("classroom.records.away_inside")) from error
            except InputError as error:
                unread[str(each.get("attempt_id", "") if isinstance(each, dict) else "")[:64]] = str(error)
        with self._writing:  # one after the other: who waits for a database's lock waits longer
            taken: Taken = self.ask(account, lambda store: take_in(store, learner, coming))
        return {
            "heads": {key: list(head) for key, head in taken.heads.items()},
            "refused": unread | taken.refused,
        }

    # for the trainer alone: the service lets nobody else ask

    def overview(self, epoch: str, mark: int) -> dict[str, Any]:
        """What is new in the class since somebody looked last, for JSON; with the accounts of all learners (``names``),
        whether the class is ``held``, and by name who has a page ``open``.

        Parameters
        ----------
        epoch, mark : of the last answer, see :class:`simulator.classroom.overview.Overview`.

        Raises
        ------
        RecordsAway : the records cannot be read.
        """
        found = self.ask(TRAINER, lambda store: self._overview.since(store, epoch, mark))
        names = {person.name: person.account for person in self._people_now().all()}
        late = time.monotonic() - PAGE_LASTS
        heard = sorted(name for name, account in names.items() if self._heard.get(account, late) > late)
        return {**found, "names": names, "held": self.held, "open": heard}

    def heard_from(self, account: str) -> None:
        """A page of theirs is open: it asks every few seconds whether the class is held."""
        self._heard[account] = time.monotonic()

    def say(self, body: bytes) -> dict[str, Any]:
        """Keep a word of the trainer's on somebody, as it is then, for JSON.

        Parameters
        ----------
        body : JSON, as ``Word.as_dict`` gives it.

        Raises
        ------
        InputError : it cannot be read; nothing was kept.
        RecordsAway : it cannot be kept just now.
        """
        word = word_from(_parsed(body))
        with self._writing:
            kept = self.ask(TRAINER, lambda store: say(store, word))
        return dict(kept.as_dict())

    def forget(self, name: str) -> dict[str, Any]:
        """Take a learner's records out for good, with all that was said of them: how many ``attempts`` there were.

        Parameters
        ----------
        name : as it stands in the records.

        Raises
        ------
        RecordsAway : it cannot be done just now.
        """
        with self._writing:
            return {"attempts": self.ask(TRAINER, lambda store: forget_person(store, name))}

    def backup(self) -> dict[str, Any]:
        """Copy the class while it runs: where the copy lies, and how many ``attempts`` and ``rows`` hold in it.

        Raises
        ------
        InputError : it cannot be copied, with the reason.
        """
        kept = backup_class(self._folder, self._place)
        return {"place": str(kept.place), "attempts": kept.attempts, "rows": kept.rows}

    # what else runs beside the records asks

    def name_of(self, account: str) -> str:
        """The name in the list of the class that an account stands for.

        Raises
        ------
        NotYours : nobody has this account.
        RecordsAway : the list cannot be read.
        """
        person = self._people_now().of_account(account)
        if person is None:
            raise NotYours(text("classroom.records.nobody"))
        return person.name

    def _people_now(self) -> People:
        """The list of the class as the hub last wrote it."""
        try:
            found = (self._folder / FILE_NAME).stat()
            stamp = (found.st_mtime_ns, found.st_ino)
        except OSError:
            stamp = (0, 0)
        if self._people is None or self._people[0] != stamp:
            try:
                self._people = (stamp, People(self._folder))
            except InputError as error:
                raise RecordsAway(text("classroom.records.away_inside")) from error
        return self._people[1]

    def ask(self, account: str, act: Callable[[Store], Any]) -> Any:
        """Do something with the records; what it takes counts for the account.

        Parameters
        ----------
        act : called with the records; gives the answer.

        Raises
        ------
        RecordsAway : they cannot be used just now.
        """
        began = time.thread_time()
        try:
            return act(self._opened())
        except InputError as error:
            raise RecordsAway(text("classroom.records.away_inside")) from error
        finally:
            if account != TRAINER:  # a first look at a long history takes its time
                self._pace.spent(account, time.thread_time() - began)

    def _opened(self) -> Store:
        with self._lock:
            if self._store is None:
                if time.monotonic() - self._failed < REOPEN:
                    raise InputError(text("classroom.records.away_inside").rstrip("."), "records")
                try:
                    self._store = opened_records(self._place)
                except InputError:
                    self._failed = time.monotonic()
                    raise
            return self._store


def _parsed(body: bytes) -> Any:
    try:
        return Allowance(MAX_PARCEL, MAX_VALUES).parsed(body)
    except ValueError as error:
        raise InputError(text("records.hand_over.not_read").rstrip(".")) from error
