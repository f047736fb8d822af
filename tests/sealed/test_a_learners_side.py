"""A sealed sheet from a learner's page: played at the service, nothing of it here, standing still while that is away."""

from __future__ import annotations

import json
import pickle
import struct
import time
import zlib
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from simulator.classroom.asking import AskService
from simulator.classroom.handing_out import HandOut
from simulator.classroom.kept_sealed import played_at_service
from simulator.classroom.line import Line, Refused
from simulator.panels.learner.next_call import PRACTICE_SLOT
from simulator.panels.learner.sheet_calls import BEGUN, DONE, OPEN, given_sheets
from simulator.panels.lessons.practice_yard.yard import PracticeYard
from simulator.records import Store
from simulator.records.hand_over import chain_of, standing
from simulator.scenario import scenario_hash
from simulator.texts import text
from tests.classroom.a_class import NAMES
from tests.panels.exercise.conftest import Desk
from tests.sealed.conftest import SEED, SIZE, Room, hand_out, the_call

ADA = NAMES[0]


def yard(store: Store) -> Desk:
    return Desk(PracticeYard(learner=ADA, store=store, slot=PRACTICE_SLOT, level="first")).listen()


def act(
    at: Desk, action: str, args: dict[str, Any] | None = None, shown: float | None = None
) -> dict[str, Any]:
    message = {"kind": "act", "id": f"{action} {time.monotonic_ns()}", "run": at.run, "shown": shown}
    said = at.tell({**message, "action": action, "args": args or {}})
    return next(content for kind, content, _ in said if kind == "ack")


def run_for(at: Desk, until: int) -> None:
    for second in range(0, until + 1, 2):
        at.need(0.0, float(second))


def begun(store: Store) -> Desk:
    """A sealed call with its engine running."""
    at = yard(store)
    act(at, "predict", {"question": "sound_prime_time", "answer": 40})
    for action in ("put_on_ppe", "secure_discharge", "start_engine"):
        assert act(at, action)["accepted"], action
    return at


def states(store: Store) -> list[str]:
    return [call.state for call in given_sheets(store, ADA, PRACTICE_SLOT)[0].calls]


def truths() -> list[bytes]:
    """What nobody may find: size and seed as written and as numbers in memory, the call's hash, its packed text."""
    call = the_call()
    packed = zlib.compress(json.dumps(call.content()).encode())[:24]
    size = [f"{1e3 * SIZE:g}".encode(), struct.pack("<d", SIZE)]
    return [size[0], f"{SEED}".encode(), size[1], scenario_hash(call).encode(), packed]


def test_a_sealed_sheet_is_played_at_the_service_to_its_end_and_read_once_it_is_open(
    room: Room, at_ada, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = hand_out(room)
    assert [each.sheet.title for each in given_sheets(at_ada, ADA, PRACTICE_SLOT)] == ["Monday"]
    assert (
        AskService(room.records.address, "token-1", Path("nowhere")).given() == []
    )  # its calls stay with the class
    assert len(AskService(room.records.address, "t", Path("nowhere")).given()) == 1

    at = begun(at_ada)
    assert played_at_service(at.panel.played.id)
    assert states(at_ada) == [BEGUN, OPEN]
    run_for(at, 20)
    again = yard(at_ada)  # a kernel that was ended, or a second window
    assert again.panel.played.id == at.panel.played.id
    assert (again.panel.page["run"]["id"], again.panel.page["run"]["shown"]) == (1, 20.0)
    run_for(again, 30)
    assert act(again, "stop_engine", shown=30.0)["accepted"]
    assert act(again, "give_up")["accepted"]
    assert again.panel.page["phase"] == "debrief"
    said = text("sheets.level", title="Monday", done=1, count=2)  # the one just done counts at once
    assert again.panel.page["yard"]["levels"][0]["label"] == said
    assert again.panel.page["debrief"] is again.panel.page["truth"] is None
    assert again.panel.page["envelope"]
    assert act(again, "envelope")["sentence"] == text("panel.debrief.envelope_shut")
    assert states(at_ada) == [DONE, OPEN]

    # nothing of it was ever here, and none of it can be asked for
    assert at_ada.list_attempts(ADA) == []
    line = Line(room.records.address, "token-1", "records")
    assert line.ask("GET", "records")["heads"] == {}
    with pytest.raises(Refused):
        line.ask("GET", f"records/{at.panel.played.id}")

    room.sealed.desk._marker.wait(at.panel.played.id)
    HandOut(room.folder, room.keys).set_open(sheet.id, True)
    opened = given_sheets(at_ada, ADA, PRACTICE_SLOT)[0]
    assert (opened.elsewhere, opened.calls[0].state, opened.calls[1].state) == (False, DONE, OPEN)
    monkeypatch.setattr(again.panel, "_handing", SimpleNamespace(sheets=1, badge=str))
    again.panel._refresh()  # told so: the same page, not loaded again, nothing pressed
    assert again.panel.page["debrief"]["truth"]
    assert act(again, "envelope")["accepted"]
    assert not again.panel.page["envelope"]
    ours = standing(at_ada, ADA).heads[at.panel.played.id]
    assert list(ours) == line.ask("GET", "records")["heads"][at.panel.played.id]  # the same to the hash


def test_no_answer_holds_the_truth(room: Room, at_ada, monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[bytes] = []
    ask = Line.ask

    def listened(line: Line, *asked: Any) -> dict[str, Any]:
        said = ask(line, *asked)
        heard.append(json.dumps(said).encode() + pickle.dumps(said))
        return said

    monkeypatch.setattr(Line, "ask", listened)
    hand_out(room)
    at = begun(at_ada)
    run_for(at, 40)
    for action, args in (
        ("check", {"check": "exhaust_stream"}),
        ("stop_engine", {}),
        ("ask_hint", {}),
        ("give_up", {}),
    ):
        act(at, action, args)
    everything = b"".join(heard) + pickle.dumps(at.panel.page)
    assert len(everything) > 100_000
    assert [each for each in truths() if each in everything] == []
    assert b'"seed"' not in everything
    assert all(
        truth in json.dumps(the_call().content()).encode() for truth in truths()[:2]
    )  # the search would find it


def test_a_call_stands_still_while_the_service_is_away_and_goes_on_at_the_same_second(
    room: Room, at_ada
) -> None:
    hand_out(room)
    at = begun(at_ada)
    run_for(at, 16)
    room.sealed.go()
    refused = act(at, "check", {"check": "listen_line"}, shown=17.0)
    assert (refused["accepted"], refused["sentence"]) == (False, text("sheets.stands_still"))
    assert text("sheets.stands_still_badge") in at.panel.page["header"]["badges"]
    assert at.panel.page["notice"] == text("sheets.stands_still")
    assert at.need(0.0, 18.0) == []  # no more of the run: the clock stands where samples end
    room.sealed.come()
    late = time.monotonic() + 30
    while at.panel.played.trouble and time.monotonic() < late:
        time.sleep(0.1)
    assert text("sheets.stands_still_badge") not in at.panel.page["header"]["badges"]
    content, rows = at.need(0.0, 18.0)[0]
    assert content["run"] == 1
    assert 26.0 < len(rows) * content["step"] < 29.0  # shown to 18 s, ten ahead, nothing lost or skipped
    assert act(at, "check", {"check": "listen_line"}, shown=18.0)["accepted"]
    with Store.open(room.folder / "records") as kept:
        log = kept.events(at.panel.played.id)
    assert [event["act"] for event in log[-2:]] == ["start_engine", "check"]
    assert log[-1]["shown_s"] == 18.0


def test_nobody_plays_or_reads_anothers_call_nor_hands_one_in(room: Room, at_ada) -> None:
    sheet = hand_out(room)
    at = begun(at_ada)
    key = at.panel.played.id
    for token in ("token-2", "t", "nobody"):
        other = Line(room.sealed.address, token, "calls")
        for method, path, told in (
            ("GET", f"calls/{key}", ""),
            (
                "POST",
                f"calls/{key}/act",
                json.dumps({"action": "give_up", "args": {}, "click": "x", "units": "us"}),
            ),
            ("DELETE", f"calls/{key}", ""),
        ):
            with pytest.raises(Refused):
                other.ask(method, path, told)
    with pytest.raises(Refused):
        room.line().ask("POST", "calls", json.dumps({"sheet": sheet.id, "number": 7, "units": "us"}))
    with Store.open(room.folder / "records") as kept:
        known = len(kept.events(key))
        chain = chain_of(kept, key).as_dict()
    line = Line(room.records.address, "token-1", "records")
    said = line.ask("POST", "records", json.dumps({"attempts": [chain]}))
    assert said["refused"] == {key: text("classroom.records.of_the_service")}
    assert at.panel.page["phase"] != "debrief"
    with Store.open(room.folder / "records") as kept:
        assert len(kept.events(key)) == known


@pytest.mark.parametrize(
    "told",
    [
        {"action": "check", "args": {"check": "x" * 50_000}, "click": "a", "units": "metric"},
        {"action": 3, "args": {}, "click": "a", "units": "metric"},
        {"action": "wait", "args": [], "click": "a", "units": "metric"},
        {"action": "wait", "args": {"seconds": 1e99}, "click": "a", "units": "metric"},
        {"action": "put_on_ppe", "args": {}, "click": "a", "units": "cubits"},
        {},
    ],
)
def test_odd_questions_get_a_sentence_and_the_call_goes_on(room: Room, at_ada, told: dict[str, Any]) -> None:
    hand_out(room)
    at = begun(at_ada)
    try:
        said = room.line().ask("POST", f"calls/{at.panel.played.id}/act", json.dumps(told))
        assert said["failed"] or said["sentence"]
    except Refused as error:
        sentence = str(error)
        assert "Traceback" not in sentence
    assert act(at, "check", {"check": "listen_line"}, shown=2.0)["accepted"]
