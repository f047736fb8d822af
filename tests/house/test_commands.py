"""No command ends in a traceback for a mistake of its user: a sentence, an exit code, and nothing lost."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from simulator.attempt import level
from simulator.diagnosis import catalogue, scenario_sets, shipped
from simulator.panels.papers import __main__ as papers
from simulator.rig.command import command
from simulator.rig.trainer import VARIABLE
from simulator.scenario import check
from simulator.studies import bank_drawing, calibration, difficulty, sittings, skill
from simulator.validation import __main__ as validation
from tests.conftest import thin

Main = Callable[[list[str]], int | None]

#: What is run, with what, and words of the sentence; {here} is an empty folder with a pipe and a file of words in it.
MISTAKES: dict[str, tuple[Main, str, str]] = {
    "level of nothing": (level.main, "", "Something is left out: FILE."),
    "level of a missing file": (level.main, "{here}/none.scenario.yaml", "cannot be opened"),
    "level of a folder": (level.main, "{here}", "it is a folder"),
    "level of a pipe": (level.main, "{here}/pipe", "no plain file"),
    "level of a device": (level.main, "/dev/zero", "no plain file"),
    "level of words": (level.main, "{here}/words", "no list of keys"),
    "difficulty away from the project": (difficulty.main, "", "there are no call-outs"),
    "difficulty of a missing file": (difficulty.main, "{here}/none", "cannot be opened"),
    "difficulty to a folder": (difficulty.main, "--out {here}", "it is a folder"),
    "sets away from the project": (scenario_sets.main, "", "there are no call-outs"),
    "sets of words": (scenario_sets.main, "{here}/words", "no list of keys"),
    "catalogue of no rig": (catalogue.main, "--rig willow", "invalid choice"),
    "catalogue to nowhere": (catalogue.main, "--out {here}/no/page.html", "there is no folder"),
    "catalogue with no figures": (catalogue.main, "--figures {here}/none", "cannot be opened"),
    "papers to a file": (papers.main, "--out {here}/words", "exists"),
    "papers of no rig": (papers.main, "--out {here}/out --rig-file {here}/none", "cannot be opened"),
    "papers of a pipe": (papers.main, "--out {here}/out --rig-file {here}/pipe", "no plain file"),
    "papers at no site": (
        papers.main,
        "--out {here}/out --rig-file {rig} --site-file {here}/words",
        "kind of file",
    ),
    "no cases": (calibration.main, "--cases 0", "no whole number from 1"),
    "half a case": (calibration.main, "--cases 1.5", "no whole number from 1"),
    "calibration to nowhere": (calibration.main, "--out {here}/no/page.html", "there is no folder"),
    "no sittings": (sittings.main, "--sittings -1", "no whole number from 1"),
    "no workers": (skill.main, "--workers 0", "no whole number from 1"),
    "a bank of nothing": (bank_drawing.main, "--each 0", "no whole number from 1"),
    "a case of no bank": (bank_drawing.main, "--mend none", "no case 'none'"),
    "a report to nowhere": (validation.main, "--out {here}/no/page.html", "cannot be written"),
    "check of nothing": (check.main, "", "Name the files"),
    "check of a missing file": (check.main, "{here}/none", "cannot be opened"),
    "check of words": (check.main, "{here}/words", "no file of a trainer"),
}


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "words").write_text("words\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.skipif(os.name == "nt", reason="no pipes with names there")
@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_gets_a_sentence(name: str, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main, written, sentence = MISTAKES[name]
    rig = Path(shipped.__file__).parents[1] / "rig" / "data" / "osier.yaml"
    arguments = [word.format(here=here, rig=rig) for word in written.split()]
    sets = sorted(shipped.FOLDER.glob("*.npz"))
    try:
        code = command(lambda: main(arguments))
    except SystemExit as stopped:  # the library that reads arguments has said it
        code = int(stopped.code or 0)
    said = capsys.readouterr().err
    assert code in (1, 2)
    assert sentence in said
    assert "Traceback" not in said
    assert (here / "words").read_text(encoding="utf-8") == "words\n"
    assert sorted(shipped.FOLDER.glob("*.npz")) == sets


def test_good_files_of_a_trainer_are_said_to_be_good(capsys: pytest.CaptureFixture[str]) -> None:
    project = Path(__file__).parents[2]
    files = [
        *sorted((project / "lessons" / "scenarios").glob("*.scenario.yaml"))[:2],
        project / "simulator" / "rig" / "data" / "osier.yaml",
        project / "simulator" / "rig" / "data" / "sites" / "teal_pond.yaml",
        catalogue.EXAMPLE,
    ]
    assert check.main([str(path) for path in files]) == 0
    assert capsys.readouterr().out.count("can be used") == len(files)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
def test_a_full_disk_gets_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(lambda: Path("/dev/full").write_text("a page", encoding="utf-8")) == 1
    assert "No space left" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("setting", "value", "sentence"),
    [
        *thin(
            [VARIABLE, "none.yaml", "cannot be opened"],
            [VARIABLE, "figures.yaml", "did you mean 'walk_round'"],
            ["SIMULATOR_LANGUAGE", "xx", "no texts in the language 'xx'"],
            ["SIMULATOR_LANGUAGE", "texts", "these texts cannot be read"],
        ),
    ],
)
def test_a_setting_that_cannot_be_used_is_said_and_pages_go_on(
    tmp_path: Path, setting: str, value: str, sentence: str
) -> None:
    (tmp_path / "texts").mkdir()
    (tmp_path / "texts" / "a.yaml").write_text("a: [", encoding="utf-8")
    figures = "format: trainer-figures\nversion: 1\nminutes: {walk_around: 2, belt: 9}\n"
    (tmp_path / "figures.yaml").write_text(figures, encoding="utf-8")
    named = str(tmp_path / "texts") if value == "texts" else value
    environment = {**os.environ, setting: named, "PYTHONPATH": str(Path(__file__).parents[2])}

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )

    looked = run("-m", "simulator.scenario.check", "--settings")
    assert looked.returncode == 1
    assert looked.stderr.startswith(setting)
    assert sentence in looked.stderr
    assert "Traceback" not in looked.stderr
    if setting == VARIABLE:
        code = (
            "import runpy, sys; from simulator.instruments.checks import CHECKS; print(CHECKS['belt'].minutes);"
            "sys.argv[1:] = ['x']; runpy.run_module('simulator.attempt.level', run_name='__main__', alter_sys=True)"
        )
        refused = run("-c", code)
        assert refused.stdout.strip() == "4.0", "a file of which a part is wrong is not used at all"
        assert refused.returncode == 1
        assert sentence in refused.stderr
        assert "Traceback" not in refused.stderr
