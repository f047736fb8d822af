"""A work file takes everything along; loading it loses nothing, doubles nothing and changes nothing that is there."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.errors import InputError
from simulator.records import ObservedJob, Store, amount, jobs, keep_job, merge_work, read_work, write_work
from simulator.records.work_file import VERSION, checksum

CALL = {
    "learner": "Ash",
    "lesson": "practice-yard",
    "mode": "practice",
    "seed": 7,
    "scenario": {"rig": "osier", "faults": [{"fault": "strainer_plugged"}]},
    "scenario_hash": "a" * 64,
    "model_version": "0.1.0",
}
PAGE = {"learner": "Ash", "lesson": "03", "mode": "lesson", "seed": 3, "model_version": "0.1.0"}


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
    for act in acts:
        seq = len(store.log(attempt))
        store.append_event(attempt, seq, {"act": act, "shown_s": 1.5, "clock_s": 90.0}, f"{act}{salt}")


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
    store.append_event(page, 0, {"kind": "answer", "question": "guess", "answer": "müd"}, "c1")
    store.end_attempt(page)
    keep_job(store, ObservedJob("Ash", "Wren", "2026-03-02", points={"safety": 25}))
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


@settings(max_examples=40, deadline=None)
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
                play(stores[at], call, f"act {number}")
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
