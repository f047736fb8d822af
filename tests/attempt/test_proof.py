"""A proof holds: what is lost while the van is packed was none; a cold night's last question is answered."""

from __future__ import annotations

from copy import copy
from dataclasses import replace

import pytest

from simulator.attempt import Attempt, MemoryStore, commands, proof
from simulator.attempt.acts import PACKING
from simulator.attempt.expert import make_ready, play
from simulator.attempt.proof import must_hold
from simulator.attempt.rules_of_thumb import Step
from simulator.diagnosis.evidence import follow, story_of
from simulator.marking.service import cases_for
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.texts import text


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


@pytest.mark.parametrize(
    ("faults", "short"),
    [((), ""), ((("discharge_shut", 0.86),), "little"), ((("belt_loose", 0.62),), "late")],
)
def test_a_start_that_is_no_proof_says_by_what_it_falls_short(
    faults: tuple[tuple[str, float], ...], short: str
) -> None:
    attempt = begun("osier", *faults)
    run_for(attempt, 100.0)
    page = attempt.snapshot("metric")
    assert page.run["primed"]
    assert page.finish["open"] == (not short)
    assert page.finish["why"] == (text(f"attempt.falls_short.{short}") if short else "")
    # the clock waits for who reads on beside a pump that is proven, and for nobody else
    assert (page.run["wait"] is not None) == (not short)


def restarted(attempt: Attempt, rest: float) -> None:
    """Primed, stopped, left to stand so many seconds, and started again until it has had time to prime."""
    run_for(attempt, 60.0)
    assert attempt.act("stop_engine").accepted
    assert attempt.act("wait", {"seconds": rest}).accepted
    run_for(attempt, 60.0)


def test_a_start_with_water_in_the_hose_is_no_proof() -> None:
    attempt = begun("osier")
    restarted(attempt, 6.0)
    page = attempt.snapshot("metric")
    assert page.run["primed"]
    assert not page.run["counts"]
    assert not attempt.proven()
    assert not page.finish["open"]
    assert text("attempt.run.from_full") in page.run["ended"]["sentence"]
    assert any(note["text"] == text("attempt.did.start_from_full") for note in page.notes)
    assert not attempt.act("finish").accepted
    assert attempt.log[-1]["reason"] == "not_from_empty"
    assert Attempt.resume(attempt.store, attempt.id).log == attempt.log


def test_a_pump_whose_lever_is_raised_while_it_runs_has_its_prime_from_then_on() -> None:
    """At so slow an engine it could give nothing, and that stood for the whole run: it pumped, and nobody was told."""
    attempt = begun("osier", ("engine_slow", 0.52))
    run_for(attempt, 120.0)
    raised = attempt.yard.shown / 10.0
    assert attempt.timeline.history(attempt.yard.shown).steady_flow == 0.0
    assert attempt.timeline.prime_tick() is None
    make_ready(attempt, work := Step("remedy", {"remedy": "raise_speed", "place": ""}, ""))
    assert attempt.act(work.action, work.args).accepted
    assert attempt.yard.engine_on
    attempt.act("wait", {"seconds": 90.0})
    history = attempt.timeline.history(attempt.yard.shown)
    assert history.discharge_flow[-1] > 0.5 * history.steady_flow > 0.0
    assert raised <= history.prime_time < raised + 60.0
    assert not attempt.proven()  # far too late for a proof
    story = story_of(attempt.state)
    end = follow(story, cases_for(story)).end
    assert end.starts[-1].warm
    assert end.starts[-1].primed_at is not None


def test_a_start_from_the_emptied_hose_is_one() -> None:
    attempt = begun("osier")
    restarted(attempt, 60.0)
    assert attempt.snapshot("metric").run["counts"]
    assert attempt.proven()


def test_a_start_that_was_not_dry_says_so_while_it_runs() -> None:
    attempt = begun("osier")
    run_for(attempt, 60.0)
    first = attempt.snapshot("metric").run
    assert not first["wet"]
    assert text("attempt.run.from_wet") not in first["ended"]["sentence"]
    assert attempt.act("stop_engine").accepted
    assert attempt.act("wait", {"seconds": 60.0}).accepted
    run_for(attempt, 10.0)
    assert attempt.snapshot("metric").run["wet"], "the casing keeps its water"
    assert attempt.act("wait", {"seconds": 50.0}).accepted
    run = attempt.snapshot("metric").run
    assert run["counts"]
    assert text("attempt.run.from_wet") in run["ended"]["sentence"]


def test_a_start_holds_for_longer_than_an_earlier_one_after_which_it_pumped_badly(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # weed that lets some water through: the prime is kept, and the flow falls short
    attempt = begun("osier", ("strainer_clogs", 0.9))
    run_for(attempt, 45.0)
    assert attempt.proven()  # it pumps well, as yet
    assert attempt.act("wait", {"seconds": 240.0}).accepted
    assert not attempt.proven()
    assert attempt.act("stop_engine").accepted
    by_rule_2 = copy(attempt.state)
    by_rule_2.terms = replace(by_rule_2.terms, proof_rules=2)  # which asked it of a lost prime alone
    longer = must_hold(attempt.state, 1)
    with monkeypatch.context() as kept:  # every look at a log asks: it is worked out once
        kept.setattr(proof, "pumps_well", None)
        assert must_hold(attempt.state, 1) == longer > 0
    assert must_hold(by_rule_2, 1) == 0
    assert attempt.act("wait", {"seconds": 120.0}).accepted
    run_for(attempt, 45.0)
    assert attempt.snapshot("metric").run["primed"]
    assert not attempt.proven()  # nothing was mended: it did as well the first time
    page = attempt.snapshot("metric")
    assert page.run["holding"]
    assert text("attempt.refused.not_long_enough") in page.finish["waits"]
    assert not attempt.act("finish").accepted
    assert attempt.log[-1]["reason"] == "not_long_enough"
    story = story_of(attempt.state)
    assert not story.runs[2].proof(45.0)
    assert attempt.act("wait", {"seconds": 240.0}).accepted
    assert not attempt.proven()


def test_a_good_run_that_was_brought_down_before_the_stop_asks_for_no_longer_one() -> None:
    attempt = begun("alder")
    run_for(attempt, 200.0)
    assert attempt.proven()
    assert attempt.act("set_speed", {"speed": "slow"}).accepted
    assert attempt.act("wait", {"seconds": 60.0}).accepted
    assert attempt.act("stop_engine").accepted
    assert attempt.act("wait", {"seconds": 240.0}).accepted
    run_for(attempt, 60.0)
    assert attempt.proven()


def test_an_attempt_of_the_first_rule_replays_and_keeps_to_it() -> None:
    attempt = begun("osier")
    before = Attempt.__new__(Attempt)
    terms = replace(attempt.state.terms, id="before", proof_rules=1)
    before.store = attempt.store
    before.store.create_attempt(attempt.store.attempt_record(attempt.id), "before")
    before._take_up(attempt.store, terms)
    before._store_and_keep(commands.begin(before.state), None)
    assert "proof_rules" not in before.log[0]["result"]
    restarted(before, 6.0)
    assert before.proven()
    assert before.act("finish").accepted
    again = Attempt.resume(before.store, "before")
    assert again.log == before.log
    assert again.yard.proven


def test_an_old_hand_closes_a_job_on_a_freezing_night() -> None:
    attempt = begun("osier", ("drain_open", 0.6), air=-6.0)
    assert play(attempt)
    assert "hazard" not in attempt.log[-1]["result"]


def test_what_a_bad_gauge_has_shown_stays_when_a_good_one_is_on() -> None:
    attempt = begun("osier", ("motive_gauge_stuck", 0.0))
    run_for(attempt, 60.0)
    (before,) = (run.needles for run in story_of(attempt.state).runs.values())
    make_ready(attempt, Step("remedy", {"remedy": "swap_motive_gauge"}, ""))
    assert attempt.act("remedy", {"remedy": "swap_motive_gauge"}).accepted
    (after,) = (run.needles for run in story_of(attempt.state).runs.values())
    assert before[1].max() == 0.0
    assert (after[:, :60] == before[:, :60]).all()


@pytest.mark.parametrize("fault", [("gauge_low", 2.2e4), ("gauge_stuck", 0.0), ("motive_gauge_stuck", 0.0)])
def test_an_old_hand_does_not_leave_a_gauge_that_lies(fault: tuple[str, float]) -> None:
    attempt = begun("osier", fault)
    assert play(attempt)
    assert any(done.startswith("swap_") for done in attempt.yard.remedies)


def test_what_is_put_right_as_it_runs_wants_a_start_of_its_own() -> None:
    """Late only as the drain stood open: nobody is sent to look for more."""
    attempt = begun("osier", ("drain_open", 0.4))
    make_ready(attempt, Step("remedy", {"remedy": "close_drain", "place": ""}, "", ("drain_open",)))
    make_ready(attempt, Step("start_engine", {"speed": "rated"}, ""))
    assert attempt.act("start_engine").accepted
    assert attempt.act("wait", {"seconds": 67.0}).accepted
    assert attempt.act("remedy", {"remedy": "close_drain"}).accepted
    assert attempt.act("wait", {"seconds": 90.0}).accepted
    page = attempt.snapshot("metric")
    assert page.finish["why"] == text("attempt.falls_short.under_way")
    assert page.run["changed"]
    assert attempt.act("stop_engine").accepted
    assert not attempt.snapshot("metric").run["changed"]
