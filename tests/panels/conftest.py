"""A learner's session with a clock that a test can move."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from simulator.panels.exercise import debrief_work as debriefing
from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson


class Clock:
    """A clock that ticks a millisecond whenever it is read, and is otherwise moved by hand."""

    def __init__(self) -> None:
        self.time = datetime(2026, 3, 2, 7, 10, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(milliseconds=1)
        return self.time

    def wait(self, days: float) -> None:
        self.time += timedelta(days=days)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def new_session(clock: Clock) -> Iterator[Callable[[], LearnerSession]]:
    """Opens the learner's session of this machine, as each new page does."""
    opened: list[LearnerSession] = []

    def make() -> LearnerSession:
        opened.append(LearnerSession(now=clock))
        return opened[-1]

    yield make
    for session in opened:
        session.store.close()


class Clicks:
    """Clicks on the parts of a lesson as the page would send them, with what came back."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(
        self, target: Lesson | LessonPart, action: str, click: str = "", **args: Any
    ) -> dict[str, Any]:
        part = target if isinstance(target, LessonPart) else next(iter(target.parts.values()))
        said: list[dict[str, Any]] = []
        send, part.send = part.send, lambda content, buffers=None: said.append(content)
        self.count += 1
        message = {"kind": "do", "id": click or f"click {self.count}", "action": action, "args": args}
        part._receive(part, message, [])
        part.send = send
        assert len(said) == 1
        return said[0]


@pytest.fixture
def quick_marks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Marks at once and without thought, where a test is not about them."""

    def marked(attempt: Any, units: str, progress: Any) -> dict[str, Any]:
        attempt.store.save_marks(attempt.id, {"total": 64.0, "parts": []})
        return {"total": 64.0, "parts": [], "steps": [], "curves": [], "truth": "", "practise": ""}

    monkeypatch.setattr(debriefing, "debrief_and_keep", marked)


@pytest.fixture
def click() -> Clicks:
    return Clicks()
