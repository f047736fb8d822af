"""xAPI statements: judged by an independent validator, by published patterns, and by what they must tell.

Sources: Experience API 1.0.3, part two (ADL, 2016; IEEE 9274.1.1 keeps the same data model);
ADL vocabulary of verbs and activity types (what it holds is from memory). RFC 2606 keeps ``.example`` for nobody.
"""

from __future__ import annotations

import copy
import json
import re
import uuid
from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest

from simulator.classroom.overview import ClassNow
from simulator.classroom.statements import statements, statements_text
from simulator.classroom.trainer_words import Word
from simulator.classroom.watching import OfThisMachine
from simulator.records import Store
from tests.classroom.taught import ADA, BO, worked

#: Of the ADL vocabulary (https://w3id.org/xapi/adl), as far as they are of use here; from memory.
ADL_VERBS = {
    "attempted",
    "commented",
    "completed",
    "failed",
    "passed",
    "scored",
    "mastered",
    "suspended",
    "terminated",
}
ADL_ACTIVITIES = {"assessment", "course", "lesson", "simulation"}
DURATION = re.compile(r"PT\d+(\.\d{1,2})?S")  # ISO 8601, to a hundredth of a second
Change = Callable[[dict[str, Any]], Any]


@pytest.fixture(scope="module")
def made() -> list[dict[str, Any]]:
    with Store.open("sqlite://") as store:
        ids = worked(store)
        watch, known = OfThisMachine(store), ClassNow()
        watch.say(
            Word("remark", BO, "R. Ferrow", attempt_id=ids["bo drain"], text="Look first. Ä <b>", total=55.0)
        )
        watch.say(Word("remark", BO, "R. Ferrow", attempt_id=ids["bo sound"], total=40.0))
        watch.say(
            Word("signed_off", ADA, "R. Ferrow", rig="our rig/ä", trouble="air_gets_in", until="2027-03-02")
        )
        watch.look(known)
        return statements(known.seen, known.words, {ADA: "learner-1"})


def verb(statement: dict[str, Any]) -> str:
    return str(statement["verb"]["id"]).removeprefix("http://adlnet.gov/expapi/verbs/")


@pytest.fixture(scope="module")
def judge() -> Callable[[dict[str, Any]], Any]:
    """The models of Ralph, a learning record store of others (MIT licence)."""
    found = pytest.importorskip(
        "ralph.models.xapi.base.statements", reason="NO JUDGE of xAPI: install ralph-malph"
    )
    return lambda statement: found.BaseXapiStatement.model_validate(statement)


def test_an_independent_validator_takes_them_all(made: list[dict[str, Any]], judge: Change) -> None:
    assert {verb(each) for each in made} == {"attempted", "completed", "passed", "failed", "commented"}
    for statement in json.loads(json.dumps(made)):
        judge(statement)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda one: one.pop("verb"),
        lambda one: one.pop("object"),
        lambda one: one["verb"].update(id="passed"),
        lambda one: one["actor"].pop("account"),
        lambda one: one["context"].update(registration="one"),
        lambda one: one.update(marks=86),
        lambda one: one["result"]["score"].update(scaled=86.0),
        lambda one: one["object"]["definition"].update(type="simulation"),
    ],
)
def test_it_refuses_what_is_none(made: list[dict[str, Any]], judge: Change, spoil: Change) -> None:
    one = copy.deepcopy(
        next(each for each in made if verb(each) == "passed" and "registration" in each["context"])
    )
    judge(one)
    spoil(one)
    with pytest.raises((ValueError, KeyError)):  # it looks for the object before it judges
        judge(one)


def test_verbs_and_kinds_are_adls_and_what_is_ours_has_our_domain(made: list[dict[str, Any]]) -> None:
    for each in made:
        assert verb(each) in ADL_VERBS
        kind = each["object"]["definition"]["type"]
        assert kind.removeprefix("http://adlnet.gov/expapi/activities/") in ADL_ACTIVITIES
        ours = [
            each["object"]["id"],
            *each.get("result", {}).get("extensions", {}),
            each["actor"]["account"]["homePage"],
        ]
        ours += each["context"].get("extensions", {})
        assert all(iri.startswith("https://callouts.example/") for iri in ours)
        assert all(iri.isascii() and " " not in iri for iri in ours)


def test_ids_times_scores_and_durations(made: list[dict[str, Any]]) -> None:
    ids = [each["id"] for each in made]
    assert len(set(ids)) == len(ids)
    for each in made:
        assert str(uuid.UUID(each["id"])) == each["id"]
        assert datetime.fromisoformat(each["timestamp"]).tzinfo is not None
        score = each.get("result", {}).get("score")
        if score:
            assert score["min"] <= score["raw"] <= score["max"]
            assert score["scaled"] == pytest.approx(score["raw"] / 100.0)
        if "duration" in each.get("result", {}):
            assert DURATION.fullmatch(each["result"]["duration"])
    assert [each["timestamp"] for each in made] == sorted(each["timestamp"] for each in made)


def test_a_learner_is_known_by_the_account_and_without_one_by_no_name(made: list[dict[str, Any]]) -> None:
    accounts = {each["actor"]["name"]: each["actor"]["account"]["name"] for each in made}
    assert accounts[ADA] == "learner-1"
    assert BO not in accounts[BO]


def test_the_same_records_give_the_same_ids() -> None:
    with Store.open("sqlite://") as store:
        worked(store)
        known = ClassNow()
        OfThisMachine(store).look(known)
        assert statements_text(known.seen, known.words, {}) == statements_text(known.seen, known.words, {})
