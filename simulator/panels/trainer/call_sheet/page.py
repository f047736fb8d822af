"""The page on which a trainer puts a call sheet together, hands it out, opens its envelopes and prints it."""

from __future__ import annotations

from dataclasses import dataclass, replace
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
from simulator.diagnosis.words import fault_name
from simulator.errors import InputError, RefusedAct
from simulator.panels.lessons.practice_yard.call_book import BookCall, own_folder, read_book
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import day_words
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.call_builder.form import place_words
from simulator.panels.trainer.call_sheet.choosing import (
    ALL,
    FAMILIES,
    KINDS,
    LONGER,
    MINUTES,
    NONE,
    SEASONS,
    TWO,
    WARM,
    fitting,
    in_place_of,
)
from simulator.panels.trainer.call_sheet.minutes import minutes_of
from simulator.panels.trainer.call_sheet.papers import answers_page, briefs_page, not_sealed
from simulator.panels.trainer.call_sheet.saved import load_sheet, save_sheet, saved_names, sheets_folder
from simulator.panels.trainer.own_minutes import MinutesBeside
from simulator.panels.trainer.steps_back import StepsBack
from simulator.scenario import Scenario, sound_rig
from simulator.scenario.choices import moved_place
from simulator.signing.envelope import Envelope
from simulator.signing.keys import TrainerKey
from simulator.signing.ring import Ring, make_key
from simulator.texts import entry, text

SHOWN = 10  # [-] rows of the book, and how many more come at a press
TICKS = {"sealed": "sealed", "hints": "hints", "inside": "see_through"}


@dataclass(frozen=True)
class OnDesk:
    """What lies on the desk: the sheet, a number [-] for each of its calls by which the page knows its row, and whether
    each learner draws calls of their own.
    """

    sheet: CallSheet
    rows: tuple[int, ...] = ()
    drawn: bool = False


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
        self._chosen = dict.fromkeys(KINDS, ALL)
        self._shown = SHOWN
        self._count = 0  # of rows that were ever on the list
        self._kept: tuple[CallSheet, str] | None = (
            None  # the sheet as it was kept last, and the name of its file
        )
        self._beside = MinutesBeside(self.refresh)
        self.steps = StepsBack(OnDesk(self._fresh()))

    def _fresh(self) -> CallSheet:
        return CallSheet(new_id(), text("sheets.desk.new_title"), (), sealed=True)

    @property
    def sheet(self) -> CallSheet:
        """The sheet as it would be handed out now."""
        on_desk = self.steps.now
        return replace(on_desk.sheet, others=self._others(on_desk.sheet.calls) if on_desk.drawn else ())

    @staticmethod
    def _others(calls: tuple[Scenario, ...]) -> tuple[tuple[Scenario, ...], ...]:
        book = read_book()
        levels = {call.scenario: call.level for call in book}
        return tuple(in_place_of(call, levels.get(call, call.level or 0), book) for call in calls)

    def _change(self, what: str = "", **fields: Any) -> None:
        """One step: something else stands on the sheet."""
        self.steps.to(replace(self.steps.now, sheet=replace(self.steps.now.sheet, **fields)), what)

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
        if self._key is None:
            return [title, who]
        said = text("sheets.desk.your_key", fingerprint=self._key.public.fingerprint)
        return [title, notice("your_key", "quiet", said)]

    def _fitting(self) -> list[BookCall]:
        """The calls that fit, a trainer's own first: those were made for this sheet."""
        calls, own = fitting(read_book(), self._chosen), _own_calls()
        return sorted(calls, key=lambda call: call.hash not in own) if own else calls

    def _choose(self) -> list[Block]:
        heading = {"id": "book_heading", "kind": "heading", "text": text("sheets.desk.book_title"),
                   "paragraphs": [text("sheets.desk.book_lead")]}  # fmt: skip
        self._beside.begin(_own_scenarios())
        fitting_now, own = self._fitting(), _own_calls()
        left = len(fitting_now) - self._shown
        more = {"label": text("sheets.desk.more", n=left), "action": "more", "args": {"shown": self._shown}}
        return [
            heading,
            {"id": "filters", "kind": "filters", "action": "choose", "items": [self._filter(kind) for kind in KINDS]},
            {"id": "book", "kind": "rows", "title": text("sheets.desk.book_count", n=len(fitting_now)),
             "columns": list(entry("sheets.desk.columns")), "none": text("sheets.desk.none_in_book"),
             "rows": [self._book_row(call, own) for call in fitting_now[: self._shown]],
             "more": more if left > 0 else None},
        ]  # fmt: skip

    def _filter(self, kind: str) -> dict[str, Any]:
        book = read_book()
        names = {
            "level": {str(n): str(n) for n in sorted({call.level for call in book})},
            "minutes": {each: text("sheets.desk.minutes", n=each) for each in MINUTES}
            | {LONGER: text("sheets.desk.longer")},
            "family": {
                each: text(f"sheets.desk.{each}") if each in (TWO, NONE) else text(f"faults.families.{each}")
                for each in FAMILIES
            },
            "rig": dict(sorted({(call.scenario.rig, call.rig) for call in book})),
            "season": {each: text(f"sheets.desk.seasons.{each}") for each in (*SEASONS, WARM)},
        }[kind]
        options = [{"id": ALL, "label": text("sheets.desk.all")}]
        options += [{"id": each, "label": label} for each, label in names.items()]
        return {"id": kind, "label": text(f"sheets.desk.{kind}_label"), "value": self._chosen[kind],
                "options": options}  # fmt: skip

    def _book_row(self, call: BookCall, own: frozenset[str]) -> dict[str, Any]:
        title = call.scenario.title
        shown = text("sheets.desk.own_call", title=title) if call.hash in own else title
        add = {"label": text("sheets.desk.add"), "says": text("sheets.desk.add_of", title=title),
               "action": "add", "args": {"call": call.key}, "off": len(self.sheet.calls) >= MAX_CALLS}  # fmt: skip
        return {
            "key": call.key,
            "under": wrong_words(call.scenario),
            "cells": self._cells(shown, call.rig, call.level, call.scenario),
            "buttons": [add],
        }

    def _cells(self, title: str, rig: str, level: int | None, scenario: Scenario) -> list[str]:
        minutes = minutes_of(scenario)
        none = "–" if self._beside.failed(scenario) or scenario not in _own_scenarios() else "…"
        return [title, rig, str(level or ""), none if minutes is None else f"{minutes:.0f}"]

    def _order(self) -> list[Block]:
        sheet = self.sheet
        rows = [self._list_row(n) for n in range(len(sheet.calls))]
        back = [
            {"label": text(f"desks.tools.{act}"), "action": act, "args": {}, "off": not can}
            for act, can in (("undo", self.steps.can_back), ("redo", self.steps.can_on))
        ]
        total = [minutes_of(call) for call in sheet.calls]
        measured = [each for each in total if each is not None]
        said = text("sheets.desk.total", n=f"{sum(measured):.0f}") if measured else ""
        if measured and len(measured) < len(total):
            said = f"{said} " + text("sheets.desk.total_without", n=len(total) - len(measured))
        blocks: list[Block] = [
            {"id": "steps", "kind": "buttons", "buttons": back},
            {"id": "titled", "kind": "name", "label": text("sheets.desk.name_label"), "value": sheet.title,
             "button": text("sheets.desk.name_button"), "hint": text("sheets.desk.name_hint"),
             "action": "title", "most": str(MAX_TITLE), "quiet": True},
            {"id": "list", "kind": "rows", "title": text("sheets.desk.list_title"), "rows": rows, "moves": "move",
             "columns": list(entry("sheets.desk.columns")), "none": text("sheets.desk.list_none"), "foot": said},
            {"id": "how", "kind": "heading", "text": text("sheets.desk.how_title"), "paragraphs": []},
            *(self._tick(name) for name in TICKS),
            self._tick("drawn"),
            *([notice("drawn_note", "quiet", text("sheets.desk.drawn_note"))] if self.steps.now.drawn else []),
            *([notice("not_sealed", "quiet", seal)] if (seal := not_sealed(sheet)) else []),
        ]  # fmt: skip
        if not sheet.calls:
            return blocks
        label = {name: text(f"sheets.desk.{name}") for name in ("hand_out", "save", "clear")}
        buttons = [
            {"label": label[name], "action": name, "args": {}, "primary": name == "hand_out"}
            for name in label
        ]
        name = self._kept[1] if self._kept is not None and self._kept[0] == sheet else ""
        kept = text("sheets.desk.kept_as", name=name) if name else text("sheets.desk.not_kept")
        return [
            *blocks,
            {"id": "acts", "kind": "buttons", "buttons": buttons},
            notice("kept", "quiet" if name else "wait", kept),
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
            "key": f"{self.steps.now.rows[n]}",
            "under": wrong_words(call),
            "cells": self._cells(f"{n + 1}. {call.title}", rig, call.level, call),
            "buttons": buttons,
        }

    def _tick(self, name: str) -> Block:
        options = [{"id": each, "label": text(f"sheets.desk.{name}_{each}")} for each in ("yes", "no")]
        on_desk = self.steps.now
        value = "yes" if (on_desk.drawn if name == "drawn" else getattr(on_desk.sheet, TICKS[name])) else "no"
        return {"id": f"tick_{name}", "kind": "choices", "label": text(f"sheets.desk.{name}_label"),
                "action": f"tick_{name}", "options": options, "value": value}  # fmt: skip

    def _out(self) -> list[Block]:
        heading = {
            "id": "out_heading",
            "kind": "heading",
            "text": text("sheets.desk.out_title"),
            "paragraphs": [] if in_a_class() else [text("sheets.desk.out_alone")],
        }
        rows, altered = [], []
        for given in self._desk.given():
            try:
                rows.append(self._out_row(given, opened(given.envelope, self._desk.ring())))
            except InputError as error:
                altered.append(text("sheets.desk.altered", what=error.what.rstrip(".")))
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
        load = {"label": text("sheets.desk.load"), "says": text("sheets.desk.load_of", name=sheet.title),
                "action": "open_given", "args": {"sheet": given.id}}  # fmt: skip
        papers = [
            {"label": text(f"sheets.desk.{name}_short"),
             "says": text(f"sheets.desk.{name}_of", title=sheet.title), "html": made(sheet)}
            for name, made in (("briefs", briefs_page), ("answers", answers_page))
        ]  # fmt: skip
        buttons = [
            {"label": text(f"sheets.desk.{act}"), "says": text(f"sheets.desk.{act}_of", title=sheet.title),
             "action": "take_back" if act == "back" else "envelopes",
             "args": {"sheet": given.id, "open": act == "open"}}
            for act in acts
        ]  # fmt: skip
        state = text("sheets.desk.open_yes" if given.is_open else "sheets.desk.open_no")
        return {
            "key": given.id,
            "cells": [sheet.title, day_words(given.at), state],
            "buttons": [load, *buttons],
            "papers": papers,
        }

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

    def on_choose(self, args: dict[str, Any], click: str) -> None:
        """Another choice of the book."""
        kind = str(args.get("id", ""))
        if kind in self._chosen:
            self._chosen[kind], self._shown = str(args.get("value", ALL))[:40], SHOWN

    def on_more(self, args: dict[str, Any], click: str) -> None:
        """More rows of the book."""
        if args.get("shown") == self._shown:
            self._shown += SHOWN

    def on_title(self, args: dict[str, Any], click: str) -> str:
        """The title was typed."""
        title = str(args.get("name", ""))
        probe = CallSheet("x", title, (read_book()[0].scenario,))
        self._change(title=checked_sheet(probe).title)
        return text("sheets.desk.said.titled")

    def on_undo(self, args: dict[str, Any], click: str) -> None:
        """One step back."""
        self.steps.back()

    def on_redo(self, args: dict[str, Any], click: str) -> None:
        """One step on again."""
        self.steps.on()

    def on_add(self, args: dict[str, Any], click: str) -> str:
        """A call of the book goes onto the sheet."""
        call = next((each for each in read_book() if each.key == args.get("call")), None)
        if call is None:
            return ""
        if len(self.sheet.calls) >= MAX_CALLS:
            return text("sheets.desk.said.full")
        self._count += 1
        self._put([*self._pairs(), (self._count, call.scenario)])
        return text("sheets.desk.said.added", n=len(self.sheet.calls))

    def on_up(self, args: dict[str, Any], click: str) -> str:
        """A call goes one place up."""
        number = args.get("number")
        return self._move(number, number - 1) if type(number) is int else ""

    def on_down(self, args: dict[str, Any], click: str) -> str:
        """A call goes one place down."""
        number = args.get("number")
        return self._move(number, number + 1) if type(number) is int else ""

    def on_move(self, args: dict[str, Any], click: str) -> str:
        """A call was dragged to another place: ``number`` where it was, ``to`` where it goes, both from 0."""
        return self._move(args.get("number"), args.get("to"))

    def on_drop(self, args: dict[str, Any], click: str) -> None:
        """A call is taken off."""
        self._put([pair for n, pair in enumerate(self._pairs()) if n != args.get("number")])

    def _pairs(self) -> list[tuple[int, Scenario]]:
        return list(zip(self.steps.now.rows, self.steps.now.sheet.calls, strict=True))

    def _move(self, number: Any, to: Any) -> str:
        pairs = self._pairs()
        places = range(len(pairs))
        if type(number) is not int or type(to) is not int or number not in places or to not in places:
            return ""
        pairs.insert(to, pairs.pop(number))
        self._put(pairs)
        return text("sheets.desk.said.moved", title=pairs[to][1].title, n=to + 1)

    def _put(self, pairs: list[tuple[int, Scenario]]) -> None:
        sheet = replace(self.steps.now.sheet, calls=tuple(call for _, call in pairs))
        self.steps.to(replace(self.steps.now, sheet=sheet, rows=tuple(row for row, _ in pairs)))

    def on_tick_sealed(self, args: dict[str, Any], click: str) -> None:
        """Whether the envelopes stay shut."""
        self._change(sealed=args.get("value") == "yes")

    def on_tick_hints(self, args: dict[str, Any], click: str) -> None:
        """Whether hints may be asked for; the inside shown goes with hints."""
        hints = args.get("value") == "yes"
        self._change(hints=hints, see_through=self.sheet.see_through and hints)

    def on_tick_inside(self, args: dict[str, Any], click: str) -> None:
        """Whether the inside is shown; it goes with hints."""
        shown = args.get("value") == "yes"
        self._change(see_through=shown, hints=self.sheet.hints or shown)

    def on_tick_drawn(self, args: dict[str, Any], click: str) -> None:
        """Whether each learner gets calls of their own, of the same level."""
        self.steps.to(replace(self.steps.now, drawn=args.get("value") == "yes"))

    def _signed(self) -> Any:
        if self._key is None and self.session.name:
            self._key = make_key(self.session.name, self.session.now())  # as the box at the top has it
        if self._key is None:
            raise RefusedAct("no_name", text("sheets.desk.who_first"))
        return signed(self.sheet, self._key, self.session.now())

    def on_hand_out(self, args: dict[str, Any], click: str) -> str:
        """The sheet is given to everybody, and kept: it can be opened again when it has been taken back."""
        envelope = self._signed()
        self._desk.hand_out(envelope)
        self._keep(envelope)
        return text(f"sheets.desk.said.{'out' if in_a_class() else 'out_alone'}", title=self.sheet.title)

    def on_save(self, args: dict[str, Any], click: str) -> str:
        """The sheet is kept in a file."""
        name = self._keep(self._signed())
        return text("sheets.desk.said.saved", name=name, folder=sheets_folder())

    def on_load(self, args: dict[str, Any], click: str) -> str:
        """A saved sheet is put on the page."""
        name = str(args.get("name", ""))[:80]
        return self._lay_out(load_sheet(name), name)

    def on_open_given(self, args: dict[str, Any], click: str) -> str:
        """A sheet that is handed out is put on the page.

        Raises
        ------
        InputError : it was taken back meanwhile, or cannot be read.
        """
        given = next((each for each in self._desk.given() if each.id == args.get("sheet")), None)
        if given is None:
            raise InputError(text("sheets.not_given").rstrip("."), "call sheet")
        sheet = opened(given.envelope, self._desk.ring())
        return self._lay_out(sheet, self._keep(given.envelope))

    def _keep(self, envelope: Envelope) -> str:
        sheet = opened(envelope, Ring.load())
        name = save_sheet(sheet.title, envelope)
        self._kept = (sheet, name)
        return name

    def _lay_out(self, sheet: CallSheet, name: str) -> str:
        """Put a sheet on the page that lies in a file of this name."""
        rows = tuple(range(self._count + 1, self._count + 1 + len(sheet.calls)))
        self._count += len(rows)
        self.steps.to(OnDesk(replace(sheet, others=()), rows, sheet.drawn))
        self._kept = (self.sheet, name)
        return text("sheets.desk.said.loaded", title=sheet.title)

    def on_clear(self, args: dict[str, Any], click: str) -> None:
        """Another sheet is begun."""
        self.steps.to(OnDesk(self._fresh()))

    def on_envelopes(self, args: dict[str, Any], click: str) -> str:
        """The envelopes of a sheet are opened or shut."""
        is_open = args.get("open") is True
        self._desk.set_open(str(args.get("sheet", ""))[:40], is_open)
        return text("sheets.desk.said.opened" if is_open else "sheets.desk.said.shut")

    def on_take_back(self, args: dict[str, Any], click: str) -> str:
        """A sheet is taken off the learners' pages."""
        self._desk.take_back(str(args.get("sheet", ""))[:40])
        return text("sheets.desk.said.back")


def wrong_words(call: Scenario) -> str:
    """What is wrong in a call, in few words: a trainer chooses by it.

    Parameters
    ----------
    call : the call-out.

    Examples
    --------
    >>> wrong_words(read_book()[0].scenario)
    'ejector screen plugged'
    """
    said = []
    for item in call.what_is_wrong():
        name, place = fault_name(item["fault"]), str(item.get("place", ""))
        where = place_words(moved_place(place, 1), sound_rig(call)[0]) if place else ""
        said.append(text("desks.alike.at", fault=name, place=where) if where else name)
    return text("diagnosis.and").join(said) or text("sheets.desk.none")


def _own_scenarios() -> tuple[Scenario, ...]:
    folder = own_folder()
    return tuple(call.scenario for call in read_book(folder)) if folder.is_dir() else ()


def _own_calls() -> frozenset[str]:
    folder = own_folder()
    return frozenset(call.hash for call in read_book(folder)) if folder.is_dir() else frozenset()
