"""A case that fades: the expert works the first, half of the second is done, the third is a call done alone."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

import ipywidgets

from simulator.panels.learner.next_call import PASS_MARK
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.context import Context
from simulator.panels.teaching.drill import Drill, shuffled
from simulator.panels.teaching.phrases import arriving
from simulator.panels.teaching.plan import Case, CaseTemplate
from simulator.panels.teaching.solo_call import SoloCall
from simulator.texts import text

STAGES = ("worked", "half", "alone")
TURNS = 24  # draws of a case, until it is unlike those before it


@lru_cache(maxsize=16)
def case_for(template: CaseTemplate, seed: int, stage: int, units: str) -> Case:
    """The case of a stage [-]: what is wrong differs from stage to stage, and so do the answers.

    Parameters
    ----------
    template : that makes it.
    seed : of the learner's sitting [-].
    units : "metric" or "us".
    """
    had = [case_for(template, seed, earlier, units) for earlier in range(stage)]
    found: list[tuple[int, Case]] = []
    for turn in range(TURNS):
        again = f" {turn}" if turn else ""
        made = template(random.Random(f"{seed} {template.__name__} {stage}{again}"), units)
        alike = sum((fault_of(made) == fault_of(one)) + (answers_of(made) == answers_of(one)) for one in had)
        found.append((alike, made))
        if not alike:
            break
    made = min(found, key=lambda pair: pair[0])[1]
    return replace(made, steps=tuple(shuffled(step, f"{seed} {stage} {step.name}") for step in made.steps))


def fault_of(case: Case) -> str:
    """What is wrong in a case: the first word of what was drawn."""
    return case.case.split(" ", 1)[0]


def answers_of(case: Case) -> tuple[str, ...]:
    """The right answers of a case's steps."""
    return tuple(step.right for step in case.steps)


def done_by_expert(stage: int, steps: int) -> int:
    """How many of the steps [-] the expert has done in a stage [-].

    Examples
    --------
    >>> [done_by_expert(stage, 5) for stage in range(3)]
    [5, 2, 0]
    """
    return (steps, steps // 2, 0)[stage]


class Fading:
    """The three stages of a lesson's case.

    The last is a call-out on the exercise screen where the lesson's plan draws one, else a row of questions.
    """

    def __init__(self, context: Context) -> None:
        self._lesson, self._plan, self._course = context.lesson, context.plan, context.course
        self._phrases, self._asking = context.phrases, context.asking
        self.solo_call = SoloCall(context.lesson, context.plan.solo_call)
        self.again = False  # the call that is over is shown once more
        self._box: ipywidgets.VBox | None = None
        self._parts: tuple[LessonPart, LessonPart] | None = None  # above and below the exercise

    @property
    def box(self) -> ipywidgets.VBox:
        """The case on the page: its words, the exercise where one is open, and the way on under it."""
        if self._box is None:
            lesson = self._lesson
            above = LessonPart("case", self.blocks, lesson.act, lesson.carried)
            below = LessonPart("case-after", self._after_blocks, lesson.act, lesson.carried)
            self._parts, lesson.parts["case"] = (above, below), above
            self._box = ipywidgets.VBox([above])
            self._box.add_class("lesson-stack")
            self.place()
        return self._box

    def place(self) -> None:
        """Put on the page what may now be seen."""
        if self._box is None or self._parts is None:
            return
        above, below = self._parts
        there = self.is_call() or self._looks_again()
        self.solo_call.place(wanted=there and not self._course.waits_for("case"))
        above.refresh()
        below.refresh()
        panel = self.solo_call.panel
        shown = (above,) if panel is None else (above, panel, below)
        if self._box.children != shown:
            self._box.children = shown

    def is_call(self) -> bool:
        """Whether the call done alone is at hand."""
        return self._plan.solo_call is not None and self.stage() == len(STAGES) - 1

    def _looks_again(self) -> bool:
        """Whether all cases are done and the call is on the page once more, with its marks step by step."""
        self.again = self.again or (self.call_again() and self.solo_call.under_way())  # and so is how it went
        return self.again and self.call_again()

    def call_again(self) -> bool:
        """Whether all cases are done and one more call may be taken."""
        return self._plan.solo_call is not None and self.stage() == len(STAGES)

    def take(self, click: str) -> None:
        """Take the call that is done alone, or another one; after the cases too.

        Parameters
        ----------
        click : its id, kept with the call.
        """
        if self.is_call() or self.call_again():
            self.again = self.call_again()
            self.solo_call.begin(click)

    def _after_blocks(self) -> list[Block]:
        there = self.is_call() or self._looks_again()
        return self.solo_call.after(goes_on=self.is_call()) if there else []

    def stage(self) -> int:
        """The stage that is open [-], three when all are done."""
        ended = [f"on:case:{stage}:end" in self._lesson.answers for stage in range(len(STAGES))]
        return next((stage for stage, over in enumerate(ended) if not over), len(STAGES))

    def done(self) -> bool:
        """Whether all stages are done."""
        return self._plan.case is None or self.stage() == len(STAGES)

    def case(self, stage: int) -> Case:
        """The case of a stage [-]."""
        lesson = self._lesson
        assert self._plan.case is not None
        return case_for(self._plan.case, lesson.work.seed, stage, lesson.units)

    def _step(self, stage: int) -> int:
        """The step that is open [-]."""
        answers, steps = self._lesson.answers, self.case(stage).steps
        return next((n for n in range(len(steps)) if f"on:case:{stage}:{n}" not in answers), len(steps))

    def blocks(self) -> list[Block]:
        """The stage that is open, as it stands."""
        head, wait = self._phrases.part_head("case"), self._phrases.wait_block("case")
        if wait:
            return [head, *wait]
        stage = self.stage()
        if stage == len(STAGES):
            to = self._course.to(self._course.after("case"))
            marks = self.solo_call.marks()
            weak = marks is not None and marks < PASS_MARK
            said = text(f"teaching.{'case_done_weak' if weak else 'case_done'}")
            if self.call_again() and self.solo_call.under_way():
                said = text("teaching.alone.under_way")
            done = self._phrases.plain("done", said, *self.solo_call.summary(), to=to)
            # What was pressed stood under the exercise and has gone with it: here one goes on.
            done = {**done, "arrive": "start", "arrive_for": f"done {self.solo_call.attempt_id()}"}
            return [head, done, *self.solo_call.looked_at(shown=self._looks_again())]
        if self.is_call():
            call = {"arrive_for": self.solo_call.attempt_id()} if self.solo_call.attempt_id() else {}
            return [head, self._stage_head(stage) | call, *self.solo_call.before()]
        case, now = self.case(stage), self._step(stage)
        name = self._stage_head(stage, *case.brief)
        # What is looked at stands right above the step that is open, however many are done.
        figures = [{**block, "id": f"case:{stage}:{block['id']}"} for block in case.figures]
        blocks, last_step = [head, name], min(now, len(case.steps) - 1)
        for number in range(last_step):
            blocks += self._step_blocks(stage, number, case.steps)
        step = self._step_blocks(stage, last_step, case.steps)
        blocks += [*figures, *(arriving(step, "nearest") if last_step else step)]
        if now == len(case.steps):
            blocks.append(self._phrases.plain(f"close:{stage}", *case.close))
            last = stage + 1 == len(STAGES)
            label = text("teaching.case_last" if last else f"teaching.case_next.{STAGES[stage + 1]}")
            blocks.append(self._on(f"case:{stage}:end", label))
        return blocks

    def _stage_head(self, stage: int, *brief: str) -> Block:
        return {
            "id": f"stage:{stage}",
            "kind": "heading",
            "text": text(f"teaching.stages.{STAGES[stage]}", n=stage + 1, total=len(STAGES)),
            "paragraphs": [text(f"teaching.stage_intro.{STAGES[stage]}"), *brief],
            "arrive": "start",
        }

    def _on(self, key: str, label: str) -> Block:
        button = {"label": label, "action": "continue", "args": {"key": key}, "primary": True}
        return {"id": f"on:{key}", "kind": "buttons", "buttons": [button], "arrive": "nearest"}

    def _step_blocks(self, stage: int, number: int, steps: tuple[Drill, ...]) -> list[Block]:
        lesson, drill, key = self._lesson, steps[number], f"case:{stage}:{number}"
        step = text("teaching.step_case", n=number + 1, total=len(steps))
        expert = number < done_by_expert(stage, len(steps))
        if expert:
            right = drill.option(drill.right)
            shown: list[Block] = [
                *({**block, "id": f"{key}:{block['id']}"} for block in drill.figures),
                {
                    "id": key,
                    "kind": "expert",
                    "step": f"{step} · {text('teaching.by_expert')}",
                    "text": drill.text,
                    "by": text("teaching.expert_says"),
                    "answer": right.label if right else "",
                    "paragraphs": [drill.because],
                },
                *({**block, "id": f"{key}:{block['id']}"} for block in drill.after),
            ]
            answered = True
        else:
            shown = self._asking.blocks(lesson.work, key, drill, step=f"{step} · {text('teaching.by_you')}")
            answered = key in lesson.answers
        if answered and f"on:{key}" not in lesson.answers:
            last = number + 1 == len(steps)
            shown.append(self._on(key, text("teaching.case_close" if last else "teaching.case_on")))
        return shown

    def question(self, key: str) -> Drill | None:
        """The step of a key, where it is the learner's to answer now."""
        stage = self.stage()
        if stage == len(STAGES) or self.is_call():
            return None
        number, steps = self._step(stage), self.case(stage).steps
        mine = number < len(steps) and number >= done_by_expert(stage, len(steps))
        return steps[number] if mine and key == f"case:{stage}:{number}" else None

    def on(self, key: str, click: str) -> None:
        """On to the next step, or the next stage.

        Parameters
        ----------
        key : of the step that is over.
        click : its id, kept with what follows.
        """
        stage = self.stage()
        if stage == len(STAGES):
            return
        if self.is_call():
            if self.solo_call.over() and key == f"case:{stage}:end":
                self._lesson.work.keep(f"on:{key}", True, click)
            return
        steps = self.case(stage).steps
        number = self._step(stage)
        expert = number < done_by_expert(stage, len(steps))
        step_done = number < len(steps) and (expert or f"case:{stage}:{number}" in self._lesson.answers)
        legal = f"case:{stage}:{number}" if step_done else f"case:{stage}:end" if number == len(steps) else ""
        if key == legal:
            self._lesson.work.keep(f"on:{key}", True, click)
