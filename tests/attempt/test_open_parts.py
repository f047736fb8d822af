"""A part that a look has opened need not be opened again."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt
from simulator.attempt.open_parts import BESIDE, MIN_MINUTES, NOTHING_OFF, minutes_now, saved_minutes
from simulator.instruments.checks import CHECKS
from simulator.rig.remedies import REMEDIES
from tests.attempt.conftest import Call, make_ready_to_start, markers


def opened_nrv(attempt: Attempt) -> None:
    make_ready_to_start(attempt)
    attempt.act("call", markers(nrv_fouled=10))
    for action in ("isolate_and_tag", "relieve_line"):
        assert attempt.act(action).accepted, action
    assert attempt.act("check", {"check": "nrv_lid"}).accepted
    assert attempt.act("call", markers(nrv_fouled=10)).accepted


def offered(attempt: Attempt, identity: str) -> float:
    return next(view.minutes for view in attempt.available_actions() if view.id == identity)


def test_work_on_an_open_part_takes_what_it_says_and_less(call: Call) -> None:
    attempt = call(("nrv_fouled", 33e-6))
    usual = REMEDIES["clean_nrv"].minutes
    assert offered(attempt, "remedy:clean_nrv:") == usual
    opened_nrv(attempt)
    promised = offered(attempt, "remedy:clean_nrv:")
    assert promised < usual
    before = attempt.yard.minutes()
    assert attempt.act("remedy", {"remedy": "clean_nrv"}).accepted
    assert attempt.yard.minutes() - before == pytest.approx(promised)
    result = attempt.log[-1]["result"]
    assert (result["minutes"], result["already_open"]) == (promised, True)


def test_closing_up_ends_it(call: Call) -> None:
    attempt = call(("nrv_fouled", 33e-6))
    opened_nrv(attempt)
    assert attempt.act("untag_and_close_up").accepted
    assert offered(attempt, "remedy:clean_nrv:") == REMEDIES["clean_nrv"].minutes


def test_another_part_saves_nothing(call: Call) -> None:
    attempt = call(("nrv_fouled", 33e-6))
    opened_nrv(attempt)
    for view in attempt.available_actions():
        if view.action == "remedy" and view.args["remedy"] not in ("clean_nrv",):
            assert view.minutes == REMEDIES[view.args["remedy"]].minutes, view.id


@pytest.mark.parametrize("name", [name for name in CHECKS if CHECKS[name].opens and name not in NOTHING_OFF])
def test_looking_first_never_comes_cheaper_than_the_work_alone(name: str) -> None:
    """Else a look at a part would be a way to win minutes."""
    check = CHECKS[name]
    for remedy in REMEDIES.values():
        for number in range(2):
            place = f"joint:{number}" if remedy.per_joint else ""
            opened = [f"{check.place}:{number}" if check.per_joint or check.per_length else check.place]
            now = minutes_now(remedy.id, place, opened)
            assert MIN_MINUTES <= now <= remedy.minutes
            assert now + check.minutes >= remedy.minutes + 0.1 * check.minutes or now == remedy.minutes


def test_what_comes_to_light_together_is_open_together() -> None:
    for part, with_part in BESIDE.items():
        for remedy in REMEDIES.values():
            if remedy.part == part:
                assert saved_minutes(remedy.id, "", [with_part]) > 0.0, remedy.id


def test_marks_count_the_minutes_it_took(call: Call) -> None:
    from simulator.diagnosis.evidence import story_of
    from simulator.marking.rig_state import works

    attempt = call(("nrv_fouled", 33e-6))
    opened_nrv(attempt)
    assert attempt.act("remedy", {"remedy": "clean_nrv"}).accepted
    attempt.act("give_up")
    (work,), _ = works(story_of(attempt.state))
    assert work.minutes == attempt.log[-2]["result"]["minutes"] < REMEDIES["clean_nrv"].minutes
