"""Real jobs that somebody watched, typed back from the paper form: kept beside the attempts, never instead of them.

A watched job is an attempt of mode ``observed``. The marks of the one who watched are a trainer's marks; automatic marks
are not touched, and a change of mind is a new version.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

import simulator
from simulator.errors import InputError
from simulator.records.rows import one_line
from simulator.records.store import Store
from simulator.texts import text

LESSON, MODE = "observed-job", "observed"
ENDINGS = ("mended", "handed_over", "stopped_for_safety")
#: Parts of the marks and the points out of which they are given [-], as on every mark sheet.
PARTS = {"found": 45.0, "economy": 40.0, "understanding": 15.0}
#: The same in marks of before, by which jobs and sheets may still stand in the records.
PARTS_BEFORE = {"found": 40.0, "economy": 25.0, "safety": 25.0, "understanding": 10.0}
NAMES = tuple(PARTS_BEFORE)  # of every part that marks have or had
LONGEST = 4000  # characters of the longest text
LONGEST_PROOF = 3600.0  # [s]


@dataclass(frozen=True)
class ObservedJob:
    """One watched job; ``done_on`` as ISO 8601, ``proof_s`` [s] until it pumped, None without proof.

    ``steps`` are lines in the order of the work; ``points`` [-] by part, where the one who watched gave some.
    """

    learner: str
    observer: str
    done_on: str
    rig: str = ""
    site: str = ""
    call: str = ""
    safety: str = ""
    steps: tuple[str, ...] = ()
    first_call: str = ""
    second_call: str = ""
    cause: str = ""
    work: str = ""
    proof_s: float | None = None
    ending: str = "mended"
    remarks: str = ""
    points: dict[str, float] = field(default_factory=dict)


def check(job: ObservedJob, *, before: bool = False) -> None:
    """Look a job over.

    Parameters
    ----------
    job : as typed, or as it stands in a file.
    before : whether points of marks of before are legal too.

    Raises
    ------
    InputError : a name or the date is missing, or a figure is out of its range.

    Examples
    --------
    >>> check(ObservedJob("Ash", "Wren", "2026-03-02", points={"found": 45}))
    """
    for key in ("learner", "observer"):
        if not one_line(asdict(job), key, 80).strip():
            raise InputError(text(f"records.observed.no_{key}"), key, text("records.observed.name_legal"))
    try:
        date.fromisoformat(job.done_on)
    except ValueError as error:
        raise InputError(
            text("records.observed.bad_date", found=job.done_on), "done_on", "2026-03-02"
        ) from error
    if job.ending not in ENDINGS:
        raise InputError(f"there is no ending {job.ending!r}", "ending", ", ".join(ENDINGS))
    if job.proof_s is not None and not 0.0 < job.proof_s <= LONGEST_PROOF:
        raise InputError(
            text("records.observed.bad_proof", found=f"{job.proof_s:g}"), "proof_s", f"0 to {LONGEST_PROOF:g}"
        )
    for name, points in job.points.items():
        most = {**(PARTS_BEFORE if before else {}), **PARTS}.get(name)
        if most is None or not 0.0 <= points <= most:
            raise InputError(
                text("records.observed.bad_points", part=name, found=f"{points:g}"),
                name,
                f"0 to {most or 0:g}",
            )
    for key, value in asdict(job).items():
        if isinstance(value, str) and len(value) > LONGEST:
            raise InputError(text("records.too_large"), key, f"{LONGEST}")


def keep_job(store: Store, job: ObservedJob) -> str:
    """Keep a job for good and return the id of its attempt; with points, as a trainer's marks.

    Raises
    ------
    InputError : the job is not whole, or it cannot be stored.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     kept = keep_job(store, ObservedJob("Ash", "Wren", "2026-03-02", steps=("Walk round",)))
    ...     jobs(store, "Ash")[0][1].observer
    'Wren'
    """
    check(job)
    record = {
        "learner": job.learner,
        "lesson": LESSON,
        "mode": MODE,
        "model_version": simulator.__version__,
        "job": asdict(job),
    }
    attempt = store.create_attempt(record)
    if job.points:
        mark_job(store, attempt, job.points, job.observer)
    store.end_attempt(attempt, MODE)
    return attempt


def mark_job(store: Store, attempt: str, points: dict[str, float], marked_by: str) -> int:
    """A new version in a store of the marks by the one who watched (``marked_by``); out of the parts with points [-]."""
    given = [name for name in PARTS if name in points]
    parts = [{"id": name, "points": points[name], "out_of": PARTS[name]} for name in given]
    whole = sum(PARTS[name] for name in given)
    total = 100.0 * sum(points[name] for name in given) / whole if whole else 0.0
    sheet = {"total": round(total, 1), "parts": parts}
    return store.save_marks(attempt, sheet, source="trainer", marked_by=marked_by)


def jobs(store: Store, learner: str | None = None) -> list[tuple[str, ObservedJob]]:
    """Ids and jobs in a store, the oldest first; of one learner or of all."""
    out = []
    for row in store.list_attempts(learner, LESSON):
        kept: dict[str, Any] = store.attempt_record(row.attempt_id)["job"]
        out.append((row.attempt_id, ObservedJob(**{**kept, "steps": tuple(kept["steps"])})))
    return out
