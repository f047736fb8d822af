"""Sheets and pages with HTML, script and formulas in every text that a person may type."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser

from simulator.diagnosis.catalogue import page as catalogue_page
from simulator.marking.certificate_page import certificate_html
from simulator.marking.sitting_records import CaseResult, SittingLine, SittingResult
from simulator.panels.lessons.field_sheet.form import blank_form
from simulator.panels.lessons.field_sheet.printing import print_page
from simulator.panels.papers.card import yard_card
from simulator.rig.presets import load_rig, standard_site

SCRIPT = "<script>window.hurt = 1</script>"
PICTURE = '<img src="x" onerror="window.hurt = 2">'
CLOSING = '"\'></title></style><svg onload="window.hurt = 3">'
TEXTS = (SCRIPT, PICTURE, CLOSING, "{{ 7 * 7 }} {pull} %s", "</td></table><b>bold</b>")
HOSTILE = " ".join((PICTURE, SCRIPT))  # fits a name, a title, a place


def certificate() -> str:
    """A certificate of somebody with an odd name, for calls with odd titles."""
    case = CaseResult(
        number=1, title=HOSTILE, attempt_id="a-1", total=80.0, automatic=80.0, trainer=None, grave=False,
        truth=CLOSING, minutes=9.0, expert_minutes=8.0,
        parts=({"label": SCRIPT, "points": 40.0, "out_of": 40.0, "evidence": [PICTURE, CLOSING]},),
    )  # fmt: skip
    result = SittingResult(
        sitting_id="a", number=1, learner=HOSTILE, date="2026-03-02T07:10:00.000Z", total=80.0, grave=False,
        decision="passed", complete=True, version=2, model=SCRIPT, cases=(case,) * 5,
    )  # fmt: skip
    return certificate_html(result, (SittingLine(1, result.date, "passed", 80.0, "a"),))


def field_sheet() -> str:
    """The print of a field sheet on which somebody typed odd things."""
    form = blank_form() | {
        "where": HOSTILE,
        "remarks": "\n".join(TEXTS),
        "rows": [[PICTURE, SCRIPT, CLOSING], ["20", "18", "5"]],
        "watched": SCRIPT,
        "hose": PICTURE,
        "start": "dry",
        "looks": {SCRIPT: PICTURE},
    }
    suspect = {
        "name": SCRIPT,
        "what": PICTURE,
        "chance": "x",
        "share": 0.5,
        "for": [CLOSING],
        "against": [SCRIPT],
    }
    result = {
        "form": form, "made": SCRIPT, "fits": True, "proved": False, "expected": PICTURE, "rule": [CLOSING],
        "suspects": [suspect], "clashes": [SCRIPT], "left_out": "",
        "next": {"label": SCRIPT, "reason": PICTURE, "how": CLOSING, "protects": ""},
    }  # fmt: skip
    return print_page(result)


def card() -> str:
    """The yard card of a rig with an odd name at a site with an odd name."""
    rig = replace(load_rig("osier"), title=HOSTILE)
    return yard_card(rig, replace(standard_site(), name=CLOSING))


def catalogue() -> str:
    """The catalogue of such a rig."""
    return catalogue_page(replace(load_rig("osier"), title=HOSTILE), standard_site())


SHEETS = {"certificate": certificate, "field sheet": field_sheet, "yard card": card, "catalogue": catalogue}


class Elements(HTMLParser):
    """The elements of a page and what listens to events."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.listening: list[str] = []
        self.words: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.listening += [name for name, value in attrs if name.startswith("on") and "hurt" in (value or "")]

    def handle_data(self, data: str) -> None:
        self.words.append(data)
