"""An attempt on the store on disk: what was done is there again after the kernel was killed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from simulator.attempt.attempt import Attempt
from simulator.attempt.memory_store import MemoryStore
from simulator.errors import InputError
from simulator.records import Store
from simulator.scenario import random_scenario

ROOT = Path(__file__).parents[2]
KILLED = """
import os, sys
from simulator.attempt.attempt import Attempt
from simulator.records import Store
from simulator.scenario import random_scenario
attempt = Attempt(random_scenario(11), Store.open(sys.argv[1]), learner="Ash")
attempt.act("put_on_ppe", {}, "click 1", 0.0)
attempt.act("start_engine", {}, "click 2", 0.0)
sys.stdout.write(attempt.id)
sys.stdout.flush()
os._exit(1)
"""


def test_an_attempt_goes_on_after_its_process_died(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path)], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert done.returncode == 1
    with Store.open(tmp_path) as store:
        attempt = Attempt.resume(store, done.stdout)
        assert [event["act"] for event in attempt.log] == ["begin", "put_on_ppe", "start_engine"]
        told = attempt.act("put_on_ppe", {}, "click 1", 0.0)  # the page asks again: acts once
        assert told.seq == 1
        attempt.act("secure_discharge", {}, "click 3", 0.0)
        assert [row.click_id for row in store.log(attempt.id)] == [None, "click 1", "click 2", "click 3"]
        assert store.log(attempt.id)[-1].yard_minutes is not None


def test_of_two_kernels_the_later_catches_up_first(tmp_path: Path) -> None:
    with Store.open(tmp_path) as store:
        one = Attempt(random_scenario(11), store, learner="Ash")
        two = Attempt.resume(store, one.id)
        one.act("put_on_ppe", {}, "click 1", 0.0)
        assert two.act("secure_discharge", {}, "click 2", 0.0).accepted
        assert [event["act"] for event in store.events(one.id)] == ["begin", "put_on_ppe", "secure_discharge"]
        assert two.log == store.events(one.id)


def test_both_stores_behave_alike(tmp_path: Path) -> None:
    logs = []
    for store in (MemoryStore(), Store.open(tmp_path)):
        attempt = Attempt(random_scenario(11), store, learner="Ash", attempt_id="same")
        attempt.act("put_on_ppe", {}, "click 1", 0.0)
        store.set_progress("same", {"run": 0, "shown_s": 1.0})
        with pytest.raises(InputError):
            store.append_event("same", 7, {"act": "x"}, "click 9")
        with pytest.raises(InputError):
            store.create_attempt({}, "same")
        with pytest.raises(InputError):
            store.events("other")
        logs.append((store.events("same"), store.attempt_record("same"), store.progress("same")))
    assert logs[0] == logs[1]
    assert list(tmp_path.iterdir())
