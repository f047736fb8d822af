"""Safety is a gate: what is safe earns nothing, a lapse takes points off the whole, a grave one fails the call-out."""

from __future__ import annotations

from simulator.attempt.pressed import same_again
from simulator.diagnosis.evidence import Story
from simulator.marking.sheet import SAFETY, Evidence, Part, because, part
from simulator.texts import text

#: Points off the total [-] for each lapse. A grave one ends the call-out and fails it, whatever the rest.
CHARGES = {"minor": 5.0, "serious": 15.0, "grave": 0.0}


def mark_safety(story: Story) -> Part:
    """What is taken off for a story. An attempt in which nothing was started or opened is not marked: nothing was at
    stake."""
    breaches = [
        event
        for at, event in enumerate(story.log)
        if event["breach"] and (event["breach"] == "grave" or not same_again(story.log, at))
    ]
    acted = any(
        event["accepted"] and event["act"] in ("start_engine", "check", "remedy") for event in story.log
    )
    if not breaches:
        said = because(0.0, "safety.kept" if acted else "safety.nothing_done")
        return part(SAFETY, [said], marked=acted)
    return part(SAFETY, [_charged(event) for event in breaches])


def _charged(event: dict) -> Evidence:
    """What one lapse takes off, and why."""
    cost, why = CHARGES[event["breach"]], event["result"].get("danger", "")
    fields = {"what": _what(event)}
    if why:
        fields["why"] = text(f"safe_work.dangers.{why}")
    key = f"safety.{event['breach']}{'_why' if why else ''}"
    if cost > 0.0:
        return because(-cost, f"{key}_off", n=f"{cost:g}", **fields)
    return because(0.0, f"{key}_fails", **fields)


def _what(event: dict) -> str:
    """The act that was tried, in words."""
    if event["accepted"] and event["act"] == "nearly":
        return text("marking.safety.nearly", what=_act_words(event["args"]["act"], event["args"]["args"]))
    if event["accepted"]:
        return text(f"marking.safety.{event['result'].get('hazard', 'ran_dry')}")
    return _act_words(event["act"], event["args"])


def _act_words(action: str, args: dict) -> str:
    if action == "check":
        joint = str(args.get("place", "")).partition(":")[2]
        fields = {"joint": int(joint) + 1} if joint.isdigit() else {}
        return text(f"checks.{args['check']}.label", **fields)
    if action == "remedy":
        return text(f"remedies.{args['remedy']}.name")
    return text(f"attempt.actions.{action}")
