"""Every lesson is whole; one that is not is told all that is missing, and breaks no other page."""

from __future__ import annotations

import json
import re
from importlib import import_module
from pathlib import Path

import pytest

from simulator.errors import InputError
from simulator.page_extension.manifest import manifest_path
from simulator.panels.lessons import registry
from simulator.panels.lessons.registry import LESSONS, LessonEntry, lesson
from simulator.panels.page.part import LessonPart
from simulator.panels.papers.session_plans import plan_names
from simulator.panels.teaching.lesson import Lesson
from simulator.texts import text

PROJECT = Path(__file__).parents[3]


def missing(entry: LessonEntry) -> list[str]:
    """All that a lesson of the registry lacks, each as a sentence with the place to mend it."""
    out, who = [], f"lesson {entry.number}"
    folder = PROJECT / "simulator" / "panels" / "lessons" / entry.folder
    if not (folder / "page.py").is_file():
        out.append(f"{who}: no page: write {folder.relative_to(PROJECT)}/page.py")
    else:
        try:
            page = getattr(import_module(entry.module), entry.page, None)
        except Exception as error:  # noqa: BLE001 - whatever it is, it is told
            out.append(f"{who}: its page cannot be loaded: {error}")
        else:
            if not (isinstance(page, type) and issubclass(page, Lesson)):
                out.append(f"{who}: no lesson {entry.page} in {entry.module}")
            elif page.number != entry.number:
                out.append(f"{who}: its page says that it is lesson {page.number!r}: mend `number`")
    for kind in ("titles", "minutes"):
        try:
            text(f"lessons.{kind}.{entry.number}")
        except InputError:
            out.append(f'{who}: add "{entry.number}" under `{kind}:` in simulator/texts/en/lessons.yaml')
    notebook = PROJECT / "lessons" / entry.notebook
    if not notebook.is_file():
        out.append(f"{who}: no notebook: write lessons/{entry.notebook}")
    elif f'lesson(\\"{entry.number}\\")' not in notebook.read_text(encoding="utf-8"):
        out.append(f'{who}: lessons/{entry.notebook} does not open lesson("{entry.number}")')
    listed = {each["name"] for each in json.loads(manifest_path().read_text(encoding="utf-8"))["lessons"]}
    if entry.notebook not in listed:
        out.append(f"{who}: run python -m simulator.page_extension.manifest")
    if entry.number not in plan_names():
        out.append(
            f'{who}: no session plan: add "{entry.number}" under `lessons:` in simulator/texts/en/plans.yaml'
        )
    tests = Path(__file__).parent / f"test_{entry.folder}.py"
    if not tests.is_file():
        out.append(f"{who}: no tests: write {tests.relative_to(PROJECT)}")
    return out


@pytest.mark.parametrize("number", LESSONS)
def test_every_lesson_is_whole(number: str) -> None:
    assert LESSONS[number].number == number
    told = missing(LESSONS[number])
    assert not told, "\n" + "\n".join(told)


@pytest.mark.parametrize("number", LESSONS)
def test_every_part_of_a_notebook_can_be_shown(number: str) -> None:
    """A part that cannot be built says so, and the page lives on; on a fresh page that is a mistake of ours."""
    cells = json.loads((PROJECT / "lessons" / LESSONS[number].notebook).read_text(encoding="utf-8"))["cells"]
    code = "".join("".join(cell["source"]) + "\n" for cell in cells if cell["cell_type"] == "code")
    page = lesson(number)
    for name in re.findall(r"^page\.(\w+)\(\)$", code, re.MULTILINE):
        widget = getattr(page, name)()
        for part in (widget, *getattr(widget, "children", ())):
            if isinstance(part, LessonPart):
                assert "broken" not in [block["id"] for block in part.content["blocks"]], name


def test_every_folder_is_in_the_registry() -> None:
    place = PROJECT / "simulator" / "panels" / "lessons"
    folders = {path.parent.name for path in place.glob("*/page.py")}
    assert folders == {entry.folder for entry in LESSONS.values()}


def test_all_that_is_missing_is_told_at_once() -> None:
    told = missing(LessonEntry("99", "not_written_yet", "NotWritten"))
    wanted = ("page.py", "titles", "minutes", "notebook", "manifest", "plans.yaml", "tests")
    assert len(told) == len(wanted)
    assert all(word in sentence for word, sentence in zip(wanted, told, strict=True))
    assert all(sentence.startswith("lesson 99: ") for sentence in told)


def test_a_broken_lesson_breaks_no_other_page(monkeypatch: pytest.MonkeyPatch) -> None:
    broken = LessonEntry("99", "not_written_yet", "NotWritten")
    monkeypatch.setitem(registry.LESSONS, "99", broken)
    home = lesson("00")
    listed = home.welcome().block("lessons")["items"]
    assert [item["number"] for item in listed].count("99") == 1
    assert next(item for item in listed if item["number"] == "99")["title"] == "Not written yet"
    for number in LESSONS:
        if number != "99":
            assert lesson(number).links("go", "99")["links"][0]["label"].endswith("Not written yet")
    with pytest.raises(InputError, match="lesson 99 cannot be opened"):
        lesson("99")
