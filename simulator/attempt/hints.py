"""Hints in three steps: a question, a direction, the act. They rest on what the trainee has seen.

Arguments, the same throughout: ``state`` where the call-out stands; it is not changed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from simulator.attempt.calls import MARKERS
from simulator.attempt.notes import Note, note
from simulator.attempt.rules_of_thumb import Step, known_of, next_step
from simulator.attempt.state import AttemptState
from simulator.rig import safe_work
from simulator.rig.faults import FAULTS

STEPS = ("ask", "towards", "do")


class RuleOfThumbCoach:
    """Hints by the plateau rule, the motive gauge and the cheapest telling check."""

    def hint(self, state: AttemptState, step: int) -> Note:
        """A note for hint step 1, 2 or 3."""
        advice = next_step(known_of(state))
        if step < len(STEPS):
            return note("hint", f"attempt.hints.{advice.why}.{STEPS[step - 1]}")
        kinds = {"check": safe_work.CHECKS, "remedy": safe_work.REMEDIES, "start_engine": safe_work.ENGINE}
        name = str(advice.args.get(advice.action, advice.action))
        first = safe_work.short(kinds[advice.action], name) if advice.action in kinds else ""
        if first and state.terms.rules > 1:
            return note("hint", "attempt.hints.do_this_first", what=_what(advice), first=first)
        return note("hint", "attempt.hints.do_this", what=_what(advice))


def _what(advice: Step) -> Any:
    if advice.action == "check":
        return {"key": f"checks.{advice.args['check']}.label", "fields": _joint(advice)}
    if advice.action == "remedy":
        return {"key": f"remedies.{advice.args['remedy']}.name"}
    return {"key": f"attempt.actions.{advice.action}"}


def _joint(advice: Step) -> dict[str, Any]:
    place = str(advice.args.get("place", ""))
    return {"joint": int(place.partition(":")[2]) + 1} if place.startswith("joint:") else {}


def hint_note(state: AttemptState) -> tuple[int, Note]:
    """The next hint step and its note; a new look or remedy begins again at the first step, or at the second where the
    first would say no more than the trainee's own last call."""
    step = min(last_step(state.log) + 1, len(STEPS))
    said = state.terms.coach.hint(state, step)
    if step == 1 and said["key"].rpartition(".")[2] == _called(state):
        step, said = 2, state.terms.coach.hint(state, 2)
    return step, said


def _called(state: AttemptState) -> str:
    """The kind of trouble that most markers of the last call lie on; none where they are shared out, or not placed."""
    markers: Mapping[str, int] = state.yard.calls[-1]["markers"] if state.yard.calls else {}
    on: Counter[str] = Counter()
    for name, count in markers.items():
        if name in FAULTS:
            on[FAULTS[name].family] += count
    return next((family for family, count in on.most_common(1) if count > MARKERS / 2), "")


def last_step(log: Sequence[Mapping[str, Any]]) -> int:
    """The hint step [-] that holds as things stand; 0 where none was asked for since the last thing done.

    Parameters
    ----------
    log : events of an attempt.

    Examples
    --------
    >>> asked = {"act": "ask_hint", "accepted": True, "result": {"step": 2}}
    >>> last_step([asked]), last_step([asked, {"act": "check", "accepted": True, "result": {}}])
    (2, 0)
    """
    for event in reversed(log):
        if event["accepted"] and event["act"] not in ("predict", "call"):
            return int(event["result"]["step"]) if event["act"] == "ask_hint" else 0
    return 0


def next_step_asked(log: Sequence[Mapping[str, Any]]) -> int:
    """The hint step [-] that comes next, 1 to 3; 0 where all was told and the same words would come again.

    Parameters
    ----------
    log : events of an attempt.

    Examples
    --------
    >>> next_step_asked([])
    1
    """
    last = last_step(log)
    return 0 if last >= len(STEPS) else last + 1


def hint_steps(log: Sequence[Mapping[str, Any]]) -> tuple[int, ...]:
    """The hint steps that were taken, in order; words that were told before in the call-out are none.

    Parameters
    ----------
    log : events of an attempt.

    Examples
    --------
    >>> asked = [{"act": "ask_hint", "accepted": True, "result": {"step": n}} for n in (1, 2, 3, 3)]
    >>> hint_steps(asked)
    (1, 2, 3)
    >>> told = {**asked[0], "notes": [{"key": "some.words", "fields": {}}]}
    >>> hint_steps([told, {"act": "check", "accepted": True, "result": {}}, told])
    (1,)
    """
    out: list[int] = []
    told: list[list[tuple[str, Any]]] = []
    for number, event in enumerate(log):
        if event["act"] != "ask_hint" or not event["accepted"]:
            continue
        words = [(one["key"], one["fields"]) for one in event.get("notes", ())]
        if next_step_asked(log[:number]) and not (words and words in told):
            out.append(int(event["result"]["step"]))
        told.append(words)
    return tuple(out)
