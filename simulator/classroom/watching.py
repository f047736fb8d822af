"""How a trainer's page looks at the class: by its service where there is one, else at the records of this machine."""

from __future__ import annotations

import json
import os
from typing import Any, Protocol
from urllib.parse import urlencode

from simulator.classroom.asking import ADDRESS, TOKEN, in_a_class
from simulator.classroom.line import Line
from simulator.classroom.overview import ClassNow, Overview
from simulator.classroom.trainer_words import Word, forget_person, say
from simulator.errors import InputError
from simulator.records import Store, backup
from simulator.records.hand_over import Coming, chain_of, coming_from, take_in, whose
from simulator.texts import text

PATIENCE = 30.0  # [s] for an answer: a first look at a long history takes its time
MOST_ASKED = 200  # [-] answers in a row


class Watching(Protocol):
    """What a trainer's page asks."""

    def look(self, known: ClassNow) -> None:
        """Bring what is known up to now; ``known`` is changed in place."""

    def say(self, word: Word) -> None:
        """Keep a ``word``."""

    def hold(self, held: bool) -> None:
        """Hold the class (``held``), or let it go on."""

    def copy(self, attempt_id: str) -> Store:
        """A store in memory with one attempt (``attempt_id``), to be read and played again."""

    def forget(self, name: str) -> int:
        """Take somebody out by ``name``; how many attempts there were [-]."""

    def backup(self) -> dict[str, Any]:
        """Copy all: ``place``, ``attempts``, ``rows``."""


class OfTheClass:
    """The class's own service.

    Parameters
    ----------
    address : of the service.
    token : the trainer's.
    """

    def __init__(self, address: str, token: str) -> None:
        self._line = Line(address, token, "class", PATIENCE)

    def look(self, known: ClassNow) -> None:
        """Bring what is known up to now.

        Parameters
        ----------
        known : is changed in place.

        Raises
        ------
        InputError : the service is away, or refuses.
        """
        for _ in range(MOST_ASKED):
            asked = urlencode({"epoch": known.epoch, "mark": known.mark})
            if not known.take(self._line.ask("GET", f"class?{asked}")):
                return

    def say(self, word: Word) -> None:
        """Keep a word.

        Parameters
        ----------
        word : of the trainer's.

        Raises
        ------
        InputError : the service is away, or refuses.
        """
        self._line.ask("POST", "class/words", json.dumps(word.as_dict()))

    def hold(self, held: bool) -> None:
        """Hold the class, or let it go on.

        Parameters
        ----------
        held : every learner's page stands still.

        Raises
        ------
        InputError : the service is away, or refuses.
        """
        self._line.ask("POST", "now", json.dumps({"held": held}))

    def copy(self, attempt_id: str) -> Store:
        """A store in memory with one attempt.

        Parameters
        ----------
        attempt_id : of the attempt.

        Raises
        ------
        InputError : the service is away, or has no such attempt.
        """
        return _in_memory(coming_from(self._line.ask("GET", f"records/{attempt_id}")))

    def forget(self, name: str) -> int:
        """Take somebody's records out for good.

        Parameters
        ----------
        name : as it stands in the records.

        Raises
        ------
        InputError : the service is away, or refuses.
        """
        return int(self._line.ask("POST", "class/forget", json.dumps({"name": name})).get("attempts", 0))

    def backup(self) -> dict[str, Any]:
        """Copy the class.

        Raises
        ------
        InputError : it cannot be done.
        """
        return self._line.ask("POST", "class/backup", "{}")


class OfThisMachine:
    """The records of this machine, whoever worked here.

    Parameters
    ----------
    store : the records.
    """

    def __init__(self, store: Store) -> None:
        self._store, self._overview = store, Overview()

    def look(self, known: ClassNow) -> None:
        """Bring what is known up to now.

        Parameters
        ----------
        known : is changed in place.

        Raises
        ------
        InputError : the records cannot be read.
        """
        for _ in range(MOST_ASKED):
            if not known.take(self._overview.since(self._store, known.epoch, known.mark)):
                return

    def say(self, word: Word) -> None:
        """Keep a word.

        Parameters
        ----------
        word : of the trainer's.

        Raises
        ------
        InputError : it cannot be kept.
        """
        say(self._store, word)

    def hold(self, held: bool) -> None:
        """Nothing: there is no class here.

        Parameters
        ----------
        held : of no effect.
        """

    def copy(self, attempt_id: str) -> Store:
        """A store in memory with one attempt.

        Parameters
        ----------
        attempt_id : of the attempt.

        Raises
        ------
        InputError : there is no such attempt.
        """
        return _in_memory(chain_of(self._store, attempt_id), whose(self._store, attempt_id) or "")

    def forget(self, name: str) -> int:
        """Take somebody out for good.

        Parameters
        ----------
        name : as it stands in the records.

        Raises
        ------
        InputError : it cannot be done.
        """
        return forget_person(self._store, name)

    def backup(self) -> dict[str, Any]:
        """Copy the records beside themselves.

        Raises
        ------
        InputError : it cannot be done.
        """
        kept = backup(self._store.name)
        return {"place": str(kept.place), "attempts": kept.attempts, "rows": kept.rows}


def watching(store: Store) -> Watching:
    """What a trainer's page asks here.

    Parameters
    ----------
    store : the records of this machine, for where there is no class.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     known = ClassNow()
    ...     watching(store).look(known)
    ...     known.people
    []
    """
    if in_a_class():
        return OfTheClass(os.environ[ADDRESS], os.environ[TOKEN])
    return OfThisMachine(store)


def _in_memory(coming: Coming, learner: str | None = None) -> Store:
    if learner is None:
        first = coming.links[0].values if coming.links else ()
        learner = str(first[2]) if len(first) > 2 else ""
    store = Store.open("sqlite://")
    taken = take_in(store, learner, [coming])
    if coming.attempt_id not in taken.heads or not taken.heads[coming.attempt_id][0]:
        store.close()
        raise InputError(
            next(iter(taken.refused.values()), text("classroom.records.not_yours")).rstrip("."), "class"
        )
    return store
