"""A call played at the service is the same as one played here: the same pages, samples and answers to the same acts."""

from __future__ import annotations

import json
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.panels.exercise.coach import PageCoach
from simulator.panels.exercise.elsewhere import PlayedElsewhere
from simulator.panels.exercise.panel import ExercisePanel
from simulator.panels.exercise.played import Played, PlayedHere
from tests.panels.exercise.conftest import Desk
from tests.sealed.conftest import Room, hand_out, the_call

ACTS: list[tuple[str, dict[str, Any], float | None]] = [
    ("predict", {"question": "sound_prime_time", "answer": 40}, None),
    ("start_engine", {}, None),  # refused: no gear on
    ("put_on_ppe", {}, None),
    ("secure_discharge", {}, None),
    ("check", {"check": "walk_round"}, None),
    ("dance", {}, None),  # no such act
    ("start_engine", {}, None),
    ("check", {"check": "exhaust_stream"}, 6.0),
    ("set_speed", {"speed": "slow"}, 9.5),
    ("check", {"check": "listen_line"}, 12.0),
    ("stop_engine", {}, 60.0),
    ("check", {"check": "hose_route"}, None),
    ("ask_hint", {}, None),
    ("give_up", {}, None),
]


class Clicks:
    """A desk that says every act and every need in one order, and keeps all that the page gets."""

    def __init__(self, played: Played | Attempt) -> None:
        self.desk = Desk(ExercisePanel(played, debriefer=None)).listen()  # type: ignore[arg-type]

    def play(self) -> list[Any]:
        heard, panel = [self.desk.panel.page], self.desk.panel
        for number, (action, args, shown) in enumerate(ACTS):
            run = panel.page["run"]["id"]
            if shown is not None:
                for second in range(0, int(shown) + 1, 3):
                    heard += self.desk.tell({"kind": "need", "run": run, "from": 0.0, "shown": float(second)})
            act = {"kind": "act", "id": f"click {number}", "run": run, "shown": shown, "action": action}
            heard += self.desk.tell({**act, "args": args})
            if number % 4 == 0:
                heard += self.desk.tell({**act, "args": args})  # the same click again
        panel.units = "us"
        return json.loads(json.dumps([*heard, panel.page], default=lambda raw: raw.hex()))


@pytest.fixture
def same_chance(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simulator.sealed.played_calls.secrets.randbits", lambda bits: 77)


def test_the_same_acts_give_the_same_bytes(room: Room, same_chance: None, monkeypatch) -> None:
    monkeypatch.setattr(
        "simulator.panels.exercise.elsewhere.SEEN_EVERY", 0.0
    )  # else a look comes so much later
    sheet = hand_out(room)
    told = {"sheet": sheet.id, "number": 0, "units": "metric"}
    line = room.line()
    elsewhere = PlayedElsewhere(line, line.ask("POST", "calls", json.dumps(told)), "metric")
    there = Clicks(elsewhere).play()

    store = MemoryStore()
    sealed = type("Sealed", (), {"__getattr__": lambda self, name: getattr(store, name)})()
    sealed.create_attempt = lambda record, key=None: store.create_attempt({**record, "sealed": True}, key)
    attempt = Attempt(
        the_call(), sealed, learner="Ada Quill", mode="practice", seed=77, coach=PageCoach(),
        attempt_id=elsewhere.id,
    )  # fmt: skip
    here = Clicks(PlayedHere(attempt)).play()
    assert len(there) == len(here)
    for one, other in zip(there, here, strict=True):
        assert one == other
