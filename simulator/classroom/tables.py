"""What the trainer takes away of a class: tables for a spreadsheet, with units in their headings.

Throughout: ``calls`` are summaries of call-outs, ``words`` the trainer's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from simulator.classroom.after_class import SignOff, certainty, passed, remarks, taken_for
from simulator.classroom.seen import BREACHES, Seen
from simulator.classroom.seen_words import ended_words, local_time, rig_words, suspect_words, trouble_words
from simulator.classroom.trainer_words import Word
from simulator.records.export import csv_text

CALLS = (
    *("learner", "call", "rig", "kind_of_trouble", "what_was_wrong", "level", "mode", "begun", "last_act"),
    *("how_it_ended", "marks_of_100", "passed", "trainers_marks_of_100", "remark", "remark_by", "taken_for"),
    # of the last call's ten markers: those on what it was taken for, and those on what was wrong
    *("markers_on_taken_for_of_10", "markers_on_what_was_wrong_of_10"),
    *("yard_min", "starts", "looks", "works", "hints", "breaches"),
    *(f"{how}_breaches" for how in BREACHES),
    # the same by the names that programs use
    *("attempt_id", "rig_name", "trouble_names", "fault_names", "taken_for_name", "ended_name"),
    *("begun_utc", "last_act_utc"),
)
SIGN_OFFS = (
    *("learner", "rig", "kind_of_trouble", "calls_done", "calls_passed", "best_marks_of_100", "best_on"),
    *("signed_off", "signed_off_by", "valid_until", "rig_name", "trouble_name", "signed_off_utc"),
)


def calls_csv(calls: Iterable[Seen], words: Iterable[Word]) -> str:
    """A row a call-out that somebody began (RFC 4180); text that a spreadsheet takes for a formula is made harmless.

    Examples
    --------
    >>> calls_csv([], []).startswith("learner,call,rig,")
    True
    """
    said = remarks(words)
    return csv_text(CALLS, (_call_row(call, said.get(call.attempt_id)) for call in calls))


def _call_row(call: Seen, word: Word | None) -> Sequence[Any]:
    graded = [how for how, _, _ in call.breaches]
    stated = call.calls[-1][1] if call.calls else {}
    taken = taken_for(call)
    ended = call.ended or ("" if call.finished else "open")
    return (
        *(call.learner, call.title, rig_words(call.rig), trouble_words(call.troubles)),
        " + ".join(map(suspect_words, call.faults)),
        *(call.level or "", call.mode, local_time(call.made_at), local_time(call.last_at)),
        ended_words(call) if ended else "",
        "" if call.total is None else call.total,
        "" if call.total is None else ("yes" if passed(call) else "no"),
        *(("" if word.total is None else word.total, word.text, word.by) if word else ("", "", "")),
        suspect_words(taken),
        *((stated.get(taken, 0), certainty(call)[-1][1]) if stated else ("", "")),
        *(call.minutes, call.starts, len(call.looks), len(call.works), call.hints, len(graded)),
        *(graded.count(how) for how in BREACHES),
        *(call.attempt_id, call.rig, " + ".join(call.troubles), " + ".join(call.faults), taken, ended),
        *(call.made_at, call.last_at),
    )


def sign_offs_csv(lines: Iterable[SignOff]) -> str:
    """A row a line of the table of sign-offs (RFC 4180).

    Parameters
    ----------
    lines : of the table.

    Examples
    --------
    >>> sign_offs_csv([SignOff("=Ada", "osier", "air_gets_in", 2, 1, 81.0, "2026-03-02", None)]).splitlines()[1]
    "'=Ada,Osier,air gets in,2,1,81.0,2026-03-02,,,,osier,air_gets_in,"
    """
    return csv_text(
        SIGN_OFFS,
        (
            (
                *(line.person, rig_words(line.rig), trouble_words([line.trouble]), line.done, line.passed),
                *("" if line.best is None else line.best, line.day),
                *((local_time(line.word.at), line.word.by, line.word.until) if line.word else ("", "", "")),
                *(line.rig, line.trouble, line.word.at if line.word else ""),
            )
            for line in lines
        ),
    )
