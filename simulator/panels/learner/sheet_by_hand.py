"""A call sheet that a learner loads from a file: on a machine of their own, where no class hands it out."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from simulator.classroom.asking import hands_out, in_a_class
from simulator.classroom.call_sheet import opened, read_file_text
from simulator.classroom.handing_out import HandsOut
from simulator.errors import InputError
from simulator.panels.page.blocks import Block, notice
from simulator.signing.envelope import PACK, UNKNOWN_KEY, Envelope, check
from simulator.signing.ring import Ring
from simulator.texts import text

MOST = 192 * 1024  # signs of a file


class SheetByHand:
    """Takes in the file of a sheet; one by a trainer who is not known here waits until the learner knows the key.

    Parameters
    ----------
    desk : that hands sheets out here; that of this machine by default.

    Examples
    --------
    >>> [block["id"] for block in SheetByHand().blocks()]
    ['by_hand_heading', 'by_hand']
    """

    def __init__(self, desk: HandsOut | None = None) -> None:
        self._desk = desk
        self._waits: Envelope | None = None
        self._said = ""  # what is wrong with the file that was chosen

    def blocks(self) -> list[Block]:
        """What stands on the page; nothing in a class, which hands its sheets out."""
        if in_a_class():
            return []
        heading = {"id": "by_hand_heading", "kind": "heading", "text": text("sheets.by_hand.title"),
                   "paragraphs": [text("sheets.by_hand.text")]}  # fmt: skip
        take = {"id": "by_hand", "kind": "take_file", "label": text("sheets.by_hand.button"), "action": "sheet_file",
                "hint": text("sheets.by_hand.hint"), "accept": ".json,application/json",
                "too_large": text("sheets.by_hand.too_large")}  # fmt: skip
        out: list[Block] = [heading, take]
        if self._said:
            out.append(notice("by_hand_said", "wait", self._said))
        if self._waits is not None:
            key = self._waits.key
            asked = text("sheets.by_hand.unknown", name=key.name, fingerprint=key.fingerprint)
            trust = {
                "label": text("sheets.by_hand.trust", name=key.name),
                "action": "sheet_trust",
                "args": {},
            }
            leave = {"label": text("sheets.by_hand.leave"), "action": "sheet_leave", "args": {}}
            out.append(notice("by_hand_key", "wait", asked))
            out.append({"id": "by_hand_trust", "kind": "buttons", "buttons": [trust, leave]})
        return out

    def take(self, written: str) -> str:
        """Take in a file; a sentence to say, or an empty one where the page asks or tells what is wrong.

        Parameters
        ----------
        written : the file's text.
        """
        self._waits, self._said = None, ""
        try:
            envelope = read_file_text(written[: MOST + 1], text("sheets.by_hand.file"))
            if check(envelope, PACK, Ring.load()).state == UNKNOWN_KEY:
                self._waits = envelope
                return ""
            return self._keep(envelope)
        except InputError as error:
            self._said = text("sheets.by_hand.refused", what=error.what.rstrip("."))
            return ""

    def trust(self) -> str:
        """The learner has compared the key: it is trusted from now on, and the sheet taken in."""
        if self._waits is None:
            return ""
        envelope, self._waits = self._waits, None
        Ring.load().trusting(envelope.key).save()
        try:
            return self._keep(envelope)
        except InputError as error:
            self._said = text("sheets.by_hand.refused", what=error.what.rstrip("."))
            return ""

    def leave(self) -> None:
        """The learner does not know the key: nothing is taken in."""
        self._waits = None

    def _keep(self, envelope: Envelope) -> str:
        desk = self._desk or hands_out()
        sheet = opened(envelope, Ring.load())
        desk.hand_out(envelope)
        return text("sheets.by_hand.taken", title=sheet.title)


class LoadsSheets:
    """What a page with :class:`SheetByHand` on it answers; ``args`` as the page sent them, ``click`` its id."""

    @cached_property
    def by_hand(self) -> SheetByHand:
        """The sheet that is loaded on this page."""
        return SheetByHand()

    def on_sheet_file(self, args: dict[str, Any], click: str) -> str:
        """The file of a call sheet was chosen."""
        return self.by_hand.take(str(args.get("text", "")))

    def on_sheet_trust(self, args: dict[str, Any], click: str) -> str:
        """The key of a sheet is the trainer's."""
        return self.by_hand.trust()

    def on_sheet_leave(self, args: dict[str, Any], click: str) -> None:
        """The key of a sheet is not the trainer's."""
        self.by_hand.leave()
