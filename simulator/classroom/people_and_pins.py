"""Who belongs to the class: names, hashes of PINs, and accounts at the hub; in one private file."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import read_whole
from simulator.texts import text

FILE_NAME = "people.json"
TAKEN_OUT = "taken_out.txt"  # a line for each who was taken out: the day and the account, no name
MAX_BYTES = 4 * 1024 * 1024
LONGEST_NAME = 60
TRAINER = "trainer"  # account of who trains; no learner's account is called so


@dataclass(frozen=True)
class Person:
    """A learner: account at the hub, name as typed, hash of the PIN (empty: the next log-in sets one), first log-in."""

    account: str
    name: str
    pin: str
    since: str  # ISO 8601, UTC


def _utc_now() -> datetime:
    return datetime.now(UTC)


def checked_name(name: str) -> str:
    """A name as it is kept: in one line, without odd spaces.

    Parameters
    ----------
    name : as typed, 1 to 60 characters.

    Raises
    ------
    InputError : it is empty, too long, or not one line of text.

    Examples
    --------
    >>> checked_name("  Ada   Quill ")
    'Ada Quill'
    """
    clean = unicodedata.normalize("NFC", " ".join(name.split()))
    if not 0 < len(clean) <= LONGEST_NAME or not clean.isprintable():
        raise InputError(text("classroom.bad_name", most=LONGEST_NAME).rstrip("."), "name")
    return clean


class People:
    """The list of a class, which only the hub writes.

    Parameters
    ----------
    folder : of the class.
    now : the clock.

    Raises
    ------
    InputError : the list is damaged; it is left as it is.
    """

    def __init__(self, folder: Path, now: Callable[[], datetime] = _utc_now) -> None:
        self._file, self._now, self._gone = folder / FILE_NAME, now, folder / TAKEN_OUT
        self._people: dict[str, Person] = {person.account: person for person in self._read()}

    def _read(self) -> list[Person]:
        if not self._file.exists():
            return []
        try:
            found: Any = json.loads(read_whole(self._file, MAX_BYTES).decode("utf-8"))
            people = [Person(**{key: str(each[key]) for key in Person.__annotations__}) for each in found]
        except (ValueError, TypeError, KeyError, RecursionError) as error:
            raise InputError(text("classroom.people_damaged").rstrip("."), str(self._file)) from error
        return people

    def _write(self) -> None:
        private_folder(self._file.parent, tighten=False)
        rows = [asdict(person) for person in self._people.values()]
        write_private(self._file, json.dumps(rows, indent=1, ensure_ascii=False))

    def all(self) -> list[Person]:
        """All learners by name."""
        return sorted(self._people.values(), key=lambda person: person.name.casefold())

    def named(self, name: str) -> Person | None:
        """The learner of a name, however its capitals are typed; None where there is none.

        Parameters
        ----------
        name : as kept, see :func:`checked_name`.
        """
        wanted = name.casefold()
        return next((each for each in self._people.values() if each.name.casefold() == wanted), None)

    def of_account(self, account: str) -> Person | None:
        """The learner of an account at the hub; None where there is none.

        Parameters
        ----------
        account : such as ``learner-1``.
        """
        return self._people.get(account)

    def add(self, name: str, pin: str) -> Person:
        """A new learner.

        Parameters
        ----------
        name : as kept; nobody has it yet.
        pin : hash of the PIN.

        Raises
        ------
        InputError : somebody has this name.
        OSError : the list cannot be written; then nobody was added.
        """
        if self.named(name):
            raise InputError(text("classroom.name_taken").rstrip("."), "name")
        number = 1 + max(map(_number, [*self._people, *self._taken_out()]), default=0)
        since = self._now().isoformat(timespec="seconds")
        person = Person(f"learner-{number}", name, pin, since)
        self._put(person)
        return person

    def set_pin(self, account: str, pin: str) -> Person:
        """Another PIN; an empty hash lets the next log-in set one.

        Parameters
        ----------
        account : of the learner.
        pin : hash of the PIN, or nothing.

        Raises
        ------
        InputError : there is no such account.
        OSError : the list cannot be written; then nothing was changed.
        """
        person = self._people.get(account)
        if person is None:
            raise InputError(text("classroom.no_such_person").rstrip("."), account)
        changed = replace(person, pin=pin)
        self._put(changed)
        return changed

    def remove(self, account: str) -> None:
        """Take a learner off the list for good. Whoever comes next gets another account.

        Parameters
        ----------
        account : of the learner.

        Raises
        ------
        InputError : there is no such account.
        OSError : the list cannot be written; then nothing was changed.
        """
        if account not in self._people:
            raise InputError(text("classroom.no_such_person").rstrip("."), account)
        line = f"{self._now().date().isoformat()} {account}"
        write_private(self._gone, "\n".join([*self._lines_gone(), line]) + "\n")
        self._change({key: each for key, each in self._people.items() if key != account})

    def _lines_gone(self) -> list[str]:
        try:
            return read_whole(self._gone, MAX_BYTES).decode("utf-8").splitlines()
        except (InputError, UnicodeDecodeError):
            return []

    def _taken_out(self) -> list[str]:
        return [line.rpartition(" ")[2] for line in self._lines_gone()]

    def _put(self, person: Person) -> None:
        self._change({**self._people, person.account: person})

    def _change(self, people: dict[str, Person]) -> None:
        before, self._people = self._people, people
        try:
            self._write()
        except OSError:
            self._people = before
            raise


def _number(account: str) -> int:
    number = account.rpartition("-")[2]
    return int(number) if number.isdecimal() else 0
