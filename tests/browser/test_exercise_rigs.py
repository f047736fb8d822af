"""Every rig's own acts pressed on the page: one look at each place, and work that mends."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.rig.presets import load_rig, rig_names
from simulator.rig.record_files import GROUPS
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.browser.conftest import thin
from tests.browser.live_exercise import LiveExercise, where_of

LOOKS = (
    "check:tachometer:engine",
    "check:watch_water:water",
    "check:listen_line:hose",
    "check:foam_joint:joint:1",
    "check:listen_pump:pump",
    "check:exhaust_stream:exhaust",
    "check:relief_listen:compressor",
    "check:walk_discharge:discharge_line",
)


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    opened = context.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(error.stack or str(error)))
    yield opened
    context.close()
    assert errors == []


def press(yard: LiveExercise, identity: str) -> None:
    """Press an act and wait for what it tells, beside its button and in the notes."""
    before = len(yard.panel.attempt.log)
    yard.act(identity).click()
    yard.pump_until(lambda: len(yard.panel.attempt.log) > before)
    yard.quiet()
    told = yard.panel.attempt.log[-1]
    assert told["accepted"], (identity, told["notes"])
    line = yard.root.locator("li", has=yard.page.locator(f'[data-act="{identity}"]')).locator(".ex-act-said")
    expect(line.first).not_to_be_empty()
    said = line.first.inner_text()
    assert said.rstrip().endswith("."), said
    expect(yard.root.locator(".ex-notes")).to_contain_text(said.split(": ")[-1].split(". ")[-1].strip("."))


@pytest.mark.full
@pytest.mark.parametrize("rig", thin(*rig_names()))
def test_a_look_at_every_place_and_work_on_each_rig(page: Page, rig: str) -> None:
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        rig=rig,
        site=SiteChoice(name="Teal Pond", lift_m=3.0),
        faults=(choose_fault("drain_open", 0.4),),
        mode="practice",
    )
    yard = LiveExercise(page, call)
    fitted = load_rig(rig)
    assert yard.root.locator(".dial-root").count() == 2 + fitted.has_motive_gauge
    yard.start()
    yard.does("wait", {"seconds": 15})  # up to speed
    for identity in LOOKS[:-1]:
        press(yard, identity)
    assert {where_of(identity) for identity in LOOKS} == set(GROUPS) - {"before"}
    shown = yard.root.locator(".ex-tachometer").inner_text()
    rpm = int(shown.split()[0].replace(",", ""))
    assert shown == text("panel.bar.rpm", n=f"{rpm:,}")
    rated, droop = 60.0 * fitted.engine.rated_speed, fitted.engine.droop
    assert (
        rated < rpm <= rated * (1 + droop)
    )  # no water: the governor lets an unloaded engine run above rated
    for act in ("stop_engine", "isolate_and_tag"):  # a discharge line is walked with the engine locked off
        yard.does(act, {})
    press(yard, LOOKS[-1])
    yard.does("call", {"markers": {"drain_open": 10}})
    yard.act("remedy:close_drain:").click()  # the second call is still open: asked first
    expect(yard.root.locator(".ex-act-grave")).to_have_text(text("panel.acts.second_call"))
    yard.does("call", {"markers": {"drain_open": 10}})
    yard.does("predict", {"question": "blank_off_if_right", "answer": None})
    press(yard, "remedy:close_drain:")
    if fitted.has_isolating_cock:
        press(yard, "remedy:open_cock:")
    else:
        assert yard.act("remedy:open_cock:").count() == 0
    expect(yard.root.locator(".ex-pump svg")).to_contain_text(text("picture.drain_looks_shut"))


PARTS = {
    "osier": {
        "strainer": "water",
        "impeller": "pump",
        "nozzle": "jet",
        "nrv": "discharge",
        "belt": "compressor",
    },
    "reed": {"float": "jet", "cock": "jet", "frost_drain": "discharge", "intake": "compressor"},
}


@pytest.mark.full
@pytest.mark.parametrize("rig", thin(*PARTS))
def test_a_part_pressed_in_a_picture_leads_to_its_acts(page: Page, rig: str) -> None:
    call = Scenario(title="A call", brief="It will not draw.", rig=rig, site=SiteChoice(lift_m=3.0))
    yard = LiveExercise(page, call)
    spots = {
        "impeller": (206, 316), "nozzle": (150, 140), "nrv": (256, 206), "belt": (388, 250), "float": (121, 203),
        "cock": (132, 174), "frost_drain": (214, 190), "intake": (428, 134),
    }  # fmt: skip
    for part, where in PARTS[rig].items():
        picture = yard.root.locator(".ex-pump svg" if part in spots else ".ex-site svg").first
        picture.scroll_into_view_if_needed()
        box = picture.bounding_box()
        assert box is not None
        if part in spots:  # in units of the drawing, which is 440 wide and begins at 10
            size = box["width"] / 440.0
            at = {"x": size * spots[part][0], "y": size * (spots[part][1] - 10)}
        else:
            at = {"x": 30, "y": 0.72 * box["height"]}
        picture.click(position=at)
        chosen = yard.root.locator('.ex-where [aria-pressed="true"]')
        expect(chosen).to_have_attribute("data-where", where)
        first = yard.root.locator(".ex-lists [data-act]").first.get_attribute("data-act")
        items = {i["id"]: i for p in yard.panel.page["places"] for i in p["items"]}
        assert part not in spots or items[str(first)]["part"] in (part, "belt", "pump"), (part, first)
