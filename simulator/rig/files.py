"""Rig and site files: keys that end in their unit become the frozen records in SI units.

One reader serves every part: it asks the fields of the part for unit and legal range. A new field needs no
code here.

Arguments, the same throughout: ``low``, ``high`` ends of the legal range in the SI unit of the field [unit of
the field]; ``ending`` the ending of a key that names its unit; ``kind`` the record a part of a file becomes;
``location`` the keys that lead to a part of a file.
"""

from __future__ import annotations

import dataclasses
import difflib
import math
import typing
from dataclasses import dataclass
from typing import Any, TypeVar

from simulator.errors import InputError
from simulator.rig.plain_yaml import Document, Location
from simulator.rig.quantity import unit_of

T = TypeVar("T")


@dataclass(frozen=True)
class FileUnit:
    """A unit a key may end in: ``si = value * size + offset``, rounded so that 2.6 mm is exactly 0.0026 m."""

    si: str
    size: float = 1.0
    offset: float = 0.0

    def to_si(self, value: float) -> float:
        """SI value of a figure in a file.

        Examples
        --------
        >>> FILE_UNITS["c"].to_si(20.0)
        293.15
        """
        return self._converted(value * self.size + self.offset, value)

    def from_si(self, value: float) -> float:
        """Figure for a file of an SI value [-].

        Examples
        --------
        >>> FILE_UNITS["mm"].from_si(0.0025)
        2.5
        """
        return self._converted((value - self.offset) / self.size, value)

    def _converted(self, result: float, given: float) -> float:
        plain = self.size == 1.0 and self.offset == 0.0
        return given if plain else float(f"{result:.15g}")


#: Ending of a key -> unit; the first of an SI unit is the one an error message proposes.
FILE_UNITS: dict[str, FileUnit] = {
    "mm": FileUnit("m", 1e-3),
    "m": FileUnit("m"),
    "mm2": FileUnit("m2", 1e-6),
    "l": FileUnit("m3", 1e-3),
    "l_s": FileUnit("m3/s", 1e-3),
    "bar": FileUnit("Pa", 1e5),
    "kpa": FileUnit("Pa", 1e3),
    "rpm": FileUnit("1/s", 1.0 / 60.0),
    "s": FileUnit("s"),
    "c": FileUnit("K", offset=273.15),
    "s2_m5": FileUnit("m/(m3/s)2"),
    "percent": FileUnit("-", 1e-2),
    "kw": FileUnit("W", 1e3),
}


def file_unit(key: str) -> FileUnit:
    """Unit a key ends in; the longest ending that fits.

    Raises
    ------
    InputError : the key ends in no known unit.

    Examples
    --------
    >>> file_unit("displacement_l_s").si
    'm3/s'
    """
    for ending in sorted(FILE_UNITS, key=len, reverse=True):
        if key.endswith("_" + ending):
            return FILE_UNITS[ending]
    raise InputError(f"the key {key!r} does not end in a unit", "", ", ".join("_" + e for e in FILE_UNITS))


def legal_range(low: float, high: float, unit: FileUnit | None, ending: str = "") -> str:
    """A closed SI range in words, in the unit of the file.

    Examples
    --------
    >>> legal_range(0.03, 0.5, FILE_UNITS["mm"], "mm")
    '30 to 500 mm'
    """
    if unit is not None:
        low, high = unit.from_si(low), unit.from_si(high)
    name = {"l_s": "L/s", "c": "C", "kpa": "kPa", "l": "L", "percent": "%", "s2_m5": "s2/m5", "kw": "kW"}.get(
        ending, ending
    )
    if math.isinf(high):
        words = f"{low:g} or more"
    else:
        words = f"{low:g} to {high:g}"
    return f"{words} {name}".rstrip()


def keys_of(kind: type) -> dict[str, tuple[dataclasses.Field[Any], str]]:
    """Every legal key of a part's mapping -> (field, ending); plain words and shares have an empty ending.

    Examples
    --------
    >>> from simulator.rig.parts import Valve
    >>> sorted(keys_of(Valve))
    ['bore_m', 'bore_mm', 'opening', 'opening_percent']
    """
    keys: dict[str, tuple[dataclasses.Field[Any], str]] = {}
    for item in dataclasses.fields(kind):
        unit = unit_of(item)
        if unit in ("", "-"):
            keys[item.name] = (item, "")
        for ending, file_unit_ in FILE_UNITS.items():
            if file_unit_.si == unit:
                keys[f"{item.name}_{ending}"] = (item, ending)
    return keys


def read_part(kind: type[T], data: Any, document: Document, location: Location = ()) -> T:
    """A part, rig or site from a mapping whose keys end in their units.

    Raises
    ------
    InputError : names file, line, key and legal range of the first thing that does not fit.

    Examples
    --------
    >>> from simulator.rig.parts import Valve
    >>> from simulator.rig.plain_yaml import read_text
    >>> document = read_text("bore_mm: 25", "a file")
    >>> read_part(Valve, document.data, document)
    Valve(bore=0.025, opening=0.0)
    """
    if not isinstance(data, dict):
        raise InputError(
            f"{data!r} stands where a group of keys should", document.where(location), "keys with values"
        )
    keys, hints, values = keys_of(kind), typing.get_type_hints(kind), dict[str, Any]()
    for key, value in data.items():
        here = (*location, key)
        if key not in keys:
            raise _unknown(key, keys, document.where(here))
        item, ending = keys[key]
        if item.name in values:
            raise InputError(f"{item.name} is given twice", document.where(here), "one of its keys")
        if "low" in item.metadata:
            values[item.name] = _number(item, ending, value, document.where(here))
        else:
            values[item.name] = _plain(hints[item.name], value, document, here)
    for item in dataclasses.fields(kind):  # type: ignore[arg-type]
        optional = item.default is not dataclasses.MISSING or item.default_factory is not dataclasses.MISSING
        if item.name not in values and (not optional or item.default is None):
            wanted = next((k for k, (field, _) in keys.items() if field is item), item.name)
            raise InputError(f"{wanted} is missing", document.where(location), f"a line '{wanted}: ...'")
    try:
        return kind(**values)
    except InputError as error:
        raise InputError(error.what, document.where(location), error.legal) from error


def _unknown(key: str, keys: dict[str, tuple[dataclasses.Field[Any], str]], where: str) -> InputError:
    for name in sorted({item.name for item, _ in keys.values()}, key=len, reverse=True):
        if key == name or key.startswith(name + "_"):
            fitting = [k for k, (item, _) in keys.items() if item.name == name]
            return InputError(f"the key {key!r} has not the right unit", where, " or ".join(fitting))
    close = difflib.get_close_matches(key, keys, 1)
    hint = f"; did you mean {close[0]!r}?" if close else ""
    return InputError(f"the key {key!r} is not known{hint}", where, ", ".join(sorted(keys)))


def _number(item: dataclasses.Field[Any], ending: str, value: Any, where: str) -> float:
    unit = FILE_UNITS.get(ending)
    low, high = item.metadata["low"], item.metadata["high"]
    legal = legal_range(low, high, unit, ending)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise InputError(f"{value!r} is not a number", where, legal)
    si = unit.to_si(float(value)) if unit else float(value)
    slack = 1e-12 * max(abs(low), abs(si))  # a bound written in the file's unit may round past it
    if not low - slack <= si <= high + slack:
        raise InputError(f"{value:g} is out of range", where, legal)
    return min(max(si, low), high)


def _plain(hint: Any, value: Any, document: Document, location: Location) -> Any:
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return read_part(hint, value, document, location)
    where = document.where(location)
    if typing.get_origin(hint) is tuple:
        inner = typing.get_args(hint)[0]
        if not isinstance(value, list):
            raise InputError(
                f"{value!r} is not a list", where, "a list, each item on a line that begins with '-'"
            )
        return tuple(_plain(inner, each, document, (*location, i)) for i, each in enumerate(value))
    if hint in (bool, str):
        if not isinstance(value, hint):
            raise InputError(f"{value!r} does not fit", where, "true or false" if hint is bool else "words")
        return value
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise InputError(f"{value!r} is not a number", where, "a number")
    return float(value)
