"""What is counted goes by the word that fits its number: "1 step", "2 steps", in every sentence of the catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from simulator import texts
from simulator.texts import text

EN = Path(texts.__file__).parent / "en"
#: Words for what is counted, after a field: "{n} steps".
WORDS = [
    "steps",
    "looks",
    "calls",
    "cases",
    "hints",
    "attempts",
    "records",
    "faults",
    "hands",
    "markers",
    "readings",
    "things",
    "lines",
    "others",
    "days",
    "months",
    "points",
    "marks",
    "sheets",
    "letters",
    "times",
    "minutes",
    "seconds",
    "litres",
]
PLAIN = re.compile(rf"\{{(\w+)\}} (?:more |of your )?({'|'.join(WORDS)})\b")
#: Sentences that say one in words of their own, by what stands before the last dot of the key that does.
OTHER_KEY = {
    "after_class.choose.count": "after_class.choose.one",
    "bench.wall.hands": "bench.wall.hand",
    "classroom.starting.before": "classroom.starting.before_one",
    "diagnosis.minutes.many": "diagnosis.minutes.one",
    "field_sheet.result.left_out": "field_sheet.result.left_out_one",
    "lesson_10.left_some": "lesson_10.left_one",
    "own_pump.wrong_count": "own_pump.one_wrong",
    "panel.call.left": "panel.call.left_one",
    "panel.next.place_rest": "panel.next.place_one",
    "skills.how_worked.changed_often": "skills.how_worked.changed_once",
    "skills.how_worked.told_all": "skills.how_worked.told_one",
    "skills.how_worked.vain_some": "skills.how_worked.vain_one",
    "skills.how_worked.all_vain": "skills.how_worked.only_vain",
    "skills.when.days": "skills.when.tomorrow",
}
#: Fields that are never one, and why.
NEVER_ONE = {
    "figures of the model": [
        "desks.hard",
        "lesson_02.drills",
        "lesson_04.plain",
        "lesson_04.pumping",
        "lesson_05.valve",
        "lesson_11.drills",
        "lessons.draws",
        "own_pump.refused.misfit",
        "papers.card",
        "papers.standard.steps_how",
        "picture.bore_wider",
        "study",
    ],
    "limits and sizes that are set": [
        "after_class.sign_offs.months",
        "bench.said.many",
        "classroom.bad_name",
        "marking.signed.rule",
        "marking.sheet_page.rule",
        "marking.sheet_page.incomplete",
        "panel.call.markers_spoken",
        "records.hand_over.no_room",
        "sheets.too_many",
        "signing",
        "skills.how_sure.later",
    ],
    "what a breach takes off: 5 or 15": [
        "lesson_10.rules",
        "marking.safety",
        "marking.sheet_page.taken_off",
        "panel.acts.lapse",
        "panel.debrief.taken_off",
    ],
    "a day of a skill that was proven comes after many": ["lessons.states.due"],
    "said of two or more": ["own_pump.curve.spoken", "skills.how_worked.vain_one"],
    "a figure that is no whole number, or was typed": ["records.observed.bad_points"],
    "a place that rings up": ["scenario.random.caller"],
}


def sentences(node: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Every sentence of texts with its key."""
    if isinstance(node, str):
        yield key, node
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for name, each in items:
        yield from sentences(each, f"{key}.{name}" if key else str(name))


def plain_counts() -> list[tuple[str, str]]:
    """Counts that always go by one word: keys and words."""
    free = tuple(each for keys in NEVER_ONE.values() for each in keys)
    return [
        (key, found.group(0))
        for key, said in sentences(dict(texts.catalogue("en")))
        for found in PLAIN.finditer(said)
        if key not in OTHER_KEY and not key.startswith(free)
    ]


def test_no_count_goes_by_one_word_where_it_may_be_one() -> None:
    """A debrief said: "Hints, 1 steps"."""
    assert plain_counts() == []


def test_what_is_said_of_one_elsewhere_is_there() -> None:
    for many, one in OTHER_KEY.items():
        assert texts.knows(many), many
        assert texts.knows(one), one


def test_files_of_texts_hold_no_count_that_the_pages_cannot_fill_in() -> None:
    """A script fills in plain fields alone: what it reads has no word to choose."""
    script = Path(texts.__file__).parents[1] / "panels" / "screen" / "src"
    read = "\n".join(path.read_text(encoding="utf-8") for path in script.rglob("*.js"))
    panel = yaml.safe_load((EN / "panel.yaml").read_text(encoding="utf-8"))["panel"]
    counted = [key for key, said in sentences(panel) if re.search(r"\{\w+:", said)]
    assert counted
    assert [key for key in counted if f'"{key}"' in read] == []


@pytest.mark.parametrize("key", ["marking.found.hints", "marking.economy.hints"])
def test_hints_are_counted_in_english(key: str) -> None:
    assert text(key, n=1, percent=5).startswith("Hints, 1 step: 5 %")
    assert text(key, n=2, percent=10).startswith("Hints, 2 steps: 10 %")
