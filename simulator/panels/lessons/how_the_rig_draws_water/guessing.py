"""The guesses of lesson 01 as they are asked on the page."""

from __future__ import annotations

from typing import Any

from simulator.panels.lessons.how_the_rig_draws_water.guesses import GUESSES, Guess, guesses
from simulator.panels.lessons.how_the_rig_draws_water.questions import SITE
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.words import UNSURE, words
from simulator.panels.teaching.lesson import Lesson
from simulator.rig.presets import load_rig, load_site
from simulator.texts import text


class Guessing:
    """Asks the guesses one after another, and keeps them."""

    def __init__(self, lesson: Lesson) -> None:
        self._lesson = lesson

    def all_made(self) -> bool:
        """Whether every guess is in, so that the run may be seen."""
        return all(f"guess:{name}" in self._lesson.answers for name in GUESSES)

    def blocks(self) -> list[Block]:
        """The guesses up to the first that is open."""
        rig, site = load_rig("osier"), load_site(SITE)
        said = {
            "hose": self._lesson.figure("length", rig.suction_hose.length),
            "lift": self._lesson.figure("length", site.lift),
        }
        intro = [sentence.format(**said) for sentence in words("draws.predict_intro")]
        blocks = [self._lesson.heading("heading", "draws.predict_title", intro)]
        if not self._lesson.seen("ideas") and not self._lesson.answers:
            return [*blocks, notice("wait", "quiet", text("lessons.draws.predict_wait"))]
        for number, guess in enumerate(guesses(self._lesson.units), start=1):
            blocks.append(self._block(guess, number))
            if f"guess:{guess.id}" not in self._lesson.answers:
                return blocks
        return [*blocks, self._on()]

    def _on(self) -> Block:
        """All are made: the way on to the rig, until it has run."""
        said = notice("on", "plain", text("lessons.draws.predict_done")) | {"arrive": "nearest"}
        if "run:sound" in self._lesson.answers:
            return said
        label = text("teaching.on_to", what=text("lessons.draws.steps.run"))
        return said | {"to": {"part": "run", "label": label}}

    def _block(self, guess: Guess, number: int) -> Block:
        """A guess as it stands: open, or kept; whether it was right comes after the run."""
        answer = self._lesson.answers.get(f"guess:{guess.id}")
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

    def answer(self, question: str, answer: Any, click: str) -> bool:
        """Keep a guess; False where the question is none.

        Parameters
        ----------
        answer : an option's id, a time [s], or "unsure".
        click : its id, kept with the guess.
        """
        for guess in guesses(self._lesson.units):
            if question == guess.id and guess.takes(answer):
                self._lesson.work.keep(f"guess:{guess.id}", answer, click)
                return True
        return False
