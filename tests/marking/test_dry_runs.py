"""A pump left to run dry is told in the debrief, and costs points before the tenth minute where nothing was done."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.debrief import debrief_of
from simulator.marking.mark import Marked
from simulator.marking.safety_gate import CHARGES
from simulator.marking.service import marked_attempt
from simulator.texts import text
from tests.attempt.conftest import look_round, make_ready_to_start
from tests.marking.conftest import call_out


def played(minutes: float, looks: int) -> tuple[Marked, dict]:
    """A start on a rig whose drain lets air in, watched with looks in between, then stopped; -1: one at the end."""
    attempt = Attempt(call_out("drain_open", 1.0), MemoryStore(), mode="practice", seed=3)
    make_ready_to_start(attempt)
    look_round(attempt)
    attempt.act("start_engine")
    attempt.see(90.0)
    for check in ("listen_line", "exhaust_stream", "foam_pump")[: max(looks, 0)]:
        attempt.act("check", {"check": check})
    while attempt.shown < 60.0 * minutes - 0.05:
        attempt.see(min(attempt.shown + 9.0, 60.0 * minutes))
    if looks < 0:
        attempt.act("check", {"check": "gauges"})
    attempt.act("stop_engine")
    attempt.act("give_up")
    story, cases, marked = marked_attempt(attempt)
    return marked, debrief_of(story, cases, marked)


def safety(marked: Marked) -> list[str]:
    return [
        item.key.rpartition(".")[2]
        for part in marked.sheet.parts
        if part.id == "safety"
        for item in part.evidence
    ]


@pytest.mark.parametrize(
    ("minutes", "looks", "keys", "points"),
    [
        (2.0, 0, ["kept"], 0.0),
        (4.0, 0, ["kept"], 0.0),
        (9.0, 0, ["kept_but_dry", "dry_off"], -CHARGES["minor"]),
        (9.0, 3, ["kept_but_dry", "dry_told"], 0.0),
        (10.5, 0, ["kept_but_dry", "dry_off"], -CHARGES["minor"]),
        (10.5, -1, ["minor_off"], -CHARGES["minor"]),  # the call-out has marked it by itself
    ],
)
def test_minutes_without_water_are_told_and_priced(
    minutes: float, looks: int, keys: list[str], points: float
) -> None:
    marked, debrief = played(minutes, looks)
    assert safety(marked) == keys
    assert marked.sheet.points("safety") == points
    told = [step["did"] for step in debrief["steps"] if step["act"].startswith("Started it")]
    assert ("without water" in told[0]) == (minutes > 5.0)
    if points:
        assert debrief["practise"] == text("marking.practise.dry")
