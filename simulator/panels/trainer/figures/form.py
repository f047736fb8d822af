"""The fields of the figures' form as the page draws them, with what each does, its range, and what is wrong at it.

Arguments, the same throughout: ``fields`` the texts by name, as a draft holds them; ``name`` of a field.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from simulator.instruments.checks import CHECKS
from simulator.panels.trainer.figures.draft import (
    Wrong,
    figure,
    shown,
    unit_of,
    usual,
    wrong_at,
)
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES
from simulator.rig.trainer import MARK_PARTS, THRESHOLDS, legal_range
from simulator.texts import text

TRIED = 40.0  # [s] to prime, of the rig that the proof's figures are told of
FAMILIES = ("air_gets_in", "air_not_drawn_out", "water_cannot_come", "primes_little_flow", "primes_then_loses",
            "instrument", "none")  # fmt: skip


def label_of(name: str) -> str:
    """What a field is called.

    Examples
    --------
    >>> label_of("weights.belt_loose"), label_of("thresholds.pass_mark")
    ('Compressor belt loose or gone', 'Passing mark, of 100')
    """
    group, _, key = name.partition(".")
    if group == "weights":
        said = text(f"faults.{key}.name")
    elif group == "minutes" and key in CHECKS:
        said = text(f"checks.{key}.label", joint="n")
    elif group == "minutes":
        said = text("attempt.actions.remedy", what=text(f"remedies.{key}.name"))
    elif group == "marks":
        said = text(f"marking.{key}.label")
    else:
        said = text(f"figures.fields.{key}")
    return said[:1].upper() + said[1:]


def groups(fields: Mapping[str, str]) -> list[dict[str, Any]]:
    """The groups of fields, in the order of the page.

    Examples
    --------
    >>> from simulator.panels.trainer.figures.draft import new_fields
    >>> [group["id"] for group in groups(new_fields())][:4]
    ['proof', 'marks', 'looks', 'works']
    """
    wrong = wrong_at(fields)
    shares = _shares(fields)

    def group(name: str, keys: list[str], title: str = "", folded: bool = True) -> dict[str, Any]:
        hint = text(f"figures.hints.{name.partition(':')[0]}")
        made = [_field(fields, key, wrong.get(key), shares) for key in keys]
        return {"id": name.replace(":", "_"), "title": title or text(f"figures.groups.{name}"), "hint": hint,
                "folded": folded, "fields": made}  # fmt: skip

    quick = sorted(CHECKS.values(), key=lambda check: (check.usual_minutes, check.id))
    works = sorted(REMEDIES.values(), key=lambda work: (work.usual_minutes, work.id))
    out = [
        group("proof", [f"thresholds.{key}" for key in THRESHOLDS], folded=False),
        group("marks", [f"marks.{key}" for key in MARK_PARTS], folded=False),
        group("looks", [f"minutes.{check.id}" for check in quick]),
        group("works", [f"minutes.{work.id}" for work in works]),
    ]
    for family in FAMILIES:
        keys = [f"weights.{fault.id}" for fault in FAULTS.values() if fault.family == family]
        title = text("figures.groups.faults", family=text(f"faults.families.{family}"))
        out.append(group(f"faults:{family}", keys, title))
    return out


def _values(fields: Mapping[str, str], group: str, names: Any) -> dict[str, float]:
    """The figures of a group as they would hold: what cannot be used counts as it comes."""
    out = {}
    for name in names:
        field = f"{group}.{name}"
        typed = fields[field].strip()
        value = figure(field, typed) if typed else math.nan
        low, high = legal_range(group, name)
        out[field] = value if low <= value <= high else usual(field)
    return out


def _shares(fields: Mapping[str, str]) -> dict[str, str]:
    """What each weight comes to beside the others."""
    weights, marks = _values(fields, "weights", FAULTS), _values(fields, "marks", MARK_PARTS)
    calls = {name: 100.0 * value / (sum(weights.values()) or 1.0) for name, value in weights.items()}
    parts = {name: 100.0 * value / (sum(marks.values()) or 1.0) for name, value in marks.items()}
    return {
        **{name: text("figures.of_calls", n=_few(value)) for name, value in calls.items()},
        **{name: text("figures.of_marks", n=_few(value)) for name, value in parts.items()},
    }


def _few(value: float) -> str:
    """A share as few figures as say it.

    Examples
    --------
    >>> _few(13.4), _few(0.46), _few(0.0)
    ('13', '0.5', '0')
    """
    return f"{value:.0f}" if value >= 9.95 or value == 0.0 else f"{value:.1f}".removesuffix(".0")


def _field(
    fields: Mapping[str, str], name: str, wrong: Wrong | None, shares: dict[str, str]
) -> dict[str, Any]:
    group, _, key = name.partition(".")
    low, high = legal_range(group, key)
    unit = unit_of(name)
    legal = text(
        "figures.range", low=f"{low:g}", high=f"{high:g}", usual=f"{shown(usual(name))} {unit}".rstrip()
    )
    does = text(f"figures.does.{key}", **_proof(fields)) if group == "thresholds" else ""
    label = label_of(name)
    out: dict[str, Any] = {
        "id": name,
        "kind": "number",
        "label": label,
        "value": fields[name],
        "unit": unit,
        "beside": shares.get(name, ""),
        "hint": f"{does} {legal}".strip(),
    }
    if wrong is not None:
        said = text(f"figures.wrong.{wrong.kind}", where=label, legal=wrong.legal)
        take = text("figures.take", value=wrong.nearest) if wrong.nearest else ""
        out["problem"] = {"sentence": said, "nearest": wrong.nearest, "take": take}
    return out


def _proof(fields: Mapping[str, str]) -> dict[str, str]:
    """What the figures of the proof come to, on a rig that anybody can think of."""
    values = _values(fields, "thresholds", THRESHOLDS)
    most = values["thresholds.proof_factor"] * TRIED + values["thresholds.proof_slack_s"]
    flow = 100.0 * values["thresholds.proof_flow"]
    return {"good": f"{TRIED:.0f}", "most": f"{most:.0f}", "flow": f"{flow:.0f}",
            "mark": f"{values['thresholds.pass_mark']:g}"}  # fmt: skip


def changes(fields: Mapping[str, str]) -> list[str]:
    """A line for each figure that is another than the one that comes with the package.

    Examples
    --------
    >>> from simulator.panels.trainer.figures.draft import new_fields
    >>> changes({**new_fields(), "minutes.belt": "7"})
    ['Guard off: look at belt and air filter: 7 min, not 4 min']
    """
    wrong, out = wrong_at(fields), []
    for name, typed in fields.items():
        if typed.strip() and name not in wrong and figure(name, typed) != usual(name):
            unit = unit_of(name)
            now, then = (f"{shown(value)} {unit}".rstrip() for value in (figure(name, typed), usual(name)))
            out.append(text("figures.change", what=label_of(name), now=now, usual=then))
    return out
