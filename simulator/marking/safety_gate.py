"""Safety is a gate: what is safe earns nothing, a lapse takes points off the whole, a grave one fails the call-out."""

from __future__ import annotations

from collections.abc import Sequence

from simulator.attempt.pressed import graded, same_again, stepped_back
from simulator.diagnosis.advice import BEFORE_START
from simulator.diagnosis.evidence import Story
from simulator.diagnosis.words import minutes_words
from simulator.marking.dry_running import DryRun
from simulator.marking.sheet import SAFETY, Evidence, Part, because, part
from simulator.texts import text

SINCE = 4  # [-] version of the rules of safe work that asks for a look round before the first start
#: Points off the total [-] for each lapse. A grave one ends the call-out and fails it, whatever the rest.
CHARGES = {"minor": 5.0, "serious": 15.0, "grave": 0.0}


def mark_safety(story: Story, dry: Sequence[DryRun] = ()) -> Part:
    """What is taken off for a story. An attempt in which nothing was started or opened is not marked: nothing was at
    stake.

    Parameters
    ----------
    story : what an attempt holds.
    dry : its starts that ran long without water.
    """
    breaches = [
        event
        for at, event in enumerate(story.log)
        if event["breach"] and (event["breach"] == "grave" or not same_again(story.log, at))
    ]
    if breaches and breaches[-1]["breach"] == "grave":  # who went on after the warning did not heed it
        breaches = [event for event in breaches if not _warned_of(event, breaches[-1])]
    acted = any(
        event["accepted"] and event["act"] in ("start_engine", "check", "remedy") for event in story.log
    )
    more = [_ran_dry(run) for run in dry if not run.noted]
    unseen = not_looked_round(story)
    if unseen:
        more.insert(0, because(-CHARGES["minor"], "safety.not_looked_round", n=f"{CHARGES['minor']:g}"))
    if not breaches:
        if unseen:
            return part(SAFETY, more)
        kept = "safety.nothing_done" if not acted else "safety.kept_but_dry" if more else "safety.kept"
        return part(SAFETY, [because(0.0, kept), *more], marked=acted)
    return part(SAFETY, [*(_charged(event) for event in breaches), *more])


def not_looked_round(story: Story) -> bool:
    """Whether the engine was started before anybody had looked round it. Rules before the fourth did not ask for it.

    Parameters
    ----------
    story : what an attempt holds.
    """
    begun = story.log[0]["result"] if story.log else {}
    if int(begun.get("rules", 1)) < SINCE or BEFORE_START not in (story.allowed_checks or (BEFORE_START,)):
        return False
    for event in story.log:
        if event["accepted"] and event["act"] == "check" and event["args"]["check"] == BEFORE_START:
            return False
        if event["accepted"] and event["act"] == "start_engine":
            return True
    return False


def _warned_of(event: dict, act: dict) -> bool:
    args = event["args"]
    return event["act"] == "nearly" and (args["act"], args.get("args") or {}) == (act["act"], act["args"])


def _ran_dry(run: DryRun) -> Evidence:
    """What a long run without water takes off, and what it does to a pump."""
    fields = {"minutes": minutes_words(run.dry), "why": text("marking.safety.dry_why")}
    if run.charged:
        n = CHARGES["minor"]
        return because(-n, "safety.dry_off", n=f"{n:g}", idle=minutes_words(run.idle), **fields)
    return because(0.0, "safety.dry_told", **fields)


def _charged(event: dict) -> Evidence:
    """What one lapse takes off, and why."""
    breach, why = graded(event), event["result"].get("danger", "")
    cost, fields = CHARGES[breach], {"what": _what(event)}
    if why:
        fields["why"] = text(f"safe_work.dangers.{why}")
    key = "safety.nearly" if stepped_back(event) else f"safety.{breach}{'_why' if why else ''}"
    if cost > 0.0:
        return because(-cost, f"{key}_off", n=f"{cost:g}", **fields)
    return because(0.0, f"{key}_fails", **fields)


def _what(event: dict) -> str:
    """The act that was tried, in words."""
    if stepped_back(event):
        return _act_words(event["args"]["act"], event["args"]["args"])
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
