"""A taught lesson on the page: aim, ideas, prediction, run, a case that fades, drills, a check, and what next."""

from __future__ import annotations

from typing import Any

import ipywidgets

from simulator.panels.lessons.registry import LESSONS
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import UNSURE
from simulator.panels.teaching.drill import Drill, Template, build
from simulator.panels.teaching.fading import Fading
from simulator.panels.teaching.rounds import Rounds, arriving
from simulator.texts import entry, text

STEPS = ("ideas", "predict", "run", "case", "own", "drills", "check")


class TaughtLesson(Rounds):
    """A lesson built from a :class:`~simulator.panels.teaching.plan.Plan`."""

    own_step = ""  # a part that only this lesson has, after the run; done when something in it was seen

    def __init__(self, desk: Any = None) -> None:
        super().__init__(desk)
        self.fading = Fading(self)

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the lesson is for, how long it takes and where the learner stands."""
        return self.part("aim", self._aim)

    def ideas(self) -> LessonPart:
        """At most five new ideas."""
        return self.part("ideas", self._ideas)

    def predict(self) -> LessonPart:
        """Predictions before the run."""
        return self.part("predict", self._predict)

    def run(self) -> LessonPart:
        """Runs to play, then the predictions beside them."""
        return self.part("run", self._run)

    def case(self) -> ipywidgets.VBox:
        """A case worked by the expert, then one half done, then one alone."""
        return self.fading.box

    def drills(self) -> LessonPart:
        """A round of drills on fresh cases."""
        return self.part("drills", self._drills)

    def check(self) -> LessonPart:
        """The check of understanding, which marks the lesson."""
        return self.part("check", self._check)

    def what_next(self) -> LessonPart:
        """Where to go from here."""
        return self.part("what_next", self._what_next)

    def refresh(self) -> None:
        """Describe every part anew, and put the call done alone on the page."""
        self.fading.place()
        super().refresh()

    # where the learner stands

    def has(self, step: str) -> bool:
        """Whether a step of the lesson is done."""
        if step == self.own_step:
            return self.seen(step)
        return {
            "ideas": lambda: self.seen("ideas"),
            "predict": lambda: all(f"predict:{t.__name__}" in self.answers for t in self.plan.predictions),
            "run": lambda: all(self.seen(f"run:{name}") for name in self._track_ids()),
            "case": lambda: self.fading.done(),
            "drills": lambda: self.turn("drills") > 0 or self._open_one("drills") is None,
            "check": lambda: self.turn("check") > 0 or self._open_one("check") is None,
        }[step]()

    def steps(self) -> tuple[str, ...]:
        """The steps this lesson has."""
        there = {"case": self.plan.case is not None, "own": bool(self.own_step)}
        return tuple(self.own_step if step == "own" else step for step in STEPS if there.get(step, True))

    def now(self) -> str:
        """The step to do now; empty when all are done."""
        return next((step for step in self.steps() if not self.has(step)), "")

    def waits_for(self, step: str) -> str:
        """The earlier step that has to be done first; empty when this one is open.

        Whoever has done the lesson before may take its parts in any order.
        """
        first = next(s for s in self.steps() if s == step or not self.has(s))
        return "" if first == step or self._done_before() else first

    def _done_before(self) -> bool:
        return any(
            row.finished and self.desk.total(row.attempt_id) is not None
            for row in self.desk.rows(self.number)
        )

    def _track_ids(self) -> list[str]:
        return [str(name) for name in entry(f"{self.plan.area}.tracks")]

    # what the parts hold

    def _aim(self) -> list[Block]:
        now = self.now()
        states = {
            step: "done" if self.has(step) else "now" if step == now else "open" for step in self.steps()
        }
        steps = {
            "id": "steps",
            "kind": "steps",
            "title": text("teaching.steps_title"),
            "items": [
                {
                    "label": self.said(f"steps.{step}"),
                    "part": step,
                    "state": state,
                    "says": text(f"teaching.state.{state}"),
                }
                for step, state in states.items()
            ],
        }
        return [
            {
                "id": "title",
                "kind": "title",
                "kicker": text("teaching.kicker", number=self.number, minutes=self.plan.minutes),
                "text": text(f"lessons.titles.{self.number}"),
                "lead": self.said("aim"),
            },
            *self.notices(),
            steps,
            self.units_block(),
            *self._cautions(),
            self.caution(),
        ]

    def _cautions(self) -> list[Block]:
        if not self.plan.cautions:
            return []
        title = text("teaching.cautions_title")
        return [{"id": "cautions", "kind": "caution", "title": title, "items": self.words("cautions")}]

    def _ideas(self) -> list[Block]:
        items = []
        for name in self.plan.ideas:
            words = entry(f"{self.plan.area}.ideas.{name}")
            figure = self.plan.idea_figure(name, self.units)
            items.append({"title": words["title"], "paragraphs": list(words["text"]), "figure": figure})
        block = {
            "id": "ideas",
            "kind": "pages",
            "items": items,
            "seen": self.seen("ideas"),
            "units": self.units,
        }
        done = (
            [self.plain("on", text("teaching.ideas_done"), to=self.to("predict"))]
            if self.seen("ideas")
            else []
        )
        return [self.part_head("ideas"), block, *done]

    # predictions and the run

    def _predict(self) -> list[Block]:
        head, wait = self.part_head("predict"), self.wait_block("predict")
        if wait:
            return [head, *wait]
        blocks, total = [head], len(self.plan.predictions)
        for number, template in enumerate(self.plan.predictions, start=1):
            key = f"predict:{template.__name__}"
            step = text("teaching.step_prediction", n=number, total=total)
            drill = self.prediction(template)
            blocks += arriving(
                self.asking.blocks(self.work, key, drill, step=step, hints=False, told=False), "nearest"
            )
            if key not in self.answers:
                return blocks
        return [*blocks, self.plain("on", text("teaching.predict_done"), to=self.to("run"))]

    def prediction(self, template: Template) -> Drill:
        """A prediction; it is about the runs of the lesson, the same for everyone."""
        return build(template, 0, self.units)

    def _run(self) -> list[Block]:
        from simulator.panels.teaching.figures import replay  # with the runs, when they are wanted

        head, wait = self.part_head("run"), self.wait_block("run")
        if wait:
            return [head, *wait]
        ids = self._track_ids()
        seen = [name for name in ids if self.seen(f"run:{name}")]
        block = replay("run", self._tracks(), self.units, seen=seen)
        if len(seen) < len(ids):
            return [head, block]
        return [
            head,
            block,
            *self._compare(),
            self.plain("on", text("teaching.run_done"), to=self.to(self.after("run"))),
        ]

    def to(self, step: str) -> str:
        """The step a notice leads on to, until it is begun; then the notice needs no button any more."""
        marks = {"run": "seen:run", "case": "on:case"}
        start = marks.get(step, f"seen:{step}" if step == self.own_step else f"{step}:")
        return "" if any(key.startswith(start) for key in self.answers) else step

    def after(self, step: str) -> str:
        """The step that comes after another."""
        steps = self.steps()
        return steps[steps.index(step) + 1]

    def _tracks(self) -> list[dict[str, Any]]:
        kept = getattr(self, "_kept_tracks", None)
        if kept is None or kept[0] != self.units:
            self._kept_tracks = kept = (self.units, self.plan.tracks(self.units))
        return list(kept[1])

    def _compare(self) -> list[Block]:
        rows = []
        for template in self.plan.predictions:
            drill = self.prediction(template)
            kept = self.answers.get(f"predict:{template.__name__}", {}).get("answer")
            chosen, right = drill.option(kept), drill.option(drill.right)
            verdict = (
                "not_known" if kept == UNSURE or kept is None else "right" if chosen is right else "not_quite"
            )
            mine = chosen.label if chosen else text("lessons.words.unsure")
            why = " ".join(self.asking.says(drill, kept))
            said = f"**{text(f'lessons.words.{verdict}')}** {why}"
            rows.append({"cells": [drill.text, mine, right.label if right else "", said]})
        title = text("teaching.compare_title")
        return [
            {"id": "compare_heading", "kind": "heading", "text": title, "paragraphs": [], "arrive": "start"},
            {
                "id": "compare",
                "kind": "compare",
                "title": title,
                "columns": list(entry("teaching.compare_columns")),
                "rows": rows,
            },
        ]

    def _what_next(self) -> list[Block]:
        left = [self.said(f"steps.{step}") for step in self.steps() if not self.has(step)]
        weak = not left and self._open_one("check") is None and not self.good("check")
        done = [text("teaching.next_weak")] if weak else self.words("next")
        if left:
            done = [text("teaching.left", what=", ".join(left))]
        numbers = [number for number in (*self.plan.following, "00") if number in LESSONS]
        blocks = [
            {"id": "heading", "kind": "heading", "text": text("teaching.next_title"), "paragraphs": done},
            # In the middle of a lesson one does not leave it by mistake.
            self.links("go", *(("00",) if left and not self._done_before() else numbers))
            | {"quiet": bool(left) or weak},
        ]
        if self.work.begun and (not left or self._done_before()):
            blocks.append(self._button("again", text("teaching.again"), "all_again", primary=False))
        return [*blocks, *self.carry.reminder()]

    # clicks

    def on_answer(self, args: dict[str, Any], click: str) -> None:
        """An answer to whatever is asked now."""
        key, answer = str(args.get("question", "")), args.get("answer")
        found = self._question(key)
        if found is not None:
            self.asking.answer(self.work, key, *found, answer, click)

    def on_hint(self, args: dict[str, Any], click: str) -> None:
        """One more step of the hint."""
        key = str(args.get("question", ""))
        found = self._question(key)
        if found is not None and found[0] in ("drill", "case"):
            self.asking.take_hint(self.work, key, click)

    def _question(self, key: str) -> tuple[str, Drill] | None:
        """Which part a question that may now be answered belongs to, and its drill."""
        part = key.partition(":")[0]
        if part == "predict":
            if self.waits_for("predict"):
                return None
            for template in self.plan.predictions:
                if key == f"predict:{template.__name__}":
                    return part, self.prediction(template)
        if part in ("drills", "check") and not self.waits_for(part):
            current = self._current(part)
            if current is not None and current[0] == key:
                return ("drill" if part == "drills" else part), current[1]
        if part == "case" and not self.waits_for("case"):
            found = self.fading.question(key)
            return None if found is None else ("case", found)
        return None

    def on_next(self, args: dict[str, Any], click: str) -> None:
        """On to the next question, or the end of the round."""
        key = str(args.get("key", ""))
        if key in self.answers and key.partition(":")[0] in ("drills", "check"):
            self.work.keep(f"next:{key}", True, click)
            self._mark()

    def on_fresh(self, args: dict[str, Any], click: str) -> None:
        """A round on fresh cases."""
        part = str(args.get("part", ""))
        if (
            part in ("drills", "check")
            and self._open_one(part) is None
            and args.get("turn") == self.turn(part)
        ):
            self.work.keep(f"fresh:{part}:{self.turn(part)}", True, click)

    def on_on(self, args: dict[str, Any], click: str) -> None:
        """On within the case that fades."""
        if not self.waits_for("case"):
            self.fading.on(str(args.get("key", "")), click)

    def on_take(self, args: dict[str, Any], click: str) -> None:
        """Take the call that is done alone, or another one after it."""
        if not self.waits_for("case") and self.fading.is_call():
            self.fading.alone.begin(click)

    def on_all_again(self, args: dict[str, Any], click: str) -> None:
        """The whole lesson from its start, on fresh cases."""
        self.work.begin_again()
