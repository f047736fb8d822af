"""The level of a call-out from 1 to 5: what it costs an old hand with rules of thumb to find out.

``python -m simulator.attempt.level lessons/scenarios/*.yaml`` measures files and compares their levels. Work that
mends is left out of the count, as a long repair is not a hard case; work that turns out needless counts.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean

from simulator.attempt.attempt import Attempt
from simulator.attempt.expert import play
from simulator.attempt.memory_store import MemoryStore
from simulator.attempt.rules_of_thumb_tables import found_good
from simulator.rig.command import Words, as_typed, command
from simulator.run.once import shared_runs
from simulator.scenario import Scenario, load_scenario

SEEDS = tuple(range(11, 19))  # of the chances in looks
GIVEN_UP = 240.0  # [min] charged where the old hand runs out of ideas
#: Up to so many minutes [min] of looking a call-out has level 1, 2, 3, 4; beyond the last it has level 5.
BOUNDS = (10.0, 15.2, 28.5, 45.0)


@dataclass(frozen=True)
class Effort:
    """What a call-out costs an old hand, over several chances.

    ``minutes`` of looking [min], ``steps``: looks and work [-], ``solved``: share of the chances [-].
    """

    minutes: float
    steps: float
    solved: float

    @property
    def level(self) -> int:
        """The level from 1 to 5.

        Examples
        --------
        >>> Effort(minutes=12.0, steps=6.0, solved=1.0).level
        2
        """
        return 1 + sum(self.minutes > bound for bound in BOUNDS)


def effort(scenario: Scenario, seeds: Iterable[int] = SEEDS) -> Effort:
    """What a call-out costs an old hand who knows its rules of thumb and not its answer.

    Examples
    --------
    >>> from simulator.scenario import SiteChoice, choose_fault
    >>> open_drain = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0),
    ...                       faults=(choose_fault("drain_open", 0.6),))
    >>> effort(open_drain, seeds=(1,)).level
    1
    """
    with shared_runs():  # chance is in the looks: most plays start the same rigs in the same way
        played = [_once(scenario, seed) for seed in seeds]
    return Effort(*(fmean(column) for column in zip(*played, strict=True)))


def _once(scenario: Scenario, seed: int) -> tuple[float, float, float]:
    attempt = Attempt(scenario, MemoryStore(), seed=seed)
    if not play(attempt):
        return GIVEN_UP, float(len(attempt.log)), 0.0
    done = [event for event in attempt.log if event["accepted"] and event["act"] in ("check", "remedy")]
    mended = sum(
        event["result"]["minutes"]
        for event in done
        if event["act"] == "remedy" and event["result"]["finding"] not in found_good()
    )
    return attempt.yard.ticks / 600.0 - mended, float(len(done)), 1.0


def main(arguments: list[str] | None = None) -> int:
    """One line a file: its level as measured, what it costs, and the level as written where that differs.

    Returns 1 where a file says otherwise; ``arguments`` are those of the command line by default.
    """
    about = "Plays each call-out as an old hand would and says how many minutes of looking it takes, and its level."
    parser = Words(prog=as_typed("simulator.attempt.level"), description=about)
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE", help="call-outs, *.scenario.yaml")
    wrong = 0
    for path in sorted(parser.parse_args(arguments).files):
        scenario = load_scenario(path)
        found = effort(scenario)
        differs = scenario.level is not None and scenario.level != found.level
        wrong += differs
        sys.stdout.write(f"{path.name}: {_told(found, scenario.level)}\n")
    return 1 if wrong else 0


def _told(found: Effort, written: int | None) -> str:
    tries = "" if found.solved >= 1.0 else f" in {100.0 * found.solved:.0f} of 100 tries"
    said = (
        f"level {found.level}. An old hand finds it{tries}, with {found.minutes:.0f} minutes of looking "
        f"over {found.steps:.0f} looks and repairs."
    )
    if written is None:
        return f"{said} The file names no level."
    return said if written == found.level else f"{said} The file says level {written}."


if __name__ == "__main__":
    sys.exit(command(main))
