"""Lesson 10 in a class: the sitting is drawn, played, marked and signed at the service, and read here once it is over."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any

import pytest

from simulator.classroom.asking import hands_out
from simulator.classroom.kept_sealed import OWN, played_at_service
from simulator.classroom.line import Line, Refused
from simulator.marking.bank import bank
from simulator.marking.certificate import Sitting, history
from simulator.panels.learner.session import LearnerSession
from simulator.panels.lessons.assessment.page import Assessment
from simulator.records import Store
from simulator.scenario import scenario_hash
from simulator.texts import text
from tests.sealed.conftest import Room, SealedService

ADA = "Ada Quill"


@pytest.fixture
def lesson(at_ada: Store) -> Assessment:
    return Assessment(LearnerSession(at_ada))


def press(lesson: Assessment, action: str, **args: Any) -> None:
    getattr(lesson, f"on_{action}")(args, f"click {action}")
    lesson.refresh()


def give_up(lesson: Assessment, number: int) -> None:
    panel = lesson._case.panel
    assert panel is not None
    accepted, _ = panel.played.act("put_on_ppe", {}, f"gear {number}", None)
    assert accepted
    assert panel.played.act("give_up", {}, f"up {number}", None)[0]
    panel._refresh()


@pytest.mark.full
@pytest.mark.parametrize("accounts", ["shared", OWN])
def test_a_sitting_to_its_signed_sheet(
    accounts: str, room: Room, lesson: Assessment, at_ada: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    if accounts == OWN:
        room.sealed.go()
        monkeypatch.setattr(SealedService, "accounts", OWN)
        room.sealed.come()
    monkeypatch.setattr("simulator.panels.lessons.assessment.elsewhere.ASK_EVERY", 0.05)
    # always the same form: its hypotheses, ten seconds a case, are kept from session to session
    monkeypatch.setattr("simulator.marking.certificate.secrets", SimpleNamespace(randbits=lambda bits: 1))
    lesson.sitting()
    press(lesson, "begin")
    for number in range(1, 6):
        assert [each.state for each in lesson._case.sitting.cases].count("over") == number - 1
        if number == 3:  # the kernel is ended: the page goes on where it was
            lesson = Assessment(LearnerSession(at_ada))
            lesson.sitting()
        give_up(lesson, number)
        records = Line(room.records.address, "token-1", "records")
        assert records.ask("GET", "records")["heads"] == {}
        assert at_ada.list_attempts(ADA) == []
        if number < 5:
            press(lesson, "case")
    press(lesson, "mark")

    sitting = Sitting.latest(at_ada, ADA)
    assert sitting is not None
    assert played_at_service(sitting.id)
    result = sitting.result()
    assert (result.decision, len(result.cases), result.accounts) == ("failed", 5, accounts)
    assert result.signature.good, result.signature.sentence
    assert [line.state for line in history(at_ada, ADA)] == ["not_passed"]
    printed = json.dumps(lesson.result().content)
    key = "sitting_sealed" if accounts == OWN else "sitting_not_sealed"
    assert text(f"sheets.{key}") in printed.replace("&#39;", "'").replace("&#x27;", "'")
    # of the cases that were not played nothing is told but their ids
    record = at_ada.attempt_record(sitting.id)
    unplayed = {case["id"] for case in record["cases"][5:]}
    assert {case["sealed"] for case in record["cases"]} == {"at-service"}
    told = json.dumps([at_ada.attempt_record(row.attempt_id) for row in at_ada.list_attempts(ADA)])
    known = {case.id: case for case in bank()[0]}
    assert not [each for each in unplayed if known[each].sealed in told]
    assert hands_out().ring().keys


def test_a_sitting_is_left_and_another_begun_while_a_copy_of_ones_own_holds_up_none(
    room: Room, lesson: Assessment, at_ada: Store
) -> None:
    lesson.sitting()
    press(lesson, "begin")
    first = lesson._case.sitting.id
    press(lesson, "leave")
    press(lesson, "leave", sure=True)
    assert [line.state for line in history(at_ada, ADA)] == ["left"]
    press(lesson, "begin")
    assert lesson._case.sitting.id != first
    assert lesson._case.sitting.number == 2
    with pytest.raises(Refused):
        Line(room.records.address, "token-1", "records").ask(
            "GET", f"records/{lesson._case.sitting.case_id(1)}"
        )


def test_no_answer_names_a_case_to_come(room: Room, lesson: Assessment, at_ada: Store) -> None:
    line = room.line()
    told = line.ask("POST", "sitting/begin", "{}")["sitting"]
    assert [case[1] for case in told["cases"]] == [""] * 5
    said = json.dumps(line.ask("POST", "sitting/case", json.dumps({"units": "metric"})))
    cases = bank()[0]
    assert not [case for case in cases if case.id in said or case.sealed in said]
    assert not [case for case in cases if scenario_hash(case.scenario()) in said]
    assert '"seed"' not in said


def test_with_the_service_away_the_page_says_so_and_goes_on_after(
    room: Room, lesson: Assessment, at_ada: Store
) -> None:
    lesson.sitting()
    press(lesson, "begin")
    number = lesson._case.number
    room.sealed.go()
    again = Assessment(LearnerSession(at_ada))
    again.sitting()
    assert text("sheets.away") in json.dumps(again._before.content)
    room.sealed.come()
    press(again, "begin")
    assert (again._case.number, again._case.sitting.id) == (number, lesson._case.sitting.id)
