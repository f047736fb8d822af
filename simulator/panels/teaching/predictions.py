"""Predictions of a taught lesson, the runs that answer them, and both side by side."""

from __future__ import annotations

from typing import Any

from simulator.panels.page.blocks import Block
from simulator.panels.page.words import UNSURE
from simulator.panels.teaching.context import Context
from simulator.panels.teaching.drill import Drill, Template, build
from simulator.panels.teaching.phrases import arriving
from simulator.texts import entry, text


class Predictions:
    """What is expected of the runs, and what came."""

    def __init__(self, context: Context) -> None:
        self._lesson, self._plan, self._course = context.lesson, context.plan, context.course
        self._phrases, self._asking = context.phrases, context.asking
        self._kept: tuple[str, list[dict[str, Any]]] | None = None  # units, and the runs in them

    def all_made(self) -> bool:
        """Whether every prediction is in."""
        return all(f"predict:{made.__name__}" in self._lesson.answers for made in self._plan.predictions)

    def all_seen(self) -> bool:
        """Whether every run was seen to its end."""
        return all(self._lesson.seen(f"run:{name}") for name in self.track_ids())

    def question(self, key: str) -> Drill | None:
        """The prediction of a key."""
        return next(
            (self.prediction(made) for made in self._plan.predictions if key == f"predict:{made.__name__}"),
            None,
        )

    def predict(self) -> list[Block]:
        """The predictions, up to the first that is open."""
        head, wait = self._phrases.part_head("predict"), self._phrases.wait_block("predict")
        if wait:
            return [head, *wait]
        blocks, total = [head], len(self._plan.predictions)
        for number, template in enumerate(self._plan.predictions, start=1):
            key = f"predict:{template.__name__}"
            step = text("teaching.step_prediction", n=number, total=total)
            drill = self.prediction(template)
            blocks += arriving(
                self._asking.blocks(self._lesson.work, key, drill, step=step, hints=False, told=False),
                "nearest",
            )
            if key not in self._lesson.answers:
                return blocks
        return [*blocks, self._phrases.plain("on", text("teaching.predict_done"), to=self._course.to("run"))]

    def prediction(self, template: Template) -> Drill:
        """A prediction; it is about the runs of the lesson, the same for everyone.

        Parameters
        ----------
        template : that makes it.
        """
        return build(template, 0, self._lesson.units)

    def run(self) -> list[Block]:
        """The runs to play, and after the last the predictions beside them."""
        from simulator.panels.teaching.figures import replay  # with the runs, when they are wanted

        head, wait = self._phrases.part_head("run"), self._phrases.wait_block("run")
        if wait:
            return [head, *wait]
        ids = self.track_ids()
        seen = [name for name in ids if self._lesson.seen(f"run:{name}")]
        block = replay("run", self._tracks(), self._lesson.units, seen=seen)
        if self._plan.pictures:
            block |= {"pictures": list(self._plan.pictures)}
        if len(seen) < len(ids):
            return [head, block]
        # Who has just seen the last run to its end stays with it, and goes on when he has read its last words.
        block |= {"on": {"label": text("teaching.replay.go_on"), "part": "run", "block": "compare_heading"}}
        to = self._course.to(self._course.after("run"))
        on = self._phrases.plain("on", text("teaching.run_done"), to=to)
        return [head, block, *self._compare(), on | {"arrive": "not"}]

    def track_ids(self) -> list[str]:
        """Names of the runs."""
        return [str(name) for name in entry(f"{self._plan.area}.tracks")]

    def _tracks(self) -> list[dict[str, Any]]:
        units = self._lesson.units
        if self._kept is None or self._kept[0] != units:
            self._kept = (units, self._plan.tracks(units))
        return list(self._kept[1])

    def _compare(self) -> list[Block]:
        rows = []
        for template in self._plan.predictions:
            drill = self.prediction(template)
            kept = self._lesson.answers.get(f"predict:{template.__name__}", {}).get("answer")
            chosen, right = drill.option(kept), drill.option(drill.right)
            verdict = (
                "not_known" if kept == UNSURE or kept is None else "right" if chosen is right else "not_quite"
            )
            mine = chosen.label if chosen else text("lessons.words.unsure")
            why = " ".join(self._asking.says(drill, kept))
            said = f"**{text(f'lessons.words.{verdict}')}** {why}"
            rows.append({"cells": [drill.text, mine, right.label if right else "", said]})
        title = text("teaching.compare_title")
        return [
            {"id": "compare_heading", "kind": "heading", "text": title, "paragraphs": []},
            {
                "id": "compare",
                "kind": "compare",
                "title": title,
                "columns": list(entry("teaching.compare_columns")),
                "rows": rows,
            },
        ]
