"""What the data model finds wrong with a file, said as one sentence with its line and what would be legal."""

from __future__ import annotations

import difflib
import typing
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from simulator.errors import InputError
from simulator.rig.files import FILE_UNITS
from simulator.rig.plain_yaml import Document, Location
from simulator.scenario.choices import FAULT_MODELS, SiteChoice
from simulator.scenario.model import COUNTS_FROM_ONE, OLDEST, VERSION, Scenario
from simulator.units import plain_figure

_UNIT_NAMES = {
    "l_s": "L/s",
    "c": "C",
    "kpa": "kPa",
    "bar": "bar",
    "l": "L",
    "percent": "%",
    "m": "m",
    "mm": "mm",
    "mm2": "mm2",
    "s": "s",
}
FAR = 1e15  # beyond which a figure is not written out
_NUMBERS = ("float_type", "float_parsing", "int_type", "int_parsing", "int_from_float", "finite_number")
_BOUNDS = ("greater_than_equal", "less_than_equal", "greater_than", "less_than")


def sentence(error: ValidationError, document: Document) -> InputError:
    """The problem that stands first in the file, as an error with file, line, key and legal values.

    Examples
    --------
    >>> from simulator.rig.plain_yaml import read_text
    >>> document = read_text("title: A call\\nbrief: It will not draw.\\nsite:\\n  lift_ft: 9\\n", "a file")
    >>> try:
    ...     Scenario.model_validate(document.data)
    ... except ValidationError as error:
    ...     str(sentence(error, document))
    "a file, line 4, site.lift_ft: 'lift_ft' is not a key of this file. Legal: lift_m."
    """
    problems = [(_location(item["loc"], document.data), item) for item in error.errors(include_url=False)]
    # an unknown key explains a missing one beside it, so it is told first
    problems.sort(key=lambda p: (document.line(p[0]), p[1]["type"] == "missing"))
    unknown = [p for p in problems if p[1]["type"] == "extra_forbidden"]
    location, item = problems[0]
    if item["type"] == "missing" and unknown:
        beside = [p for p in unknown if p[0][:-1] == location[:-1]]
        location, item = beside[0] if beside else (location, item)
    what, legal = _words(location, item, document)
    if location[-1:] == ("place",) and _counts_from_zero(document.data):
        legal = legal.replace("joint:1, joint:2", "joint:0, joint:1")
    return InputError(what, document.where(location), legal)


def _counts_from_zero(data: Any) -> bool:
    version = data.get("version") if isinstance(data, dict) else None
    return isinstance(version, int) and version < COUNTS_FROM_ONE


def _location(steps: tuple[Any, ...], data: Any) -> Location:
    """The library's path without the names of union members it puts in between."""
    out: list[int | str] = []
    here = data
    for number, step in enumerate(steps):
        last = number == len(steps) - 1
        in_list = isinstance(here, list) and isinstance(step, int) and step < len(here)
        if in_list or (isinstance(here, dict) and step in here):
            here = here[step]
        elif not (last and isinstance(here, dict) and step != here.get("fault")):
            continue  # a member of a union, not a key of the file
        out.append(step)
    return tuple(out)


def _model(location: Location, data: Any) -> type[BaseModel]:
    """The data model that holds the last key of a location."""
    if location[:1] == ("site",) and len(location) > 1:
        return SiteChoice
    if location[:1] == ("faults",) and len(location) > 2:
        choice = data["faults"][location[1]]
        named = str(choice.get("fault")) if isinstance(choice, dict) else ""
        models: dict[str, type[BaseModel]] = dict(FAULT_MODELS)
        return models.get(named, Scenario)
    return Scenario


def _words(location: Location, item: Any, document: Document) -> tuple[str, str]:
    kind, given = item["type"], item["input"]
    model = _model(location, document.data)
    key = str(location[-1]) if location else ""
    info = model.model_fields.get(key)
    if kind == "extra_forbidden":
        return _unknown(key, model)
    if kind == "missing":
        field = model.model_fields.get(key)
        return f"the key {key!r} is missing", f"{key}: {_legal(key, field)}".rstrip(": ")
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        names = ", ".join(FAULT_MODELS)
        named = isinstance(given, dict) and "fault" in given
        what = f"there is no fault {_shown(given['fault'])}" if named else "the key 'fault' is missing"
        close = difflib.get_close_matches(str(given["fault"])[:60], FAULT_MODELS, 3) if named else []
        if close:
            what, names = f"{what}; did you mean {close[0]!r}?", ", ".join(close)
        if named and given["fault"] == "sound":
            what, names = "a sound rig has no fault", "faults: []"
        return what, names
    shown = _shown(_as_written(location, document.data, given))
    if kind in _BOUNDS:
        return f"{shown} is out of range", _legal(key, info)
    if kind in _NUMBERS:
        return f"{shown} is not a number", _legal(key, info)
    if kind in ("too_long", "too_short", "string_too_long", "string_too_short"):
        return "there is too much here" if kind.endswith("long") else "there is nothing here", _legal(
            key, info
        )
    if kind == "string_pattern_mismatch":
        return f"{shown} has characters that do not fit here", _legal(key, info)
    return f"{shown} does not fit", _legal(key, info)


def _as_written(location: Location, data: Any, given: Any) -> Any:
    """The value as it stands in the file, where an older version has it otherwise."""
    here = data
    for step in location:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            return given
    return here


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, (list, tuple)):
        return "a list"
    words = (
        (plain_figure(value, 6) if abs(value) < FAR else f"{value:g}")
        if isinstance(value, float)
        else repr(value)
    )
    return words if len(words) <= 40 else words[:37] + "..."


def _unknown(key: str, model: type[BaseModel]) -> tuple[str, str]:
    keys = list(model.model_fields)
    for known in keys:
        stem = _stem(known)
        if stem != known and (key == stem or key.startswith(stem + "_")):
            return f"{key!r} is not a key of this file", known
    close = difflib.get_close_matches(key, keys, 1)
    hint = f"; did you mean {close[0]!r}?" if close else ""
    return f"{key!r} is not a key of this file{hint}", ", ".join(keys)


def _ending(key: str) -> str:
    return next((e for e in sorted(FILE_UNITS, key=len, reverse=True) if key.endswith("_" + e)), "")


def _stem(key: str) -> str:
    ending = _ending(key)
    return key.removesuffix("_" + ending) if ending else key


def _legal(key: str, info: FieldInfo | None) -> str:
    if info is None:
        return {"faults": "a list of faults"}.get(key, "")
    if key in _WORDS:
        return _WORDS[key]
    low, high = _bounds(info)
    if low is not None and high is not None:
        whole = "a whole number, " if _is_whole(info) else ""
        return f"{whole}{low:.10g} to {high:.10g} {_UNIT_NAMES.get(_ending(key), '')}".rstrip()
    choices = [c for c in typing.get_args(info.annotation) if isinstance(c, (str, int))]
    if choices:
        return " or ".join(str(c) for c in choices if c != "") or "leave it out"
    return "true or false" if info.annotation is bool else "words" if info.annotation is str else ""


def legal_values(key: str, info: FieldInfo) -> str:
    """What would be legal for a key, in words.

    Parameters
    ----------
    key : of a file.
    info : the field of the data model that holds it.

    Examples
    --------
    >>> legal_values("lift_m", SiteChoice.model_fields["lift_m"]), legal_values("level", Scenario.model_fields["level"])
    ('-5 to 12 m', 'a whole number, 1 to 5')
    """
    return _legal(key, info)


def _is_whole(info: FieldInfo) -> bool:
    members = typing.get_args(info.annotation)  # of an optional figure
    return info.annotation is int or any(typing.get_args(member)[:1] == (int,) for member in members)


def _bounds(info: FieldInfo) -> tuple[float | None, float | None]:
    found: dict[str, float] = {}
    constraints = list(info.metadata)
    for member in typing.get_args(info.annotation):  # an optional figure carries them inside
        for extra in getattr(member, "__metadata__", ()):
            constraints += getattr(extra, "metadata", [extra])
    for constraint in constraints:
        for name in ("ge", "le"):
            value = getattr(constraint, name, None)
            if isinstance(value, (int, float)):
                found[name] = value
    return found.get("ge"), found.get("le")


_WORDS = {
    "title": "one line of 1 to 80 characters",
    "brief": "1 to 1500 characters",
    "name": "one line of at most 60 characters",
    "language": "two small letters such as en",
    "rig": "the name of a rig, such as osier",
    "place": "joint:1, joint:2 and so on, counted from the water; left out where a fault has only one place",
    "faults": "a list of at most 2 faults",
    "allowed_checks": "all, or a list of names of checks",
    "site": "a group with lift_m and what else differs",
    "version": f"{OLDEST} to {VERSION}",
}
