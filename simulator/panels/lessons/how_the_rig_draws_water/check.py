"""The check of lesson 01: rounds of questions on fresh cases, which mark the lesson."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from simulator.panels.lessons.how_the_rig_draws_water import questions as asked
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.words import UNSURE, words
from simulator.panels.teaching.lesson import Lesson
from simulator.texts import text

PASS_SHARE = 0.7  # of the check's questions


class Check:
    """Asks the questions of a round, and marks it.

    Parameters
    ----------
    lesson : whose check it is.
    may_begin : whether it is open yet.
    """

    def __init__(self, lesson: Lesson, may_begin: Callable[[], bool]) -> None:
        self._lesson, self._may_begin = lesson, may_begin

    def _round(self) -> int:
        return sum(1 for key in self._lesson.answers if key.startswith("fresh:"))

    def _key(self, question: asked.Question) -> str:
        return f"check:{question.id}:{self._round()}"

    def _asked(self) -> list[asked.Question]:
        """The questions of this round up to the first that is not answered."""
        out = []
        for make in asked.QUESTIONS:
            out.append(make(self._lesson.work.seed + self._round(), self._lesson.units))
            if self._key(out[-1]) not in self._lesson.answers:
                break
        return out

    def _right(self, questions: list[asked.Question]) -> int:
        return sum(
            1 for question in questions if self._lesson.answers.get(self._key(question)) == question.right
        )

    def blocks(self) -> list[Block]:
        """The questions of a round up to the first that is open, then how it went."""
        head = self._lesson.heading("heading", "draws.check_title", words("draws.check_intro"))
        if not self._may_begin():
            return [head, notice("wait", "quiet", text("lessons.draws.check_wait"))]
        questions, total = self._asked(), len(asked.QUESTIONS)
        blocks = [
            head,
            *(self._question(question, n, total) for n, question in enumerate(questions, start=1)),
        ]
        if self._key(questions[-1]) not in self._lesson.answers:
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
        part, way = ("what_next", "on_to") if good else ("ideas", "back_to")
        where = text("teaching.next_title") if good else text("lessons.draws.steps.ideas")
        end: Block = {
            "id": "end",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": said,
            "to": {"part": part, "label": text(f"teaching.{way}", what=where)},
            "arrive": "nearest",
        }
        return [
            *blocks,
            end,
            {"id": "fresh", "kind": "buttons", "buttons": [button]},
        ]

    def _question(self, question: asked.Question, number: int, total: int) -> Block:
        answer = self._lesson.answers.get(self._key(question))
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

    def answer(self, question: str, answer: Any, click: str) -> None:
        """Keep an answer to one of the questions asked now.

        Parameters
        ----------
        question : its id.
        click : its id, kept with the answer.
        """
        for each in self._asked():
            if question == self._key(each) and answer in {UNSURE, *(option.id for option in each.options)}:
                self._lesson.work.keep(question, answer, click)
                self._mark()

    def fresh(self, number: Any, click: str) -> None:
        """Fresh questions, after the round of a number [-].

        Parameters
        ----------
        click : its id, kept with the round.
        """
        if number == self._round():
            self._lesson.work.keep(f"fresh:{self._round()}", True, click)

    def _mark(self) -> None:
        """Once a round of questions is answered, the lesson has its marks."""
        questions = self._asked()
        if len(questions) < len(asked.QUESTIONS) or self._key(questions[-1]) not in self._lesson.answers:
            return
        parts = [
            {"label": question.id, "good": self._lesson.answers[self._key(question)] == question.right}
            for question in questions
        ]
        self._lesson.work.finish(round(100.0 * self._right(questions) / len(questions)), parts)
