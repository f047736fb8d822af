"""The store in memory and the one on disk do the same for an attempt."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simulator.attempt import Attempt, AttemptStore, MemoryStore
from simulator.errors import InputError
from simulator.records import Store
from tests.attempt.conftest import make_ready_to_start, scenario_with


def stores(folder: Path) -> list[AttemptStore]:
    return [MemoryStore(), Store.open(folder / "records.sqlite")]


def test_both_stores_resume_alike(tmp_path: Path) -> None:
    pages = []
    for store in stores(tmp_path):
        attempt = Attempt(scenario_with(("joint_ring", 0.008, "joint:1")), store, seed=3, attempt_id="one")
        make_ready_to_start(attempt)
        attempt.act("start_engine", {}, "c1")
        attempt.act("check", {"check": "exhaust_stream"}, "c2", 6.0)
        attempt.see(attempt.shown + 4.2)
        again = Attempt.resume(store, "one")
        assert again.shown == attempt.shown == 40.2
        assert again.act("check", {"check": "exhaust_stream"}, "c2").seq == attempt.log[-1]["seq"]
        pages.append(json.dumps([again.snapshot().as_dict(), again.log], sort_keys=True))
    assert pages[0] == pages[1]


def test_both_stores_refuse_alike(tmp_path: Path) -> None:
    for store in stores(tmp_path):
        attempt_id = store.create_attempt({"learner": "Ash", "scenario_hash": "0"})
        store.append_event(attempt_id, 0, {"act": "begin"}, "c")
        for seq, click in ((0, None), (2, None), (1, "c")):
            with pytest.raises(InputError):
                store.append_event(attempt_id, seq, {"act": "wait"}, click)
        with pytest.raises(InputError):
            store.events("nobody")
        assert store.progress(attempt_id) is None
        store.set_progress(attempt_id, {"run": 1, "shown_s": 2.5})
        assert store.progress(attempt_id) == {"run": 1, "shown_s": 2.5}
