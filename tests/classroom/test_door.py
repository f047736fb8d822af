"""Who may come in: class word, name and PIN; the trainer's password; ten wrong words wait; nothing readable is kept."""

from __future__ import annotations

import json
import stat
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest

from simulator.classroom import places
from simulator.classroom.login import Door, Typed
from simulator.classroom.people_and_pins import FILE_NAME, TAKEN_OUT, People, checked_name
from simulator.classroom.secret_words import (
    WORDS_OF_A_CLASS,
    WORDS_OF_A_TRAINER,
    checked_class_word,
    checked_password,
    hashed,
    made_words,
)
from simulator.classroom.waiting import FIRST, FORGOTTEN, FREE, LONGEST, MOST, Waiting
from simulator.errors import InputError, RefusedAct
from simulator.texts import entry, text

WORD, PASSWORD = "copper-willow-castle", "a long password of mine"
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


class Clock:
    """A clock that stands until it is moved."""

    now = 1000.0  # [s]

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def door(tmp_path: Path, clock: Clock) -> Door:
    return Door(People(tmp_path, now=lambda: NOON), WORD, hashed(PASSWORD), Waiting(clock))


def typed(
    name: str = "Ada Quill", pin: str = "4711", again: str = "", word: str = WORD, address: str = "10.0.0.7"
):
    return Typed(name=name, word=word, pin=pin, again=again, address=address)


def refused(door: Door, what: Typed) -> str:
    with pytest.raises(RefusedAct) as caught:
        door.learner(what)
    return caught.value.sentence


def test_the_first_log_in_sets_a_pin_and_afterwards_only_it_opens(door: Door, tmp_path: Path) -> None:
    assert "is new here" in refused(door, typed())
    assert door.people.all() == []  # a slip in the name makes nobody
    first = door.learner(typed(again="4711"))
    assert (first.account, first.name, first.since) == ("learner-1", "Ada Quill", "2026-03-02T12:00:00+00:00")
    assert door.learner(typed(name=" ada  QUILL ")) == first
    assert refused(door, typed(pin="4712")) == text("classroom.wrong_pin")
    assert refused(door, typed(pin="0000", again="0000")) == text(
        "classroom.wrong_pin"
    )  # nobody takes a name over
    assert door.learner(typed(name="Bo Marsh", pin="4711", again="4711")).account == "learner-2"
    again = Door(People(tmp_path), WORD, hashed(PASSWORD))
    assert again.learner(typed()) == first


def test_the_trainer_resets_a_pin(door: Door) -> None:
    first = door.learner(typed(again="4711"))
    door.reset_pin(first.account)
    assert refused(door, typed()) == text("classroom.new_pin")
    assert door.learner(typed(pin="99887766", again="99887766")).account == first.account
    assert refused(door, typed()) == text("classroom.wrong_pin")
    with pytest.raises(InputError):
        door.reset_pin("learner-7")


@pytest.mark.parametrize(
    ("pin", "again", "sentence"),
    [("471", "471", "bad_pin"), ("471123456", "471123456", "bad_pin"), ("47a1", "47a1", "bad_pin"),
     ("٤٧١١", "٤٧١١", "bad_pin"), ("", "x", "bad_pin"), ("4711", "4712", "pins_differ")],
)  # fmt: skip
def test_a_pin_that_cannot_be(door: Door, pin: str, again: str, sentence: str) -> None:
    assert refused(door, typed(pin=pin, again=again)) == text(f"classroom.{sentence}")
    assert door.people.all() == []


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\x00b"])
def test_a_name_that_cannot_be(door: Door, name: str) -> None:
    assert refused(door, typed(name=name, again="4711")).startswith("Type your name")


def test_one_name_however_it_is_written() -> None:
    assert checked_name("Zoë") == checked_name("Zoe\u0308")


def test_nothing_is_told_of_a_name_before_the_class_word(door: Door) -> None:
    door.learner(typed(again="4711"))
    for name in ("Ada Quill", "Nobody Yet", ""):
        assert refused(door, typed(name=name, word="guess")) == text("classroom.wrong_word")


def test_the_class_word_as_people_type_it(door: Door) -> None:
    for word in ("Copper Willow Castle", " copper – willow_castle ", "COPPER-WILLOW-CASTLE"):
        assert door.learner(typed(word=word, again="4711")).account == "learner-1"
    assert refused(door, typed(word="")) == text("classroom.wrong_word")


def test_ten_wrong_class_words_wait_and_others_do_not(door: Door, clock: Clock) -> None:
    for _ in range(FREE - 1):
        assert refused(door, typed(word="guess")) == text("classroom.wrong_word")
    assert "Wait 30 s" in refused(door, typed(word="guess"))
    clock.now += FIRST - 1.0
    assert "Wait 1 s" in refused(door, typed(again="4711"))  # the right word waits too: it tells nothing
    assert door.learner(typed(name="Bo Marsh", again="4711", address="10.0.0.8")).name == "Bo Marsh"
    clock.now += 1.0
    assert door.learner(typed(again="4711")).name == "Ada Quill"
    assert refused(door, typed(word="guess")) == text("classroom.wrong_word")  # counted anew


def test_ten_wrong_pins_of_a_name_wait_wherever_they_come_from(door: Door, clock: Clock) -> None:
    door.learner(typed(again="4711"))
    for n in range(FREE):
        said = refused(door, typed(pin=f"{n:04}", address=f"10.0.1.{n}"))
    assert "Wait 30 s" in said
    assert "Wait" in refused(door, typed(address="10.0.2.1"))
    clock.now += FIRST
    assert door.learner(typed()).name == "Ada Quill"


def test_ten_wrong_passwords_of_the_trainer_wait(door: Door, clock: Clock) -> None:
    for _ in range(FREE):
        with pytest.raises(RefusedAct):
            door.trainer(typed(word=WORD))
    with pytest.raises(RefusedAct, match="Wait"):
        door.trainer(typed(word=PASSWORD))
    door.trainer(typed(word=PASSWORD, address="10.0.0.9"))
    clock.now += FIRST
    door.trainer(typed(word=PASSWORD))


def test_waits_double_up_to_a_quarter_of_an_hour_and_are_forgotten(clock: Clock) -> None:
    waits = Waiting(clock)
    for _ in range(FREE - 1):
        waits.wrong("x")
    seen = []
    for _ in range(8):
        waits.wrong("x")
        seen.append(waits.left("x"))
        clock.now += seen[-1]
    assert seen == [30.0, 60.0, 120.0, 240.0, 480.0, LONGEST, LONGEST, LONGEST]
    clock.now += FORGOTTEN + 1.0
    waits.wrong("x")
    assert waits.left("x") == 0.0


def test_many_addresses_do_not_fill_the_memory(clock: Clock) -> None:
    waits = Waiting(clock)
    for n in range(MOST + 50):
        waits.wrong(str(n))
    assert len(waits._counts) == MOST


def test_thirty_come_in_at_once(door: Door) -> None:
    with ThreadPoolExecutor(8) as many:
        people = list(many.map(lambda n: door.learner(typed(name=f"Learner {n}", again="4711")), range(30)))
    assert len({person.account for person in people}) == 30
    assert len(door.people.all()) == 30


def test_files_are_for_their_owner_and_hold_no_pin(door: Door, tmp_path: Path) -> None:
    door.learner(typed(again="4711"))
    places.keep_settings(tmp_path, places.Settings(WORD, hashed(PASSWORD)))
    for name in (FILE_NAME, places.SETTINGS):
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o600
    assert "4711" not in (tmp_path / FILE_NAME).read_text().replace(door.people.all()[0].pin, "")
    assert PASSWORD not in (tmp_path / places.SETTINGS).read_text()


@pytest.mark.parametrize("content", ["", "{", "[1]", '[{"account": "learner-1"}]', "null", "[" * 5000])
def test_a_damaged_list_is_said_and_left(tmp_path: Path, content: str) -> None:
    (tmp_path / FILE_NAME).write_text(content)
    with pytest.raises(InputError, match="list of the class is damaged"):
        People(tmp_path)
    assert (tmp_path / FILE_NAME).read_text() == content


@pytest.mark.parametrize("content", ["{", "[]", '{"class_word": 5, "trainer": "x"}', '{"class_word": "x"}'])
def test_damaged_settings_are_said(tmp_path: Path, content: str) -> None:
    (tmp_path / places.SETTINGS).write_text(content)
    with pytest.raises(InputError, match="settings of the class are damaged"):
        places.read_settings(tmp_path)


def test_how_the_class_is_open_comes_back(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        places.read_opened(tmp_path)
    opened = places.Opened(
        "http://10.0.0.5:8000/", "https://class.example/", 1, 2, 3, 4, "", "", "project", 12, "shared"
    )
    places.keep_opened(tmp_path, opened)
    assert places.read_opened(tmp_path) == opened


def test_words_that_are_made_are_long_enough_and_fit_their_own_rules() -> None:
    words = entry("classroom.word_list")
    assert len(words) == len(set(words)) == 128  # seven bits each
    assert all(word.isascii() and word.isalpha() and 4 <= len(word) <= 8 for word in words)
    made = {made_words(WORDS_OF_A_CLASS) for _ in range(50)}
    assert len(made) > 45
    assert all(checked_class_word(word) == word for word in made)
    assert checked_password(made_words(WORDS_OF_A_TRAINER))
    for bad in ("short", "x" * 201, "a\x00bcdefg"):
        with pytest.raises(InputError):
            checked_class_word(bad)
    with pytest.raises(InputError):
        checked_password("elevenchars")


def test_a_list_that_cannot_be_written_changes_nobody(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("simulator.classroom.people_and_pins.write_private", full)
    with pytest.raises(OSError, match="No space"):
        door.learner(typed(again="4711"))
    assert door.people.all() == []


def test_who_is_removed_is_gone_and_the_account_is_given_to_nobody(door: Door, tmp_path: Path) -> None:
    first = door.learner(typed(again="4711"))
    door.remove(first.account)
    assert door.people.all() == []
    assert first.name not in (tmp_path / FILE_NAME).read_text() + (tmp_path / TAKEN_OUT).read_text()
    again = door.learner(typed(again="2580", pin="2580"))  # the same name is somebody new
    assert again.account != first.account
    with pytest.raises(InputError):
        door.remove(first.account)
    assert People(tmp_path).of_account(again.account) == again


def test_the_list_is_plain_data(door: Door, tmp_path: Path) -> None:
    door.learner(typed(name='Ada "<b>" Quill', again="4711"))
    assert json.loads((tmp_path / FILE_NAME).read_text())[0]["name"] == 'Ada "<b>" Quill'
