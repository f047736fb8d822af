"""Whether a running pump has proven itself, still pumps, or has run for too long without water.

Throughout: ``state`` is the attempt as it stands, at any stage.
"""

from __future__ import annotations

import math
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from simulator.attempt.notes import note
from simulator.attempt.state import AttemptState
from simulator.attempt.timeline import TICK, Timeline
from simulator.attempt.yard import SPEEDS
from simulator.rig.rig import hose_profile
from simulator.rig.trainer import overrides
from simulator.run import layout
from simulator.run.outcome import SHARE, pumps_well
from simulator.run.parameters import rest_position

HELD_LONGER = 150  # [0.1 s] beyond the time at which it failed before
DRY_LIMIT = 6000  # [0.1 s] of running without water before it is noted; common practice, no source
DRY_TOLD = (
    1200  # [0.1 s] of running without water after which the learner is asked; common practice, no source
)
DRY_NOTICE = 600  # [0.1 s] before it is noted that the learner is asked once more
SETTLED = 100  # [0.1 s] after its prime in which a pump is not judged yet
WATER_IN = 0.5  # fill of the casing above which there is water in it
FULL_FROM = (
    0.1  # share of the hose above the outside level that may hold water at a start that counts as proof
)
DRY_FILL, DRY_VACUUM = 0.02, 500.0  # [-] and [Pa] up to which a rig counts as dry and vented
STANDING_FLOW = 0.01  # of the steady flow, below which no water moves on


def proven(state: AttemptState) -> bool:
    """Whether the run that is shown has primed, from an emptied hose, in the time its hose and lift should take, and has
    pumped well for longer than an earlier run that then failed."""
    return pumps_in_time(state) and state.yard.shown >= must_hold(state, len(state.timelines) - 1)


def why_not(state: AttemptState) -> str:
    """Why a run is no proof: not_from_empty, not_long_enough or not_proven."""
    if not counts(state):
        return "not_from_empty"
    return "not_long_enough" if pumps_in_time(state) else "not_proven"


def falls_short(state: AttemptState) -> str:
    """How a start that took its prime falls short of a proof once the calls are made: late, under_way, little or ""."""
    timeline, yard = state.timeline, state.yard
    if timeline is None or not (yard.engine_on and yard.has("second_call") and counts(state)):
        return ""
    timeline.extend_to(yard.shown)
    tick = timeline.prime_tick()
    if tick is None or yard.shown < tick + SETTLED or proven(state):
        return ""
    if timeline.history(yard.shown).prime_time > state.case.proof_time_of(timeline):
        return "under_way" if timeline.changed_under_way else "late"
    return "" if pumps_in_time(state) else "little"


def pumps_in_time(state: AttemptState) -> bool:
    """Whether the run that is shown has primed, from an emptied hose, in time, and pumps well as yet."""
    timeline, yard = state.timeline, state.yard
    if timeline is None or not yard.engine_on or not counts(state):
        return False
    timeline.extend_to(yard.shown)
    tick = timeline.prime_tick()
    history = timeline.history(yard.shown)
    if tick is None or tick > yard.shown or history.prime_time > state.case.proof_time_of(timeline):
        return False
    return pumps_well(history, state.case.sound, yard.shown * TICK)


def counts(state: AttemptState) -> bool:
    """Whether the latest start may be a proof: with water left in the hose a pump that draws air in primes as well.

    Attempts of the first version of this rule took every start for one.
    """
    timeline = state.timeline
    return state.terms.proof_rules == 1 or timeline is None or not begun_full(timeline)


def begun_full(timeline: Timeline) -> bool:
    """Whether the hose still held water above the outside level when the engine of this run (``timeline``) started."""
    begun = timeline.begun_from
    if begun is None:
        return False
    hose = hose_profile(timeline.rig, timeline.site)
    rest, length = rest_position(hose), timeline.rig.suction_hose.length
    return float(begun.y[layout.FRONT]) - rest > FULL_FROM * (length - rest)


def begun_dry(history: Any) -> bool:
    """Whether pump and line were dry and vented at the start of a run (``history``): else its time tells little."""
    vacuum = float(history.atmosphere) - float(history.suction_pressure[0])
    wet = max(float(history.casing_fill[0]), float(history.line_fill[0])) >= DRY_FILL
    return not wet and abs(vacuum) < DRY_VACUUM


def still_pumps(state: AttemptState, ticks: int) -> bool:
    """Whether the running pump goes on pumping well for so many ticks of 0.1 s."""
    timeline, later = state.running_timeline(), state.yard.shown + ticks
    return pumps_well(timeline.history(later), state.case.sound, later * TICK)


def must_hold(state: AttemptState, before: int) -> int:
    """Tick [0.1 s] of a run up to which it must be seen to pump well: what failed in an earlier one must now hold longer.

    Attempts of the first two versions of this rule asked it of a lost prime alone, not of a pump that came to pump badly.

    Parameters
    ----------
    before : how many runs came before the one in question [-].
    """
    held = [_held_once(state, timeline) for timeline in state.timelines[:before]]
    return max((ticks + HELD_LONGER for ticks in held if ticks), default=0)


def _held_once(state: AttemptState, timeline: Timeline) -> int:
    """As :func:`_held`, worked out anew only where a run has changed: each later moment asks it of all earlier runs."""
    rules = (state.terms.proof_rules, *overrides().thresholds.items())
    key = (timeline.version, timeline.stopped_at, *rules)
    kept = _held_runs.get(timeline)
    if kept is None or kept[0] != key:
        kept = _held_runs[timeline] = (key, _held(state, timeline))
    return kept[1]


_held_runs: WeakKeyDictionary[Timeline, tuple[tuple[object, ...], int]] = WeakKeyDictionary()


def _held(state: AttemptState, timeline: Timeline) -> int:
    """Last tick [0.1 s] at which a run still did well that had failed when it was stopped; 0 where it had not.

    What it did once its speed was brought down, or its cock was shut, tells nothing of that.
    """
    if timeline.stopped_at is None:
        return 0
    first = timeline.controls[0]
    changed = [round(step.time / TICK) for step in timeline.controls[1:] if step.speed != 0.0]
    end = min((timeline.stopped_at, *changed))
    if state.terms.proof_rules >= 3 and first.speed != SPEEDS["rated"]:
        return 0
    history = timeline.history(end if state.terms.proof_rules >= 3 else timeline.stopped_at)
    if not np.isfinite(history.prime_time):
        return 0
    flow = np.asarray(history.discharge_flow)
    if flow[-1] < SHARE * history.steady_flow:
        return int(np.flatnonzero(flow > SHARE * history.steady_flow)[-1])
    if state.terms.proof_rules < 3:
        return 0
    last = end * TICK
    if pumps_well(history, state.case.sound, last):
        return 0
    for second in range(math.floor(last), math.ceil(history.prime_time) - 1, -1):
        if pumps_well(history, state.case.sound, float(second)):
            return round(second / TICK)
    return 0


def without_water(state: AttemptState) -> dict[str, Any] | None:
    """Whether the running pump has had no water for so long that the page must wait for the learner.

    Gives ``key``, another one each time the page is to wait, and ``why`` ("dry" or "shut"); else None.
    A pump that a rig in good order would still be filling is left alone.
    """
    timeline, yard = state.timeline, state.yard
    if timeline is None or not yard.engine_on:
        return None
    limit = state.case.proof_time
    first = max(DRY_TOLD, round(limit / TICK) if math.isfinite(limit) else 0)
    if yard.shown < first:
        return None
    history = timeline.history(yard.shown)
    fill = np.asarray(history.casing_fill)[yard.shown - first :]
    if float(fill.max()) <= WATER_IN:
        why = "dry"
    elif float(fill.min()) > WATER_IN:
        flow = np.asarray(history.discharge_flow)[yard.shown - first :]
        if float(flow.max()) > STANDING_FLOW * history.steady_flow:
            return None
        why = "shut"
    else:
        return None
    again = yard.shown >= DRY_LIMIT - DRY_NOTICE
    return {"key": f"{timeline.number}:{why}:{int(again)}", "why": why}


def overdue(state: AttemptState) -> bool:
    """Whether the running pump gives no water though the time in which a start like this must prime is over.

    A call-out that is over has nothing overdue, nor one where even a rig in good order would not prime. At slow speed
    no card says how long it may take.
    """
    timeline, yard = state.timeline, state.yard
    if timeline is None or not yard.engine_on or yard.ended or yard.speed != "rated":
        return False
    limit = state.case.proof_time_of(timeline)
    if not math.isfinite(limit) or yard.shown * TICK <= limit:
        return False
    tick = timeline.prime_tick()
    return tick is None or tick > yard.shown or timeline.lost_at(yard.shown)


def dry_running(state: AttemptState, result: dict[str, Any]) -> str:
    """A pump run long without water, or full against a shut line, is marked once a run: in ``result``, that of an act."""
    timeline, yard = state.timeline, state.yard
    if timeline is None or not yard.engine_on or yard.dry_warned == timeline.number or yard.shown < DRY_LIMIT:
        return ""
    history = timeline.history(yard.shown)
    full = float(history.casing_fill[yard.shown]) > WATER_IN
    moved = np.asarray(history.discharge_flow)[yard.shown - DRY_LIMIT // 2 : yard.shown + 1]
    if full and float(moved.max()) > STANDING_FLOW * history.steady_flow:
        return ""
    yard.dry_warned = timeline.number
    result["hazard"] = "ran_shut" if full else "ran_dry"
    result["notes"].append(note("warning", f"attempt.warnings.{'long_shut_run' if full else 'long_dry_run'}"))
    return "minor"
