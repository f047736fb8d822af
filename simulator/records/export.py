"""Records as tables for a spreadsheet; column names end in their unit."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence
from typing import Any, Literal, get_args

from simulator.errors import InputError
from simulator.records.observed import ObservedJob, jobs
from simulator.records.store import Store

Sheet = Literal["attempts", "events", "marks", "observed_jobs"]
SHEETS: tuple[Sheet, ...] = get_args(Sheet)
_COLUMNS: dict[str, tuple[str, ...]] = {
    "attempts": (
        *("attempt_id", "learner", "lesson", "mode", "seed", "scenario_hash", "model_version"),
        *("made_at_utc", "events", "finished"),
    ),
    "events": (
        *("attempt_id", "learner", "lesson", "seq", "click_id", "yard_min", "run_s", "kind"),
        *("made_at_utc", "payload_json"),
    ),
    "marks": (
        *("attempt_id", "learner", "lesson", "source", "version", "marked_by"),
        *("made_at_utc", "sheet_json"),
    ),
    "observed_jobs": (
        *(
            "attempt_id",
            "learner",
            "observer",
            "done_on",
            "rig",
            "site",
            "cause",
            "work",
            "ending",
            "proof_s",
        ),
        *("safety", "steps", "first_call", "second_call", "total", "remarks"),
    ),
}


def export_csv(store: Store, sheet: Sheet = "attempts", learner: str | None = None) -> str:
    """Text of a CSV file (RFC 4180) with the attempts, their events or their marks; of one learner or of all.

    Text that a spreadsheet would take for a formula gets an apostrophe in front.

    Raises
    ------
    InputError : there is no such sheet.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     export_csv(store, "marks").strip()
    'attempt_id,learner,lesson,source,version,marked_by,made_at_utc,sheet_json'
    """
    if sheet not in _COLUMNS:
        raise InputError(f"there is no sheet {sheet!r}", "export", ", ".join(_COLUMNS))
    return csv_text(_COLUMNS[sheet], _rows(store, sheet, learner))


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Text of a CSV file (RFC 4180); text that a spreadsheet would take for a formula gets an apostrophe in front.

    Parameters
    ----------
    columns : names; those of figures end in their unit.
    rows : values, text and figures.

    Examples
    --------
    >>> csv_text(["who", "lift_m"], [["=1+1", 3.5]])
    "who,lift_m\\r\\n'=1+1,3.5\\r\\n"
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_safe(value) for value in row])
    return out.getvalue()


def _rows(store: Store, sheet: str, learner: str | None) -> list[tuple[Any, ...]]:
    rows: list[tuple[Any, ...]] = []
    if sheet == "observed_jobs":
        return [_job_row(store, attempt, job) for attempt, job in jobs(store, learner)]
    for a in store.list_attempts(learner):
        who = (a.attempt_id, a.learner, a.lesson)
        if sheet == "attempts":
            more = (a.mode, a.seed, a.scenario_hash, a.model_version, a.made_at, a.events, a.finished)
            rows.append((*who, *more))
        elif sheet == "events":
            for e in store.log(a.attempt_id):
                times = (e.yard_minutes, e.run_seconds)
                rows.append((*who, e.seq, e.click_id, *times, e.kind, e.made_at, _plain(e.payload)))
        else:
            for m in store.marks(a.attempt_id):
                rows.append((*who, m.source, m.version, m.marked_by, m.made_at, _plain(m.sheet)))
    return rows


def _job_row(store: Store, attempt: str, job: ObservedJob) -> tuple[Any, ...]:
    marks = store.marks(attempt, "trainer")
    total = marks[-1].sheet.get("total", "") if marks else ""
    first = (
        attempt,
        job.learner,
        job.observer,
        job.done_on,
        job.rig,
        job.site,
        job.cause,
        job.work,
        job.ending,
    )
    steps = " | ".join(job.steps)
    proof = "" if job.proof_s is None else job.proof_s
    return (*first, proof, job.safety, steps, job.first_call, job.second_call, total, job.remarks)


def _plain(value: dict[str, Any]) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True)


#: First characters of what a spreadsheet takes for a formula, the wide forms of East Asian keyboards among them
#: (OWASP, "CSV Injection").
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def _safe(value: Any) -> Any:
    if isinstance(value, str) and value.lstrip(" \u00a0\ufeff").startswith(_FORMULA):
        return "'" + value
    return value
