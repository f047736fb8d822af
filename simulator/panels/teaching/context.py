"""What the parts of a taught lesson share."""

from __future__ import annotations

from dataclasses import dataclass

from simulator.panels.teaching.asking import Asking
from simulator.panels.teaching.course import Course
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.phrases import Phrases
from simulator.panels.teaching.plan import Plan


@dataclass(frozen=True)
class Context:
    """The lesson's frame, its content, where the learner stands, its words, and how it asks."""

    lesson: Lesson
    plan: Plan
    course: Course
    phrases: Phrases
    asking: Asking
