"""The service of a class: hands out what the trainer gives, and keeps the records that learners' pages hand in.

``python -m simulator.classroom.service`` is started by the hub, which tells it where to listen and starts it again
where it ends.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
from typing import Any

from tornado.web import Application, HTTPError

from simulator.classroom.call_sheet import MAX_BYTES, read_file_text
from simulator.classroom.handing_out import HandOut
from simulator.classroom.handing_out import as_raw as sheets_as_raw
from simulator.classroom.people_and_pins import TRAINER
from simulator.classroom.places import class_folder
from simulator.classroom.question import Listening, Question
from simulator.classroom.record_desk import MAX_PARCEL, RecordDesk


class Asked(Question):
    """A question to this service."""

    most = 2 * MAX_BYTES

    def initialize(self, hub: Any, desk: HandOut, records: RecordDesk) -> None:  # type: ignore[override]
        """Called by tornado.

        Parameters
        ----------
        hub : tells whose a token is.
        desk : the sheets.
        records : of the class.
        """
        super().initialize(hub, lambda: records)
        self.desk = desk


class Sheets(Asked):
    """All that is handed out, and handing out one more."""

    def get(self) -> None:
        """For everybody of the class; what is in shut envelopes for the trainer alone."""
        ring = [each.key.as_dict() | {"until": each.until} for each in self.desk.ring().keys]
        given = [each for each in self.desk.given() if each.is_open or self.account == TRAINER]
        self.finish(json.dumps(sheets_as_raw(given) | {"ring": ring}))

    def post(self) -> None:
        """A sheet, as its file has it."""
        self.desk.hand_out(read_file_text(self.body, "call sheet"))
        self.finish("{}")


class OneSheet(Asked):
    """One sheet: its envelopes opened or shut, or taken back."""

    def put(self, sheet: str) -> None:
        """``{"open": true}`` or false.

        Parameters
        ----------
        sheet : its id.
        """
        asked = json.loads(self.body or b"{}")
        self.desk.set_open(sheet, isinstance(asked, dict) and asked.get("open") is True)
        self.finish("{}")

    def delete(self, sheet: str) -> None:
        """Taken back.

        Parameters
        ----------
        sheet : its id.
        """
        self.desk.take_back(sheet)
        self.finish("{}")


class Records(Asked):
    """How far somebody's records go, and handing in what is new of one's own."""

    most = MAX_PARCEL

    def may_write(self) -> bool:
        """Every learner, for themselves; the trainer has no records here."""
        return self.account != TRAINER

    async def get(self) -> None:
        """One's own; ``?of=ACCOUNT`` for the trainer."""
        of = self.get_query_argument("of", "")
        await self.answer(lambda: self.records.standing(self.account, of))

    async def post(self) -> None:
        """Attempts with the links that are new."""
        await self.answer(lambda: self.records.hand_in(self.account, self.body))


class OneAttempt(Asked):
    """One attempt, whole."""

    def may_write(self) -> bool:
        """Nobody: what was handed in stays."""
        return False

    async def get(self, attempt_id: str) -> None:
        """One's own; the trainer may read everybody's.

        Parameters
        ----------
        attempt_id : its id.
        """
        await self.answer(lambda: self.records.chain(self.account, attempt_id))


class OfTheTrainer(Asked):
    """What the trainer alone may ask."""

    most = MAX_PARCEL

    def may_read(self) -> bool:
        """The trainer."""
        return self.account == TRAINER


class Now(Asked):
    """Whether the trainer holds the class: asked by every page, again and again, so nothing is read for it."""

    def get(self) -> None:
        """``{"held": ..., "sheets": ...}``, for everybody of the class; ``sheets`` is another number where what is
        handed out has changed."""
        if self.account != TRAINER:
            self.records.heard_from(self.account)
        self.finish(json.dumps({"held": self.records.held, "sheets": self.desk.stamp()}))

    def post(self) -> None:
        """Hold the class, ``{"held": true}``, or let it go on; the trainer alone."""
        asked = json.loads(self.body or b"{}")
        self.records.held = isinstance(asked, dict) and asked.get("held") is True
        self.finish("{}")


class WholeClass(OfTheTrainer):
    """All that the trainer's views show."""

    async def get(self) -> None:
        """What is new since ``?epoch=...&mark=...``."""
        mark = self.get_query_argument("mark", "0")
        epoch, since = self.get_query_argument("epoch", ""), int(mark) if mark.isdecimal() else 0
        await self.answer(lambda: self.records.overview(epoch, since))


class TrainersWords(OfTheTrainer):
    """Remarks, marks and sign-offs by the trainer."""

    async def post(self) -> None:
        """One of them."""
        await self.answer(lambda: self.records.say(self.body))


class TakenOut(OfTheTrainer):
    """Somebody's records taken out for good."""

    async def post(self) -> None:
        """``{"name": "..."}``.

        Raises
        ------
        HTTPError : no name came.
        """
        asked = json.loads(self.body or b"{}")
        name = asked.get("name") if isinstance(asked, dict) else None
        if not isinstance(name, str) or not name:
            raise HTTPError(400)
        await self.answer(lambda: self.records.forget(name))


class Backup(OfTheTrainer):
    """A copy of the class."""

    async def post(self) -> None:
        """Made now."""
        await self.answer(self.records.backup)


def application(prefix: str, hub: Any, desk: HandOut, records: RecordDesk) -> Application:
    """The service below a prefix.

    Parameters
    ----------
    prefix : of its addresses, such as ``/services/class``.
    hub : tells whose a token is.
    desk : the sheets.
    records : of the class.
    """
    given, base = {"hub": hub, "desk": desk, "records": records}, prefix.rstrip("/")
    return Application(
        [
            (rf"{base}/sheets", Sheets, given),
            (rf"{base}/sheets/([0-9a-zA-Z_-]{{1,40}})", OneSheet, given),
            (rf"{base}/records", Records, given),
            (rf"{base}/records/([\w-]{{1,64}})", OneAttempt, given),
            (rf"{base}/now", Now, given),
            (rf"{base}/class", WholeClass, given),
            (rf"{base}/class/words", TrainersWords, given),
            (rf"{base}/class/forget", TakenOut, given),
            (rf"{base}/class/backup", Backup, given),
        ]
    )


async def serve() -> None:
    """Listen where the hub said, for as long as the hub is there."""
    folder = class_folder()
    desk, records = HandOut(folder), RecordDesk(folder)
    await Listening(lambda prefix, hub: application(prefix, hub, desk, records)).until_the_hub_is_gone()


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt):  # the class is closed: the hub ends its services by Ctrl-C
        asyncio.run(serve())
