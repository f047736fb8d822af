"""Forked kernels are whole ones and end with their server; where none can be forked, one starts anyway."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest
from jupyter_client import KernelManager
from jupyter_client.provisioning.factory import KernelProvisionerFactory
from traitlets.config import Config

import simulator.fork_server as extension
from simulator.fork_server import NAME
from simulator.fork_server.client import ForkedProcess, ForkServer, NotForkedError, fork_server
from simulator.fork_server.provisioner import arguments_of
from simulator.fork_server.system import SHARED, can_fork
from tests.conftest import PROJECT

pytestmark = pytest.mark.skipif(not can_fork(), reason="kernels are forked on Linux only")

ASK = """
import os, sys, threading
import numpy
print(os.getpid(), os.getppid(), os.getcwd(), 'simulator.panels.lessons.start_here.page' in sys.modules)
print(numpy.random.random(), os.environ.get('LAID'), threading.active_count())
"""


@pytest.fixture(scope="module")
def switched_on() -> Iterator[None]:
    """The extension as a server loads it; afterwards nothing of it is left."""
    factory = KernelProvisionerFactory.instance()
    before = factory.default_provisioner_name
    kept = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = str(PROJECT)
    extension._load_jupyter_server_extension(None)
    yield
    fork_server().end()
    factory.default_provisioner_name = before
    factory.provisioners.pop(NAME, None)
    os.environ.pop("PYTHONPATH") if kept is None else os.environ.update(PYTHONPATH=kept)


def started(folder: Path, **more: Any) -> tuple[KernelManager, Any]:
    manager = KernelManager(config=Config({"KernelManager": {"transport_encryption": "required"}}))
    manager.connection_file = str(folder / "kernel.json")
    manager.start_kernel(cwd=str(folder), **more)
    client = manager.client()
    client.start_channels()
    client.wait_for_ready(timeout=120)
    return manager, client


def said(client: Any, code: str) -> str:
    words: list[str] = []

    def hear(message: dict[str, Any]) -> None:
        if message["msg_type"] in ("stream", "error"):
            words.append(message["content"].get("text") or message["content"]["evalue"])

    client.execute_interactive(code, output_hook=hear, timeout=120)
    return "".join(words)


@pytest.fixture
def forked(switched_on: None, tmp_path: Path) -> Iterator[tuple[KernelManager, Any]]:
    """A kernel that was forked, with a variable of its own."""
    manager, client = started(tmp_path, env={**os.environ, "LAID": "here"})
    yield manager, client
    client.stop_channels()
    manager.shutdown_kernel(now=True)


def test_a_forked_kernel_is_a_whole_kernel(forked: tuple[KernelManager, Any], tmp_path: Path) -> None:
    manager, client = forked
    assert isinstance(manager.provisioner.process, ForkedProcess)  # type: ignore[union-attr]
    first, second = said(client, ASK).splitlines()
    pid, parent, folder, imported = first.split()
    assert int(pid) == manager.provisioner.pid  # type: ignore[union-attr]
    assert int(parent) != os.getpid()
    assert (Path(folder), imported) == (tmp_path.resolve(), "True")
    assert second.split()[1] == "here"
    assert "division by zero" in said(client, "1 / 0")
    assert said(client, "import simulator; print(simulator.__file__)").startswith(str(PROJECT))


def test_each_fork_draws_numbers_of_its_own(forked: tuple[KernelManager, Any], tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    manager, client = started(other)
    try:
        draw = "import numpy, random; print(numpy.random.random(), random.random())"
        assert said(client, draw).split()[0] != said(forked[1], draw).split()[0]
        assert said(client, draw).split()[1] != said(forked[1], draw).split()[1]
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


#: It is interrupted in its sleep: any kernel that is interrupted while it prints may say the next words too late.
SLEEP = (
    "import pathlib, threading, time; threading.Timer(0.5, pathlib.Path({!r}).touch).start(); time.sleep(600)"
)


def test_it_is_interrupted_restarted_and_killed_like_any_other(
    forked: tuple[KernelManager, Any], tmp_path: Path
) -> None:
    manager, client = forked
    asleep = tmp_path / "asleep"
    slept = client.execute(SLEEP.format(str(asleep)))
    late = time.monotonic() + 60
    while not asleep.exists():
        assert time.monotonic() < late
        time.sleep(0.05)
    manager.interrupt_kernel()
    reply = client.get_shell_msg(timeout=30)
    while (
        reply["parent_header"]["msg_id"] != slept
    ):  # answers to who asked, more than once, whether it is ready
        reply = client.get_shell_msg(timeout=30)
    assert reply["content"]["ename"] == "KeyboardInterrupt"
    heard, late = "", time.monotonic() + 30
    while (
        "goes on" not in heard and time.monotonic() < late
    ):  # the first words after an interrupt may come late
        heard += said(client, "print('goes on')")
    assert "goes on" in heard
    first = manager.provisioner.pid  # type: ignore[union-attr]
    manager.restart_kernel(now=True)
    client.wait_for_ready(timeout=120)
    assert manager.provisioner.pid != first  # type: ignore[union-attr]
    late = time.monotonic() + 10  # the fork server lets go of it within a second
    while psutil.pid_exists(first) and time.monotonic() < late:
        time.sleep(0.05)
    assert not psutil.pid_exists(first)
    os.kill(manager.provisioner.pid, signal.SIGKILL)  # type: ignore[union-attr]
    late = time.monotonic() + 10
    while manager.is_alive() and time.monotonic() < late:
        time.sleep(0.05)
    assert not manager.is_alive()


def test_what_ends_in_good_order_says_its_last_words(
    forked: tuple[KernelManager, Any], tmp_path: Path
) -> None:
    manager, client = forked
    note = tmp_path / "last words"
    said(client, f"import atexit, pathlib; atexit.register(pathlib.Path({str(note)!r}).write_text, 'done')")
    manager.shutdown_kernel()
    assert note.read_text() == "done"


def test_another_program_starts_as_ever() -> None:
    assert arguments_of(["/usr/bin/other", "-m", "ipykernel_launcher"]) is None
    assert arguments_of([sys.executable, "-m", "another_kernel"]) is None


@pytest.mark.usefixtures("switched_on")
def test_a_dead_fork_server_costs_nobody_the_kernel(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    fork_server().begin()
    fork_server()._process.kill()  # type: ignore[union-attr]
    fork_server()._process.wait()  # type: ignore[union-attr]
    manager, client = started(tmp_path)
    try:
        assert isinstance(manager.provisioner.process, subprocess.Popen)  # type: ignore[union-attr]
        assert said(client, "print(2 + 2)") == "4\n"
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def test_kernels_end_with_the_server(tmp_path: Path) -> None:
    server = ForkServer()
    script = "import time; time.sleep(600)"
    (tmp_path / "stay.py").write_text(script)
    try:
        process = server.fork(["--no-such-option-of-a-kernel"], str(tmp_path), dict(os.environ))
        assert process.wait(60) == 0  # a kernel that cannot start ends, the server stays
        again = server.fork(["-f", str(tmp_path / "kernel.json")], str(tmp_path), dict(os.environ))
        assert again.poll() is None
    finally:
        server.end()
    assert again.wait(30) == 0


@pytest.mark.full
def test_a_kernel_that_begins_when_its_server_is_gone_ends() -> None:
    """The child is halted at its first step, until its parent has ended and another has taken it in."""
    code = """
import os, signal, sys
from simulator.fork_server import serve
grown = os.fork
def fork():
    pid = grown()
    if pid == 0:
        os.kill(os.getpid(), signal.SIGSTOP)
    return pid
os.fork = fork
serve.main(["--link", sys.argv[1]])
"""
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with ours, theirs:
        run = subprocess.Popen(
            [sys.executable, "-c", code, str(theirs.fileno())], pass_fds=[theirs.fileno()], cwd=PROJECT
        )
        assert ours.recv(100) == b"ready"
        ours.send(json.dumps({"arguments": [], "cwd": str(PROJECT), "env": dict(os.environ)}).encode())
        pid = int(ours.recv(100))
        child = psutil.Process(pid)
        while child.status() != psutil.STATUS_STOPPED:
            time.sleep(0.01)
        run.kill()
        run.wait()
        assert child.ppid() != run.pid
        child.resume()
        child.wait(10)


@pytest.fixture
def of_a_class(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[subprocess.Popen[bytes]]:
    """The fork server of a class, ready, and told to whoever starts one."""
    private = Path(tempfile.mkdtemp(prefix="fork-"))  # an address has to be short
    run = subprocess.Popen(
        [sys.executable, "-m", "simulator.fork_server.serve", "--listen", str(private / "address")],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(PROJECT)}, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    late = time.monotonic() + 120
    while not (private / "address").exists():
        assert run.poll() is None
        assert time.monotonic() < late
        time.sleep(0.1)
    monkeypatch.setenv(SHARED, str(private / "address"))
    yield run
    run.kill()
    run.wait()
    shutil.rmtree(private)


def test_servers_of_a_class_are_forked_from_one_and_outlive_it(
    of_a_class: subprocess.Popen[bytes], tmp_path: Path
) -> None:
    first, second = ForkServer(), ForkServer()
    try:
        kernels = [
            each.fork(["-f", str(tmp_path / f"{n}.json")], str(tmp_path), dict(os.environ))
            for n, each in enumerate((first, second))
        ]
        parents = [psutil.Process(each.pid).parent() for each in kernels]
        assert parents[0].pid != parents[1].pid  # each learner's kernels are of a server of their own
        assert {each.ppid() for each in parents} == {of_a_class.pid}
        first.end()
        assert kernels[0].wait(30) == 0
        assert kernels[1].poll() is None
        of_a_class.kill()
        of_a_class.wait()
        again = second.fork(["-f", str(tmp_path / "again.json")], str(tmp_path), dict(os.environ))
        assert (kernels[1].poll(), again.poll()) == (None, None)
        own = ForkServer()  # with that of the class gone, one gets a server of one's own
        alone = own.fork(["-f", str(tmp_path / "alone.json")], str(tmp_path), dict(os.environ))
        assert psutil.Process(alone.pid).parent().ppid() == os.getpid()
        own.end()
        assert alone.wait(30) == 0
    finally:
        second.end()
    assert [each.wait(30) for each in (kernels[1], again)] == [0, 0]


def test_a_server_that_cannot_start_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("simulator.fork_server.client.sys.executable", "/bin/false")
    with pytest.raises(NotForkedError):
        ForkServer().fork([], str(tmp_path), {})


@pytest.mark.full
def test_no_thread_of_python_is_left_when_it_forks(tmp_path: Path) -> None:
    code = (
        "import threading; from simulator.fork_server.serve import modules, prepare, warm_up;"
        "left = prepare(modules()); warm_up(); print(left, threading.active_count())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=PROJECT
    )
    assert done.stdout.split("\n")[0] == "[] 1"


@pytest.mark.full
def test_a_fork_server_that_only_dawdles_keeps_its_kernels(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    server = ForkServer()
    first = server.fork(["-f", str(tmp_path / "kernel.json")], str(tmp_path), dict(os.environ))
    slow = server._process
    assert slow is not None
    try:
        os.kill(slow.pid, signal.SIGSTOP)
        monkeypatch.setattr("simulator.fork_server.client.PATIENCE", 0.5)
        with pytest.raises(NotForkedError):
            server.fork([], str(tmp_path), dict(os.environ))
        os.kill(slow.pid, signal.SIGCONT)
        time.sleep(2.5)  # longer than a kernel takes to see that its parent is gone
        assert first.poll() is None
    finally:
        slow.kill()
        slow.wait()
        server.end()
    assert first.wait(30) == 0
