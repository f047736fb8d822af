"""A whole call-out in JupyterLab by clicking, and the same with the kernel killed half-way."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from simulator.records import Store
from simulator.scenario import Scenario, SiteChoice, choose_fault, save_scenario
from simulator.texts import text
from tests.browser.conftest import OpenLesson, Server, at_rest, kill_kernel, shoot, thin
from tests.browser.live_exercise import find_act
from tests.browser.test_page_extension import notebook
from tests.browser.workbench import take_for_a_lesson

LESSON, SLOT, LEARNER = "call_out.ipynb", "play-through", "Ash"
CALL_OUT = Scenario(
    title="Call-out at Teal Pond",
    brief="Started it after breakfast, ran it two minutes, nothing in the hose.",
    site=SiteChoice(name="Teal Pond", lift_m=3.0),
    faults=(choose_fault("joint_ring", 0.007, "joint:1"),),
    mode="practice",
    seed=11,
)
CELL = f"""from simulator.panels.exercise.panel import open_exercise
open_exercise("scenarios/call_out.scenario.yaml", learner="{LEARNER}", slot="{SLOT}")"""


CONTENT = notebook(CELL)
take_for_a_lesson(CONTENT, LESSON)


@pytest.fixture
def lesson(server: Server) -> Iterator[None]:
    """A lesson of one exercise among the server's lessons."""
    laid = [server.lessons / LESSON, server.lessons / "scenarios" / "call_out.scenario.yaml"]
    laid[0].write_text(json.dumps(CONTENT), encoding="utf-8")
    save_scenario(CALL_OUT, laid[1])
    yield
    for path in laid:
        path.unlink(missing_ok=True)


@pytest.fixture
def open_call_out(lesson_in_place: OpenLesson, lesson: None) -> Callable[..., Yard]:
    """Opens the exercise as a page of its own."""

    def opened(size: tuple[int, int] = (1280, 800)) -> Yard:
        yard = Yard(lesson_in_place(LESSON, size=size))
        expect(yard.root).to_be_visible()
        return yard

    return opened


class Yard:
    """The exercise screen as somebody at the page uses it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.root = page.locator("[data-exercise]")

    def button(self, name: str | re.Pattern[str]) -> Locator:
        return self.root.get_by_role("button", name=name)

    def act(self, identity: str) -> Locator:
        return find_act(self.root, identity)

    def does(self, identity: str, saying: str) -> None:
        """Press an act and wait for what it leaves in the notes."""
        self.act(identity).click()
        self.noted(saying)

    def noted(self, saying: str, seconds: int = 30) -> None:
        expect(self.root.locator(".ex-notes")).to_contain_text(saying, timeout=1000 * seconds)

    def notes(self) -> list[str]:
        return self.root.locator(".ex-note").all_inner_texts()

    def dial(self, name: str) -> float:
        """The figure under a dial; a pressure above the outside counts as negative vacuum."""
        words = self.root.locator(".dial-root", has_text=name).locator(".dial-value").inner_text()
        return float(words.replace("−", "-").replace("+", "-")) if words != "–" else float("nan")

    def clock(self) -> int:
        """The shown second of the run."""
        return int(self.root.locator(".ex-now").inner_text().split()[0])

    def frames(self, count: int) -> None:
        """Let the page draw so many frames."""
        self.page.evaluate(
            """async (count) => {
              for (let i = 0; i < count; i += 1) await new Promise((done) => requestAnimationFrame(done));
            }""",
            count,
        )

    def settled_clock(self) -> int:
        """The shown second once it has stood still for a while."""
        second, since = self.clock(), 0
        for _ in range(120):
            self.page.wait_for_timeout(250)
            now = self.clock()
            second, since = now, since + 1 if now == second else 0
            if since >= 6:
                return second
        raise AssertionError("the clock did not come to rest")

    def at_rest(self) -> None:
        """Wait until the page has stopped scrolling."""
        at_rest(self.page)

    def reaches(self, second: int) -> None:
        self.page.wait_for_function(
            "(second) => parseInt(document.querySelector('.ex-now').textContent) >= second",
            arg=second,
            timeout=60_000,
        )

    def guess(self, seconds: int) -> None:
        self.root.get_by_role("spinbutton").fill(str(seconds))
        self.button(text("panel.ask.send")).click()
        expect(self.root.get_by_role("spinbutton")).to_have_count(0)

    def suspects(self, name: str, markers: int) -> None:
        self.root.get_by_label(text("panel.call.add"), exact=True).select_option(name)
        label = text(f"faults.{name}.name")
        more = self.root.get_by_label(text("panel.call.more", name=label), exact=True)
        for _ in range(markers):
            more.click()

    def rest_on_something_else(self, markers: int) -> None:
        other = self.root.get_by_label(
            text("panel.call.markers_for", name=text("panel.call.other")), exact=True
        )
        other.focus()
        for _ in range(markers):
            other.press("ArrowRight")

    def no_sideways(self) -> None:
        """Nothing sticks out of the page."""
        wide = self.root.evaluate(
            """(root) => [...root.querySelectorAll('*')]
                 .filter((part) => !part.closest('svg') && !part.closest('.ex-hidden'))
                 .filter((part) => part.getBoundingClientRect().right > root.getBoundingClientRect().right + 1)
                 .map((part) => part.className)"""
        )
        assert wide == []


def first_half(yard: Yard, shot: str) -> None:
    """From the call to the torn ring in hand, by way of a refused act and a look that finds nothing."""
    yard.button(text("panel.bar.start")).click()
    yard.noted(text("panel.needs.ppe"))  # refused, with the reason, and noted
    expect(yard.root.locator(".ex-status")).to_contain_text(text("attempt.needs.ppe"))
    yard.guess(45)
    yard.does("put_on_ppe", text("attempt.did.put_on_ppe"))
    yard.does("secure_discharge", text("attempt.did.secure_discharge"))
    yard.button(text("panel.bar.rate_spoken", n=20)).click()
    yard.button(text("panel.bar.start")).dblclick()
    yard.noted(text("attempt.did.start_engine_rated"), 90)  # the very first run compiles
    yard.reaches(25)
    assert sum("Engine started" in note for note in yard.notes()) == 1
    assert 5.0 < yard.dial("Suction") < 29.0
    assert 4.0 < yard.dial("Motive air") < 8.0
    shoot(yard.page, f"{shot}-running")
    yard.act("check:relief_listen:compressor").click()  # says nothing about a torn ring
    expect(yard.root.locator(".ex-note-look")).to_have_count(1)
    yard.act("check:strainer_out:strainer").click()
    yard.noted(text("panel.needs.isolated"))
    expect(yard.root.locator(".ex-status")).to_contain_text(text("attempt.needs.isolated"))
    yard.suspects("joint_ring", 6)
    yard.suspects("nrv_fouled", 2)
    yard.rest_on_something_else(2)
    shoot(yard.page, f"{shot}-call")
    yard.button(text("panel.call.lock_first")).click()
    expect(yard.root.get_by_role("heading", name=text("panel.call.locked_first"))).to_be_visible()
    yard.root.get_by_role("button", name=text("panel.ask.unsure")).click()
    yard.button(text("panel.bar.stop")).click()
    yard.noted(text("attempt.did.stop_engine"))
    yard.does("isolate_and_tag", text("attempt.did.isolate_and_tag"))
    yard.does("vent_hose", text("attempt.did.vent_hose"))
    yard.act("check:joint_apart:joint:1").click()
    expect(yard.root.locator(".ex-note-look")).to_have_count(2)  # torn or nicked, as chance has it


def second_half(yard: Yard, shot: str) -> None:
    """Second call, new ring, restart, proof, debrief."""
    yard.button(text("panel.call.lock_second")).click()
    expect(yard.root.get_by_role("heading", name=text("panel.call.locked_second"))).to_be_visible()
    yard.act("remedy:renew_joint_ring:joint:1").click()
    expect(yard.root.locator(".ex-note-remedy")).to_have_count(1)
    if yard.act("untag_and_close_up").count():
        yard.does("untag_and_close_up", text("attempt.did.untag_and_close_up"))
    runs = sum(text("attempt.did.start_engine_rated") in note for note in yard.notes())
    yard.button(text("panel.bar.rate_spoken", n=20)).click()
    yard.button(text("panel.bar.start")).click()
    yard.page.wait_for_function(
        "([words, runs]) => [...document.querySelectorAll('.ex-note')]"
        ".filter((note) => note.textContent.includes(words)).length > runs",
        arg=[text("attempt.did.start_engine_rated"), runs],
    )
    done = yard.button(text("panel.finish.done"))
    expect(done).not_to_have_attribute("aria-disabled", "true", timeout=60_000)
    assert yard.dial("Suction") > 20.0
    assert yard.dial("Discharge") > 0.5
    shoot(yard.page, f"{shot}-primed")
    done.click()
    expect(yard.root.get_by_role("heading", name=text("panel.debrief.title"))).to_be_visible()
    expect(yard.root.locator(".ex-part")).to_have_count(4, timeout=180_000)
    yard.at_rest()  # the page scrolls to the debrief
    shoot(yard.page, f"{shot}-debrief")


def recorded(server: Server) -> tuple[list[str], list[Any]]:
    """The acts of the only attempt on record, and its marks."""
    (path,) = Path(server.data).glob("*.sqlite3")
    with Store.open(path) as store:
        (attempt,) = store.list_attempts(LEARNER, SLOT)
        return [event["act"] for event in store.events(attempt.attempt_id)], store.marks(attempt.attempt_id)


@pytest.mark.parametrize("size", thin((1280, 800), (820, 1180)))
def test_a_whole_call_out(server: Server, open_call_out: Callable[..., Yard], size: tuple[int, int]) -> None:
    yard = open_call_out(size)
    shot = f"call-out-{size[0]}"
    shoot(yard.page, f"{shot}-opened")
    yard.no_sideways()
    first_half(yard, shot)
    second_half(yard, shot)
    yard.no_sideways()
    done, marks = recorded(server)
    assert done[0] == "begin"
    assert done[-1] == "finish"
    assert done.count("start_engine") == 3  # refused once, then two runs
    assert marks[-1].source == "automatic"


@pytest.mark.full
def test_nothing_is_lost_when_the_kernel_is_killed(
    server: Server, open_call_out: Callable[..., Yard]
) -> None:
    yard = open_call_out()
    first_half(yard, "killed-before")
    expect(yard.root.locator(".ex-status")).not_to_contain_text(text("panel.link.late"))
    notes, locked = yard.notes(), yard.root.locator(".ex-locked").inner_text()
    second = yard.settled_clock()  # the clock runs on over the minutes of the last look
    kill_kernel(yard.page, server)
    expect(yard.root).to_have_count(1)
    expect(yard.root.locator(".ex-note")).to_have_count(len(notes))
    assert yard.notes() == notes
    assert yard.root.locator(".ex-locked").inner_text() == locked
    assert abs(yard.clock() - second) <= 1
    shoot(yard.page, "killed-after")
    second_half(yard, "killed")
    done, marks = recorded(server)
    assert (done[-1], done.count("begin")) == ("finish", 1)
    assert len(marks) == 1


@pytest.mark.full
def test_everything_is_in_sight_on_a_small_screen(open_call_out: Callable[..., Yard]) -> None:
    yard = open_call_out((1280, 800))
    parts = {
        ".ex-header": 800,
        ".ex-pictures": 800,
        ".ex-gauges": 800,
        ".ex-trend": 800,
        ".ex-bar": 800,
        ".ex-place": 800,
    }
    boxes = {name: yard.root.locator(name).first.bounding_box() for name in parts}
    for name, lowest in parts.items():
        box = boxes[name]
        assert box is not None, name
        start = name == ".ex-place"  # of the lists, only their start
        assert (box["y"] if start else box["y"] + box["height"]) <= lowest - (30 if start else 0), name
    cards = [
        yard.root.locator(name).bounding_box() for name in (".ex-stage", ".ex-card-acts", ".ex-card-notes")
    ]
    stage, acts, notes = (box for box in cards if box is not None)
    assert stage["y"] + stage["height"] <= acts["y"] + 0.5
    assert acts["x"] + acts["width"] <= notes["x"] + 0.5


@pytest.mark.full
def test_controls_are_large_enough_and_have_names(open_call_out: Callable[..., Yard]) -> None:
    yard = open_call_out((820, 1180))
    found = yard.root.evaluate(
        """(root) => [...root.querySelectorAll('button, select, input')]
             .filter((control) => control.offsetParent)
             .map((control) => {
               const ticked = control.type === 'checkbox'; // its words tick it as well as its box
               const box = ((ticked && control.closest('label')) || control).getBoundingClientRect();
               const label = control.closest('label')?.innerText;
               const name = control.getAttribute('aria-label') || control.innerText || label || '';
               return {name: name.trim(), width: box.width, height: box.height};
             })"""
    )
    assert len(found) > 30
    for control in found:
        assert control["name"], control
        assert min(control["width"], control["height"]) >= 43.5, control


@pytest.mark.full
def test_the_keyboard_alone_is_enough(open_call_out: Callable[..., Yard]) -> None:
    yard = open_call_out()
    keys = yard.page.keyboard
    yard.root.get_by_role("spinbutton").focus()
    keys.type("45")
    keys.press("Enter")
    yard.noted(text("attempt.did.predict_time", seconds=45))
    # the question is gone: the focus is on what comes next, not on a start that nothing is ready for
    expect(yard.root.locator(".ex-next button").first).to_be_focused()
    for identity in ("put_on_ppe", "secure_discharge"):
        yard.act(identity).focus()
        keys.press("Space")
        yard.noted(text(f"attempt.did.{identity}"))
    yard.button(text("panel.bar.start")).focus()
    keys.press("Enter")
    yard.noted(text("attempt.did.start_engine_rated"))
    yard.reaches(20)
    slider = yard.root.get_by_role("slider", name=text("panel.bar.slider"))
    slider.focus()
    for _ in range(30):
        keys.press("ArrowLeft")
    expect(yard.root.locator(".ex-status")).to_contain_text(text("panel.bar.back_to_now"))
    keys.press("b")  # in a notebook: a new cell
    keys.press("x")  # in a notebook: cut the cell
    assert yard.page.locator(".jp-Cell").count() == 1
    yard.button(text("panel.bar.back_to_now")).focus()
    keys.press("Enter")
    expect(yard.root.locator(".ex-status")).not_to_contain_text(text("panel.bar.back_to_now"))


@pytest.mark.full
def test_the_units_switch_and_a_scrub_back_change_no_fact(open_call_out: Callable[..., Yard]) -> None:
    yard = open_call_out()
    yard.guess(45)
    yard.does("put_on_ppe", text("attempt.did.put_on_ppe"))
    yard.does("secure_discharge", text("attempt.did.secure_discharge"))
    yard.button(text("panel.bar.start")).click()
    yard.reaches(20)
    yard.button(text("panel.bar.hold")).click()
    second, vacuum = yard.clock(), yard.dial("Suction")
    units = yard.root.get_by_label(text("panel.header.units"))
    units.select_option("us")
    expect(yard.root.locator(".dial-unit").first).to_contain_text("inHg")
    figure = yard.root.locator(".dial-root", has_text="Suction").locator(".dial-value")
    expect(figure).not_to_have_text("–")  # the dials are built anew; the figure follows with the next frame
    yard.frames(3)
    assert yard.dial("Suction") == pytest.approx(vacuum / 3.386, abs=0.3)  # 1 inHg = 3.386 kPa (NIST SP 811)
    units.select_option("metric")
    slider = yard.root.get_by_role("slider", name=text("panel.bar.slider"))
    slider.fill("5")
    yard.frames(3)  # the dials follow with the next frame
    assert yard.clock() == 5
    assert yard.dial("Suction") < vacuum
    shoot(yard.page, "looking-back")
    yard.does("check:gauges:gauges", "kPa")  # acts now, not then
    assert yard.clock() >= second
    assert yard.clock() <= second + 2


@pytest.mark.full
def test_sound_is_off_at_first_and_never_without_words(open_call_out: Callable[..., Yard]) -> None:
    yard = open_call_out()
    caption = yard.root.locator(".ex-caption")
    expect(caption).to_be_hidden()
    yard.guess(45)
    yard.does("put_on_ppe", text("attempt.did.put_on_ppe"))
    yard.does("secure_discharge", text("attempt.did.secure_discharge"))
    yard.button(text("panel.bar.start")).click()
    yard.reaches(10)
    yard.button(text("panel.header.sound_off")).click()
    expect(caption).to_contain_text(text("panel.sound.engine_rated"))
    yard.does("check:exhaust_stream:exhaust", "Exhaust")
    yard.button(text("panel.bar.hold")).click()
    expect(caption).to_contain_text(text("panel.sound.engine_off"))
    yard.button(text("panel.header.sound_on")).click()
    expect(caption).to_be_hidden()
