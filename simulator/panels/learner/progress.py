"""What the records say of a lesson: not begun, begun, done, weak, or due again."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from simulator.marking.sheet import marks_words
from simulator.panels.learner.next_call import PASS_MARK, PRACTICE_SLOT
from simulator.panels.learner.session import MODE, LearnerSession
from simulator.records import AttemptRow
from simulator.texts import text

#: Days after which a lesson done once, twice, three times and more comes back; common practice, no source.
SPACING_DAYS = (1, 7, 30)


def lesson_state(session: LearnerSession, number: str) -> tuple[str, str]:
    """State of a lesson (open, begun, done, weak, due) and the words for it.

    Parameters
    ----------
    session : of the learner.
    number : of the lesson, such as "03".
    """
    if number == "09":
        return _practice_state(session)
    if number == "10":
        return _assessment_state(session)
    if number == "field":  # nothing to be done or learned there: it waits beside the pump
        sheets = session.rows(number)
        return "open", text(f"lessons.states.field_{'begun' if sheets and sheets[-1].events else 'open'}")
    rows = [row for row in session.rows(number) if row.mode == MODE]
    marked = [(row, session.total(row.attempt_id)) for row in rows if row.finished]
    done = [(row, total) for row, total in marked if total is not None]
    if not done:
        begun = bool(rows) and rows[-1].events > 0
        return ("begun", text("lessons.states.begun")) if begun else ("open", text("lessons.states.open"))
    last, total = done[-1]
    if total < PASS_MARK:
        return "weak", text("lessons.states.weak", marks=f"{total:.0f}")
    days = days_since(session, last)
    passed = sum(1 for _, each in done if each >= PASS_MARK)
    if days >= SPACING_DAYS[min(passed, len(SPACING_DAYS)) - 1] and number != "00":
        return "due", text("lessons.states.due", days=days)
    return "done", text("lessons.states.done_marks", marks=f"{total:.0f}")


def days_since(session: LearnerSession, row: AttemptRow) -> int:
    """Whole days [-] since an attempt was begun, by the desk's clock.

    Parameters
    ----------
    session : whose clock counts.
    row : of the attempt.
    """
    return max((session.now() - datetime.fromisoformat(row.made_at)).days, 0)


def _assessment_state(session: LearnerSession) -> tuple[str, str]:
    from simulator.marking.certificate import history  # here, as home needs no marks before the first sitting

    mine = bool(session.name) and bool(session.rows("10"))
    store: Any = session.store
    lines = history(store, session.name) if mine else ()
    if not lines:
        return "open", text("lesson_10.states.none")
    last = lines[-1]
    words = text(f"lesson_10.states.{last.state}", marks=marks_words(last.total or 0.0))
    state = {"open": "begun", "unmarked": "begun", "passed": "done"}.get(last.state, "weak")
    return state, words


def _practice_state(session: LearnerSession) -> tuple[str, str]:
    rows = session.rows(PRACTICE_SLOT)
    totals = [total for row in rows if (total := session.total(row.attempt_id)) is not None]
    open_now = bool(rows) and not rows[-1].finished and rows[-1].events > 1
    if open_now:
        return "begun", text("lessons.states.yard_begun")
    if not totals:
        return "open", text("lessons.states.yard_open")
    words = text("lessons.states.yard_marks", n=len(totals), marks=f"{totals[-1]:.0f}")
    return ("weak" if totals[-1] < PASS_MARK else "done"), words
