"""Simulated trainees with one bad habit each: to see that no mark pays for it.

careless
    Knows as much as the expert, and tries each act before anything that protects is done; what could cost a hand or a
    life he does not try. Shows what lesser lapses cost.
reckless
    The same without that restraint: the first grave breach ends his call-out. Shows that a grave breach never passes.
asker
    Knows nothing and asks for all three hint steps at every turn, does what he was told and puts all markers on the kind
    of trouble that the hint names. Shows that hints cannot pass.
one start
    Watches one start, states what he believes and hands the job over.
quitter
    Hands the job over at once.

``python -m simulator.studies.habits --scenarios 20`` plays them beside the expert and prints their marks.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.acts import needs_of
from simulator.attempt.calls import MARKERS
from simulator.attempt.safety import act_here, grade, missing
from simulator.diagnosis.option import Option
from simulator.marking.mastery import skills_asked
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import PASS, MarkSheet
from simulator.rig.command import command, whole
from simulator.rig.faults import FAULTS
from simulator.studies.skill import by_site, study_scenarios
from simulator.studies.trainee import USUAL_GUESS, Trainee
from simulator.studies.trainees import Expert

HINT_STEPS = 3


class Careless(Expert):
    """Tries each act bare first, but for what is grave."""

    name = "careless"

    def tries(self, breach: str) -> bool:
        """Whether an act is tried that would be a breach of this grade."""
        return breach in ("minor", "serious")

    def _act(self, action: str, **args: object) -> None:
        attempt = self.attempt
        lacking = missing(needs_of(attempt.state, action, dict(args)), attempt.yard)
        if self.tries(grade(lacking, attempt.yard, act_here(attempt.state, action, dict(args)))):
            attempt.act(action, dict(args))
        if not attempt.yard.ended:
            super()._act(action, **args)


class Reckless(Careless):
    """Tries everything bare."""

    name = "reckless"

    def tries(self, breach: str) -> bool:
        """All of them."""
        return breach != ""


class Asker(Expert):
    """Does what the coach says and nothing else."""

    name = "asker"

    def choices(self) -> Iterable[Option]:
        """Three hint steps, then the act that the third names."""
        for option in super().choices():
            for _ in range(HINT_STEPS):
                self.attempt.act("ask_hint")
            yield option

    def markers(self) -> dict[str, int]:
        """All on the kind of trouble that the first step names."""
        chances, families = self.trail.end.by_fault(), self.trail.end.by_family()
        told = max(families, key=lambda name: families[name])
        mine = {name: chance for name, chance in chances.items() if FAULTS[name].family == told}
        return {max(mine, key=lambda name: mine[name]): MARKERS}

    def guess(self) -> float | None:
        """As anybody would."""
        return USUAL_GUESS

    def blank_answer(self, suspect: str) -> str | None:
        """No idea, whatever the ``suspect``."""
        return None


class OneStart(Trainee):
    """Watches one start and hands the job over."""

    name = "one start"

    def choices(self) -> Iterable[Option]:
        """One start."""
        yield self.watching()
        if not self.attempt.proven():
            self.call()


class Quitter(Trainee):
    """Hands the job over."""

    name = "quitter"

    def choices(self) -> Iterable[Option]:
        """Nothing."""
        return ()

    def guess(self) -> float | None:
        """No idea."""
        return None


HABITS: dict[str, Callable[..., Trainee]] = {
    kind.name: kind for kind in (Expert, Careless, Reckless, Asker, OneStart, Quitter)
}


def play_habit(name: str, attempt: Attempt, seed: int = 0) -> MarkSheet:
    """Play a call-out by one habit and mark it.

    Parameters
    ----------
    name : of the trainee, a key of ``HABITS``.
    attempt : to be played, not begun.
    seed : of the trainee's own chance.
    """
    HABITS[name](attempt, seed).play()
    return marked_attempt(attempt)[2].sheet


def main(arguments: Sequence[str] | None = None) -> int:
    """Play and print; 1 where a grave breach or hints at every turn passed. ``arguments`` as on a command line."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.habits")
    parser.add_argument("--scenarios", type=whole(1, 2000), default=20)
    parser.add_argument("--seed", type=whole(0, 2**31 - 1), default=2000)
    parser.add_argument(
        "--draw", type=whole(0, 2**31 - 1), default=0, help="seed of the first random call-out"
    )
    chosen = parser.parse_args(arguments)
    sheets: dict[str, list[MarkSheet]] = {name: [] for name in HABITS}
    for number, scenario in by_site(study_scenarios(chosen.scenarios, chosen.draw)):
        for name in HABITS:
            attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=chosen.seed + number)
            sheets[name].append(play_habit(name, attempt, number))
        sys.stdout.write(f"{number + 1} {'+'.join(skills_asked(scenario.fault_ids))}\n")
        sys.stdout.flush()
    wrong = 0
    for name, played in sheets.items():
        totals = [sheet.total for sheet in played]
        passed, grave = sum(sheet.passed for sheet in played), sum(sheet.grave for sheet in played)
        through = sum(sheet.grave and sheet.passed for sheet in played)
        off = np.mean([sheet.points("safety") or 0.0 for sheet in played])
        sys.stdout.write(
            f"{name:10} mean {np.mean(totals):5.1f}  passed {passed:3} of {len(played)}"
            f"  grave {grave:3} (passed {through})  taken off {-off:4.1f}\n"
        )
        wrong += through + (name == "asker" and max(totals) >= PASS)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
