"""One command for who trains others: help in sentences, a sentence for a mistake, words handed to the right module."""

from __future__ import annotations

import contextlib
import importlib
import os
import runpy
import subprocess
import sys
import warnings
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from simulator.panels.trainer.own_pump.draft import new_fields, written_fields
from simulator.rig.own_rigs import rig_text
from simulator.rig.presets import load_rig
from tests.conftest import some

PROJECT = Path(__file__).parents[2]
sys.path.insert(0, str(PROJECT / "binder"))

import trainer  # noqa: E402

from simulator.rig import trainer as figures_of  # noqa: E402
from simulator.rig.command import TYPED  # noqa: E402

CALL = PROJECT / "lessons" / "scenarios" / "alder_ditch.scenario.yaml"


def in_this_process(command: list[str], env: dict[str, str], **_: object) -> SimpleNamespace:
    """What ``python -m module words`` does, without a new Python, which takes longer than the command."""
    module, words = command[2], command[3:]
    os.environ[TYPED] = env[TYPED]  # taken off again by the fixture
    argv, sys.argv = sys.argv, [module, *words]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)  # that it has been imported before
            runpy.run_module(module, run_name="__main__", alter_sys=True)
    except SystemExit as end:
        if isinstance(end.code, str):
            sys.stderr.write(f"{end.code}\n")
        return SimpleNamespace(
            returncode=end.code if isinstance(end.code, int) else int(end.code is not None)
        )
    finally:
        sys.argv = argv
    return SimpleNamespace(returncode=0)


@pytest.fixture
def run(run_as_typed, monkeypatch: pytest.MonkeyPatch):
    """Runs the command, its module in this process."""
    monkeypatch.setenv(TYPED, "")  # and gone again afterwards
    monkeypatch.setattr(trainer, "subprocess", SimpleNamespace(run=in_this_process))
    return run_as_typed


@pytest.fixture
def run_as_typed(monkeypatch: pytest.MonkeyPatch):
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


def test_the_class_has_its_help_without_anything_being_made(run, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("class", "--help") == 0
    assert "--certificate" in capsys.readouterr().out


def test_the_class_is_opened_with_all_that_was_asked(run, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    monkeypatch.setattr(trainer.open_class, "main", lambda: seen.append(sys.argv[1:]) or 0)
    assert run("class", "--address", "10.0.0.5") == 0
    assert seen == [["--address", "10.0.0.5"]]


#: What is typed by mistake: the words, {here} a folder with a folder, a file of words, a pipe and damaged files in it.
ODD = {
    "no such command": ("papers!",),
    "a flag for a command": ("--check",),
    "a word that is no text": ("\udcff",),
    "check of nothing": ("check",),
    "check of a missing file": ("check", "{here}/none.yaml"),
    "check of a folder": ("check", "{here}/folder"),
    "check of a pipe": ("check", "{here}/pipe"),
    "check of a device": ("check", "/dev/zero"),
    "check of words": ("check", "{here}/words"),
    "check of no text": ("check", "{here}/bytes.yaml"),
    "check of a name too long": ("check", "x" * 5000),
    "check of a name that is no text": ("check", "{here}/\udcff.yaml"),
    "check of a line in the name": ("check", "two\nlines"),
    "check with a flag": ("check", "--everything"),
    "check of damaged measures": ("check", "{here}/bad.measured.yaml"),
    "check of measures of nothing": ("check", "{here}/list.measured.yaml"),
    "check of a damaged sheet": ("check", "{here}/bad.sheet.json"),
    "check of an empty sheet": ("check", "{here}/empty.sheet.json"),
    "check of a damaged rig": ("check", "{here}/bad.rig.yaml"),
    "check of damaged figures": ("check", "{here}/figures.yaml"),
    "check of nests": ("check", "{here}/nested.yaml"),
    "level of nothing": ("level",),
    "level of words": ("level", "{here}/words"),
    "level of a rig": ("level", "{here}/bad.rig.yaml"),
    "papers into a file": ("papers", "{here}/words"),
    "papers into two folders": ("papers", "{here}/a", "b"),
    "papers with a flag": ("papers", "--paper", "A3"),
    "figures with a word": ("figures", "mine"),
    "restore of nothing": ("restore",),
    "restore of words": ("restore", "{here}/words"),
    "restore of a missing copy": ("restore", "{here}/none"),
    "backup to a file": ("backup", "--to", "{here}/words/copy"),
    "backup of no records": ("backup", "--records", "{here}/none"),
    "forget nobody": ("forget",),
    "forget who is not there": ("forget", "Nobody\udcff"),
    "export into a file": ("export", "{here}/words"),
    "export nowhere": ("export",),
    "check of no records": ("check-records", "--records", "{here}/words"),
    "rescue of words": ("rescue", "--records", "{here}/words"),
}


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "here"
    (folder / "folder").mkdir(parents=True)
    os.mkfifo(folder / "pipe")
    for name, content in {
        "words": b"words\n",
        "bytes.yaml": b"\xff\xfe\x00",
        "bad.measured.yaml": b"format: pump-measured\nversion: 1\nfields: {hose_bore_mm: deep}\n",
        "list.measured.yaml": b"format: pump-measured\nversion: 1\nfields: [1]\n",
        "bad.sheet.json": b'{"kind": "pack", "content": [[[[',
        "empty.sheet.json": b"",
        "bad.rig.yaml": b"format: pump-rig\nversion: 1\nname: x\n",
        "figures.yaml": b"format: trainer-figures\nversion: 1\nminutes: {belt: 900}\n",
        "nested.yaml": b"a: " + b"[" * 400,
    }.items():
        (folder / name).write_bytes(content)
    monkeypatch.setenv("SIMULATOR_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    monkeypatch.chdir(folder)
    return folder


@pytest.mark.skipif(os.name == "nt", reason="no pipes with names there")
@pytest.mark.parametrize("name", some(ODD, 8))
def test_whatever_is_typed_gets_a_sentence_and_no_traceback(
    run, name: str, here: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    words = [word.format(here=here) for word in ODD[name]]
    assert trainer.stop_with_a_sentence(lambda: run(*words)) != 0
    said = capfd.readouterr()
    assert "Traceback" not in said.err + said.out
    assert (said.err + said.out).strip()


#: What a program's own parser would answer with a line for programmers.
NOT_UNDERSTOOD = {
    "check": ((), ("--everything",)),
    "level": ((), ("--everything",)),
    "papers": (("--paper", "A3"), ("--out",)),
    "figures": (("mine",), ("--everything",)),
    "backup": (("--everything",), ("--to",)),
    "restore": ((), ("a", "b")),
    "export": ((), ("a", "b")),
    "forget": ((), ("Ash", "Reed")),
    "check-records": (("mine",),),
    "rescue": (("mine",),),
    "backup-class": (("a", "b"),),
    "restore-class": ((), ("a", "b")),
}


@pytest.mark.parametrize("name", trainer.COMMANDS)
def test_what_is_not_understood_is_told_in_a_sentence_that_names_the_command_as_typed(
    run, name: str, here: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    for words in NOT_UNDERSTOOD[name]:
        assert run(name, *words) == 2
        said = capfd.readouterr().err.strip()
        assert "usage" not in said
        assert "python -m" not in said
        assert "\n" not in said
        assert said.endswith(f"More: {trainer.typed(name)} --help")
        assert said[0].isupper()


@pytest.mark.parametrize("name", trainer.COMMANDS)
def test_the_help_of_each_command_names_it_as_typed(
    run, name: str, capfd: pytest.CaptureFixture[str]
) -> None:
    assert run(name, "--help") == 0
    said = capfd.readouterr().out
    assert trainer.typed(name) in " ".join(said.split())
    assert "python -m" not in said


def read_anew() -> None:
    """As a new process would."""
    figures_of.overrides.cache_clear()
    figures_of._named.cache_clear()


@pytest.fixture
def fresh_figures() -> Iterator[None]:
    yield
    read_anew()


@pytest.mark.usefixtures("fresh_figures")
def test_figures_says_whether_the_file_of_figures_is_in_use(
    run, here: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    file = here / "own.yaml"
    monkeypatch.setenv("SIMULATOR_TRAINER_FILE", str(file))
    for content, words in (
        ("minutes: {belt: 9}\n", "in use"),
        ("", "no figures of its own"),
    ):
        file.write_text(f"format: trainer-figures\nversion: 1\n{content}", encoding="utf-8")
        read_anew()
        assert run("figures") == 0
        said = capfd.readouterr().out
        assert str(file) in said
        assert words in said
    monkeypatch.delenv("SIMULATOR_TRAINER_FILE")
    monkeypatch.setenv("SIMULATOR_RIGS_DIR", str(here / "rigs"))
    read_anew()
    assert run("figures") == 0
    assert "no file of figures" in capfd.readouterr().out


def test_papers_into_a_place_that_cannot_be_gets_a_sentence(
    run, here: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    assert run("papers", "/proc/nope") == 1
    said = capfd.readouterr().err
    assert "Errno" not in said
    assert "/proc/nope" in said


def test_files_of_every_kind_are_checked(run, here: Path, capfd: pytest.CaptureFixture[str]) -> None:
    good = {
        "mine.measured.yaml": written_fields({**new_fields(), "hose_bore_mm": "150", "hose_length_m": "12"}),
        "mine.rig.yaml": rig_text(replace(load_rig("osier"), name="mine", title="Mine"), "mine").encode(),
        "mine.yaml": b"format: trainer-figures\nversion: 1\nminutes: {belt: 9}\n",
    }
    for name, content in good.items():
        (here / name).write_bytes(content)
    assert run("check", *good, "bad.measured.yaml", "bad.sheet.json") == 1
    said = capfd.readouterr()
    for name in good:
        assert f"{name}: this file can be used." in said.out
    assert "hose_bore_mm" in said.err
    assert len(said.err.strip().splitlines()) == 2


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
    run, run_as_typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    assert run("check", str(CALL)) == 0
    assert "can be used" in capfd.readouterr().out
    wrong = tmp_path / "wrong.scenario.yaml"
    wrong.write_text(CALL.read_text(encoding="utf-8").replace("lift_m: 4.0", "lift_m: 40"), encoding="utf-8")
    monkeypatch.setattr(trainer, "subprocess", subprocess)
    assert run_as_typed("check", str(wrong)) == 1
    said = capfd.readouterr().err
    assert "site.lift_m: 40 is out of range. Legal: -5 to 12 m." in said
    assert "Traceback" not in said
