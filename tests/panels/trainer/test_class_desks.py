"""The board and the page for after class, without a browser: the records of this machine, three people, six plays."""

from __future__ import annotations

import base64
import csv
import io
import json
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from simulator.attempt import Attempt
from simulator.attempt.samples import OUTSIDE
from simulator.diagnosis.words import fault_name
from simulator.panels.lessons.registry import DESKS, lesson
from simulator.panels.trainer.after_class.blocks import danger_words
from simulator.panels.trainer.after_class.page import AfterClass
from simulator.panels.trainer.class_board.page import ClassBoard
from simulator.records import Store, data_folder
from simulator.rig.faults import FAULTS
from simulator.texts import text
from tests.classroom.taught import (
    ADA,
    BEGAN,
    BO,
    CY,
    OfThePage,
    Ticking,
    begin,
    book_call,
    end,
    watch,
    worked,
)

Click = Callable[..., dict[str, Any]]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str], datetime]:
    """The records once for all tests: each has a copy."""
    folder, at = tmp_path_factory.mktemp("taught"), Ticking()
    with Store.open(folder / "records.sqlite3", now=at) as store:
        ids = worked(store)
    return folder, ids, at.at


@pytest.fixture
def ids(made: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, clock: Any) -> dict[str, str]:
    folder, found, at = made
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    shutil.copytree(folder, data_folder(), dirs_exist_ok=True)
    clock.time = at
    return dict(found)


@pytest.fixture
def board(ids: dict[str, str], new_session: Callable[[], Any]) -> ClassBoard:
    made = ClassBoard(new_session())
    made.aim(), made.board(), made.one(), made.what_next()
    return made


@pytest.fixture
def after(ids: dict[str, str], new_session: Callable[[], Any], click: Click) -> AfterClass:
    made = AfterClass(new_session())
    for part in (made.aim, made.people, made.play, made.hard, made.off, made.out, made.keep, made.what_next):
        part()
    click(made, "who", name="R. Ferrow")
    return made


def rows(part: Any, block: str) -> dict[str, list[Any]]:
    return {row["key"]: row["cells"] for row in part.block(block)["rows"]}


def plain(cells: list[Any]) -> list[str]:
    return [cell["text"] if isinstance(cell, dict) else cell for cell in cells]


def said(part: Any, block: str) -> list[list[str]]:
    return [plain(row["cells"]) for row in part.block(block)["rows"]]


def test_they_are_desks_and_the_home_leads_there(ids: dict[str, str]) -> None:
    links = [link["file"] for link in lesson("00").what_next().block("desks")["links"]]
    assert {DESKS["board"].notebook, DESKS["after"].notebook} <= set(links)


# the board


def test_the_board_says_where_everybody_is(board: ClassBoard) -> None:
    found = rows(board.board(), "people")
    assert list(found) == [ADA, BO, CY]
    drain = book_call("drain_open")
    assert plain(found[CY])[1] == text("class_board.call", title=drain.title)
    assert plain(found[CY])[2] == text("class_board.engine.running", s=30)
    assert plain(found[CY])[5] == text("class_board.state.working")
    assert plain(found[ADA])[5] == text("class_board.state.done")
    assert float(plain(found[CY])[3]) > 0
    assert text("class_board.heading", n=3, working=1) == board.board().block("heading")["text"]


def test_who_stands_still_is_marked_and_then_is_gone(board: ClassBoard, clock: Any) -> None:
    clock.time += timedelta(minutes=6)
    board.refresh()
    found = rows(board.board(), "people")
    assert found[CY][5] == {"text": text("class_board.state.standing"), "tone": "wait"}
    assert plain(found[CY])[4] == text("class_board.ago", n=6)
    clock.time += timedelta(minutes=60)
    board.refresh()
    assert plain(rows(board.board(), "people")[CY])[5] == text("class_board.state.away")


def test_a_breach_is_marked_while_it_goes_on(
    ids: dict[str, str], board: ClassBoard, click: Click, clock: Any
) -> None:
    with Store.open(now=clock) as store:
        attempt = begin(store, BO, book_call("strainer_clogs"))
        attempt.act("stop_engine")
        attempt.act("check", {"check": "belt"})
    board.following.look()
    board.follow()
    assert rows(board.board(), "people")[BO][5]["tone"] == "bad"
    click(board, "show", value="stuck")
    assert list(rows(board.board(), "people")) == [BO]


def test_a_run_that_was_just_started_is_not_told_by_the_second_of_the_run_before(
    ids: dict[str, str], board: ClassBoard, click: Click, clock: Any
) -> None:
    with Store.open(now=clock) as store:
        attempt = begin(store, BO, book_call("strainer_clogs"))
        watch(attempt, 60)
        attempt.act("stop_engine")
        before = attempt.shown
        assert attempt.act("start_engine").accepted
        board.following.look()
        board.follow()
        assert plain(rows(board.board(), "people")[BO])[2] == text("class_board.engine.running", s=0)
        attempt.see(4.0)
    board.following.look()
    assert before >= 60.0
    board.follow()
    assert plain(rows(board.board(), "people")[BO])[2] == text("class_board.engine.running", s=4)


def test_whose_page_is_open_is_there_before_anything_is_done(board: ClassBoard, monkeypatch) -> None:
    known = board.following.known
    known.accounts |= {"Dee Fenn": "learner-4", "Eli Moor": "learner-5"}
    known.open = frozenset({CY, "Dee Fenn"})
    board.refresh()
    assert board.board().block("heading")["text"] == text("class_board.heading_open", n=5, pages=2, working=1)
    found = rows(board.board(), "people")
    assert [found[name][5] for name in ("Dee Fenn", "Eli Moor")] == [
        text(f"class_board.state.{state}") for state in ("here", "nothing")
    ]


def test_while_the_work_of_somebody_is_fetched_the_page_says_so(
    board: ClassBoard, click: Click, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Under:
        over = False

        def __init__(self, *_: Any) -> None:
            pass

    monkeypatch.setattr("simulator.panels.trainer.class_board.page.DebriefWork", Under)
    click(board, "look", name=CY)
    assert board.one().block("coming")["paragraphs"] == [text("class_board.one.coming", name=CY)]


def test_outside_a_class_nobody_can_be_held(board: ClassBoard) -> None:
    assert "hold" not in {block["id"] for block in board.board().content["blocks"]}


def test_in_a_class_all_are_held_and_go_on(
    board: ClassBoard, click: Click, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []

    def hold(on: bool) -> None:
        asked.append(on)
        board.following.known.held = on

    monkeypatch.setattr("simulator.panels.trainer.class_board.page.in_a_class", lambda: True)
    monkeypatch.setattr(board.following.watch, "hold", hold)
    monkeypatch.setattr(board.following, "look", lambda: True)
    board.refresh()
    for labels, words in (("all", "done"), ("go_on", "over")):
        (button,) = board.board().block("hold")["buttons"]
        assert button["label"] == text(f"class_board.hold.{labels}")
        assert click(board, button["action"], **button["args"])["sentence"] == text(
            f"class_board.hold.{words}"
        )
    assert asked == [True, False]


def test_the_wall_shows_what_is_seen_from_outside_without_name_or_truth(
    ids: dict[str, str], board: ClassBoard, click: Click
) -> None:
    click(board, "look", name=CY)
    block = board.one().block("wall")
    told = json.dumps(block)
    truth = board.one().block("facts")["paragraphs"][-1].partition(": ")[2]  # for the trainer alone
    assert truth
    assert CY not in told
    assert truth not in told
    assert not block["page"]["see_through"]
    samples = block["samples"]
    rows = np.frombuffer(base64.b64decode(block["rows"]), "<f4").reshape(samples["count"], -1)
    assert rows.shape[1] == len(samples["channels"])
    assert set(samples["channels"]) == set(OUTSIDE)
    assert block["shown"] == pytest.approx(30.0)
    assert (samples["count"] - 1) * samples["step"] == pytest.approx(30.0, abs=0.3)  # no later second


def test_one_is_looked_at_live_as_they_see_it(
    ids: dict[str, str], board: ClassBoard, click: Click, clock: Any
) -> None:
    click(board, "look", name=CY)
    part = board.one()
    notes = said(part, "notes")
    assert len(notes) >= 4
    dials = {item["spec"]["id"]: item["value"] for item in part.block("dials")["items"]}
    assert set(dials) >= {"suction"}
    points = part.block("curve")["figure"]["data"][0]["x"]
    assert points[-1] == pytest.approx(30.0, abs=0.6)  # the second that the learner sees, and no later one
    with Store.open(now=clock) as store:
        from simulator.attempt import Attempt

        attempt = Attempt.resume(store, ids["cy now"])
        watch(attempt, 45)
        attempt.act("stop_engine")
        mine = attempt.snapshot().notes
    board.following.look()
    board.follow()
    assert [note["text"] for note in reversed(mine)] == [row[1] for row in said(board.one(), "notes")]
    assert plain(rows(board.board(), "people")[CY])[2] == text("class_board.engine.stopped")
    click(board, "close")
    assert board.one().content["blocks"] == []


def test_records_that_do_not_replay_are_told(
    board: ClassBoard, click: Click, monkeypatch: pytest.MonkeyPatch
) -> None:
    from simulator.errors import ReplayError
    from simulator.panels.trainer.class_board import one_call

    def no_replay(*_: Any) -> None:
        raise ReplayError(1, 2, "0.0.1")

    monkeypatch.setattr(one_call.Attempt, "resume", no_replay)
    click(board, "look", name=CY)
    assert "cannot be played again" in " ".join(board.one().block("facts")["paragraphs"])


def test_who_plays_without_a_name_is_told_so_and_a_call_passed_over_is_no_work(
    ids: dict[str, str], board: ClassBoard, after: AfterClass, click: Click, clock: Any
) -> None:
    with Store.open(now=clock) as store:
        passed_over = Attempt(
            book_call("strainer_clogs"), OfThePage(store, "book"), learner="", mode="practice"
        )
        store.end_attempt(passed_over.id, "left")
        attempt = begin(store, "", book_call("drain_open"))
        attempt.act("check", {"check": "belt"})
    board.following.look()
    board.follow()
    nameless = text("classroom.without_a_name")
    assert plain(rows(board.board(), "people")[""])[0] == nameless
    assert board.one().content["blocks"] == []  # nobody was chosen
    click(board, "look", name="")
    assert nameless in board.one().block("heading")["text"]
    click(board, "close")
    assert board.one().content["blocks"] == []
    again = AfterClass(board.session)
    mine = [row for row in said(again.people(), "plays") if row[0] == nameless]
    assert len(mine) == 1
    assert plain(rows(again.people(), "by_person")[""])[:2] == [nameless, "1 of 1"]


def test_nobody_yet(new_session: Callable[[], Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    board = ClassBoard(new_session())
    assert board.board().block("people")["none"] == text("class_board.none")
    after = AfterClass(new_session())
    assert text("after_class.choose.none") in after.people().block("count")["paragraphs"]
    assert after.hard().block("hard_calls")["rows"] == []


# after class


def test_people_calls_and_plays(after: AfterClass, click: Click) -> None:
    people = rows(after.people(), "by_person")
    assert people[ADA] == [ADA, "2 of 2", "79", "2 of 2", "2 of 2", people[ADA][5], "0", "0"]
    assert people[BO][1:5] == ["2 of 2", "37", "0 of 2", "0 of 2"]
    assert people[BO][7] == "1"
    assert people[CY][1:3] == ["1 of 2", ""]
    drain = book_call("drain_open")
    calls = {cells[0]: plain(cells) for cells in rows(after.people(), "by_call").values()}
    assert calls[drain.title][2:5] == ["2 of 3", "64", "1 of 2"]
    assert "(1)" in calls[drain.title][6]
    assert len(after.people().block("plays")["rows"]) == 6


def test_it_is_chosen_by_person_rig_trouble_and_day(after: AfterClass, click: Click) -> None:
    part = after.people()

    def names() -> set[str]:
        return {row[0] for row in said(part, "plays")}

    click(after, "person", name=BO)
    assert names() == {BO}
    click(after, "choose", field="person", value="")
    click(after, "choose", field="trouble", value=FAULTS["strainer_clogs"].family)
    assert names() == {ADA, CY}
    click(after, "choose", field="trouble", value="")
    click(after, "choose", field="rig", value=book_call("drain_open").rig)
    assert len(part.block("plays")["rows"]) < 6
    click(after, "choose", field="rig", value="")
    click(after, "choose", field="first", value=(BEGAN + timedelta(days=1)).date().isoformat())
    assert text("after_class.choose.none") in part.block("count")["paragraphs"]
    click(after, "choose", field="last", value="yesterday")
    assert part.block("bad_day")["paragraphs"] == [text("after_class.choose.bad_day")]
    click(after, "choose", field="first", value="")
    assert len(part.block("plays")["rows"]) == 6


def test_one_play_marks_looks_and_certainty(ids: dict[str, str], after: AfterClass, click: Click) -> None:
    click(after, "open", attempt=ids["bo drain"])
    part = after.play()
    assert said(part, "play_marks")[-1] == [text("after_class.one.marks"), "41", "100"]
    looks = " ".join(words for _, words in said(part, "play_looks"))
    assert text("checks.walk_round.label") in looks
    assert text("safe_work.dangers.moving_open") in looks
    figure = part.block("play_curve")["figure"]
    assert figure["data"][0]["y"][-1] == 0.0  # no marker on what was wrong
    click(after, "open", attempt=ids["ada drain"])
    assert after.play().block("play_curve")["figure"]["data"][0]["y"][-1] == 8.0
    click(after, "open", attempt=ids["cy strainer"])
    assert after.play().block("play_marks")["none"] == text("after_class.one.not_marked")
    click(after, "close")
    assert after.play().content["blocks"] == []


def test_a_remark_is_a_word_of_its_own_and_changes_nothing(
    ids: dict[str, str], after: AfterClass, click: Click
) -> None:
    with Store.open() as store:
        before = [store.log(each) for each in ids.values()], [store.marks(each) for each in ids.values()]
    attempt = ids["bo drain"]
    click(after, "open", attempt=attempt)
    assert click(after, "remark", attempt=attempt, text="Look at the drain first.", total="55")["accepted"]
    click(after, "remark", attempt=attempt, text="=1+1", total="")
    with Store.open() as store:
        assert (
            [store.log(each) for each in ids.values()],
            [store.marks(each) for each in ids.values()],
        ) == before
        assert {row.attempt_id for row in store.list_attempts(BO)} == {ids["bo drain"], ids["bo sound"]}
    assert len(after.play().block("play_said")["items"]) == 2
    assert "R. Ferrow" in after.play().block("play_said")["items"][0]
    for wrong, sentence in (
        ({"text": "", "total": ""}, "empty"),
        ({"text": "x", "total": "101"}, "bad_marks"),
        ({"text": "x", "total": "many"}, "bad_marks"),
        ({"text": "x" * 2001}, "too_long"),
    ):
        answer = click(after, "remark", attempt=attempt, **wrong)
        assert not answer["accepted"]
        assert text(f"after_class.word.{sentence}").rstrip(".") in answer["sentence"]


def test_without_a_name_nothing_is_said(
    ids: dict[str, str], new_session: Callable[[], Any], click: Click
) -> None:
    made = AfterClass(new_session())
    made.aim()
    answer = click(made, "remark", attempt=ids["bo drain"], text="Well looked.")
    assert not answer["accepted"]
    assert text("after_class.word.no_name").rstrip(".") in answer["sentence"]


def test_what_was_hard_and_unsafe(after: AfterClass) -> None:
    part = after.hard()
    marks = [float(cells[2]) for cells in said(part, "hard_calls")]
    assert marks == sorted(marks)
    assert said(part, "hard_calls")[0][0] == book_call("").title
    assert said(part, "hard_troubles")[0][0] == text("faults.families.none")
    ((how, danger, times, who),) = said(part, "unsafe")
    assert (how, times, who) == (text("class_board.breach.serious"), "1", BO)
    assert danger == text("safe_work.dangers.moving_open")


def test_a_breach_that_names_no_danger_is_told_in_words(
    ids: dict[str, str], new_session: Callable[[], Any], click: Click, clock: Any
) -> None:
    """Pressed, warned, and left: the warning told the danger; a pump that ran dry: what was let happen."""
    with Store.open(now=clock) as store:
        attempt = begin(store, ADA, book_call("joint_ring"))
        attempt.act("nearly", {"act": "check", "args": {"check": "belt"}}, "", 5.0)
        assert attempt.log[-1]["breach"] == "minor"
    made = AfterClass(new_session())
    made.aim()
    told = {(how, danger) for how, danger, _, who in said(made.hard(), "unsafe") if ADA in who}
    assert told == {(text("class_board.breach.serious"), text("safe_work.dangers.moving_open"))}
    assert danger_words("ran_dry").startswith("The pump ran without water")
    assert danger_words("") == danger_words("nearly") == text("after_class.hard.danger_unknown")


def test_the_table_of_sign_offs(after: AfterClass, click: Click, clock: Any) -> None:
    part = after.off()
    drain = book_call("drain_open")
    whom = {"person": ADA, "rig": drain.rig, "trouble": "air_gets_in"}

    def line() -> list[str]:
        (found,) = [row for row in said(part, "sign_offs") if row[0] == ADA and row[2] == "air gets in"]
        return found

    assert line()[3:5] == ["1 of 1", "86"]
    assert line()[5:] == ["", "", ""]
    click(after, "months", value="6")
    assert click(after, "sign", **whom)["accepted"]
    assert line()[5:] == ["2026-03-02", "R. Ferrow", "2026-09-02"]
    assert "R. Ferrow" in part.block("off_print")["html"]
    clock.wait(200)
    click(after, "again")
    assert line()[7] == text("after_class.sign_offs.over", day="2026-09-02")
    click(after, "unsign", **whom)
    assert line()[5:] == ["", "", ""]
    assert not click(after, "sign", person=ADA, rig=drain.rig, trouble="nonsense")["accepted"]


def test_how_a_call_in_an_envelope_ended_is_for_the_trainer_to_know(
    ids: dict[str, str], board: ClassBoard, click: Click, clock: Any
) -> None:
    with Store.open(now=clock) as store:
        store.end_attempt(ids["cy strainer"], "sealed")
    board.following.look()
    at = board.following.known.attempts[ids["cy strainer"]]
    assert (at.ended, at.finished) == ("given_up", True)


def test_files_to_take_away(ids: dict[str, str], after: AfterClass, click: Click) -> None:
    click(after, "remark", attempt=ids["bo drain"], text="=HYPERLINK(1)", total="55")
    assert all(block["id"] != "files" for block in after.out().content["blocks"])
    click(after, "make")
    files = {file["name"].split("-2026")[0]: file["text"] for file in after.out().block("files")["files"]}
    table = list(csv.DictReader(io.StringIO(files["calls"])))
    assert len(table) == 6
    row = next(each for each in table if each["attempt_id"] == ids["bo drain"])
    assert row["remark"] == "'=HYPERLINK(1)"
    assert (row["marks_of_100"], row["trainers_marks_of_100"], row["passed"]) == ("41.0", "55.0", "no")
    assert {"yard_min", "marks_of_100", "begun_utc"} <= row.keys()  # figures say their unit
    # words of the pages first, the names that programs use last
    assert [row[name] for name in ("what_was_wrong", "fault_names", "kind_of_trouble")] == [
        *(fault_name("drain_open"), "drain_open", text("faults.families.air_gets_in")),
    ]
    assert datetime.fromisoformat(row["begun"]) == datetime.fromisoformat(row["begun_utc"])
    # seven of ten markers on the belt, which was sound; and the breach under the word of the pages
    marked = (row["markers_on_taken_for_of_10"], row["markers_on_what_was_wrong_of_10"])
    assert (row["taken_for"], *marked) == (fault_name("belt_loose"), "7", "0")
    assert [row[name] for name in ("breaches", "minor_breaches", "serious_breaches", "grave_breaches")] == [
        *("1", "0", "1", "0"),
    ]
    signs = list(csv.DictReader(io.StringIO(files["sign-offs"])))
    assert {each["learner"] for each in signs} == {ADA, BO, CY}
    verbs = [each["verb"]["id"].rpartition("/")[2] for each in json.loads(files["statements"])]
    assert {verb: verbs.count(verb) for verb in set(verbs)} == {
        "attempted": 6, "completed": 5, "passed": 2, "failed": 2, "commented": 1,
    }  # fmt: skip
    report = after.out().block("report")["html"]
    assert "=HYPERLINK(1)" in report
    assert "<script" not in report
    click(after, "person", name=ADA)
    assert all(block["id"] != "files" for block in after.out().content["blocks"])  # made of what is looked at


def test_a_copy_and_a_person_taken_out(ids: dict[str, str], after: AfterClass, click: Click) -> None:
    click(after, "remark", attempt=ids["bo drain"], text="Look first.")
    answer = click(after, "backup")
    assert answer["accepted"]
    assert "looked over: 7." in answer["sentence"]  # six plays and the trainer's words
    assert text("after_class.keep.nobody") == click(after, "remove", name="Nobody")["sentence"]
    assert BO in click(after, "remove", name=BO)["sentence"]
    assert BO in rows(after.people(), "by_person")
    assert click(after, "remove", name=BO)["sentence"] == text("after_class.keep.removed", n=2)
    assert list(rows(after.people(), "by_person")) == [ADA, CY]
    with Store.open() as store:
        assert {row.learner for row in store.list_attempts()} == {ADA, CY}


def test_a_name_that_looks_like_markup_stays_text(new_session: Callable[[], Any], click: Click, tmp_path: Path,
                                                  monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    odd = "<img src=x onerror=alert(1)>"
    with Store.open() as store:
        end(begin(store, odd, book_call("drain_open")), "drain_open", 8, 86.0)
    after = AfterClass(new_session())
    after.out(), after.off()
    click(after, "make")
    assert "<img" not in after.out().block("report")["html"]
    assert "<img" not in after.off().block("off_print")["html"]
