"""Somebody who clicks anything at any time: nothing breaks, clocks go forward, a resume gives the same bytes."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.calls import MARKERS
from simulator.attempt.samples import OUTSIDE
from simulator.scenario import random_scenario
from tests.conftest import some


def any_act(attempt: Attempt, chance: random.Random) -> tuple[str, dict[str, Any]]:
    """One act out of all there are, mostly one that waits for nothing."""
    kind = chance.random()
    if kind < 0.08:
        return "wait", {"seconds": chance.choice([0.1, 3.0, 20.0, 100.0])}
    if kind < 0.14:
        return "set_speed", {"speed": chance.choice(["slow", "rated"])}
    if kind < 0.22:
        names = ["drain_open", "belt_loose", "nrv_fouled", "something_else"]
        cuts = sorted(chance.randint(0, MARKERS) for _ in range(3))
        counts = [b - a for a, b in zip([0, *cuts], [*cuts, MARKERS], strict=True)]
        return "call", {"markers": dict(zip(names, counts, strict=True))}
    if kind < 0.30:
        return "predict", {
            "question": attempt.yard.question or "none",
            "answer": chance.choice([None, 40, "shallow"]),
        }
    if kind < 0.33:
        return "ask_hint", {}
    views = [view for view in attempt.available_actions() if view.action != "give_up"]
    safe = [view for view in views if not view.risk]
    view = chance.choice(safe if chance.random() < 0.97 else views)
    return view.action, view.args


def play(seed: int, acts: int) -> None:
    chance = random.Random(seed)
    store = MemoryStore()
    attempt = Attempt(random_scenario(seed), store, seed=seed)
    minutes, runs = 0.0, 0
    for number in range(acts):
        action, args = any_act(attempt, chance)
        shown = attempt.shown + chance.choice([0.0, 0.04, 3.0, 9.99, 50.0])
        attempt.act(action, args, f"c{number}", shown if chance.random() < 0.7 else None)
        if chance.random() < 0.5:
            attempt.see(attempt.shown + chance.uniform(0.0, 6.0))
        samples = attempt.samples(attempt.shown, attempt.shown + 30.0)
        assert samples.channels == OUTSIDE
        assert samples.data.shape[1] <= 101
        shot = attempt.snapshot()
        assert shot.yard_minutes >= minutes
        minutes = shot.yard_minutes
        number_of_runs = shot.run["id"] or 0
        assert number_of_runs in (runs, runs + 1)
        runs = number_of_runs
        if attempt.yard.ended:
            break
    again = Attempt.resume(store, attempt.id)
    assert json.dumps(again.snapshot().as_dict()) == json.dumps(attempt.snapshot().as_dict())
    assert again.samples(0.0, 1e4).data.tobytes() == attempt.samples(0.0, 1e4).data.tobytes()


@pytest.mark.parametrize("seed", some(range(6), every=3))
def test_anything_in_any_order(seed: int) -> None:
    play(seed, 50)


@pytest.mark.full
@pytest.mark.parametrize("seed", range(100, 140))
def test_anything_in_any_order_for_long(seed: int) -> None:
    play(seed, 150)
