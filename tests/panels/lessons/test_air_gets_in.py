"""Lesson 04 without a browser: where air gets in, told from runs."""

from __future__ import annotations

import random
import re

import pytest

from simulator.attempt.shown_parts import parts_inside
from simulator.panels.lessons.air_gets_in.drills import best_look, late_or_never, near_words, while_pumping
from simulator.panels.lessons.air_gets_in.page import NARROW, PLAN, RUNS, SIZES, idea_figure, tracks
from simulator.panels.teaching.cases import (
    faulted,
    lift_pressure,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
)
from simulator.panels.teaching.drill import build
from simulator.rig.faults import FAULTS

SEEDS = range(14)


@pytest.mark.parametrize(("hole", "what"), [(0.004, "late"), (0.0055, "late"), (0.0075, "never")])
def test_the_sizes_that_the_ideas_name(hole: float, what: str) -> None:
    assert late_or_never(faulted("flange_leaks", hole), run_of(usual_rig(), usual_site())) == what


def test_a_worse_leak_never_primes_sooner() -> None:
    # monotone property of the model; common practice, no source
    times = [faulted("flange_leaks", hole).prime_time for hole in (0.002, 0.003, 0.004, 0.005, 0.0055)]
    assert times == sorted(times)


def test_the_first_look_follows_chance_and_minutes() -> None:
    # the valve wide open leaves no vacuum; the drain comes first of all leaks; common practice, no source
    assert best_look(300.0)[0] == "drain_open"
    for rest in range(
        11, 30
    ):  # part way up it is a ring, as the page says, with no gap in which it is something else
        assert best_look(1e3 * rest)[0] == "joint_ring", rest


@pytest.mark.parametrize("rest", [1e3, 12e3, 17e3, 18e3, 20e3, 25e3, 28e3])
def test_the_first_look_follows_from_the_figures_that_are_told(rest: float) -> None:
    told = near_words(rest)["weigh"]
    worth = {
        name: float(each) for name, each in re.findall(r"(Drain|Ring|Flange|Ball): [^=]+= ([\d.]+)\.", told)
    }
    first = {"Drain": "drain_open", "Ring": "joint_ring", "Flange": "flange_leaks", "Ball": "nrv_fouled"}
    most = sorted(worth.values())
    assert first[max(worth, key=lambda name: worth[name])] == best_look(rest)[0]
    assert most[-1] > most[-2]


def test_a_mostly_blocked_exhaust_looks_like_a_leak_and_a_quite_blocked_one_does_not() -> None:
    lift = lift_pressure(usual_site())
    assert 0.2 * lift < resting_vacuum(faulted("exhaust_blocked", NARROW)) < 0.95 * lift
    assert resting_vacuum(faulted("exhaust_blocked", 0.97)) < -5e3


def test_below_the_water_a_leak_draws_no_air() -> None:
    template = next(t for t in PLAN.drills if t.__name__ == "under_water")
    for seed in SEEDS:
        made = build(template, seed, "metric")
        assert made.right == ("as_sound" if "below" in made.text else "never")


def test_no_case_primes_by_itself() -> None:
    for fault, sizes in SIZES.items():
        for size in sizes:
            place = "joint:1" if fault == "joint_ring" else ""
            assert not faulted(fault, size, place).primed, (fault, size)


def test_the_runs_are_what_their_names_say() -> None:
    codes = {name: faulted(*run[:3]).outcome.code for name, run in RUNS.items()}
    assert codes == {"drain": "stalled", "hole": "stalled", "small": "primed", "pumping": "primed"}


def test_the_picture_of_a_leak_that_sprays_shows_it_spraying() -> None:
    moment = idea_figure("side", "metric")["frame"]
    assert moment["drain_water"] > 1e-4
    assert moment["discharge_flow"] > 0.0


def test_where_air_comes_in_an_arrow_can_be_drawn() -> None:
    """As the page says of its runs: each sends the air that comes in at its hole, and the small one at the flange."""
    by = {"drain": "drain_air", "hole": "joint_air", "small": "casing_leak_air", "pumping": "joint_air"}
    for each in tracks("metric"):
        assert max(each["series"][by[each["id"]]]) > 1e-4, each["id"]
    assert {each["id"]: each["rig"]["parts"]["leak_at"] for each in tracks("metric")}["small"] == "flange"
    assert parts_inside(*FAULTS["seal_worn"].apply(usual_rig(), usual_site(), 0.004))["leak_at"] == "seal"


def test_the_first_look_has_its_plain_reason_and_the_sum_is_folded_away() -> None:
    case = PLAN.case(random.Random(3), "metric")
    made = next(step for step in case.steps if step.name == "first_look")
    assert "÷" not in made.because
    (folded,) = made.after
    assert folded["kind"] == "folded"
    assert "÷" in " ".join(folded["paragraphs"])


def test_a_leak_of_a_pump_that_pumps_sprays_or_draws() -> None:
    """At one lift it was asked before the prime: the answer was that nothing comes out of a cracked drain."""
    asked = [while_pumping(random.Random(seed), "metric") for seed in range(200)]
    assert {each.right for each in asked} == {"sprays", "draws"}
