"""Signing the sheet of a sitting on the trainer's machine.

Every case is replayed and marked again first. That proves that the marks follow from the acts in the records, and that
the cases are those of the bank. It does not prove who acted: whoever signs says so. A learner who keeps an earlier work
file can play the same cases again at another place; of those only the way that came to the trainer's machine first is
signed, which is why a list is kept there.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from simulator.errors import InputError
from simulator.marking.again import mark_again
from simulator.marking.bank import KINDS, BankCase, bank
from simulator.marking.certificate import Sitting
from simulator.marking.certificate_forms import form_fits, mean_difficulty
from simulator.marking.decision import FIVE, rule_now
from simulator.marking.signed import SIGNED, keep, sheet_content
from simulator.marking.sitting_records import SittingResult, SittingStore
from simulator.scenario import scenario_from, scenario_hash
from simulator.scenario.packed import NOT_PACKED
from simulator.signing import Envelope, TrainerKey, key_folder, seal
from simulator.signing.envelope import SHEET
from simulator.signing.keys import write_private
from simulator.texts import text

SLACK = 2.0  # [-] a release between sitting and signing may weigh the cases a little otherwise
SEEN_FILE = "sheets_seen.json"  # beside the key: the acts of every sitting that was handed in here


def sign_sitting(
    store: SittingStore,
    sitting: Sitting,
    key: TrainerKey,
    now: datetime,
    *,
    cases: Sequence[BankCase] | None = None,
    target: float | None = None,
    folder: Path | None = None,
) -> Envelope:
    """Replay and mark every case of a sitting again, and sign its sheet where all of it holds.

    Parameters
    ----------
    store : where the sitting's records are.
    sitting : that is over.
    key : the trainer's.
    now : with its zone.
    cases, target : of another bank than the one that comes with the package; the target is minutes of a form [min].
    folder : of the trainer's key, where it is kept what was handed in.

    Raises
    ------
    InputError : a case was not played, is none of the bank, or does not give the marks it claims; the sitting was begun
        under another rule than the one in force here, or went on after it was decided; or it was handed in before with
        other acts.
    RefusedAct : the sitting is not over.
    """
    result = sitting.result()
    if not result.complete:
        raise InputError(text("marking.signed.not_complete"), _at(result.sitting_id))
    _handed_in_once(store, result, folder)
    if cases is None or target is None:
        cases, target = bank()
    known = {case.id: case for case in cases}
    record = store.attempt_record(sitting.id)
    if sitting.rule not in (FIVE, rule_now()):
        raise InputError(text("marking.signed.other_rule"), _at(sitting.id), _rule_words())
    form = [known.get(str(case["id"])) for case in record["cases"]]
    for number, (case, drawn) in enumerate(zip(record["cases"], form, strict=True), start=1):
        if drawn is None or drawn.slot != case["slot"] or case["sealed"] not in (drawn.sealed, NOT_PACKED):
            raise InputError(text("marking.signed.not_of_bank"), _at(sitting.id, number))
    drawn_form = [case for case in form if case is not None]
    if sitting.rule == FIVE:
        fits = sorted(case.slot for case in drawn_form) == sorted(KINDS)
    else:
        fits = form_fits(drawn_form, target, mean_difficulty(cases), SLACK)
    if not fits:
        raise InputError(text("marking.signed.not_blueprint"), _at(sitting.id))
    if sitting.asked != len(result.cases):
        raise InputError(text("marking.signed.went_on"), _at(sitting.id, len(result.cases) + 1))
    for number, drawn in enumerate(drawn_form[: sitting.asked], start=1):
        _follows(store, sitting, drawn, number)
    sealed = seal(sheet_content(store, result), SHEET, key, now)
    keep(store, sitting.id, {"total": result.total, SIGNED: sealed.as_dict()}, key)
    return sealed


def _follows(store: SittingStore, sitting: Sitting, drawn: BankCase, number: int) -> None:
    """Whether the marks of a case follow from its acts in the call-out that the bank holds."""
    attempt_id, where = sitting.case_id(number), _at(sitting.id, number)
    record = store.attempt_record(attempt_id)
    asked = (scenario_hash(drawn.scenario()), sitting.learner, "assessment", sitting.case_seed(number))
    own = (
        scenario_hash(scenario_from(dict(record.get("scenario") or {}))),
        record.get("learner"),
        record.get("mode"),
        record.get("seed"),
    )
    if own != asked:
        raise InputError(text("marking.signed.other_call"), where)
    again = mark_again(store, attempt_id)
    stored, now = again.stored or {}, again.now
    same = now is not None and all(stored.get(name) == now[name] for name in ("total", "grave", "passed"))
    if not again.same or not same:
        raise InputError(text("marking.signed.not_from_acts", why=again.sentence), where)


def _handed_in_once(store: SittingStore, result: SittingResult, folder: Path | None) -> None:
    path = (folder or key_folder()) / SEEN_FILE
    try:
        seen = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        seen = {}
    except (OSError, ValueError) as error:
        raise InputError(text("marking.signed.list_damaged"), str(path)) from error
    acts = [case["acts"] for case in sheet_content(store, result)["cases"]]
    if seen.setdefault(result.sitting_id, acts) != acts:
        raise InputError(text("marking.signed.handed_in_otherwise"), _at(result.sitting_id))
    write_private(path, json.dumps(seen, indent=1).encode(), replace=True)


def _rule_words() -> str:
    rule = rule_now()
    return text("marking.signed.rule", mark=f"{rule.pass_mark:g}", least=rule.least, most=rule.most)


def _at(sitting_id: str, number: int | None = None) -> str:
    if number is None:
        return text("marking.signed.at_sitting", sitting=sitting_id)
    return text("marking.signed.at_case", sitting=sitting_id, n=number)
