"""The field sheet without a browser: plain figures in, sentences for what cannot be, nothing lost, one result kept."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path

import pytest

from simulator.diagnosis.field import Watch, check_sheet
from simulator.panels.lessons.field_sheet.form import blank_form, clean_form, look_groups, parse_form
from simulator.panels.lessons.field_sheet.page import STEPS, FieldPage
from simulator.panels.lessons.field_sheet.printing import _next, print_page
from simulator.rig.presets import load_rig, rig_names
from simulator.texts import entry, text
from tests.house.reading import grade, sentences_of

SCREEN = Path(__file__).parents[3] / "simulator" / "panels" / "screen"
GOOD = {
    "rows": [["20", "17", "5.6"], ["45", "22", "5.6"], ["90", "22", "5.7"]],
    "start": "dry",
    "watched": "100",
}


def open_page(session) -> FieldPage:
    page = FieldPage(session)
    for name in ("aim", "sheet", "points_to", "what_next"):
        getattr(page, name)()
    return page


def typed(**more: object) -> dict[str, object]:
    return blank_form() | GOOD | more


def test_words_read_at_grade_seven() -> None:
    assert grade(sentences_of(entry("field_sheet"))) <= 7.0


def test_figures_as_people_type_them() -> None:
    form = typed(rows=[["20", "5 inHg", "5,6"], ["45 s", ".5", "80psi"], ["", "", ""]])
    sheet, problems = parse_form(form)
    assert problems == []
    first, second = sheet.needles
    # 1 inHg = 3386.389 Pa and 1 psi = 6894.757 Pa: NIST SP 811 (2008), Appendix B
    assert first.vacuum == pytest.approx(5 * 3386.389, abs=1.0)
    assert first.motive == pytest.approx(5.6e5, abs=1.0)
    assert (second.time, second.vacuum) == (45.0, 500.0)
    assert second.motive == pytest.approx(80 * 6894.757, abs=1.0)


def test_two_minutes_are_taken_where_two_minutes_count() -> None:
    assert "the first two minutes count" in entry("field_sheet.hints")["readings"]
    sheet, problems = parse_form(typed(rows=[["120", "22", ""]], watched="120"))
    assert problems == []
    assert sheet.needles[0].time == 120.0
    check_sheet(sheet)


def test_units_of_the_gauges_count() -> None:
    sheet, _ = parse_form(typed(vacuum_unit="inHg", motive_unit="psi", rows=[["30", "10", "80"]]))
    assert sheet.needles[0].vacuum == pytest.approx(33_863.9, abs=1.0)
    assert sheet.needles[0].motive == pytest.approx(551_581.0, abs=1.0)
    sheet, _ = parse_form(typed(length_unit="ft", hose="40", lift="10"))
    assert sheet.rig.suction_hose.length == pytest.approx(12.192, abs=1e-6)
    assert sheet.site.lift == pytest.approx(3.048, abs=1e-6)


@pytest.mark.parametrize(
    ("more", "field", "words"),
    [
        ({"rows": [["20", "a lot", ""]]}, "rows:0:1", "not a number"),
        ({"rows": [["20", "140", ""]]}, "rows:0:1", "more vacuum than the air outside"),
        ({"rows": [["20", "5 bar", ""]]}, "rows:0:1", "another unit"),
        ({"rows": [["", "14", ""]]}, "rows:0:0", "without its time"),
        ({"rows": [["20", "", ""]]}, "rows:0:1", "without a reading"),
        ({"rows": [["20", "14", ""], ["20", "15", ""]]}, "rows:1:0", "same time"),
        ({"rows": [["121", "14", ""]], "watched": "130"}, "rows:0:0", "too late"),
        ({"rows": [["20", "14", "90"]]}, "rows:0:2", "cannot be"),
        ({"hose": "3", "lift": "5"}, "hose", "does not reach"),
        ({"lift": "25"}, "lift", "cannot be"),
        ({"water": "hot"}, "water", "not a number"),
        ({"watched": "", "rows": [["", "", ""]]}, "watched", "how many seconds"),
        ({"start": "primed", "primed_at": ""}, "primed_at", "after how many seconds"),
        ({"start": "primed", "primed_at": "80", "watched": "60"}, "primed_at", "only 60 s"),
        (
            {"start": "dry", "rows": [["20", "18", ""], ["110", "22", ""]], "watched": "90"},
            "watched",
            "read a gauge at 110 s",
        ),
        ({"rig": "sedge", "rows": [["20", "14", "5"]]}, "rows:0:2", "no motive air gauge"),
        ({"rows": [["", "", ""]], "start": ""}, "", "nothing on the sheet"),
    ],
)
def test_bad_input_gets_a_clear_sentence(more: dict[str, object], field: str, words: str) -> None:
    if more.get("rig") == "sedge" and load_rig("sedge").has_motive_gauge:
        more = more | {"rig": next(name for name in rig_names() if not load_rig(name).has_motive_gauge)}
    sheet, problems = parse_form(typed(**more))
    assert sheet is None
    assert any(each.field == field and words in each.sentence for each in problems), problems


def test_who_typed_no_time_let_it_run_up_to_the_last_line() -> None:
    sheet, problems = parse_form(
        typed(watched="", rows=[["30", "6", ""], ["110", "11", ""], ["60", "10", ""]])
    )
    assert problems == []
    assert sheet is not None
    assert sheet.watch == Watch(110.0)


def test_what_makes_the_next_act_safe_is_a_list() -> None:
    following = {"label": "Foam", "reason": "", "how": "", "protects": "Gear on. Stay clear of the belt."}
    act, safe = _next(following)
    assert "Gear on." not in " ".join(act["paragraphs"])
    assert safe["items"] == ["Gear on.", "Stay clear of the belt."]


def test_whatever_the_page_sends_the_form_is_plain() -> None:
    for junk in (
        None,
        5,
        [],
        {"rows": "x", "looks": 3, "rig": "no such", "hose": {"a": 1}},
        {"rows": [[1], "x"]},
    ):
        form = clean_form(junk)
        assert set(form) == set(blank_form())
        parse_form(form)
    assert len(clean_form({"where": "x" * 999})["where"]) <= 120


def test_every_check_of_a_rig_can_be_typed_once() -> None:
    for name in rig_names():
        groups = look_groups(load_rig(name))
        listed = [pair for group in groups.values() for pair in group]
        assert len(listed) == len(set(listed))
        assert 6 <= len(groups["looks"]) <= 12


def test_from_readings_to_suspects_and_nothing_lost(new_session, click) -> None:
    page = open_page(new_session())
    assert page.points_to().block("wait")
    form = typed(looks={"exhaust_stream|": "strong_on"}, remarks="<b>wet</b> day")
    click(page, "draft", form=form)
    again = open_page(new_session())
    assert again.form["rows"][0] == ["20", "17", "5.6"]
    assert again.sheet().block("form")["form"]["remarks"] == "<b>wet</b> day"
    click(again, "judge", form=form)
    suspects = again.points_to().block("suspects")
    assert suspects["items"][0]["chance"]
    assert again.points_to().block("next")["paragraphs"]
    assert "Training aid" in again.points_to().block("cautions")["foot"]
    json.dumps(again.points_to().content, allow_nan=False)
    # the result is there after a reload, and says when the sheet has changed since
    third = open_page(new_session())
    assert third.points_to().block("suspects")["items"] == suspects["items"]
    click(third, "draft", form=form | {"lift": "5"})
    assert third.points_to().block("changed")
    page_to_print = third.points_to().block("print")["html"]
    assert "&lt;b&gt;wet&lt;/b&gt; day" in page_to_print
    assert "http" not in page_to_print
    click(third, "new")
    assert third.form == blank_form()
    assert third.points_to().block("wait")
    assert len(third.session.rows("field")) == 2


def test_a_messy_set_is_no_guess(new_session, click) -> None:
    page = open_page(new_session())
    click(page, "judge", form=typed(rows=[["20", "17", "5.6"], ["45", "75", "5.6"], ["90", "22", "5.7"]]))
    said = " ".join(page.points_to().block("no_fit")["paragraphs"])
    assert "does not fit" in said
    assert "75 kPa after 45 s" in said
    assert page.points_to().block("suspects")["quiet"]
    assert "does not fit together" in print_page(page.result)
    with pytest.raises(KeyError):
        page.points_to().block("next")


def test_problems_name_the_field_and_keep_the_rest(new_session, click) -> None:
    page = open_page(new_session())
    click(page, "judge", form=typed(rows=[["20", "140", "5.6"]]))
    form = page.sheet().block("form")
    assert [each["field"] for each in form["problems"]] == ["rows:0:1"]
    assert page.result is None
    click(page, "judge", form=typed(rows=[["20", "14", "5.6"]]))
    assert page.sheet().block("form")["problems"] == []


def test_another_rig_brings_its_own_card(new_session, click) -> None:
    page = open_page(new_session())
    serial = page.sheet().block("form")["serial"]
    click(page, "draft", form=blank_form() | {"rig": "sedge"})
    block = page.sheet().block("form")
    assert block["serial"] == serial + 1
    assert block["form"]["hose"] == f"{load_rig('sedge').suction_hose.length:.0f}"


def test_no_sentence_of_the_learner_in_the_template() -> None:
    words = (SCREEN / "field_sheet.html").read_text(encoding="utf-8").split("<body>")[1]
    assert not any(line.strip().endswith((".", "?")) for line in words.splitlines())


async def until(true) -> None:
    for _ in range(1200):
        if true():
            return
        await asyncio.sleep(0.05)
    raise AssertionError("it did not come")


def test_work_is_begun_as_one_types_shown_stopped_and_taken_up_again(new_session, click) -> None:
    form = typed(lift="3.45")

    async def work() -> None:
        page = open_page(new_session())
        click(page, "draft", form=typed(rows=[["", "", ""]], start="", lift="3.4"))
        assert page._work._ahead is None, "an empty sheet asks for nothing"
        click(page, "draft", form=form)
        ahead = page._work._ahead
        assert ahead is not None
        click(page, "judge", form=form)
        assert page._work._ahead is ahead, "what was begun is gone on with"
        assert page.sheet().block("form")["working"]
        assert page.points_to().block("wait")["paragraphs"] == [text("field_sheet.result_working")]
        click(page, "judge", form=form)  # a second press changes nothing
        click(page, "stop")
        await until(lambda: not page._work.busy)
        assert not page.sheet().block("form")["working"]
        assert "Stopped" in page.sheet().block("trouble")["paragraphs"][0]
        assert page.result is None
        assert page.form["lift"] == "3.45"
        told = []
        page.parts["sheet"].send = told.append
        click(page.parts["what_next"], "judge", form=form)
        await until(lambda: page.result is not None)
        words = [message["said"] for message in told]  # in words that only go on, never in counters
        steps = [text(f"field_sheet.{step}") for step in STEPS[1:]]
        assert words == [each for each in steps if each in words]
        assert not any(sign.isdigit() for each in words for sign in each)
        assert page.points_to().block("suspects")
        assert "trouble" not in [block["id"] for block in page.sheet().content["blocks"]]
        assert page._latest("result")["form"]["lift"] == "3.45"
        page._work.drop()

    asyncio.run(work())


def test_another_site_stops_what_was_begun(new_session, click) -> None:
    async def work() -> None:
        page = open_page(new_session())
        click(page, "draft", form=typed(lift="3.3"))
        first = page._work._ahead
        click(page, "draft", form=typed(lift="3.35"))
        assert page._work._ahead is not first
        await until(lambda: not first._thread.is_alive())
        click(page, "new")
        page._work.stop()

    asyncio.run(work())


def test_what_goes_wrong_in_judging_is_a_sentence(new_session, click, monkeypatch) -> None:
    def broken(*given, **more) -> None:
        raise RuntimeError("no such luck")

    monkeypatch.setattr("simulator.diagnosis.field.judge_sheet", broken)
    page = open_page(new_session())
    click(page, "judge", form=typed())
    assert page.sheet().block("trouble")["paragraphs"][0].startswith("That did not work")
    assert page.form["watched"] == "100"
