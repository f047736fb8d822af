"""What lessons say can be read by someone at grade 7, and stands in the catalogue alone."""

from __future__ import annotations

import re
import string
from pathlib import Path

import pytest

from simulator.texts import entry
from tests.house.reading import grade, sentences_of, syllables

PANELS = Path(__file__).parents[2] / "simulator" / "panels"
LONG = 18  # words from which a text is judged by itself


@pytest.mark.parametrize(
    ("word", "count"),
    [("pump", 1), ("water", 2), ("compressor", 3), ("vacuum", 3), ("gauge", 1), ("needle", 2), ("bubbles", 2),
     ("raised", 1), ("wanted", 2), ("hoses", 2), ("ejector", 3), ("valve", 1), ("diesel", 2), ("discharge", 2)],
)  # fmt: skip
def test_syllables(word: str, count: int) -> None:
    counted = syllables(word)
    assert counted == count or (word == "vacuum" and counted == 2)  # "vac-uum" and "vac-u-um" are both said


def test_the_grade_of_known_texts() -> None:
    # 6 words, 1 sentence, 6 syllables: 2.34 + 11.8 - 15.59
    assert grade(["The cat sat on the mat."]) == pytest.approx(-1.45, abs=0.005)
    hard = "Notwithstanding considerable atmospheric variability, gravimetric determination necessitates calibration."
    assert grade([hard]) > 15


@pytest.mark.parametrize("area", sorted(entry("lessons")))
def test_every_area_reads_at_grade_seven(area: str) -> None:
    assert grade(sentences_of(entry(f"lessons.{area}"))) <= 7.0


def test_no_long_text_is_hard_by_itself() -> None:
    long = [text for text in sentences_of(entry("lessons")) if len(text.split()) >= LONG]
    assert len(long) > 20
    hard = {text: round(grade([text]), 1) for text in long if grade([text]) > 9.0}
    assert hard == {}


def test_fields_are_named_and_strong_parts_closed() -> None:
    for text in sentences_of(entry("lessons")):
        assert text.count("**") % 2 == 0, text
        assert all(name != "" for _, name, _, _ in string.Formatter().parse(text) if name is not None), text


def test_no_words_of_the_learner_stand_in_the_code() -> None:
    """A capital letter, words and a full stop inside quotes: a sentence that belongs into the catalogue."""
    sentence = re.compile(r"[\"'`][A-Z][a-z]+(?: [a-z,]+){2,}[.?!][\"'`]")
    for path in [*PANELS.glob("lesson*.py"), *(PANELS / "screen" / "src" / "lesson").glob("*.js")]:
        code = re.sub(
            r'"""[\s\S]*?"""|^\s*//.*$|/\*[\s\S]*?\*/', "", path.read_text(encoding="utf-8"), flags=re.M
        )
        assert sentence.findall(code) == [], path.name
