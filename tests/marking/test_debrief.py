"""The debrief: complete, plain, and JSON as it stands."""

from __future__ import annotations

import json
import math
import re

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.notes import render
from simulator.diagnosis.evidence import story_of
from simulator.diagnosis.second_trouble import trail_of
from simulator.marking.debrief import reading_words
from simulator.marking.service import Coaching, advise, cases_for, debrief_and_keep
from simulator.texts import entry, text
from tests.marking.conftest import call_out, do, watch

JARGON = re.compile(
    r"\b(prior|posterior|probabilit\w*|likelihood|bayes\w*|hypothes\w*|entropy|regret|brier|expected value|variance|"
    r"distribution|sample\w*|statistic\w*|correlat\w*|calibrat\w*|utility|policy)\b",
    re.IGNORECASE,
)


def sentences(node: object) -> list[str]:
    if isinstance(node, dict):
        return [text for value in node.values() for text in sentences(value)]
    if isinstance(node, (list, tuple)):
        return [text for value in node for text in sentences(value)]
    return [node] if isinstance(node, str) else []


def syllables(word: str) -> int:
    groups = re.findall(r"[aeiouy]+", word.lower())
    silent = word.lower().endswith("e") and not word.lower().endswith("le") and len(groups) > 1
    return max(len(groups) - silent, 1)


def grade(texts: list[str]) -> float:
    """Reading grade by Flesch and Kincaid (Kincaid et al. 1975), syllables by vowel groups."""
    plain = [re.sub(r"\{\w+\}", "pump", text) for text in texts]
    parts = [part for text in plain for part in re.split(r"[.:?!;]", text) if part.strip()]
    words = re.findall(r"[A-Za-z']+", " ".join(parts))
    return 0.39 * len(words) / len(parts) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


@pytest.mark.parametrize("area", ["marking", "diagnosis"])
def test_texts_read_easily_and_hold_no_jargon(area: str) -> None:
    # the report on calibration is for those who check the model
    texts = sentences({name: node for name, node in entry(area).items() if name != "calibration"})
    assert len(texts) > 15
    assert grade(texts) <= 7.0
    assert [text for text in texts if JARGON.search(text)] == []
    longest = max(len(re.findall(r"\S+", part)) for text in texts for part in re.split(r"[.?!]", text))
    assert longest <= 25


@pytest.fixture
def page(played):
    return debrief_and_keep(played("honest", "belt_loose", 0.7, ""))


def test_a_sound_rig_rightly_called_sound_has_its_debrief() -> None:
    attempt = Attempt(call_out("sound", 0.0), MemoryStore(), seed=1)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    watch(attempt)
    attempt.act("call", {"markers": {"sound": 10}})
    do(attempt, "finish")
    page = debrief_and_keep(attempt)
    assert page["curves"]["suspect"] is None
    assert page["total"] > 0.0


def test_the_debrief_has_all_a_page_shows(page) -> None:
    assert json.loads(json.dumps(page)) == page
    assert set(page) >= {"total", "out_of", "parts", "steps", "curves", "truth", "practise"}
    for part in page["parts"]:
        assert set(part) >= {"label", "points", "out_of", "evidence"}
    for step in page["steps"]:
        assert set(step) >= {
            "clock",
            "act",
            "did",
            "before",
            "after",
            "expert",
            "expert_line",
            "why",
            "changed",
        }
        assert step["act"]
        assert step["expert_line"].endswith(".")
        assert [name for name, _ in step["before"]] == [name for name, _ in step["after"]]
        assert all(0.0 <= chance <= 1.0 for _, chance in (*step["before"], *step["after"]))
        assert re.fullmatch(r"\d+:\d\d", step["clock"])
    assert "belt" in page["truth"]
    assert "70 %" in page["truth"]


def test_three_curves_on_one_plot(page) -> None:
    curves = page["curves"]
    for name in ("true", "sound", "suspect"):
        times = [time for time, _ in curves[name]]
        assert times == sorted(times)
        assert times[0] == 0.0
    # A belt that slips by 70 % draws less vacuum than a sound rig does at 40 s.
    assert dict(map(tuple, curves["true"]))[40.0] < dict(map(tuple, curves["sound"]))[40.0]
    assert 25e3 < curves["static_lift_pa"] < 32e3  # 3 m of water: rho g h = 29.4 kPa


def test_the_watched_start_says_what_the_needles_told(page) -> None:
    watched = next(step for step in page["steps"] if step["act"].startswith("Started"))
    assert "bar" in watched["did"]
    assert "kPa" in watched["did"]
    assert max(watched["after"], key=lambda pair: pair[1])[0] == "compressor belt loose or gone"


def test_us_units(played) -> None:
    page = debrief_and_keep(played("honest", "belt_loose", 0.7, ""), units="us")
    watched = next(step for step in page["steps"] if step["act"].startswith("Started"))
    assert "inHg" in watched["did"]
    assert "psi" in watched["did"]


def test_the_swapper_is_told_to_look_first(played) -> None:
    page = debrief_and_keep(played("swapper", "belt_loose", 0.7, ""))
    worst = max(page["steps"], key=lambda step: step["lost_minutes"])
    assert worst["lost_minutes"] > 5.0
    assert not worst["same"]
    assert page["practise"]


def test_advice_while_it_goes_on_rests_on_what_was_seen_alone(played) -> None:
    """Two cases that look the same so far get the same advice."""
    advices = []
    for fault, size in (("belt_loose", 0.7), ("strainer_plugged", 0.99)):
        attempt = Attempt(
            played("honest", fault, size, "").scenario, played("honest", fault, size, "").store, seed=4
        )
        attempt.act("put_on_ppe")
        advices.append(advise(attempt.state))
    assert advices[0] == advices[1]


def test_hints_come_in_three_steps(played) -> None:
    scenario, store = (
        played("honest", "belt_loose", 0.7, "").scenario,
        played("honest", "belt_loose", 0.7, "").store,
    )
    attempt = Attempt(scenario, store, seed=4, coach=Coaching())
    attempt.act("put_on_ppe")
    said = [attempt.act("ask_hint").sentence for _ in range(3)]
    assert len(set(said)) == 3
    assert said[0] == render(Coaching().hint(attempt.state, 1))


@pytest.mark.parametrize(
    ("fault", "size", "ways"),
    [("line_bursts", 0.9, (1, -1)), ("flange_works_loose", 0.01, (-1, -1)), ("impeller_clogged", 0.5, None)],
)
def test_a_start_that_went_bad_is_told_by_both_needles_from_when_it_still_pumped_well(
    fault: str, size: float, ways: tuple[int, int] | None
) -> None:
    attempt = Attempt(call_out(fault, size), MemoryStore(), mode="practice", seed=3)
    do(attempt, "check", check="walk_round")
    do(attempt, "start_engine", speed="rated")
    while attempt.shown < 110.0:
        attempt.see(attempt.shown + 9.0)
    story = story_of(attempt.state)
    cases = cases_for(story)
    trail = trail_of(story, cases)
    said = reading_words(trail.steps[-1], story, cases, 1, "metric")
    chief = max(trail.end.by_fault().items(), key=lambda item: item[1])[0]
    gone = re.findall(r"(suction|discharge) needle went from ([\d.]+) \w+ to ([\d.]+) ", said)
    if ways is None:  # it was there from the start: no needle has gone anywhere once the line is full
        assert "pumped well" not in said
        assert all(abs(float(to) - float(was)) <= 1.0 for _, was, to in gone)
        assert chief == fault
        return
    last, well = story.runs[1], story.runs[1].last_well(110.0)
    assert well is not None
    assert text("marking.steps.well_up_to", seconds=well) in said
    assert [(name, math.copysign(1, float(to) - float(was))) for name, was, to in gone] == [
        ("suction", ways[0]),
        ("discharge", ways[1]),
    ]
    assert abs(float(gone[0][1]) - last.needles[0, well] / 1e3) <= 1.0  # as it stood then, not at its peak
    assert text("marking.steps.means_up_fell" if ways[0] > 0 else "marking.steps.means_down_lost") in said
    if fault == "line_bursts":  # what primes and pumps well, and then throws more at less pressure
        assert chief == fault
