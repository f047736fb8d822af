"""The call sheet without a browser: put together, handed out, first on the learner's page, played in order, opened."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from simulator.classroom.call_sheet import MAX_CALLS
from simulator.errors import InputError
from simulator.marking.debrief import truth_of
from simulator.panels.lessons.practice_yard.call_book import OWN_FOLDER, read_book
from simulator.panels.lessons.practice_yard.page import Practice
from simulator.panels.lessons.registry import DESKS, lesson
from simulator.panels.lessons.start_here.page import StartHere
from simulator.panels.trainer.call_sheet.page import SHOWN, SheetDesk
from simulator.panels.trainer.call_sheet.papers import answers_page, briefs_page
from simulator.panels.trainer.call_sheet.saved import ENDING, load_sheet, saved_names, sheets_folder
from simulator.texts import text

SIX = [call.key for call in read_book()[:6]]


@pytest.fixture(autouse=True)
def folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(OWN_FOLDER, str(tmp_path / "own"))
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))


@pytest.fixture
def page(new_session: Callable[[], Any]) -> SheetDesk:
    made = SheetDesk(new_session())
    for part in (made.aim, made.make, made.out):
        part()
    return made


def with_six(page: SheetDesk, click: Callable[..., dict[str, Any]]) -> SheetDesk:
    click(page, "who", name="R. Ferrow")
    for key in SIX:
        click(page, "add", call=key)
    click(page, "title", name="Monday morning")
    return page


def act(yard: Any, action: str, number: list[int] = [0]) -> None:  # noqa: B006 - counts the clicks
    number[0] += 1
    yard._receive(yard, {"kind": "act", "id": f"c{number[0]}", "action": action, "args": {}}, [])


def practice(new_session: Callable[[], Any]) -> Practice:
    learner = Practice(new_session())
    learner.aim(), learner.calls(), learner.what_next()
    return learner


def test_it_is_a_desk_and_the_home_leads_there() -> None:
    links = lesson("00").what_next().block("desks")["links"]
    assert DESKS["sheet"].notebook in [link["file"] for link in links]


def test_the_book_is_filtered_by_level_and_rig(page: SheetDesk, click) -> None:
    assert len(page.make().block("book")["rows"]) == SHOWN
    while any(block["id"] == "more" for block in page.make().content["blocks"]):
        click(page, "more", shown=len(page.make().block("book")["rows"]))
    whole = len(page.make().block("book")["rows"])
    assert whole == len(read_book())
    click(page, "level", value="2")
    some = page.make().block("book")["rows"]
    assert 0 < len(some) < whole
    assert {row["cells"][2] for row in some} == {"2"}
    click(page, "rig", value="osier")
    assert {row["cells"][1] for row in page.make().block("book")["rows"]} <= {"Osier"}
    click(page, "level", value="all")
    click(page, "rig", value="nowhere")
    assert page.make().block("book")["rows"] == []
    assert page.make().block("book")["none"]


def test_calls_are_put_in_order(page: SheetDesk, click) -> None:
    with_six(page, click)
    titles = [row["cells"][0].split(". ", 1)[1] for row in page.make().block("list")["rows"]]
    click(page, "down", number=0)
    click(page, "up", number=5)
    click(page, "up", number=0)
    click(page, "down", number=5)
    click(page, "up", number="x")
    want = [titles[1], titles[0], titles[2], titles[3], titles[5], titles[4]]
    assert [call.title for call in page.sheet.calls] == want
    click(page, "drop", number=1)
    assert [call.title for call in page.sheet.calls] == want[:1] + want[2:]
    for _ in range(MAX_CALLS):
        click(page, "add", call=SIX[0])
    assert len(page.sheet.calls) == MAX_CALLS
    assert click(page, "add", call=SIX[0])["sentence"] == text("sheets.desk.said.full")


def test_ticks_that_go_together(page: SheetDesk, click) -> None:
    click(page, "tick_hints", value="no")
    click(page, "tick_inside", value="yes")
    assert (page.sheet.hints, page.sheet.see_through, page.sheet.mode) == (True, True, "guided")
    click(page, "tick_hints", value="no")
    assert (page.sheet.hints, page.sheet.see_through, page.sheet.mode) == (False, False, "assessment")
    click(page, "tick_sealed", value="no")
    assert not page.sheet.sealed


def test_without_a_name_nothing_is_signed(page: SheetDesk, click) -> None:
    click(page, "add", call=SIX[0])
    assert text("sheets.desk.who_first").rstrip(".") in click(page, "hand_out")["sentence"]
    assert page._desk.given() == []


@pytest.mark.parametrize("title", ["", "   ", "x" * 81, "a\x00b"])
def test_a_title_that_cannot_be_keeps_the_old_one(page: SheetDesk, click, title: str) -> None:
    before = page.sheet.title
    assert "title" in click(page, "title", name=title)["sentence"]
    assert page.sheet.title == before


def test_saved_opened_again_and_refused_when_altered(page: SheetDesk, click) -> None:
    with_six(page, click)
    click(page, "save")
    assert saved_names() == ["monday_morning"]
    kept = page.sheet
    click(page, "clear")
    assert page.sheet.calls == ()
    click(page, "load", name="monday_morning")
    assert page.sheet == kept
    file = sheets_folder() / f"monday_morning{ENDING}"
    assert file.stat().st_mode & 0o077 == 0
    file.write_text(file.read_text().replace("Monday", "Sunday"))
    click(page, "clear")
    said = click(page, "load", name="monday_morning")["sentence"]
    assert said
    assert page.sheet.calls == ()
    with pytest.raises(InputError):
        load_sheet("../monday_morning")


def test_papers_tell_what_each_is_for(page: SheetDesk, click) -> None:
    with_six(page, click)
    briefs, answers = briefs_page(page.sheet), answers_page(page.sheet)
    for call in page.sheet.calls:
        assert call.title in briefs
        assert truth_of(call.what_is_wrong()) not in briefs
        assert truth_of(call.what_is_wrong())[:30] in answers
    assert page.make().block("briefs")["html"] == briefs
    assert page.make().block("answers")["html"] == answers


def test_handed_out_it_stands_first_and_is_played_in_order(page: SheetDesk, click, new_session) -> None:
    learner = practice(new_session)
    earlier = learner.calls().attempt.id  # a call that nobody has touched makes way
    with_six(page, click)
    click(page, "tick_hints", value="no")
    assert "Monday morning" in click(page, "hand_out")["sentence"]
    home = StartHere(new_session())
    ids = [block["id"] for block in home.welcome().content["blocks"]]
    assert ids.index(f"given_{page.sheet.id}") < ids.index("lessons")
    rows = home.welcome().block(f"given_{page.sheet.id}")["rows"]
    assert [row["cells"][0] for row in rows] == [f"{n}. {c.title}" for n, c in enumerate(page.sheet.calls, 1)]
    assert [row["now"] for row in rows] == [True] + [False] * 5

    learner = practice(new_session)
    yard = learner.calls()
    assert yard.attempt.id != earlier
    for n, call in enumerate(page.sheet.calls[:3]):
        assert (yard.attempt.scenario.title, yard.attempt.mode) == (call.title, "assessment")
        act(yard, "put_on_ppe")
        again = practice(new_session).calls()
        assert again.attempt.id == yard.attempt.id  # gone on with after a reload
        act(yard, "give_up")
        assert yard.attempt.yard.ended
        assert yard.page["debrief_pending"] is False
        assert learner.session.store.marks(yard.attempt.id) == []  # nothing is told of a shut envelope
        row = learner.aim().block(f"given_{page.sheet.id}")["rows"][n]
        assert row["cells"][1] == text("sheets.state.sealed")
        assert row["buttons"] == []
        act(yard, "yard_next")
    assert yard.attempt.scenario.title == page.sheet.calls[3].title
    assert practice(new_session).calls().attempt.scenario.title == page.sheet.calls[3].title

    first = learner.aim().block(f"given_{page.sheet.id}")
    read = {"sheet": page.sheet.id, "number": 0}
    click(learner, "read", **read)
    assert yard.attempt.scenario.title == page.sheet.calls[3].title  # refused while shut
    assert first["rows"][0]["buttons"] == []
    click(page, "envelopes", sheet=page.sheet.id, open=True)
    learner = practice(new_session)
    (button,) = learner.aim().block(f"given_{page.sheet.id}")["rows"][0]["buttons"]
    click(learner, button["action"], **button["args"])
    assert learner.calls().attempt.scenario.title == page.sheet.calls[0].title
    assert learner.calls().page["phase"] == "debrief"
    assert learner.session.total(learner.calls().attempt.id) is not None  # marked now

    click(page, "take_back", sheet=page.sheet.id)
    assert f"given_{page.sheet.id}" not in [
        b["id"] for b in StartHere(new_session()).welcome().content["blocks"]
    ]
    assert not practice(new_session).calls().page["yard"]["levels"][0]["id"].startswith("sheet_")


def test_a_sheet_that_is_not_sealed_tells_at_once_and_ends_in_the_usual_calls(
    page, click, new_session
) -> None:
    click(page, "who", name="R. Ferrow")
    click(page, "add", call=SIX[0])
    click(page, "tick_sealed", value="no")
    click(page, "hand_out")
    learner = practice(new_session)
    yard = learner.calls()
    assert yard.page["yard"]["level"] == f"sheet_{page.sheet.id}"
    act(yard, "give_up")
    assert learner.session.total(yard.attempt.id) is not None
    act(yard, "yard_next")
    assert yard.page["yard"]["level"] == "first"
    assert yard.attempt.scenario.title != page.sheet.calls[0].title or yard.attempt.mode == "practice"
