"""All that the trainer's views know of a class: summaries of records, made anew only where something has changed.

Whoever looks says how far they have seen; they get what is new since. One that was begun anew says so by its ``epoch``.
"""

from __future__ import annotations

import logging
import secrets
import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from simulator.classroom.seen import Seen, seen_from, seen_of
from simulator.classroom.trainer_words import PREFIX, Word, word_from, words_in
from simulator.errors import InputError
from simulator.records import Store
from simulator.records.hand_over import Begun, all_begun

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page
AT_ONCE = 200  # [-] summaries made in one answer; whoever looks asks for the rest at once


class Overview:
    """The summaries of the records in a store.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     overview = Overview()
    ...     first = overview.since(store, "", 0)
    ...     again = overview.since(store, first["epoch"], first["mark"])
    ...     len(first["attempts"]), len(again["attempts"])
    (1, 0)
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._begin()

    def _begin(self) -> None:
        self._epoch, self._mark = secrets.token_hex(4), 0
        #: By id: as which it was summed up, with which mark, and the summary.
        self._known: dict[str, tuple[object, int, dict[str, Any]]] = {}

    def since(self, store: Store, epoch: str, mark: int) -> dict[str, Any]:
        """What is new, as plain data for JSON: ``attempts`` and ``words``; ``more`` where not all was looked at yet.

        Parameters
        ----------
        store : the records.
        epoch, mark : of the last answer; an empty epoch for all.
        """
        with self._lock:
            begun = all_begun(store)
            if not self._known.keys() <= {each.attempt_id for each in begun}:  # somebody was taken out
                self._begin()
            changed = [
                each for each in begun if self._stamp(each) != self._known.get(each.attempt_id, (None,))[0]
            ]
            for each in changed[:AT_ONCE]:
                self._mark += 1
                self._known[each.attempt_id] = (self._stamp(each), self._mark, _summary(store, each))
            since = mark if epoch == self._epoch else 0
            new = [summary for _, at, summary in self._known.values() if at > since and summary]
            return {
                "epoch": self._epoch,
                "mark": self._mark,
                "more": len(changed) > AT_ONCE,
                "attempts": [each for each in new if "words" not in each],
                "words": [each for each in new if "words" in each],
            }

    @staticmethod
    def _stamp(begun: Begun) -> object:
        return begun.head, begun.shown_at, begun.ending


def _summary(store: Store, begun: Begun) -> dict[str, Any]:
    """Of one record; nothing where it cannot be read: the others are told all the same."""
    try:
        if begun.learner.startswith(PREFIX):
            words = words_in(store, begun.attempt_id)
            return {"attempt_id": begun.attempt_id, "words": [word.as_dict() for word in words]}
        return seen_of(store, begun).as_dict()
    except (InputError, ValueError, TypeError, KeyError, AttributeError):
        _log.warning("a record could not be summed up", exc_info=True)
        return {}


@dataclass
class ClassNow:
    """The class as it was last heard of: accounts by name in its list, summaries by id, words on them."""

    accounts: dict[str, str] = field(default_factory=dict)
    attempts: dict[str, Seen] = field(default_factory=dict)
    said: dict[str, tuple[Word, ...]] = field(default_factory=dict)
    epoch: str = ""
    mark: int = 0
    held: bool = False  # the trainer holds the class
    open: frozenset[str] | None = None  # by name: who has a page open; None where that cannot be known

    def take(self, answer: Mapping[str, Any]) -> bool:
        """Take an answer in; whether there is more to ask for.

        Parameters
        ----------
        answer : as :meth:`Overview.since` gives it, with ``names``, ``held`` and ``open`` beside it.

        Raises
        ------
        InputError : it is no such answer.
        """
        try:
            if answer["epoch"] != self.epoch:
                self.attempts, self.said = {}, {}
            attempts = {each["attempt_id"]: seen_from(each) for each in answer["attempts"]}
            words = {each["attempt_id"]: tuple(map(word_from, each["words"])) for each in answer["words"]}
            self.epoch, self.mark = str(answer["epoch"]), int(answer["mark"])
            self.accounts = {str(name): str(account) for name, account in answer.get("names", {}).items()}
            self.open = frozenset(map(str, answer["open"])) if "open" in answer else None
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise InputError("no answer about the class", "class") from error
        self.held = answer.get("held") is True
        self.attempts |= attempts
        self.said |= words
        return bool(answer.get("more"))

    @property
    def seen(self) -> list[Seen]:
        """All summaries in the order in which the records were begun."""
        return sorted(self.attempts.values(), key=lambda each: (each.made_at, each.attempt_id))

    @property
    def words(self) -> list[Word]:
        """All words in the order in which they were said."""
        return sorted((word for words in self.said.values() for word in words), key=lambda word: word.at)

    @property
    def people(self) -> list[str]:
        """Everybody: of the list of the class, and whoever has records."""
        return sorted_names([*self.accounts, *(each.learner for each in self.attempts.values())])


def sorted_names(names: Iterable[str]) -> list[str]:
    """Each name once, by the alphabet.

    Parameters
    ----------
    names : in any order.

    Examples
    --------
    >>> sorted_names(["bo", "Ada", "bo"])
    ['Ada', 'bo']
    """
    return sorted(set(names), key=lambda name: (name.casefold(), name))
