"""The call builder's page: fields and pictures, curve and look-alikes beside them, trying it, its file, all keys."""

from __future__ import annotations

import logging
from typing import Any

import ipywidgets

from simulator.attempt import Attempt, MemoryStore
from simulator.errors import InputError, SimulatorError
from simulator.panels.exercise.debrief_work import debrief_and_keep
from simulator.panels.lessons.practice_yard.call_book import own_folder
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.papers import call_out_keys
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.call_builder import form, outlook
from simulator.panels.trainer.call_builder.background import Judging
from simulator.panels.trainer.call_builder.draft import Draft, fault_count
from simulator.panels.trainer.call_builder.own_calls import (
    call_labels,
    legal_name,
    own_names,
    read_call,
    rename_call,
    save_call,
)
from simulator.panels.trainer.own_minutes import keep_minutes
from simulator.rig.presets import rig_names
from simulator.run import Run
from simulator.scenario import Scenario, read_scenario, scenario_hash
from simulator.scenario.model import MAX_FAULTS
from simulator.texts import entry, language, text

SEED = 0  # of chance in a trial, where the call-out's own seed says all
HAND = "text"  # what errors call the text written by hand

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page


class CallBuilder(Lesson):
    """The call builder.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id.
    """

    number = "builder"
    on_page = ("aim", "desk", "trial", "text", "keys", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self.draft = Draft.new()
        self.name = ""  # of the file, in the trainer's own folder
        self._serial, self._heard = 0, 0
        self._leaving = ""  # what was pressed once while changes were not saved
        self._over = ""  # name whose file may be written over at the next press
        self._part: tuple[tuple[str, ...], str, str] = (
            (),
            "",
            "",
        )  # pressed in a picture: parts, name, place
        self._hand: str | None = None  # text written by hand that could not be taken over
        self._hand_problem = ""
        self._stack: ipywidgets.VBox | None = None
        self._judging = Judging(self.refresh)
        self._drawn: tuple[str, Run, Run] | None = None
        self._listed: tuple[tuple[str, ...], list[Block]] | None = None
        self._take_stock()

    def _take_stock(self) -> None:
        """Ask the loader once after each change what the fields come to."""
        self.scenario, self.problems = self.draft.checked()
        if self.scenario is not None:
            self._judging.wanted(self.scenario)

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the page is for."""
        return self.part("aim", self._aim)

    def desk(self) -> LessonPart:
        """The fields, the pictures, and beside them what the call-out comes to."""
        return self.part("desk", self._desk)

    def trial(self) -> ipywidgets.VBox:
        """The call-out as a trainee meets it."""
        if self._stack is None:
            self._stack = ipywidgets.VBox([self.part("trial", self._trial)])
            self._stack.add_class("lesson-stack")
        return self._stack

    def text(self) -> LessonPart:
        """The file as text, to be read and written by hand."""
        return self.part("text", self._text)

    def keys(self) -> LessonPart:
        """Every key, place and range."""
        return self.part("keys", self._keys)

    def what_next(self) -> LessonPart:
        """What becomes of a call-out, and the way back."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _aim(self) -> list[Block]:
        return [*self.opening("desks", "desks.kicker")]

    def _desk(self) -> list[Block]:
        fields = self.draft.fields
        rig = form.rig_of(fields)
        block: Block = {
            "id": "form",
            "kind": "desk",
            "serial": self._serial,
            "heard": self._heard,
            "groups": form.groups(fields, self.problems),
            "problems": self._problem_count(),
            "undo": self.draft.can_undo,
            "redo": self.draft.can_redo,
            "adding": self._adding(fields, rig),
            "files": self._files(),
            "picture": self._picture(),
            "units": self.units,
            "labels": {
                **entry("desks.tools"),
                "picture": text("desks.picture"),
                "file": text("desks.fields.file"),
            },
        }
        return [block, *({**each, "aside": True} for each in self._beside())]

    def _problem_count(self) -> str:
        count = len(self.problems)
        return (
            ""
            if not count
            else text("desks.problem.one")
            if count == 1
            else text("desks.problem.count", n=count)
        )

    def _adding(self, fields: dict[str, str], rig: Any) -> dict[str, Any]:
        parts, name, place = self._part
        put = form.faults_set(fields, rig)
        told = text("desks.add_set", what="; ".join(put)) if put else ""
        if fault_count(fields) >= MAX_FAULTS:
            return {"full": text("desks.add_full"), "set": told}
        options = form.fault_options(rig, parts)
        said = form.place_words(place, rig) if place else name
        return {
            "label": text("desks.add_at", part=said) if name else text("desks.add_any"),
            "choose": text("desks.add_choose"),
            "keys": text("desks.add_keys"),
            "options": options,
            "none": "" if options else text("desks.add_none_here"),
            "arrive": bool(name),
            "set": told,
        }

    def _files(self) -> dict[str, Any]:
        return {
            "own": [{"id": f"own:{name}", "label": label} for name, label in call_labels(own=True)],
            "book": [{"id": f"book:{name}", "label": label} for name, label in call_labels(own=False)],
            "own_label": text("desks.tools.own"),
            "book_label": text("desks.tools.book"),
            "name": self.name,
            "state": self._state(),
            "over": bool(self._over),
        }

    def _state(self) -> str:
        """Beside the button: whether it is saved, and under which name."""
        if not self.name and not self.draft.can_undo:
            return text("desks.said.fresh_of_some" if own_names() else "desks.said.fresh")
        if self.draft.unsaved:
            return text("desks.said.unsaved")
        return text("desks.said.kept_as", name=self.name) if self.name else text("desks.said.kept")

    def _picture(self) -> dict[str, Any] | None:
        """The rig in good order for the pictures; the last one that could be drawn while something is wrong."""
        if self.scenario is not None:
            plain = self.scenario.model_copy(update={"faults": (), "mode": "practice", "see_through": False})
            key = scenario_hash(plain)
            if key != getattr(self, "_picture_key", ""):
                self._picture_key = key
                self._pictured = Attempt(plain, MemoryStore(), seed=SEED).rig_shown()
        return getattr(self, "_pictured", None)

    def _beside(self) -> list[Block]:
        heading = {
            "id": "curve_heading",
            "kind": "heading",
            "text": text("desks.curve.title"),
            "paragraphs": [],
        }
        if self.scenario is None:
            waits = {
                "id": "waits",
                "kind": "notice",
                "tone": "wait",
                "paragraphs": [text("desks.curve.waits")],
            }
            return [heading, waits]
        try:
            good, as_it_is = self._runs(self.scenario)
        except SimulatorError as error:
            said = {"id": "waits", "kind": "notice", "tone": "wait", "paragraphs": [str(error)]}
            return [heading, said]
        lines = [text("desks.curve.good", said=outlook.start_words(good))]
        if as_it_is is not good:
            lines.append(text("desks.curve.bad", said=outlook.start_words(as_it_is, self.units, good)))
        if rattles := outlook.rattles_words(good, self.units):
            lines.append(rattles)
        chart = outlook.curve_block(good, as_it_is, self.units, self.scenario.site.lift_m)
        return [
            heading,
            chart,
            {"id": "starts", "kind": "prose", "paragraphs": lines},
            *self._alike(self.scenario),
            *self._hard(self.scenario),
        ]

    def _runs(self, scenario: Scenario) -> tuple[Run, Run]:
        key = scenario_hash(scenario)
        if self._drawn is None or self._drawn[0] != key:
            self._drawn = (key, *outlook.both_runs(scenario))
        return self._drawn[1], self._drawn[2]

    def _alike(self, scenario: Scenario) -> list[Block]:
        if not scenario.faults:
            return []
        found = self._judging.alike(scenario)
        title = {
            "id": "alike_heading",
            "kind": "heading",
            "text": text("desks.alike.title"),
            "paragraphs": [],
        }
        if found is None:
            return [title, {"id": "alike", "kind": "prose", "paragraphs": [text("desks.alike.working")]}]
        if "failed" in found:
            return [title, {"id": "alike", "kind": "prose", "paragraphs": [text("desks.alike.failed")]}]
        items = {"id": "alike_list", "kind": "list", "ordered": False, "items": found["alike"]}
        late = [text("desks.alike.late")] if any(choice.times for choice in scenario.faults) else []
        return [title, items, self._enough(scenario, late)]

    def _enough(self, scenario: Scenario, late: list[str]) -> Block:
        found = self._judging.enough(scenario)
        if found is None or "failed" in found:
            key = "working" if found is None else "failed"
            return {"id": "alike", "kind": "prose", "paragraphs": [text(f"desks.alike.{key}"), *late]}
        return {
            "id": "alike",
            "kind": "notice",
            "tone": "plain" if found["suffices"] else "wait",
            "paragraphs": [found["enough"], *late],
        }

    def _hard(self, scenario: Scenario) -> list[Block]:
        if not scenario.faults:
            return []
        found = self._judging.hard(scenario)
        title = {"id": "hard_heading", "kind": "heading", "text": text("desks.hard.title"), "paragraphs": []}
        if found is None or "failed" in found:
            key = "working" if found is None else "failed"
            return [title, {"id": "hard", "kind": "prose", "paragraphs": [text(f"desks.alike.{key}")]}]
        out: list[Block] = [title, {"id": "hard", "kind": "prose", "paragraphs": [found["sentence"]]}]
        if scenario.level != found["level"]:
            label = text("desks.tools.take_level", level=found["level"])
            button = {"label": label, "action": "level", "args": {"level": found["level"]}}
            out.append({"id": "take_level", "kind": "buttons", "buttons": [button]})
        return out

    def _trial(self) -> list[Block]:
        shown = self._stack is not None and len(self._stack.children) > 1
        label = text("desks.tools.hide" if shown else "desks.tools.try_it")
        button = {"label": label, "action": "trial", "args": {"open": not shown}, "primary": not shown}
        paragraphs = [text("desks.try_text")]
        heading = {"id": "try", "kind": "heading", "text": text("desks.try_title"), "paragraphs": paragraphs}
        return [heading, {"id": "open", "kind": "buttons", "buttons": [button]}]

    def _text(self) -> list[Block]:
        heading = {
            "id": "text_heading",
            "kind": "heading",
            "text": text("desks.text_title"),
            "paragraphs": [text("desks.text_text")],
        }
        written = self._hand
        if written is None:
            written = self.draft.written().decode("utf-8") if self.scenario is not None else ""
        block = {
            "id": "hand",
            "kind": "desk_text",
            "serial": self._serial,
            "text": written,
            "label": text("desks.fields.text"),
            "button": text("desks.tools.take_text"),
            "problem": self._hand_problem,
        }
        return [heading, block]

    def _keys(self) -> list[Block]:
        """Made again only where a rig of one's own or the language is another: no change of the call-out changes it."""
        of = (*rig_names(), language()[0])
        if self._listed is None or self._listed[0] != of:
            self._listed = (of, _keys_blocks())
        return self._listed[1]

    def _what_next(self) -> list[Block]:
        heading = {
            "id": "heading",
            "kind": "heading",
            "text": text("desks.next_title"),
            "paragraphs": list(entry("desks.next_text")),
        }
        return [heading, self.links("go", "00", "09") | {"quiet": True}, self.caution()]

    # clicks

    def _changed(self) -> None:
        self._leaving = self._over = ""
        self._hand, self._hand_problem = None, ""
        self._take_stock()

    def _anew(self) -> None:
        """The fields are others now than those that were typed."""
        self._serial += 1
        self._part = ((), "", "")
        self._changed()

    def on_edit(self, args: dict[str, Any], click: str) -> None:
        """Something was typed or chosen."""
        name, number = str(args.get("field", ""))[:60], args.get("n")
        self._heard = number if isinstance(number, int) else self._heard
        if name not in self.draft.fields:
            return
        before = name.endswith(".fault") or name == "rig"
        self.draft.set(name, str(args.get("value", ""))[:4000], same_word=args.get("more") is True)
        self._anew() if before else self._changed()

    def on_undo(self, args: dict[str, Any], click: str) -> None:
        """One step back."""
        self.draft.undo()
        self._anew()

    def on_redo(self, args: dict[str, Any], click: str) -> None:
        """One step on again."""
        self.draft.redo()
        self._anew()

    def on_press(self, args: dict[str, Any], click: str) -> None:
        """A part was pressed in a picture."""
        place = str(args.get("place", ""))[:20]
        given = args.get("parts")
        parts = [str(part)[:40] for part in given[:12]] if isinstance(given, list) else []
        if place.startswith("joint:"):
            parts = ["joint"]
        self._part = (tuple(parts), str(args.get("name", ""))[:60], place)

    def on_add(self, args: dict[str, Any], click: str) -> None:
        """A fault was chosen."""
        self.draft.add_fault(str(args.get("fault", ""))[:60], self._part[2])
        self._anew()

    def on_drop(self, args: dict[str, Any], click: str) -> None:
        """A fault is taken out."""
        number = args.get("number")
        if isinstance(number, int):
            self.draft.drop_fault(number)
        self._anew()

    def on_level(self, args: dict[str, Any], click: str) -> str:
        """Take the measured level into the call-out."""
        self.draft.set("level", str(args.get("level", "")))
        self._anew()
        return text("desks.said.level_taken", level=args.get("level", ""))

    def _may_leave(self, what: str) -> bool:
        """Whether the draft may be dropped: at once when it is saved or untouched, else at the second press."""
        if not self.draft.unsaved or not self.draft.can_undo or self._leaving == what:
            return True
        self._leaving = what
        return False

    def on_new(self, args: dict[str, Any], click: str) -> str:
        """Begin another call-out."""
        if not self._may_leave("new"):
            return text("desks.said.leave")
        self.draft, self.name = Draft.new(), ""
        self._anew()
        return text("desks.said.began")

    def on_open(self, args: dict[str, Any], click: str) -> str:
        """Open one of the trainer's own, or a copy of one that came with the lessons."""
        which = str(args.get("which", ""))[:200]
        kind, _, name = which.partition(":")
        if not name:
            return ""
        written = read_call(name, own=kind == "own")
        draft = Draft.opened(written, name)
        if not self._may_leave(which):
            return text("desks.said.leave")
        self.draft, self.name = draft, name if kind == "own" else ""
        self._anew()
        return text("desks.said.opened" if kind == "own" else "desks.said.copied", name=name)

    def on_save(self, args: dict[str, Any], click: str) -> str:
        """Save it in the trainer's folder; over another file only at the second press."""
        if self.scenario is None:
            return text("desks.said.not_yet")
        name = legal_name(str(args.get("name", "")) or self.draft.fields["title"])
        written, lost = self.draft.written(), self.draft.loses_remarks()
        over = name in (self.name, self._over)
        try:
            path = save_call(name, written, over=over)
        except InputError:
            if over or name not in own_names():
                raise
            self._over = name
            return text("desks.said.exists", name=name)
        self.draft.saved(written)
        found = self._judging.hard(self.scenario)
        if found is not None and "failed" not in found:
            keep_minutes(self.scenario, found["minutes"])  # the call sheet shows them and chooses by them
        self.name, self._over, self._leaving = name, "", ""
        said = [text("desks.said.saved", name=name, where=text("desks.said.where", folder=path.parent))]
        if self.scenario.level is None:
            said.append(text("desks.said.no_level"))
        if lost:
            said.append(text("desks.said.remarks_lost"))
        return " ".join(said)

    def on_rename(self, args: dict[str, Any], click: str) -> str:
        """Give the open file another name."""
        if not self.name:
            return self.on_save(args, click)
        self.name = rename_call(self.name, str(args.get("name", "")))
        return text("desks.said.renamed", name=self.name)

    def on_text(self, args: dict[str, Any], click: str) -> str:
        """Take over what was written by hand; what cannot be read stays as it is, with what is wrong."""
        written = str(args.get("text", ""))
        try:
            scenario = read_scenario(written, HAND)
        except InputError as error:
            self._hand, self._hand_problem = written, str(error)
            return ""
        if self.scenario is None or scenario.content() != self.scenario.content():
            self.draft.replace_with(scenario)
        self._anew()
        return text("desks.said.taken")

    def on_trial(self, args: dict[str, Any], click: str) -> str:
        """Open the call-out as a trainee meets it, or put it away."""
        stack = self.trial()
        intro = stack.children[0]
        if not args.get("open"):
            stack.children = (intro,)
            return ""
        if self.scenario is None:
            return text("desks.said.not_yet")
        from simulator.panels.exercise.panel import ExercisePanel  # here, as it is slow to load

        attempt = Attempt(self.scenario, MemoryStore(), seed=self.scenario.seed)
        stack.children = (intro, ExercisePanel(attempt, debriefer=debrief_and_keep, units=self.units))
        return ""

    @property
    def folder(self) -> str:
        """The trainer's own folder."""
        return str(own_folder())


def _keys_blocks() -> list[Block]:
    heading = {
        "id": "keys_heading",
        "kind": "heading",
        "text": text("desks.keys.title"),
        "paragraphs": [text("desks.keys.text")],
    }
    rows = call_out_keys.rows()
    table = {
        "id": "keys_table",
        "kind": "desk_keys",
        "title": text("desks.keys.title"),
        "columns": list(entry("desks.keys.columns")),
        "rows": [list(row) for row in rows],
    }
    printed = {
        "id": "keys_print",
        "kind": "printout",
        "label": text("desks.keys.print"),
        "html": call_out_keys.keys_page(),
    }
    return [heading, printed, table]
