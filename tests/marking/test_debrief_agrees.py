"""What the debrief tells in words and what it shows in figures say the same: chances, minutes, points, times, answers."""

from __future__ import annotations

import re

import pytest

from simulator.attempt.calls import BLANK_QUESTION
from simulator.diagnosis.option import Option
from simulator.diagnosis.words import chance_words, minutes_words
from simulator.instruments.checks import CHECKS
from simulator.marking.debrief import in_tenths, less_when_open
from simulator.marking.service import debrief_and_keep
from simulator.rig.remedies import REMEDIES
from simulator.texts import entry, text


def shown_share(share: float) -> str:
    """A share as the debrief's table shows it: rounded half up, from four decimals."""
    return f"{int(100.0 * round(share, 4) + 0.5)} %"


def test_a_chance_is_told_as_the_table_shows_it() -> None:
    for thousandth in range(1001):
        share = thousandth / 1000.0
        assert chance_words(share).endswith(f" {shown_share(share)}")


def test_before_and_now_are_the_figures_of_the_table(played) -> None:
    told = 0
    for case in (("honest", "belt_loose", 0.7, ""), ("honest", "strainer_plugged", 0.99, "")):
        for step in debrief_and_keep(played(*case))["steps"]:
            names = re.match(r"(?:More|Less) likely now: (.*?)\. Before: \D*(\d+ %)\. Now: \D*(\d+ %)\.", step["changed"])
            if names is None:
                continue
            name, before, after = names.groups()
            assert shown_share(dict(map(tuple, step["before"]))[name]) == before
            assert shown_share(dict(map(tuple, step["after"]))[name]) == after
            told += 1
    assert told > 0


def test_minutes_are_told_as_the_lists_show_them() -> None:
    for each in (*CHECKS.values(), *(item.item() if callable(getattr(item, "item", None)) else item for item in REMEDIES.values())):
        if each.minutes >= 1.0 and each.minutes != 1.0:
            assert minutes_words(each.minutes) == f"{each.minutes:g} minutes"


@pytest.mark.parametrize(
    ("points", "total"),
    [([40.0, -6.34, -2.54, -0.84], 30.3), ([40.0, -6.25, -2.45, -0.95], 30.4), ([7.5, 0.1], 7.6), ([0.0], 0.0), ([], 0.0)],
)
def test_points_shown_add_up(points: list[float], total: float) -> None:
    shown = in_tenths(points, total)
    assert round(sum(shown), 6) == total
    assert all(abs(one - other) < 0.1 + 1e-9 for one, other in zip(shown, points, strict=True))


def test_points_of_a_debrief_add_up(played) -> None:
    for case in (("honest", "belt_loose", 0.7, ""), ("honest", "strainer_plugged", 0.99, "")):
        for part in debrief_and_keep(played(*case))["parts"]:
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


def test_an_answer_on_the_blank_off_test_is_told_back(played) -> None:
    page = debrief_and_keep(played("honest", "belt_loose", 0.7, ""))
    part = next(part for part in page["parts"] if part["id"] == "understanding")
    said = [line for line in part["evidence"] if "blank-off" in line]
    attempt = played("honest", "belt_loose", 0.7, "")
    answers = [e["result"] for e in attempt.log if e["act"] == "predict" and e["result"].get("question") == BLANK_QUESTION]
    for answer in answers:
        given = text(f"attempt.questions.blank_off_options.{answer['answer']}")
        assert any(f"You said: {given}. Right." in line for line in said)
    assert answers
    assert "Wrong" in entry("marking.understanding.blank_off_if_right.said_wrong")


def test_no_riddle_about_rules(played) -> None:
    assert "rules" not in debrief_and_keep(played("honest", "belt_loose", 0.7, ""))


def test_work_on_a_part_that_is_out_already_takes_less(played) -> None:
    class Judged:
        class step:  # noqa: N801
            seq = 1

        class expert:  # noqa: N801
            option = Option("remedy", "clean_strainer", "", 8.0)

    class Story:
        log = ({"act": "check", "accepted": True, "result": {"check": "strainer_out", "place": ""}},)

    assert "3.5 minutes" in less_when_open(Story, Judged)  # type: ignore[arg-type]
    Story.log = ({"act": "check", "accepted": True, "result": {"check": "walk_round", "place": ""}},)
    assert less_when_open(Story, Judged) == ""  # type: ignore[arg-type]
