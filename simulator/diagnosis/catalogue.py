"""The catalogue as one page: faults, checks, remedies, and what each check shows of each fault, worked out by the model.

``python -m simulator.diagnosis.catalogue --out catalogue.html`` writes it; ``--rig`` chooses the rig, ``--figures`` looks
a trainer's file over first and says what does not fit.

Throughout: ``site`` is where the rig stands; ``item`` is a fault; ``path`` a file; ``arguments`` are those of the
command line.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from pathlib import Path

from simulator.diagnosis.outlook import Observer, check_keys, look_times, time_index
from simulator.diagnosis.usual_start import middle_place, usual_start, with_fault
from simulator.diagnosis.words import joint_field
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, check_places
from simulator.rig import safe_work
from simulator.rig.command import command, page_to_write
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.rig import Rig, Site
from simulator.rig.trainer import THRESHOLDS, Overrides, read_overrides
from simulator.texts import entry, text

LOOKED_AT = 70.0  # [s] of the run at which checks of a running rig are judged
SHOWN = 0.05  # [-] chances below this are left out of a cell
LOOKS_A_TABLE = 7  # of the matrix: what A4 and Letter have room for
TELLS = 0.3  # [-] share of cases in which a look must come out otherwise than on a good rig
#: A trainer's file to start from; it changes a few figures of each kind.
EXAMPLE = Path(__file__).parents[1] / "rig" / "data" / "trainer" / "figures_example.yaml"


@dataclass(frozen=True)
class Row:
    """One fault at its middle size: how a start ends in words; chances [-] of each outcome, by check and place."""

    fault: str
    place: str
    ends: str
    chances: dict[tuple[str, str], dict[str, float]]


def check_trainer_file(path: Path | str) -> Overrides:
    """A trainer's file with every id looked up.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    return read_overrides(path)


def matrix(rig: Rig, site: Site) -> list[Row]:
    """What every check shows of every fault at its middle size, on a rig at its site."""
    observer, rows = Observer(rig, site), []
    for item in FAULTS.values():
        place = middle_place(item, rig, site)
        if place is None:
            continue
        seen = observer.outlook(*with_fault(item.id, rig, site))
        chances = {}
        for key in check_keys(rig):
            check = CHECKS[key[0]]
            when = LOOKED_AT if "running" in check.needs else look_times(check)[0]
            values = seen.chances[key][time_index(check, when)]
            chances[key] = dict(zip(check.outcomes, values.tolist(), strict=True))
        rows.append(Row(item.id, place, usual_start(item.id, rig, site).words, chances))
    return rows


def page(rig: Rig, site: Site) -> str:
    """The catalogue as HTML, all in one file."""
    rows = matrix(rig, site)
    sections = {
        "faults": _faults(rig),
        "shows": _shows(rows),
        "looks": _looks(rig, site),
        "works": _works(rig, site),
        "matrix": _matrix(rows),
        "figures": _figures(),
    }
    links = "".join(f'<a href="#{name}">{_say(name)}</a>' for name in sections)
    body = "\n".join(
        f'<section id="{name}"><h2>{_say(name)}</h2>'
        f"<p>{_say(f'{name}_how', seconds=round(LOOKED_AT))}</p>\n{content}</section>"
        for name, content in sections.items()
    )
    title = _say("title", rig=rig.title)
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<style>{_STYLE}</style></head><body><h1>{title}</h1>"
        f'<p class="caution">{escape(text("common.training_aid"))} {_say("made_up")}</p>'
        f"<nav>{links}</nav>\n{body}</body></html>\n"
    )


_STYLE = """
body{font:15px/1.4 "Liberation Sans",Arial,Helvetica,sans-serif;color:#16222b;margin:0 auto;max-width:1500px;padding:24px}
h1{margin:0 0 8px}h2{margin:36px 0 4px}p{margin:0 0 8px;max-width:60rem}
.caution{border-left:5px solid #a2380f;padding:6px 12px;background:#faf0ec}
nav{display:flex;flex-wrap:wrap;gap:4px 20px;margin:12px 0}nav a{color:#0f5a75;padding:10px 0}
table{border-collapse:collapse;margin:8px 0;width:100%}
td,th{border:1px solid #c3cad0;padding:4px 7px;text-align:left;vertical-align:top}
thead th,tr.kind th{background:#e9eef1}tr.kind th{font-size:16px}
small{color:#4a5660}code,pre{font-family:"DejaVu Sans Mono",monospace;font-size:13px}
pre{background:#f3f5f6;padding:12px;overflow-x:auto}ul{margin:0;padding-left:18px}
.n{text-align:right;white-space:nowrap}li small{white-space:nowrap}
.wide{overflow:auto;max-height:88vh}.wide table{font-size:12.5px;line-height:1.25;table-layout:fixed}
.wide :is(th,td){overflow-wrap:anywhere}
.wide thead th{position:sticky;top:0;z-index:2}.wide thead th:first-child{width:18%}
.wide tbody th{position:sticky;left:0;background:#f3f5f6;z-index:1}
.wide thead th:first-child{left:0;z-index:3}
td.same{color:#5b6770}td.sure{background:#cde8cd;font-weight:700}td.some{background:#eaf5ea}
@page{margin:11mm}
@media print{body{padding:0}table{font-size:7.5pt}td,th{padding:2px 3px;overflow-wrap:anywhere}
small,.n,li small{white-space:normal}code,pre{font-size:7pt;white-space:pre-wrap}
.wide{overflow:visible;max-height:none;break-after:page}.wide table{font-size:7pt}
thead th,.wide tbody th{position:static}
section{break-before:page}tr{break-inside:avoid}nav{display:none}}
"""


def _say(key: str, **fields: object) -> str:
    return escape(text(f"catalogue.{key}", **fields))


def _table(heads: str, rows: list[str], kind: str = "") -> str:
    top = "".join(f"<th>{escape(str(cell))}</th>" for cell in entry(f"catalogue.{heads}"))
    return f'<div class="{kind}"><table><thead><tr>{top}</tr></thead><tbody>{"".join(rows)}</tbody></table></div>'


def _row(cells: list[str], figures: tuple[int, ...] = ()) -> str:
    marks = [' class="n"' if i in figures else "" for i in range(len(cells))]
    return (
        "<tr>" + "".join(f"<td{mark}>{cell}</td>" for mark, cell in zip(marks, cells, strict=True)) + "</tr>"
    )


def _named(name: str, code: str) -> str:
    return f"{escape(name)}<br><small>{escape(code)}</small>"


def _fault_name(fault: str) -> str:
    return text(f"faults.{fault}.name")


def _kind(fault: str, columns: int) -> str:
    """A row that opens a family of faults."""
    return f'<tr class="kind"><th colspan="{columns}">{escape(text(f"faults.families.{FAULTS[fault].family}"))}</th></tr>'


def _by_kind(faults: list[str], columns: int, line: Callable[[str], str]) -> list[str]:
    """Lines in order with a row before each new family."""
    out, before = [], ""
    for fault in faults:
        family = FAULTS[fault].family
        if family != before:
            out.append(_kind(fault, columns))
        out.append(line(fault))
        before = family
    return out


def _faults(rig: Rig) -> str:
    def line(fault: str) -> str:
        item, here = FAULTS[fault], FAULTS[fault].places(rig)
        size = item.size
        bad = f"{size.legal()}<br><small>{escape(size.key)}</small>" if size else _say("no_size")
        cures = "; ".join(text(f"remedies.{name}.name") for name in remedies_for(item.part))
        return _row(
            [
                _named(_fault_name(fault), fault),
                escape(text(f"faults.{fault}.what")),
                bad,
                escape(", ".join(f"{size.in_file(s):g}" for s in size.representative) if size else ""),
                f"{item.weight:g}",
                str(len(here)) if here else _say("not_here"),
                escape(cures),
            ],
            (3, 4, 5),
        )

    return _table("fault_head", _by_kind(list(FAULTS), 7, line))


def waits_for(kind: str, name: str, places: tuple[str, ...], rig: Rig, site: Site) -> str:
    """What a look or a piece of work waits for on a rig, in sentences: what holds at every place, then what is asked for
    at some of them alone.

    Parameters
    ----------
    kind : of the table of safe work: checks or remedies.
    name : of the look or work.
    places : where it can be made; none where it cannot.

    Examples
    --------
    >>> rig, site = load_rig("osier"), standard_site()
    >>> "nobody works alone at the water's edge" in waits_for("checks", "dip_water", ("water",), rig, site)
    True
    """
    said: dict[str, list[str]] = {}
    for place in places or ("",):
        here = safe_work.conditions(rig, site, place)
        for need in safe_work.needs(kind, name, here):
            sentence = text(f"attempt.needs.{safe_work.need_key(need, kind, name, here)}")
            said.setdefault(sentence, []).append(place)
    everywhere = [sentence for sentence, at in said.items() if len(at) == len(places or ("",))]
    some: dict[str, list[str]] = {}
    for sentence, at in said.items():
        if sentence not in everywhere:
            some.setdefault(", ".join(str(joint_field(place)["joint"]) for place in at), []).append(sentence)
    kind_of = places[0].partition(":")[0] if places else ""
    only = [
        text(f"catalogue.only_at.{kind_of}", n=numbers, what=" ".join(sentences))
        for numbers, sentences in some.items()
    ]
    return " ".join([*everywhere, *only])


def _looks(rig: Rig, site: Site) -> str:
    rows = []
    for check in sorted(CHECKS.values(), key=lambda item: item.minutes):
        rows.append(
            _row(
                [
                    _named(text(f"checks.{check.id}.label", joint="n"), check.id),
                    f"{check.minutes:g}",
                    escape(waits_for(safe_work.CHECKS, check.id, check_places(check, rig), rig, site)),
                    escape(check.protects),
                    escape(text(f"checks.{check.id}.how", joint="n")),
                ],
                (1,),
            )
        )
    return _table("look_head", rows)


def _works(rig: Rig, site: Site) -> str:
    rows = []
    for item in sorted(REMEDIES.values(), key=lambda item: item.minutes):
        name = text("attempt.actions.remedy", what=text(f"remedies.{item.id}.name"))
        found = "".join(
            f"<li>{escape(text(f'remedies.{item.id}.found.{code}'))}</li>" for code in item.findings
        )
        needs = waits_for(safe_work.REMEDIES, item.id, item.places(rig), rig, site)
        rows.append(
            _row(
                [
                    _named(name, item.id),
                    f"{item.minutes:g}",
                    escape(needs),
                    escape(item.protects),
                    f"<ul>{found}</ul>",
                ],
                (1,),
            )
        )
    return _table("work_head", rows)


def _usual(rows: list[Row], key: tuple[str, str]) -> str:
    """What a look most often shows of the rig in good order."""
    return max(rows[0].chances[key], key=rows[0].chances[key].__getitem__)


def _apart(rows: list[Row], row: Row, key: tuple[str, str]) -> float:
    """How far what a look shows lies from a good rig [-]: 0 the same, 1 never the same."""
    good, here = rows[0].chances[key], row.chances[key]
    return 0.5 * sum(abs(here[name] - good[name]) for name in good)


def _shows(rows: list[Row]) -> str:
    """For each fault the looks that tell it from a good rig, the cheapest first, in the words a trainee reads."""
    by_fault = {row.fault: row for row in rows}

    def line(fault: str) -> str:
        row = by_fault[fault]
        telling = [key for key in row.chances if _apart(rows, row, key) >= TELLS]
        said = []
        for name, place in sorted(telling, key=lambda key: CHECKS[key[0]].minutes):
            chances = row.chances[name, place]
            best = max(chances, key=chances.__getitem__)
            if best == _usual(rows, (name, place)):
                continue
            where = joint_field(place)
            saw = text(f"checks.{name}.outcomes.{best}", **where)
            label = text(f"checks.{name}.label", **where)
            tenths = _say("tenths", n=max(1, round(10.0 * chances[best])))
            said.append(
                f"<li>{escape(label)} ({CHECKS[name].minutes:g} min): {escape(saw)} <small>{tenths}</small></li>"
            )
        shown = f"<ul>{''.join(said)}</ul>" if said else _say("nothing_shows")
        return _row([_named(_fault_name(fault), fault), escape(row.ends), shown])

    return _table("shows_head", _by_kind([row.fault for row in rows], 3, line))


def _columns(rows: list[Row]) -> list[str]:
    """The checks, each once: those made at many places are shown at the place of the fault, or at the first."""
    return list(dict.fromkeys(name for name, _ in rows[0].chances))


def _at(row: Row, name: str) -> tuple[str, str]:
    places = [place for check, place in row.chances if check == name]
    return name, row.place if row.place in places else places[0]


def _matrix(rows: list[Row]) -> str:
    """Tables of so few looks each that a sheet of paper is wide enough for them."""
    names = _columns(rows)
    parts = [names[first : first + LOOKS_A_TABLE] for first in range(0, len(names), LOOKS_A_TABLE)]
    return "".join(_part_of_matrix(rows, part) for part in parts)


def _part_of_matrix(rows: list[Row], names: list[str]) -> str:
    labels = [text(f"checks.{name}.label", joint="n") for name in names]
    head = "".join(f"<th>{escape(label)}</th>" for label in ("", *labels))
    body = []
    for row in rows:
        cells = [f"<th>{escape(_fault_name(row.fault))}<br><small>{escape(row.ends)}</small></th>"]
        for name in names:
            key = _at(row, name)
            likely = sorted(row.chances[key].items(), key=lambda pair: -pair[1])
            apart = _apart(rows, row, key)
            mark = "sure" if apart > 0.5 else "some" if apart >= TELLS else "same"
            said = "<br>".join(
                f"{escape(outcome.replace('_', ' '))} {chance:.2f}"
                for outcome, chance in likely
                if chance >= SHOWN
            )
            cells.append(f'<td class="{mark}">{said}</td>')
        body.append(f"<tr>{''.join(cells)}</tr>")
    return (
        f'<div class="wide"><table><thead><tr>{head}</tr></thead><tbody>{"".join(body)}</tbody></table></div>'
    )


def _figures() -> str:
    """How a trainer sets weights, minutes and thresholds, with a whole file as an example."""
    limits = "".join(
        _row(
            [f"<code>{name}</code>", _say(f"thresholds.{name}"), f"{usual:g}", f"{low:g} – {high:g}"], (2, 3)
        )
        for name, (usual, low, high) in THRESHOLDS.items()
    )
    steps = "".join(f"<li>{escape(line)}</li>" for line in entry("catalogue.figures_steps"))
    return f"<ol>{steps}</ol><pre>{escape(EXAMPLE.read_text(encoding='utf-8'))}</pre>{_table('limit_head', [limits])}"


def main(arguments: list[str] | None = None) -> int:
    """Write the page; 1 and a sentence where something does not fit."""
    parser = argparse.ArgumentParser(prog="python -m simulator.diagnosis.catalogue")
    parser.add_argument("--out", type=page_to_write, default=Path("catalogue.html"))
    parser.add_argument("--rig", default="osier", choices=rig_names())
    parser.add_argument("--figures", default="", help="a trainer's file to look over")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.figures:
            check_trainer_file(chosen.figures)
        chosen.out.write_text(page(load_rig(chosen.rig), standard_site(chosen.rig)), encoding="utf-8")
    except (InputError, OSError) as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
