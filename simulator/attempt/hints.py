"""Hints in three steps: a question, a direction, the act. They rest on what the trainee has seen.

Arguments, the same throughout: ``state`` where the call-out stands; it is not changed.
"""

from __future__ import annotations

from typing import Any

from simulator.attempt.notes import Note, note
from simulator.attempt.rules_of_thumb import Step, known_of, next_step
from simulator.attempt.state import AttemptState
from simulator.rig import safe_work

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
    """The next hint step and its note; a new look or remedy begins again at the first step."""
    step = 1
    for event in reversed(state.log):
        if not event["accepted"] or event["act"] in ("predict", "call"):
            continue
        if event["act"] != "ask_hint":
            break
        step = min(int(event["result"]["step"]) + 1, len(STEPS))
        break
    return step, state.terms.coach.hint(state, step)
