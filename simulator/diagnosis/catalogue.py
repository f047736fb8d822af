"""The catalogue as one page: faults, checks, remedies, and what each check shows of each fault, worked out by the model.

``python -m simulator.diagnosis.catalogue --out catalogue.html`` writes it; ``--rig`` chooses the rig, ``--figures`` looks
a trainer's file over first and says what does not fit.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from html import escape
from pathlib import Path

from simulator.diagnosis.outlook import Observer, check_keys, look_times, time_index
from simulator.diagnosis.words import joint_field
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.rig import Rig, Site
from simulator.rig.trainer import Overrides, read_overrides
from simulator.texts import entry, text

LOOKED_AT = 70.0  # [s] of the run at which checks of a running rig are judged
SHOWN = 0.05  # [-] chances below this are left out of a cell


@dataclass(frozen=True)
class Row:
    """One fault at its middle size: chances [-] of each outcome of each check, by check and place."""

    fault: str
    place: str
    outcome: str
    prime_time: float
    chances: dict[tuple[str, str], dict[str, float]]


def check_trainer_file(path: Path | str) -> Overrides:
    """A trainer's file with every id looked up.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    return read_overrides(path, faults=tuple(FAULTS), acts=(*CHECKS, *REMEDIES))


def middle_place(item: Fault, rig: Rig, site: Site) -> str | None:
    """The place at which a fault stands in the matrix; None where the rig lacks the part.

    Examples
    --------
    >>> middle_place(FAULTS["joint_ring"], load_rig("osier"), standard_site())
    'joint:1'
    """
    places = item.places(rig, site)
    return places[len(places) // 2] if places else None


def matrix(rig: Rig, site: Site) -> list[Row]:
    """What every check shows of every fault at its middle size, on a rig at its site."""
    observer, rows = Observer(rig, site), []
    for item in FAULTS.values():
        place = middle_place(item, rig, site)
        if place is None:
            continue
        size = item.sizes[len(item.sizes) // 2]
        seen = observer.outlook(*item.apply(rig, site, size, place))
        chances = {}
        for key in check_keys(rig):
            check = CHECKS[key[0]]
            when = LOOKED_AT if "running" in check.needs else look_times(check)[0]
            values = seen.chances[key][time_index(check, when)]
            chances[key] = dict(zip(check.outcomes, values.tolist(), strict=True))
        rows.append(Row(item.id, place, seen.outcome, seen.prime_time, chances))
    return rows


def page(rig: Rig, site: Site) -> str:
    """The catalogue as HTML, all in one file."""
    parts = [
        f"<h1>{escape(text('catalogue.title', rig=rig.title))}</h1>",
        f"<p>{escape(text('common.training_aid'))} {escape(text('catalogue.made_up'))}</p>",
        f"<h2>{escape(text('catalogue.faults'))}</h2>",
        _faults(rig),
        f"<h2>{escape(text('catalogue.checks'))}</h2>",
        _acts(),
        f"<h2>{escape(text('catalogue.matrix'))}</h2>",
        f"<p>{escape(text('catalogue.matrix_how', seconds=round(LOOKED_AT)))}</p>",
        _matrix(rig, site),
    ]
    body = "\n".join(parts)
    head = f'<head><meta charset="utf-8"><style>{_STYLE}</style></head>'
    return f'<!DOCTYPE html>\n<html lang="en">{head}<body>{body}</body></html>\n'


_STYLE = (
    "body{font:15px sans-serif;margin:2em}table{border-collapse:collapse;margin:1em 0}"
    "td,th{border:1px solid #bbb;padding:3px 6px;text-align:left;vertical-align:top}th{background:#eee}"
    "td.sure{background:#cde8cd}.wide{overflow-x:auto}td small{color:#444}"
)


def _table(head: list[str], rows: list[list[str]]) -> str:
    top = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    body = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<div class="wide"><table><tr>{top}</tr>{body}</table></div>'


def _faults(rig: Rig) -> str:
    rows = []
    for item in FAULTS.values():
        size = item.size
        here = item.places(rig)
        cures = [text(f"remedies.{name}.name") for name in remedies_for(item.part)]
        rows.append(
            [
                escape(text(f"faults.families.{item.family}")),
                f"{escape(text(f'faults.{item.id}.name'))}<br><small>{escape(item.id)}</small>",
                escape(text(f"faults.{item.id}.what")),
                escape(f"{size.key}: {size.legal()}" if size else text("catalogue.no_size")),
                escape(", ".join(f"{size.in_file(s):g}" for s in size.representative) if size else ""),
                f"{item.weight:g}",
                escape(str(len(here)) if here else text("catalogue.not_here")),
                escape("; ".join(cures)),
            ]
        )
    return _table(entry("catalogue.fault_head"), rows)


def _acts() -> str:
    rows = []
    for check in CHECKS.values():
        rows.append(
            [
                f"{escape(text(f'checks.{check.id}.label', joint='n'))}<br><small>{escape(check.id)}</small>",
                f"{check.minutes:g}",
                escape(" ".join(text(f"attempt.needs.{need}") for need in check.needs)),
                escape(check.protects),
                escape(text(f"checks.{check.id}.how", joint="n")),
            ]
        )
    for item in REMEDIES.values():
        name = text("attempt.actions.remedy", what=text(f"remedies.{item.id}.name"))
        rows.append(
            [
                f"{escape(name)}<br><small>{escape(item.id)}</small>",
                f"{item.minutes:g}",
                escape(" ".join(text(f"attempt.needs.{need}") for need in item.needs)),
                "",
                escape(" ".join(text(f"remedies.{item.id}.found.{code}") for code in item.findings)),
            ]
        )
    return _table(entry("catalogue.check_head"), rows)


def _matrix(rig: Rig, site: Site) -> str:
    rows = matrix(rig, site)
    keys = list(rows[0].chances)
    labels = [text(f"checks.{name}.label", joint=joint_field(place).get("joint", "")) for name, place in keys]
    head = "".join(f"<th>{escape(label)}</th>" for label in labels)
    body = []
    for row in rows:
        prime = f"{row.prime_time:.0f} s" if row.prime_time == row.prime_time else "-"
        name = escape(text(f"faults.{row.fault}.name"))
        cells = [f"<th>{name}<br><small>{escape(row.outcome)}, {prime}</small></th>"]
        for key in keys:
            likely = sorted(row.chances[key].items(), key=lambda pair: -pair[1])
            usual = max(rows[0].chances[key], key=rows[0].chances[key].__getitem__)
            mark = ' class="sure"' if likely[0][0] != usual and likely[0][1] > 0.5 else ""
            said = "<br>".join(
                f"{escape(outcome)} {chance:.2f}" for outcome, chance in likely if chance >= SHOWN
            )
            cells.append(f"<td{mark}>{said}</td>")
        body.append(f"<tr>{''.join(cells)}</tr>")
    return f'<div class="wide"><table><tr><th></th>{head}</tr>{"".join(body)}</table></div>'


def main(arguments: list[str] | None = None) -> int:
    """Write the page; 1 and a sentence where something does not fit."""
    parser = argparse.ArgumentParser(prog="python -m simulator.diagnosis.catalogue")
    parser.add_argument("--out", default="catalogue.html")
    parser.add_argument("--rig", default="osier", choices=rig_names())
    parser.add_argument("--figures", default="", help="a trainer's file to look over")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.figures:
            check_trainer_file(chosen.figures)
        Path(chosen.out).write_text(page(load_rig(chosen.rig), standard_site(chosen.rig)), encoding="utf-8")
    except (InputError, OSError) as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
