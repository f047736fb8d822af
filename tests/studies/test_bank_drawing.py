"""The bank is kept: what no longer fits is named, and another of its kind comes in its place."""

from __future__ import annotations

import pytest

from simulator.marking.bank import KINDS, bank, read_bank
from simulator.scenario import Scenario
from simulator.studies import bank_drawing


@pytest.fixture
def one_misfit(monkeypatch: pytest.MonkeyPatch) -> str:
    """The id of a case that the expert no longer passes; everything else is passed in ten minutes."""
    case = next(case for case in bank()[0] if case.slot == "loses_it")

    def minutes(scenario: Scenario, slot: str) -> float | None:
        assert slot in KINDS
        return None if scenario == case.scenario() else 10.0

    monkeypatch.setattr(bank_drawing, "expert_minutes", minutes)
    return case.id


def test_a_case_that_no_longer_fits_is_named_and_the_command_says_so(one_misfit, capsys) -> None:
    assert bank_drawing.main(["--check"]) == 1
    told = capsys.readouterr().out
    assert f"{one_misfit}, loses_it: no longer fits" in told
    assert "59 of 60 fit" in told


def test_another_of_its_kind_comes_in_its_place_and_nothing_else_changes(one_misfit, tmp_path) -> None:
    assert bank_drawing.main(["--mend", "--out", str(tmp_path / "bank.yaml")]) == 0
    before, after = set(bank()[0]), set(read_bank(tmp_path / "bank.yaml")[0])
    assert {case.id for case in before - after} == {one_misfit}
    (new,) = after - before
    assert new.slot == "loses_it"
    assert new.minutes == 10.0
    alike = [case.difficulty for case in before if case.slot == "loses_it"]
    assert min(alike) <= new.difficulty <= max(alike)
    assert new.scenario() not in [case.scenario() for case in before]


@pytest.mark.full
def test_every_case_of_the_bank_still_fits() -> None:
    """The expert proves each of them twice with the marks of a pass."""
    assert not bank_drawing.check(bank()[0])
