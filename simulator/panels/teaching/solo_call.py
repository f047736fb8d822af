"""The last case of a lesson, done alone: a call-out of the lesson's own kind on the exercise screen, with marks."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from simulator.attempt import Attempt
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.marking.sheet import marks_words
from simulator.panels.learner.first_steps import before_the_plate
from simulator.panels.page.blocks import Block
from simulator.panels.teaching.lesson import Lesson
from simulator.scenario import Scenario, random_scenario, scenario_hash
from simulator.texts import text

if TYPE_CHECKING:
    from simulator.panels.exercise.panel import ExercisePanel

TRIES = 8  # draws of a call that this learner has not met


@dataclass(frozen=True)
class SoloCalls:
    """What call-outs a lesson draws: one of some faults, on a rig, at a level of random call-outs.

    Before the lesson that teaches the tests under vacuum they are not on offer. ``without`` names more looks that cannot
    be made there, and ``told`` the sentence that says why.
    """

    faults: tuple[str, ...]
    rig: str = "osier"
    level: str = "first"
    before_the_plate: bool = True
    without: tuple[str, ...] = ()
    told: str = ""

    def scenario(self, seed: int, number: int) -> Scenario:
        """The call of a number [-] for a seed; the same ones give the same call.

        Examples
        --------
        >>> SoloCalls(("drain_open",)).scenario(1, 0).fault_ids
        ('drain_open',)
        """
        drawn = random.Random(f"alone {seed} {number}").getrandbits(31)
        call = random_scenario(drawn, self.level, rig=self.rig, only=self.faults)
        changed: dict[str, Any] = {}
        if self.told:
            changed["brief"] = f"{call.brief} {text(self.told)}"
        if self.before_the_plate or self.without:
            known = before_the_plate() if self.before_the_plate else sorted(CHECKS)
            changed["allowed_checks"] = tuple(name for name in known if name not in self.without)
        return call.model_copy(update=changed)


class SoloCall:
    """The call that a learner of a taught lesson does alone: begun when asked for, kept, gone on with, marked.

    What the lesson keeps of it is the id of its attempt, under ``alone:<number>``; the rest stands in the attempt.
    """

    def __init__(self, lesson: Lesson, calls: SoloCalls | None) -> None:
        self._lesson, self._calls = lesson, calls
        self.panel: ExercisePanel | None = None
        self._shown = ""  # attempt that the panel holds
        self._told: tuple[bool, bool] = (False, False)
        self._trouble = ""

    @property
    def slot(self) -> str:
        """Under what name its attempts are kept."""
        return f"{self._lesson.number}-alone"

    def attempt_id(self) -> str:
        """The attempt that was begun last in this sitting; empty before the first."""
        number = self._number()
        return str(self._lesson.answers[f"alone:{number - 1}"]) if number else ""

    def _number(self) -> int:
        return sum(1 for key in self._lesson.answers if key.startswith("alone:"))

    def over(self) -> bool:
        """Whether the call is at its end, however it went."""
        if self.panel is not None and self._shown == self.attempt_id():
            return bool(self.panel.attempt.yard.ended)
        begun = self.attempt_id()
        events = self._lesson.session.store.events(begun) if begun else []
        return bool(events and events[-1].get("ended"))

    def under_way(self) -> bool:
        """Whether a call was begun and is not at its end."""
        return bool(self.attempt_id()) and not self.over()

    def marks(self) -> float | None:
        """Its marks out of 100 [-]; None before they are there."""
        begun = self.attempt_id()
        return self._lesson.session.total(begun) if begun else None

    # the exercise on the page

    def place(self, *, wanted: bool) -> None:
        """Hold the panel of the call that is under way; none where the lesson stands elsewhere.

        Parameters
        ----------
        wanted : whether the lesson stands at the call.
        """
        begun = self.attempt_id()
        if not wanted or not begun:
            self.panel = None
            return
        if self.panel is None or self._shown != begun:
            self._open(begun)
        if self.panel is not None and self.panel.units != self._lesson.units:
            self.panel.units = self._lesson.units

    def _open(self, begun: str, attempt: Attempt | None = None) -> None:
        from simulator.panels.exercise import debrief_work, opening  # here, as they are slow to load
        from simulator.panels.exercise.coach import PageCoach
        from simulator.panels.exercise.panel import ExercisePanel

        lesson = self._lesson
        store: Any = lesson.session.store
        self._trouble = ""
        try:
            attempt = attempt or Attempt.resume(store, begun, coach=PageCoach())
        except InputError as error:
            why = opening.why_not_gone_on_with(store, begun, error)
            self.panel, self._trouble = None, f"{why} {text('teaching.alone.take_another')}"
            return
        panel = ExercisePanel(
            attempt, debriefer=debrief_work.debrief_and_keep, units=lesson.units, whole_window=True
        )
        self.panel, self._shown, self._told = panel, begun, self._state()
        panel.observe(lambda change: self._follow(), names="page")
        panel.observe(lambda change: self._follow_units(change["new"]), names="units")

    def _state(self) -> tuple[bool, bool]:
        panel = self.panel
        if panel is None:
            return False, False
        return bool(panel.attempt.yard.ended), panel.page.get("debrief") is not None

    def _follow(self) -> None:
        """The end of the call, or its marks, have come: what stands round it has changed."""
        if self._state() != self._told:
            self._told = self._state()
            self._lesson.refresh()

    def _follow_units(self, units: str) -> None:
        if units != self._lesson.units:
            self._lesson.session.set_units(units)
            self._lesson.refresh()

    # clicks

    def begin(self, click: str) -> None:
        """Take a call: the first, or another one after the end of the last.

        Parameters
        ----------
        click : its id, kept with the call.
        """
        if self.attempt_id() and not self.over() and not self._trouble:
            return
        lesson = self._lesson
        assert self._calls is not None
        from simulator.panels.exercise.opening import SlotStore, begin

        if self._trouble:
            lesson.session.store.end_attempt(self.attempt_id(), "left")
        kept = SlotStore(lesson.session.store, self.slot)
        attempt = begin(self._fresh(), kept, lesson.work.learner)
        lesson.work.keep(f"alone:{self._number()}", attempt.id, click)
        self._open(attempt.id, attempt)

    def _fresh(self) -> Scenario:
        """A call that this learner has not met at this place, where there is one."""
        lesson = self._lesson
        assert self._calls is not None
        met = {row.scenario_hash for row in lesson.session.rows(self.slot)}
        first = self._number() * TRIES
        drawn = [self._calls.scenario(lesson.work.seed, first)]
        for number in range(first + 1, first + TRIES):
            if scenario_hash(drawn[-1]) not in met:
                break
            drawn.append(self._calls.scenario(lesson.work.seed, number))
        return drawn[-1]

    # the words round it

    def before(self) -> list[Block]:
        """What stands above the exercise."""
        if not self.attempt_id():
            return [_button("take", "begin", primary=True)]
        if self._trouble:
            notice: Block = {
                "id": "alone:version",
                "kind": "notice",
                "tone": "wait",
                "paragraphs": [self._trouble],
            }
            return [notice, _button("take", "another", primary=True)]
        return []

    def after(self, *, goes_on: bool) -> list[Block]:
        """What stands under it, once it is over.

        Parameters
        ----------
        goes_on : whether the lesson waits here to be gone on with.
        """
        if self.panel is None or not self.over():
            return []
        marks = self.marks()
        key = "over" if marks is None else "marked"
        said = text(f"teaching.alone.{key}", marks="" if marks is None else marks_words(marks))
        notice: Block = {"id": "alone:over", "kind": "notice", "tone": "plain", "paragraphs": [said]}
        go_on: dict[str, Any] = {
            "label": text("teaching.case_last"),
            "action": "continue",
            "args": {"key": "case:2:end"},
            "primary": True,
        }
        buttons = [go_on, _another()] if goes_on else [_another()]
        return [notice, {"id": "alone:on", "kind": "buttons", "buttons": buttons}]

    def looked_at(self, *, shown: bool) -> list[Block]:
        """Once all is done: the way to the call and its marks, and back, and to one more.

        Nothing where no call was taken, or one is under way.

        Parameters
        ----------
        shown : whether the call is on the page.
        """
        if self._trouble:
            return self.before()
        if not self.attempt_id() or self.under_way():
            return []
        block = _button("look_again", "hide" if shown else "look_again", primary=False)
        return [
            {**block, "id": "alone:look", "buttons": [*block["buttons"], *([] if shown else [_another()])]}
        ]

    def summary(self) -> list[str]:
        """How it went, in a sentence; nothing without marks."""
        marks = self.marks()
        return [] if marks is None else [text("teaching.alone.summary", marks=marks_words(marks))]


def _another() -> dict[str, Any]:
    return {"label": text("teaching.alone.another"), "action": "take", "args": {}}


def _button(action: str, key: str, *, primary: bool) -> Block:
    button: dict[str, Any] = {"label": text(f"teaching.alone.{key}"), "action": action, "args": {}}
    return {"id": f"alone:{key}", "kind": "buttons", "buttons": [button | {"primary": primary}]}
