"""A question to a service of a class: whose it is, what comes with it, and how it is answered or refused.

Who asks is told by the hub from the token that came with the question, so nobody speaks for another.
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

from simulator.classroom.people_and_pins import TRAINER
from simulator.classroom.record_desk import NotYours, RecordDesk, RecordsAway, TooMuch
from simulator.errors import SimulatorError
from simulator.texts import text

BEARER = "token "
NAME = "class"  # of the records' service at the hub
TOKEN_KNOWN = 60  # [s] for which the hub is not asked again whose a token is
MOST = 64 * 1024  # [byte] of a body
MAX_READ = 64 * 1024 * 1024  # [byte] of a body that is read to its end, kept or not; a larger one is cut off
HUB_GONE = 2.0  # [s] between two looks whether the hub that started a service is still there
_STATUS: tuple[tuple[type[SimulatorError], int], ...] = ((NotYours, 403), (TooMuch, 429), (RecordsAway, 503))
_log = logging.getLogger(__name__)


@stream_request_body
class Question(RequestHandler):
    """A question to the service; every answer is JSON, a mistake a sentence. Who asks is known before a body is read.

    Of a question that is refused the body is still read, and thrown away as it comes: who hung up on somebody who still
    sends would look away, and their page would try the same again.
    """

    most = MOST  # [byte] of a body

    def initialize(self, hub: Any, records: Callable[[], RecordDesk]) -> None:
        """Called by tornado.

        Parameters
        ----------
        hub : tells whose a token is.
        records : gives those of the class, which know an account's pace.
        """
        self.hub, self._records = hub, records
        self._pieces: list[bytes] = []
        self._size = 0  # [byte] of the pieces
        self._why: Exception | None = None  # it is refused

    @property
    def records(self) -> RecordDesk:
        """The records of the class."""
        return self._records()

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


class Listening:
    """A service that listens where the hub said, for as long as the hub is there.

    Parameters
    ----------
    made : gives the application below a prefix, whose questions ask the hub that comes with it.
    """

    def __init__(self, made: Callable[[str, HubAuth], Application]) -> None:
        self._hub = os.getppid()
        where = urlparse(os.environ["JUPYTERHUB_SERVICE_URL"])
        app = made(os.environ["JUPYTERHUB_SERVICE_PREFIX"], HubAuth(cache_max_age=TOKEN_KNOWN))
        HTTPServer(app, max_body_size=MAX_READ).listen(where.port or 0, "127.0.0.1")

    async def until_the_hub_is_gone(self) -> None:
        """Wait: one that outlived its hub would answer nobody, and hold the records."""
        while os.getppid() == self._hub:
            await asyncio.sleep(HUB_GONE)
