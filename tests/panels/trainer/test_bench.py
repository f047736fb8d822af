"""The demonstration bench without a browser: bytes of a run taken back, replayed and kept; what the wall is sent."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from simulator.attempt.samples import INSIDE
from simulator.errors import InputError, RefusedAct
from simulator.panels.trainer.bench.kept import keep, kept_names, kept_text, read_kept, take_up
from simulator.panels.trainer.bench.page import Bench
from simulator.panels.trainer.bench.panel import BenchPanel
from simulator.panels.trainer.bench.run import OUTSIDE, Act, BenchRun, Setting
from simulator.rig.faults import FAULTS
from simulator.rig.onset import as_at
from simulator.rig.presets import rig_names
from simulator.scenario.choices import moved_place
from simulator.texts import text

DEMONSTRATION = (
    Act(0, "start", {}),
    Act(150, "let_in", {"fault": "joint_ring", "place": "joint:2", "size": 5.0, "over_s": 0.0}),
    Act(260, "grow", {"number": 0, "size": 9.0, "over_s": 30.0}),
    Act(300, "speed", {"speed": "slow"}),
    Act(400, "let_in", {"fault": "gauge_low", "place": "", "size": 6.0, "over_s": 30.0}),
    Act(410, "ask", {"question": "needle", "hands": [0, 0, 0, 0]}),
    Act(450, "clear", {"number": 0}),
    Act(700, "stop", {}),
    Act(760, "start", {}),
)
LAST = 1000


@pytest.fixture(autouse=True)
def own_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SIMULATOR_CALLS_DIR", str(tmp_path / "own"))
    return tmp_path / "own"


@pytest.fixture(scope="module")
def shown() -> BenchRun:
    return BenchRun(Setting(), DEMONSTRATION)


def data(run: BenchRun, last: int = LAST) -> np.ndarray:
    return run.samples(1, 0, last, inside=True).data


def test_replayed_it_gives_the_same_bytes(shown: BenchRun) -> None:
    assert data(BenchRun(shown.setting, shown.acts)).tobytes() == data(shown).tobytes()


@pytest.mark.parametrize("back", [0, 149, 265, 405, 455, 720, 990])
def test_back_at_any_moment_the_needle_is_the_same_to_the_byte(shown: BenchRun, back: int) -> None:
    again = shown.back_to(back)
    assert data(again, back).tobytes() == data(shown)[:, : back + 1].tobytes()
    assert all(act.tick <= back for act in again.acts)


def test_another_way_from_there_changes_nothing_before(shown: BenchRun) -> None:
    again = shown.back_to(200)
    again.do(220, "clear", {"number": 0})
    other = data(again)
    assert other[:, :220].tobytes() == data(shown)[:, :220].tobytes()
    assert other[0, 420] != data(shown)[0, 420]


def test_kept_and_taken_up_again_it_is_the_same(shown: BenchRun, own_place: Path) -> None:
    assert keep("Monday class", shown, 800) == "monday_class"
    assert kept_names() == ["monday_class"]
    again, tick = take_up("monday_class")
    assert tick == 800
    assert data(again).tobytes() == data(shown).tobytes()
    assert kept_text(again, tick) == (own_place / "monday_class.demonstration.yaml").read_text()
    with pytest.raises(InputError, match="already"):
        keep("Monday class", shown, 800)
    keep("Monday class", shown, 500, over=True)
    assert take_up("monday_class")[1] == 500


def test_a_change_grows_and_what_was_cleared_is_gone(shown: BenchRun) -> None:
    assert shown.timeline is not None
    holes = [
        as_at(shown.timeline.rig, shown.timeline.site, t)[0].suction_hose.joints[1].hole_diameter
        for t in (14.9, 20.0, 35.0, 44.9, 46.0)
    ]
    # 5 mm goes to 9 mm over 30 s from 26 s on; it is cleared at 45 s, when it had got to 7.53 mm.
    assert holes == pytest.approx(
        [0.0, 0.005, 0.005 + 0.004 * 9 / 30, 0.005 + 0.004 * 18.9 / 30, 0.0], abs=1e-9
    )


def test_a_gauge_that_goes_wrong_leaves_the_needle_before_as_it_was(shown: BenchRun) -> None:
    without = BenchRun(Setting(), [act for act in DEMONSTRATION if act.args.get("fault") != "gauge_low"])
    assert data(shown)[0, :400].tobytes() == data(without)[0, :400].tobytes()
    assert data(shown)[0, 720] < data(without)[0, 720]


def hole_at(run: BenchRun, seconds: float) -> float:
    assert run.timeline is not None
    return as_at(run.timeline.rig, run.timeline.site, seconds)[0].suction_hose.joints[1].hole_diameter


def test_what_is_still_coming_goes_on_from_where_it_has_got_to() -> None:
    ring = {"fault": "joint_ring", "place": "joint:2", "size": 6.0, "over_s": 30.0}
    run = BenchRun(Setting(), [Act(0, "start", {}), Act(100, "let_in", ring)])
    assert run.sizes(200)[0] == pytest.approx(0.002)
    assert hole_at(run, 20.0) == pytest.approx(0.002)
    run.do(200, "grow", {"number": 0, "size": 3.0, "over_s": 30.0})
    run.do(350, "clear", {"number": 0})
    for seconds, hole in ((9.9, 0.0), (15.0, 0.001), (20.0, 0.002), (34.9, 0.00249), (35.2, 0.0)):
        assert hole_at(run, seconds) == pytest.approx(hole, abs=2e-5), seconds
        assert run.sizes(round(10 * seconds)).get(0, 0.0) == pytest.approx(hole, abs=2e-5), seconds


def test_a_fault_that_no_small_size_is_legal_of_can_be_cleared_while_it_comes() -> None:
    kink = {"fault": "air_line_kinked", "place": "", "size": 90.0, "over_s": 30.0}
    run = BenchRun(Setting(), [Act(0, "start", {}), Act(100, "let_in", kink)])
    run.do(150, "clear", {"number": 0})
    assert run.sizes(160) == {}


@pytest.mark.full
@pytest.mark.parametrize("rig", rig_names())
def test_every_fault_comes_grows_and_goes_on_every_rig_the_same_each_time(rig: str) -> None:
    setting = Setting(rig=rig, lift_m=4.0)
    sound = BenchRun(setting).sound[0]
    for fault in FAULTS.values():
        places = fault.places(sound)
        if fault.family == "none" or not places:
            continue
        place = moved_place(places[-1], 1) if places[-1] else ""
        acts = [Act(0, "start", {}), Act(250, "let_in", {"fault": fault.id, "place": place})]
        if fault.size is not None:
            acts[1].args["size"] = fault.size.in_file(fault.size.middle)
            large = fault.size.in_file(fault.size.large)
            acts.append(Act(400, "grow", {"number": 0, "size": large, "over_s": 30.0}))
        acts += [Act(550, "clear", {"number": 0}), Act(800, "stop", {}), Act(900, "start", {})]
        run = BenchRun(setting, acts)
        whole = data(run, 1200)
        rows = [
            row
            for row, name in enumerate(OUTSIDE + INSIDE)
            if name != "motive_shown" or sound.has_motive_gauge
        ]
        assert np.isfinite(whole[rows]).all(), fault.id
        assert data(BenchRun(setting, acts), 1200).tobytes() == whole.tobytes(), fault.id
        assert data(run.back_to(480), 480).tobytes() == whole[:, :481].tobytes(), fault.id


def test_what_cannot_be_is_refused_in_a_sentence() -> None:
    run = BenchRun(Setting())
    ring = {"fault": "joint_ring", "place": "joint:2", "size": 5.0, "over_s": 0.0}
    for kind, args, wrong in (
        ("stop", {}, "stands"),
        ("ask", {"question": "needle"}, "Start the engine"),
        ("hands", {"hands": [1]}, "Ask the class"),
        ("speed", {"speed": "mad"}, "mad"),
        ("let_in", {"fault": "sound"}, "sound"),
        ("let_in", {**ring, "size": 90.0}, "1 to 12 mm"),
        ("let_in", {**ring, "size": "wide"}, "wide"),
        ("let_in", {**ring, "place": "joint:9"}, "joint:8"),
        ("let_in", {**ring, "over_s": 7.0}, "7.0"),
        ("grow", {"number": 0, "size": 5.0}, "not in"),
        ("clear", {"number": None}, "not in"),
        ("dance", {}, "dance"),
    ):
        with pytest.raises((InputError, RefusedAct), match=wrong):
            run.do(0, kind, args)
        assert run.acts == []
        assert run.faults == {}
    run.do(0, "let_in", ring)
    with pytest.raises(RefusedAct, match="in already"):
        run.do(0, "let_in", ring)


@pytest.mark.parametrize(
    ("written", "wrong"),
    [
        ("format: callout-demonstration\nversion: 2\nrig: osier\nlift_m: 3", "version"),
        ("format: callout-demonstration\nversion: 1\nrig: osier\nlift_m: 80", "lift_m"),
        (
            "format: callout-demonstration\nversion: 1\nrig: osier\nlift_m: 3\nacts:\n- at_s: 1\n  act: fly",
            "fly",
        ),
        (
            "format: callout-demonstration\nversion: 1\nrig: osier\nlift_m: 3\nacts:\n- at_s: 9\n  act: stop",
            "stands already",
        ),
        ("- 1", "line 1: a list does not fit"),
        ("{", "line 2: this is not YAML"),
    ],
)
def test_a_file_that_is_wrong_gets_a_sentence(written: str, wrong: str) -> None:
    with pytest.raises(InputError, match=wrong):
        read_kept(written.encode())


class Sent:
    """A panel with a page that only listens."""

    def __init__(self) -> None:
        self.panel = BenchPanel()
        self.messages: list[tuple[dict[str, Any], bytes]] = []
        self.panel.send = self._take  # type: ignore[method-assign]
        self.clicks = 0

    def _take(self, message: dict[str, Any], buffers: Any = None) -> None:
        self.messages.append((message, bytes(buffers[0]) if buffers else b""))

    def say(self, kind: str, **message: Any) -> None:
        self.panel._receive(self.panel, {"kind": kind, **message}, [])

    def act(self, action: str, shown: float = 0.0, **args: Any) -> dict[str, Any]:
        self.clicks += 1
        run = self.panel.page["run"]["id"]
        self.say("act", id=f"c{self.clicks}", run=run, shown=shown, action=action, args=args)
        return self.messages[-1][0]

    def run_to(self, end: float) -> None:
        for shown in np.arange(0.0, end, 5.0):
            self.say("need", run=self.panel.page["run"]["id"], **{"from": float(shown)}, shown=float(shown))

    def for_wall(self) -> str:
        return json.dumps([message for message, _ in self.messages if message["kind"] == "wall"])


def test_the_wall_is_sent_nothing_but_what_is_seen_from_outside() -> None:
    page = Sent()
    seen = [dict(page.panel.wall)]
    page.panel.observe(lambda change: seen.append(dict(change["new"])), names="wall")
    page.act("start_engine")
    page.run_to(20.0)
    for fault, more in (("joint_ring", {"place": "joint:2", "size": 8}), ("nozzle_plugged", {"size": 50})):
        assert page.act("let_in", 20.0, fault=fault, over_s=0, **more)["accepted"]
    page.act("grow", 21.0, number=0, size=11, over_s=30)
    page.act("clear", 22.0, number=0)
    written = json.dumps(seen) + page.for_wall()
    for fault in ("joint_ring", "nozzle_plugged"):
        assert fault not in written
        assert text(f"faults.{fault}.name").lower() not in written.lower()
    assert {c for m, _ in page.messages if m["kind"] == "wall" for c in m["message"]["channels"]} == set(
        OUTSIDE
    )
    assert [mark["label"] for mark in page.panel.wall["marks"]] == ["start"]
    assert page.panel.wall["rig"] == seen[0]["rig"], "from outside the picture stays as it was"
    assert [mark["label"] for mark in page.panel.page["marks"]] == [
        "start",
        "A in",
        "B in",
        "A changes",
        "A out",
    ]
    page.act("tell", 22.0, number=1, on=True)
    assert page.panel.wall["told"] == ["B: " + page.panel.page["faults"][0]["label"]]
    assert [mark["label"] for mark in page.panel.wall["marks"]] == ["start", "B in"]
    page.act("tell", 22.0, number=1, on=False)
    assert page.panel.wall["told"] == []


def test_the_inside_goes_to_the_wall_only_while_it_is_shown_there() -> None:
    page = Sent()
    page.act("start_engine")
    page.run_to(10.0)
    page.act("inside", 10.0, where="wall", on=True)
    assert page.panel.wall["see_through"]
    assert page.messages[-2][0]["message"]["channels"] == [*OUTSIDE, *INSIDE, "exhaust_kind"]
    page.act("inside", 10.0, where="wall", on=False)
    assert not page.panel.wall["see_through"]
    assert page.messages[-2][0]["message"]["channels"] == list(OUTSIDE)


def test_never_further_ahead_than_ten_seconds_of_what_was_seen() -> None:
    page = Sent()
    page.act("start_engine")
    page.say("need", run=page.panel.page["run"]["id"], **{"from": 0}, shown=900.0)
    assert page.panel.shown == 100
    assert (
        max(m["start"] + 0.1 * (m["count"] - 1) for m, _ in page.messages if m["kind"] == "samples") <= 20.0
    )


def test_opening_the_wall_runs_nothing_anew() -> None:
    page = Sent()
    page.act("start_engine")
    page.run_to(10.0)
    timeline, acts = page.panel.run.timeline, list(page.panel.run.acts)
    page.say("need", wall=True, run=page.panel.page["run"]["id"], **{"from": 0}, shown=10.0)
    assert page.messages[-1][0]["kind"] == "wall"
    assert page.messages[-1][0]["message"]["start"] == 0.0
    assert page.panel.run.timeline is timeline
    assert page.panel.run.acts == acts


def test_the_same_click_twice_acts_once_and_nonsense_harms_nothing() -> None:
    page = Sent()
    message = {"id": "one", "run": None, "shown": 0, "action": "start_engine", "args": {}}
    page.say("act", **message)
    page.say("act", **message)
    assert [act.kind for act in page.panel.run.acts] == ["start"]
    for odd in (
        {},
        {"action": 7},
        {"action": "_refresh"},
        {"action": "back_to", "args": {"t": "x"}},
        {"args": 3},
    ):
        page.say("act", id=f"odd{odd}", run="?", shown=float("nan"), **odd)
        assert page.messages[-1][0]["accepted"] is False
        assert page.messages[-1][0]["sentence"]
    page.panel._receive(page.panel, ["no"], [])


def now_of(sent: Sent) -> dict[str, str]:
    return {fault["letter"]: fault["now"] for fault in sent.panel.page["faults"]}


def test_in_now_tells_what_has_come_at_the_second_that_is_shown() -> None:
    sent = Sent()
    sent.act("start_engine")
    sent.run_to(30.0)
    sent.act("let_in", shown=30.0, fault="joint_ring", place="joint:2", size=6.0, over_s=30.0)
    assert now_of(sent) == {"A": text("bench.size.on_way", now="0 mm", to="6 mm")}
    sent.run_to(45.0)
    sent.act("let_in", shown=45.0, fault="strainer_clogs", place="", size=95.0, over_s=0.0)
    assert now_of(sent)["A"] == text("bench.size.on_way", now="3 mm", to="6 mm")
    assert "95 %" in now_of(sent)["B"]
    assert now_of(sent)["B"] != text("bench.size.now", now="95 %")  # it creeps by itself
    sent.run_to(70.0)
    sent.act("clear", shown=70.0, number=0)
    sent.run_to(72.0)
    assert list(now_of(sent)) == ["B"]
    assert [each["number"] for each in sent.panel.page["past"]] == [0]

    look = {"run": sent.panel.page["run"]["id"]}
    sent.say("look", t=11.0, **look)  # the replay: nothing has come yet
    assert (now_of(sent), sent.panel.page["past"]) == ({}, [])
    sent.say("look", t=50.0, **look)
    assert now_of(sent)["A"] == text("bench.size.on_way", now="4 mm", to="6 mm")
    sent.act("inside", where="wall", on=True)
    for seconds, there in ((50.0, True), (20.0, False)):  # nor does the wall show its place before it came
        sent.say("look", t=seconds, **look)
        assert (max(sent.panel.wall["rig"]["joint_holes_m"]) > 0.0) is there
    sent.say("look", t=None, **look)
    assert list(now_of(sent)) == ["B"]
    for odd in (-1.0, 1e9, "x", True):
        sent.say("look", t=odd, **look)
    sent.say("look", t=11.0, run=99)
    assert list(now_of(sent)) == ["B"]


def test_another_rig_is_begun_and_a_wrong_figure_is_told_at_its_name() -> None:
    page = Sent()
    assert "Legal: -5 to 12 m." in page.act("new", rig="alder", lift_m="50", hose_length_m="")["sentence"]
    assert "no figure" in page.act("new", rig="alder", lift_m="deep", hose_length_m="")["sentence"]
    assert page.act("new", rig="alder", lift_m="5,5 m", hose_length_m="20")["accepted"]
    assert page.panel.run.setting == Setting("alder", 5.5, 20.0)
    assert page.panel.page["run"]["id"] is None


def test_the_page_is_for_the_trainer_and_keeps_no_marks() -> None:
    page = Bench()
    assert page.bench() is page.bench()
    assert "no marks" in json.dumps(page.what_next().content)
