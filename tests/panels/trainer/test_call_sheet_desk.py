"""The call sheet without a browser: put together, handed out, first on the learner's page, played in order, opened."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import pytest

from simulator.attempt.level import Effort
from simulator.classroom.asking import ADDRESS, TOKEN, hands_out
from simulator.classroom.call_sheet import MAX_CALLS
from simulator.classroom.handing_out import sheets_of
from simulator.errors import InputError
from simulator.marking.debrief import truth_of
from simulator.panels.learner.sheet_by_hand import SheetByHand
from simulator.panels.lessons.practice_yard.call_book import OWN_FOLDER, read_book
from simulator.panels.lessons.practice_yard.page import Practice
from simulator.panels.lessons.registry import DESKS, lesson
from simulator.panels.lessons.start_here.page import StartHere
from simulator.panels.trainer import own_minutes
from simulator.panels.trainer.call_sheet.choosing import ALL, LONGER, MINUTES, fitting
from simulator.panels.trainer.call_sheet.minutes import minutes_of
from simulator.panels.trainer.call_sheet.page import SHOWN, SheetDesk
from simulator.panels.trainer.call_sheet.papers import answers_page, briefs_page
from simulator.panels.trainer.call_sheet.saved import ENDING, load_sheet, saved_names, sheets_folder
from simulator.rig.faults import FAULTS
from simulator.signing.ring import Ring
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
    while page.make().block("book")["more"]:
        click(page, "more", shown=len(page.make().block("book")["rows"]))
    whole = len(page.make().block("book")["rows"])
    assert whole == len(read_book())
    click(page, "choose", id="level", value="2")
    some = page.make().block("book")["rows"]
    assert 0 < len(some) < whole
    assert {row["cells"][2] for row in some} == {"2"}
    click(page, "choose", id="rig", value="osier")
    assert {row["cells"][1] for row in page.make().block("book")["rows"]} <= {"Osier"}
    click(page, "choose", id="level", value="all")
    click(page, "choose", id="rig", value="nowhere")
    assert page.make().block("book")["rows"] == []
    assert page.make().block("book")["none"]


def test_the_book_and_the_sheet_tell_what_is_wrong_under_each_title(page: SheetDesk, click) -> None:
    rows = page.make().block("book")["rows"]
    for row, call in zip(rows, read_book(), strict=False):
        for item in call.scenario.what_is_wrong():
            assert text(f"faults.{item['fault']}.name") in row["under"]
    click(page, "add", call=rows[0]["key"])
    assert page.make().block("list")["rows"][0]["under"] == rows[0]["under"]


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


def test_every_choice_of_the_book_and_all_of_them_together(page: SheetDesk, click) -> None:
    book = read_book()
    for item in page.make().block("filters")["items"]:
        kind, options = item["id"], [option["id"] for option in item["options"]]
        assert options[0] == ALL
        found = {value: fitting(book, {kind: value}) for value in options}
        assert len(found[ALL]) == len(book)
        if kind == "minutes":  # whoever has 30 minutes has room for the short ones
            most = [len(found[value]) for value in MINUTES]
            assert most == sorted(most)
            assert {call.key for call in found["10"]} < {call.key for call in found["30"]}
            assert most[-1] + len(found[LONGER]) == len(book)
        else:
            assert len(book) == sum(len(found[value]) for value in options[1:])
        assert all(len(found[value]) < len(book) for value in options[1:])
        assert all(option["label"] for option in item["options"])
    click(page, "choose", id="level", value="1")
    click(page, "choose", id="season", value="frost")
    click(page, "choose", id="family", value="air_gets_in")
    rows = page.make().block("book")["rows"]
    assert {row["key"] for row in rows} == {
        call.key
        for call in book
        if call.level == 1
        and call.scenario.site.air_temperature_c <= 1.0
        and [FAULTS[name].family for name in call.scenario.fault_ids] == ["air_gets_in"]
    }
    click(page, "choose", id="nothing", value=3)
    click(page, "choose")
    assert page.make().block("book")["rows"] == rows


def test_every_call_of_the_book_tells_its_minutes(page: SheetDesk) -> None:
    for call in read_book():
        minutes = minutes_of(call.scenario)
        assert minutes is not None, (
            f"{call.scenario.title}: python -m {minutes_of.__module__} makes them anew"
        )
        row = page._book_row(call, frozenset())
        assert row["cells"][3] == f"{minutes:.0f}"


def test_a_call_that_is_dragged_keeps_its_row_and_every_step_can_be_taken_back(
    page: SheetDesk, click
) -> None:
    with_six(page, click)
    stood = [page.steps.now]
    rows = [row["key"] for row in page.make().block("list")["rows"]]
    assert page.make().block("list")["moves"] == "move"
    for act in (
        ("move", {"number": 5, "to": 0}), ("up", {"number": 3}), ("drop", {"number": 1}),
        ("tick_drawn", {"value": "yes"}), ("tick_hints", {"value": "no"}), ("title", {"name": "Tuesday"}),
        ("add", {"call": SIX[0]}), ("clear", {}),
    ):  # fmt: skip
        click(page, act[0], **act[1])
        stood.append(page.steps.now)
    click(page, "undo")
    assert page.steps.now == stood[-2]
    assert next(row["key"] for row in page.make().block("list")["rows"]) == rows[5]
    for before in reversed(stood[:-2]):
        click(page, "undo")
        assert page.steps.now == before
    for after in stood[1:]:
        click(page, "redo")
        assert page.steps.now == after
    for odd in (
        {"number": 9, "to": 0},
        {"number": 0, "to": -1},
        {"number": True, "to": 1},
        {"number": "x"},
        {},
    ):
        click(page, "undo")
        before = page.steps.now
        click(page, "move", **odd)
        assert page.steps.now == before


def test_each_learner_draws_calls_of_the_same_level_always_the_same(
    page: SheetDesk, click, new_session
) -> None:
    with_six(page, click)
    click(page, "tick_drawn", value="yes")
    click(page, "save")
    click(page, "hand_out")
    ((sheet, _),) = sheets_of(page._desk)
    assert sheet == page.sheet
    levels = {call.scenario: call.level for call in read_book()}
    want = [levels[call] for call in sheet.calls]
    seen = set()
    for name in ("", "Ash", "Birk", "Cern", "Dale", "Esk"):
        own = sheet.of_learner(name)
        assert own == sheet.of_learner(name)
        assert [levels[call] for call in own.calls] == want
        assert len(set(own.calls)) == len(own.calls)
        seen.add(own.calls)
    assert len(seen) > 3
    learner = practice(new_session)
    assert learner.calls().attempt.scenario.title == sheet.of_learner(learner.session.name).calls[0].title
    answers, briefs = answers_page(sheet), briefs_page(sheet)
    for call in (*sheet.calls, *sheet.others[0]):
        assert escape(call.title) in answers
        assert escape(call.title) in briefs
    assert text("sheets.papers.drawn_lead") in answers
    click(page, "clear")
    click(page, "load", name="monday_morning")
    assert page.sheet == sheet
    click(page, "tick_drawn", value="no")
    assert page.sheet == replace(sheet, others=())


def test_in_a_class_under_one_account_the_papers_say_that_it_is_not_sealed(page, click, monkeypatch) -> None:
    with_six(page, click)
    sheet = page.sheet
    assert text("sheets.not_sealed") not in briefs_page(sheet) + answers_page(sheet)
    assert page._out()[0]["paragraphs"] == [text("sheets.desk.out_alone")]  # a class is not reached from here
    monkeypatch.setenv(ADDRESS, "http://127.0.0.1:1")
    monkeypatch.setenv(TOKEN, "x")
    for paper in (briefs_page(sheet), answers_page(sheet)):
        assert text("sheets.not_sealed") in paper
        assert text("sheets.papers.not_sealed") in paper
    assert page._out()[0]["paragraphs"] == []
    assert text("sheets.not_sealed") not in briefs_page(replace(sheet, sealed=False))


@pytest.fixture
def packed(page: SheetDesk, click, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[str, str]:
    """The text of a sheet's file by a trainer on another machine, and the fingerprint of the key."""
    with_six(page, click)
    click(page, "save")
    written = (sheets_folder() / f"monday_morning{ENDING}").read_text("utf-8")
    fingerprint = page._key.public.fingerprint
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "another_machine"))
    return written, fingerprint


def carried(home: StartHere) -> str:
    return str(home.take_along().content["blocks"])


def test_a_sheet_loaded_by_hand_waits_for_the_key_and_then_stands_first(
    page, packed, click, new_session
) -> None:
    written, fingerprint = packed
    home = StartHere(new_session())
    home.take_along(), home.welcome()
    click(home, "sheet_file", text=written)
    assert fingerprint in carried(home)
    assert not Ring.load().keys
    click(home, "sheet_leave")
    assert fingerprint not in carried(home)
    assert click(home, "sheet_trust")["sentence"] == ""
    click(home, "sheet_file", text=written)
    assert "Monday morning" in click(home, "sheet_trust")["sentence"]
    given = home.welcome().block(f"given_{page.sheet.id}")
    assert len(given["rows"]) == len(SIX)
    assert click(home, "sheet_file", text=written)["sentence"] == text(
        "sheets.by_hand.taken", title="Monday morning"
    )
    assert practice(new_session).calls().attempt.scenario.title == page.sheet.calls[0].title


ALTERED = [
    lambda raw: raw.replace("Monday", "Sunday"),
    lambda raw: raw.replace('"sealed": true', '"sealed": false'),
    lambda raw: raw.replace('"kind": "pack"', '"kind": "sheet"'),
    lambda raw: raw[: len(raw) // 2],
    lambda raw: "",
    lambda raw: "[]",
    lambda raw: "\ud800",
    lambda raw: "[" * 5000,
    lambda raw: "x" * 400_000,
    lambda raw: raw.replace('"calls": "', '"calls": "AAAA'),
]


@pytest.mark.parametrize("alter", ALTERED)
def test_a_sheet_that_was_altered_is_refused_with_a_sentence_and_nothing_is_taken(
    packed, click, new_session, alter
) -> None:
    home = StartHere(new_session())
    home.take_along(), home.welcome()
    click(home, "sheet_file", text=packed[0])
    click(home, "sheet_trust")
    before = str(hands_out().given())
    altered = alter(packed[0])
    click(home, "sheet_file", text=altered)
    told = carried(home)
    assert text("sheets.by_hand.refused", what="").split("{")[0].strip(". ") in told or "known" in told
    assert str(hands_out().given()) == before


def test_in_a_class_nothing_is_loaded_by_hand(new_session, monkeypatch) -> None:
    monkeypatch.setenv(ADDRESS, "http://127.0.0.1:1")
    monkeypatch.setenv(TOKEN, "x")
    assert SheetByHand().blocks() == []


def test_ticks_that_go_together(page: SheetDesk, click) -> None:
    click(page, "tick_hints", value="no")
    click(page, "tick_inside", value="yes")
    assert (page.sheet.hints, page.sheet.see_through, page.sheet.mode) == (True, True, "guided")
    click(page, "tick_hints", value="no")
    assert (page.sheet.hints, page.sheet.see_through, page.sheet.mode) == (False, False, "assessment")
    click(page, "tick_sealed", value="no")
    assert not page.sheet.sealed


@pytest.fixture
def own_call(tmp_path: Path) -> Path:
    """A call-out of the trainer's own, as the builder saves it."""
    book = (Path(__file__).parents[3] / "lessons" / "scenarios" / "teal_pond.scenario.yaml").read_text(
        "utf-8"
    )
    (tmp_path / "own").mkdir()
    own = re.sub(r"(?m)^title: .*$", "title: Ring at the pit", book).replace("seed: ", "seed: 1")
    file = tmp_path / "own" / "pit.scenario.yaml"
    file.write_text(own, "utf-8")
    return file


def first_row(page: SheetDesk) -> dict[str, Any]:
    return page.make().block("book")["rows"][0]


def test_a_call_of_ones_own_stands_first_with_its_minutes_and_is_chosen_by_them(
    page: SheetDesk, click, own_call: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    measured = []

    def effort(scenario: Any) -> Effort:
        measured.append(scenario.title)
        return Effort(minutes=26.0, steps=5.0, solved=1.0)

    monkeypatch.setattr(own_minutes, "effort", effort)
    page.refresh()
    first = first_row(page)
    assert first["cells"][0] == text("sheets.desk.own_call", title="Ring at the pit")
    assert first["cells"][3] == "26"
    click(page, "choose", id="minutes", value="30")
    assert first_row(page)["key"] == first["key"]
    click(page, "choose", id="minutes", value="20")
    assert first_row(page)["key"] != first["key"]
    click(page, "choose", id="minutes", value="all")
    click(page, "add", call=first["key"])
    assert page.make().block("list")["foot"] == text("sheets.desk.total", n="26")
    click(page, "add", call=SIX[0])
    again = SheetDesk(page.session)
    again.make()
    assert first_row(again)["cells"][3] == "26"
    assert measured == ["Ring at the pit"]  # once, and kept


def test_minutes_of_ones_own_that_are_not_worked_out_yet_say_so(
    page: SheetDesk, click, own_call: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def effort(scenario: Any) -> Effort:
        raise InputError("it cannot be played")

    monkeypatch.setattr(own_minutes, "effort", effort)
    page.refresh()
    click(page, "add", call=first_row(page)["key"])
    click(page, "add", call=SIX[0])
    assert first_row(page)["cells"][3] == "–"
    assert text("sheets.desk.total_without", n=1) in page.make().block("list")["foot"]


def test_a_name_that_is_known_signs_without_being_typed_again(page: SheetDesk, click) -> None:
    page.session.set_name("Gil Heron")
    click(page, "add", call=SIX[0])
    click(page, "hand_out")
    assert len(page._desk.given()) == 1


def test_without_a_name_nothing_is_signed(page: SheetDesk, click) -> None:
    click(page, "add", call=SIX[0])
    assert click(page, "hand_out")["sentence"] == text("sheets.desk.who_first")
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


def test_a_sheet_handed_out_is_kept_opens_again_and_prints_from_its_row(
    page: SheetDesk, click, new_session
) -> None:
    with_six(page, click)
    assert page.make().block("kept")["paragraphs"] == [text("sheets.desk.not_kept")]
    click(page, "hand_out")
    out = page.sheet
    assert page.make().block("kept")["paragraphs"] == [text("sheets.desk.kept_as", name="monday_morning")]
    after_lunch = SheetDesk(new_session())
    for part in (after_lunch.aim, after_lunch.make, after_lunch.out):
        part()
    assert after_lunch.sheet.calls == ()
    (row,) = after_lunch.out().block("given")["rows"]
    assert [each["html"] for each in row["papers"]] == [briefs_page(out), answers_page(out)]
    (first, *_) = row["buttons"]
    assert first["label"] == text("sheets.desk.load")
    said = click(after_lunch, first["action"], **first["args"])["sentence"]
    assert said == text("sheets.desk.said.loaded", title="Monday morning")
    assert after_lunch.sheet == out
    click(after_lunch, "take_back", sheet=out.id)
    assert load_sheet("monday_morning") == out  # it outlives the handing out
    click(after_lunch, "drop", number=0)
    assert after_lunch.make().block("kept")["paragraphs"] == [text("sheets.desk.not_kept")]
    assert text("sheets.not_given") in click(after_lunch, "open_given", sheet="no such")["sentence"]


def test_another_sheet_of_the_same_title_leaves_the_first_one_where_it_is(page: SheetDesk, click) -> None:
    with_six(page, click)
    first = page.sheet
    click(page, "hand_out")
    click(page, "clear")
    click(page, "add", call=SIX[3])
    click(page, "title", name="Monday morning")
    click(page, "save")
    assert saved_names() == ["monday_morning", "monday_morning_2"]
    assert load_sheet("monday_morning") == first
    click(page, "hand_out")
    assert saved_names() == ["monday_morning", "monday_morning_2"]


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
    assert click(page, "hand_out")["sentence"] == text("sheets.desk.said.out_alone", title="Monday morning")
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
        assert yard.page["envelope"]
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


def given_rows(home: StartHere, sheet: str) -> list[dict[str, Any]]:
    return home.welcome().block(f"given_{sheet}")["rows"]


def test_envelopes_opened_the_start_page_tells_the_marks_and_leads_to_how_it_went(
    page: SheetDesk, click, new_session, quick_marks
) -> None:
    with_six(page, click)
    click(page, "hand_out")
    learner = practice(new_session)
    yard = learner.calls()
    act(yard, "give_up")
    shut, _ = given_rows(StartHere(new_session()), page.sheet.id)[:2]
    assert (shut["cells"][1], shut["buttons"]) == (text("sheets.state.sealed"), [])
    click(page, "envelopes", sheet=page.sheet.id, open=True)
    home = StartHere(new_session())
    home.welcome()
    done, still = given_rows(home, page.sheet.id)[:2]
    assert done["cells"][1] == text("sheets.state.marked", marks="64")
    (way,) = done["buttons"]
    assert way["label"] == text("sheets.read")
    assert way["file"] == lesson("09").links("go", "09")["links"][0]["file"]
    assert still["buttons"] == []
    reads = practice(new_session).aim().block(f"given_{page.sheet.id}")["rows"][0]
    assert reads["cells"][1] == done["cells"][1]
    (there,) = reads["buttons"]
    assert way["hash"] == there["hash"]  # by which that page knows what is to be read


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
