"""Does the advice end, and rightly: in a proof where the trouble is on the list, in "none of these" where it is not.

The advice is followed to its end on 300 call-outs whose trouble its hypotheses hold, in four sets, and on 100 whose
trouble stands on no list (:mod:`simulator.studies.off_the_list`).

single
    One fault, by its weight.
pair
    Two of the usual faults at once: all pairs of the published list (``PAIRED`` in
    :mod:`simulator.diagnosis.hypotheses`), each at one site after the other.
late
    One fault that comes or grows at a time of a run.
liar
    A gauge that reads wrong, alone or beside a fault.

``python -m simulator.studies.endings`` plays them all and prints how they ended; ``--fit 30 --strange 20`` plays some.

Throughout: ``group`` is a set, ``seed`` that of a call-out's chance, ``number`` its number in the set, ``job`` all three.
"""

from __future__ import annotations

import argparse
import itertools
import random
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.hypotheses import PAIRED
from simulator.diagnosis.option import FINISH, HAND_OVER, Option
from simulator.errors import InputError
from simulator.marking.economy import expert_advice
from simulator.marking.rig_state import proves
from simulator.rig.command import command, whole
from simulator.rig.faults import FAULTS, Fault
from simulator.scenario import Scenario, build, random_scenario, sound_rig
from simulator.scenario.choices import FaultChoice, choose_fault
from simulator.studies.bank_drawing import SITES
from simulator.studies.off_the_list import CAUSES, attempt_with
from simulator.studies.trainees import Expert

#: Call-outs of each set of 300.
SETS = {"single": 100, "pair": 55, "late": 75, "liar": 70}
STRANGE = "off the list"
LIARS = ("gauge_low", "gauge_stuck", "gauge_slow", "motive_gauge_stuck")
LATEST, LONGEST = 90.0, 60.0  # [s] until a late fault begins, and in which it grows
ALONE = 0.4  # [-] share of lying gauges with no fault beside
TRIES = 40  # draws until a call-out troubles anybody
TOLD_EVERY = 25  # call-outs between two times that the figures so far are printed
OFTEN = 4  # times the same act is done with nothing new in between: going round in circles
MOST_SAID, LEAST_SAID = (
    0.01,
    0.9,
)  # [-] share of "none of these" where the trouble is on the list, and where it is not


@dataclass(frozen=True)
class Ended:
    """How the advice ended: ``how`` is proof, none of these, or cut off; ``circles`` whether it went round in them."""

    group: str
    trouble: str
    rig: str
    how: str
    circles: bool
    steps: tuple[str, ...]


class Led(Expert):
    """Does as the coach says until he says no more."""

    most_steps = 80

    def __init__(self, attempt: Attempt, seed: int = 0) -> None:
        super().__init__(attempt, seed)
        self.handed_over = False
        self.acts: list[str] = []

    def choices(self) -> Iterable[Option]:
        """As advised, with what was advised noted."""
        while True:
            advice = expert_advice(self.trail.end, self.story, self.trail.time, bool(self.attempt.timelines))
            if advice.option.kind == HAND_OVER:
                self.handed_over = True
                return
            option = self.watching() if advice.option.kind == FINISH else advice.option
            self.acts.append(f"{option.id} {option.place}".strip())
            yield option


def faulty(group: str, number: int, seed: int) -> Scenario:
    """A call-out of a set whose trouble is on the list, and troubles.

    Raises
    ------
    InputError : nothing drawn troubles anybody.

    Examples
    --------
    >>> len(faulty("pair", 3, 1).faults)
    2
    """
    for attempt in range(TRIES):
        chance = random.Random(f"{group} {number} {seed} {attempt}")
        rig, lift, depth, water, air = SITES[(number + attempt) % len(SITES)]
        figures = {
            "lift_m": lift,
            "submergence_m": depth,
            "water_temperature_c": water,
            "air_temperature_c": air,
            "name": "",
        }
        plain = random_scenario(chance.randrange(2**31), rig=rig, only=("drain_open",))
        plain = plain.model_copy(update={"site": plain.site.model_copy(update=figures), "faults": ()})
        card = sound_rig(plain)
        try:
            faults = _faults(group, number, chance, card)
            scenario = plain.model_copy(update={"faults": faults})
            if not faults or (proves(*build(scenario), card) and not _only_gauges(scenario)):
                continue
        except InputError:  # no such part at this rig
            continue
        return scenario
    raise InputError(f"no call-out {number} of the set {group}", "seed", "another seed")


def _only_gauges(scenario: Scenario) -> bool:
    return all(FAULTS[name].family == "instrument" for name in scenario.fault_ids)


def _faults(group: str, number: int, chance: random.Random, card: tuple) -> tuple[FaultChoice, ...]:  # type: ignore[type-arg]
    usual = [f for f in FAULTS.values() if f.family not in ("none", "instrument") and f.places(*card)]

    def drawn(item: Fault) -> FaultChoice:
        places = item.places(*card)
        size = item.size.drawn(chance.random()) if item.size is not None else 0.0
        return choose_fault(item.id, size, places[chance.randrange(len(places))])

    def by_weight() -> FaultChoice:
        return drawn(chance.choices(usual, [f.weight for f in usual])[0])

    if group == "single":
        return (by_weight(),)
    if group == "pair":
        pairs = list(itertools.combinations(PAIRED, 2))
        return tuple(drawn(FAULTS[name]) for name in pairs[number % len(pairs)])
    if group == "late":
        start = round(chance.uniform(0.0, LATEST), 1)
        end = round(start + chance.uniform(1.0, LONGEST), 1)
        return (by_weight().model_copy(update={"start_s": start, "end_s": end}),)
    liar = drawn(FAULTS[chance.choice([name for name in LIARS if FAULTS[name].places(*card)])])
    return (liar,) if chance.random() < ALONE else (liar, by_weight())


def play(job: tuple[str, int, int]) -> Ended:
    """Follow the advice on a call-out (set, number, seed) to its end."""
    group, number, seed = job
    if group == STRANGE:
        name = list(CAUSES)[number % len(CAUSES)]
        attempt, trouble = attempt_with(name, seed + number), name
    else:
        scenario = faulty(group, number, seed)
        attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=seed + number)
        trouble = "+".join(scenario.fault_ids)
    led = Led(attempt)
    led.play()
    if attempt.yard.ended == "finished":
        how = "proof"
    else:
        how = (
            "none of these"
            if led.handed_over
            else attempt.yard.ended
            if led.done < led.most_steps
            else "cut off"
        )
    most = max(Counter(led.acts).values(), default=0)
    circles = how == "cut off" or most > OFTEN + _changes(led.acts)
    return Ended(group, trouble, attempt.scenario.rig, how, circles, tuple(led.acts))


def _changes(acts: Sequence[str]) -> int:
    """How many of the acts were no starts: after each a start may be watched again [-]."""
    return sum(act != "watch" for act in acts)


def jobs(fit: int, strange: int, seed: int) -> Iterator[tuple[str, int, int]]:
    """The call-outs to play: ``fit`` over the four sets as 300 are, ``strange`` over all causes."""
    whole_number = sum(SETS.values())
    for group, count in SETS.items():
        own = round(fit * count / whole_number)
        step = max(count // own, 1) if group == "pair" and own else 1  # some of all pairs, not the first
        yield from ((group, number * step, seed) for number in range(own))
    yield from ((STRANGE, number, seed) for number in range(strange))


def main(arguments: Sequence[str] | None = None) -> int:
    """Play and print; 1 where an ending is missed. ``arguments`` as on a command line."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.endings")
    parser.add_argument("--fit", type=whole(0, 10_000), default=300)
    parser.add_argument("--strange", type=whole(0, 10_000), default=100)
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=7100)
    parser.add_argument("--workers", type=whole(1, 64), default=1)
    chosen = parser.parse_args(arguments)
    # Those of one site together: its hypotheses are then worked out once. What fits nothing comes last.
    todo = sorted(
        jobs(chosen.fit, chosen.strange, chosen.seed),
        key=lambda job: (job[0] == STRANGE, job[1] % len(SITES)),
    )
    found: list[Ended] = []
    with ProcessPoolExecutor(chosen.workers) as pool:
        for job, each in zip(
            todo, pool.map(play, todo) if chosen.workers > 1 else map(play, todo), strict=True
        ):
            found.append(each)
            steps = "" if each.how == "proof" else "  " + ", ".join(each.steps)
            sys.stdout.write(f"{each.group} {job[1]} {each.trouble} {each.rig}: {each.how}{steps}\n")
            sys.stdout.flush()
            if len(found) % TOLD_EVERY == 0:
                report(found)
    return 1 if report(found) else 0


def report(found: Sequence[Ended]) -> list[str]:
    """Print what came out of all that were played (``found``); what is missed, as sentences."""
    for group in dict.fromkeys(each.group for each in found):
        own = [each for each in found if each.group == group]
        ways = Counter(each.how for each in own)
        told = ", ".join(f"{how} {count}" for how, count in sorted(ways.items()))
        sys.stdout.write(f"{group:13} {len(own):4}: {told}; in circles {sum(each.circles for each in own)}\n")
    listed = [each for each in found if each.group != STRANGE]
    strange = [each for each in found if each.group == STRANGE]
    said = sum(each.how == "none of these" for each in listed)
    told_strange = sum(each.how == "none of these" for each in strange)
    circles = sum(each.circles for each in found)
    sys.stdout.write(
        f"ended {sum(each.how != 'cut off' for each in found)} of {len(found)}; circles {circles};"
        f" none of these: {told_strange} of {len(strange)} off the list, {said} of {len(listed)} on it\n"
    )
    sys.stdout.flush()
    missed = []
    if circles:
        missed.append(f"{circles} call-outs went round in circles")
    if listed and said > MOST_SAID * len(listed):
        missed.append(f"none of these was said of {said} call-outs whose trouble is on the list")
    if strange and told_strange < LEAST_SAID * len(strange):
        missed.append(
            f"none of these was said of {told_strange} of {len(strange)} whose trouble is not on it"
        )
    for sentence in missed:
        sys.stderr.write(f"MISSED: {sentence}\n")
    return missed


if __name__ == "__main__":
    raise SystemExit(command(main))
