"""The random call-outs of the practice yard."""

from __future__ import annotations

from collections import Counter

import pytest

from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.presets import joints_above_water, load_rig
from simulator.scenario import (
    LEVELS,
    Scenario,
    build,
    random_scenario,
    read_scenario,
    scenario_text,
    sound_rig,
)
from simulator.texts import entry, text

# what would give the answer away, had it stood in a title or a brief
TELLING = (
    "drain", "valve", "ball", "seat", "ring", "gasket", "joint", "belt", "slip", "nozzle", "jet", "screen",
    "plug", "clog", "block", "strainer", "weed", "mud", "sieve",
    "liner", "collapse", "leak", "hiss", "frost", "lid",
)  # fmt: skip


def telling(words: str) -> list[str]:
    bare = [word.strip(".,:;!?'\"").lower() for word in words.split()]
    return [t for t in TELLING if any(word.startswith(t) for word in bare)]


def test_words_of_the_practice_yard_tell_nothing() -> None:
    for part in ("caller", "trouble", "plea"):
        for line in entry(f"scenario.random.{part}"):
            assert telling(line) == [], line
    assert telling(text("scenario.random.title", site="")) == []


@pytest.mark.parametrize("level", LEVELS)
def test_random_call_outs_are_legal_and_repeat(level: str) -> None:
    for seed in range(40):
        call = random_scenario(seed, level)
        assert call == random_scenario(seed, level)
        assert read_scenario(scenario_text(call)) == call
        rig, site = sound_rig(call)
        assert LEVELS[level].lift_low <= site.lift <= LEVELS[level].lift_high
        build(call)
        for choice in call.faults:
            assert choice.rig_place in FAULTS[choice.fault].places(rig, site)
            if choice.place:
                assert int(choice.rig_place[-1]) in joints_above_water(rig, site)
            size = FAULTS[choice.fault].size
            if size is None:
                continue
            low, high = sorted((size.usual_low, size.usual_high))
            assert low * 0.99 <= choice.size <= high * 1.01 or choice.size == size.large


@pytest.mark.full
def test_random_faults_follow_the_weights() -> None:
    # 400 draws: a share p is met within 4 standard deviations and one draw
    drawn = Counter(random_scenario(seed).fault_ids[0] for seed in range(400))
    possible = {name: item for name, item in FAULTS.items() if item.places(load_rig())}
    assert set(drawn) <= set(possible)
    total = sum(item.weight for item in possible.values())
    for name, item in possible.items():
        share = item.weight / total
        assert abs(drawn[name] / 400 - share) < 4.0 * (share * (1 - share) / 400) ** 0.5 + 1 / 400, name


def test_first_level_has_serious_faults_only() -> None:
    for seed in range(100):
        first, hard = random_scenario(seed, "first"), random_scenario(seed, "hard")
        assert first.faults
        if hard.faults and first.fault_ids == hard.fault_ids and first.fault_ids != ("belt_loose",):
            size = FAULTS[first.fault_ids[0]].size
            if size is None:
                continue
            worse_is_more = size.large > size.small
            assert (first.faults[0].size >= hard.faults[0].size) == worse_is_more or (
                first.faults[0].size == hard.faults[0].size
            )


def test_words_site_and_seed_do_not_depend_on_the_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def outside(call: Scenario) -> Scenario:
        return call.model_copy(update={"faults": ()})

    seen = [outside(random_scenario(seed)) for seed in range(30)]
    only_belt = {name: item for name, item in FAULTS.items() if name == "belt_loose"}
    monkeypatch.setattr("simulator.scenario.random_calls.FAULTS", only_belt)
    for seed, call in enumerate(seen):
        other = random_scenario(seed)
        assert other.fault_ids == ("belt_loose",)
        assert outside(other) == call


@pytest.mark.full
def test_briefs_are_spread_alike_over_the_faults() -> None:
    # every common fault meets many different words: no sentence belongs to a fault
    words: dict[str, list[str]] = {}
    for seed in range(400):
        call = random_scenario(seed)
        words.setdefault(call.fault_ids[0], []).append(call.brief.split(". ")[-1])
    common = [seen for seen in words.values() if len(seen) >= 25]
    assert len(common) >= 3
    assert all(len(set(seen)) >= len(entry("scenario.random.plea")) for seen in common)


def test_another_rig_and_wrong_arguments() -> None:
    assert random_scenario(3, mode="assessment").mode == "assessment"
    assert sound_rig(random_scenario(3))[0] == load_rig("osier")
    for seed in (-1, 2**31, 1.5, True, "7"):
        with pytest.raises(InputError, match="seed"):
            random_scenario(seed)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="first, usual, hard"):
        random_scenario(1, "mad")
    with pytest.raises(InputError, match="practice or assessment"):
        random_scenario(1, mode="guided")
    with pytest.raises(InputError, match="osier"):
        random_scenario(1, rig="willow")
