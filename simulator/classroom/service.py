"""The service of a class that hands things out: asked by every learner's page, written to by the trainer's alone.

``python -m simulator.classroom.service`` is started by the hub, which tells it where to listen. Who asks is told by the
hub from the token that came with the question, so nobody speaks for another.
"""

from __future__ import annotations

import asyncio
import json
import os
from typing import Any
from urllib.parse import urlparse

from jupyterhub.services.auth import HubAuth
from tornado.httpserver import HTTPServer
from tornado.web import Application, HTTPError, RequestHandler

from simulator.classroom.call_sheet import MAX_BYTES, read_file_text
from simulator.classroom.handing_out import HandOut, as_raw
from simulator.classroom.people import TRAINER
from simulator.classroom.places import class_folder
from simulator.errors import SimulatorError

BEARER = "token "


class Asked(RequestHandler):
    """A question to the service; every answer is JSON, a mistake a sentence."""

    def initialize(self, hub: Any, desk: HandOut) -> None:
        """Called by tornado.

        Parameters
        ----------
        hub : tells whose a token is.
        desk : the sheets.
        """
        self.hub, self.desk = hub, desk

    async def prepare(self) -> None:
        """Ask the hub who this is.

        Raises
        ------
        HTTPError : the hub does not know the token, or a learner's page wants to write.
        """
        header = self.request.headers.get("Authorization", "")
        token = header.removeprefix(BEARER) if header.startswith(BEARER) else ""
        model = await asyncio.to_thread(self.hub.user_for_token, token) if token else None
        if not model or model.get("kind") != "user":
            raise HTTPError(403)
        self.account = str(model["name"])
        if self.request.method != "GET" and self.account != TRAINER:
            raise HTTPError(403)

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
            self.set_status(400)
        self.finish(json.dumps({"sentence": str(error) if known else self._reason}))


class Sheets(Asked):
    """All that is handed out, and handing out one more."""

    def get(self) -> None:
        """For everybody of the class."""
        ring = [each.key.as_dict() | {"until": each.until} for each in self.desk.ring().keys]
        self.finish(json.dumps(as_raw(self.desk.given()) | {"ring": ring}))

    def post(self) -> None:
        """A sheet, as its file has it."""
        self.desk.hand_out(read_file_text(self.request.body, "call sheet"))
        self.finish("{}")


class OneSheet(Asked):
    """One sheet: its envelopes opened or shut, or taken back."""

    def put(self, sheet: str) -> None:
        """``{"open": true}`` or false.

        Parameters
        ----------
        sheet : its id.
        """
        asked = json.loads(self.request.body or b"{}")
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


def application(prefix: str, hub: Any, desk: HandOut) -> Application:
    """The service below a prefix.

    Parameters
    ----------
    prefix : of its addresses, such as ``/services/class``.
    hub : tells whose a token is.
    desk : the sheets.
    """
    given, base = {"hub": hub, "desk": desk}, prefix.rstrip("/")
    return Application(
        [(rf"{base}/sheets", Sheets, given), (rf"{base}/sheets/([0-9a-zA-Z_-]{{1,40}})", OneSheet, given)]
    )


async def serve() -> None:
    """Listen where the hub said."""
    where = urlparse(os.environ["JUPYTERHUB_SERVICE_URL"])
    app = application(os.environ["JUPYTERHUB_SERVICE_PREFIX"], HubAuth(), HandOut(class_folder()))
    HTTPServer(app, max_body_size=2 * MAX_BYTES).listen(where.port or 0, "127.0.0.1")
    await asyncio.Event().wait()


if __name__ == "__main__":
    asyncio.run(serve())
