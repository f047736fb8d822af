"""One call-out from the call to the debrief in the whole window, state by state, by presses on the page alone."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect

from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text
from tests.browser.live_exercise import LiveExercise, debrief_in_short

CALL = Scenario(
    title="A call",
    brief="It ran well last week. Since we moved it nearer to the bank, it hums along and no water comes.",
    site=SiteChoice(name="Teal Pond", lift_m=3.0),
    faults=(choose_fault("joint_ring", 0.007, "joint:1"),),
    mode="practice",
)
LOOK = "check:walk_line:hose"


class Walk:
    """The call-out on a bare page; :meth:`reach` goes on to a state of it."""

    def __init__(self, page: Page, theme: str = "light", *, whole_window: bool = True) -> None:
        self.page, self.whole_window = page, whole_window
        self.yard = LiveExercise(
            page, CALL, theme=theme, debriefer=debrief_in_short, whole_window=whole_window
        )
        self.root = self.yard.root
        self.window = page.locator("dialog.ex-window")
        self.steps: dict[str, Callable[[], None]] = {
            "called": self.called,
            "answered": self.answer,
            "safe": self.make_safe,
            "running": self.start,
            "refused": self.refused,
            "looked": self.look,
            "marking": self.half_a_call,
            "placed": self.whole_call,
            "asked": self.lock,
            "locked": self.put_aside,
            "opened": self.open_joint,
            "called_again": self.second_call,
            "mended": self.mend,
            "proving": self.prove,
            "proven": self.proven,
            "debrief": self.debrief,
        }

    def reach(self, state: str) -> None:
        """The next state, which must be this one."""
        self.steps[state]()
        self.yard.quiet()

    def button(self, name: str) -> Locator:
        """A button by its whole name."""
        return self.root.get_by_role("button", name=name, exact=True)

    def next_button(self) -> Locator:
        """The button of the next step."""
        return self.root.locator(".ex-next button").first

    def press(self, button: Locator) -> None:
        """Press, and carry what it brings about."""
        button.click()
        self.yard.quiet()

    def tab(self, name: str) -> None:
        """To what stands beside the gauges, where that is not in sight anyway."""
        tab = self.root.locator(f'[data-tab="{name}"]:is(button)')
        if tab.is_visible():
            tab.click()

    def act(self, identity: str) -> None:
        """Do an act, at its place."""
        self.tab("do")
        known = len(self.yard.panel.attempt.log)
        self.yard.act(identity).click()
        self.yard.pump_until(lambda: len(self.yard.panel.attempt.log) > known)
        self.yard.quiet()

    def called(self) -> None:
        expect(self.window).to_be_visible(visible=self.whole_window)

    def answer(self) -> None:
        self.root.get_by_role("spinbutton").fill("45")
        self.press(self.button(text("panel.ask.send")))

    def make_safe(self) -> None:
        for identity in ("put_on_ppe", "secure_discharge"):
            self.act(identity)
        assert self.yard.panel.page["engine"]["waits"] == []

    def start(self) -> None:
        self.press(self.root.locator(".ex-engine"))
        self.yard.pump_until(lambda: self.yard.panel.attempt.yard.shown > 100)

    def refused(self) -> None:
        self.act("check:strainer_out:strainer")

    def look(self) -> None:
        self.act("check:exhaust_stream:exhaust")

    def half_a_call(self) -> None:
        self.tab("call")
        self.mark("joint_ring", 5)

    def mark(self, name: str, markers: int) -> None:
        self.root.get_by_label(text("panel.call.add"), exact=True).select_option(name)
        label = text("panel.call.more", name=text(f"faults.{name}.name"))
        for _ in range(markers):
            self.root.get_by_label(label, exact=True).click()

    def whole_call(self) -> None:
        self.mark("nrv_fouled", 3)
        self.mark("seal_worn", 2)

    def lock(self) -> None:
        self.press(self.root.locator(".ex-lock"))
        expect(self.root.locator(".ex-ask")).to_be_visible()

    def put_aside(self) -> None:
        self.press(self.root.get_by_role("button", name=text("panel.ask.unsure")))

    def open_joint(self) -> None:
        self.press(self.root.locator(".ex-engine"))
        self.act("isolate_and_tag")
        self.act("vent_hose")
        self.act("check:joint_apart:joint:1")

    def second_call(self) -> None:
        self.tab("call")
        self.press(self.root.locator(".ex-lock"))

    def mend(self) -> None:
        self.act("remedy:renew_joint_ring:joint:1")

    def prove(self) -> None:
        if self.yard.panel.page["engine"]["waits"]:
            self.act("untag_and_close_up")
        self.press(self.root.locator(".ex-engine"))
        assert self.yard.panel.attempt.yard.engine_on
        self.yard.pump_until(lambda: self.yard.panel.attempt.yard.shown > 50)

    def proven(self) -> None:
        self.button(text("panel.bar.rate_spoken", n=20)).first.click()
        self.yard.pump_until(lambda: bool(self.yard.panel.page["finish"]["open"]), 2000)

    def debrief(self) -> None:
        self.tab("call")
        self.press(self.root.locator(".ex-finish"))
        self.yard.pump_until(lambda: self.yard.panel.page["debrief"] is not None, 4000)
        expect(self.root.locator(".ex-part")).to_have_count(1)


STATES = (
    "called", "answered", "safe", "running", "refused", "looked", "marking", "placed", "asked", "locked", "opened",
    "called_again", "mended", "proving", "proven", "debrief",
)  # fmt: skip
