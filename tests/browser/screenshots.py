"""Pictures of every lesson state, made by driving the real pages: for people who judge them, not for a test.

``python -m tests.browser.screenshots --out shots`` drives every lesson in a laptop's and a tablet's window.
``--whole`` adds the whole length of each page, ``--themes light dark`` both themes, ``--only 01`` one lesson,
``--language FOLDER`` another catalogue. ``--moments`` takes the twenty fixed moments of ``moments.yaml`` instead,
``--trial`` the forty of ``trial.yaml`` with their questions (``--only 00 09`` those of some lessons); both write the key.
The states stand in ``states.yaml``; what cannot be reached is told and left out.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import yaml
from playwright.sync_api import Browser, Locator, Page, sync_playwright
from playwright.sync_api import Error as PageError

from tests.browser import moments
from tests.browser.conftest import FLAGS, PROJECT, Server, running_server, wait_ready
from tests.browser.layout import find_faults
from tests.browser.steps import OPEN_QUESTION, THEMES, in_a_row, set_theme, step
from tests.conftest import NO_BROWSER, find_browser

STATES = Path(__file__).with_name("states.yaml")
SIZES = {"laptop": (1280, 800), "tablet": (820, 1180), "projector": (1920, 1080)}
PATIENCE = 15_000  # [ms] for a step
SLOW_MACHINE = 300.0  # [s] for a lesson to be ready
TALLEST = 14_000  # [px] of a picture of a whole page
LENGTH = """() => {
  const outer = document.querySelector('.jp-WindowedPanel-outer');
  const ends = [...document.querySelectorAll('.lesson-root, .ex-root')].map((n) => n.getBoundingClientRect().bottom);
  return Math.max(innerHeight / 2, ...ends) + (outer ? outer.scrollTop : 0);
}"""  # of all that a lesson shows [px]
GUESS, PRESSES = (
    "30",
    4,
)  # what is typed where a figure is asked for; a button such as Next is pressed so often
PLAIN_BUTTON = ".lesson-root button.lesson-primary:not([aria-disabled='true'])"


def lessons() -> dict[str, list[dict[str, Any]]]:
    """The states of every lesson, by the name of its notebook; those of the data first."""
    data = yaml.safe_load(STATES.read_text(encoding="utf-8"))
    found = {}
    for path in sorted((PROJECT / "lessons").rglob("*.ipynb")):
        if ".ipynb_checkpoints" not in path.parts:
            name = path.relative_to(PROJECT / "lessons").with_suffix("").as_posix()
            states = data["lessons"].get(name, [{"name": "new"}, {"name": "on", "auto": data["auto"]}])
            found[name] = in_a_row(states)
    return found


@dataclass
class Camera:
    """Takes pictures of a page and looks it over."""

    page: Page
    folder: Path
    stem: str
    whole: bool
    told: list[str]

    def take(self, name: str, at: Locator | None = None) -> None:
        """A picture of what the window shows, and of the whole page where that is wanted."""
        if at is not None and at.count():
            at.first.evaluate("node => node.scrollIntoView({ block: 'start' })")
        self.page.wait_for_timeout(250)
        self.page.screenshot(path=self.folder / f"{self.stem}-{name}.png")
        for what, found in find_faults(self.page).items():
            self.told += [f"{self.stem}-{name}: {what}: {sentence}" for sentence in found]
        if not self.whole:
            return
        size = self.page.viewport_size or {"width": 1280, "height": 800}
        tall = min(int(self.page.evaluate(LENGTH)) + 60, TALLEST)
        self.page.set_viewport_size({"width": size["width"], "height": tall})
        self.page.wait_for_timeout(400)
        # the notebook leaves room below its end, so it may have kept a scrolled place
        self.page.evaluate(
            "document.querySelectorAll('.jp-WindowedPanel-outer').forEach((n) => n.scrollTo(0, 0))"
        )
        self.page.wait_for_timeout(250)
        self.page.screenshot(
            path=self.folder / f"{self.stem}-{name}-whole.png",
            clip={
                "x": 0,
                "y": 0,
                "width": size["width"],
                "height": min(int(self.page.evaluate(LENGTH)) + 60, tall),
            },
        )
        self.page.set_viewport_size(size)


def next_thing(page: Page) -> Locator | None:
    """What somebody in a hurry would press next: an open question, else a plain button not pressed too often before."""
    for number in range(page.locator(OPEN_QUESTION).count()):
        option = page.locator(OPEN_QUESTION).nth(number)
        if option.is_visible():
            return option
    for number in range(page.locator(PLAIN_BUTTON).count()):
        found = page.locator(PLAIN_BUTTON).nth(number)
        pressed = int(found.evaluate("node => Number(node.dataset.walked || 0)"))
        if found.is_visible() and pressed < PRESSES:
            found.evaluate("node => { node.dataset.walked = Number(node.dataset.walked || 0) + 1; }")
            fields = found.locator("xpath=ancestor::form[1]//input[@inputmode='decimal']")
            for field in fields.all()[:1]:
                if field.is_visible() and not field.input_value():
                    field.fill(GUESS)
            return found
    return None


def walk(page: Page, camera: Camera, name: str, steps: int) -> None:
    """Go on through a lesson of which no states are known, a picture of each step."""
    for number in range(1, steps + 1):
        target = next_thing(page)
        if target is None:
            return
        section = target.locator("xpath=ancestor::section[1]")
        block = section.get_attribute("data-block")
        target.click()
        page.wait_for_timeout(700)
        camera.take(f"{name}-{number:02d}", page.locator(f'[data-block="{block}"]'))


def picture_lesson(
    browser: Browser, server: Server, lesson: str, states: list[dict[str, Any]], camera_of: Any, theme: str
) -> None:
    """Drive one lesson through its states."""
    context = browser.new_context()
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    camera: Camera = camera_of(page)
    try:
        page.goto(server.page_address(f"{lesson}.ipynb"))
        wait_ready(page, timeout=SLOW_MACHINE)
        set_theme(page, theme)
        page.wait_for_timeout(600)
        for number, state in enumerate(states, start=1):
            name = f"{number:02d}-{state['name']}"
            try:
                for what in state.get("do", ()):
                    step(page, what)
                if "auto" in state:
                    walk(page, camera, name, int(state["auto"]))
                else:
                    camera.take(name, page.locator(state["at"]) if "at" in state else None)
            except PageError as error:
                first = str(error).splitlines()[0]
                camera.told.append(f"{camera.stem}-{name}: not reached: {first}")
                page.screenshot(path=camera.folder / f"{camera.stem}-{name}-not-reached.png")
                break
    except (pytest.fail.Exception, PageError) as error:
        camera.told.append(f"{camera.stem}: not opened: {str(error).splitlines()[0][:160]}")
    finally:
        context.close()
        with suppress(OSError):
            server.end_sessions()


def main(arguments: list[str] | None = None) -> int:
    """Take the pictures; what went wrong is told at the end and written into ``notes.txt`` beside them."""
    parser = argparse.ArgumentParser(prog="python -m tests.browser.screenshots")
    parser.add_argument("--out", default="screenshots")
    parser.add_argument("--only", nargs="*", default=[], help="starts of lesson names, such as 01")
    parser.add_argument("--sizes", nargs="*", default=["laptop", "tablet"], choices=SIZES)
    parser.add_argument("--themes", nargs="*", default=["light"], choices=THEMES)
    parser.add_argument("--whole", action="store_true", help="also the whole length of each page")
    parser.add_argument("--moments", action="store_true", help="the twenty moments of the new user's trial")
    parser.add_argument(
        "--trial", action="store_true", help="its forty pictures, each with a question of its own"
    )
    parser.add_argument("--language", default="", help="a folder with another message catalogue")
    chosen = parser.parse_args(arguments)
    if (chosen.moments or chosen.trial) and len(chosen.sizes) * len(chosen.themes) > 1:
        chosen.sizes, chosen.themes = chosen.sizes[:1], chosen.themes[:1]
    path = find_browser()
    if path is None:
        sys.stderr.write(f"{NO_BROWSER}\n")
        return 1
    folder = Path(chosen.out)
    folder.mkdir(parents=True, exist_ok=True)
    told: list[str] = []
    wanted = {
        name: states
        for name, states in lessons().items()
        if not chosen.only or name.startswith(tuple(chosen.only))
    }
    more = {"SIMULATOR_LANGUAGE": chosen.language} if chosen.language else {}
    with (
        tempfile.TemporaryDirectory() as scratch,
        running_server(Path(scratch), more) as server,
        sync_playwright() as driver,
    ):
        browser = driver.chromium.launch(executable_path=path, args=FLAGS)
        for size in chosen.sizes:
            for theme in chosen.themes:
                if chosen.moments or chosen.trial:
                    window = dict(zip(("width", "height"), SIZES[size], strict=True))
                    way = moments.entries(moments.TRIAL if chosen.trial else moments.DATA)
                    told.extend(moments.picture(browser, server, folder, window, theme, way, chosen.only))
                    moments.write_questions(folder, way)
                    continue
                for lesson, states in wanted.items():
                    stem = f"{lesson.replace('/', '-')}-{size}-{theme}"
                    sys.stdout.write(f"{stem}\n")

                    def camera_of(page: Page, stem: str = stem, size: str = size) -> Camera:
                        width, height = SIZES[size]
                        page.set_viewport_size({"width": width, "height": height})
                        return Camera(page, folder, stem, chosen.whole, told)

                    picture_lesson(browser, server, lesson, states, camera_of, theme)
        browser.close()
    (folder / "notes.txt").write_text("\n".join(told) + "\n", encoding="utf-8")
    sys.stdout.write(
        f"{len(list(folder.glob('*.png')))} pictures, {len(told)} notes in {folder / 'notes.txt'}\n"
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
