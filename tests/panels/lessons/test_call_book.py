"""The practice yard offers the call-outs of the yard's book by number, place and rig, and tells nothing else of them."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from simulator.panels.learner.session import LearnerSession
from simulator.panels.lessons.practice_yard.call_book import read_book, whole_book
from simulator.panels.lessons.practice_yard.page import Practice
from simulator.panels.lessons.practice_yard.yard import PracticeYard
from simulator.records import Store
from simulator.rig.faults import FAMILIES, FAULTS
from simulator.scenario import SiteChoice, save_scenario
from tests.panels.exercise.conftest import Desk, call_out


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "records.sqlite3") as opened:
        yield opened


def at(panel: PracticeYard) -> Desk:
    return Desk(panel).listen()


def labels(yard: Desk) -> dict[str, str]:
    return {row["id"]: row["label"] for row in yard.panel.page["yard"]["levels"]}


def test_the_book_holds_every_shipped_call_out() -> None:
    book = read_book()
    assert [call.number for call in book] == list(range(1, len(book) + 1))
    assert len(book) >= 40
    assert {call.level for call in book} == {1, 2, 3, 4, 5}
    assert len({call.hash for call in book}) == len(book)


def test_an_empty_folder_and_calls_without_a_level(tmp_path: Path) -> None:
    assert read_book(tmp_path) == ()
    plain = call_out(("drain_open", 0.5)).model_copy(
        update={"site": SiteChoice(name="Teal Pond", lift_m=3.0)}
    )
    save_scenario(plain, tmp_path / "a.scenario.yaml")
    save_scenario(plain.model_copy(update={"level": 2}), tmp_path / "b.scenario.yaml")
    assert [(call.number, call.place, call.level) for call in read_book(tmp_path)] == [(None, "Teal Pond", 2)]


def test_a_file_that_cannot_be_used_is_left_out_and_named(tmp_path: Path, monkeypatch) -> None:
    folder = tmp_path / "scenarios"
    folder.mkdir()
    call = call_out(("drain_open", 0.5)).model_copy(update={"level": 2, "number": 7})
    save_scenario(call, folder / "good.scenario.yaml")
    (folder / "words.scenario.yaml").write_text("words", encoding="utf-8")
    (folder / "place.scenario.yaml").write_text(
        (folder / "good.scenario.yaml").read_text(encoding="utf-8").replace("drain_open", "drain_opn"),
        "utf-8",
    )
    (folder / "folder.scenario.yaml").mkdir()
    (folder / "link.scenario.yaml").symlink_to(tmp_path / "nowhere")
    os.mkfifo(folder / "pipe.scenario.yaml")
    book = whole_book(folder)
    assert [found.scenario for found in book.calls] == [call]
    named = {sentence.partition(",")[0].partition(":")[0] for sentence in book.left_out}
    assert named == {f"{name}.scenario.yaml" for name in ("words", "place", "folder", "link", "pipe")}
    assert any("did you mean 'drain_open'" in sentence for sentence in book.left_out)
    monkeypatch.chdir(tmp_path)
    with Store.open("sqlite://") as store:
        page = Practice(LearnerSession(store, folder=tmp_path / "desk"))
        said = page.aim().block("left_out")["paragraphs"]
        assert len(said) == 1 + 5
        assert page.calls().page["yard"]["levels"], "the yard goes on"


def test_no_number_shifts_when_a_file_is_added(tmp_path: Path) -> None:
    call = call_out(("drain_open", 0.5)).model_copy(update={"level": 2})
    for name, number in (("m", 3), ("n", 12), ("own", None)):
        save_scenario(call.model_copy(update={"number": number}), tmp_path / f"{name}.scenario.yaml")
    before = {found.key: found.number for found in read_book(tmp_path)}
    assert list(before.values()) == [3, 12, None]
    save_scenario(call.model_copy(update={"number": 5}), tmp_path / "a.scenario.yaml")
    save_scenario(call, tmp_path / "b.scenario.yaml")
    after = {found.key: found.number for found in read_book(tmp_path)}
    assert before.items() <= after.items()
    assert len(after) == 5
    save_scenario(call.model_copy(update={"number": 5}), tmp_path / "z.scenario.yaml")
    book = whole_book(tmp_path)
    assert len(book.calls) == 6
    assert book.left_out == (
        "z.scenario.yaml: number 5 is that of a.scenario.yaml too. The call stands in the book without a number.",
    )


def test_calls_beside_the_open_lesson_come_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "scenarios").mkdir()
    monkeypatch.chdir(tmp_path)
    assert read_book() == ()
    call = call_out(("drain_open", 0.5)).model_copy(update={"level": 2})
    save_scenario(call, tmp_path / "scenarios" / "own.scenario.yaml")
    assert [found.scenario for found in read_book()] == [call]


def test_the_yard_offers_the_levels_of_the_book(store: Store) -> None:
    yard = at(PracticeYard(level="first", learner="Ash", store=store))
    assert {"first", "usual", "hard", *(f"book_{level}" for level in range(1, 6))} == set(labels(yard))
    assert yard.act("yard_level", {"level": "book_3"})["accepted"]
    wanted = {f"book_3-{call.number}" for call in read_book() if call.level == 3}
    assert wanted == {name for name in labels(yard) if "-" in name}


def test_every_call_of_a_level_comes_once_before_one_comes_again(store: Store) -> None:
    yard = at(PracticeYard(level="book_4", learner="Ash", store=store))
    there = {call.scenario.title for call in read_book() if call.level == 4}
    seen = [yard.panel.attempt.scenario.title]
    for number in range(len(there) - 1):
        yard.act("put_on_ppe")
        yard.act("yard_next", id=f"a{number}")
        yard.act("yard_next", id=f"b{number}")
        seen.append(yard.panel.attempt.scenario.title)
    assert sorted(seen) == sorted(there)
    yard.act("yard_next", id="more")
    assert yard.panel.attempt.scenario.title in there


def test_one_call_can_be_picked_by_its_number(store: Store) -> None:
    call = next(call for call in read_book() if call.rig == "Reed" and call.level == 3)
    yard = at(PracticeYard(level="book_3", learner="Ash", store=store))
    name = f"book_3-{call.number}"
    assert labels(yard)[name] == f"No. {call.number}: {call.place}, Reed"
    assert yard.act("yard_level", {"level": name})[
        "accepted"
    ]  # the first call waits: it is another one at once
    assert yard.panel.attempt.scenario == call.scenario
    assert yard.panel.page["yard"]["level"] == "book_3"
    yard.act("put_on_ppe")
    other = next(one for one in read_book() if one.level == 3 and one != call)
    name = f"book_3-{other.number}"
    assert yard.act("yard_level", {"level": name})["accepted"]  # begun: the next one
    assert yard.panel.page["yard"]["level"] == name
    assert yard.panel.attempt.scenario == call.scenario
    yard.act("yard_next", id="a")
    yard.act("yard_next", id="b")
    assert yard.panel.attempt.scenario == other.scenario
    again = PracticeYard(level="first", learner="Ash", store=store)
    assert again.attempt.id == yard.panel.attempt.id or len(yard.panel.attempt.log) == 1
    for wrong in ("book_6", "book_3-0", "book_", "book_x"):
        assert not yard.act("yard_level", {"level": wrong})["accepted"]


def test_the_page_tells_no_answer(store: Store) -> None:
    for call in read_book()[::9]:
        yard = at(PracticeYard(level=f"book_{call.level}", learner=f"Ash {call.number}", store=store))
        yard.act("yard_level", {"level": f"book_{call.level}-{call.number}"})
        assert yard.panel.attempt.scenario == call.scenario
        offered = json.dumps(yard.panel.page["yard"])
        assert not any(name in offered for name in (*FAULTS, *FAMILIES) if name not in ("sound", "none"))
        assert "own_mistake" not in json.dumps(yard.panel.page)
