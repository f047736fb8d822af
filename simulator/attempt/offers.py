"""All acts on offer: where each stands on the page, what it takes, what it waits for, how unsafe it would be now.

Throughout: ``state`` is the attempt as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from simulator.attempt.acts import needs_of
from simulator.attempt.open_parts import minutes_now
from simulator.attempt.pressed import pressed_before
from simulator.attempt.safety import act_here, grade, missing, waits
from simulator.attempt.state import AttemptState
from simulator.attempt.yard import PRECAUTION_MINUTES, PRECAUTIONS
from simulator.instruments.checks import CHECKS, check_places
from simulator.rig import safe_work
from simulator.rig.lazy import LazyTable
from simulator.rig.remedies import REMEDIES
from simulator.rig.safe_words import can_be_told
from simulator.texts import text

#: Where what is done at a part stands on the page, as the records of checks and work say.
GROUP_OF: LazyTable[str, str] = LazyTable(
    lambda: {
        part: group
        for part, group in (
            *((check.place, check.group) for check in CHECKS.values()),
            *((remedy.part, remedy.group) for remedy in REMEDIES.values()),
        )
        if group
    }
)
#: Where what is done at a part stands that nobody has given a place.
ELSEWHERE = "all_round"


def group_of(part: str) -> str:
    """Where the acts at a part of the rig stand on the page; all round the rig for a part that has no place of its own.

    Examples
    --------
    >>> group_of("nrv"), group_of("joint:1"), group_of("a part that is new")
    ('discharge', 'hose', 'all_round')
    """
    return GROUP_OF.get(part.partition(":")[0], ELSEWHERE)


#: The part that an act which is neither a look nor work is done at.
PART_OF = {
    "secure_discharge": "discharge_line",
    "isolate_and_tag": "engine",
    "bleed_air": "air_line",
    "relieve_line": "discharge_line",
    "vent_hose": "hose",
    "take_rated_plate": "suction_flange",
    "guard_edge": "water",
    "tie_down_air_line": "air_line",
    "shut_cock": "cock",
    "reopen_cock": "cock",
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
    again: bool  # it was tried as it stands, and nothing was done since: that lapse counts once
    protects: str
    done: bool
    times: int
    part: str  # of the rig
    usual_minutes: float  # [min]; more than ``minutes`` where the part is open already

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {**vars(self), "args": dict(self.args), "waits": list(self.waits)}


def action_views(state: AttemptState) -> list[ActionView]:
    """All acts on offer, in the order of the page."""
    out = [_view(state, action, action, {}, "precaution", "before") for action in PRECAUTIONS]
    out += [_view(state, "start_engine", "start_engine", {"speed": state.yard.speed}, "engine", "engine")]
    out += [_view(state, name, name, {}, "engine", "engine") for name in ("stop_engine",)]
    if state.case.sound_rig.has_isolating_cock:
        name = "shut_cock" if state.yard.cock_open else "reopen_cock"
        out += [_view(state, name, name, {}, "engine", "jet")]
    for check in CHECKS.values():
        if state.terms.allows(check.id):
            for place in check_places(check, state.case.sound_rig):
                args = {"check": check.id, "place": place}
                out.append(_view(state, f"check:{check.id}:{place}", "check", args, "check", group_of(place)))
    for remedy in REMEDIES.values():
        known = can_be_told("remedies", remedy.id)
        for place in remedy.places(state.case.sound_rig) if known else ():
            args = {"remedy": remedy.id, "place": place}
            out.append(
                _view(state, f"remedy:{remedy.id}:{place}", "remedy", args, "remedy", group_of(remedy.part))
            )
    out += [_view(state, name, name, {}, "end", "end") for name in ("finish", "give_up")]
    return out


def _view(
    state: AttemptState, view_id: str, action: str, args: dict[str, Any], kind: str, group: str
) -> ActionView:
    yard = state.yard
    lacking = missing(needs_of(state, action, args), yard)
    act = act_here(state, action, args)
    minutes, times = 0.0, 0
    of_rig = act.kind in (safe_work.CHECKS, safe_work.REMEDIES)
    protects = safe_work.box(act.kind, act.name, act.here) if of_rig else ""
    part, usual = PART_OF.get(action, ""), 0.0
    joint = (
        {"joint": int(args["place"].partition(":")[2]) + 1}
        if args.get("place", "").startswith(("joint:", "length:"))
        else {}
    )
    if action == "check":
        check = CHECKS[args["check"]]
        label, minutes = text(f"checks.{check.id}.label", **joint), check.minutes
        times, part = yard.checks.get(f"{check.id}@{args['place']}", 0), check.spot or check.place
    elif action == "remedy":
        name = "attempt.actions.remedy_joint" if joint else "attempt.actions.remedy"
        label = text(name, what=text(f"remedies.{args['remedy']}.name"), **joint)
        remedy = REMEDIES[args["remedy"]]
        minutes, usual = minutes_now(remedy.id, args["place"], yard.opened), remedy.minutes
        part = remedy.spot or remedy.part
        times = yard.remedies.count(f"{args['remedy']}@{args['place']}")
    else:
        label, minutes = text(f"attempt.actions.{action}"), PRECAUTION_MINUTES.get(action, 0.0)
        times = int(_precaution_done(state, action))
    return ActionView(
        id=view_id,
        action=action,
        args=args,
        kind=kind,
        group=group,
        label=label,
        minutes=minutes,
        waits=tuple(waits(lacking, yard, act)),
        risk=grade(lacking, yard, act),
        again=bool(lacking) and pressed_before(state.log, action, args, lacking),
        protects=protects,
        done=times > 0,
        times=times,
        part=part,
        usual_minutes=max(usual, minutes),
    )


def _precaution_done(state: AttemptState, action: str) -> bool:
    yard = state.yard
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
