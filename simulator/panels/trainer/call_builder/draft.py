"""A call-out while it is being built: what stands in the fields, what is wrong with it, and every step back and on.

Fields hold text as it was typed, under the names ``title``, ``site.lift_m``, ``faults.0.size`` and so on. Whether it
can be a call-out is for the loader of call-outs to say; this file only turns fields into what a file holds, and asks.

Arguments, the same throughout: ``fields`` the texts by name; ``name`` of a field; ``scenario`` a call-out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from simulator.errors import InputError
from simulator.panels.trainer.call_builder.typing import figure, shown
from simulator.panels.trainer.field_steps import FieldSteps
from simulator.rig.faults import FAULTS
from simulator.scenario import Scenario, read_scenario, scenario_from, scenario_text
from simulator.scenario.model import FORMAT, MAX_FAULTS, VERSION

Fields = Mapping[str, str]

SITE = ("name", "lift_m", "submergence_m", "altitude_m", "air_temperature_c", "water_temperature_c")
LENGTHS = ("hose_length_m", "discharge_length_m", "discharge_rise_m")
WORDS = ("title", "brief", "language", "cause", "rig", "mode")
WHOLE = ("number", "level", "seed")
OF_FAULT = ("fault", "place", "size", "start", "grows")
ALL_CHECKS = "all"
AT_ONCE = 1.0  # [s] in which a fault comes that does not grow
MOST_PROBLEMS = 40
SOURCE = "call-out"
_AT = re.compile(r"^faults\[(\d+)\](?:\.(.*))?$")
_RANGE = re.compile(r"^(?:a whole number, )?(-?[\d.]+(?:e[+-]?\d+)?) to (-?[\d.]+(?:e[+-]?\d+)?)(?: |$)")
_NUMBER = re.compile(r"^(-?[\d.]+(?:e[+-]?\d+)?) is out of range")
_SHORT = re.compile(r"^a hose of (?P<hose>[\d.]+) m cannot climb (?P<climb>[\d.]+) m$")
#: What together decides whether the hose reaches: it is told at the one that was typed last.
REACH = ("site.lift_m", "hose_length_m", "site.submergence_m")
_MEANT = re.compile(r"did you mean '([^']*)'")


@dataclass(frozen=True)
class Problem:
    """One thing that cannot be: the field it stands in, what is wrong, what would be legal, and the nearest that is."""

    field: str
    what: str
    legal: str
    nearest: str = ""


def fields_of(scenario: Scenario) -> dict[str, str]:
    """The fields of a call-out.

    Examples
    --------
    >>> call = scenario_from({"format": "callout-scenario", "version": 3, "title": "A call", "brief": "It will not draw.",
    ...                       "site": {"lift_m": 3}})
    >>> fields_of(call)["site.lift_m"], data_of(fields_of(call)) == call.content()
    ('3', True)
    """
    data = scenario.content()
    out = {key: shown(data.get(key)) for key in (*WORDS, *WHOLE, *LENGTHS)}
    out |= {f"site.{key}": shown(data["site"].get(key)) for key in SITE}
    out["see_through"] = "yes" if data["see_through"] else ""
    checks = data["allowed_checks"]
    out["allowed_checks"] = checks if isinstance(checks, str) else " ".join(checks)
    for number, choice in enumerate(scenario.faults):
        item = FAULTS[choice.fault]
        start, end = choice.times or (None, None)
        grows = None if start is None or end is None else round(end - start, 6)
        out |= fault_fields(
            number,
            choice.fault,
            choice.place,
            shown(getattr(choice, item.size.key)) if item.size else "",
            shown(start),
            "" if grows == AT_ONCE else shown(grows),
        )
    return out


def fault_fields(
    number: int, fault: str, place: str = "", size: str = "", start: str = "", grows: str = ""
) -> dict[str, str]:
    """The fields of one fault.

    Parameters
    ----------
    number : which, from 0 [-].
    fault, place, size, start, grows : as they stand in its fields.
    """
    return dict(
        zip((f"faults.{number}.{key}" for key in OF_FAULT), (fault, place, size, start, grows), strict=True)
    )


def fault_count(fields: Fields) -> int:
    """How many faults are named [-].

    Examples
    --------
    >>> fault_count(fault_fields(0, "belt_loose"))
    1
    """
    return sum(f"faults.{number}.fault" in fields for number in range(MAX_FAULTS))


def data_of(fields: Fields) -> dict[str, Any]:
    """What a file with these fields holds; nothing is judged here."""
    out: dict[str, Any] = {"format": FORMAT, "version": VERSION}
    for key in ("title", "brief"):
        out[key] = fields.get(key, "")
    if fields.get("number", "").strip():
        out["number"] = _whole(fields["number"])
    out["language"] = fields.get("language", "").strip() or "en"
    if fields.get("level", "").strip():
        out["level"] = _whole(fields["level"])
    if fields.get("cause"):
        out["cause"] = fields["cause"]
    out["rig"] = fields.get("rig", "")
    for key in LENGTHS:
        if fields.get(key, "").strip():
            out[key] = figure(fields[key], key)
    out["site"] = {
        key: fields.get(f"site.{key}", "") if key == "name" else figure(fields.get(f"site.{key}", ""), key)
        for key in SITE
        if key == "name" or fields.get(f"site.{key}", "").strip()
    }
    out["faults"] = [_fault_data(fields, number) for number in range(fault_count(fields))]
    out["mode"] = fields.get("mode", "")
    out["see_through"] = fields.get("see_through") == "yes"
    checks = fields.get("allowed_checks", ALL_CHECKS)
    out["allowed_checks"] = ALL_CHECKS if checks == ALL_CHECKS else checks.split()
    out["seed"] = _whole(fields.get("seed", "").strip() or "0")
    return out


def _whole(typed: str) -> int | float | str:
    value = figure(typed, "")
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _fault_data(fields: Fields, number: int) -> dict[str, Any]:
    fault, place, size, start, grows = (fields.get(f"faults.{number}.{key}", "").strip() for key in OF_FAULT)
    out: dict[str, Any] = {"fault": fault}
    item = FAULTS.get(fault)
    if item is not None and item.size is not None and size:
        out[item.size.key] = figure(size, item.size.key)
    if place:
        out["place"] = place
    if start or grows:
        begin = figure(start or "0", "start_s")
        span = figure(grows, "grows_s") if grows else AT_ONCE
        out["start_s"] = begin
        figures = isinstance(begin, float) and isinstance(span, float)
        out["end_s"] = round(float(begin) + float(span), 6) if figures else span
    return out


def field_of(where: str, data: Mapping[str, Any]) -> str:
    """The field that a place in a file belongs to.

    Parameters
    ----------
    where : as an error of the loader says it.
    data : what the loader was given.

    Examples
    --------
    >>> field_of("call-out, line 1, site.lift_m", {}), field_of("call-out, line 1, faults[1].place", {"faults": [{}]})
    ('site.lift_m', 'faults.0.place')
    """
    key = where.rpartition(", ")[2]
    found = _AT.match(key)
    if not found:
        return re.sub(r"\[\d+\].*$", "", key) if key in data or "." in key or "[" in key else "title"
    number, last = int(found[1]) - 1, found[2] or "fault"
    if last == "end_s":
        return f"faults.{number}.grows"
    if last == "start_s":
        return f"faults.{number}.start"
    return f"faults.{number}.{last if last in OF_FAULT else 'size'}"


def problems_of(fields: Fields, reach: str = "") -> tuple[Scenario | None, list[Problem]]:
    """The call-out of these fields, or all that is wrong with them, each thing at its field.

    The loader tells one thing at a time; what it has told of is set aside and it is asked again.

    Parameters
    ----------
    reach : which of the three fields that decide whether the hose reaches was typed last.

    Examples
    --------
    >>> good = fields_of(scenario_from({"format": "callout-scenario", "version": 3, "title": "A call",
    ...                                 "brief": "It will not draw.", "site": {"lift_m": 3}}))
    >>> problems_of(good | {"site.lift_m": "30", "title": ""})[1]
    [Problem(field='title', what='there is nothing here', legal='one line of 1 to 80 characters', nearest=''), \
Problem(field='site.lift_m', what='30 is out of range', legal='-5 to 12 m', nearest='12')]
    """
    trial, found = dict(fields), []
    for _ in range(MOST_PROBLEMS):
        data = data_of(trial)
        try:
            scenario = scenario_from(data, SOURCE)
        except InputError as error:
            name = field_of(error.where, data)
            short = _SHORT.match(error.what) if name == REACH[0] else None
            if short is not None:
                found.append(_too_short(trial, reach, float(short["hose"]), float(short["climb"])))
                name = found[-1].field
            else:
                found.append(Problem(name, error.what, error.legal, _nearest(error, fields.get(name, ""))))
            if not _set_aside(trial, name):
                break
        else:
            return (None, found) if found else (scenario, [])
    return None, found


def _too_short(fields: Fields, reach: str, hose: float, climb: float) -> Problem:
    """That the hose does not reach, at the field that was typed, with what would do there.

    The hose has to be a twentieth longer than what it climbs (``hose_profile``).
    """
    name = (
        reach
        if fields.get(reach, "").strip()
        else next(
            each for each in ("hose_length_m", REACH[0]) if fields.get(each, "").strip() or each == REACH[0]
        )
    )
    what, lift = f"a hose of {hose:g} m cannot climb {climb:g} m", figure(fields.get(REACH[0], ""), "lift_m")
    deep = climb - float(lift) if isinstance(lift, float) else 0.0
    if name == "hose_length_m":
        tenths = math.ceil(10.5 * climb - 1e-6)
        least = f"{(tenths + (tenths / 10.0 < 1.05 * climb)) / 10.0:g}"
        return Problem(name, what, f"at least {least} m", least)
    other = deep if name == REACH[0] else climb - deep
    most = math.floor(10.0 * (hose / 1.05 - other)) / 10.0
    return Problem(name, what, f"at most {most:g} m with this hose", f"{most:g}")


def _nearest(error: InputError, typed: str) -> str:
    """The legal value nearest to what was typed, where that can be said."""
    meant = _MEANT.search(error.what)
    if meant:
        return meant[1]
    span, given = _RANGE.match(error.legal), _NUMBER.match(error.what)
    if span and given:
        low, high = float(span[1]), float(span[2])
        try:
            value = float(given[1])
        except ValueError:  # too long to be told whole
            value = -math.inf if given[1].startswith("-") else math.inf
        return shown(low if value < low else high)
    return ""


#: What stands in for a field that is wrong while the loader is asked on; any legal value would do.
_STAND_IN = {
    "title": "-",
    "brief": "-",
    "rig": "osier",
    "mode": "practice",
    "site.lift_m": "3",
    "allowed_checks": ALL_CHECKS,
    "language": "en",
}


def _set_aside(trial: dict[str, str], name: str) -> bool:
    """Put something legal in place of a field that was told of; whether there was something to put."""
    if name.startswith("faults."):
        number = int(name.split(".")[1])
        item = FAULTS.get(trial.get(f"faults.{number}.fault", ""))
        key = name.rpartition(".")[2]
        if key == "size" and item is not None and item.size is not None:
            good = shown(item.size.in_file(item.size.middle))
            if trial[name] != good:
                trial[name] = good
                return True
        elif key in ("start", "grows") and (
            trial[f"faults.{number}.start"] or trial[f"faults.{number}.grows"]
        ):
            trial[f"faults.{number}.start"] = trial[f"faults.{number}.grows"] = ""
            return True
        remove_fault(trial, number)
        return True
    good = _STAND_IN.get(name, "")
    if trial.get(name, "") == good:
        if name != "site.lift_m":
            return False
        trial["site.submergence_m"], trial["hose_length_m"] = "", ""
        good = "1"
        if trial[name] == good:
            return False
    trial[name] = good
    return True


def remove_fault(fields: dict[str, str], number: int) -> None:
    """Take one fault out, and move those behind it up.

    Parameters
    ----------
    number : which, from 0 [-].
    """
    count = fault_count(fields)
    kept = [[fields.pop(f"faults.{n}.{key}", "") for key in OF_FAULT] for n in range(count)]
    for place, texts in enumerate(kept[:number] + kept[number + 1 :]):
        fields |= fault_fields(place, *texts)


class Draft(FieldSteps):
    """The call-out on the desk, with every step back and on.

    Examples
    --------
    >>> draft = Draft.new()
    >>> draft.set("site.lift_m", "4")
    >>> draft.undo()
    >>> draft.fields["site.lift_m"]
    '3'
    """

    def __init__(self, scenario: Scenario, original: bytes = b"") -> None:
        super().__init__(fields_of(scenario))
        self._reach = ""  # what was typed last of what decides whether the hose reaches
        self._original, self._opened = original, scenario

    @classmethod
    def new(cls) -> Draft:
        """A call-out to begin with: a sound rig of the yard."""
        from simulator.texts import text

        data = {
            "format": FORMAT,
            "version": VERSION,
            "title": text("desks.new.title"),
            "brief": text("desks.new.brief"),
        }
        return cls(scenario_from({**data, "site": {"name": text("desks.new.site"), "lift_m": 3.0}}))

    @classmethod
    def opened(cls, written: bytes, source: str) -> Draft:
        """The draft of a file.

        Parameters
        ----------
        written : the file's bytes; they are given back as they were as long as nothing differs.
        source : what to call it in an error.

        Raises
        ------
        InputError : it is no call-out: source, line, key and what would be legal.
        """
        return cls(read_scenario(written, source), written)

    def checked(self) -> tuple[Scenario | None, list[Problem]]:
        """The call-out, or all that is wrong with it."""
        return problems_of(self.fields, self._reach)

    def set(self, name: str, value: str, *, same_word: bool = False) -> None:
        """Put something into a field.

        Parameters
        ----------
        value : as typed.
        same_word : one goes on typing in the same field; the step before is part of the same.
        """
        fields = self.fields
        if fields.get(name) == value:
            return
        fields[name] = value
        if name in REACH:
            self._reach = name
        if name.endswith(".fault"):
            number = int(name.split(".")[1])
            fields |= self._usual(number, value, fields.get("rig", ""))
        self.step(fields, typed=name, same_word=same_word)

    def add_fault(self, fault: str, place: str = "") -> None:
        """Name one fault more, in its middle size.

        Parameters
        ----------
        fault : its id.
        place : such as ``joint:2``, counted from 1; its first place where it is left out.

        Raises
        ------
        InputError : there is no room for another.
        """
        fields = self.fields
        number = fault_count(fields)
        if number >= MAX_FAULTS:
            raise InputError(f"there are {MAX_FAULTS} faults already", "faults", f"at most {MAX_FAULTS}")
        fields |= self._usual(number, fault, fields.get("rig", ""))
        if place:
            fields[f"faults.{number}.place"] = place
        self.step(fields)

    def drop_fault(self, number: int) -> None:
        """Take a fault out.

        Parameters
        ----------
        number : which, from 0 [-].
        """
        fields = self.fields
        if f"faults.{number}.fault" not in fields:
            return
        remove_fault(fields, number)
        self.step(fields)

    def replace_with(self, scenario: Scenario) -> None:
        """Take over a whole call-out, such as one written by hand, as one step."""
        self.step(fields_of(scenario))

    def written(self) -> bytes:
        """The file: the opened one byte for byte while it says the same, else written anew under its first remarks.

        Raises
        ------
        InputError : something is wrong with the call-out.
        """
        scenario, problems = self.checked()
        if scenario is None:
            first = problems[0]
            raise InputError(first.what, first.field, first.legal)
        if self._original and scenario == self._opened:
            return self._original
        return self._remarks() + scenario_text(scenario).encode("utf-8")

    def loses_remarks(self) -> bool:
        """Whether remarks further down in the opened file would be lost in writing it."""
        head = len(self._remarks())
        inside = any(re.search(rb"(^|\s)#", line) for line in self._original[head:].splitlines())
        return inside and self.written() != self._original

    def saved(self, written: bytes) -> None:
        """Take note that the file now holds these bytes.

        Parameters
        ----------
        written : the file's bytes.
        """
        self._original, self._opened = written, read_scenario(written, SOURCE)

    @property
    def unsaved(self) -> bool:
        """Whether something differs from the file."""
        scenario, _ = self.checked()
        return not self._original or scenario != self._opened

    def _remarks(self) -> bytes:
        lines = self._original.decode("utf-8", errors="replace").splitlines(keepends=True)
        kept = []
        for line in lines:
            if not line.startswith("#"):
                break
            kept.append(line)
        return "".join(kept).encode("utf-8")

    @staticmethod
    def _usual(number: int, fault: str, rig: str) -> dict[str, str]:
        """A fault in its middle size at its first place; an unknown one is left for the loader to name."""
        from simulator.rig.presets import load_rig
        from simulator.scenario.choices import moved_place

        item = FAULTS.get(fault)
        if item is None:
            return fault_fields(number, fault)
        size = shown(item.size.in_file(item.size.middle)) if item.size else ""
        try:
            places = item.places(load_rig(rig))
        except InputError:
            places = ()
        return fault_fields(number, fault, moved_place(places[0], 1) if places else "", size)
