"""What learners read: in the catalogue alone, at grade 7 or easier, and ready for another language."""

from __future__ import annotations

import json
import re
import string
from pathlib import Path
from typing import Any

import pytest

from simulator import texts
from simulator.errors import BrokenFile, MissingMessage
from simulator.panels.lessons.registry import LESSONS
from tests.house.language import (
    KEPT,
    TEXTS,
    TRADE,
    areas,
    fair_grade,
    pseudo,
    read,
    running_text,
    write_pseudo_language,
)
from tests.house.reading import sentences_of, syllables

PROJECT = Path(__file__).parents[2]
#: Words, in quotes of code: a capital letter, then at least two more words and the end of a sentence, or four words.
SENTENCE = re.compile(r"([\"'`])([A-Z][a-z’']+(?: [\w,’'-]+){2,}[.?!]|[A-Z][a-z’']+(?: [a-z,’'-]+){3,})\1")
NOT_FOR_LEARNERS = {"__main__.py", "remoteEntry.js"}  # help of a command, a note in the list of extensions
HINT = "run-all-hint"  # the one cell that must speak before the catalogue can


def test_areas_cover_every_file() -> None:
    judged = {name.split(".")[0] for name in areas()}
    files = sorted((TEXTS / "en").glob("*.yaml"))
    keys = {key: node for path in files for key, node in read(path).items()}
    assert len(files) == len(keys)
    of_lessons = [read(path) for path in texts.lesson_files().values()]
    assert len(of_lessons) == len({said["number"] for said in of_lessons}) == len(LESSONS)
    keys |= {f"lesson_{said['number']}": said["words"] for said in of_lessons if "words" in said}
    labels_only = {key for key, node in keys.items() if len(list(running_text(node))) < 3}
    assert set(keys) == judged | labels_only


@pytest.mark.parametrize("area", areas())
def test_every_area_reads_at_grade_seven(area: str) -> None:
    assert fair_grade(running_text(areas()[area])) <= 7.0


def test_no_sentence_is_hard_by_itself() -> None:
    hard = {
        text: round(fair_grade([text]), 1)
        for node in areas().values()
        for text in running_text(node)
        if len(text.split()) >= 12 and fair_grade([text]) > 9.0
    }
    assert hard == {}


def test_the_counting_is_honest() -> None:
    assert fair_grade(["The cat sat on the mat."]) == pytest.approx(-1.45, abs=0.005)
    hard = [
        "Considerable atmospheric variability necessitates periodic recalibration of measuring equipment."
    ]
    assert fair_grade(hard) > 15
    assert list(running_text({"a": "Close", "b": ["kPa", "It drips."]})) == ["It drips."]
    assert all(syllables(word) >= 3 for word in TRADE - {"non-return"})


def test_fields_are_named_and_marks_closed() -> None:
    for path in (*(TEXTS / "en").glob("*.yaml"), *texts.lesson_files().values()):
        for text in sentences_of(read(path)):
            assert text.count("**") % 2 == 0, text
            names = [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]
            assert all(names), text


# nothing for learners outside the catalogue


def scripts() -> list[Path]:
    screen = PROJECT / "simulator" / "panels" / "screen" / "src"
    extension = PROJECT / "simulator" / "page_extension" / "labextension"
    return [*screen.rglob("*.js"), *extension.rglob("*.js")]


def sentences_in(code: str) -> list[str]:
    """Strings of some code that look like sentences; comments, docstrings and what errors say are left out."""
    bare = re.sub(r'"""[\s\S]*?"""|^\s*//.*$|/\*[\s\S]*?\*/|^\s*#.*$|\s//\s.*$', "", code, flags=re.M)
    bare = re.sub(r"\b(?:Error|InputError|_log\.\w+|console\.\w+)\([^)]*\)", "", bare)
    return [found[1] for found in SENTENCE.findall(bare)]


def test_every_key_is_a_word() -> None:
    """``on`` and ``no`` without quotes are true and false to YAML, and no message is found under them."""

    def odd(node: object) -> list[object]:
        if isinstance(node, list):
            return [key for each in node for key in odd(each)]
        if not isinstance(node, dict):
            return []
        return [
            key for key, each in node.items() for key in ([] if isinstance(key, str) else [key]) + odd(each)
        ]

    files = [*(TEXTS / "en").glob("*.yaml"), *texts.lesson_files().values()]
    found = {path.as_posix(): odd(read(path)) for path in files}
    assert {name: keys for name, keys in found.items() if keys} == {}


def test_no_learner_text_in_scripts_and_panels() -> None:
    files = [*scripts(), *(PROJECT / "simulator" / "panels").rglob("*.py")]
    files = [path for path in files if path.name not in NOT_FOR_LEARNERS]
    assert len(files) > 40
    found = {path.name: sentences_in(path.read_text(encoding="utf-8")) for path in files}
    assert {name: said for name, said in found.items() if said} == {}


@pytest.mark.parametrize(
    "notebook", sorted((PROJECT / "lessons").rglob("*.ipynb")), ids=lambda path: path.stem
)
def test_no_learner_text_in_notebooks(notebook: Path) -> None:
    cells: list[dict[str, Any]] = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    for cell in cells:
        if cell["cell_type"] == "markdown":
            assert HINT in cell["metadata"].get("tags", []), cell["source"]
        else:
            assert sentences_in("".join(cell["source"])) == []
            assert cell["outputs"] == []


@pytest.mark.parametrize(
    "sample", ['say("Shut the drain first.")', "label: 'Take the guard off now'", "x = `You are here.`"]
)
def test_a_bad_sample_is_caught(sample: str) -> None:
    assert sentences_in(sample)


# another language


def test_the_made_up_language_is_longer_and_keeps_its_fields(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_pseudo_language(tmp_path / "long")
    monkeypatch.setenv("SIMULATOR_LANGUAGE", str(folder))
    english = texts.catalogue("en")
    other = texts.catalogue(str(folder))
    assert texts.entry("common.minutes") == other["common"]["minutes"]
    pairs = list(zip(leaves(english), leaves(other), strict=True))
    assert len(pairs) > 1000
    for (key, text), (key_there, there) in pairs:
        assert key == key_there
        assert re.findall(r"\{[^{}]*\}", text) == re.findall(r"\{[^{}]*\}", there), key
    visible = [len(KEPT.sub("", text)) for (_, text), _ in pairs]
    longer = [len(KEPT.sub("", there)) for _, (_, there) in pairs]
    assert sum(longer) / sum(visible) == pytest.approx(1.4, abs=0.06)


def test_a_file_of_texts_that_cannot_be_read_takes_its_own_area_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert texts.catalogue().broken == {}
    folder = write_pseudo_language(tmp_path / "slip")
    (folder / "bench.yaml").write_text("bench:\n  title: [\n  wall: x\n", encoding="utf-8")
    monkeypatch.setenv("SIMULATOR_LANGUAGE", str(folder))
    assert texts.knows("common.minutes")
    for ask in (texts.text, texts.knows, texts.entry):
        with pytest.raises(BrokenFile, match=r"slip/bench\.yaml, line 4: these texts cannot be read"):
            ask("bench.title")
    with pytest.raises(MissingMessage):
        texts.entry("hat.title")


def test_accents_and_marks() -> None:
    made = pseudo("It takes **{n} min**.")
    assert "**{n} mîñ**" in made
    assert made.endswith(".")


def leaves(node: Any, key: str = "") -> list[tuple[str, str]]:
    if isinstance(node, str):
        return [(key, node)]
    if isinstance(node, dict):
        return [leaf for name, each in node.items() for leaf in leaves(each, f"{key}.{name}")]
    if isinstance(node, list):
        return [leaf for i, each in enumerate(node) for leaf in leaves(each, f"{key}.{i}")]
    return []
