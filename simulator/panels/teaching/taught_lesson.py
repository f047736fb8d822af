"""A taught lesson on the page: aim, ideas, prediction, run, a case that fades, drills, a check, and what next."""

from __future__ import annotations

from typing import Any

import ipywidgets

from simulator.marking.sheet import marks_words
from simulator.panels.lessons.registry import LESSONS
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.asking import Asking
from simulator.panels.teaching.context import Context
from simulator.panels.teaching.course import Course, Done
from simulator.panels.teaching.drill import Drill
from simulator.panels.teaching.fading import Fading
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.phrases import Phrases, button
from simulator.panels.teaching.plan import Plan
from simulator.panels.teaching.predictions import Predictions
from simulator.panels.teaching.rounds import Rounds
from simulator.rig.safe_words import all_first
from simulator.texts import entry, text


class TaughtLesson(Lesson):
    """A lesson built from a :class:`~simulator.panels.teaching.plan.Plan`: its parts on the page, and their clicks.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    plan: Plan
    own_step = ""  # a part that only this lesson has, after the run; done when something in it was seen

    def __init_subclass__(cls, **more: Any) -> None:
        super().__init_subclass__(**more)
        if "on_page" not in vars(cls) and hasattr(cls, "plan"):
            own, case = (
                (cls.own_step,) if cls.own_step else (),
                ("case",) if cls.plan.case is not None else (),
            )
            cls.on_page = ("aim", "ideas", "predict", "run", *own, *case, "drills", "check", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self.course = Course(self, self._steps(), self.own_step)
        self.phrases = Phrases(self.plan.area, self.course, self.fields)
        context = Context(self, self.plan, self.course, self.phrases, Asking(self.session))
        self.asking = context.asking
        self.predictions, self.rounds, self.fading = Predictions(context), Rounds(context), Fading(context)

    def _steps(self) -> dict[str, Done]:
        """The steps of this lesson, each with whether it is done."""
        steps: dict[str, Done] = {
            "ideas": lambda: self.seen("ideas"),
            "predict": lambda: self.predictions.all_made(),
            "run": lambda: self.predictions.all_seen(),
        }
        if self.plan.case is not None:
            steps["case"] = lambda: self.fading.done()
        if self.own_step:
            steps[self.own_step] = lambda: self.seen(self.own_step)
        return steps | {
            "drills": lambda: self.rounds.over("drills"),
            "check": lambda: self.rounds.over("check"),
        }

    def fields(self, key: str) -> dict[str, str]:
        """What stands in this lesson's sentences of a key."""
        return {}

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the lesson is for, how long it takes and where the learner stands."""
        return self.part("aim", self._aim)

    def ideas(self) -> LessonPart:
        """At most five new ideas."""
        return self.part("ideas", self._ideas)

    def predict(self) -> LessonPart:
        """Predictions before the run."""
        return self.part("predict", self.predictions.predict)

    def run(self) -> LessonPart:
        """Runs to play, then the predictions beside them."""
        return self.part("run", self.predictions.run)

    def case(self) -> ipywidgets.VBox:
        """A case worked by the expert, then one half done, then one alone."""
        return self.fading.box

    def drills(self) -> LessonPart:
        """A round of drills on fresh cases."""
        return self.part("drills", lambda: self.rounds.blocks("drills"))

    def check(self) -> LessonPart:
        """The check of understanding, which marks the lesson."""
        return self.part("check", lambda: self.rounds.blocks("check"))

    def what_next(self) -> LessonPart:
        """Where to go from here."""
        return self.part("what_next", self._what_next)

    def refresh(self) -> None:
        """Describe every part anew, and put the call done alone on the page."""
        self.fading.place()
        for name in ("drills", "check"):
            self._say_being_made(name)
        super().refresh()

    def _say_being_made(self, name: str) -> None:
        """A round that has just been opened takes seconds to work out: the page says so, not that it waits."""
        part = self.parts.get(name)
        waited = part is not None and any(block["id"] == "wait" for block in part.content["blocks"])
        if part is None or not waited or self.course.waits_for(name) or self.rounds.open_one(name) is None:
            return
        said = {"id": "making", "kind": "notice", "tone": "plain", "paragraphs": [text("teaching.making")]}
        part.show([self.phrases.part_head(name), said])

    # what the parts hold

    def _aim(self) -> list[Block]:
        now, again = self.course.now(), self._check_again()
        states = {
            step: "done" if self.course.has(step) else "now" if step == now else "open"
            for step in self.course.steps()
        } | ({"check": "now"} if again else {})
        steps = {
            "id": "steps",
            "kind": "steps",
            "title": text("teaching.steps_title"),
            "items": [
                {
                    "label": self.phrases.said(f"steps.{step}"),
                    "part": step,
                    "state": state,
                    "says": again if again and step == "check" else text(f"teaching.state.{state}"),
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
                "lead": self.phrases.said("aim"),
            },
            *self.notices(),
            steps,
            self.units_block(),
            *self._cautions(),
            self.caution(),
        ]

    def _check_again(self) -> str:
        """What stands at the check where it was taken and is not passed; empty where it is, or was not taken yet."""
        if not self.rounds.over("check"):
            return ""
        if self.rounds.open_one("check") is not None:  # on fresh questions
            return text("teaching.state.now")
        marks = self.rounds.marks("check")
        return "" if self.rounds.good("check") else text("lessons.states.weak", marks=marks_words(marks))

    def _cautions(self) -> list[Block]:
        if not self.plan.cautions:
            return []
        title = text("teaching.cautions_title")
        items = [*self.phrases.words("cautions"), all_first(entry(self.plan.area))]
        return [{"id": "cautions", "kind": "caution", "title": title, "items": items}]

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
            [self.phrases.plain("on", text("teaching.ideas_done"), to=self.course.to("predict"))]
            if self.seen("ideas")
            else []
        )
        return [self.phrases.part_head("ideas"), block, *done]

    def _what_next(self) -> list[Block]:
        left = [
            self.phrases.said(f"steps.{step}") for step in self.course.steps() if not self.course.has(step)
        ]
        weak = not left and self.rounds.open_one("check") is None and not self.rounds.good("check")
        done = [text("teaching.next_weak")] if weak else self.phrases.words("next")
        if left:
            done = [text("teaching.left", what=", ".join(left))]
        numbers = [number for number in (*self.plan.following, "00") if number in LESSONS]
        blocks = [
            {"id": "heading", "kind": "heading", "text": text("teaching.next_title"), "paragraphs": done},
            # In the middle of a lesson one does not leave it by mistake.
            self.links("go", *(("00",) if left and not self.course.done_before() else numbers))
            | {"quiet": bool(left) or weak},
        ]
        if self.work.begun and (not left or self.course.done_before()):
            blocks.append(button("again", text("teaching.again"), "all_again", primary=False))
        return [*blocks, *self.transfer.reminder()]

    # clicks

    def _question(self, key: str) -> tuple[str, Drill] | None:
        """Which part a question that may now be answered belongs to, and its drill."""
        part = key.partition(":")[0]
        asked = part in ("predict", "drills", "check", "case") and part in self.course.steps()
        if not asked or self.course.waits_for(part):
            return None
        if part == "predict":
            found = self.predictions.question(key)
        elif part == "case":
            found = self.fading.question(key)
        else:
            current = self.rounds.current(part)
            found = current[1] if current is not None and current[0] == key else None
        return None if found is None else ("drill" if part == "drills" else part, found)

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

    def on_next(self, args: dict[str, Any], click: str) -> None:
        """On to the next question, or the end of the round."""
        self.rounds.on(str(args.get("key", "")), click)

    def on_fresh(self, args: dict[str, Any], click: str) -> None:
        """A round on fresh cases."""
        self.rounds.fresh(str(args.get("part", "")), args.get("turn"), click)

    def on_continue(self, args: dict[str, Any], click: str) -> None:
        """On within the case that fades."""
        if "case" in self.course.steps() and not self.course.waits_for("case"):
            self.fading.on(str(args.get("key", "")), click)

    def on_take(self, args: dict[str, Any], click: str) -> None:
        """Take the call that is done alone, or another one after it."""
        if "case" in self.course.steps() and not self.course.waits_for("case"):
            self.fading.take(click)

    def on_look_again(self, args: dict[str, Any], click: str) -> None:
        """Show the call that is over with its marks once more, or put it away."""
        self.fading.again = not self.fading.again

    def on_all_again(self, args: dict[str, Any], click: str) -> None:
        """The whole lesson from its start, on fresh cases."""
        self.work.begin_again()
