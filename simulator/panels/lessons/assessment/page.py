"""Lesson 10: the assessment. Five to ten sealed cases, nobody helps, and a certificate sheet with the evidence."""

from __future__ import annotations

from typing import Any

import ipywidgets

from simulator.errors import InputError
from simulator.marking.certificate import CaseState, Sitting
from simulator.marking.decision import rule_now
from simulator.panels.learner.at_service import sealed_line
from simulator.panels.learner.progress import lesson_state
from simulator.panels.lessons.assessment.before import figures, rules, way_to_nameless
from simulator.panels.lessons.assessment.case import ASitting, CaseStage
from simulator.panels.lessons.assessment.elsewhere import SittingElsewhere
from simulator.panels.lessons.assessment.result import Result
from simulator.panels.lessons.assessment.words import AREA, a_button, heading, said
from simulator.panels.lessons.registry import LESSONS
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.texts import entry, text

TAUGHT = (
    "01",
    "02",
    "03",
    "04",
    "05",
    "06",
    "07",
    "08",
)  # lessons whose faults and tests come up in a sitting
SHOWN = {"waiting": "open", "open": "now", "over": "done"}  # states of a case as steps of the page show them


class Assessment(Lesson):
    """Assessment.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    number = "10"
    on_page = ("aim", "sitting", "result", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self._box: ipywidgets.VBox | None = None
        self._case, self._leaving = CaseStage(self), False
        self._case.sitting = self._latest()
        self._results = Result(self.session, self.links)
        self._before = LessonPart("sitting", self._before_blocks, self.act)
        self._after = LessonPart("sitting-after", self._after_blocks, self.act)

    @property
    def _store(self) -> Any:
        return self.session.store

    def _latest(self) -> ASitting | None:
        if not self.session.name:
            return None
        line = sealed_line()
        if line is None:
            return Sitting.latest(self._store, self.session.name)
        try:
            found = SittingElsewhere.latest(line, self._store, self.session.name)
        except InputError as error:
            self._case.trouble = str(error)
            return None
        if found is not None:
            found.fetch_where_lacking()
        return found

    def _begun(self) -> ASitting:
        line = sealed_line()
        if line is None:
            return Sitting.begin(self._store, self.session.name)
        return SittingElsewhere.begin(line, self._store, self.session.name)

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What a sitting is, and its rules."""
        return self.part("aim", self._aim)

    def sitting(self) -> ipywidgets.VBox:
        """The cases, one after another."""
        if self._box is None:
            self._box = ipywidgets.VBox([self._before])
            self._box.add_class("lesson-stack")
            self.refresh()
        return self._box

    def result(self) -> LessonPart:
        """Marks, the sheet to print, and all sittings."""
        return self.part(
            "result",
            lambda: self._results.blocks(playing=self._playing(), goes_on=self._case.under_way()),
        )

    def _playing(self) -> bool:
        return self._case.panel is not None or self._case.under_way()

    def what_next(self) -> LessonPart:
        """Where to go from here."""
        return self.part("what_next", self._what_next)

    def refresh(self) -> None:
        """Describe every part anew, and put the open case on the page."""
        if self._box is not None:
            self._case.place()
        super().refresh()
        self._before.refresh()
        self._after.refresh()
        if self._box is None:
            return
        parts = (self._before, self._after)
        # A case that is handed in is put away: nothing of how it went may be seen yet.
        put_away = self._case.panel is None or self._case.over()
        shown = parts if put_away else (self._before, self._case.panel, self._after)
        if self._box.children != shown:
            self._box.children = shown

    # what the parts hold

    def _aim(self) -> list[Block]:
        sitting = self._case.sitting if self._playing() else None
        rule = sitting.rule if sitting is not None else rule_now()
        title = {
            "id": "title",
            "kind": "title",
            "kicker": said("kicker"),
            "text": text("lessons.titles.10"),
            "lead": said("lead"),
        }
        plan = {"id": "plan", "kind": "list", "ordered": False, "items": rules(rule)}
        cautions = {
            "id": "cautions",
            "kind": "caution",
            "title": said("cautions_title"),
            "items": list(entry(f"{AREA}.cautions")),
        }
        trouble = [block for block in self.notices() if block["id"] in ("trouble", "class_line")]
        return [
            title,
            *trouble,
            self._way(),
            plan,
            figures(rule),
            self.units_block(),
            cautions,
            self.caution(),
        ]

    def _way(self) -> Block:
        """Where the learner stands, and the way to it: the rules and cautions fill the first window."""
        over = self._case.under_way() or self._case.over()
        key = "open" if over else "done" if self._case.sitting is not None else "new"
        to = {"part": "sitting", "label": said(f"way_button.{key}")}
        return {
            "id": "way",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": [said(f"way.{key}")],
            "to": to,
            "quiet": key == "new",
        }

    def _before_blocks(self) -> list[Block]:
        if not self.session.name:
            name = {
                "id": "name",
                "kind": "name",
                "label": text("lessons.home.name_label"),
                "button": text("lessons.home.name_button"),
                "hint": said("name_hint"),
                "value": "",
            }
            return [heading("sitting_title", [said("name_first")]), name]
        if self._case.sitting is not None and self._case.sitting.unmarked and not self._case.over():
            return [self._steps(), *self._handed_in()]
        if not self._case.under_way() and not self._case.over():
            key = "begin_again" if self._case.sitting is not None else "begin"
            buttons = [a_button(f"{key}_button", "begin")]
            lines = [said(f"{key}_text", name=self.session.name)]
            away = {"id": "away", "kind": "notice", "tone": "wait", "paragraphs": [self._case.trouble]}
            return [
                heading("sitting_title", lines),
                *way_to_nameless(self.session),
                *self._not_done(),
                *([away] if self._case.trouble else []),
                {"id": "begin", "kind": "buttons", "buttons": buttons},
            ]
        blocks: list[Block] = [self._steps()]
        if self._case.over():
            blocks[0] |= {"arrive": "start", "arrive_for": f"done {self._case.number}"}
            return [*blocks, *self._handed_in()]
        if self._case.trouble:
            notice = {"id": "version", "kind": "notice", "tone": "wait", "paragraphs": [self._case.trouble]}
            blocks.append(notice)
        elif self._case.panel is None:
            blocks += self._one_more()
            blocks.append({"id": "go_on", "kind": "buttons", "buttons": [a_button("case_button", "case")]})
        if self._case.panel is not None:
            # One row, so that the case itself is in sight.
            blocks[0] |= {"row": True, "arrive": "start", "arrive_for": f"case {self._case.number}"}
        return blocks

    def _not_done(self) -> list[Block]:
        """The taught lessons that were not brought to their end: their faults come up too."""
        left = [number for number in TAUGHT if lesson_state(self.session, number)[0] in ("open", "begun")]
        if not left:
            return []
        titles = "; ".join(f"{number} {LESSONS[number].title}" for number in left)
        notice: Block = {
            "id": "not_done",
            "kind": "notice",
            "tone": "wait",
            "paragraphs": [said("not_done", lessons=titles)],
        }
        return [notice]

    def _one_more(self) -> list[Block]:
        """Why there is another case after the fifth."""
        sitting = self._case.sitting
        if sitting is None or sitting.current is None or sitting.current <= sitting.rule.least:
            return []
        lines = [said("one_more", most=sitting.rule.most)]
        return [{"id": "one_more", "kind": "notice", "tone": "plain", "paragraphs": lines}]

    def _handed_in(self) -> list[Block]:
        """The way on from a case that is over; it stands in the part that stays on the page when the case is put away."""
        more = self._case.sitting is not None and self._case.sitting.current is not None
        done = {
            "id": "done",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": [said("case_done" if more else "all_done")],
        }
        button = a_button("next_button", "case") if more else a_button("mark_button", "mark")
        on = {"id": "on", "kind": "buttons", "buttons": [button]}
        return [done, on]

    def _steps(self) -> Block:
        assert self._case.sitting is not None
        items = [self._step(case) for case in self._case.sitting.cases]
        title = said("cases_title", number=self._case.sitting.number)
        return {"id": "cases", "kind": "steps", "title": title, "items": items}

    def _step(self, case: CaseState) -> dict[str, str]:
        assert self._case.sitting is not None
        state = SHOWN[case.state]
        if state == "open" and case.number == self._case.sitting.current:
            state = "now"
        # The title of a case that is still to come is not told: it is sealed.
        title = case.title if case.state != "waiting" else said("sealed_case")
        return {
            "label": said("case", n=case.number, title=title),
            "state": state,
            "says": said(
                f"case_states.{'next' if state == 'now' and case.state == 'waiting' else case.state}"
            ),
        }

    def _after_blocks(self) -> list[Block]:
        if self._case.over():
            return []
        if not self._case.under_way():
            return []
        if not self._leaving:
            buttons = [a_button("leave_button", "leave", primary=False)]
            return [{"id": "leave", "kind": "buttons", "buttons": buttons}]
        lines = [f"**{said('leave_title')}**", said("leave_sure"), said("leave_break")]
        sure = {"id": "sure", "kind": "notice", "tone": "wait", "paragraphs": lines}
        buttons = [
            a_button("stay_button", "stay"),
            a_button("leave_yes_button", "leave", primary=False, sure=True),
        ]
        return [sure, {"id": "leave", "kind": "buttons", "buttons": buttons}]

    def _what_next(self) -> list[Block]:
        if self._case.under_way():
            head = heading("next_title", [said("next_open")])
            return [head, self.links("go", "00") | {"quiet": True}]
        head = heading("next_title", list(entry(f"{AREA}.next_text")))
        return [
            head,
            self.links("go", "09", "00") | {"quiet": True},
            *self.transfer.reminder(),
            *([] if self._playing() else self._results.for_trainers()),
        ]

    # clicks

    def on_name(self, args: dict[str, Any], click: str) -> None:
        """The learner's name was typed."""
        self.session.set_name(str(args.get("name", "")))
        self._case.sitting = self._latest()

    def on_begin(self, args: dict[str, Any], click: str) -> None:
        """A new sitting, with its first case on the page."""
        if self._case.under_way():
            return
        self._case.sitting = self._begun()
        self._case.panel, self._leaving = None, False
        self._case.open()

    def on_case(self, args: dict[str, Any], click: str) -> None:
        """On to the next case."""
        if self._case.sitting is not None and (self._case.panel is None or self._case.over()):
            self._case.panel = None
            self._case.open()

    def on_leave(self, args: dict[str, Any], click: str) -> None:
        """Leave the sitting for good, at the second press."""
        if self._case.sitting is None or not self._case.under_way():
            return
        if not args.get("sure"):
            self._leaving = True
            return
        self._case.sitting.leave()
        self._case.marking.stop()
        self._case.panel, self._leaving, self._case.trouble = None, False, ""

    def on_stay(self, args: dict[str, Any], click: str) -> None:
        """Do not leave after all."""
        self._leaving = False

    def on_mark(self, args: dict[str, Any], click: str) -> None:
        """Mark the cases; nothing of it was shown before. Where that decides nothing yet, one more case comes. Those of a
        sitting that was left are told alone."""
        last = Sitting.latest(self._store, self.session.name) if self.session.name else None
        if last is not None and last.left:
            last.told_when_left(self._progress)
            self._tell("")
            return
        if self._case.sitting is None or not self._case.sitting.over:
            return
        total, most = len(self._case.sitting.cases), 0

        def tell(done: int, of: int) -> None:
            """How far it is; what was marked beside the page is not counted down again."""
            nonlocal most
            most = max(most, done)
            self._progress(most, of)

        self._case.marking.wait(lambda left: tell(max(total - left, 0), total))
        decided = self._case.sitting.settle(tell)
        if decided and isinstance(self._case.sitting, Sitting):  # elsewhere it is kept where it was marked
            self._case.sitting.result()
        self._case.panel = None
        self._tell("")

    def _progress(self, done: int, total: int) -> None:
        """Long work says how far it is."""
        self._tell(said("marking", done=done, total=total))

    def _tell(self, sentence: str) -> None:
        for part in (self._before, self.parts.get("result")):
            if part is not None:
                part.send({"kind": "progress", "sentence": sentence})
