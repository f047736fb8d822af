"""Which attempt belongs to which call of a sheet, however the sheet was put in order since.

A sheet that is handed out anew keeps its id, so that what was done on it still counts; its calls may stand in another
order by then, and some may be new.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from simulator.classroom.call_sheet import CallSheet
from simulator.classroom.kept_sealed import SHEET_LEVEL, sheet_of
from simulator.errors import InputError
from simulator.scenario import Scenario, scenario_from

Row = TypeVar("Row")
#: What a trainer may change of a sheet without making its calls others.
_HOW = {"mode": "practice", "see_through": False}


def level_of(sheet_id: str, number: int) -> str:
    """What stands in the record of an attempt at a call of a sheet.

    Parameters
    ----------
    sheet_id : of the sheet that the call stands on.
    number : of the call [-], from 0.

    Examples
    --------
    >>> level_of("monday", 2)
    'sheet_monday-2'
    """
    return f"{SHEET_LEVEL}{sheet_id}-{number}"


def latest_attempts(sheet: CallSheet, begun: Iterable[tuple[Row, dict[str, Any]]]) -> dict[int, Row]:
    """The newest attempt at each call of a sheet, by the call's number now [-]; calls that nobody began are left out.

    Parameters
    ----------
    sheet : as its learner has it.
    begun : attempts of that learner in the order in which they were begun, each with its record.

    Examples
    --------
    >>> latest_attempts(CallSheet("monday", "Monday", ()), [("first", {"level": "sheet_monday-0"})])
    {}
    """
    calls = [call.model_copy(update=_HOW) for call in sheet.calls]
    out: dict[int, Row] = {}
    for row, record in begun:
        if sheet_of(record) == sheet.id:
            number = _place(calls, record)
            if number is not None:
                out[number] = row
    return out


def _place(calls: list[Scenario], record: dict[str, Any]) -> int | None:
    written = str(record["level"]).rpartition("-")[2]
    there = int(written) if written.isdecimal() and int(written) < len(calls) else None
    try:
        played = scenario_from(dict(record["scenario"])).model_copy(update=_HOW)
    except (InputError, KeyError):  # of an older program: where it was
        return there
    if there is not None and calls[there] == played:
        return there
    return calls.index(played) if played in calls else None
