"""The mark sheet over whole attempts: honest work pays, tricks do not, and the same log gives the same marks."""

from __future__ import annotations

import json

import pytest

from simulator.attempt import Attempt
from simulator.diagnosis.evidence import story_of
from simulator.errors import RefusedAct
from simulator.marking import MARKING_VERSION, mark
from simulator.marking.economy import economy_points
from simulator.marking.service import cases_for, debrief_and_keep, marked_attempt
from tests.conftest import thin

CASES = [("drain_open", 1.0, ""), ("belt_loose", 0.7, ""), ("strainer_plugged", 0.99, "")]
EACH = [
    pytest.param(case, id=case[0], marks=[pytest.mark.full] if n > 1 else []) for n, case in enumerate(CASES)
]
PARTS = {"found": 45.0, "economy": 40.0, "understanding": 15.0, "safety": 0.0}


def sheet_of(attempt: Attempt):
    return marked_attempt(attempt)[2].sheet


@pytest.mark.parametrize("case", EACH)
def test_honest_work_is_found_fixed_and_well_paid(played, case) -> None:
    attempt = played("honest", *case)
    assert attempt.yard.ended == "finished"
    sheet = sheet_of(attempt)
    assert sheet.points("found") > 33.0
    told = [item.sentence for part in sheet.parts for item in part.evidence]
    assert any("first call counts as the second" in sentence for sentence in told), told
    assert sheet.points("economy") >= 32.0
    assert sheet.points("safety") == 0.0
    assert sheet.passed


@pytest.mark.full
@pytest.mark.parametrize("trick", ["quitter", "spammer", "swapper"])
@pytest.mark.parametrize("case", thin(CASES[0], *([case] for case in CASES[1:])))
def test_tricks_earn_less_than_honest_work(played, case, trick: str) -> None:
    honest, other = sheet_of(played("honest", *case)), sheet_of(played(trick, *case))
    assert other.total < honest.total - 1.0
    assert other.points("economy") < honest.points("economy")


def test_claiming_certainty_after_the_fact_is_not_possible(played) -> None:
    attempt = played("honest", *CASES[0])
    log = [event["act"] for event in attempt.log if event["accepted"]]
    assert log.index("call") < log.index("remedy")
    late = Attempt(attempt.scenario, attempt.store, seed=5)
    late.act("put_on_ppe")
    late.act("call", {"markers": {"something_else": 10}})
    late.act("remedy", {"remedy": "close_drain"})
    with_call = late.act("call", {"markers": {"drain_open": 10}})
    assert not with_call.accepted
    late.act("give_up")
    found = next(part for part in sheet_of(late).parts if part.id == "found")
    certain = [item.points for item in found.evidence if ".call_" in item.key]
    assert certain == [0.0, 0.0], "no idea before the work counts as no idea"


@pytest.mark.parametrize("player", thin("honest", "quitter", "spammer", "swapper"))
@pytest.mark.parametrize("case", thin(*CASES[:2]), ids=str)
def test_parts_and_their_evidence_add_up(played, case, player: str) -> None:
    sheet = sheet_of(played(player, *case))
    assert {part.id: part.out_of for part in sheet.parts} == PARTS
    for part in sheet.parts:
        assert part.points == pytest.approx(sum(item.points for item in part.evidence), abs=0.06)
        assert part.points <= part.out_of + 1e-9
        assert part.evidence
        assert all(item.sentence for item in part.evidence)
    assert sheet.version == MARKING_VERSION


@pytest.mark.parametrize("case", thin(*CASES[:2]), ids=str)
def test_a_stored_log_gives_the_same_marks_again(played, case) -> None:
    attempt = played("spammer", *case)
    again = Attempt.resume(attempt.store, attempt.id)
    first, second = debrief_and_keep(attempt), debrief_and_keep(again)
    assert json.dumps(first, sort_keys=True) == json.dumps(second, sort_keys=True)


def test_a_sound_rig_left_alone_is_right(played) -> None:
    sheet = sheet_of(played("honest", "sound"))
    assert sheet.points("found") > 33.0
    swapped = sheet_of(played("swapper", "sound"))
    assert swapped.points("found") < sheet.points("found") - 10.0


def test_nothing_is_told_before_the_end(played) -> None:
    attempt = Attempt(played("honest", *CASES[0]).scenario, played("honest", *CASES[0]).store, seed=9)
    with pytest.raises(RefusedAct):
        debrief_and_keep(attempt)


def test_breaches_are_charged_by_how_grave_they_are(played) -> None:
    scenario, store = played("honest", *CASES[0]).scenario, played("honest", *CASES[0]).store
    minor = Attempt(scenario, store, seed=3)
    minor.act("check", {"check": "walk_round"})  # no protective gear
    minor.act("give_up")
    assert sheet_of(minor).points("safety") == -5.0
    serious = Attempt(scenario, store, seed=3)
    serious.act("put_on_ppe")
    serious.act("call", {"markers": {"something_else": 10}})
    serious.act("check", {"check": "joint_apart", "place": "joint:0"})  # vacuum not let out
    serious.act("give_up")
    assert sheet_of(serious).points("safety") == -15.0


def test_a_grave_breach_ends_it_and_what_was_not_reached_is_not_marked(played) -> None:
    attempt = Attempt(played("honest", *CASES[0]).scenario, played("honest", *CASES[0]).store, seed=3)
    for act in ("put_on_ppe", "secure_discharge"):
        attempt.act(act)
    attempt.act("check", {"check": "walk_round"})
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    attempt.act("call", {"markers": {"belt_loose": 8, "something_else": 2}})
    attempt.act("start_engine", {"speed": "rated"})
    attempt.act("wait", {"seconds": 20.0})
    attempt.act("check", {"check": "belt"})  # guard off while it runs
    assert attempt.yard.ended == "stopped_for_safety"
    sheet = sheet_of(attempt)
    assert sheet.grave
    assert not sheet.passed
    assert sheet.points("found") is None
    assert sheet.points("economy") is None
    assert sheet.points("safety") == 0.0
    assert sheet.points("understanding") > 0.0
    assert sheet.out_of == 100.0  # what was not reached counts nothing, as with a job handed over
    page = debrief_and_keep(attempt)
    assert [part["points"] for part in page["parts"]][:2] == [None, None]


def test_economy_points_fall_with_every_minute_and_quitting_never_pays() -> None:
    lost = [economy_points(minutes, 0.0, 10.0) for minutes in (0.0, 1.0, 5.0, 20.0, 100.0)]
    assert lost == sorted(lost, reverse=True)
    assert lost[0] == 40.0
    assert lost[-1] > 0.0
    assert economy_points(2.0, 1e-6, 10.0) < 0.51 * economy_points(2.0, 0.0, 10.0)


@pytest.mark.full
def test_other_noise_on_the_needles_hardly_moves_the_economy_mark(played) -> None:
    marks = [sheet_of(played("honest", "belt_loose", 0.7, "", seed)).points("economy") for seed in (1, 2, 3)]
    assert max(marks) - min(marks) < 5.0


def test_marks_come_from_story_and_hypotheses_alone(played) -> None:
    attempt = played("quitter", *CASES[2])
    story = story_of(attempt.state)
    cases = cases_for(story)
    assert mark(story, cases).as_dict() == mark(story, cases).as_dict()
