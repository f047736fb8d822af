"""The page of an exercise as plain data: an attempt's snapshot shaped for the view, and the fixed words."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from simulator.attempt import Attempt, Samples
from simulator.attempt.hint_costs import next_cost
from simulator.attempt.hints import hint_steps, next_step_asked
from simulator.attempt.offers import group_of
from simulator.attempt.pressed import STEPPED_BACK
from simulator.attempt.samples import LOOK_OF, codes_of
from simulator.diagnosis.advice import BEFORE_START
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.panels.exercise.offers import first_acts, listed, short_waits
from simulator.panels.page.dial import dial
from simulator.rig import safe_work
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.safe_words import acts_told, name_of
from simulator.texts import entry, text
from simulator.units import SYSTEMS

#: Channels that are codes, counts or on-off: between two samples they keep the earlier value.
STEPPED = (*LOOK_OF, "tachometer_shown", "relief_open", "drain_spray", "nrv_open")


def fixed_words() -> dict[str, Any]:
    """Labels and codes that do not change during an exercise; sent once.

    Examples
    --------
    >>> sorted(fixed_words())
    ['codes', 'panel', 'picture']
    """
    return {
        "panel": entry("panel"),
        "picture": entry("picture"),
        "codes": {channel: list(codes_of(channel)) for channel in LOOK_OF if channel != "exhaust_level"},
    }


def build_page(attempt: Attempt, units: str = "metric") -> dict[str, Any]:
    """Everything the view shows of an attempt besides the samples, ready for JSON.

    Parameters
    ----------
    units : "metric" or "us".

    Raises
    ------
    InputError : there is no such unit system.

    Examples
    --------
    >>> from simulator.attempt import MemoryStore
    >>> from simulator.scenario import random_scenario
    >>> page = build_page(Attempt(random_scenario(1), MemoryStore(), seed=1))
    >>> page["phase"], page["debrief"]
    ('predict', None)
    """
    if units not in SYSTEMS:
        raise InputError(f"there is no unit system {units!r}", "units", ", ".join(SYSTEMS))
    page = attempt.snapshot(units).as_dict()
    page["gauges"] = [_gauge(gauge) for gauge in page["gauges"]]
    page["notes"] = _notes(attempt, page["notes"])
    looks = _looks_for_work(attempt)
    page["places"] = _seen_there(listed(page["places"]), looks)
    if page["mode"] == "assessment":  # which of two works it is, is asked there
        for place in page["places"]:
            for item in place["items"]:
                item.pop("choose", None)
    page["engine"]["first"] = first_acts(page["engine"]["waits"])
    page["engine"]["waits"] = short_waits(page["engine"]["waits"])
    page["call"] = _call(attempt, page["call"])
    page["coach"] = {**_coach(page, attempt), "cost": _hint_cost(attempt)}
    page["lapse"] = _lapse() if page["mode"] != "assessment" else None
    page["put_right"] = _put_right(attempt)
    page["walk_found"] = _walk_found(attempt)
    page["found"] = _found(page["mode"], looks)
    page["run"]["looked"] = _looked(attempt)
    page["pointed"] = _pointed(attempt, page["mode"])
    page["debrief"] = None  # whoever works one out puts it here
    return page


def _walk_found(attempt: Attempt) -> bool:
    """Whether the latest walk round has shown something that is not in order."""
    walks = [e["result"] for e in attempt.log if e["accepted"] and e["result"].get("check") == BEFORE_START]
    return bool(walks) and walks[-1]["outcome"] != CHECKS[BEFORE_START].outcomes[0]


def _looks_for_work(attempt: Attempt) -> list[dict[str, Any]]:
    """Looks that can show what has to be put right, newest first: place, works they can call for, the one they did."""
    out = []
    for event in reversed(attempt.log):
        check = CHECKS.get(str(event["result"].get("check", ""))) if event["accepted"] else None
        if event["act"] != "check" or check is None or not check.calls_for:
            continue
        works = dict(check.calls_for)
        place, outcome = str(event["result"].get("place") or ""), str(event["result"].get("outcome", ""))
        out.append({"place": place, "works": set(works.values()), "calls": works.get(outcome, "")})
    return out


def _seen_there(places: list[dict[str, Any]], looks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Beside work at one of several like places, what was last seen of it there: "good" or "bad"."""
    for place in places:
        for item in place["items"]:
            work, where = item["args"].get("remedy"), item["args"].get("place")
            seen = next((each for each in looks if each["place"] == where and work in each["works"]), None)
            if seen is not None and item.get("series"):
                item["seen"] = "bad" if seen["calls"] else "good"
    return places


def _found(mode: str, looks: list[dict[str, Any]]) -> dict[str, Any] | None:
    """Where the latest look that called for work was made, and the suspects that such looks speak of; None without one,
    and where nobody helps."""
    if mode == "assessment":
        return None
    told = [each for each in looks if each["calls"]]
    if not told:
        return None
    called = {each["calls"] for each in told}
    suspects = [
        fault.id for fault in FAULTS.values() if fault.part and called & set(remedies_for(fault.part))
    ]
    return {"place": told[0]["place"], "suspects": suspects}


def _looked(attempt: Attempt) -> bool:
    """Whether a look that needs it running was made in the present run after the time in which it should have pumped."""
    timeline = attempt.timeline
    if timeline is None:
        return False
    limit = attempt.case.proof_time_of(timeline)
    for event in reversed(attempt.log):
        if event["act"] == "start_engine" and event["accepted"]:
            return False
        check = CHECKS.get(str(event["result"].get("check", ""))) if event["accepted"] else None
        quick = check is not None and check.minutes > 0.0 and "running" in check.needs
        if quick and event["shown_s"] > limit:
            return True
    return False


def _pointed(attempt: Attempt, mode: str) -> str:
    """At which of several like places the latest look from outside found something; "" without one, and where nobody
    helps."""
    if mode == "assessment":
        return ""
    for event in reversed(attempt.log):
        check = CHECKS.get(str(event["result"].get("check", ""))) if event["accepted"] else None
        if event["act"] != "check" or check is None or not check.per_joint or check.opens:
            continue
        if event["result"].get("outcome") != check.outcomes[0]:
            return str(event["result"].get("place") or "")
    return ""


def _put_right(attempt: Attempt) -> str:
    """What work has come to, as far as who did it could see: "" for none yet, "something", or "nothing"."""
    done = [event["result"] for event in attempt.log if event["accepted"] and "finding" in event["result"]]
    if not done:
        return ""
    vain = all(REMEDIES[str(each["remedy"])].seen_in_vain(str(each["finding"])) for each in done)
    return "nothing" if vain else "something"


def _lapse() -> dict[str, float]:
    """Points that a press takes off while what it waits for is lacking, by its risk: said before it is pressed.

    What is grave is warned of at the first press, which takes off what a serious lapse does; the second ends the call.
    """
    # here, with the marks: nothing else of a page needs them
    from simulator.marking.safety_gate import CHARGES

    return {**CHARGES, "grave": CHARGES[STEPPED_BACK]}


def _gauge(gauge: dict[str, Any]) -> dict[str, Any]:
    """A dial in both unit systems, so that the switch needs no new drawing of the rest."""
    return {**gauge, **dial(gauge["id"])}


def _notes(attempt: Attempt, notes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The log; an act refused for what it lacks becomes one line that names the act and all it lacks."""
    labels = {_act_key(view.action, view.args): view.label for view in attempt.available_actions()}
    refused = {event["seq"]: event for event in attempt.log if event["reason"] == "needs"}
    out: list[dict[str, Any]] = []
    for note in notes:
        event = refused.get(note["seq"])
        if event is None or note["kind"] not in ("warning", "refused"):
            out.append(note)
        elif not out or out[-1]["seq"] != note["seq"]:
            name = "unsafe" if note["kind"] == "warning" else "not_yet"
            lacks = ", ".join(text(f"panel.needs.{key}") for key in _need_keys(event))
            act = labels.get(_act_key(event["act"], event["args"]), text("panel.notes.an_act"))
            said = text(f"panel.notes.{name}", act=act, lacks=lacks)
            danger = event["result"].get("danger", "")
            why = f" {text(f'safe_work.dangers.{danger}')}" if danger else ""
            out.append({**note, "text": said + why})
    return _once(out)


def _once(notes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The log without a line that says again what the one before it said; the newer of the two stays."""
    kept = [a for a, b in pairwise(notes) if (a["kind"], a["text"]) != (b["kind"], b["text"])]
    return [*kept, *notes[-1:]]


def _need_keys(event: dict[str, Any]) -> list[str]:
    """What a refused act waited for, by the keys of its notes: they say what was so then."""
    area = "attempt.needs."
    return [note["key"].removeprefix(area) for note in event["notes"] if note["key"].startswith(area)]


def _act_key(action: str, args: dict[str, Any]) -> tuple[str, ...]:
    return action, str(args.get("check", "")), str(args.get("remedy", "")), str(args.get("place", ""))


def _call(attempt: Attempt, call: dict[str, Any]) -> dict[str, Any]:
    """The call with the places each suspect may have, where there is more than one, and where it is put right."""
    case = attempt.case
    for suspect in call["suspects"]:
        fault = FAULTS.get(suspect["id"])
        places = fault.places(case.sound_rig, case.sound_site) if fault is not None and fault.size else ()
        named = [{"id": place, "label": _place_name(place)} for place in places if place.startswith("joint:")]
        suspect["places"] = named if len(named) > 1 else []
        suspect["mended_at"] = _mended_at(fault.part) if fault else ""
    return call


def _mended_at(part: str) -> str:
    """The place on the list where the work on a part stands; "" where there is none."""
    works = remedies_for(part)
    own = [name for name in works if REMEDIES[name].part == part]
    return group_of(REMEDIES[(own or works)[0]].part) if works else ""


def _place_name(place: str) -> str:
    return text("panel.call.joint", n=int(place.partition(":")[2]) + 1)


def _coach(page: dict[str, Any], attempt: Attempt) -> dict[str, Any]:
    """The coach's latest words, as long as they hold, and whether a hint may be asked for."""
    spoken = [note for note in page["notes"] if note["kind"] in ("hint", "ask")]
    last = spoken[-1]["seq"] if spoken else None
    latest = page["notes"][-1]["seq"] if page["notes"] else None
    holds = last is not None and _holds(attempt.log, last)
    lines = [note["text"] for note in spoken if holds and note["seq"] == last]
    told = {note["text"] for note in spoken if note["kind"] == "hint" and note["seq"] != last}
    before = [text("panel.coach.told_before")] if told.intersection(lines) else []
    return {
        "lines": [*_made_safe(lines), *before],
        "fresh": last is not None and last == latest,
        "allowed": page["hint"]["allowed"],
    }


def _holds(log: Sequence[dict[str, Any]], seq: int) -> bool:
    """Whether what the coach said at an event still holds: no look, no work and no whole run since. The notes keep it.

    Examples
    --------
    >>> def log(*acts):
    ...     return [{"seq": seq, "act": act, "accepted": True} for seq, act in enumerate(acts)]
    >>> _holds(log("ask_hint", "stop_engine", "start_engine"), 0), _holds(log("ask_hint", "check"), 0)
    (True, False)
    """
    since = [event["act"] for event in log if event["seq"] > seq and event["accepted"]]
    ran = "start_engine" in since and "stop_engine" in since[since.index("start_engine") :]
    return not ran and "check" not in since and "remedy" not in since


def _hint_cost(attempt: Attempt) -> int:
    """What the next hint takes of the marks for finding and time [%], said before it is asked for."""
    return round(100.0 * next_cost(hint_steps(attempt.log), next_step_asked(attempt.log)))


def _made_safe(lines: list[str]) -> list[str]:
    """What the coach says, and what is made safe before the acts that it tells."""
    said = " ".join(lines)
    first = {name_of(*act): safe_work.short(*act) for act in acts_told(lines)}
    wanted = [f"{name}: {words}" for name, words in first.items() if words and words not in said]
    return [*lines, text("safe_work.coach", acts="; ".join(wanted))] if wanted else lines


def sample_message(samples: Samples, replace_from: float | None = None) -> tuple[dict[str, Any], bytes]:
    """Samples as a message and one buffer of float32, a row for each moment.

    ``replace_from`` [s] says that samples from there on, sent before, no longer hold.
    """
    rows = samples.data.T.astype("<f4")  # (count, channels)
    message = {
        "kind": "samples",
        "run": samples.run,
        "start": samples.start,
        "step": samples.step,
        "channels": list(samples.channels),
        "stepped": list(STEPPED),
        "count": int(rows.shape[0]),
        "final": samples.final,
        "replace_from": replace_from,
    }
    return message, rows.tobytes()
