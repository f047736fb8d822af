"""Can a learner who writes code find the truth of a sealed call? A class by the real command, a learner in a browser.

With accounts of their own nothing may be found: in files that the account can read, in environments and memory of
processes, among live objects, in the page, its messages and the browser's storage. Under one account for all the same
search finds it, which shows that it can find; there sheets say "not sealed".

Needs an administrator on Linux: accounts are made, and taken away again.
"""

from __future__ import annotations

import json
import os
import pwd
import re
import secrets
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil
import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.classroom import own_accounts
from simulator.classroom.call_sheet import CallSheet, signed
from simulator.classroom.handing_out import HandOut
from simulator.instruments.checks import CHECKS
from simulator.scenario import scenario_hash
from simulator.signing.ring import make_key
from simulator.texts import text
from tests.browser.conftest import free_port, shoot, wait_ready
from tests.sealed.conftest import NOW, the_call

PROJECT = Path(__file__).parents[2]
PACE = 5.0  # [-] run seconds a second at which a page plays a run that nobody touches
READY = 300  # [s] for the class and for a page, on a busy machine
LEFT_OUT = ("playwright", "ruff*", "mypy*", "node_modules", "*.map")
#: Drawn anew each time, so that nothing on this machine has them but the class.
SIZE, SEED = 0.004 + secrets.randbelow(10**6) * 4e-9, secrets.randbelow(10**9) + 10**9
#: Where programs, and people who work here, leave what others may read.
EVERYWHERE = (
    "/home",
    "/tmp",
    "/var/tmp",
    "/dev/shm",
    "/run",
    "/var/lib",
    "/var/log",
    "/var/spool",
    "/srv",
    "/mnt",
    "/etc",
    "/root",
)
pytestmark = [
    pytest.mark.full,
    pytest.mark.skipif(bool(own_accounts.why_not()), reason=own_accounts.why_not()),
]


@dataclass
class OpenClass:
    """A class that is open."""

    address: str
    folder: Path
    word: str
    project: Path
    process: int


@pytest.fixture(scope="module")
def program() -> Iterator[tuple[Path, Path]]:
    """The program and its packages in a place that all users of the machine can reach."""
    place = Path(tempfile.mkdtemp(prefix="a-class-", dir="/var/tmp"))
    place.chmod(0o711)
    leave = shutil.ignore_patterns(*LEFT_OUT)
    for name in ("simulator", "binder", "lessons"):
        shutil.copytree(PROJECT / name, place / "project" / name, ignore=leave, symlinks=True)
    shutil.copytree(sys.prefix, place / "packages", ignore=leave, symlinks=True)
    system = shutil.which(f"python3.{sys.version_info.minor}", path="/usr/bin:/usr/local/bin")
    if system is None:  # this one may lie in somebody's home
        pytest.skip("no Python of the system's that all users of this machine can start")
    (place / "packages" / "bin" / "python3").unlink()
    (place / "packages" / "bin" / "python3").symlink_to(system)
    (place / "packages" / "pyvenv.cfg").write_text(f"home = {Path(system).parent}\n")
    yield place / "project", place / "packages"
    shutil.rmtree(place, ignore_errors=True)


@contextmanager
def opened(program: tuple[Path, Path], folder: Path, *, parted: bool) -> Iterator[OpenClass]:
    """The class, with one sealed sheet handed out."""
    project, packages = program
    key = make_key("R. Ferrow", NOW, folder / "keys")
    sheet = CallSheet("monday", "Monday", (the_call(size=SIZE, seed=SEED),), sealed=True)
    (folder / "class").mkdir()
    HandOut(folder / "class", folder / "keys").hand_out(signed(sheet, key, NOW))
    port, said = free_port(), folder / "said.txt"
    kept = {
        name: value for name, value in os.environ.items() if not name.startswith(("SIMULATOR_", "PYTEST"))
    }
    variables = kept | {
        "SIMULATOR_CLASS_DIR": str(folder / "class"),
        "SIMULATOR_KEY_DIR": str(folder / "keys"),
        "SIMULATOR_CACHE_DIR": str(folder / "cache"),
        "PYTHONPATH": str(project),
        "PYTHONUNBUFFERED": "1",
    }
    command = [packages / "bin" / "python", project / "binder" / "hub" / "run_class.py", "--no-browser"]
    command += ["--port", str(port), *(["--own-accounts"] if parted else [])]
    with said.open("wb") as record:
        run = subprocess.Popen(
            command, env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT
        )
    try:
        late = time.monotonic() + READY
        while "The page for the wall" not in said.read_text():
            assert run.poll() is None, said.read_text()
            assert time.monotonic() < late, said.read_text()
            time.sleep(0.3)
        assert ("sealed calls are sealed" in said.read_text()) == parted
        word = json.loads((folder / "class" / "class.json").read_text())["class_word"]
        yield OpenClass(f"http://127.0.0.1:{port}", folder / "class", word, project, run.pid)
    finally:
        children = psutil.Process(run.pid).children(recursive=True) if run.poll() is None else []
        run.send_signal(signal.SIGINT)
        run.wait(90)
        _, left = psutil.wait_procs(children, timeout=30)
        for each in left:
            each.kill()
        own_accounts.remove_account("learner-1")


RUN_CODE = """async ([code, account]) => {
  const base = `/user/${account}/`;
  const xsrf = document.cookie.match(/_xsrf=([^;]+)/)?.[1] ?? "";
  const headers = {"X-XSRFToken": xsrf};
  const sessions = await (await fetch(base + "api/sessions", {headers})).json();
  if (!Array.isArray(sessions)) return [JSON.stringify(sessions)];
  const kernel = sessions.find((each) => each.path.includes("09_practice")).kernel.id;
  const socket = new WebSocket(`ws://${location.host}${base}api/kernels/${kernel}/channels?session_id=looking&_xsrf=${xsrf}`);
  await new Promise((open, shut) => { socket.onopen = open; socket.onerror = () => shut("no line to the kernel"); });
  const number = "look" + Math.random();
  const header = {msg_id: number, username: "", session: "looking", msg_type: "execute_request", version: "5.3",
                  date: "2026-01-01T00:00:00Z"};
  const content = {code, silent: false, store_history: false, user_expressions: {}, allow_stdin: false,
                   stop_on_error: true};
  const said = [];
  const done = new Promise((end) => { socket.onmessage = (event) => {
    const message = JSON.parse(event.data);
    if (message.parent_header?.msg_id !== number) return;
    if (message.msg_type === "error") said.push(message.content.traceback.join("\\n"));
    if (message.msg_type === "status" && message.content.execution_state === "idle") end();
  }; });
  socket.send(JSON.stringify({header, parent_header: {}, metadata: {}, content, channel: "shell", buffers: []}));
  await done;
  socket.close();
  return said;
}"""
STORAGE = """async () => {
  const out = [JSON.stringify({...localStorage}), JSON.stringify({...sessionStorage}), document.cookie];
  for (const {name} of await indexedDB.databases()) {
    const asked = indexedDB.open(name);
    const base = await new Promise((ok) => { asked.onsuccess = () => ok(asked.result); });
    for (const shelf of base.objectStoreNames) {
      const all = base.transaction(shelf).objectStore(shelf).getAll();
      out.push(JSON.stringify(await new Promise((ok) => { all.onsuccess = () => ok(all.result); })));
    }
  }
  for (const name of await caches.keys()) out.push(name);
  return out.join("\\n");
}"""
THERE = """
import gc, json
open(ANSWER, "w").write(json.dumps(any(type(each).__name__ == "PracticeYard" for each in gc.get_objects())))
"""
#: The engine is started and watched, and something is looked at, by the messages that the page sends.
PLAY = """
import gc, json
from simulator.panels.lessons.practice_yard.yard import PracticeYard
yard = next(each for each in gc.get_objects() if issubclass(type(each), PracticeYard))  # a widget has a class of its own
def tell(**message):
    yard._receive(yard, message, [])
for number, (action, args) in enumerate([("predict", {"question": "sound_prime_time", "answer": 40}), ("put_on_ppe", {}),
        ("secure_discharge", {}), ("check", {"check": "walk_round"}), ("start_engine", {})]):
    tell(kind="act", id=f"cell {number}", run=yard.page["run"]["id"], shown=None, action=action, args=args)
for second in range(40):
    tell(**{"kind": "need", "run": 1, "from": 0.0, "shown": float(second)})
tell(kind="act", id="cell look", run=1, shown=40.0, action="check", args={"check": "exhaust_stream"})
open(ANSWER, "w").write(json.dumps({"call": yard.played.id, "run": yard.page["run"]}))
"""
#: The same press again and again, as somebody who does not believe that it stands still.
PRESS = """
tell(kind="act", id="cell press", run=1, shown=41.0, action="check", args={"check": "listen_line"})
open(ANSWER, "w").write(json.dumps({"trouble": yard.played.trouble, "notice": yard.page["notice"],
                                    "run": yard.page["run"], "notes": [each["text"] for each in yard.page["notes"]]}))
"""


def hidden(written: str) -> str:
    """A pattern that finds a text and not itself."""
    return "".join(f"[{each}]" if number % 3 == 1 else re.escape(each) for number, each in enumerate(written))


def wanted() -> dict[str, str]:
    """What nobody may find: the size as written and as a number in memory, seed, hash, and the fault beside its size."""
    in_memory = struct.pack("<d", 1e3 * SIZE), struct.pack("<d", SIZE)
    number = ["".join(f"[\\x{byte:02x}]" for byte in each) for each in in_memory]
    return {
        "size": hidden(f"{1e3 * SIZE:g}"),
        "seed": hidden(str(SEED)),
        "hash": hidden(scenario_hash(the_call(size=SIZE, seed=SEED))),
        "size in memory": f"{number[0]}|{number[1]}",
    }


def tell(what: Any) -> None:
    """Into the captured output, for whoever wants the figures (``-rP``)."""
    sys.stdout.write(json.dumps(what) + "\n")


def run_cell(page: Page, account: str, code: str) -> None:
    said = page.evaluate(RUN_CODE, [code, account])
    assert said == [], said


def killed_and_gone_on(room: OpenClass, page: Page, answer: Path) -> None:
    """Where the call is played is killed: the page says that it stands still, and it goes on at the same second."""
    shoot(page, "a_sealed_call")
    (played,) = (
        each
        for each in psutil.Process(room.process).children(recursive=True)
        if "simulator.sealed.service" in each.cmdline()
    )
    played.kill()
    run_cell(page, "learner-1", PRESS)
    said = json.loads(answer.read_text())
    assert said["notice"] == text("sheets.stands_still")
    expect(page.locator("body")).to_contain_text(text("sheets.stands_still_badge"))
    shoot(page, "a_sealed_call_stands_still")
    stood = said["run"]["shown"]
    late = time.monotonic() + READY
    pressed = time.monotonic()
    while said["trouble"] and time.monotonic() < late:
        time.sleep(2.0)
        pressed = time.monotonic()
        run_cell(page, "learner-1", PRESS)
        said = json.loads(answer.read_text())
    assert said["trouble"] == ""
    # The look itself takes its minutes, beside an engine that runs; the page may have played on since, at its pace.
    played_on = PACE * (time.monotonic() - pressed)
    gone_on = said["run"]["shown"] - stood - 60.0 * CHECKS["listen_line"].minutes
    tell({"stood at": stood, "then": said["run"]["shown"]})
    assert said["run"]["id"] == 1
    assert 0.0 <= gone_on <= played_on + 1.0
    assert sum("hiss" in each or "Listen" in each for each in said["notes"]) <= 2  # the press acted once


def found_by_a_learner(
    room: OpenClass, browser: Browser, home: Path, roots: list[str]
) -> tuple[dict[str, Any], bytes]:
    """Log in, play the sealed call, search: what the cell found, and all that came into the browser."""
    heard: list[bytes] = []
    context = browser.new_context()
    page = context.new_page()
    page.set_default_timeout(60_000)

    def listen(socket: Any) -> None:
        socket.on("framereceived", lambda raw: heard.append(raw.encode() if isinstance(raw, str) else raw))

    page.on("websocket", listen)
    page.goto(room.address)
    for field, value in (("name", "Ada Quill"), ("word", room.word), ("pin", "4711"), ("again", "4711")):
        page.locator(f"#{field}").fill(value)
    page.get_by_role("button", name="Come in").click()
    page.wait_for_url("**/user/learner-1/doc/tree/lessons/00_*", timeout=READY * 1000)
    wait_ready(page, timeout=READY)
    page.goto(f"{room.address}/user/learner-1/doc/tree/lessons/09_practice_yard.ipynb")
    wait_ready(page, timeout=READY)
    expect(page.locator("body")).to_contain_text("Sallow Mere", timeout=READY * 1000)

    answer = home / "found.json"
    late, there = time.monotonic() + READY, False
    while not there and time.monotonic() < late:  # the sheet's rows stand on the page before the call does
        time.sleep(1.0)
        run_cell(page, "learner-1", f"ANSWER = {str(answer)!r}\n{THERE}")
        there = json.loads(answer.read_text())
    run_cell(page, "learner-1", f"ANSWER = {str(answer)!r}\n{PLAY}")
    played = json.loads(answer.read_text())
    assert played["call"].startswith("at-service-")
    assert played["run"]["shown"] >= 39.0
    killed_and_gone_on(room, page, answer)
    cell = Path(__file__).with_name("search_cell.py").read_text(encoding="utf-8")
    told = f"WANTED, ROOTS, ANSWER = {wanted()!r}, {roots!r}, {str(answer)!r}\n"
    run_cell(page, "learner-1", told + cell.replace("from __future__ import annotations\n", ""))
    everything = b"\n".join([*heard, page.content().encode(), page.evaluate(STORAGE).encode()])
    context.close()
    return json.loads(answer.read_text()), everything


def test_with_accounts_of_their_own_nothing_is_found(
    program: tuple[Path, Path], browser: Browser, tmp_path: Path
) -> None:
    with opened(program, tmp_path, parted=True) as room:
        found, came = found_by_a_learner(
            room, browser, Path("/home/class-learner-1"), [*EVERYWHERE, str(room.project), str(tmp_path)]
        )
        me = pwd.getpwnam("class-learner-1").pw_uid
        tell({name: found[name] for name in ("looked", "others", "uid", "finds")})
    assert found["uid"] == me != 0
    assert found["finds"] == []
    assert found["looked"]["files"] > 500
    assert found["looked"]["own"] >= 2  # server and kernel
    assert found["looked"]["regions"] > 50
    for part in ("environ", "mem"):
        tried, read = found["others"][part]
        assert tried > 5
        assert read == 0
    assert len(came) > 200_000
    for name, pattern in wanted().items():
        if name != "size in memory":
            assert not re.search(pattern.encode("latin-1"), came), name
    with pytest.raises(KeyError):
        pwd.getpwnam("class-learner-1")  # the account has gone with the learner


def test_under_one_account_the_same_search_finds_it(
    program: tuple[Path, Path], browser: Browser, tmp_path: Path
) -> None:
    with opened(program, tmp_path, parted=False) as room:
        found, came = found_by_a_learner(
            room, browser, room.folder / "learners" / "learner-1", [str(tmp_path), str(room.project)]
        )
    where = sorted({re.sub(r"/proc/\d+", "/proc/N", place) for _, place in found["finds"]})
    tell(where)
    assert any("handed_out.json" in place for place in where)
    assert any("records" in place for place in where)
    assert any(place.endswith("mem") for place in where)  # the service that plays it
    assert not re.search(wanted()["size"].encode("latin-1"), came)  # the page is told no more than elsewhere
    assert text("sheets.sitting_not_sealed").startswith("Not sealed")
