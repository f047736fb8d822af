"""A call sheet: signed, sealed, altered ones refused; what hands it out, on one machine and as the class's service."""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from simulator.classroom.asking import ADDRESS, TOKEN, AskService, hands_out
from simulator.classroom.call_sheet import (
    MAX_CALLS,
    CallSheet,
    file_text,
    new_id,
    opened,
    read_file_text,
    signed,
)
from simulator.classroom.handing_out import FILE_NAME, MAX_SHEETS, HandOut, sheets_of
from simulator.classroom.sheet_attempts import latest_attempts, level_of
from simulator.errors import InputError
from simulator.scenario import Scenario, load_scenario
from simulator.signing.envelope import SHEET, Envelope, seal
from simulator.signing.keys import TrainerKey
from simulator.signing.ring import Ring, make_key
from tests.classroom.a_class import Service

NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)
BOOK = sorted((Path(__file__).parents[2] / "lessons" / "scenarios").glob("*.yaml"))


@pytest.fixture(scope="module")
def calls() -> tuple[Scenario, ...]:
    return tuple(load_scenario(path) for path in BOOK[:6])


@pytest.fixture
def key(tmp_path: Path) -> TrainerKey:
    return make_key("R. Ferrow", NOW, tmp_path / "keys")


@pytest.fixture
def ring(key: TrainerKey, tmp_path: Path) -> Ring:
    return Ring.load(tmp_path / "keys")


@pytest.fixture
def sheet(calls: tuple[Scenario, ...]) -> CallSheet:
    return CallSheet(new_id(), "Monday morning", calls, sealed=True, hints=False)


@pytest.mark.parametrize(
    "ticks", [(True, False, False), (False, True, False), (False, True, True), (True, True, False)]
)
def test_six_calls_come_back_in_order_as_they_were(
    sheet: CallSheet, key, ring, ticks: tuple[bool, ...]
) -> None:
    made = replace(sheet, sealed=ticks[0], hints=ticks[1], see_through=ticks[2])
    written = file_text(signed(made, key, NOW))
    assert opened(read_file_text(written, "file"), ring) == made
    for n, call in enumerate(made.calls):
        played = made.played(n)
        assert (played.mode, played.see_through) == (made.mode, ticks[2])
        assert played.faults == call.faults
    assert (
        made.mode
        == {(False, False): "assessment", (True, False): "practice", (True, True): "guided"}[ticks[1:]]
    )


def test_a_glance_at_a_sealed_sheet_tells_nothing(sheet: CallSheet, key) -> None:
    written = file_text(signed(sheet, key, NOW))
    open_one = file_text(signed(replace(sheet, sealed=False), key, NOW))
    told = {name for call in sheet.calls for name in call.fault_ids}
    assert all(name in open_one for name in told)
    assert not [name for name in told if name in written]
    assert "faults" not in written


def test_every_alteration_is_refused_in_a_sentence(sheet: CallSheet, key, ring) -> None:
    good = signed(sheet, key, NOW).as_dict()
    tries: list[dict[str, Any]] = []
    for name, value in (("title", "Tuesday"), ("hints", True), ("id", "other"), ("sealed", False)):
        tries.append(deepcopy(good))
        tries[-1]["content"][name] = value
    tries.append(deepcopy(good))
    tries[-1]["content"]["calls"] = tries[-1]["content"]["calls"][:-8] + "AAAAAAA="
    tries.append(good | {"signed_at": "2026-03-03T08:00:00+00:00"})
    tries.append(good | {"signature": "00" * 64})
    for raw in tries:
        with pytest.raises(InputError, match=r"altered|changed|not as"):
            opened(Envelope.from_dict(raw), ring)


def test_a_stranger_s_sheet_and_another_kind_are_refused(sheet: CallSheet, key, ring) -> None:
    stranger = TrainerKey.make("Somebody", NOW)
    with pytest.raises(InputError):
        opened(signed(sheet, stranger, NOW), ring)
    with pytest.raises(InputError):
        opened(seal({"call_sheet": 1}, SHEET, key, NOW), ring)
    with pytest.raises(InputError, match="not a call sheet"):
        opened(seal({"call_sheet": 1}, "pack", key, NOW), ring)


@pytest.mark.parametrize(
    "written", ["", "{", "[]", "null", "[" * 9000, '{"format": "callout-signed-1"}', "x" * 1_000_001]
)
def test_a_file_that_is_no_sheet_is_a_sentence(written: str) -> None:
    with pytest.raises(InputError):
        read_file_text(written, "monday.sheet.json")


def test_what_a_sheet_may_not_be(sheet: CallSheet, key) -> None:
    for bad in (
        replace(sheet, title="  "),
        replace(sheet, title="x" * 81),
        replace(sheet, calls=()),
        replace(sheet, calls=sheet.calls[:1] * (MAX_CALLS + 1)),
    ):
        with pytest.raises(InputError):
            signed(bad, key, NOW)


def test_calls_that_unpack_without_end_are_refused(key, ring, sheet: CallSheet) -> None:
    import base64
    import zlib

    content = dict(signed(sheet, key, NOW).content)
    content["calls"] = base64.b64encode(zlib.compress(b"[" + b" " * 50_000_000 + b"]")).decode()
    with pytest.raises(InputError, match="not a call sheet"):
        opened(seal(content, "pack", key, NOW), ring)


# handing out, on one machine and as a service


@pytest.fixture
def address(tmp_path: Path, key) -> Iterator[str]:
    """The real service, on a port of its own."""
    with Service(tmp_path / "class", tmp_path / "class" / "records", tmp_path / "keys") as service:
        yield service.address


@pytest.fixture(params=["machine", "service"])
def desk(request: pytest.FixtureRequest, tmp_path: Path, key):
    """What hands things out: the same tests for both."""
    if request.param == "machine":
        return HandOut(tmp_path / "class", tmp_path / "keys")
    (tmp_path / "trainers").mkdir()
    return AskService(request.getfixturevalue("address"), "t", tmp_path / "trainers")


def test_handed_out_opened_shut_and_taken_back(desk, sheet: CallSheet, key) -> None:
    assert desk.given() == []
    desk.hand_out(signed(sheet, key, NOW))
    ((found, given),) = sheets_of(desk)
    assert (found, given.is_open) == (sheet, False)
    desk.set_open(sheet.id, True)
    assert desk.given()[0].is_open
    desk.set_open(sheet.id, False)
    assert not desk.given()[0].is_open
    other = replace(sheet, id=new_id(), title="Noon", sealed=False)
    desk.hand_out(signed(other, key, NOW))
    assert [each.id for each in desk.given()] == [other.id, sheet.id]  # the newest first
    assert desk.given()[0].is_open  # nothing to open where nothing is sealed
    desk.hand_out(signed(sheet, key, NOW))
    assert [each.id for each in desk.given()] == [sheet.id, other.id]  # once, however often
    desk.take_back(sheet.id)
    assert [each.id for each in desk.given()] == [other.id]
    for act in (lambda: desk.take_back(sheet.id), lambda: desk.set_open(sheet.id, True)):
        with pytest.raises(InputError, match="not handed out"):
            act()


def test_a_sheet_put_in_another_order_keeps_what_was_done_with_the_call_it_was_done_on(
    calls: tuple[Scenario, ...],
) -> None:
    sheet = CallSheet("monday", "Monday", calls[:3])
    begun = [
        (name, {"level": level_of(sheet.id, number), "scenario": sheet.played(number).content()})
        for name, number in (("older", 0), ("first", 0), ("second", 1))
    ]
    assert latest_attempts(sheet, begun) == {0: "first", 1: "second"}
    turned = replace(sheet, calls=(calls[2], calls[1], calls[0]))
    assert latest_attempts(turned, begun) == {2: "first", 1: "second"}
    assert latest_attempts(replace(sheet, calls=calls[1:4]), begun) == {0: "second"}  # a call taken off
    told_otherwise = replace(turned, sealed=True, hints=False)  # how it is played makes no other call of it
    assert latest_attempts(told_otherwise, begun) == {2: "first", 1: "second"}
    twice = replace(sheet, calls=(calls[0], calls[0]))
    assert latest_attempts(twice, begun[:2]) == {0: "first"}
    second_of_two = ("again", {**begun[0][1], "level": level_of(sheet.id, 1)})
    assert latest_attempts(twice, [begun[1], second_of_two]) == {0: "first", 1: "again"}
    of_older_program = ("old", {"level": level_of(sheet.id, 2), "scenario": {"title": "?"}})
    assert latest_attempts(sheet, [of_older_program]) == {2: "old"}
    for level in ("sheet_monday-9", "sheet_monday-x", "sheet_tuesday-0", "book_1", ""):
        assert latest_attempts(sheet, [("odd", {"level": level, "scenario": {}})]) == {}


def test_an_altered_sheet_is_not_handed_out(desk, sheet: CallSheet, key) -> None:
    raw = signed(sheet, key, NOW).as_dict()
    raw["content"]["title"] = "Tuesday"
    with pytest.raises(InputError, match=r"altered|changed|not as"):
        desk.hand_out(Envelope.from_dict(raw))
    assert desk.given() == []


def test_at_most_so_many(desk, sheet: CallSheet, key) -> None:
    for _ in range(MAX_SHEETS):
        desk.hand_out(signed(replace(sheet, id=new_id(), calls=sheet.calls[:1]), key, NOW))
    with pytest.raises(InputError, match="Take one back"):
        desk.hand_out(signed(sheet, key, NOW))


def test_a_sheet_altered_where_it_lies_is_left_out(tmp_path: Path, sheet: CallSheet, key) -> None:
    desk = HandOut(tmp_path / "class", tmp_path / "keys")
    desk.hand_out(signed(sheet, key, NOW))
    file = tmp_path / "class" / FILE_NAME
    file.write_text(file.read_text().replace("Monday morning", "Monday evening"))
    assert sheets_of(desk) == []
    file.write_text("{")
    with pytest.raises(InputError, match="damaged"):
        desk.given()


def test_a_learner_reads_and_cannot_write(address: str, tmp_path: Path, sheet: CallSheet, key) -> None:
    trainer = AskService(address, "t", tmp_path)
    trainer.hand_out(signed(sheet, key, NOW))
    learner = AskService(address, "token-1", tmp_path)
    assert sheets_of(learner) == []  # in a shut envelope nothing leaves the service
    trainer.set_open(sheet.id, True)
    assert [found for found, _ in sheets_of(learner)] == [sheet]
    for act in (
        lambda: learner.hand_out(signed(sheet, key, NOW)),
        lambda: learner.set_open(sheet.id, True),
        lambda: learner.take_back(sheet.id),
    ):
        with pytest.raises(InputError, match="Only the trainer"):
            act()
    nobody = AskService(address, "x", tmp_path / "none")
    assert nobody.given() == []
    assert trainer.given()[0].is_open


def test_with_the_service_away_the_page_goes_on_with_what_it_was_told(
    address: str, tmp_path: Path, sheet: CallSheet, key
) -> None:
    sheet = replace(sheet, sealed=False)
    AskService(address, "t", tmp_path).hand_out(signed(sheet, key, NOW))
    AskService(address, "token-1", tmp_path).given()
    away = AskService("http://127.0.0.1:9/services/class", "a", tmp_path)  # RFC 863: nobody answers
    assert [found for found, _ in sheets_of(away)] == [sheet]
    with pytest.raises(InputError, match="cannot be reached"):
        away.take_back(sheet.id)


def test_which_one_a_page_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    assert isinstance(hands_out(), HandOut)
    monkeypatch.setenv(ADDRESS, "http://127.0.0.1:9/services/class")
    monkeypatch.setenv(TOKEN, "a")
    assert isinstance(hands_out(), AskService)


def test_the_file_is_the_trainer_s_alone(tmp_path: Path, sheet: CallSheet, key) -> None:
    HandOut(tmp_path / "class", tmp_path / "keys").hand_out(signed(sheet, key, NOW))
    file = tmp_path / "class" / FILE_NAME
    assert file.stat().st_mode & 0o077 == 0
    assert json.loads(file.read_text())["given"][0]["open"] is False
