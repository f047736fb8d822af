#!/usr/bin/env python3
"""Open the lessons in the browser: python3 binder/open_lessons.py [--no-browser] [--port N] [--check]."""

import sys

if sys.version_info < (3, 11):
    sys.exit("The lessons need Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031

import argparse
import contextlib
import html
import os
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
import webbrowser
from collections.abc import Iterator
from pathlib import Path

from environment import (
    HOME,
    PROJECT,
    Environment,
    StartError,
    clean_variables,
    ensure,
    held,
    in_use,
    own_folder,
    say,
    stop_with_a_sentence,
)
from lesson_server import WARM_UP, server_options, server_variables

FIRST_LESSON = "lessons/00_start_here.ipynb"
FIRST_PORT = 8890
PATIENCE = 8.0  # [s] of silence while the model is got ready
HANDED_OVER = 60.0  # [s] that the page which leads a browser to the lessons is kept
STATE = HOME / "state"
READY = "fork-server-ready"  # a file of the runtime folder: kernels can be had, as in simulator/fork_server
OWN_FILES = ("SIMULATOR_TRAINER_FILE",)  # settings that name a file


def look_over_settings(environment: Environment) -> None:
    """What the user's own settings name must be fit for use before a page is shown; relative paths hold from here."""
    named = [name for name in OWN_FILES if os.environ.get(name)]
    for name in named:
        os.environ[name] = str(Path(os.environ[name]).absolute())
    if not named and not os.environ.get("SIMULATOR_LANGUAGE"):
        return
    looked = subprocess.run(
        [environment.python, "-m", "simulator.scenario.check", "--settings"],
        cwd=PROJECT, env=clean_variables(), capture_output=True, text=True, encoding="utf-8", errors="replace",
        check=False,
    )  # fmt: skip
    if looked.returncode:
        raise StartError(looked.stderr.strip() or "The settings of this program cannot be looked over.")


def free_port(asked: int | None) -> int:
    """The port asked for, else the first free one from 8890 on."""
    for port in [asked] if asked else range(FIRST_PORT, FIRST_PORT + 100):
        with socket.socket() as probe:
            if os.name != "nt":
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except (OSError, OverflowError):
                continue
            return port
    if asked:
        raise StartError(f"Port {asked} is not free. Leave out --port, or choose another from 1024 to 65535.")
    raise StartError(f"None of the ports {FIRST_PORT} to {FIRST_PORT + 99} is free. Choose one with --port.")


def warm_up(environment: Environment) -> "subprocess.Popen[bytes] | None":
    """Start compiling the model, while JupyterLab starts too; where kernels are forked the server does it itself."""
    if sys.platform == "linux":
        return None
    variables = server_variables(STATE, "")
    with (STATE / "warm-up.log").open("wb") as record:
        return subprocess.Popen(
            [environment.python, "-c", WARM_UP],
            cwd=HOME,
            env=variables,
            stdin=subprocess.DEVNULL,
            stdout=record,
            stderr=subprocess.STDOUT,
        )


def wait_for(warming: "subprocess.Popen[bytes] | None", runtime: Path) -> None:
    """Wait for the compiler; a lesson works without its help, only later."""

    def ready_within(seconds: float) -> bool:
        late = time.monotonic() + seconds
        while time.monotonic() < late:
            if (runtime / READY).exists() if warming is None else warming.poll() is not None:
                return True
            time.sleep(0.05)
        return False

    if not ready_within(PATIENCE):
        say("Getting the model ready (once, about half a minute) ...")
        ready_within(120)


@contextlib.contextmanager
def runtime_folder() -> Iterator[Path]:
    """A folder for what only one run needs, keys and all; removed afterwards, with those that killed runs left behind."""
    for old in own_folder(STATE).glob("run-*"):
        with held(old / "in-use", wait=False) as free:
            pass
        if free:
            shutil.rmtree(old, ignore_errors=True)
    folder = Path(tempfile.mkdtemp(prefix="run-", dir=STATE))
    try:
        with held(folder / "in-use", wait=False):
            yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def answers(port: int, token: str) -> bool:
    """Whether the server lets us in."""
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/api/status", headers={"Authorization": f"token {token}"}
    )
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with direct.open(request, timeout=2) as reply:
            return reply.status == 200
    except (OSError, urllib.error.URLError):
        return False


def start(environment: Environment, port: int, token: str, runtime: Path) -> "subprocess.Popen[bytes]":
    """Start JupyterLab and wait until it answers."""
    variables = server_variables(STATE, token, runtime)
    log = STATE / "server.log"
    # a group of its own: Ctrl-C reaches this program only, which then ends the server in good order
    group = {"creationflags": 0x200} if os.name == "nt" else {"start_new_session": True}
    with log.open("wb") as record:
        server = subprocess.Popen(
            [environment.python, "-m", "jupyterlab", *server_options(STATE, port)],
            cwd=PROJECT, env=variables, stdin=subprocess.DEVNULL, stdout=record, stderr=subprocess.STDOUT,
            **group,  # type: ignore[call-overload]
        )  # fmt: skip
    try:
        late = time.monotonic() + 90
        # It notes itself in its folder once it holds the port: a stranger on the port is never shown the token.
        while not (any(runtime.glob("jpserver-*.json")) and answers(port, token)):
            if server.poll() is not None:
                raise StartError(f"JupyterLab stopped as soon as it started. What it said is in {log}")
            if time.monotonic() > late:
                raise StartError(f"JupyterLab has not answered for 90 s. What it said is in {log}")
            time.sleep(0.1)
    except BaseException:
        end(server)
        raise
    return server


def end(server: "subprocess.Popen[bytes]") -> None:
    """End the server and, with it, its kernels."""
    if server.poll() is None:
        server.terminate()
        try:
            server.wait(15)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


@contextlib.contextmanager
def leading_page(address: str, folder: Path) -> Iterator[str]:
    """The address of a page that leads to the lessons, for as long as the block lasts.

    Other people of the machine can read the command line of a browser, and so the token in an address; this page they
    cannot.
    """
    page = folder / "open-lessons.html"
    there = html.escape(address)
    page.touch(mode=0o600)
    page.write_text(
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Lessons</title>'
        f'<meta name="referrer" content="no-referrer"><meta http-equiv="refresh" content="0; url={there}">'
        f'</head><body><a href="{there}">Open the lessons</a></body></html>\n',
        encoding="utf-8",
    )
    try:
        yield page.as_uri()
    finally:
        page.unlink(missing_ok=True)


def show(address: str, folder: Path, only_print: bool, server: "subprocess.Popen[bytes]") -> None:
    """Say the address and open it."""
    say(f"The lessons are open at this address:\n\n    {address}\n")
    say("Leave this window open while you learn. To end: press Ctrl-C here.")
    if only_print:
        return
    with leading_page(address, folder) as page:
        if not webbrowser.open(page):
            say("No browser could be started from here: open the address above yourself.")
            return
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(HANDED_OVER)


def interrupted(*_: object) -> None:
    raise KeyboardInterrupt


def main() -> int:
    parser = argparse.ArgumentParser(description="Open the lessons in the browser.")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")
    parser.add_argument("--port", type=int, help="the port to serve on (else the first free one from 8890)")
    parser.add_argument("--check", action="store_true", help="make the environment ready, start nothing")
    options = parser.parse_args()
    for name in ("SIGTERM", "SIGHUP", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), interrupted)

    environment = ensure("run")
    if options.check:
        say(f"The lessons' environment is ready: {environment.folder}")
        return 0
    look_over_settings(environment)
    with in_use(environment), contextlib.ExitStack() as running:
        token = secrets.token_urlsafe(24)
        port = free_port(options.port)
        runtime = running.enter_context(runtime_folder())
        warming = warm_up(environment)
        if warming is not None:
            running.callback(end, warming)
        server = start(environment, port, token, runtime)
        running.callback(end, server)
        try:
            wait_for(warming, runtime)
            address = f"http://127.0.0.1:{port}/doc/tree/{FIRST_LESSON}?token={token}"
            show(address, runtime, options.no_browser, server)
            code = server.wait()
        except KeyboardInterrupt:
            say("\nClosing the lessons. What you did is kept.")
            return 0
        raise StartError(
            f"JupyterLab ended by itself (code {code}). What it said is in {STATE / 'server.log'}"
        )


if __name__ == "__main__":
    sys.exit(stop_with_a_sentence(main))
