"""Take your work with you: saved and loaded from the home page, and asked for where the machine forgets."""

from __future__ import annotations

import base64
import gzip
import json
from collections.abc import Callable
from typing import Any

import pytest

from simulator.panels.learner.progress import lesson_state
from simulator.panels.learner.session import LearnerSession
from simulator.panels.learner.work_transfer import EPHEMERAL, PIECE
from simulator.panels.lessons.practice_yard.page import Practice
from simulator.panels.lessons.start_here.page import StartHere
from simulator.panels.page.part import LessonPart
from simulator.records import Store
from tests.panels.lessons.test_start_here import do_all, open_home


@pytest.fixture(autouse=True)
def usual_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in EPHEMERAL:
        monkeypatch.delenv(name, raising=False)


def ask(part: LessonPart, **message: Any) -> dict[str, Any]:
    said: list[dict[str, Any]] = []
    send, part.send = part.send, lambda content, buffers=None: said.append(content)
    part._receive(part, {"kind": "carry", "id": "1", **message}, [])
    part.send = send
    assert len(said) == 1
    assert said[0]["kind"] == "carried"
    return said[0]


def saved(part: LessonPart) -> bytes:
    first = ask(part, what="save", n=0)
    pieces = [first, *(ask(part, what="save", n=n) for n in range(1, first["of"]))]
    ask(part, what="saved")
    return gzip.decompress(b"".join(base64.b64decode(each["data"]) for each in pieces))


def load(part: LessonPart, data: bytes) -> dict[str, Any]:
    cut = [data[at : at + PIECE] for at in range(0, len(data), PIECE)] or [b""]
    for n, piece in enumerate(cut):
        answer = ask(part, what="load", n=n, of=len(cut), data=base64.b64encode(piece).decode())
    return answer


@pytest.fixture
def other_machine(clock: Any, tmp_path: Any) -> Callable[[str], LearnerSession]:
    def make(name: str = "other") -> LearnerSession:
        return LearnerSession(Store.open(tmp_path / name, now=clock), folder=tmp_path / name, now=clock)

    return make


def kinds(part: LessonPart) -> list[str]:
    return [block["id"] for block in part.content["blocks"]]


def test_work_goes_to_another_machine_with_its_name(new_session, click, other_machine) -> None:
    page = open_home(new_session())
    do_all(page, click)
    click(page, "units", value="us")
    data = saved(page.take_along())
    assert json.loads(data)["learner"] == "Ash"
    there = open_home(other_machine())
    there.take_along()
    answer = load(there.take_along(), data)
    assert answer["accepted"]
    assert answer["sentence"] == "Your work is here."
    assert there.session.name == "Ash"
    assert there.units == "us"
    assert lesson_state(there.session, "00") == ("done", "done: 100 of 100")
    assert there.welcome().block("title")["lead"].startswith("Good to see you, Ash")
    assert there.safety().block("safety")["done"]
    assert "all your work" in there.take_along().block("carry")["says"][0].lower()
    again = load(there.take_along(), data)
    assert again["sentence"].startswith("All that is in this file was here before")


def test_somebody_elses_file_does_not_change_who_works_here(new_session, click, other_machine) -> None:
    page = open_home(new_session())
    do_all(page, click)
    data = saved(page.take_along())
    there = open_home(other_machine())
    click(there, "name", name="Bo")
    click(there, "safety")
    answer = load(there.take_along(), data)
    assert there.session.name == "Bo"
    assert "under the name Ash" in answer["sentence"]
    click(there, "name", name="Ash")
    assert lesson_state(there.session, "00")[0] == "done"


def test_a_bad_file_gets_a_sentence_and_changes_nothing(new_session, click) -> None:
    page = open_home(new_session())
    do_all(page, click)
    data = saved(page.take_along())
    before = page.session.store.list_attempts()
    for bad, word in ((b"hello", "not a work file"), (data[:-40], "damaged"), (b"", "not a work file")):
        answer = load(page.take_along(), bad)
        assert not answer["accepted"]
        assert word in answer["sentence"]
        assert ".." not in answer["sentence"]
    assert not ask(page.take_along(), what="load", n=3, of=5, data="")["accepted"]
    assert not ask(page.take_along(), what="load", n=0, of=2, data="???")["accepted"]
    assert not ask(page.take_along(), what="save", n="x")["accepted"]
    assert page.session.store.list_attempts() == before


def test_where_the_machine_forgets_it_is_said_until_all_is_in_a_file(new_session, click, monkeypatch) -> None:
    quiet = open_home(new_session())
    assert "carry_passing" not in kinds(quiet.welcome())
    assert quiet.take_along().block("carry")["urgent"] is False
    monkeypatch.setenv("BINDER_SERVICE_HOST", "10.0.0.1")
    page = open_home(new_session())
    assert "carry_passing" in kinds(page.welcome())
    practice = Practice(new_session())
    assert "passing" in kinds(practice.aim())
    assert "carry" not in kinds(practice.what_next())
    do_all(page, click)
    assert page.welcome().block("carry")["urgent"] is True
    practice = Practice(new_session())
    assert practice.what_next().block("carry")["urgent"] is True
    saved(practice.what_next())
    assert "carry" not in kinds(practice.what_next())
    page.refresh()
    assert "carry" not in kinds(page.welcome())
    click(page, "again", turn=0)
    assert page.welcome().block("carry")["urgent"] is True
    assert StartHere(new_session()).take_along().block("carry")["urgent"] is True
