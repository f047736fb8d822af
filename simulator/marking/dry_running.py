"""How long a pump was run without water: told in the debrief, and taken off for where nothing was done meanwhile.

A shaft seal is wetted and cooled by the water that it holds. Well past the time in which a pump should have its water,
whoever knows the trade stops it and thinks (common practice, no source). A few looks need it running: those minutes are
told, and cost nothing.

Throughout: ``story`` is what an attempt holds; ``trail`` its steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simulator.attempt.proof import DRY_TOLD, WATER_IN
from simulator.attempt.timeline import TICK
from simulator.diagnosis.evidence import RunSeen, Step, Story, Trail
from simulator.diagnosis.option import WATCH

TOLD = 3.0  # [min] dry, beyond what a start may take, from which it is said; common practice, no source
SLACK = 3.0  # [min] of them that may go by with nothing done; common practice, no source


@dataclass(frozen=True)
class DryRun:
    """A start that ran long without water: ``dry`` minutes [min] of it, ``idle`` of them beyond what a start may take and
    with nothing done meanwhile; ``seq`` is its event, ``noted`` whether the call-out itself has marked it."""

    seq: int
    dry: float
    idle: float
    noted: bool

    @property
    def charged(self) -> bool:
        """Whether it costs marks, as a lapse of care for the pump."""
        return not self.noted and self.idle >= SLACK


def dry_minutes(run: RunSeen, until: float) -> float:
    """Minutes [min] of a start without water in the casing, up to a time [s] of it.

    Parameters
    ----------
    run : as it was watched.
    until : [s], when it was stopped.

    Examples
    --------
    >>> import numpy as np
    >>> one = RunSeen(1, np.zeros((2, 3)), float("nan"), True, 90.0, fill=(0.0, 0.1, 0.9, 0.2))
    >>> round(60.0 * dry_minutes(one, 3.0))
    2
    """
    seen = run.fill[: int(until)]
    return sum(fill <= WATER_IN for fill in seen) / 60.0


def dry_runs(story: Story, trail: Trail) -> list[DryRun]:
    """Each start that ran without water for longer than it may take, in their order."""
    found = []
    for step in trail.steps:
        if step.option.kind == WATCH:
            run = story.runs[story.log[step.seq]["result"]["run"]]
            here = _of(step, run, *_until(story, step.seq))
            if here is not None:
                found.append(here)
    return found


def dry_at(runs: Sequence[DryRun], seq: int) -> DryRun | None:
    """What is to be said of the start of this event; None where it did not run long without water.

    Parameters
    ----------
    runs : that ran long without water.
    seq : of the event.
    """
    return next((run for run in runs if run.seq == seq), None)


def _of(step: Step, run: RunSeen, until: float, noted: bool) -> DryRun | None:
    may = max(DRY_TOLD * TICK, run.proof_time if run.proof_time < until else 0.0) / 60.0
    dry = dry_minutes(run, until)
    if dry - may < TOLD:
        return None
    return DryRun(step.seq, dry, max(min(step.minutes, dry) - may, 0.0), noted)


def _until(story: Story, seq: int) -> tuple[float, bool]:
    """When a start was stopped [s], and whether its long dry run was marked meanwhile."""
    noted, until = False, 0.0
    for event in story.log[seq + 1 :]:
        if event["accepted"]:
            noted = noted or event["result"].get("hazard") == "ran_dry"
            until = float(event["shown_s"] or 0.0)
            if event["act"] == "stop_engine":
                return until, noted
    return max(until, story.shown), noted
