"""The trainee's call in markers, and the predictions asked of the trainee."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from simulator.errors import RefusedAct
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.onset import COMES_LATER
from simulator.rig.safe_work import RULES
from simulator.texts import text

MARKERS, MAX_SUSPECTS = 10, 3
SOMETHING_ELSE = "something_else"
PRIME_QUESTION, BLANK_QUESTION = "sound_prime_time", "blank_off_if_right"
FROST_QUESTION, FROST_RIGHT = "frost_end", "open_all"
FROST_ANSWERS = ("open_all", "open_both", "casing_only", "leave_shut")
#: In attempts of the first safety rules nobody asked for the drains of the air side.
FROST_ANSWERS_BEFORE = FROST_ANSWERS[1:]
LONGEST_ANSWER = 1800.0  # [s]


def frost_answers(rules: int) -> tuple[str, ...]:
    """The answers on offer for the drains on a freezing night, under a version of the safety rules.

    Examples
    --------
    >>> frost_answers(1)
    ('open_both', 'casing_only', 'leave_shut')
    """
    return FROST_ANSWERS_BEFORE if rules == 1 else FROST_ANSWERS


def left_to_freeze(answers: dict[str, Any], rules: int) -> str:
    """What the answer among ``answers`` (by question) leaves to the frost, under a version of the safety ``rules``.

    One of "", left_to_freeze (casing or line) or left_air_to_freeze.

    Examples
    --------
    >>> left_to_freeze({"frost_end": "open_both"}, 1), left_to_freeze({"frost_end": "open_both"}, 2)
    ('', 'left_air_to_freeze')
    """
    answer = answers.get(FROST_QUESTION)
    if answer == FROST_RIGHT or (answer == "open_both" and rules == 1):
        return ""
    return "left_air_to_freeze" if answer == "open_both" else "left_to_freeze"


def suspects() -> list[dict[str, str]]:
    """All there is to suspect, the same list for every call-out.

    Examples
    --------
    >>> suspects()[-1]["id"]
    'something_else'
    """
    listed = [
        {
            "id": fault.id,
            "label": text(f"faults.{fault.id}.name"),
            "family": fault.family,
            "family_label": text(f"faults.families.{fault.family}"),
        }
        for fault in FAULTS.values()
    ]
    other = {
        "id": SOMETHING_ELSE,
        "label": text("attempt.call.something_else"),
        "family": "",
        "family_label": "",
    }
    return [*listed, other]


def checked_markers(args: dict[str, Any]) -> tuple[dict[str, int], dict[str, str]]:
    """Markers and places of a call, if they keep the rules: ``args`` as the page sent them.

    Raises
    ------
    RefusedAct : not ten markers, more than three suspects, or an unknown suspect.

    Examples
    --------
    >>> checked_markers({"markers": {"belt_loose": 7, "something_else": 3}})
    ({'belt_loose': 7, 'something_else': 3}, {})
    """
    given = args.get("markers")
    if not isinstance(given, dict):
        raise RefusedAct("no_markers", text("attempt.refused.no_markers"))
    markers: dict[str, int] = {}
    for name, count in given.items():
        known = name == SOMETHING_ELSE or name in FAULTS
        if not known or isinstance(count, bool) or not isinstance(count, int) or count < 0:
            raise RefusedAct("bad_markers", text("attempt.refused.bad_markers"))
        if count:
            markers[name] = count
    if sum(markers.values()) != MARKERS:
        raise RefusedAct("marker_count", text("attempt.refused.marker_count", n=sum(markers.values())))
    if len([name for name in markers if name != SOMETHING_ELSE]) > MAX_SUSPECTS:
        raise RefusedAct("too_many_suspects", text("attempt.refused.too_many_suspects"))
    places = args.get("places") or {}
    if not isinstance(places, dict) or not all(isinstance(v, str) for v in places.values()):
        raise RefusedAct("bad_places", text("attempt.refused.bad_places"))
    return dict(sorted(markers.items())), {str(k): v for k, v in sorted(places.items()) if k in markers}


def question_view(
    question: str, top_suspect: str, rules: int = RULES, bounds: Callable[[], tuple[str, str]] | None = None
) -> dict[str, Any] | None:
    """The question as a page shows it, or None: ``top_suspect`` is named in one of them, ``rules`` is the version of the
    safety rules, which decides on the answers offered. ``bounds`` gives in words where next to nothing ends and where
    deep begins."""
    if question == PRIME_QUESTION:
        return {
            "id": question,
            "question": text("attempt.questions.sound_prime_time"),
            "number": {"unit": "s", "low": 5, "high": LONGEST_ANSWER, "step": 5},
            "options": [],
        }
    if question == BLANK_QUESTION:
        key, fields = "blank_off_options", {}
        if bounds is not None:
            key, fields = "blank_off_bounds", dict(zip(("little", "deep"), bounds(), strict=True))
        return {
            "id": question,
            "question": text("attempt.questions.blank_off_if_right", it=text(f"faults.{top_suspect}.say")),
            "number": None,
            "options": [
                {"id": outcome, "label": text(f"attempt.questions.{key}.{outcome}", **fields)}
                for outcome in CHECKS["blank_off"].outcomes
            ],
        }
    if question == FROST_QUESTION:
        return {
            "id": question,
            "question": text("attempt.questions.frost_end"),
            "number": None,
            "options": [
                {"id": answer, "label": text(f"attempt.questions.frost_end_options.{answer}")}
                for answer in frost_answers(rules)
            ],
        }
    return None


def checked_answer(question: str, answer: Any) -> Any:
    """An answer that fits the question; None says "I do not know".

    Raises
    ------
    RefusedAct : the answer does not fit.

    Examples
    --------
    >>> checked_answer("sound_prime_time", 40)
    40.0
    """
    if answer is None:
        return None
    if question == PRIME_QUESTION:
        number = isinstance(answer, (int, float)) and not isinstance(answer, bool)
        if number and 0.0 < float(answer) <= LONGEST_ANSWER:
            return float(answer)
    elif answer in (FROST_ANSWERS if question == FROST_QUESTION else CHECKS["blank_off"].outcomes):
        return str(answer)
    raise RefusedAct("bad_answer", text("attempt.refused.bad_answer"))


def blank_suspect(markers: dict[str, int]) -> str:
    """The suspect about whom a first call asks what a blank-off test would show; "" where nobody is asked.

    What comes only as the pump runs is not there while the plate is on, so that nothing can be said of it.

    Examples
    --------
    >>> blank_suspect({"belt_loose": 7, "flange_works_loose": 3}), blank_suspect({"flange_works_loose": 10})
    ('belt_loose', '')
    """
    top = top_suspect(markers)
    return "" if top and FAULTS[top].family == COMES_LATER else top


def top_suspect(markers: dict[str, int]) -> str:
    """The suspect with most markers, the first of equals; "" when all markers lie on something else.

    Examples
    --------
    >>> top_suspect({"belt_loose": 3, "something_else": 7})
    'belt_loose'
    """
    named = {name: count for name, count in markers.items() if name != SOMETHING_ELSE}
    return max(named, key=lambda name: named[name]) if named else ""
