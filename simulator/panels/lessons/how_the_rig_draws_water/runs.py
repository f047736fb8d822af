"""The two runs of lesson 01: a good rig to look into, then one with its drain valve open."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets

from simulator.attempt import Attempt
from simulator.panels.exercise.opening import Opened, SlotStore, begin, resume_or_begin
from simulator.panels.exercise.panel import ExercisePanel
from simulator.panels.lessons.how_the_rig_draws_water.comparison import run_summary
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import UNSURE, words
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.scenes import good_rig, open_drain
from simulator.scenario import Scenario
from simulator.texts import text

SLOTS = {"sound": "01-good-rig", "fault": "01-open-drain"}


class RunStage:
    """Holds the words before the exercise, the exercise, and the way on after it.

    Parameters
    ----------
    lesson : whose runs they are.
    may_begin : whether the run may be seen yet.
    """

    def __init__(self, lesson: Lesson, may_begin: Callable[[], bool]) -> None:
        self._lesson, self._may_begin = lesson, may_begin
        self._which = "fault" if "stage:fault" in lesson.answers else "sound"
        self._panel: ExercisePanel | None = None
        self._panels: dict[str, ExercisePanel] = {}  # put away for a way back
        self._fresh = False  # after the lesson was begun again, the next exercise is a new one
        self._told = False  # whether it was said last that the marks are coming
        self._before = LessonPart("run", self._before_blocks, lesson.act)
        self._after = LessonPart("run-after", self._after_blocks, lesson.act)
        self.box = ipywidgets.VBox([self._before])
        self.box.add_class("lesson-stack")
        self.refresh()

    def refresh(self) -> None:
        """Put on the page what may now be seen."""
        if self._panel is None and self._may_begin():
            self._open(fresh=self._fresh)
            self._fresh = False
        if self._panel is not None and self._panel.units != self._lesson.units:
            self._panel.units = self._lesson.units
        self._before.refresh()
        self._after.refresh()
        shown = (self._before,) if self._panel is None else (self._before, self._panel, self._after)
        if self.box.children != shown:
            self.box.children = shown

    def _scenario(self) -> Scenario:
        return good_rig() if self._which == "sound" else open_drain()

    def _open(self, *, fresh: bool = False) -> None:
        lesson, scenario = self._lesson, self._scenario()
        learner, slot = lesson.work.learner, SLOTS[self._which]
        kept = SlotStore(lesson.session.store, slot)
        opened = (
            Opened(begin(scenario, kept, learner), "")
            if fresh
            else resume_or_begin(scenario, kept, learner, slot)
        )
        if self._which == "sound":
            self._hand_over_guess(opened.attempt)
        panel = ExercisePanel(
            opened.attempt,
            again=lambda: begin(scenario, kept, learner),
            units=lesson.units,
            notice=opened.notice,
        )
        panel.observe(lambda change: self._follow(), names="page")
        panel.observe(lambda change: self._follow_units(change["new"]), names="units")
        self._panel = panel
        self._follow()

    def _hand_over_guess(self, attempt: Attempt) -> None:
        """The time was asked before the run already: the exercise need not ask it again."""
        question = attempt.yard.question
        guess = self._lesson.answers.get("guess:prime_time")
        if question and guess is not None and not attempt.yard.ended:
            answer = None if guess == UNSURE else float(guess)
            attempt.act("predict", {"question": question, "answer": answer}, "guess of the lesson")

    def _follow(self) -> None:
        """Once an exercise is over, keep what the comparison needs."""
        panel = self._panel
        if panel is None or not panel.attempt.yard.ended:
            return
        key = f"run:{self._which}"
        if key not in self._lesson.answers:
            self._lesson.work.keep(
                key, run_summary(panel.attempt, primed=self._which == "sound"), f"{key} of {panel.attempt.id}"
            )
            self._lesson.refresh()
        if self._told != self._marks_coming():
            self._after.refresh()

    def _marks_coming(self) -> bool:
        """Whether the account of the job on the page is still being worked out."""
        return self._panel is not None and bool(self._panel.page.get("debrief_pending"))

    def _follow_units(self, units: str) -> None:
        if units != self._lesson.units:
            self._lesson.session.set_units(units)
            self._lesson.refresh()

    def go(self, which: str, click: str) -> None:
        """On to the rig with a fault, or back to the good one.

        Parameters
        ----------
        which : "fault" or "sound".
        click : its id, kept with what follows.
        """
        if which not in SLOTS or which == self._which or "run:sound" not in self._lesson.answers:
            return
        if which == "fault":
            self._lesson.work.keep("stage:fault", True, click)
        self._put_away()
        self._which = which
        self._panel = self._panels.get(which)

    def begin_again(self) -> None:
        """Both rigs anew, with the guesses still to come."""
        if self._panel is not None and not self._panel.attempt.yard.ended:
            self._lesson.session.store.end_attempt(self._panel.attempt.id, "left")
        self._which, self._fresh, self._panel = "sound", True, None
        self._panels.clear()

    def _put_away(self) -> None:
        """Keep the exercise for a way back. It is not closed: the page may still be about to take it off."""
        if self._panel is not None:
            self._panels[self._which] = self._panel

    # the words round the exercise

    def _before_blocks(self) -> list[Block]:
        title = "draws.run_title" if self._which == "sound" else "draws.steps.fault"
        head = self._lesson.heading("heading", title) | {
            "arrive": "start",
            "arrive_for": f"rig {self._which}",
        }
        if not self._may_begin():
            wait = {
                "id": "wait",
                "kind": "notice",
                "tone": "quiet",
                "paragraphs": [text("lessons.draws.run_wait")],
            }
            return [head, wait]
        key = "run_intro" if self._which == "sound" else "fault_intro"
        return [head, {"id": "intro", "kind": "prose", "paragraphs": words(f"draws.{key}")}]

    def _after_blocks(self) -> list[Block]:
        done = "run:sound" in self._lesson.answers
        if self._which == "sound":
            if not done:
                said = [text("lessons.draws.fault_wait")]
                return [{"id": "not_yet", "kind": "notice", "tone": "quiet", "paragraphs": said}]
            self._told = self._marks_coming()
            if self._told:  # who goes on at once never sees it
                said = [text("lessons.draws.marks_coming")]
                return [{"id": "coming", "kind": "notice", "tone": "quiet", "paragraphs": said}]
            return [_button("fault", text("lessons.draws.fault_button"), True)]
        back = _button("sound", text("lessons.draws.back_button"), False)
        self._told = self._marks_coming()
        if "run:fault" not in self._lesson.answers or self._told:
            return [back]
        on: Block = {
            "id": "check",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": [text("lessons.draws.both_done")],
            "to": {"part": "check", "label": text("lessons.draws.check_on")},
        }
        return [on, back]


def _button(which: str, label: str, primary: bool) -> Block:
    button: dict[str, Any] = {"label": label, "action": "stage", "args": {"which": which}, "primary": primary}
    return {"id": "on", "kind": "buttons", "buttons": [button]}
