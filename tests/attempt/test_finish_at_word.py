"""In an assessment the job may be called done at any time; whether it was is told with the marks."""

from __future__ import annotations

from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.calls import PRIME_QUESTION
from simulator.marking.service import marked_attempt
from simulator.scenario import Scenario, SiteChoice, choose_fault

WORD = {"as_it_stands": True}


def begun(mode: str, *faults: Any) -> Attempt:
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(name="Teal Pond", lift_m=3.0),
        faults=faults,
        mode=mode,
    )
    attempt = Attempt(call, MemoryStore(), seed=3)
    for act in ("put_on_ppe", "secure_discharge"):
        assert attempt.act(act, {}).accepted
    assert attempt.act("predict", {"question": PRIME_QUESTION, "answer": None}).accepted
    return attempt


def played(mode: str, *faults: Any) -> Attempt:
    attempt = begun(mode, *faults)
    for act, args in (
        ("start_engine", {"speed": "rated"}),
        ("wait", {"seconds": 90}),
        ("call", {"markers": {"sound": 10}}),
    ):
        assert attempt.act(act, args).accepted, attempt.log[-1]
    return attempt


def page_of(attempt: Attempt) -> dict[str, Any]:
    return attempt.snapshot("metric").as_dict()


def test_the_button_tells_a_good_rig_from_none() -> None:
    good, bad = played("assessment"), played("assessment", choose_fault("drain_open", 1.0))
    assert page_of(good)["finish"] == page_of(bad)["finish"]
    assert page_of(good)["finish"]["open"]


@pytest.mark.parametrize("faults", [(), (choose_fault("drain_open", 1.0),)])
def test_what_is_said_at_the_end_is_the_same(faults: tuple[Any, ...]) -> None:
    attempt = played("assessment", *faults)
    reply = attempt.act("finish", WORD)
    assert reply.accepted
    page = page_of(attempt)
    assert page["ended"] == "finished"
    assert "told with your marks" in page["notes"][-1]["text"]


@pytest.mark.full
def test_only_a_proof_earns_the_points_of_one() -> None:
    marks = {}
    for name, faults in {"good": (), "bad": (choose_fault("drain_open", 1.0),)}.items():
        attempt = played("assessment", *faults)
        attempt.act("finish", WORD)
        marks[name] = marked_attempt(attempt)[2].sheet
        assert attempt.yard.proven == (name == "good")
    assert "marking.found.proven" in [e.key for part in marks["good"].parts for e in part.evidence]
    assert "marking.found.not_proven" in [e.key for part in marks["bad"].parts for e in part.evidence]


def test_practice_still_waits_for_the_proof() -> None:
    attempt = played("practice", choose_fault("drain_open", 1.0))
    assert not page_of(attempt)["finish"]["open"]
    assert not attempt.act("finish", WORD).accepted
    assert attempt.log[-1]["reason"] == "not_proven"


def test_an_older_log_in_which_it_was_refused_replays() -> None:
    store = MemoryStore()
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(name="Teal Pond", lift_m=3.0),
        faults=(choose_fault("drain_open", 1.0),),
        mode="assessment",
    )
    attempt = Attempt(call, store, seed=3)
    attempt.act("call", {"markers": {"sound": 10}})
    assert not attempt.act("finish", {}).accepted
    assert attempt.log[-1]["reason"] == "not_proven"
    assert Attempt.resume(store, attempt.id).log == attempt.log
