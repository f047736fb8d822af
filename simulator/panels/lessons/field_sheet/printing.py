"""The result of a field sheet as blocks of the page, and as a page of its own to print."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from pathlib import Path
from typing import Any

from simulator.diagnosis.words import joint_field
from simulator.instruments.checks import CHECKS
from simulator.panels.page.blocks import Block
from simulator.rig.presets import load_rig
from simulator.texts import entry, text

KEY = "field_sheet.result"
SIZES = (9.5, 6.0)  # [pt] of what is printed: the most, and the least that is easily read at arm's length
ONE_PAGE = 2950  # [-] signs, tags left out, that fill a page of A4 or Letter at the size of 9 pt
TEMPLATE = Path(__file__).parents[2] / "screen" / "field_sheet.html"


def result_blocks(result: dict[str, Any]) -> list[Block]:
    """A kept result as blocks of a lesson page."""
    blocks: list[Block] = []
    if result["proved"] and result["fits"]:
        blocks.append(
            {"id": "proved", "kind": "notice", "tone": "plain", "paragraphs": [text(f"{KEY}.proved")]}
        )
    if not result["fits"]:
        blocks.append(_no_fit(result))
    else:
        rule = [
            sentence for sentence in [*result["rule"], result["expected"], result["left_out"]] if sentence
        ]
        blocks.append({"id": "rule", "kind": "prose", "paragraphs": rule})
    blocks.append(
        {
            "id": "suspects",
            "kind": "suspects",
            "title": text(f"{KEY}.suspects_title" if result["fits"] else f"{KEY}.best_guess"),
            "items": result["suspects"],
            "quiet": not result["fits"],
            "labels": {"for": text(f"{KEY}.speaks_for"), "against": text(f"{KEY}.speaks_against")},
        }
    )
    if result["fits"]:
        blocks += _next(result["next"])
    blocks.append(
        {
            "id": "cautions",
            "kind": "caution",
            "title": text(f"{KEY}.cautions_title"),
            "paragraphs": [],
            "items": list(entry(f"{KEY}.cautions")),
            "foot": f"{text('common.training_aid')} {text(f'{KEY}.made_up')}",
        }
    )
    blocks.append(
        {
            "id": "print",
            "kind": "printout",
            "label": text("field_sheet.print_link"),
            "name": "field-sheet.html",
            "html": print_page(result),
        }
    )
    return blocks


def _no_fit(result: dict[str, Any]) -> Block:
    paragraphs = [f"**{text(f'{KEY}.no_fit_title')}**", text(f"{KEY}.no_fit")]
    return {
        "id": "no_fit",
        "kind": "notice",
        "tone": "wait",
        "paragraphs": [*paragraphs, *clash_lines(result)],
    }


def clash_lines(result: dict[str, Any]) -> list[str]:
    """Which lines of a sheet clash with the rest."""
    if not result["clashes"]:
        return [text(f"{KEY}.clash_none")]
    first, *more = result["clashes"]
    return [
        text(f"{KEY}.clash", item=first.rstrip(".")),
        *(text(f"{KEY}.clash_more", item=m.rstrip(".")) for m in more),
    ]


def _next(following: dict[str, str]) -> list[Block]:
    """The act and its reason, then what makes it safe: a line for each thing to see to."""
    lines = [f"**{following['label']}**", following["reason"], following["how"]]
    paragraphs = [text(f"{KEY}.next_title") + ":", *(line for line in lines if line)]
    act: Block = {"id": "next", "kind": "notice", "tone": "plain", "paragraphs": paragraphs}
    if not following["protects"]:
        return [act]
    items = re.split(r"(?<=[.!?]) ", following["protects"])
    title = text(f"{KEY}.safe_title")
    return [act, {"id": "next_safe", "kind": "caution", "title": title, "paragraphs": [], "items": items}]


def typed_lines(form: dict[str, Any]) -> list[tuple[str, str]]:
    """What was typed, label and value, empty fields left out.

    Parameters
    ----------
    form : as :func:`~simulator.panels.lessons.field_sheet.form.clean_form` gives it.
    """
    rig = load_rig(form["rig"])
    length = form["length_unit"]
    rows = [("where", form["where"]), ("rig", rig.title)]
    rows += [(name, f"{form[name]} {length}") for name in ("hose", "lift", "altitude")]
    rows.append(("water", f"{form['water']} °C"))
    out = [(text(f"field_sheet.fields.{name}"), value) for name, value in rows if value]
    if form["start"]:
        how = entry("field_sheet.starts")[form["start"]]
        more = [
            f"{form[name]} s"
            for name in ("primed_at", "watched")
            if form[name] and not (name == "primed_at" and form["start"] == "dry")
        ]
        out.append((text("field_sheet.fields.start"), ", ".join([how, *more])))
    for key, outcome in form["looks"].items():
        check, _, place = key.partition("|")
        if check in CHECKS and outcome in CHECKS[check].outcomes:
            joint = joint_field(place)
            out.append((text(f"checks.{check}.label", **joint), CHECKS[check].sentence(outcome, **joint)))
    return out


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import Environment, StrictUndefined  # here, as only a result needs it

    return Environment(autoescape=True, undefined=StrictUndefined).from_string(
        TEMPLATE.read_text(encoding="utf-8")
    )


def print_page(result: dict[str, Any]) -> str:
    """A whole page to print, of a kept result; it fetches nothing, and comes out as one page of paper."""
    signs = len(re.sub(r"<style.*?</style>|<[^>]*>|\s+", " ", _rendered(result, SIZES[0]), flags=re.DOTALL))
    size = 9.0 * math.sqrt(ONE_PAGE / signs)
    return _rendered(result, round(max(SIZES[1], min(SIZES[0], size)), 1))


def _rendered(result: dict[str, Any], size: float) -> str:
    """The page with its print at a size [pt]."""
    form = result["form"]
    fields = entry("field_sheet.fields")
    return str(
        _template().render(
            size=size,
            words=entry("field_sheet"),
            result=result,
            clash=clash_lines(result),
            made=text("field_sheet.print_made", day=result["made"]),
            typed=typed_lines(form),
            rows=[row for row in form["rows"] if any(str(cell).strip() for cell in row)],
            columns=[
                fields["time"],
                fields["vacuum"].format(unit=form["vacuum_unit"]),
                fields["motive"].format(unit=form["motive_unit"]),
            ],
            remarks=form["remarks"],
            training_aid=text("common.training_aid"),
        )
    )
