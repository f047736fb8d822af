"""Does the certificate tell the expert from the part swapper? Simulated sittings on forms drawn from the bank.

Every case of the bank is played a few times by each trainee, each time with other chance, and marked by the real
marking. A sitting is a form as it is drawn for a person, with one of these plays for each case, drawn by chance.

``python -m simulator.studies.sittings --sittings 200 --out sittings.html`` writes the page.

Throughout: ``job`` is a case, a trainee and the seed of a play, ``workers`` the number of processes, ``count`` of
sittings, ``rates`` how each trainee does, ``arguments`` those of the command line.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from html import escape
from pathlib import Path

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.bank import BankCase, bank, draw_form
from simulator.marking.certificate import passed
from simulator.marking.service import marked_attempt
from simulator.rig.command import command, page_to_write, whole
from simulator.studies.trainees import TRAINEES
from simulator.texts import text

TRIED = ("expert", "swapper")
EXPERT_PASSES, SWAPPER_PASSES = 0.95, 0.05  # [-] at least, and at most
FIRST_SEED = 500  # other chance than the one by which the bank was chosen

Play = tuple[float, bool]  # marks [-], and whether there was a grave breach
Plays = Mapping[str, Sequence[Play]]  # by the id of the case


@dataclass(frozen=True)
class Rate:
    """How one trainee does at sittings: share that passes [-], mean marks [-], least and most expert minutes of forms."""

    trainee: str
    passes: float
    mean: float
    lowest: float
    sittings: int


def play_case(job: tuple[BankCase, str, int]) -> tuple[str, str, Play]:
    """One play of a case: its id, the trainee, marks and grave breach."""
    case, trainee, seed = job
    attempt = Attempt(case.scenario(), MemoryStore(), seed=seed)
    TRAINEES[trainee](attempt, seed).play()
    sheet = marked_attempt(attempt)[2].sheet
    return case.id, trainee, (sheet.total, sheet.grave)


def play_bank(
    cases: Sequence[BankCase], plays: int, workers: int = 1, trainees: Sequence[str] = TRIED
) -> dict[str, dict[str, list[Play]]]:
    """All cases by all trainees, several times each: trainee, case id, plays."""
    together = sorted(cases, key=lambda case: repr(case.scenario().site) + case.scenario().rig)
    jobs = [
        (case, name, FIRST_SEED + number) for case in together for name in trainees for number in range(plays)
    ]
    if workers <= 1:
        done = [play_case(job) for job in jobs]
    else:
        with ProcessPoolExecutor(workers) as pool:
            done = list(pool.map(play_case, jobs, chunksize=max(len(jobs) // (4 * workers), 1)))
    out: dict[str, dict[str, list[Play]]] = {name: {} for name in trainees}
    for case_id, name, play in done:
        out[name].setdefault(case_id, []).append(play)
    return out


def sit(trainee: str, plays: Plays, count: int) -> Rate:
    """Sittings of one trainee, each with a form of its own.

    Examples
    --------
    >>> plays = {case.id: [(80.0, False)] for case in bank()[0]}
    >>> sit("expert", plays, 3).passes
    1.0
    """
    totals, good = [], 0
    for number in range(count):
        chance = random.Random(f"sitting {trainee} {number}")
        chosen = [chance.choice(plays[case.id]) for case in draw_form(number)]
        totals.append(sum(total for total, _ in chosen) / len(chosen))
        good += passed([total for total, _ in chosen], [grave for _, grave in chosen])
    return Rate(trainee, good / count, sum(totals) / count, min(totals), count)


def misses(rates: Mapping[str, Rate]) -> list[str]:
    """What should be and is not, as sentences."""
    out = []
    if rates["expert"].passes < EXPERT_PASSES:
        out.append(text("study.missed_expert", share=f"{100.0 * rates['expert'].passes:.1f}"))
    if rates["swapper"].passes > SWAPPER_PASSES:
        out.append(text("study.missed_swapper", share=f"{100.0 * rates['swapper'].passes:.1f}"))
    return out


def page(rates: Mapping[str, Rate], plays: int) -> str:
    """The report as one HTML page."""
    rows = "".join(
        f"<tr><td>{escape(rate.trainee)}</td><td>{100.0 * rate.passes:.1f} %</td>"
        f"<td>{rate.mean:.1f}</td><td>{rate.lowest:.1f}</td></tr>"
        for rate in rates.values()
    )
    count = next(iter(rates.values())).sittings
    minutes = [sum(case.minutes for case in draw_form(number)) for number in range(count)]
    title = escape(text("study.sittings_title", n=count))
    head = "".join(
        f"<th>{escape(text(f'study.columns.{name}'))}</th>"
        for name in ("trainee", "passes", "mean", "lowest")
    )
    said = [
        text("study.made_up"),
        text("study.sittings_how", plays=plays),
        text("study.sittings_minutes", low=f"{min(minutes):.1f}", high=f"{max(minutes):.1f}"),
        *misses(rates),
    ]
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title></head><body><h1>{title}</h1>'
        f"{''.join(f'<p>{escape(line)}</p>' for line in said)}<table><tr>{head}</tr>{rows}</table></body></html>"
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Play the bank, draw sittings, write the page; 1 and sentences where the certificate does not tell them apart."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.sittings", description=main.__doc__)
    parser.add_argument("--sittings", type=whole(1, 100_000), default=200)
    parser.add_argument("--plays", type=whole(1, 100), default=2, help="plays of each case by each trainee")
    parser.add_argument("--workers", type=whole(1, 64), default=2)
    parser.add_argument("--out", type=page_to_write, default=Path("sittings.html"))
    chosen = parser.parse_args(arguments)
    played = play_bank(bank()[0], chosen.plays, chosen.workers)
    rates = {name: sit(name, played[name], chosen.sittings) for name in TRIED}
    chosen.out.write_text(page(rates, chosen.plays), encoding="utf-8")
    missed = misses(rates)
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
