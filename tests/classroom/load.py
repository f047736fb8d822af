"""A class under load: simulated learners come in by real log-ins and play a call each, as their pages would.

``python -m tests.classroom.load --learners 30`` opens a class of its own on loopback, in a folder that goes away, and
prints the figures. Each learner logs in at the door, waits for the server, opens the practice yard in a kernel,
runs its cells, and plays one call over the kernel's own channel: the messages are those of the page, only nobody draws
them. Between two presses they wait as people do. Nothing but this machine is asked, and it ends after ``--minutes``.

usable
    From the bell (all log in at once) until the call stands on a learner's page [s].
click to answer
    From an act sent until its acknowledgement [s], at the page's own message.
memory
    Of hub, proxy, service, servers and kernels together, shared pages counted once (PSS) [byte]; the highest seen.
back
    With ``--idle``: pages are left, servers and kernels are ended for want of use, and everybody comes in again: the call
    must stand at the same second with the same steps.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import html
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import AsyncIterator, Iterator, Sequence
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

import aiohttp
import psutil

from simulator.texts import text

PROJECT = Path(__file__).parents[2]
NOTEBOOK = "09_practice_yard.ipynb"
OPENING = 240.0  # [s] for the class itself
PATIENCE = 300.0  # [s] for a page, on a machine that is too small
THINKING = (2.0, 6.0)  # [s] between two presses
RUN = 40  # [s] that the engine is watched
LOOK_EVERY = 3.0  # [s] between two looks at the memory
ACTS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("put_on_ppe", {}),
    ("predict", {"question": "sound_prime_time", "answer": 40}),
    ("check", {"check": "walk_round"}),
    ("secure_discharge", {}),
    ("start_engine", {}),
    ("check", {"check": "gauges"}),
    ("call", {"markers": {"drain_open": 4, "something_else": 6}}),
    ("stop_engine", {}),
    ("isolate_and_tag", {}),
)


@dataclass
class Figures:
    """What a class came to."""

    learners: int = 0
    usable: list[float] = field(default_factory=list)  # [s]
    clicks: list[float] = field(default_factory=list)  # [s]
    refused: int = 0  # acts that the rig refused, which is an answer too
    dead: int = 0  # kernels
    failed: list[str] = field(default_factory=list)  # sentences
    memory: float = 0.0  # [byte] PSS, highest
    before: float = 0.0  # [byte] PSS, with nobody in
    culled: int = 0
    back: int = 0
    moved: list[str] = field(
        default_factory=list
    )  # who came back to another second or other steps, and to which
    waited: int = 0  # who saw on the page how many come first
    seconds: float = 0.0

    def lines(self) -> str:
        """The figures, in words."""
        each = (self.memory - self.before) / max(self.learners, 1)
        out = [
            f"learners {self.learners}, kernels dead {self.dead}, failed {len(self.failed)}, {self.seconds:.0f} s",
            (
                f"usable: {len(self.usable)}, last after {max(self.usable, default=0):.0f} s, "
                f"half after {median(self.usable or [0]):.0f} s, told to wait {self.waited}"
            ),
            (
                f"click to answer: {len(self.clicks)} clicks, median {share(self.clicks, 0.5):.2f} s, "
                f"p95 {share(self.clicks, 0.95):.2f} s, longest {max(self.clicks, default=0):.2f} s, "
                f"refused {self.refused}"
            ),
            (
                f"memory: {self.memory / 1e9:.2f} GB at most, {self.before / 1e9:.2f} GB with nobody in, "
                f"{each / 1e6:.0f} MB a learner"
            ),
        ]
        if self.culled or self.back:
            out.append(
                f"ended for want of use {self.culled}, back {self.back}, at another second {len(self.moved)}"
            )
        return "\n".join([*out, *self.moved, *self.failed[:10]]) + "\n"


def share(values: Sequence[float], part: float) -> float:
    """The value below which a part of all lies, the nearest one; 0 of none."""
    ordered = sorted(values)
    return ordered[min(int(part * len(ordered)), len(ordered) - 1)] if ordered else 0.0


@dataclass(frozen=True)
class Room:
    """An open class."""

    address: str
    word: str
    process: int


@contextmanager
def opened(idle: float) -> Iterator[Room]:
    """A class of its own on loopback, in a folder that goes away."""
    with tempfile.TemporaryDirectory(prefix="class") as name:
        folder = Path(name)
        said = folder / "said.txt"
        variables = os.environ | {
            "SIMULATOR_CLASS_DIR": str(folder / "class"),
            "SIMULATOR_KEY_DIR": str(folder / "keys"),
            "SIMULATOR_CLASS_IDLE_S": f"{idle:.0f}" if idle else "",
            "PYTHONPATH": str(PROJECT),
            "PYTHONUNBUFFERED": "1",
        }
        with said.open("wb") as record:
            run = subprocess.Popen(
                [sys.executable, str(PROJECT / "binder" / "hub" / "run_class.py"), "--no-browser"],
                env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT,
            )  # fmt: skip
        try:
            late = time.monotonic() + OPENING
            while "The page for the wall" not in said.read_text():
                if run.poll() is not None or time.monotonic() > late:
                    raise SystemExit(said.read_text())
                time.sleep(0.3)
            found = json.loads((folder / "class" / "opened.json").read_text())
            word = json.loads((folder / "class" / "class.json").read_text())["class_word"]
            yield Room(str(found["address"]), str(word), run.pid)
        finally:
            run.send_signal(signal.SIGINT)
            with contextlib.suppress(subprocess.TimeoutExpired):
                run.wait(120)
            if run.poll() is None:
                run.kill()


def memory_of(process: int) -> float:
    """What a process and all that it started hold [byte], pages that are shared counted once."""
    total = 0.0
    with contextlib.suppress(psutil.Error):
        whole = psutil.Process(process)
        for each in [whole, *whole.children(recursive=True)]:
            with contextlib.suppress(psutil.Error):
                total += float(each.memory_full_info().pss)
    return total


class Learner:
    """One learner: a browser's worth of cookies, a kernel, a call."""

    def __init__(self, room: Room, number: int, figures: Figures, session: aiohttp.ClientSession) -> None:
        self.room, self.figures, self.session = room, figures, session
        self.name, self.pin = f"Learner {number:02d}", f"{1000 + number}"
        self.chance = random.Random(number)
        self.account = self.kernel = self.panel = ""
        self.page: dict[str, Any] = {}
        self.told: list[str] = []  # on the page that waits for a server
        self.played = False
        self._socket: Any = None
        self._waiting: dict[str, asyncio.Future[Any]] = {}
        self._reader: asyncio.Task[None] | None = None
        self._session_id = uuid.uuid4().hex

    # coming in

    async def come_in(self) -> None:
        """The door, and the server behind it."""
        door = f"{self.room.address}hub/login"
        async with self.session.get(door) as reply:
            token = _field(await reply.text(), "_xsrf")
        typed = {
            "name": self.name,
            "word": self.room.word,
            "pin": self.pin,
            "again": self.pin,
            "_xsrf": token,
            "next": "",
        }
        async with self.session.post(door, data=typed) as reply:
            await reply.text()
            if reply.status not in (
                200,
                424,
                503,
            ):  # a server that has just ended by itself: one opens it again
                raise RuntimeError(f"{self.name}: the door said {reply.status}")
        late = time.monotonic() + PATIENCE
        while time.monotonic() < late:
            async with self.session.get(f"{self.room.address}hub/spawn") as reply:
                page = await reply.text()
                if reply.status == 503 and text("classroom.starting.again_soon") in page:
                    await asyncio.sleep(3.0)  # the server has just ended by itself: the page tries again
                    continue
                if reply.status >= 400:
                    raise RuntimeError(f"{self.name}: turned away with {reply.status}")
                found = re.search(r"/user/(learner-\d+)/", str(reply.url))
                if found and "/hub/" not in str(reply.url):
                    self.account = found[1]
                    return
            await self._wait_as_told(page)
        raise RuntimeError(f"{self.name}: no server after {PATIENCE:.0f} s")

    async def _wait_as_told(self, page: str) -> None:
        """The page that says what is waited for is open, until its line says that the server is there."""
        line = re.search(r'EventSource\("([^"]+)"\)', page)
        if line is None:
            await asyncio.sleep(1.0)
            return
        address = self.room.address.rstrip("/") + html.unescape(line[1])
        async with self.session.get(address) as told:
            async for row in told.content:
                if not row.startswith(b"data:"):
                    continue
                said = json.loads(row[5:])
                if said.get("said"):
                    self.told.append(said["said"])
                if said.get("failed"):
                    raise RuntimeError(f"{self.name}: {said.get('message')}")
                if said.get("ready"):
                    return

    @property
    def own(self) -> str:
        """The address of the learner's server."""
        return f"{self.room.address}user/{self.account}/"

    def _headers(self) -> dict[str, str]:
        jar = self.session.cookie_jar.filter_cookies(_url(self.own + "api"))
        return {
            "X-XSRFToken": jar["_xsrf"].value if "_xsrf" in jar else "",
            "Origin": self.room.address.rstrip("/"),
        }

    async def open_page(self) -> None:
        """A kernel for the notebook, and its cells one after another."""
        asked = {
            "kernel": {"name": "python3"},
            "name": NOTEBOOK,
            "path": f"lessons/{NOTEBOOK}",
            "type": "notebook",
        }
        async with self.session.post(f"{self.own}api/sessions", json=asked, headers=self._headers()) as reply:
            found = await reply.json()
            if reply.status not in (200, 201):
                raise RuntimeError(f"{self.name}: no kernel ({reply.status}: {found})")
            self.kernel = str(found["kernel"]["id"])
        channels = f"{self.own}api/kernels/{self.kernel}/channels?session_id={self._session_id}"
        self._socket = await self.session.ws_connect(channels, headers=self._headers(), max_msg_size=0)
        self._reader = asyncio.create_task(self._read())
        content = json.loads((PROJECT / "lessons" / NOTEBOOK).read_text(encoding="utf-8"))
        for cell in content["cells"]:
            if cell["cell_type"] == "code":
                await self._run("".join(cell["source"]))
        if not self.panel:
            raise RuntimeError(f"{self.name}: no call came onto the page")

    async def _run(self, code: str) -> None:
        sent = await self._send("execute_request", {"code": code, "silent": False, "store_history": True,
                                                    "user_expressions": {}, "allow_stdin": False,
                                                    "stop_on_error": True})  # fmt: skip
        await self._answer(f"idle {sent}")

    async def _send(self, kind: str, content: dict[str, Any]) -> str:
        number = uuid.uuid4().hex
        header = {"msg_id": number, "username": "", "session": self._session_id, "msg_type": kind, "version": "5.3",
                  "date": "2026-01-01T00:00:00Z"}  # fmt: skip
        message = {"header": header, "parent_header": {}, "metadata": {}, "content": content, "channel": "shell",
                   "buffers": []}  # fmt: skip
        await self._socket.send_str(json.dumps(message))
        return number

    async def _answer(self, key: str) -> Any:
        future = self._waiting.setdefault(key, asyncio.get_running_loop().create_future())
        try:
            return await asyncio.wait_for(future, PATIENCE)
        finally:
            self._waiting.pop(key, None)

    def _tell(self, key: str, value: Any = None) -> None:
        future = self._waiting.setdefault(key, asyncio.get_running_loop().create_future())
        if not future.done():
            future.set_result(value)

    async def _read(self) -> None:
        async for packet in self._socket:
            if packet.type != aiohttp.WSMsgType.TEXT:
                continue
            message = json.loads(packet.data)
            kind, content = message["header"]["msg_type"], message["content"]
            parent = message.get("parent_header", {}).get("msg_id", "")
            if kind == "status" and content["execution_state"] == "idle":
                self._tell(f"idle {parent}")
            elif kind == "status" and content["execution_state"] in ("dead", "restarting", "autorestarting"):
                self.figures.dead += 1
            elif kind == "error":
                self.figures.failed.append(f"{self.name}: {content.get('ename')}: {content.get('evalue')}")
            elif kind == "comm_open":
                state = content["data"].get("state", {})
                if "whole_window" in state and "page" in state:
                    self.panel, self.page = content["comm_id"], state["page"]
            elif kind == "comm_msg" and content.get("comm_id") == self.panel:
                data = content["data"]
                if data.get("method") == "update" and "page" in data.get("state", {}):
                    self.page = data["state"]["page"]
                elif data.get("method") == "custom" and data["content"].get("kind") == "ack":
                    self._tell(f"ack {data['content']['id']}", data["content"])

    # the call

    async def press(self, action: str, args: dict[str, Any], shown: float | None, run: int | None) -> None:
        """One press, and how long its answer took."""
        click = uuid.uuid4().hex
        message = {"kind": "act", "id": click, "run": run, "shown": shown, "action": action, "args": args}
        began = time.monotonic()
        await self._say(message)
        answer = await self._answer(f"ack {click}")
        self.figures.clicks.append(time.monotonic() - began)
        self.figures.refused += not answer["accepted"]

    async def _say(self, message: dict[str, Any]) -> None:
        await self._send(
            "comm_msg", {"comm_id": self.panel, "data": {"method": "custom", "content": message}}
        )

    async def play(self) -> None:
        """One call: looks, a start that is watched second by second, a statement; it is left open."""
        run: int | None = None
        shown: float | None = None
        for action, args in ACTS:
            await asyncio.sleep(self.chance.uniform(*THINKING))
            await self.press(action, args, shown, run)
            if action == "start_engine":
                run = (self.page.get("run") or {}).get("number")
                for second in range(1, RUN + 1):
                    await asyncio.sleep(1.0)
                    shown = float(second)
                    await self._say({"kind": "shown", "run": run, "t": shown})
                    if second % 5 == 0:
                        await self._say({"kind": "need", "run": run, "from": shown, "shown": shown})

        self.played = True

    async def leave(self) -> None:
        """The tab is closed."""
        if self._reader is not None:
            self._reader.cancel()
        if self._socket is not None:
            await self._socket.close()
        self._socket = self._reader = None

    def stands(self) -> tuple[Any, ...]:
        """Where the call stands: notes, the yard's clock, the second that is shown."""
        page = self.page
        return (len(page.get("notes", [])), page.get("header"), (page.get("run") or {}).get("shown"))


def _field(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    return found[1] if found else ""


def _url(address: str) -> Any:
    from yarl import URL

    return URL(address)


@asynccontextmanager
async def learners(room: Room, count: int, figures: Figures) -> AsyncIterator[list[Learner]]:
    """So many learners, each with cookies of their own."""
    async with contextlib.AsyncExitStack() as stack:
        out = []
        for number in range(1, count + 1):
            jar = aiohttp.CookieJar(unsafe=True)  # loopback has no name
            wait = aiohttp.ClientTimeout(total=PATIENCE)
            session = await stack.enter_async_context(aiohttp.ClientSession(cookie_jar=jar, timeout=wait))
            out.append(Learner(room, number, figures, session))
        yield out


async def drive(room: Room, figures: Figures, count: int, minutes: float, idle: float) -> None:
    """The bell, a call each, and where it is asked for: away and back."""
    bell = time.monotonic()
    looking = asyncio.create_task(_look(room, figures))
    async with learners(room, count, figures) as people:

        async def one(learner: Learner) -> None:
            try:
                await learner.come_in()
                await learner.open_page()
                figures.usable.append(time.monotonic() - bell)
                figures.waited += any("first" in said for said in learner.told)
                await learner.play()
            except (RuntimeError, OSError, TimeoutError, aiohttp.ClientError, KeyError, ValueError) as error:
                figures.failed.append(f"{learner.name}: {type(error).__name__}: {error}")

        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(asyncio.gather(*map(one, people)), 60.0 * minutes)
        if idle:
            await _away_and_back(room, figures, people, idle)
        for learner in people:
            await learner.leave()
    looking.cancel()
    figures.seconds = time.monotonic() - bell


async def _away_and_back(room: Room, figures: Figures, people: list[Learner], idle: float) -> None:
    people = [learner for learner in people if learner.played]
    before = {learner.name: learner.stands() for learner in people}
    for learner in people:
        await learner.leave()
    late = time.monotonic() + 4.0 * idle + 120.0
    while _servers(room) and time.monotonic() < late:
        await asyncio.sleep(2.0)
    figures.culled = len(people) - _servers(room)

    async def again(learner: Learner) -> None:
        learner.account = learner.panel = ""
        learner.session.cookie_jar.clear()
        await learner.come_in()
        await learner.open_page()
        figures.back += 1
        if learner.stands() != before[learner.name]:
            figures.moved.append(f"{learner.name}: {before[learner.name]} before, {learner.stands()} now")

    for outcome in await asyncio.gather(*map(again, people), return_exceptions=True):
        if isinstance(outcome, BaseException):
            figures.failed.append(f"back: {type(outcome).__name__}: {outcome}")


def _servers(room: Room) -> int:
    """How many learners' servers run."""
    found = 0
    for each in psutil.Process(room.process).children(recursive=True):
        with contextlib.suppress(psutil.Error):
            found += "jupyterhub.singleuser" in each.cmdline()
    return found


async def _look(room: Room, figures: Figures) -> None:
    while True:
        figures.memory = max(figures.memory, await asyncio.to_thread(memory_of, room.process))
        await asyncio.sleep(LOOK_EVERY)


def load(count: int, minutes: float = 10.0, idle: float = 0.0) -> Figures:
    """So many learners on a class of its own, for so many minutes at most."""
    figures = Figures(learners=count)
    with opened(idle) as room:
        time.sleep(3.0)
        figures.before = memory_of(room.process)
        asyncio.run(drive(room, figures, count, minutes, idle))
    return figures


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the figures; 1 where a kernel died or somebody could not work."""
    parser = argparse.ArgumentParser(prog="python -m tests.classroom.load", description=__doc__)
    parser.add_argument("--learners", type=int, default=30, help="how many come in at once")
    parser.add_argument("--minutes", type=float, default=10.0, help="after which it ends at the latest")
    parser.add_argument(
        "--idle", type=float, default=0.0, help="seconds after which unused pages are ended; then back"
    )
    asked = parser.parse_args(arguments)
    figures = load(asked.learners, asked.minutes, asked.idle)
    sys.stdout.write(figures.lines())
    return 1 if figures.dead or figures.failed or len(figures.usable) < asked.learners else 0


if __name__ == "__main__":
    sys.exit(main())
