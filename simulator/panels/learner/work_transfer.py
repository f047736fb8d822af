"""Take your work with you: saved in one file and loaded in another place; between page and kernel it goes in pieces."""

from __future__ import annotations

import base64
import gzip
import os
import re
from typing import Any

from simulator.errors import InputError
from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.records import amount, left_out, merge_work, read_work, write_work
from simulator.records.work_limits import MAX_BYTES
from simulator.texts import entry, text

#: Variables that tell of a machine which is thrown away when the session ends; the last but one may be set
#: anywhere, and the last is what it was called before.
EPHEMERAL = (
    "BINDER_SERVICE_HOST",
    "BINDER_LAUNCH_HOST",
    "BINDER_REPO_URL",
    "SIMULATOR_EPHEMERAL",
    "SIMULATOR_PASSING",
)
PIECE = 192 * 1024  # bytes of a message: a line that carries many pages at once drops larger ones
MAX_PIECES = 1000
LOAD, SAVE = "load", "save"


def is_ephemeral() -> bool:
    """Whether what is kept on this machine goes when the session ends."""
    return any(os.environ.get(name, "") not in ("", "0") for name in EPHEMERAL)


class WorkTransfer:
    """Saves the work of a session in a file, loads such a file, and knows whether there is work that is in none."""

    def __init__(self, session: LearnerSession) -> None:
        self.session = session
        self._packed = b""
        self._held = 0  # amount of work in the file that the page is fetching
        self._coming: list[bytes] = []

    # what stands on the page

    def unsaved(self) -> bool:
        """Whether work was done that is in no file yet."""
        return amount(self.session.store, self.session.name) > self.session.in_file()

    def block(self, *, whole: bool = True, heading: bool = True) -> list[Block]:
        """Save and load; ``whole``: with what it is for, else saving alone in a line or two.

        Parameters
        ----------
        heading : whether a heading stands above.
        """
        says = []
        unsaved = self.unsaved()
        if unsaved and is_ephemeral():
            says.append(text("lessons.carry.unsaved"))
        elif not unsaved and self.session.in_file():
            says.append(text("lessons.carry.all_saved"))
        head: Block = {
            "id": "carry_heading",
            "kind": "heading",
            "text": text("lessons.carry.title"),
            "paragraphs": list(entry("lessons.carry.intro")),
        }
        block: Block = {
            "id": "carry",
            "kind": "carry",
            "says": says,
            "urgent": unsaved and is_ephemeral(),
            "can_save": unsaved or bool(self.session.in_file()),
            "offer_save": True,
            "can_load": whole,
            "labels": entry("lessons.carry.labels"),
        }
        return [head, block] if heading else [block]

    def reminder(self) -> list[Block]:
        """Where the machine forgets and there is work in no file: how to save it, here and now."""
        if not is_ephemeral() or not self.unsaved():
            return []
        return self.block(whole=False, heading=False)

    def welcome(self) -> list[Block]:
        """On a machine that forgets: how to go on with work from before, as long as nothing has been done."""
        if not is_ephemeral():
            return []
        if amount(self.session.store, self.session.name):
            return self.reminder()
        said = {
            "id": "carry_passing",
            "kind": "notice",
            "tone": "quiet",
            "paragraphs": list(entry("lessons.carry.passing")),
        }
        (block,) = self.block(heading=False)
        return [said, block | {"offer_save": False}]

    # messages

    def receive(self, message: dict[str, Any]) -> dict[str, Any]:
        """Answer a message of the page: a piece of the file to save, that it was saved, or a piece of one that is loaded.

        Raises
        ------
        InputError : there is no such piece, or the file cannot be used; nothing is changed then.
        """
        what, number = message.get("what"), message.get("n")
        if what == "saved":
            self.session.set_in_file(self._held)
            lacking = len(left_out(self.session.store, self.session.name))
            more = [text("lessons.carry.left_out", n=lacking)] if lacking else []
            return {"sentence": " ".join([text("lessons.carry.saved"), *more])}
        if not isinstance(number, int) or isinstance(number, bool) or not 0 <= number < MAX_PIECES:
            raise InputError(f"there is no piece {number!r}", "file", "pieces in order")
        if what == SAVE:
            return self._piece(number)
        if what == LOAD:
            return self._take(number, message)
        raise InputError(f"there is no act {what!r} here")

    def _piece(self, number: int) -> dict[str, Any]:
        if number == 0:
            self._held = amount(self.session.store, self.session.name)
            written = write_work(self.session.store, self.session.name, self.session.units)
            self._packed = gzip.compress(written.encode(), 6)
        pieces = max(-(-len(self._packed) // PIECE), 1)
        piece = self._packed[number * PIECE : (number + 1) * PIECE]
        return {"of": pieces, "data": base64.b64encode(piece).decode(), "name": self._file_name()}

    def _file_name(self) -> str:
        who = re.sub(r"[^\w]+", "-", self.session.name).strip("-").lower() or text("lessons.carry.nameless")
        when = self.session.now().astimezone().strftime("%Y-%m-%d-%H%M")
        return f"{text('lessons.carry.file_name', who=who, when=when)}.json"

    def _take(self, number: int, message: dict[str, Any]) -> dict[str, Any]:
        of = message.get("of")
        if number == 0:
            self._coming = []
        if number != len(self._coming) or not isinstance(of, int) or not number < of <= MAX_PIECES:
            self._coming = []
            raise InputError(text("lessons.carry.broken_off"))
        data = message.get("data")
        try:
            if not isinstance(data, str) or len(data) > 2 * PIECE:
                raise ValueError("no piece")
            self._coming.append(base64.b64decode(data, validate=True))
        except ValueError as error:
            self._coming = []
            raise InputError(text("lessons.carry.broken_off")) from error
        if sum(map(len, self._coming)) > MAX_BYTES:  # not even unpacked
            self._coming = []
            most = text("records.work.too_large_legal", most=MAX_BYTES // 2**20)
            raise InputError(text("records.work.too_large"), "file", most)
        if len(self._coming) < of:
            return {}
        whole, self._coming = b"".join(self._coming), []
        return {"sentence": self._load(whole), "loaded": True}

    def _load(self, data: bytes) -> str:
        work = read_work(data)
        merged = merge_work(self.session.store, work)
        said = [text("lessons.carry.loaded" if merged.anything else "lessons.carry.nothing_new")]
        if merged.beside:
            said.append(text("lessons.carry.beside"))
        if not self.session.name and work.learner and not amount(self.session.store, ""):
            self.session.set_name(work.learner)
            self.session.set_units(work.units)
        elif work.learner != self.session.name:
            key = "other_name" if work.learner else "no_name"
            said.append(text(f"lessons.carry.{key}", name=work.learner))
        if merged.same and work.learner == self.session.name:
            self.session.set_in_file(amount(self.session.store, self.session.name))
        return " ".join(said)
