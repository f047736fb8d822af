"""The catalogue of checks: minutes and outcomes. Minutes are common practice, no source.

Arguments, the same throughout: ``check_id`` id of a check in the catalogue.
"""

from __future__ import annotations

from dataclasses import replace

from simulator.errors import InputError
from simulator.instruments.look import Check, Look, Probabilities, draw, joint_probability
from simulator.instruments.opened_parts import (
    judge_belt,
    judge_exhaust_off,
    judge_flange,
    judge_float,
    judge_impeller,
    judge_joint,
    judge_light_through,
    judge_nozzle,
    judge_nrv,
    judge_screen,
    judge_seal,
    judge_strainer,
)
from simulator.instruments.outside_looks import gauge_figures, judge_gauges, judge_walk_round
from simulator.instruments.running_looks import (
    judge_air_line,
    judge_dip,
    judge_discharge_walk,
    judge_foam_joint,
    judge_foam_length,
    judge_foam_pump,
    judge_gauge_swap,
    judge_listen,
    judge_pump_sound,
    judge_speed,
    judge_water,
)
from simulator.instruments.senses import COMPRESSOR_SOUND, EXHAUST, judge_compressor, judge_exhaust
from simulator.instruments.vacuum_tests import (
    blank_figures,
    capped_figures,
    hold_figures,
    judge_blank_off,
    judge_capped,
    judge_clear_plate,
    judge_hold,
    judge_receiver,
)
from simulator.rig.presets import fitted_with
from simulator.rig.rig import Rig
from simulator.rig.trainer import overrides

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

WATER = ("calm", "bubbles", "whirl", "bare", "falling", "weed")
#: Checks that put a plate or cap on, run the engine, and take it off again.
VACUUM_RUNS = ("blank_off", "capped_hose", "hold_test")

CHECKS: dict[str, Check] = {
    check.id: replace(
        check, minutes=overrides().minutes_of(check.id, check.minutes), usual_minutes=check.minutes
    )
    for check in (
        Check(
            "walk_round",
            "rig",
            1.5,
            (
                "in_order",
                "drain_ajar",
                "drain_open",
                "drain_spraying",
                "strainer_uncovered",
                "frost_drain_open",
                "cock_shut",
                "valve_shut",
                "line_kinked",
                "hose_humped",
            ),
            judge_walk_round,
            0.02,
            only_with=(("cock_shut", "isolating_cock"),),
        ),
        Check(
            "gauges",
            "gauges",
            0.0,
            ("no_vacuum", "behind", "as_sound", "above_lift", "pumping", "pumping_low", "pumping_high"),
            judge_gauges,
            0.02,
            figures=gauge_figures,
        ),
        Check("exhaust_stream", "exhaust", 0.5, EXHAUST, judge_exhaust, 0.06),
        Check("relief_listen", "compressor", 0.5, COMPRESSOR_SOUND, judge_compressor, 0.05),
        Check(
            "strainer_out",
            "strainer",
            6.0,
            ("clean", "part_plugged", "plugged"),
            judge_strainer,
            0.01,
            opens=True,
        ),
        Check(
            "belt",
            "belt",
            4.0,
            ("tight", "slack", "broken", "filter_blocked"),
            judge_belt,
            0.02,
            opens=True,
        ),
        Check(
            "nrv_lid",
            "nrv",
            12.0,
            ("seats_well", "marked", "fouled", "stuck"),
            judge_nrv,
            0.02,
            opens=True,
        ),
        Check(
            "screen_out",
            "screen",
            12.0,
            ("clear", "part_plugged", "plugged"),
            judge_screen,
            0.01,
            opens=True,
        ),
        Check(
            "nozzle_out",
            "nozzle",
            10.0,
            ("clear", "part_plugged", "plugged", "worn_wide", "tube_worn"),
            judge_nozzle,
            0.01,
            opens=True,
        ),
        Check(
            "joint_apart",
            "joint",
            4.0,
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
            ("liner_still", "liner_moves", "liner_closes", "will_not_hold"),
            judge_clear_plate,
            0.02,
            opens=True,
        ),
        Check(
            "blank_off",
            "suction_flange",
            8.0,
            ("deep_quick", "deep_slow", "shallow", "nothing"),
            judge_blank_off,
            0.03,
            opens=True,
            figures=blank_figures,
        ),
        Check(
            "capped_hose",
            "hose",
            10.0,
            ("deep_quick", "deep_slow", "shallow", "nothing"),
            judge_capped,
            0.03,
            opens=True,
            figures=capped_figures,
        ),
        Check(
            "hold_test",
            "suction_flange",
            10.0,
            ("holds", "creeps", "falls", "nothing_to_hold"),
            judge_hold,
            0.03,
            opens=True,
            fitted="isolating_cock",
            figures=hold_figures,
        ),
        Check("tachometer", "engine", 0.5, ("rated", "low", "far_low"), judge_speed, 0.02),
        Check(
            "listen_pump",
            "pump",
            0.5,
            ("smooth", "turns_dry", "pulses", "rattles", "churns"),
            judge_pump_sound,
            0.06,
        ),
        Check("watch_water", "water", 1.0, WATER, judge_water, 0.03),
        Check(
            "dip_water",
            "water",
            3.0,
            ("as_card", "lift_more", "strainer_shallow", "level_down"),
            judge_dip,
            0.02,
        ),
        Check(
            "listen_line",
            "hose",
            3.0,
            ("quiet", "hiss_pump", "hiss_hose"),
            judge_listen,
            0.04,
        ),
        Check(
            "foam_joint",
            "joint",
            2.0,
            ("stays", "drawn_in"),
            judge_foam_joint,
            0.03,
            per_joint=True,
        ),
        Check(
            "foam_length",
            "length",
            2.0,
            ("stays", "drawn_in"),
            judge_foam_length,
            0.03,
            per_length=True,
        ),
        Check(
            "foam_pump",
            "flange",
            2.0,
            ("stays", "drawn_in_flange", "drawn_in_seal"),
            judge_foam_pump,
            0.03,
        ),
        Check(
            "follow_air_line",
            "air_line",
            3.0,
            ("tight", "blows", "kinked"),
            judge_air_line,
            0.03,
        ),
        Check(
            "walk_discharge",
            "discharge_line",
            3.0,
            ("clear", "valve_shut", "kinked", "torn", "frost_drain_sprays"),
            judge_discharge_walk,
            0.02,
        ),
        Check(
            "receiver_test",
            "compressor",
            6.0,
            ("as_card", "slow", "stops_low", "hiss_on_line", "no_rise"),
            judge_receiver,
            0.02,
            opens=True,
        ),
        Check(
            "exhaust_off",
            "exhaust",
            5.0,
            ("clear", "narrowed", "blocked"),
            judge_exhaust_off,
            0.01,
            opens=True,
        ),
        Check(
            "float_look",
            "float",
            10.0,
            ("free", "stuck_shut", "stuck_open"),
            judge_float,
            0.02,
            fitted="float",
            opens=True,
        ),
        Check(
            "flange_look",
            "flange",
            4.0,
            ("tight", "bolts_loose", "gasket_torn"),
            judge_flange,
            0.03,
            opens=True,
        ),
        Check("seal_look", "seal", 8.0, ("sound", "weeps", "worn"), judge_seal, 0.03, opens=True),
        Check(
            "impeller_look",
            "impeller",
            20.0,
            ("clean", "some_wear", "clogged"),
            judge_impeller,
            0.02,
            opens=True,
        ),
        Check(
            "light_through",
            "length",
            5.0,
            ("clear", "blister", "hole"),
            judge_light_through,
            0.02,
            per_length=True,
            opens=True,
        ),
        Check(
            "gauge_swap",
            "suction_gauge",
            4.0,
            ("agree", "suction_stuck", "suction_off", "suction_slow", "motive_stuck", "motive_off"),
            judge_gauge_swap,
            0.01,
            opens=True,
            only_with=(("motive_stuck", "motive_gauge"), ("motive_off", "motive_gauge")),
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
    if not fitted_with(rig, check.fitted):
        return ()
    if check.per_length:
        return tuple(f"length:{i}" for i in range(len(rig.suction_hose.joints)))
    if check.per_joint:
        return tuple(f"joint:{i}" for i in range(len(rig.suction_hose.joints)))
    return (check.place,)
