"""Lesson 10 without a browser: named, sealed to the end, gone on with after a new start, marked, left, taken again."""

from __future__ import annotations

import asyncio
import json
import re

import pytest

from simulator.marking.certificate_forms import draw_form
from simulator.marking.decision import FAILED, PASSED, Rule, rule_now
from simulator.panels.learner.progress import lesson_state
from simulator.panels.learner.session import Work
from simulator.panels.lessons.assessment.page import Assessment
from simulator.records import data_folder
from tests.conftest import thin
from tests.marking.test_certificate import small_bank
from tests.panels.teaching.taught import assert_words
from tests.records.test_damage import altered


@pytest.fixture(autouse=True)
def one_site(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cases of one site, so that all tests share one set of hypotheses."""
    made = small_bank()
    monkeypatch.setattr(
        "simulator.marking.certificate.draw_form",
        lambda seed, used, cases, target: draw_form(seed, used, made, 50.0),
    )


def open_page(session) -> Assessment:
    page = Assessment(session)
    for name in ("aim", "result", "what_next"):
        getattr(page, name)()
    page.sitting()
    return page


def panel_of(page: Assessment):
    children = page.sitting().children
    return children[1] if len(children) == 3 else None


def give_up(panel) -> None:
    sent, panel.send = panel.send, lambda *given, **more: None
    message = {"kind": "act", "id": f"{panel.attempt.id} end", "action": "give_up", "args": {}}
    panel._receive(panel, message, [])
    panel.send = sent
    assert panel.attempt.yard.ended


def shown(page: Assessment) -> str:
    parts = (*page.parts.values(), page._before, page._after)
    return json.dumps([part.content for part in parts]) + json.dumps(page._case.panel.page)


def block_ids(part) -> list[str]:
    return [block["id"] for block in part.content["blocks"]]


def test_words() -> None:
    assert_words("lesson_10")


def test_it_begins_with_a_name(new_session, click) -> None:
    page = open_page(new_session())
    assert "name" in block_ids(page._before)
    click(page, "begin")
    assert panel_of(page) is None
    click(page, "name", name="Ash")
    assert "begin" in block_ids(page._before)
    assert lesson_state(page.session, "10")[0] == "open"
    click(page, "begin")
    panel = panel_of(page)
    assert panel.attempt.mode == "assessment"
    assert panel.page["again"] is False
    assert lesson_state(page.session, "10")[0] == "begun"


def test_sealed_to_the_end_then_marked_with_the_sheet(new_session, click) -> None:
    session = new_session()
    session.set_name("Ash")
    page = open_page(session)
    click(page, "begin")
    for number in range(1, 6):
        steps = page._before.block("cases")["items"]
        assert [item["state"] for item in steps][number - 1] == "now"
        assert sum("sealed" in item["label"] for item in steps) == 5 - number
        give_up(panel_of(page))
        said = shown(page)
        assert "of 100" not in said.replace("70 of 100", "")
        assert panel_of(page) is None
        assert not page._case.panel.page["debrief"]
        assert "verdict" not in block_ids(page.result())
        if number == 2:  # the page is opened again between two cases
            page = open_page(new_session())
            assert panel_of(page) is None
        click(page, "case")
    assert page.result().block("unmarked")
    click(page, "mark")
    rows = page.result().block("marks")["rows"]
    assert len(rows) == 5
    assert "of 100" in rows[0]["cells"][1]
    assert page.result().block("verdict")["tone"] == "wait"  # who gives up five times does not pass
    sheet = page.result().block("print")["html"]
    assert "Ash" in sheet
    assert "Training aid only" in sheet
    assert lesson_state(page.session, "10")[0] == "weak"
    # it is all there after a new start, and another sitting may be taken
    again = open_page(new_session())
    assert again.result().block("marks")["rows"] == rows
    click(again, "begin")
    assert panel_of(again) is not None
    assert len(again.result().block("history")["rows"]) == 2


def test_one_more_case_comes_where_five_do_not_tell(
    new_session, click, monkeypatch: pytest.MonkeyPatch
) -> None:
    rule = Rule(pass_mark=1.0, most=7, z=10.0, case_sd=1.0)
    monkeypatch.setattr("simulator.marking.certificate.rule_now", lambda: rule)
    session = new_session()
    session.set_name("Ash")
    page = open_page(session)
    click(page, "begin")
    for number in range(1, 8):
        steps = page._before.block("cases")["items"]
        assert len(steps) == max(number, 5)
        give_up(panel_of(page))
        if number < 5:
            click(page, "case")
            continue
        if number == 6:  # the page is opened again before the marks are worked out
            page = open_page(new_session())
        assert "mark" in json.dumps(page._before.block("on"))
        assert "begin" not in block_ids(page._before)
        click(page, "mark")
        if number < 7:
            assert "one_more" in block_ids(page._before)
            assert "verdict" not in block_ids(page.result())
            assert "mark" not in block_ids(page.result())
            assert "of 100" not in json.dumps(page.result().content)
            assert "waits for its marks" not in json.dumps(page.result().content)  # one more is asked for
            click(page, "case")
    verdict = page.result().block("verdict")
    assert "No decision" in json.dumps(verdict)
    assert "marks more or less" in json.dumps(verdict)
    assert len(page.result().block("marks")["rows"]) == 7
    assert lesson_state(page.session, "10")[0] == "weak"
    assert "no decision" in lesson_state(page.session, "10")[1]
    assert "begin" in block_ids(page._before)


def test_the_rules_tell_the_averages_that_decide(new_session) -> None:
    """What the page says of five cases and of ten is what the rule decides, their marks not far apart."""
    aim = open_page(new_session()).parts["aim"]
    said = " ".join(aim.block("figures")["paragraphs"])
    rule = rule_now()
    (plain,) = (line for line in aim.block("plan")["items"] if line.startswith("You pass when"))
    assert re.findall(r"\d+", plain) == [
        f"{rule.pass_mark:g}",
        "100",
    ]  # five figures in a row told nobody the rule
    assert len(re.split(r"(?<=[.]) ", plain)) == 3
    told = re.findall(
        r"After (five|ten) cases (?:an average of )?(\d+) or more passes, and (\d+) or less fails", said
    )
    assert [count for count, *_ in told] == ["five", "ten"]
    for (_, passes, fails), cases in zip(told, (rule.least, rule.most), strict=True):
        for mark, verdict in ((int(passes), PASSED), (int(fails), FAILED)):
            assert rule.decide([float(mark)] * cases) == verdict
        for mark in (int(passes) - 1, int(fails) + 1):
            assert rule.decide([float(mark)] * cases) not in (PASSED, FAILED)


def test_the_page_says_where_the_passing_mark_comes_from_and_has_the_sheet_to_set_one(new_session) -> None:
    page = open_page(new_session())
    assert "common practice and has no source" in json.dumps(page.parts["aim"].content)
    assert "just-competent hand" in page.parts["what_next"].block("standard")["html"]


def test_an_open_case_goes_on_at_the_same_second(new_session, click) -> None:
    session = new_session()
    session.set_name("Ash")
    page = open_page(session)
    click(page, "begin")
    attempt = panel_of(page).attempt
    assert attempt.act("put_on_ppe", {}, "x").accepted
    again = open_page(new_session())
    assert panel_of(again).attempt.id == attempt.id
    assert len(panel_of(again).attempt.log) == len(attempt.log)


def test_leaving_takes_two_presses(new_session, click) -> None:
    session = new_session()
    session.set_name("Ash")
    page = open_page(session)
    click(page, "begin")
    assert panel_of(page).page["header"]["badges"][0] == "case 1 of 5"
    give_up(panel_of(page))
    click(page, "case")
    assert panel_of(page).page["header"]["badges"][0] == "case 2 of 5"
    click(page, "leave")
    assert panel_of(page) is not None
    click(page, "stay")
    assert "sure" not in block_ids(page._after)
    click(page, "leave")
    click(page, "leave", sure=True)
    assert panel_of(page) is None
    assert "begin" in block_ids(page._before)
    assert page.result().block("history")["rows"][0]["cells"][2] == "left before its end"
    # what was handed in is told, and decides nothing: nobody works through cases and hears no word of them
    assert "left_marks" not in block_ids(page.result())
    click(page, "mark")
    (row,) = page.result().block("left_marks")["rows"]
    assert row["cells"][0].startswith("Case 1")
    assert "of 100" in row["cells"][1]
    assert page.result().block("evidence_1")["items"]
    assert page.result().block("history")["rows"][0]["cells"][3] == ""
    assert lesson_state(page.session, "10")[1] == "the last sitting was left"


def test_clicks_that_make_no_sense_change_nothing(new_session, click) -> None:
    session = new_session()
    session.set_name("Ash")
    page = open_page(session)
    for action in ("case", "mark", "leave", "stay"):
        assert click(page, action)["accepted"]
    click(page, "begin")
    attempt = panel_of(page).attempt
    for action in ("begin", "case", "mark"):
        assert click(page, action)["accepted"]
    assert panel_of(page).attempt is attempt


def test_marks_are_worked_out_while_the_learner_plays_on(new_session, click) -> None:
    session = new_session()
    session.set_name("Ash")

    async def sit() -> Assessment:
        page = open_page(session)
        click(page, "begin")
        for _ in range(5):
            give_up(panel_of(page))
            assert "of 100" not in shown(page).replace("70 of 100", "")
            click(page, "case")
        page._case.marking.wait(lambda left: None)
        return page

    page = asyncio.run(sit())
    sitting = page._case.sitting
    assert sorted(sitting._ready) == [1, 2, 3, 4, 5]
    assert all(not session.store.marks(row.attempt_id) for row in session.store.list_attempts("Ash"))
    told: list[str] = []
    page._tell = told.append
    click(page, "mark")
    assert told[-2:] == ["Marked 5 of 5 cases.", ""]
    assert len(page.result().block("marks")["rows"]) == 5


DAMAGES = {
    "a step": "UPDATE events SET payload = 'x' WHERE attempt_id LIKE '%-1' AND seq = 1",
    "a step is gone": "DELETE FROM events WHERE attempt_id LIKE '%-1' AND seq = 1",
    "the sitting": "UPDATE attempts SET seed = seed + 1 WHERE lesson NOT LIKE '%case'",
}


@pytest.mark.parametrize("reopened", [False, True], ids=["same page", "opened again"])
@pytest.mark.parametrize("damage", thin(*DAMAGES))
def test_a_damaged_sitting_is_told_and_can_be_left(new_session, click, damage: str, reopened: bool) -> None:
    session = new_session()
    session.set_name("Ash")
    page = open_page(session)
    click(page, "begin")
    assert panel_of(page).attempt.act("put_on_ppe", {}, "x").accepted
    begun = panel_of(page).attempt.id
    altered(data_folder() / "records.sqlite3", DAMAGES[damage])
    if reopened:
        session.store.close()
        session = new_session()
        page = open_page(session)
        assert session.trouble
    ids = block_ids(page._before) + block_ids(page._after)
    if "begin" not in ids:  # a sitting that is lost itself is over: another one may begin
        for sure in ({}, {"sure": True}):
            click(page, "leave", **sure)
        ids = block_ids(page._before) + block_ids(page._after)
    assert "begin" in ids
    assert "broken" not in ids
    click(page, "begin")
    assert panel_of(page) is not None
    assert panel_of(page).attempt.id != begun
    assert panel_of(page).attempt.act("put_on_ppe", {}, "y").accepted


def test_the_lessons_not_done_are_named_before_a_sitting_is_begun(new_session) -> None:
    session = new_session()
    session.set_name("Ash")
    for number in ("01", "04"):
        session.store.end_attempt(
            made := session.store.create_attempt({"learner": "Ash", "lesson": number, "mode": "lesson"}),
            "finished",
        )
        session.store.save_marks(made, {"total": 90.0})
    page = Assessment(session)
    page.sitting()
    (said,) = page._before.block("not_done")["paragraphs"]
    assert all(f"{number} " in said for number in ("02", "03", "05", "06", "07", "08"))
    assert "01 " not in said
    assert "04 " not in said


def test_who_types_a_name_is_shown_the_way_to_work_done_without_one(new_session, click) -> None:
    session = new_session()
    for question in ("a", "b"):
        Work(session, "03").keep(question, "yes", f"click {question}")
    without = open_page(session)
    assert "take over" in without._before.block("name")["hint"]
    click(without.sitting().children[0], "name", name="Ash Reed")
    told = without._before.block("nameless")
    assert told["link"]["file"].startswith("00_")
    assert "start page" in told["paragraphs"][0]
