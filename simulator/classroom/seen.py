"""What the trainer's views read of a record: one plain summary a record, made from its log and marks alone.

Nothing is simulated for it. The names of faults stand in it: it goes to the trainer's page and to no learner's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from simulator.attempt.pressed import graded
from simulator.errors import InputError
from simulator.records import Store
from simulator.records.hand_over import Begun
from simulator.records.kinds import CALL, KINDS
from simulator.records.rows import EventRow, Marks
from simulator.rig.faults import FAULTS

SOUND = "sound"  # what stands for the faults of a call in which nothing is wrong
LEFT = "left"  # how a call ended that another one came in place of
OUTSIDE, STOPPED, RUNNING = "not_started", "stopped", "running"
BREACHES = ("minor", "serious", "grave")
DANGERS = "safe_work.dangers."
IN_ENVELOPE = "sealed"  # why a record is over whose envelope was shut when its call was done


@dataclass(frozen=True)
class Seen:
    """One record of somebody.

    ``kind`` is call, lesson, sitting or job; ``title``, ``rig``, ``faults``, ``troubles`` (kinds of trouble), ``level``
    and ``call`` (by which equal calls are known) are empty for all but calls, ``sheet`` is the call's place on a call
    sheet. Times in UTC (ISO 8601). ``last_at`` is the last sign of life. ``ended`` says how a call was ended,
    ``finished`` whether nothing more comes. ``total`` and ``parts`` ``(name, points, out of)`` are the latest automatic
    marks, None and none where there are none. ``minutes`` of the yard [min], ``engine`` not_started, stopped or running,
    ``run_s`` of the run as it was shown last [s], ``starts`` how many [-]. ``looks`` ``(check, place, minute)``,
    ``works`` the same of work, ``calls`` ``(minute, markers)``, ``breaches`` ``(how grave, danger, minute)``, where no
    danger is named what was let happen (such as ran_dry), ``hints`` steps taken [-]; ``steps`` is the length of the
    log [-].
    """

    attempt_id: str
    learner: str
    kind: str
    lesson: str
    mode: str
    made_at: str
    last_at: str
    finished: bool
    ended: str = ""
    title: str = ""
    rig: str = ""
    faults: tuple[str, ...] = ()
    troubles: tuple[str, ...] = ()
    level: int = 0
    call: str = ""
    sheet: str = ""
    total: float | None = None
    parts: tuple[tuple[str, float | None, float], ...] = ()
    grave: bool = False
    passed: bool = False
    minutes: float = 0.0
    engine: str = OUTSIDE
    run_s: float = 0.0
    starts: int = 0
    looks: tuple[tuple[str, str, float], ...] = ()
    works: tuple[tuple[str, str, float], ...] = ()
    calls: tuple[tuple[float, dict[str, int]], ...] = ()
    breaches: tuple[tuple[str, str, float], ...] = ()
    hints: int = 0
    steps: int = 0

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)

    @property
    def is_call(self) -> bool:
        """Whether it is a call-out."""
        return self.kind == CALL

    @property
    def untouched(self) -> bool:
        """Whether it was left before anything was done: another call came in its place.

        Examples
        --------
        >>> Seen("a", "Ada", "call", "09", "practice", "", "", True, ended="left").untouched
        True
        """
        done = self.looks or self.works or self.calls or self.breaches or self.starts or self.hints
        return self.ended == LEFT and not done


def seen_from(raw: Mapping[str, Any]) -> Seen:
    """A summary as :meth:`Seen.as_dict` gave it.

    Parameters
    ----------
    raw : read from JSON.

    Raises
    ------
    InputError : it is not such a thing.

    Examples
    --------
    >>> one = Seen("a", "Ada", "lesson", "03", "lesson", "2026-03-02", "2026-03-02", False)
    >>> seen_from(one.as_dict()) == one
    True
    """
    tuples = ("parts", "looks", "works", "calls", "breaches")
    try:
        plain = {name: value for name, value in raw.items() if name in Seen.__dataclass_fields__}
        plain |= {name: tuple(tuple(each) for each in raw[name]) for name in tuples}
        return Seen(**plain | {name: tuple(raw[name]) for name in ("faults", "troubles")})
    except (TypeError, KeyError, AttributeError) as error:
        raise InputError("no summary of a record", "class") from error


def seen_of(store: Store, begun: Begun) -> Seen:
    """The summary of a record in a store.

    Parameters
    ----------
    store : the records.
    begun : the record, as a list of all of them has it.

    Raises
    ------
    InputError : there is no such record, or it is damaged; it is set aside then.

    Examples
    --------
    >>> from simulator.records.hand_over import all_begun
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     [seen_of(store, begun).kind for begun in all_begun(store)]
    ['lesson']
    """
    attempt_id, ending = begun.attempt_id, begun.ending
    record, log, marks = store.attempt_record(attempt_id), store.log(attempt_id), store.marks(attempt_id)
    shown = store.get_progress(attempt_id) or {}
    sheet = _sheet(marks)
    mode = str(record.get("mode", ""))
    kind = KINDS.get(mode, mode)
    common: dict[str, Any] = {
        "attempt_id": attempt_id,
        "learner": begun.learner,
        "kind": kind,
        "lesson": str(record.get("lesson", "")),
        "mode": mode,
        "made_at": begun.made_at,
        "last_at": max(
            [begun.made_at, begun.shown_at, *(row.made_at for row in log), *(m.made_at for m in marks)]
        ),
        "ended": ending,
        "finished": bool(ending) or sheet is not None,
        "steps": len(log),
        "total": _number(sheet.get("total")) if sheet else None,
        "grave": bool(sheet and sheet.get("grave")),
        "passed": bool(sheet and sheet.get("passed")),
        "parts": tuple(_parts(sheet)) if sheet and kind == CALL else (),
    }
    return Seen(**common | (_of_call(record, log, shown, ending) if kind == CALL else {}))


def _of_call(
    record: Mapping[str, Any], log: Sequence[EventRow], shown: Mapping[str, Any], ending: str
) -> dict[str, Any]:
    scenario = record.get("scenario") or {}
    faults = tuple(str(each.get("fault", "")) for each in scenario.get("faults", ())) or (SOUND,)
    troubles = tuple(dict.fromkeys(FAULTS[name].family for name in faults if name in FAULTS))
    events = [row.payload for row in log]
    done = [event for event in events if event.get("accepted")]
    starts = [event for event in done if event["act"] == "start_engine"]
    last = events[-1] if events else {}
    over = str(last.get("ended") or "")
    out: dict[str, Any] = {
        "title": str(scenario.get("title", "")),
        "rig": str(scenario.get("rig", "")),
        "faults": faults,
        "troubles": troubles,
        "level": int(scenario.get("level") or 0),
        "call": str(record.get("scenario_hash", "")),
        "sheet": str(record.get("level") or ""),
        "minutes": round(float(last.get("clock_s") or 0.0) / 60.0, 1),
        "engine": _engine(done, over),
        "starts": len(starts),
        # a start is noted at the second of the run before it
        "run_s": round(max(_second(each, len(starts)) for each in (shown, last)), 1),
        "looks": tuple(_with_place(done, "check")),
        "works": tuple(_with_place(done, "remedy")),
        "calls": tuple(
            (_minute(event), {str(name): int(n) for name, n in event["result"]["markers"].items()})
            for event in done
            if event["act"] == "call"
        ),
        "breaches": tuple(
            (graded(event), _danger(event), _minute(event))
            for event in events
            if event.get("breach") in BREACHES
        ),
        "hints": sum(event["act"] == "ask_hint" for event in done),
    }
    # how a call in a shut envelope ended is not told its learner; the trainer may know it
    return out | ({"ended": over, "finished": True} if over and ending in ("", IN_ENVELOPE) else {})


def _second(at: Mapping[str, Any], run: int) -> float:
    """To which second of a run something says that it was shown [s]."""
    return float(at.get("shown_s") or 0.0) if at.get("run") == run else 0.0


def _engine(done: Iterable[Mapping[str, Any]], over: str) -> str:
    state = OUTSIDE
    for event in done:
        state = {"start_engine": RUNNING, "stop_engine": STOPPED}.get(event["act"], state)
    return STOPPED if over and state == RUNNING else state


def _with_place(done: Iterable[Mapping[str, Any]], act: str) -> Iterable[tuple[str, str, float]]:
    for event in done:
        if event["act"] == act:
            args = event.get("args", {})
            yield str(args.get(act, "")), str(args.get("place") or ""), _minute(event)


def _danger(event: Mapping[str, Any]) -> str:
    """The danger of a breach: as named, else the one that a warning told, else what was let happen."""
    warned = (
        str(((said.get("fields") or {}).get("why") or {}).get("key", "")) for said in event.get("notes", ())
    )
    result = event.get("result", {})
    told = (key.removeprefix(DANGERS) for key in warned if key.startswith(DANGERS))
    return str(result.get("danger") or next(told, "") or result.get("hazard", ""))


def _minute(event: Mapping[str, Any]) -> float:
    return round(float(event.get("clock_s") or 0.0) / 60.0, 1)


def _sheet(marks: Sequence[Marks]) -> dict[str, Any] | None:
    sheets = [each.sheet for each in marks if each.source == "automatic"]
    return sheets[-1] if sheets else None


def _parts(sheet: Mapping[str, Any]) -> Iterable[tuple[str, float | None, float]]:
    for part in sheet.get("parts", ()):
        yield str(part.get("id", "")), _number(part.get("points")), _number(part.get("out_of")) or 0.0


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
