"""Name and units are remembered on this machine; answers are kept once, whoever clicks twice or from two pages."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simulator.errors import InputError, RefusedAct
from simulator.panels.learner.session import GIVEN_NAME, OPENED_AT, LearnerSession, Work
from simulator.panels.lessons.registry import lesson
from simulator.records import data_folder
from simulator.texts import text


def test_name_and_units_are_remembered(new_session) -> None:
    session = new_session()
    assert (session.name, session.units) == ("", "metric")
    session.set_name("  Ash   Reed ")
    session.set_units("us")
    again = new_session()
    assert (again.name, again.units) == ("Ash Reed", "us")
    assert [path.name for path in data_folder().glob("*.json")] == ["learner.json"]


@pytest.mark.parametrize("name", ["x" * 61, "a\x00b"])
def test_a_name_that_cannot_be(new_session, name: str) -> None:
    with pytest.raises(InputError):
        new_session().set_name(name)


@pytest.mark.parametrize("content", ["", "[1]", '{"name": 5, "units": "ells"}', "{"])
def test_a_spoiled_file_is_no_name(new_session, content: str) -> None:
    data_folder().mkdir(parents=True, exist_ok=True)
    (data_folder() / "learner.json").write_text(content, encoding="utf-8")
    session = new_session()
    assert (session.name, session.units) == ("", "metric")


def test_without_records_one_can_still_learn(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    blocked = tmp_path / "a file, no folder"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv("SIMULATOR_DATA_DIR", str(blocked))
    session = LearnerSession()
    assert session.trouble
    work = Work(session, "01")
    assert work.keep("guess", "right", "a")
    session.set_name("Ash")
    assert session.name == "Ash"


def test_answers_survive_and_the_first_counts(new_session) -> None:
    work = Work(new_session(), "01")
    assert not work.begun
    assert work.keep("a", 1, "one")
    assert not work.keep("a", 2, "two")
    assert not work.keep("b", 2, "one")
    again = Work(new_session(), "01")
    assert again.answers == {"a": 1}
    assert (again.id, again.seed, again.begun) == (work.id, work.seed, True)
    assert Work(new_session(), "00").answers == {}


def test_two_pages_at_once_lose_nothing(new_session) -> None:
    first, second = Work(new_session(), "01"), None
    first.keep("a", 1, "one")
    second = Work(new_session(), "01")
    first.keep("b", 2, "two")
    assert second.keep("c", 3, "three")
    assert not second.keep("b", 9, "four")
    assert Work(new_session(), "01").answers == {"a": 1, "b": 2, "c": 3}


def test_work_is_kept_apart_by_name(new_session) -> None:
    session = new_session()
    session.set_name("Ash")
    Work(session, "01").keep("a", 1, "one")
    session.set_name("Elm")
    assert Work(session, "01").answers == {}
    session.set_name("Ash")
    assert Work(session, "01").answers == {"a": 1}


def test_a_new_sitting_has_fresh_chance_and_keeps_the_old_one(new_session) -> None:
    session = new_session()
    work = Work(session, "01")
    work.keep("a", 1, "one")
    work.finish(75.0, [])
    old, seed = work.id, work.seed
    work.begin_again()
    assert (work.answers, work.finished) == ({}, False)
    assert work.seed != seed
    assert Work(new_session(), "01").id == work.id
    assert session.total(old) == 75.0
    assert [row.attempt_id for row in session.rows("01")] == [old, work.id]


def test_records_hold_what_was_typed_and_no_more(new_session) -> None:
    session = new_session()
    session.set_name("Ash")
    work = Work(session, "00")
    work.keep("safety", True, "one")
    record = session.store.attempt_record(work.id)
    assert set(record) == {"learner", "lesson", "mode", "seed", "model_version"}
    assert set(json.loads((data_folder() / "learner.json").read_text(encoding="utf-8"))) == {"name", "units"}


@pytest.fixture
def opened_now(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the launcher tells the kernels of the lessons that it opened."""
    monkeypatch.setenv(OPENED_AT, "2026-01-01T00:00:00.000Z")


def test_a_second_name_in_the_same_lessons_is_told_and_takes_nothing_over(new_session, opened_now) -> None:
    first = new_session()
    first.set_name("Ash")
    work = Work(first, "01")
    work.keep("a", 1, "one")
    second = new_session()
    for name in ("Elm", ""):
        with pytest.raises(RefusedAct, match="in use under the name Ash"):
            second.set_name(name)
    assert (second.name, new_session().name) == ("Ash", "Ash")
    assert work.keep("b", 2, "two")
    assert Work(new_session(), "01").answers == {"a": 1, "b": 2}
    second.set_name("Ash")  # the same once more is no harm


def test_of_two_pages_without_a_name_the_first_name_holds(new_session, opened_now) -> None:
    first, second = new_session(), new_session()
    first.set_name("Ash")
    with pytest.raises(RefusedAct, match="Ash"):
        second.set_name("Elm")
    assert (second.name, new_session().name) == ("", "Ash")


def test_a_slip_is_mended_as_long_as_nothing_was_done(new_session, opened_now) -> None:
    session = new_session()
    session.set_name("Asj")
    session.set_name("Ash")
    assert new_session().name == "Ash"


def test_lessons_opened_anew_may_be_somebody_elses(new_session, opened_now, monkeypatch) -> None:
    first = new_session()
    first.set_name("Ash")
    Work(first, "01").keep("a", 1, "one")
    monkeypatch.setenv(OPENED_AT, "2999-01-01T00:00:00.000Z")
    second = new_session()
    second.set_name("Elm")
    assert Work(second, "01").answers == {}
    second.set_name("Ash")
    assert Work(second, "01").answers == {"a": 1}


def test_a_page_from_before_the_name_does_not_take_it_away(new_session) -> None:
    before, after = new_session(), new_session()
    after.set_name("Ash")
    before.set_units("us")
    before.set_in_file(3)
    assert (new_session().name, new_session().units) == ("Ash", "us")


def test_the_page_says_whose_lessons_they_are(opened_now) -> None:
    page, other = lesson("00"), lesson("00")
    sent = []
    part = other.welcome()
    part.send = sent.append
    page.act("name", {"name": "Ash"}, "a")
    page.act("safety", {}, "b")
    part._receive(part, {"kind": "do", "action": "name", "args": {"name": "Elm"}, "id": "c"}, [])
    assert sent == [
        {
            "kind": "done",
            "id": "c",
            "accepted": False,
            "sentence": text("lessons.home.name_in_use", name="Ash"),
        }
    ]
    assert page.answers == {"safety": True}


def test_in_a_class_the_name_is_the_one_of_the_log_in(new_session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(GIVEN_NAME, "Ada Quill")
    session: LearnerSession = new_session()
    assert session.name == "Ada Quill"
    with pytest.raises(RefusedAct, match="one you logged in with: Ada Quill"):
        session.set_name("Bo Marsh")
    assert session.name == new_session().name == "Ada Quill"
    session.set_name("Ada Quill")
    session.set_units("us")
    assert new_session().units == "us"


def test_in_a_class_a_page_asks_for_no_name_and_shows_no_desk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(GIVEN_NAME, "Ada Quill")
    page = lesson("00")
    shown = [block["id"] for part in (page.welcome(), page.what_next()) for block in part.content["blocks"]]
    assert "title" in shown
    assert not {"name", "first", "trainers", "desks"} & set(shown)
