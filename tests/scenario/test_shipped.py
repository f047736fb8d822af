"""The call-outs that come with the lessons: enough of each kind, all real, all to be mended, none giving itself away."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from functools import lru_cache
from itertools import product
from pathlib import Path

import jsonschema
import pytest
import yaml

from simulator.attempt import Attempt, MemoryStore, level
from simulator.attempt.expert import play
from simulator.attempt.level import Effort, effort
from simulator.instruments.checks import CHECKS, check_places
from simulator.instruments.look import Look
from simulator.rig.faults import FAMILIES, FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.rig import Rig, Site
from simulator.run import Run, simulate
from simulator.run.outcome import proof_limit, proves
from simulator.scenario import (
    Scenario,
    build,
    load_scenario,
    read_scenario,
    scenario_hash,
    scenario_text,
    sound_rig,
)
from simulator.scenario.publish import json_schema
from simulator.texts import text
from tests.conftest import some
from tests.house.reading import grade

SHIPPED = sorted((Path(__file__).parents[2] / "lessons" / "scenarios").glob("*.scenario.yaml"))
CALLS = {path.name.removesuffix(".scenario.yaml"): load_scenario(path) for path in SHIPPED}
PLAYED_FAST = ("teal_pond", "heron_pit_4", "coot_meadow_5")
FREEZING = 0.0  # [C]
#: Words of the catalogue that everybody uses for anything.
HARMLESS = {
    "above", "and", "another", "bank", "box", "but", "cannot", "change", "changed", "clean", "clear", "come", "down",
    "fit", "free", "full", "gets", "gone", "good", "hand", "have", "hose", "left", "little", "low", "lower", "move",
    "new", "none", "not", "nothing", "only", "order", "out", "pump", "put", "reads", "rig", "round", "runs", "set",
    "shop", "shut", "soon", "sound", "spot", "stand", "stands", "straight", "swap", "that", "the", "then", "too", "try",
    "water", "wide", "works", "wrong",
}  # fmt: skip


def families(call: Scenario) -> tuple[str, ...]:
    return tuple(FAULTS[name].family for name in call.fault_ids)


@lru_cache(maxsize=256)
def run_of(rig: Rig, site: Site, duration: float) -> Run:
    return simulate(rig, site, duration=duration, rtol=1e-4)


def sound_of(call: Scenario) -> Run:
    return run_of(*sound_rig(call), 300.0)


def watched(call: Scenario) -> float:
    return max(240.0, proof_limit(float(sound_of(call).prime_time)) + 60.0)


def holds(rig: Rig, site: Site, call: Scenario) -> bool:
    return proves(run_of(rig, site, watched(call)), sound_of(call))


def gauges_good(rig: Rig) -> bool:
    look = Look(rig, standard_site())
    chances = CHECKS["gauge_swap"].probabilities(look)
    return max(chances, key=lambda outcome: chances[outcome]) == "agree"


def works_for(call: Scenario) -> list[list[tuple[str, str]]]:
    """For each fault the works that touch its part, with their places."""
    return [
        [(work, choice.rig_place if REMEDIES[work].per_joint else "") for work in remedies_for(FAULTS[choice.fault].part)]
        for choice in call.faults
    ]  # fmt: skip


def after(call: Scenario, works: tuple[tuple[str, str], ...]) -> tuple[Rig, Site]:
    rig, site = build(call)
    for work, place in works:
        rig, site = REMEDIES[work].apply(rig, site, place)
    return rig, site


def test_there_are_enough_of_each_kind() -> None:
    assert len(CALLS) >= 40
    assert len({scenario_hash(call) for call in CALLS.values()}) == len(CALLS)
    assert len({call.title for call in CALLS.values()}) == len(CALLS)
    by_family = Counter(family for call in CALLS.values() for family in set(families(call)))
    assert set(by_family) == set(FAMILIES)
    assert min(by_family.values()) >= 3, by_family
    assert by_family["instrument"] >= 3
    assert by_family["primes_then_loses"] >= 5
    assert sum(not call.faults for call in CALLS.values()) >= 3
    assert sum(len(call.faults) == 2 for call in CALLS.values()) >= 4
    assert sum(call.cause == "own_mistake" for call in CALLS.values()) >= 2
    by_rig = Counter(call.rig for call in CALLS.values())
    assert set(by_rig) == set(rig_names())
    assert min(by_rig.values()) >= 8, by_rig
    by_level = Counter(call.level for call in CALLS.values())
    assert set(by_level) == {1, 2, 3, 4, 5}
    assert min(by_level.values()) >= 5, by_level
    # most faults of the catalogue occur
    assert len({name for call in CALLS.values() for name in call.fault_ids}) >= 0.9 * len(FAULTS)


def test_neither_site_rig_nor_weather_gives_a_family_away() -> None:
    def spread(of: str) -> dict[str, Counter[str]]:
        out: dict[str, Counter[str]] = defaultdict(Counter)
        for call in CALLS.values():
            key = call.site.name if of == "site" else call.rig
            out[key].update(set(families(call)))
        return out

    for site, seen in spread("site").items():
        assert len(seen) >= 3, site
        assert max(seen.values()) <= 0.67 * sum(seen.values()), site
    for rig, seen in spread("rig").items():
        assert len(seen) >= 6, rig
    cold = [call for call in CALLS.values() if call.site.air_temperature_c < FREEZING]
    drains = [call for call in cold if {"drain_open", "frost_drain_open"} & set(call.fault_ids)]
    assert len(drains) >= 2
    assert len(cold) >= 2 * len(drains)
    far = [call for call in CALLS.values() if (call.hose_length_m or 0.0) >= 20.0]
    assert sum(not call.faults for call in far) <= 0.6 * len(far)


@pytest.mark.parametrize("name", some(CALLS))
def test_a_call_is_well_formed(name: str) -> None:
    call, path = CALLS[name], next(p for p in SHIPPED if p.name == f"{name}.scenario.yaml")
    written = path.read_text(encoding="utf-8")
    assert written.startswith("# Made up for training.")
    jsonschema.validate(yaml.safe_load(written), json_schema())
    assert read_scenario(scenario_text(call)) == call
    assert not call.see_through
    assert call.mode == "practice"
    assert call.level is not None
    # the file tells the place and a number, nothing else
    assert re.fullmatch(rf"{call.site.name.lower().replace(' ', '_')}(_[2-9])?", name)
    if call.allowed_checks != "all":
        fitted = {check for check in CHECKS if check_places(CHECKS[check], load_rig(call.rig))}
        assert set(call.allowed_checks) < fitted


def telling_words() -> set[str]:
    """Words by which the catalogue names faults, parts, works and families."""
    said = [name.replace("_", " ") for name in (*FAULTS, *REMEDIES, *FAMILIES)]
    said += [item.part.replace("_", " ") for item in (*FAULTS.values(), *REMEDIES.values())]
    said += [text(f"faults.{name}.name") for name in FAULTS]
    said += [text(f"remedies.{name}.name") for name in REMEDIES]
    said += [text(f"faults.families.{name}") for name in FAMILIES]
    return {word for line in said for word in re.findall(r"[a-z]{3,}", line.lower())} - HARMLESS


@pytest.mark.parametrize("name", CALLS)
def test_words_give_nothing_away(name: str) -> None:
    call = CALLS[name]
    said = set(re.findall(r"[a-z]+", f"{call.title} {call.brief}".lower()))
    told = {
        word
        for word in said - HARMLESS
        for telling in telling_words()
        if word == telling or (len(telling) >= 4 and word.startswith(telling))
    }
    assert told == set()
    assert call.rig.title() in call.brief
    assert call.site.name in f"{call.title} {call.brief}"


@pytest.mark.parametrize("name", CALLS)
def test_briefs_read_easily(name: str) -> None:
    call = CALLS[name]
    assert grade([call.brief]) <= 7.0
    assert 30 <= len(call.brief.split()) <= 120


@pytest.mark.parametrize("name", CALLS)
def test_the_trouble_is_real_and_the_right_work_ends_it(name: str) -> None:
    call = CALLS[name]
    rig, site = build(call)
    sound = sound_of(call)
    assert sound.primed
    own = set(families(call))
    if own == {"none"}:
        usual = run_of(load_rig(call.rig), standard_site(call.rig), 300.0)
        assert sound.prime_time > 1.8 * usual.prime_time  # slow for anybody who knows the rig
        assert holds(rig, site, call)
        return
    if own == {"instrument"}:
        assert holds(rig, site, call)  # the pump is good; what it shows is not
        assert not gauges_good(rig)
    else:
        assert not holds(rig, site, call)
        late, limit = float(run_of(rig, site, watched(call)).prime_time), proof_limit(float(sound.prime_time))
        assert not limit < late < 1.1 * limit  # nothing that another start or another rig would turn round
    cures = [
        works
        for works in product(*works_for(call))
        if holds(*after(call, works), call) and gauges_good(after(call, works)[0])
    ]
    assert cures
    if len(call.faults) == 2:
        for left_out in range(2):  # one of the two works alone is not enough
            alone = tuple(work for number, work in enumerate(cures[0]) if number != left_out)
            assert not holds(*after(call, alone), call) or not gauges_good(after(call, alone)[0])


def test_what_comes_later_primes_first() -> None:
    for name, call in CALLS.items():
        if families(call) == ("primes_then_loses",):
            run = run_of(*build(call), watched(call))
            assert run.prime_time == pytest.approx(float(sound_of(call).prime_time), abs=0.5), name


@pytest.mark.parametrize(
    "name", [name if name in PLAYED_FAST else pytest.param(name, marks=pytest.mark.full) for name in CALLS]
)
def test_an_old_hand_who_does_not_know_finds_it(name: str) -> None:
    call = CALLS[name]
    attempt = Attempt(call, MemoryStore())
    assert play(attempt)
    assert [event["breach"] for event in attempt.log if event["breach"]] == []
    done = [REMEDIES[work.partition("@")[0]] for work in attempt.yard.remedies]
    touched = {part for work in done for part in (work.part, *work.also)}
    assert {FAULTS[choice.fault].part for choice in call.faults} <= touched
    again = Attempt.resume(attempt.store, attempt.id)
    assert again.yard.ended == "finished"


@pytest.mark.parametrize(("solved", "tries", "written"), [(1.0, "", 4), (0.75, " in 75 of 100 tries", 2)])
def test_the_command_tells_a_level_in_a_sentence(
    solved: float, tries: str, written: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys
) -> None:
    call = CALLS["teal_pond"].model_copy(update={"level": written})
    (tmp_path / "one.scenario.yaml").write_text(scenario_text(call), encoding="utf-8")
    monkeypatch.setattr(level, "effort", lambda scenario: Effort(30.2, 11.0, solved))
    assert level.main([str(tmp_path / "one.scenario.yaml")]) == int(written != 4)
    said = f"level 4. An old hand finds it{tries}, with 30 minutes of looking over 11 looks and repairs."
    more = "" if written == 4 else " The file says level 2."
    assert capsys.readouterr().out == f"one.scenario.yaml: {said}{more}\n"


@pytest.mark.full
@pytest.mark.parametrize("name", CALLS)
def test_the_level_is_the_measured_one(name: str) -> None:
    measured = effort(CALLS[name])
    assert measured.solved >= 0.6
    assert abs(measured.level - (CALLS[name].level or 0)) <= 1  # the rules of thumb may get a little better


def test_levels_rise_with_what_finding_out_costs() -> None:
    easy, hard = effort(CALLS["teal_pond"], seeds=(1,)), effort(CALLS["gravel_lake_5"], seeds=(1,))
    assert easy.level < hard.level
    assert CALLS["teal_pond"].level < CALLS["gravel_lake_5"].level
