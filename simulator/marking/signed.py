"""What a signature under a sheet or under a trainer's marks stands for, and whether it holds."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from simulator.errors import InputError
from simulator.marking.sitting_records import SittingResult, SittingStore
from simulator.signing import Envelope, Ring, TrainerKey, Verdict, check, seal
from simulator.signing.envelope import ALTERED, MARKS, SHEET, UNKNOWN_KEY, UNSIGNED
from simulator.texts import text

SIGNED = "signed"  # in a trainer's sheet: the envelope


def acts_of(store: Any, attempt_id: str) -> str:
    """A fingerprint of a call-out and all that was done in it: 64 hexadecimal digits.

    Parameters
    ----------
    store : with ``attempt_record`` and ``events``.
    attempt_id : of the case.
    """
    whole = [store.attempt_record(attempt_id), store.events(attempt_id)]
    return hashlib.sha256(json.dumps(whole, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def sheet_content(store: Any, result: SittingResult) -> dict[str, Any]:
    """All that a signature under a sheet stands for, as plain data.

    Parameters
    ----------
    store : where the sitting's records are.
    result : of the sitting.
    """
    # Sheets signed by older releases have no rule in them, and stay as they were signed.
    more: dict[str, Any] = {}
    if result.rule.case_sd:
        more = {"rule": result.rule.as_dict(), "decision": result.decision}
    if result.accounts:
        more["accounts"] = result.accounts
    return {
        **more,
        "learner": result.learner,
        "sitting": result.sitting_id,
        "number": result.number,
        "total": result.total,
        "grave": result.grave,
        "passed": result.passed,
        "complete": result.complete,
        "version": result.version,
        "model": result.model,
        "cases": [
            {
                "title": case.title,
                "attempt": case.attempt_id,
                "total": case.total,
                "grave": case.grave,
                "acts": acts_of(store, case.attempt_id) if case.attempt_id else "",
            }
            for case in result.cases
        ],
    }


def sheet_verdict(store: SittingStore, result: SittingResult) -> Verdict:
    """Whether a key that is trusted here stands behind a sheet as it is now.

    Parameters
    ----------
    store : where the sitting's records are.
    result : of the sitting.
    """
    envelope, verdict = _checked(store, result.sitting_id, SHEET)
    if envelope is None or not verdict.good or envelope.content == sheet_content(store, result):
        return verdict
    return Verdict(ALTERED, verdict.name, verdict.fingerprint, verdict.signed_at)


def trainer_total(store: SittingStore, attempt_id: str) -> tuple[float | None, Verdict]:
    """A trainer's marks of a case [of 100] and what is to be said of their signature; None where there are none.

    They count only where the verdict is good.

    Parameters
    ----------
    store : where the records are.
    attempt_id : of the case.
    """
    given = _latest(store, attempt_id)
    if given is None or given.get("total") is None:
        return None, Verdict(UNSIGNED)
    total = float(given["total"])
    envelope, verdict = _checked(store, attempt_id, MARKS)
    fits = envelope is not None and envelope.content == _marks_content(store, attempt_id, total)
    if envelope is None or fits or verdict.state == ALTERED:
        return total, verdict
    return total, Verdict(ALTERED, verdict.name, verdict.fingerprint, verdict.signed_at)


def sign_marks(store: SittingStore, attempt_id: str, total: float, key: TrainerKey, now: datetime) -> None:
    """Keep a trainer's marks of a case, signed.

    Parameters
    ----------
    store : where the records are.
    attempt_id : of the case.
    total : marks [of 100].
    key : the trainer's.
    now : with its zone.

    Raises
    ------
    InputError : the marks are not 0 to 100, or there is no such case.
    """
    if not 0.0 <= total <= 100.0:
        raise InputError(text("marking.signed.bad_marks", total=f"{total:g}"), "total", "0 to 100")
    sealed = seal(_marks_content(store, attempt_id, float(total)), MARKS, key, now)
    keep(store, attempt_id, {"total": float(total), SIGNED: sealed.as_dict()}, key)


def _marks_content(store: SittingStore, attempt_id: str, total: float) -> dict[str, Any]:
    return {"attempt": attempt_id, "acts": acts_of(store, attempt_id), "total": total}


def _latest(store: SittingStore, attempt_id: str) -> Mapping[str, Any] | None:
    sheets = [marks.sheet for marks in store.marks(attempt_id) if marks.source == "trainer"]
    return sheets[-1] if sheets else None


def _checked(store: SittingStore, attempt_id: str, kind: str) -> tuple[Envelope | None, Verdict]:
    """The envelope of a trainer's latest sheet, and what is to be said of its signature alone."""
    raw = (_latest(store, attempt_id) or {}).get(SIGNED)
    if raw is None:
        return None, Verdict(UNSIGNED)
    try:
        envelope = Envelope.from_dict(raw)
    except InputError:
        return None, Verdict(ALTERED)
    try:
        return envelope, check(envelope, kind, Ring.load())
    except InputError:  # the list of trusted keys is damaged: nothing is trusted
        return envelope, Verdict(UNKNOWN_KEY, "", envelope.key.fingerprint, envelope.signed_at)


def keep(store: Any, attempt_id: str, sheet: dict[str, Any], key: TrainerKey) -> None:
    """Keep a signed ``sheet`` in a ``store`` as what the owner of a ``key`` gave an attempt (``attempt_id``)."""
    store.save_marks(attempt_id, sheet, source="trainer", marked_by=key.public.name)
