"""Whether two faults are there is never asked of the call-out: a second one counts once it shows by what was seen."""

from __future__ import annotations

import ast
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import simulator
from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import make_ready
from simulator.attempt.notes import render
from simulator.attempt.proof import proven
from simulator.attempt.rules_of_thumb import Step as RuleStep
from simulator.diagnosis.advice import LEAVE, next_best, options
from simulator.diagnosis.belief import FROM_DRY, LONGER, Belief
from simulator.diagnosis.evidence import Step, Trail, follow, story_of
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.diagnosis.option import CHECK, REMEDY, RUN_ON, WATCH, Option
from simulator.diagnosis.second_trouble import (
    cured_in_vain,
    gone_bad,
    never_primed,
    trail_of,
    went_bad,
    with_late,
    with_weeds,
)
from simulator.diagnosis.words import first_words, option_label, reason
from simulator.marking.service import Coaching, advise, cases_for
from simulator.rig.presets import load_rig, standard_site
from simulator.scenario import Scenario, load_scenario
from simulator.scenario.choices import SiteChoice, choose_fault
from simulator.texts import text

FILES = sorted((Path(__file__).parents[2] / "lessons" / "scenarios").glob("*.scenario.yaml"))


def test_the_same_log_gives_the_same_belief_whatever_is_wrong() -> None:
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("belt_loose", 0.7),),
    )
    attempt = Attempt(call, MemoryStore(), seed=1)
    attempt.act("put_on_ppe")
    attempt.act("check", {"check": "walk_round"})
    one = story_of(attempt.state)
    two = replace(one, faults=(*one.faults, {"fault": "drain_open", "open_percent": 50.0}))
    none = replace(one, faults=())
    assert cases_for(one).key == cases_for(two).key == cases_for(none).key
    ends = [trail_of(story, cases_for(story)).end for story in (one, two, none)]
    assert (ends[0].weights == ends[1].weights).all()
    assert (ends[0].weights == ends[2].weights).all()
    assert not any(h.second for h in cases_for(two).hypotheses)


#: Who may read the answer in a story: marks of what was done, and what the debrief tells once all is over.
AFTER_THE_END = ("marking/found.py", "marking/rig_state.py", "marking/debrief.py")
THE_ANSWER = {"faults", "fault_ids", "true", "what_is_wrong"}


def test_belief_advice_hints_and_prices_read_nothing_of_the_answer() -> None:
    """A story holds the answer for marking; whoever reasons, advises, prices or draws the page reads none of it."""
    home = Path(simulator.__file__).parent
    readers = []
    for folder in ("diagnosis", "marking", "panels/exercise"):
        for path in sorted((home / folder).rglob("*.py")):
            for found in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                owner = found.value if isinstance(found, ast.Attribute) else None
                named = isinstance(owner, ast.Name) and owner.id in ("story", "scenario")
                if named and found.attr in THE_ANSWER:
                    readers.append(f"{path.relative_to(home).as_posix()}: {owner.id}.{found.attr}")
    allowed = (
        *(f"{name}: story." for name in AFTER_THE_END),
        "diagnosis/evidence.py: scenario.what_is_wrong",  # puts it into the story
        "diagnosis/lookalikes.py: scenario.",  # whether a call-out can be solved at all: for who writes one
        "diagnosis/scenario_sets.py: scenario.faults",  # which sets are kept in the package
        "marking/certificate.py: scenario.what_is_wrong",  # the sheet of a sitting that is over
    )
    assert [each for each in readers if not each.startswith(allowed)] == []


@pytest.mark.full
@pytest.mark.parametrize(
    "path",
    [path for path in FILES if path.read_text(encoding="utf-8").count("- fault:") > 1],
    ids=lambda path: path.name.split(".")[0],
)
def test_a_second_trouble_shows_and_the_advice_ends_in_a_proof(path: Path) -> None:
    from simulator.studies.trainees import Expert

    attempt = Attempt(load_scenario(path), MemoryStore(), seed=1)
    Expert(attempt).play()
    assert attempt.yard.ended == "finished"


def a_start(number: int, belief: Belief, after: Belief, minutes: float) -> Step:
    return Step(Option(WATCH, "watch", "", minutes), number, 0.0, math.nan, minutes, belief, after)


def test_a_start_that_fails_with_all_mended_shows_a_second_trouble_though_a_wash_leaves_some_dirt() -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["strainer_plugged", "belt_loose"])
    watched = 60.0 * cases.watch_minutes
    belief = Belief(cases).update_check("strainer_out", "plugged").update_restart(1, watched)
    clean = belief.update_remedy("clean_strainer", "", "was_plugged")
    after = clean.update_restart(2, watched, 30.0, warm=True, end="pumps_badly")
    assert cured_in_vain(a_start(3, clean, after, cases.watch_minutes), worked=True)
    assert not cured_in_vain(a_start(3, belief, belief, cases.watch_minutes), worked=True)


def test_a_start_that_pumps_well_has_not_failed_though_it_is_no_proof_yet() -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["strainer_clogs", "belt_loose"])
    watched = 60.0 * cases.watch_minutes
    clogged = Belief(cases).update_restart(1, watched, 40.0, end="lost_prime", went=1)
    mended = clogged.update_remedy("basket_strainer", "", "weed_about")
    for primed_at, failed in ((30.0, False), (cases.proof_time + 10.0, True), (None, True)):
        end = "primed" if primed_at is not None else ""
        after = mended.update_restart(2, watched, primed_at, warm=True, end=end)
        assert cured_in_vain(a_start(3, mended, after, cases.watch_minutes), worked=True) == failed


def test_what_a_rig_did_before_a_trouble_was_mended_counts_no_longer() -> None:
    """Belt gone, strainer plugged: once the belt is on and it still fails, the strainer is asked by what comes after."""
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("belt_loose", 1.0), choose_fault("strainer_plugged", 0.995)),
    )
    attempt = Attempt(call, MemoryStore(), seed=1)
    make_ready(attempt, act := RuleStep("start_engine", {"speed": "rated"}, ""))
    assert attempt.act(act.action, act.args).accepted
    attempt.act("wait", {"seconds": 60.0})
    story = story_of(attempt.state)
    cases = cases_for(story)
    plain, seen = Belief(cases).by_fault(), follow(story, cases).end.by_fault()
    assert max(abs(seen[name] - plain[name]) for name in plain) > 0.2
    last = story.log[-1]["seq"]
    set_aside = follow(story, cases, mended=last).end
    assert set_aside.by_fault() == pytest.approx(plain, abs=1e-12)


def clogged_and_mended(lacks: str) -> Belief:
    """A strainer that clogged is mended; three starts since pumped well, and each lacked something to be a proof."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["strainer_clogs", "belt_loose"])
    belief = Belief(cases).update_restart(1, 139.0, 35.0, end="lost_prime", went=1)
    belief = belief.update_remedy("basket_strainer", "", "weed_about")
    for run in (2, 3, 4):
        belief = belief.update_restart(run, 79.0, 31.0, warm=True, end="primed", lacks=lacks)
    return belief


@pytest.mark.parametrize("lacks", [LONGER, FROM_DRY, ""])  # "": at slow speed, or mended while it ran
@pytest.mark.parametrize("time", [79.0, math.nan])
def test_what_only_has_to_run_on_or_to_begin_empty_is_not_worked_on(lacks: str, time: float) -> None:
    """It was advised to shut the frost drain, with almost no chance, as two starts in one state tell all there is."""
    belief = clogged_and_mended(lacks)
    chosen = (*options(belief.cases, running=not math.isnan(time)), LEAVE)
    best = next_best(belief, chosen, time=time).option
    on = lacks == LONGER and not math.isnan(time)
    assert (best.kind, best.id) == (WATCH, RUN_ON if on else "watch")
    assert option_label(best) == text(f"diagnosis.options.{best.id}")
    if lacks:
        assert reason(belief, best) == text(f"diagnosis.reason.{RUN_ON if on else lacks}")
    assert first_words(best) == ("" if on else first_words(Option(WATCH, "watch", "", 1.0)))


def test_a_start_that_has_not_had_its_time_is_let_run_on() -> None:
    """It was advised to start it while it ran, and had run for less time than a good rig takes."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["strainer_clogs", "belt_loose"])
    belief = Belief(cases).update_restart(1, 20.0)
    choice = (Option(WATCH, "watch", "", cases.watch_minutes),)
    best = next_best(belief, choice, time=20.0).option
    assert (best.id, reason(belief, best)) == (RUN_ON, text("diagnosis.reason.run_on_yet"))
    assert next_best(belief, choice).option.id == "watch"  # it was stopped
    over = belief.update_restart(1, 60.0 * cases.watch_minutes)
    assert next_best(over, choice, time=60.0 * cases.watch_minutes).option.id == "watch"


def test_a_start_with_water_in_the_hose_proves_nothing_and_the_advice_says_so() -> None:
    call = Scenario(
        title="A call",
        brief="It is said not to draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("gauge_low", 8e3),),
    )
    attempt = Attempt(call, MemoryStore(), mode="practice", seed=1)
    for number in (1, 2):
        make_ready(attempt, act := RuleStep("start_engine", {"speed": "rated"}, ""))
        assert attempt.act(act.action, act.args).accepted
        attempt.act("wait", {"seconds": 90.0})
        story = story_of(attempt.state)
        assert proven(attempt.state) == story.runs[number].proof(90.0) == (number == 1)
        if number == 1:
            attempt.act("stop_engine")
    assert story.runs[2].lacks(90.0) == FROM_DRY
    assert advise(attempt.state).option.kind == WATCH
    assert Coaching().hint(attempt.state, 1)["key"] == "attempt.hints.from_dry.ask"
    assert render(Coaching().hint(attempt.state, 2)).endswith(text("diagnosis.reason.from_dry"))


def test_what_failed_outright_after_a_find_is_one_trouble_again() -> None:
    """A drain found part open and shut, a ring torn beside it: no pair of sizes fitted, so it was told to fit nothing."""
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("drain_open", 0.23), choose_fault("joint_ring", 9.0e-3, "joint:1")),
    )
    attempt = Attempt(call, MemoryStore(), seed=2)
    attempt.act("put_on_ppe")
    for act in (
        RuleStep("check", {"check": "walk_round"}, ""),
        RuleStep("remedy", {"remedy": "close_drain", "place": ""}, ""),
        RuleStep("start_engine", {"speed": "rated"}, ""),
    ):
        make_ready(attempt, act)
        attempt.act(act.action, act.args)
    attempt.act("wait", {"seconds": 100.0})
    story = story_of(attempt.state)
    assert [
        event["result"].get("finding")
        for event in story.log
        if event["act"] == "remedy" and event["accepted"]
    ] == ["was_part_open"]
    end = trail_of(story, cases_for(story)).end
    assert end.by_fault()["drain_open"] < 0.1 < end.by_fault()["joint_ring"]
    assert not any(here.second for here in end.cases.hypotheses)


def test_a_start_that_fails_where_nothing_seemed_wrong_asks_for_more() -> None:
    """A drain that opens late left the sound rig at 82 % after work in vain, and no more was thought of."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    belief = Belief(cases).update_check("belt", "tight").update_remedy("tighten_belt", "", "belt_tight")
    failed_start = belief.update_restart(2, 200.0, 40.0, end="pumps_badly")
    watch = Option(WATCH, "watch", "", 1.5)
    step = Step(watch, 3, 0.0, math.nan, 1.5, belief, failed_start)
    assert belief.by_fault()["sound"] > 0.5
    assert cured_in_vain(step, worked=True)
    assert not cured_in_vain(step, worked=False)


@pytest.mark.parametrize("end", ["pumps_badly", "primed"])
def test_a_start_that_goes_bad_while_it_is_looked_at_has_failed(end: str) -> None:
    """Only what was seen up to the first look at it counted: a drain that opened at 65 s was never thought of."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    belief = Belief(cases).update_check("belt", "tight")
    mended = belief.update_remedy("tighten_belt", "", "belt_tight")
    at_first = mended.update_restart(1, 55.0, 40.0)
    seen = at_first.update_check("exhaust_stream", "strong_on", time=55.0, primed=True)
    by_now = seen.update_restart(1, 130.0, 40.0, end=end)
    work = Step(Option(REMEDY, "tighten_belt", "", 10.0), 1, 0.0, math.nan, 10.0, belief, mended)
    start = a_start(2, mended, at_first, cases.watch_minutes)
    look = Step(Option(CHECK, "exhaust_stream", "", 0.5), 3, 0.0, 55.0, 0.5, at_first, seen)
    trail = Trail((work, start, look), {}, by_now, 130.0)
    again = gone_bad(trail, look, trail.end)
    assert again is not None
    assert again.seq == look.seq
    assert not cured_in_vain(start, worked=True)
    assert cured_in_vain(again, worked=True) == (end == "pumps_badly")
    stopped = replace(look, time=math.nan)
    assert gone_bad(Trail((work, start, stopped), {}, by_now, math.nan), stopped, by_now) is None


def test_a_pump_that_primes_and_goes_bad_may_have_what_comes_under_way() -> None:
    """A ring that tore at 60 s: the flange that works itself loose was said at 0.98, as of rings none came late."""
    ring = choose_fault("joint_ring", 9.0e-3, "joint:1")
    call = Scenario(
        title="A call",
        brief="It draws and then stops.",
        site=SiteChoice(lift_m=3.0),
        faults=(ring.model_copy(update={"start_s": 60.0, "end_s": 70.0}),),
    )
    attempt = Attempt(call, MemoryStore(), seed=1)
    make_ready(attempt, act := RuleStep("start_engine", {"speed": "rated"}, ""))
    assert attempt.act(act.action, act.args).accepted
    attempt.act("wait", {"seconds": 125.0})
    story = story_of(attempt.state)
    few = hypothesis_set(*story.sound, ["joint_ring", "flange_works_loose", "belt_loose"])
    trail = trail_of(story, few)
    plain, seen = follow(story, few).end.by_fault(), trail.end.by_fault()
    assert seen["flange_works_loose"] < 0.9 < plain["flange_works_loose"]
    assert seen["joint_ring"] > 0.1 > plain["joint_ring"]
    assert not any(here.second for here in trail.end.cases.hypotheses)


def test_a_start_that_never_primes_is_left_to_single_faults() -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["joint_ring", "belt_loose"])
    assert not went_bad(Belief(cases).update_restart(1, 120.0))
    assert not went_bad(Belief(cases).update_restart(1, 120.0, 40.0, proof=True, end="primed"))
    known, late = cases.weights, with_late(cases)
    assert with_late(cases) is late  # made once
    shares = late.weights[: len(known)] / known
    assert shares == pytest.approx(0.9, rel=0.05)
    assert [here.late for here in late.hypotheses[: len(known)]] == [None] * len(known)


def test_a_look_at_a_running_engine_tells_but_half_of_which_late_trouble_it_is() -> None:
    """One size and three times stand for all: a look said of a late trouble of another size that it was next to never."""
    cases = with_late(hypothesis_set(load_rig("osier"), standard_site(), ["joint_ring", "belt_loose"]))
    belief, start = Belief(cases), cases.situations.start
    late = np.array([here.late is not None for here in cases.hypotheses])
    plain, told = cases.chances["listen_pump", ""][start, -1], belief.chances("listen_pump", time=115.0)
    shares = cases.weights[late] / cases.weights[late].sum()
    assert told[late] == pytest.approx(0.5 * plain[late] + 0.5 * (shares @ plain[late]))
    assert (told[~late] == plain[~late]).all()
    seen = belief.update_check("listen_pump", "pulses", time=115.0, primed=True).looks[0].chances
    assert seen[late].max() < 0.5 + 0.5 * plain[late].max()
    assert (belief.chances("belt") == cases.chances["belt", ""][start, 0]).all()  # found as it is, at rest
    mended = belief.update_remedy("tighten_belt")
    other = (mended.now != start) & late
    assert other.any()
    assert (
        mended.chances("listen_pump", time=115.0)[other]
        == cases.chances["listen_pump", ""][mended.now, -1][other]
    ).all()


def test_a_strainer_that_weed_blinds_is_not_told_as_a_loose_liner() -> None:
    """It was said to be such a hose at 0.99: the needle runs ahead of the water with both."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["liner_collapsed", "strainer_plugged"])
    wide = with_weeds(cases)
    row = wide.situations.start[-2]
    times = np.arange(3.0, 81.0, 3.0)

    def seen(belief: Belief) -> Belief:
        told = belief.update_gauges(1, times, wide.needles[row][:, times.astype(int)])
        return told.update_restart(1, 60.0 * cases.watch_minutes)

    narrow, known = seen(Belief(cases)), seen(Belief(wide))
    assert never_primed(narrow)
    assert not never_primed(Belief(cases).update_restart(1, 120.0, 40.0))
    assert known.by_fault()["strainer_plugged"] > 0.4 > narrow.by_fault()["strainer_plugged"]
