"""The lessons by their number, as the notebooks open them."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from simulator.errors import InputError

_LESSONS = {
    "00": ("simulator.panels.lesson_home", "StartHere"),
    "01": ("simulator.panels.lesson_draws", "DrawsWater"),
    "02": ("simulator.panels.lessons.lesson_02", "HowLong"),
    "03": ("simulator.panels.lessons.lesson_03", "ReadingTheGauge"),
    "04": ("simulator.panels.lessons.lesson_04", "AirGetsIn"),
    "05": ("simulator.panels.lessons.lesson_05", "NotDrawnOut"),
    "06": ("simulator.panels.lessons.lesson_06", "WaterCannotCome"),
    "07": ("simulator.panels.lessons.lesson_07", "HalvingTheProblem"),
    "08": ("simulator.panels.lessons.lesson_08", "LosesIt"),
    "09": ("simulator.panels.lesson_practice", "Practice"),
    "10": ("simulator.panels.lesson_assessment", "Assessment"),
    "11": ("simulator.panels.lessons.lesson_11", "ShuttingDown"),
    "field": ("simulator.panels.lesson_field", "FieldPage"),
}


def lesson(number: str) -> Any:
    """A lesson, whose methods give the parts of its page; work begun before goes on.

    Raises
    ------
    InputError : there is no such lesson.

    Examples
    --------
    >>> page = lesson("00")
    >>> page.welcome().name
    'welcome'
    """
    if number not in _LESSONS:
        raise InputError(f"there is no lesson {number!r}", "lesson", ", ".join(_LESSONS))
    module, name = _LESSONS[number]
    return getattr(import_module(module), name)()
