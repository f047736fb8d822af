"""Lesson 01: how the rig draws water. Five ideas, guesses, two runs to look into, the guesses beside the run, a check."""

from __future__ import annotations

from typing import Any

import ipywidgets

from simulator.panels.lessons.how_the_rig_draws_water import questions as asked
from simulator.panels.lessons.how_the_rig_draws_water.comparison import compare_blocks
from simulator.panels.lessons.how_the_rig_draws_water.guesses import GUESSES, Guess, guesses
from simulator.panels.lessons.how_the_rig_draws_water.runs import RunStage
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import UNSURE, words
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.scenes import scenes
from simulator.rig.presets import load_rig, load_site
from simulator.texts import entry, text

MINUTES = 30  # [min] the lesson takes
PASS_SHARE = 0.7  # of the check's questions


class DrawsWater(Lesson):
    """How the rig draws water."""

    number = "01"

    def __init__(self, desk: Any = None) -> None:
        super().__init__(desk)
        self._stage: RunStage | None = None

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the lesson is for."""
        return self.part("aim", self._aim)

    def ideas(self) -> LessonPart:
        """Five ideas, each with the rig at the moment that shows it."""
        return self.part("ideas", self._ideas)

    def predict(self) -> LessonPart:
        """Three guesses before the run."""
        return self.part("predict", self._predict)

    def run(self) -> ipywidgets.VBox:
        """A good rig to look into, then one with a fault."""
        if self._stage is None:
            self._stage = RunStage(self)
        return self._stage.box

    def compare(self) -> LessonPart:
        """The guesses beside the run."""
        return self.part("compare", self._compare)

    def check(self) -> LessonPart:
        """Four questions on fresh cases."""
        return self.part("check", self._check)

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
                "items": words("draws.cautions"),
            },
            self.caution(),
        ]

    def _done(self) -> dict[str, bool]:
        """The steps of the lesson, each with whether it is done."""
        return {
            "ideas": self.seen("ideas"),
            "predict": self.all_guessed(),
            "run": self.sound_done(),
            "fault": "run:fault" in self.answers,
            "check": self.work.finished,
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
        return [self.heading("heading", "draws.ideas_title"), ideas]

    # the guesses

    def all_guessed(self) -> bool:
        """Whether every guess is in, so that the run may be seen."""
        return all(f"guess:{name}" in self.answers for name in GUESSES)

    def _predict(self) -> list[Block]:
        rig, site = load_rig("osier"), load_site(asked.SITE)
        said = {
            "hose": self.figure("length", rig.suction_hose.length),
            "lift": self.figure("length", site.lift),
        }
        intro = [sentence.format(**said) for sentence in words("draws.predict_intro")]
        blocks = [self.heading("heading", "draws.predict_title", intro)]
        if not self.seen("ideas") and not self.answers:
            return [*blocks, self._wait("draws.predict_wait", "quiet")]
        for number, guess in enumerate(guesses(self.units), start=1):
            blocks.append(self._guess(guess, number))
            if f"guess:{guess.id}" not in self.answers:
                return blocks
        return [*blocks, self._wait("draws.predict_done")]

    def _guess(self, guess: Guess, number: int) -> Block:
        """A guess as it stands: open, or kept; whether it was right comes after the run."""
        answer = self.answers.get(f"guess:{guess.id}")
        block: Block = {
            "id": guess.id,
            "kind": "question",
            "step": text("lessons.words.step", n=number, total=len(GUESSES)),
            "text": guess.text,
            "answer": answer,
            "revealed": False,
            "says": [],
        }
        if guess.options:
            unsure = {"id": UNSURE, "label": text("lessons.words.unsure")}
            options = [{"id": option.id, "label": option.label} for option in guess.options]
            return {**block, "options": [*options, unsure]}
        shown = "" if answer is None else guess.label(answer)
        return {**block, "unit": "s", "low": 1, "high": 1800, "unsure": True, "shown": shown}

    def _wait(self, key: str, tone: str = "plain") -> Block:
        """What a part waits for (tone quiet), or that one may go on."""
        block_id = "wait" if tone == "quiet" else "on"
        return {"id": block_id, "kind": "notice", "tone": tone, "paragraphs": [text(f"lessons.{key}")]}

    # after the run

    def sound_done(self) -> bool:
        """Whether the run of the good rig has been seen to its end."""
        return "run:sound" in self.answers

    def _compare(self) -> list[Block]:
        head = self.heading("heading", "draws.compare_title")
        if not self.sound_done():
            return [head, self._wait("draws.compare_wait", "quiet")]
        return [head, *compare_blocks(self.answers, self.units)]

    # the check

    def _round(self) -> int:
        return sum(1 for key in self.answers if key.startswith("fresh:"))

    def _key(self, question: asked.Question) -> str:
        return f"check:{question.id}:{self._round()}"

    def _asked(self) -> list[asked.Question]:
        """The questions of this round up to the first that is not answered."""
        out = []
        for make in asked.QUESTIONS:
            out.append(make(self.work.seed + self._round(), self.units))
            if self._key(out[-1]) not in self.answers:
                break
        return out

    def _right(self, questions: list[asked.Question]) -> int:
        return sum(1 for question in questions if self.answers.get(self._key(question)) == question.right)

    def _check(self) -> list[Block]:
        head = self.heading("heading", "draws.check_title", words("draws.check_intro"))
        if not self.sound_done():
            return [head, self._wait("draws.check_wait", "quiet")]
        questions, total = self._asked(), len(asked.QUESTIONS)
        blocks = [
            head,
            *(self._question(question, n, total) for n, question in enumerate(questions, start=1)),
        ]
        if self._key(questions[-1]) not in self.answers:
            return blocks
        right = self._right(questions)
        good = right >= PASS_SHARE * total
        said = [
            text("lessons.draws.check_end", right=right, total=total),
            text("lessons.draws.check_end_good" if good else "lessons.draws.check_end_weak"),
        ]
        button = {
            "label": text("lessons.draws.check_again"),
            "action": "fresh",
            "args": {"round": self._round()},
        }
        return [
            *blocks,
            {"id": "end", "kind": "notice", "tone": "plain", "paragraphs": said},
            {"id": "fresh", "kind": "buttons", "buttons": [button]},
        ]

    def _question(self, question: asked.Question, number: int, total: int) -> Block:
        answer = self.answers.get(self._key(question))
        chosen = next((option for option in question.options if option.id == answer), None)
        says = [sentence for sentence in (chosen.says if chosen else "", question.because) if sentence]
        options = [{"id": option.id, "label": option.label} for option in question.options]
        unsure = {"id": UNSURE, "label": text("lessons.words.unsure")}
        return {
            "id": self._key(question),
            "kind": "question",
            "step": text("lessons.draws.check_step", n=number, total=total),
            "text": question.text,
            "options": [*options, unsure],
            "answer": answer,
            "right": question.right,
            "revealed": answer is not None,
            "good": answer == question.right,
            "verdict": "not_known" if answer == UNSURE else "",
            "says": says if answer is not None else [],
        } | ({"right": None} if answer is None else {})

    def _said_next(self) -> list[str]:
        """What is still to do, or what was learned."""
        left = [text(f"lessons.draws.steps.{step}") for step, over in self._done().items() if not over]
        said = words("draws.next_text") if self.work.finished else []
        return [*said, *([text("teaching.left", what=", ".join(left))] if left else [])]

    def _what_next(self) -> list[Block]:
        blocks = [
            self.heading("heading", "draws.next_title", self._said_next()),
            # before the lesson is done, the next one is no more than a way out
            self.links("go", "02", "00") | {"quiet": not self.work.finished},
        ]
        if self.work.begun:
            button = {"label": text("lessons.draws.again_button"), "action": "all_again", "args": {}}
            blocks.append({"id": "again", "kind": "buttons", "buttons": [button]})
        return [*blocks, *self.carry.reminder()]

    # clicks

    def on_answer(self, args: dict[str, Any], click: str) -> None:
        """A guess, or an answer to a question of the check."""
        question, answer = str(args.get("question", "")), args.get("answer")
        for guess in guesses(self.units):
            if question == guess.id and guess.takes(answer):
                self.work.keep(f"guess:{guess.id}", answer, click)
                return
        for each in self._asked():
            if question == self._key(each) and answer in {UNSURE, *(option.id for option in each.options)}:
                self.work.keep(question, answer, click)
                self._mark()

    def on_fresh(self, args: dict[str, Any], click: str) -> None:
        """Fresh questions."""
        if args.get("round") == self._round():
            self.work.keep(f"fresh:{self._round()}", True, click)

    def on_stage(self, args: dict[str, Any], click: str) -> None:
        """On to the rig with a fault, or back to the good one."""
        if self._stage is not None:
            self._stage.go(str(args.get("which", "")), click)

    def on_all_again(self, args: dict[str, Any], click: str) -> None:
        """The whole lesson from its start."""
        self.work.begin_again()
        if self._stage is not None:
            self._stage.begin_again()

    def _mark(self) -> None:
        """Once a round of questions is answered, the lesson has its marks."""
        questions = self._asked()
        if len(questions) < len(asked.QUESTIONS) or self._key(questions[-1]) not in self.answers:
            return
        parts = [
            {"label": question.id, "good": self.answers[self._key(question)] == question.right}
            for question in questions
        ]
        self.work.finish(round(100.0 * self._right(questions) / len(questions)), parts)
