"""Do the marks measure skill? Simulated trainees over many call-outs, compared in pairs on the same ones.

Each step of the order random < swapper < list and splitter < expert on parts one and two together (85 points) is tested
with the Wilcoxon signed-rank test on the differences within a call-out, one-sided (Wilcoxon 1945, by scipy.stats): marks
are bounded and skewed, so ranks are safer than a t-test. All trainees meet the same call-out with the same chance.

Throughout: ``count`` is the number of call-outs, ``scenario`` one of them, ``seed`` that of its chance, ``job`` its
number with it, ``workers`` the number of processes, ``calls`` what all trainees made of each, ``arguments`` those of
the command line.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from html import escape
from pathlib import Path

import numpy as np
from scipy.stats import wilcoxon

import simulator
from simulator.attempt import Attempt, MemoryStore
from simulator.errors import InputError
from simulator.marking.rig_state import proves
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import ECONOMY, FOUND
from simulator.rig.command import command, page_to_write, whole
from simulator.rig.faults import FAULTS
from simulator.scenario import LEVELS, Scenario, build, load_scenario, random_scenario, sound_rig
from simulator.studies import trainees
from simulator.studies.bank_drawing import SITES
from simulator.studies.trainees import TRAINEES
from simulator.texts import text

SHIPPED = Path(simulator.__file__).parent.parent / "lessons" / "scenarios"
SIGNIFICANT = 0.01
MOSTLY = 0.95  # [-] of call-outs in which the expert must beat random
#: Steps of the order: the lesser and the better.
ORDER = (
    ("random", "swapper"),
    ("swapper", "list"),
    ("swapper", "splitter"),
    ("list", "expert"),
    ("splitter", "expert"),
)


@dataclass(frozen=True)
class Played:
    """One trainee at one call-out: points of all four parts [-] (None: not marked), minutes [min], proven or not."""

    trainee: str
    points: tuple[float | None, ...]
    skill: float  # parts one and two together
    total: float
    minutes: float
    proven: bool
    steps: int


@dataclass(frozen=True)
class CallOut:
    """A call-out of the study with how each trainee did."""

    fault: str
    rig: str
    played: dict[str, Played]


@dataclass(frozen=True)
class Step:
    """One step of the order: mean gain in points [-], p value [-], and whether it holds."""

    lesser: str
    better: str
    gain: float
    p: float

    @property
    def holds(self) -> bool:
        """Whether the better one is better beyond chance."""
        return self.gain > 0.0 and self.p < SIGNIFICANT

    @property
    def verdict(self) -> str:
        """Key of the word for it."""
        return "holds" if self.holds else "missed"


def study_scenarios(count: int, first: int = 0) -> list[Scenario]:
    """Shipped call-outs where they are there, then random ones at mixed levels and rigs; set at a few sites.

    The sites are those of the certificate's bank, so that hypotheses are shared; a call-out whose rig would prove
    itself there is left out, as nobody would ring. ``first`` is the seed of the first random one.

    Examples
    --------
    >>> len(study_scenarios(8))
    8
    """
    out = (
        [load_scenario(path) for path in sorted(SHIPPED.glob("*.scenario.yaml"))] if SHIPPED.is_dir() else []
    )
    out = [scenario for scenario in out if scenario.mode != "guided" or scenario.faults][: max(count // 4, 1)]
    levels, seed = tuple(LEVELS), first
    while len(out) < count:
        rig, lift, depth, water, air = SITES[seed % len(SITES)]
        drawn = random_scenario(seed, levels[seed % len(levels)], rig=rig)
        seed += 1
        figures = {
            "lift_m": lift,
            "submergence_m": depth,
            "water_temperature_c": water,
            "air_temperature_c": air,
        }
        site = drawn.site.model_copy(update={**figures, "name": ""})
        scenario = drawn.model_copy(update={"site": site})
        try:
            fine = proves(*build(scenario), sound_rig(scenario))
        except InputError:  # the drawn place is not there at this site
            continue
        gauge = all(FAULTS[name].family in ("none", "instrument") for name in scenario.fault_ids)
        if gauge or not fine:
            out.append(scenario)
    return out[:count]


def by_site(scenarios: Sequence[Scenario]) -> list[tuple[int, Scenario]]:
    """The call-outs with their numbers, those of one site together: their hypotheses are then worked out once.

    Parameters
    ----------
    scenarios : in any order.

    Examples
    --------
    >>> sorted(number for number, _ in by_site(study_scenarios(3)))
    [0, 1, 2]
    """
    return sorted(enumerate(scenarios), key=lambda job: (job[1].rig, job[1].site.lift_m))


def play_one(scenario: Scenario, seed: int, trainee: str) -> Played:
    """Play and mark one call-out by one trainee."""
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=seed)
    TRAINEES[trainee](attempt, seed).play()
    _, _, marked = marked_attempt(attempt)
    sheet = marked.sheet
    skill = (sheet.points(FOUND) or 0.0) + (sheet.points(ECONOMY) or 0.0)
    return Played(
        trainee,
        tuple(part.points for part in sheet.parts),
        skill,
        sheet.total,
        sum(step.minutes for step in marked.trail.steps),
        attempt.yard.proven,
        len(marked.trail.steps),
    )


def play_all(job: tuple[int, Scenario], trainees: Sequence[str] = tuple(TRAINEES)) -> CallOut:
    """One call-out by all trainees, with the same chance of the case for each."""
    number, scenario = job
    played = {name: play_one(scenario, 1000 + number, name) for name in trainees}
    return CallOut(" + ".join(scenario.fault_ids), scenario.rig, played)


def play_study(
    scenarios: Sequence[Scenario], workers: int = 1, told: Callable[[CallOut], None] | None = None
) -> list[CallOut]:
    """Every one of ``scenarios`` by every trainee, in the order given; those of one site are played together.

    Parameters
    ----------
    scenarios : call-outs.
    workers : number of processes.
    told : told of each call-out once it has been played.
    """
    jobs, found = by_site(scenarios), []
    with ProcessPoolExecutor(workers) as pool:
        size = max(len(jobs) // (6 * workers), 1)
        plays = map(play_all, jobs) if workers <= 1 else pool.map(partial(play_all), jobs, chunksize=size)
        for call in plays:
            found.append(call)
            if told is not None:
                told(call)
    by_number = dict(zip((number for number, _ in jobs), found, strict=True))
    return [by_number[number] for number in range(len(jobs))]


def steps_of(calls: Sequence[CallOut]) -> list[Step]:
    """The steps of the order with their test."""
    out = []
    for lesser, better in ORDER:
        gains = np.array([call.played[better].skill - call.played[lesser].skill for call in calls])
        p = float(wilcoxon(gains, alternative="greater").pvalue) if np.any(gains) else 1.0
        out.append(Step(lesser, better, float(gains.mean()), p))
    return out


def expert_beats_random(calls: Sequence[CallOut]) -> float:
    """Share of call-outs [-] in which the expert earns more than random."""
    return float(np.mean([call.played["expert"].skill > call.played["random"].skill for call in calls]))


def misses(calls: Sequence[CallOut]) -> list[str]:
    """What the study should show and does not, as sentences."""
    out = [
        text(
            "study.missed_step",
            lesser=step.lesser,
            better=step.better,
            gain=f"{step.gain:.1f}",
            p=f"{step.p:.2g}",
        )
        for step in steps_of(calls)
        if not step.holds
    ]
    share = expert_beats_random(calls)
    if share < MOSTLY:
        out.append(text("study.missed_share", share=f"{100.0 * share:.0f}"))
    return out


def page(calls: Sequence[CallOut]) -> str:
    """The report as one HTML page that needs nothing else."""
    head = [
        text(f"study.columns.{name}") for name in ("trainee", "skill", "total", "minutes", "proven", "steps")
    ]
    means = []
    for name in TRAINEES:
        own = [call.played[name] for call in calls]
        means.append(
            [
                name,
                f"{np.mean([p.skill for p in own]):.1f} ± {np.std([p.skill for p in own]):.1f}",
                f"{np.mean([p.total for p in own]):.1f}",
                f"{np.mean([p.minutes for p in own]):.1f}",
                f"{100.0 * np.mean([p.proven for p in own]):.0f} %",
                f"{np.mean([p.steps for p in own]):.1f}",
            ]
        )
    steps = [
        [
            step.lesser,
            step.better,
            f"{step.gain:+.1f}",
            f"{step.p:.2g}",
            text(f"study.{'holds' if step.holds else 'missed'}"),
        ]
        for step in steps_of(calls)
    ]
    gaps = np.array([call.played["splitter"].skill - call.played["list"].skill for call in calls])
    share = expert_beats_random(calls)
    rows = [
        [str(n), call.rig, call.fault, *(f"{call.played[name].skill:.1f}" for name in TRAINEES)]
        for n, call in enumerate(calls, start=1)
    ]
    body = "".join(
        (
            f"<h1>{escape(text('study.title', n=len(calls)))}</h1>",
            f"<p>{escape(text('study.made_up'))}</p>",
            _table(head, means),
            f"<h2>{escape(text('study.steps_title'))}</h2>",
            f"<p>{escape(text('study.test'))}</p>",
            _table(
                [text(f"study.columns.{name}") for name in ("lesser", "better", "gain", "p", "verdict")],
                steps,
            ),
            f"<p>{escape(text('study.share', share=f'{100.0 * share:.1f}'))}</p>",
            f"<p>{escape(text('study.gap', gap=f'{gaps.mean():+.1f}', sd=f'{gaps.std():.1f}'))}</p>",
            f"<h2>{escape(text('study.policies_title'))}</h2>",
            f"<pre>{escape(_policies())}</pre>",
            f"<h2>{escape(text('study.calls_title'))}</h2>",
            _table(["", text("study.columns.rig"), text("study.columns.fault"), *TRAINEES], rows),
        )
    )
    style = (
        "body{font:16px/1.45 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#222}"
        "table{border-collapse:collapse;margin:1rem 0}"
        "td,th{padding:.2rem .7rem;border-bottom:1px solid #ccc;text-align:left}"
        "pre{white-space:pre-wrap;font:inherit}"
    )
    title = escape(text("study.title", n=len(calls)))
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>{style}</style></head>'
        f"<body>{body}</body></html>"
    )


def _policies() -> str:
    return str(trainees.__doc__)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    top = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    lines = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><tr>{top}</tr>{lines}</table>"


def main(arguments: Sequence[str] | None = None) -> int:
    """Play, write the page; 1 and sentences where the marks do not tell the trainees apart as they should."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.skill", description=main.__doc__)
    parser.add_argument("--scenarios", type=whole(2, 10_000), default=200)
    parser.add_argument("--workers", type=whole(1, 64), default=2)
    parser.add_argument(
        "--draw", type=whole(0, 2**31 - 1), default=0, help="seed of the first random call-out"
    )
    parser.add_argument("--out", type=page_to_write, default=Path("trainees.html"))
    chosen = parser.parse_args(arguments)

    def say(call: CallOut) -> None:
        marks = ", ".join(f"{name} {own.skill:.1f}" for name, own in call.played.items())
        sys.stdout.write(f"{call.rig} {call.fault}: {marks}\n")
        sys.stdout.flush()

    calls = play_study(study_scenarios(chosen.scenarios, chosen.draw), chosen.workers, say)
    chosen.out.write_text(page(calls), encoding="utf-8")
    missed = misses(calls)
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
