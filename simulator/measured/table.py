"""Readings of a start as people write them down: typed, or pasted from a table or a CSV file.

The ``csv`` module of Python parts the cells. A line is a time and a vacuum, parted by a tab, a semicolon, a comma or
blanks; figures have a point or a comma, times are seconds or minutes:seconds, and a heading may name the unit.

Arguments, the same throughout: ``written`` the text; ``unit`` of a vacuum that names none: "kPa" or "inHg".
"""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass

from simulator.units import PASCAL_PER_BAR, PASCAL_PER_INHG

UNITS = {"kpa": 1e3, "inhg": PASCAL_PER_INHG, "bar": PASCAL_PER_BAR, "mbar": 100.0, "hpa": 100.0}
MOST_LINES = 400
LAST = 3600.0  # [s]
DEEPEST = 110e3  # [Pa]
#: What is wrong with a line: no_time, no_vacuum, cells, order, twice, range_time, range_vacuum, deep, many.
_NUMBER = re.compile(r"^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)$")
_CLOCK = re.compile(r"^(?:(\d{1,2}):)?(\d{1,3}):(\d{1,2}(?:[.,]\d+)?)$")
_WITH_UNIT = re.compile(r"^([+-]?[\d.,:]+)\s*([a-zA-Z\"]*)$")
_TIME_UNITS = {"": 1.0, "s": 1.0, "sec": 1.0, "second": 1.0, "seconds": 1.0, "min": 60.0, "minutes": 60.0}
_WORD = re.compile(r"[a-zA-Z]+")


@dataclass(frozen=True)
class BadLine:
    """A line that cannot be read: its number, counted from 1, the kind of mistake, and the line itself."""

    number: int
    kind: str
    line: str


@dataclass(frozen=True)
class Readings:
    """What a text came to: times [s] and vacuums [Pa] in their order, and every line that could not be read."""

    times: tuple[float, ...]
    vacuums: tuple[float, ...]
    bad: tuple[BadLine, ...] = ()


def figure_of(cell: str) -> float:
    """A figure with a point or a comma [-]; nan where there is none.

    Parameters
    ----------
    cell : as typed.

    Examples
    --------
    >>> figure_of("20,5"), figure_of(" 3. "), figure_of("x")
    (20.5, 3.0, nan)
    """
    plain = cell.strip().replace("−", "-")
    return float(plain.replace(",", ".")) if _NUMBER.match(plain) else math.nan


def seconds_of(cell: str, size: float = 1.0) -> float:
    """A time [s] written as seconds, with a unit, or as minutes:seconds; nan where there is none.

    Parameters
    ----------
    cell : as typed.
    size : of the unit of a time that names none [s].

    Examples
    --------
    >>> seconds_of("90"), seconds_of("1:30"), seconds_of("1:02,5"), seconds_of("2 min"), seconds_of("1.5", 60.0)
    (90.0, 90.0, 62.5, 120.0, 90.0)
    """
    plain = cell.strip()
    clock = _CLOCK.match(plain)
    if clock:
        seconds = figure_of(clock[3])
        return math.nan if seconds >= 60.0 else 3600.0 * int(clock[1] or 0) + 60.0 * int(clock[2]) + seconds
    found = _WITH_UNIT.match(plain)
    if not found or found[2].lower() not in _TIME_UNITS:
        return math.nan
    own = found[2].lower()
    return figure_of(found[1]) * (_TIME_UNITS[own] if own else size)


def pascals_of(cell: str, unit: str = "kPa") -> float:
    """A vacuum [Pa]; a minus before it, as some gauges have it, says nothing; nan where there is none.

    Parameters
    ----------
    cell : as typed.

    Examples
    --------
    >>> pascals_of("20,5"), pascals_of("-6 inHg"), pascals_of("deep")
    (20500.0, 20318.334, nan)
    """
    found = _WITH_UNIT.match(cell.strip().replace("−", "-"))
    if not found or ":" in found[1]:
        return math.nan
    name = found[2].lower().removesuffix('"') or ("inhg" if found[2] == '"' else unit.lower())
    return abs(figure_of(found[1])) * UNITS[name] if name in UNITS else math.nan


def read_readings(written: str, unit: str = "kPa") -> Readings:
    """The readings of a text; each line that cannot be read is told by its number, and the others count.

    Examples
    --------
    >>> found = read_readings("time;vacuum in kPa\\n10;8,5\\n20;deep\\n0:30;21")
    >>> found.times, found.vacuums, [(bad.number, bad.kind) for bad in found.bad]
    ((10.0, 30.0), (8500.0, 21000.0), [(3, 'no_vacuum')])
    """
    lines = written.lstrip("\ufeff").splitlines()
    times: list[float] = []
    vacuums: list[float] = []
    bad: list[BadLine] = []
    size, begun = 1.0, False
    for number, line in enumerate(lines, start=1):
        if not line.strip(" \t;,"):
            continue
        if number > MOST_LINES:
            bad.append(BadLine(number, "many", line))
            break
        cells = cells_of(line)
        if not begun and _is_heading(cells):
            begun = True
            size, unit = _said_in(line, size, unit)
            continue
        begun = True
        kind, time, vacuum = _read_line(cells, size, unit)
        if not kind and time in times:
            kind = "twice"
        elif not kind and times and time < times[-1]:
            kind = "order"
        if kind:
            bad.append(BadLine(number, kind, line))
        else:
            times.append(time)
            vacuums.append(vacuum)
    return Readings(tuple(times), tuple(vacuums), tuple(bad))


def cells_of(line: str) -> list[str]:
    """The cells of a line, by what parts them in it: tab, semicolon, comma, blanks.

    Parameters
    ----------
    line : of the text.

    Examples
    --------
    >>> cells_of("10;20,5"), cells_of("10, 20.5"), cells_of("0:10  20,5"), cells_of('"10","20.5"'), cells_of("10,20")
    (['10', '20,5'], ['10', '20.5'], ['0:10', '20,5'], ['10', '20.5'], ['10', '20'])
    """
    plain = line.strip()
    for parts in ("\t", ";"):
        if parts in plain:
            return _cells(plain, parts)
    found = _cells(plain, ",")
    if "," in plain and ('"' in plain or "." in plain or ", " in plain or len(found) == 2):
        blank = plain.split()
        by_blanks = len(blank) == 2 and all(seconds_of(each) >= 0.0 for each in blank)
        return blank if by_blanks and ", " not in plain else found
    squeezed = re.sub(r"\s+(?=[a-zA-Z\"])", "", re.sub(r"\s+", " ", plain))  # "20 kPa" is one cell
    return _cells(squeezed, " ")


def _cells(line: str, parts: str) -> list[str]:
    cells = next(csv.reader([line], delimiter=parts, skipinitialspace=True), [])
    out = [cell.strip() for cell in cells]
    while len(out) > 2 and not out[-1]:
        out.pop()
    return out


def _is_heading(cells: list[str]) -> bool:
    return not any(re.search(r"\d", cell) for cell in cells)


def _said_in(line: str, size: float, unit: str) -> tuple[float, str]:
    """Units that a heading names: of time [s] and of vacuum."""
    words = [word.lower() for word in _WORD.findall(line)]
    size = 60.0 if {"min", "minutes"} & set(words) and not {"s", "sec", "seconds"} & set(words) else size
    return size, next((word for word in words if word in UNITS), unit)


def _read_line(cells: list[str], size: float, unit: str) -> tuple[str, float, float]:
    if len(cells) != 2:
        return "cells", math.nan, math.nan
    time, vacuum = seconds_of(cells[0], size), pascals_of(cells[1], unit)
    if math.isnan(time):
        return "no_time", time, vacuum
    if math.isnan(vacuum):
        return "no_vacuum", time, vacuum
    if not 0.0 <= time <= LAST:
        return "range_time", time, vacuum
    return ("deep" if vacuum > DEEPEST else ""), time, vacuum
