"""A notebook that means harm, a stranger's or a lesson of ours that was tampered with, runs nothing by being opened.

Everything that a notebook can carry is made to try: markdown, attachments, outputs of every kind, metadata of cells and
of the notebook, widgets saved in it. What runs says so to the page and asks the server and a place outside for something.
"""

from __future__ import annotations

import base64
import json
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenLesson, Server, Watch, shoot, thin
from tests.browser.test_page_extension import LESSON, notebook

OUTSIDE = "http://outside.example"
#: What every hostile piece runs.
DEED = f"top.itRan=(top.itRan||[]).concat('NAME');fetch('/it-ran-NAME');fetch('{OUTSIDE}/NAME')"
RAN = "() => window.itRan || []"


def deed(name: str) -> str:
    return DEED.replace("NAME", name)


def html(name: str) -> str:
    """Every way HTML has to run something or to ask somebody outside."""
    run = deed(name)
    return (
        f'<script>{run}</script><img src="x:" onerror="{run}"><svg onload="{run}"><script>{run}</script></svg>'
        f'<iframe srcdoc="<script>{run}</script>"></iframe><iframe src="javascript:{run}"></iframe>'
        f'<iframe src="{OUTSIDE}/frame-{name}"></iframe><object data="{OUTSIDE}/object-{name}"></object>'
        f'<embed src="{OUTSIDE}/embed-{name}"><img src="{OUTSIDE}/img-{name}.png">'
        f'<link rel="stylesheet" href="{OUTSIDE}/sheet-{name}.css"><link rel="prefetch" href="{OUTSIDE}/pre-{name}">'
        f'<style>@import url("{OUTSIDE}/import-{name}.css"); p {{ background: url("{OUTSIDE}/bg-{name}.png") }}</style>'
        f'<div style="background: url({OUTSIDE}/style-{name}.png)">a</div>'
        f'<video autoplay src="{OUTSIDE}/film-{name}.mp4"></video>'
        f'<audio autoplay src="{OUTSIDE}/sound-{name}.mp3"></audio>'
        f'<meta http-equiv="refresh" content="0; url={OUTSIDE}/away-{name}"><base href="{OUTSIDE}/">'
        f'<details open ontoggle="{run}"><summary>b</summary></details><input autofocus onfocus="{run}">'
        f'<form action="{OUTSIDE}/form-{name}"><button autofocus onfocus="{run}">c</button></form>'
        f'<math><mtext><img src="x:" onerror="{run}"></mtext></math>'
    )


def svg(name: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" onload="{deed(name)}"><script>{deed(name)}</script>'
        f'<image href="{OUTSIDE}/svg-{name}.png"/><foreignObject><body xmlns="http://www.w3.org/1999/xhtml">'
        f'<img src="x:" onerror="{deed(name)}"/></body></foreignObject></svg>'
    )


MARKDOWN = {
    "cell_type": "markdown",
    "id": "hostile-words",
    "metadata": {"trusted": True},
    "source": html("markdown")
    + f"\n\n![a]({OUTSIDE}/md.png) ![b](attachment:a.svg) ![c](attachment:b.html) [d](javascript:{deed('link')})\n\n"
    + f"```mermaid\ngraph TD; A[<img src=x: onerror={deed('mermaid')}>]-->B; click A call alert()\n```\n\n"
    + f"$\\href{{javascript:{deed('math')}}}{{x}}$",
    "attachments": {
        "a.svg": {"image/svg+xml": base64.b64encode(svg("attachment").encode()).decode()},
        "b.html": {"text/html": html("attachment-html")},
    },
}
WIDGET = {
    "model_module": "anywidget",
    "model_module_version": "~0.11.*",
    "model_name": "AnyModel",
    "state": {
        "_esm": f"{deed('esm')}; export default {{ initialize() {{ {deed('initialize')} }} }}",
        "_css": f"@import url('{OUTSIDE}/esm.css');",
        "_anywidget_id": "x",
        "_model_module": "anywidget",
        "_model_name": "AnyModel",
        "_model_module_version": "~0.11.*",
        "_view_module": "anywidget",
        "_view_name": "AnyView",
        "_view_module_version": "~0.11.*",
    },
}
HTML_WIDGET = {
    "model_module": "@jupyter-widgets/controls",
    "model_module_version": "2.0.0",
    "model_name": "HTMLModel",
    "state": {"value": html("widget"), "_view_name": "HTMLView"},
}
SAVED = {
    "application/vnd.jupyter.widget-state+json": {
        "version_major": 2,
        "version_minor": 0,
        "state": {"a" * 32: WIDGET, "b" * 32: HTML_WIDGET},
    }
}
VIEWS = [
    {
        "application/vnd.jupyter.widget-view+json": {
            "model_id": letter * 32,
            "version_major": 2,
            "version_minor": 0,
        }
    }
    for letter in "ab"
]
KINDS = [
    {"text/html": html("output")},
    {"application/javascript": deed("javascript")},
    {"image/svg+xml": svg("svg")},
    {"text/markdown": html("output-markdown")},
    {"text/latex": f"$\\href{{javascript:{deed('latex')}}}{{x}}$"},
    {
        "application/vnd.plotly.v1+json": {
            "data": [],
            "layout": {"title": {"text": html("plotly")}, "images": [{"source": f"{OUTSIDE}/plotly.png"}]},
        }
    },
    {"application/geo+json": {"type": "Point", "coordinates": [0, 0], "html": html("geo")}},
    {"application/pdf": base64.b64encode(b"%PDF-1.4").decode()},
    {"text/vnd.mermaid": f"graph TD; A[<img src=x: onerror={deed('mermaid-output')}>]"},
    *VIEWS,
]  # fmt: skip
OUTPUTS = [
    *({"output_type": "display_data", "metadata": {"isolated": True}, "data": kind} for kind in KINDS),
    *({"output_type": "display_data", "metadata": {}, "data": kind} for kind in KINDS),
    {"output_type": "stream", "name": "stdout", "text": html("stream")},
    {"output_type": "error", "ename": html("error"), "evalue": html("error"), "traceback": [html("error")]},
]
CODE = {
    "cell_type": "code",
    "id": "hostile-code",
    "metadata": {"trusted": True, "jupyter": {"source_hidden": True}, "name": html("cell-metadata")},
    "source": "from pathlib import Path\nPath('it_ran').write_text('yes')",
    "outputs": OUTPUTS,
    "execution_count": 1,
}
KERNEL = {"display_name": html("kernel"), "language": html("kernel"), "name": "python3"}


def stranger(flag: bool) -> dict[str, Any]:
    content = notebook(
        flag=flag, widgets=SAVED, title=html("title"), celltoolbar=html("toolbar"), kernelspec=KERNEL
    )
    content["cells"] = [
        MARKDOWN,
        CODE,
        {"cell_type": "raw", "id": "r", "metadata": {}, "source": html("raw")},
    ]
    return content


def tampered(lesson: dict[str, Any], how: str) -> dict[str, Any]:
    """A lesson of ours, every source as it was."""
    first, code = lesson["cells"][0], next(cell for cell in lesson["cells"] if cell["cell_type"] == "code")
    if how in ("saved widgets", "all"):
        lesson["metadata"]["widgets"] = SAVED
    if how in ("outputs", "all"):
        code["outputs"] = OUTPUTS
    if how in ("attachments", "all"):
        first["attachments"] = MARKDOWN["attachments"]
    if how in ("cell metadata", "all"):
        first["metadata"] |= {"trusted": True, "name": html("cell-metadata")}
    if how in ("metadata", "all"):
        lesson["metadata"] |= {"title": html("title"), "celltoolbar": html("toolbar")}
    if how == "all":
        lesson["metadata"]["kernelspec"] = KERNEL
    return lesson


def nothing_ran(page: Page, server: Server, watch: Watch, asked: list[str]) -> None:
    """Let everything have its time, then look what came of it."""
    expect(page.locator(".jp-CodeCell, .lesson-root").first).to_be_visible(timeout=120_000)
    kernel = "window.jupyterapp?.shell?.currentWidget?.sessionContext?.session?.kernel"
    page.wait_for_function(f"{kernel}?.status === 'idle'", timeout=120_000)
    page.evaluate(f"{kernel}.requestKernelInfo()")  # widgets come back once the kernel has answered
    page.wait_for_timeout(3000)
    page.keyboard.press("Tab")
    page.wait_for_timeout(500)
    watch.tolerated += [
        "@jupyter-widgets",
        "mermaid",
        "vega",
        "plotly",
        "MathJax",
        "leaflet",
    ]  # their own complaints
    assert page.evaluate(RAN) == []
    assert [one for one in asked if urlsplit(one).path.startswith("/it-ran") or one == "dialog"] == []
    assert watch.outside == []
    assert not list(server.root.rglob("it_ran"))


def open_hostile(
    server: Server, lesson_page: OpenLesson, content: dict[str, Any], mode: str
) -> tuple[Page, list[str]]:
    (server.lessons / "hostile.ipynb").write_text(json.dumps(content), encoding="utf-8")
    asked: list[str] = []

    def listen(page: Page) -> None:
        page.on("request", lambda request: asked.append(request.url))
        page.once("dialog", lambda dialog: (asked.append("dialog"), dialog.dismiss()))

    how = {} if mode == "in place" else {"mode": mode}
    return lesson_page("hostile.ipynb", wait=False, before=listen, **how), asked


@pytest.fixture(autouse=True)
def taken_away(server: Server) -> Any:
    yield
    (server.lessons / "hostile.ipynb").unlink(missing_ok=True)


@pytest.mark.parametrize(("flag", "mode"), thin([True, "in place"], [True, "doc"], [False, "lab"]))
def test_a_stranger_runs_nothing(
    server: Server, request: pytest.FixtureRequest, watch: Watch, flag: bool, mode: str
) -> None:
    by = "lesson_in_place" if mode == "in place" else "lesson_page"
    page, asked = open_hostile(server, request.getfixturevalue(by), stranger(flag), mode)
    nothing_ran(page, server, watch, asked)
    shoot(page, f"hostile-stranger-{mode}")
    assert page.locator(".callout-bar, .callout-lesson").count() == 0


@pytest.mark.full
@pytest.mark.parametrize(
    "how", thin("all", "saved widgets", "outputs", "attachments", "cell metadata", "metadata")
)
def test_a_lesson_that_was_tampered_with_is_a_strangers(
    server: Server, lesson_page: OpenLesson, watch: Watch, how: str
) -> None:
    lesson = json.loads((server.lessons / LESSON).read_text(encoding="utf-8"))
    page, asked = open_hostile(server, lesson_page, tampered(lesson, how), "doc")
    nothing_ran(page, server, watch, asked)
    shoot(page, f"hostile-{how.replace(' ', '-')}")
    assert page.locator(".callout-bar, .callout-lesson, .lesson-root").count() == 0, "it was run as a lesson"
