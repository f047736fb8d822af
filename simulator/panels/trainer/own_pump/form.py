"""The fields of the own pump's desk as the page draws them, each with its picture, and what is wrong at each.

Arguments, the same throughout: ``fields`` the texts by name, as a draft holds them; ``taken`` what they come to.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simulator.measured.figures import NEEDED, measured_of
from simulator.measured.table import BadLine
from simulator.panels.trainer.own_pump.draft import START, VACUUM, Taken, Wrong, row_count
from simulator.panels.trainer.own_pump.typing import beside, plain_unit, shown
from simulator.rig.presets import load_rig, standard_site
from simulator.texts import entry, text

Field = dict[str, Any]
GROUPS = {
    "hose": ("hose_bore_mm", "hose_length_m", "joints", "strainer_diameter_mm"),
    "casing": ("casing_volume_l", "casing_height_m", "pump_head_m", "pump_flow_l_s"),
    "drive": ("engine_speed_rpm", "engine_power_kw", "compressor_l_s", "motive_bar", "cock"),
    "line": ("line_bore_mm", "line_length_m"),
}
MOST_TOLD = 8  # bad lines of a pasted text that are told one by one


def groups(fields: Mapping[str, str], taken: Taken, paste: list[BadLine]) -> list[dict[str, Any]]:
    """The groups of fields, in the order of the page.

    Parameters
    ----------
    paste : the lines of the pasted text that could not be read.

    Examples
    --------
    >>> from simulator.panels.trainer.own_pump.draft import Draft
    >>> draft = Draft()
    >>> [group["id"] for group in groups(draft.fields, draft.taken(), [])]
    ['hose', 'casing', 'drive', 'line', 'start', 'readings']
    """
    out = [_group(name, [_measure(fields, taken, key) for key in keys]) for name, keys in GROUPS.items()]
    start = [_start_field(fields, taken, key) for key in START]
    out.append(_group("start", start))
    out.append(_readings(fields, taken, paste))
    return out


def told_of(taken: Taken) -> dict[str, Wrong]:
    """What is marked at its field: nothing is missing yet while nobody has begun to write a start down."""
    return {name: wrong for name, wrong in taken.wrong.items() if wrong.kind != "missing" or taken.begun}


def _group(name: str, fields: list[Field], **more: Any) -> dict[str, Any]:
    hint = entry("own_pump.hints").get(name, "")
    return {"id": name, "title": text(f"own_pump.groups.{name}"), "hint": hint, "fields": fields, **more}


def _field(
    fields: Mapping[str, str], name: str, key: str, label: str, wrong: Wrong | None, **more: Any
) -> Field:
    system, typed = fields["system"], fields[name]
    out = {
        "id": name,
        "kind": "number",
        "label": label,
        "value": typed,
        "unit": plain_unit(key, system),
        "beside": beside(typed, key, system),
        **more,
    }
    if wrong is not None:
        out["problem"] = problem_words(wrong, label)
    return out


def _measure(fields: Mapping[str, str], taken: Taken, key: str) -> Field:
    label, wrong = text(f"own_pump.fields.{key}"), told_of(taken).get(key)
    how = text(f"own_pump.how.{key}")
    own = measured_of(load_rig(taken.base))
    if key in NEEDED and not fields[key].strip():
        how = f"{how} {text('own_pump.needed')}"
    elif not fields[key].strip() and key in own and key != "cock":
        unit = plain_unit(key, fields["system"])
        value = f"{shown(own[key], key, fields['system'])} {unit}".rstrip()
        how = f"{how} {text('own_pump.empty', rig=load_rig(taken.base).title, value=value)}"
    if key == "cock":
        options = [
            {"id": each, "label": text(f"own_pump.cock.{each or 'open'}")} for each in ("", "yes", "no")
        ]
        return {
            "id": key,
            "kind": "choice",
            "label": label,
            "value": fields[key],
            "options": options,
            "hint": how,
            "drawing": key,
        }
    return _field(fields, key, key, label, wrong, hint=how, drawing=key)


def _start_field(fields: Mapping[str, str], taken: Taken, key: str) -> Field:
    name = f"start.{key}"
    label, how = text(f"own_pump.fields.start_{key}"), text(f"own_pump.how.start_{key}")
    if key == "submergence_m" and not fields[name].strip():
        depth = standard_site(taken.base).submergence
        how = f"{how} {text('own_pump.empty_plain', value=f'{depth:g} m')}"
    return _field(fields, name, key, label, taken.wrong.get(name), hint=how, drawing=name)


def problem_words(wrong: Wrong, label: str) -> dict[str, str]:
    """What is wrong at a field in a sentence, and the nearest legal value to take over.

    Parameters
    ----------
    wrong : what it is.
    label : of the field.

    Examples
    --------
    >>> problem_words(Wrong("range", "50 to 400 mm", "400"), "Bore")["sentence"]
    'Bore: this is out of range. Legal: 50 to 400 mm.'
    """
    said = text(f"own_pump.wrong.{wrong.kind}", where=label, legal=wrong.legal)
    take = text("own_pump.take", value=wrong.nearest) if wrong.nearest and wrong.kind != "short" else ""
    return {"sentence": said, "nearest": wrong.nearest if take else "", "take": take}


def line_words(bad: BadLine, key: str = "line") -> str:
    """What is wrong with a line or a row of readings, by its number.

    Parameters
    ----------
    bad : the line.
    key : "line" of a text, or "row" of the table.

    Examples
    --------
    >>> line_words(BadLine(3, "no_vacuum", "20;deep"))
    'Line 3 (20;deep): the second figure is no vacuum.'
    """
    return text(
        f"own_pump.{key}", n=bad.number, what=text(f"own_pump.bad.{bad.kind}"), line=bad.line.strip()[:40]
    )


def _readings(fields: Mapping[str, str], taken: Taken, paste: list[BadLine]) -> dict[str, Any]:
    bad = {each.number - 1: each for each in taken.bad_rows}
    rows = []
    for row in range(row_count(fields)):
        cells = [{"id": f"r.{row}.{key}", "value": fields[f"r.{row}.{key}"]} for key in "tv"]
        said = line_words(bad[row], "row") if row in bad else ""
        rows.append({"key": str(row), "cells": cells, "problem": said})
    unit = fields["vacuum"]
    choice = {
        "id": "vacuum",
        "kind": "choice",
        "label": text("own_pump.fields.vacuum"),
        "value": unit,
        "options": [{"id": each, "label": each} for each in VACUUM],
    }
    box = {
        "id": "paste",
        "kind": "long",
        "label": text("own_pump.fields.paste"),
        "value": fields["paste"],
        "hint": text("own_pump.how.paste"),
        "wide": True,
    }
    if paste:
        told = [line_words(each) for each in paste[:MOST_TOLD]]
        if len(paste) > MOST_TOLD:
            told.append(text("own_pump.more_lines", n=len(paste) - MOST_TOLD))
        box["problem"] = {"sentence": " ".join(told), "nearest": "", "take": ""}
    button = {"label": text("own_pump.tools.take_paste"), "action": "take_paste", "args": {}}
    columns = [text("own_pump.columns.time"), text("own_pump.columns.vacuum", unit=unit)]
    return _group(
        "readings",
        [choice, box],
        button=button,
        readings={"columns": columns, "units": ["s", unit], "rows": rows},
    )
