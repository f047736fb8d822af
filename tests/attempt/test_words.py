"""Sentences of the checks and the attempt: all there, in plain words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from simulator.attempt import rules_of_thumb
from simulator.attempt.yard import PRECAUTIONS
from simulator.instruments.senses import COMPRESSOR_SOUND, EXHAUST
from simulator.texts import entry, text
from tests.attempt.conftest import Call

JARGON = (
    "probability",
    "posterior",
    "likelihood",
    "hypothes",
    "sigma",
    "standard deviation",
    "variance",
    "prior",
)


def sentences(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        for value in node.values():
            yield from sentences(value)
    elif isinstance(node, list):
        for value in node:
            yield from sentences(value)
    else:
        yield str(node)


def syllables(word: str) -> int:
    """Groups of vowels, a silent e left out: the usual count for reading grades."""
    groups = len(re.findall(r"[aeiouy]+", word.lower()))
    if word.lower().endswith("e") and not word.lower().endswith("le") and groups > 1:
        groups -= 1
    return max(groups, 1)


def reading_grade(written: list[str]) -> float:
    """Flesch-Kincaid grade, 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid et al. 1975)."""
    joined = " ".join(line if line.endswith((".", "?", "!")) else line + "." for line in written)
    words = re.findall(r"[A-Za-z']+", re.sub(r"\{\w+\}", "five", joined))
    ends = len(re.findall(r"[.?!]+(?:\s|$)", joined))
    return 0.39 * len(words) / ends + 11.8 * sum(syllables(word) for word in words) / len(words) - 15.59


@pytest.mark.parametrize("area", ["checks", "attempt", "senses"])
def test_reading_grade_and_jargon(area: str) -> None:
    written = list(sentences(entry(area)))
    assert reading_grade(written) <= 7.0
    for line in written:
        assert not any(word in line.lower() for word in JARGON), line


def test_every_hint_has_its_words() -> None:
    whys = {
        "proven",
        "mend_it",
        "prove_it",
        "walk_first",
        "run_it",
        "be_patient",
        "read_gauges",
        "feel_stream",
    }
    whys |= {"try_drain", "halve_it", "above_lift", "below_lift", "stream_thin", "motive_low", "motive_high"}
    whys |= {f"blank_{outcome}" for outcome in ("deep_quick", "deep_slow", "shallow", "nothing")}
    whys |= {"out_of_ideas"}
    source = Path(rules_of_thumb.__file__).read_text(encoding="utf-8")
    for why in whys:
        assert f'"{why}"' in source or why.startswith("blank_")
        assert text(f"attempt.hints.{why}.ask").endswith("?")
        assert text(f"attempt.hints.{why}.towards").endswith(".")


def test_every_precaution_and_sense_has_its_words() -> None:
    for action in PRECAUTIONS:
        assert text(f"attempt.actions.{action}")
        assert text(f"attempt.did.{action}")
    for outcome in EXHAUST:
        assert text(f"senses.exhaust.{outcome}")
    for outcome in COMPRESSOR_SOUND:
        assert text(f"senses.compressor.{outcome}")


def test_joints_are_counted_from_one(call: Call) -> None:
    """The first joint from the pump is joint 1 to people and ``joint:0`` to the rig."""
    offered = {view.id: view.label for view in call(("drain_open", 1.0, "")).available_actions()}
    assert offered["check:foam_joint:joint:0"] == text("checks.foam_joint.label", joint=1)
    assert "joint 1" in offered["remedy:renew_joint_ring:joint:0"].lower()
