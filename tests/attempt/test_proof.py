"""A proof holds: what is lost while the van is packed was none; a cold night's last question is answered."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.acts import PACKING
from simulator.attempt.expert import make_ready, play
from simulator.attempt.rules_of_thumb import Step
from simulator.scenario import Scenario, SiteChoice, choose_fault


def begun(rig: str, *faults: tuple[str, float], air: float = 15.0) -> Attempt:
    scenario = Scenario(
        title="A call",
        brief="It does not do its work.",
        rig=rig,
        site=SiteChoice(lift_m=3.0, air_temperature_c=air),
        faults=tuple(choose_fault(name, size) for name, size in faults),
    )
    return Attempt(scenario, MemoryStore(), seed=5)


def run_for(attempt: Attempt, seconds: float) -> None:
    make_ready(attempt, Step("finish", {}, "", ("sound",)))
    start = Step("start_engine", {"speed": "rated"}, "")
    make_ready(attempt, start)
    assert attempt.act(start.action, start.args).accepted
    assert attempt.act("wait", {"seconds": seconds}).accepted


def test_a_pump_that_stops_while_the_van_is_packed_is_not_done() -> None:
    attempt = begun("sedge", ("strainer_clogs", 0.985))
    run_for(attempt, 45.0)
    assert attempt.proven()  # it pumps well, as yet
    minutes = attempt.yard.ticks
    reply = attempt.act("finish")
    assert not reply.accepted
    assert attempt.log[-1]["reason"] == "lost_while_packing"
    assert attempt.yard.ticks == minutes + PACKING
    assert not attempt.proven()
    assert not attempt.yard.ended
    again = Attempt.resume(attempt.store, attempt.id)
    assert (again.yard.ticks, again.yard.shown) == (attempt.yard.ticks, attempt.yard.shown)


def test_a_sound_rig_is_done_at_once() -> None:
    attempt = begun("sedge")
    run_for(attempt, 45.0)
    minutes = attempt.yard.ticks
    assert attempt.act("finish").accepted
    assert attempt.yard.ticks == minutes


def test_an_old_hand_closes_a_job_on_a_freezing_night() -> None:
    attempt = begun("osier", ("drain_open", 0.6), air=-6.0)
    assert play(attempt)
    assert "hazard" not in attempt.log[-1]["result"]


@pytest.mark.parametrize("fault", [("gauge_low", 2.2e4), ("gauge_stuck", 0.0), ("motive_gauge_stuck", 0.0)])
def test_an_old_hand_does_not_leave_a_gauge_that_lies(fault: tuple[str, float]) -> None:
    attempt = begun("osier", fault)
    assert play(attempt)
    assert any(done.startswith("swap_") for done in attempt.yard.remedies)
