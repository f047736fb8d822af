"""Papers on a lesson page: yard cards and forms to print, and a watched job typed back beside the marks."""

from __future__ import annotations

from typing import Any

from simulator.errors import InputError
from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.rig.presets import load_rig, rig_names
from simulator.texts import text

FORM = "form"


class Shelf:
    """The sheets that can be printed from a page; each is made when it is asked for.

    Examples
    --------
    >>> Shelf().part().block("make")["buttons"][0]["action"]
    'make'
    """

    def __init__(self) -> None:
        self.made: dict[str, str] = {}
        self._part: LessonPart | None = None

    def part(self) -> LessonPart:
        """The part of the page; asked for again, it is the same one."""
        if self._part is None:
            self._part = LessonPart("papers", self._blocks, self._act)
        return self._part

    def sheet(self, name: str) -> str:
        """A sheet as HTML: a rig's card, or the form.

        Parameters
        ----------
        name : of a rig, or of the form.

        Raises
        ------
        InputError : there is no such sheet.
        """
        if name not in (*rig_names(), FORM):
            raise InputError(f"there is no sheet {name!r}", "papers", ", ".join((*rig_names(), FORM)))
        if name not in self.made:
            # here, as the reasoning behind a card is slow to load
            from simulator.panels.papers.card import yard_card
            from simulator.panels.papers.job_form import job_form

            self.made[name] = job_form() if name == FORM else yard_card(name)
        return self.made[name]

    def _blocks(self) -> list[Block]:
        blocks: list[Block] = [
            {
                "id": "papers",
                "kind": "heading",
                "text": text("papers.shelf.title"),
                "paragraphs": [text("papers.shelf.intro")],
            }
        ]
        left = [name for name in (*rig_names(), FORM) if name not in self.made]
        if left:
            buttons = [{"label": _label(name), "action": "make", "args": {"sheet": name}} for name in left]
            blocks.append({"id": "make", "kind": "buttons", "buttons": buttons})
        for name, page in self.made.items():
            label = text("papers.shelf.open", name=_label(name))
            blocks.append({"id": f"sheet:{name}", "kind": "printout", "label": label, "html": page})
        return blocks

    def _act(self, action: str, args: dict[str, Any], click: str) -> str:
        if action != "make":
            raise InputError(f"there is no act {action!r} here")
        self.sheet(str(args.get("sheet", "")))
        self.part().refresh()
        return text("papers.shelf.ready")


def _label(name: str) -> str:
    if name == FORM:
        return text("papers.job.title")
    return text("papers.card.title", rig=load_rig(name).title)


def shelf(session: LearnerSession | None = None) -> LessonPart:
    """The shelf of sheets as a part for any page.

    Parameters
    ----------
    session : whose units and language count; one of its own by default.

    Examples
    --------
    >>> shelf().name
    'papers'
    """
    return Shelf().part()
