"""Knowledge of skills: the figures of the model, fading, coming back after 1, 7 and 30 days, and the next case."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from simulator.marking.mastery import (
    KNOWN_FIRST,
    SKILLS,
    Shown,
    after_answer,
    faded,
    shown_by,
    shown_by_leaving,
    shown_in,
    trace,
    trace_all,
)
from simulator.records import Store
from simulator.rig.faults import FAMILIES

DAY = datetime(2026, 3, 2, 8, tzinfo=UTC)
SKILL = "air_gets_in"


def days(n: float) -> datetime:
    return DAY + timedelta(days=n)


def rights(*at: float) -> list[Shown]:
    return [Shown(SKILL, True, days(n), str(n)) for n in at]


def test_the_figures_of_the_model() -> None:
    # Corbett & Anderson (1995), equations 1 and 2, by hand: 0.36/0.48 = 0.75, 0.04/0.52 = 0.0769; then 15 % of the rest.
    assert after_answer(0.4, True) == pytest.approx(0.7875, abs=1e-12)
    assert after_answer(0.4, False) == pytest.approx(0.04 / 0.52 + 0.15 * 0.48 / 0.52, rel=1e-12)
    assert round(after_answer(0.4, False), 4) == 0.2154


def test_right_answers_raise_it_and_wrong_ones_lower_it_at_any_level() -> None:
    for percent in range(1, 100):
        known = percent / 100.0
        assert after_answer(known, True) > known
        assert after_answer(known, False) < after_answer(known, True)
    assert trace(SKILL, rights(0.0, 0.1, 0.2), days(0.3)).state == "known"
    assert trace(SKILL, rights(0.0), days(0.1)).state == "learning"


def test_it_fades_while_it_is_not_used_but_never_below_the_beginning() -> None:
    levels = [trace(SKILL, rights(0.0, 0.1), days(n)).known for n in (0.1, 1.0, 5.0, 60.0)]
    assert levels == sorted(levels, reverse=True)
    assert levels[-1] == pytest.approx(KNOWN_FIRST, abs=0.01)
    assert faded(0.2, 50.0, 1.0) == 0.2


def test_it_comes_back_after_1_7_and_30_days() -> None:
    for so_far, wait in (((0.0,), 1.0), ((0.0, 1.0), 7.0), ((0.0, 1.0, 8.0), 30.0)):
        last = so_far[-1]
        skill = trace(SKILL, rights(*so_far), days(last))
        assert skill.due == days(last + wait)
        assert trace(SKILL, rights(*so_far), days(last + 0.7 * wait)).state != "due"
        assert trace(SKILL, rights(*so_far), days(last + wait)).state == "due"


def test_doing_it_again_at_once_does_not_put_off_the_second_return() -> None:
    crammed = trace(SKILL, rights(0.0, 0.01, 0.02, 0.03), days(0.03))
    assert crammed.stage == 1


def test_a_wrong_answer_begins_anew() -> None:
    shown = [*rights(0.0), Shown(SKILL, False, days(1.0))]
    skill = trace(SKILL, shown, days(1.0))
    assert (skill.stage, skill.state) == (0, "weak")


@pytest.mark.parametrize("slip_at", [38.5, 45.0, 68.0, 200.0])
def test_one_slip_after_four_rights_is_due_and_a_second_is_weak(slip_at: float) -> None:
    shown = [*rights(0.0, 1.0, 8.0, 38.0), Shown(SKILL, False, days(slip_at), "slip")]
    skill = trace(SKILL, shown, days(slip_at))
    assert (skill.state, skill.due) == ("due", days(slip_at))
    assert skill.known > 0.9
    again = [*shown, Shown(SKILL, True, days(slip_at + 1.0), "after")]
    assert trace(SKILL, again, days(slip_at + 1.0)).state == "known"
    twice = [*shown, Shown(SKILL, False, days(slip_at + 1.0), "second slip")]
    assert trace(SKILL, twice, days(slip_at + 1.0)).state == "weak"


def test_the_same_case_again_shows_nothing_new() -> None:
    once = [Shown(SKILL, True, days(0.0), "a")]
    often = [
        *once,
        *(Shown(SKILL, right, days(n), "a") for n, right in ((0.1, True), (3.0, True), (4.0, False))),
    ]
    assert trace(SKILL, often, days(5.0)) == trace(SKILL, once, days(5.0))
    assert trace(SKILL, [*once, Shown(SKILL, True, days(0.1), "b")], days(1.0)).times == 2


def test_what_was_hinted_is_no_evidence_unless_it_went_wrong() -> None:
    for found, right in ((36.0, True), (5.0, False)):
        for hints in (0, 2):
            shown = {item.skill for item in shown_by({**sheet(found), "hints": hints}, ["belt_loose"], DAY)}
            assert ("air_not_drawn_out" in shown) == (not right or not hints)
            assert ("time" in shown) == (not hints)
            assert "safe_work" in shown


def test_the_future_counts_nothing_and_the_order_given_does_not_matter() -> None:
    shown = rights(0.0, 1.0)
    assert trace(SKILL, shown, days(0.5)) == trace(SKILL, shown[:1], days(0.5))
    assert trace(SKILL, shown[::-1], days(2.0)) == trace(SKILL, shown, days(2.0))
    assert trace(SKILL, [], DAY).state == "new"


def sheet(found: float, economy: float = 20.0, safety: float = 25.0) -> dict:
    parts = [("found", found, 40.0), ("economy", economy, 25.0), ("safety", safety, 25.0)]
    return {
        "parts": [{"id": name, "points": points, "out_of": most} for name, points, most in parts],
        "grave": False,
        "total": found + economy + safety,
    }


def test_a_sheet_shows_the_kind_of_trouble_the_time_and_the_safety() -> None:
    shown = {item.skill: item.right for item in shown_by(sheet(35.0, safety=22.0), ["belt_loose"], DAY)}
    assert shown == {"air_not_drawn_out": True, "time": True, "safe_work": False}
    shown = {item.skill: item.right for item in shown_by(sheet(10.0, 3.0), [], DAY)}
    assert shown == {"good_or_gauge": False, "time": False, "safe_work": True}
    assert {item.skill for item in shown_by({"parts": [{"label": "x", "good": True}]}, [], DAY)} == set()
    assert set(SKILLS) >= {family for family in FAMILIES if family not in ("none", "instrument")}


def test_the_records_tell_it_all_and_a_trainer_counts_first(tmp_path) -> None:
    clock = [DAY]
    with Store.open(tmp_path / "records.sqlite3", now=lambda: clock[0]) as store:
        for number, (fault, found) in enumerate(
            (("drain_open", 36.0), ("drain_open", 38.0), ("belt_loose", 5.0))
        ):
            clock[0] = days(number)
            record = {
                "learner": "Ash", "lesson": "09", "mode": "practice", "seed": number, "scenario_hash": str(number),
                "scenario": {"faults": [{"fault": fault}]},
            }  # fmt: skip
            attempt = store.create_attempt(record)
            store.save_marks(attempt, sheet(found))
        skills = trace_all(shown_in(store, "Ash"), days(2))
        assert skills["air_gets_in"].stage == 2
        assert skills["air_not_drawn_out"].state == "weak"
        clock[0] = days(3)
        store.save_marks(attempt, sheet(39.0), source="trainer", marked_by="Rowan")
        assert trace_all(shown_in(store, "Ash"), days(3))["air_not_drawn_out"].state != "weak"
        assert shown_in(store, "Rowan") == ()


def test_a_call_begun_and_left_was_not_found_and_one_that_was_only_read_counts_nothing(tmp_path) -> None:
    with Store.open(tmp_path / "records.sqlite3", now=lambda: DAY) as store:
        for number, events in enumerate((0, 1, 5)):
            attempt = store.create_attempt(
                {
                    "learner": "Ash", "lesson": "practice-yard", "mode": "practice", "seed": 1,
                    "scenario_hash": str(number), "scenario": {"faults": [{"fault": "belt_loose"}]},
                }
            )  # fmt: skip
            for seq in range(events):
                store.append_event(attempt, seq, {"act": "wait"})
            store.end_attempt(attempt, "left")
        assert shown_in(store, "Ash") == tuple(shown_by_leaving(["belt_loose"], DAY, "2"))


def test_giving_up_the_bad_ones_gains_nothing() -> None:
    played = [Shown(SKILL, right, days(n), str(n)) for n, right in enumerate((True, False, True, False))]
    left = [
        item if item.right else shown_by_leaving(["drain_open"], item.at, item.case)[0] for item in played
    ]
    assert trace(SKILL, left, days(5.0)) == trace(SKILL, played, days(5.0))
