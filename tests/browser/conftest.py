"""A quiet Jupyter server, a browser, and lesson pages that may talk to nothing but that server."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests.browser.served import PROJECT, Server, free_port, running_server  # noqa: F401
from tests.browser.watched import Watch, shoot, wait_ready  # noqa: F401
from tests.browser.workbench import HOME, Workbench
from tests.conftest import NO_BROWSER, REQUIRE_BROWSER, find_browser, thin  # noqa: F401

collect_ignore = ["search_cell.py"]  # the text of a notebook's cell, not a module

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """The browser to drive; without one the test is skipped, or fails where a browser is required."""
    path = find_browser()
    if path is None and os.environ.get(REQUIRE_BROWSER):
        pytest.fail(NO_BROWSER, pytrace=False)
    if path is None:
        pytest.skip(NO_BROWSER)
    return path


@pytest.fixture(scope="package")
def server(chromium_path: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One Jupyter server for all browser tests, with the launcher's own options; the model is ready, as it sees to."""
    from simulator.instruments.warm_up import warm_up  # here: collecting the tests does without the model

    warm_up()
    with running_server(tmp_path_factory.mktemp("server")) as found:
        yield found


@pytest.fixture(scope="package")
def browser(chromium_path: str) -> Iterator[Browser]:
    """One browser for all tests of this folder: its driver has an event loop running, which others need to themselves."""
    expect.set_options(timeout=30_000)  # a busy machine is no failure
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium_path, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="package")
def visited(browser: Browser) -> Iterator[BrowserContext]:
    """A context for one lesson page after another."""
    context = browser.new_context()
    yield context
    context.close()


@pytest.fixture
def watch(server: Server) -> Iterator[Watch]:
    """Fails the test at its end when a page asked something of the outside, or raised an error."""
    seen = Watch(server)
    yield seen
    seen.must_be_clean()


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
        lesson: str = HOME,
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
        watch.leave(visited)
        leave(visited, server)
    server.end_sessions()


@pytest.fixture(scope="package")
def workbench(browser: Browser, server: Server) -> Iterator[Workbench]:
    made = Workbench(browser, server)
    yield made
    made.give_up()


@pytest.fixture
def home_as_opened(workbench: Workbench) -> Callable[[], Workbench]:
    """The first lesson as its address has just brought it: to be looked at, not to be touched."""
    return workbench.as_opened


@pytest.fixture
def lesson_in_place(workbench: Workbench, watch: Watch) -> Iterator[OpenLesson]:
    """Opens a lesson where another was: ``lesson_in_place(lesson, size=(1280, 800), wait=True, before=None) -> Page``.

    For what a page does once it is there; how it comes there is tested with :func:`lesson_page`. A second one takes the
    place of the first.
    """

    def open_lesson(
        lesson: str = HOME,
        *,
        size: tuple[int, int] = (1280, 800),
        wait: bool = True,
        before: Callable[[Page], None] | None = None,
    ) -> Page:
        page = workbench.open(lesson, size, watch, before)
        if wait:
            wait_ready(page)
        return page

    yield open_lesson
    workbench.end(watch)


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
