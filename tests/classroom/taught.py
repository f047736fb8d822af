"""A class that has worked: invented people, real call-outs of the book played by the headless trainee, marks made up."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from simulator.attempt import Attempt
from simulator.panels.lessons.practice_yard.call_book import read_book
from simulator.records import Store
from simulator.scenario import Scenario

ADA, BO, CY = "Ada Quill", "Bo Marsh", "Cy Dale"
BEGAN = datetime(2026, 3, 2, 7, 10, tzinfo=UTC)


class Ticking:
    """A clock that goes on by so many seconds whenever it is read."""

    def __init__(self, at: datetime = BEGAN, step: float = 5.0) -> None:
        self.at, self.step = at, step

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=self.step)
        return self.at


class OfThePage:
    """A store with what the practice yard writes into a record beside what an attempt does."""

    def __init__(self, store: Store, level: str = "book") -> None:
        self._store, self._level = store, level

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        return self._store.create_attempt({**record, "lesson": "09", "level": self._level}, attempt_id)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)


def book_call(fault: str) -> Scenario:
    """The first call of the book with nothing but this fault; "" for one in which nothing is wrong."""
    found = (call.scenario for call in read_book())
    return next(each for each in found if [one.fault for one in each.faults] == ([fault] if fault else []))


def begin(store: Store, learner: str, scenario: Scenario, level: str = "book") -> Attempt:
    """On the yard, gear on, a look round, the engine started and watched for half a minute."""
    attempt = Attempt(scenario, OfThePage(store, level), learner=learner, mode="practice")
    assert attempt.act("put_on_ppe").accepted
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    attempt.act("secure_discharge")
    attempt.act("check", {"check": "walk_round"})
    assert attempt.act("start_engine").accepted
    watch(attempt, 30)
    return attempt


def watch(attempt: Attempt, to: int) -> None:
    """Look on until the run clock shows so many seconds, ten at a time: no page may be further ahead."""
    for second in range(10, to + 1, 10):
        attempt.see(float(second))


def end(attempt: Attempt, took_for: str, markers: int, total: float | None, *, unsafe: bool = False) -> str:
    """A call, a breach where one is wanted, handed over and marked; the id."""
    other = {"something_else": 10 - markers} if markers < 10 else {}
    assert attempt.act("call", {"markers": {took_for: markers, **other}}).accepted
    attempt.act("stop_engine")
    if unsafe:
        assert attempt.act("check", {"check": "belt"}).breach == "serious"
    assert attempt.act("give_up").accepted
    if total is not None:
        parts = [("found", 0.45, 45.0), ("economy", 0.4, 40.0), ("understanding", 0.15, 15.0)]
        sheet = {
            "parts": [
                {"id": name, "points": round(total * share, 1), "out_of": most, "evidence": []}
                for name, share, most in parts
            ],
            "version": 6, "model": "made up", "grave": False, "hints": 0, "total": total, "passed": total >= 70.0,
        }  # fmt: skip
        attempt.store.save_marks(attempt.id, sheet)
    return attempt.id


def worked(store: Store) -> dict[str, str]:
    """Six plays of three people: ids by what they are."""
    drain, strainer, sound = (book_call(name) for name in ("drain_open", "strainer_clogs", ""))
    out = {
        "ada drain": end(begin(store, ADA, drain), "drain_open", 8, 86.0),
        "ada strainer": end(begin(store, ADA, strainer), "strainer_clogs", 6, 72.0),
        "bo drain": end(begin(store, BO, drain), "belt_loose", 7, 41.0, unsafe=True),
        "bo sound": end(begin(store, BO, sound), "drain_open", 5, 33.0),
        "cy strainer": end(begin(store, CY, strainer), "drain_open", 9, None),
    }
    out["cy now"] = begin(store, CY, drain).id
    return out
