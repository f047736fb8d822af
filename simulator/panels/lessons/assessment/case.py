"""The case of a sitting that is on the page: played on the exercise screen, with nothing shown of how it went."""

from __future__ import annotations

from simulator.attempt import Attempt
from simulator.errors import InputError, broken_program
from simulator.marking.certificate import Sitting
from simulator.panels.exercise.opening import why_not_gone_on_with
from simulator.panels.exercise.panel import ExercisePanel
from simulator.panels.exercise.played import Played
from simulator.panels.lessons.assessment.background_marking import BackgroundMarking
from simulator.panels.lessons.assessment.elsewhere import SittingElsewhere
from simulator.panels.lessons.assessment.words import said
from simulator.panels.page.part import broken_words
from simulator.panels.teaching.lesson import Lesson

ASitting = Sitting | SittingElsewhere


class CaseStage:
    """Holds the panel of the case that is shown, and has what its marks need worked out meanwhile."""

    def __init__(self, lesson: Lesson) -> None:
        self._lesson = lesson
        self.sitting: ASitting | None = None
        self.panel: ExercisePanel | None = None
        self.number = 0  # of the case that the panel holds
        self.trouble = ""
        self.marking = BackgroundMarking()

    def under_way(self) -> bool:
        """Whether a sitting is under way."""
        return self.sitting is not None and not self.sitting.over

    def place(self) -> None:
        """Hold the panel of the case that is shown: the open one, or the one just done until the learner goes on."""
        if self.sitting is None:
            return
        if self.panel is not None:
            if self.panel.units != self._lesson.units:
                self.panel.units = self._lesson.units
            return
        number = self.sitting.current
        # A sitting begun goes on at once; between two cases the learner says when.
        if number is not None and self.sitting.cases[number - 1].state == "open":
            self.open()

    def open(self) -> None:
        """The open case, or the next one begun, on the page."""
        assert self.sitting is not None
        number = self.sitting.current
        if number is None:
            return
        try:
            if isinstance(self.sitting, SittingElsewhere):
                attempt: Attempt | Played = self.sitting.attempt(self._lesson.units)
            else:
                attempt = self.sitting.attempt()
        except InputError as error:
            if isinstance(self.sitting, SittingElsewhere):
                self.trouble = str(error)
                return
            if (broken := broken_program(error)) is not None:
                self.trouble = " ".join(broken_words(broken))
                return
            why = why_not_gone_on_with(self.sitting.store, self.sitting.case_id(number), error)
            self.trouble = f"{why} {said('leave_and_begin')}"
            return
        which = said("which_case", n=number, of=len(self.sitting.cases))
        panel = ExercisePanel(
            attempt, debriefer=None, units=self._lesson.units, whole_window=True, which=which
        )
        panel.observe(lambda change: self._follow(), names="page")
        panel.observe(lambda change: self._follow_units(change["new"]), names="units")
        self.panel, self.number, self.trouble = panel, number, ""

    def over(self) -> bool:
        """Whether the case that is shown is over."""
        return self.panel is not None and self.panel.played.ended

    def _follow(self) -> None:
        """Once a case is over, the way on comes up. What its marks need is worked out meanwhile."""
        panel, over = self.panel, self.over()
        # Not before a first run: what that compiles for the page is then there for the work beside it too.
        if isinstance(self.sitting, Sitting) and panel is not None and (over or panel.played.run is not None):
            self.marking.begin(self.sitting, self.number, over=over)
        if self.over():
            self._lesson.refresh()

    def _follow_units(self, units: str) -> None:
        if units != self._lesson.units:
            self._lesson.session.set_units(units)
            self._lesson.refresh()
