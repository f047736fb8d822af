"""The fields of the call builder as the page draws them: label, value, unit, choices, and what is wrong at each.

Arguments, the same throughout: ``fields`` the texts by name, as a draft holds them; ``rig`` in good order, None where the
one named is none.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.panels.trainer.call_builder.draft import ALL_CHECKS, LENGTHS, Problem, fault_count
from simulator.panels.trainer.call_builder.typing import beside, ending_of, figure, shown
from simulator.rig.faults import FAMILIES, FAULTS, Fault, size_words
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, rig_names
from simulator.rig.rig import Rig
from simulator.scenario.choices import moved_place
from simulator.scenario.model import MAX_FAULTS
from simulator.texts import entry, text
from simulator.units import plain_figure

Field = dict[str, Any]
UNIT_NAMES = {"c": "°C", "kpa": "kPa", "percent": "%", "mm2": "mm²"}
CAUSES = ("", "wear", "dirt", "weather", "site", "own_mistake")
MODES = ("practice", "assessment", "guided")
SITE_FIELDS = (
    "site.lift_m",
    "site.submergence_m",
    "site.altitude_m",
    "site.air_temperature_c",
    "site.water_temperature_c",
)


def rig_of(fields: Mapping[str, str]) -> Rig | None:
    """The rig that is named, in good order and with its hose as long as it is here; None where there is none."""
    try:
        rig = load_rig(fields.get("rig", ""))
    except InputError:
        return None
    length = figure(fields.get("hose_length_m", ""), "hose_length_m")
    try:
        return with_hose_length(rig, length) if isinstance(length, float) else rig
    except InputError:  # said at its own field
        return rig


def groups(fields: Mapping[str, str], problems: list[Problem]) -> list[dict[str, Any]]:
    """The groups of fields, in the order of the page.

    Parameters
    ----------
    problems : all that is wrong.

    Examples
    --------
    >>> from simulator.panels.trainer.call_builder.draft import Draft
    >>> [group["id"] for group in groups(Draft.new().fields, [])]
    ['place', 'words', 'play', 'checks']
    """
    rig = rig_of(fields)
    faults = [_fault_group(fields, number, rig) for number in range(fault_count(fields))]
    out = [
        _place_group(fields, rig),
        *faults,
        _words_group(fields),
        _play_group(fields),
        _checks_group(fields),
    ]
    told = {problem.field: problem for problem in reversed(problems)}
    for group in out:
        for field in group["fields"]:
            problem = told.get(field["id"])
            if problem is not None:
                field["problem"] = problem_words(problem, str(field["label"]))
    return out


def problem_words(problem: Problem, label: str) -> dict[str, str]:
    """What is wrong at a field: where, what, what would be legal, and the nearest legal value to take over.

    Parameters
    ----------
    problem : as the loader tells it.
    label : of the field.
    """
    asked = page_words(problem.legal)
    legal = text("desks.problem.legal", legal=asked) if asked else ""
    said = text(
        "desks.problem.said", where=label, what=page_words(problem.what.rstrip(".")), legal=legal
    ).strip()
    take = text("desks.problem.take", value=problem.nearest) if problem.nearest else ""
    return {"sentence": said, "nearest": problem.nearest, "take": take}


def page_words(said: str) -> str:
    """What the loader of files says, in the words of the page: labels for keys, places as the lists name them.

    Parameters
    ----------
    said : of the loader.

    Examples
    --------
    >>> page_words("the key 'closed_percent' is missing"), page_words("closed_percent: 50 to 99 %")
    ('there is nothing here', '50 to 99 %')
    >>> page_words("there is no place 'joint:7' for this fault")
    "there is no place 'joint 7' for this fault"
    """
    known = entry("desks.problem.words")
    for pattern, words in known.items():
        said = re.sub(pattern, words, said)
    keys = {**entry("desks.fields"), **entry("desks.sizes")}
    return re.sub(r"\b[a-z]+(?:_[a-z0-9]+)+\b", lambda found: _label_of(found[0], keys), said)


def _label_of(key: str, keys: Mapping[str, str]) -> str:
    if key in keys:
        return f"“{keys[key]}”"
    return fault_label(FAULTS[key]) if key in FAULTS else key.replace("_", " ")


def _group(name: str, fields: list[Field], title: str = "", **more: Any) -> dict[str, Any]:
    hints = entry("desks.hints")
    title = title or text(f"desks.groups.{name}")
    return {"id": name, "title": title, "hint": hints.get(name, ""), "fields": fields, **more}


def _plain(fields: Mapping[str, str], name: str, kind: str = "number", **more: Any) -> Field:
    key = name.rpartition(".")[2]
    typed, ending = fields.get(name, ""), ending_of(key)
    return {
        "id": name,
        "kind": kind,
        "label": text(f"desks.fields.{key}"),
        "value": typed,
        "unit": UNIT_NAMES.get(ending, ending) if kind == "number" else "",
        "beside": beside(typed, key) if kind == "number" else "",
        **more,
    }


def _choice(
    fields: Mapping[str, str], name: str, options: list[dict[str, Any]], label: str = "", **more: Any
) -> Field:
    value = fields.get(name, "")
    if all(option["id"] != value for option in options):
        options = [*options, {"id": value, "label": text("desks.not_there", value=value or "-")}]
    label = label or text(f"desks.fields.{name.rpartition('.')[2]}")
    return {"id": name, "kind": "choice", "label": label, "value": value, "options": options, **more}


def _place_group(fields: Mapping[str, str], rig: Rig | None) -> dict[str, Any]:
    rigs = []
    for name in sorted(rig_names(), key=lambda each: load_rig(each).suction_hose.bore):
        each = load_rig(name)
        bore = f"{1e3 * each.suction_hose.bore:.0f}"
        rigs.append({"id": name, "label": text("desks.rig_option", title=each.title, bore=bore)})
    own = {} if rig is None else {
        "hose_length_m": load_rig(fields["rig"]).suction_hose.length,
        "discharge_length_m": rig.discharge.length,
        "discharge_rise_m": rig.discharge.rise,
    }  # fmt: skip
    lengths = [
        _plain(
            fields, key, hint=text("desks.own_length", own=shown(round(own[key], 6))) if key in own else ""
        )
        for key in LENGTHS
    ]
    site = [_plain(fields, name) for name in SITE_FIELDS]
    return _group("place", [_choice(fields, "rig", rigs), site[0], lengths[0], *site[1:], *lengths[1:]])


def _words_group(fields: Mapping[str, str]) -> dict[str, Any]:
    return _group(
        "words",
        [
            _plain(fields, "title", "text", wide=True),
            _plain(fields, "brief", "long", wide=True),
            _plain(fields, "site.name", "text"),
        ],
    )


def _play_group(fields: Mapping[str, str]) -> dict[str, Any]:
    modes = [{"id": mode, "label": text(f"desks.modes.{mode}")} for mode in MODES]
    causes = [{"id": cause, "label": text(f"desks.causes.{cause or 'none'}")} for cause in CAUSES]
    yes_no = [{"id": each, "label": text(f"desks.yes_no.{each or 'no'}")} for each in ("", "yes")]
    return _group(
        "play",
        [
            _choice(fields, "mode", modes),
            _choice(fields, "see_through", yes_no),
            _plain(fields, "level"),
            _choice(fields, "cause", causes),
            *(
                _plain(fields, name, kind, hint=text(f"desks.{name}_hint"))
                for name, kind in (("number", "number"), ("seed", "number"), ("language", "text"))
            ),
        ],
        folded=True,
    )


def _checks_group(fields: Mapping[str, str]) -> dict[str, Any]:
    value = fields.get("allowed_checks", ALL_CHECKS)
    options = [{"id": check.id, "label": check_name(check.id)} for check in CHECKS.values()]
    field = {
        "id": "allowed_checks",
        "kind": "ticks",
        "label": text("desks.fields.allowed_checks"),
        "value": value,
        "every": ALL_CHECKS,
        "all_label": text("desks.all_checks"),
        "options": options,
        "wide": True,
    }
    return _group("checks", [field], folded=value == ALL_CHECKS)


def check_name(check: str) -> str:
    """What a check is called where no one joint is meant.

    Parameters
    ----------
    check : its id.

    Examples
    --------
    >>> check_name("belt")
    'Guard off: look at belt and air filter'
    """
    return text(f"checks.{check}.label", joint=text("desks.any_joint"))


def fault_options(rig: Rig | None, parts: tuple[str, ...] = ()) -> list[dict[str, Any]]:
    """The faults that can be named, by family; of some parts only, where any are given.

    Parameters
    ----------
    parts : of the rig.

    Examples
    --------
    >>> [option["id"] for option in fault_options(load_rig("osier"), ("belt",))]
    ['belt_loose']
    """
    out = []
    for family in FAMILIES:
        for item in FAULTS.values():
            if item.family != family or family == "none" or (parts and item.part not in parts):
                continue
            if rig is not None and not item.places(rig):
                continue
            out.append(
                {"id": item.id, "label": fault_label(item), "group": text(f"faults.families.{family}")}
            )
    return out


def faults_set(fields: Mapping[str, str], rig: Rig | None) -> list[str]:
    """What is set as wrong by now, each with its number and place, for the line beside the pictures.

    Examples
    --------
    >>> from simulator.panels.trainer.call_builder.draft import fault_fields
    >>> faults_set(fault_fields(0, "joint_ring", "joint:2"), load_rig("osier"))
    ['1 Torn ring at a hose joint, joint 2, 6.6 m from the strainer']
    """
    out = []
    for number in range(fault_count(fields)):
        item = FAULTS.get(fields[f"faults.{number}.fault"])
        if item is None:
            continue
        place = fields.get(f"faults.{number}.place", "").strip()
        where = f", {place_words(place, rig)}" if place.rpartition(":")[2].isdigit() else ""
        out.append(f"{number + 1} {fault_label(item)}{where}")
    return out


def fault_label(item: Fault) -> str:
    """What a fault is called in a list.

    Parameters
    ----------
    item : the fault.
    """
    name = text(f"faults.{item.id}.name")
    return name[:1].upper() + name[1:]


def _fault_group(fields: Mapping[str, str], number: int, rig: Rig | None) -> dict[str, Any]:
    at = f"faults.{number}"
    item = FAULTS.get(fields.get(f"{at}.fault", ""))
    out = [_choice(fields, f"{at}.fault", fault_options(rig), wide=True)]
    if item is not None and (item.kind or fields.get(f"{at}.place")):
        places = item.places(rig) if rig is not None else ()
        options = [
            {"id": moved_place(p, 1), "label": place_words(moved_place(p, 1), rig)} for p in places if p
        ]
        out.append(_choice(fields, f"{at}.place", options))
    if item is not None and item.size is not None:
        key, size = item.size.key, item.size
        usual = ", ".join(plain_figure(size.in_file(each), 4) for each in size.representative)
        field = _plain(fields, f"{at}.size")
        out.append(
            field
            | {
                "label": size_words(item.id),
                "unit": UNIT_NAMES.get(ending_of(key), ending_of(key)),
                "beside": beside(fields.get(f"{at}.size", ""), key),
                "hint": text("desks.size_hint", legal=size.legal(), usual=usual),
            }
        )
    out.append(_plain(fields, f"{at}.start") | {"unit": "s", "hint": text("desks.start_hint")})
    out.append(_plain(fields, f"{at}.grows") | {"unit": "s", "hint": text("desks.grows_hint")})
    drop = {"label": text("desks.drop_fault"), "action": "drop", "args": {"number": number}}
    title = text("desks.groups.fault", n=number + 1) if MAX_FAULTS > 1 else text("desks.groups.fault_only")
    return _group("fault", out, title=title, button=drop) | {"id": at}


def place_words(place: str, rig: Rig | None) -> str:
    """A place as people say it, with its way from the water.

    Parameters
    ----------
    place : as a file has it, counted from 1.

    Examples
    --------
    >>> place_words("joint:2", load_rig("osier")), place_words("length:1", load_rig("osier"))
    ('joint 2, 6.6 m from the strainer', 'hose length 1, 1.6 m from the strainer')
    """
    kind, _, number = place.partition(":")
    if not number:
        return place
    said = text(f"desks.places.{kind}", n=number)
    joints = () if rig is None else rig.suction_hose.joints
    if kind not in ("joint", "length") or int(number) > len(joints):
        return said
    ends = (0.0, *(joint.position for joint in joints))
    here = (
        ends[int(number)] if kind == "joint" else 0.5 * (ends[int(number) - 1] + ends[int(number)])
    )  # half-way
    return text("desks.places.away", place=said, away=shown(round(here, 1)))
