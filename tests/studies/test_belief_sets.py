"""Beliefs set by set: what is asked, when it is asked, and what counts as right."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.ending import OFTEN
from simulator.diagnosis.evidence import follow, story_of
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.diagnosis.lookalikes import same_work
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.diagnosis.outlook import Observer
from simulator.errors import InputError
from simulator.marking.certainty import AS_IT_RUNS
from simulator.rig.faults import FAULTS
from simulator.rig.onset import coming_at, coming_late
from simulator.rig.presets import load_rig, standard_site
from simulator.run import simulate
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.studies.belief_sets import (
    SETS,
    TOP,
    WRONG,
    Asked,
    Case,
    Kept,
    asked_by_the_truth,
    asked_of,
    asked_with,
    chances_opened,
    figures,
    misses,
    there,
)
from simulator.studies.calibration_page import sets_page
from simulator.studies.expert_play import Place, Told, glance, play, watch
from simulator.studies.forecasts import Forecast
from simulator.studies.perturbed import altered_weights

TOLD = ("watched", "primed_at", "warm", "proof", "end", "went", "lacks", "was_well")  # of a start


@pytest.fixture(scope="module")
def observer() -> Observer:
    """Of the rig Osier at its usual site."""
    return Observer(load_rig("osier"), standard_site())


def case_of(group: str, observer: Observer, seed: int) -> Case:
    chance = np.random.default_rng(seed)
    return Case(group, observer, chance, (altered_weights(chance), 1.0))


@pytest.mark.parametrize("group", SETS)
def test_each_set_has_what_it_says(group: str, observer: Observer) -> None:
    case = case_of(group, observer, 3)
    liars = [name for name in case.faults if FAULTS[name].family == "instrument"]
    assert len(case.faults) == (2 if group == "pair" else len(case.faults))
    assert bool(case.rig.late) == (group == "late")
    if group == "liar":
        assert liars


def test_what_opens_the_faulty_part_is_told_from_what_only_looks(observer: Observer) -> None:
    case = case_of("single", observer, 3)
    case.faults = ("nozzle_plugged",)
    case.alone = {"nozzle_plugged": FAULTS["nozzle_plugged"].apply(*case.base, 0.9, "")}
    assert case.opened_by(Option(REMEDY, "clean_nozzle", "", 12.0)) == ("nozzle_plugged",)
    assert case.opened_by(Option(CHECK, "nozzle_out", "", 10.0)) == ("nozzle_plugged",)
    for look in ("screen_out", "blank_off", "exhaust_stream", "receiver_test"):
        assert case.opened_by(Option(CHECK, look, "", 5.0)) == (), look
    assert case.opened_by(Option(REMEDY, "renew_belt", "", 15.0)) == ()


def test_a_belief_says_of_each_fault_how_likely_it_is_there_alone_or_not() -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    stated = there(Belief(cases))
    assert sum(stated.values()) == pytest.approx(1.0)
    two = replace(cases.hypotheses[-1], second=("drain_open", 0.5, ""))
    wide = replace(cases, hypotheses=(*cases.hypotheses[:-1], two))
    assert sum(there(Belief(wide)).values()) > 1.0


def test_a_start_for_a_look_counts_as_a_live_one_and_again_where_thinking_begins_anew(
    observer: Observer,
) -> None:
    """It was left out where a second trouble was thought of: the expert then knew less than he had seen."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    rig, site = FAULTS["drain_open"].apply(observer.rig, observer.site, 0.2, "")
    place = Place(observer, rig, site, 3)
    told = Told(cases, lambda: cases)
    started = glance(Belief(cases), place, 1)
    assert (started.starts[-1].watched, started.starts[-1].primed_at) == (USUAL_LOOK, None)
    assert started.readings[0].times.max() > USUAL_LOOK - 3.5
    outcome = place.look("exhaust_stream", "", USUAL_LOOK)
    seen = started.update_check("exhaust_stream", outcome, "", USUAL_LOOK, primed=False)
    look = Option(CHECK, "exhaust_stream", "", 1.5)
    told.after(look, outcome, USUAL_LOOK, started, seen, place.as_it_is(), glanced=True)
    anew = told.anew()
    assert len(anew.starts) == len(anew.looks) == len(anew.readings) == 1
    np.testing.assert_allclose(anew.weights, seen.weights, rtol=1e-12)


def test_a_live_start_for_a_look_counts_as_one_of_the_studies() -> None:
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("drain_open", 0.2),),
    )
    attempt = Attempt(call, MemoryStore(), seed=3)
    make_ready(attempt, start := Step("start_engine", {"speed": "rated"}, ""))
    attempt.act(start.action, start.args)
    attempt.act("wait", {"seconds": USUAL_LOOK})
    assert attempt.act("check", {"check": "exhaust_stream"}).accepted
    story = story_of(attempt.state)
    cases = hypothesis_set(*story.sound, ["belt_loose", "drain_open"])
    live = next(step.before for step in follow(story, cases).steps if step.option.id == "exhaust_stream")
    rig, site = story.true
    studied = glance(Belief(cases), Place(Observer(*story.sound), rig, site, 3), 1)
    one, other = live.starts[-1], studied.starts[-1]
    assert [getattr(one, name) for name in TOLD] == [getattr(other, name) for name in TOLD]
    np.testing.assert_array_equal(live.readings[0].times, studied.readings[0].times)


def test_a_start_that_pumped_well_and_then_badly_counts_as_a_live_one(observer: Observer) -> None:
    """A lever that came down under way was told as a wheel clogged from the start: it had pumped well at first."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "engine_slow"])
    good, there = (
        (observer.rig, observer.site),
        FAULTS["engine_slow"].apply(observer.rig, observer.site, 0.6, ""),
    )
    seen = [
        watch(Belief(cases), Place(observer, rig, observer.site, 3), 1).starts[-1]
        for rig in (there[0], coming_late(good, there, 70.0, 80.0), observer.rig)
    ]
    assert [start.was_well for start in seen] == [False, True, False]
    assert seen[1].end in ("pumps_badly", "lost_prime")


def test_a_start_for_a_look_is_no_proof(observer: Observer) -> None:
    """A pump that primed by then ended the play, and what comes later was never met."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    place = Place(observer, observer.rig, observer.site, 3)
    seen = glance(Belief(cases), place, 1)
    assert seen.starts[-1].primed_at is not None
    assert not seen.proved
    assert watch(seen, place, 2).proved


def test_an_expert_of_the_studies_makes_no_look_for_ever(observer: Observer) -> None:
    """As on the page: what has told all it can is not done again, whatever is wrong."""
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    rig, site = FAULTS["nozzle_plugged"].apply(observer.rig, observer.site, 0.97, "")
    done = play(cases, Place(observer, rig, site, 3)).steps
    assert max(Counter((step.id, step.place) for step, _ in done if step.kind == CHECK).values()) <= OFTEN


def test_a_look_comes_after_what_the_watching_has_shown(observer: Observer) -> None:
    """The prime was seen lost at the end of a start, and the looks were then made before that came."""
    late = ["strainer_clogs", "line_bursts", "flange_works_loose"]
    cases = hypothesis_set(load_rig("osier"), standard_site(), late)
    looked: list[float] = []

    class Watched(Place):
        def look(self, check: str, place: str, time: float) -> str:
            looked.append(time)
            return super().look(check, place, time)

    rig, site = FAULTS["flange_works_loose"].apply(observer.rig, observer.site, 0.008, "")
    play(cases, Watched(observer, rig, site, 3), most_steps=3)
    assert [time for time in looked if time == time] == [cases.span]


@pytest.mark.parametrize("name", AS_IT_RUNS)
def test_two_names_of_what_comes_as_it_runs_are_one_trouble(observer: Observer, name: str) -> None:
    """It counted as wrong to say that weed gathers on a strainer that is plugged as it runs."""
    good, size = (observer.rig, observer.site), {"strainer_plugged": 0.99, "flange_leaks": 0.008}[name]
    first, second = (FAULTS[each].apply(*good, size, "") for each in (name, AS_IT_RUNS[name]))
    run = simulate(coming_late(good, first, 50.0, 70.0), first[1], duration=110.0)
    other = simulate(coming_at(good[0], second[0], 50.0, 70.0), second[1], duration=110.0)
    assert run.outcome.code == other.outcome.code
    assert run.prime_time == pytest.approx(other.prime_time)
    there_in_full = run.time > 75.0
    np.testing.assert_allclose(
        run.suction_pressure[there_in_full], other.suction_pressure[there_in_full], rtol=0.05
    )
    assert same_work(name, (AS_IT_RUNS[name],))
    late, single = (case_of(group, observer, 3) for group in ("late", "single"))
    assert late.other_names[name] == AS_IT_RUNS[name]
    assert single.other_names == {late: first for first, late in AS_IT_RUNS.items()}


def test_what_is_known_is_not_asked_again() -> None:
    stated = {"strainer_plugged": 0.9, "engine_slow": 0.6, "belt_loose": 0.1}
    second = Forecast("engine_slow", stated, known=("strainer_plugged",))
    assert (second.best, second.right) == ("engine_slow", True)
    first = Forecast("engine_slow", stated, also=("strainer_plugged",))
    assert (first.best, first.right) == ("strainer_plugged", True)


def test_misses_and_page_name_the_sets() -> None:
    wrong = Forecast("sound", {"belt_loose": 0.97, "sound": 0.03, "drain_open": 0.2, "relief_weak": 0.1})
    bad = [Asked(0, wrong, {"belt_loose": 0.9}, (wrong,))] * 30
    assert len(misses("single", bad, 1)) == 3
    assert len(misses("noise", bad, 1)) == 2, "of needles that shake more the first three are only told"
    right = Forecast("belt_loose", {"belt_loose": 0.98, "sound": 0.02})
    assert misses("pair", [Asked(0, right, {}, (right, right))] * 60, 1) == []
    assert misses("pair", [Asked(0, right, {}, (wrong, right))] * 60, 1) == [
        "pair: truth among the first three 0.500, wanted 0.9 at least"
    ]
    made = sets_page(
        {name: {"any_part": ([each] * 30, None)} for name, each in (("pair", right), ("late", wrong))},
        1,
        0.95,
    )
    assert made.count('class="plotly-graph-div"') == 1
    assert "<script src" not in made
    assert set(TOP) < set(SETS)
    assert WRONG == 0.05


@pytest.mark.full
@pytest.mark.parametrize("group", SETS)
def test_a_few_cases_of_each_set_are_mostly_known(group: str) -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site())
    found = list(asked_of(group, cases, range(8), 5))
    assert figures(found, 1).top >= 0.7


def test_one_who_is_exact_stays_so_only_where_the_moment_does_not_know_what_is_wrong() -> None:
    """Single faults missed their goal by what was asked: before the faulty part, where right statements are picked."""
    chance, found = np.random.default_rng(7), []
    names = ["belt_loose", "drain_open", "relief_weak"]
    for number in range(400):
        likely = float(chance.uniform(0.4, 1.0))
        stated = dict(zip(names, (likely, 0.7 * (1.0 - likely), 0.3 * (1.0 - likely)), strict=True))
        truth = names[int(chance.choice(3, p=list(stated.values())))]
        first = Forecast(truth, stated)
        left = dict(stated)
        while max(left, key=lambda name: left[name]) != truth:  # the likeliest part is opened, and is good
            left.pop(max(left, key=lambda name: left[name]))
        whole = sum(left.values())
        own = Forecast(truth, {name: each / whole for name, each in left.items()})
        found.append(Asked(number, first, {names[0]: likely}, (own,)))
    got = figures(found, 1)
    assert got.any.ece < got.any.null[1] < 0.08
    assert got.own.ece > 2.0 * got.any.null[1]
    mean, high = asked_by_the_truth(found, 1)
    assert got.any.null[1] < mean < got.own.ece < 1.15 * high


def test_it_is_asked_once_before_any_part_and_of_each_fault_before_its_own(observer: Observer) -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    case = case_of("single", observer, 3)
    case.faults = ("belt_loose",)
    case.rig, case.site = FAULTS["belt_loose"].apply(observer.rig, observer.site, 0.9, "")
    case.alone = {"belt_loose": (case.rig, case.site)}
    asked = asked_with(case, cases, number=4)
    (own,) = asked.parts
    assert (asked.number, asked.first.truth, own.truth) == (4, "belt_loose", "belt_loose")
    assert all(asked.opens[name] <= asked.first.stated[name] + 1e-9 for name in asked.opens)
    belief = Belief(cases).update_check("walk_round", "in_order")
    shut = chances_opened(belief, Option(REMEDY, "close_drain", "", 2.0))
    assert shut.get("drain_open", 0.0) == pytest.approx(there(belief)["drain_open"], abs=1e-3)
    assert "sound" not in shut


def test_a_run_that_was_stopped_goes_on_where_it_was(tmp_path: Path) -> None:
    path = tmp_path / "cases.jsonl"
    one = Asked(
        7,
        Forecast("sound", {"sound": 0.5}),
        {"sound": 0.25},
        (Forecast("sound", {"sound": 0.9}, known=("a",)),),
    )
    Kept(path, 3).add("pair", one)
    with path.open("a", encoding="utf-8") as file:
        file.write('{"group": "pair", "se')
    again = Kept(path, 3)
    assert (again.found["pair"], again.found["single"]) == ([one], [])
    again.add("late", one)
    assert Kept(path, 3).found["late"] == [one]
    with pytest.raises(InputError, match="no cases of this seed"):
        Kept(path, 4)
