"""A sheet is signed only where its marks follow from acts in cases of the bank; every other one prints as unsigned."""

from __future__ import annotations

import copy
import itertools
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from simulator.errors import InputError
from simulator.marking.bank import BankCase, pack
from simulator.marking.certificate import Sitting, history
from simulator.marking.certificate_page import certificate_html
from simulator.marking.certificate_signing import sign_sitting
from simulator.marking.decision import rule_now
from simulator.marking.signed import sheet_content, sign_marks
from simulator.records import Store
from simulator.records.sign_work import run
from simulator.records.work_file import read_work, write_work
from simulator.records.work_merge import merge_work
from simulator.scenario import Scenario, scenario_hash
from simulator.scenario.choices import SiteChoice, choose_fault
from simulator.signing import Ring, TrainerKey
from simulator.signing.ring import make_key, rotate
from tests.conftest import thin

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)
FAULT_OF = {
    "air_gets_in": ("drain_open", 1.0),
    "air_not_drawn_out": ("belt_loose", 0.7),
    "water_cannot_come": ("strainer_plugged", 0.99),
    "good_or_gauge": ("", 0.0),
    "loses_it": ("strainer_clogs", 0.96),
}


def a_bank(brief: str = "It will not draw.") -> tuple[BankCase, ...]:
    """Two cases of each kind at one site."""
    out = []
    for number, (slot, (fault, size)) in itertools.product(range(2), FAULT_OF.items()):
        scenario = Scenario(
            title="A call", brief=brief, site=SiteChoice(lift_m=3.0),
            faults=(choose_fault(fault, size),) if fault else (), mode="assessment", seed=1 + number,
        )  # fmt: skip
        out.append(BankCase(f"{slot}{number}", slot, 10.0, pack(scenario)))
    return tuple(out)


BANK = a_bank()


@pytest.fixture
def key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TrainerKey:
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    return make_key("R. Ferrow", NOW - DAY)


@pytest.fixture(scope="module")
def played() -> str:
    """The work file of a learner who has given up five cases of the bank."""
    with Store.open("sqlite://") as store:
        sitting = Sitting.begin(store, "Ash", seed=1, cases=BANK, target=50.0)
        while not sitting.over:
            sitting.attempt().act("give_up")
        sitting.result()
        return write_work(store, "Ash")


@pytest.fixture
def store(played: str) -> Any:
    with Store.open("sqlite://") as found:
        merge_work(found, read_work(played))
        yield found


def the_sitting(store: Any) -> Sitting:
    found = Sitting.latest(store, "Ash")
    assert found is not None
    return found


def printed(store: Any) -> str:
    return certificate_html(the_sitting(store).result(), history(store, "Ash"))


def test_a_signed_sheet_says_by_whom_and_travels_in_a_work_file(store, key) -> None:
    assert the_sitting(store).result().signature.state == "unsigned"
    assert "Practice only, unsigned." in printed(store)
    sign_sitting(store, the_sitting(store), key, NOW, cases=BANK, target=50.0)
    assert "Signed by R. Ferrow on 2026-03-02" in printed(store)
    with Store.open("sqlite://") as there:
        merge_work(there, read_work(write_work(store, "Ash")))
        assert the_sitting(there).result().signature.good
        Ring().save()
        verdict = the_sitting(there).result().signature
        assert verdict.state == "unknown_key"
        assert "not trusted here" in printed(there)


def test_marks_put_in_by_hand_are_not_signed(store, key) -> None:
    """A work file with five cases that claim 98 each."""
    sitting = the_sitting(store)
    for number in range(1, 6):
        (sheet,) = [m.sheet for m in store.marks(sitting.case_id(number))]
        store.save_marks(sitting.case_id(number), {**sheet, "total": 98.0, "passed": True, "grave": False})
    assert the_sitting(store).result().passed, "the records believe it"
    assert "Practice only, unsigned." in printed(store)
    with pytest.raises(InputError, match="do not follow from what was done"):
        sign_sitting(store, the_sitting(store), key, NOW, cases=BANK, target=50.0)


def test_points_put_in_by_hand_are_not_signed(store, key) -> None:
    sitting = the_sitting(store)
    (sheet,) = [m.sheet for m in store.marks(sitting.case_id(1))]
    better = copy.deepcopy(sheet)
    better["parts"][0]["points"] = 40.0
    store.save_marks(sitting.case_id(1), better)
    with pytest.raises(InputError, match="do not follow from what was done"):
        sign_sitting(store, sitting, key, NOW, cases=BANK, target=50.0)


def test_five_invented_cases_are_not_signed(store, key) -> None:
    with pytest.raises(InputError, match="none of the bank"):
        sign_sitting(store, the_sitting(store), key, NOW)  # the bank of the package knows none of these
    with pytest.raises(InputError, match="none of the bank"):
        sign_sitting(store, the_sitting(store), key, NOW, cases=a_bank("It draws and draws."), target=50.0)


def a_sitting_of(store: Any, cases: tuple[BankCase, ...], **more: Any) -> Sitting:
    """A sitting whose record somebody has written by hand, given up case by case."""
    rows = [
        {"id": c.id, "slot": c.slot, "minutes": c.minutes, "sealed": c.sealed, "title": "A call",
         "scenario_hash": scenario_hash(c.scenario())}
        for c in cases
    ]  # fmt: skip
    record = {
        "learner": "Ash",
        "lesson": "10",
        "mode": "sitting",
        "seed": 1,
        "scenario_hash": "",
        "cases": rows,
    }
    sitting = Sitting(store, store.create_attempt({**record, "rule": rule_now().as_dict(), **more}))
    while not (sitting.over and sitting.settle()):
        sitting.attempt().act("give_up")
    return sitting


def test_one_easy_case_again_and_again_is_not_signed(key) -> None:
    easy = tuple(BankCase(f"easy{n}", "good_or_gauge", 10.0, BANK[3].sealed) for n in range(10))
    with Store.open("sqlite://") as store:
        sitting = a_sitting_of(store, easy)
        with pytest.raises(InputError, match="not cases of the kinds"):
            sign_sitting(store, sitting, key, NOW, cases=(*BANK, *easy), target=50.0)


def test_the_easiest_cases_of_each_kind_are_not_signed(key) -> None:
    """Drawn again and again, or put together by hand: the form must be as hard as others."""
    bank = (
        *(replace(case, difficulty=20.0) for case in BANK),
        *(replace(case, id=f"{case.id}x", difficulty=50.0) for case in BANK),
    )
    with Store.open("sqlite://") as store:
        sitting = a_sitting_of(store, bank[:10])
        with pytest.raises(InputError, match="the difficulty"):
            sign_sitting(store, sitting, key, NOW, cases=bank, target=50.0)


@pytest.mark.parametrize(
    "rule",
    [
        {"pass_mark": 1.0},  # a passing mark of one's own
        {"case_sd": 0.1},  # a standard error that decides at once
        {"z": 0.0},
        {"least": 1},  # stop after one lucky case
        {"most": 20},
    ],
)
def test_a_rule_of_ones_own_is_not_signed(key, rule: dict[str, float]) -> None:
    with Store.open("sqlite://") as store:
        sitting = a_sitting_of(store, BANK, rule={**rule_now().as_dict(), **rule})
        with pytest.raises(InputError, match="another rule or another passing mark"):
            sign_sitting(store, sitting, key, NOW, cases=BANK, target=50.0)


def test_playing_on_after_the_decision_is_not_signed(store, key) -> None:
    sitting = the_sitting(store)
    assert sitting.result().decision == "failed"
    sitting._asked = 6
    sitting.attempt().act("give_up")
    with pytest.raises(InputError, match="decided before this case"):
        sign_sitting(store, the_sitting(store), key, NOW, cases=BANK, target=50.0)


def test_a_sheet_of_an_older_release_is_signed_under_its_own_rule(key) -> None:
    with Store.open("sqlite://") as store:
        sitting = a_sitting_of(store, BANK[:5], rule=None)
        sign_sitting(store, sitting, key, NOW, cases=BANK, target=50.0)
        result = the_sitting(store).result()
        assert result.signature.good
        assert "rule" not in sheet_content(store, result), "what it signs is what it signed then"


def test_a_signature_under_another_sitting_of_the_same_learner_is_told(store, key) -> None:
    """The signed sheet of a good sitting laid under a worse one, whole or with its content changed to fit."""
    first = the_sitting(store)
    sign_sitting(store, first, key, NOW, cases=BANK, target=50.0)
    (given,) = [m.sheet for m in store.marks(first.id) if m.source == "trainer"]
    second = a_sitting_of(store, BANK)
    second.result()
    store.save_marks(second.id, given, source="trainer", marked_by="R. Ferrow")
    assert the_sitting(store).result().signature.state == "altered"
    fitted = copy.deepcopy(given)
    fitted["signed"]["content"] = sheet_content(store, second.result())
    store.save_marks(second.id, fitted, source="trainer", marked_by="R. Ferrow")
    assert the_sitting(store).result().signature.state == "altered"
    assert "Signed by" not in printed(store)


def test_the_signature_of_another_kind_of_paper_is_told(store, key) -> None:
    """A trainer's signed marks of a case, laid under the sheet."""
    sitting = the_sitting(store)
    sign_marks(store, sitting.case_id(1), 90.0, key, NOW)
    (given,) = [m.sheet for m in store.marks(sitting.case_id(1)) if m.source == "trainer"]
    store.save_marks(sitting.id, given, source="trainer", marked_by="R. Ferrow")
    assert not the_sitting(store).result().signature.good


def test_another_call_under_a_case_is_not_signed(played: str, key) -> None:
    with Store.open("sqlite://") as store:
        sitting = Sitting.begin(store, "Ash", seed=1, cases=BANK, target=50.0)
        first = sitting._scenario(1)
        other = first.model_copy(update={"seed": first.seed + 1})
        sitting._scenario = lambda number: other  # type: ignore[method-assign]
        while not sitting.over:
            sitting.attempt().act("give_up")
        again = Sitting(store, sitting.id)
        again.result()
        with pytest.raises(InputError, match="another call"):
            sign_sitting(store, again, key, NOW, cases=BANK, target=50.0)


def test_a_trainers_marks_by_one_call_count_nothing(store, key) -> None:
    sitting = the_sitting(store)
    before = sitting.result()
    for number in range(1, 6):
        store.save_marks(sitting.case_id(number), {"total": 100.0}, source="trainer", marked_by="R. Ferrow")
    after = the_sitting(store).result()
    assert (after.total, after.passed) == (before.total, before.passed)
    assert "They do not count" in printed(store)
    sign_sitting(store, the_sitting(store), key, NOW, cases=BANK, target=50.0)
    assert the_sitting(store).result().total == before.total


def test_signed_marks_of_one_case_do_not_serve_another(store, key) -> None:
    sitting = the_sitting(store)
    sign_marks(store, sitting.case_id(1), 90.0, key, NOW)
    (given,) = [m.sheet for m in store.marks(sitting.case_id(1)) if m.source == "trainer"]
    store.save_marks(sitting.case_id(2), given, source="trainer", marked_by="R. Ferrow")
    store.save_marks(sitting.case_id(1), {**given, "total": 100.0}, source="trainer", marked_by="R. Ferrow")
    after = the_sitting(store).result()
    assert [case.trainer_signature.state for case in after.cases[:2]] == ["altered", "altered"]
    assert [case.total for case in after.cases] == [case.automatic for case in after.cases]
    with pytest.raises(InputError, match="no marks"):
        sign_marks(store, sitting.case_id(1), 101.0, key, NOW)


def test_an_earlier_work_file_loaded_again_counts_no_sitting_twice(played: str, store, key) -> None:
    before = history(store, "Ash")
    merge_work(store, read_work(played))
    assert history(store, "Ash") == before
    sign_sitting(store, the_sitting(store), key, NOW, cases=BANK, target=50.0)
    merge_work(store, read_work(played))
    assert len(history(store, "Ash")) == 1
    assert the_sitting(store).result().signature.good


def test_the_same_five_again_from_an_earlier_work_file_are_not_signed(key) -> None:
    with Store.open("sqlite://") as store:
        sitting = Sitting.begin(store, "Ash", seed=1, cases=BANK, target=50.0)
        early = write_work(store, "Ash")
        while not sitting.over:
            sitting.attempt().act("give_up")
        sign_sitting(store, sitting, key, NOW, cases=BANK, target=50.0)
    with Store.open("sqlite://") as elsewhere:
        merge_work(elsewhere, read_work(early))
        again = the_sitting(elsewhere)
        while not again.over:
            again.attempt().act("put_on_ppe")
            again.attempt().act("give_up")
        with pytest.raises(InputError, match="handed in before"):
            sign_sitting(elsewhere, again, key, NOW, cases=BANK, target=50.0)
        assert "Practice only, unsigned." in printed(elsewhere)


@pytest.mark.parametrize(
    "change", thin("total", "learner", "signed_at", "key", "signature", "format", "none")
)
def test_every_change_of_a_signed_sheet_is_printed(store, key, change: str) -> None:
    sitting = the_sitting(store)
    sign_sitting(store, sitting, key, NOW, cases=BANK, target=50.0)
    (given,) = [m.sheet for m in store.marks(sitting.id) if m.source == "trainer"]
    other = json.loads(json.dumps(given))
    envelope = other["signed"]
    stranger = TrainerKey.make("R. Ferrow", NOW)
    if change in ("total", "learner"):
        envelope["content"][change] = {"total": 98.0, "learner": "Wren"}[change]
    elif change == "key":
        envelope["key"] = stranger.public.as_dict()
    elif change == "none":
        other.pop("signed")
    else:
        new = {"signed_at": "2026-03-03T09:00:00+00:00", "signature": "00" * 64, "format": "x"}
        envelope[change] = new[change]
    store.save_marks(sitting.id, other, source="trainer", marked_by="R. Ferrow")
    page = printed(store)
    assert "Signed by" not in page
    assert ("Practice only" if change == "none" else "altered after it was signed") in page


def test_a_strangers_key_and_a_key_that_ended_are_told(store, key) -> None:
    sitting = the_sitting(store)
    sign_sitting(store, sitting, TrainerKey.make("R. Ferrow", NOW), NOW, cases=BANK, target=50.0)
    assert "a key that is not trusted here" in printed(store)
    rotate(NOW)
    sign_sitting(store, sitting, key, NOW + DAY, cases=BANK, target=50.0)
    assert "did not count on that day" in printed(store)


def test_the_command_signs_refuses_and_says_why(
    played: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    work, out, sheet = tmp_path / "work.json", tmp_path / "signed.json", tmp_path / "sheet.html"
    work.write_text(played, encoding="utf-8")
    line = [str(work), "--out", str(out), "--sheet", str(sheet)]
    assert run(line) == 1
    assert "no trainer's key" in capsys.readouterr().err
    make_key("R. Ferrow", NOW - DAY)
    assert run(line) == 1
    assert "none of the bank" in capsys.readouterr().err
    assert not out.exists()
    monkeypatch.setattr("simulator.marking.certificate_signing.bank", lambda: (BANK, 50.0))
    assert run([*line, "--case", "9", "--total", "50"]) == 1
    assert run([*line, "--case", "1", "--total", "50"]) == 0
    assert "Signed by R. Ferrow" in capsys.readouterr().out
    assert "Marked by a trainer: 50.0" in sheet.read_text(encoding="utf-8")
    with Store.open("sqlite://") as store:
        merge_work(store, read_work(out.read_bytes()))
        assert the_sitting(store).result().signature.good
