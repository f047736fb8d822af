"""What the trainer's pages ask the service: what is new, words, a copy, somebody taken out; both kinds of store."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from simulator.attempt.pressed import STEPPED_BACK
from simulator.classroom.board import gravest
from simulator.classroom.handing_in import HandingIn
from simulator.classroom.keeping import BACKUPS, backup_class, copies_naming, restore_class
from simulator.classroom.line import Line, Refused
from simulator.classroom.overview import AT_ONCE, ClassNow, Overview
from simulator.classroom.people_and_pins import People
from simulator.classroom.seen import seen_of
from simulator.classroom.trainer_words import PREFIX, Word, say, word_from, words_in
from simulator.classroom.watching import OfTheClass, OfThisMachine
from simulator.errors import InputError
from simulator.records import Store
from simulator.records.hand_over import all_begun, chain_of, standing, take_in
from tests.classroom.a_class import NAMES, Service, a_class
from tests.classroom.taught import begin, book_call, end
from tests.records.postgres_server import emptied, running

ADA, BO, CY = NAMES


@pytest.fixture(scope="module")
def postgres() -> Iterator[str]:
    with running() as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str | Path:
    """Where the class keeps its records: the same tests for both."""
    if request.param == "sqlite":
        return tmp_path / "class" / "records"
    return emptied(request.getfixturevalue("postgres"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return a_class(tmp_path / "class")


@pytest.fixture
def service(folder: Path, place: str | Path) -> Iterator[Service]:
    with Service(folder, place) as service:
        yield service


def handed_in(service: Service, store: Store, learner: str, token: str) -> None:
    hands = HandingIn(store, learner, Line(service.address, token, "records", 20.0))
    while hands.step() == 0.0:
        pass


def trainer(service: Service) -> OfTheClass:
    return OfTheClass(service.address, "t")


REMARK = Word("remark", BO, "R. Ferrow", attempt_id="a", text="Look at the drain first.", total=55.0)


def test_the_trainer_sees_what_comes_in_and_only_what_is_new(service: Service, tmp_path: Path) -> None:
    watch, known = trainer(service), ClassNow()
    watch.look(known)
    assert known.people == sorted(NAMES)
    assert known.seen == []
    with Store.open(tmp_path / "bo.sqlite3") as here:
        attempt = begin(here, BO, book_call("drain_open"))
        handed_in(service, here, BO, "token-2")
        watch.look(known)
        (seen,) = known.seen
        assert (seen.learner, seen.engine, seen.finished, seen.run_s) == (BO, "running", False, 30.0)
        before = known.mark
        watch.look(known)
        assert known.mark == before
        end(attempt, "drain_open", 8, 86.0)
        handed_in(service, here, BO, "token-2")
        watch.look(known)
        (seen,) = known.seen
        assert (seen.finished, seen.total, seen.faults) == (True, 86.0, ("drain_open",))
        assert seen.calls[0][1] == {"drain_open": 8, "something_else": 2}
        with watch.copy(seen.attempt_id) as copy:
            assert copy.log(seen.attempt_id) == here.log(seen.attempt_id)


def test_nobody_else_may_ask_or_say(service: Service) -> None:
    for token in ("token-1", "token-2"):
        line = Line(service.address, token, "class")
        for method, path, body in (
            ("GET", "class", ""),
            ("POST", "class/words", json.dumps(REMARK.as_dict())),
            ("POST", "class/forget", json.dumps({"name": BO})),
            ("POST", "class/backup", "{}"),
        ):
            with pytest.raises(Refused) as refused:
                line.ask(method, path, body)
            assert refused.value.code == 403


def test_a_word_is_kept_beside_and_no_learner_is_given_it(service: Service, place, tmp_path: Path) -> None:
    watch, known = trainer(service), ClassNow()
    watch.say(REMARK)
    watch.say(Word("signed_off", BO, "R. Ferrow", rig="osier", trouble="air_gets_in", until="2027-03-02"))
    watch.look(known)
    assert [(word.kind, word.about, word.total) for word in known.words] == [
        ("remark", BO, 55.0),
        ("signed_off", BO, None),
    ]
    assert all(word.at for word in known.words)
    assert known.people == sorted(NAMES)  # a word makes nobody
    bo = Line(service.address, "token-2", "records")
    assert bo.ask("GET", "records")["heads"] == {}
    with Store.open(place) as there:
        (row,) = there.list_attempts(PREFIX + BO)
        assert standing(there, BO).heads == {}
    with pytest.raises(Refused):
        bo.ask("GET", f"records/{row.attempt_id}")


def test_a_learner_can_make_up_no_word(service: Service, place, tmp_path: Path) -> None:
    """Neither under the name that words stand under, nor by logging in with it, nor as a record of that kind."""
    with Store.open(tmp_path / "forged.sqlite3") as here:
        say(here, Word("signed_off", BO, "R. Ferrow", rig="osier", trouble="air_gets_in", until="2099-01-01"))
        (row,) = here.list_attempts(PREFIX + BO)
        forged = json.dumps({"attempts": [chain_of(here, row.attempt_id).as_dict()]})
        said = Line(service.address, "token-2", "records").ask("POST", "records", forged)
        assert list(said["refused"]) == [row.attempt_id]
        mine = here.create_attempt({"learner": BO, "lesson": "trainer", "mode": "word"})
        said = Line(service.address, "token-2", "records").ask(
            "POST", "records", json.dumps({"attempts": [chain_of(here, mine).as_dict()]})
        )
        assert list(said["refused"]) == [mine]
    known = ClassNow()
    trainer(service).look(known)
    assert known.words == []


def test_taken_out_is_gone_with_all_that_was_said(service: Service, place, tmp_path: Path) -> None:
    watch, known = trainer(service), ClassNow()
    with Store.open(tmp_path / "bo.sqlite3") as here:
        attempt = begin(here, BO, book_call("drain_open"))
        handed_in(service, here, BO, "token-2")
        watch.say(REMARK)
        watch.look(known)
        assert (len(known.seen), len(known.words)) == (1, 1)
        assert watch.forget(BO) == 1
        watch.look(known)
        assert (known.seen, known.words) == ([], [])
        with Store.open(place) as there:
            assert there.list_attempts() == []
            assert BO not in json.dumps([row.learner for row in there.list_attempts()])
        attempt.act("stop_engine")  # the page that is still open hands in what it has
        handed_in(service, here, BO, "token-2")
        watch.look(known)
        assert known.seen == []


def test_a_word_that_is_none_is_a_sentence(service: Service) -> None:
    line = Line(service.address, "t", "class")
    good = REMARK.as_dict()
    for wrong in (
        {"kind": "grade"}, {"by": ""}, {"text": "x" * 2001}, {"total": 101}, {"total": "55"}, {"text": "", "total": None},
        {"attempt_id": ""}, {"about": 7},
        {"kind": "signed_off", "rig": "osier", "trouble": "luck", "until": "2027-01-01"},
        {"kind": "signed_off", "rig": "osier", "trouble": "air_gets_in", "until": "soon"},
    ):  # fmt: skip
        with pytest.raises(Refused) as refused:
            line.ask("POST", "class/words", json.dumps(good | wrong))
        assert refused.value.code == 400
    for body in ("[]", "7", "{", '{"about": "x"}', "null"):
        with pytest.raises(Refused):
            line.ask("POST", "class/words", body)
    known = ClassNow()
    trainer(service).look(known)
    assert known.words == []


def test_a_service_begun_anew_is_told_whole(folder: Path, tmp_path: Path) -> None:
    with Service(folder, folder / "records") as service:
        watch, known = trainer(service), ClassNow()
        watch.say(REMARK)
        watch.look(known)
        service.go()
        with pytest.raises(InputError):
            watch.look(known)
        assert len(known.words) == 1  # what was known stays
        service.come()
        watch.look(known)
        assert len(known.words) == 1


def test_many_records_come_in_several_answers() -> None:
    with Store.open("sqlite://") as store:
        for _ in range(AT_ONCE + 3):
            store.create_attempt({"learner": ADA, "lesson": "01", "mode": "lesson"})
        overview, known = Overview(), ClassNow()
        assert known.take(overview.since(store, known.epoch, known.mark))
        assert not known.take(overview.since(store, known.epoch, known.mark))
        assert len(known.seen) == AT_ONCE + 3


def test_a_record_that_cannot_be_summed_up_hides_no_other() -> None:
    with Store.open("sqlite://") as store:
        store.create_attempt({"learner": ADA, "lesson": "09", "mode": "practice", "scenario": {"faults": 7}})
        store.create_attempt({"learner": BO, "lesson": "01", "mode": "lesson"})
        known = ClassNow()
        OfThisMachine(store).look(known)
        assert [each.learner for each in known.seen] == [BO]


# copies


def test_a_copy_made_at_work_is_whole_and_can_be_put_back(folder: Path, tmp_path: Path) -> None:
    records = folder / "records"
    with Service(folder, records) as service, Store.open(tmp_path / "bo.sqlite3") as here:
        watch = trainer(service)
        begin(here, BO, book_call("drain_open"))
        handed_in(service, here, BO, "token-2")
        watch.say(REMARK)
        kept = watch.backup()
        assert kept["attempts"] == 2
        copy = Path(kept["place"])
        assert copy.parent == folder / BACKUPS
        assert (copies_naming(folder, BO), copies_naming(folder, "Nobody")) == ([copy], [])
        assert {path.stat().st_mode & 0o077 for path in copy.rglob("*") if path.is_file()} == {0}
        heads = standing(here, BO).heads
        watch.forget(BO)
        kept_after = Path(watch.backup()["place"])
        assert b"drain first" not in b"".join(
            path.read_bytes() for path in kept_after.rglob("*") if path.is_file()
        )
    People(folder).add("Dee Fenn", "")
    back = restore_class(copy, folder, records)
    assert back.attempts == 2
    with Store.open(records) as there:
        assert standing(there, BO).heads == heads
        (row,) = there.list_attempts(PREFIX + BO)
        assert [word.text for word in words_in(there, row.attempt_id)] == [REMARK.text]
    assert [person.name for person in People(folder).all()] == sorted(NAMES)
    assert list(folder.glob("people.json.before-restore-*"))
    assert list(records.glob("*.before-restore-*"))


def test_what_is_no_copy_changes_nothing(folder: Path, tmp_path: Path) -> None:
    with Store.open(folder / "records") as there:
        there.create_attempt({"learner": ADA, "lesson": "01", "mode": "lesson"})
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(InputError):
        restore_class(empty, folder, folder / "records")
    damaged = tmp_path / "damaged"
    damaged.mkdir()
    (damaged / "records.sqlite3").write_bytes(b"no records at all")
    with pytest.raises(InputError):
        restore_class(damaged, folder, folder / "records")
    with pytest.raises(InputError):
        backup_class(folder, folder / "records", damaged)  # there is something in it
    with Store.open(folder / "records") as there:
        assert len(there.list_attempts()) == 1


def test_words_of_one_machine_stand_in_its_own_records(tmp_path: Path) -> None:
    with Store.open(tmp_path / "records.sqlite3") as store:
        watch, known = OfThisMachine(store), ClassNow()
        watch.say(word_from(REMARK.as_dict()))
        watch.look(known)
        assert [word.text for word in known.words] == [REMARK.text]
        assert take_in(store, BO, []).heads == {}
        assert watch.forget(BO) == 0
        watch.look(known)
        assert known.words == []


def test_a_grave_press_that_is_let_be_shows_as_what_it_costs() -> None:
    with Store.open("sqlite://") as store:
        attempt = begin(store, ADA, book_call("belt_loose"))
        assert (
            attempt.act("nearly", {"act": "check", "args": {"check": "belt", "place": "belt"}}).breach
            == "minor"
        )
        (begun,) = all_begun(store)
        seen = seen_of(store, begun)
    assert gravest(seen) == STEPPED_BACK == "serious"
