"""Rounds of questions in a taught lesson: drills with hints, and the check without, each one by itself."""

from __future__ import annotations

from typing import Any

from simulator.panels.learner.progress import PASS_MARK
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import UNSURE
from simulator.panels.teaching.asking import Asking
from simulator.panels.teaching.drill import Drill, Template
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.plan import Plan
from simulator.panels.teaching.spread import round_of
from simulator.texts import entry, text

CHECK_SEED = 500_000  # the check never takes a case of the drills


class Rounds(Lesson):
    """What a taught lesson asks in rounds, and the words and notices that all its parts use."""

    plan: Plan

    def __init__(self, desk: Any = None) -> None:
        super().__init__(desk)
        self.asking = Asking(self.desk)

    def waits_for(self, step: str) -> str:
        """The earlier step that has to be done first; empty when this one is open."""
        return ""

    def words(self, key: str, **fields: str) -> list[str]:
        """Sentences of this lesson's area."""
        return [str(each).format(**fields) for each in entry(f"{self.plan.area}.{key}")]

    def said(self, key: str, **fields: Any) -> str:
        """One sentence of this lesson's area."""
        return text(f"{self.plan.area}.{key}", **fields)

    def part_head(self, step: str) -> Block:
        """The heading of a step with its intro."""
        return {
            "id": "heading",
            "kind": "heading",
            "text": self.said(f"steps.{step}"),
            "paragraphs": self.words(f"intro.{step}"),
        }

    def wait_block(self, step: str) -> list[Block]:
        """What has to be done before a step, in words; nothing when it is open."""
        first = self.waits_for(step)
        if not first:
            return []
        said = text("teaching.wait", what=self.said(f"steps.{first}"))
        return [{"id": "wait", "kind": "notice", "tone": "quiet", "paragraphs": [said]}]

    def plain(self, block_id: str, *sentences: str, to: str = "", back: bool = False) -> Block:
        """A notice that says where to go on, with a button to that step or to what comes next; ``back`` is further up."""
        block: Block = {
            "id": block_id,
            "kind": "notice",
            "tone": "plain",
            "paragraphs": list(sentences),
            "arrive": "nearest",
        }
        if to:
            name = text("teaching.next_title") if to == "what_next" else self.said(f"steps.{to}")
            block["to"] = {"part": to, "label": text(f"teaching.{'back' if back else 'on'}_to", what=name)}
        return block

    def _button(self, block_id: str, label: str, action: str, primary: bool = True, **args: Any) -> Block:
        button = {"label": label, "action": action, "args": args, "primary": primary}
        return {"id": block_id, "kind": "buttons", "buttons": [button], "arrive": "nearest"}

    def turn(self, part: str) -> int:
        """The round of drills or check the learner is in [-]."""
        return sum(1 for key in self.answers if key.startswith(f"fresh:{part}:"))

    def _templates(self, part: str) -> tuple[Template, ...]:
        return self.plan.drills if part == "drills" else self.plan.check

    def _open_one(self, part: str) -> int | None:
        """Number of the question that is asked now [-]; None at the end of a round."""
        turn = self.turn(part)
        keys = [f"{part}:{turn}:{n}" for n in range(len(self._templates(part)))]
        return next((n for n, key in enumerate(keys) if f"next:{key}" not in self.answers), None)

    def _current(self, part: str) -> tuple[str, Drill] | None:
        number = self._open_one(part)
        if number is None:
            return None
        return f"{part}:{self.turn(part)}:{number}", self._round_of(part)[number]

    def _round_of(self, part: str) -> tuple[Drill, ...]:
        """The questions of the round that is open or was the last."""
        seed = self.work.seed + 1000 * self.turn(part) + (CHECK_SEED if part == "check" else 0)
        return round_of(self._templates(part), seed, self.units)

    def _drills(self) -> list[Block]:
        return self._round("drills")

    def _check(self) -> list[Block]:
        return self._round("check")

    def _round(self, part: str) -> list[Block]:
        head, wait = self.part_head(part), self.wait_block(part)
        if wait:
            return [head, *wait]
        total = len(self._templates(part))
        current = self._current(part)
        if current is None:
            return [head, *self._round_end(part)]
        key, drill = current
        number = int(key.rpartition(":")[2])
        step = text(f"teaching.step_{part}", n=number + 1, total=total)
        blocks = self.asking.blocks(self.work, key, drill, step=step, hints=part == "drills")
        if key in self.answers:
            last = number + 1 == total
            label = text(f"teaching.{part}_see" if last else f"teaching.{part}_next")
            blocks.append(self._button(f"next:{key}", label, "next", key=key))
        return [head, *arriving(blocks)]

    def _results(self, part: str) -> list[dict[str, Any]]:
        turn = self.turn(part)
        prefix = f"{part}:{turn}:"
        return [kept for key, kept in self.answers.items() if key.startswith(prefix)]

    def _round_end(self, part: str) -> list[Block]:
        results = self._results(part)
        right = sum(1 for each in results if each["right"])
        total = len(results)
        rows = []
        for number, each in enumerate(results):
            verdict = "right" if each["right"] else "not_known" if each["answer"] == UNSURE else "not_quite"
            cells = [self.said(f"drills.{each['drill']}.about"), text(f"lessons.words.{verdict}")]
            if part == "drills":
                hints = each["hints"]
                cells.append(text("teaching.hints", n=hints) if hints else text("teaching.no_hint"))
            rows.append({"cells": [*cells, "" if each["right"] else self._why(part, number)]})
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
            text("teaching.round_end", right=right, total=total),
            *([self._marked(right, total)] if part == "check" else []),
            text(f"teaching.{part}_end_{'good' if good else 'weak'}"),
        ]
        label = text(f"teaching.{part}_again")
        wanted = not good and part == "drills" and self._open_one("check") is not None
        again = self._button("fresh", label, "fresh", primary=wanted, part=part, turn=self.turn(part))
        if part == "drills":
            end = self.plain("end", *said, to="check") | {"quiet": wanted}
        else:
            end = self.plain("end", *said, to="what_next" if good else "ideas", back=not good)
            end["arrive"] = "start"
        return [end, table, again]

    def _marked(self, right: int, total: int) -> str:
        return text("teaching.round_marks", marks=f"{100.0 * right / total:.0f}", wanted=f"{PASS_MARK:.0f}")

    def good(self, part: str) -> bool:
        """Whether the last round that is over was passed."""
        results = self._results(part)
        return 100.0 * sum(1 for each in results if each["right"]) >= PASS_MARK * max(len(results), 1)

    def _why(self, part: str, number: int) -> str:
        """The right answer to a question [number in its round] that was missed, with what its run came to."""
        made = self._round_of(part)[number]
        right = made.option(made.right)
        label = right.label if right else ""
        return made.because if label in made.because else f"**{label}** · {made.because}"

    def _mark(self) -> None:
        """Once a round of the check is at its end, the lesson has its marks."""
        if self._open_one("check") is not None:
            return
        results = self._results("check")
        parts = [{"label": each["drill"], "skill": each["skill"], "good": each["right"]} for each in results]
        right = sum(1 for each in results if each["right"])
        self.work.finish(round(100.0 * right / len(results)), parts)


def arriving(blocks: list[Block], how: str = "start") -> list[Block]:
    """The same blocks, the first of them brought into view when it comes."""
    return [{**blocks[0], "arrive": how}, *blocks[1:]] if blocks else blocks
