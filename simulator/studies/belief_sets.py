"""Whether stated chances come true where a call-out is not one plain fault on plain gauges; by set.

single
    One fault there from the start, on a rig a few percent off: as in :mod:`simulator.studies.calibration`.
late
    The same, but it comes, or grows, at any time of the start. It is one that can: a stand and the lay of a hose stay as
    they are (``may_come_late`` of :class:`simulator.diagnosis.hypotheses.Hypothesis`).
pair
    Two of the usual faults at once.
liar
    A gauge that reads wrong, alone or beside a fault.
noise
    One fault, and needles that shake four times as much as anybody told the belief.

Beliefs are asked at two moments of a play. Where two faults are there, a second one comes into the belief as it does on
the page: once it shows.

before any part
    The last moment before the first act that opens any part, whatever is wrong: a look for which something is taken off
    or apart, or work. One statement a case: the likeliest fault, which is right where it is there. Calibration and what
    was stated surely are judged here: when it is asked hangs on what was seen alone, never on what is wrong, so one
    whose chances are exact stays so (a forecast that is exact at every time is exact at any time chosen by what was
    seen: optional stopping, Doob 1953, Stochastic Processes).
before its own part
    Of each fault that is there, the last moment before the first act that opens that fault's part; of what has been
    found by then nothing more is asked. Whether the truth is among the first three is judged here. Calibration is told
    beside it and not judged: that moment knows the truth. Who says six in ten and opens that part first is asked there
    only where he is right; where he is wrong he finds the part good and is asked later, of something else. So one who is
    exact seems to say too little. ``asked_by_the_truth`` shows how much: forecasters whose chances, as stated before any
    part, are exact, asked at this moment.

Two faults of the list have a second name where they come as the rig runs (``AS_IT_RUNS``): the strainer that is plugged
at 60 s and the weed that gathers on it from then on run alike, are at one spot, and one work mends both. For what came as
it ran either name is right: for every fault of the late set, and in all sets for those that come so by their nature.
Beside any fault a gauge may lie: how likely that is, the belief says beside it
(:func:`simulator.diagnosis.lying_gauge.bad_gauges`), at the end too, where the fault itself is mended and the rig proven.

``python -m simulator.studies.belief_sets --cases 1000 --kept cases.jsonl --out report.html`` plays them, says how each
set stands after each rig, and writes one page to print. Each case has a seed of its own, by set and number; those in the
kept file are not played again, so a run that was stopped, or one of fewer cases, goes on where it was.

Throughout: ``group`` is a set, ``count`` the number of its cases, ``seed`` of what is drawn, ``cases`` the hypotheses
of the rig in good order, ``found`` what was asked of cases that were played.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypotheses import PAIRED, STAND_STILL
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set, model_version
from simulator.diagnosis.lying_gauge import bad_gauges
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.diagnosis.outlook import Observer
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, VACUUM_RUNS
from simulator.marking.certainty import AS_IT_RUNS
from simulator.rig.command import command, page_to_write, whole
from simulator.rig.faults import FAULTS
from simulator.rig.onset import coming_late
from simulator.rig.parts import GaugeState
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import Rig, Site
from simulator.studies.calibration_page import sets_page
from simulator.studies.expert_play import Place, play
from simulator.studies.forecasts import SITES, Forecast, Score, calibration_error, score
from simulator.studies.perturbed import (
    EXPONENT,
    MAX_DRAWN,
    OFFSET,
    OPENINGS,
    SIZES,
    altered_weights,
    drawn_size,
    perturbed_rig,
    pumps_in_time,
    with_openings,
)

SETS = ("single", "late", "pair", "liar", "noise")
#: Wanted of each set [-]: truth among the first three; where nothing is named it is only told.
TOP = {"single": 0.97, "late": 0.93, "pair": 0.90, "liar": 0.90}
ERROR = 0.05  # [-] of calibration, at most, in each set
STATED = 0.95  # [-] from which a statement counts as sure
WRONG = 0.05  # [-] of these, wrong at most
NOISE = 4.0  # [-] shake of the needles over the usual
LIARS = ("gauge_low", "gauge_stuck", "gauge_slow", "motive_gauge_stuck")
ALONE = 0.4  # [-] share of lying gauges with no fault beside
LATEST, LONGEST = 100.0, 60.0  # [s] until a late fault begins, and in which it grows
SEEN = 0.3  # [-] by which an outcome's chance must differ for a look to have opened the faulty part
TESTS = (*VACUUM_RUNS, "receiver_test")  # take things off to measure, and show no part
LEAST = 1e-6  # [-] stated chance from which a fault is kept
PERFECT = 40  # perfect forecasters asked by the truth


@dataclass(frozen=True)
class Asked:
    """What was asked of one case: ``number`` of its set, ``first`` before any part is opened, ``parts`` before that of
    each fault that is there; ``opens`` the chance [-] that each fault is there and the first act that opens any part
    opens its."""

    number: int
    first: Forecast
    opens: Mapping[str, float]
    parts: tuple[Forecast, ...]


@dataclass(frozen=True)
class Figures:
    """How a set came true: ``top`` share [-] with the truth among the first three before its own part is opened; ``any``
    and ``own`` the figures before any part, and before its own; ``own_null`` [-] the calibration error that a perfect
    forecaster has there: mean and 95th percentile."""

    top: float
    any: Score
    own: Score
    own_null: tuple[float, float]


class Case:
    """A case of a set: what is wrong, on a rig a few percent off, and the rig with each of its faults alone."""

    def __init__(self, group: str, observer: Observer, chance: np.random.Generator, habits: tuple) -> None:  # type: ignore[type-arg]
        weights, bend = habits
        card, site = observer.rig, observer.site
        self.other_names = {late: name for name, late in AS_IT_RUNS.items()}
        if group == "late":
            self.other_names |= AS_IT_RUNS
        for _ in range(MAX_DRAWN):
            base = replace(
                perturbed_rig(card, chance),
                suction_gauge=GaugeState(offset=float(chance.normal(0.0, OFFSET))),
            )
            self.observer = observer.beside(float(chance.uniform(*EXPONENT)))
            self.base, self.seed = (base, site), int(chance.integers(2**31))
            openings = float(chance.uniform(1.0 - OPENINGS, 1.0 + OPENINGS))
            self.faults = _drawn(group, card, site, chance, weights)
            there, self.alone = self.base, {}
            for name in self.faults:
                item, places = FAULTS[name], FAULTS[name].places(card, site)
                place = places[int(chance.integers(len(places)))]
                size = drawn_size(item, float(chance.random()) ** bend)
                there = item.apply(*there, size, place)
                self.alone[name] = item.apply(*self.base, size, place)
            self.rig, self.site = with_openings(there[0], openings), there[1]
            if group == "late":
                start = round(float(chance.uniform(0.0, LATEST)), 1)
                end = round(start + float(chance.uniform(1.0, LONGEST)), 1)
                good = (with_openings(base, openings), site)
                self.rig = coming_late(good, (self.rig, self.site), start, end)
            gauges = all(FAULTS[name].family in ("none", "instrument") for name in self.faults)
            if gauges or not pumps_in_time(self.observer, self.rig, self.site):
                return
        raise InputError("no fault troubles this rig at this site", "site", "a site with some lift")

    def opened_by(self, step: Option) -> tuple[str, ...]:
        """The faults whose part a step opens."""
        return tuple(name for name in self.faults if self._opens(name, step))

    def _opens(self, name: str, step: Option) -> bool:
        rig, site = self.alone[name]
        if step.kind == REMEDY:
            item = REMEDIES[step.id]
            own = not item.per_joint and FAULTS[name].part in (item.part, *item.also)
            return own or item.finding(rig, site, step.place) != item.finding(*self.base, step.place)
        if not opens_a_part(step):
            return False
        there, good = (self._shown(step, *rig_at) for rig_at in ((rig, site), self.base))
        return bool(np.abs(there - good).max() > SEEN)

    def _shown(self, step: Option, rig: Rig, site: Site) -> np.ndarray:
        run = self.observer.sound  # parts at rest show the same whatever was run
        return self.observer.chances(CHECKS[step.id], step.place, rig, site, run, (float("nan"),))[0]


def _drawn(
    group: str, card: Rig, site: Site, chance: np.random.Generator, weights: Mapping[str, float]
) -> tuple[str, ...]:
    """The faults of a case, by their weights."""

    def some(names: Sequence[str], count: int) -> tuple[str, ...]:
        here = [name for name in names if FAULTS[name].places(card, site)]
        shares = np.array([weights[name] for name in here])
        return tuple(str(n) for n in chance.choice(here, count, replace=False, p=shares / shares.sum()))

    real = [name for name, item in FAULTS.items() if item.family not in ("none", "instrument")]
    if group == "pair":
        return some(PAIRED, 2)
    if group == "liar":
        liar = some(LIARS, 1)
        return liar if chance.random() < ALONE else (*some(real, 1), *liar)
    if group == "late":
        return some([name for name in real if FAULTS[name].part not in STAND_STILL], 1)
    return some(list(FAULTS), 1)


def opens_a_part(step: Option) -> bool:
    """Whether a step takes something off or apart to look at it, or works on it.

    Examples
    --------
    >>> [opens_a_part(Option(CHECK, name, "", 5.0)) for name in ("nozzle_out", "exhaust_stream", "blank_off")]
    [True, False, False]
    """
    return step.kind == REMEDY or (step.kind == CHECK and CHECKS[step.id].opens and step.id not in TESTS)


def asked_of(group: str, cases: HypothesisSet, numbers: Sequence[int], seed: int) -> Iterator[Asked]:
    """What is asked of some cases of a set, by their ``numbers``, beside one rig in good order, one after another."""
    which = SETS.index(group)
    chance = np.random.default_rng([seed, which, numbers[0] % len(SITES)])
    observer = Observer(cases.rig, cases.site)
    habits = altered_weights(chance), float(np.exp(SIZES * chance.standard_normal()))
    for number in numbers:
        case = Case(group, observer, np.random.default_rng([seed, which, 100 + number]), habits)
        yield asked_with(case, cases, NOISE if group == "noise" else 1.0, number)


def asked_with(case: Case, cases: HypothesisSet, noise: float = 1.0, number: int = 0) -> Asked:
    """What is asked of one case."""
    asked: dict[str, tuple[Belief, tuple[str, ...]]] = {}
    first: list[tuple[Belief, dict[str, float]]] = []

    def before(belief: Belief, step: Option) -> bool:
        if not first and opens_a_part(step):
            first.append((belief, chances_opened(belief, step)))
        known = tuple(asked)
        for name in case.opened_by(step):
            asked.setdefault(name, (belief, known))
        return len(asked) == len(case.faults)

    place = Place(case.observer, case.rig, case.site, case.seed, noise)
    played = play(cases, place, before=before, pairs=lambda: _wide(cases))
    steps = tuple(f"{step.id}: {result}" if result else step.id for step, result in played.steps)
    end = played.beliefs["end"]
    for name in case.faults:
        asked.setdefault(name, (end, tuple(asked)))

    def forecast(name: str, belief: Belief, known: tuple[str, ...]) -> Forecast:
        other = case.other_names.get(name, "")
        stated = either_name(there(belief), name, "" if other in case.faults else other)
        return Forecast(
            name,
            {each: chance for each, chance in stated.items() if chance >= LEAST or each == name},
            cases.rig.name,
            steps,
            tuple(other for other in case.faults if other != name and other not in known),
            tuple(each for each in known if each in stated),
        )

    belief, opens = first[0] if first else (end, {})
    return Asked(
        number,
        forecast(case.faults[0], belief, ()),
        opens,
        tuple(forecast(name, *then) for name, then in asked.items()),
    )


def chances_opened(belief: Belief, step: Option) -> dict[str, float]:
    """Chance [-] that each fault is there and a ``step`` opens its part, by a ``belief``."""
    cases, now = belief.cases, belief.now
    if step.kind == REMEDY:
        found = cases.situations.findings[step.id, step.place]
        bad = found[now] != found[0]
    else:
        table = cases.chances[step.id, step.place][:, 0]
        bad = np.abs(table[now] - table[0]).max(axis=1) > SEEN
    chances = (cases.shares > 0.0) @ (belief.weights * bad)
    return {
        name: chance for name, chance in zip(cases.faults, chances.tolist(), strict=True) if chance >= LEAST
    }


def asked_by_the_truth(found: Sequence[Asked], seed: int) -> tuple[float, float]:
    """Mean and 95th percentile of the calibration error [-] of perfect forecasters who are asked before the part of what
    is wrong is opened.

    What is wrong is drawn by the chances stated before any part is opened. Where the act that opens one shows it, that is
    what is asked; else what that act would have shown is known to be good, and the likeliest of the rest is opened, one
    after another. Chances together more than 1 (two at once) are taken in proportion.

    Examples
    --------
    >>> said = Forecast("belt_loose", {"belt_loose": 0.6, "drain_open": 0.4})
    >>> mean, _ = asked_by_the_truth([Asked(0, said, {"belt_loose": 0.6}, ())] * 50, 1)
    >>> 0.2 < mean < 0.4
    True
    """
    chance, errors = np.random.default_rng(seed), []
    tables = [
        (
            np.array(list(each.first.stated.values())),
            np.array([each.opens.get(n, 0.0) for n in each.first.stated]),
        )
        for each in found
    ]
    for _ in range(PERFECT):
        asked = np.array(
            [_asked_once(stated / stated.sum(), opens / stated.sum(), chance) for stated, opens in tables]
        )
        errors.append(calibration_error(np.minimum(asked[:, 0], 1.0), asked[:, 1]))
    return float(np.mean(errors)), float(np.quantile(errors, 0.95))


def _asked_once(stated: np.ndarray, opens: np.ndarray, chance: np.random.Generator) -> tuple[float, float]:
    """What a perfect forecaster states [-] once the truth's part is to be opened, and whether it comes true (1 or 0)."""
    truth = int(chance.choice(len(stated), p=stated))
    left = stated
    shown = chance.random() * stated[truth] < opens[truth]
    while not shown:
        rest = np.maximum(left - opens, 0.0) if left is stated else np.where(left == left.max(), 0.0, left)
        if not rest[truth] > 0.0:  # the last of what was thought of
            break
        left = rest / rest.sum()
        shown = int(np.argmax(left)) == truth
    best = int(np.argmax(left))
    return float(left[best]), float(best == truth)


def _wide(cases: HypothesisSet) -> HypothesisSet:
    return hypothesis_set(cases.rig, cases.site, pairs=True)


def either_name(stated: Mapping[str, float], name: str, other: str) -> dict[str, float]:
    """The chances [-] that were ``stated``, what was said under a fault's ``other`` name counted to its ``name``.

    Examples
    --------
    >>> either_name({"flange_leaks": 0.25, "flange_works_loose": 0.5}, "flange_leaks", "flange_works_loose")
    {'flange_leaks': 0.75}
    """
    out = {each: chance for each, chance in stated.items() if each != other}
    return out | {name: stated.get(name, 0.0) + stated.get(other, 0.0)} if other else out


def there(belief: Belief) -> dict[str, float]:
    """Chance [-] that each fault is there, alone or with another; of a gauge, beside whatever else is wrong."""
    chances = (belief.cases.shares > 0.0) @ belief.weights
    stated = dict(zip(belief.cases.faults, chances.tolist(), strict=True))
    for name, chance in bad_gauges(belief).items():
        stated[name] += chance
    return stated


def study(group: str, count: int, seed: int, known: Sequence[Asked] = ()) -> Iterator[Asked]:
    """What is asked of a set's cases that are not ``known`` yet, each as it is played; one rig after another."""
    played = {each.number for each in known}
    for place, (rig, lift) in enumerate(SITES):
        numbers = [number for number in range(place, count, len(SITES)) if number not in played]
        if numbers:
            cases = hypothesis_set(load_rig(rig), replace(standard_site(rig), lift=lift))
            yield from asked_of(group, cases, numbers, seed)


class Kept:
    """A file of cases that were played, one a line of JSON: read and added to.

    Parameters
    ----------
    path : of the file; None: nothing is kept.
    seed : of the study; a case counts only under its seed and this version of the model.
    """

    def __init__(self, path: Path | None, seed: int) -> None:
        self.path, self.about = path, {"seed": seed, "model": model_version()}
        self.found: dict[str, list[Asked]] = {group: [] for group in SETS}
        text = path.read_text(encoding="utf-8") if path is not None and path.exists() else ""
        if path is not None and text and not text.endswith("\n"):  # the run was stopped as it wrote
            path.write_text(text[: text.rfind("\n") + 1], encoding="utf-8")
        for line in text[: text.rfind("\n") + 1].splitlines():
            try:
                row = json.loads(line)
            except json.JSONDecodeError:
                row = None
            if not isinstance(row, dict) or {key: row.get(key) for key in self.about} != self.about:
                raise InputError(
                    f"{path} holds no cases of this seed and this version of the model",
                    "kept",
                    "a file of its own",
                )
            self.found[row["group"]].append(asked_from(row["asked"]))

    def add(self, group: str, asked: Asked) -> None:
        """One case more."""
        self.found[group].append(asked)
        if self.path is not None:
            row = {"group": group, **self.about, "asked": asdict(asked)}
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")


def asked_from(row: Mapping[str, Any]) -> Asked:
    """A case as a ``row`` of a kept file holds it.

    Examples
    --------
    >>> one = Asked(3, Forecast("sound", {"sound": 0.5}), {}, (Forecast("sound", {"sound": 0.9}, steps=("watch",)),))
    >>> asked_from(json.loads(json.dumps(asdict(one)))) == one
    True
    """

    def forecast(item: Mapping[str, Any]) -> Forecast:
        lists = {name: tuple(item[name]) for name in ("steps", "also", "known")}
        return Forecast(item["truth"], item["stated"], item["rig"], **lists)

    return Asked(row["number"], forecast(row["first"]), row["opens"], tuple(map(forecast, row["parts"])))


def figures(found: Sequence[Asked], seed: int) -> Figures:
    """The figures of a set, a statement of 0.95 or more counted as sure."""
    any_part = score([each.first for each in found], seed, STATED)
    own_part = score([part for each in found for part in each.parts], seed, STATED)
    return Figures(own_part.top, any_part, own_part, asked_by_the_truth(found, seed))


def line_of(group: str, found: Sequence[Asked], seed: int) -> str:
    """The figures of a set as they stand after some of its cases, in one line."""
    got = figures(found, seed)

    def told(one: Score, null: tuple[float, float]) -> str:
        return (
            f"calibration error {one.ece:.3f} (perfect {null[0]:.3f}, 95 % below {null[1]:.3f}),"
            f" {round(one.certain * one.cases)} at {STATED:g} or more, of those wrong {one.wrong:.3f}"
        )

    return (
        f"{group:7} {len(found)} cases, {got.own.cases} faults: first three {got.top:.3f};"
        f" before any part: {told(got.any, got.any.null)}; before its own: {told(got.own, got.own_null)}\n"
    )


def misses(group: str, found: Sequence[Asked], seed: int) -> list[str]:
    """What was wanted of a set and not reached, as sentences."""
    got, out = figures(found, seed), []
    if got.top < TOP.get(group, 0.0):
        out.append(f"{group}: truth among the first three {got.top:.3f}, wanted {TOP[group]:g} at least")
    if got.any.ece > ERROR:
        out.append(f"{group}: calibration error {got.any.ece:.3f}, wanted {ERROR:g} at most")
    if got.any.wrong > WRONG:
        out.append(f"{group}: stated {STATED:g} and wrong {got.any.wrong:.3f}, wanted {WRONG:g} at most")
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Play the cases, write the page; 1 where something wanted was missed. ``arguments`` as on a command line."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.belief_sets")
    parser.add_argument("--cases", type=whole(1, 100_000), default=1000)
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=41)
    parser.add_argument("--only", choices=SETS, nargs="+", default=list(SETS))
    parser.add_argument("--kept", type=page_to_write, help="file of cases played before, to go on from")
    parser.add_argument("--out", type=page_to_write, default=Path("belief-by-set.html"))
    chosen = parser.parse_args(arguments)
    kept = Kept(chosen.kept, chosen.seed)
    missed: list[str] = []
    for group in chosen.only:
        found = kept.found[group]
        rig = ""
        for asked in study(group, chosen.cases, chosen.seed, tuple(found)):
            if rig and asked.first.rig != rig:
                sys.stdout.write(line_of(group, found, chosen.seed))
                sys.stdout.flush()
            kept.add(group, asked)
            rig = asked.first.rig
        sys.stdout.write(line_of(group, found, chosen.seed))
        sys.stdout.flush()
        missed += misses(group, found, chosen.seed)
    told = {group: kept.found[group] for group in chosen.only}
    pages = {
        group: {
            "any_part": ([each.first for each in found], None),
            "own_part": (
                [part for each in found for part in each.parts],
                asked_by_the_truth(found, chosen.seed),
            ),
        }
        for group, found in told.items()
    }
    chosen.out.write_text(sets_page(pages, chosen.seed, STATED), encoding="utf-8")
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
