"""The records of a class: whose they are, once and in order, kept while the service is away; both kinds of store."""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine

from simulator.classroom import handing_in as handing
from simulator.classroom.asking import ADDRESS, TOKEN
from simulator.classroom.handing_in import HANDED_OVER, KEPT_HERE, LEFT_HERE, HandingIn
from simulator.classroom.handing_out import FILE_NAME
from simulator.classroom.line import Away, Line, Refused
from simulator.classroom.record_desk import BURST, MAX_PARCEL, NotYours, Pace, RecordDesk, TooMuch
from simulator.errors import InputError
from simulator.panels.exercise.panel import open_exercise
from simulator.panels.learner.session import GIVEN_NAME, LearnerSession, Work
from simulator.panels.teaching.lesson import Lesson
from simulator.records import Store, backup, forget, restore
from simulator.records.chain import link_hash
from simulator.records.hand_over import Coming, chain_of, coming_from, standing, take_in
from simulator.texts import entry, text
from tests.classroom.a_class import NAMES, Service, a_class
from tests.records.postgres_server import PLACES, emptied, running

ADA, BO, _ = NAMES
AGAIN = 60  # [s] for what is handed over beside a page, on a busy machine


@pytest.fixture(scope="module")
def postgres() -> Iterator[str]:
    with running() as url:
        yield url


#: For what takes seconds: at the database server in the full tier.
SLOW_AT_A_SERVER = pytest.mark.parametrize(
    "place", ["sqlite", pytest.param("postgresql", marks=pytest.mark.full)], indirect=True
)


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


@pytest.fixture
def on_a_file(folder: Path) -> Iterator[Service]:
    """For what the kind of store makes no difference to."""
    with Service(folder, folder / "records") as service:
        yield service


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Store]:
    """Ada's records on her own side."""
    with Store.open(tmp_path / "ada" / "records.sqlite3") as store:
        yield store


def line(service: Service, token: str = "token-1") -> Line:
    return Line(service.address, token, "records", 20.0)


def begin(store: Store, learner: str = ADA, lesson: str = "01") -> str:
    return store.create_attempt({"learner": learner, "lesson": lesson, "mode": "lesson"})


def answer(store: Store, attempt: str, *numbers: int) -> None:
    for n in numbers:
        event = {"kind": "answer", "question": f"seen:part {n}", "answer": True, "click": f"click {n}"}
        store.append_event(attempt, len(store.events(attempt)), event, f"click {n}")


def hand_in(store: Store, to: Line, learner: str = ADA) -> HandingIn:
    """Hand over all that there is, one parcel after the other."""
    hands = HandingIn(store, learner, to)
    for _ in range(200):
        if hands.step() > 0.0:
            return hands
    raise AssertionError("it never ends")


def parcel(*attempts: Coming) -> str:
    return json.dumps({"attempts": [each.as_dict() for each in attempts]})


def at_class(place: str | Path) -> Store:
    return Store.open(place)


# once, in order


def test_handed_in_twice_is_once_and_order_is_that_of_the_chain(service: Service, place, here: Store) -> None:
    first, second = begin(here), begin(here)
    answer(here, first, 1, 2, 3)
    here.save_marks(first, {"total": 80.0, "parts": []})
    here.end_attempt(second)
    here.set_progress(first, {"run": 0, "shown_s": 2.5})
    to = line(service)
    assert hand_in(here, to).state == HANDED_OVER
    again = [chain_of(here, first), chain_of(here, second)]
    mixed = replace(again[0], links=again[0].links[::-1])
    for each in ([mixed], again, again[:1], again):
        said = to.ask("POST", "records", parcel(*each))
        assert said["refused"] == {}
    with at_class(place) as there:
        assert there.notices == ()
        assert standing(there, ADA) == standing(here, ADA)
        assert there.log(first) == here.log(first)
        assert there.marks(first) == here.marks(first)
        assert there.progress(first) == {"run": 0, "shown_s": 2.5}
        assert there.list_attempts() == here.list_attempts()
    answer(here, first, 4)
    assert hand_in(here, to).state == HANDED_OVER
    with at_class(place) as there:
        assert there.log(first) == here.log(first)


def test_what_does_not_follow_waits_for_what_is_missing(service: Service, here: Store) -> None:
    attempt = begin(here)
    answer(here, attempt, 1, 2, 3)
    whole, to = chain_of(here, attempt), line(service)
    said = to.ask("POST", "records", parcel(replace(whole, links=whole.links[2:])))
    assert said == {"heads": {attempt: [0, ""]}, "refused": {}}
    said = to.ask("POST", "records", parcel(replace(whole, links=whole.links[:2])))
    assert said["heads"] == {attempt: [2, whole.links[1].hash]}
    assert to.ask("GET", "records")["heads"] == said["heads"]


@SLOW_AT_A_SERVER
def test_thirty_parcels_of_a_long_history(service: Service, place, here: Store) -> None:
    """More than one parcel holds, one large step among it, and nothing is taken off the order."""
    for n in range(12):
        attempt = begin(here)
        answer(here, attempt, *range(5))
        if n % 4 == 0:
            here.save_marks(attempt, {"total": 1.0, "parts": [{"why": "x" * 150_000}]})
    assert hand_in(here, line(service)).state == HANDED_OVER
    with at_class(place) as there:
        assert standing(there, ADA) == standing(here, ADA)


# whose


def test_nobody_reads_or_writes_for_another(service: Service, place, here: Store, tmp_path: Path) -> None:
    mine = begin(here)
    answer(here, mine, 1)
    hand_in(here, line(service))
    bo, trainer = line(service, "token-2"), line(service, "t")
    # reading
    assert bo.ask("GET", "records")["heads"] == {}
    for path in (f"records/{mine}", "records?of=learner-1", "records/no-such-attempt"):
        with pytest.raises(Refused) as caught:
            bo.ask("GET", path)
        assert caught.value.code == 403
    # going on with another's attempt, or beginning one in another's name
    answer(here, mine, 2)
    said = bo.ask("POST", "records", parcel(chain_of(here, mine)))
    assert "not among your records" in said["refused"][mine]
    other = begin(here)
    said = bo.ask("POST", "records", parcel(chain_of(here, other)))
    assert f"another name ({ADA})" in said["refused"][other]
    with pytest.raises(Refused):
        bo.ask("POST", f"records/{mine}", parcel(chain_of(here, mine)))
    # a name in the columns that is not that of the record under them
    with Store.open(tmp_path / "bo.sqlite3") as store:
        whole = chain_of(store, begin(store, BO))
    values = list(whole.links[0].values)
    values[2] = ADA
    forged = whole.links[0]._replace(values=tuple(values), hash=link_hash("", "record", values))
    said = line(service).ask("POST", "records", parcel(replace(whole, links=(forged,))))
    assert "not whole" in said["refused"][whole.attempt_id]
    # without a token, with an unknown one, from an account that is not in the list
    for token in ("", "nonsense"):
        for method, body in (("GET", ""), ("POST", parcel(whole))):
            with pytest.raises(Refused) as caught:
                line(service, token).ask(method, "records", body)
            assert caught.value.code == 403
    with pytest.raises(Refused) as caught:
        line(service, "token-77").ask("GET", "records")
    assert caught.value.code == 403
    # the trainer reads everybody's and writes for nobody
    assert trainer.ask("GET", "records?of=learner-1") == line(service).ask("GET", "records")
    assert coming_from(trainer.ask("GET", f"records/{mine}")).links == chain_of(here, mine).links[:-1]
    with pytest.raises(Refused) as caught:
        trainer.ask("POST", "records", parcel(chain_of(here, mine)))
    assert caught.value.code == 403
    with at_class(place) as there:
        assert [(row.learner, row.events) for row in there.list_attempts()] == [(ADA, 1)]


def test_an_id_that_another_has_taken_is_refused_and_tells_nothing(service: Service, here: Store) -> None:
    with Store.open("sqlite://") as theirs:
        theirs.create_attempt({"learner": BO, "lesson": "01", "mode": "lesson"}, "same-id")
        hand_in(theirs, line(service, "token-2"), BO)
    here.create_attempt({"learner": ADA, "lesson": "01", "mode": "lesson"}, "same-id")
    hands = hand_in(here, line(service))
    assert hands.state == LEFT_HERE
    assert "not among your records" in hands.sentence()
    assert BO not in hands.sentence()


def test_work_that_bears_another_name_stays_here(service: Service, place, here: Store) -> None:
    begin(here, "Somebody Else")
    begin(here)
    assert hand_in(here, line(service)).state == HANDED_OVER
    with at_class(place) as there:
        assert [row.learner for row in there.list_attempts()] == [ADA]


# what is refused


def test_what_is_altered_is_refused_and_the_rest_is_kept(service: Service, place, here: Store) -> None:
    good, bad = begin(here), begin(here)
    answer(here, good, 1)
    answer(here, bad, 1, 2)
    whole, to = chain_of(here, bad), line(service)
    links = list(whole.links)
    values = list(links[2].values)
    values[5] = values[5].replace("part 2", "part 9")
    for changed in (
        links[2]._replace(values=tuple(values)),  # the hash is not that of the row
        links[2]._replace(hash="0" * 64),
        links[2]._replace(kind="ending", values=("left", links[2].values[6])),
    ):
        said = to.ask(
            "POST", "records", parcel(replace(whole, links=(*links[:2], changed)), chain_of(here, good))
        )
        assert "does not follow" in said["refused"][bad]
        assert list(said["heads"]) == [good]
    with at_class(place) as there:
        assert [row.attempt_id for row in there.list_attempts()] == [good]


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("event", (0, "c", None, None, "answer", '{"n":1}', "2030-01-01T00:00:00.000Z")),
        ("event", (0, "c", None, None, "other", '{"kind":"answer"}', "2030-01-01T00:00:00.000Z")),
        ("event", (4, "c", None, None, "answer", '{"kind":"answer"}', "2030-01-01T00:00:00.000Z")),
        ("event", (0, "c" * 81, None, None, "", "{}", "2030-01-01T00:00:00.000Z")),
        ("event", (0, "c", None, None, "", "[" * 5000, "2030-01-01T00:00:00.000Z")),
        ("marks", ("automatic", 2, "", "{}", "2030-01-01T00:00:00.000Z")),
        ("marks", ("somebody", 1, "", "{}", "2030-01-01T00:00:00.000Z")),
        ("ending", ("left", "yesterday")),
        ("ending", ("x" * 41, "2030-01-01T00:00:00.000Z")),
    ],
)
def test_a_step_that_no_page_could_read_is_refused(
    on_a_file: Service, here: Store, kind: str, values
) -> None:
    attempt = begin(here)
    whole, to = chain_of(here, attempt), line(on_a_file)
    link = whole.links[0]._replace(
        number=1, kind=kind, values=values, hash=link_hash(whole.links[0].hash, kind, values)
    )
    said = to.ask("POST", "records", parcel(replace(whole, links=(*whole.links, link))))
    assert "not whole" in said["refused"][attempt]
    assert to.ask("GET", "records")["heads"] == {}


@pytest.mark.parametrize(
    "body",
    ["", "{", "[]", "null", '{"attempts": 1}', "[" * 5000, '{"attempts": [NaN]}', '{"attempts": "\ud800"}'],
)
def test_what_is_no_parcel_is_a_sentence(on_a_file: Service, body: str) -> None:
    request = urllib.request.Request(
        f"{on_a_file.address}/records", data=body.encode(errors="surrogatepass"), method="POST",
        headers={"Authorization": "token token-1"},
    )  # fmt: skip
    with pytest.raises(urllib.error.HTTPError) as caught:
        urllib.request.urlopen(request, timeout=20)
    assert caught.value.code == 400
    assert text("records.hand_over.not_read") in json.loads(caught.value.read())["sentence"]


@pytest.mark.parametrize(
    "attempt",
    [
        1,
        {"attempt_id": "a"},
        {"attempt_id": "", "links": [], "shown": None},
        {"attempt_id": "a", "links": [[0, "record", [], ""]], "shown": None},
        {"attempt_id": "a", "links": [[0, "nothing", [], ""]], "shown": None},
        {"attempt_id": "a", "links": [[True, "ending", ["left", "x"], ""]], "shown": None},
        {"attempt_id": "a", "links": [[0, "ending", ["le\x00ft", "x"], ""]], "shown": None},
        {"attempt_id": "a", "links": [], "shown": {"data": 1}},
    ],
)
def test_one_that_cannot_be_read_keeps_no_other_out(on_a_file: Service, here: Store, attempt: Any) -> None:
    good = begin(here)
    body = json.dumps({"attempts": [attempt, chain_of(here, good).as_dict()]})
    said = line(on_a_file).ask("POST", "records", body)
    assert list(said["heads"]) == [good]
    assert list(said["refused"].values()) == [text("records.hand_over.not_read")]


def test_two_ways_on_are_told_and_the_first_stays(
    service: Service, place, here: Store, tmp_path: Path
) -> None:
    attempt = begin(here)
    answer(here, attempt, 1)
    before = backup(tmp_path / "ada", tmp_path / "before.sqlite3").place
    answer(here, attempt, 2, 4)
    hand_in(here, line(service))
    with Store.open(before) as older:
        answer(older, attempt, 3)
        hands = hand_in(older, line(service))
        assert hands.state == LEFT_HERE
        assert "in another way" in hands.sentence()
        answer(older, attempt, 5, 6)  # longer than the other way by now
        new = begin(older)
        while hands.step() == 0.0:
            pass
        assert hands.state == LEFT_HERE  # the rest is handed over all the same
        assert [event["click"] for event in older.events(attempt)] == [
            "click 1",
            "click 3",
            "click 5",
            "click 6",
        ]
    with at_class(place) as there:
        assert there.log(attempt) == here.log(attempt)
        assert new in [row.attempt_id for row in there.list_attempts()]


def test_in_a_new_place_the_work_is_there_again(service: Service, here: Store, tmp_path: Path) -> None:
    """Another machine, or a folder that is gone; and one that was put back as it was before."""
    attempt = begin(here)
    answer(here, attempt, 1)
    before = backup(tmp_path / "ada", tmp_path / "before.sqlite3").place
    answer(here, attempt, 2)
    here.save_marks(attempt, {"total": 80.0, "parts": []})
    here.set_progress(attempt, {"run": 0, "shown_s": 2.5})
    hand_in(here, line(service))
    for number, place in ((3, tmp_path / "new"), (4, before)):
        with Store.open(place) as other:
            assert hand_in(other, line(service)).state == HANDED_OVER
            assert standing(other, ADA).heads == standing(here, ADA).heads
            assert (other.log(attempt), other.marks(attempt)) == (here.log(attempt), here.marks(attempt))
            assert other.progress(attempt) == here.progress(attempt)
            answer(other, attempt, number)  # and it goes on from there
            hand_in(other, line(service))
            hand_in(here, line(service))
            assert other.log(attempt) == here.log(attempt)


def test_what_was_taken_out_here_is_not_fetched_again(service: Service, here: Store) -> None:
    begin(here)
    hand_in(here, line(service))
    assert forget(here, ADA) == 1
    assert hand_in(here, line(service)).state == HANDED_OVER
    assert here.list_attempts() == []


def test_who_was_taken_out_does_not_come_back(service: Service, place, here: Store) -> None:
    attempt = begin(here)
    answer(here, attempt, 1, 2)
    hand_in(here, line(service))
    with at_class(place) as there:
        assert forget(there, ADA) == 1
    answer(here, attempt, 3)
    hands = hand_in(here, line(service))
    assert hands.state == LEFT_HERE
    assert "taken out" in hands.sentence()
    with at_class(place) as there:
        assert there.list_attempts() == []
        assert there.notices == ()


# how much


def test_too_much_at_once_waits_and_too_large_is_refused(folder: Path) -> None:
    clock = [0.0]
    with Service(folder, folder / "records", pace=Pace(lambda: clock[0])) as service:
        to, other = line(service), line(service, "token-2")

        def too_often() -> None:
            for _ in range(int(BURST) + 1):
                to.ask("GET", "records")

        with pytest.raises(Refused, match=r"too much at once. Wait \d+ s") as caught:
            too_often()
        assert caught.value.code == 429
        assert caught.value.wait >= 1.0
        other.ask("GET", "records")  # nobody waits for another
        clock[0] += caught.value.wait
        to.ask("GET", "records")
        with pytest.raises(Refused, match="at most 1024 KiB") as refused:
            to.ask("POST", "records", '{"attempts": []}' + " " * MAX_PARCEL)
        assert (refused.value.code, refused.value.wait) == (413, 0.0)


@pytest.mark.parametrize(("token", "code"), [("token-1", 413), ("t", 403), ("nobody", 403)])
@pytest.mark.parametrize("said_length", [True, False])
def test_a_refusal_is_said_to_who_still_sends(
    on_a_file: Service, token: str, code: int, said_length: bool
) -> None:
    """The answer waits until the body, ten times what may come, has been sent; nothing of it is kept."""
    pieces, size = 160, 65_536

    def body() -> Iterator[bytes]:
        for n in range(pieces):
            if n == pieces // 2:
                time.sleep(0.05)  # still sending when the service knows that it is too much
            yield b" " * size

    headers = {"Authorization": f"token {token}"}
    if said_length:
        headers["Content-Length"] = str(pieces * size)
    request = urllib.request.Request(
        f"{on_a_file.address}/records", data=body(), method="POST", headers=headers
    )
    with pytest.raises(urllib.error.HTTPError) as caught:
        urllib.request.urlopen(request, timeout=20)
    assert caught.value.code == code
    sentence = json.loads(caught.value.read())["sentence"]
    assert sentence == (
        text("classroom.records.too_large", most=MAX_PARCEL // 1024) if code == 413 else "Forbidden"
    )
    line(on_a_file).ask("GET", "records")


def test_there_is_an_end_to_what_one_learner_keeps(
    service: Service, here: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("simulator.records.hand_over.MAX_LINKS", 4)
    attempt = begin(here)
    answer(here, attempt, 1, 2, 3)
    other = begin(here)
    hands = hand_in(here, line(service))
    assert hands.state == LEFT_HERE
    assert "no more room" in hands.sentence()
    heads = line(service).ask("GET", "records")["heads"]
    assert attempt in heads
    assert other not in heads


def test_pace_by_itself() -> None:
    clock = [0.0]
    pace = Pace(lambda: clock[0])
    assert pace.wait("a", 10**9) > 60.0
    assert pace.wait("a", 0) == 0.0
    pace.spent("a", 10.0)  # of the service's time: 80 questions, of which 59 were left
    assert pace.wait("a", 0) == pytest.approx((80.0 - 59.0 + 1.0) / 4.0)
    clock[0] += 5.5
    assert pace.wait("a", 0) == 0.0
    assert pace.wait("b", 0) == 0.0


def test_a_desk_says_what_an_account_may_not(folder: Path) -> None:
    desk = RecordDesk(folder)
    with pytest.raises(NotYours):
        desk.standing("trainer")
    with pytest.raises(NotYours):
        desk.hand_in("trainer", b"{}")
    with pytest.raises(TooMuch):
        desk.check_pace("learner-1", MAX_PARCEL + 1)
    desk.close()


# away


def on_a_page(panel: Any, action: str, shown: float = 0.0, **args: Any) -> str:
    """One act as the page sends it; the sentence of its answer, empty where it was done."""
    said: list[dict[str, Any]] = []
    panel.send = lambda content, buffers=None: said.append(content)
    run = panel.page["run"]["id"]
    panel._receive(
        panel, {"kind": "act", "id": f"{action} {shown}", "run": run, "shown": shown, "action": action, "args": args}, []
    )  # fmt: skip
    ack = next(each for each in said if each["kind"] == "ack")
    return "" if ack["accepted"] else ack["sentence"]


@pytest.fixture
def page(service: Service, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Makes what a learner's kernel is given, as if it had just been started."""
    monkeypatch.setenv("SIMULATOR_DATA_DIR", str(tmp_path / "ada"))
    monkeypatch.setenv(GIVEN_NAME, ADA)
    monkeypatch.setenv(ADDRESS, service.address)

    def kernel(token: str = "token-1") -> LearnerSession:
        monkeypatch.setenv(TOKEN, token)
        handing._handing.clear()
        return LearnerSession()

    yield kernel
    handing._handing.clear()


async def until(wanted: str, session: LearnerSession, panel: Any = None) -> None:
    """Wait, as a page does, until it is said how things stand; on a call too."""
    late = time.monotonic() + AGAIN
    badge = text(f"classroom.records.badge.{wanted}")
    while session.handing.state != wanted or (panel and badge not in panel.page["header"]["badges"]):
        assert time.monotonic() < late, session.handing.state
        await asyncio.sleep(0.05)


async def away_in_a_call(page: Any, service: Service, place: str | Path, seconds: float) -> None:
    """A call is begun, the service goes, the call goes on, kernel and log-in are renewed, the service is back."""

    def open_call(session: LearnerSession) -> Any:
        return open_exercise(
            _a_call(), mode="practice", learner=session.name, store=session.store, slot="away", debriefer=None
        )

    session = page()
    panel = open_call(session)
    assert on_a_page(panel, "put_on_ppe") == ""
    await until(HANDED_OVER, session, panel)
    service.go()
    gone = time.monotonic()
    assert on_a_page(panel, "secure_discharge") == ""
    await until(KEPT_HERE, session, panel)
    assert session.handing.sentence() == text("classroom.records.kept_here")
    assert on_a_page(panel, "predict", question="sound_prime_time", answer=40) == ""
    assert on_a_page(panel, "start_engine") == ""
    # the kernel is ended and started again, and the learner has logged in anew
    session = page("again-1")
    panel = open_call(session)
    assert panel.page["engine"]["running"]
    work = Work(session, "03")
    while time.monotonic() - gone < seconds:
        now = str(time.monotonic())
        work.keep(f"seen:{now}", True, now)
        await asyncio.sleep(min(1.0, seconds / 4))
    assert on_a_page(panel, "stop_engine", 3.0) == ""
    await until(KEPT_HERE, session, panel)
    service.come()
    await until(HANDED_OVER, session, panel)
    with at_class(place) as there:
        assert there.notices == ()
        assert standing(there, ADA).heads == standing(session.store, ADA).heads
        for row in session.store.list_attempts(ADA):
            assert there.log(row.attempt_id) == session.store.log(row.attempt_id)
        acts = [
            [event.get("act") for event in there.events(row.attempt_id)] for row in there.list_attempts(ADA)
        ]
        wanted = ["begin", "put_on_ppe", "secure_discharge", "predict", "start_engine", "stop_engine"]
        assert wanted in acts


def _a_call() -> Path:
    return sorted((Path(__file__).parents[2] / "lessons" / "scenarios").glob("*.yaml"))[0]


@SLOW_AT_A_SERVER
def test_the_service_goes_in_a_call_and_comes_back(page, service: Service, place) -> None:
    asyncio.run(away_in_a_call(page, service, place, 2.0))


@pytest.mark.full
def test_the_service_is_away_for_a_minute(page, service: Service, place) -> None:
    asyncio.run(away_in_a_call(page, service, place, 60.0))


def test_a_page_in_a_new_place_begins_with_what_the_class_has(page, service: Service, here: Store) -> None:
    work = begin(here, lesson="03")
    answer(here, work, 1)
    hand_in(here, line(service))
    session = page()
    session.store.close()
    for each in (Path(os.environ["SIMULATOR_DATA_DIR"])).iterdir():
        each.unlink()
    here.close()
    assert Work(page(), "03").answers == {"seen:part 1": True}


@SLOW_AT_A_SERVER
def test_a_lesson_s_page_says_how_things_stand(page, service: Service, place) -> None:
    class Third(Lesson):
        number = "03"

    async def walk() -> None:
        lesson = Third(page())
        part = lesson.part("aim", lesson.notices)

        async def says(state: str) -> None:
            await until(state, lesson.session)
            await asyncio.sleep(0.2)
            assert part.block("class_line")["paragraphs"] == [text(f"classroom.records.{state}")]

        await says(HANDED_OVER)
        service.go()
        lesson.work.keep("seen:it", True, "click")
        await says(KEPT_HERE)
        service.come()
        await says(HANDED_OVER)

    asyncio.run(walk())


def test_outside_a_class_nothing_is_handed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    handing._handing.clear()
    session = LearnerSession(Store.open("sqlite://"))
    assert session.handing is None
    assert Lesson(session).class_line() == []


def test_records_that_cannot_be_used_are_as_if_the_service_were_away(
    folder: Path, here: Store, tmp_path
) -> None:
    (tmp_path / "blocked").write_text("a file where a folder should be")
    begin(here)
    with Service(folder, tmp_path / "blocked" / "records") as service:
        with pytest.raises(Away):
            line(service).ask("GET", "records")
        assert hand_in(here, line(service)).state == KEPT_HERE
        assert line(service).ask("GET", "sheets")["given"] == []  # sheets are handed out all the same


def test_a_database_server_that_went_is_waited_for(folder: Path, here: Store) -> None:
    attempt = begin(here)
    with running() as url, Service(folder, url) as service:
        to = line(service)
        hands = hand_in(here, to)
        answer(here, attempt, 1)
        with create_engine(url, isolation_level="AUTOCOMMIT").connect() as connection:
            connection.exec_driver_sql("ALTER TABLE events RENAME TO gone")
        assert hand_in(here, to).state == KEPT_HERE
        with create_engine(url, isolation_level="AUTOCOMMIT").connect() as connection:
            connection.exec_driver_sql("ALTER TABLE gone RENAME TO events")
        while hands.step() == 0.0:
            pass
        assert hands.state == HANDED_OVER


def test_a_backup_put_back_there_is_filled_up_again(folder: Path, place, here: Store, tmp_path: Path) -> None:
    """The service never was away, and has less than it said: it is asked anew now and then."""
    attempt = begin(here)
    clock = [0.0]
    with Service(folder, place) as service:
        hands = HandingIn(here, ADA, line(service), lambda: clock[0])
        while hands.step() == 0.0:
            pass
    other = place / "other" if isinstance(place, Path) else "sqlite://"
    with Service(folder, other) as service:
        hands._line = line(service)
        assert hands.step() > 0.0
        assert service_heads(service) == {}
        clock[0] += handing.ASK_AGAIN + 1.0
        while hands.step() == 0.0:
            pass
        assert list(service_heads(service)) == [attempt]


def service_heads(service: Service) -> dict[str, Any]:
    return dict(line(service).ask("GET", "records")["heads"])


# the trainer holds the class


def test_the_trainer_holds_the_class_and_a_service_that_went_holds_nobody_for_long(
    on_a_file: Service, here: Store
) -> None:
    clock, told = [0.0], []
    hands = HandingIn(here, ADA, line(on_a_file), now=lambda: clock[0])
    hands.listen(lambda: told.append(hands.held) or True)

    def heed(after: float) -> bool:
        clock[0] += after
        hands.heed()
        return hands.held

    assert not heed(handing.HEED_EVERY)
    trainer = line(on_a_file, "t")
    trainer.ask("POST", "now", '{"held": true}')
    with pytest.raises(Refused):
        line(on_a_file).ask("POST", "now", '{"held": false}')  # no learner lets it go
    assert not heed(0.1)  # not asked again at once
    assert heed(handing.HEED_EVERY)
    on_a_file.go()
    assert heed(handing.HOLD_LASTS - 1.0)
    assert not heed(3.0)
    on_a_file.come()
    assert not heed(handing.HEED_EVERY)  # begun anew
    assert told == [True, False]


def test_pages_hear_that_something_was_handed_out_and_the_trainer_whose_page_is_open(
    on_a_file: Service, folder: Path, here: Store
) -> None:
    clock, told = [0.0], []
    hands = HandingIn(here, ADA, line(on_a_file), now=lambda: clock[0])
    hands.listen(lambda: told.append(hands.sheets) or True)
    trainer = line(on_a_file, "t")
    assert trainer.ask("GET", "class")["open"] == []
    for _ in range(2):
        clock[0] += handing.HEED_EVERY
        hands.heed()
    assert told == []
    assert trainer.ask("GET", "class")["open"] == [ADA]
    (folder / FILE_NAME).write_text("{}")
    for _ in range(2):
        clock[0] += handing.HEED_EVERY
        hands.heed()
    assert len(told) == 1


def test_a_page_that_is_held_stands_still(page) -> None:
    session = page()
    panel = open_exercise(_a_call(), learner=session.name, store=session.store, debriefer=None)
    part = Lesson(session).part("aim", list)

    def held(on: bool) -> None:
        session.handing.held = on
        panel._refresh()
        part.refresh()

    assert panel.page["held"] is part.content["held"] is None
    held(True)
    assert panel.page["held"] == part.content["held"] == entry("classroom.held")
    known = len(panel.attempt.log)
    assert on_a_page(panel, "put_on_ppe") == text("classroom.held.text")
    assert len(panel.attempt.log) == known
    held(False)
    assert panel.page["held"] is part.content["held"] is None
    assert on_a_page(panel, "put_on_ppe", 0.1) == ""


# backups while it runs


@SLOW_AT_A_SERVER
def test_a_backup_while_it_runs_is_whole(folder: Path, place, here: Store, tmp_path: Path) -> None:
    """It holds all that was handed over when it began, and of what came meanwhile each chain up to a step."""
    over, on_the_way = threading.Event(), threading.Semaphore(0)
    with Service(folder, place, pace=Pace(count(0.0, 1.0).__next__)) as service:  # nobody is kept waiting

        def write() -> None:
            hands, longest = HandingIn(here, ADA, line(service)), begin(here)
            while not over.is_set():
                answer(here, begin(here), 1, 2, 3)
                answer(here, longest, len(here.events(longest)))
                hands.step()
                on_the_way.release()

        writer = threading.Thread(target=write)
        writer.start()
        try:
            copies = []
            for n in range(2):
                assert all(on_the_way.acquire(timeout=60) for _ in range(5))
                handed_over = service_heads(service)
                copies.append((handed_over, _backed_up(place, tmp_path / f"copy {n}")))
        finally:
            over.set()
            writer.join()
        assert hand_in(here, line(service)).state == HANDED_OVER
        assert service_heads(service) == {key: list(head) for key, head in standing(here, ADA).heads.items()}
    for handed_over, copy in copies:
        with Store.open(copy) as store:
            assert store.notices == ()
            found = standing(store, ADA).heads
            assert handed_over.keys() <= found.keys()
            assert all(found[key][0] >= length for key, (length, _) in handed_over.items())
            for key, (length, _) in found.items():
                assert chain_of(store, key).links == chain_of(here, key).links[:length]


def _backed_up(place: str | Path, to: Path) -> str | Path:
    """By the command of each kind of store: ours for a file, PostgreSQL's own for a server."""
    if isinstance(place, Path):
        return restore(backup(place, to.with_suffix(".sqlite3")).place, to / "records.sqlite3").place
    plain = place.replace("postgresql+psycopg", "postgresql")
    name = to.name.replace(" ", "_")
    with create_engine(place, isolation_level="AUTOCOMMIT").connect() as connection:
        connection.exec_driver_sql(f"DROP DATABASE IF EXISTS {name}")
        connection.exec_driver_sql(f"CREATE DATABASE {name}")
    target = plain.rsplit("/", 1)[0] + f"/{name}"
    dump = subprocess.run([PLACES[0] / "pg_dump", plain], check=True, capture_output=True)
    subprocess.run([PLACES[0] / "psql", "-q", target], input=dump.stdout, check=True, capture_output=True)
    return place.rsplit("/", 1)[0] + f"/{name}"


def test_taking_in_says_where_each_chain_ends(here: Store) -> None:
    attempt = begin(here)
    with Store.open("sqlite://") as there:
        assert take_in(there, ADA, [chain_of(here, attempt)]).heads == standing(here, ADA).heads
        assert take_in(there, BO, [chain_of(here, attempt)]).heads == {}
        with pytest.raises(InputError):
            coming_from(None)
