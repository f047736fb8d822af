"""The trainer's file of figures as texts by the names of fields, what is wrong at each, and the file written again.

Arguments, the same throughout: ``fields`` the texts by name, such as ``minutes.belt``; an empty one leaves the figure as
it comes with the package. ``name`` of a field; ``written`` the bytes of a file; ``source`` what to call it in an error.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import yaml

from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.marking.sheet import OUT_OF
from simulator.rig.faults import FAULTS
from simulator.rig.plain_yaml import Document, read_bytes
from simulator.rig.remedies import REMEDIES
from simulator.rig.trainer import (
    FORMAT,
    GROUPS,
    MARK_PARTS,
    NO_MORE,
    THRESHOLDS,
    VERSION,
    Overrides,
    legal_range,
    names_of,
    none_comes,
    overrides_from,
)

UNITS = {"minutes": "min", "proof_slack_s": "s"}
_TYPED = re.compile(r"^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*([a-z]*)$", re.IGNORECASE)
_LINE = re.compile(r"^(\s*)([\w]+)(\s*:\s*)([^\s#{\[&*!|>'\"]+)?(\s*(?:#.*)?)$")


@dataclass(frozen=True)
class Wrong:
    """What is wrong at a field: its kind, the legal range in words, and the nearest legal value."""

    kind: str
    legal: str
    nearest: str = ""


@lru_cache(maxsize=1)
def field_names() -> tuple[str, ...]:
    """Every field of the form.

    Examples
    --------
    >>> "thresholds.pass_mark" in field_names(), "minutes.belt" in field_names()
    (True, True)
    """
    return tuple(f"{group}.{name}" for group in GROUPS for name in names_of(group))


def usual(name: str) -> float:
    """The figure that comes with the package.

    Examples
    --------
    >>> usual("minutes.belt"), usual("thresholds.pass_mark"), usual("marks.found"), usual("weights.drain_open")
    (4.0, 70.0, 45.0, 0.14)
    """
    group, _, key = name.partition(".")
    if group == "minutes":
        return CHECKS[key].usual_minutes if key in CHECKS else REMEDIES[key].usual_minutes
    if group == "weights":
        return FAULTS[key].usual_weight
    return THRESHOLDS[key][0] if group == "thresholds" else OUT_OF[key]


def unit_of(name: str) -> str:
    """The unit that stands beside a field.

    Examples
    --------
    >>> unit_of("minutes.belt"), unit_of("thresholds.proof_slack_s"), unit_of("marks.found")
    ('min', 's', '')
    """
    group, _, key = name.partition(".")
    return UNITS.get(group, UNITS.get(key, ""))


def shown(value: float) -> str:
    """A figure as it stands in a field: the shortest that reads back the same.

    Parameters
    ----------
    value : in the unit of its field.

    Examples
    --------
    >>> shown(7.0), shown(0.14)
    ('7', '0.14')
    """
    return repr(float(value)).removesuffix(".0")


def figure(name: str, typed: str) -> float:
    """The figure typed into a field; nan where it is none.

    Examples
    --------
    >>> figure("minutes.belt", "7,5 min"), figure("weights.drain_open", ".2"), figure("minutes.belt", "7 s")
    (7.5, 0.2, nan)
    """
    found = _TYPED.match(typed.strip())
    if found is None or (found[2] and found[2].lower() not in (unit_of(name), f"{unit_of(name)}s")):
        return math.nan
    return float(found[1].replace(",", "."))


def new_fields() -> dict[str, str]:
    """All figures as they come with the package.

    Examples
    --------
    >>> set(new_fields().values())
    {''}
    """
    return dict.fromkeys(field_names(), "")


def wrong_at(fields: Mapping[str, str]) -> dict[str, Wrong]:
    """All that is wrong, by field.

    Examples
    --------
    >>> wrong_at({**new_fields(), "minutes.belt": "500", "weights.drain_open": "often"})["minutes.belt"]
    Wrong(kind='range', legal='0 to 240 min', nearest='240')
    """
    out: dict[str, Wrong] = {}
    values: dict[str, float] = {}
    for name, typed in fields.items():
        if not typed.strip():
            continue
        group, _, key = name.partition(".")
        low, high = legal_range(group, key)
        legal = f"{low:g} to {high:g} {unit_of(name)}".rstrip()
        value = figure(name, typed)
        if math.isnan(value):
            out[name] = Wrong("number", legal)
        elif not low <= value <= high:
            out[name] = Wrong("range", legal, shown(low if value < low else high))
        else:
            values[name] = value
    parts = [f"marks.{part}" for part in MARK_PARTS]
    if not out and all(values.get(part) == 0.0 for part in parts):
        out[parts[0]] = Wrong("no_marks", "")
    weights = {name.partition(".")[2]: value for name, value in values.items() if name.startswith("weights.")}
    if not out and none_comes(weights):
        out["weights.drain_open"] = Wrong("none_comes", "")
    return out


def overrides_of(fields: Mapping[str, str]) -> Overrides:
    """The figures that stand in fields in which nothing is wrong.

    Examples
    --------
    >>> overrides_of({**new_fields(), "minutes.belt": "7"}).minutes
    {'belt': 7.0}
    """
    found: dict[str, dict[str, float]] = {group: {} for group in GROUPS}
    for name, typed in fields.items():
        if typed.strip():
            group, _, key = name.partition(".")
            found[group][key] = figure(name, typed)
    return Overrides(**found)


def fields_of(given: Overrides) -> dict[str, str]:
    """The fields of a file that can be used.

    Parameters
    ----------
    given : the figures of the file.
    """
    out = new_fields()
    for group in GROUPS:
        for name, value in getattr(given, group).items():
            out[f"{group}.{name}"] = shown(value)
    return out


@dataclass(frozen=True)
class Opened:
    """A file on the desk: its texts by field, and a sentence for each thing in it that no field can hold."""

    fields: dict[str, str]
    told: tuple[str, ...]


def opened(written: bytes, source: str) -> Opened:
    """A file, a wrong one too: what has a field stands there as it is, so that it is told there.

    Examples
    --------
    >>> wrong = b"format: trainer-figures\\nversion: 1\\nminutes: {belt: 900, belts: 2}\\n"
    >>> opened(wrong, "a file").fields["minutes.belt"], len(opened(wrong, "a file").told)
    ('900', 1)
    """
    try:
        return Opened(fields_of(overrides_from(written, source)), ())
    except InputError as first:
        error = first
    fields, told = new_fields(), []
    try:
        document = read_bytes(written, source)
    except InputError:
        return Opened(fields, (str(error),))
    data = document.data if isinstance(document.data, dict) else {}
    if data.get("format") != FORMAT or data.get("version") != VERSION:
        return Opened(fields, (str(error),))
    for group, values in data.items():
        if group in ("format", "version"):
            continue
        if group not in GROUPS or not isinstance(values, (dict, type(None))):
            told.append(_cannot(document, group))
            continue
        for name, value in (values or {}).items():
            field = f"{group}.{name}"
            if field in fields and not isinstance(value, (dict, list, bool, type(None))):
                fields[field] = shown(value) if isinstance(value, (int, float)) else str(value)[:40]
            elif not (group == "marks" and name in NO_MORE):
                told.append(_cannot(document, group, name))
    return Opened(fields, tuple(told) if told or wrong_at(fields) else (str(error),))


def _cannot(document: Document, *keys: str) -> str:
    legal = GROUPS if len(keys) == 1 else names_of(keys[0])
    close = difflib.get_close_matches(keys[-1], legal, 3) or (
        legal if len(keys) == 1 else ("a name of this page",)
    )
    return str(InputError(f"{keys[-1]!r} cannot be used", document.where(keys), ", ".join(close)))


def file_of(fields: Mapping[str, str], before: bytes = b"") -> bytes:
    """The file that says what the fields say: the one before, line by line as it was, with only what differs changed.

    Where a line of the one before cannot be changed by itself, all is written anew under its first remarks.

    Parameters
    ----------
    before : the file as it was; nothing for a new one.

    Raises
    ------
    InputError : something is wrong at a field.

    Examples
    --------
    >>> old = b"# mine\\nformat: trainer-figures\\nversion: 1\\nminutes:\\n  belt: 7  # six bolts\\n"
    >>> file_of({**new_fields(), "minutes.belt": "8"}, old).decode().splitlines()[-1]
    '  belt: 8  # six bolts'
    """
    wrong = wrong_at(fields)
    if wrong:
        name, first = next(iter(wrong.items()))
        raise InputError(f"{name} is {fields[name]!r}", name, first.legal)
    wanted = overrides_of(fields)
    if before:
        try:
            now = overrides_from(before, "")
            if now == wanted:
                return before
            changed = _line_by_line(before.decode("utf-8"), now, wanted).encode("utf-8")
            if overrides_from(changed, "") == wanted:
                return changed
        except (InputError, UnicodeDecodeError):
            pass
    return _remarks(before) + _anew(wanted)


def _anew(wanted: Overrides) -> bytes:
    data: dict[str, object] = {"format": FORMAT, "version": VERSION}
    for group in GROUPS:
        values = getattr(wanted, group)
        if values:
            data[group] = {
                name: int(value) if value == int(value) else value for name, value in values.items()
            }
    written: str = yaml.safe_dump(data, sort_keys=False)
    return written.encode("utf-8")


def _remarks(before: bytes) -> bytes:
    kept = []
    for line in before.decode("utf-8", errors="replace").splitlines(keepends=True):
        if not line.startswith("#"):
            break
        kept.append(line)
    return "".join(kept).encode("utf-8")


def _line_by_line(before: str, now: Overrides, wanted: Overrides) -> str:
    """The text with changed figures changed, dropped ones dropped and new ones at the end of their group."""
    end = "\r\n" if "\r\n" in before else "\n"
    out: list[str] = []
    group = ""
    last: dict[str, int] = {}  # where the lines of each group end in what is written
    for line in before.splitlines():
        found = _LINE.match(line)
        if found and not found[1]:
            group = found[2] if found[2] in GROUPS else ""
            last.setdefault(group, len(out) + 1)
        elif found and group and found[2] in getattr(now, group):
            value = getattr(wanted, group).get(found[2])
            if value is None:
                continue
            if value != getattr(now, group)[found[2]]:
                line = f"{found[1]}{found[2]}{found[3]}{shown(value)}{found[5]}"
            last[group] = len(out) + 1
        out.append(line)
    for group in reversed(GROUPS):
        added = {n: v for n, v in getattr(wanted, group).items() if n not in getattr(now, group)}
        if added and group in last:
            at = last[group]
            indent = re.match(r"\s*", out[at - 1])[0] or "  "  # type: ignore[index]
            out[at:at] = [f"{indent}{name}: {shown(value)}" for name, value in added.items()]
            last = {key: place + len(added) if place > at else place for key, place in last.items()}
    for group in GROUPS:
        if getattr(wanted, group) and group not in last:
            out += [f"{group}:", *(f"  {n}: {shown(v)}" for n, v in getattr(wanted, group).items())]
    return end.join(out) + end
