"""A trainer's own rigs: files the same to the byte, a folder that breaks nothing, names that stay apart."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from simulator.errors import InputError
from simulator.rig.own_rigs import ENDING, OWN_RIGS, own_rigs, read_own_rig, rig_text, rigs_left_out
from simulator.rig.presets import load_rig, rig_names, shipped_rig_names
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig
from simulator.scenario.check import check_file


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(OWN_RIGS, str(tmp_path))
    return tmp_path


def put(folder: Path, name: str, rig: Rig | None = None) -> Path:
    path = folder / f"{name}{ENDING}"
    path.write_text(rig_text(rig or replace(load_rig("osier"), name=name, title="Ours")), encoding="utf-8")
    return path


@pytest.mark.parametrize("name", shipped_rig_names())
def test_a_rig_written_and_read_is_the_same_and_its_text_is_the_same_to_the_byte(name: str) -> None:
    rig = load_rig(name)
    written = rig_text(rig, "a note: with a colon")
    assert read_own_rig(written.encode(), name) == rig
    assert rig_text(read_own_rig(written.encode(), name), "a note: with a colon") == written


def test_an_own_rig_stands_behind_those_of_the_lessons_and_its_file_can_be_checked(folder: Path) -> None:
    path = put(folder, "pump_7")
    assert rig_names() == (*shipped_rig_names(), "pump_7")
    assert load_rig("pump_7").title == "Ours"
    check_file(path)
    path.write_text(path.read_text().replace("Ours", "Ours, mended"), encoding="utf-8")
    assert load_rig("pump_7").title == "Ours, mended"
    path.unlink()
    assert rig_names() == shipped_rig_names()
    with pytest.raises(InputError, match="no rig 'pump_7'"):
        load_rig("pump_7")


def test_a_damaged_file_is_left_out_and_told_and_no_name_of_the_lessons_is_taken(folder: Path) -> None:
    put(folder, "good")
    put(folder, "osier", replace(load_rig("reed"), name="osier"))
    (folder / f"bad{ENDING}").write_text("format: pump-rig\nversion: 1\nname: bad\n", encoding="utf-8")
    put(folder, "other", replace(load_rig("osier"), name="another"))
    assert rig_names() == (*shipped_rig_names(), "good")
    assert load_rig("osier").suction_hose.bore == 0.15
    told = rigs_left_out()
    assert len(told) == 2
    assert any("missing" in each for each in told)
    assert any("'another'" in each and "name: other" in each for each in told)


def test_a_folder_that_is_not_there_is_no_trouble(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(OWN_RIGS, str(tmp_path / "nowhere"))
    assert own_rigs() == {}
    assert rig_names() == shipped_rig_names()


def test_a_rig_that_changes_while_it_runs_has_no_file() -> None:
    ramp = Ramp("belt_slip", 0.0, 10.0, 0.0, 0.5)
    with pytest.raises(InputError, match="no file"):
        rig_text(replace(load_rig("osier"), ramps=(ramp,)))
