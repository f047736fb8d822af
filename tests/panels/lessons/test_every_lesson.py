"""Every lesson is whole; one that is not is told all that is missing, and breaks no other page."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import yaml

from simulator import texts
from simulator.errors import InputError
from simulator.page_extension.manifest import manifest_path
from simulator.panels.lessons import registry
from simulator.panels.lessons.notebooks import written
from simulator.panels.lessons.reading_the_gauge.page import ReadingTheGauge
from simulator.panels.lessons.registry import LESSONS, LessonEntry, lesson, place, why
from simulator.panels.page.part import LessonPart
from simulator.panels.papers.session_plans import MINUTES
from simulator.panels.teaching import drill as drill_of
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.teaching.plan import Plan
from simulator.panels.teaching.taught_lesson import TaughtLesson
from simulator.rig.faults import fault_from
from simulator.rig.lazy import RecordTable
from simulator.rig.plain_yaml import read_text
from simulator.texts import lesson_files, text
from tests.house.language import read

PROJECT = Path(__file__).parents[3]
#: What a plan for the one who teaches says.
PLAN = ("name", "aim", "prepare", "minutes", "ask", "wrong", "look", "cautions")


MAKE = "run python3 binder/make_data.py --only lessons"


def missing(entry: LessonEntry) -> list[str]:
    """All that a lesson of the registry lacks, each as a sentence with the place to mend it."""
    out, who = [], f"lesson {entry.number}"
    folder = PROJECT / "simulator" / "panels" / "lessons" / entry.folder
    page, broken = None, False
    if not (folder / "page.py").is_file():
        out.append(f"{who}: no page: write {folder.relative_to(PROJECT)}/page.py")
    else:
        try:
            page = getattr(import_module(entry.module), entry.page, None)
        except Exception as error:  # noqa: BLE001 - whatever it is, it is told
            broken = True  # whether it is a taught lesson is not known then
            out.append(f"{who}: its page cannot be loaded: {place(error, entry)}: {why(error)}")
        else:
            if not (isinstance(page, type) and issubclass(page, Lesson)):
                out.append(f"{who}: no lesson {entry.page} in {entry.module}")
            elif page.number != entry.number:
                out.append(f"{who}: its page says that it is lesson {page.number!r}: mend `number`")
            elif not page.on_page:
                out.append(
                    f"{who}: its page lists no parts: add `on_page` to {entry.page}, the names of its methods"
                )
    out += [f"{who}: {each}" for each in missing_words(folder / "words.yaml", entry.number, page)]
    notebook = PROJECT / "lessons" / entry.notebook
    if not notebook.is_file():
        out.append(f"{who}: no notebook lessons/{entry.notebook}: {MAKE}")
    elif page is not None and notebook.read_text(encoding="utf-8") != written(entry):
        out.append(f"{who}: lessons/{entry.notebook} is not of the parts its page lists: {MAKE}")
    listed = {each["name"] for each in json.loads(manifest_path().read_text(encoding="utf-8"))["lessons"]}
    if entry.notebook not in listed:
        out.append(f"{who}: its notebook is not in the manifest: {MAKE}")
    tests = Path(__file__).parent / f"test_{entry.folder}.py"
    taught = isinstance(page, type) and issubclass(page, TaughtLesson)  # held by test_taught_lessons.py
    if not (taught or broken or tests.is_file()):
        out.append(f"{who}: no tests: write {tests.relative_to(PROJECT)}, as it is no taught lesson")
    return out


def missing_words(path: Path, number: str, page: object) -> list[str]:
    """What its file of words lacks."""
    where = path.relative_to(PROJECT) if path.is_relative_to(PROJECT) else path
    if not path.is_file():
        return [f"no words: write {where}, with number, title, minutes, plan and words"]
    try:
        said = read(path)
    except yaml.YAMLError as error:
        return [f"{where} cannot be read: {' '.join(str(error).split())}"]
    if not isinstance(said, dict):
        return [f"{where} holds no keys: number, title, minutes, plan and words"]
    out = []
    if said.get("number") != number:
        out.append(f'{where} is of lesson {said.get("number")!r}: begin it with number: "{number}"')
    for key, use in {
        "title": "what the list of lessons calls it",
        "minutes": "how long it takes, in words",
    }.items():
        if not said.get(key):
            out.append(f"no `{key}` ({use}): add it to {where}")
    plan = said.get("plan") or {}
    lacking = [key for key in PLAN if not plan.get(key)]
    if lacking:
        out.append(
            f"its plan for the one who teaches lacks {', '.join(lacking)}: add them under `plan` in {where}"
        )
    elif sum(minutes for minutes, _ in plan["minutes"]) != MINUTES:
        out.append(f"the minutes of its plan are not {MINUTES} together: mend `plan`, `minutes` in {where}")
    strange = sorted(set(said) - {"number", "title", "minutes", "plan", "words"})
    out += [f"{where} has a key {key!r}: words of the page stand under `words`" for key in strange]
    if isinstance(page, type) and issubclass(page, TaughtLesson):
        out += lacks_words(page.plan, said.get("words") or {}, str(where))
    return out


def lacks_words(plan: Plan, words: dict[str, Any], where: str) -> list[str]:
    """What a taught lesson says nothing of."""
    out = [
        f"no `{key}` under `words` in {where}"
        for key in ("aim", "steps", "ideas", "drills")
        if key not in words
    ]
    for group, names in {
        "ideas": plan.ideas,
        "drills": [drill.__name__ for drill in (*plan.drills, *plan.check)],
        "predictions": [each.__name__ for each in plan.predictions],
    }.items():
        for name in dict.fromkeys(names):
            if name not in words.get(group, {}):
                out.append(f"no words for {name!r}: add it under `words`, `{group}` in {where}")
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
    wanted = ("page.py", "words.yaml", "notebook", "manifest", "tests")
    assert len(told) == len(wanted)
    assert all(word in sentence for word, sentence in zip(wanted, told, strict=True))
    assert all(sentence.startswith("lesson 99: ") for sentence in told)


def test_all_that_its_words_lack_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "words.yaml"
    path.write_text(
        'number: "98"\nplans: {}\nplan: {name: "A plan"}\nwords: {aim: "To see."}\n', encoding="utf-8"
    )
    told = "\n".join(missing_words(path, "99", ReadingTheGauge))
    for word in (
        'number: "99"',
        "`title`",
        "`minutes`",
        "lacks aim, prepare",
        "'plans'",
        "`steps`",
        "'plateau'",
    ):
        assert word in told
    path.write_text("words: [", encoding="utf-8")
    assert "cannot be read" in missing_words(path, "99", None)[0]


def test_words_that_cannot_be_read_break_no_other_lesson(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, path in lesson_files().items():
        (tmp_path / name).mkdir()
        (tmp_path / name / "words.yaml").write_bytes(path.read_bytes())
    (tmp_path / "air_gets_in" / "words.yaml").write_text("words: [", encoding="utf-8")
    monkeypatch.setattr(texts, "_LESSONS", tmp_path)
    for each in (texts.catalogue, texts._of_lessons, texts._entry):
        each.cache_clear()
    try:
        assert LESSONS["04"].title == "Air gets in"  # what its folder is called
        listed = [item["number"] for item in lesson("00").welcome().block("lessons")["items"]]
        assert {"03", "04", "05"} <= set(listed)
        assert lesson("03").aim().block("title")["text"] == "Reading the gauge"
        with pytest.raises(InputError, match=r"lesson_04\.aim.*air_gets_in/words\.yaml.*cannot be read"):
            text("lesson_04.aim")
    finally:
        monkeypatch.undo()
        for each in (texts.catalogue, texts._of_lessons, texts._entry):
            each.cache_clear()


@pytest.mark.parametrize(
    ("written", "line", "said"),
    [
        ("x = 1\nclass Hat(:\n", 2, "invalid syntax"),
        ("x = 1\n\ny = 1 / 0\n", 3, "ZeroDivisionError: division by zero"),
        ("from simulator.errors import Hat\n", 1, "cannot import name 'Hat'"),
    ],
)
def test_a_page_that_cannot_be_loaded_is_told_with_file_and_line(
    written: str, line: int, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    entry = LessonEntry("98", f"hat_{line}", "Hat")
    folder = tmp_path / entry.folder
    folder.mkdir()
    (folder / "__init__.py").write_text("", encoding="utf-8")
    (folder / "page.py").write_text(written, encoding="utf-8")
    monkeypatch.setattr(registry.import_module("simulator.panels.lessons"), "__path__", [str(tmp_path)])
    monkeypatch.setattr(
        registry, "shown_path", lambda path: f"simulator/panels/lessons/{path.parent.name}/{path.name}"
    )
    monkeypatch.setitem(registry.LESSONS, "98", entry)
    with pytest.raises(InputError) as caught:
        lesson("98")
    where = f"simulator/panels/lessons/{entry.folder}/page.py, line {line}"
    assert caught.value.where == where
    assert said in caught.value.what
    monkeypatch.setattr(f"{__name__}.PROJECT", tmp_path)
    (tmp_path / "simulator" / "panels").mkdir(parents=True)
    (tmp_path / "simulator" / "panels" / "lessons").symlink_to(tmp_path)
    told = "\n".join(missing(entry))
    assert f"its page cannot be loaded: {where}: " in told
    assert "no tests" not in told


def part_with(build: Callable[[], list[dict[str, Any]]]) -> str:
    block = LessonPart("one", build, lambda *_: "").block("broken")
    return " ".join(block["paragraphs"])


def test_a_broken_file_of_the_program_is_not_laid_to_the_records() -> None:
    def of_a_file() -> list[dict[str, Any]]:
        table = RecordTable(lambda: read_text("hat: {}\n", "faults.yaml"), fault_from)
        return [{"id": name, "kind": "prose"} for name in table]

    said = part_with(of_a_file)
    assert "faults.yaml, line 1, hat: fault 'hat': family: Field required" in said
    assert "Your work is safe" in said
    assert "records" not in said
    for key in ("lesson_03.hat", "lessons.hat"):
        assert f"the message '{key}' is not in the catalogue" in part_with(lambda key=key: [text(key)])
    assert "reading_the_gauge/words.yaml" in part_with(lambda: [text("lesson_03.hat")])
    assert "cannot be filled in (KeyError: 'n')" in part_with(lambda: [text("common.minutes", hat=3)])


def test_words_of_a_drill_that_do_not_fit_are_told_with_their_file(monkeypatch: pytest.MonkeyPatch) -> None:
    words = {"text": "What?", "options": {"a": {"label": "This"}}}
    monkeypatch.setattr(drill_of, "entry", lambda _: words)
    said = part_with(lambda: [drill_of.drill("lesson_03.drills.shape", "", "", "a", {"n": "1"})])
    assert "reading_the_gauge/words.yaml: the words of 'lesson_03.drills.shape' do not fit" in said
    assert "KeyError: 'because'" in said


def test_a_record_that_does_not_fit_is_told_as_a_record() -> None:
    def of_a_record() -> list[dict[str, Any]]:
        raise InputError("this is no answer", "answers")

    assert "Something in your records does not fit it" in part_with(of_a_record)


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
