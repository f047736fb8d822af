"""The page of the figures: the trainer's file as a form, what is changed, whether it is in use, and its text."""

from __future__ import annotations

from typing import Any

from simulator.errors import InputError
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.figures import draft
from simulator.panels.trainer.figures.form import changes, groups
from simulator.panels.trainer.steps_back import StepsBack
from simulator.rig import trainer
from simulator.rig.plain_yaml import LARGEST_FILE, read_whole
from simulator.scenario.files import make_folder, write_whole
from simulator.texts import entry, text

LONGEST = 40  # signs in a field
HAND = "text"  # what errors call the text written by hand


class Figures(Lesson):
    """The desk of the figures.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id.
    """

    number = "figures"
    on_page = ("aim", "desk", "text", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self._serial, self._heard = 0, 0
        self._leaving = False  # "read again" was pressed once while changes were not saved
        self._over = False  # the next press of "save" writes over what another hand wrote
        self._hand: str | None = None  # text written by hand that could not be taken over
        self._hand_problem = ""
        self._read()

    _written = False  # since this page began

    def _read(self) -> None:
        """Take what the file holds onto the desk."""
        self._bytes, trouble = _file_bytes()
        found = draft.opened(self._bytes, trainer.figures_file().name) if self._bytes else None
        self._told = (trouble,) if trouble else found.told if found else ()
        self._base = b"" if self._told else self._bytes  # the text that is changed line by line
        self.steps = StepsBack(found.fields if found else draft.new_fields())
        self._saved = self.steps.now

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the page is for."""
        return self.part("aim", self._aim)

    def desk(self) -> LessonPart:
        """The fields, and beside them what is changed and whether it is in use."""
        return self.part("desk", self._desk)

    def text(self) -> LessonPart:
        """The file as text, to be read and written by hand."""
        return self.part("text", self._text)

    def what_next(self) -> LessonPart:
        """The way back."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _aim(self) -> list[Block]:
        title = {"id": "title", "kind": "title", "kicker": text("desks.kicker"), "text": text("figures.title"),
                 "lead": text("figures.lead")}  # fmt: skip
        return [title, *self.notices()]

    def _desk(self) -> list[Block]:
        fields = self.steps.now
        count = len(draft.wrong_at(fields))
        problems = text("desks.problem.one") if count == 1 else text("desks.problem.count", n=count)
        form: Block = {
            "id": "form",
            "kind": "desk",
            "serial": self._serial,
            "heard": self._heard,
            "groups": groups(fields),
            "problems": problems if count else "",
            "undo": self.steps.can_back,
            "redo": self.steps.can_on,
            "adding": None,
            "files": {
                "own": [],
                "book": [],
                "own_label": "",
                "book_label": "",
                "name": "",
                "state": text("desks.said.kept" if fields == self._saved else "desks.said.unsaved"),
                "over": self._over,
                "one": True,
            },
            "picture": None,
            "units": self.units,
            "labels": {**entry("figures.tools"), "picture": "", "file": ""},
        }
        return [form, *({**each, "aside": True} for each in self._beside(fields))]

    def _beside(self, fields: dict[str, str]) -> list[Block]:
        told = [notice("told", "wait", text("figures.told"), *self._told)] if self._told else []
        found = changes(fields)
        heading = {"id": "changed", "kind": "heading", "text": text("figures.changed"),
                   "paragraphs": [] if found else [text("figures.none_changed")]}  # fmt: skip
        listed = [{"id": "changes", "kind": "list", "ordered": False, "items": found}] if found else []
        use = {"id": "use", "kind": "heading", "text": text("figures.use.title"), "paragraphs": self._use()}
        return [*told, heading, *listed, use]

    def _use(self) -> list[str]:
        where = text("figures.use.where", file=trainer.figures_file())
        fields = self.steps.now
        if draft.wrong_at(fields):
            return [text("figures.use.wrong"), where]
        if fields != self._saved:
            return [text("figures.use.unsaved"), where]
        if (
            self._written or draft.overrides_of(fields) != trainer.overrides()
        ):  # pages may have begun in between
            return [text("figures.use.next_time"), where]
        own = any(typed.strip() for typed in fields.values())
        return [text("figures.use.now"), where] if own else [text("figures.use.usual"), where]

    def _text(self) -> list[Block]:
        heading = {"id": "text_heading", "kind": "heading", "text": text("desks.text_title"),
                   "paragraphs": [text("figures.text_text")]}  # fmt: skip
        written = self._hand
        if written is None:
            whole = not draft.wrong_at(self.steps.now)
            written = draft.file_of(self.steps.now, self._base).decode("utf-8") if whole else ""
        block = {"id": "hand", "kind": "desk_text", "serial": self._serial, "text": written,
                 "label": text("desks.fields.text"), "button": text("desks.tools.take_text"),
                 "problem": self._hand_problem}  # fmt: skip
        return [heading, block]

    def _what_next(self) -> list[Block]:
        heading = {"id": "heading", "kind": "heading", "text": text("figures.next_title"),
                   "paragraphs": [text("figures.next_text")]}  # fmt: skip
        return [heading, self.links("go", "00", "10") | {"quiet": True}, self.caution()]

    # clicks

    def _changed(self) -> None:
        self._leaving = self._over = False
        self._hand, self._hand_problem = None, ""

    def _anew(self) -> None:
        """The fields are others now than those that were typed."""
        self._serial += 1
        self._changed()

    def on_edit(self, args: dict[str, Any], click: str) -> None:
        """Something was typed."""
        name, number = str(args.get("field", ""))[:80], args.get("n")
        self._heard = number if isinstance(number, int) else self._heard
        if name not in self.steps.now:
            return
        fields = {**self.steps.now, name: str(args.get("value", ""))[:LONGEST]}
        self.steps.to(fields, name, more=args.get("more") is True)
        self._changed()

    def on_undo(self, args: dict[str, Any], click: str) -> None:
        """One step back."""
        self.steps.back()
        self._anew()

    def on_redo(self, args: dict[str, Any], click: str) -> None:
        """One step on again."""
        self.steps.on()
        self._anew()

    def on_new(self, args: dict[str, Any], click: str) -> str:
        """All figures as they come with the package: one step, which can be taken back."""
        self.steps.to(draft.new_fields())
        self._anew()
        return text("figures.said.usual")

    def on_open(self, args: dict[str, Any], click: str) -> str:
        """Read the file again, as another hand may have changed it."""
        if self.steps.now != self._saved and not self._leaving:
            self._leaving = True
            return text("desks.said.leave")
        self._read()
        self._anew()
        return text("figures.said.read" if self._bytes else "figures.said.no_file")

    def on_save(self, args: dict[str, Any], click: str) -> str:
        """Write the file; over what another hand wrote, or what cannot be read, only at the second press."""
        if draft.wrong_at(self.steps.now):
            return text("desks.said.not_yet")
        now, trouble = _file_bytes()
        if (trouble or now != self._bytes or self._told) and not self._over:
            self._over = True
            return text("figures.said.over")
        written = draft.file_of(self.steps.now, self._base)
        path = trainer.figures_file()
        make_folder(path.parent)
        write_whole(path, written)
        self._bytes = self._base = written
        self._written = True
        self._told, self._saved = (), self.steps.now
        self._changed()
        return text("figures.said.saved", file=path)

    def on_text(self, args: dict[str, Any], click: str) -> str:
        """Text written by hand is taken over, or told what is wrong with it."""
        written = str(args.get("text", ""))[: LARGEST_FILE + 1]
        try:
            found = trainer.overrides_from(written.encode("utf-8", "surrogatepass"), HAND)
        except InputError as error:
            self._hand, self._hand_problem = written, str(error)
            return ""
        self._base = written.encode("utf-8")
        self.steps.to(draft.fields_of(found))
        self._anew()
        return text("desks.said.taken")


def _file_bytes() -> tuple[bytes, str]:
    """What the file holds, nothing where there is none; and why it cannot be read."""
    path = trainer.figures_file()
    if not path.exists():
        return b"", ""
    try:
        return read_whole(path, LARGEST_FILE + 1), ""
    except InputError as error:
        return b"", str(error)
