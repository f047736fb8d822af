"""Where a learner stands in a lesson: its steps, which are done, and what has to come first."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from simulator.panels.teaching.lesson import Lesson

Done = Callable[[], bool]
#: What of the answers shows that a step was begun, where it is not the step's own name.
BEGUN = {"run": "seen:run", "case": "on:case"}


class Course:
    """The steps of a lesson in their order.

    Parameters
    ----------
    lesson : whose steps they are.
    done : for each step, whether it is done.
    own : a step that only this lesson has; seen is done, and begun.
    """

    def __init__(self, lesson: Lesson, done: Mapping[str, Done], own: str = "") -> None:
        self._lesson, self._done, self._own = lesson, done, own

    def has(self, step: str) -> bool:
        """Whether a step of the lesson is done."""
        return self._done[step]()

    def steps(self) -> tuple[str, ...]:
        """The steps this lesson has."""
        return tuple(self._done)

    def now(self) -> str:
        """The step to do now; empty when all are done."""
        return next((step for step in self.steps() if not self.has(step)), "")

    def waits_for(self, step: str) -> str:
        """The earlier step that has to be done first; empty when this one is open.

        Whoever has done the lesson before, or shows it to others, may take its parts in any order.
        """
        first = next(s for s in self.steps() if s == step or not self.has(s))
        any_order = self._lesson.session.opens_all or self.done_before()
        return "" if first == step or any_order else first

    def done_before(self) -> bool:
        """Whether the records hold marks of this lesson."""
        session = self._lesson.session
        return any(
            row.finished and session.total(row.attempt_id) is not None
            for row in session.rows(self._lesson.number)
        )

    def to(self, step: str) -> str:
        """The step a notice leads on to, until it is begun; then the notice needs no button any more."""
        start = BEGUN.get(step, f"seen:{step}" if step == self._own else f"{step}:")
        return "" if any(key.startswith(start) for key in self._lesson.answers) else step

    def after(self, step: str) -> str:
        """The step that comes after another."""
        steps = self.steps()
        return steps[steps.index(step) + 1]
