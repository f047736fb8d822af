"""A class for tests: the real service on a port of its own, that can be away for a while, and who its learners are."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tornado.httpserver import HTTPServer
from tornado.ioloop import IOLoop
from tornado.netutil import bind_sockets

from simulator.classroom.handing_out import HandOut
from simulator.classroom.people_and_pins import People
from simulator.classroom.question import MAX_READ
from simulator.classroom.record_desk import Pace, RecordDesk
from simulator.classroom.service import application

PREFIX = "/services/class"
NAMES = ("Ada Quill", "Bo Marsh", "Cy Dale")


class Hub:
    """Knows whose a token is, as the hub does: ``t`` is the trainer's, ``token-1`` that of learner 1."""

    def user_for_token(self, token: str) -> dict[str, str] | None:
        kind, _, number = token.partition("-")
        if token == "t":
            return {"kind": "user", "name": "trainer"}
        return {"kind": "user", "name": f"learner-{number}"} if kind in ("token", "again") else None


def a_class(folder: Path, names: tuple[str, ...] = NAMES) -> Path:
    """The folder of a class of learners who have logged in before."""
    people = People(folder)
    for name in names:
        people.add(name, "")
    return folder


class Service:
    """The service, there or away, always at the same address.

    Parameters
    ----------
    folder : of the class.
    place : path or URL of the records.
    keys : folder of the trainer's keys.
    """

    def __init__(self, folder: Path, place: str | Path, keys: Path | None = None, pace: Pace | None = None):
        self._given = folder, place, keys, pace
        self._port = 0
        self._found: dict[str, Any] = {}
        self._thread: threading.Thread | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self._port}{PREFIX}"

    def __enter__(self) -> Service:
        self.come()
        return self

    def __exit__(self, *_: object) -> None:
        self.go()

    def come(self) -> None:
        ready = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(ready,), daemon=True)
        self._thread.start()
        assert ready.wait(30)

    def go(self) -> None:
        """Be away: nobody listens any more."""
        if self._thread is None:
            return
        self._found["loop"].add_callback(self._stop)
        self._thread.join(30)
        self._thread = None

    def _stop(self) -> None:
        self._found["server"].stop()
        self._found["loop"].stop()

    def made(self) -> tuple[Any, Callable[[], None]]:
        """The application, and what lets go of its records."""
        folder, place, keys, pace = self._given
        records = RecordDesk(folder, place, pace)
        return application(PREFIX, Hub(), HandOut(folder, keys), records), records.close

    def _run(self, ready: threading.Event) -> None:
        loop = IOLoop(make_current=True)
        app, close = self.made()
        server = HTTPServer(app, max_body_size=MAX_READ)
        sockets = bind_sockets(self._port, "127.0.0.1")
        server.add_sockets(sockets)
        self._port = sockets[0].getsockname()[1]
        self._found = {"loop": loop, "server": server}
        loop.add_callback(ready.set)
        loop.start()
        close()
        loop.close()
