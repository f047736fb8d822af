"""Another user of the same machine: token, records and kernels of a running lesson are out of reach.

The real command is started; then a process that has become somebody else looks at all there is to see. It needs Linux
and the right to become another user.
"""

from __future__ import annotations

import json
import os
import re
import socket
import stat
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil
import pytest

PROJECT = Path(__file__).parents[2]
NOBODY = 65534
LATE = 240  # [s] for a start on a busy machine

pytestmark = [
    pytest.mark.skipif(
        sys.platform != "linux" or os.geteuid() != 0,
        reason="ANOTHER USER'S VIEW WAS NOT TRIED: it needs Linux and the right to become another user (run as root)",
    ),
    pytest.mark.full,
]

#: Becomes nobody, then does what it is told on its input and answers in JSON. All modules are loaded beforehand.
STRANGER = """
import encodings.idna, glob, json, os, socket, sqlite3, sys, urllib.error, urllib.request
import zmq
os.setgroups([]); os.setgid(65534); os.setuid(65534)
given = json.load(sys.stdin)
direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))

def ask(path, method="GET", **headers):
    request = urllib.request.Request(given["address"] + path, method=method, headers=headers)
    try:
        with direct.open(request, timeout=20) as reply:
            return [reply.status, reply.read(100_000).decode("utf-8", "replace"), reply.url]
    except urllib.error.HTTPError as error:
        return [error.code, "", ""]

def read(path):
    try:
        with open(path, "rb") as file:
            return file.read(10_000_000)
    except OSError:
        return None

def walk(top):
    return [os.path.join(folder, name) for folder, _, names in os.walk(top) for name in names]

def changed(path):
    try:
        return os.lstat(path).st_mtime
    except OSError:
        return 0.0

def listen(port):
    heard = []
    keys = zmq.curve_keypair()
    for curve in (False, True):
        with zmq.Context() as context, context.socket(zmq.SUB) as ear:
            ear.setsockopt(zmq.LINGER, 0)
            ear.subscribe(b"")
            if curve:
                ear.curve_publickey, ear.curve_secretkey = keys
                ear.curve_serverkey = keys[0]
            ear.connect(f"tcp://127.0.0.1:{port}")
            while ear.poll(1500):
                heard.append(len(b"".join(ear.recv_multipart())))
    return heard

token = given["token"].encode()
lately = [path for path in walk("/tmp") + walk("/dev/shm") if changed(path) >= given["since"]]
told = glob.glob("/proc/[0-9]*/cmdline") + glob.glob("/proc/[0-9]*/environ")
found = {
    "uid": os.getuid(),
    "readable": [path for top in given["private"] for path in walk(top) if read(path) is not None],
    "listed": [top for top in given["private"] if os.access(top, os.R_OK | os.X_OK)],
    "token in": [path for path in told + lately if token in (read(path) or b"")],
    "asked": {
        f"{method} {path}": ask(path, method, **headers)[0]
        for method, path, headers in given["requests"]
    },
    "pages": [ask(path)[1:] for path in given["pages"]],
    "heard": {port: listen(port) for port in given["ports"]} if given.get("listen") else {},
}
json.dump(found, sys.stdout)
"""


@dataclass
class Running:
    """The lessons, opened by their command, with a kernel and some records."""

    address: str
    token: str
    data: Path
    browser: Path
    process: subprocess.Popen[bytes]

    def ask(self, path: str, method: str = "GET", body: Any = None) -> Any:
        request = urllib.request.Request(
            self.address + path, method=method, headers={"Authorization": f"token {self.token}"},
            data=None if body is None else json.dumps(body).encode(),
        )  # fmt: skip
        with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request, timeout=60) as reply:
            return json.loads(reply.read() or b"null")

    @property
    def state(self) -> Path:
        return PROJECT / ".lessons-environment" / "state"


def wait_for(what: Any, seconds: float = LATE) -> Any:
    late = time.monotonic() + seconds
    while time.monotonic() < late:
        if found := what():
            return found
        time.sleep(0.2)
    raise TimeoutError


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """Started with the usual mask of a desktop, which lets everybody read; a browser that notes how it was called."""
    folder = tmp_path_factory.mktemp("open")
    folder.chmod(0o755)
    for parent in (folder.parent, folder.parent.parent):
        parent.chmod(0o755)  # what is private is so by itself, not by where it lies
    data, browser, said, script = (folder / name for name in ("data", "browser", "said", "browser.py"))
    browser.write_text(f'#!/bin/sh\nexec "{sys.executable}" "{script}" "$@"\n')  # either may hold a space
    script.write_text(
        f'import pathlib, sys, urllib.request\nnote = pathlib.Path(r"{folder}") / "called"\n'
        "page = sys.argv[1]\nread = urllib.request.urlopen(page).read().decode() if page.startswith('file:') else ''\n"
        "note.with_suffix('.page').write_text(read)\nnote.write_text(page)\n"
    )
    browser.chmod(0o755)
    said.touch(mode=0o600)  # a terminal is its user's own
    variables = os.environ | {"SIMULATOR_DATA_DIR": str(data), "BROWSER": str(browser)}
    before = os.umask(0o022)
    try:
        with said.open("wb") as record:
            process = subprocess.Popen(
                [sys.executable, str(PROJECT / "binder" / "open_lessons.py")],
                env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT,
            )  # fmt: skip
    finally:
        os.umask(before)
    try:
        pattern = re.compile(r"(http://127\.0\.0\.1:\d+)/\S*token=(\S+)")
        found = wait_for(lambda: pattern.search(said.read_text(encoding="utf-8")))
        yield Running(found[1], found[2], data, folder / "called", process)
    finally:
        process.terminate()
        process.wait(60)


@pytest.fixture(scope="module")
def kernel(running: Running) -> dict[str, Any]:
    """The connection of a kernel that keeps records and talks all the time."""
    from jupyter_client.blocking.client import BlockingKernelClient

    made = running.ask("/api/kernels", "POST", {"name": "python3"})
    file = wait_for(lambda: next(running.state.glob(f"run-*/kernel-{made['id']}.json"), None))
    client = BlockingKernelClient(connection_file=str(file))
    client.load_connection_file()
    client.start_channels()

    def ready() -> bool:
        try:
            client.wait_for_ready(timeout=20)
        except RuntimeError:  # it has not answered its first heartbeat yet
            return False
        return True

    wait_for(ready)
    work = (
        "import os, pathlib, threading, time\nfrom simulator.records import Store\n"
        "store = Store.open()\n"
        "def talk():\n    while True:\n        print('something private', flush=True); time.sleep(0.2)\n"
        "threading.Thread(target=talk, daemon=True).start()\n"
    )
    reply = client.execute_interactive(work, timeout=LATE, output_hook=lambda message: None)
    assert reply["content"]["status"] == "ok", reply["content"]
    heard = client.get_iopub_msg(timeout=30)  # with the keys one hears it
    client.stop_channels()
    assert heard
    return json.loads(file.read_text(encoding="utf-8"))


def as_stranger(running: Running, **more: Any) -> dict[str, Any]:
    given = {
        "address": running.address, "token": running.token, "private": [], "requests": [], "pages": [], "ports": [],
        "since": psutil.Process(running.process.pid).create_time() - 1.0,  # what is older cannot hold the token
    } | more  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", STRANGER], input=json.dumps(given), capture_output=True, text=True, check=False,
        timeout=300, cwd="/",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    assert found["uid"] == NOBODY
    return found


def test_token_records_and_keys_cannot_be_read(running: Running, kernel: dict[str, Any]) -> None:
    private = [running.data, running.state, *running.state.iterdir()]
    assert any(running.data.iterdir()), "no records to read"
    found = as_stranger(running, private=[str(path) for path in private])
    assert found["readable"] == []
    assert found["listed"] == []
    assert found["token in"] == []
    loose = [
        path
        for path in (running.data, running.state, *running.data.rglob("*"), *running.state.rglob("*"))
        if path.exists() and stat.S_IMODE(path.stat().st_mode) & 0o077
    ]
    assert loose == []


def test_the_browser_is_led_by_a_page_that_is_taken_away(running: Running) -> None:
    called = wait_for(lambda: running.browser.is_file() and running.browser.read_text())
    assert called.startswith("file:")
    assert running.token not in called
    assert running.token in running.browser.with_suffix(".page").read_text(encoding="utf-8")
    assert wait_for(lambda: not list(running.state.glob("run-*/open-lessons.html")), 120)


def test_the_server_answers_nobody_without_the_token(running: Running, kernel: dict[str, Any]) -> None:
    paths = ("/api/kernels", "/api/sessions", "/api/contents", "/api/contents/lessons", "/api/status", "/api/terminals",
             "/files/README.md", "/nbconvert/html/lessons/00_start_here.ipynb", "/lab/api/settings")  # fmt: skip
    wrong = {"Authorization": "token " + "x" * 32}
    guess = [("GET", path, headers) for path in paths for headers in ({}, wrong, {"Authorization": "token "})]
    guess += [("POST", path, {}) for path in ("/api/kernels", "/api/shutdown", "/api/terminals", "/login")]
    guess += [("PUT", "/api/contents/lessons/mine.ipynb", {}), ("DELETE", "/api/contents/README.md", {})]
    pages = ["/", "/lab", "/doc/tree/lessons/00_start_here.ipynb", "/tree", "/?token=", "/lab?token=wrong"]
    found = as_stranger(running, requests=guess, pages=pages)
    let_in = {what: code for what, code in found["asked"].items() if code not in (302, 403, 404, 405)}
    signed = [what for what in let_in if "/login" not in what.partition(" ")[2]]
    in_page = [
        text for text, address in found["pages"] if "jupyter-config-data" in text and "/login" not in address
    ]
    # pages of files are led to the log-in, where nothing of ours stands
    names = [what for what in signed if what.split(" ")[1] not in paths[6:]]
    assert names == [], let_in
    assert in_page == []
    assert all(running.token not in text for text, _ in found["pages"])


def test_kernels_tell_a_stranger_nothing(running: Running, kernel: dict[str, Any]) -> None:
    ports = [value for key, value in kernel.items() if key.endswith("_port")]
    found = as_stranger(running, ports=ports, listen=True)
    assert {port: heard for port, heard in found["heard"].items() if heard} == {}


def test_nothing_else_listens(running: Running, kernel: dict[str, Any]) -> None:
    """One port of the server's, those of the kernel that are encrypted, and none that faces the network."""
    known = {int(running.address.rpartition(":")[2]), *(v for k, v in kernel.items() if k.endswith("_port"))}
    family = [
        running.process.pid,
        *(one.pid for one in psutil.Process(running.process.pid).children(recursive=True)),
    ]
    for one in map(psutil.Process, family):
        for connection in one.net_connections(kind="inet"):
            if connection.status != psutil.CONN_LISTEN:
                continue
            assert connection.laddr.ip == "127.0.0.1"
            if connection.laddr.port not in known:
                with socket.create_connection(("127.0.0.1", connection.laddr.port), timeout=5) as probe:
                    probe.settimeout(2)
                    greeting = probe.recv(64)
                assert greeting.startswith(b"\xff"), (connection, greeting)  # ZeroMQ's own, inside the kernel
