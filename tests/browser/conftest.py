"""A quiet Jupyter server, a browser, and lesson pages that may talk to nothing but that server."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import psutil
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect, sync_playwright

from tests.conftest import NO_BROWSER, REQUIRE_BROWSER, find_browser, thin  # noqa: F401

PROJECT = Path(__file__).parents[2]
sys.path.insert(0, str(PROJECT / "binder"))

from lesson_server import server_options, server_variables  # noqa: E402

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


#: How a request ends.
ENDS = ("requestfinished", "requestfailed")


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


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """The browser to drive; without one the test is skipped, or fails where a browser is required."""
    path = find_browser()
    if path is None and os.environ.get(REQUIRE_BROWSER):
        pytest.fail(NO_BROWSER, pytrace=False)
    if path is None:
        pytest.skip(NO_BROWSER)
    return path


def _free_port() -> int:
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
    port, token, data = _free_port(), secrets.token_hex(16), folder / "data"
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


@pytest.fixture(scope="session")
def server(chromium_path: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One Jupyter server for all browser tests, with the launcher's own options; the model is ready, as it sees to."""
    from simulator.instruments.warm_up import warm_up  # here: collecting the tests does without the model

    warm_up()
    with running_server(tmp_path_factory.mktemp("server")) as found:
        yield found


@pytest.fixture(scope="session")
def browser(chromium_path: str) -> Iterator[Browser]:
    """One browser for all tests."""
    expect.set_options(timeout=30_000)  # a busy machine is no failure
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium_path, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def visited(browser: Browser) -> Iterator[BrowserContext]:
    """A context for one lesson page after another."""
    context = browser.new_context()
    yield context
    context.close()


@dataclass
class Watch:
    """What the pages of one test did that they must not do."""

    server: Server
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    console: list[str] = field(default_factory=list)
    tolerated: list[str] = field(default_factory=list)  # parts of error texts a test expects

    def judge(self, request: Request) -> None:
        """Record a request that left the page for another place than the server; what its policy held back did not.

        No other name is found, see the flags of the browser. A route would stop such a request too, but would also keep
        the browser from keeping any file of the server's.
        """
        held_back = "csp" in (request.failure or "").lower()
        asks = request.url.startswith(("http:", "https:", "ws:", "wss:"))
        if asks and not held_back and not request.url.startswith(self.server.address + "/"):
            self.outside.append(request.url)

    def guard(self, context: BrowserContext) -> None:
        """Record every request of a context's pages that is not to the server."""
        for end in ENDS:
            context.on(end, self.judge)

    def follow(self, page: Page) -> None:
        """Record errors and console messages of a page."""
        page.on("pageerror", lambda error: self.errors.append(error.stack or str(error)))
        page.on("console", lambda message: self.console.append(f"{message.type}: {message.text}"))


@pytest.fixture
def watch(server: Server) -> Iterator[Watch]:
    """Fails the test at its end when a page asked something of the outside, or raised an error."""
    seen = Watch(server)
    yield seen
    if seen.outside:
        pytest.fail(f"a page asked for something outside: {seen.outside}", pytrace=False)
    errors = [error for error in seen.errors if not any(part in error for part in seen.tolerated)]
    if errors:
        pytest.fail("a page raised an error:\n" + "\n".join(errors), pytrace=False)


OpenLesson = Callable[..., Page]


@pytest.fixture
def lesson_page(
    server: Server, browser: Browser, visited: BrowserContext, watch: Watch
) -> Iterator[OpenLesson]:
    """Opens a lesson: ``lesson_page(lesson, size=(1280, 800), mode="doc", wait=True, before=None) -> Page``.

    ``before(page)`` runs before the address is opened. The kernels end with the test. The first page of a test is opened
    where others were before, so that the server's files are at hand; a second one is somebody else's.
    """
    contexts: list[BrowserContext] = []

    def open_lesson(
        lesson: str = "00_start_here.ipynb",
        *,
        size: tuple[int, int] = (1280, 800),
        mode: str = "doc",
        wait: bool = True,
        before: Callable[[Page], None] | None = None,
    ) -> Page:
        context = browser.new_context() if contexts else visited
        contexts.append(context)
        watch.guard(context)
        page = context.new_page()
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.set_default_timeout(30_000)
        watch.follow(page)
        if before:
            before(page)
        page.goto(server.page_address(lesson, mode))
        if wait:
            wait_ready(page)
        return page

    yield open_lesson
    for context in contexts[1:]:
        context.close()
    if contexts:
        for end in ENDS:
            visited.remove_listener(end, watch.judge)
        leave(visited, server)
    server.end_sessions()


def leave(context: BrowserContext, server: Server) -> None:
    """Close all pages of a context and forget what they kept, but for the server's files."""
    for page in context.pages:
        page.close()
    context.clear_cookies()
    context.clear_permissions()
    page = context.new_page()
    page.goto(f"{server.address}/static/favicons/favicon.ico")
    page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
    page.close()


def wait_ready(page: Page, runs: int = 1, timeout: float = 90.0) -> None:
    """Wait until the lesson has run all its cells; after ``timeout`` seconds fail with the state it is in."""
    late = time.monotonic() + timeout
    state: dict[str, str] = {}
    while time.monotonic() < late:
        state = page.evaluate("({...document.body.dataset})")
        if state.get("lessonReady") == "true" and int(state.get("lessonRuns", "0")) >= runs:
            return
        if state.get("lessonState") in ("failed", "dead", "changed"):
            break
        page.wait_for_timeout(100)
    shoot(page, "not-ready")
    words = page.locator("body").inner_text()[:2000]
    pytest.fail(f"the lesson was not ready after {timeout:.0f} s: {state}\n{words}")


def at_rest(page: Page) -> None:
    """Wait until nothing on the page has moved for ten frames: gentle scrolling has come to its end."""
    page.evaluate(
        """async () => {
          const place = () => {
            const mark = document.querySelector('.ex-root, .lesson-root');
            return mark ? Math.round(mark.getBoundingClientRect().top) : 0;
          };
          let last = place();
          for (let still = 0, all = 0; still < 10 && all < 600; all += 1) {
            await new Promise((done) => requestAnimationFrame(done));
            const now = place();
            still = now === last ? still + 1 : 0;
            last = now;
          }
        }"""
    )


def kill_kernel(page: Page, server: Server) -> None:
    """Kill the lesson's kernel outright and wait until the page runs again by itself."""
    runs = int(page.evaluate("document.body.dataset.lessonRuns"))
    server.kill_kernels()
    wait_ready(page, runs + 1)


def shoot(page: Page, name: str) -> None:
    """Take a screenshot into the folder named by SCREENSHOT_DIR; without one, none."""
    folder = os.environ.get("SCREENSHOT_DIR")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png")
