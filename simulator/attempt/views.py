"""What a page shows of an attempt: a frozen snapshot that tells no fault before the answer is in.

Throughout: ``state`` is the attempt as it stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.attempt import calls
from simulator.attempt.case import PULL_UP
from simulator.attempt.let_out import needles_let_out
from simulator.attempt.notes import clock_words, figure, render
from simulator.attempt.offers import ActionView, action_views
from simulator.attempt.proof import (
    begun_dry,
    counts,
    falls_short,
    overdue,
    proven,
    pumps_in_time,
    why_not,
    without_water,
)
from simulator.attempt.shown_parts import lift_as_told, parts_shown, profile_shown, site_shown
from simulator.attempt.state import AttemptState
from simulator.attempt.timeline import TICK, Timeline
from simulator.attempt.yard import SPEEDS
from simulator.errors import InputError, RefusedAct
from simulator.instruments.checks_from_outside import static_lift
from simulator.instruments.gauges import gauges_of
from simulator.rig.record_files import GROUPS
from simulator.texts import text
from simulator.units import SYSTEMS

RUN_DURATION = 300  # [s] that the page's slider spans at first
CURVE_SPAN = 60  # [s]
SEEN_PUMPING = (
    1000  # [0.1 s] from the start, and half as long from the prime, until a proven run need not go on
)
WATER_SEEN = 300  # [0.1 s] from the prime of a first start in which gauges and water can be seen to settle
#: How the belt is drawn after a look at it: 0 tight to 1 gone [-].
BELT_LOOKS = {"tight": 0.0, "filter_blocked": 0.0, "slack": 0.5, "broken": 1.0}


@dataclass(frozen=True)
class Snapshot:
    """The state of an attempt for a page; every field is JSON-able."""

    attempt: str
    header: dict[str, Any]
    mode: str
    see_through: bool
    units: str
    yard_minutes: float
    phase: str  # predict | work | debrief
    ended: str
    engine: dict[str, Any]
    run: dict[str, Any]
    gauges: list[dict[str, Any]]
    rig: dict[str, Any]
    curve: dict[str, Any]
    places: list[dict[str, Any]]
    notes: list[dict[str, Any]]
    ask: dict[str, Any] | None
    hint: dict[str, Any]
    call: dict[str, Any]
    finish: dict[str, Any]
    truth: list[dict[str, Any]] | None
    caution: str

    def as_dict(self) -> dict[str, Any]:
        """As plain data, ready for JSON; the outer dicts are the caller's own."""
        return {name: dict(item) if isinstance(item, dict) else item for name, item in vars(self).items()}


def take_snapshot(state: AttemptState, units: str) -> Snapshot:
    """The snapshot in one unit system (``units``).

    Raises
    ------
    InputError : there is no such unit system.
    """
    if units not in SYSTEMS:
        raise InputError(f"there is no unit system {units!r}", "units", ", ".join(SYSTEMS))
    yard, actions = state.yard, action_views(state)
    top = calls.top_suspect(yard.calls[-1]["markers"]) if yard.calls else ""
    phase = "debrief" if yard.ended else "predict" if yard.question == calls.PRIME_QUESTION else "work"
    start = next(view for view in actions if view.action == "start_engine")
    stop = next(view for view in actions if view.action == "stop_engine")
    finish = next(view for view in actions if view.action == "finish")
    return Snapshot(
        attempt=state.terms.id,
        header=_header(state, units),
        mode=state.terms.mode,
        see_through=state.terms.see_through,
        units=units,
        yard_minutes=yard.minutes(),
        phase=phase,
        ended={"said_done": "finished"}.get(
            yard.ended, yard.ended
        ),  # which of the two is told with the marks
        engine={
            "running": yard.engine_on,
            "speed": yard.speed,
            "speeds": [{"id": s, "label": text(f"attempt.speeds.{s}")} for s in SPEEDS],
            "waits": list((stop if yard.engine_on else start).waits),
            "risk": "" if yard.engine_on else start.risk,
            "again": start.again and not yard.engine_on,
        },
        run=_run(state),
        gauges=_gauges(state, units),
        rig=rig_view(state),
        curve=_curve(state, units),
        places=_places(actions),
        notes=_notes(state, units),
        ask=None
        if yard.ended
        else calls.question_view(yard.question, top or "sound", yard.rules, lambda: _bounds(state, units)),
        hint={
            "allowed": state.terms.mode != "assessment" and not yard.ended,
            "given": yard.hints,
            "steps": 3,
        },
        call={
            "open": len(yard.calls) < 2 and not yard.remedies and not yard.ended,
            "stage": min(len(yard.calls) + 1, 2),
            "locked": [dict(made) for made in yard.calls],
            "markers": calls.MARKERS,
            "most": calls.MAX_SUSPECTS,
            "suspects": calls.suspects(),
            "waits": [],
        },
        finish=_finish(state, finish.waits),
        truth=truth_of(state) if yard.ended and not state.terms.sealed else None,
        caution=text("common.training_aid"),
    )


def _bounds(state: AttemptState, units: str) -> tuple[str, str]:
    little, deep = state.case.blank_bounds
    return figure("vacuum", little, units), figure("vacuum", deep, units)


def _finish(state: AttemptState, waits: Sequence[str]) -> dict[str, Any]:
    """Whether the job may be called done, what that waits for, and with which words the act is asked for.

    In an assessment it waits for nothing that a rig shows: what is pressed there is judged with the marks.
    """
    if state.terms.mode == "assessment":
        return {"open": not waits, "waits": list(waits), "args": {"as_it_stands": True}, "at_word": True}
    is_proven = proven(state)
    more = [] if is_proven else [text(f"attempt.refused.{why_not(state)}")]
    short = falls_short(state)
    why = text(f"attempt.falls_short.{short}") if short else ""
    return {
        "open": is_proven and not waits,
        "waits": [*waits, *more],
        "args": {},
        "at_word": False,
        "why": why,
    }


def _holding(state: AttemptState) -> bool:
    """Whether it pumps well, and has to do so for longer than before it failed: the page says that it is to run on."""
    running = state.terms.mode != "assessment" and state.yard.engine_on and not state.yard.ended
    return running and pumps_in_time(state) and not proven(state)


def truth_of(state: AttemptState) -> list[dict[str, Any]]:
    """What was wrong, once the answer is in: one record a fault.

    Raises
    ------
    RefusedAct : the call-out is not over.
    """
    if not state.yard.ended:
        raise RefusedAct("not_over", text("attempt.refused.not_over"))
    return state.terms.scenario.what_is_wrong()


def _header(state: AttemptState, units: str) -> dict[str, Any]:
    rig, site = state.case.sound_rig, state.case.sound_site
    line = text(
        "attempt.header.rig_line" if rig.has_motive_gauge else "attempt.header.rig_line_no_air_gauge",
        rig=rig.title,
        bore=figure("bore", rig.suction_hose.bore, units),
        hose=figure("length", rig.suction_hose.length, units),
        lift=figure("length", site.lift, units),
    )
    badges = [text(f"attempt.header.{state.terms.mode}")]
    badges.append(
        text("attempt.header.see_through" if state.terms.see_through else "attempt.header.outside_only")
    )
    title = text("attempt.header.title", site=site.name) if site.name else text("attempt.header.title_plain")
    return {"title": title, "brief": state.terms.scenario.brief.strip(), "rig_line": line, "badges": badges}


def _run(state: AttemptState) -> dict[str, Any]:
    timeline, yard = state.timeline, state.yard
    if timeline is None:
        return {"id": None, "shown": 0.0, "computed": 0.0, "final": True, "ended": None, "wait": None, "primed": False,
                "counts": True, "wet": False, "lost": False, "overdue": False, "duration": RUN_DURATION, "version": 0,
                "let_out": {}, "changed": False, "changed_from": 0.0}  # fmt: skip
    timeline.extend_to(yard.shown)
    prime = timeline.prime_tick()
    primed = prime is not None and prime <= yard.shown
    wet = not begun_dry(timeline.history(yard.shown))
    ended = None
    if not yard.engine_on:
        ended = {
            "sentence": text("attempt.run.stopped")
        }  # a run that is over: what it gave stands in the curve
    elif primed:
        name = "attempt.run.lost" if timeline.lost_at(yard.shown) else "attempt.run.primed"
        said = text(name, seconds=round(timeline.history(yard.shown).prime_time))
        more = [] if counts(state) else [text("attempt.run.from_full")]
        more += [text("attempt.run.from_wet")] if wet and counts(state) else []
        more += [text("attempt.run.at_slow")] if _set_slow(timeline, prime or 0) else []
        ended = {"sentence": " ".join([said, *more])}
    return {
        "id": timeline.number,
        "shown": state.shown,
        "computed": round(state.horizon() * TICK, 1),
        "final": timeline.last_tick is not None and yard.shown >= timeline.last_tick,
        "ended": ended,
        "let_out": needles_let_out(state),
        "changed": yard.engine_on and timeline.changed_under_way,
        "wait": _wait(state),
        "primed": primed,
        # In an assessment to know how long it may take is part of what is asked.
        "overdue": state.terms.mode != "assessment" and overdue(state),
        "lost": primed and timeline.lost_at(yard.shown),
        "counts": counts(state),
        "wet": wet,
        "holding": _holding(state),
        "duration": max(RUN_DURATION, int(state.shown // 60 + 2) * 60),
        "version": timeline.version,
        "changed_from": round(timeline.changed_from * TICK, 1),
    }


def _set_slow(timeline: Timeline, tick: int) -> bool:
    """Whether the speed was set low when the pump took its prime; what an engine makes of that is not told."""
    return [step.speed for step in timeline.controls if step.time <= tick * TICK][-1] < SPEEDS["rated"]


def _wait(state: AttemptState) -> dict[str, Any] | None:
    """Why the page's clock waits for the learner, once a key, whether that is good news; the learner may go on."""
    if _may_be_closed(state) and state.yard.shown >= max(SEEN_PUMPING, _primed(state) + SEEN_PUMPING // 2):
        key = f"{len(state.timelines)}:proven"
        return {"key": key, "sentence": text("attempt.run.wait_proven"), "good": True}
    found = None if state.yard.ended else without_water(state)
    if found is None:
        # Whoever watches a start on past its time loses minutes: at a fast clock it is gone before one has read it.
        if state.terms.mode == "assessment" or not overdue(state):
            return _water_has_come(state)
        if 0 < _primed(state) <= state.yard.shown:  # what is worked out ahead is not told
            return {"key": f"{len(state.timelines)}:lost", "sentence": text("attempt.run.wait_lost")}
        key = f"{len(state.timelines)}:overdue"
        return {
            "key": key,
            "sentence": text("attempt.run.wait_overdue", good=round(state.case.sound_prime_time)),
        }
    return {
        "key": found["key"],
        "sentence": text(f"attempt.run.wait_{found['why']}"),
    }


def _water_has_come(state: AttemptState) -> dict[str, Any] | None:
    """Nothing but what is seen is told, so that nobody's minutes run away at a fast clock while the gauges are read."""
    yard, prime = state.yard, _primed(state)
    looked = yard.calls or yard.ended or not yard.engine_on
    if looked or not 0 < prime <= yard.shown - WATER_SEEN:
        return None
    said = "gone" if state.running_timeline().lost_at(yard.shown) else "came"
    sentence = text(f"attempt.run.wait_{said}")
    return {"key": f"{len(state.timelines)}:came", "sentence": sentence, "good": said == "came"}


def _may_be_closed(state: AttemptState) -> bool:
    """Whether the job is proven and may be called done: never told in an assessment."""
    yard = state.yard
    return state.terms.mode != "assessment" and bool(yard.calls) and not yard.ended and proven(state)


def _primed(state: AttemptState) -> int:
    tick = state.timeline.prime_tick() if state.timeline is not None else None
    return 0 if tick is None else tick


def _gauges(state: AttemptState, units: str) -> list[dict[str, Any]]:
    return [
        {
            "id": gauge.id,
            "label": text(f"attempt.gauges.{gauge.id}"),
            "quantity": gauge.quantity,
            "unit": SYSTEMS[units][gauge.quantity],
            "low_pa": gauge.low,
            "high_pa": gauge.high,
            "graduation_pa": gauge.graduation(units),
            "read_to_pa": 0.5 * gauge.graduation(units),
            "major_pa": gauge.graduation(units) * (10 if units == "metric" else 5),
        }
        for gauge in gauges_of(state.case.sound_rig)
    ]


def rig_view(state: AttemptState) -> dict[str, Any]:
    """Geometry for the pictures, from the rig in good order; what is wrong shows only where it may be seen."""
    rig, case = state.case.sound_rig, state.case
    hose, line = rig.suction_hose, rig.discharge
    drain = case.rig.casing_drain.opening if state.terms.see_through else state.yard.drain_seen
    belt = case.rig.compressor.belt_slip if state.terms.see_through else _belt_seen(state)
    sound, parts = case.sound, parts_shown(state)
    laid, drop = site_shown(state)
    inside = (
        {"joint_holes_m": [joint.hole_diameter for joint in case.rig.suction_hose.joints]}
        if state.terms.see_through
        else {}
    )
    return {
        "title": rig.title,
        "bore_m": hose.bore,
        "hose_length_m": hose.length,
        "lift_m": laid.lift,
        "as_told": lift_as_told(state),
        "submergence_m": laid.submergence,
        "water_drop_m": round(drop, 2),
        "profile": profile_shown(state, parts["lay"]),
        "joints": [joint.position for joint in hose.joints],
        "liner_at": hose.liner.position if state.terms.see_through else None,
        "casing": {
            "volume_m3": rig.casing.volume,
            "height_m": rig.casing.height,
            "lip_fill": rig.casing.lip_fill,
        },
        "has_cock": rig.has_isolating_cock,
        "has_float": rig.separator.has_float,
        "has_motive_gauge": rig.has_motive_gauge,
        "relief_set_pa": rig.relief_valve.set_pressure,
        "rated_rpm": rig.engine.rated_speed * 60.0,
        "discharge": {"bore_m": line.bore, "length_m": line.length, "rise_m": line.rise},
        "atmosphere_pa": round(float(sound.atmosphere), 1),
        "motive_rated_kg_s": round(float(np.max(sound.motive_flow)), 6),
        "exhaust_rated_kg_s": round(float(np.max(sound.exhaust_air)), 6),
        "casing_drain_bore_m": rig.casing_drain.bore,
        "strainer_diameter_m": hose.strainer.diameter,
        "exhaust": {"bore_m": rig.exhaust_hose.bore, "length_m": rig.exhaust_hose.length},
        "parts": parts,
        "drain_open_shown": drain,
        "belt_slack_shown": belt,
        **inside,
        "opened": list(state.yard.opened),
        "tagged": state.yard.tagged,
    }


def _belt_seen(state: AttemptState) -> float | None:
    """Slack of the belt as it was last seen, 0 tight to 1 gone [-]; None while nobody has looked under the guard."""
    seen = None
    for event in state.log:
        result, args = event["result"], event["args"]
        if event["act"] == "check" and args.get("check") == "belt" and "outcome" in result:
            seen = BELT_LOOKS.get(result["outcome"], seen)
        elif event["act"] == "remedy" and "finding" in result:
            if result.get("beside") == "belt_gone":
                seen = 1.0
            elif result["remedy"] == "renew_belt":
                seen = 0.0
            elif result["remedy"] == "tighten_belt":
                seen = 1.0 if result["finding"] == "belt_gone" else 0.0
    return seen


def _curve(state: AttemptState, units: str) -> dict[str, Any]:
    yard, lift = state.yard, static_lift(site_shown(state)[0])
    earlier = [
        {"label": text("attempt.curve.run", n=run["run"]), "points": run["points"]} for run in yard.earlier
    ]
    earlier += [
        {"label": text("attempt.curve.blank", n=n), "points": points}
        for n, points in enumerate(yard.blank_curves, start=1)
    ]
    return {
        "static_lift_pa": round(lift),
        "static_lift": figure("vacuum", lift, units),
        "as_told": lift_as_told(state),
        "band": state.case.band(PULL_UP) if state.terms.mode == "guided" else None,
        "earlier": earlier,
        "span_s": CURVE_SPAN,
    }


def _places(actions: list[ActionView]) -> list[dict[str, Any]]:
    return [
        {
            "id": group,
            "label": text(f"attempt.groups.{group}"),
            "items": [view.as_dict() for view in actions if view.group == group],
        }
        for group in GROUPS
    ]


def _notes(state: AttemptState, units: str) -> list[dict[str, Any]]:
    return [
        {
            "clock": clock_words(item["clock"]),
            "text": render(item, units),
            "kind": item["kind"],
            "seq": event["seq"],
        }
        for event in state.log
        for item in event["notes"]
    ]
