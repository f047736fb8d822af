"""Saving is all or nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from simulator.errors import InputError
from simulator.scenario import Scenario, SiteChoice, load_scenario, save_scenario

CALL = Scenario(title="A call", brief="It will not draw.\nCome at once.\n", site=SiteChoice(lift_m=3.0))

FULL = """
import resource, sys
from simulator.errors import InputError
from simulator.scenario import load_scenario, save_scenario
call = load_scenario(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
try:
    save_scenario(call.model_copy(update={"title": "Another"}), sys.argv[1])
except InputError as error:
    sys.stdout.write(str(error))
"""


def test_save_and_load(tmp_path: Path) -> None:
    path = save_scenario(CALL, tmp_path / "mine.scenario.yaml")
    assert load_scenario(path) == CALL
    assert "brief: |" in path.read_text(encoding="utf-8")
    changed = CALL.model_copy(update={"seed": 5})
    save_scenario(changed, path)
    assert load_scenario(path) == changed
    assert [p.name for p in tmp_path.iterdir()] == ["mine.scenario.yaml"]


@pytest.mark.skipif(os.name != "posix", reason="permission bits as on POSIX")
def test_permissions_are_kept(tmp_path: Path) -> None:
    path = save_scenario(CALL, tmp_path / "mine.scenario.yaml")
    assert path.stat().st_mode & 0o777 == 0o644
    path.chmod(0o664)
    save_scenario(CALL, path)
    assert path.stat().st_mode & 0o777 == 0o664


@pytest.mark.skipif(sys.platform == "win32", reason="a limit on the size of a file as on POSIX")
def test_when_no_more_can_be_written_the_old_file_stays(tmp_path: Path) -> None:
    path = save_scenario(CALL, tmp_path / "mine.scenario.yaml")
    before = path.read_bytes()
    assert len(before) > 100
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(path)],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert "could not be saved" in done.stdout
    assert "unchanged" in done.stdout
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["mine.scenario.yaml"]


def test_a_failure_on_the_last_step_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = save_scenario(CALL, tmp_path / "mine.scenario.yaml")
    before = path.read_bytes()

    def fail(self: Path, target: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(InputError, match="Permission denied"):
        save_scenario(CALL.model_copy(update={"seed": 9}), path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["mine.scenario.yaml"]


def test_where_nothing_can_be_saved(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="could not be saved"):
        save_scenario(CALL, tmp_path / "no such folder" / "mine.scenario.yaml")
    for name in ("mine.yaml", ".scenario.yaml", "mine"):
        with pytest.raises(InputError, match=r"ends in \.scenario\.yaml"):
            save_scenario(CALL, tmp_path / name)
    (tmp_path / "folder.scenario.yaml").mkdir()
    with pytest.raises(InputError, match="could not be saved"):
        save_scenario(CALL, tmp_path / "folder.scenario.yaml")


def test_what_could_not_be_loaded_is_not_saved(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot climb"):
        save_scenario(CALL.model_copy(update={"site": SiteChoice(lift_m=11.0)}), tmp_path / "a.scenario.yaml")
    assert list(tmp_path.iterdir()) == []
