"""Rounds of questions in a taught lesson: drills with hints, and the check without, each one by itself."""

from __future__ import annotations

from typing import Any

from simulator.marking.sheet import marks_words
from simulator.panels.learner.next_call import PASS_MARK
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import UNSURE
from simulator.panels.teaching.asking import worth
from simulator.panels.teaching.context import Context
from simulator.panels.teaching.drill import Drill, Template
from simulator.panels.teaching.phrases import arriving, button
from simulator.panels.teaching.spread import round_of
from simulator.texts import entry, text

CHECK_SEED = 500_000  # the check draws anew; what it may ask and what drills may ask: spread.part_of


class Rounds:
    """What a taught lesson asks in rounds: ``drills``, and the ``check`` that marks it.

    ``part`` is "drills" or "check", ``key`` a question's "part:turn:number", ``click`` the id of a click, kept with
    what follows from it.
    """

    def __init__(self, context: Context) -> None:
        self._lesson, self._plan = context.lesson, context.plan
        self._phrases, self._asking = context.phrases, context.asking

    def over(self, part: str) -> bool:
        """Whether a round was taken to its end, this or an earlier one."""
        return self.turn(part) > 0 or self.open_one(part) is None

    def on(self, key: str, click: str) -> None:
        """On to the next question, or the end of the round."""
        if key in self._lesson.answers and key.partition(":")[0] in ("drills", "check"):
            self._lesson.work.keep(f"next:{key}", True, click)
            self.mark()

    def fresh(self, part: str, turn: Any, click: str) -> None:
        """A round on fresh cases, after the one of a number [-] that is over."""
        if part in ("drills", "check") and self.open_one(part) is None and turn == self.turn(part):
            self._lesson.work.keep(f"fresh:{part}:{self.turn(part)}", True, click)

    def turn(self, part: str) -> int:
        """The round of drills or check the learner is in [-]."""
        return sum(1 for key in self._lesson.answers if key.startswith(f"fresh:{part}:"))

    def templates(self, part: str) -> tuple[Template, ...]:
        """What a part asks."""
        return self._plan.drills if part == "drills" else self._plan.check

    def open_one(self, part: str) -> int | None:
        """Number of the question that is asked now [-]; None at the end of a round."""
        turn = self.turn(part)
        keys = [f"{part}:{turn}:{n}" for n in range(len(self.templates(part)))]
        return next((n for n, key in enumerate(keys) if f"next:{key}" not in self._lesson.answers), None)

    def current(self, part: str) -> tuple[str, Drill] | None:
        """Key and drill of the question that is asked now; None at the end of a round."""
        number = self.open_one(part)
        if number is None:
            return None
        return f"{part}:{self.turn(part)}:{number}", self.round_of(part)[number]

    def round_of(self, part: str) -> tuple[Drill, ...]:
        """The questions of the round that is open or was the last."""
        seed = self._lesson.work.seed + 1000 * self.turn(part) + (CHECK_SEED if part == "check" else 0)
        return round_of(self.templates(part), seed, self._lesson.units, part)

    def blocks(self, part: str) -> list[Block]:
        """A round as it stands: the question that is open, or how the round went."""
        head, wait = self._phrases.part_head(part), self._phrases.wait_block(part)
        if wait:
            return [head, *wait]
        total = len(self.templates(part))
        current = self.current(part)
        if current is None:
            return [head, *self._round_end(part)]
        key, drill = current
        number = int(key.rpartition(":")[2])
        step = text(f"teaching.step_{part}", n=number + 1, total=total)
        blocks = self._asking.blocks(self._lesson.work, key, drill, step=step, hints=part == "drills")
        if key in self._lesson.answers:
            last = number + 1 == total
            label = text(f"teaching.{part}_see" if last else f"teaching.{part}_next")
            blocks.append(button(f"next:{key}", label, "next", key=key))
        return [head, *arriving(blocks)]

    def _results(self, part: str) -> list[dict[str, Any]]:
        turn = self.turn(part)
        prefix = f"{part}:{turn}:"
        return [kept for key, kept in self._lesson.answers.items() if key.startswith(prefix)]

    def _round_end(self, part: str) -> list[Block]:
        results = self._results(part)
        right = sum(1 for each in results if worth(each) == 1.0)
        second = sum(1 for each in results if 0.0 < worth(each) < 1.0)
        total = len(results)
        rows = []
        for number, each in enumerate(results):
            half = 0.0 < worth(each) < 1.0
            verdict = "not_known" if each["answer"] == UNSURE else "right" if each["right"] else "not_quite"
            went = text("teaching.right_second" if half else f"lessons.words.{verdict}")
            cells = [self._phrases.said(f"drills.{each['drill']}.about"), went]
            if part == "drills":
                hints = each["hints"]
                cells.append(text("teaching.hints", n=hints) if hints else text("teaching.no_hint"))
            rows.append({"cells": [*cells, self._why(part, number, right=each["right"])]})
        columns = list(entry("teaching.round_columns"))
        table = {
            "id": "results",
            "kind": "compare",
            "title": text(f"teaching.{part}_title"),
            "columns": columns if part == "drills" else [*columns[:2], columns[3]],
            "rows": rows,
        }
        good = self.good(part)
        said = [
            text(
                "teaching.round_end_second" if second else "teaching.round_end",
                right=right,
                second=second,
                total=total,
            ),
            *([self._marked(right, total)] if part == "check" else []),
            text(f"teaching.{part}_end_{'good' if good else 'weak'}"),
        ]
        label = text(f"teaching.{part}_again")
        wanted = not good and part == "drills" and self.open_one("check") is not None
        again = button("fresh", label, "fresh", primary=wanted, part=part, turn=self.turn(part))
        if part == "drills":
            end = self._phrases.plain("end", *said, to="check") | {"quiet": wanted}
        else:
            end = self._phrases.plain("end", *said, to="what_next" if good else "ideas", back=not good)
        # How many were right, and where to go on, is what one sees first: the table below it is long.
        end["arrive"] = "start"
        return [end, again, table] if wanted else [end, table, again]

    def _marked(self, right: int, total: int) -> str:
        return text(
            "teaching.round_marks", marks=marks_words(100.0 * right / total), wanted=f"{PASS_MARK:.0f}"
        )

    def good(self, part: str) -> bool:
        """Whether the last round that is over was passed."""
        return self.marks(part) >= PASS_MARK

    def marks(self, part: str) -> float:
        """Marks [0 to 100] of the last round that is over."""
        results = self._results(part)
        return 100.0 * sum(worth(each) for each in results) / max(len(results), 1)

    def _why(self, part: str, number: int, *, right: bool) -> str:
        """What the run of a question [number in its round] came to; where it was missed, with the right answer."""
        made = self.round_of(part)[number]
        answer = made.option(made.right)
        label = answer.label if answer and not right else ""
        return made.because if label in made.because else f"**{label}** · {made.because}"

    def mark(self) -> None:
        """Once a round of the check is at its end, the lesson has its marks."""
        if self.open_one("check") is not None:
            return
        results = self._results("check")
        parts = [{"label": each["drill"], "skill": each["skill"], "good": each["right"]} for each in results]
        right = sum(1 for each in results if each["right"])
        self._lesson.work.finish(round(100.0 * right / len(results)), parts)
