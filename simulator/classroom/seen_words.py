"""What stands in a summary of a record, in the words of the pages."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from simulator.attempt.calls import SOMETHING_ELSE
from simulator.classroom.seen import SOUND, Seen
from simulator.diagnosis.words import fault_name
from simulator.errors import InputError
from simulator.rig.presets import load_rig
from simulator.texts import knows, text


def suspect_words(name: str) -> str:
    """A fault as people read it, or "something else", or that no call was made.

    Parameters
    ----------
    name : as it stands in a call.

    Examples
    --------
    >>> suspect_words("something_else")
    'something else'
    """
    if name == SOUND:
        return text("after_class.sound")
    if name in ("", SOMETHING_ELSE):
        return text("after_class.something_else" if name else "after_class.no_call")
    return fault_name(name) if knows(f"faults.{name}.name") else name


def trouble_words(troubles: Iterable[str]) -> str:
    """Kinds of trouble in words.

    Parameters
    ----------
    troubles : by their names.
    """
    return ", ".join(text(f"faults.families.{each}") for each in troubles)


def rig_words(rig: str) -> str:
    """A rig by its title; one that is not here any more by its name.

    Parameters
    ----------
    rig : by its name.

    Examples
    --------
    >>> rig_words("osier"), rig_words("gone")
    ('Osier', 'gone (not here any more)')
    """
    try:
        return str(load_rig(rig).title)
    except InputError:
        return text("after_class.own_rig", rig=rig)


def name_words(name: str) -> str:
    """A learner's name as a trainer reads it; who plays without one is told so.

    Parameters
    ----------
    name : of the learner, perhaps none.

    Examples
    --------
    >>> name_words("Ada"), name_words("")
    ('Ada', 'without a name')
    """
    return name or text("classroom.without_a_name")


def ended_words(call: Seen) -> str:
    """How a call ended, or that it goes on.

    Parameters
    ----------
    call : somebody's.

    Examples
    --------
    >>> ended_words(Seen("a", "Ada", "call", "09", "practice", "", "", True, ended="finished"))
    'said done, and it was'
    """
    ended = call.ended or "open"
    return text(f"after_class.plays.ended.{ended}") if knows(f"after_class.plays.ended.{ended}") else ended


def local_time(moment: str) -> str:
    """A moment by the clock on the wall, with how far that is from UTC; what is no moment as it stands.

    Parameters
    ----------
    moment : ISO 8601, in UTC.

    Examples
    --------
    >>> len(local_time("2026-03-02T07:10:00Z")), local_time("")
    (25, '')
    """
    try:
        return datetime.fromisoformat(moment).astimezone().isoformat(sep=" ", timespec="seconds")
    except ValueError:
        return moment
