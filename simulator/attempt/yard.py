"""The state of the yard during an attempt: what is worn, tagged, bled, open; what was done; the clock."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from simulator.rig.safe_work import RULES

PRECAUTIONS = (
    "put_on_ppe",
    "secure_discharge",
    "isolate_and_tag",
    "bleed_air",
    "relieve_line",
    "vent_hose",
    "take_rated_plate",
    "call_second_person",
    "guard_edge",
    "tie_down_air_line",
    "untag_and_close_up",
)
#: Minutes of a precaution; the marking charges none of them.
PRECAUTION_MINUTES = {
    "put_on_ppe": 1.0,
    "secure_discharge": 1.0,
    "isolate_and_tag": 1.0,
    "bleed_air": 0.5,
    "relieve_line": 1.0,
    "vent_hose": 0.5,
    "take_rated_plate": 0.5,
    "call_second_person": 1.0,
    "guard_edge": 1.0,
    "tie_down_air_line": 0.5,
    "untag_and_close_up": 1.0,
}
SPEEDS = {"slow": 0.5, "rated": 1.0}


@dataclass
class Yard:
    """Everything that acts change, apart from the run."""

    rules: int = RULES  # version of the safety rules it keeps to
    ticks: int = 0  # yard clock [0.1 s]
    shown: int = 0  # run clock as the learner saw it [0.1 s]
    rested: int = 0  # yard time since the engine was stopped [0.1 s]
    engine_on: bool = False
    speed: str = "rated"
    ppe: bool = False
    tagged: bool = False
    air_bled: bool = False
    line_relieved: bool = False
    hose_vented: bool = False
    discharge_secured: bool = False
    plate_rated: bool = False
    edge_safe: bool = False
    second_person: bool = False
    line_held: bool = False
    cock_open: bool = True
    opened: list[str] = field(default_factory=list)  # places whose parts are off
    emptied: bool = False  # casing let empty since the last run
    ended: str = ""  # finished | said_done | given_up | stopped_for_safety
    proven: bool = False
    hints: int = 0
    dry_warned: int = 0  # number of the run whose long dry running was noted
    checks: dict[str, int] = field(default_factory=dict)  # "check@place" -> times made
    outcomes: dict[str, str] = field(default_factory=dict)  # "check@place" -> last outcome
    remedies: list[str] = field(default_factory=list)  # "remedy@place"
    calls: list[dict[str, Any]] = field(default_factory=list)
    checks_since_call: int = 0
    answers: dict[str, Any] = field(default_factory=dict)
    question: str = ""  # id of the question that waits for an answer
    drain_seen: float | None = None
    stood_by: dict[str, tuple[int, int, int, str]] = field(
        default_factory=dict
    )  # look -> run, from tick, to tick, outcome
    blank_curves: list[list[list[float]]] = field(default_factory=list)
    earlier: list[dict[str, Any]] = field(default_factory=list)

    def has(self, need: str) -> bool:
        """Whether a need is met now."""
        return {
            "ppe": self.ppe,
            "running": self.engine_on,
            "stopped": not self.engine_on,
            "isolated": not self.engine_on and self.tagged,
            "air_bled": self.air_bled,
            "line_relieved": self.line_relieved,
            "hose_vented": self.hose_vented,
            "discharge_secured": self.discharge_secured,
            "plate_rated": self.plate_rated,
            "edge_safe": self.edge_safe,
            "second_person": self.second_person,
            "line_held": self.line_held,
            "closed_up": not self.opened,
            "free_to_start": not self.tagged and not self.opened,
            "first_call": len(self.calls) >= 1,
            "second_call": len(self.calls) >= 2 or (len(self.calls) == 1 and self.checks_since_call == 0),
            "question": self.question != "sound_prime_time",
        }[need]

    def minutes(self) -> float:
        """Yard clock [min]."""
        return round(self.ticks / 600.0, 3)
