"""What needles show once somebody has let out, at rest, what they measure."""

from __future__ import annotations

from simulator.attempt.state import AttemptState
from simulator.attempt.timeline import TICK
from simulator.instruments.gauges import gauges_of, state_of
from simulator.rig.onset import as_at


def needles_let_out(state: AttemptState) -> dict[str, float]:
    """Needles [Pa] whose vacuum, motive air or discharge line was let out since the engine stopped, by gauge.

    A good gauge stands at zero then. One that reads wrong stands off by as much as ever; one that is stuck stays put.

    Parameters
    ----------
    state : of the attempt.

    Examples
    --------
    >>> from simulator.attempt import Attempt, MemoryStore
    >>> from simulator.scenario import random_scenario
    >>> needles_let_out(Attempt(random_scenario(7), MemoryStore(), seed=1).state)
    {}
    """
    timeline, yard = state.timeline, state.yard
    if timeline is None or yard.engine_on:
        return {}
    let_out = {"suction": yard.hose_vented, "motive": yard.air_bled, "discharge": yard.line_relieved}
    rig, _ = as_at(state.case.rig, state.case.site, yard.shown * TICK)
    shown = {}
    for gauge in gauges_of(state.case.sound_rig):
        if let_out[gauge.id]:
            now = state_of(rig, gauge.id)
            at_rest = float(timeline.needle(gauge.id, yard.shown)[-1]) if now.stuck else now.offset
            shown[gauge.id] = round(min(max(at_rest, gauge.low), gauge.high), 1)
    return shown
