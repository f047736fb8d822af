"""The catalogue of checks: minutes, needs, outcomes. Minutes are common practice, no source."""

from __future__ import annotations

from simulator.errors import InputError
from simulator.instruments.look import Check, Look, Probabilities, draw, joint_probability
from simulator.instruments.opened_parts import (
    judge_belt,
    judge_joint,
    judge_nozzle,
    judge_nrv,
    judge_screen,
    judge_strainer,
)
from simulator.instruments.outside_looks import gauge_figures, judge_gauges, judge_walk_round
from simulator.instruments.senses import COMPRESSOR_SOUND, EXHAUST, judge_compressor, judge_exhaust
from simulator.instruments.vacuum_tests import blank_figures, judge_blank_off, judge_clear_plate
from simulator.rig.rig import Rig

__all__ = [
    "CHECKS",
    "Check",
    "Look",
    "Probabilities",
    "check_places",
    "draw",
    "find_check",
    "joint_probability",
]

CLOSED = ("ppe", "isolated")  # before a guard or a lid comes off

CHECKS: dict[str, Check] = {
    check.id: check
    for check in (
        Check(
            "walk_round",
            "rig",
            1.5,
            ("ppe",),
            ("in_order", "drain_ajar", "drain_open", "drain_spraying", "strainer_uncovered"),
            judge_walk_round,
            0.02,
        ),
        Check(
            "gauges",
            "gauges",
            0.0,
            ("running",),
            ("no_vacuum", "behind", "as_sound", "above_lift", "pumping"),
            judge_gauges,
            0.02,
            figures=gauge_figures,
        ),
        Check("exhaust_stream", "exhaust", 0.5, ("ppe", "running"), EXHAUST, judge_exhaust, 0.06),
        Check(
            "relief_listen", "compressor", 0.5, ("ppe", "running"), COMPRESSOR_SOUND, judge_compressor, 0.05
        ),
        Check(
            "strainer_out",
            "strainer",
            6.0,
            ("ppe", "stopped"),
            ("clean", "part_plugged", "plugged"),
            judge_strainer,
            0.01,
            opens=True,
        ),
        Check(
            "belt",
            "belt",
            4.0,
            CLOSED,
            ("tight", "slack", "broken", "filter_blocked"),
            judge_belt,
            0.02,
            opens=True,
        ),
        Check(
            "nrv_lid",
            "nrv",
            12.0,
            (*CLOSED, "line_relieved"),
            ("seats_well", "marked", "fouled", "stuck"),
            judge_nrv,
            0.02,
            opens=True,
        ),
        Check(
            "screen_out",
            "screen",
            12.0,
            (*CLOSED, "air_bled"),
            ("clear", "part_plugged", "plugged"),
            judge_screen,
            0.01,
            opens=True,
        ),
        Check(
            "nozzle_out",
            "nozzle",
            10.0,
            (*CLOSED, "air_bled"),
            ("clear", "part_plugged", "plugged", "worn_wide"),
            judge_nozzle,
            0.01,
            opens=True,
        ),
        Check(
            "joint_apart",
            "joint",
            4.0,
            ("ppe", "stopped", "hose_vented"),
            ("good", "nicked", "torn"),
            judge_joint,
            0.02,
            per_joint=True,
            opens=True,
        ),
        Check(
            "clear_plate",
            "hose",
            12.0,
            (*CLOSED, "hose_vented", "plate_rated"),
            ("liner_still", "liner_moves", "liner_closes", "will_not_hold"),
            judge_clear_plate,
            0.02,
            opens=True,
        ),
        Check(
            "blank_off",
            "suction_flange",
            8.0,
            ("ppe", "stopped", "hose_vented", "plate_rated", "discharge_secured", "free_to_start"),
            ("deep_quick", "deep_slow", "shallow", "nothing"),
            judge_blank_off,
            0.03,
            opens=True,
            figures=blank_figures,
        ),
    )
}


def find_check(check_id: str) -> Check:
    """The check of that id.

    Raises
    ------
    InputError : there is no such check.

    Examples
    --------
    >>> find_check("nozzle_out").minutes
    10.0
    """
    if check_id not in CHECKS:
        raise InputError(f"there is no check {check_id!r}", "check", ", ".join(CHECKS))
    return CHECKS[check_id]


def check_places(check: Check, rig: Rig) -> tuple[str, ...]:
    """The places where a check can be made on this rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> check_places(find_check("joint_apart"), load_rig("osier"))[0]
    'joint:0'
    """
    if check.per_joint:
        return tuple(f"joint:{i}" for i in range(len(rig.suction_hose.joints)))
    return (check.place,)
