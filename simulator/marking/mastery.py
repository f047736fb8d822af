"""What a learner can do by now, skill by skill, from the stored records alone.

Bayesian knowledge tracing (Corbett & Anderson 1995, User Modeling and User-Adapted Interaction 4): a skill is known or
not; every case is a chance to show it and to learn it, once: the same case met again shows nothing new. What is known
fades while it is not used, and comes back into question after about 1, 7 and 30 days, each time on a case not met before.
Fading and days are common practice, no source.

A single slip by somebody who knew a skill is judged beside what was known when it was last shown, not beside what has
faded since: otherwise forgetting would count twice, and one slip after a month would undo four right answers.
What was answered with a hint is no evidence that the skill is there. A call that was given up, or left for another one,
was not found.

Nothing here reads a clock: the time is always given.

Throughout: ``store`` keeps the records; ``faults`` are what was wrong in a call; ``at`` is a time; ``case`` the call
it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from simulator.marking.sheet import ECONOMY, FOUND, SAFETY
from simulator.rig.faults import FAMILIES, FAULTS

KNOWN_FIRST, LEARNS, GUESSES, SLIPS = 0.4, 0.15, 0.2, 0.1  # L, T, G, S [-]
MASTERED, WEAK = (
    0.95,
    0.5,
)  # [-] chance of knowing after the last case, for a skill that counts as known, or weak
SPACING = (1.0, 7.0, 30.0)  # [days] after which a skill comes back
ABOUT = 0.8  # [-] share of those days that is near enough
HALF_LIVES = 2.0  # times the days until it comes back, in which half of what was won is lost again
GOOD_OR_GAUGE = "good_or_gauge"
SAFE_WORK, TIME = "safe_work", "time"
#: Skills: a kind of trouble each, then what every case asks for.
SKILLS = (
    *(family for family in FAMILIES if family not in ("instrument", "none")),
    GOOD_OR_GAUGE,
    SAFE_WORK,
    TIME,
)
FOUND_SHARE, TIME_SHARE = 0.7, 0.6  # [-] of a part's points that count as right
LEFT = "left"  # how a call ended that was left for another one


@dataclass(frozen=True)
class Shown:
    """A skill shown, or not, at a time; ``case`` is the hash of the call-out."""

    skill: str
    right: bool
    at: datetime
    case: str = ""


@dataclass(frozen=True)
class Skill:
    """Where a skill stands at a time.

    ``known`` chance of knowing it [-], faded until then; ``times`` cases that asked for it; ``stage`` how often it came
    back and was right; ``due`` when it comes back, None before it was ever right; ``last`` when it was last asked for;
    ``state`` new, weak, learning, due or known.
    """

    id: str
    known: float
    times: int
    stage: int
    due: datetime | None
    last: datetime | None
    state: str


def after_answer(known: float, right: bool) -> float:
    """Chance of knowing a skill [-] after a right or a wrong answer, the learning by it included.

    Examples
    --------
    >>> round(after_answer(0.4, True), 4), round(after_answer(0.4, False), 4)
    (0.7875, 0.2154)
    """
    if right:
        was = known * (1.0 - SLIPS) / (known * (1.0 - SLIPS) + (1.0 - known) * GUESSES)
    else:
        was = known * SLIPS / (known * SLIPS + (1.0 - known) * (1.0 - GUESSES))
    return was + (1.0 - was) * LEARNS


def faded(known: float, days: float, interval: float) -> float:
    """Chance of knowing a skill [-] some days after it was used, for one that comes back after ``interval`` days.

    It never falls below where everybody starts, and what never got that far stays.

    Examples
    --------
    >>> faded(0.8, 0.0, 1.0), round(faded(0.8, 2.0, 1.0), 9), faded(0.3, 100.0, 1.0)
    (0.8, 0.6, 0.3)
    """
    won = max(known - KNOWN_FIRST, 0.0)
    return known - won * (1.0 - 0.5 ** (max(days, 0.0) / (HALF_LIVES * interval)))


def interval_of(stage: int) -> float:
    """Days after which a skill of a stage comes back [days].

    Examples
    --------
    >>> [interval_of(stage) for stage in range(5)]
    [1.0, 1.0, 7.0, 30.0, 30.0]
    """
    return SPACING[min(max(stage, 1), len(SPACING)) - 1]


def trace(skill: str, shown: Iterable[Shown], now: datetime) -> Skill:
    """Where one skill stands at a time, from all that was shown until then; of a case met again only the first time.

    Examples
    --------
    >>> from datetime import UTC
    >>> day = datetime(2026, 3, 2, tzinfo=UTC)
    >>> once = trace("time", [Shown("time", True, day, "a")], day)
    >>> round(once.known, 4), once.state, (once.due - day).days
    (0.7875, 'learning', 1)
    >>> trace("time", [Shown("time", True, day, "a")] * 3, day) == once
    True
    """
    known, stage, times, last = KNOWN_FIRST, 0, 0, None
    raised: datetime | None = None
    slips, proven = (
        0,
        False,
    )  # slips in a row; whether it was known, and still right after it had come back once
    for item in _first_meetings(each for each in shown if each.skill == skill and each.at <= now):
        proven = known >= MASTERED and stage >= 2 if item.right or not slips else proven
        known = after_answer(known, item.right)
        times, last = times + 1, item.at
        if not item.right:
            slips, raised = slips + 1, None
            stage = max(stage - 1, 1) if slips == 1 and proven else 0
            continue
        slips = 0
        if raised is None or _days(item.at - raised) >= ABOUT * interval_of(stage):
            stage, raised = min(stage + 1, len(SPACING)), item.at
    if last is None:
        return Skill(skill, known, 0, 0, None, None, "new")
    fresh, known = known, faded(known, _days(now - last), interval_of(stage))
    due = last if slips or not stage else last + timedelta(days=interval_of(stage))
    if slips:
        state = "due" if slips == 1 and proven else "weak"
    elif _days(now - last) >= ABOUT * interval_of(stage):
        state = "due"
    elif fresh < WEAK:
        state = "weak"
    else:
        state = "known" if fresh >= MASTERED else "learning"
    return Skill(skill, known, times, stage, due, last, state)


def _first_meetings(shown: Iterable[Shown]) -> list[Shown]:
    """In order of time, each case only as it was met first; what has no case counts each time."""
    met: set[str] = set()
    out = []
    for item in sorted(shown, key=lambda each: each.at):
        if not item.case or item.case not in met:
            out.append(item)
        met.add(item.case)
    return out


def trace_all(shown: Sequence[Shown], now: datetime) -> dict[str, Skill]:
    """Where every skill stands at a time."""
    return {skill: trace(skill, shown, now) for skill in SKILLS}


def skill_of(family: str) -> str:
    """The skill that a family of faults asks for.

    Examples
    --------
    >>> skill_of("none"), skill_of("air_gets_in")
    ('good_or_gauge', 'air_gets_in')
    """
    return GOOD_OR_GAUGE if family in ("none", "instrument") else family


def skills_asked(faults: Sequence[str]) -> tuple[str, ...]:
    """The kinds of trouble that a call-out with these faults asks for; no faults: a good rig."""
    families = [FAULTS[name].family for name in faults if name in FAULTS] or ["none"]
    return tuple(dict.fromkeys(skill_of(family) for family in families))


def shown_by(sheet: Mapping[str, Any], faults: Sequence[str], at: datetime, case: str = "") -> list[Shown]:
    """What a stored mark sheet shows of which skills; a part that was not marked shows nothing, except a grave breach.

    Found and in good time count only where no hint was taken; not found counts either way.

    Parameters
    ----------
    sheet : as stored: ``parts`` with ``id``, ``points`` and ``out_of``, ``grave``, and ``hints`` taken since version 3.
    faults : ids of what was wrong.
    at : when it was marked.
    case : hash of the call-out.
    """
    points = {
        part["id"]: (float(part["points"]), float(part["out_of"]))
        for part in sheet.get("parts", ())
        if isinstance(part, Mapping) and part.get("id") and part.get("points") is not None
    }
    alone = not sheet.get("hints")
    out = []
    if FOUND in points:
        right = points[FOUND][0] >= FOUND_SHARE * points[FOUND][1]
        out += [Shown(skill, right, at, case) for skill in skills_asked(faults) if alone or not right]
    if ECONOMY in points:
        right = points[ECONOMY][0] >= TIME_SHARE * points[ECONOMY][1]
        out += [Shown(TIME, right, at, case)] if alone or not right else []
    if SAFETY in points and (points[SAFETY][0] > 0.0 or points[SAFETY][1] == 0.0 or sheet.get("grave")):
        safe = points[SAFETY][0] >= points[SAFETY][1] and not sheet.get("grave")
        out.append(Shown(SAFE_WORK, safe, at, case))
    return out


def shown_by_leaving(faults: Sequence[str], at: datetime, case: str = "") -> list[Shown]:
    """What a call shows that was begun and left for another one: its kind of trouble was not found.

    Examples
    --------
    >>> from datetime import UTC
    >>> [(each.skill, each.right) for each in shown_by_leaving(["belt_loose"], datetime(2026, 3, 2, tzinfo=UTC))]
    [('air_not_drawn_out', False)]
    """
    return [Shown(skill, False, at, case) for skill in skills_asked(faults)]


def shown_by_check(parts: Sequence[Any], at: datetime) -> list[Shown]:
    """What the check at the end of a lesson shows: each skill that it asks for once, whatever the number of questions.

    Parameters
    ----------
    parts : of its stored sheet, each with ``skill`` (the skill, a dot, what of it) and ``good``.
    at : when it was marked.

    Examples
    --------
    >>> from datetime import UTC
    >>> parts = [{"skill": "air_gets_in.size", "good": True}, {"skill": "gauge.shape", "good": False}]
    >>> [(each.skill, each.right) for each in shown_by_check(parts, datetime(2026, 3, 2, tzinfo=UTC))]
    [('air_gets_in', True)]
    """
    asked: dict[str, list[bool]] = {}
    for part in parts:
        name = str(part.get("skill", "")).partition(".")[0] if isinstance(part, Mapping) else ""
        if name in SKILLS:
            asked.setdefault(name, []).append(bool(part.get("good")))
    return [Shown(name, sum(good) >= FOUND_SHARE * len(good), at) for name, good in asked.items()]


def shown_in(store: Any, learner: str) -> tuple[Shown, ...]:
    """All that a learner's stored call-outs and lessons show, the oldest first; a trainer's marks come before others."""
    out: list[Shown] = []
    for row in store.list_attempts(learner):
        sheets = store.marks(row.attempt_id)
        by_trainer = [m for m in sheets if m.source == "trainer" and m.sheet.get("parts")]
        if not row.scenario_hash:
            for each in sheets:  # a check taken again is a chance of its own
                out += shown_by_check(each.sheet.get("parts", ()), datetime.fromisoformat(each.made_at))
            continue
        left = not sheets and row.ending == LEFT and row.events > 1
        if not sheets and not left:
            continue
        record = store.attempt_record(row.attempt_id)
        if "scenario" not in record:
            continue
        faults = [str(item["fault"]) for item in record["scenario"].get("faults", ())]
        if left:
            out += shown_by_leaving(faults, datetime.fromisoformat(row.made_at), row.scenario_hash)
            continue
        marks = (by_trainer or sheets)[-1]
        out += shown_by(marks.sheet, faults, datetime.fromisoformat(sheets[0].made_at), row.scenario_hash)
    return tuple(sorted(out, key=lambda each: each.at))


def _days(span: timedelta) -> float:
    return span.total_seconds() / 86400.0
