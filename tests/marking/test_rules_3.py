"""Rules 3 of the marks: safety is a gate, hints count and are told beforehand, old sheets stay readable."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.hint_costs import COSTS, LEAST, kept_share, next_cost
from simulator.attempt.hints import hint_steps
from simulator.marking.again import why_other, why_since
from simulator.marking.certificate_page import _part
from simulator.marking.mastery import SAFE_WORK, shown_by
from simulator.marking.safety_gate import CHARGES
from simulator.marking.service import debrief_and_keep, marked_attempt
from simulator.marking.sheet import MARKING_VERSION, PASS
from simulator.panels.exercise.page_model import build_page
from simulator.panels.exercise.panel import ExercisePanel
from simulator.records.kinds import CallSheet
from simulator.records.observed import ObservedJob, check
from simulator.studies.habits import play_habit
from simulator.texts import text
from tests.marking.conftest import call_out

DAY = datetime(2026, 3, 2, 8, tzinfo=UTC)
OLD = {
    "parts": [
        {
            "id": "found",
            "points": 38.0,
            "out_of": 40.0,
            "evidence": [{"points": 15.0, "key": "marking.found.proven", "fields": [["seconds", 41]]}],
        },
        {"id": "economy", "points": 21.0, "out_of": 25.0, "evidence": []},
        {
            "id": "safety",
            "points": 22.0,
            "out_of": 25.0,
            "evidence": [
                {"points": 25.0, "key": "marking.safety.start", "fields": []},
                {"points": -3.0, "key": "marking.safety.minor", "fields": [["what", "Walk round"]]},
            ],
        },
        {"id": "understanding", "points": 10.0, "out_of": 10.0, "evidence": []},
    ],
    "model": "0123456789abcdef",
    "grave": False,
    "total": 91.0,
    "out_of": 100.0,
    "passed": True,
}


def fresh(fault: str = "drain_open", size: float = 1.0) -> Attempt:
    return Attempt(call_out(fault, size), MemoryStore(), mode="practice", seed=3)


def test_lesser_lapses_cost_what_is_said_and_are_named() -> None:
    assert CHARGES["minor"] == 5.0
    assert CHARGES["serious"] == 15.0
    careful, careless = play_habit("expert", fresh()), play_habit("careless", fresh())
    safety = next(part for part in careless.parts if part.id == "safety")
    assert careful.points("safety") == 0.0
    assert safety.points == sum(item.points for item in safety.evidence) < 0.0
    assert all(item.points in (-5.0, -15.0) for item in safety.evidence)
    for item in safety.evidence:
        assert f"{-item.points:g} points off" in item.sentence
    others = sum(part.points for part in careless.parts if part.id != "safety")
    assert careless.total == pytest.approx(max(others + safety.points, 0.0), abs=0.05)


def test_a_grave_breach_never_passes_whatever_else_was_done() -> None:
    attempt = fresh("belt_loose", 0.7)
    sheet = play_habit("reckless", attempt)
    assert sheet.grave
    assert not sheet.passed
    best = play_habit("expert", fresh())
    assert best.passed
    assert not replace(best, grave=True).passed, "the gate holds by itself, not by the sum of marks"
    page = debrief_and_keep(attempt)
    assert page["gate"] == text("marking.gate.grave")
    safety = next(part for part in page["parts"] if part["id"] == "safety")
    assert any(line.startswith("Failed by this alone") for line in safety["evidence"])


def test_safe_work_is_no_gift_of_marks() -> None:
    idle = fresh()
    idle.act("give_up")
    sheet = marked_attempt(idle)[2].sheet
    assert sheet.total == 0.0
    assert sheet.points("safety") is None, "nothing was at stake"


def test_hints_scale_finding_and_time_and_stand_on_the_sheet() -> None:
    assert kept_share([]) == 1.0
    assert kept_share([1]) == pytest.approx(1.0 - COSTS[0], abs=1e-12)
    assert kept_share([1, 2, 3] * 20) == LEAST
    attempt = fresh()
    sheet = play_habit("asker", attempt)
    steps = hint_steps(attempt.log)
    assert sheet.hints == len(steps) > 2
    for name in ("found", "economy"):
        part = next(part for part in sheet.parts if part.id == name)
        (taken,) = [item for item in part.evidence if item.key == f"marking.{name}.hints"]
        before = sum(item.points for item in part.evidence if item is not taken)
        assert taken.points == pytest.approx(-(1.0 - kept_share(steps)) * before, abs=0.06)
        assert str(len(steps)) in taken.sentence
        assert part.points == pytest.approx(before * kept_share(steps), abs=0.11)
    assert sheet.total < PASS
    shown = shown_by(sheet.as_dict(), ["drain_open"], DAY)
    assert [each for each in shown if each.right and each.skill != SAFE_WORK] == [], "nothing counts as known"


def test_the_cost_of_a_hint_is_said_before_it_is_asked_for() -> None:
    attempt, told = fresh(), []
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    for _ in range(5):
        told.append(build_page(attempt)["coach"]["cost"])
        attempt.act("ask_hint")
    assert told == [5, 5, 10, 0, 0], "the same words again are free"
    assert hint_steps(attempt.log) == (1, 2, 3)
    taken: list[int] = []
    for _ in range(30):
        taken += [1, 2, 3]
    assert next_cost(taken, 1) == 0.0
    assert ExercisePanel(fresh(), debriefer=None).page["coach"]["cost"] is None, "no marks, no cost"


@pytest.mark.parametrize("version", [1, 2])
def test_old_sheets_stay_readable_and_say_why_marks_differ(version: int) -> None:
    stored = {**OLD, "version": version}
    CallSheet.model_validate(stored)
    shown = {each.skill: each.right for each in shown_by(stored, ["belt_loose"], DAY)}
    assert shown == {"air_not_drawn_out": True, "time": True, SAFE_WORK: False}
    drawn = [_part({**part, "label": part["id"], "evidence": []}) for part in stored["parts"]]
    assert [part["points"] for part in drawn] == ["38.0 of 40", "21.0 of 25", "22.0 of 25", "10.0 of 10"]
    for part in stored["parts"]:
        for item in part["evidence"]:
            assert text(item["key"], **dict(item["fields"]))
    now = marked_attempt(_given_up())[2].sheet.as_dict()
    assert why_other(stored, now) == "marking"
    assert "safe work earns no points" in why_since(version)
    assert ("start from dry" in why_since(version)) == (version < 2)


def _given_up() -> Attempt:
    attempt = fresh()
    attempt.act("give_up")
    return attempt


def test_a_sheet_of_today_is_taken_by_a_work_file_and_drawn() -> None:
    sheet = play_habit("careless", fresh()).as_dict()
    assert sheet["version"] == MARKING_VERSION
    CallSheet.model_validate({**sheet, "parts": [_as_kept(part) for part in sheet["parts"]]})
    off = next(part for part in sheet["parts"] if part["id"] == "safety")
    assert "points off" in _part({**off, "label": "Safety"})["points"]
    assert _part({**off, "points": 0.0, "label": "Safety"})["points"] == "nothing taken off"


def _as_kept(part: dict) -> dict:
    evidence = [{**item, "fields": [list(pair) for pair in item["fields"]]} for item in part["evidence"]]
    return {**part, "evidence": evidence}


def test_jobs_watched_under_older_marks_are_still_taken() -> None:
    old = ObservedJob("Ash", "Wren", "2026-03-02", points={"found": 38.0, "safety": 25.0})
    check(old, before=True)
    with pytest.raises(Exception, match="safety"):
        check(old)
