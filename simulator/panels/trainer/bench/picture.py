"""The rig of a demonstration as pictures draw it: from outside in good order, or as it is where one may look inside.

Arguments, the same throughout: ``outside`` the rig as it is drawn from outside.
"""

from __future__ import annotations

from typing import Any

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.shown_parts import parts_inside
from simulator.attempt.timeline import TICK
from simulator.panels.exercise.page_model import build_page
from simulator.panels.trainer.bench.run import BenchRun
from simulator.rig.onset import as_at
from simulator.rig.rig import hose_profile

SEED = 0  # of a page from which only what stands still is taken


def standing_page(run: BenchRun) -> dict[str, Any]:
    """What does not change in a demonstration: gauges, the rig from outside, the lift and a sound rig's range.

    Parameters
    ----------
    run : the demonstration.
    """
    plain = run.scenario.model_copy(update={"see_through": False})
    page = build_page(Attempt(plain, MemoryStore(), seed=SEED))
    return {
        "rig": page["rig"],
        "gauges": page["gauges"],
        "curve": {**page["curve"], "earlier": []},
        "rig_line": page["header"]["rig_line"],
        "speeds": page["engine"]["speeds"],
    }


def seen_inside(outside: dict[str, Any], run: BenchRun, tick: int) -> dict[str, Any]:
    """The rig as it is at a moment.

    Parameters
    ----------
    run : the demonstration.
    tick : the moment [0.1 s].
    """
    timeline = run.timeline
    rig, site = run.sound if timeline is None else as_at(timeline.rig, timeline.site, tick * TICK)
    return {
        **outside,
        "lift_m": site.lift,
        "submergence_m": site.submergence,
        "profile": [[s, z] for s, z in hose_profile(rig, site)],
        "liner_at": rig.suction_hose.liner.position,
        "joint_holes_m": [joint.hole_diameter for joint in rig.suction_hose.joints],
        "drain_open_shown": rig.casing_drain.opening,
        "belt_slack_shown": rig.compressor.belt_slip,
        "parts": {**outside["parts"], **parts_inside(rig, site)},
    }
