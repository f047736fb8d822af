"""The fold: a state and an act give an event. Live work and the replay of a log are the same fold.

The state is changed in place, since its runs are large; whoever meets an error drops the state and folds the log anew.
"""

from __future__ import annotations

from typing import Any

from simulator.attempt import acts, proof
from simulator.attempt.events import event_of, moment_of, same_event
from simulator.attempt.notes import note
from simulator.attempt.safety import act_here, grade, missing, need_keys, worst_danger
from simulator.attempt.state import AttemptState, Event
from simulator.errors import RefusedAct


def begin(state: AttemptState) -> Event:
    """The first event of a log; it says which rules the attempt keeps to, but for the first ones."""
    terms = state.terms
    rules = {} if terms.rules == 1 else {"rules": terms.rules}
    rules |= {} if terms.proof_rules == 1 else {"proof_rules": terms.proof_rules}
    opening = note("act", "attempt.did.begin")
    return event_of(state, moment_of(state), "begin", {}, {**rules, "notes": [opening]})


def perform(
    state: AttemptState, action: str, args: dict[str, Any], shown: float | None = None, *, exact: bool = False
) -> Event:
    """Do an act, or refuse it with the reason; gives the event, which is still to be stored and logged.

    Parameters
    ----------
    state : is changed.
    action, args : the act, as a page names it.
    shown : run time [s] that the learner saw; None leaves the clocks as they are.
    exact : take that time as it is, as in a replay; otherwise it goes no further than could have been shown.

    Raises
    ------
    InputError : there is no such act, check, remedy or place; the state may then be half changed.

    Examples
    --------
    >>> from simulator.attempt.hints import RuleOfThumbCoach
    >>> from simulator.attempt.state import Terms
    >>> from simulator.scenario import random_scenario
    >>> state = AttemptState(Terms("a", random_scenario(7), "practice", 7, RuleOfThumbCoach()))
    >>> event = perform(state, "put_on_ppe", {})
    >>> event["accepted"], state.yard.ppe, perform(state, "put_on_ppe", {})["reason"]
    (True, True, 'done_already')
    """
    if shown is not None:
        state.pass_to(shown, exact=exact)
    moment = moment_of(state)
    lacking = missing(acts.needs_of(state, action, args), state.yard)
    if lacking:
        return _refused(state, action, args, lacking)
    try:
        result = acts.HANDLERS[action](state, args)
    except RefusedAct as refused:
        said = [note("refused", f"attempt.refused.{refused.code}", **_fields(refused, args))]
        return event_of(state, moment, action, args, {"notes": said}, reason=refused.code)
    breach = "minor" if result.get("hazard") else proof.dry_running(state, result)
    return event_of(state, moment, action, args, result, breach=breach)


def perform_again(state: AttemptState, stored: Event) -> bool:
    """Do a ``stored`` act of a log once more, with its shown time exactly; whether it gives the same event.

    A hint is the coach's, and stays as given.
    """
    if stored["act"] == "begin":
        again = begin(state)
    else:
        again = perform(state, stored["act"], stored["args"], stored["shown_s"], exact=True)
    again["click_id"] = stored.get("click_id")
    if stored["act"] == "ask_hint" and stored["accepted"]:
        again["notes"], again["result"] = stored["notes"], stored["result"]
    if stored["result"].get("check") == "dip_water" and not stored["result"].get("figures"):
        # A dip kept from before its figures were written down stays as given.
        again["notes"] = stored["notes"]
        again["result"]["figures"] = {}
    if "beside" in again["result"] and "beside" not in stored["result"]:
        # Work kept from before it was written down what lay open beside it.
        del again["result"]["beside"]
    if stored["result"].get("finding") and again["notes"][:1] == stored["notes"][:1]:
        again["notes"] = stored["notes"]  # what was said of that was said at other times, too
    return same_event(again, stored)


def _refused(state: AttemptState, action: str, args: dict[str, Any], lacking: list[str]) -> Event:
    """The event of an act that lacks what it waits for; what is grave ends the call-out."""
    yard, moment = state.yard, moment_of(state)
    act = act_here(state, action, args)
    breach = grade(lacking, yard, act)
    if breach == "grave":
        yard.ended = "stopped_for_safety"
    kind = "warning" if breach else "refused"
    said = [note(kind, f"attempt.needs.{key}") for key in need_keys(lacking, yard, act)]
    result: dict[str, Any] = {"lacking": lacking, "notes": said}
    if breach and state.terms.rules > 1:
        result["danger"] = worst_danger(lacking, yard, act)
        said.append(note(kind, f"safe_work.dangers.{result['danger']}"))
    if breach == "grave":
        said.append(note("end", "attempt.did.stopped_for_safety"))
    return event_of(state, moment, action, args, result, reason="needs", breach=breach)


def _fields(refused: RefusedAct, args: dict[str, Any]) -> dict[str, Any]:
    return {"n": sum(args["markers"].values())} if refused.code == "marker_count" else {}
