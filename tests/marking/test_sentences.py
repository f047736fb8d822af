"""Sentences of sheet and debrief fit what was done: no act told as better than itself, no act told as a look."""

from __future__ import annotations

import math
import re
from types import SimpleNamespace

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.safety import act_here, worst_danger
from simulator.diagnosis.advice import Advice
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import Step, story_of
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.diagnosis.words import fault_name, reason, told_label, what_it_tells
from simulator.marking import debrief
from simulator.marking.debrief import _kind_of_loss, practise
from simulator.marking.economy import Judged
from simulator.marking.found import mark_found
from simulator.marking.service import cases_for, debrief_and_keep, marked_attempt
from simulator.marking.sheet import Evidence, Part
from simulator.panels.exercise.working import in_vain
from simulator.rig.faults import FAULTS
from simulator.rig.onset import COMES_LATER
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.scenario.choices import choose_fault
from simulator.studies.trainees import Expert
from simulator.texts import text
from tests.marking.conftest import belief_of, call_out, do


def option(kind: str, name: str = "x") -> Option:
    return Option(kind, name, "", 5.0)


def judged(did: Option, best: Option, lost: float = 3.0) -> Judged:
    before = SimpleNamespace(looks=(), starts=())
    step = SimpleNamespace(option=did, before=before, after=before)
    return Judged(step, SimpleNamespace(option=best), lost)


@pytest.mark.parametrize("sure", [True, False])
def test_what_to_practise_fits_what_an_expert_would_have_done(monkeypatch, sure: bool) -> None:
    monkeypatch.setattr(debrief, "mended_chance", lambda belief, best: 0.99 if sure else 0.11)
    acts = {kind: option(kind) for kind in ("watch", "check", "remedy", "finish")}
    for did in (acts["watch"], acts["check"], acts["remedy"]):
        for best in (*acts.values(), option("check", "y"), option("remedy", "y")):
            key = _kind_of_loss(judged(did, best))
            said = text(f"marking.practise.{key}", expert="EXPERT")
            assert ("look" not in said.lower()) or best.kind in ("check", "remedy"), (did, best, said)
            if key in ("look_first", "cheaper_look"):
                assert best.kind == "check"
            if key in ("enough_known", "work_pays", "other_work"):
                assert best.kind == "remedy"
            assert key != ("work_pays" if sure else "enough_known")  # who is not sure does not know enough
            if best.kind == "finish":
                assert key == "done_already"


def test_the_right_act_done_too_long_is_not_told_to_be_done_instead() -> None:
    assert judged(option("watch"), option("watch")).same
    assert not judged(option("watch"), option("check")).same
    for key in ("marking.economy.too_long", "marking.steps.too_long"):
        assert "etter" not in text(key, did="X", minutes="3 minutes")


@pytest.mark.parametrize(
    ("end", "warm", "said"),
    [
        ("pumps_badly", True, "something is still wrong"),
        ("lost_prime", True, "something is still wrong"),
        ("primed", True, "not a start from dry"),
        ("primed", False, "nothing new"),
    ],
)
def test_a_warm_start_tells_what_it_can(monkeypatch, end: str, warm: bool, said: str) -> None:
    monkeypatch.setattr(debrief, "what_changed", lambda before, after: text("diagnosis.changed.nothing"))
    start = SimpleNamespace(end=end, warm=warm, proof=False, run=1)
    step = SimpleNamespace(
        option=option("watch"), before=SimpleNamespace(starts=()), after=SimpleNamespace(starts=(start,))
    )
    assert said in debrief.told_by(step)


@pytest.mark.parametrize(
    ("act", "said"), [("foam_pump", "for the look that came next: Foam on flange"), ("belt", "nothing new")]
)
def test_a_start_made_for_a_look_is_told_so(monkeypatch, act: str, said: str) -> None:
    """It said that the start told nothing new; the foam that it was made for came after it."""
    monkeypatch.setattr(debrief, "what_changed", lambda before, after: text("diagnosis.changed.nothing"))
    step = SimpleNamespace(
        option=option("watch"), before=SimpleNamespace(starts=()), after=SimpleNamespace(starts=())
    )
    assert said in debrief.told_by(step, SimpleNamespace(option=Option(CHECK, act, "", 2.0)))


def _step(act: Option, **fields: object) -> SimpleNamespace:
    none = SimpleNamespace(starts=(), looks=())
    return SimpleNamespace(**{"option": act, "before": none, "after": none, "result": {}} | fields)


def test_a_start_that_failed_after_its_proof_is_told_so() -> None:
    """It said "That is the proof", and nothing said that the pump lost its prime while it was looked at."""
    start = SimpleNamespace(run=1, proof=True, end="primed", warm=False)
    lost = SimpleNamespace(run=1, proof=False, end="lost_prime", warm=False)
    step = _step(Option("watch", "watch", "", 1.5), after=SimpleNamespace(starts=(start,), looks=()))
    then = _step(Option(CHECK, "belt", "", 3.0), before=SimpleNamespace(starts=(lost,), looks=()))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(debrief, "what_changed", lambda before, after: text("diagnosis.changed.proof"))
        assert "no proof" in debrief.told_by(step, then)
        assert debrief.told_by(step, None) == text("diagnosis.changed.proof")


def test_a_bad_part_that_was_mended_told_something(monkeypatch) -> None:
    """A drain found open and shut "told nothing new" where two troubles had been thought of by then."""
    monkeypatch.setattr(debrief, "what_changed", lambda before, after: text("diagnosis.changed.nothing"))
    work = Option(REMEDY, "close_drain", "", 1.0)
    found = REMEDIES["close_drain"].findings
    assert "was bad" in debrief.told_by(_step(work, result={"finding": found[-1]}))
    assert "nothing new" in debrief.told_by(_step(work, result={"finding": found[0]}))


def test_a_find_that_fits_no_suspect_is_not_told_as_nothing(monkeypatch) -> None:
    """Foam drawn in at the flange "told nothing new" beside a ring that was thought of at 93 %."""
    monkeypatch.setattr(debrief, "what_changed", lambda before, after: text("diagnosis.changed.nothing"))
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["flange_leaks", "belt_loose"])
    before = Belief(cases).update_check("belt", "broken")
    after = before.update_check("foam_pump", "drawn_in_flange", time=30.0)
    look = Option(CHECK, "foam_pump", "", 2.0)
    assert "none of the likely" in debrief.told_by(_step(look, before=before, after=after))
    usual = before.update_check("foam_pump", "stays", time=30.0)
    step = _step(look, before=before, after=usual)
    assert "nothing new" in debrief.told_by(step)
    # Nor is it told as in vain where an old hand would have done the same: he could not know it either.
    for best, vain in ((look, False), (Option(CHECK, "belt", "", 4.0), True)):
        item = Judged(step, Advice(best, 0.0, (), ""), 2.0)
        assert in_vain(item) is vain
        # "told nothing new" stood beside "No minute was wasted": what cost nothing is not held against anybody
        assert not in_vain(Judged(step, Advice(best, 0.0, (), ""), 0.0))
        assert ("right to do it" in debrief.what_it_told(item)) is not vain


def told_of_a_start(fault: str, size: float, seconds: int) -> str:
    """What a debrief says changed by a start that was watched for so long."""
    attempt = Attempt(call_out(fault, size), MemoryStore(), mode="practice", seed=3)
    do(attempt, "start_engine", speed="rated")
    do(attempt, "wait", seconds=seconds)
    attempt.act("give_up")
    story, cases, marked = marked_attempt(attempt)
    watched = next(item for item in marked.judged if item.step.option.kind == "watch")
    return debrief.step_words(watched, story, cases, "metric")["changed"]


@pytest.mark.parametrize(
    ("fault", "size", "sign"),
    [
        ("belt_loose", 0.7, "the motive air at"),
        ("strainer_plugged", 0.99, "the suction needle at"),
        ("mixing_tube_worn", 1.2, "it primed after"),
    ],
)
def test_a_start_names_the_reading_that_moved_the_suspects(fault: str, size: float, sign: str) -> None:
    """It said that all was as on a good rig, and the jet tube leapt from 1 % to 78 %."""
    told = told_of_a_start(fault, size, 120)
    assert f"What spoke for it most: {sign}" in told
    for shown, here, there in re.findall(
        r"(?:showed|was) ([\d.]+) \w+\. .*?gives ([\d.]+) .*?, ([\d.]+) \w+\.", told
    ):
        assert abs(float(shown) - float(here)) < abs(float(shown) - float(there))


@pytest.mark.parametrize("fault", ["line_bursts", "strainer_clogs"])
def test_what_comes_as_it_runs_is_not_said_to_pump_well_for_ever(fault: str) -> None:
    """It said of weed, of all things: with that it pumps well once it has primed."""
    told = told_of_a_start(fault, FAULTS[fault].sizes[-1], 170)
    later = [fault_name(name) for name in FAULTS if FAULTS[name].family == COMES_LATER]
    assert later
    assert not [name for name in later if f"With the other, {name}, it pumps well" in told], told


def test_markers_on_one_of_two_troubles_are_not_told_to_lie_elsewhere() -> None:
    """It said: 10 of 10 markers on the right kind of trouble, more of them lay on other kinds."""
    call = call_out("belt_loose", 0.7)
    call = call.model_copy(update={"faults": (*call.faults, choose_fault("gauge_low", 2e4))})
    attempt = Attempt(call, MemoryStore(), mode="practice", seed=5)
    do(attempt, "start_engine", speed="rated")
    do(attempt, "call", markers={"belt_loose": 10})
    story = story_of(attempt.state)
    said = [each.sentence for each in mark_found(story, cases_for(story)).evidence if ".call_1" in each.key]
    assert len(said) == 1
    assert "10 of 10" in said[0]
    assert "Both were there" in said[0]


def test_work_stands_without_its_button_in_a_sentence() -> None:
    """It said: Better then: Mend: shut the casing drain."""
    assert told_label(Option(REMEDY, "renew_joint_ring", "joint:1", 6.0)).startswith("put a new ring")
    assert told_label(Option("watch", "watch", "", 1.5)).startswith("Start it")


def test_a_gauge_beside_a_pump_that_primed_in_good_time_is_looked_at() -> None:
    """It said of a stuck gauge, beside a proof: too little air is made, or it gets lost."""
    call = call_out("motive_gauge_stuck", 0.0)
    attempt = Attempt(call, MemoryStore(), mode="practice", seed=5)
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": 60.0})
    attempt.act("give_up")
    told = debrief_and_keep(attempt)["steps"][0]["did"]
    assert "look to the gauge" in told
    assert "gets lost" not in told


def test_who_let_half_an_hour_go_by_is_not_told_well_done() -> None:
    """It said: Well done. Take a harder call next."""
    attempt = Attempt(call_out("drain_open", 1.0), MemoryStore(), mode="practice", seed=5)
    attempt.act("wait", {"seconds": 1800.0})
    Expert(attempt).play()
    assert "go by" in debrief_and_keep(attempt)["practise"]


def test_a_look_shows_what_shows_in_it() -> None:
    """It said that a test of the air line "shows whether it is this: casing drain valve left open"."""
    cases = hypothesis_set(
        load_rig("osier"), standard_site(), ["drain_open", "compressor_worn", "relief_weak"]
    )
    told = what_it_tells(Belief(cases), Option(CHECK, "receiver_test", "", 6.0))
    assert told
    assert "drain_open" not in told


def test_what_is_seen_from_afar_rules_out_and_shows_no_part() -> None:
    """It said that the exhaust "shows whether it is this: compressor belt": no air comes of many faults."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    belief = Belief(cases).update_gauges(1, np.array([20.0, 40.0]), np.zeros((2, 2))).update_restart(1, 45.0)
    assert "rule this out: compressor belt" in reason(belief, Option(CHECK, "exhaust_stream", "", 0.5))
    assert "shows whether" in reason(belief, Option(CHECK, "belt", "", 4.0))


def test_a_look_that_cost_nothing_is_not_held_against_anybody() -> None:
    """It said of the look that a lesson had just taught: an old hand would do this, and named another one."""
    said = [
        (float(step["lost_minutes"]), step["expert_line"])
        for step in debrief_and_keep(_looked_elsewhere())["steps"]
        if not step["same"]
    ]
    assert any(lost == 0.0 and line.startswith("That look cost you nothing") for lost, line in said)
    assert all(lost > 0.0 or "An old hand would do this" not in line for lost, line in said)


def _looked_elsewhere() -> Attempt:
    attempt = Attempt(call_out("strainer_clogs", 0.995), MemoryStore(), mode="practice", seed=5)
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": 118.0})
    for look in ("watch_water", "listen_pump", "exhaust_stream"):
        attempt.act("check", {"check": look})
    attempt.act("stop_engine")
    attempt.act("give_up")
    return attempt


def test_a_look_that_saw_the_bad_part_told_something() -> None:
    """It said that the look into a strainer "packed with weed and mud" had told nothing new."""
    attempt = Attempt(call_out("strainer_plugged", 0.996), MemoryStore(), mode="practice", seed=5)
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": 80.0})
    do(attempt, "stop_engine")
    attempt.act("call", {"markers": {"strainer_plugged": 10}})
    do(attempt, "check", check="strainer_out")
    attempt.act("give_up")
    steps = debrief_and_keep(attempt)["steps"]
    (seen,) = [step for step in steps if "strainer" in step["act"].lower()]
    assert seen["changed"] != text("diagnosis.changed.nothing")


def test_a_gauge_is_changed_for_its_own_sake() -> None:
    """It said: the chance that the work puts it right is almost 0 %; nothing else gives as much."""
    belief = Belief(hypothesis_set(load_rig("osier"), standard_site(), ["gauge_low", "drain_open"]))
    said = reason(belief, Option(REMEDY, "swap_suction_gauge", "", 4.0))
    assert "gauge itself" in said
    assert "puts" not in said


def test_no_name_of_a_fault_brings_a_colon_into_a_sentence_that_has_one() -> None:
    """A question asked what a test shows "with this: nothing wrong: the rig is sound?"."""
    names = [text(f"faults.{name}.name") for name in FAULTS]
    assert [name for name in names if ":" in name] == []


def test_no_belt_turns_beside_a_rig_that_has_not_run() -> None:
    attempt = Attempt(call_out("belt_loose", 0.7), MemoryStore(), mode="practice", seed=5)
    attempt.act("check", {"check": "walk_round"})
    tried = attempt.log[-1]
    assert (tried["breach"], tried["result"]["danger"]) == ("minor", "edge_near")
    do(attempt, "start_engine", speed="rated")
    assert worst_danger(["ppe"], attempt.yard, act_here(attempt.state, "check", {"check": "walk_round"})) == (
        "moving_near"
    )


def test_no_call_is_told_to_be_sure_of_something_else() -> None:
    for number in (1, 2):
        said = text(f"marking.found.call_{number}_badly", n=0, family="x")
        assert "something else" not in said


@pytest.mark.parametrize(
    ("fault", "size", "less"),
    [("strainer_clogs", 0.995, "flange_works_loose"), ("flange_works_loose", 0.014, "strainer_clogs")],
)
def test_what_took_the_prime_away_is_told_by_the_needle(fault: str, size: float, less: str) -> None:
    attempt = Attempt(call_out(fault, size), MemoryStore(), mode="practice", seed=5)
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": 118.0})
    attempt.act("stop_engine")
    chances = belief_of(attempt)[0].by_fault()
    assert chances[fault] > 5.0 * chances[less]


def test_work_done_without_the_look_before_it_is_told_by_its_own_reason() -> None:
    """It said: an old hand would have done the same; it takes half a minute and shows whether it is this."""
    work, look = Option(REMEDY, "lower_pump", "", 40.0), Option(CHECK, "dip_water", "", 3.0)
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["pump_high", "belt_loose"])
    belief = Belief(cases)
    expert = Advice(work, 40.0, (), "You know enough.")
    done = Judged(Step(work, 1, 0.0, math.nan, 40.0, belief, belief), expert, 0.0, first=look)
    assert done.same
    assert done.reason == "You know enough."
    other = Option(CHECK, "tachometer", "", 0.5)
    looked = Judged(Step(other, 1, 0.0, 60.0, 0.5, belief, belief), expert, 0.0, first=look)
    assert looked.reason != "You know enough."


def test_who_looks_on_after_a_start_is_told_to_start_it_and_not_that_gauges_come_first() -> None:
    did = judged(option("check"), option("watch"))
    assert _kind_of_loss(did) == "watch_first"
    did.step.before.starts = ("one",)
    assert _kind_of_loss(did) == "prove_first"


@pytest.mark.parametrize(
    ("hints", "keys", "lost", "told"),
    [
        ((), ("marking.found.proven",), 3.0, "doubt"),
        ((), ("marking.found.proven", "marking.found.not_needed"), 3.0, "look_first"),
        ((), ("marking.found.proven", "marking.found.not_needed"), 0.0, "doubt"),
        ((1, 2, 3) * 3, ("marking.found.proven",), 3.0, "hinted"),
    ],
)
def test_what_to_practise_is_what_took_the_marks(monkeypatch, hints, keys, lost, told) -> None:
    """Work in vain, and hints, took them: who was told to share out markers, or to match the work, did just that."""
    parts = (
        Part("found", 5.0, 45.0, tuple(Evidence(0.0, key) for key in keys)),
        Part("economy", 20.0, 40.0, ()),
    )
    worst = judged(option("remedy"), option("check", "y"), lost)
    marked = SimpleNamespace(sheet=SimpleNamespace(parts=parts), judged=[worst], trail=None)
    monkeypatch.setattr(debrief, "dry_runs", lambda story, trail: ())
    log = [{"breach": "", "act": "ask_hint", "accepted": True, "result": {"step": step}} for step in hints]
    story = SimpleNamespace(log=log, ended="finished")
    monkeypatch.setattr(debrief, "told_better", lambda item: "THE LOOK")
    assert practise(story, marked) == text(f"marking.practise.{told}", expert="THE LOOK")


@pytest.mark.parametrize(("prime", "blank", "told"), [(6.2, 0.1, "predict_test"), (0.1, 6.2, "predict")])
def test_the_guess_to_practise_is_the_one_that_was_wrong(monkeypatch, prime, blank, told) -> None:
    """Who judged the start well and the test wrongly was told to say what a good rig would do."""
    evidence = (
        Evidence(prime, "marking.understanding.sound_prime_time.close"),
        Evidence(blank, "marking.understanding.blank_off_if_right.said_wrong"),
    )
    parts = (Part("understanding", prime + blank, 15.0, evidence), Part("economy", 40.0, 40.0, ()))
    marked = SimpleNamespace(sheet=SimpleNamespace(parts=parts), judged=[], trail=None)
    monkeypatch.setattr(debrief, "dry_runs", lambda story, trail: ())
    story = SimpleNamespace(log=[], ended="finished")
    assert practise(story, marked) == text(f"marking.practise.{told}")


def test_work_that_a_look_called_for_costs_nothing_on_a_proven_rig(monkeypatch) -> None:
    """A hump was seen, the pump primed in time all the same, and the hose was laid anew: it cost 12 points."""
    from simulator.marking.economy import called_for

    step = judged(option("remedy", "relay_hose"), option("finish"), 0.0).step
    step.before.looks = (SimpleNamespace(check="walk_round", outcome="hose_humped"),)
    assert called_for(step)
    step.before.looks = (SimpleNamespace(check="walk_round", outcome="in_order"),)
    assert not called_for(step)
