"""The page for after class: people, calls, one play with a remark, what was hard, sign-offs, files, records."""

from __future__ import annotations

import calendar
from dataclasses import replace
from datetime import date
from typing import Any

from simulator.classroom.after_class import Choice, chosen, rows_by, sign_offs
from simulator.classroom.asking import in_a_class
from simulator.classroom.overview import ClassNow
from simulator.classroom.seen import Seen
from simulator.classroom.seen_words import name_words, rig_words, trouble_words
from simulator.classroom.statements import statements_text
from simulator.classroom.tables import calls_csv, sign_offs_csv
from simulator.classroom.trainer_words import BACK, REMARK, SIGNED, Word, word_from
from simulator.classroom.watching import Watching, watching
from simulator.errors import InputError
from simulator.panels.lessons.registry import DESKS, LESSONS
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.after_class.blocks import (
    button,
    call_cells,
    hard_blocks,
    people_cells,
    play_cells,
    sign_off_cells,
    table,
)
from simulator.panels.trainer.after_class.one_play import play_blocks
from simulator.panels.trainer.after_class.papers import report_page, sign_off_page
from simulator.rig.faults import FAMILIES
from simulator.signing.keys import TrainerKey
from simulator.texts import text

MONTHS = ("3", "6", "12", "24")
SHOWN = 25  # [-] rows of a long table, and how many more come at a press
DAYS = ("first", "last")
WHOM = {"about": "person", "rig": "rig", "trouble": "trouble"}


class AfterClass(Lesson):
    """After class.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id.
    """

    number = "after"
    on_page = ("aim", "people", "play", "hard", "off", "out", "keep", "what_next")

    def __init__(self, session: Any = None, watch: Watching | None = None) -> None:
        super().__init__(session)
        self._watch = watch or watching(self.session.store)
        self.known, self._trouble = ClassNow(), ""
        key = TrainerKey.load()
        self._by = key.public.name if key else ""
        self._choice, self._bad_day = Choice(), ""
        self._call = self._play = self._months = self._sure = ""
        self._months, self._shown, self._files = "12", SHOWN, False
        self._look()

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the page is for, and who says what is said here."""
        return self.part("aim", self._aim)

    def people(self) -> LessonPart:
        """What is looked at; people, calls and who played them."""
        return self.part("people", self._people)

    def play(self) -> LessonPart:
        """The call that was opened."""
        return self.part("play", self._opened)

    def hard(self) -> LessonPart:
        """What the class found hard, and what was unsafe."""
        return self.part("hard", lambda: hard_blocks(self.calls()))

    def off(self) -> LessonPart:
        """Sign-offs."""
        return self.part("off", self._off)

    def out(self) -> LessonPart:
        """Files and pages to take away."""
        return self.part("out", self._out)

    def keep(self) -> LessonPart:
        """Copies of the records, and taking a person out."""
        return self.part("keep", self._keep)

    def what_next(self) -> LessonPart:
        """The way on."""
        return self.part("what_next", self._what_next)

    # what they hold

    def calls(self) -> list[Seen]:
        """The call-outs that are looked at."""
        return chosen(self.known.seen, self._choice)

    def _look(self) -> None:
        try:
            self._watch.look(self.known)
            self._trouble = ""
        except InputError:
            self._trouble = text("after_class.away")

    def _today(self) -> date:
        return self.session.now().astimezone().date()

    def _aim(self) -> list[Block]:
        title = {"id": "title", "kind": "title", "kicker": text("after_class.kicker"),
                 "text": text("after_class.title"), "lead": text("after_class.lead")}  # fmt: skip
        who = {"id": "who", "kind": "name", "label": text("after_class.who_label"), "value": self.session.name,
               "button": text("after_class.who_button"), "hint": text("after_class.who_hint"), "action": "who",
               "quiet": True}  # fmt: skip
        again = {"label": text("after_class.again"), "action": "again", "args": {}}
        return [
            title,
            *([] if in_a_class() else [notice("alone", "quiet", text("after_class.alone"))]),
            *([notice("away", "wait", self._trouble)] if self._trouble else []),
            *([] if self._by else [who]),
            {"id": "again", "kind": "buttons", "buttons": [again]},
        ]

    def _people(self) -> list[Block]:
        calls = self.calls()
        n = len(calls)
        count = text("after_class.choose.one") if n == 1 else text("after_class.choose.count", n=n)
        none = text("after_class.choose.none")
        people = [
            (
                row.key,
                people_cells(row),
                [button("people.open", "person", {"name": row.key}, name=name_words(row.key))],
            )
            for row in sorted(rows_by(calls, lambda call: [call.learner]), key=lambda row: row.key.casefold())
        ]
        by_call = [
            (
                row.key,
                call_cells(row),
                [button("calls.open", "call", {"call": row.key}, title=row.calls[0].title)],
            )
            for row in sorted(rows_by(calls, lambda call: [call.call]), key=lambda row: row.calls[0].title)
        ]
        return [
            {
                "id": "choose_heading",
                "kind": "heading",
                "text": text("after_class.choose.heading"),
                "paragraphs": [],
            },
            self._form(),
            *([notice("bad_day", "wait", self._bad_day)] if self._bad_day else []),
            {"id": "count", "kind": "prose", "paragraphs": [count if calls else none]},
            *([table("by_person", "people.heading", people, none)] if calls else []),
            *([table("by_call", "calls.heading", by_call, none)] if calls else []),
            *(self._plays(calls) if calls else []),
        ]

    def _form(self) -> Block:
        every = {"id": "", "label": text("after_class.choose.all")}
        rigs = sorted({each.rig for each in self.known.seen if each.is_call})
        options = {
            "person": [{"id": name, "label": name_words(name)} for name in self.known.people],
            "rig": [{"id": rig, "label": rig_words(rig)} for rig in rigs],
            "trouble": [{"id": each, "label": trouble_words([each])} for each in FAMILIES],
        }
        fields: list[dict[str, Any]] = [
            {"id": name, "label": text(f"after_class.choose.{name}"), "value": getattr(self._choice, name),
             "options": [every, *own]}
            for name, own in options.items()
        ]  # fmt: skip
        fields += [
            {"id": name, "label": text(f"after_class.choose.{name}"), "value": getattr(self._choice, name),
             "most": "10", "hint": text("after_class.choose.day_hint")}
            for name in DAYS
        ]  # fmt: skip
        return {"id": "choose", "kind": "form", "fields": fields, "action": "choose", "live": True}

    def _plays(self, calls: list[Seen]) -> list[Block]:
        said = {word.attempt_id: word for word in self.known.words if word.kind == REMARK}
        plays = [call for call in reversed(calls) if self._call in ("", call.call)]
        rows = [
            (call.attempt_id, play_cells(call, said.get(call.attempt_id)),
             [button("plays.open", "open", {"attempt": call.attempt_id}, title=call.title,
                     name=name_words(call.learner))])
            for call in plays[: self._shown]
        ]  # fmt: skip
        left = len(plays) - len(rows)
        more = {
            "label": text("after_class.plays.more", n=left),
            "action": "more",
            "args": {"shown": self._shown},
        }
        all_calls = {"label": text("after_class.choose.all"), "action": "call", "args": {"call": ""}}
        buttons = [*([more] if left > 0 else []), *([all_calls] if self._call else [])]
        return [
            table("plays", "plays.heading", rows, text("after_class.choose.none")),
            *([{"id": "plays_more", "kind": "buttons", "buttons": buttons}] if buttons else []),
        ]

    def _opened(self) -> list[Block]:
        call = self.known.attempts.get(self._play)
        if call is None:
            return []
        words = [
            each for each in self.known.words if each.kind == REMARK and each.attempt_id == call.attempt_id
        ]
        return play_blocks(call, words)

    def _lines(self) -> list[Any]:
        return sign_offs(self.calls(), self.known.words, self._choice)

    def _off(self) -> list[Block]:
        today, lines = self._today().isoformat(), self._lines()
        heading = {"id": "off_heading", "kind": "heading", "text": text("after_class.sign_offs.heading"),
                   "paragraphs": [text("after_class.sign_offs.lead")]}  # fmt: skip
        label = text("after_class.sign_offs.months_label")
        months = {"id": "months", "kind": "choices", "label": label, "action": "months",
                  "options": [{"id": n, "label": text("after_class.sign_offs.months", n=n)} for n in MONTHS],
                  "value": self._months, "note": text("after_class.sign_offs.months_note")}  # fmt: skip
        rows = []
        for line in lines:
            fields = {
                "name": name_words(line.person),
                "rig": rig_words(line.rig),
                "trouble": trouble_words([line.trouble]),
            }
            args = {"person": line.person, "rig": line.rig, "trouble": line.trouble}
            buttons = [button("sign_offs.sign", "sign", args, **fields)]
            if line.word is not None:
                buttons = [button("sign_offs.back", "unsign", args, **fields)]
            rows.append((f"{line.person}|{line.rig}|{line.trouble}", sign_off_cells(line, today), buttons))
        printed = [{"id": "off_print", "kind": "printout", "label": text("after_class.sign_offs.print"),
                    "html": sign_off_page(lines, today)}] if lines else []  # fmt: skip
        return [
            heading,
            months,
            table("sign_offs", "sign_offs.table", rows, text("after_class.sign_offs.none")),
            *printed,
            notice("off_caution", "wait", text("after_class.sign_offs.caution")),
        ]

    def _out(self) -> list[Block]:
        heading = {"id": "out_heading", "kind": "heading", "text": text("after_class.out.heading"),
                   "paragraphs": [text("after_class.out.lead")]}  # fmt: skip
        make = {
            "label": text("after_class.out.make"),
            "action": "make",
            "args": {},
            "primary": not self._files,
        }
        blocks: list[Block] = [heading, {"id": "make", "kind": "buttons", "buttons": [make]}]
        if not self._files:
            return blocks
        calls, words, lines = self.calls(), self.known.words, self._lines()
        today = self._today().isoformat()
        csv, plain = "text/csv;charset=utf-8", "application/json"
        files = [
            ("calls_csv", f"calls-{today}.csv", csv, calls_csv(calls, words)),
            ("signs_csv", f"sign-offs-{today}.csv", csv, sign_offs_csv(lines)),
            ("statements", f"statements-{today}.json", plain,
             statements_text(calls, self._words_of(lines), self.known.accounts)),
        ]  # fmt: skip
        return [
            *blocks,
            {"id": "files", "kind": "files", "files": [
                {"name": name, "label": text(f"after_class.out.{key}"), "type": kind, "text": content}
                for key, name, kind, content in files]},
            {"id": "report", "kind": "printout", "label": text("after_class.out.print"),
             "html": report_page(calls, words, today)},
        ]  # fmt: skip

    def _words_of(self, lines: list[Any]) -> list[Word]:
        """Remarks, and the sign-offs in force that are looked at."""
        signed = [line.word for line in lines if line.word is not None]
        return [*(word for word in self.known.words if word.kind == REMARK), *signed]

    def _keep(self) -> list[Block]:
        keep = "after_class.keep"
        heading = {"id": "keep_heading", "kind": "heading", "text": text(f"{keep}.heading"),
                   "paragraphs": [text(f"{keep}.backup_lead")]}  # fmt: skip
        copy = {"label": text(f"{keep}.backup"), "action": "backup", "args": {}}
        command = "restore-class COPY" if in_a_class() else "restore COPY"
        how = text(f"{keep}.restore", command=f"python3 binder/trainer.py {command}")
        blocks: list[Block] = [
            heading,
            {"id": "backup", "kind": "buttons", "buttons": [copy]},
            {"id": "restore", "kind": "prose", "paragraphs": [how]},
            {"id": "remove_heading", "kind": "heading", "text": text(f"{keep}.remove_title"),
             "paragraphs": [text(f"{keep}.remove_lead")]},
        ]  # fmt: skip
        if in_a_class():
            return [*blocks, notice("remove_there", "quiet", text(f"{keep}.in_class"))]
        name = {
            "id": "name",
            "label": text(f"{keep}.remove_label"),
            "value": "",
            "hint": text(f"{keep}.remove_hint"),
        }
        form = {
            "id": "remove",
            "kind": "form",
            "quiet": True,
            "action": "remove",
            "button": text(f"{keep}.remove_button"),
            "fields": [name],
        }
        return [*blocks, form]

    def _what_next(self) -> list[Block]:
        heading = {"id": "heading", "kind": "heading", "text": text("after_class.next_title"),
                   "paragraphs": [text("after_class.next_text")]}  # fmt: skip
        links = [{"file": DESKS[name].notebook, "label": text(key)}
                 for name, key in (("sheet", "sheets.desk.link"), ("board", "class_board.link"))]  # fmt: skip
        links.append({"file": LESSONS["00"].notebook, "label": text("lessons.home_link")})
        return [heading, {"id": "go", "kind": "go", "links": links, "quiet": True}, self.caution()]

    # clicks

    def on_again(self, args: dict[str, Any], click: str) -> None:
        """Look again at the class."""
        self._look()

    def on_who(self, args: dict[str, Any], click: str) -> None:
        """The trainer's name was typed."""
        self._by = " ".join(str(args.get("name", "")).split())[:80]

    def on_choose(self, args: dict[str, Any], click: str) -> None:
        """Another person, rig, kind of trouble or day is looked at."""
        field, value = str(args.get("field", "")), str(args.get("value", "")).strip()[:80]
        self._bad_day, self._shown, self._files = "", SHOWN, False
        if field in DAYS and value:
            try:
                value = date.fromisoformat(value).isoformat()
            except ValueError:
                self._bad_day = text("after_class.choose.bad_day")
                return
        if field in Choice.__dataclass_fields__:
            self._choice = replace(self._choice, **{field: value})
        self._call = ""

    def on_person(self, args: dict[str, Any], click: str) -> None:
        """The calls of one person."""
        self.on_choose({"field": "person", "value": args.get("name", "")}, click)

    def on_call(self, args: dict[str, Any], click: str) -> None:
        """Who played one call; nothing for all."""
        self._call, self._shown = str(args.get("call", ""))[:64], SHOWN

    def on_more(self, args: dict[str, Any], click: str) -> None:
        """More plays."""
        if args.get("shown") == self._shown:
            self._shown += SHOWN

    def on_open(self, args: dict[str, Any], click: str) -> None:
        """One play is opened."""
        self._play = str(args.get("attempt", ""))[:64]

    def on_close(self, args: dict[str, Any], click: str) -> None:
        """No play is open any more."""
        self._play = ""

    def _say(self, **word: Any) -> None:
        self._watch.say(word_from({"by": self._by, **word}))
        self._look()
        self._files = False

    def on_remark(self, args: dict[str, Any], click: str) -> str:
        """A remark, or marks of the trainer's, on a play.

        Raises
        ------
        InputError : the marks are no number, or there is nothing to keep.
        """
        call = self.known.attempts.get(str(args.get("attempt", "")))
        if call is None:
            return ""
        typed = str(args.get("total", "")).strip().replace(",", ".")
        try:
            total = float(typed) if typed else None
        except ValueError as error:
            raise InputError(text("after_class.word.bad_marks").rstrip(".")) from error
        said = str(args.get("text", "")).strip()
        self._say(kind=REMARK, about=call.learner, attempt_id=call.attempt_id, text=said, total=total)
        return text("after_class.one.kept")

    def on_months(self, args: dict[str, Any], click: str) -> None:
        """How long a sign-off is valid."""
        self._months = str(args["value"]) if args.get("value") in MONTHS else self._months

    def on_sign(self, args: dict[str, Any], click: str) -> str:
        """Somebody is signed off for a rig and a kind of trouble."""
        until = _later(self._today(), int(self._months)).isoformat()
        self._say(kind=SIGNED, until=until, **_whom(args))
        return text("after_class.sign_offs.signed", name=args.get("person"), day=until)

    def on_unsign(self, args: dict[str, Any], click: str) -> str:
        """A sign-off is taken back."""
        self._say(kind=BACK, **_whom(args))
        return text("after_class.sign_offs.taken_back", name=args.get("person"))

    def on_make(self, args: dict[str, Any], click: str) -> str:
        """The files are made of what is looked at."""
        self._look()
        self._files = True
        return text("after_class.out.made")

    def on_backup(self, args: dict[str, Any], click: str) -> str:
        """A copy is made."""
        kept = self._watch.backup()
        fields = {name: kept.get(name, "") for name in ("attempts", "place")}
        return text("after_class.keep.backed_up", **fields)

    def on_remove(self, args: dict[str, Any], click: str) -> str:
        """A person is taken out at the second press."""
        name = str(args.get("name", ""))
        own = [each for each in self.known.seen if each.learner == name]
        if in_a_class() or not own:
            self._sure = ""
            return text("after_class.keep.nobody")
        if self._sure != name:
            self._sure = name
            return text("after_class.keep.remove_sure", name=name, n=len(own))
        gone = self._watch.forget(name)
        self._sure = self._play = ""
        self._choice = replace(self._choice, person="")
        self._look()
        return text("after_class.keep.removed", n=gone)


def _whom(args: dict[str, Any]) -> dict[str, str]:
    return {ours: str(args.get(name, "")) for ours, name in WHOM.items()}


def _later(day: date, months: int) -> date:
    """So many months on; the end of a shorter month where there is no such day."""
    month = day.month - 1 + months
    year, month = day.year + month // 12, month % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
