"""A quiet Jupyter server on a copy of the lessons, with the launcher's own options."""

from __future__ import annotations

import json
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil
import pytest

PROJECT = Path(__file__).parents[2]
sys.path.insert(0, str(PROJECT / "binder"))

from lesson_server import server_options, server_variables  # noqa: E402


@dataclass
class Server:
    """A running Jupyter server on a folder of its own."""

    address: str
    token: str
    root: Path
    data: Path
    state: Path
    process: int

    @property
    def lessons(self) -> Path:
        """The server's copy of the lessons: a test may add notebooks here."""
        return self.root / "lessons"

    def page_address(self, lesson: str, mode: str = "doc") -> str:
        """The address of a lesson, alone (``doc``) or inside JupyterLab (``lab``)."""
        return f"{self.address}/{mode}/tree/lessons/{lesson}?token={self.token}&reset"

    def ask(self, path: str, method: str = "GET") -> Any:
        """Call the server's own interface."""
        request = urllib.request.Request(
            f"{self.address}/api/{path}", method=method, headers={"Authorization": f"token {self.token}"}
        )
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with direct.open(request, timeout=30) as reply:
            text = reply.read()
        return json.loads(text) if text else None

    def kernel_process(self, kernel_id: str) -> psutil.Process:
        """The process of a kernel."""
        (note,) = (self.state / "runtime").glob(f"kernel-{kernel_id}.json")
        port = json.loads(note.read_text(encoding="utf-8"))["shell_port"]
        for process in psutil.Process(self.process).children(recursive=True):
            with suppress(psutil.NoSuchProcess):
                listens = (at.laddr.port for at in process.net_connections("tcp") if at.status == "LISTEN")
                if port in listens:  # a forked kernel's command line is the fork server's
                    return process
        raise LookupError(f"no process runs kernel {kernel_id}")

    def kill_kernels(self) -> None:
        """Kill every kernel outright, as a full memory would."""
        for kernel in self.ask("kernels"):
            self.kernel_process(kernel["id"]).kill()

    def end_kernels(self) -> None:
        """End every kernel in good order."""
        for session in self.ask("sessions"):
            self.ask(f"sessions/{session['id']}", "DELETE")
        for kernel in self.ask("kernels"):
            self.ask(f"kernels/{kernel['id']}", "DELETE")

    def end_sessions(self) -> None:
        """End every kernel in good order and forget what it recorded."""
        self.end_kernels()
        shutil.rmtree(self.data, ignore_errors=True)


def free_port() -> int:
    """A port of this machine that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def running_server(folder: Path, more: dict[str, str] | None = None) -> Iterator[Server]:
    """A Jupyter server on a copy of the lessons, with the launcher's own options and some more variables."""
    root = folder / "project"
    shutil.copytree(
        PROJECT / "lessons",
        root / "lessons",
        ignore=shutil.ignore_patterns(".ipynb_checkpoints", "__pycache__"),
    )
    port, token, data = free_port(), secrets.token_hex(16), folder / "data"
    variables = server_variables(folder / "state", token)
    variables |= {
        "PYTHONPATH": str(PROJECT),
        "SIMULATOR_DATA_DIR": str(data),
        "SIMULATOR_KEY_DIR": str(folder / "keys"),
        **(more or {}),
    }
    log = folder / "server.log"
    options = [*server_options(folder / "state", port, root), "--LabApp.expose_app_in_browser=True"]
    with log.open("wb") as record:
        process = subprocess.Popen(
            [sys.executable, "-m", "jupyterlab", *options],
            cwd=root, env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT,
        )  # fmt: skip
    found = Server(f"http://127.0.0.1:{port}", token, root, data, folder / "state", process.pid)
    try:
        late = time.monotonic() + 90
        while True:
            try:
                found.ask("status")
                break
            except (OSError, urllib.error.URLError):
                if process.poll() is not None or time.monotonic() > late:
                    pytest.fail(
                        f"the server did not start:\n{log.read_text(errors='replace')}", pytrace=False
                    )
                time.sleep(0.2)
        yield found
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
