"""Whether a running pump has proven itself, still pumps, or has run for too long without water."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from simulator.attempt.notes import note
from simulator.attempt.timeline import TICK
from simulator.run.outcome import SHARE, pumps_well

if TYPE_CHECKING:
    from simulator.attempt.attempt import Attempt

HELD_LONGER = 150  # [0.1 s] beyond the time at which it lost its prime before
DRY_LIMIT = 6000  # [0.1 s] of running without water before it is noted; common practice, no source
STANDING_FLOW = 0.01  # of the steady flow, below which no water moves on


def proven(attempt: Attempt) -> bool:
    """Whether the run that is shown has primed in the time its hose and lift should take."""
    timeline, yard = attempt.timeline, attempt.yard
    if timeline is None or not yard.engine_on:
        return False
    timeline.extend_to(yard.shown)
    tick = timeline.prime_tick()
    history = timeline.history(yard.shown)
    if tick is None or tick > yard.shown or history.prime_time > attempt.case.proof_time_of(timeline):
        return False
    return pumps_well(history, attempt.case.sound, yard.shown * TICK) and not _may_yet_lose(attempt)


def still_pumps(attempt: Attempt, ticks: int) -> bool:
    """Whether the running pump goes on pumping well for so many ticks of 0.1 s."""
    timeline, later = attempt.running_timeline(), attempt.yard.shown + ticks
    return pumps_well(timeline.history(later), attempt.case.sound, later * TICK)


def _may_yet_lose(attempt: Attempt) -> bool:
    """A prime that was lost in an earlier run must now hold for longer than it did then."""
    for timeline in attempt.timelines[:-1]:
        if timeline.stopped_at is None:
            continue
        history = timeline.history(timeline.stopped_at)
        flow = np.asarray(history.discharge_flow)
        if np.isfinite(history.prime_time) and flow[-1] < SHARE * history.steady_flow:
            held = int(np.flatnonzero(flow > SHARE * history.steady_flow)[-1])
            if attempt.yard.shown < held + HELD_LONGER:
                return True
    return False


def dry_running(attempt: Attempt, result: dict[str, Any]) -> str:
    """A pump run long without water, or full against a shut line, is marked once a run."""
    timeline, yard = attempt.timeline, attempt.yard
    if timeline is None or not yard.engine_on or yard.dry_warned == timeline.number or yard.shown < DRY_LIMIT:
        return ""
    history = timeline.history(yard.shown)
    full = float(history.casing_fill[yard.shown]) > 0.5
    moved = np.asarray(history.discharge_flow)[yard.shown - DRY_LIMIT // 2 : yard.shown + 1]
    if full and float(moved.max()) > STANDING_FLOW * history.steady_flow:
        return ""
    yard.dry_warned = timeline.number
    result["hazard"] = "ran_shut" if full else "ran_dry"
    result["notes"].append(note("warning", f"attempt.warnings.{'long_shut_run' if full else 'long_dry_run'}"))
    return "minor"
