"""The catalogue of checks. One record a check stands in ``rig/data/checks.yaml``, its words under the same name in the
message catalogue.

Arguments, the same throughout: ``check_id`` id of a check in the catalogue.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from simulator.errors import InputError
from simulator.instruments import (
    checks_from_outside,
    checks_of_opened_parts,
    checks_while_running,
    senses,
    vacuum_tests,
)
from simulator.instruments.judging import judge_of
from simulator.instruments.look import Check, Look, Probabilities, draw, joint_probability
from simulator.rig.lazy import RecordTable
from simulator.rig.plain_yaml import Document
from simulator.rig.presets import fitted_with
from simulator.rig.record_files import ActRecord, record_file, validated
from simulator.rig.rig import Rig
from simulator.rig.safe_words import can_be_told
from simulator.rig.trainer import overrides

__all__ = [
    "CHECKS",
    "Check",
    "Look",
    "Probabilities",
    "check_places",
    "draw",
    "find_check",
    "joint_probability",
]

#: Checks that put a plate or cap on, run the engine, and take it off again.
VACUUM_RUNS = ("blank_off", "capped_hose", "hold_test")
#: The files whose functions a record may name.
JUDGES = (checks_of_opened_parts, checks_from_outside, checks_while_running, senses, vacuum_tests)


class CheckRecord(ActRecord):
    """One record of ``rig/data/checks.yaml``; the comment at its head says what each key is."""

    place: str
    at_each: Literal["", "joint", "length"] = ""
    opens: bool = False
    outcomes: dict[str, str | None] = Field(min_length=2)
    only_with: dict[str, str] = Field(default_factory=dict)
    plain: tuple[str, ...] = ()
    judge: str | tuple[dict[str, Any], ...]
    slip: float = Field(gt=0.0, lt=1.0)
    figures: str = ""

    @model_validator(mode="after")
    def _outcomes_are_known(self) -> Self:
        judged = () if isinstance(self.judge, str) else tuple(step.get("outcome") for step in self.judge)
        for outcome in (*self.only_with, *self.plain, *judged):
            if outcome not in self.outcomes:
                raise ValueError(f"{outcome!r} is none of its outcomes: {', '.join(self.outcomes)}")
        return self


def _function(name: str) -> Callable[..., Any]:
    """A function of this folder by its ``name``.

    Raises
    ------
    InputError : there is none.
    """
    for module in JUDGES:
        found = getattr(module, name, None)
        if callable(found) and getattr(found, "__module__", "") == module.__name__:
            return found  # type: ignore[no-any-return]
    files = ", ".join(module.__name__.rpartition(".")[2] + ".py" for module in JUDGES)
    raise InputError(
        f"there is no function {name!r}",
        "judge, figures",
        f"steps, or a function of simulator/instruments: {files}",
    )


def check_from(document: Document, name: str) -> Check:
    """The check of a ``document`` of records that has a ``name``.

    Raises
    ------
    InputError : its record is not whole, with its line, what is wrong and what would be legal.
    """
    minutes_of = overrides().minutes_of
    record = validated("check", CheckRecord, name, document)
    try:
        judge = _function(record.judge) if isinstance(record.judge, str) else judge_of(record.judge)
        figures = _function(record.figures) if record.figures else None
    except InputError as error:
        raise InputError(f"check {name!r}: {error.what}", document.where((name,)), error.legal) from error
    return Check(
        id=name,
        place=record.place,
        minutes=minutes_of(name, record.minutes),
        usual_minutes=record.minutes,
        outcomes=tuple(record.outcomes),
        judge=judge,
        slip=record.slip,
        per_joint=record.at_each == "joint",
        per_length=record.at_each == "length",
        fitted=record.fitted,
        only_with=tuple(record.only_with.items()),
        opens=record.opens,
        plain=record.plain,
        figures=figures,
        calls_for=tuple((outcome, work) for outcome, work in record.outcomes.items() if work),
        group=record.group,
        icon=record.icon,
        spot=record.spot,
    )


#: Every check by its id.
CHECKS: RecordTable[Check] = RecordTable(lambda: record_file("checks"), check_from)


def find_check(check_id: str) -> Check:
    """The check of that id.

    Raises
    ------
    InputError : there is no such check.

    Examples
    --------
    >>> find_check("nozzle_out").minutes
    10.0
    """
    if check_id not in CHECKS:
        raise InputError(f"there is no check {check_id!r}", "check", ", ".join(CHECKS))
    return CHECKS[check_id]


def check_places(check: Check, rig: Rig) -> tuple[str, ...]:
    """The places where a check can be made on this rig; none where nobody has said what it is, or how to do it safely.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> check_places(find_check("joint_apart"), load_rig("osier"))[0]
    'joint:0'
    """
    if not fitted_with(rig, check.fitted) or not can_be_told("checks", check.id):
        return ()
    if check.per_length:
        return tuple(f"length:{i}" for i in range(len(rig.suction_hose.joints)))
    if check.per_joint:
        return tuple(f"joint:{i}" for i in range(len(rig.suction_hose.joints)))
    return (check.place,)
