"""What makes a call-out hard: how long an expert takes, in how many steps, and how many faults look alike on its gauges.

``python -m simulator.studies.difficulty`` lists it for every file of ``lessons/scenarios``, with the expert's path and
the look-alikes; ``--out page.html`` writes a page to print.

Throughout: ``scenario`` is a call-out, ``cases`` the hypotheses of its rig in good order (worked out where None),
``seed`` that of an expert's play, ``allowed`` the checks that may be used (all where None), ``found`` how hard a
call-out is, ``item`` a look-alike, ``files`` and ``rows`` the call-outs of a list, ``arguments`` those of the command
line.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from statistics import fmean

from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.lookalikes import LookAlike, check_label, look_alikes, refusal, truth_outlook
from simulator.diagnosis.option import Option
from simulator.diagnosis.outlook import Observer
from simulator.diagnosis.scenario_sets import set_of
from simulator.diagnosis.words import fault_name, joint_field, option_label
from simulator.errors import InputError
from simulator.rig.command import call_files, command, page_to_write
from simulator.scenario import Scenario, build, load_scenario
from simulator.studies.expert_play import Place, Played, play
from simulator.texts import entry, text

SEEDS = (1, 2, 3)  # of what is left to chance, for an average


@dataclass(frozen=True)
class Difficulty:
    """How hard a call-out is.

    ``minutes`` [min] and ``steps`` [-] of an expert on average, ``solved``: share of plays that ended in proof [-];
    ``path``: steps of the first play with what each showed; ``alike``: faults alike on the gauges; ``refused``: why it
    cannot be solved with its allowed checks, None where it can.
    """

    minutes: float
    steps: float
    solved: float
    path: tuple[tuple[Option, str], ...]
    alike: tuple[LookAlike, ...]
    refused: InputError | None


def difficulty(
    scenario: Scenario, cases: HypothesisSet | None = None, seeds: Sequence[int] = SEEDS
) -> Difficulty:
    """Work out how hard a call-out is.

    Examples
    --------
    >>> from simulator.scenario import SiteChoice, choose_fault
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0),
    ...                 faults=(choose_fault("drain_open", 1.0),))
    >>> found = difficulty(call, seeds=(1,))
    >>> found.solved, found.steps < 8, found.refused is None
    (1.0, True, True)
    """
    cases = set_of(scenario) if cases is None else cases
    allowed = None if scenario.allowed_checks == "all" else tuple(scenario.allowed_checks)
    plays = [expert_path(scenario, cases, seed, allowed) for seed in seeds]
    seen = truth_outlook(scenario, cases)
    return Difficulty(
        minutes=fmean(played.minutes for played in plays),
        steps=fmean(len(played.steps) for played in plays),
        solved=fmean(float(played.proved) for played in plays),
        path=tuple(plays[0].steps),
        alike=tuple(look_alikes(cases, seen, scenario.fault_ids, allowed)),
        refused=refusal(scenario, cases, seen),
    )


def expert_path(
    scenario: Scenario, cases: HypothesisSet, seed: int, allowed: Sequence[str] | None = None
) -> Played:
    """An expert's way through a call-out, to the proof."""
    here = Place(Observer(cases.rig, cases.site), *build(scenario), seed)
    return play(cases, here, allowed_checks=allowed)


def alike_words(item: LookAlike) -> str:
    """A look-alike in words: which, and what parts it."""
    where = joint_field(item.place)
    name = fault_name(item.fault)
    named = text("diagnosis.alike.at_joint", fault=name, **where) if where else name
    if item.check is None:
        key = "diagnosis.alike.same_work" if item.same_work else "diagnosis.alike.none"
        return text(key, fault=named)
    return text(
        "diagnosis.alike.parted", fault=named, check=check_label(item.check), minutes=f"{item.minutes:g}"
    )


def path_words(found: Difficulty) -> list[str]:
    """The expert's steps in words."""
    return [option_label(option) for option, _ in found.path]


def rows_of(files: Sequence[Path]) -> list[tuple[Path, Scenario, Difficulty]]:
    """Every file with how hard it is."""
    out = []
    for path in files:
        scenario = load_scenario(path)
        out.append((path, scenario, difficulty(scenario)))
    return out


def page(rows: Sequence[tuple[Path, Scenario, Difficulty]]) -> str:
    """The list as HTML. It holds all answers: for trainers."""
    head = "".join(f"<th>{escape(cell)}</th>" for cell in entry("diagnosis.difficulty.head"))
    body = []
    for _, scenario, found in rows:
        truth = text("diagnosis.and").join(fault_name(name) for name in scenario.fault_ids)
        refused = "" if found.refused is None else f"<br><b>{escape(str(found.refused))}</b>"
        cells = [
            escape(scenario.title) + refused,
            escape(truth),
            f"{found.minutes:.0f}",
            f"{found.steps:.1f}",
            f"{100.0 * found.solved:.0f} %",
            str(len(found.alike)),
            "<br>".join(escape(alike_words(item)) for item in found.alike),
            "<br>".join(escape(words) for words in path_words(found)),
        ]
        body.append("<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>")
    style = (
        "body{font:14px sans-serif;margin:2em}table{border-collapse:collapse}td,th{border:1px solid #bbb;"
        "padding:3px 6px;text-align:left;vertical-align:top}th{background:#eee}tr{break-inside:avoid}"
    )
    title = escape(text("diagnosis.difficulty.title"))
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{style}</style></head><body><h1>{title}</h1><p>{escape(text('diagnosis.difficulty.how'))}</p>"
        f"<table><tr>{head}</tr>{''.join(body)}</table></body></html>\n"
    )


def line(path: Path, scenario: Scenario, found: Difficulty) -> str:
    """One line of the list in plain text."""
    level = "-" if scenario.level is None else str(scenario.level)
    first = (
        f"{path.name.split('.')[0]:18} level {level} {found.minutes:6.1f} min {found.steps:5.1f} steps "
        f"{100.0 * found.solved:4.0f} % solved {len(found.alike):2d} alike"
    )
    parts = [first]
    parts += [f"    {alike_words(item)}" for item in found.alike]
    if found.refused is not None:
        parts.append(f"    REFUSED: {found.refused}")
    return "\n".join(parts)


def main(arguments: Sequence[str] | None = None) -> int:
    """List the call-outs; 1 where one is refused, 2 where the page cannot be written."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.difficulty")
    parser.add_argument("files", nargs="*", type=Path, help="by default all of lessons/scenarios")
    parser.add_argument("--out", type=page_to_write, default=None, help="a page to write as well")
    chosen = parser.parse_args(arguments)
    files = call_files(chosen.files)
    rows = []
    for path in files:
        row = rows_of([path])[0]
        sys.stdout.write(line(*row) + "\n")
        sys.stdout.flush()
        rows.append(row)
    if chosen.out is not None:
        try:
            chosen.out.write_text(page(rows), encoding="utf-8")
        except OSError as error:
            sys.stderr.write(f"The page cannot be written to {chosen.out}: {error.strerror}.\n")
            return 2
    return 1 if any(found.refused is not None for _, _, found in rows) else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
