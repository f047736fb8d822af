"""The exercise screen's own parts in a bare page: clock, line to the kernel, patching, ways out. No server is needed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from simulator.attempt import Attempt, MemoryStore
from simulator.panels.exercise.page_model import fixed_words
from simulator.panels.exercise.panel import ExercisePanel, assets
from simulator.scenario import Scenario, SiteChoice
from simulator.texts import text
from tests.browser.live_exercise import find_act

MODEL = """
window.sent = [];
window.makeModel = (state) => {
  const handlers = {};
  const model = {
    get: (name) => state[name],
    set: (name, value) => { state[name] = value; model.emit('change:' + name); },
    save_changes: () => {},
    on: (name, call) => (handlers[name] ||= []).push(call),
    off: (name, call) => { handlers[name] = (handlers[name] || []).filter((other) => other !== call); },
    send: (message) => window.sent.push(structuredClone(message)),
    emit: (name, ...more) => (handlers[name] || []).forEach((call) => call(...more)),
  };
  return model;
};
"""


@pytest.fixture
def bare(browser: Browser) -> Iterator[Page]:
    """A page with the script's parts in reach and nothing else."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.set_content(
        "<!doctype html><html lang='en'><body data-jp-theme-light='true'><div id='host'></div></body></html>"
    )
    page.add_style_tag(content=assets.exercise_style())
    script = assets.exercise_script().replace(
        "export default { render };",
        "Object.assign(window, { render, RunPlayer, EngineRoomLink, patchChildren, node, heardFrom, captionText });",
    )
    page.add_script_tag(content=f"{MODEL}\n(() => {{\n{script}\n}})();")
    yield page
    context.close()
    assert errors == []


RUN = """
const player = new RunPlayer();
player.follow({ id: 1, shown: 0, duration: 300 });
const give = (start, values, more) => player.accept(
  { run: 1, start, step: 0.1, channels: ['a', 'code'], stepped: ['code'], count: values.length, final: false, ...more },
  Float32Array.from(values.flatMap((value) => [value, Math.floor(value)])));
const ramp = (from, to) => Array.from({ length: Math.round((to - from) / 0.1) + 1 }, (_, k) => from + 0.1 * k);
"""


def test_the_clock_runs_at_its_rate_and_waits_at_the_end_of_the_samples(bare: Page) -> None:
    seen = bare.evaluate(
        f"""() => {{ {RUN}
          give(0, ramp(0, 10));
          player.rate = 5;
          const out = {{}};
          player.advance(1000); player.advance(900); out.early = player.time;  // a first frame may lie before now
          player.advance(1000); player.advance(1100); out.tenth = player.time;
          out.value = player.value('a'); out.code = player.value('code', 3.97);
          player.advance(61100); out.afterSleep = player.time;
          for (let k = 0; k < 400; k += 1) player.advance(61100 + 16 * k);
          out.end = player.time; out.starved = player.starved;
          give(10.1, ramp(10.1, 20));
          player.advance(67600); out.further = player.time; out.fed = player.starved;
          return out;
        }}"""
    )
    assert seen["early"] == 0.0
    assert seen["tenth"] == pytest.approx(0.5)  # 0.1 s at five times
    assert seen["value"] == pytest.approx(0.5, abs=1e-5)
    assert seen["code"] == 3  # a code is never between two codes
    assert seen["afterSleep"] == pytest.approx(0.5 + 5 * 0.25)  # a page asleep does not leap ahead
    assert (seen["end"], seen["starved"]) == (pytest.approx(10.0), True)
    assert seen["further"] > 10.0
    assert seen["fed"] is False


def test_new_samples_replace_what_follows_and_a_gap_is_not_taken(bare: Page) -> None:
    seen = bare.evaluate(
        f"""() => {{ {RUN}
          give(0, ramp(0, 10));
          const gap = give(11, ramp(11, 12));
          give(4, ramp(4, 6).map(() => 99), {{ replace_from: 4 }});
          const strange = {{ run: 2, start: 0, step: 0.1, channels: ['a'], count: 1 }};
          const other = player.accept(strange, Float32Array.from([5]));
          return {{ gap, other, end: player.end, before: player.value('a', 3.9), after: player.value('a', 4.5) }};
        }}"""
    )
    assert (seen["gap"], seen["other"]) == (False, False)
    assert seen["end"] == pytest.approx(6.0)
    assert seen["before"] == pytest.approx(3.9, abs=1e-5)
    assert seen["after"] == pytest.approx(99.0)


def test_the_clock_runs_on_over_an_act_and_looks_back_only_at_what_was_seen(bare: Page) -> None:
    seen = bare.evaluate(
        f"""() => {{ {RUN}
          give(0, ramp(0, 60));
          player.rate = 1; player.advance(0); player.advance(200);
          player.reach(30);
          let frames = 0;
          for (let now = 200; player.time < 30 && frames < 500; now += 16, frames += 1) player.advance(now);
          const out = {{ frames, at: player.time }};
          player.seek(99); out.ahead = player.time;
          player.seek(12); out.back = player.lookingBack;
          player.follow({{ id: 1, shown: 30 }}, true);  // the call-out is over
          for (let now = 9000; now < 60000; now += 100) player.advance(now);
          out.over = player.time; out.playing = player.playing;
          const still = new RunPlayer(); still.follow({{ id: 1, shown: 0 }}); still.reach(30, true);
          out.still = still.time;
          return out;
        }}"""
    )
    assert seen["frames"] < 120
    assert seen["at"] == pytest.approx(30.0)
    assert seen["ahead"] == pytest.approx(30.0)
    assert seen["back"]
    assert (seen["over"], seen["playing"]) == (pytest.approx(30.0), False)
    assert seen["still"] == 30.0  # no motion where none is wanted


@pytest.mark.parametrize("delay", [20, 300])
@pytest.mark.parametrize("rate", [1, 5, 20])
def test_playback_stays_smooth_with_ten_seconds_ahead(bare: Page, rate: int, delay: int) -> None:
    """Frames of 1/60 s against a line with ``delay`` ms there and back, and a kernel that sends ten seconds ahead."""
    seen = bare.evaluate(
        f"""() => {{ {RUN}
          let now = 0; const post = []; let known = 0; let most = 0;
          const link = new EngineRoomLink({{ send: (m) => post.push([now + {delay}, structuredClone(m)]) }}, () => {{}});
          player.rate = {rate};
          let stood = 0, frames = 0, before = 0;
          for (; now < 12000; now += 1000 / 60) {{
            while (post.length && post[0][0] <= now) {{
              const m = post.shift()[1];
              if (m.kind === 'need' || m.kind === 'shown') known = Math.max(known, m.shown ?? m.t);
              if (m.kind === 'need') give(Math.round(m.from * 10) / 10, ramp(Math.round(m.from * 10) / 10, known + 10));
            }}
            most = Math.max(most, player.end - player.furthest);
            player.advance(now); link.need(player, now); link.shown(player, now, false);
            if (now > 2000) {{ frames += 1; stood += player.time === before; }}
            before = player.time;
          }}
          return {{ stood, frames, most, time: player.time, messages: post.length }};
        }}"""
    )
    assert seen["stood"] <= 0.01 * seen["frames"]
    assert seen["most"] <= 10.0 + 0.2
    assert seen["time"] > 0.9 * rate * 11.0


def test_clicks_carry_an_id_wait_their_turn_and_are_not_doubled(bare: Page) -> None:
    seen = bare.evaluate(
        """() => {
          const sent = [];
          const link = new EngineRoomLink({ send: (m) => sent.push(structuredClone(m)) }, () => {});
          const player = { run: 1, furthest: 4 };
          link.act('one', 'put_on_ppe', {}, player);
          link.act('one', 'put_on_ppe', {}, player);
          link.act('two', 'stop_engine', {}, player);
          link.act('two', 'stop_engine', {}, player);
          const first = sent.length;
          link.again();
          const again = sent[1].id === sent[0].id;
          link.answered({ id: 'somebody else' }, player);
          link.answered({ id: sent[0].id, accepted: true, sentence: 'Done.' }, player);
          link.answered({ id: sent[0].id, accepted: true, sentence: 'Done.' }, player);
          link.answered({ id: sent[2].id, accepted: true, sentence: '' }, player);
          const ids = new Set(sent.map((m) => m.id)).size;
          return { first, again, ids, acts: sent.map((m) => m.action), free: link.pending === null };
        }"""
    )
    assert seen["first"] == 1
    assert seen["again"]
    assert seen["acts"] == ["put_on_ppe", "put_on_ppe", "stop_engine"]
    assert seen["ids"] == 2
    assert seen["free"]


def test_patching_keeps_nodes_focus_and_handlers(bare: Page) -> None:
    seen = bare.evaluate(
        """() => {
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
    assert bare.evaluate("window.sent.filter((message) => message.kind === 'act').length") == 0
    bare.wait_for_timeout(600)  # not a double click
    belt.click()
    assert bare.evaluate("window.sent.filter((message) => message.kind === 'act').length") == 1


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


def test_whatever_sounds_or_shows_stands_in_words(bare: Page) -> None:
    codes = fixed_words()["codes"]
    heard = {
        "exhaust_kind": ("weak", "exhaust_weak"),
        "relief_sound": ("belt_squeal", "belt_squeal"),
        "pump_sound": ("pulses", "pump_pulses"),
        "line_sound": ("hiss_hose", "hiss_hose"),
        "water_seen": ("bubbles", "seen_bubbles"),
    }
    sample = {name: codes[name].index(what) for name, (what, _) in heard.items()}
    sample |= {"t": 3.0, "speed": 1.0, "exhaust_level": 0.25, "drain_spray": 1.0}
    caption = bare.evaluate(
        """([sample, words, codes]) => {
          const page = { words, codes, see_through: false };
          return captionText(page, heardFrom(sample, page), true);
        }""",
        [sample, fixed_words()["panel"], codes],
    )
    for _, key in heard.values():
        assert text(f"panel.sound.{key}") in caption, key
    assert text("panel.sound.drain_sprays") in caption
    away = dict.fromkeys(sample, -1.0) | {"t": 3.0, "speed": 1.0}
    quiet = bare.evaluate(
        "([sample, words, codes]) => captionText({ words, codes }, heardFrom(sample, { codes }), true)",
        [away, fixed_words()["panel"], codes],
    )
    assert quiet == text("panel.sound.heard", what=text("panel.sound.engine_rated"))


def test_closing_the_view_stops_it(bare: Page) -> None:
    shown(bare)
    bare.evaluate("window.stopView()")
    bare.evaluate("model.emit('change:page')")
    bare.wait_for_timeout(100)
    assert bare.evaluate("window.sent.length") == 0
