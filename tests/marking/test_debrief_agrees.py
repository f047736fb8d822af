"""What the debrief tells in words and what it shows in figures say the same: chances, minutes, points, times, answers."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from simulator.attempt.calls import BLANK_QUESTION
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import story_of
from simulator.diagnosis.option import Option
from simulator.diagnosis.words import chance_words, minutes_words
from simulator.instruments.checks import CHECKS
from simulator.marking.debrief import USUAL_MOTIVE, in_tenths, less_when_open
from simulator.marking.rig_state import run_of
from simulator.marking.service import cases_for, debrief_and_keep
from simulator.marking.understanding import _blank, _prime
from simulator.panels.lessons.air_is_not_drawn_out.motive_side import HIGH, LOW
from simulator.rig.remedies import REMEDIES
from simulator.texts import entry, text


@pytest.fixture(scope="module")
def page(played):
    return debrief_and_keep(played("honest", "belt_loose", 0.7, ""))


def shown_share(share: float) -> str:
    """A share as the debrief's table shows it: rounded half up, from four decimals."""
    return f"{int(100.0 * round(share, 4) + 0.5)} %"


def test_a_chance_is_told_as_the_table_shows_it() -> None:
    for thousandth in range(1001):
        share = thousandth / 1000.0
        assert chance_words(share).endswith(f" {shown_share(share)}")


def test_before_and_now_are_the_figures_of_the_table(page) -> None:
    told = 0
    pattern = re.compile(r"(?:More|Less) likely now: (.*?)\. Before: \D*(\d+ %)\. Now: \D*(\d+ %)\.")
    for step in page["steps"]:
        names = pattern.match(step["changed"])
        if names is None:
            continue
        name, before, after = names.groups()
        assert shown_share(dict(map(tuple, step["before"]))[name]) == before
        assert shown_share(dict(map(tuple, step["after"]))[name]) == after
        told += 1
    assert told > 0


def test_minutes_are_told_as_the_lists_show_them() -> None:
    for minutes in (item.minutes for item in (*CHECKS.values(), *REMEDIES.values())):
        if minutes > 1.0:
            assert minutes_words(minutes) == f"{minutes:g} minutes"


@pytest.mark.parametrize(
    ("points", "total"),
    [
        ([40.0, -6.34, -2.54, -0.84], 30.3),
        ([40.0, -6.25, -2.45, -0.95], 30.4),
        ([7.5, 0.1], 7.6),
        ([0.0], 0.0),
        ([], 0.0),
    ],
)
def test_points_shown_add_up(points: list[float], total: float) -> None:
    shown = in_tenths(points, total)
    assert round(sum(shown), 6) == total
    assert all(abs(one - other) < 0.1 + 1e-9 for one, other in zip(shown, points, strict=True))


def test_points_of_a_debrief_add_up(page) -> None:
    for part in page["parts"]:
        assert round(sum(part["evidence_points"]), 6) == part["points"]


def test_the_yardstick_is_said_to_be_a_mean_over_all_it_could_be() -> None:
    said = text("marking.economy.start", minutes="19 minutes")
    assert "Before anything was seen" in said
    assert "on average" in said
    assert "here" not in said


def test_the_walk_round_takes_time_but_no_marks() -> None:
    said = text("diagnosis.reason.walk_first")
    assert "nothing" not in said
    assert "no marks" in said


def test_an_answer_on_the_blank_off_test_is_told_back(played, page) -> None:
    part = next(part for part in page["parts"] if part["id"] == "understanding")
    said = [line for line in part["evidence"] if "blank-off" in line]
    attempt = played("honest", "belt_loose", 0.7, "")
    answers = [
        e["result"]
        for e in attempt.log
        if e["act"] == "predict" and e["result"].get("question") == BLANK_QUESTION
    ]
    for answer in answers:
        given = text(f"attempt.questions.blank_off_options.{answer['answer']}")
        assert any(f"You said: {given}. Right." in line for line in said)
    assert answers
    assert "Wrong" in entry("marking.understanding.blank_off_if_right.said_wrong")


def test_no_riddle_about_rules(page) -> None:
    assert "rules" not in page


def test_work_on_a_part_that_is_out_already_takes_less() -> None:
    best = SimpleNamespace(option=Option("remedy", "clean_strainer", "", REMEDIES["clean_strainer"].minutes))
    judged = SimpleNamespace(better=best.option, step=SimpleNamespace(seq=1))

    def after(check: str) -> str:
        look = {"act": "check", "accepted": True, "result": {"check": check, "place": ""}}
        return less_when_open(SimpleNamespace(log=(look,)), judged)  # type: ignore[arg-type]

    # pulling the strainer takes 6 minutes, cleaning it 8 from the start: 3.5 once it is out
    assert "3.5 minutes" in after("strainer_out")
    assert after("walk_round") == ""


def test_a_proof_that_took_another_time_than_the_card_is_explained(played) -> None:
    story = story_of(played("honest", "belt_loose", 0.7, "").state)
    true = float(run_of(*story.sound).prime_time)

    def said(proof: float) -> list[str]:
        log = [
            event | {"result": event["result"] | {"prime_time_s": proof}}
            if event["act"] == "finish"
            else event
            for event in story.log
        ]
        return [each.sentence for each in _prime(replace(story, log=tuple(log)), 20.0, 15.0)]

    same, other = said(true), said(true - 6.0)
    assert len(same) == 1
    assert "set up as in this call" in same[0]
    assert f"Your proof took {true - 6.0:.0f} s" in other[1]
    assert "saves a few seconds" in other[1]
    slower = said(true + 6.0)[1]
    assert "Some small thing still costs time" in slower
    assert f"counts up to {story.runs[max(story.runs)].proof_time:.0f} s" in slower


def test_a_proof_over_another_lift_than_that_of_the_card_is_told_by_its_lift(played) -> None:
    story = story_of(played("honest", "belt_loose", 0.7, "").state)
    rig, site = story.true
    true = float(run_of(*story.sound).prime_time)

    def said(lift: float, proof: float) -> str:
        log = tuple(
            event | {"result": event["result"] | {"prime_time_s": proof}}
            if event["act"] == "finish"
            else event
            for event in story.log
        )
        other = replace(story, log=log, true=(rig, replace(site, lift=lift)))
        return _prime(other, 20.0, 15.0)[1].sentence

    assert "stood 2.4 m (8 ft) above the water, on the card it is 3.0 m (10 ft)" in said(2.4, true - 6.0)
    assert "More to climb takes more time" in said(3.6, true + 6.0)
    assert "Some small thing" in said(2.4, true + 6.0), "less lift makes no start slower"


def test_a_wrong_answer_on_the_blank_off_test_is_told_back_as_wrong(played) -> None:
    belief = Belief(cases_for(story_of(played("honest", "belt_loose", 0.7, "").state)))
    told = _blank({"answer": "deep_quick", "suspect": "belt_loose"}, belief, 7.5)
    assert "You said: deep vacuum, as quickly as a good rig. Wrong" in told.sentence
    assert told.points < 1.5


def test_motive_air_is_held_against_one_figure_and_one_tolerance() -> None:
    for word in ("same", "bit_more", "bit_less", "more", "less"):
        said = text(f"marking.steps.motive_{word}", shown="4.9 bar", good="5.1 bar")
        assert "A good rig shows 5.1 bar then" in said
        assert ("15 %" in said) == word.startswith("bit")
    assert pytest.approx((1.0 - USUAL_MOTIVE, 1.0 + USUAL_MOTIVE)) == (LOW, HIGH)
    assert "15 %" in " ".join(entry("lesson_05.table.intro"))
