"""Every key that a call-out's file may hold, every place and range: on the trainer's page and printed."""

from __future__ import annotations

from simulator.instruments.checks import CHECKS
from simulator.panels.page.printing import printable
from simulator.rig.faults import FAULTS, size_words
from simulator.rig.presets import load_rig, rig_names
from simulator.scenario.choices import FAULT_MODELS, SiteChoice, moved_place
from simulator.scenario.model import Scenario
from simulator.scenario.sentences import legal_values
from simulator.texts import entry, language, text

Row = tuple[str, str, str]


def rows() -> list[Row]:
    """Key, what it is, and what is legal, for every key in the order of a file.

    Examples
    --------
    >>> [row[0] for row in rows()][:3], ("site.lift_m", "Lift: water to pump", "-5 to 12 m") in rows()
    (['format', 'version', 'title'], True)
    """
    labels = entry("desks.fields")
    out: list[Row] = []
    for key, info in Scenario.model_fields.items():
        if key in ("format", "version"):
            out.append((key, text(f"desks.keys.{key}"), str(info.default)))
        elif key == "site":
            out.append((key, text("desks.keys.site"), ""))
            out += [
                (f"site.{name}", labels[name], legal_values(name, each))
                for name, each in SiteChoice.model_fields.items()
            ]
        elif key == "faults":
            out += _fault_rows()
        elif key == "rig":
            out.append((key, labels[key], ", ".join(rig_names())))
        elif key == "allowed_checks":
            out.append((key, labels[key], f"{legal_values(key, info)}: {', '.join(CHECKS)}"))
        else:
            out.append((key, labels[key], legal_values(key, info)))
    return out


def _fault_rows() -> list[Row]:
    out: list[Row] = [("faults", text("desks.keys.faults"), "[]")]
    first = next(iter(FAULT_MODELS.values())).model_fields
    out += [
        (f"faults: {key}", text(f"desks.keys.{key}"), legal_values(key, first[key]))
        for key in ("start_s", "end_s")
    ]
    for name, model in FAULT_MODELS.items():
        item = FAULTS[name]
        told = text(f"faults.{name}.name")
        places = _places(name)
        if item.size is None:
            out.append((f"fault: {name}", text("desks.keys.no_size", fault=told), places))
            continue
        key = item.size.key
        what = text("desks.keys.size", label=size_words(name), fault=told)
        out.append((f"fault: {name}, {key}", what, f"{legal_values(key, model.model_fields[key])}; {places}"))
    return out


def _places(name: str) -> str:
    """Where a fault can sit, rig by rig."""
    item = FAULTS[name]
    found = {rig: item.places(load_rig(rig)) for rig in rig_names()}
    if not item.kind:
        without = [load_rig(rig).title for rig, places in found.items() if not places]
        one = text("desks.keys.one_place")
        return one if not without else f"{one}; {', '.join(without)}: {text('desks.keys.no_place')}"
    return "; ".join(
        text(
            "desks.keys.places_on",
            rig=load_rig(rig).title,
            places=", ".join(moved_place(place, 1) for place in places),
        )
        for rig, places in found.items()
    )


def keys_page() -> str:
    """The list of keys as a page to print.

    Examples
    --------
    >>> "site.lift_m" in keys_page()
    True
    """
    return printable(
        text("desks.keys.title"),
        [text("desks.keys.text")],
        list(entry("desks.keys.columns")),
        rows(),
        [text("desks.keys.foot")],
        language()[:2],
    )
