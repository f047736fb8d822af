"""The exercise screen in a bare page with a real panel at the other end of its line: no server, no kernel."""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Locator, Page, expect

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.offers import group_of
from simulator.charts.curves import curve_figure
from simulator.panels.exercise.panel import ExercisePanel
from simulator.panels.page import assets
from simulator.rig.remedies import REMEDIES
from simulator.scenario import Scenario

MODEL = """
window.sent = []; window.posted = 0; window.heard = 0;
window.makeModel = (state) => {
  const handlers = {};
  const model = {
    get: (name) => state[name],
    set: (name, value) => { state[name] = value; model.emit('change:' + name); },
    save_changes: () => window.sent.push({ kind: 'trait', units: state.units }),
    on: (name, call) => (handlers[name] ||= []).push(call),
    off: (name, call) => { handlers[name] = (handlers[name] || []).filter((other) => other !== call); },
    send: (message) => { window.posted += 1; window.sent.push(structuredClone(message)); },
    emit: (name, ...more) => (handlers[name] || []).forEach((call) => call(...more)),
  };
  return model;
};
window.hear = (said) => {
  for (const [kind, content, raw] of said) {
    window.heard += 1;
    if (kind === 'page') model.set('page', content);
    else {
      const bytes = raw && Uint8Array.from(atob(raw), (c) => c.charCodeAt(0));
      model.emit('msg:custom', content, bytes ? [new DataView(bytes.buffer)] : []);
    }
  }
};
"""


def lay_bare(page: Page, theme: str = "light") -> None:
    """A page with the screen's script and style in reach and nothing else."""
    light = "true" if theme == "light" else "false"
    page.set_content(
        f"<!doctype html><html lang='en'><head><title>Exercise</title></head>"
        f"<body style='margin:0' data-jp-theme-light='{light}'><main id='host'></main></body></html>"
    )
    page.add_style_tag(content=assets.built("exercise.css"))
    page.add_script_tag(content=MODEL)
    page.evaluate(
        """async (script) => {
          const address = URL.createObjectURL(new Blob([script], { type: 'text/javascript' }));
          Object.assign(window, (await import(address)).default);
        }""",
        assets.built("exercise.js"),
    )


def serve_sources(page: Page) -> None:
    """Let the page import a module of the screen's sources by itself, as ``https://sources.test/<file>``."""
    page.route(
        "https://sources.test/**",
        lambda route: route.fulfill(
            path=assets.SCREEN / "src" / route.request.url.removeprefix("https://sources.test/"),
            content_type="text/javascript",
            headers={"Access-Control-Allow-Origin": "*"},
        ),
    )


def where_of(identity: str) -> str:
    """The place on the list where an act stands; empty for what makes it safe, which is always in sight."""
    kind, _, rest = identity.partition(":")
    name, _, place = rest.partition(":")
    if kind == "check":
        return group_of(place)
    if kind == "remedy":
        return group_of(REMEDIES[name].part)
    return "jet" if identity in ("shut_cock", "reopen_cock") else ""


def find_act(root: Locator, identity: str) -> Locator:
    """The button of an act, with its place chosen where it stands at one."""
    button = root.locator(f'[data-act="{identity}"]')
    where = where_of(identity)
    if not where and root.locator('[data-where="before"]').count():
        where = "before"  # in the whole window, what makes it safe is a place like the others
    if where:
        choice = root.locator(f'[data-where="{where}"]')
        if choice.get_attribute("aria-pressed") != "true":
            if choice.is_visible():
                choice.click()
            else:  # on a phone the places stand in a list to choose from
                root.locator(".ex-where-pick").select_option(where)
    return button


class LiveExercise:
    """A call-out on a bare page; :meth:`pump` carries what either side has said to the other."""

    def __init__(
        self,
        page: Page,
        scenario: Scenario,
        *,
        theme: str = "light",
        seed: int = 7,
        debriefer: Callable[..., Any] | None = None,
        whole_window: bool = False,
    ) -> None:
        self.page, self.said = page, []  # type: ignore[var-annotated]
        self.panel = ExercisePanel(
            Attempt(scenario, MemoryStore(), seed=seed), debriefer=debriefer, whole_window=whole_window
        )
        self.panel.send = self._keep  # type: ignore[method-assign]
        self.panel.observe(lambda change: self.said.append(("page", change["new"], None)), names="page")
        lay_bare(page, theme)
        page.evaluate(
            "(state) => { window.model = makeModel(state);"
            " window.stopView = render({ model, el: document.querySelector('#host') }); }",
            {
                "page": self.panel.page,
                "words": self.panel.words,
                "units": self.panel.units,
                "whole_window": whole_window,
            },
        )
        self.root = page.locator("[data-exercise]")
        expect(self.root).to_be_visible()

    def _keep(self, content: dict[str, Any], buffers: list[bytes] | None = None) -> None:
        raw = base64.b64encode(bytes(buffers[0])).decode("ascii") if buffers else None
        self.said.append((content["kind"], content, raw))

    def pump(self) -> int:
        """Hand over what the page has said, and bring back the answers; how many of the page's messages there were."""
        heard = self.page.evaluate("() => window.sent.splice(0)")
        for message in heard:
            if message.get("kind") == "trait":
                self.panel.units = message["units"]
            else:
                self.panel._receive(self.panel, message, [])
        if self.said:
            said, self.said = self.said, []
            self.page.evaluate("(said) => window.hear(said)", said)
        return len(heard)

    def pump_until(self, done: Callable[[], bool], tries: int = 400) -> None:
        """Carry messages until something holds."""
        for _ in range(tries):
            self.pump()
            if done():
                return
            self.page.wait_for_timeout(25)
        raise AssertionError("what was waited for did not come")

    def act(self, identity: str) -> Locator:
        """The button of an act, with its place chosen."""
        return find_act(self.root, identity)

    def quiet(self) -> None:
        """Carry messages until neither side has anything to say and no act is under way."""
        self.pump_until(lambda: not self.root.locator("[aria-busy=true]").count())

    def start(self) -> None:
        """Everything before the engine runs, and the start, behind the page's back."""
        self.does("predict", {"question": "sound_prime_time", "answer": 45})
        for action in ("put_on_ppe", "secure_discharge", "start_engine"):
            self.does(action)

    def does(self, action: str, args: dict[str, Any] | None = None) -> None:
        """An act done behind the page's back, as if it had been done before; the page is told."""
        reply = self.panel.attempt.act(action, args or {})
        assert reply.accepted, reply.sentence
        self.panel._refresh()
        self.panel._send_samples(0.0, replace=True)
        self.pump()


def debrief_in_short(attempt: Any, units: str, progress: Any) -> dict[str, Any]:
    """The parts of a debrief, made up for this test: what is judged here is how they are shown."""
    curve = [[float(t), 400.0 * t] for t in range(0, 60, 5)]
    line = {"label": "this rig", "style": "main", "points": curve}
    unit = {"name": "kPa", "size": 1e3}
    ends = {"span_s": 55.0, "high_pa": 24e3}
    chart = {"lines": [line], "unit": unit, **ends, "axis_x": "s", "axis_y": "kPa", "spoken": "A curve."}
    belief = [{"label": "torn ring at a hose joint", "share": 0.6}, {"label": "loose belt", "share": 0.2}]
    step = {
        "clock": "2:00",
        "did": "Looked.",
        "before": belief,
        "after": belief,
        "expert": "walk round",
        "why": "Cheap.",
    }
    return {
        "total": 61.0,
        "out_of": 100,
        "parts": [{"label": "Found", "points": 20.0, "out_of": 40.0, "evidence": ["Five markers on it."]}],
        "steps": [step],
        "curves": {"figures": {"metric": curve_figure(chart)}},
        "truth": "Torn ring at joint 2.",
        "practise": "Halving the problem.",
    }
