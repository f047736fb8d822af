"""A needle goes to zero once what it measures is let out: nobody opens a rig that seems to hold vacuum still."""

from __future__ import annotations

from simulator.attempt import Attempt, MemoryStore
from simulator.scenario import Scenario, SiteChoice
from simulator.scenario.choices import choose_fault


def stopped_with(fault: str, size: float = 0.0) -> Attempt:
    faults = (choose_fault(fault, size),)
    scenario = Scenario(
        title="t",
        brief="b",
        rig="osier",
        site=SiteChoice(name="s", lift_m=3.0),
        faults=faults,
        mode="practice",
    )
    attempt = Attempt(scenario, MemoryStore(), seed=3)
    for act, args in (
        ("put_on_ppe", {}),
        ("predict", {"question": "sound_prime_time", "answer": 40}),
        ("check", {"check": "walk_round"}),
        ("secure_discharge", {}),
        ("start_engine", {}),
    ):
        assert attempt.act(act, args).accepted, act
    for act, args in (("wait", {"seconds": 40}), ("stop_engine", {}), ("isolate_and_tag", {})):
        assert attempt.act(act, args).accepted, act
    return attempt


def let_out(attempt: Attempt) -> dict[str, float]:
    return attempt.snapshot("metric").run["let_out"]


def test_each_needle_goes_to_zero_as_its_own_is_let_out() -> None:
    attempt = stopped_with("strainer_plugged", 0.99)
    assert let_out(attempt) == {}
    for act, gauge in (("vent_hose", "suction"), ("bleed_air", "motive"), ("relieve_line", "discharge")):
        assert attempt.act(act).accepted, act
        assert let_out(attempt)[gauge] == 0.0
    assert attempt.act("untag_and_close_up").accepted
    assert let_out(attempt)["suction"] == 0.0  # closed up, it still has no vacuum
    assert attempt.act("start_engine").accepted
    assert let_out(attempt) == {}


def test_a_gauge_that_lies_lies_at_rest_too() -> None:
    attempt = stopped_with("gauge_low", 15e3)
    assert attempt.act("vent_hose").accepted
    assert let_out(attempt) == {"suction": -15e3}  # seen at zero vacuum, it gives itself away as on a yard
    attempt = stopped_with("gauge_stuck")
    assert attempt.act("vent_hose").accepted
    assert let_out(attempt)["suction"] == float(
        attempt.state.timeline.needle("suction", attempt.state.yard.shown)[-1]
    )
