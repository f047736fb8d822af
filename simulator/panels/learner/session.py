"""The learner at this machine: name and units as typed, and the records of the work at each lesson."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import simulator
from simulator.classroom.handing_in import handing_in
from simulator.errors import InputError, RefusedAct
from simulator.records import AttemptRow, Store, data_folder, latest_work
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import read_whole
from simulator.texts import text
from simulator.units import SYSTEMS

FILE_NAME = "learner.json"
MODE = "lesson"  # of records that hold the answers given in a lesson
LONGEST_NAME = 60
MAX_BYTES = 1024 * 1024  # of the file of name and units
REMEMBERED = (
    "name",
    "units",
    "opened",
    "in_file",
    "opens_all",
)  # opened: the lessons in which the name was given
#: When the lessons that this kernel belongs to were opened, as their launcher says; nothing elsewhere.
OPENED_AT = "SIMULATOR_OPENED_AT"
#: In a class the name that somebody logged in with; it is theirs, and the only one here.
GIVEN_NAME = "SIMULATOR_LEARNER"


def _utc_now() -> datetime:
    return datetime.now(UTC)


class LearnerSession:
    """Who learns here, in which units, and where the records are.

    Parameters
    ----------
    store : where records are kept; the user's own by default. Where they cannot be opened, ``trouble`` says
        why, and the work is kept for as long as the page lives. Where steps were lost or set aside, it says that.
        In a class the name is given by the log-in (``given``), and no other one is taken; ``handing`` then hands
        what is kept here over to the class.
    folder : where name and units are remembered; the user's data folder by default.
    now : the clock.
    """

    def __init__(
        self,
        store: Store | None = None,
        *,
        folder: Path | None = None,
        now: Callable[[], datetime] = _utc_now,
    ) -> None:
        self.now, self.trouble = now, ""
        self._file = (folder or data_folder()) / FILE_NAME
        try:
            self.store = store if store is not None else Store.open(now=now)
            self.trouble = " ".join(self.store.notices)
        except InputError as error:
            self.trouble = text("lessons.words.no_records", what=str(error).rstrip("."))
            self.store = Store.open("sqlite://", now=now)
        remembered = self._read()
        self.given = _as_name(os.environ.get(GIVEN_NAME))
        self.name = self.given or _as_name(remembered.get("name"))
        self.handing = handing_in(self.store, self.given)
        units = remembered.get("units")
        self.units = units if isinstance(units, str) and units in SYSTEMS else "metric"
        #: Whether all parts of a lesson are open from the start: for who shows them to others.
        self.opens_all = remembered.get("opens_all") is True
        in_file = remembered.get("in_file")
        self._in_file: dict[str, Any] = in_file if isinstance(in_file, dict) else {}

    def _read(self) -> dict[str, Any]:
        try:
            found = json.loads(read_whole(self._file, MAX_BYTES).decode("utf-8"))
        except (InputError, ValueError, RecursionError):
            return {}
        return found if isinstance(found, dict) else {}

    def _write(self, **changed: Any) -> None:
        """Change some of what is remembered; the rest stays as another page may have left it."""
        try:
            private_folder(self._file.parent, tighten=self._file.parent == data_folder())
            kept = {"name": self.name, "units": self.units} | self._read() | changed
            write_private(
                self._file, json.dumps({key: kept[key] for key in REMEMBERED if kept.get(key) is not None})
            )
        except OSError as error:
            self.trouble = text("lessons.words.no_records", what=error.strerror or str(error))

    def set_name(self, name: str) -> None:
        """Remember the learner's name; an empty one is allowed.

        Lessons that were opened once are for one person: while somebody else's name is in use there, that is said and
        nothing is changed.

        Raises
        ------
        InputError : it is too long or not one line.
        RefusedAct : another name is in use.
        """
        clean = " ".join(str(name).split())
        if len(clean) > LONGEST_NAME or not clean.isprintable():
            raise InputError(text("lessons.home.name_bad").rstrip("."))
        if self.given and clean != self.given:
            raise RefusedAct("name_given", text("classroom.name_given", name=self.given))
        if held := self._in_use(clean):
            raise RefusedAct("name_in_use", text("lessons.home.name_in_use", name=held))
        self.name = clean
        self._write(name=clean, opened=os.environ.get(OPENED_AT))

    def _in_use(self, wanted: str) -> str:
        """Another name than the wanted one, if it was given elsewhere or worked under since the lessons were opened."""
        opened, found = os.environ.get(OPENED_AT, ""), self._read()
        held = _as_name(found.get("name"))
        if not opened or held in ("", wanted):
            return ""
        given_elsewhere = found.get("opened") == opened and held != self.name
        return held if given_elsewhere or latest_work(self.store, held) >= opened else ""

    def set_units(self, units: str) -> None:
        """Remember the units.

        Raises
        ------
        InputError : there is no such unit system.
        """
        if units not in SYSTEMS:
            raise InputError(f"there is no unit system {units!r}", "units", ", ".join(SYSTEMS))
        self.units = units
        self._write(units=units)

    def set_opens_all(self, opens_all: bool) -> None:
        """Remember whether all parts of a lesson are open from the start.

        Parameters
        ----------
        opens_all : False: one after another.
        """
        self.opens_all = opens_all
        self._write(opens_all=opens_all)

    def in_file(self) -> int:
        """How much of this learner's work [-] was in the file that was saved or loaded last; see ``records.amount``."""
        found = self._read().get("in_file")  # another page may have saved it
        amount = found.get(self.name, 0) if isinstance(found, dict) else self._in_file.get(self.name, 0)
        return amount if type(amount) is int and 0 <= amount < 2**31 else 0

    def set_in_file(self, amount: int) -> None:
        """Remember how much of this learner's work [-] is in a file.

        Parameters
        ----------
        amount : of answers, events and marks [-].
        """
        found = self._read().get("in_file")
        self._in_file = {**(found if isinstance(found, dict) else {}), self.name: amount}
        self._write(in_file=self._in_file)

    def rows(self, lesson: str) -> list[AttemptRow]:
        """This learner's records at a lesson or place in one, the oldest first."""
        return self.store.list_attempts(self.name, lesson)

    def total(self, attempt_id: str) -> float | None:
        """The latest marks of an attempt out of 100 [-], a trainer's before the automatic ones; or None.

        Parameters
        ----------
        attempt_id : of the attempt.
        """
        sheets = self.store.marks(attempt_id)
        chosen = [each for each in sheets if each.source == "trainer"] or sheets
        total = chosen[-1].sheet.get("total") if chosen else None
        return float(total) if isinstance(total, (int, float)) and not isinstance(total, bool) else None


def _as_name(value: Any) -> str:
    """A remembered name, as it is typed: in one line, without odd spaces; empty where it is none."""
    clean = " ".join(value.split()) if isinstance(value, str) else ""
    return clean[:LONGEST_NAME].strip() if clean.isprintable() else ""


class Work:
    """One sitting of one learner at one lesson: what was answered, kept as it happens.

    A sitting goes on until the learner begins again; a finished one stays to be looked at.
    """

    def __init__(self, session: LearnerSession, lesson: str) -> None:
        self._desk, self.lesson, self.learner = session, lesson, session.name
        self.id = ""
        rows = [row for row in session.rows(lesson) if row.mode == MODE]
        if rows:
            self.id, self.seed, self.finished = rows[-1].attempt_id, rows[-1].seed, rows[-1].finished
        else:
            self.seed, self.finished = secrets.randbits(31), False
        self._load()

    def _load(self) -> None:
        try:
            self._events = self._desk.store.events(self.id) if self.id else []
        except (
            InputError
        ) as error:  # damaged while it was open: it is set aside now, and a new sitting begins
            self._desk.trouble = str(error)
            self._events, self.id, self.finished = [], "", False
        self.answers: dict[str, Any] = {}
        self._clicks: set[str] = set()
        for event in self._events:
            self._take(event)

    def _take(self, event: dict[str, Any]) -> None:
        question, click = event.get("question"), event.get("click")
        if isinstance(question, str) and isinstance(click, str) and "answer" in event:
            self.answers.setdefault(question, event["answer"])
            self._clicks.add(click)

    @property
    def begun(self) -> bool:
        """Whether anything has been answered in this sitting."""
        return bool(self._events)

    def keep(self, question: str, answer: Any, click: str) -> bool:
        """Keep an answer for good; the first one counts. False where the click or the question was there already."""
        if click in self._clicks or question in self.answers:
            return False
        if not self.id:
            self._create()
        event = {"kind": "answer", "question": question, "answer": answer, "click": click}
        for last in (False, True):
            try:
                self._desk.store.append_event(self.id, len(self._events), event, click)
                break
            except InputError:
                self._load()  # another page may have written in between
                if question in self.answers:
                    return False
                if last:
                    raise
        self._events.append(event)
        self._take(event)
        return True

    def _create(self) -> None:
        record = {
            "learner": self.learner,
            "lesson": self.lesson,
            "mode": MODE,
            "seed": self.seed,
            "model_version": simulator.__version__,
        }
        self.id = self._desk.store.create_attempt(record)

    def finish(self, total: float, parts: list[dict[str, Any]]) -> None:
        """Close the sitting with its marks out of 100 [-]. Twice is the same as once.

        Parameters
        ----------
        total : [-], 0 to 100.
        parts : with label, points and out of how many each.
        """
        if self.id:
            self._desk.store.save_marks(self.id, {"total": total, "parts": parts})
            self.finished = True

    def begin_again(self) -> None:
        """Leave this sitting in the records and begin a new one with fresh chance."""
        if self.id and not self.finished:
            self._desk.store.end_attempt(self.id, "left")
        self.finished, self.seed = False, secrets.randbits(31)
        self._create()
        self._load()
