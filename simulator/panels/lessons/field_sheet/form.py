"""What is typed on a field sheet: plain text in, a sheet in SI units out, or sentences about what cannot be right."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any

from simulator.diagnosis.field import (
    ENDS,
    LAST,
    MAX_MOTIVE,
    REACH,
    FieldSheet,
    Finding,
    Needle,
    Watch,
    with_card,
)
from simulator.diagnosis.outlook import check_keys, look_times
from simulator.instruments.checks import CHECKS
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.rig import Rig
from simulator.texts import text
from simulator.units import SYSTEMS, UNITS, ZERO_CELSIUS, plain_figure

ROWS = 5  # lines for readings on a new sheet
MAX_ROWS = 12
USUAL_LOOK = 60.0  # [s] after the start, where nobody noted when
LONGEST_WATCH = 3600.0  # [s]
VACUUM_UNITS, MOTIVE_UNITS, LENGTH_UNITS = ("kPa", "inHg"), ("bar", "psi"), ("m", "ft")
#: What a person at the pump tries first; the rest stands further down.
FIRST_LOOKS = ("walk_round", "exhaust_stream", "relief_listen", "listen_pump", "watch_water", "listen_line")
NUMBER = re.compile(r"^\s*([-+]?\d+(?:[.,]\d+)?|[-+]?[.,]\d+)\s*([A-Za-z\"]*)\s*$")
SPELLINGS = {
    "kpa": "kPa",
    "inhg": "inHg",
    "bar": "bar",
    "psi": "psi",
    "m": "m",
    "ft": "ft",
    "s": "s",
    "c": "C",
    "": "",
}
HIGHEST = 5000.0  # [m]


@dataclass(frozen=True)
class Problem:
    """A field that cannot be right, and the sentence about it."""

    field: str
    sentence: str


@dataclass
class Reader:
    """Reads the fields of one form and keeps what is wrong with them."""

    form: dict[str, Any]
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, where: str, key: str, **said: Any) -> None:
        """Note a problem.

        Parameters
        ----------
        where : in the form: the id of the field.
        key : of the sentence that says it.
        """
        self.problems.append(Problem(where, text(f"field_sheet.wrong.{key}", **said)))

    def figure(self, where: str, name: str, typed: Any, unit: str, example: str) -> float | None:
        """A typed figure in SI units [of ``unit``]; None where nothing, or no number, was typed.

        Parameters
        ----------
        name : of the field, as the form shows it.
        example : of a legal entry, for the sentence.
        """
        written = str(typed or "").strip()
        if not written:
            return None
        found = NUMBER.match(written)
        if found is None:
            self.wrong(where, "number", field=name, typed=written[:20], example=example)
            return None
        own = SPELLINGS.get(found.group(2).lower())
        like = {
            unit,
            *next((group for group in (VACUUM_UNITS, MOTIVE_UNITS, LENGTH_UNITS) if unit in group), ()),
        }
        if own is None or (own and own not in like):
            self.wrong(where, "unit", field=name, typed=written[:20])
            return None
        value = float(found.group(1).replace(",", "."))
        chosen = own or unit
        return UNITS[chosen].to_si(value) if chosen in UNITS else value

    def ranged(
        self, where: str, name: str, typed: Any, unit: str, low: float, high: float, default: float
    ) -> float:
        """A figure within its range (SI units), else a problem; the default where nothing was typed.

        Parameters
        ----------
        name : of the field, as the form shows it.
        unit : it was typed in.
        low, high : of its range (SI units).
        """
        value = self.figure(where, name, typed, unit, "10")
        if value is None:
            return default
        if not low <= value <= high:
            size = UNITS[unit].size if unit in UNITS else 1.0
            said = {"low": plain_figure(low / size, 4), "high": plain_figure(high / size, 4), "unit": unit}
            self.wrong(where, "range", field=name, typed=plain_figure(value / size, 4), **said)
            return default
        return value


def blank_form(units: str = "metric", rig: str = "osier") -> dict[str, Any]:
    """An empty sheet in a unit system.

    Parameters
    ----------
    rig : that is filled in to begin with.

    Examples
    --------
    >>> form = blank_form("us")
    >>> form["vacuum_unit"], form["hose"], form["lift"]
    ('inHg', '33', '10')
    """
    system = SYSTEMS[units]
    return {
        "where": "",
        "rig": rig,
        "vacuum_unit": system["vacuum"],
        "motive_unit": system["pressure"],
        "length_unit": system["length"],
        **card_of(rig, system["length"]),
        "altitude": "0",
        "water": "20",
        "rows": [["", "", ""] for _ in range(ROWS)],
        "start": "",
        "watched": "",
        "primed_at": "",
        "seen_at": "",
        "looks": {},
        "remarks": "",
    }


def card_of(rig: str, length_unit: str) -> dict[str, str]:
    """Hose and lift of a rig as its card has them, to begin with.

    Parameters
    ----------
    length_unit : "m" or "ft".
    """
    unit = UNITS[length_unit]
    hose, lift = load_rig(rig).suction_hose.length, standard_site(rig).lift
    return {"hose": f"{unit.from_si(hose):.0f}", "lift": f"{unit.from_si(lift):.0f}"}


def clean_form(given: Any, units: str = "metric") -> dict[str, Any]:
    """A form as the page sent it, of known fields and plain text only; whatever else came is left out.

    Parameters
    ----------
    given : whatever the page sent.
    """
    form = blank_form(units)
    if not isinstance(given, dict):
        return form
    for name, old in form.items():
        value = given.get(name)
        if isinstance(old, str) and isinstance(value, str):
            form[name] = value[:2000] if name == "remarks" else value[:120]
    if isinstance(given.get("rows"), list):
        rows = [
            [str(cell)[:20] for cell in row[:3]]
            for row in given["rows"]
            if isinstance(row, list) and len(row) >= 3
        ]
        form["rows"] = rows[:MAX_ROWS] or form["rows"]
    if isinstance(given.get("looks"), dict):
        form["looks"] = {str(k)[:60]: str(v)[:60] for k, v in list(given["looks"].items())[:80] if v}
    fixed = {
        "rig": rig_names(),
        "vacuum_unit": VACUUM_UNITS,
        "motive_unit": MOTIVE_UNITS,
        "length_unit": LENGTH_UNITS,
    }
    for name, legal in fixed.items():
        if form[name] not in legal:
            form[name] = legal[0] if name != "rig" else "osier"
    return form


def look_key(check: str, place: str) -> str:
    """How a form names a check at a place."""
    return f"{check}|{place}"


def look_groups(rig: Rig) -> dict[str, list[tuple[str, str]]]:
    """Checks and places that can be typed for a rig, by group of the form: looks, tests, joints.

    Examples
    --------
    >>> look_groups(load_rig("osier"))["looks"][0]
    ('walk_round', '')
    """
    groups: dict[str, list[tuple[str, str]]] = {"looks": [], "tests": [], "joints": []}
    for check, place in check_keys(rig):
        item = CHECKS[check]
        name = "joints" if place else "tests" if item.opens or "running" not in item.needs else "looks"
        groups["looks" if check in FIRST_LOOKS else name].append((check, place))
    first = {name: i for i, name in enumerate(FIRST_LOOKS)}
    groups["looks"].sort(key=lambda pair: first.get(pair[0], len(first)))
    groups["joints"].sort(key=lambda pair: pair[0])
    return groups


def parse_form(form: dict[str, Any]) -> tuple[FieldSheet | None, list[Problem]]:
    """The sheet that a form holds; None with the problems where something cannot be right.

    Examples
    --------
    >>> form = blank_form() | {"rows": [["20", "18", "5,6"], ["60", "22 kPa", ""]]}
    >>> sheet, problems = parse_form(form)
    >>> sheet.needles[0], problems
    (Needle(time=20.0, vacuum=18000.0, motive=560000.0), [])
    """
    reader = Reader(form)
    rig, site = load_rig(form["rig"]), standard_site(form["rig"])
    names = {
        name: text(f"field_sheet.fields.{name}") for name in ("hose", "lift", "altitude", "water", "watched")
    }
    unit = form["length_unit"]
    hose = reader.ranged("hose", names["hose"], form["hose"], unit, 2.0, 60.0, rig.suction_hose.length)
    lift = reader.ranged("lift", names["lift"], form["lift"], unit, 0.0, 10.5, site.lift)
    height = reader.ranged(
        "altitude", names["altitude"], form["altitude"], unit, -400.0, HIGHEST, site.altitude
    )
    warm = reader.ranged("water", names["water"], form["water"], "C", 0.0, 50.0, 20.0) + ZERO_CELSIUS
    needed = REACH * (lift + site.submergence)
    if hose < needed:
        size, reach = UNITS[unit].size, f"{needed / UNITS[unit].size + 0.05:.1f} {unit}"
        reader.wrong("hose", "short_hose", hose=f"{plain_figure(hose / size, 4)} {unit}", least=reach)
    if reader.problems:
        air = float(pressure_at_altitude(0.0))
    else:
        rig, site = with_card(rig, site, hose=hose, lift=lift, altitude=height, water=warm)
        air = float(pressure_at_altitude(height))
    needles = _needles(reader, rig, air)
    watch = _watch(reader, max((each.time for each in needles), default=math.nan))
    findings = _findings(reader, rig)
    sheet = FieldSheet(rig, site, needles, findings, watch)
    if sheet.is_empty and not reader.problems:
        reader.wrong("", "empty")
    return (None if reader.problems else sheet), reader.problems


def _needles(reader: Reader, rig: Rig, air: float) -> tuple[Needle, ...]:
    form, out = reader.form, []
    seen: dict[float, int] = {}
    vacuum_unit, motive_unit = form["vacuum_unit"], form["motive_unit"]
    for number, (time_typed, vacuum_typed, motive_typed) in enumerate(form["rows"], start=1):
        where = f"rows:{number - 1}"
        if not any(str(cell).strip() for cell in (time_typed, vacuum_typed, motive_typed)):
            continue
        count = len(reader.problems)
        cells = (
            ("time", "s", time_typed, "30"),
            ("vacuum", vacuum_unit, vacuum_typed, "22"),
            ("motive", motive_unit, motive_typed, "5.6"),
        )
        time, vacuum, motive = (
            reader.figure(f"{where}:{n}", in_line(number, name, unit=unit if n else ""), typed, unit, example)
            for n, (name, unit, typed, example) in enumerate(cells)
        )
        if time is not None and time < 0.0:
            reader.wrong(f"{where}:0", "early", row=number, typed=f"{time:g}")
        if len(reader.problems) > count:
            continue
        if time is None:
            reader.wrong(f"{where}:0", "no_time", row=number)
        elif vacuum is None and motive is None:
            reader.wrong(f"{where}:1", "no_reading", row=number)
        elif time > LAST:
            reader.wrong(f"{where}:0", "late", row=number, typed=f"{time:g}", last=f"{LAST:g}")
        elif time in seen:
            reader.wrong(f"{where}:0", "same_time", row=seen[time], other=number)
        elif vacuum is not None and vacuum > air:
            size = UNITS[vacuum_unit].size
            other = next(name for name in VACUUM_UNITS if name != vacuum_unit)
            said = {
                "typed": plain_figure(vacuum / size, 4),
                "unit": vacuum_unit,
                "high": f"{air / size:.0f}",
                "other": other,
            }
            reader.wrong(f"{where}:1", "vacuum", row=number, **said)
        elif vacuum is not None and vacuum < -air:
            named = in_line(number, "vacuum", unit=vacuum_unit)
            _out_of_range(reader, f"{where}:1", named, vacuum, vacuum_unit, -air, air)
        elif motive is not None and not 0.0 <= motive <= MAX_MOTIVE:
            named = in_line(number, "motive", unit=motive_unit)
            _out_of_range(reader, f"{where}:2", named, motive, motive_unit, 0.0, MAX_MOTIVE)
        elif motive is not None and not rig.has_motive_gauge:
            reader.wrong(f"{where}:2", "no_gauge", row=number, rig=rig.title)
        else:
            seen[time] = number
            out.append(
                Needle(time, math.nan if vacuum is None else vacuum, math.nan if motive is None else motive)
            )
    return tuple(out)


def in_line(number: int, name: str, **said: str) -> str:
    """A column of the readings by the number [-] of its line, as the form names it.

    Parameters
    ----------
    name : of the column, under the field sheet's fields in the catalogue.

    Examples
    --------
    >>> in_line(2, "vacuum", unit="kPa")
    'Line 2, Suction gauge, kPa'
    """
    return text("field_sheet.in_line", row=number, field=text(f"field_sheet.fields.{name}", **said))


def _out_of_range(
    reader: Reader, where: str, named: str, value: float, unit: str, low: float, high: float
) -> None:
    size = UNITS[unit].size
    said = {"low": plain_figure(low / size, 4), "high": plain_figure(high / size, 4), "unit": unit}
    reader.wrong(where, "range", field=named, typed=plain_figure(value / size, 4), **said)


def _watch(reader: Reader, last: float) -> Watch | None:
    """How the start went; where nobody typed how long it ran it ran until the last reading, ``last`` [s] or NaN."""
    form = reader.form
    if form["start"] not in ("dry", *ENDS):
        return None
    named = text("field_sheet.fields.watched")
    watched = reader.figure("watched", named, form["watched"], "s", "90")
    cut_short = watched is not None and 1.0 <= watched < last

    def ran(for_how_long: Watch) -> Watch | None:
        if cut_short:
            reader.wrong("watched", "read_on", watched=f"{watched:g}", last=f"{last:g}")
        return None if cut_short else for_how_long

    if form["start"] == "dry":
        if any(problem.field == "watched" for problem in reader.problems):
            return None
        if watched is None and last >= 1.0:
            watched = last
        if watched is None:
            reader.wrong("watched", "no_watched")
            return None
        if not 1.0 <= watched <= LONGEST_WATCH:
            said = {"low": "1", "high": f"{LONGEST_WATCH:g}", "unit": "s", "typed": f"{watched:g}"}
            reader.wrong("watched", "range", field=named, **said)
            return None
        return ran(Watch(watched))
    primed = reader.figure("primed_at", text("field_sheet.fields.primed_at"), form["primed_at"], "s", "40")
    if primed is None or not 1.0 <= primed <= LONGEST_WATCH:
        if not any(problem.field == "primed_at" for problem in reader.problems):
            reader.wrong("primed_at", "no_prime_time")
        return None
    if watched is None:
        watched = primed + 5.0  # it was seen to pump, and no longer is claimed
    if watched < primed:
        reader.wrong("primed_at", "prime_late", typed=f"{primed:g}", watched=f"{watched:g}")
        return None
    return ran(Watch(watched, primed, form["start"]))


def _findings(reader: Reader, rig: Rig) -> tuple[Finding, ...]:
    form, out = reader.form, []
    at = reader.ranged(
        "seen_at", text("field_sheet.fields.seen_at"), form["seen_at"], "s", 0.0, LAST, USUAL_LOOK
    )
    for group in look_groups(rig).values():
        for check, place in group:
            outcome = form["looks"].get(look_key(check, place), "")
            if outcome in CHECKS[check].outcomes:
                stopped = all(math.isnan(time) for time in look_times(CHECKS[check]))
                out.append(Finding(check, outcome, place, math.nan if stopped else at))
    return tuple(out)
