"""After class: who did how well at what, what the class found hard, what was unsafe, who is signed off for what.

All of it comes from the summaries of records and the trainer's words; nothing is simulated and nothing is kept.

Throughout: ``calls`` are summaries of call-outs; ``words`` the trainer's; ``today`` is a day (ISO 8601).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from simulator.attempt.calls import SOMETHING_ELSE, top_suspect
from simulator.classroom.seen import LEFT, Seen
from simulator.classroom.trainer_words import BACK, REMARK, SIGNED, Word
from simulator.rig.trainer import overrides


@dataclass(frozen=True)
class Choice:
    """What is looked at: one person, rig, kind of trouble, from one day to another (ISO 8601); empty for all."""

    person: str = ""
    rig: str = ""
    trouble: str = ""
    first: str = ""
    last: str = ""

    def fits(self, call: Seen) -> bool:
        """Whether a call is among them.

        Parameters
        ----------
        call : of somebody.

        Examples
        --------
        >>> times = "2026-03-02T07:10:00Z", "2026-03-02T07:40:00Z"
        >>> one = Seen("a", "Ada", "call", "09", "practice", *times, True, rig="osier")
        >>> Choice(rig="osier", last="2026-03-02").fits(one), Choice(first="2026-03-03").fits(one)
        (True, False)
        """
        day = call.made_at[:10]
        return (
            self.person in ("", call.learner)
            and self.rig in ("", call.rig)
            and (not self.trouble or self.trouble in call.troubles)
            and (not self.first or day >= self.first)
            and (not self.last or day <= self.last)
        )


def chosen(seen: Iterable[Seen], choice: Choice) -> list[Seen]:
    """The call-outs that are looked at, the oldest first; one that was passed over untouched is none of anybody's work.

    Parameters
    ----------
    seen : summaries of all records.
    choice : what is looked at.
    """
    return [each for each in seen if each.is_call and not each.untouched and choice.fits(each)]


def taken_for(call: Seen) -> str:
    """What the last call took it for: a fault, "something_else", or nothing where no call was made.

    Parameters
    ----------
    call : of somebody.
    """
    return (top_suspect(call.calls[-1][1]) or SOMETHING_ELSE) if call.calls else ""


def certainty(call: Seen) -> list[tuple[float, int]]:
    """The curve of certainty: after so many minutes [min], so many of ten markers on what was wrong [-].

    A straight step from one statement to the next; before the first nothing was stated.

    Parameters
    ----------
    call : of somebody.

    Examples
    --------
    >>> made = (6.0, {"belt_loose": 4, "something_else": 6}), (15.0, {"belt_loose": 9, "something_else": 1})
    >>> call = Seen("a", "Ada", "call", "09", "practice", "", "", True, faults=("belt_loose",), calls=made, minutes=20.0)
    >>> certainty(call)
    [(0.0, 0), (6.0, 0), (6.0, 4), (15.0, 4), (15.0, 9), (20.0, 9)]
    """
    points, now = [(0.0, 0)], 0
    for minute, markers in call.calls:
        points.append((minute, now))
        now = sum(markers.get(name, 0) for name in call.faults)
        points.append((minute, now))
    return [*points, (max(call.minutes, points[-1][0]), now)]


@dataclass(frozen=True)
class Row:
    """Some calls together: how many begun and done [-], mean marks of 100 or None, passed and rightly called [-],
    mean minutes of the yard or None, grave breaches, lapses of safety and hints [-]; ``wrong`` what they were taken for
    and how often, ``weakest`` the part of the marks in which most was lost."""

    key: str
    calls: tuple[Seen, ...]
    done: int
    marks: float | None
    passed: int
    right: int
    minutes: float | None
    grave: int
    lapses: int
    hints: int
    wrong: tuple[tuple[str, int], ...]
    weakest: str

    @property
    def begun(self) -> int:
        """How many there are [-]."""
        return len(self.calls)


def together(key: str, calls: Sequence[Seen]) -> Row:
    """Some calls in one row.

    Parameters
    ----------
    key : by which the row is known.
    """
    done = [call for call in calls if call.finished and call.ended != LEFT]
    marked = [call.total for call in done if call.total is not None]
    wrong = Counter(took for call in done if (took := taken_for(call)) and took not in call.faults)
    lost: Counter[str] = Counter()
    for call in done:
        for name, points, out_of in call.parts:
            lost[name] += max(out_of - (points or 0.0), 0.0)  # type: ignore[assignment]
    return Row(
        key,
        tuple(calls),
        len(done),
        fmean(marked) if marked else None,
        sum(passed(call) for call in done),
        sum(taken_for(call) in call.faults for call in done),
        fmean(call.minutes for call in done) if done else None,
        sum(any(how == "grave" for how, _, _ in call.breaches) for call in calls),
        sum(len(call.breaches) for call in calls),
        sum(call.hints for call in calls),
        tuple(wrong.most_common(3)),
        lost.most_common(1)[0][0] if lost else "",
    )


def passed(call: Seen) -> bool:
    """Whether its automatic marks pass, under the passing mark in force here, and nothing grave happened.

    Parameters
    ----------
    call : of somebody.
    """
    return call.total is not None and not call.grave and call.total >= overrides().threshold("pass_mark")


def rows_by(calls: Sequence[Seen], key: Callable[[Seen], Iterable[str]]) -> list[Row]:
    """Calls in rows, in the order in which a key comes first; a call with several keys stands in each.

    Parameters
    ----------
    key : gives the keys of a call.

    Examples
    --------
    >>> call = Seen("a", "Ada", "call", "09", "practice", "", "", True, rig="osier", total=80.0, minutes=12.0)
    >>> row = rows_by([call, call], lambda each: [each.learner])[0]
    >>> row.key, row.begun, row.marks, row.minutes
    ('Ada', 2, 80.0, 12.0)
    """
    found: dict[str, list[Seen]] = {}
    for call in calls:
        for each in key(call):
            found.setdefault(each, []).append(call)
    return [together(name, own) for name, own in found.items()]


def hardest(rows: Iterable[Row]) -> list[Row]:
    """Rows that were marked, those with the fewest marks first.

    Parameters
    ----------
    rows : of calls, or of kinds of trouble.
    """
    return sorted((row for row in rows if row.marks is not None), key=lambda row: (row.marks or 0.0, row.key))


def unsafe(calls: Iterable[Seen]) -> list[tuple[str, str, int, tuple[str, ...]]]:
    """What was unsafe: how grave, the danger, how often [-] and by whom; the gravest and most frequent first."""
    found: dict[tuple[str, str], list[str]] = {}
    for call in calls:
        for how, danger, _ in call.breaches:
            found.setdefault((how, danger), []).append(call.learner)
    order = ("grave", "serious", "minor")
    rows = [(how, danger, len(who), tuple(dict.fromkeys(who))) for (how, danger), who in found.items()]
    return sorted(rows, key=lambda row: (order.index(row[0]), -row[2], row[1]))


def remarks(words: Iterable[Word]) -> dict[str, Word]:
    """The latest remark on each attempt, by its id."""
    return {word.attempt_id: word for word in words if word.kind == REMARK}


@dataclass(frozen=True)
class SignOff:
    """One line of the table: a person, a rig, a kind of trouble; calls done and passed [-], the best marks and their day,
    and the sign-off in force or run out (None: there is none)."""

    person: str
    rig: str
    trouble: str
    done: int
    passed: int
    best: float | None
    day: str
    word: Word | None

    def state(self, today: str) -> str:
        """``open``, ``valid`` or ``over``."""
        return "open" if self.word is None else "valid" if self.word.until >= today else "over"


def sign_offs(calls: Iterable[Seen], words: Iterable[Word], choice: Choice = Choice()) -> list[SignOff]:
    """The table, by person, rig and kind of trouble: all that was played to its end, and all that is signed off.

    Parameters
    ----------
    choice : what is looked at, for what is signed off without a call among those.
    """
    played: dict[tuple[str, str, str], list[Seen]] = {}
    for call in calls:
        if call.finished and call.ended != LEFT:
            for trouble in call.troubles:
                played.setdefault((call.learner, call.rig, trouble), []).append(call)
    signed: dict[tuple[str, str, str], Word | None] = {}
    for word in words:
        if word.kind in (SIGNED, BACK):
            signed[word.about, word.rig, word.trouble] = word if word.kind == SIGNED else None
    keys = {
        key for key, word in signed.items() if word is not None and _is_chosen(key, choice)
    } | played.keys()
    return [_line(key, played.get(key, []), signed.get(key)) for key in sorted(keys, key=_order)]


def _order(key: tuple[str, str, str]) -> tuple[str, ...]:
    return key[0].casefold(), *key


def _is_chosen(key: tuple[str, str, str], choice: Choice) -> bool:
    return all(
        want in ("", have)
        for want, have in zip((choice.person, choice.rig, choice.trouble), key, strict=True)
    )


def _line(key: tuple[str, str, str], calls: Sequence[Seen], word: Word | None) -> SignOff:
    best = max(
        (call for call in calls if call.total is not None), key=lambda call: call.total or 0.0, default=None
    )
    done, through = len(calls), sum(map(passed, calls))
    total, day = (best.total, best.made_at[:10]) if best else (None, "")
    return SignOff(*key, done, through, total, day, word)


def shares(statement: Mapping[str, int]) -> list[tuple[str, int]]:
    """Markers of a call by suspect, most first, each of ten [-].

    Parameters
    ----------
    statement : markers by suspect.

    Examples
    --------
    >>> shares({"belt_loose": 3, "something_else": 7})
    [('something_else', 7), ('belt_loose', 3)]
    """
    return sorted(((name, n) for name, n in statement.items() if n), key=lambda item: (-item[1], item[0]))
