"""The exercise screen in a bare page: what is patched, ways out of silence, lists. No server is needed.

Clock, line to the kernel and captions are tested without a browser in ``simulator/panels/screen/tests``.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.attempt import Attempt, MemoryStore
from simulator.panels.exercise.panel import ExercisePanel
from simulator.scenario import Scenario, SiteChoice
from simulator.texts import text
from tests.browser.live_exercise import find_act, lay_bare, serve_sources


@pytest.fixture
def bare(browser: Browser) -> Iterator[Page]:
    """A page with the script's parts in reach and nothing else."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    lay_bare(page)
    yield page
    context.close()
    assert errors == []


def test_patching_keeps_nodes_focus_and_handlers(bare: Page) -> None:
    serve_sources(bare)
    seen = bare.evaluate(
        """async () => {
          const { node, patchChildren } = await import('https://sources.test/base/dom.js');
          const host = document.querySelector('#host');
          const pressed = [];
          const button = (name, tag) =>
            node('button', { key: name, class: tag, on: { click: () => pressed.push(name + tag) } }, name);
          const list = (names, tag) => names.map((name) => button(name, tag));
          patchChildren(host, list(['a', 'b', 'c'], '1'));
          const b = host.children[1];
          b.focus();
          patchChildren(host, list(['b', 'c', 'd'], '2'));
          b.click();
          const kept = { same: host.children[0] === b, focus: document.activeElement === b };
          return { ...kept, pressed, text: host.textContent, kind: b.className };
        }"""
    )
    assert seen == {"same": True, "focus": True, "pressed": ["b2"], "text": "bcd", "kind": "2"}


def shown(page: Page) -> dict[str, Any]:
    """Show a real attempt's page with nobody at the other end of the line."""
    site = SiteChoice(name="Teal Pond", lift_m=3.0)
    call = Scenario(title="A call", brief="It will not draw.", site=site, mode="practice")
    panel = ExercisePanel(Attempt(call, MemoryStore(), seed=3), debriefer=None)
    state = {"page": panel.page, "words": panel.words, "units": panel.units}
    page.evaluate(
        """(state) => {
          window.model = makeModel(state);
          window.stopView = render({ model, el: document.querySelector('#host') });
        }""",
        state,
    )
    return state


def test_a_lost_kernel_is_a_sentence_with_a_way_out(bare: Page) -> None:
    shown(bare)
    bare.evaluate(
        """() => {
          window.asked = 0;
          window.addEventListener('simulator-continue', (event) => { window.asked += 1; event.preventDefault(); });
          document.querySelector('#host').classList.add('jupyter-widgets-disconnected');
          model.emit('comm_live_update');
        }"""
    )
    status = bare.locator(".ex-status")
    expect(status).to_contain_text(text("panel.link.lost"))
    before = bare.evaluate("window.sent.length")
    bare.locator('[data-act="put_on_ppe"]').click()
    assert bare.evaluate("window.sent.length") == before  # nobody is there to hear it
    status.get_by_role("button", name=text("panel.link.lost_go")).click()
    assert bare.evaluate("window.asked") == 1


def test_silence_is_said_and_asking_again_keeps_the_id(bare: Page) -> None:
    bare.clock.install()
    shown(bare)
    bare.locator('[data-act="put_on_ppe"]').click()
    bare.clock.run_for(1000)
    expect(bare.locator(".ex-status")).to_contain_text(text("panel.link.late"))
    expect(bare.locator('[data-act="put_on_ppe"]')).to_have_attribute("aria-busy", "true")
    bare.clock.run_for(9000)
    expect(bare.locator(".ex-status")).to_contain_text(text("panel.link.slow"))
    bare.clock.run_for(51000)
    expect(bare.locator(".ex-status")).to_contain_text(text("panel.link.silent"))
    bare.get_by_role("button", name=text("panel.link.again")).click()
    acts = bare.evaluate("window.sent.filter((message) => message.kind === 'act')")
    assert len(acts) == 2
    assert acts[0] == acts[1]


def test_a_grave_act_needs_a_second_press(bare: Page) -> None:
    state = shown(bare)
    bare.evaluate(
        """(page) => {
          const item = page.places.flatMap((place) => place.items).find((one) => one.id === 'check:belt:belt');
          item.risk = 'grave';
          model.set('page', { ...page, serial: page.serial + 1 });
        }""",
        state["page"],
    )
    belt = find_act(bare.locator("[data-exercise]"), "check:belt:belt")
    belt.click()
    expect(belt).to_contain_text(text("panel.acts.grave"))
    acts = "window.sent.filter((message) => message.kind === 'act').map((message) => message.action)"
    assert bare.evaluate(acts) == ["nearly"]  # that it was tried is noted; nothing is done
    bare.evaluate(
        """() => {
          const { id } = window.sent.findLast((message) => message.kind === 'act');
          model.emit('msg:custom', { kind: 'ack', id, accepted: true, sentence: '', serial: 0 }, []);
        }"""
    )
    bare.wait_for_timeout(600)  # not a double click
    belt.click()
    assert bare.evaluate(acts) == ["nearly", "check"]


def test_the_list_goes_place_by_place_and_can_show_all_that_can_be_done_now(bare: Page) -> None:
    state = shown(bare)
    items = [item for place in state["page"]["places"] for item in place["items"]]
    listed = bare.locator(".ex-lists [data-act]")
    expect(bare.locator('[data-where="quick"]')).to_have_attribute("aria-pressed", "true")
    expect(listed).to_have_count(sum(item["quick"] for item in items))
    seen: set[str] = set()
    for place in state["page"]["places"]:
        if place["id"] != "before":
            bare.locator(f'[data-where="{place["id"]}"]').click()
            expect(listed).to_have_count(len(place["items"]))
            seen |= set(listed.evaluate_all("(buttons) => buttons.map((button) => button.dataset.act)"))
    assert seen == {item["id"] for item in items if item["kind"] != "precaution"}
    bare.locator('[data-where="now"]').click()
    expect(bare.locator(".ex-lists .ex-act-waits")).to_have_count(0)
    expect(listed).to_have_count(sum(not item["waits"] and item["kind"] != "precaution" for item in items))
    expect(bare.locator('[data-act="put_on_ppe"]')).to_be_visible()  # making safe is always in sight


def test_what_a_refused_act_lacks_stands_out(bare: Page) -> None:
    shown(bare)
    find_act(bare.locator("[data-exercise]"), "check:nrv_lid:nrv").click()
    wanted = bare.locator(".ex-wanted")
    assert set(wanted.evaluate_all("(buttons) => buttons.map((button) => button.dataset.act)")) == {
        "put_on_ppe",
        "isolate_and_tag",
        "relieve_line",
    }


def test_the_clock_waits_once_for_who_runs_a_pump_dry(bare: Page) -> None:
    page = shown(bare)["page"]
    wait = {"key": "1:dry:0", "sentence": text("attempt.run.wait_dry")}
    run = {**page["run"], "id": 1, "shown": 121.0, "final": False, "wait": wait}
    running = {**page, "run": run, "phase": "work", "engine": {**page["engine"], "running": True}}
    bare.evaluate("(page) => model.set('page', page)", running)
    expect(bare.locator(".ex-status")).to_contain_text("Still no water")
    expect(bare.get_by_role("button", name=text("panel.bar.go_on")).first).to_be_visible()
    bare.locator(".ex-status button").click()
    expect(bare.locator(".ex-hold")).to_have_text(text("panel.bar.hold"))
    bare.evaluate("(page) => model.set('page', page)", {**running, "run": {**run, "shown": 122.0}})
    expect(bare.locator(".ex-hold")).to_have_text(text("panel.bar.hold"))  # it waits once
    bare.evaluate(
        "(page) => model.set('page', page)", {**running, "run": {**run, "wait": {**wait, "key": "1:dry:1"}}}
    )
    expect(bare.locator(".ex-hold")).to_have_text(text("panel.bar.go_on"))  # and once more before it counts


def test_closing_the_view_stops_it(bare: Page) -> None:
    shown(bare)
    bare.evaluate("window.stopView()")
    bare.evaluate("model.emit('change:page')")
    bare.wait_for_timeout(100)
    assert bare.evaluate("window.sent.length") == 0


def test_the_curve_tells_the_second_that_the_clock_tells(bare: Page) -> None:
    """Also at the fastest clock: what stands beside the curve is written in the frame in which the clock is."""
    serve_sources(bare)
    told = bare.evaluate(
        """async () => {
          const { createStripChart } = await import('https://sources.test/trend/strip_chart.js');
          const written = [];
          const write = CanvasRenderingContext2D.prototype.fillText;
          CanvasRenderingContext2D.prototype.fillText = function (words, ...at) {
            written.push(words);
            return write.call(this, words, ...at);
          };
          const host = document.querySelector('#host');
          const words = { reading_at: '{value} at {t}', static_lift: 'lift', vacuum_axis: '', motive_axis: '' };
          const chart = createStripChart(host, words, { span_s: 60, height: 300 });
          const time = Float32Array.from({ length: 601 }, (_, i) => i / 10);
          chart.setData({ time, values: time.map((t) => 500 * t), motive: time });
          const seen = [];
          for (const shown of [3.3, 3.4, 4.0, 9.7, 15.2, 21.99, 59.95]) {
            written.length = 0;
            chart.setShown(shown);
            seen.push(written.filter((one) => / at /.test(one)).map((one) => one.split(' at ')[1]));
          }
          CanvasRenderingContext2D.prototype.fillText = write;
          chart.destroy();
          return seen;
        }"""
    )
    assert told == [["3"], [], ["4"], ["9"], ["15"], ["21"], ["59"]]
