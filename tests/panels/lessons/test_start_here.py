"""Lesson 00: home shows what is true, the gauge says what hydrostatics says, and the page can be done to its end."""

from __future__ import annotations

import math
import re

import pytest

from simulator.panels.learner.next_call import practice_level
from simulator.panels.learner.progress import lesson_state
from simulator.panels.learner.session import Work
from simulator.panels.lessons.registry import LESSONS
from simulator.panels.lessons.start_here.gauge_reading import height_held
from simulator.panels.lessons.start_here.page import PLATE_VACUUM, StartHere
from simulator.panels.page.dial import dial
from simulator.panels.papers.card import _cautions
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.run import Setup, simulate


def open_home(session) -> StartHere:
    page = StartHere(session)
    for name in ("welcome", "yard", "safety", "gauges", "what_next"):
        getattr(page, name)()
    page.screen()
    return page


def do_all(page: StartHere, click) -> None:
    click(page, "name", name="Ash")
    click(page, "safety")
    click(page, "answer", question="guess", answer="right")
    for gauge in ("suction", "motive"):
        face = dial(gauge)["units"][page.units]
        click(page, "answer", question=f"read:{gauge}:0", answer=page._needle(gauge, 0) / face["size_pa"])


def test_height_held_by_a_vacuum() -> None:
    # 1 inHg = 1.134 ft of water: US fire-agency water handling guides, common practice
    assert height_held(3386.389) / 0.3048 == pytest.approx(1.134, rel=0.003)
    # greatest lift at sea level: 10.33 m less the vapour, from the standard atmosphere over rho g of cool water
    assert height_held(101_325.0) == pytest.approx(10.34, abs=0.05)


def test_a_new_hire_sees_what_to_do_first(new_session) -> None:
    page = open_home(new_session())
    kinds = [block["kind"] for block in page.welcome().content["blocks"]]
    assert kinds[0] == "title"
    assert "name" in kinds
    left = page.what_next().block("next")["paragraphs"][0]
    assert all(part in left for part in ("name", "cautions", "guess", "gauges"))
    assert [item["file"] for item in page.welcome().block("lessons")["items"]] == [
        entry.notebook for entry in LESSONS.values()
    ]
    # the answer to the guess is not on the page before it is made
    assert [block["id"] for block in page.gauges().content["blocks"]] == ["gauges", "guess"]


def test_the_page_can_be_done_to_its_end(new_session, click) -> None:
    page = open_home(new_session())
    do_all(page, click)
    assert page.session.name == "Ash"
    assert lesson_state(page.session, "00") == ("done", "done: 100 of 100")
    again = open_home(new_session())
    assert again.welcome().block("title")["lead"].startswith("Good to see you, Ash")
    assert again.welcome().block("go")["links"][0]["file"] == LESSONS["01"].notebook
    assert again.safety().block("safety")["done"]


def test_a_reading_is_right_within_half_a_mark(new_session, click) -> None:
    for off, good in ((0.9, True), (1.1, True), (3.0, False)):
        session = new_session()
        session.set_name(f"reader {off}")
        page = open_home(session)
        click(page, "answer", question="guess", answer="by_hose")
        stands = page._needle("suction", 0) / 1e3
        assert stands == round(stands)  # half a mark of the metric dial is 1 kPa
        assert page.gauges().block("read:suction:0")["dial"]["hide"]
        click(page, "answer", question="read:suction:0", answer=stands + (off if off > 2 else off - 1.0))
        block = page.gauges().block("read:suction:0")
        assert (block["revealed"], block["good"]) == (True, good)


def test_wrong_guesses_are_answered_by_name(new_session, click) -> None:
    for wrong in ("too_small", "too_large", "by_hose"):
        session = new_session()
        session.set_name(wrong)
        page = open_home(session)
        click(page, "answer", question="guess", answer=wrong)
        block = page.gauges().block("guess")
        assert not block["good"]
        assert block["says"]
        assert block["right"] == "right"


def test_a_weak_reading_can_be_made_good_and_the_guess_is_free(new_session, click) -> None:
    page = open_home(new_session())
    click(page, "name", name="Ash")
    click(page, "safety")
    click(page, "answer", question="guess", answer="by_hose")
    for gauge in ("suction", "motive"):
        click(page, "answer", question=f"read:{gauge}:0", answer=0.0)
    assert lesson_state(page.session, "00")[0] == "weak"
    # list, end and steps say the same: it is not done, and what is to be done
    said = page.what_next().block("next")["paragraphs"][0]
    assert "does not count as done" in said
    assert "ready" not in said
    steps = {item["label"]: item["state"] for item in page.welcome().block("steps")["items"]}
    assert steps["Read the two gauges"] == "now"
    assert "not both are right" in page.gauges().block("on:reading_on")["paragraphs"][0]
    assert page.gauges().block("on:reading_on")["quiet"]  # one dark button alone: to read two others
    assert page.gauges().block("again")["buttons"][0]["primary"]
    click(page, "again", turn=0)
    for gauge in ("suction", "motive"):
        face = dial(gauge)["units"][page.units]
        click(page, "answer", question=f"read:{gauge}:1", answer=page._needle(gauge, 1) / face["size_pa"])
    assert lesson_state(page.session, "00") == ("done", "done: 100 of 100")


def test_other_gauges_are_other_gauges(new_session, click) -> None:
    page = open_home(new_session())
    do_all(page, click)
    before = page._needle("suction", 0)
    click(page, "again", turn=0)
    click(page, "again", turn=0)  # a late second click changes nothing
    assert page._round() == 1
    assert page._needle("suction", 1) != before


def test_units_change_every_figure(new_session, click) -> None:
    page = open_home(new_session())
    assert "kPa" in page.gauges().block("guess")["text"]
    click(page, "units", value="us")
    assert "inHg" in page.gauges().block("guess")["text"]
    assert "lb" in page.safety().block("safety")["items"][2]
    assert new_session().units == "us"


def test_who_trains_others_chooses_whether_lessons_stand_open(new_session, click) -> None:
    page = open_home(new_session())
    assert page.what_next().block("opening")["value"] == "in_turn"
    click(page, "opening", value="all")
    assert page.what_next().block("opening")["value"] == "all"
    assert new_session().opens_all
    click(page, "opening", value="nonsense")
    assert not new_session().opens_all


def test_the_screen_is_shown_and_put_away_and_leaves_no_record(new_session, click) -> None:
    page = open_home(new_session())
    click(page, "screen", open=True)
    click(page, "screen", open=True)
    assert len(page.screen().children) == 3
    click(page, "screen", open=False)
    assert len(page.screen().children) == 1
    assert page.session.store.list_attempts() == []


def test_state_follows_marks_and_the_calendar(new_session, clock) -> None:
    session = new_session()
    assert lesson_state(session, "01")[0] == "open"
    work = Work(session, "01")
    work.keep("a", 1, "one")
    assert lesson_state(session, "01")[0] == "begun"
    work.finish(50.0, [])
    assert lesson_state(session, "01")[0] == "weak"
    work.begin_again()
    work.finish(75.0, [])
    assert lesson_state(session, "01")[0] == "done"
    clock.wait(2)
    state, says = lesson_state(session, "01")
    assert (state, "2 days" in says) == ("due", True)
    work.begin_again()
    work.finish(100.0, [])
    clock.wait(2)
    assert lesson_state(session, "01")[0] == "done"  # done twice: it comes back after a week
    clock.wait(6)
    assert lesson_state(session, "01")[0] == "due"


def test_the_level_of_practice_follows_the_marks(new_session) -> None:
    session = new_session()

    def call(total: float) -> None:
        made = session.store.create_attempt(
            {"learner": session.name, "lesson": "practice-yard", "mode": "practice"}
        )
        session.store.save_marks(made, {"total": total})

    assert practice_level(session) == "first"
    for total in (90.0, 60.0, 71.0, 80.0):
        call(total)
    assert practice_level(session) == "first"
    call(70.0)
    assert practice_level(session) == "usual"
    for _ in range(5):
        call(90.0)
    assert practice_level(session) == "hard"


def test_a_click_that_makes_no_sense_gets_a_sentence(new_session, click) -> None:
    page = open_home(new_session())
    for action, args in (("nonsense", {}), ("units", {"value": "ells"}), ("name", {"name": "x" * 99})):
        reply = click(page, action, **args)
        assert not reply["accepted"]
        assert reply["sentence"].endswith(".")
    for args in (
        {"question": "read:suction:9", "answer": 1},
        {"question": "guess", "answer": "nonsense"},
        {},
    ):
        assert click(page, "answer", **args)["accepted"]
    assert page.answers == {}


def test_what_makes_the_page_count_is_said_before_the_reading(new_session, click) -> None:
    page = open_home(new_session())
    click(page, "answer", question="guess", answer="right")
    assert "Both must be right" in page.gauges().block("reading")["paragraphs"][0]


def test_the_pull_on_a_plate_is_that_of_the_deepest_vacuum_of_our_rigs(new_session) -> None:
    deepest = max(
        float(simulate(load_rig(name), standard_site(name), setup=Setup.BLANKED, duration=240.0).vacuum.max())
        for name in rig_names()
    )
    assert math.ceil(deepest / 1e3) * 1e3 == PLATE_VACUUM
    # force on the plate: vacuum times area of the bore, told as the weight of a mass under standard gravity
    pull = deepest * math.pi * 0.150**2 / 4.0 / 9.80665
    told = open_home(new_session()).safety().block("safety")["items"]
    shown = float(re.search(r"pull of (\d+) kg", " ".join(told)).group(1))
    assert pull <= shown < pull + 10.0
    assert any("Use only a plate rated for vacuum." in item for item in told)
    # the card in the cab says the same
    assert any(f"up to {shown:.0f} kg" in line for line in _cautions(load_rig("osier"), deepest))
