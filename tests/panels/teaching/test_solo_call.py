"""The case done alone: a real call of the lesson's kind, kept, gone on with after a new start, marked, and counted."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import pytest

from simulator.errors import InputError
from simulator.marking.mastery import shown_in
from simulator.panels.learner.first_steps import TAUGHT_LATER
from simulator.panels.lessons.air_gets_in.page import PLAN, AirGetsIn
from simulator.panels.lessons.registry import LESSONS, lesson
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, load_site
from simulator.scenario import random_scenario, scenario_hash
from simulator.texts import text
from tests.conftest import some
from tests.panels.teaching.taught import do_call

NUMBERS = ("03", "04", "05", "06", "07", "08")
#: Families that each lesson is about, by its title; 03 and 07 part the families from each other.
FAMILIES = {
    "03": {"air_gets_in", "air_not_drawn_out", "water_cannot_come"},
    "04": {"air_gets_in"},
    "05": {"air_not_drawn_out"},
    "06": {"water_cannot_come"},
    "07": {"air_gets_in", "air_not_drawn_out"},
    "08": {"primes_then_loses"},
}


def at_the_call(session: Any, click: Any) -> AirGetsIn:
    """The lesson with the first two cases done."""
    page = AirGetsIn(session)
    for step in ("aim", "case", "what_next"):
        getattr(page, step)()
    if page.work.begun:
        return page
    page.work.keep("seen:ideas", True, "ideas")
    for template in PLAN.predictions:
        page.work.keep(f"predict:{template.__name__}", {"answer": "unsure"}, template.__name__)
    for name in page.predictions.track_ids():
        page.work.keep(f"seen:run:{name}", True, f"run {name}")
    for stage in range(2):
        page.work.keep(f"on:case:{stage}:end", True, f"end {stage}")
    page.refresh()
    return page


@pytest.mark.parametrize("number", NUMBERS)
def test_tests_under_vacuum_are_on_offer_once_they_have_been_taught(number: str) -> None:
    allowed = import_module(LESSONS[number].module).PLAN.solo_call.scenario(3, 0).allowed_checks
    offered = allowed == "all" or set(TAUGHT_LATER) <= set(allowed)
    assert offered == (number >= "07")
    assert offered or not set(TAUGHT_LATER) & set(allowed)


def act(panel: Any, action: str, click: str, **args: Any) -> None:
    panel._receive(panel, {"kind": "act", "id": click, "action": action, "args": args}, [])


@pytest.mark.parametrize("number", some(NUMBERS, every=3))
def test_calls_are_of_the_lessons_kind(number: str) -> None:
    alone = import_module(LESSONS[number].module).PLAN.solo_call
    assert {FAULTS[name].family for name in alone.faults} == FAMILIES[number]
    rig, site = load_rig(alone.rig), load_site("teal_pond")
    assert all(FAULTS[name].places(rig, site) for name in alone.faults)
    calls = [alone.scenario(seed, 0) for seed in range(12)]
    assert all(set(call.fault_ids) <= set(alone.faults) and call.fault_ids for call in calls)
    assert calls[0] == alone.scenario(0, 0)
    assert len({scenario_hash(call) for call in calls}) == len(calls)
    assert len({call.fault_ids for call in calls}) > 1
    assert lesson(number).plan.minutes <= 45


def test_drawing_from_some_faults_alone() -> None:
    assert random_scenario(3, "usual", only=()) == random_scenario(3, "usual")
    assert {random_scenario(n, "usual", only=("belt_loose",)).fault_ids for n in range(5)} == {
        ("belt_loose",)
    }
    for wrong in (("no_such",), ("motive_gauge_stuck", "nothing")):
        with pytest.raises(InputError, match="there is no fault"):
            random_scenario(1, only=wrong)
    with pytest.raises(InputError, match="none of these"):  # that rig has no cock
        random_scenario(1, rig="osier", only=("cock_shut",))


def test_the_call_is_taken_done_and_gone_on_with(new_session, click, quick_marks) -> None:
    session = new_session()
    session.set_name("Ash")
    page = at_the_call(session, click)
    assert len(page.case().children) == 1
    click(page, "take")
    assert len(page.case().children) == 3
    panel = page.fading.solo_call.panel
    assert panel.attempt.mode == "practice"
    act(panel, "put_on_ppe", "c1")
    click(page, "take")  # a second press changes nothing
    assert page.fading.solo_call.panel is panel
    assert not page.course.has("case")

    again = at_the_call(new_session(), click)  # the page is loaded anew: the same call at the same second
    other = again.fading.solo_call.panel
    assert other.attempt.id == panel.attempt.id
    assert len(other.attempt.log) == len(panel.attempt.log)
    click(again, "continue", key="case:2:end")  # it is not over
    assert not again.course.has("case")
    act(other, "give_up", "c2")
    assert "64 of 100" in again.fading.solo_call.after(goes_on=True)[0]["paragraphs"][0]

    third = at_the_call(new_session(), click)  # its debrief is there again, and the way on
    assert third.fading.solo_call.panel.page["debrief"]["total"] == 64.0
    click(third, "continue", key="case:2:end")
    assert third.course.has("case")
    assert third.case().children == (third.parts["case"],)
    click(third, "look_again")  # how each step was marked stays within reach
    assert third.fading.solo_call.panel.page["debrief"]["total"] == 64.0
    assert len(third.case().children) == 3
    click(third, "look_again")
    assert third.case().children == (third.parts["case"],)
    said = third.parts["case"].block("done")["paragraphs"]
    assert said[0] == text("teaching.case_done_weak")
    assert "64 of 100" in said[1]

    labels = [one["label"] for one in third.parts["case"].block("alone:look")["buttons"]]
    assert labels == [text("teaching.alone.look_again"), text("teaching.alone.another")], (
        "a new one, as it says"
    )
    click(third, "take")
    assert third.course.has("case"), "the lesson stays where it stands"
    assert third.fading.solo_call.panel.attempt.id != other.attempt.id
    assert third.parts["case"].block("done")["paragraphs"] == [text("teaching.alone.under_way")]
    fourth = at_the_call(new_session(), click)  # loaded anew: it stands below still
    assert fourth.fading.solo_call.panel.attempt.id == third.fading.solo_call.panel.attempt.id
    act(fourth.fading.solo_call.panel, "give_up", "c3")
    after = fourth.parts["case-after"] if "case-after" in fourth.parts else fourth.case().children[2]
    assert [one["label"] for one in after.block("alone:on")["buttons"]] == [text("teaching.alone.another")]


def test_another_call_is_another_one(new_session, click, quick_marks) -> None:
    page = at_the_call(new_session(), click)
    click(page, "take")
    first = page.fading.solo_call.panel.attempt
    act(page.fading.solo_call.panel, "give_up", "c1")
    click(page, "take")
    second = page.fading.solo_call.panel.attempt
    assert second.id != first.id
    assert scenario_hash(second.scenario) != scenario_hash(first.scenario)
    assert not page.fading.solo_call.over()
    click(page, "all_again")
    page.refresh()
    assert page.fading.solo_call.panel is None
    assert page.fading.solo_call.attempt_id() == ""


def test_a_call_that_no_longer_replays_can_be_put_aside(new_session, click, quick_marks, monkeypatch) -> None:
    page = at_the_call(new_session(), click)
    click(page, "take")
    act(page.fading.solo_call.panel, "put_on_ppe", "c1")
    store = page.session.store
    events = store.events
    monkeypatch.setattr(
        store, "events", lambda i: [{**e, "clock_s": 1e9} if e.get("act") else e for e in events(i)]
    )
    page.fading.solo_call.panel = None
    page.refresh()
    assert page.fading.solo_call.panel is None
    kinds = [block["id"] for block in page.parts["case"].content["blocks"]]
    assert [kind for kind in kinds if kind.startswith("alone:")] == ["alone:version", "alone:another"]
    monkeypatch.undo()
    click(page, "take")
    assert page.fading.solo_call.panel is not None


@pytest.mark.full
def test_marks_of_the_call_count_for_the_skill(new_session, click) -> None:
    session = new_session()
    session.set_name("Ash")
    page = at_the_call(session, click)
    do_call(page, click)
    shown = shown_in(session.store, "Ash")
    assert {each.skill for each in shown} >= {"air_gets_in"}
    assert not any(each.right for each in shown if each.skill == "air_gets_in"), "handed over, not found"
    assert page.fading.solo_call.marks() is not None
