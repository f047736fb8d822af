"""The field sheet: readings of a real pump typed in, and what they point to."""

from __future__ import annotations

import logging
import re
from typing import Any

from simulator.diagnosis.field import FieldSheet
from simulator.diagnosis.words import joint_field
from simulator.instruments.checks import CHECKS
from simulator.panels.exercise.debrief_work import Progress, StoppedByReader
from simulator.panels.lessons.field_sheet.form import (
    LENGTH_UNITS,
    MAX_ROWS,
    MOTIVE_UNITS,
    VACUUM_UNITS,
    blank_form,
    card_of,
    clean_form,
    look_groups,
    look_key,
    parse_form,
)
from simulator.panels.lessons.field_sheet.work import FieldWork
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.rig.presets import load_rig, rig_names
from simulator.texts import entry, text
from simulator.units import UNITS

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the learner's page


#: How far long work is, in words: share from which each holds [-], and the words in their order.
HOW_FAR = ((0.9, "judging_soon"), (0.5, "judging_half"), (0.0, "judging"))
STEPS = tuple(name for _, name in reversed(HOW_FAR))


def said(key: str, **fields: Any) -> str:
    """A sentence of the field sheet.

    Parameters
    ----------
    key : of the sentence, under the field sheet's.
    """
    return text(f"field_sheet.{key}", **fields)


class FieldPage(Lesson):
    """The field sheet.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    number = "field"
    on_page = ("aim", "sheet", "points_to", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self.form = clean_form(self._latest("sheet"), self.units)
        self.result: dict[str, Any] | None = self._latest("result")
        if self.result is not None:
            self.result = {**self.result, "form": clean_form(self.result.get("form"), self.units)}
        self.problems: list[dict[str, str]] = []
        # The page keeps what is typed; it takes the form anew only when this number changes.
        self._serial, self._sent = 0, dict(self.form)
        self._work, self._trouble = FieldWork(self._progress), ""
        self._asked: tuple[dict[str, Any], str] = ({}, "")
        self._far = STEPS[0]

    def _latest(self, kind: str) -> Any:
        numbers = [int(key.partition(":")[2]) for key in self.answers if re.fullmatch(rf"{kind}:\d+", key)]
        return self.answers[f"{kind}:{max(numbers)}"] if numbers else None

    def _keep(self, kind: str, value: Any, click: str) -> None:
        count = sum(1 for key in self.answers if key.startswith(f"{kind}:"))
        self.work.keep(f"{kind}:{count}", value, f"{kind} {click}")

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the sheet is for."""
        return self.part("aim", self._aim)

    def sheet(self) -> LessonPart:
        """What is typed."""
        return self.part("sheet", self._sheet)

    def points_to(self) -> LessonPart:
        """What it comes to."""
        return self.part("result", self._result)

    def what_next(self) -> LessonPart:
        """A new sheet, and the way back."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _aim(self) -> list[Block]:
        return [*self.opening("field_sheet", "field_sheet.kicker"), self.caution()]

    def _sheet(self) -> list[Block]:
        heading = {"id": "heading", "kind": "heading", "text": said("form_title"), "paragraphs": []}
        form = {
            "id": "form",
            "kind": "field",
            "serial": self._serial,
            "form": self._sent,
            "groups": self._groups(),
            "problems": self.problems,
            "problems_title": said("problems"),
            "working": self._work.busy,
            "judged": self.result is not None and self.result["form"] == self.form and not self.problems,
            "labels": {
                "stop": said("stop_button"),
                "judge": said("judge_button"),
                "kept": said("kept"),
                "add_row": said("add_row"),
                "judging": said("judging"),
                "most_rows": MAX_ROWS,
            },
        }
        notice = {"id": "trouble", "kind": "notice", "tone": "wait", "paragraphs": [self._trouble]}
        return [heading, form, *([notice] if self._trouble else [])]

    def _groups(self) -> list[dict[str, Any]]:
        rig = load_rig(self._sent["rig"])

        def group(name: str, fields: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
            hints = entry("field_sheet.hints")
            hint = said(f"hints.{name}") if name in hints else ""
            return {"id": name, "title": said(f"groups.{name}"), "hint": hint, "fields": fields, **more}

        groups = look_groups(rig)
        return [
            group("rig", self._rig_fields()),
            group("readings", [], table=self._table(rig.has_motive_gauge)),
            group("start", self._start_fields()),
            group("looks", [self._plain("seen_at", "s"), *(self._look(*pair) for pair in groups["looks"])]),
            group("tests", [self._look(*pair) for pair in groups["tests"]], folded=True),
            group("joints", [self._look(*pair) for pair in groups["joints"]], folded=True),
            group(
                "remarks", [{"id": "remarks", "kind": "long", "label": said("fields.remarks"), "wide": True}]
            ),
        ]

    def _rig_fields(self) -> list[dict[str, Any]]:
        rigs = []
        for name in sorted(rig_names(), key=lambda each: load_rig(each).suction_hose.bore):
            rig = load_rig(name)
            mm, inch = (UNITS[unit].from_si(rig.suction_hose.bore) for unit in ("mm", "in"))
            bore = f"{mm:.0f} mm ({inch:.0f} in)"
            rigs.append({"id": name, "label": said("rig_option", title=rig.title, bore=bore)})
        return [
            {"id": "where", "kind": "text", "label": said("fields.where"), "wide": True},
            {"id": "rig", "kind": "choice", "label": said("fields.rig"), "options": rigs, "ask": True},
            self._units("vacuum_unit", VACUUM_UNITS),
            self._units("motive_unit", MOTIVE_UNITS),
            self._units("length_unit", LENGTH_UNITS),
            *(self._plain(name, "", unit_of="length_unit") for name in ("hose", "lift", "altitude")),
            self._plain("water", "°C"),
        ]

    def _units(self, name: str, units: tuple[str, ...]) -> dict[str, Any]:
        options = [{"id": unit, "label": unit} for unit in units]
        return {"id": name, "kind": "choice", "label": said(f"fields.{name}"), "options": options}

    def _plain(self, name: str, unit: str, **more: Any) -> dict[str, Any]:
        return {"id": name, "kind": "number", "label": said(f"fields.{name}"), "unit": unit, **more}

    def _table(self, motive: bool) -> dict[str, Any]:
        columns = [
            {"id": "time", "label": said("fields.time")},
            {"id": "vacuum", "label": said("fields.vacuum"), "unit_of": "vacuum_unit"},
        ]
        if motive:
            columns.append({"id": "motive", "label": said("fields.motive"), "unit_of": "motive_unit"})
        return {"columns": columns}

    def _start_fields(self) -> list[dict[str, Any]]:
        starts = [{"id": name, "label": label} for name, label in entry("field_sheet.starts").items()]
        return [
            {"id": "start", "kind": "choice", "label": said("fields.start"), "options": starts, "wide": True},
            self._plain("primed_at", "s", only=["start", ["primed", "pumps_badly", "lost_prime"]]),
            self._plain("watched", "s", only=["start", ["dry", "primed", "pumps_badly", "lost_prime"]]),
        ]

    def _look(self, check: str, place: str) -> dict[str, Any]:
        joint = joint_field(place)
        item = CHECKS[check]
        options = [{"id": "", "label": said("not_looked")}]
        options += [{"id": outcome, "label": item.sentence(outcome, **joint)} for outcome in item.outcomes]
        label = text(f"checks.{check}.label", **joint)
        return {
            "id": look_key(check, place),
            "kind": "look",
            "label": label,
            "options": options,
            "wide": True,
        }

    def _result(self) -> list[Block]:
        heading = {"id": "heading", "kind": "heading", "text": said("result_title"), "paragraphs": []}
        if self.result is None:
            working = "result_working" if self._work.busy else "result_wait"
            key = "result_problems" if self.problems else working
            wait = {"id": "wait", "kind": "notice", "tone": "plain", "paragraphs": [said(key)]}
            return [heading, wait]
        from simulator.panels.lessons.field_sheet.printing import (
            result_blocks,
        )  # here, as the print page loads its own machinery

        count = sum(1 for key in self.answers if key.startswith("result:"))
        heading |= {"arrive": "start", "arrive_for": f"result {count}"}  # each answer comes into view
        changed = self.result["form"] != self.form
        key = "result_working" if self._work.busy else "changed"
        note = {"id": "changed", "kind": "notice", "tone": "wait", "paragraphs": [said(key)]}
        return [heading, *([note] if changed else []), *result_blocks(self.result)]

    def _what_next(self) -> list[Block]:
        heading = {
            "id": "heading",
            "kind": "heading",
            "text": said("next_title"),
            "paragraphs": list(entry("field_sheet.next_text")),
        }
        button = {"label": said("new_button"), "action": "new", "args": {}}
        return [
            heading,
            {"id": "new", "kind": "buttons", "buttons": [button]},
            self.links("go", "00") | {"quiet": True},
            *self.transfer.reminder(),
        ]

    # clicks

    def on_draft(self, args: dict[str, Any], click: str) -> None:
        """Something was typed: keep it."""
        form = clean_form(args.get("form"), self.units)
        if form == self.form:
            return
        other_rig = form["rig"] != self.form["rig"]
        if other_rig:
            form |= card_of(form["rig"], form["length_unit"])
        self.form = form
        self._keep("sheet", form, click)
        if other_rig:
            self._send_form()
        sheet, _ = parse_form(form)
        if sheet is not None:  # there is something to judge: begin on what that needs
            self._work.begin(sheet.rig, sheet.site)

    def _send_form(self) -> None:
        self._serial += 1
        self._sent, self.problems = dict(self.form), []

    def on_judge(self, args: dict[str, Any], click: str) -> str:
        """What does it point to?"""
        if self._work.busy:
            return ""
        self.on_draft(args, click)
        self._trouble = ""
        sheet, problems = parse_form(self.form)
        self.problems = [{"field": each.field, "sentence": each.sentence} for each in problems]
        if sheet is None:
            return ""
        self._asked, self._far = (dict(self.form), click), STEPS[0]
        self._work.judge(sheet, self._judged, self._take)
        return ""

    def _judged(self, sheet: FieldSheet, progress: Progress) -> dict[str, Any]:
        """What a sheet comes to, in words; worked out beside the page."""
        from simulator.diagnosis.field import field_set, judge_sheet
        from simulator.panels.lessons.field_sheet.words import (
            Words,  # here: judging needs every hypothesis simulated
        )

        report = judge_sheet(sheet, progress=progress)
        return Words(sheet, report, field_set(sheet.rig, sheet.site), self._asked[0]).as_dict()

    def _take(self, outcome: dict[str, Any] | None, error: Exception | None) -> None:
        """The outcome of a sheet has come, or why there is none."""
        form, click = self._asked
        if outcome is not None:
            made = self.session.now().astimezone().strftime("%Y-%m-%d %H:%M")
            self.result, self._trouble = {"form": form, "made": made, **outcome}, ""
            self._keep("result", self.result, click)
        elif isinstance(error, StoppedByReader):
            self._trouble = said("stopped")
        else:
            _log.error("a field sheet could not be judged", exc_info=error)
            self._trouble = text("lessons.words.failed_quietly")
        self.refresh()

    def _progress(self, done: int, total: int) -> None:
        """Long work says how far it is."""
        share = done / max(total, 1)
        step = next(name for least, name in HOW_FAR if share >= least)
        if STEPS.index(step) <= STEPS.index(self._far):  # parts of the work count anew; who waits does not
            return
        self._far = step
        part = self.parts.get("sheet")
        if part is not None:
            part.send({"kind": "progress", "said": said(step)})

    def on_stop(self, args: dict[str, Any], click: str) -> None:
        """Give up working it out; the sheet stays as it is."""
        self._work.stop()

    def on_new(self, args: dict[str, Any], click: str) -> None:
        """Leave this sheet in the records and take a new one."""
        self._work.drop()
        self._trouble = ""
        self.work.begin_again()
        self.form, self.result = blank_form(self.units), None
        self._send_form()
