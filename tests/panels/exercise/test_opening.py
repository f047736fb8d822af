"""Leaving an exercise and coming back to it, and the practice yard."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.errors import InputError
from simulator.panels.exercise.panel import ExercisePanel, open_exercise
from simulator.panels.lessons.practice_yard.yard import PracticeYard
from simulator.records import Store
from simulator.scenario import save_scenario
from simulator.texts import text
from tests.panels.exercise.conftest import Desk, call_out

RING = ("joint_ring", 0.007, "joint:1")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "records.sqlite3") as opened:
        yield opened


def at(panel: ExercisePanel) -> Desk:
    return Desk(panel).listen()


def test_an_exercise_goes_on_at_the_same_second(store: Store, tmp_path: Path) -> None:
    how = {"learner": "Ash", "slot": "03", "mode": "practice"}
    first = at(open_exercise(call_out(RING), store=store, **how)).start()
    first.act("check", {"check": "exhaust_stream", "place": "exhaust"}, shown=6.0)
    first.tell({"kind": "shown", "run": 1, "t": 41.2, "held": False, "rate": 5})
    with Store.open(tmp_path / "records.sqlite3") as again:  # another process: the first one was killed
        second = at(open_exercise(call_out(RING), store=again, **how))
        assert second.panel.attempt.id == first.panel.attempt.id
        assert second.panel.page["run"]["shown"] == 41.2
        assert {**second.panel.page, "serial": 0} == {**build(first), "serial": 0}
        ((_, one),), ((_, two),) = first.need(0.0, 41.2), second.need(0.0, 41.2)
        assert one.tobytes() == two.tobytes()
        assert second.act("stop_engine")["accepted"]


def build(desk: Desk) -> dict[str, object]:
    """The page as it would be drawn now; the clock alone does not draw it anew."""
    desk.panel._refresh()
    return desk.panel.page


def test_a_click_repeated_after_the_restart_acts_once(store: Store) -> None:
    first = at(open_exercise(call_out(RING), store=store, learner="Ash", slot="03"))
    first.act("put_on_ppe", id="the click")
    second = at(open_exercise(call_out(RING), store=store, learner="Ash", slot="03"))
    assert second.act("put_on_ppe", id="the click")["accepted"]
    assert [event["act"] for event in second.panel.attempt.log] == ["begin", "put_on_ppe"]


def test_every_learner_and_slot_has_its_own(store: Store) -> None:
    ids = {
        open_exercise(call_out(RING), store=store, learner=who, slot=slot).attempt.id
        for who in ("Ash", "Rowan")
        for slot in ("03", "04")
    }
    assert len(ids) == 4
    assert {row.lesson for row in store.list_attempts("Ash")} == {"03", "04"}


def test_without_a_slot_every_opening_is_new(store: Store) -> None:
    ids = {open_exercise(call_out(RING), store=store, learner="Ash").attempt.id for _ in range(2)}
    assert len(ids) == 2


def test_a_changed_call_out_begins_anew_and_keeps_the_old_record(store: Store) -> None:
    old = open_exercise(call_out(RING), store=store, learner="Ash", slot="03").attempt.id
    new = open_exercise(call_out(("drain_open", 0.5)), store=store, learner="Ash", slot="03").attempt.id
    assert new != old
    assert {row.attempt_id: row.finished for row in store.list_attempts("Ash")} == {old: True, new: False}


def test_an_attempt_that_cannot_be_replayed_is_left_with_a_sentence(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = open_exercise(call_out(RING), store=store, learner="Ash", slot="03")

    def refuse(*_: object, **__: object) -> None:
        raise InputError("event 0 does not replay", "log")

    monkeypatch.setattr("simulator.panels.exercise.opening.Attempt.resume", refuse)
    new = open_exercise(call_out(RING), store=store, learner="Ash", slot="03")
    assert new.attempt.id != old.attempt.id
    assert new.page["notice"] == f"{text('panel.link.cannot_read')} {text('panel.link.new_one')}"


def kept_with(store: Store, change: Callable[[dict[str, Any]], None]) -> str:
    """The id of an attempt of slot 03 whose stored log was changed before it was written."""
    played = Attempt(call_out(RING), MemoryStore(), learner="Ash", seed=3)
    played.act("put_on_ppe")
    played.act("check", {"check": "walk_round"})
    found = store.create_attempt({**played.store.attempt_record(played.id), "lesson": "03"}, played.id)
    for event in played.store.events(played.id):
        change(event)
        store.append_event(found, event["seq"], event, event["click_id"])
    return found


def other_outcome(event: dict[str, Any]) -> None:
    if event["act"] == "check":
        event["result"]["outcome"] = "strainer_uncovered"


def no_such_act(event: dict[str, Any]) -> None:
    if event["act"] == "check":
        event["act"] = "whistle"


def no_arguments(event: dict[str, Any]) -> None:
    if event["act"] == "check":
        event["args"] = None


@pytest.mark.parametrize("change", [other_outcome, no_such_act, no_arguments])
def test_a_log_that_does_not_replay_has_a_way_on(
    store: Store, change: Callable[[dict[str, Any]], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SIMULATOR_DATA_DIR", str(tmp_path))
    old = kept_with(store, change)
    new = open_exercise(call_out(RING), store=store, learner="Ash", slot="03")
    copy = tmp_path / "set-aside" / f"attempt-{old}.json"
    said = [
        text("panel.link.cannot_replay", kept=2, steps=3),
        text("panel.link.copy", file=str(copy)),
        text("panel.link.new_one"),
    ]
    assert new.page["notice"] == " ".join(said)
    assert new.attempt.act("put_on_ppe").accepted
    # nothing is lost: the records hold the whole log, and so does the copy, for its owner's eyes
    assert len(store.events(old)) == 3
    written = json.loads(copy.read_text(encoding="utf-8"))
    assert written["events"] == store.events(old)
    assert "ReplayError" in written["why"]
    assert copy.stat().st_mode & 0o077 == 0
    # and the next load goes on with the new one
    again = open_exercise(call_out(RING), store=store, learner="Ash", slot="03")
    assert (again.attempt.id, again.page["notice"]) == (new.attempt.id, "")


def test_a_file_opens_with_the_lessons_mode(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "pond.scenario.yaml"
    save_scenario(call_out(RING), path)
    panel = open_exercise(path, mode="guided", see_through=True, store=store)
    assert (panel.page["mode"], panel.page["see_through"]) == ("guided", True)
    plain = open_exercise(str(path), store=store)
    assert (plain.page["mode"], plain.page["see_through"]) == ("practice", False)


@pytest.mark.parametrize("how", [{"mode": "guessing"}, {"mode": "practice", "see_through": True}])
def test_what_does_not_go_together_is_refused(store: Store, how: dict[str, object]) -> None:
    with pytest.raises(InputError, match=r"Legal: "):
        open_exercise(call_out(RING), store=store, **how)  # type: ignore[arg-type]


def test_the_users_own_records_are_the_default(user_folders: dict[str, Path]) -> None:
    panel = open_exercise(call_out(RING), learner="Ash", slot="03")
    assert panel.attempt.id
    assert list(user_folders["data"].glob("*.sqlite3"))


def test_the_practice_yard_gives_one_call_out_after_another(store: Store) -> None:
    yard = at(PracticeYard(level="first", learner="Ash", store=store))
    first = yard.panel.page["attempt"]
    assert yard.panel.page["yard"]["level"] == "first"
    assert yard.act("yard_next", id="1")["accepted"]  # nothing was done yet: nothing is lost
    second = yard.panel.page["attempt"]
    assert second != first
    yard.act("put_on_ppe")
    warned = yard.act("yard_next", id="2")
    assert (warned["accepted"], warned["sentence"]) == (False, text("panel.yard.next_open"))
    assert yard.act("yard_next", id="3")["accepted"]
    assert yard.act("yard_next", id="3")["accepted"]  # the same click again
    third = yard.panel.page["attempt"]
    assert len({first, second, third}) == 3
    assert len(store.list_attempts("Ash")) == 3


def test_the_practice_yard_goes_on_at_its_level(store: Store) -> None:
    yard = at(PracticeYard(level="first", learner="Ash", store=store))
    assert yard.act("yard_level", {"level": "hard"})["accepted"]
    yard.act("yard_next")
    yard.act("put_on_ppe")
    again = PracticeYard(level="first", learner="Ash", store=store)
    assert again.page["attempt"] == yard.panel.page["attempt"]
    assert again.page["yard"]["level"] == "hard"
    assert not at(again).act("yard_level", {"level": "absurd"})["accepted"]


def test_an_unknown_level_is_a_sentence(store: Store) -> None:
    with pytest.raises(InputError, match="first, usual, hard"):
        PracticeYard(level="absurd", store=store)


def test_two_windows_on_one_call_out_lose_no_click(store: Store) -> None:
    how = {"learner": "Ash", "slot": "03", "mode": "practice", "store": store}
    one = at(open_exercise(call_out(RING), **how)).start()
    two = at(open_exercise(call_out(RING), **how))
    for shown in (5.0, 9.0, 14.0, 20.0):
        for desk in (one, two):
            answer = desk.act("check", {"check": "exhaust_stream", "place": "exhaust"}, shown=shown)
            assert answer["accepted"], answer
    log = store.events(one.panel.attempt.id)
    assert [event["act"] for event in log].count("check") == 8
    assert two.panel.attempt.log == log
    one.act("stop_engine", {}, shown=25.0)
    refused = two.act("stop_engine", {}, shown=25.0)
    assert not refused["accepted"]
    assert refused["sentence"]
    assert Attempt.resume(store, one.panel.attempt.id).log == two.panel.attempt.log
