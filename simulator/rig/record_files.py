"""The files of records in ``rig/data``: faults, checks, remedies. What their readers share.

Arguments, the same throughout: ``kind`` the file: "faults", "checks" or "remedies"; ``path`` a part or field of a rig or
site, its names joined by dots, such as ``suction_hose.strainer``.
"""

from __future__ import annotations

import typing
from collections.abc import Callable, Mapping
from dataclasses import is_dataclass
from functools import lru_cache
from operator import attrgetter
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from simulator.errors import InputError
from simulator.rig.files import FILE_UNITS
from simulator.rig.plain_yaml import Document, read_file
from simulator.rig.rig import Rig, Site

R = TypeVar("R", bound=BaseModel)
#: Where acts stand on the page, from the top.
Group = Literal["before", "all_round", "water", "hose", "pump", "jet", "compressor", "discharge"]
GROUPS: tuple[str, ...] = typing.get_args(Group)


class StrictRecord(BaseModel):
    """A record whose keys are all known."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ActRecord(StrictRecord):
    """What the records of checks and remedies have in common; the head of ``data/checks.yaml`` says what each key is."""

    group: Group | Literal[""] = ""
    icon: str = ""
    spot: str = ""
    fitted: str = ""
    minutes: float = Field(ge=0.0)
    safe: dict[str, Any] | None = None  # read into the table of safe work, which checks it
    told_as: dict[str, tuple[str, ...]] = Field(default_factory=dict)


class StepRecord(StrictRecord):
    """A quantity and what is looked for in it; keys may end in a unit."""

    of: str = ""
    above: float | None = None
    below: float | None = None


@lru_cache(maxsize=8)
def record_file(kind: str) -> Document:
    """The file of a kind of records, as plain data with its lines.

    Raises
    ------
    InputError : it cannot be read, or holds no records by name.

    Examples
    --------
    >>> record_file("checks").data["belt"]["minutes"]
    4
    """
    return records_in(Path(__file__).parent / "data" / f"{kind}.yaml")


def records_in(path: Path) -> Document:
    """The records of the file at a ``path`` of the machine, by name.

    Raises
    ------
    InputError : it cannot be read, or holds no records by name.
    """
    document = read_file(path)
    if not isinstance(document.data, dict):
        raise InputError(
            "this holds no records", document.where(()), "a name, and under it the keys of its record"
        )
    return document


def validated(kind: str, model: type[R], name: str, document: Document) -> R:
    """One record of a document, all that is wrong with it told at once.

    Parameters
    ----------
    kind : of the record in words, such as "fault".
    model : that it is to fit.
    name : of the record.
    document : that holds it.

    Raises
    ------
    InputError : it is not whole, with its line.
    """
    try:
        return model.model_validate(document.data[name])
    except ValidationError as error:
        every = [(".".join(map(str, each["loc"])), each["msg"]) for each in error.errors()]
        said = "; ".join(f"{key}: {message}" if key else message for key, message in every)
        raise InputError(f"{kind} {name!r}: {said}", document.where((name,))) from error


def in_si(options: Mapping[str, Any]) -> dict[str, Any]:
    """``options`` by name, in SI units: a key may end in the unit of its figure.

    Examples
    --------
    >>> in_si({"above_mm": 2.5, "of": "casing.seal_hole"})
    {'above': 0.0025, 'of': 'casing.seal_hole'}
    """
    endings = sorted(FILE_UNITS, key=len, reverse=True)
    out = {}
    for key, value in options.items():
        ending = next((e for e in endings if key.endswith(f"_{e}")), "")
        out[key.removesuffix(f"_{ending}")] = FILE_UNITS[ending].to_si(value) if ending else value
    return out


def known_field(path: str, field: str, owner: Any = Rig) -> None:
    """Whether rigs, or what else the ``owner`` is, have a part at a path and that ``field``.

    Raises
    ------
    InputError : they have not.
    """
    kind = owner.__name__.lower()
    for part in (*filter(None, path.split(".")), field):
        known = typing.get_type_hints(owner) if is_dataclass(owner) else {}
        if part not in known:
            raise InputError(
                f"no {kind} has {part!r} in {path}.{field}" if path else f"no {kind} has {part!r}",
                "change",
                f"{', '.join(known)}; a new one: 'A quantity of the rig' in DEVELOPERS.md"
                if known
                else "a part and a field of it",
            )
        owner = known[part]


def quantity_of(path: str, owner: type[Rig] | type[Site] = Rig) -> Callable[[Any], Any]:
    """How to read a quantity of a rig, or of a site where that is the ``owner``.

    Raises
    ------
    InputError : there is no such quantity.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> quantity_of("casing_drain.opening")(load_rig("osier"))
    0.0
    """
    part, _, field = path.rpartition(".")
    known_field(part, field, owner)
    return attrgetter(path)


def rows_of_safe_work(kind: str) -> dict[str, Any]:
    """The rows of safe work that the records of a kind carry, by name; a record without one has none.

    Raises
    ------
    InputError : the file cannot be read.

    Examples
    --------
    >>> rows_of_safe_work("checks")["gauges"]
    {'engine': 'running', 'dangers': ['none_near']}
    """
    return {
        name: data["safe"]
        for name, data in record_file(kind).data.items()
        if isinstance(data, dict) and data.get("safe") is not None
    }


def patterns_told(kind: str, language: str) -> dict[str, list[str]]:
    """How sentences of a ``language`` tell the acts of a kind: patterns by name, for those that have some.

    Raises
    ------
    InputError : the file cannot be read.

    Examples
    --------
    >>> patterns_told("remedies", "en")["renew_air_line"]
    ['\\\\bnew air line\\\\b']
    """
    told = {
        name: (data.get("told_as") or {}).get(language)
        for name, data in record_file(kind).data.items()
        if isinstance(data, dict)
    }
    return {name: list(patterns) for name, patterns in told.items() if patterns}
