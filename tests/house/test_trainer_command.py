"""One command for who trains others: help in sentences, a sentence for a mistake, words handed to the right module."""

from __future__ import annotations

import contextlib
import importlib
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

PROJECT = Path(__file__).parents[2]
sys.path.insert(0, str(PROJECT / "binder"))

import trainer  # noqa: E402

CALL = PROJECT / "lessons" / "scenarios" / "alder_ditch.scenario.yaml"


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch):
    """Runs the command with this Python in place of the lessons' own."""
    monkeypatch.setattr(trainer, "ensure", lambda which: SimpleNamespace(python=sys.executable))
    monkeypatch.setattr(trainer, "in_use", lambda environment: contextlib.nullcontext())

    def start(*words: str) -> int:
        monkeypatch.setattr(sys, "argv", ["trainer.py", *words])
        return trainer.main()

    return start


@pytest.mark.parametrize("words", [(), ("--help",), ("help",)])
def test_help_names_every_command(run, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(*words) == 0
    said = capsys.readouterr().out
    assert all(name in said for name in trainer.COMMANDS)


def test_a_wrong_command_gets_a_sentence(run, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("paper") == 2
    assert "Did you mean 'papers'? Legal: papers, check" in capsys.readouterr().err


@pytest.mark.parametrize("name", trainer.COMMANDS)
def test_every_command_has_its_module(name: str) -> None:
    module, _ = trainer.COMMANDS[name]
    assert callable(getattr(importlib.import_module(module), "main", None)) or importlib.util.find_spec(
        f"{module}.__main__"
    )


def test_files_count_from_where_they_were_typed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "mine.scenario.yaml").write_text("words", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert trainer.words_for("check", ["mine.scenario.yaml"]) == [str(tmp_path / "mine.scenario.yaml")]
    assert trainer.words_for("papers", ["out"]) == ["--catalogue", "--out", str(tmp_path / "out")]
    assert trainer.words_for("forget", ["Ash Reed"]) == ["forget", "Ash Reed"]


def test_a_file_is_checked_and_a_wrong_one_gets_a_sentence(
    run, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    assert run("check", str(CALL)) == 0
    assert "can be used" in capfd.readouterr().out
    wrong = tmp_path / "wrong.scenario.yaml"
    wrong.write_text(CALL.read_text(encoding="utf-8").replace("lift_m: 4.0", "lift_m: 40"), encoding="utf-8")
    assert run("check", str(wrong)) == 1
    said = capfd.readouterr().err
    assert "site.lift_m: 40 is out of range. Legal: -5 to 12 m." in said
    assert "Traceback" not in said
