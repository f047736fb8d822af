"""Every sentence that tells somebody to do an act comes with what protects in it.

The rule. A sentence *tells an act* when it holds the act's name or one of its patterns
(``rig/data/safe_work/words.yaml``). On a lesson's page a part that shows such a sentence ends in the lines of those
acts, read off the table of safe work (``panels/page/part.py``); a yard card and a debrief name what is made safe
first behind each act; a session plan ends in the lines; a look's own card on the exercise page carries its box. The
*net* below finds sentences that hand somebody a tool (a verb of the hand before a part of the rig) and that no
pattern knows: there are none but those listed, which tell nobody to do anything.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from simulator.panels.lessons.registry import LESSONS
from simulator.rig import safe_work
from simulator.rig.remedies import REMEDIES
from simulator.rig.safe_words import _patterns, acts_told, name_of, safe_lines, told
from simulator.texts import catalogue, text

#: Where a learner or a trainer reads what to do. Not: names of acts and their own steps, which stand under their box.
AREAS = (
    *(f"lesson_{number}" for number in LESSONS if f"lesson_{number}" in catalogue()),
    "lessons", "plans", "papers", "field_sheet", "marking",
    "diagnosis", "teaching", "glossary", "faults",
)  # fmt: skip
VERB = (
    "open|undo|loosen|tighten|pull|lift|haul|clean|wash|change|fit|renew|remove|unbolt|bolt|poke|dip|hang|swap|plug|"
    r"cap|put|turn|take|drain|clear(?! of)|lower"
)
PART = (
    "strainer|hose|joints?|rings?|flange|gasket|bolts?|lid|ball|screen|nozzle|belt|filter|guard|exhaust hose|air line|"
    "compressor|relief valve|float|seal|wheel|plate|cap|discharge line|drains?|gauge|cock"
)
#: A verb of the hand at the head of a sentence or clause, or said to "you", and a part of the rig soon after it.
NET = re.compile(
    rf"(?:^|[:;,“(] |\b(?:then|and|or|you|now|to|first) )(?:{VERB})\b[^.?!:;]{{0,24}}\b(?:{PART})\b",
    re.IGNORECASE,
)
#: What the net brings up and tells nobody to do an act, by the words that say so.
NOTHING_TOLD = (
    "Dirt can plug it, and wear",
    "To take the air out of pump and hose",
    "cap, good rig",
    "Cap, torn joint",
    "a light at rest cannot clear the hose",
    "hold the water",
    "drained and vacuum let out before you open anything",
    "The places to look at: drain valve",
    "lift {lift}, with a cock",
    "Put gauge and valve together",
    "Then take the hose in",
    "Put the screen away",
    "guard, lid, joint, plate, bolt",
    "the guard rail up",  # what makes safe
    "before plate, cap",
    "Take two people for",
    "Let off the discharge line, drain it dry",  # the name of an act that makes others safe
    "with a cock in its air path",
    "Look round again: drain",  # a button of the list: what makes it safe stands at its row
)


def walk(data: Any, key: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(data, dict):
        for name, value in data.items():
            yield from walk(value, f"{key}.{name}" if key else str(name))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from walk(value, f"{key}.{number}")
    elif isinstance(data, str):
        yield key, data


def sentences() -> Iterator[tuple[str, str, str]]:
    for key, words in walk({area: catalogue()[area] for area in AREAS}):
        for sentence in re.split(r"(?<=[.?!])\s+", words):
            yield key, words, sentence


def test_no_sentence_hands_somebody_a_tool_that_no_pattern_knows() -> None:
    found = [
        f"{key}: {sentence}"
        for key, words, sentence in sentences()
        if NET.search(sentence) and not told(words) and not any(part in sentence for part in NOTHING_TOLD)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("sentence", "act"),
    [
        ("Pull the strainer out, 6 min", "strainer_out"),
        ("Clean the strainer and hang it in a basket", "strainer_out"),
        ("A tape shows the lift, a rope brings up the strainer.", "dip_water"),
        ("Now belt, filter and nozzle.", "nozzle_out"),
        ("guard off, look at belt and filter", "belt"),
        ("Put the plate on and run it.", "blank_off"),
        ("Take the screen out", "screen_out"),
        ("Or the lid off the valve.", "nrv_lid"),
        ("Walk the discharge line, 3 min", "walk_discharge"),
        ("Tighten the flange", "flange_look"),
        ("clear it with a wire", "clear_drain"),
        ("One more start.", "start_engine"),
        ("Take the hose off and look through it with a light.", "light_through"),
        ("Bring the pump down to the water.", "lower_pump"),
        ("Lower the strainer to the deep spot", "lower_strainer"),
    ],
)
def test_plain_ways_to_tell_an_act_are_known(sentence: str, act: str) -> None:
    assert act in [name for _, name in told(sentence)]


@pytest.mark.parametrize(
    "sentence",
    [
        "The strainer is plugged.", "The needle climbs faster than on a sound rig.", "Air gets in at the flange.",
        "The screen works as it should.", "The ball lifts off its seat.", "It stands at the static lift.",
    ],
)  # fmt: skip
def test_what_tells_nothing_is_left_alone(sentence: str) -> None:
    assert told(sentence) == ()


def test_an_option_that_is_a_work_is_told_as_that_work() -> None:
    """Whoever is asked which work to do finds the line of each, the right one's too."""
    asked = 0
    for name, label in _options(
        {name: words for name, words in catalogue().items() if name.startswith("lesson_")}
    ):
        if name in REMEDIES and "{" not in label:
            asked += 1
            assert (safe_work.REMEDIES, name) in told(label), label
    assert asked > 4


def _options(data: object) -> Iterator[tuple[str, str]]:
    if isinstance(data, dict):
        for name, value in data.items():
            if isinstance(value, dict) and isinstance(value.get("label"), str):
                yield name, value["label"]
            yield from _options(value)


def test_every_act_is_told_by_its_name() -> None:
    known = {act for act, _ in _patterns("en")}
    for kind, acts in safe_work.table().acts.items():
        for name in acts:
            if kind in (safe_work.CHECKS, safe_work.REMEDIES, safe_work.TOLD):
                assert (kind, name) in known
                assert (kind, name) in told(name_of(kind, name)), name


def test_every_line_holds_what_its_act_waits_for() -> None:
    for kind, acts in safe_work.table().acts.items():
        for name in acts:
            box = safe_work.box(kind, name)
            for need in safe_work.needs(kind, name, ()):
                if need in ("running", "stopped"):
                    continue
                key = safe_work.need_key(need, kind, name, ())
                no_jolt = need == "discharge_secured" and kind == safe_work.CHECKS  # a plate or a cap is on
                said = text(f"safe_work.states.{need}" if no_jolt else f"attempt.needs.{key}")
                assert said in box, (name, need)
            assert "ppe" not in safe_work.needs(kind, name, ()) or box.startswith(text("attempt.needs.ppe"))
            for danger in safe_work.dangers_of(kind, name).values():
                assert all(text(f"safe_work.care.{care}") in box for care in danger.care)


def test_acts_made_safe_alike_share_a_line() -> None:
    lines = safe_lines("Take the nozzle out. Clean the jet nozzle.")
    assert len(lines) == 1
    assert acts_told({"id": "Take the nozzle out."}) == ()  # an id is not read by anybody
