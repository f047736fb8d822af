"""The service of a class: hands out what the trainer gives, and keeps the records that learners' pages hand in.

``python -m simulator.classroom.service`` is started by the hub, which tells it where to listen and starts it again
where it ends. Who asks is told by the hub from the token that came with the question, so nobody speaks for another.
"""

from __future__ import annotations

import asyncio
import json
import logging
import math
import os
from collections.abc import Callable
from typing import Any
from urllib.parse import urlparse

from jupyterhub.services.auth import HubAuth
from tornado.httpserver import HTTPServer
from tornado.web import Application, HTTPError, RequestHandler, stream_request_body

from simulator.classroom.call_sheet import MAX_BYTES, read_file_text
from simulator.classroom.handing_out import HandOut
from simulator.classroom.handing_out import as_raw as sheets_as_raw
from simulator.classroom.people import TRAINER
from simulator.classroom.places import class_folder
from simulator.classroom.record_desk import MAX_PARCEL, NotYours, RecordDesk, RecordsAway, TooMuch
from simulator.errors import SimulatorError
from simulator.texts import text

BEARER = "token "
NAME = "class"  # of this service at the hub
TOKEN_KNOWN = 60  # [s] for which the hub is not asked again whose a token is
MAX_READ = 64 * 1024 * 1024  # [byte] of a body that is read to its end, kept or not; a larger one is cut off
HUB_GONE = 2.0  # [s] between two looks whether the hub that started this is still there
_STATUS: tuple[tuple[type[SimulatorError], int], ...] = ((NotYours, 403), (TooMuch, 429), (RecordsAway, 503))
_log = logging.getLogger(__name__)


@stream_request_body
class Asked(RequestHandler):
    """A question to the service; every answer is JSON, a mistake a sentence. Who asks is known before a body is read.

    Of a question that is refused the body is still read, and thrown away as it comes: who hung up on somebody who still
    sends would look away, and their page would try the same again.
    """

    most = 2 * MAX_BYTES  # [byte] of a body

    def initialize(self, hub: Any, desk: HandOut, records: RecordDesk) -> None:
        """Called by tornado.

        Parameters
        ----------
        hub : tells whose a token is.
        desk : the sheets.
        records : of the class.
        """
        self.hub, self.desk, self.records = hub, desk, records
        self._pieces: list[bytes] = []
        self._size = 0  # [byte] of the pieces
        self._why: Exception | None = None  # it is refused

    async def prepare(self) -> None:
        """Ask the hub who this is; what is refused is said once all of the body has come."""
        try:
            await self._judge()
        except (HTTPError, SimulatorError) as error:
            self._refuse(error)

    async def _judge(self) -> None:
        header = self.request.headers.get("Authorization", "")
        token = header.removeprefix(BEARER) if header.startswith(BEARER) else ""
        model = await asyncio.to_thread(self.hub.user_for_token, token) if token else None
        model = model or {}
        itself = model.get("kind") == "service" and model.get("name") == NAME  # the hub, for its trainer
        if not itself and model.get("kind") != "user":
            raise HTTPError(403)
        self.account = TRAINER if itself else str(model["name"])
        if not (self.may_read() if self.request.method == "GET" else self.may_write()):
            raise HTTPError(403)
        size = self.request.headers.get("Content-Length", "0")
        self._check_size(int(size) if size.isdecimal() else 0)

    def may_read(self) -> bool:
        """Whether this account may read here."""
        return True

    def may_write(self) -> bool:
        """Whether this account may do more than read here."""
        return self.account == TRAINER

    def data_received(self, chunk: bytes) -> None:
        """A piece of the body.

        Parameters
        ----------
        chunk : of it.
        """
        if self._why is not None:
            return
        self._pieces.append(chunk)
        self._size += len(chunk)
        try:
            self._check_size(self._size)
        except TooMuch as error:
            self._refuse(error)

    def _refuse(self, error: Exception) -> None:
        """In place of what was asked for: the mistake."""

        def refusal(*_: str) -> None:
            raise error

        self._why = error
        self._pieces.clear()
        setattr(self, str(self.request.method).lower(), refusal)

    @property
    def body(self) -> bytes:
        """What came with the question."""
        return b"".join(self._pieces)

    async def answer(self, act: Callable[[], dict[str, Any]]) -> None:
        """Do something with the records beside the service's own loop, at the pace that an account has.

        Parameters
        ----------
        act : gives the answer.
        """
        self.records.check_pace(self.account, len(self.body))
        self.finish(json.dumps(await asyncio.to_thread(act)))

    def _check_size(self, size: int) -> None:
        if size > self.most:
            raise TooMuch(text("classroom.records.too_large", most=self.most // 1024))

    def check_xsrf_cookie(self) -> None:
        """No cookie is ever looked at here: a page cannot be made to ask in somebody's name."""

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        """The sentence of a mistake; of what went wrong inside nothing is told.

        Parameters
        ----------
        status_code : of HTTP.
        """
        error = (kwargs.get("exc_info") or (None, None))[1]
        known = isinstance(error, SimulatorError)
        if known:
            self.set_status(next((code for kind, code in _STATUS if isinstance(error, kind)), 400))
        if isinstance(error, TooMuch) and not error.wait:
            self.set_status(413)
        elif isinstance(error, TooMuch):
            self.set_header("Retry-After", str(math.ceil(error.wait)))
        self.finish(json.dumps({"sentence": str(error) if known else self._reason}))

    def log_exception(self, typ: Any, value: Any, tb: Any) -> None:
        """Into the log goes why the records are away; a mistake of somebody's page does not.

        Parameters
        ----------
        typ, value, tb : of the exception.
        """
        if isinstance(value, RecordsAway):
            _log.error("the records of the class: %s", value.__cause__)
        elif not isinstance(value, SimulatorError):
            super().log_exception(typ, value, tb)


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
    """Whether the trainer holds the class: asked by every page, again and again, so nothing is looked up for it."""

    def get(self) -> None:
        """``{"held": ...}``, for everybody of the class."""
        self.finish(json.dumps({"held": self.records.held}))

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
    where, hub = urlparse(os.environ["JUPYTERHUB_SERVICE_URL"]), os.getppid()
    folder = class_folder()
    app = application(
        os.environ["JUPYTERHUB_SERVICE_PREFIX"],
        HubAuth(cache_max_age=TOKEN_KNOWN),
        HandOut(folder),
        RecordDesk(folder),
    )
    HTTPServer(app, max_body_size=MAX_READ).listen(where.port or 0, "127.0.0.1")
    while os.getppid() == hub:  # one that outlived its hub would answer nobody, and hold the records
        await asyncio.sleep(HUB_GONE)


if __name__ == "__main__":
    asyncio.run(serve())
