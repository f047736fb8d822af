"""One page in which a lesson is opened after another: JupyterLab, most of the work of a page, starts once for all."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Browser, Page
from playwright.sync_api import Error as PageError

from simulator.page_extension.manifest import fingerprint
from tests.browser.served import Server
from tests.browser.watched import Watch, wait_ready

HOME = "00_start_here.ipynb"
PATIENCE = 30_000  # [ms] on a busy machine
QUIET = 3_000  # [ms] after which news and update checks would have come
#: Notebooks of the tests' own that the page takes for lessons, as the release of a new one would bring them.
LISTED: list[dict[str, str]] = []
#: Adds to the manifest, without a route, with which the browser would keep no file of the server's.
WITH_MORE = """(more) => {
  const real = window.fetch;
  window.fetch = async (what, ...how) => {
    const answer = await real(what, ...how);
    if (!String(what).endsWith('/manifest.json')) return answer;
    const known = await answer.json();
    known.lessons.push(...more);
    return Response.json(known);
  };
}"""
#: The page says nothing of a lesson any more: what it says from here on is of the next one.
SAYS_NOTHING = "() => document.body.dataset.lessonReady === undefined"
OPEN = "path => window.jupyterapp.commands.execute('docmanager:open', { path }).then(() => {})"
#: Close all that is open, each with its kernel; a page that is not empty then is of no use.
CLOSE_ALL = """async () => {
  const { shell } = window.jupyterapp;
  for (const open of [...shell.widgets('main')]) {
    await open.context?.sessionContext?.shutdown().catch(() => undefined);
    open.dispose();
  }
  localStorage.clear();
  sessionStorage.clear();
  return [...shell.widgets('main')].length === 0 && document.body.dataset.lessonPage === undefined;
}"""


def take_for_a_lesson(content: dict[str, Any], name: str) -> None:
    """List a notebook of a test's own for every page that opens here; called where a test's file is read."""
    LISTED.append({"name": name, "sha256": fingerprint(content)})


class Workbench:
    """A page of JupyterLab, started at the first lesson's address, and the lesson that is open in it."""

    def __init__(self, browser: Browser, server: Server) -> None:
        self.browser, self.server = browser, server
        self.page: Page | None = None
        self.opening = Watch(server)
        self.asked: list[str] = []  # what the page requested until another lesson was opened
        self.untouched = False
        self.watch: Watch | None = None  # of the test that has the page

    def as_opened(self) -> Workbench:
        """Start the page where it was used already, or has lost its kernel."""
        if self.page is None or not self.untouched or not self.server.ask("kernels"):
            self.give_up()
            self._start()
        return self

    def _start(self) -> None:
        self.opening, self.asked = Watch(self.server), []
        context = self.browser.new_context(viewport={"width": 1280, "height": 800})
        page = self.page = context.new_page()
        page.set_default_timeout(PATIENCE)
        self.opening.guard(context)
        self.opening.follow(page)
        page.on("request", lambda request: self.asked.append(request.url) if self.untouched else None)
        context.add_init_script(f"({WITH_MORE})({json.dumps(LISTED)})")
        self.untouched = True
        page.goto(self.server.page_address(HOME))
        wait_ready(page)
        page.wait_for_timeout(QUIET)

    def open(
        self,
        lesson: str,
        size: tuple[int, int],
        watch: Watch,
        before: Callable[[Page], None] | None = None,
    ) -> Page:
        """Open a lesson in place of what was open, as the workbench does when its file is clicked."""
        if self.page is None:
            self._start()
        page = self.page
        assert page is not None
        if self.untouched:
            self.untouched = False
            self.opening.leave(page.context)
            self.opening.follow_no_longer(page)
            self.opening.must_be_clean()
            page.evaluate(CLOSE_ALL)
            self.server.end_sessions()
        if self.watch is watch:
            page.evaluate(CLOSE_ALL)
        else:
            watch.guard(page.context)
            watch.follow(page)
            self.watch = watch
        if before:
            before(page)
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.wait_for_function(SAYS_NOTHING)
        page.evaluate(OPEN, f"lessons/{lesson}")
        return page

    def end(self, watch: Watch) -> None:
        """Close what a test has opened, and forget what it recorded."""
        page = self.page
        if page is None or self.untouched:
            return
        watch.leave(page.context)
        watch.follow_no_longer(page)
        self.watch = None
        try:
            page.unroute_all(behavior="ignoreErrors")
            for other in page.context.pages:
                if other is not page:
                    other.close()
            page.mouse.move(0, 0)
            empty = page.evaluate(CLOSE_ALL)
        except PageError:
            empty = False
        if not empty:
            self.give_up()
        self.server.end_sessions()

    def give_up(self) -> None:
        """Close the page; the next one who wants it starts another."""
        if self.page is not None:
            self.page.context.close()
            self.page = None
