"""Faults that look alike, the cheapest look that parts them, and call-outs that nobody could solve."""

from __future__ import annotations

from pathlib import Path

import pytest

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.diagnosis.lookalikes import look_alikes, refusal, refuse, same_work, truth_outlook
from simulator.diagnosis.narrow_set import narrow_set
from simulator.diagnosis.option import Option
from simulator.diagnosis.outlook import Observer
from simulator.diagnosis.words import twins_words
from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.presets import standard_site
from simulator.scenario import (
    Scenario,
    SiteChoice,
    choose_fault,
    load_scenario,
    random_scenario,
    sound_rig,
)
from simulator.studies.difficulty import alike_words, difficulty, line, page
from simulator.texts import text
from tests.conftest import thin

SITE = standard_site()
SHIPPED = Path(__file__).parents[2] / "lessons" / "scenarios"


def call_for(fault: str, size: float, place: str = "", allowed="all") -> Scenario:
    """A call-out at the usual site of the rig Osier."""
    site = SiteChoice(
        lift_m=SITE.lift,
        submergence_m=SITE.submergence,
        altitude_m=SITE.altitude,
        air_temperature_c=SITE.air_temperature - 273.15,
        water_temperature_c=SITE.water_temperature - 273.15,
    )
    faults = (choose_fault(fault, size, place),)
    return Scenario(
        title="A call", brief="It will not draw.", site=site, faults=faults, allowed_checks=allowed
    )


def alike_to(cases, fault: str, size: float = 0.0, place: str = "", allowed=None):
    rig, site = FAULTS[fault].apply(cases.rig, cases.site, size, place)
    return look_alikes(cases, Observer(cases.rig, cases.site).outlook(rig, site), (fault,), allowed)


def test_a_shut_valve_and_a_stuck_ball_look_alike_and_a_short_walk_parts_them(cases) -> None:
    found = {item.fault: item for item in alike_to(cases, "nrv_stuck")}
    assert "discharge_shut" in found
    item = found["discharge_shut"]
    assert item.check is not None
    assert item.minutes <= 3.0
    assert "Looks the same" in alike_words(item)


def test_with_fewer_checks_the_same_two_cost_more_to_part(cases) -> None:
    few = {item.fault: item for item in alike_to(cases, "nrv_stuck", allowed=("nrv_lid", "belt"))}
    assert few["discharge_shut"].check == ("nrv_lid", "")
    none = {item.fault: item for item in alike_to(cases, "nrv_stuck", allowed=("belt",))}
    assert none["discharge_shut"].check is None


def test_a_plain_fault_has_no_look_alike_of_another_kind(cases) -> None:
    found = alike_to(cases, "strainer_plugged", 0.99)
    kinds = {FAULTS[item.fault].family for item in found}
    assert kinds <= {"water_cannot_come", "primes_then_loses"}


def judged(call: Scenario, cases) -> tuple[list[object], tuple[str, str] | None]:
    seen = truth_outlook(call, cases)
    allowed = None if call.allowed_checks == "all" else set(call.allowed_checks)
    error = refusal(call, cases, seen)
    alike = look_alikes(cases, seen, call.fault_ids, allowed, 3)
    said = [(item.fault, item.place, round(item.odds, 6), item.check, item.minutes) for item in alike]
    return said, error and (error.what, error.legal)


def test_a_narrow_set_says_what_the_whole_one_says(cases) -> None:
    narrow = narrow_set(cases.rig, cases.site)
    few = ("walk_round", "gauges", "belt", "tachometer", "exhaust_stream")
    for call in (
        call_for("joint_ring", 0.006, "joint:1"),
        call_for("seal_worn", 0.005, allowed=few),
        call_for("screen_plugged", 0.97),
        call_for("nrv_stuck", 0.0),
    ):
        assert judged(call, narrow) == judged(call, cases)
    assert narrow.tested.sum() < 0.5 * len(narrow.tested)


@pytest.mark.full
@pytest.mark.parametrize("seed", range(40))
def test_a_narrow_set_says_what_the_whole_one_says_of_random_calls(seed: int) -> None:
    call = random_scenario(seed)
    if seed % 3 == 0:
        call = call.model_copy(update={"allowed_checks": ("walk_round", "gauges", "belt", "exhaust_stream")})
    rig, site = sound_rig(call)
    pairs = len(call.faults) > 1
    whole = hypothesis_set(rig, site, pairs=pairs, use_cache=False)
    assert judged(call, narrow_set(rig, site, pairs=pairs)) == judged(call, whole)


@pytest.mark.full
def test_of_two_faults_their_own_pairs_are_enough_for_the_look_alikes() -> None:
    call = call_for("joint_ring", 0.006, "joint:1")
    call = call.model_copy(update={"faults": (*call.faults, choose_fault("belt_loose", 0.5))})
    rig, site = sound_rig(call)
    alone = narrow_set(rig, site, pairs=True, alone=frozenset(call.fault_ids))
    whole = hypothesis_set(rig, site, pairs=True)
    assert len(alone.needles) < len(whole.needles)
    said = [
        look_alikes(cases, truth_outlook(call, cases), call.fault_ids, None, 3) for cases in (alone, whole)
    ]
    assert [item.fault for item in said[0]] == [item.fault for item in said[1]]
    assert [item.check for item in said[0]] == [item.check for item in said[1]]


def test_what_comes_late_is_compared_as_it_is_once_it_is_there(cases) -> None:
    call = call_for("joint_ring", 0.009, "joint:1")
    late = call.model_copy(
        update={"faults": (call.faults[0].model_copy(update={"start_s": 40.0, "end_s": 340.0}),)}
    )
    assert judged(late, cases) == judged(call, cases)
    assert judged(late, cases)[1] is None


def test_no_look_is_said_to_help_that_may_be_made_already(cases, monkeypatch) -> None:
    every = tuple(dict.fromkeys(name for name, _ in cases.chances))
    monkeypatch.setattr("simulator.diagnosis.lookalikes.PARTED", 1.1)  # as if no call could be solved
    for allowed in ("all", every):
        error = refusal(call_for("seal_worn", 0.005, allowed=allowed), cases)
        assert error is not None
        assert error.legal == text("diagnosis.refused.no_help")


def test_a_falling_level_and_a_high_strainer_take_the_same_work() -> None:
    assert same_work("level_falls", ("strainer_high",))
    assert same_work("flange_works_loose", ("flange_leaks",))
    assert not same_work("belt_loose", ("nozzle_plugged",))


def test_a_call_out_that_can_be_solved_passes(cases) -> None:
    assert refusal(call_for("seal_worn", 0.005), cases) is None


def test_a_call_out_without_the_checks_it_needs_is_refused_with_the_one_that_helps(cases) -> None:
    call = call_for("seal_worn", 0.005, allowed=("walk_round", "gauges", "belt", "tachometer"))
    error = refusal(call, cases)
    assert error is not None
    assert "shaft seal" in str(error)
    assert error.legal


def test_refuse_raises_what_refusal_says(cases, monkeypatch) -> None:
    call = call_for("seal_worn", 0.005, allowed=("walk_round", "gauges", "belt", "tachometer"))
    monkeypatch.setattr("simulator.diagnosis.lookalikes.set_of", lambda scenario: cases)
    with pytest.raises(InputError, match="nobody can tell"):
        refuse(call)


def test_twins_are_told_in_words(cases) -> None:
    belief = Belief(cases).update_check("flange_look", "bolts_loose")
    both = [belief.by_fault()[name] for name in ("flange_leaks", "flange_works_loose")]
    assert max(both) > 0.1
    said = twins_words(belief, Option("remedy", "renew_gasket", "", 16.0))
    assert bool(said) == (min(both) >= 0.05)
    assert twins_words(belief, Option("remedy", "renew_belt", "", 15.0)) == ""


def most_repeated(path) -> int:
    """The most often that one look or work, that showed the same each time, stands in a path."""
    acts = [(option.kind, option.id, option.place, shown) for option, shown in path if option.kind != "watch"]
    return max(acts.count(act) for act in acts)


@pytest.mark.parametrize(
    ("name", "seed"),
    thin(
        ["heron_pit_3", 1],
        ["otter_cut", 3],
        ["teal_pond_5", 2],
        ["coot_meadow_4", 1],
        ["otter_cut_4", 3],
        ["sedge_basin_3", 1],
    ),
)
def test_the_advice_comes_to_an_end(name: str, seed: int) -> None:
    # in these the best plan leaves much to the fallback, so that an idle act priced by it looked cheaper than any other
    found = difficulty(load_scenario(SHIPPED / f"{name}.scenario.yaml"), seeds=(seed,))
    assert found.solved == 1.0
    assert found.steps <= 16
    assert most_repeated(found.path) <= 2


@pytest.mark.full
@pytest.mark.parametrize(
    "path", sorted(SHIPPED.glob("*.scenario.yaml")), ids=lambda path: path.name.split(".")[0]
)
def test_every_shipped_call_out_can_be_told_and_the_advice_ends_it(path) -> None:
    found = difficulty(load_scenario(path))
    assert found.refused is None
    assert found.solved == 1.0
    assert most_repeated(found.path) <= 2


@pytest.mark.full
def test_difficulty_lists_path_and_look_alikes(tmp_path) -> None:
    call = call_for("screen_plugged", 0.97)
    found = difficulty(call, seeds=(1,))
    assert found.solved == 1.0
    assert found.minutes > 10.0
    assert found.path[-1][0].kind == "watch"
    made = page([(tmp_path / "a.scenario.yaml", call, found)])
    assert call.title in made
    assert "A call" not in line(tmp_path / "a.scenario.yaml", call, found)
