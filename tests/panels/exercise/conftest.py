"""A panel whose messages to the page are kept, in their order."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.panels.exercise.panel import ExercisePanel
from simulator.scenario import Scenario, SiteChoice, choose_fault


@dataclass
class Desk:
    """A panel and what it has said, as a page would hear it."""

    panel: ExercisePanel
    said: list[tuple[str, Any, bytes]] = field(default_factory=list)

    def listen(self) -> Desk:
        def keep(content: dict[str, Any], buffers: list[bytes] | None = None) -> None:
            self.said.append((content["kind"], content, bytes(buffers[0]) if buffers else b""))

        self.panel.send = keep  # type: ignore[method-assign]
        self.panel.observe(lambda change: self.said.append(("page", change["new"], b"")), names="page")
        return self

    def tell(self, message: Any) -> list[tuple[str, Any, bytes]]:
        """Send one message as the page would; what was said in answer."""
        self.said.clear()
        self.panel._receive(self.panel, message, [])
        return list(self.said)

    def act(
        self, action: str, args: dict[str, Any] | None = None, *, shown: float | None = None, id: str = ""
    ) -> dict[str, Any]:
        """One act at the shown moment, or at another; its answer."""
        message = {
            "kind": "act",
            "id": id or uuid.uuid4().hex,
            "run": self.run,
            "shown": self.panel.attempt.shown if shown is None else shown,
            "action": action,
            "args": args or {},
        }
        return next(content for kind, content, _ in self.tell(message) if kind == "ack")

    @property
    def run(self) -> int | None:
        return self.panel.page["run"]["id"]

    def need(self, start: float, shown: float) -> list[tuple[dict[str, Any], np.ndarray]]:
        """Ask for samples; each answer with its rows."""
        said = self.tell({"kind": "need", "run": self.run, "from": start, "shown": shown})
        return [(content, rows_of(content, raw)) for kind, content, raw in said if kind == "samples"]

    def start(self) -> Desk:
        """Everything before the engine runs, and the start."""
        self.act("predict", {"question": "sound_prime_time", "answer": 40})
        for action in ("put_on_ppe", "secure_discharge", "start_engine"):
            assert self.act(action)["accepted"], action
        return self


def rows_of(content: dict[str, Any], raw: bytes) -> np.ndarray:
    """The rows of a message of samples."""
    return np.frombuffer(raw, dtype="<f4").reshape(content["count"], len(content["channels"]))


def call_out(*faults: tuple[Any, ...], mode: str = "practice", see_through: bool = False) -> Scenario:
    """A call-out on the standard rig."""
    chosen = tuple(choose_fault(*fault) for fault in faults)
    return Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(name="Teal Pond", lift_m=3.0),
        faults=chosen,
        mode=mode,  # type: ignore[arg-type]
        see_through=see_through,
    )


@pytest.fixture
def desk() -> Callable[..., Desk]:
    """A desk with a call-out on it: ``desk(*faults, mode=..., see_through=..., debriefer=...)``."""

    def make(*faults: tuple[Any, ...], debriefer: Any = None, seed: int = 7, **how: Any) -> Desk:
        attempt = Attempt(call_out(*faults, **how), MemoryStore(), learner="Ash", seed=seed)
        return Desk(ExercisePanel(attempt, debriefer=debriefer)).listen()

    return make
