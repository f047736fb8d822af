"""Lesson 01: how the rig draws water. Five ideas, guesses, two runs to look into, the guesses beside the run, a check."""

from __future__ import annotations

from typing import Any

import ipywidgets

from simulator.marking.sheet import marks_words
from simulator.panels.learner.next_call import PASS_MARK
from simulator.panels.learner.progress import lesson_state
from simulator.panels.lessons.how_the_rig_draws_water import questions as asked
from simulator.panels.lessons.how_the_rig_draws_water.check import Check
from simulator.panels.lessons.how_the_rig_draws_water.comparison import compare_blocks
from simulator.panels.lessons.how_the_rig_draws_water.guessing import Guessing
from simulator.panels.lessons.how_the_rig_draws_water.runs import RunStage
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import words
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.scenes import scenes
from simulator.rig.presets import load_site
from simulator.rig.safe_words import all_first
from simulator.texts import entry, text

MINUTES = 30  # [min] the lesson takes


class DrawsWater(Lesson):
    """How the rig draws water.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    number = "01"
    on_page = ("aim", "ideas", "predict", "run", "compare", "check", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self._stage: RunStage | None = None
        self.guessing, self.questions = Guessing(self), Check(self, self.sound_done)

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the lesson is for."""
        return self.part("aim", self._aim)

    def ideas(self) -> LessonPart:
        """Five ideas, each with the rig at the moment that shows it."""
        return self.part("ideas", self._ideas)

    def predict(self) -> LessonPart:
        """Three guesses before the run."""
        return self.part("predict", self.guessing.blocks)

    def run(self) -> ipywidgets.VBox:
        """A good rig to look into, then one with a fault."""
        if self._stage is None:
            self._stage = RunStage(self, self.guessing.all_made)
        return self._stage.box

    def compare(self) -> LessonPart:
        """The guesses beside the run."""
        return self.part("compare", self._compare)

    def check(self) -> LessonPart:
        """Four questions on fresh cases."""
        return self.part("check", self.questions.blocks)

    def what_next(self) -> LessonPart:
        """Where to go from here."""
        return self.part("what_next", self._what_next)

    def refresh(self) -> None:
        """Describe every part anew, the run's too."""
        super().refresh()
        if self._stage is not None:
            self._stage.refresh()

    # what they hold

    def _aim(self) -> list[Block]:
        return [
            {
                "id": "title",
                "kind": "title",
                "kicker": text("teaching.kicker", number=self.number, minutes=MINUTES),
                "text": text("lessons.draws.title"),
                "lead": text("lessons.draws.lead"),
            },
            *self.notices(),
            self._way(),
            self.units_block(),
            {
                "id": "cautions",
                "kind": "caution",
                "title": text("teaching.cautions_title"),
                "items": [*words("draws.cautions"), all_first(entry("lessons.draws"))],
            },
            self.caution(),
        ]

    def _done(self) -> dict[str, bool]:
        """The steps of the lesson, each with whether it is done."""
        weak = self._weak()
        return {
            "ideas": self.seen("ideas"),
            "predict": self.guessing.all_made(),
            "run": self.sound_done(),
            "fault": "run:fault" in self.answers,
            "check": self.work.finished and not weak,
        }

    def _way(self) -> Block:
        """The steps of the lesson, the one to do now marked."""
        done = self._done()
        now = next((step for step, over in done.items() if not over), "")
        states = {step: "done" if over else "now" if step == now else "open" for step, over in done.items()}
        items = [
            {
                "label": text(f"lessons.draws.steps.{step}"),
                "part": "run" if step == "fault" else step,
                "state": state,
                "says": text(f"teaching.state.{state}"),
            }
            for step, state in states.items()
        ]
        return {"id": "steps", "kind": "steps", "title": text("teaching.steps_title"), "items": items}

    def _ideas(self) -> list[Block]:
        per_metre = self.figure(
            "vacuum", asked.lift_pressure(load_site(asked.SITE)) / load_site(asked.SITE).lift
        )
        shots = scenes()
        items = [
            {
                "title": idea["title"],
                "paragraphs": [paragraph.format(per_metre=per_metre) for paragraph in idea["text"]],
                "rig": shot.rig,
                "frame": shot.frame,
            }
            for idea, shot in zip(entry("lessons.draws.ideas"), shots, strict=True)
        ]
        ideas = {
            "id": "ideas",
            "kind": "ideas",
            "items": items,
            "pictures": ["site", "pump"],
            "units": self.units,
            "height": 330,
            "seen": self.seen("ideas"),
        }
        on = notice("on", "plain", text("teaching.ideas_done")) | {
            "arrive": "nearest",
            "to": {
                "part": "predict",
                "label": text("teaching.on_to", what=text("lessons.draws.steps.predict")),
            },
        }
        done = [on] if self.seen("ideas") and not self.guessing.all_made() else []
        return [self.heading("heading", "draws.ideas_title"), ideas, *done]

    # after the run

    def sound_done(self) -> bool:
        """Whether the run of the good rig has been seen to its end."""
        return "run:sound" in self.answers

    def _compare(self) -> list[Block]:
        head = self.heading("heading", "draws.compare_title")
        if not self.sound_done():
            return [head, notice("wait", "quiet", text("lessons.draws.compare_wait"))]
        return [head, *compare_blocks(self.answers, self.units)]

    def _weak(self) -> bool:
        """Whether the check gave too few marks for the lesson to count as done."""
        return self.work.finished and lesson_state(self.session, self.number)[0] == "weak"

    def _said_next(self) -> list[str]:
        """What is still to do, or what was learned."""
        left = [text(f"lessons.draws.steps.{step}") for step, over in self._done().items() if not over]
        said = words("draws.next_text") if self.work.finished else []
        if self._weak():
            marks = self.session.total(self.work.id) or 0.0
            said = [text("lessons.draws.next_weak", marks=marks_words(marks), least=f"{PASS_MARK:.0f}")]
        return [*said, *([text("teaching.left", what=", ".join(left))] if left else [])]

    def _what_next(self) -> list[Block]:
        blocks = [
            self.heading("heading", "draws.next_title", self._said_next()),
            # before the lesson is done, the next one is no more than a way out
            self.links("go", "02", "00") | {"quiet": not self.work.finished or self._weak()},
        ]
        if self.work.begun:
            button = {"label": text("lessons.draws.again_button"), "action": "all_again", "args": {}}
            blocks.append({"id": "again", "kind": "buttons", "buttons": [button]})
        return [*blocks, *self.transfer.reminder()]

    # clicks

    def on_answer(self, args: dict[str, Any], click: str) -> None:
        """A guess, or an answer to a question of the check."""
        question, answer = str(args.get("question", "")), args.get("answer")
        if not self.guessing.answer(question, answer, click):
            self.questions.answer(question, answer, click)

    def on_fresh(self, args: dict[str, Any], click: str) -> None:
        """Fresh questions."""
        self.questions.fresh(args.get("round"), click)

    def on_stage(self, args: dict[str, Any], click: str) -> None:
        """On to the rig with a fault, or back to the good one."""
        if self._stage is not None:
            self._stage.go(str(args.get("which", "")), click)

    def on_all_again(self, args: dict[str, Any], click: str) -> None:
        """The whole lesson from its start."""
        self.work.begin_again()
        if self._stage is not None:
            self._stage.begin_again()
