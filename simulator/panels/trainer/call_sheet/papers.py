"""What is printed of a call sheet: the calls for learners, and the answers for the trainer.

Arguments, the same throughout: ``sheet`` the call sheet.
"""

from __future__ import annotations

from simulator.classroom.call_sheet import CallSheet
from simulator.marking.debrief import truth_of
from simulator.panels.papers.sheet import sheet as page
from simulator.rig.presets import load_rig
from simulator.texts import text


def briefs_page(sheet: CallSheet) -> str:
    """The calls as learners read them, with room to write; nothing on it tells what is wrong."""
    calls = [
        {"head": text("sheets.papers.call", n=n, title=call.title), "brief": call.brief.strip()}
        for n, call in enumerate(sheet.calls, 1)
    ]
    return page("call_sheet_briefs.html", text("sheets.papers.briefs_title", title=sheet.title), calls=calls)


def answers_page(sheet: CallSheet) -> str:
    """What is wrong in each call, for the trainer alone."""
    rows = [
        (
            text("sheets.papers.call", n=n, title=call.title),
            f"{load_rig(call.rig).title}, {call.site.name}",
            truth_of(call.what_is_wrong()),
        )
        for n, call in enumerate(sheet.calls, 1)
    ]
    return page("call_sheet_answers.html", text("sheets.papers.answers_title", title=sheet.title), rows=rows)
