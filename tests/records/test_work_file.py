"""A work file takes everything along; loading it loses nothing, doubles nothing and changes nothing that is there."""

from __future__ import annotations

import base64
import gzip
import json
import zlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import simulator
from simulator.errors import InputError
from simulator.records import (
    ObservedJob,
    Store,
    amount,
    jobs,
    keep_job,
    left_out,
    merge_work,
    read_work,
    write_work,
)
from simulator.records.work_file import VERSION, checksum
from simulator.records.work_limits import MAX_BYTES, MAX_VALUES
from simulator.scenario import Scenario, SiteChoice, choose_fault, scenario_hash
from tests.conftest import examples, some

STRAINER = Scenario(
    title="A call",
    brief="It will not draw.",
    site=SiteChoice(lift_m=3.0),
    faults=(choose_fault("strainer_plugged", 0.99),),
)

CALL = {
    "learner": "Ash",
    "lesson": "practice-yard",
    "mode": "practice",
    "seed": 7,
    "scenario": STRAINER.content(),
    "scenario_hash": scenario_hash(STRAINER),
    "model_version": simulator.__version__,
}
PAGE = {"learner": "Ash", "lesson": "03", "mode": "lesson", "seed": 3, "model_version": "0.1.0"}


def deep(levels: int) -> Any:
    value: Any = 1
    for _ in range(levels):
        value = [value]
    return value


class Ticking:
    """A clock that goes on a second whenever it is read."""

    def __init__(self) -> None:
        self.time = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


@pytest.fixture
def stores() -> Iterator[list[Store]]:
    clock = Ticking()
    opened = [Store.open("sqlite://", now=clock) for _ in range(3)]
    yield opened
    for store in opened:
        store.close()


def play(store: Store, attempt: str, *acts: str, salt: str = "") -> None:
    on_a_page = store.attempt_record(attempt)["mode"] == "lesson"
    for act in acts:
        seq, click = len(store.log(attempt)), f"{act}{salt}"
        event = answered(act, click) if on_a_page else acted(act, seq, click)
        store.append_event(attempt, seq, event, click)


def answered(question: str, click: str) -> dict[str, Any]:
    return {"kind": "answer", "question": question, "answer": "yes", "click": click}


def acted(act: str, seq: int, click: str) -> dict[str, Any]:
    return {
        "seq": seq,
        "act": act,
        "args": {},
        "click_id": click,
        "clock_s": 90.0,
        "run": 1,
        "shown_s": 1.5,
        "accepted": True,
        "reason": "",
        "breach": "",
        "ended": "",
        "result": {},
        "notes": [],
    }


def carried(source: Store, target: Store) -> Any:
    return merge_work(target, read_work(write_work(source, "Ash")))


def held(store: Store) -> dict[str, Any]:
    """All that stands in a store, by attempt."""
    return {
        row.attempt_id: (
            row,
            store.attempt_record(row.attempt_id),
            store.log(row.attempt_id),
            store.marks(row.attempt_id),
            store.get_progress(row.attempt_id),
        )
        for row in store.list_attempts()
    }


def fill(store: Store) -> str:
    call = store.create_attempt(CALL)
    play(store, call, "begin", "put_on_ppe", "start_engine")
    store.set_progress(call, {"run": 0, "shown_s": 12.5})
    store.save_marks(call, {"total": 71.5, "parts": []})
    store.save_marks(call, {"total": 80}, source="trainer", marked_by="Wren")
    store.save_marks(call, {"total": 60}, source="trainer", marked_by="Wren")
    store.save_marks(call, {"total": 80}, source="trainer", marked_by="Wren")
    page = store.create_attempt(PAGE)
    store.append_event(page, 0, answered("other", "müd"), "müd")
    store.end_attempt(page)
    keep_job(store, ObservedJob("Ash", "Wren", "2026-03-02", points={"found": 25}))
    store.create_attempt({**PAGE, "learner": "Bo"})
    return call


def test_everything_of_one_learner_goes_along_and_twice_is_once(stores: list[Store]) -> None:
    here, there, _ = stores
    call = fill(here)
    merged = carried(here, there)
    assert (merged.attempts, merged.beside, merged.same) == (3, 0, True)
    mine = {key: value for key, value in held(here).items() if value[0].learner == "Ash"}
    assert held(there) == mine
    assert there.marks(call, "trainer")[-1].sheet == {"total": 80}
    assert jobs(there, "Ash") == jobs(here, "Ash")
    before = held(there)
    again = carried(here, there)
    assert not again.anything
    assert again.same
    assert held(there) == before
    assert amount(there, "Ash") == amount(here, "Ash") == 11


def test_a_call_gone_on_with_elsewhere_is_gone_on_with_here(stores: list[Store]) -> None:
    home, away, _ = stores
    call = home.create_attempt(CALL)
    play(home, call, "begin", "put_on_ppe")
    carried(home, away)
    play(away, call, "start_engine", "walk_round")
    away.set_progress(call, {"run": 0, "shown_s": 40.0})
    merged = carried(away, home)
    assert (merged.attempts, merged.events, merged.beside) == (0, 2, 0)
    assert home.log(call) == away.log(call)
    assert home.get_progress(call) == {"run": 0, "shown_s": 40.0}
    assert not carried(home, away).anything


def test_a_call_that_went_on_in_both_places_is_kept_both_ways(stores: list[Store]) -> None:
    home, away, third = stores
    call = home.create_attempt(CALL)
    play(home, call, "begin")
    carried(home, away)
    play(home, call, "start_engine", salt="home")
    play(away, call, "walk_round", "put_on_ppe", salt="away")
    away.save_marks(call, {"total": 90, "parts": []})
    kept = home.log(call)
    merged = carried(away, home)
    assert (merged.attempts, merged.beside, merged.same) == (1, 1, False)
    assert home.log(call) == kept
    rows = home.list_attempts("Ash")
    assert len(rows) == 2
    assert rows[-1].attempt_id != call, "the longer way is the one to go on with"
    assert [event.payload for event in home.log(rows[-1].attempt_id)] == away.events(call)
    assert home.marks(rows[-1].attempt_id)[0].sheet["total"] == 90
    assert home.marks(call) == []
    for source, target in ((away, home), (home, away), (away, home), (home, third), (away, third)):
        carried(source, target)
    assert [len(held(store)) for store in stores] == [2, 2, 2]
    logs = [{tuple(e.click_id for e in one[2]) for one in held(store).values()} for store in stores]
    assert logs[0] == logs[1] == logs[2]


def test_answers_on_a_page_are_joined(stores: list[Store]) -> None:
    home, away, _ = stores
    page = home.create_attempt(PAGE)
    for store, mine in ((home, "a"), (away, "b")):
        play(store, page, "first", salt=mine)
        carried(home, away)
    carried(away, home)
    carried(home, away)
    for store in (home, away):
        assert sorted(row.click_id or "" for row in store.log(page)) == ["firsta", "firstb"]
    assert not carried(away, home).anything
    assert carried(home, away).same


@pytest.mark.full
@settings(max_examples=examples(40), deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 2), st.sampled_from(["play", "carry", "mark"]), st.integers(0, 2)),
        max_size=12,
    )
)
def test_nothing_is_lost_or_doubled_however_files_go_round(steps: list[tuple[int, str, int]]) -> None:
    clock = Ticking()
    stores = [Store.open("sqlite://", now=clock) for _ in range(3)]
    try:
        call = stores[0].create_attempt(CALL)
        play(stores[0], call, "begin")
        for other in stores[1:]:
            carried(stores[0], other)
        for number, (at, what, to) in enumerate(steps):
            if what == "play":
                play(stores[at], call, "act", salt=f" {number}")
            elif what == "mark":
                stores[at].save_marks(call, {"total": number}, source="trainer", marked_by="Wren")
            elif at != to:
                before = {e.click_id for one in held(stores[to]).values() for e in one[2]}
                theirs = {e.click_id for one in held(stores[at]).values() for e in one[2]}
                carried(stores[at], stores[to])
                after = held(stores[to])
                assert before | theirs == {e.click_id for one in after.values() for e in one[2]}
                assert not carried(stores[at], stores[to]).anything
                assert held(stores[to]) == after
                logs = [tuple(e.click_id for e in one[2]) for one in after.values()]
                assert len(set(logs)) == len(logs)
                for log in logs:  # no way on is the beginning of another one
                    assert not any(log != other and other[: len(log)] == log for other in logs)
    finally:
        for store in stores:
            store.close()


def test_what_is_still_to_be_found_out_is_not_read_at_a_glance(stores: list[Store]) -> None:
    here, there, _ = stores
    call = here.create_attempt(CALL)
    play(here, call, "begin")
    assert left_out(here, "Ash") == ()
    assert "strainer" not in write_work(here, "Ash")
    carried(here, there)
    assert there.attempt_record(call) == CALL
    here.save_marks(call, {"total": 50, "parts": []})
    assert "strainer" in write_work(here, "Ash"), "once it is marked, the file is plain to read"


def told(data: bytes | str) -> str:
    with pytest.raises(InputError) as caught:
        read_work(data)
    assert caught.value.legal
    return caught.value.what


def test_files_that_cannot_be_used_are_told_apart(stores: list[Store], tmp_path: Path) -> None:
    fill(stores[0])
    good = write_work(stores[0], "Ash")
    body = json.loads(good)
    assert read_work("﻿" + good).learner == "Ash"  # an editor's mark at its head
    assert read_work(gzip.compress(good.encode())).learner == "Ash"
    with Store.open(tmp_path / "records.sqlite3"):
        pass
    others = [b"", b"\x89PNG\r\n", "[]", '{"format": "something else"}', "12", b'{"a": "call-out']
    for other in (*others, (tmp_path / "records.sqlite3").read_bytes()):
        assert "not a work file" in told(other)
    newer = {**body, "version": VERSION + 1, "more": {}}
    assert f"version {VERSION + 1}" in told(json.dumps(newer))
    for cut in (300, len(good) // 2, len(good) - 5):
        assert "damaged" in told(good[:cut])
        assert "damaged" in told(gzip.compress(good.encode())[: cut // 20])
    assert "damaged" in told(good.replace("71.5", "99.5"))
    for wrong in (
        {"attempts": {}},
        {"attempts": [{}]},
        {"attempts": [{"attempt_id": "x", "made_at": "now", "closed": "!"}]},
        {"learner": None},
        {"version": "1"},
        {"learner": "Bo"},
        {"attempts": [body["attempts"][0]] * 2},
        {"attempts": [{**body["attempts"][0], "made_at": "yesterday"}]},
        {"attempts": [{**body["attempts"][0], "events": [{"seq": 4}]}]},
    ):
        changed = {**body, **wrong}
        assert "damaged" in told(json.dumps({**changed, "checksum": checksum(changed)}))


def test_an_id_of_somebody_elses_record_overwrites_nothing(stores: list[Store]) -> None:
    here, there, _ = stores
    call = here.create_attempt(CALL)
    play(here, call, "begin")
    there.create_attempt({**PAGE, "learner": "Bo"}, call)
    before = there.attempt_record(call)
    assert carried(here, there).beside == 1
    assert not carried(here, there).anything
    assert there.attempt_record(call) == before
    assert len(there.list_attempts("Ash")) == 1


def remade(body: dict[str, Any], **more: Any) -> str:
    """A file changed by hand, its checksum made right again."""
    changed = {**body, **more}
    return json.dumps({**changed, "checksum": checksum(changed)})


#: Where in a record, what stands there then, and the words that say where it is wrong.
ODD: dict[str, tuple[tuple[Any, ...], Any, str]] = {
    "a year that cannot be": (("made_at",), "0001-01-01T00:00:00.000Z", "record 1, made_at"),
    "a name of two lines": (("record", "learner"), "Ash\nBo", "record 1, record.learner"),
    "a record of no kind": (("record", "mode"), "juggling", "record 1, record.mode"),
    "a fault that is none": (("record", "scenario", "faults", 0, "fault"), "gremlins", "record.scenario"),
    "another call-out under the same hash": (("record", "scenario", "site", "lift_m"), 4.0, "scenario_hash"),
    "an act without a time": (("events", 1, "payload", "clock_s"), None, "events.1.payload.clock_s"),
    "an engine that ran a year": (("events", 1, "payload", "shown_s"), 3e7, "events.1.payload.shown_s"),
    "an event out of its place": (("events", 1, "seq"), 4, "record 1, events"),
    "marks above a hundred": (("marks", 0, "sheet", "total"), 7150, "marks.0.sheet.total"),
    "a mark that is no figure": (("marks", 0, "sheet", "total"), "71.5", "marks.0.sheet.total"),
    "a run shown for ever": (("progress", "data", "shown_s"), 1e12, "progress.data.shown_s"),
    "half a sign": (("marks", 0, "marked_by"), "\ud800", "JSON"),
    "a figure that is too large": (("events", 1, "payload", "args"), {"n": 10**40}, "JSON"),
    "more levels than any record has": (("events", 1, "payload", "args"), {"n": deep(40)}, "JSON"),
}


@pytest.mark.parametrize("name", some(ODD, every=3))
def test_what_cannot_be_in_a_record_is_said_and_nothing_is_changed(stores: list[Store], name: str) -> None:
    here, there, _ = stores
    fill(here)
    body = json.loads(write_work(here, "Ash"))
    way, value, where = ODD[name]
    holder = body["attempts"][0]
    for step in way[:-1]:
        holder = holder[step]
    holder[way[-1]] = value
    there.create_attempt({**PAGE, "learner": "Bo"})
    before = held(there)
    with pytest.raises(InputError, match="nothing was changed") as caught:
        merge_work(there, read_work(remade(body)))
    assert where in caught.value.what
    assert held(there) == before


def test_an_answer_is_looked_at_by_its_question(stores: list[Store]) -> None:
    here, _, _ = stores
    page = here.create_attempt(PAGE)
    whole = {"answer": 41.0, "value": 41e3, "units": "metric"}
    here.append_event(page, 0, {**answered("read:suction:0", "a"), "answer": whole}, "a")
    here.append_event(page, 1, {**answered("something of a later lesson", "b"), "answer": "a word"}, "b")
    body = json.loads(write_work(here, "Ash"))
    assert read_work(remade(body)).attempts[0]["events"][0]["payload"]["answer"] == whole
    for answer in ({}, None, {**whole, "units": "ells"}, {**whole, "answer": "much"}, 41.0):
        body["attempts"][0]["events"][0]["payload"]["answer"] = answer
        assert "record 1, events.0.payload.answer" in told(remade(body))
    for question in ("read:suction:x", "sheet:first", "next:drills:0:0", "run:sound"):
        body["attempts"][0]["events"][0]["payload"] = {**answered(question, "a"), "answer": True}
        assert "record 1, events" in told(remade(body)), question


def test_work_of_a_newer_release_is_told_from_damaged_work(stores: list[Store]) -> None:
    here, _, _ = stores
    here.create_attempt(PAGE)
    body = json.loads(write_work(here, "Ash"))
    body["attempts"][0]["record"] |= {"model_version": "99.0.0", "mode": "sitting by the fire"}
    with pytest.raises(InputError, match=r"newer release \(99\.0\.0\)") as caught:
        read_work(remade(body))
    assert "release 99.0.0" in caught.value.legal
    body["attempts"][0]["record"] |= {
        "mode": "lesson",
        "mood": "good",
    }  # what this release need not know is kept
    assert read_work(remade(body)).attempts[0]["record"]["mood"] == "good"


def test_a_small_file_that_unpacks_to_a_large_one_is_refused(stores: list[Store]) -> None:
    """Of each kind: one stream, many records packed one by one, and many small values."""
    here, _, _ = stores
    call = here.create_attempt(CALL)
    play(here, call, "begin")
    body = json.loads(write_work(here, "Ash"))
    (closed,) = body["attempts"]
    inside = json.loads(zlib.decompress(base64.b85decode(closed["closed"])))
    blank = json.dumps(inside).encode() + b" " * 3_000_000
    packed = base64.b85encode(zlib.compress(blank, 9)).decode()
    many = [{**closed, "closed": packed} for _ in range(20)]
    assert len(remade(body, attempts=many)) < 200_000
    assert "too large" in told(remade(body, attempts=many))
    assert "too large" in told(gzip.compress(b" " * (MAX_BYTES + 1)))
    assert "too large" in told(b"[" + b"0," * MAX_VALUES + b"0]")
    assert "damaged" in told(remade(body, attempts=[{**closed, "closed": "!"}]))


def test_a_record_that_no_file_can_hold_stays_and_is_counted(stores: list[Store]) -> None:
    here, _, _ = stores
    here.create_attempt(PAGE)
    odd = here.create_attempt({**PAGE, "mode": "juggling"})
    assert left_out(here, "Ash") == (odd,)
    assert len(read_work(write_work(here, "Ash")).attempts) == 1
    assert len(here.list_attempts("Ash")) == 2
