"""The answers are read off runs: they agree with hydrostatics and the yard's rules, and move with the model."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from simulator.marking.understanding import time_share
from simulator.panels.lessons.how_the_rig_draws_water import questions as asked
from simulator.panels.lessons.how_the_rig_draws_water.guesses import right_gauge, right_lower, time_verdict
from simulator.rig.presets import load_rig, load_site
from simulator.run import simulate

SEEDS = range(6)


@pytest.fixture
def altered_rig(monkeypatch: pytest.MonkeyPatch):
    """Lets the questions meet another rig; every cache is fresh before and after."""

    def forget() -> None:
        for cached in (asked.good_run, asked.fault_run, asked.deepest_vacuum):
            cached.cache_clear()

    def use(rig) -> None:
        forget()
        monkeypatch.setattr(asked, "load_rig", lambda name: rig)

    yield use
    monkeypatch.undo()
    forget()


def test_the_gauge_at_the_arrival_is_the_weight_of_the_water_column() -> None:
    # hydrostatics, exact: rho g h with water of 20 C, 998.2 kg/m3 (IAPWS), g 9.80665
    for lift in (2.0, 3.0, 5.0):
        _, vacuum = asked.arrival(asked.good_run(lift))
        assert vacuum == pytest.approx(998.2 * 9.80665 * lift, rel=0.06)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("make", asked.QUESTIONS, ids=lambda make: make.__name__)
def test_a_question_is_whole(make, seed: int, units: str) -> None:
    question = make(seed, units)
    ids = [option.id for option in question.options]
    assert len(ids) == len(set(ids)) >= 3
    assert question.right in ids
    assert len({option.label for option in question.options}) == len(ids)
    assert all(option.says for option in question.options if option.id != question.right)
    assert "{" not in question.text + question.because + "".join(o.label + o.says for o in question.options)
    assert ("kPa" in question.because) == (units == "metric")
    assert make(seed, units) == question


def test_seeds_give_fresh_cases_and_the_right_answer_has_no_fixed_place() -> None:
    for make in (asked.arrives, asked.hose, asked.drain):
        made = [make(seed, "metric") for seed in range(12)]
        assert len({question.text for question in made}) >= 3
    places = {
        [option.id for option in question.options].index(question.right)
        for question in (asked.drain(seed, "metric") for seed in range(12))
    }
    assert len(places) == 3


def test_answers_of_the_sound_trade() -> None:
    # common practice, no source: gauge follows the lift; an open drain keeps the needle down; no belt, no vacuum
    for seed in SEEDS:
        assert asked.arrives(seed, "metric").right == "height"
        assert asked.hose(seed, "metric").right == "longer_only"
        assert asked.drain(seed, "metric").right == "below"
        assert asked.belt(seed, "metric").right == "nothing"
    assert right_gauge() == "height"
    assert right_lower() == "both"


def test_an_answer_moves_with_the_rig(altered_rig) -> None:
    """A drain of 2 mm bore hardly matters: the same question then has another answer."""
    rig = load_rig("osier")
    altered_rig(replace(rig, casing_drain=replace(rig.casing_drain, bore=0.001)))
    assert asked.drain(0, "metric").right != "below"


def test_a_belt_that_only_slips_is_not_no_belt(altered_rig, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        asked, "fault_run", lambda fault, size: simulate(load_rig("osier"), load_site("teal_pond"))
    )
    assert asked.belt(0, "metric").right == "as_usual"


@pytest.mark.parametrize(
    ("vacuum", "lift", "where"),
    [(0.0, 29e3, "below"), (29e3, 29e3, "at"), (35e3, 29e3, "at"), (60e3, 29e3, "above")],
)
def test_where_a_needle_settles(vacuum: float, lift: float, where: str) -> None:
    assert asked.settles(vacuum, lift) == where


@pytest.mark.parametrize(
    ("guessed", "came", "verdict"),
    [(39.0, 39.0, "right"), (34.0, 39.0, "right"), (44.8, 39.0, "right"), (49.0, 39.0, "near"), (31.5, 39.0, "near"),
     (54.0, 39.0, "not_far"), (29.0, 39.0, "not_far"), (70.0, 39.0, "not_far"), (20.0, 39.0, "not_far"),
     (80.0, 39.0, "not_quite"),
     (5.0, 39.0, "not_quite"), (40.0, float("nan"), "not_quite")],
)  # fmt: skip
def test_a_guessed_time(guessed: float, came: float, verdict: str) -> None:
    assert time_verdict(guessed, came) == verdict
    if math.isfinite(came):  # "Not right" stood beside "+7.5 of 15": the page and the marks say one thing
        assert (time_share(guessed, came) > 0.0) == (verdict != "not_quite")
        assert (time_share(guessed, came) == 1.0) == (verdict == "right")
