"""Small call-outs for the tests of an attempt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.scenario import Scenario, SiteChoice, choose_fault

Call = Callable[..., Attempt]


def scenario_with(*faults: tuple[Any, ...], **more: Any) -> Scenario:
    """A call-out at Teal Pond with these faults, each as (id, size in SI units, place)."""
    words = {"title": "A call", "brief": "It will not draw.", **more}
    return Scenario(
        site=SiteChoice(name="Teal Pond", lift_m=3.0), faults=tuple(choose_fault(*f) for f in faults), **words
    )


@pytest.fixture
def call() -> Call:
    """Makes an attempt at a call-out with some faults."""

    def make(*faults: tuple[Any, ...], store: MemoryStore | None = None, **more: Any) -> Attempt:
        kept = {name: more.pop(name) for name in ("seed", "attempt_id", "coach", "learner") if name in more}
        kept.setdefault("seed", 11)
        return Attempt(scenario_with(*faults, **more), store or MemoryStore(), **kept)

    return make


def make_ready_to_start(attempt: Attempt) -> None:
    """Gear on, discharge secured, the first question answered."""
    for action in ("put_on_ppe", "secure_discharge"):
        assert attempt.act(action).accepted
    assert attempt.act("predict", {"question": "sound_prime_time", "answer": 40}).accepted


def look_round(attempt: Attempt) -> None:
    """The look round that comes before the first start, with the gear that it takes."""
    attempt.act("put_on_ppe")
    assert attempt.act("check", {"check": "walk_round"}).accepted


def markers(**counts: int) -> dict[str, Any]:
    """Arguments of a call."""
    return {"markers": counts}
