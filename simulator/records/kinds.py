"""What a record may hold, by its kind: a lesson's page, a call-out, a certificate sitting, a watched job.

Every part that a page or an export reads is looked at before it is let in: its type, its range, and that it goes
together with the rest. What else stands beside it is kept as it is.
"""

from __future__ import annotations

import base64
import json
import re
import zlib
from datetime import datetime
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BaseModel, Field, ValidationError

import simulator
from simulator.errors import BrokenFile, InputError
from simulator.records.answers import KEPT, LONGEST_RUN, check_answer
from simulator.records.observed import ENDINGS, LONGEST, NAMES, ObservedJob, check
from simulator.records.work_limits import MAX_EVENTS
from simulator.scenario import scenario_from, scenario_hash
from simulator.scenario.packed import NOT_PACKED

LESSON, CALL, SITTING, JOB = "lesson", "call", "sitting", "job"
#: Mode of a record -> its kind.
KINDS = {
    "lesson": LESSON,
    "guided": CALL,
    "practice": CALL,
    "assessment": CALL,
    "sitting": SITTING,
    "observed": JOB,
}
GUESSED = {"guess:prime_time", "guess:gauge_arrives", "guess:lower_pond"}  # before a run is seen in lesson 01
LONGEST_WATCHED = 4 * LONGEST_RUN  # [s] of all runs of a call-out together
LARGEST_CASE = 64 * 1024  # bytes of a sealed case, unpacked
FIRST_YEAR, LAST_YEAR = 2000, 2199
M = TypeVar("M", bound=BaseModel)


def _is_stamp(value: str) -> str:
    when = datetime.fromisoformat(value)
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        raise ValueError("the year cannot be")
    return value


def _is_name(value: str) -> str:
    if value != " ".join(value.split()) or not value.isprintable():
        raise ValueError("no name in one line")
    return value


def _is_printable(value: str) -> str:
    if not value.isprintable():
        raise ValueError("not one line")
    return value


Id = Annotated[str, Field(pattern=r"^[\w-]{1,64}$")]
Stamp = Annotated[
    str,
    Field(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z$"),
    AfterValidator(_is_stamp),
]
Learner = Annotated[str, Field(max_length=60), AfterValidator(_is_name)]
OneLine = Annotated[str, Field(max_length=80), AfterValidator(_is_printable)]
Click = Annotated[str, Field(max_length=200)]
Marks = Annotated[float, Field(ge=-100.0, le=100.0)]
Count = Annotated[int, Field(ge=0, le=10**6)]


class _Kept(BaseModel):
    model_config = KEPT


# what stands round every record


class EventRow(_Kept):
    """An event of a log with its place in it."""

    seq: Count
    click_id: Click | None
    made_at: Stamp
    payload: dict[str, Any]


class MarksRow(_Kept):
    """One version of marks."""

    source: Literal["automatic", "trainer"]
    version: Annotated[int, Field(ge=1, le=10**6)]
    marked_by: OneLine
    sheet: dict[str, Any]
    made_at: Stamp


class EndingRow(_Kept):
    """Why a record was left."""

    reason: Annotated[str, Field(max_length=40)]
    made_at: Stamp


class Shown(_Kept):
    """How far the page has shown a run."""

    run: Annotated[int, Field(ge=0, le=10_000)] | None = None
    shown_s: Annotated[float, Field(ge=0.0, le=LONGEST_RUN)]


class ShownRow(_Kept):
    """The same with its time."""

    data: Shown
    made_at: Stamp


class Entry(_Kept):
    """A record with all that belongs to it."""

    attempt_id: Id
    number: Annotated[int, Field(ge=1, le=10**6)] | None = None
    made_at: Stamp
    record: dict[str, Any]
    events: Annotated[list[EventRow], Field(max_length=MAX_EVENTS)]
    marks: Annotated[list[MarksRow], Field(max_length=1000)]
    ending: EndingRow | None
    progress: ShownRow | None


# records by kind


class _Record(_Kept):
    learner: Learner = ""
    lesson: OneLine = ""
    mode: OneLine
    seed: Annotated[int, Field(ge=0, lt=2**31)] = 0
    model_version: Annotated[str, Field(max_length=40), AfterValidator(_is_printable)] = ""
    branch_of: Id | None = None


class LessonRecord(_Record):
    """A sitting at a lesson's page."""

    mode: Literal["lesson"]


class CalledFault(_Kept):
    """What lists read of a fault of a call-out."""

    fault: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")]


class Called(_Kept):
    """What lists read of a call-out of any release."""

    format: Literal["callout-scenario"]
    version: Annotated[int, Field(ge=1, le=1000)]
    title: Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_is_printable)]
    faults: Annotated[list[CalledFault], Field(max_length=8)] = []


class CallRecord(_Record):
    """A call-out; ``level`` of the practice yard, ``sitting`` and ``case`` of a certificate's."""

    mode: Literal["guided", "practice", "assessment"]
    scenario: dict[str, Any]
    scenario_hash: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    level: Annotated[str, Field(max_length=40)] | None = None
    sitting: Id | None = None
    case: Annotated[int, Field(ge=1, le=20)] | None = None
    sealed: bool = False


class SittingCase(_Kept):
    """A case of a certificate sitting."""

    id: Annotated[str, Field(pattern=r"^[\w-]{1,64}$")]
    slot: OneLine
    minutes: Annotated[float, Field(ge=0.0, le=10_000.0)]
    sealed: Annotated[str, Field(min_length=1, max_length=20_000)]
    title: OneLine
    scenario_hash: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class SittingRule(_Kept):
    """The rule a sitting was begun under; see :class:`simulator.marking.decision.Rule`."""

    pass_mark: Annotated[float, Field(ge=0.0, le=100.0)]
    least: Annotated[int, Field(ge=1, le=20)]
    most: Annotated[int, Field(ge=1, le=20)]
    z: Annotated[float, Field(ge=0.0, le=10.0)]
    case_sd: Annotated[float, Field(ge=0.0, le=100.0)]
    as_met: bool = False  # missing in those of older releases


class SittingRecord(_Record):
    """A certificate sitting; ``rule`` is missing in those of older releases."""

    mode: Literal["sitting"]
    learner: Annotated[str, Field(min_length=1, max_length=60), AfterValidator(_is_name)]
    seed: Annotated[int, Field(ge=0, lt=2**31)]
    cases: Annotated[list[SittingCase], Field(min_length=1, max_length=20)]
    rule: SittingRule | None = None


class Job(_Kept):
    """A job that somebody watched; see :class:`simulator.records.observed.ObservedJob`."""

    learner: OneLine
    observer: OneLine
    done_on: OneLine
    rig: Annotated[str, Field(max_length=LONGEST)] = ""
    site: Annotated[str, Field(max_length=LONGEST)] = ""
    call: Annotated[str, Field(max_length=LONGEST)] = ""
    safety: Annotated[str, Field(max_length=LONGEST)] = ""
    steps: Annotated[list[Annotated[str, Field(max_length=LONGEST)]], Field(max_length=200)] = []
    first_call: Annotated[str, Field(max_length=LONGEST)] = ""
    second_call: Annotated[str, Field(max_length=LONGEST)] = ""
    cause: Annotated[str, Field(max_length=LONGEST)] = ""
    work: Annotated[str, Field(max_length=LONGEST)] = ""
    proof_s: float | None = None
    ending: Literal[ENDINGS] = "mended"  # type: ignore[valid-type]
    remarks: Annotated[str, Field(max_length=LONGEST)] = ""
    points: dict[Literal[NAMES], float] = {}  # type: ignore[valid-type]


class JobRecord(_Record):
    """The record of such a job."""

    mode: Literal["observed"]
    job: Job


RECORDS: dict[str, type[_Record]] = {
    LESSON: LessonRecord,
    CALL: CallRecord,
    SITTING: SittingRecord,
    JOB: JobRecord,
}

# events by kind


class Answer(_Kept):
    """An answer on a lesson's page."""

    kind: Literal["answer"]
    question: Annotated[str, Field(min_length=1, max_length=200)]
    answer: Any
    click: Click


class Note(_Kept):
    """A line of the notes of a call-out."""

    kind: Annotated[str, Field(max_length=40)]


class Act(_Kept):
    """An act at a call-out; ``clock_s`` of the yard, ``shown_s`` of the run [s]."""

    seq: Count
    act: Annotated[str, Field(pattern=r"^[a-z_]{1,40}$")]
    args: Annotated[dict[str, Any], Field(max_length=20)]
    click_id: Click | None
    clock_s: Annotated[float, Field(ge=0.0, le=10.0 * LONGEST_WATCHED)]
    run: Annotated[int, Field(ge=0, le=10_000)] | None
    shown_s: Annotated[float, Field(ge=0.0, le=LONGEST_RUN)] | None
    accepted: bool
    reason: Annotated[str, Field(max_length=40)]
    breach: Literal["", "minor", "serious", "grave"]
    ended: Annotated[str, Field(max_length=40)]
    result: dict[str, Any]
    notes: Annotated[list[Note], Field(max_length=200)]


# marks by kind


class LessonSheet(_Kept):
    """Marks of a lesson's check."""

    total: Marks
    parts: Annotated[list[dict[str, Any]], Field(max_length=200)] = []


class Reason(_Kept):
    """One reason for points."""

    points: Marks
    key: Annotated[str, Field(pattern=r"^marking\.[\w.]{1,80}$")]
    fields: Annotated[
        list[
            Annotated[
                list[str | float | bool | None],
                Field(min_length=2, max_length=2),
            ]
        ],
        Field(max_length=20),
    ]


class Part(_Kept):
    """One part of a mark sheet."""

    id: Literal[NAMES]  # type: ignore[valid-type]
    points: Marks | None
    out_of: Annotated[float, Field(ge=0.0, le=100.0)]
    evidence: Annotated[list[Reason], Field(max_length=200)] = []


class CallSheet(_Kept):
    """Marks of a call-out."""

    total: Marks
    parts: Annotated[list[Part], Field(max_length=8)]
    grave: bool = False
    hints: Count = 0
    minutes: Annotated[float, Field(ge=0.0, le=1e6)] = 0.0


class SittingSheet(_Kept):
    """Marks of a certificate sitting."""

    total: Marks
    passed: bool
    complete: bool
    decision: Literal["passed", "failed", "undecided", "one_more"] | None = None
    cases: Annotated[int, Field(ge=1, le=20)] | None = None
    version: Annotated[int, Field(ge=0, le=10**6)]
    model: Annotated[str, Field(max_length=200)]


class TrainerPart(_Kept):
    """A part of a trainer's marks."""

    id: Annotated[str, Field(max_length=40)]
    points: Marks | None
    out_of: Annotated[float, Field(ge=0.0, le=100.0)]


class TrainerSheet(_Kept):
    """A trainer's marks, by hand."""

    total: Marks | None = None
    parts: Annotated[list[TrainerPart], Field(max_length=20)] = []


SHEETS: dict[str, type[_Kept]] = {
    LESSON: LessonSheet,
    CALL: CallSheet,
    SITTING: SittingSheet,
    JOB: TrainerSheet,
}


def check_entry(entry: Any) -> None:
    """Look a record over (``entry``, plain data) with all that belongs to it.

    Raises
    ------
    ValueError : a part of it is of another kind, out of range, or does not go with the rest; says which.

    Examples
    --------
    >>> check_entry({"attempt_id": "a", "made_at": "2026-03-02T07:10:00.000Z", "record": {"mode": "lesson"},
    ...              "events": [], "marks": [], "ending": None, "progress": None})
    >>> check_entry({"attempt_id": "a"})
    Traceback (most recent call last):
    ValueError: made_at
    """
    whole = _read(Entry, entry)
    record = entry["record"]
    kind = KINDS.get(record.get("mode")) if isinstance(record.get("mode"), str) else None
    if kind is None:
        raise ValueError("record.mode")
    read = _read(RECORDS[kind], record, "record")
    clicks = [row.click_id for row in whole.events if row.click_id is not None]
    if [row.seq for row in whole.events] != list(range(len(whole.events))) or len(set(clicks)) < len(clicks):
        raise ValueError("events")
    for number, row in enumerate(whole.marks):
        sheet = TrainerSheet if row.source == "trainer" else SHEETS[kind]
        _read(sheet, row.sheet, f"marks.{number}.sheet")
    if kind == LESSON:
        _check_answers(whole)
    elif kind == CALL:
        _check_call(read, whole)
    elif whole.events:
        raise ValueError("events")
    if isinstance(read, SittingRecord):
        _check_cases(read)
    if isinstance(read, JobRecord):
        _check_job(record["job"])


def _read(model: type[M], value: Any, where: str = "") -> M:
    try:
        return model.model_validate(value)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False, include_context=False)[0]
        steps = [where, *(str(step) for step in first["loc"])]
        raise ValueError(".".join(step for step in steps if step)[:120]) from error


def _check_answers(entry: Entry) -> None:
    asked: set[str] = set()
    for row in entry.events:
        event = _read(Answer, row.payload, f"events.{row.seq}.payload")
        try:
            check_answer(event.question, event.answer)
        except ValueError as error:
            raise ValueError(f"events.{row.seq}.payload.answer") from error
        asked.add(event.question)
    for question in asked:
        kind, _, rest = question.partition(":")
        needed = {rest} if kind == "next" else GUESSED if kind == "run" else set()
        if not needed <= asked:
            raise ValueError(f"events: {question[:80]}")


def _check_call(record: _Record, entry: Entry) -> None:
    assert isinstance(record, CallRecord)
    _read(Called, record.scenario, "record.scenario")
    if record.model_version == simulator.__version__:  # another release may have known other faults
        try:
            scenario = scenario_from(record.scenario)
        except BrokenFile:  # of the program's: nothing is known of the record
            raise
        except InputError as error:
            raise ValueError("record.scenario") from error
        if scenario_hash(scenario) != record.scenario_hash:
            raise ValueError("record.scenario_hash")
    watched, run, shown = 0.0, None, 0.0
    for row in entry.events:
        act = _read(Act, row.payload, f"events.{row.seq}.payload")
        if act.seq != row.seq or act.click_id != row.click_id or (act.act == "begin") != (act.seq == 0):
            raise ValueError(f"events.{row.seq}.payload.seq")
        if act.run != run:
            watched, run, shown = watched + shown, act.run, 0.0
        shown = max(shown, act.shown_s or 0.0)
        if watched + shown > LONGEST_WATCHED:
            raise ValueError(f"events.{row.seq}.payload.shown_s")


def _check_cases(record: SittingRecord) -> None:
    for number, case in enumerate(record.cases):
        where = f"record.cases.{number}.sealed"
        if case.sealed == NOT_PACKED:
            continue
        try:
            unpack = zlib.decompressobj()
            written = unpack.decompress(base64.b85decode(case.sealed), LARGEST_CASE + 1)
            scenario = scenario_from(json.loads(written))
        except BrokenFile:
            raise
        except (ValueError, zlib.error, InputError, RecursionError) as error:
            raise ValueError(where) from error
        if scenario_hash(scenario) != case.scenario_hash:
            raise ValueError(where)


def _check_job(job: dict[str, Any]) -> None:
    known = set(ObservedJob.__dataclass_fields__)
    if not set(job) <= known:
        raise ValueError("record.job")
    try:
        check(ObservedJob(**{**job, "steps": tuple(job.get("steps", ()))}), before=True)
    except InputError as error:
        raise ValueError(f"record.job.{error.where}") from error


def newer_than(version: str, other: str) -> bool:
    """Whether the release ``version`` is newer than another, ``other``; what is no release is not.

    Examples
    --------
    >>> newer_than("0.10.0", "0.9.1"), newer_than("0.1.0", "0.1.0"), newer_than("x", "0.1.0")
    (True, False, False)
    """
    return _figures(version) > _figures(other)


def _figures(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in re.findall(r"\d{1,6}", version)[:3])
