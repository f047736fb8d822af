"""Lessons and exercise in a made-up language 40 % longer: nothing cut, over something else, sideways or empty."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PROJECT, OpenLesson, Server, running_server, shoot, thin, wait_ready
from tests.browser.layout import (
    find_cut_text,
    find_empty_panels,
    find_faults,
    find_nameless,
    find_overflow,
    find_overlaps,
    find_small_controls,
)
from tests.house.language import write_pseudo_language

SIZES = [(1280, 800), (820, 1180)]
#: The page that a beginner sees first; all others are looked at in the full tier.
FIRST = ("00_start_here.ipynb",)
EVERY = sorted(
    path.relative_to(PROJECT / "lessons").as_posix()
    for path in (PROJECT / "lessons").rglob("*.ipynb")
    if ".ipynb_checkpoints" not in path.parts
)
LESSONS = [
    pytest.param(name, marks=[] if name in FIRST else [pytest.mark.full], id=name.removesuffix(".ipynb"))
    for name in EVERY
]


@pytest.fixture(scope="module")
def server(chromium_path: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server whose kernels speak the made-up language."""
    language = write_pseudo_language(tmp_path_factory.mktemp("language") / "long")
    folder = tmp_path_factory.mktemp("long")
    with running_server(folder, {"SIMULATOR_LANGUAGE": str(language)}) as found:
        yield found


@pytest.mark.full
@pytest.mark.parametrize("size", thin(SIZES[1], SIZES[0]), ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("lesson", LESSONS)
def test_longer_words_fit(lesson_page: OpenLesson, lesson: str, size: tuple[int, int]) -> None:
    page = lesson_page(lesson, size=size, wait=False)
    wait_ready(page, timeout=240)  # the first page on this server has nothing cached
    page.wait_for_selector(".lesson-root, .ex-root")
    page.wait_for_timeout(500)  # drawings take their size from the page's width a frame later
    shoot(page, f"long-{Path(lesson).stem}-{size[0]}")
    assert "lo mir" in page.locator("body").inner_text()
    assert find_faults(page) == {}


BAD = """<!doctype html><style>.lesson-root{width:300px;position:relative} .ex-card{height:40px}
p{position:absolute;top:10px;left:0;margin:0} .cut{position:static;overflow:hidden;white-space:nowrap;width:60px}</style>
<div class="lesson-root"><p>One thing over the other</p><p style="left:20px">The other thing</p>
<div class="cut">Much too long for its place</div><div class="ex-card"></div>
<button style="position:absolute;left:280px;top:200px;width:90px">Sticks out</button>
<button style="position:absolute;top:300px;width:20px;height:20px"></button></div>"""


@pytest.fixture
def bad_page(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 600, "height": 400})
    page.set_content(BAD)
    yield page
    page.close()


def test_bad_samples_are_caught(bad_page: Page) -> None:
    assert any("One thing over" in found for found in find_overlaps(bad_page))
    assert any("Much too long" in found for found in find_cut_text(bad_page))
    assert any("empty" in found for found in find_empty_panels(bad_page))
    assert any("Sticks out" in found for found in find_overflow(bad_page))
    assert any("20 by 20" in found for found in find_small_controls(bad_page))
    assert len(find_nameless(bad_page)) == 1
