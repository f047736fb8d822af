"""What faults and marks of a demonstration are called.

Arguments, the same throughout: ``run`` the demonstration; ``number`` of a fault in it.
"""

from __future__ import annotations

from typing import Any

from simulator.panels.trainer.bench.run import BenchRun
from simulator.panels.trainer.call_builder.form import fault_label, place_words
from simulator.rig.faults import FAULTS
from simulator.scenario.choices import moved_place
from simulator.texts import text


def letter_of(number: int) -> str:
    """The letter by which a fault is meant on the page.

    Examples
    --------
    >>> letter_of(0), letter_of(2)
    ('A', 'C')
    """
    return chr(ord("A") + number)


def fault_words(run: BenchRun, number: int, *, letter: bool = False) -> str:
    """A fault and where it sits.

    Parameters
    ----------
    letter : whether its letter stands before it.
    """
    one = run.faults[number]
    said = fault_label(FAULTS[one.fault])
    if one.place:
        said = f"{said}, {place_words(moved_place(one.place, 1), run.sound[0])}"
    return f"{letter_of(number)}: {said}" if letter else said


def mark_words(mark: dict[str, Any]) -> str:
    """The label of a mark on the curve: letters for faults, never their names.

    Parameters
    ----------
    mark : as the run gives it.

    Examples
    --------
    >>> mark_words({"kind": "clear", "number": 1, "args": {}})
    'B out'
    """
    fields: dict[str, Any] = {}
    if mark["number"] is not None:
        fields["letter"] = letter_of(mark["number"])
    if mark["kind"] == "speed":
        fields["speed"] = text(f"attempt.speeds.{mark['args']['speed']}")
    return text(f"bench.marks.{mark['kind']}", **fields)
