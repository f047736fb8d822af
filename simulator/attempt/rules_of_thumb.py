"""Rules of thumb: from what has been seen to the next thing an old hand would do, and why.

The plateau rule first (vacuum above the static lift and no water: something blocks the water; below it: air
gets in or is not drawn out), then the motive gauge, then the cheapest check that tells. Knows what was shown.

Throughout: ``state`` is the attempt as it stands, ``known`` what of it was shown to the trainee.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from simulator.attempt.proof import proven
from simulator.attempt.rules_of_thumb_tables import (
    BY_BLANK,
    CHECK_FOR,
    GIVES_LITTLE,
    LOSES_IT,
    QUICK,
    REMEDY_FOR,
    STRAINS,
    SUSPECT_OF,
    TOO_LITTLE_AIR,
    all_suspects,
    found_good,
)
from simulator.attempt.state import AttemptState
from simulator.instruments.checks import CHECKS, check_places
from simulator.instruments.checks_from_outside import static_lift
from simulator.rig.presets import joints_above_water
from simulator.rig.remedies import REMEDIES

LONGEST_RUN = 420.0  # [s] that a mended rig is watched where it lost its prime before
LET_RUN = 180.0  # [s] that a rig found in order is watched: somebody rang for a reason
MARGIN = 5e3  # [Pa] by which a gauge must differ to count
BLOWN_BACK = 2e3  # [Pa] above the atmosphere, from which the air has nowhere to go
LOW_MOTIVE, HIGH_MOTIVE = 0.8, 1.12  # of what the rig's card says [-]


@dataclass(frozen=True)
class Known:
    """What the trainee has been shown so far, and what the rig's card says."""

    outcomes: dict[str, str]  # "check@place" -> outcome, the latest
    remedies: tuple[str, ...]
    findings: dict[str, str]
    gauges: dict[str, float] | None  # read late in the present run, since the last remedy
    gauge_outcome: str
    exhaust: str  # outcome of a late look in the present state of the rig
    engine_on: bool
    shown: float  # [s]
    proven: bool
    patience: float  # [s] after which the gauges tell
    lift: float  # [Pa]
    sound_motive: float  # [Pa] gauge
    sound_suction: float  # [Pa] vacuum of a sound rig pumping
    joints: tuple[int, ...]
    restart_due: bool  # something was put right since the engine was started
    allowed: tuple[str, ...]
    lost: bool = False  # it primed in this run, and lost it
    lengths: tuple[int, ...] = ()
    fresh: bool = False  # the gauges were read in this run


@dataclass(frozen=True)
class Step:
    """What to do next, why (a key of the hints), and whom to suspect in order."""

    action: str
    args: dict[str, Any]
    why: str
    suspects: tuple[str, ...] = ()


def known_of(state: AttemptState) -> Known:
    """What the log of an attempt holds for a trainee's eyes."""
    outcomes: dict[str, str] = {}
    findings: dict[str, str] = {}
    gauges, gauge_outcome, exhaust, restart_due, fresh = None, "", "", False, False
    sound = state.case.sound
    patience = state.case.proof_time if math.isfinite(state.case.proof_time) else 150.0
    for event in state.log:
        if not event["accepted"]:
            continue
        result = event["result"]
        if event["act"] == "check":
            late = event["shown_s"] is not None and event["shown_s"] >= patience
            if late or result["check"] != "watch_water":  # early on the water still stands as it did
                outcomes[f"{result['check']}@{result['place']}"] = result["outcome"]
            if result["check"] == "gauges" and late:
                gauges, gauge_outcome, fresh = result["figures"], result["outcome"], True
            elif result["check"] == "exhaust_stream" and late:
                exhaust = result["outcome"]
        elif event["act"] == "start_engine":
            restart_due = fresh = False
        elif event["act"] == "remedy":
            restart_due = restart_due or (state.yard.engine_on and result["finding"] not in found_good())
            findings[f"{result['remedy']}@{result['place']}"] = result["finding"]
            gauges, gauge_outcome, exhaust, fresh = None, "", "", False
            if result["remedy"] == "close_drain":
                outcomes.pop("walk_round@rig", None)
                outcomes["walk_round@rig"] = "in_order"
    return Known(
        outcomes=outcomes,
        remedies=tuple(state.yard.remedies),
        findings=findings,
        gauges=gauges,
        gauge_outcome=gauge_outcome,
        exhaust=exhaust,
        engine_on=state.yard.engine_on,
        shown=state.shown,
        proven=proven(state),
        patience=patience,
        lift=static_lift(state.case.sound_site),
        sound_motive=float(sound.motive_pressure[-1] - sound.atmosphere),
        sound_suction=float(sound.vacuum[-1]),
        restart_due=restart_due and state.yard.engine_on,
        joints=joints_above_water(state.case.sound_rig, state.case.sound_site),
        lost=_lost(state),
        lengths=tuple(range(len(state.case.sound_rig.suction_hose.joints))),
        allowed=_allowed(state),
        fresh=fresh,
    )  # fmt: skip


def _allowed(state: AttemptState) -> tuple[str, ...]:
    """The checks that the call-out offers and that this rig has the parts for."""
    rig = state.case.sound_rig
    names = (*dict.fromkeys(CHECK_FOR.values()), *QUICK)
    return tuple(name for name in names if state.terms.allows(name) and check_places(CHECKS[name], rig))


def _lost(state: AttemptState) -> bool:
    """Whether the pump has been seen to prime in this run, and to stop pumping."""
    timeline, tick = state.timeline, state.yard.shown
    if timeline is None:
        return False
    history, prime = timeline.history(tick), timeline.prime_tick()
    return (
        prime is not None and prime < tick and float(history.discharge_flow[tick]) < 0.2 * history.steady_flow
    )


def next_step(known: Known) -> Step:
    """The next step by rules of thumb.

    A part found bad is mended, then the rig is started anew to prove it; without proof the gauges decide.
    """
    mended = any(finding not in found_good() for finding in known.findings.values())
    if known.proven:
        if not mended and known.shown < LET_RUN:
            return Step("wait", {"seconds": round(LET_RUN - known.shown, 1)}, "be_patient")
        return _before_leaving(known)
    for where, outcome in known.outcomes.items():
        check, place = where.split("@")
        remedy = REMEDY_FOR.get((check, outcome))
        at = place if remedy and REMEDIES[remedy].per_joint else ""
        if remedy and f"{remedy}@{at}" not in known.remedies:
            suspects = (SUSPECT_OF[remedy],) if remedy in SUSPECT_OF else ()
            return Step("remedy", {"remedy": remedy, "place": at}, "mend_it", suspects)
    if "walk_round@rig" not in known.outcomes and "walk_round" in known.allowed:
        return Step("check", {"check": "walk_round"}, "walk_first")
    if known.restart_due:
        return Step("stop_engine", {}, "prove_it")
    if known.gauges is None:
        if not known.engine_on:
            return Step("start_engine", {"speed": "rated"}, "run_it")
        if known.shown < known.patience + 6.0:
            return Step("wait", {"seconds": round(known.patience + 6.5 - known.shown, 1)}, "be_patient")
        return Step("check", {"check": "gauges"}, "read_gauges")
    if known.gauge_outcome == "pumping" and mended and known.engine_on and known.shown < LONGEST_RUN:
        return Step("wait", {"seconds": 60.0}, "be_patient")
    return _where_to_look(known)


def _before_leaving(known: Known) -> Step:
    """A pump that runs well beside a gauge that says otherwise: the gauge is the trouble."""
    if not known.fresh and "gauges" in known.allowed:
        return Step("check", {"check": "gauges"}, "read_gauges")
    gauges = known.gauges if known.fresh and known.gauges else {}
    suction = gauges.get("suction", known.sound_suction)
    motive = gauges.get("motive", known.sound_motive) / known.sound_motive
    at_odds = abs(suction - known.sound_suction) > MARGIN or not LOW_MOTIVE < motive < HIGH_MOTIVE
    if at_odds and "gauge_swap" in known.allowed and "gauge_swap@suction_gauge" not in known.outcomes:
        return Step("check", {"check": "gauge_swap"}, "gauge_at_odds", ("gauge_low",))
    return Step("finish", {}, "proven", ("sound",))


def ranking(known: Known) -> tuple[str, tuple[str, ...]]:
    """Why, and the suspects in the order to look at them, from the gauges and the stream."""
    gauges = known.gauges or {}
    motive = gauges.get("motive", known.sound_motive) / known.sound_motive
    suction = gauges.get("suction", 0.0)
    heard = known.outcomes.get("relief_listen@compressor", "") if "motive" not in gauges else ""
    if motive < LOW_MOTIVE or heard in ("belt_squeal", "no_beat"):
        return "motive_low", TOO_LITTLE_AIR
    if motive > HIGH_MOTIVE or heard in ("pops_seldom", "pops_often"):
        return "motive_high", ("nozzle_plugged", "air_line_kinked")
    if suction < -BLOWN_BACK:
        return "blows_back", ("exhaust_blocked", "float_stuck_shut")
    if known.lost:
        return "loses_it", LOSES_IT
    if known.gauge_outcome == "pumping":
        if suction > known.sound_suction + MARGIN:
            return "above_lift", ("strainer_plugged", "liner_collapsed")
        if known.exhaust == "water_spray":
            return "sprays", ("float_stuck_shut", "screen_plugged")
        first: tuple[str, ...] = ("screen_plugged", "joint_ring", "nrv_fouled")
    elif known.gauge_outcome in ("pumping_low", "pumping_high"):
        strains = suction > known.sound_suction + MARGIN
        return "gives_little", STRAINS if strains else GIVES_LITTLE
    elif suction > known.lift + MARGIN:
        return "above_lift", ("strainer_plugged", "pump_high", "liner_collapsed")
    elif known.exhaust == "weak" and "motive" not in gauges:
        return "motive_low", TOO_LITTLE_AIR
    elif known.exhaust == "motive_only" and known.gauge_outcome == "no_vacuum":
        first = ("float_stuck_shut", "screen_plugged", "drain_open")
    elif known.gauge_outcome == "no_vacuum":
        first = ("drain_open", "nrv_fouled", "joint_ring")
    elif known.exhaust == "none":
        first = ("exhaust_blocked", "belt_loose", "drain_open")
    elif known.exhaust == "motive_only":
        first = ("screen_plugged", "joint_ring", "nrv_fouled")
    else:
        first = ("drain_open", "joint_ring", "nrv_fouled")
    blank = known.outcomes.get("blank_off@suction_flange", "")
    if blank in BY_BLANK:
        return f"blank_{blank}", BY_BLANK[blank]
    return ("below_lift" if first[0] == "drain_open" else "stream_thin"), first


def _where_to_look(known: Known) -> Step:
    why, suspects = ranking(known)
    quick = _quick_look(known, why, suspects)
    if quick:
        return quick
    for suspect in (*suspects, *all_suspects()):
        if suspect == "drain_open":
            if "close_drain@" not in known.remedies:
                return Step("remedy", {"remedy": "close_drain", "place": ""}, "try_drain", suspects)
            continue
        check = CHECK_FOR[suspect]
        if check not in known.allowed:
            continue
        places = [""]
        if check in ("joint_apart", "foam_joint"):
            places = [f"joint:{i}" for i in reversed(known.joints)]
        elif check in ("foam_length", "light_through"):
            places = [f"length:{i}" for i in reversed(known.lengths)]
        for place in places:
            if not any(
                where.startswith(f"{check}@") and place in ("", where.split("@")[1])
                for where in known.outcomes
            ):
                if check == "watch_water" and known.engine_on and known.shown < known.patience:
                    return Step(
                        "wait", {"seconds": round(known.patience + 0.5 - known.shown, 1)}, "be_patient"
                    )
                args = {"check": check, "place": place} if place else {"check": check}
                return Step("check", args, why, suspects)
    return Step("give_up", {}, "out_of_ideas", suspects)


def _quick_look(known: Known, why: str, suspects: tuple[str, ...]) -> Step | None:
    """What costs little and halves the job; None where it has been done or does not help."""

    def open_to(check: str, place: str) -> bool:
        return check in known.allowed and f"{check}@{place}" not in known.outcomes

    unsure = why in ("below_lift", "stream_thin") or why.startswith("blank_")
    worth_feeling = known.gauge_outcome != "pumping" or "float_look" in known.allowed
    untried = not known.exhaust and "exhaust_stream" in known.allowed
    if unsure and worth_feeling and known.engine_on and untried:
        return Step("check", {"check": "exhaust_stream"}, "feel_stream", suspects)
    if (
        known.gauge_outcome == "pumping"
        and why == "stream_thin"
        and open_to("walk_discharge", "discharge_line")
    ):
        return Step("check", {"check": "walk_discharge"}, "gives_little", suspects)
    blind = "motive" not in (known.gauges or {}) and known.exhaust in ("weak", "none")
    if blind and open_to("relief_listen", "compressor"):
        return Step("check", {"check": "relief_listen"}, "feel_stream", suspects)
    if why in ("loses_it", "gives_little") and not open_to("watch_water", "water"):
        suction = (known.gauges or {}).get("suction", 0.0)
        strains = suction > (known.lift if known.lost else known.sound_suction) + MARGIN
        # the water looked calm, but looks can miss: a basket does no harm, and who fits it sees what drifts about
        work = "basket_strainer" if strains else "lower_strainer"
        asked = known.lost or (strains and not open_to("walk_discharge", "discharge_line"))
        if asked and f"{work}@" not in known.remedies:
            return Step("remedy", {"remedy": work, "place": ""}, why, suspects)
    if why not in ("below_lift", "stream_thin"):
        if why in ("blank_shallow", "blank_nothing") and open_to("foam_pump", "flange"):
            return Step("check", {"check": "foam_pump"}, why, suspects)
        return None
    if suspects[0] == "drain_open" and "close_drain@" not in known.remedies:
        return Step("remedy", {"remedy": "close_drain", "place": ""}, "try_drain", suspects)
    if suspects[0] != "float_stuck_shut" and open_to("blank_off", "suction_flange"):
        return Step("check", {"check": "blank_off"}, "halve_it", suspects)
    return None
