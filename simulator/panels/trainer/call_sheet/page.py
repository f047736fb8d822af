"""The page on which a trainer puts a call sheet together, hands it out, opens its envelopes and prints it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from simulator.classroom.asking import hands_out, in_a_class
from simulator.classroom.call_sheet import (
    MAX_CALLS,
    MAX_TITLE,
    CallSheet,
    checked_sheet,
    new_id,
    opened,
    signed,
)
from simulator.classroom.handing_out import Given, HandsOut
from simulator.errors import InputError
from simulator.panels.lessons.practice_yard.call_book import BookCall, read_book
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import day_words
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.call_sheet.papers import answers_page, briefs_page
from simulator.panels.trainer.call_sheet.saved import load_sheet, save_sheet, saved_names
from simulator.signing.keys import TrainerKey
from simulator.signing.ring import make_key
from simulator.texts import entry, text

ALL = "all"
SHOWN = 10  # [-] rows of the book, and how many more come at a press
TICKS = {"sealed": "sealed", "hints": "hints", "inside": "see_through"}


class SheetDesk(Lesson):
    """The call sheet.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id.
    """

    number = "sheet"
    on_page = ("aim", "make", "out", "what_next")

    def __init__(self, session: Any = None, desk: HandsOut | None = None) -> None:
        super().__init__(session)
        self._desk = desk or hands_out()
        self._key = TrainerKey.load()
        self._level = self._rig = ALL
        self._shown = SHOWN
        self.sheet = self._fresh()

    def _fresh(self) -> CallSheet:
        return CallSheet(new_id(), text("sheets.desk.new_title"), (), sealed=True)

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the page is for, and whose key signs."""
        return self.part("aim", self._aim)

    def make(self) -> LessonPart:
        """The book, to be filtered; beside it the calls in order, how they are played, and what becomes of them."""
        return self.part("sheet", lambda: [*self._choose(), *self._order()])

    def out(self) -> LessonPart:
        """What is handed out, and the saved sheets."""
        return self.part("out", self._out)

    def what_next(self) -> LessonPart:
        """What learners see, and the way back."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _aim(self) -> list[Block]:
        title = {"id": "title", "kind": "title", "kicker": text("sheets.desk.kicker"),
                 "text": text("sheets.desk.title"), "lead": text("sheets.desk.lead")}  # fmt: skip
        who = {"id": "who", "kind": "name", "label": text("sheets.desk.who_label"), "value": self.session.name,
               "button": text("sheets.desk.who_button"), "hint": text("sheets.desk.who_hint"),
               "action": "who"}  # fmt: skip
        return [title, *([] if self._key else [who])]

    def _fitting(self) -> list[BookCall]:
        return [
            call
            for call in read_book()
            if self._level in (ALL, str(call.level)) and self._rig in (ALL, call.scenario.rig)
        ]

    def _choose(self) -> list[Block]:
        heading = {"id": "book_heading", "kind": "heading", "text": text("sheets.desk.book_title"),
                   "paragraphs": [text("sheets.desk.book_lead")]}  # fmt: skip
        every = {"id": ALL, "label": text("sheets.desk.all")}
        book = read_book()
        levels = sorted({call.level for call in book})
        rigs = sorted({(call.scenario.rig, call.rig) for call in book})
        fitting = self._fitting()
        left = len(fitting) - self._shown
        more = {"label": text("sheets.desk.more", n=left), "action": "more", "args": {"shown": self._shown}}
        return [
            heading,
            {"id": "levels", "kind": "choices", "label": text("sheets.desk.level_label"), "action": "level",
             "value": self._level, "options": [every, *({"id": str(n), "label": str(n)} for n in levels)]},
            {"id": "rigs", "kind": "choices", "label": text("sheets.desk.rig_label"), "action": "rig",
             "value": self._rig, "options": [every, *({"id": rig, "label": name} for rig, name in rigs)]},
            {"id": "book", "kind": "rows", "title": text("sheets.desk.book_title"),
             "columns": list(entry("sheets.desk.columns")), "none": text("sheets.desk.none_in_book"),
             "rows": [self._book_row(call) for call in fitting[: self._shown]]},
            *([{"id": "more", "kind": "buttons", "buttons": [more]}] if len(fitting) > self._shown else []),
        ]  # fmt: skip

    def _book_row(self, call: BookCall) -> dict[str, Any]:
        title = call.scenario.title
        add = {"label": text("sheets.desk.add"), "says": text("sheets.desk.add_of", title=title),
               "action": "add", "args": {"call": call.key}, "off": len(self.sheet.calls) >= MAX_CALLS}  # fmt: skip
        return {"key": call.key, "cells": [title, call.rig, str(call.level)], "buttons": [add]}

    def _order(self) -> list[Block]:
        sheet = self.sheet
        rows = [self._list_row(n) for n in range(len(sheet.calls))]
        blocks: list[Block] = [
            {"id": "titled", "kind": "name", "label": text("sheets.desk.name_label"), "value": sheet.title,
             "button": text("sheets.desk.name_button"), "hint": text("sheets.desk.name_hint"),
             "action": "title", "most": str(MAX_TITLE), "quiet": True},
            {"id": "list", "kind": "rows", "title": text("sheets.desk.list_title"), "rows": rows,
             "columns": list(entry("sheets.desk.columns")), "none": text("sheets.desk.list_none")},
            {"id": "how", "kind": "heading", "text": text("sheets.desk.how_title"), "paragraphs": []},
            *(self._tick(name) for name in TICKS),
            *([notice("not_sealed", "quiet", text("sheets.not_sealed"))] if sheet.sealed and in_a_class() else []),
        ]  # fmt: skip
        if not sheet.calls:
            return blocks
        label = {name: text(f"sheets.desk.{name}") for name in ("hand_out", "save", "clear")}
        buttons = [
            {"label": label[name], "action": name, "args": {}, "primary": name == "hand_out"}
            for name in label
        ]
        return [
            *blocks,
            {"id": "acts", "kind": "buttons", "buttons": buttons},
            {
                "id": "briefs",
                "kind": "printout",
                "label": text("sheets.desk.briefs"),
                "html": briefs_page(sheet),
            },
            {
                "id": "answers",
                "kind": "printout",
                "label": text("sheets.desk.answers"),
                "html": answers_page(sheet),
            },
        ]

    def _list_row(self, n: int) -> dict[str, Any]:
        call, last = self.sheet.calls[n], len(self.sheet.calls) - 1
        acts = {"up": n == 0, "down": n == last, "drop": False}
        buttons = [
            {"label": text(f"sheets.desk.{act}"), "says": text(f"sheets.desk.{act}_of", n=n + 1),
             "action": act, "args": {"number": n}, "off": off}
            for act, off in acts.items()
        ]  # fmt: skip
        rig = next((each.rig for each in read_book() if each.scenario.rig == call.rig), call.rig)
        return {
            "key": f"{n}",
            "cells": [f"{n + 1}. {call.title}", rig, str(call.level or "")],
            "buttons": buttons,
        }

    def _tick(self, name: str) -> Block:
        options = [{"id": each, "label": text(f"sheets.desk.{name}_{each}")} for each in ("yes", "no")]
        value = "yes" if getattr(self.sheet, TICKS[name]) else "no"
        return {"id": f"tick_{name}", "kind": "choices", "label": text(f"sheets.desk.{name}_label"),
                "action": f"tick_{name}", "options": options, "value": value}  # fmt: skip

    def _out(self) -> list[Block]:
        heading = {
            "id": "out_heading",
            "kind": "heading",
            "text": text("sheets.desk.out_title"),
            "paragraphs": [],
        }
        rows, altered = [], []
        for given in self._desk.given():
            try:
                rows.append(self._out_row(given, opened(given.envelope, self._desk.ring())))
            except InputError as error:
                altered.append(text("sheets.desk.altered", what=str(error).rstrip(".")))
        files = [{"key": name, "cells": [name], "buttons": [
            {"label": text("sheets.desk.load"), "says": text("sheets.desk.load_of", name=name), "action": "load",
             "args": {"name": name}}]} for name in saved_names()]  # fmt: skip
        said = [{"id": "altered", "kind": "notice", "tone": "wait", "paragraphs": altered}] if altered else []
        return [
            heading,
            *said,
            {"id": "given", "kind": "rows", "title": text("sheets.desk.out_title"), "rows": rows,
             "columns": list(entry("sheets.desk.out_columns")), "none": text("sheets.desk.out_none")},
            {"id": "files", "kind": "rows", "title": text("sheets.desk.files_title"), "rows": files,
             "columns": list(entry("sheets.desk.file_columns")), "none": text("sheets.desk.files_none")},
        ]  # fmt: skip

    def _out_row(self, given: Given, sheet: CallSheet) -> dict[str, Any]:
        turn = "shut" if given.is_open else "open"
        acts = [turn, "back"] if sheet.sealed else ["back"]
        buttons = [
            {"label": text(f"sheets.desk.{act}"), "says": text(f"sheets.desk.{act}_of", title=sheet.title),
             "action": "take_back" if act == "back" else "envelopes",
             "args": {"sheet": given.id, "open": act == "open"}}
            for act in acts
        ]  # fmt: skip
        state = text("sheets.desk.open_yes" if given.is_open else "sheets.desk.open_no")
        return {"key": given.id, "cells": [sheet.title, day_words(given.at), state], "buttons": buttons}

    def _what_next(self) -> list[Block]:
        heading = {"id": "heading", "kind": "heading", "text": text("sheets.desk.next_title"),
                   "paragraphs": [text("sheets.desk.next_text")]}  # fmt: skip
        return [heading, self.links("go", "00", "09") | {"quiet": True}, self.caution()]

    # clicks

    def on_who(self, args: dict[str, Any], click: str) -> str:
        """The trainer's name was typed: the key is made."""
        if self._key is None:
            self._key = make_key(str(args.get("name", "")), self.session.now())
        return text("sheets.desk.said.named", name=self._key.public.name)

    def on_level(self, args: dict[str, Any], click: str) -> None:
        """Another level of the book."""
        self._level, self._shown = str(args.get("value", ALL))[:10], SHOWN

    def on_rig(self, args: dict[str, Any], click: str) -> None:
        """Another rig of the book."""
        self._rig, self._shown = str(args.get("value", ALL))[:40], SHOWN

    def on_more(self, args: dict[str, Any], click: str) -> None:
        """More rows of the book."""
        if args.get("shown") == self._shown:
            self._shown += SHOWN

    def on_title(self, args: dict[str, Any], click: str) -> str:
        """The title was typed."""
        title = str(args.get("name", ""))
        probe = CallSheet("x", title, (read_book()[0].scenario,))
        self.sheet = replace(self.sheet, title=checked_sheet(probe).title)
        return text("sheets.desk.said.titled")

    def on_add(self, args: dict[str, Any], click: str) -> str:
        """A call of the book goes onto the sheet."""
        call = next((each for each in read_book() if each.key == args.get("call")), None)
        if call is None:
            return ""
        if len(self.sheet.calls) >= MAX_CALLS:
            return text("sheets.desk.said.full")
        self._put([*self.sheet.calls, call.scenario])
        return text("sheets.desk.said.added", n=len(self.sheet.calls))

    def on_up(self, args: dict[str, Any], click: str) -> None:
        """A call goes one place up."""
        self._move(args.get("number"), -1)

    def on_down(self, args: dict[str, Any], click: str) -> None:
        """A call goes one place down."""
        self._move(args.get("number"), 1)

    def on_drop(self, args: dict[str, Any], click: str) -> None:
        """A call is taken off."""
        self._put([call for n, call in enumerate(self.sheet.calls) if n != args.get("number")])

    def _move(self, number: Any, by: int) -> None:
        calls = list(self.sheet.calls)
        if type(number) is int and 0 <= number < len(calls) and 0 <= number + by < len(calls):
            calls.insert(number + by, calls.pop(number))
            self._put(calls)

    def _put(self, calls: list[Any]) -> None:
        self.sheet = replace(self.sheet, calls=tuple(calls))

    def on_tick_sealed(self, args: dict[str, Any], click: str) -> None:
        """Whether the envelopes stay shut."""
        self.sheet = replace(self.sheet, sealed=args.get("value") == "yes")

    def on_tick_hints(self, args: dict[str, Any], click: str) -> None:
        """Whether hints may be asked for; the inside shown goes with hints."""
        hints = args.get("value") == "yes"
        self.sheet = replace(self.sheet, hints=hints, see_through=self.sheet.see_through and hints)

    def on_tick_inside(self, args: dict[str, Any], click: str) -> None:
        """Whether the inside is shown; it goes with hints."""
        shown = args.get("value") == "yes"
        self.sheet = replace(self.sheet, see_through=shown, hints=self.sheet.hints or shown)

    def _signed(self) -> Any:
        if self._key is None:
            raise InputError(text("sheets.desk.who_first").rstrip("."))
        return signed(self.sheet, self._key, self.session.now())

    def on_hand_out(self, args: dict[str, Any], click: str) -> str:
        """The sheet is given to everybody."""
        self._desk.hand_out(self._signed())
        return text("sheets.desk.said.out", title=self.sheet.title)

    def on_save(self, args: dict[str, Any], click: str) -> str:
        """The sheet is kept in a file."""
        return text("sheets.desk.said.saved", name=save_sheet(self.sheet.title, self._signed()))

    def on_load(self, args: dict[str, Any], click: str) -> str:
        """A saved sheet is put on the page."""
        self.sheet = load_sheet(str(args.get("name", ""))[:80])
        return text("sheets.desk.said.loaded", title=self.sheet.title)

    def on_clear(self, args: dict[str, Any], click: str) -> None:
        """Another sheet is begun."""
        self.sheet = self._fresh()

    def on_envelopes(self, args: dict[str, Any], click: str) -> str:
        """The envelopes of a sheet are opened or shut."""
        is_open = args.get("open") is True
        self._desk.set_open(str(args.get("sheet", ""))[:40], is_open)
        return text("sheets.desk.said.opened" if is_open else "sheets.desk.said.shut")

    def on_take_back(self, args: dict[str, Any], click: str) -> str:
        """A sheet is taken off the learners' pages."""
        self._desk.take_back(str(args.get("sheet", ""))[:40])
        return text("sheets.desk.said.back")
