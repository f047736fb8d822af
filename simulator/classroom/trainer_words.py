"""The trainer's words on somebody: remarks, marks beside the automatic ones, sign-offs. Records of their own.

A learner's chain grows by that learner alone. What a trainer says of it stands in one record a person, under a name that
nobody can log in with, so that no learner's page is given it or could hand it in; it is only added to, and the latest
word counts.

Throughout: ``about`` is the name of whom it is said, ``store`` the records of the class.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from simulator.errors import InputError
from simulator.records import Store, forget
from simulator.rig.faults import FAMILIES
from simulator.texts import text

PREFIX = "on  "  # two spaces: no name that is typed ever has them
LESSON, MODE = "trainer", "word"
REMARK, SIGNED, BACK = "remark", "signed_off", "taken_back"
LONGEST = 2000  # [characters] of a remark
LONGEST_LINE = 80
TRIES = 3  # another page may write at the same moment


@dataclass(frozen=True)
class Word:
    """One word of a trainer's.

    ``kind`` is remark, signed_off or taken_back. A remark is on the attempt ``attempt_id``, with ``total`` marks of 100
    where the trainer gives some. A sign-off is for a ``rig`` and a kind of ``trouble``, valid ``until`` a day (ISO 8601);
    taken_back ends it. ``by`` whom, ``at`` which time (UTC).
    """

    kind: str
    about: str
    by: str
    at: str = ""
    attempt_id: str = ""
    text: str = ""
    total: float | None = None
    rig: str = ""
    trouble: str = ""
    until: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


def word_from(raw: Any) -> Word:
    """A word as it was read from JSON, looked over.

    Parameters
    ----------
    raw : as :meth:`Word.as_dict` gives it; ``at`` may be missing.

    Raises
    ------
    InputError : a part of it is of another kind, or out of range.

    Examples
    --------
    >>> word_from({"kind": "remark", "about": "Ada", "by": "R. Ferrow", "attempt_id": "a", "text": "Well looked."}).text
    'Well looked.'
    """
    try:
        given = {name: raw[name] for name in Word.__dataclass_fields__ if name in raw}
        word = Word(**given)
        texts = {name: value for name, value in asdict(word).items() if name != "total"}
        wrong = next((name for name, value in texts.items() if type(value) is not str), "")
    except (TypeError, KeyError, AttributeError) as error:
        raise InputError(text("after_class.word.not_read").rstrip("."), "word") from error
    if wrong:
        raise InputError(text("after_class.word.not_read").rstrip("."), wrong)
    return _checked(word)


def _checked(word: Word) -> Word:
    def must(fine: bool, where: str, key: str) -> None:
        if not fine:
            raise InputError(text(f"after_class.word.{key}").rstrip("."), where)

    must(word.kind in (REMARK, SIGNED, BACK), "kind", "not_read")
    lines = (word.about, word.by, word.rig, word.trouble, word.attempt_id)
    must(
        all(len(each) <= LONGEST_LINE and (not each or each.isprintable()) for each in lines),
        "word",
        "not_read",
    )
    must(bool(word.by.strip()), "by", "no_name")
    if word.kind == REMARK:
        must(bool(word.attempt_id), "attempt", "not_read")
        must(len(word.text) <= LONGEST, "text", "too_long")
        must("\x00" not in word.text, "text", "not_read")
        fine = word.total is None or (type(word.total) in (int, float) and 0.0 <= word.total <= 100.0)
        must(fine, "total", "bad_marks")
        must(bool(word.text.strip()) or word.total is not None, "text", "empty")
    else:
        must(bool(word.rig) and word.trouble in FAMILIES, "trouble", "not_read")
    if word.kind == SIGNED:
        try:
            date.fromisoformat(word.until)
        except ValueError as error:
            raise InputError(text("after_class.word.bad_day").rstrip("."), "until") from error
    return word


def say(store: Store, word: Word) -> Word:
    """Keep a word, with the time at which it was said.

    Parameters
    ----------
    word : looked over by :func:`word_from`.

    Raises
    ------
    InputError : it cannot be kept.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     said = say(store, Word("remark", "Ada", "R. Ferrow", attempt_id="a", text="Well looked."))
    ...     [each.text for row in store.list_attempts(PREFIX + "Ada") for each in words_in(store, row.attempt_id)]
    ['Well looked.']
    """
    owner = PREFIX + word.about
    kept = Word(**{**asdict(word), "at": store.stamp()})
    for last in (*(False,) * (TRIES - 1), True):
        rows = store.list_attempts(owner, LESSON)
        try:
            place = rows[-1].attempt_id if rows else store.create_attempt(
                {"learner": owner, "lesson": LESSON, "mode": MODE}
            )  # fmt: skip
            store.append_event(place, rows[-1].events if rows else 0, kept.as_dict())
            return kept
        except InputError:
            if last:
                raise
    return kept


def words_in(store: Store, attempt_id: str) -> list[Word]:
    """The words in one record of them.

    Parameters
    ----------
    attempt_id : of that record.
    """
    return [word_from(event) for event in store.events(attempt_id)]


def forget_person(store: Store, about: str) -> int:
    """Take somebody out for good, with all that was said of them; how many attempts of theirs there were [-].

    Raises
    ------
    InputError : it cannot be done.
    """
    forget(store, PREFIX + about)
    return forget(store, about)
