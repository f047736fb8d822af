"""A passing mark out of judged chances."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.marking.decision import rule_now
from simulator.marking.standard import FOUND_EARNS, MISSED_EARNS, main, mark_of, read_chances, standard
from simulator.rig import trainer


def test_the_mark_is_the_mean_and_the_error_that_of_the_judges() -> None:
    chances = np.array([[0.9, 0.7, 0.8], [0.7, 0.7, 0.7], [0.6, 0.9, 0.6]])
    found = standard(chances)
    by_hand = [MISSED_EARNS + (FOUND_EARNS - MISSED_EARNS) * mean for mean in (0.8, 0.7, 0.7)]
    assert found.by_judge == pytest.approx(by_hand)
    assert found.mark == pytest.approx(np.mean(by_hand), abs=1e-6)
    assert found.error == pytest.approx(np.std(by_hand, ddof=1) / 3**0.5)
    assert mark_of(0.5) == pytest.approx((MISSED_EARNS + FOUND_EARNS) / 2.0)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("90,70\n80", "not judged the same cases"),
        ("90,170\n80,60", "no chances"),
        ("90,many\n80,60", "no chances"),
        ("90,70", "two judges"),
        ("", "two judges"),
        ("nan,70\n80,60", "no chances"),
    ],
)
def test_a_file_that_does_not_fit_gets_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: str, said: str
) -> None:
    path = tmp_path / "judged.csv"
    path.write_text(words, encoding="utf-8")
    assert main([str(path)]) == 1
    assert said in capsys.readouterr().err
    with pytest.raises(InputError):
        standard(read_chances(path))


@pytest.mark.parametrize("written", ["90,70\n80,60\n", "\ufeff90;70\n\n80;60", "90 %; 70 %\r\n80;60,0"])
def test_files_as_sheets_of_figures_write_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], written: str
) -> None:
    path = tmp_path / "judged.csv"
    path.write_text(written, encoding="utf-8")
    assert read_chances(path).tolist() == [[0.9, 0.7], [0.8, 0.6]]
    assert main([str(path)]) == 0
    assert f"Passing mark: {mark_of(0.75):.1f}" in capsys.readouterr().out
    assert main([str(tmp_path / "none.csv")]) == 1


def test_a_trainers_passing_mark_is_that_of_the_next_sitting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "figures.yaml"
    path.write_text("format: trainer-figures\nversion: 1\nthresholds: {pass_mark: 74}\n", encoding="utf-8")
    monkeypatch.setenv(trainer.VARIABLE, str(path))
    trainer.overrides.cache_clear()
    trainer._named.cache_clear()
    try:
        assert rule_now().pass_mark == 74.0
    finally:
        monkeypatch.undo()
        trainer.overrides.cache_clear()
        trainer._named.cache_clear()
    assert rule_now().pass_mark == 70.0
