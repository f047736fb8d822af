"""Which calls of the book are shown, and which may come in place of one: level, minutes, family, rig, season.

Arguments, the same throughout: ``call`` of the book; ``book`` all of its calls.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from simulator.classroom.call_sheet import MAX_OTHERS
from simulator.panels.lessons.practice_yard.call_book import BookCall
from simulator.panels.trainer.call_sheet.minutes import minutes_of
from simulator.rig.faults import FAULTS
from simulator.scenario import Scenario

ALL = "all"
TWO, NONE = "two", "none"
FAMILIES = ("air_gets_in", "air_not_drawn_out", "water_cannot_come", "primes_little_flow", "primes_then_loses",
            "instrument", TWO, NONE)  # fmt: skip
#: Calls that take up to so many minutes [min] of looking are of this choice, the short ones too.
MINUTES = {"10": 10.0, "20": 20.0, "30": 30.0}
LONGER = "longer"  # than the last of them
#: Up to so many degrees [°C] of the air a call is of this season; beyond the last it is "warm".
SEASONS = {"frost": 1.0, "cool": 15.0}
WARM = "warm"
KINDS = ("level", "minutes", "family", "rig", "season")


def family_of(scenario: Scenario) -> str:
    """The family of what is wrong in a call-out: two where there are two troubles, none where there is none.

    Parameters
    ----------
    scenario : the call-out.
    """
    if len(scenario.fault_ids) > 1:
        return TWO
    return FAULTS[scenario.fault_ids[0]].family if scenario.fault_ids else NONE


def season_of(scenario: Scenario) -> str:
    """The season of a call-out, by its air.

    Parameters
    ----------
    scenario : the call-out.
    """
    air = scenario.site.air_temperature_c
    return next((name for name, most in SEASONS.items() if air <= most), WARM)


def is_of(call: BookCall, kind: str, value: str) -> bool:
    """Whether a call is of a choice of one of the five; of no choice of minutes where nobody has measured them.

    Parameters
    ----------
    kind : one of the five.
    value : the choice.

    Examples
    --------
    >>> from simulator.panels.lessons.practice_yard.call_book import read_book
    >>> first = read_book()[0]
    >>> is_of(first, "level", "4"), is_of(first, "minutes", "longer"), is_of(first, "season", "frost")
    (True, True, False)
    """
    if kind == "minutes":
        minutes = minutes_of(call.scenario)
        if minutes is None:
            return False
        return minutes > max(MINUTES.values()) if value == LONGER else minutes <= MINUTES.get(value, 0.0)
    if kind == "family":
        return family_of(call.scenario) == value
    if kind == "season":
        return season_of(call.scenario) == value
    return (str(call.level) if kind == "level" else call.scenario.rig) == value


def fitting(book: Iterable[BookCall], chosen: Mapping[str, str]) -> list[BookCall]:
    """The calls of the book that are of all that was chosen.

    Parameters
    ----------
    chosen : by kind; what is not in it, or is all, leaves none out.

    Examples
    --------
    >>> from simulator.panels.lessons.practice_yard.call_book import read_book
    >>> {call.level for call in fitting(read_book(), {"level": "2", "season": "frost"})}
    {2}
    """
    asked = {kind: value for kind, value in chosen.items() if value != ALL}
    return [call for call in book if all(is_of(call, kind, value) for kind, value in asked.items())]


def in_place_of(scenario: Scenario, level: int, book: Sequence[BookCall]) -> tuple[Scenario, ...]:
    """Calls of the same level that may come in place of one: those most like it first, by what is wrong, rig and season.

    Parameters
    ----------
    scenario : the call on the sheet.
    level : of it [-].

    Examples
    --------
    >>> from simulator.panels.lessons.practice_yard.call_book import read_book
    >>> book = read_book()
    >>> 0 < len(in_place_of(book[0].scenario, book[0].level, book)) <= MAX_OTHERS
    True
    """

    def far(other: Scenario) -> tuple[bool, bool, bool]:
        return (
            family_of(other) != family_of(scenario),
            other.rig != scenario.rig,
            season_of(other) != season_of(scenario),
        )

    others = [call.scenario for call in book if call.level == level and call.scenario != scenario]
    return tuple(sorted(others, key=far)[:MAX_OTHERS])
