"""Walks at random with long watching: every reload gives the same bytes (tests/attempt/walks.py tells more)."""

from __future__ import annotations

from pathlib import Path

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.records import Store
from tests.attempt import walks
from tests.attempt.conftest import Call, make_ready_to_start, markers


def failures(seeds: range, **more: int) -> list[str]:
    return [f"walk {seed}: {said}" for seed in seeds for said in walks.walk(seed, **more).failures]


def test_every_reload_gives_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(walks.timeline, "simulate_once", walks.remembered)
    done = [walks.walk(seed, pages=4) for seed in range(8)]
    assert [said for one in done for said in one.failures] == []
    # The walks must get where a run is longer than what is computed at a time.
    assert sum(one.longest_watch >= walks.LONG for one in done) >= 2
    assert sum(one.stopped_late for one in done) >= 1


def test_the_same_with_every_run_worked_out_anew() -> None:
    assert failures(range(1000, 1001)) == []


def test_the_same_with_the_records_of_a_disk(tmp_path: Path) -> None:
    for seed in range(2000, 2001):
        with Store.open(tmp_path / f"{seed}.sqlite3") as store:
            assert walks.walk(seed, store).failures == []


@pytest.mark.full
def test_many_walks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(walks.timeline, "simulate_once", walks.remembered)
    assert failures(range(3000, 3500), pages=4) == []


@pytest.mark.parametrize("watched", [318.0, 319.0, 330.0, 442.0, 700.0])
def test_a_run_watched_long_after_an_act_and_stopped(call: Call, watched: float) -> None:
    store = MemoryStore()
    attempt = call(("drain_open", 0.4), store=store)
    make_ready_to_start(attempt)
    attempt.act("call", markers(drain_open=10))
    attempt.act("start_engine")
    walks.watch(attempt, 258.0, walks.random.Random(1))
    attempt.act("remedy", {"remedy": "close_drain"}, shown=258.0)
    walks.watch(attempt, watched - attempt.shown, walks.random.Random(2))
    attempt.act("stop_engine")
    again = Attempt.resume(store, attempt.id)
    assert walks.page(again) == walks.page(attempt)
    assert walks.drawn(again) == walks.drawn(attempt)
