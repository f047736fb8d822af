"""Statistics of a real class: figures that a textbook gives come back, and work files are read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.marking.certificate import Sitting
from simulator.records import Store
from simulator.records.work_file import write_work
from simulator.studies.item_statistics import Answer, answers_of, items_of, main, phi_of
from tests.marking.test_certificate import small_bank


def a_class(people: int, cases: int, between: float, within: float, seed: int = 1) -> list[Answer]:
    chance = np.random.default_rng(seed)
    able = 60.0 + chance.normal(0.0, between, people)
    return [
        Answer(f"p{n}", f"c{c}", float(able[n] + chance.normal(0.0, within)), ("drain_open",), "drain_open")
        for n in range(people)
        for c in range(cases)
    ]


def test_variances_and_phi_of_a_made_up_class_come_back() -> None:
    found = phi_of(a_class(300, 8, 9.0, 15.0), 5)
    assert found.between**0.5 == pytest.approx(9.0, rel=0.12)
    assert found.within**0.5 == pytest.approx(15.0, rel=0.05)
    assert found.phi == pytest.approx(81.0 / (81.0 + 225.0 / 5.0), abs=0.06)
    assert found.low < found.phi < found.high


def test_people_with_more_cases_weigh_no_more_than_they_should() -> None:
    """Sizes unlike: the same variances from the same people when some have played half of the cases."""
    answers = a_class(300, 8, 9.0, 15.0)
    fewer = [answer for answer in answers if int(answer.person[1:]) % 2 or int(answer.case[1:]) < 4]
    assert phi_of(fewer, 5).between ** 0.5 == pytest.approx(9.0, rel=0.15)
    assert phi_of(fewer, 5).within ** 0.5 == pytest.approx(15.0, rel=0.06)


def test_a_case_that_tells_people_apart_is_told_from_one_that_does_not() -> None:
    answers = a_class(60, 6, 15.0, 6.0)
    blind = [
        Answer(f"p{n}", "blind", float(30 + 40 * (n % 2)), ("belt_loose",), "drain_open") for n in range(60)
    ]
    items = {item.case: item for item in items_of([*answers, *blind])}
    assert items["c0"].discrimination > 0.7
    assert abs(items["blind"].discrimination) < 0.4
    assert items["blind"].called == (("drain_open", 60),)
    assert items["blind"].difficulty == pytest.approx(50.0)
    assert items_of(answers[:6])[0].discrimination is None, "one person tells nothing of a case"


def test_work_files_of_a_group_are_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = []
    for number, name in enumerate(("Ash", "Wren")):
        with Store.open("sqlite://") as store:
            sitting = Sitting.begin(store, name, seed=1, cases=small_bank(4), target=50.0)
            while not sitting.over:
                if number:
                    sitting.attempt().act("put_on_ppe")
                sitting.attempt().act("give_up")
            sitting.result()
            paths.append(tmp_path / f"{name}.json")
            paths[-1].write_text(write_work(store, name), encoding="utf-8")
    answers = answers_of(paths)
    assert len(answers) == 10
    assert len({answer.person for answer in answers}) == 2
    assert main([str(path) for path in paths]) == 0
    said = capsys.readouterr().out
    assert said.count("people") >= 5
    assert "phi of  5 cases" in said
    assert main([str(tmp_path / "none.json")]) == 1
    with pytest.raises(InputError, match="too few people"):
        phi_of(answers[:5], 5)
