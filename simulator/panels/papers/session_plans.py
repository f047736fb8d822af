"""Session plans for the one who teaches: 45 minutes a lesson, from the message catalogue."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from simulator.errors import InputError
from simulator.panels.papers.sheet import sheet
from simulator.rig import safe_work
from simulator.rig.safe_words import acts_told, name_of
from simulator.texts import entry, text

MINUTES = 45
FROM_DRILLS = 3  # wrong ideas taken from a lesson's own drills


def plan_names() -> tuple[str, ...]:
    """Numbers of the lessons that have a plan, and "field" for the field sheet.

    Examples
    --------
    >>> plan_names()[0], plan_names()[-1]
    ('00', 'field')
    """
    return tuple(str(name) for name in entry("plans.lessons"))


def plan_title(lesson: str) -> str:
    """What a plan is called.

    Examples
    --------
    >>> plan_title("field")
    'Session plan: Field sheet'
    """
    name = entry("plans.lessons")[lesson]["name"]
    if lesson == "field":
        return text("plans.words.title_field", name=name)
    return text("plans.words.title", number=lesson, name=name)


def session_plan(lesson: str) -> str:
    """The plan of a lesson as HTML that prints on one page of A4 or Letter.

    Raises
    ------
    InputError : there is no plan for it.
    """
    if lesson not in plan_names():
        raise InputError(f"there is no plan for lesson {lesson!r}", "session plan", ", ".join(plan_names()))
    plan: dict[str, Any] = entry("plans.lessons")[lesson]
    rows, at, wall = [], 0, dict(map(tuple, plan["wall"]))
    for minutes, what in plan["minutes"]:
        rows.append((at, minutes, what, wall.get(at, "")))
        at += minutes
    wrong = [*map(tuple, plan["wrong"]), *drilled(lesson)]
    return sheet(
        "session_plan.html",
        plan_title(lesson),
        plan=plan,
        rows=rows,
        wrong=wrong,
        curves=_curves(tuple(plan["curves"])),
        safe=[
            f"{name_of(*act)}: {safe_work.short(*act)}"
            for act in acts_told([plan, wrong])
            if safe_work.short(*act)
        ],
    )


def _curves(faults: tuple[str, ...]) -> dict[str, Any] | None:
    """The picture of the curves to expect with a list of them; None where the plan names none."""
    if not faults:
        return None
    from simulator.panels.papers import plan_curves  # here, as it simulates

    drawn = [
        (Markup(plan_curves.key(n)), line.name, line.ends)  # our own markup, no words of anybody's in it
        for n, line in enumerate(plan_curves.lines(faults))
    ]
    return {"title": plan_curves.title(), "chart": Markup(plan_curves.chart(faults)), "lines": drawn}


def drilled(lesson: str) -> list[tuple[str, str]]:
    """Wrong answers to a lesson's own questions, each with its question, and what is said to them; only questions that
    need no figures."""
    try:
        area = entry(f"lesson_{lesson}")
    except InputError:
        return []
    found = []
    for question in (*area.get("predictions", {}).values(), *area.get("drills", {}).values()):
        wrong = [each for each in question.get("options", {}).values() if each["label"] and "says" in each]
        whole = [each for each in wrong if "{" not in question["text"] + each["label"] + each["says"]]
        if whole:
            # what is said most to stands best by itself
            most = max(whole, key=lambda each: len(each["says"]))
            found.append(
                (text("plans.words.asked", question=question["text"], answer=most["label"]), most["says"])
            )
    return found[:FROM_DRILLS]
