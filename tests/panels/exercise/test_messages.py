"""What the exercise panel says and hears, without a browser."""

from __future__ import annotations

import json
import logging
import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from simulator.panels.exercise.panel import ExercisePanel
from simulator.texts import text
from tests.conftest import some
from tests.panels.exercise.conftest import Desk, rows_of

DeskMaker = Callable[..., Desk]
RING = ("joint_ring", 0.007, "joint:1")
BELT = ("belt_loose", 0.8)


def test_an_act_gives_page_then_samples_then_answer(desk: DeskMaker) -> None:
    at = desk(RING)
    at.start()
    said = at.tell(
        {"kind": "act", "id": "a", "run": 1, "shown": 4.0, "action": "set_speed", "args": {"speed": "slow"}}
    )
    assert [kind for kind, _, _ in said] == ["page", "samples", "ack"]
    page, samples, answer = (content for _, content, _ in said)
    assert answer == {
        "kind": "ack",
        "id": "a",
        "accepted": True,
        "sentence": answer["sentence"],
        "serial": page["serial"],
    }
    assert answer["sentence"] == text("attempt.did.set_speed_slow")
    assert samples["start"] == samples["replace_from"] == 4.0
    assert page["engine"]["speed"] == "slow"


def test_a_repeated_click_acts_once(desk: DeskMaker) -> None:
    at = desk(RING)
    first = at.act("put_on_ppe", id="same")
    second = at.act("put_on_ppe", id="same")
    assert first["accepted"]
    assert {**second, "serial": 0} == {**first, "serial": 0}
    assert [event["act"] for event in at.panel.attempt.log] == ["begin", "put_on_ppe"]
    assert sum(note["text"] == text("attempt.did.put_on_ppe") for note in at.panel.page["notes"]) == 1


def test_an_unsafe_act_is_refused_with_its_reason_and_noted(desk: DeskMaker) -> None:
    at = desk(RING)
    answer = at.act("start_engine")
    assert not answer["accepted"]
    assert text("attempt.needs.ppe") in answer["sentence"]
    assert any(note["kind"] == "warning" for note in at.panel.page["notes"])
    assert at.run is None


@pytest.mark.parametrize(
    ("action", "args"),
    [
        ("dance", {}),
        ("check", {"check": "crystal_ball"}),
        ("check", {"check": "joint_apart", "place": "joint:99"}),
        ("set_speed", {"speed": "warp"}),
        ("wait", {"seconds": -1}),
        ("", {}),
    ],
)
def test_an_impossible_act_comes_back_as_a_sentence(
    desk: DeskMaker, action: str, args: dict[str, Any]
) -> None:
    at = desk(RING)
    before = at.panel.page
    answer = at.act(action, args)
    assert not answer["accepted"]
    assert answer["sentence"].endswith(".")
    assert "Traceback" not in answer["sentence"]
    changed = {key for key in before if before[key] != at.panel.page[key]}
    assert changed == {"serial"}
    assert at.act("put_on_ppe")["accepted"]


def test_the_panel_survives_any_exception(
    desk: DeskMaker, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    at = desk(RING)
    with monkeypatch.context() as broken, caplog.at_level(logging.ERROR):

        def fail(*_: Any, **__: Any) -> None:
            raise ZeroDivisionError("an inner detail")

        broken.setattr(at.panel.attempt, "act", fail)
        answer = at.act("put_on_ppe")
    assert (answer["accepted"], answer["sentence"]) == (False, text("panel.link.failed_quietly"))
    assert "an inner detail" in caplog.text  # kept for whoever looks after the simulator, not for the page
    assert at.act("put_on_ppe")["accepted"]


#: What no page of ours says.
NONSENSE: list[Any] = [
    None,
    "act",
    {},
    {"kind": "act"},
    {"kind": "act", "id": "b", "args": "put_on_ppe"},
    {"kind": "act", "id": "c", "shown": float("nan"), "action": "put_on_ppe"},
    {"kind": "act", "id": "d", "shown": "soon", "run": {}, "action": "sing"},
    {"kind": "need"},
    {"kind": "need", "run": 17, "from": 0, "shown": 3},
    {"kind": "need", "run": 1, "from": float("inf"), "shown": -4},
    {"kind": "shown", "run": 1, "t": None},
    {"kind": "shown", "run": "1", "t": 1e300},
    {"kind": "unheard-of"},
]


@pytest.mark.parametrize("message", some(NONSENSE, every=3))
def test_nonsense_from_the_page_does_no_harm(desk: DeskMaker, message: Any) -> None:
    at = desk(RING)
    at.start()
    shown = at.panel.attempt.shown
    at.tell(message)
    assert at.panel.attempt.shown <= shown + 10.0
    assert at.panel.attempt.yard.engine_on
    assert at.act("stop_engine")["accepted"]


def test_samples_are_those_of_the_attempt(desk: DeskMaker) -> None:
    at = desk(RING, mode="guided", see_through=True)
    at.start()
    ((content, rows),) = at.need(2.0, 5.0)
    expected = at.panel.attempt.samples(2.0, 1e6)
    assert content["channels"] == list(expected.channels)
    assert (content["start"], content["step"], content["run"]) == (2.0, 0.1, 1)
    np.testing.assert_array_equal(rows, expected.data.T)


def test_outside_only_work_gets_ten_seconds_and_no_inside(desk: DeskMaker) -> None:
    at = desk(RING)
    at.start()
    for shown in (0.0, 3.3, 9.0, 9.0, 1e9):
        before = at.panel.attempt.shown
        for content, rows in at.need(0.0, shown):
            last = content["start"] + (len(rows) - 1) * content["step"]
            assert last <= min(shown, before + 10.0) + 10.0 + 1e-6
            assert "front_position" not in content["channels"]
            assert not {name for name in content["channels"] if name.endswith("_pressure")}
    assert at.panel.page["rig"]["liner_at"] is None
    assert at.panel.page["curve"]["band"] is None


def test_two_faults_look_alike_before_the_first_start(desk: DeskMaker) -> None:
    pages = []
    for fault in (RING, BELT):
        at = desk(fault)
        at.act("put_on_ppe", id="a")
        at.act("secure_discharge", id="b")
        pages.append({**at.panel.page, "attempt": ""})
    assert json.dumps(pages[0]) == json.dumps(pages[1])


def test_acting_in_the_middle_replaces_only_what_follows(desk: DeskMaker) -> None:
    at = desk(RING)
    at.start()
    ((_, before),) = at.need(0.0, 8.0)
    at.said.clear()
    at.act("set_speed", {"speed": "slow"}, shown=8.0)
    content, raw = next((content, raw) for kind, content, raw in at.said if kind == "samples")
    after = rows_of(content, raw)
    speed = content["channels"].index("speed")
    assert content["replace_from"] == content["start"] == 8.0
    np.testing.assert_allclose(after[0], before[80], rtol=1e-5, atol=20.0)
    assert after[-1, speed] < 0.75 < before[-1, speed]


def test_a_click_that_changes_nothing_changes_no_dial(desk: DeskMaker) -> None:
    still, clicked = desk(RING).start(), desk(RING).start()
    chance = random.Random(3)
    for shown in sorted(chance.uniform(0.0, 60.0) for _ in range(25)):
        for at in (still, clicked):
            at.need(0.0, shown)
        clicked.act("set_speed", {"speed": "rated"}, shown=shown)
    ((_, one),), ((content, other),) = still.need(0.0, 60.0), clicked.need(0.0, 60.0)
    dial = content["channels"].index("suction_shown")
    assert len(one) == len(other)
    np.testing.assert_allclose(other[:, dial], one[:, dial], rtol=0.0, atol=10.0)  # 0.01 kPa


def test_minutes_spent_on_a_look_move_the_running_clock(desk: DeskMaker) -> None:
    at = desk(RING)
    at.start()
    at.act("check", {"check": "exhaust_stream", "place": "exhaust"}, shown=6.0)
    assert at.panel.page["run"]["shown"] == pytest.approx(36.0)
    content = next(content for kind, content, _ in at.said if kind == "samples")
    assert content["start"] == 6.0
    assert content["count"] == 401  # to ten seconds ahead of the new clock


def test_the_prime_appears_on_the_page_as_the_clock_passes_it(desk: DeskMaker) -> None:
    at = desk()
    at.start()
    shown, pages = 0.0, 0
    while not at.panel.page["run"]["primed"] and shown < 120.0:
        shown += 5.0
        said = at.tell({"kind": "shown", "run": 1, "t": shown, "held": False, "rate": 20})
        pages += sum(kind == "page" for kind, _, _ in said)
    assert at.panel.page["run"]["primed"]
    assert at.panel.page["run"]["ended"]["sentence"]
    assert pages <= 4  # the clock alone draws no new page


def test_a_prime_that_is_lost_is_said_as_the_clock_passes_it(desk: DeskMaker) -> None:
    at = desk(("level_falls", 1.5))
    at.start()
    said = []
    for shown in range(0, 400, 10):
        at.tell({"kind": "shown", "run": 1, "t": float(shown), "held": False, "rate": 20})
        ended = at.panel.page["run"]["ended"]
        if ended and (not said or said[-1] != ended["sentence"]):
            said.append(ended["sentence"])
    assert len(said) >= 2
    assert said[0].endswith(" s: water comes.")
    assert said[-1].endswith("next to no water comes.")


def test_units_are_a_matter_of_the_page(desk: DeskMaker) -> None:
    at = desk(RING)
    at.start()
    at.act("check", {"check": "gauges", "place": "gauges"}, shown=9.0)
    metric = at.panel.page["notes"][-1]["text"]
    at.panel.units = "us"
    american = at.panel.page["notes"][-1]["text"]
    assert "kPa" in metric
    assert "inHg" in american
    assert "kPa" not in american


def test_the_page_is_plain_data(desk: DeskMaker) -> None:
    at = desk(RING, mode="guided", see_through=True)
    at.start()
    at.act("check", {"check": "gauges", "place": "gauges"}, shown=9.0)
    json.dumps(at.panel.page, allow_nan=False)
    json.dumps(at.panel.words, allow_nan=False)


def test_the_debrief_comes_after_the_answer_and_once(desk: DeskMaker) -> None:
    calls: list[str] = []

    def debriefer(attempt: Any, units: str, progress: Any) -> dict[str, Any]:
        calls.append(attempt.id)
        progress(1, 2)
        return {"total": 12, "parts": []}

    at = desk(RING, debriefer=debriefer)
    said = at.tell({"kind": "act", "id": "z", "run": None, "shown": 0, "action": "give_up", "args": {}})
    assert [kind for kind, _, _ in said] == ["page", "ack", "progress", "page"]
    assert said[0][1]["debrief_pending"]
    assert said[3][1]["debrief"]["total"] == 12
    at.act("put_on_ppe")
    assert len(calls) == 1
    assert at.panel.page["phase"] == "debrief"


def test_a_failing_debrief_is_a_sentence(desk: DeskMaker) -> None:
    def debriefer(*_: Any) -> dict[str, Any]:
        raise KeyError("no such thing")

    at = desk(RING, debriefer=debriefer)
    at.act("give_up")
    assert at.panel.page["debrief"] == {"failed": text("panel.debrief.failed_quietly")}


def test_the_view_is_shared_and_the_words_are_sent_once(desk: DeskMaker) -> None:
    one, two = desk(RING).panel, desk(BELT).panel
    assert isinstance(one, ExercisePanel)
    assert one._esm is two._esm
    assert one.words == two.words
