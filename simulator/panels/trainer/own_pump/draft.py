"""The desk of the own pump: texts by the names of fields, every step back and on, and what they come to.

Arguments, the same throughout: ``fields`` the texts by name; ``name`` of a field.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import yaml

from simulator.errors import InputError
from simulator.measured.figures import MEASURES, NEEDED, measured_rig, nearest_rig, unit_of_key
from simulator.measured.fit import ROOM, ROOM_UNKNOWN
from simulator.measured.start import TimedStart, place_of, set_up
from simulator.measured.table import BadLine, Readings, read_readings
from simulator.panels.trainer.field_steps import FieldSteps
from simulator.panels.trainer.own_pump.typing import figure, plain_unit, shown
from simulator.rig.plain_yaml import read_bytes
from simulator.rig.presets import standard_site
from simulator.rig.rig import Rig
from simulator.units import PASCAL_PER_INHG, plain_figure

ROWS, MOST_ROWS = 16, 200
EVERY = 5  # [s] between readings, as the empty table has them
LONGEST_TEXT = 20_000
FORMAT, VERSION = "pump-measured", 1
START = {
    "lift_m": (0.5, 9.0),
    "hose_length_m": (2.0, 60.0),
    "hose_bore_mm": (50.0, 400.0),
    "submergence_m": (0.0, 10.0),
    "altitude_m": (-400.0, 4000.0),
    "prime_s": (5.0, 900.0),
}
OPTIONAL = ("submergence_m", "altitude_m", "hose_length_m", "hose_bore_mm")
VACUUM = {"kPa": 1e3, "inHg": PASCAL_PER_INHG}


@dataclass(frozen=True)
class Wrong:
    """What is wrong at a field: its kind, the legal range in words, and the nearest legal value."""

    kind: str
    legal: str = ""
    nearest: str = ""


@dataclass(frozen=True)
class Taken:
    """What the fields come to: measured figures, the start, and all that is wrong at a field or in a row."""

    values: dict[str, float]
    base: str
    rig: Rig | None
    start: TimedStart | None
    wrong: dict[str, Wrong]
    bad_rows: tuple[BadLine, ...]
    room: float
    begun: bool  # whether a start is being written down

    @property
    def ready(self) -> bool:
        """Whether it can be fitted: nothing is wrong, and a start stands there."""
        return self.rig is not None and self.start is not None and not self.wrong and not self.bad_rows


def new_fields(system: str = "metric") -> dict[str, str]:
    """An empty desk.

    Parameters
    ----------
    system : units of figures that name none.

    Examples
    --------
    >>> new_fields()["r.1.t"], new_fields("us")["vacuum"]
    ('10', 'inHg')
    """
    out = {"system": system, "title": "", "paste": "", "vacuum": "inHg" if system == "us" else "kPa"}
    out |= dict.fromkeys(MEASURES, "") | {f"start.{key}": "" for key in START}
    for row in range(ROWS):
        out |= {f"r.{row}.t": str(EVERY * (row + 1)), f"r.{row}.v": ""}
    return out


def row_count(fields: Mapping[str, str]) -> int:
    """How many rows the table has [-]."""
    return sum(1 for name in fields if name.startswith("r.") and name.endswith(".t"))


def rows_of(fields: Mapping[str, str]) -> Readings:
    """The readings that stand in the table; bad lines by the number of their row.

    Examples
    --------
    >>> rows_of({**new_fields(), "r.0.v": "8,5", "r.2.v": "x"}).bad[0].number
    3
    """
    lines = []
    for row in range(row_count(fields)):
        time, vacuum = (fields.get(f"r.{row}.{key}", "").strip().replace("\t", " ") for key in "tv")
        lines.append(f"{time}\t{vacuum}" if vacuum else "")
    return read_readings("\n".join(lines), fields.get("vacuum", "kPa"))


def _judged(name: str, typed: str, low: float, high: float, system: str) -> tuple[float, Wrong | None]:
    key = name.rpartition(".")[2]
    value, unit = figure(typed, key, system), plain_unit(key, system)
    legal = f"{shown(low, key, system)} to {shown(high, key, system)} {unit}".rstrip()
    if math.isnan(value):
        return value, Wrong("number", legal)
    if not low <= value <= high:
        return value, Wrong("range", legal, shown(low if value < low else high, key, system))
    if key == "joints" and value != round(value):
        return value, Wrong("whole", legal, str(round(value)))
    return value, None


@lru_cache(maxsize=4)
def _read(frozen: tuple[tuple[str, str], ...]) -> Taken:
    fields = dict(frozen)
    system = fields["system"]
    wrong: dict[str, Wrong] = {}
    values: dict[str, float] = {}
    for key, measure in MEASURES.items():
        typed = fields[key].strip()
        if key == "cock":
            if typed in ("yes", "no"):
                values[key] = float(typed == "yes")
            continue
        if not typed:
            if key in NEEDED:
                wrong[key] = Wrong("missing")
            continue
        value, found = _judged(key, typed, measure.low, measure.high, system)
        if found is None:
            values[key] = value
        else:
            wrong[key] = found
    base = nearest_rig(values)
    rig = None
    if not any(key in wrong for key in MEASURES):
        try:
            rig = measured_rig(values, base, "own", "-")
        except InputError as error:  # parts that do not go together
            wrong["hose_bore_mm"] = Wrong("together", str(error))
    rows = rows_of(fields)
    begun = any(fields[f"start.{key}"].strip() for key in ("lift_m", "prime_s")) or bool(rows.times)
    start = _start(fields, values, base, rig, rows, wrong) if begun else None
    room = ROOM if "casing_volume_l" in values else ROOM_UNKNOWN
    return Taken(values, base, rig, start, wrong, rows.bad, room, begun)


def _start(
    fields: Mapping[str, str],
    values: dict[str, float],
    base: str,
    rig: Rig | None,
    rows: Readings,
    wrong: dict[str, Wrong],
) -> TimedStart | None:
    found: dict[str, float] = {}
    for key, (low, high) in START.items():
        typed = fields[f"start.{key}"].strip()
        if typed:
            value, problem = _judged(f"start.{key}", typed, low, high, fields["system"])
            if problem is None:
                found[key] = value
            else:
                wrong[f"start.{key}"] = problem
        elif key == "lift_m":
            wrong[f"start.{key}"] = Wrong("missing")
    if rig is None or any(name.startswith("start.") for name in wrong):
        return None
    start = TimedStart(
        lift=found["lift_m"],
        hose_length=found.get("hose_length_m", values["hose_length_m"]),
        hose_bore=found.get("hose_bore_mm", values["hose_bore_mm"]) / 1e3,
        prime_time=found.get("prime_s", math.nan),
        times=rows.times,
        vacuums=rows.vacuums,
        submergence=found.get("submergence_m", standard_site(base).submergence),
        altitude=found.get("altitude_m", 0.0),
    )
    try:
        set_up(rig, start)
    except InputError as error:
        field = "start.hose_length_m" if fields["start.hose_length_m"].strip() else "start.lift_m"
        least = 1.05 * (place_of(start).lift + start.submergence)
        wrong[field] = Wrong("short", f"{shown(least + 0.05, 'lift_m', fields['system'])} "
                             f"{plain_unit('lift_m', fields['system'])}", str(error))  # fmt: skip
        return None
    return start


class Draft(FieldSteps):
    """The desk with every step back and on.

    Examples
    --------
    >>> draft = Draft()
    >>> draft.set("hose_bore_mm", "150")
    >>> draft.undo()
    >>> draft.fields["hose_bore_mm"]
    ''
    """

    def __init__(self, fields: Mapping[str, str] | None = None, system: str = "metric") -> None:
        super().__init__(dict(fields or new_fields(system)))

    def taken(self) -> Taken:
        """What the fields come to."""
        return _read(tuple(sorted(self.fields.items())))

    def set(self, name: str, value: str, *, same_word: bool = False) -> None:
        """Put something into a field.

        Parameters
        ----------
        value : as typed.
        same_word : one goes on typing in the same field; the step before is part of the same.
        """
        fields = self.fields
        value = value[:LONGEST_TEXT]
        if name not in fields or fields[name] == value:
            return
        if name == "system":
            fields = in_units(fields, value)
        fields[name] = value
        self.step(with_room(fields), typed=name, same_word=same_word)

    def take_readings(self, readings: Readings, written: str) -> None:
        """Put readings into the table in place of those that stand there; a text with bad lines stays in its box.

        Parameters
        ----------
        readings : that were read.
        written : the text they were read from.
        """
        fields = {name: value for name, value in self.fields.items() if not name.startswith("r.")}
        size = VACUUM[fields["vacuum"]]
        for row, (time, vacuum) in enumerate(zip(readings.times, readings.vacuums, strict=True)):
            fields |= {f"r.{row}.t": plain_figure(time, 6), f"r.{row}.v": plain_figure(vacuum / size, 4)}
        fields["paste"] = written if readings.bad else ""
        self.step(with_room(fields))


def with_room(fields: dict[str, str]) -> dict[str, str]:
    """The fields with at least two empty rows at the end of the table."""
    count = row_count(fields)
    filled = max((row + 1 for row in range(count) if fields[f"r.{row}.v"].strip()), default=0)
    out = dict(fields)
    for row in range(count, min(max(ROWS, filled + 2), MOST_ROWS)):
        before = figure(out.get(f"r.{row - 1}.t", ""), "prime_s", "metric") if row else 0.0
        out |= {f"r.{row}.t": "" if math.isnan(before) else f"{before + EVERY:g}", f"r.{row}.v": ""}
    return out


def in_units(fields: Mapping[str, str], system: str) -> dict[str, str]:
    """The fields with every figure that names no unit in the other system; what cannot be read stays as it is.

    Parameters
    ----------
    system : the one to change to.

    Examples
    --------
    >>> in_units({**new_fields(), "hose_bore_mm": "152.4", "hose_length_m": "10 m"}, "us")["hose_bore_mm"]
    '6'
    """
    out, old = dict(fields), fields["system"]
    for name in (*MEASURES, *(f"start.{key}" for key in START)):
        key, typed = name.rpartition(".")[2], fields[name].strip()
        value = figure(typed, key, old)
        if (
            unit_of_key(key) in ("", "s")
            or math.isnan(value)
            or not typed.replace(",", ".").replace(".", "", 1).isdigit()
        ):
            continue
        out[name] = shown(value, key, system)
    vacuum = "inHg" if system == "us" else "kPa"
    share = VACUUM[fields["vacuum"]] / VACUUM[vacuum]
    for row in range(row_count(fields)):
        value = figure(fields[f"r.{row}.v"], "joints", old)
        if not math.isnan(value) and share != 1.0:
            out[f"r.{row}.v"] = plain_figure(value * share)
    return {**out, "system": system, "vacuum": vacuum}


def written_fields(fields: Mapping[str, str]) -> bytes:
    """What was measured, as the text of a file; read and written again it is the same to the byte."""
    kept = {name: fields[name] for name in fields if fields[name]}
    head = {"format": FORMAT, "version": VERSION}
    written: str = yaml.safe_dump({**head, "fields": kept}, sort_keys=False, allow_unicode=True, width=110)
    return written.encode("utf-8")


def read_fields(written: bytes, source: str) -> dict[str, str]:
    """The fields that a file holds.

    Parameters
    ----------
    written : the file's bytes.
    source : what to call it in an error.

    Raises
    ------
    InputError : it is no such file.

    Examples
    --------
    >>> read_fields(written_fields(new_fields()), "a file") == new_fields()
    True
    """
    document = read_bytes(written, source)
    data = document.data if isinstance(document.data, dict) else {}
    kept = data.get("fields")
    if data.get("format") != FORMAT or data.get("version") != VERSION or not isinstance(kept, dict):
        raise InputError(
            "this is no file of measured figures", source, f"format: {FORMAT}, version: {VERSION}"
        )
    fields = new_fields()
    system, vacuum = kept.get("system"), kept.get("vacuum")
    for name, value in kept.items():
        legal = name in fields or (
            name.startswith("r.") and name[-2:] in (".t", ".v") and name[2:-2].isdigit()
        )
        if legal and isinstance(value, str):
            fields[name] = value[:LONGEST_TEXT]
    fields["system"] = system if system in ("metric", "us") else "metric"
    fields["vacuum"] = vacuum if vacuum in VACUUM else "kPa"
    count = max((int(n[2:-2]) + 1 for n in fields if n.startswith("r.")), default=ROWS)
    for row in range(min(count, MOST_ROWS)):
        fields.setdefault(f"r.{row}.t", "")
        fields.setdefault(f"r.{row}.v", "")
    return fields
