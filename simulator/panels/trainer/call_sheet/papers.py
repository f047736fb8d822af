"""What is printed of a call sheet: the calls for learners, and the answers for the trainer.

Arguments, the same throughout: ``sheet`` the call sheet.
"""

from __future__ import annotations

from simulator.classroom.asking import in_a_class
from simulator.classroom.call_sheet import CallSheet
from simulator.classroom.kept_sealed import own_accounts
from simulator.marking.debrief import truth_of
from simulator.panels.lessons.practice_yard.call_book import book_folder, read_book
from simulator.panels.papers.sheet import sheet as page
from simulator.rig.presets import load_rig
from simulator.scenario import Scenario, scenario_hash
from simulator.texts import text


def not_sealed(sheet: CallSheet) -> str:
    """What has to stand on the papers of a sheet that is sealed for show alone; nothing where that is not so."""
    if not sheet.sealed or not in_a_class():
        return ""
    if not own_accounts():
        return text("sheets.not_sealed")
    known = {call.hash for call in read_book(book_folder())}
    all_of = [[call, *_others(sheet, n)] for n, call in enumerate(sheet.calls)]
    numbers = [str(n) for n, calls in enumerate(all_of, 1) if known & {scenario_hash(each) for each in calls}]
    return text("sheets.in_the_book", calls=", ".join(numbers)) if numbers else ""


def briefs_page(sheet: CallSheet) -> str:
    """The calls as learners read them, with room to write; nothing on it tells what is wrong."""
    calls = [
        {"head": _head(sheet, n), "brief": call.brief.strip(), "others": [
            {"head": each.title, "brief": each.brief.strip()} for each in _others(sheet, n)]}
        for n, call in enumerate(sheet.calls)
    ]  # fmt: skip
    title = text("sheets.papers.briefs_title", title=sheet.title)
    return page("call_sheet_briefs.html", title, calls=calls, drawn=sheet.drawn, not_sealed=not_sealed(sheet))


def answers_page(sheet: CallSheet) -> str:
    """What is wrong in each call, for the trainer alone."""
    rows = [
        (head, f"{load_rig(call.rig).title}, {call.site.name}", truth_of(call.what_is_wrong()))
        for n, first in enumerate(sheet.calls)
        for head, call in [
            (_head(sheet, n), first),
            *((text("sheets.papers.or", title=each.title), each) for each in _others(sheet, n)),
        ]
    ]
    title = text("sheets.papers.answers_title", title=sheet.title)
    return page("call_sheet_answers.html", title, rows=rows, drawn=sheet.drawn, not_sealed=not_sealed(sheet))


def _head(sheet: CallSheet, n: int) -> str:
    return text("sheets.papers.call", n=n + 1, title=sheet.calls[n].title)


def _others(sheet: CallSheet, n: int) -> tuple[Scenario, ...]:
    return sheet.others[n] if sheet.drawn else ()
