"""What a page shows of an attempt: a frozen snapshot that tells no fault before the answer is in."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from simulator.attempt import calls
from simulator.attempt.acts import needs_of
from simulator.attempt.notes import clock_words, figure, render
from simulator.attempt.safety import grade, missing, waits
from simulator.attempt.timeline import TICK
from simulator.attempt.yard import PRECAUTION_MINUTES, PRECAUTIONS, SPEEDS
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, check_places
from simulator.instruments.gauges import gauges_of
from simulator.instruments.outside_looks import static_lift
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import hose_profile
from simulator.texts import text
from simulator.units import SYSTEMS

if TYPE_CHECKING:
    from simulator.attempt.attempt import Attempt

RUN_DURATION = 300  # [s] that the page's slider spans at first
CURVE_SPAN = 60  # [s]
#: How the belt is drawn after a look at it: 0 tight to 1 gone [-].
BELT_LOOKS = {"tight": 0.0, "slack": 0.5, "broken": 1.0}
#: Where acts stand on the page.
GROUPS = ("before", "pump", "compressor", "hose", "all_round")
GROUP_OF = {
    "rig": "all_round",
    "gauges": "all_round",
    "exhaust": "pump",
    "casing_drain": "pump",
    "nrv": "pump",
    "screen": "pump",
    "suction_flange": "pump",
    "compressor": "compressor",
    "belt": "compressor",
    "nozzle": "compressor",
    "joint": "hose",
    "hose": "hose",
    "liner": "hose",
    "strainer": "hose",
    "length": "hose",
    "rope": "hose",
    "weed": "hose",
    "water": "hose",
    "hose_lay": "hose",
    "stand": "all_round",
    "engine": "all_round",
    "suction_gauge": "all_round",
    "motive_gauge": "all_round",
    "discharge_valve": "all_round",
    "discharge_line": "all_round",
    "frost_drain": "pump",
    "flange": "pump",
    "seal": "pump",
    "pump": "pump",
    "impeller": "pump",
    "cock": "pump",
    "float": "pump",
    "intake": "compressor",
    "relief": "compressor",
    "air_line": "compressor",
    "mixing_tube": "compressor",
}


@dataclass(frozen=True)
class ActionView:
    """One thing that can be done: its name, what it takes and waits for, how unsafe it would be now."""

    id: str
    action: str
    args: dict[str, Any]
    kind: str  # precaution | check | remedy | engine | end
    group: str
    label: str
    minutes: float
    waits: tuple[str, ...]
    risk: str  # "" | minor | serious | grave: what trying it now would be marked
    protects: str
    done: bool
    times: int

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {**asdict(self), "waits": list(self.waits)}


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
        """As plain data, ready for JSON."""
        return asdict(self)


def action_views(attempt: Attempt) -> list[ActionView]:
    """All acts on offer, in the order of the page."""
    out = [_view(attempt, action, action, {}, "precaution", "before") for action in PRECAUTIONS]
    out += [_view(attempt, "start_engine", "start_engine", {"speed": attempt.yard.speed}, "engine", "engine")]
    out += [_view(attempt, name, name, {}, "engine", "engine") for name in ("stop_engine",)]
    if attempt.case.sound_rig.has_isolating_cock:
        name = "shut_cock" if attempt.yard.cock_open else "reopen_cock"
        out += [_view(attempt, name, name, {}, "engine", "pump")]
    for check in CHECKS.values():
        if attempt.allows(check.id):
            for place in check_places(check, attempt.case.sound_rig):
                args = {"check": check.id, "place": place}
                group = GROUP_OF[place.partition(":")[0]]
                out.append(_view(attempt, f"check:{check.id}:{place}", "check", args, "check", group))
    for remedy in REMEDIES.values():
        for place in remedy.places(attempt.case.sound_rig):
            args = {"remedy": remedy.id, "place": place}
            out.append(
                _view(attempt, f"remedy:{remedy.id}:{place}", "remedy", args, "remedy", GROUP_OF[remedy.part])
            )
    out += [_view(attempt, name, name, {}, "end", "end") for name in ("finish", "give_up")]
    return out


def _view(
    attempt: Attempt, view_id: str, action: str, args: dict[str, Any], kind: str, group: str
) -> ActionView:
    yard = attempt.yard
    lacking = missing(needs_of(attempt, action, args), yard)
    minutes, protects, times = 0.0, "", 0
    joint = (
        {"joint": int(args["place"].partition(":")[2]) + 1}
        if args.get("place", "").startswith(("joint:", "length:"))
        else {}
    )
    if action == "check":
        check = CHECKS[args["check"]]
        label, minutes, protects = text(f"checks.{check.id}.label", **joint), check.minutes, check.protects
        times = yard.checks.get(f"{check.id}@{args['place']}", 0)
    elif action == "remedy":
        name = "attempt.actions.remedy_joint" if joint else "attempt.actions.remedy"
        label = text(name, what=text(f"remedies.{args['remedy']}.name"), **joint)
        minutes = REMEDIES[args["remedy"]].minutes
        times = yard.remedies.count(f"{args['remedy']}@{args['place']}")
    else:
        label, minutes = text(f"attempt.actions.{action}"), PRECAUTION_MINUTES.get(action, 0.0)
        times = int(_precaution_done(attempt, action))
    return ActionView(
        id=view_id,
        action=action,
        args=args,
        kind=kind,
        group=group,
        label=label,
        minutes=minutes,
        waits=tuple(waits(lacking, yard)),
        risk=grade(lacking, yard, precaution=kind == "precaution"),
        protects=protects,
        done=times > 0,
        times=times,
    )


def _precaution_done(attempt: Attempt, action: str) -> bool:
    yard = attempt.yard
    return {
        "put_on_ppe": yard.ppe,
        "secure_discharge": yard.discharge_secured,
        "isolate_and_tag": yard.tagged,
        "bleed_air": yard.air_bled,
        "relieve_line": yard.line_relieved,
        "vent_hose": yard.hose_vented,
        "take_rated_plate": yard.plate_rated,
        "guard_edge": yard.edge_safe,
        "call_second_person": yard.second_person,
        "tie_down_air_line": yard.line_held,
        "untag_and_close_up": not yard.tagged and not yard.opened,
    }.get(action, False)


def take_snapshot(attempt: Attempt, units: str) -> Snapshot:
    """The snapshot in one unit system.

    Raises
    ------
    InputError : there is no such unit system.
    """
    if units not in SYSTEMS:
        raise InputError(f"there is no unit system {units!r}", "units", ", ".join(SYSTEMS))
    yard, actions = attempt.yard, action_views(attempt)
    top = calls.top_suspect(yard.calls[-1]["markers"]) if yard.calls else ""
    phase = "debrief" if yard.ended else "predict" if yard.question == calls.PRIME_QUESTION else "work"
    start = next(view for view in actions if view.action == "start_engine")
    stop = next(view for view in actions if view.action == "stop_engine")
    finish = next(view for view in actions if view.action == "finish")
    proven = attempt.proven()
    return Snapshot(
        attempt=attempt.id,
        header=_header(attempt, units),
        mode=attempt.mode,
        see_through=attempt.see_through,
        units=units,
        yard_minutes=yard.minutes(),
        phase=phase,
        ended=yard.ended,
        engine={
            "running": yard.engine_on,
            "speed": yard.speed,
            "speeds": [{"id": s, "label": text(f"attempt.speeds.{s}")} for s in SPEEDS],
            "waits": list((stop if yard.engine_on else start).waits),
            "risk": "" if yard.engine_on else start.risk,
        },
        run=_run(attempt),
        gauges=_gauges(attempt, units),
        rig=_rig(attempt),
        curve=_curve(attempt, units),
        places=_places(actions),
        notes=_notes(attempt, units),
        ask=None if yard.ended else calls.question_view(yard.question, top or "sound"),
        hint={"allowed": attempt.mode != "assessment" and not yard.ended, "given": yard.hints, "steps": 3},
        call={
            "open": len(yard.calls) < 2 and not yard.remedies and not yard.ended,
            "stage": min(len(yard.calls) + 1, 2),
            "locked": [dict(made) for made in yard.calls],
            "markers": calls.MARKERS,
            "most": calls.MOST_SUSPECTS,
            "suspects": calls.suspects(),
            "waits": [],
        },
        finish={
            "proven": proven,
            "waits": [*finish.waits, *([] if proven else [text("attempt.refused.not_proven")])],
        },
        truth=attempt.truth() if yard.ended and not attempt.sealed else None,
        caution=text("common.training_aid"),
    )


def _header(attempt: Attempt, units: str) -> dict[str, Any]:
    rig, site = attempt.case.sound_rig, attempt.case.sound_site
    line = text(
        "attempt.header.rig_line",
        rig=rig.title,
        bore=figure("bore", rig.suction_hose.bore, units),
        hose=figure("length", rig.suction_hose.length, units),
        lift=figure("length", site.lift, units),
    )
    badges = [text(f"attempt.header.{attempt.mode}")]
    badges.append(
        text("attempt.header.see_through" if attempt.see_through else "attempt.header.outside_only")
    )
    title = text("attempt.header.title", site=site.name) if site.name else text("attempt.header.title_plain")
    return {"title": title, "brief": attempt.scenario.brief, "rig_line": line, "badges": badges}


def _run(attempt: Attempt) -> dict[str, Any]:
    timeline, yard = attempt.timeline, attempt.yard
    if timeline is None:
        return {"id": None, "shown": 0.0, "computed": 0.0, "final": True, "ended": None, "primed": False,
                "duration": RUN_DURATION, "version": 0, "changed_from": 0.0}  # fmt: skip
    timeline.extend_to(yard.shown)
    prime = timeline.prime_tick()
    primed = prime is not None and prime <= yard.shown
    ended = None
    if primed:
        ended = {"sentence": text("attempt.run.primed", seconds=round(timeline.history().prime_time))}
    elif not yard.engine_on:
        ended = {"sentence": text("attempt.run.stopped")}
    return {
        "id": timeline.number,
        "shown": attempt.shown,
        "computed": round(attempt.horizon() * TICK, 1),
        "final": timeline.last_tick is not None and yard.shown >= timeline.last_tick,
        "ended": ended,
        "primed": primed,
        "duration": max(RUN_DURATION, int(attempt.shown // 60 + 2) * 60),
        "version": timeline.version,
        "changed_from": round(timeline.changed_from * TICK, 1),
    }


def _gauges(attempt: Attempt, units: str) -> list[dict[str, Any]]:
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
        for gauge in gauges_of(attempt.case.sound_rig)
    ]


def _rig(attempt: Attempt) -> dict[str, Any]:
    """Geometry for the picture, from the rig in good order; what is wrong shows only where it may be seen."""
    rig, site, case = attempt.case.sound_rig, attempt.case.sound_site, attempt.case
    hose, line = rig.suction_hose, rig.discharge
    drain = case.rig.casing_drain.opening if attempt.see_through else attempt.yard.drain_seen
    belt = case.rig.compressor.belt_slip if attempt.see_through else _belt_seen(attempt)
    sound = case.sound
    inside = (
        {"joint_holes_m": [joint.hole_diameter for joint in case.rig.suction_hose.joints]}
        if attempt.see_through
        else {}
    )
    return {
        "title": rig.title,
        "bore_m": hose.bore,
        "hose_length_m": hose.length,
        "lift_m": site.lift,
        "submergence_m": site.submergence,
        "profile": [[s, z] for s, z in hose_profile(rig, site)],
        "joints": [joint.position for joint in hose.joints],
        "liner_at": hose.liner.position if attempt.see_through else None,
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
        "drain_open_shown": drain,
        "belt_slack_shown": belt,
        **inside,
        "opened": list(attempt.yard.opened),
        "tagged": attempt.yard.tagged,
    }


def _belt_seen(attempt: Attempt) -> float | None:
    """Slack of the belt as it was last seen, 0 tight to 1 gone [-]; None while nobody has looked under the guard."""
    seen = None
    for event in attempt.log:
        result, args = event["result"], event["args"]
        if event["act"] == "check" and args.get("check") == "belt" and "outcome" in result:
            seen = BELT_LOOKS.get(result["outcome"], seen)
        elif event["act"] == "remedy" and "finding" in result:
            if result["remedy"] == "renew_belt":
                seen = 0.0
            elif result["remedy"] == "tighten_belt":
                seen = 1.0 if result["finding"] == "belt_gone" else 0.0
    return seen


def _curve(attempt: Attempt, units: str) -> dict[str, Any]:
    yard = attempt.yard
    earlier = [
        {"label": text("attempt.curve.run", n=run["run"]), "points": run["points"]} for run in yard.earlier
    ]
    earlier += [
        {"label": text("attempt.curve.blank", n=n), "points": points}
        for n, points in enumerate(yard.blank_curves, start=1)
    ]
    return {
        "static_lift_pa": round(static_lift(attempt.case.sound_site)),
        "static_lift": figure("vacuum", static_lift(attempt.case.sound_site), units),
        "band": attempt.case.band() if attempt.mode == "guided" else None,
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


def _notes(attempt: Attempt, units: str) -> list[dict[str, Any]]:
    return [
        {
            "clock": clock_words(item["clock"]),
            "text": render(item, units),
            "kind": item["kind"],
            "seq": event["seq"],
        }
        for event in attempt.log
        for item in event["notes"]
    ]
