"""The figures' desk without a browser: each with its range, mistakes at their fields, undo, file, whether it holds."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from simulator.errors import InputError
from simulator.panels.lessons.registry import DESKS, LESSONS, lesson
from simulator.panels.trainer.figures import draft
from simulator.panels.trainer.figures.page import Figures
from simulator.rig import trainer
from simulator.rig.own_rigs import OWN_RIGS
from simulator.rig.trainer import FILE_NAME, VARIABLE, Overrides, legal_range, read_overrides
from simulator.texts import text
from tests.conftest import PROJECT, some

EXAMPLE = PROJECT / "simulator" / "rig" / "data" / "trainer" / "figures_example.yaml"
BY_HAND = """# The yard at the river.
format: trainer-figures
version: 1

thresholds:   # as agreed in spring
  proof_slack_s: 20  # long hoses
minutes:
  # six bolts
  belt: 7
  strainer_out: 4
"""
Click = Callable[..., dict[str, Any]]


@pytest.fixture(autouse=True)
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setenv(OWN_RIGS, str(tmp_path / "yard" / "own_rigs"))
    monkeypatch.delenv(VARIABLE, raising=False)
    yield tmp_path / "yard" / FILE_NAME
    monkeypatch.undo()
    in_force_anew()


def in_force_anew() -> None:
    """As when the lessons are opened: tables are built with the file as it now is."""
    trainer._named.cache_clear()
    trainer.overrides.cache_clear()


@pytest.fixture
def page(new_session: Callable[[], Any]) -> Figures:
    return opened(new_session)


def opened(new_session: Callable[[], Any]) -> Figures:
    made = Figures(new_session())
    for part in (made.desk, made.aim, made.text):
        part()
    return made


def written(file: Path, content: str = BY_HAND) -> bytes:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content.encode("utf-8"))
    return content.encode("utf-8")


def field(page: Figures, name: str) -> dict[str, Any]:
    groups = page.desk().block("form")["groups"]
    return next(each for group in groups for each in group["fields"] if each["id"] == name)


def said(page: Figures) -> str:
    blocks = page.desk().content["blocks"]
    return " ".join(" ".join([*block.get("paragraphs", ()), *block.get("items", ())]) for block in blocks)


def test_the_desk_stands_beside_the_lessons_and_in_no_learners_list() -> None:
    assert not set(DESKS) & set(LESSONS)
    assert DESKS["figures"].notebook in [
        link["file"] for link in lesson("00").what_next().block("desks")["links"]
    ]


def test_every_figure_of_the_file_has_a_field_that_tells_its_range_and_how_it_comes(page: Figures) -> None:
    fields = [each for group in page.desk().block("form")["groups"] for each in group["fields"]]
    assert sorted(each["id"] for each in fields) == sorted(draft.field_names())
    for each in fields:
        group, _, name = each["id"].partition(".")
        low, high = legal_range(group, name)
        assert f"{low:g} to {high:g}. Empty: {draft.shown(draft.usual(each['id']))}" in each["hint"]
        assert each["label"]
        assert "{" not in each["label"] + each["hint"]
        assert each["value"] == ""
    for group in page.desk().block("form")["groups"]:
        assert group["hint"], "what the figures of a group change"


def test_each_figure_tells_what_it_comes_to(page: Figures, click: Click) -> None:
    assert field(page, "weights.drain_open")["beside"] == "14 in 100 calls"
    assert field(page, "marks.found")["beside"] == "45 of 100"
    assert "must prime within 65 s" in field(page, "thresholds.proof_factor")["hint"]
    click(page, "edit", field="thresholds.proof_factor", value="1.5")
    assert "must prime within 75 s" in field(page, "thresholds.proof_factor")["hint"]
    click(page, "edit", field="weights.drain_open", value="0")
    assert field(page, "weights.drain_open")["beside"] == "0 in 100 calls"
    click(page, "edit", field="marks.economy", value="0")
    assert field(page, "marks.found")["beside"] != "45 of 100"
    assert len(page.desk().block("changes")["items"]) == 3


IMPOSSIBLE = [
    ("minutes.belt", "-1", "0 to 240 min", "0"),
    ("minutes.belt", "241", "0 to 240 min", "240"),
    ("minutes.belt", "seven", "0 to 240 min", ""),
    ("minutes.belt", "7 s", "0 to 240 min", ""),
    ("minutes.belt", "1e400", "0 to 240 min", ""),
    ("minutes.clean_nrv", "nan", "0 to 240 min", ""),
    ("weights.drain_open", "1.5", "0 to 1", "1"),
    ("weights.belt_loose", "-0,1", "0 to 1", "0"),
    ("weights.sound", "inf", "0 to 1", ""),
    ("thresholds.proof_factor", "0.9", "1 to 3", "1"),
    ("thresholds.proof_factor", "3.01", "1 to 3", "3"),
    ("thresholds.proof_slack_s", "121", "0 to 120 s", "120"),
    ("thresholds.proof_flow", "1", "0.3 to 0.98", "0.98"),
    ("thresholds.pass_mark", "39", "40 to 95", "40"),
    ("thresholds.pass_mark", "99", "40 to 95", "95"),
    ("marks.found", "101", "0 to 100", "100"),
    ("marks.economy", "half", "0 to 100", ""),
    ("marks.understanding", "\x00", "0 to 100", ""),
]


@pytest.mark.parametrize(("name", "typed", "legal", "nearest"), IMPOSSIBLE)
def test_a_mistake_is_told_at_its_field_and_nothing_is_saved(
    page: Figures, click: Click, file: Path, name: str, typed: str, legal: str, nearest: str
) -> None:
    click(page, "edit", field=name, value=typed)
    problem = field(page, name)["problem"]
    assert f"Legal: {legal}." in problem["sentence"]
    assert problem["nearest"] == nearest
    assert page.desk().block("form")["problems"] == text("desks.problem.one")
    click(page, "save")
    assert not file.exists()
    if nearest:
        click(page, "edit", field=name, value=nearest)
        assert "problem" not in field(page, name)


def test_what_only_all_together_are_wrong_is_told_at_one_of_them(page: Figures, click: Click) -> None:
    for part in trainer.MARK_PARTS:
        click(page, "edit", field=f"marks.{part}", value="0")
    assert "more than 0" in field(page, "marks.found")["problem"]["sentence"]
    click(page, "edit", field="marks.found", value="50")
    assert "problem" not in field(page, "marks.found")
    for name in trainer.names_of("weights"):
        click(page, "edit", field=f"weights.{name}", value="0")
    assert "No fault would ever come" in field(page, "weights.drain_open")["problem"]["sentence"]
    click(page, "undo")
    click(page, "edit", field="weights.belt_loose", value="0.1")
    assert draft.wrong_at(page.steps.now) == {}


def test_forty_steps_back_and_on_again(page: Figures, click: Click) -> None:
    stood = [page.steps.now]
    names = random.Random(5).sample(draft.field_names(), 40)
    for name in names:
        group, _, key = name.partition(".")
        click(page, "edit", field=name, value=f"{legal_range(group, key)[1]:g}")
        stood.append(page.steps.now)
    for fields in reversed(stood[:-1]):
        click(page, "undo")
        assert page.steps.now == fields
    assert not page.desk().block("form")["undo"]
    for fields in stood[1:]:
        click(page, "redo")
        assert page.steps.now == fields
    click(page, "new")
    assert set(page.steps.now.values()) == {""}
    click(page, "undo")
    assert page.steps.now == stood[-1]


def test_a_word_typed_letter_by_letter_is_one_step(page: Figures, click: Click) -> None:
    for n, value in enumerate(("1", "12", "12.5")):
        click(page, "edit", field="minutes.belt", value=value, more=n > 0, n=n + 1)
    assert page.desk().block("form")["heard"] == 3
    click(page, "undo")
    assert page.steps.now["minutes.belt"] == ""


def test_saved_it_is_read_back_and_in_use_when_the_lessons_are_opened_again(
    page: Figures, click: Click, file: Path, new_session: Callable[[], Any]
) -> None:
    assert text("figures.use.usual") in said(page)
    click(page, "edit", field="minutes.belt", value="7,5 min")
    click(page, "edit", field="thresholds.pass_mark", value="74")
    assert text("figures.use.unsaved") in said(page)
    click(page, "save")
    assert read_overrides(file) == Overrides(minutes={"belt": 7.5}, thresholds={"pass_mark": 74.0})
    assert text("figures.use.next_time") in said(page)
    assert trainer.overrides() == Overrides()
    in_force_anew()
    later = opened(new_session)
    assert later.steps.now["minutes.belt"] == "7.5"
    assert text("figures.use.now") in said(later)
    kinds = "minutes of looks and work, what counts as proof or passes"
    want = text("figures.use.said", what=kinds)
    for number in ("00", "09", "02"):
        shown = str(lesson(number).__class__(new_session()).notices())
        assert want in shown


def test_put_back_it_is_said_that_pages_opened_meanwhile_go_on_with_the_others(
    page: Figures, click: Click
) -> None:
    click(page, "edit", field="thresholds.pass_mark", value="80")
    click(page, "save")
    click(page, "new")
    click(page, "save")
    assert text("figures.use.next_time") in said(page)


def test_in_a_process_of_its_own_the_saved_file_holds_without_being_named(
    page: Figures, click: Click, file: Path
) -> None:
    for name, value in {
        "minutes.belt": "9",
        "weights.drain_open": "0.5",
        "thresholds.pass_mark": "80",
    }.items():
        click(page, "edit", field=name, value=value)
    click(page, "save")
    code = (
        "from simulator.instruments.checks import CHECKS\n"
        "from simulator.marking.decision import rule_now\n"
        "from simulator.rig.faults import FAULTS\n"
        "print(CHECKS['belt'].minutes, CHECKS['belt'].usual_minutes, FAULTS['drain_open'].weight, rule_now().pass_mark)"
    )
    env = {name: value for name, value in os.environ.items() if name != VARIABLE}
    env[OWN_RIGS] = str(file.parent / "own_rigs")
    done = subprocess.run(
        [sys.executable, "-c", code], env=env, cwd=PROJECT, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["9.0", "4.0", "0.5", "80.0"]


def test_a_file_by_hand_keeps_its_bytes_and_where_something_changes_all_other_lines(
    file: Path, new_session: Callable[[], Any], click: Click
) -> None:
    before = written(file)
    page = opened(new_session)
    assert page.steps.now["minutes.belt"] == "7"
    click(page, "save")
    assert file.read_bytes() == before
    click(page, "edit", field="minutes.belt", value="8")
    click(page, "undo")
    click(page, "save")
    assert file.read_bytes() == before
    click(page, "edit", field="minutes.belt", value="8")
    click(page, "edit", field="minutes.strainer_out", value="")
    click(page, "edit", field="thresholds.pass_mark", value="72")
    click(page, "edit", field="weights.hose_humped", value="0")
    click(page, "save")
    lines = file.read_text("utf-8").splitlines()
    assert lines[0] == "# The yard at the river."
    assert "  proof_slack_s: 20  # long hoses" in lines
    assert lines[lines.index("  # six bolts") + 1] == "  belt: 8"
    assert "strainer_out" not in "".join(lines)
    assert read_overrides(file) == Overrides(
        weights={"hose_humped": 0.0}, minutes={"belt": 8.0},
        thresholds={"proof_slack_s": 20.0, "pass_mark": 72.0},
    )  # fmt: skip


@pytest.mark.parametrize("seed", some(range(40)))
def test_whatever_is_typed_into_any_file_reads_back_the_same(seed: int) -> None:
    chance = random.Random(seed)

    def drawn() -> dict[str, str]:
        fields = draft.new_fields()
        for name in chance.sample(draft.field_names(), chance.randrange(1, 20)):
            low, high = legal_range(*name.split("."))
            fields[name] = draft.shown(round(chance.uniform(low, high), chance.randrange(4)))
        return fields if not draft.wrong_at(fields) else drawn()

    first, second = drawn(), drawn()
    start = chance.choice([b"", EXAMPLE.read_bytes(), BY_HAND.encode(), BY_HAND.replace("\n", "\r\n").encode(),
        b"format: trainer-figures\nversion: 1\nminutes: {belt: 7, light_through: 3}\nmarks: {safety: 5}\n"])  # fmt: skip
    one = draft.file_of(first, start)
    assert draft.opened(one, "a file") == draft.Opened(first, ())
    two = draft.file_of(second, one)
    assert draft.opened(two, "a file").fields == second
    assert draft.file_of(second, two) == two


@pytest.mark.parametrize(
    ("content", "told", "kept"),
    [
        ("format: pump-rig\nversion: 1\n", "another kind of file", {}),
        ("a: [1\n", "not YAML", {}),
        ("", "empty", {}),
        ("\x00", "YAML", {}),
        ("format: trainer-figures\nversion: 1\nminutes: {belt: 900, belts: 2}\n", "belts", {"minutes.belt": "900"}),
        ("format: trainer-figures\nversion: 1\nwheights: {a: 1}\nmarks: {found: 5}\n", "wheights", {"marks.found": "5"}),
        ("format: trainer-figures\nversion: 1\nminutes: [1]\n", "minutes", {}),
        ("format: trainer-figures\nversion: 1\nminutes: {belt: [1]}\n", "belt", {}),
        ("format: trainer-figures\nversion: 1\nminutes: {belt: yes}\n", "belt", {}),
        ("- 1\n", "another kind", {}),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_used_is_told_shown_where_it_has_a_field_and_written_over_at_the_second_press(
    file: Path, new_session: Callable[[], Any], click: Click, content: str, told: str, kept: dict[str, str]
) -> None:
    before = written(file, content)
    page = opened(new_session)
    if before:
        assert told in " ".join(page.desk().block("told")["paragraphs"])
    for name, value in kept.items():
        assert field(page, name)["value"] == value
    click(page, "new")
    click(page, "edit", field="minutes.belt", value="7")
    click(page, "save")
    if before:
        assert file.read_bytes() == before
        assert page.desk().block("form")["files"]["over"]
        click(page, "save")
    assert read_overrides(file) == Overrides(minutes={"belt": 7.0})


def test_what_another_hand_wrote_meanwhile_is_not_lost_unasked(
    page: Figures, click: Click, file: Path
) -> None:
    click(page, "edit", field="minutes.belt", value="7")
    other = written(file)
    assert click(page, "save")["sentence"] == text("figures.said.over")
    assert file.read_bytes() == other
    assert click(page, "open")["sentence"] == text("desks.said.leave")
    click(page, "open")
    assert page.steps.now["thresholds.proof_slack_s"] == "20"
    assert text("figures.use.next_time") in said(page)


def test_the_text_by_hand_is_taken_over_or_told(page: Figures, click: Click, file: Path) -> None:
    click(page, "text", text=BY_HAND.replace("belt: 7", "belt: 700"))
    assert "line 9" in page.text().block("hand")["problem"]
    assert "belt: 700" in page.text().block("hand")["text"]
    assert page.steps.now == draft.new_fields()
    click(page, "text", text=BY_HAND)
    assert page.steps.now["minutes.belt"] == "7"
    assert page.text().block("hand")["text"] == BY_HAND
    click(page, "save")
    assert file.read_text("utf-8") == BY_HAND
    for odd in (
        "",
        "\ud800",
        "x" * 300_000,
        "{",
        "format: trainer-figures\nversion: 1\nmarks: {found: .nan}\n",
    ):
        click(page, "text", text=odd)
        assert page.text().block("hand")["problem"]


def test_a_named_file_goes_before_the_one_beside_the_rigs(
    file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, new_session: Callable[[], Any], click: Click
) -> None:
    written(file)
    named = tmp_path / "figures.yaml"
    monkeypatch.setenv(VARIABLE, str(named))
    in_force_anew()
    assert "cannot be opened" in str(trainer.trouble())
    page = opened(new_session)
    assert page.steps.now == draft.new_fields()
    click(page, "edit", field="minutes.belt", value="3")
    click(page, "save")
    assert read_overrides(named).minutes == {"belt": 3.0}


@pytest.mark.parametrize(
    ("action", "args"),
    [("edit", {}), ("edit", {"field": "minutes.nothing", "value": "3"}), ("edit", {"field": 3, "value": None}),
     ("edit", {"field": "minutes.belt", "value": ["x"] * 99, "n": "x"}), ("text", {}), ("open", {"which": 3}),
     ("undo", {"x": 1}), ("redo", {}), ("save", {"name": "x"})],
)  # fmt: skip
def test_odd_messages_break_nothing(page: Figures, click: Click, action: str, args: dict[str, Any]) -> None:
    click(page, action, **args)
    assert page.desk().block("form")["groups"]


def test_a_folder_that_cannot_be_written_to_is_a_sentence(page: Figures, click: Click, file: Path) -> None:
    file.parent.parent.mkdir(parents=True, exist_ok=True)
    file.parent.write_text("no folder")
    click(page, "edit", field="minutes.belt", value="7")
    assert click(page, "save")["sentence"]
    with pytest.raises(InputError):
        draft.file_of({**draft.new_fields(), "minutes.belt": "x"})
