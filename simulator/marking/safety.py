"""Part three: safety. Each breach is charged by how grave it was; a grave one ends the attempt."""

from __future__ import annotations

from simulator.diagnosis.evidence import Story
from simulator.marking.sheet import OUT_OF, SAFETY, Evidence, Part, because, part
from simulator.texts import text

CHARGES = {"minor": 3.0, "serious": 8.0, "grave": 25.0}


def mark_safety(story: Story) -> Part:
    """Points for a story. An attempt in which nothing was started or opened is not marked: nothing was at
    stake."""
    breaches = [event for event in story.log if event["breach"]]
    acted = any(
        event["accepted"] and event["act"] in ("start_engine", "check", "remedy") for event in story.log
    )
    if not breaches and not acted:
        return part(SAFETY, [because(0.0, "safety.nothing_done")])
    left = OUT_OF[SAFETY]
    evidence: list[Evidence] = [because(left, "safety.clean" if not breaches else "safety.start")]
    for event in breaches:
        cost = min(CHARGES[event["breach"]], left)
        left -= cost
        why = event["result"].get("danger", "")
        if why:
            fields = {"what": _what(event), "why": text(f"safe_work.dangers.{why}")}
            evidence.append(because(-cost, f"safety.{event['breach']}_why", **fields))
        else:
            evidence.append(because(-cost, f"safety.{event['breach']}", what=_what(event)))
    return part(SAFETY, evidence)


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
