"""The simulator's lessons open as pages; every other notebook is left alone."""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, WebSocket, expect

from simulator.page_extension.manifest import fingerprint, manifest_path
from simulator.texts import text
from tests.browser.conftest import OpenLesson, Server, Watch, kill_kernel, shoot, thin, wait_ready
from tests.browser.workbench import HOME, Workbench, take_for_a_lesson

LESSON = "00_start_here.ipynb"
STATIC = "lab/extensions/callout-lesson-page/static"
#: A plugin that every page has, and some that no lesson uses.
STARTED = [
    "@jupyterlab/notebook-extension:tracker", "@jupyterlab/debugger-extension:service",
    "@jupyterlab/lsp-extension:plugin", "@jupyterlab/apputils-extension:resolver",
]  # fmt: skip


def notebook(*sources: str, flag: Any = True, **metadata: Any) -> dict[str, Any]:
    """A notebook of code cells."""
    cells = [
        {
            "cell_type": "code",
            "id": f"cell-{i}",
            "metadata": {},
            "source": s,
            "outputs": [],
            "execution_count": None,
        }
        for i, s in enumerate(sources)
    ]
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    return {
        "cells": cells,
        "metadata": {"kernelspec": kernel, "lesson_page": flag} | metadata,
        "nbformat": 4,
        "nbformat_minor": 5,
    }


@pytest.fixture
def put(server: Server) -> Callable[[str, dict[str, Any]], str]:
    """Lay a notebook among the server's lessons."""
    laid: list[Path] = []

    def lay(name: str, content: dict[str, Any]) -> str:
        path = server.lessons / name
        path.write_text(json.dumps(content), encoding="utf-8")
        laid.append(path)
        return name

    yield lay
    for path in laid:
        path.unlink(missing_ok=True)


def listed(content: dict[str, Any], **changes: Any) -> Callable[[Page], None]:
    """List a notebook in the manifest that one page gets, as the release of a new lesson would."""
    manifest = json.loads(manifest_path().read_text(encoding="utf-8")) | changes
    manifest["lessons"].append({"name": "extra.ipynb", "sha256": fingerprint(content)})

    def serve(page: Page) -> None:
        page.route("**/manifest.json", lambda route: route.fulfill(json=manifest))

    return serve


def visible_code(page: Page) -> int:
    return page.locator(".jp-CodeCell .jp-InputArea-editor:visible").count()


@pytest.mark.parametrize("size", thin((1280, 800), (820, 1180)))
def test_a_lesson_opens_as_a_page(
    request: pytest.FixtureRequest, home_as_opened: Callable[[], Workbench], size: tuple[int, int]
) -> None:
    if size == (1280, 800):
        page = home_as_opened().page
    else:
        page = request.getfixturevalue("lesson_page")(LESSON, size=size)
    shoot(page, f"lesson-00-{size[0]}")
    assert page.evaluate("document.body.dataset.lessonPage") == LESSON
    assert visible_code(page) == 0
    expect(page.get_by_role("heading", name="Start here")).to_be_visible()
    expect(page.get_by_text(text("common.training_aid"))).to_be_visible()
    for gone in (
        ".jp-NotebookPanel-toolbar",
        ".jp-SideBar",
        "#jp-top-panel",
        "#jp-menu-panel",
        ".jp-InputPrompt",
    ):
        assert page.locator(f"{gone}:visible").count() == 0, gone
    expect(page.locator("strong", has_text="Run All Cells")).to_be_hidden()
    assert page.locator(".jp-Dialog").count() == 0
    wide = page.evaluate("document.querySelector('.jp-Notebook').scrollWidth - document.body.clientWidth")
    assert wide <= 0


@pytest.mark.full
def test_a_lesson_opens_as_a_page_inside_jupyterlab(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSON, mode="lab")
    shoot(page, "lesson-00-lab")
    assert visible_code(page) == 0
    expect(page.get_by_text(text("common.training_aid"))).to_be_visible()
    assert page.locator("#jp-top-panel:visible").count() == 1  # the workbench itself stays


@pytest.mark.full
def test_the_curious_can_see_the_code(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSON)
    page.get_by_role("button", name=text("page.show_code"), exact=True).click()
    assert visible_code(page) > 0
    expect(page.locator(".jp-NotebookPanel-toolbar").first).to_be_visible()
    shoot(page, "lesson-00-code")
    page.get_by_role("button", name=text("page.hide_code"), exact=True).click()
    assert visible_code(page) == 0


@pytest.mark.full
def test_leaving_a_lesson_asks_nothing(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSON)
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.mouse.click(400, 300)
    page.reload()
    wait_ready(page)
    assert asked == []


HARMFUL = "from pathlib import Path\nPath('it_ran').write_text('yes')"


@pytest.mark.parametrize(
    ("disguise", "mode"),
    thin(
        ["lesson with one word changed", "in place"],
        ["lesson with one word changed", "lab"],
        ["lesson with one more cell", "doc"],
        ["flag", "doc"],
    ),
)
def test_a_foreign_notebook_is_left_alone(
    server: Server, request: pytest.FixtureRequest, put: Callable[..., str], disguise: str, mode: str
) -> None:
    content = notebook(HARMFUL)
    if disguise != "flag":
        lesson = json.loads((server.lessons / LESSON).read_text(encoding="utf-8"))
        if disguise == "lesson with one more cell":
            lesson["cells"] += content["cells"]
        else:
            code = next(cell for cell in lesson["cells"] if cell["cell_type"] == "code")
            code["source"] = "".join(code["source"]) + "\n" + HARMFUL
        content = lesson
    name = put("foreign.ipynb", content)
    if mode == "in place":
        page = request.getfixturevalue("lesson_in_place")(name, wait=False)
    else:
        page = request.getfixturevalue("lesson_page")(name, mode=mode, wait=False)
    expect(page.locator(".jp-CodeCell .jp-InputArea-editor").first).to_be_visible()
    idle = "window.jupyterapp?.shell?.currentWidget?.sessionContext?.session?.kernel?.status === 'idle'"
    page.wait_for_function(idle)
    page.wait_for_timeout(1500)
    shoot(page, f"foreign-{mode}")
    assert not (server.lessons / "it_ran").exists()
    assert page.locator(".jp-OutputArea-child").count() == 0
    assert page.evaluate("Object.keys(document.body.dataset).filter((key) => key.startsWith('lesson'))") == []
    assert page.locator(".callout-bar, .callout-lesson").count() == 0
    expect(page.locator(".jp-NotebookPanel-toolbar").first).to_be_visible()


@pytest.mark.full
def test_saving_leaves_a_lesson_as_it_is(server: Server, lesson_page: OpenLesson) -> None:
    """Saved with its outputs it would be no lesson any more; its work is kept in the records."""
    page = lesson_page(LESSON)
    before = (server.lessons / LESSON).read_bytes()
    page.locator(".jp-Notebook").click(position={"x": 5, "y": 300})
    for key in ("Control+s", "Meta+s", "Control+Shift+s"):
        page.keyboard.press(key)
    page.wait_for_timeout(1000)
    assert (server.lessons / LESSON).read_bytes() == before
    assert page.locator(".jp-Dialog").count() == 0


DIES = notebook(
    "from pathlib import Path\nimport ipywidgets as widgets",
    "n = int(Path('count').read_text()) + 1 if Path('count').exists() else 1",
    "_ = Path('count').write_text(str(n))",
    "button = widgets.Button(description=f'start {n}')\n"
    "button.on_click(lambda b: setattr(b, 'description', f'pressed {n}'))\nbutton",
)
take_for_a_lesson(DIES, "dies.ipynb")


def test_a_lesson_runs_again_after_its_kernel_died(
    server: Server, lesson_in_place: OpenLesson, put: Callable[..., str]
) -> None:
    page = lesson_in_place(put("dies.ipynb", DIES))
    page.get_by_role("button", name="start 1", exact=True).click()
    expect(page.get_by_role("button", name="pressed 1", exact=True)).to_be_visible()
    kill_kernel(page, server)
    page.get_by_role("button", name="start 2", exact=True).click()
    expect(page.get_by_role("button", name="pressed 2", exact=True)).to_be_visible()
    assert page.locator(".jp-Dialog").count() == 0
    assert visible_code(page) == 0
    shoot(page, "after-death")
    (server.lessons / "count").unlink()


@pytest.mark.full
def test_going_on_begins_again_without_loading_the_page(lesson_page: OpenLesson) -> None:
    """A part that lost its kernel asks to go on; the page begins again and answers for it."""
    page = lesson_page(LESSON)
    page.evaluate("window.sameDocument = true")
    left = page.evaluate(
        """() => document.querySelector('.lesson-root').dispatchEvent(
             new CustomEvent('simulator-continue', { bubbles: true, cancelable: true }))"""
    )
    assert left is False, "nobody took the event"
    wait_ready(page, 2)
    assert page.evaluate("window.sameDocument") is True
    assert page.locator(".jp-Dialog").count() == 0


@pytest.mark.full
def test_a_changed_lesson_does_not_run_by_itself_again(server: Server, lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSON)
    cell = "window.jupyterapp.shell.currentWidget.content.widgets.at(-1).model.sharedModel"
    page.evaluate(f"source => {cell}.setSource(source)", HARMFUL)
    server.kill_kernels()
    expect(page.get_by_text(text("page.changed"))).to_be_visible()
    assert not (server.lessons / "it_ran").exists()
    assert visible_code(page) > 0


@pytest.mark.full
def test_keys_typed_into_a_lesson_change_no_cell(lesson_page: OpenLesson, put: Callable[..., str]) -> None:
    content = notebook(
        "import ipywidgets as widgets",
        "widgets.VBox([widgets.Button(description='go'), widgets.Text(), widgets.IntSlider(), "
        "widgets.Dropdown(options=['bore', 'lift', 'depth']), widgets.Checkbox(description='ok')])",
    )
    page = lesson_page(put("keys.ipynb", content), before=listed(content))
    cells = "window.jupyterapp.shell.currentWidget.content.widgets.length"
    before = page.evaluate(cells)
    places = ("button.jupyter-button", "input[type=text]", ".noUi-handle", "select", "input[type=checkbox]")
    for place in places:
        for key in ("b", "a", "x", "d", "d", "z", "m"):
            page.locator(f".jp-OutputArea {place}").focus()
            page.keyboard.press(key)
    page.locator(".jp-Notebook").click(position={"x": 5, "y": 300})
    for key in ("b", "x", "d", "d"):
        page.keyboard.press(key)
    assert page.evaluate(cells) == before
    assert page.locator(".jp-OutputArea input[type=text]").input_value() == "baxddzm"


@pytest.mark.full
def test_a_cell_that_fails_is_said(lesson_page: OpenLesson, put: Callable[..., str]) -> None:
    content = notebook("1 / 0")
    page = lesson_page(put("fails.ipynb", content), before=listed(content), wait=False)
    expect(page.get_by_text(text("page.failed"))).to_be_visible(timeout=60_000)
    assert page.evaluate("document.body.dataset.lessonReady") == "false"
    shoot(page, "failed")
    expect(page.get_by_role("button", name=text("page.start_again"), exact=True)).to_be_visible()


@pytest.mark.full
def test_progress_is_shown_while_cells_run(lesson_page: OpenLesson, put: Callable[..., str]) -> None:
    content = notebook("1", "import time\ntime.sleep(4)", "3")
    page = lesson_page(put("slow.ipynb", content), before=listed(content), wait=False)
    expect(page.get_by_text(text("page.step"))).to_be_visible(timeout=60_000)
    shoot(page, "progress")
    wait_ready(page)
    expect(page.get_by_text(text("page.getting_ready"))).to_be_hidden()


def test_until_the_first_part_is_there_the_page_says_so_in_its_middle_and_no_press_is_lost(
    lesson_page: OpenLesson,
) -> None:
    """A small bar stood in a corner of nothing; a name that was kept while the page came showed no sign."""
    page = lesson_page(HOME, wait=False)
    bar = page.locator(".callout-empty .callout-bar")
    bar.wait_for(timeout=60_000)
    assert bar.bounding_box() == {"x": 0, "y": 0, "width": 1280, "height": 800}
    name = page.locator("[data-block=name]")
    name.locator("input").wait_for(timeout=60_000)
    assert page.locator(".callout-empty").count() == 0
    early = page.evaluate(
        """() => {
          const form = document.querySelector('[data-block=name]');
          form.querySelector('input').value = 'Ash Reed';
          const early = document.body.dataset.lessonState === 'running';
          form.querySelector('button').click();
          return early && document.querySelector('.lesson-status').textContent;
        }"""
    )
    assert early in (False, text("lessons.words.early"))
    expect(page.get_by_text("Good to see you, Ash Reed")).to_be_visible(timeout=60_000)
    wait_ready(page)


WAITS = notebook("1 + 1")
take_for_a_lesson(WAITS, "waits.ipynb")


@pytest.mark.parametrize("mode", thin("in place", "doc"))
def test_a_missing_kernel_gets_a_sentence_and_a_way_out(
    request: pytest.FixtureRequest, put: Callable[..., str], watch: Watch, mode: str
) -> None:
    watch.tolerated.append("@jupyter-widgets/jupyterlab-manager")  # takes a kernel for granted
    refuse = [True]

    def before(page: Page) -> None:
        if mode != "in place":
            listed(WAITS, patience_s=2)(page)

        def answer(route: Route) -> None:
            if refuse[0] and route.request.method == "POST":
                route.fulfill(status=500, json={"message": "no room"})
            else:
                route.fallback()

        page.route("**/api/sessions*", answer)

    by = "lesson_in_place" if mode == "in place" else "lesson_page"
    page = request.getfixturevalue(by)(put("waits.ipynb", WAITS), before=before, wait=False)
    expect(page.get_by_text(text("page.no_kernel"))).to_be_visible(timeout=60_000)
    shoot(page, "no-kernel")
    refuse[0] = False
    page.get_by_role("button", name=text("page.start_again"), exact=True).click()
    wait_ready(page)


def test_the_browser_computes_the_standard_digest(server: Server, lesson_in_place: OpenLesson) -> None:
    # FIPS 180-4: the examples "abc" and the empty message; the rest against Python's hashlib
    assert hashlib.sha256(b"abc").hexdigest().startswith("ba7816bf8f01cfea414140de5dae2223")
    page = lesson_in_place(LESSON, wait=False)
    words = ["", "abc", "ö…€😀", *("x" * n for n in range(50, 135)), "long " * 5000]
    digests = page.evaluate(
        "async ([module, words]) => { const m = await import(module); return words.map(m.sha256); }",
        [f"{server.address}/{STATIC}/fingerprint.js", words],
    )
    assert digests == [hashlib.sha256(word.encode()).hexdigest() for word in words]


def test_scripts_and_pages_go_over_the_line_packed(server: Server) -> None:
    script = f"{server.address}/{STATIC}/lesson_page.js"
    for address in (script, server.page_address(LESSON)):
        request = urllib.request.Request(address, headers={"Accept-Encoding": "gzip"})
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with direct.open(request, timeout=30) as reply:
            assert reply.headers["Content-Encoding"] == "gzip", address
            packed = reply.read()
        assert len(packed) < 0.6 * len(gzip.decompress(packed)), address


def test_a_waiting_page_of_our_own_stands_before_any_script_has_come(
    browser: Browser, server: Server
) -> None:
    """No script of the server comes through: what is on the page is there without one."""
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.route("**/*.js*", lambda route: route.abort())
    page.goto(server.page_address(LESSON), wait_until="domcontentloaded")
    layer = page.locator("#callout-waiting")
    expect(layer).to_be_visible()
    expect(layer).to_have_text("Getting ready…")
    assert layer.bounding_box() == {"x": 0, "y": 0, "width": 1280, "height": 800}
    page.close()


def test_the_waiting_page_goes_once_the_lesson_tells_how_far_it_is(lesson_in_place: OpenLesson) -> None:
    page = lesson_in_place(LESSON)
    assert page.locator("#callout-waiting").count() == 0


def test_the_waiting_page_stands_on_lessons_alone(server: Server) -> None:
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    for address, there in (
        (server.page_address(LESSON), True),
        (server.page_address(LESSON, "lab"), False),
        (server.page_address("my_own.ipynb"), False),
    ):
        with direct.open(address, timeout=30) as reply:
            assert (b'id="callout-waiting"' in reply.read()) == there, address


def test_a_lesson_starts_without_what_no_lesson_uses_and_the_workbench_with_all(
    home_as_opened: Callable[[], Workbench], server: Server
) -> None:
    page = home_as_opened().page
    assert page is not None
    there = page.evaluate("(names) => names.filter((name) => window.jupyterapp.hasPlugin(name))", STARTED)
    assert there == STARTED[:1]
    asked = page.evaluate("performance.getEntriesByType('resource').map((one) => new URL(one.name).pathname)")
    assert [one for one in asked if one in ("/lab/api/build", "/api/nbconvert", "/lsp/status")] == []
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    for mode, off in (("doc", True), ("lab", False)):
        with direct.open(server.page_address(LESSON, mode), timeout=30) as reply:
            assert (b"@jupyterlab/debugger-extension" in reply.read()) == off, mode


@pytest.mark.full
def test_a_page_loaded_anew_asks_nothing_of_the_widgets_before_it(lesson_page: OpenLesson) -> None:
    page = lesson_page(LESSON)
    sent: list[str] = []

    def listen(line: WebSocket) -> None:
        line.on(
            "framesent", lambda said: sent.append(said if isinstance(said, str) else said.decode("latin-1"))
        )

    page.on("websocket", listen)
    page.reload()
    wait_ready(page)
    expect(page.locator(".lesson-root").first).to_be_visible()
    kinds = [found for one in sent for found in re.findall(r'"msg_type": ?"(\w+)"', one)]
    before = kinds[: kinds.index("execute_request")]
    asked = [one for one in sent if "request_states" in one or '"request_state"' in one]
    assert before.count("comm_msg") == 1 == len(asked)  # for all at once; nothing after it of any one
    assert "comm_info_request" not in kinds
