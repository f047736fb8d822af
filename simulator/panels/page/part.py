"""One part of a lesson on the page: blocks of words, pictures and questions, and what a click asks for."""

from __future__ import annotations

import logging
import os
import weakref
from collections.abc import Callable
from typing import Any, ClassVar

import anywidget
import traitlets

from simulator.charts.curves import curve_figure
from simulator.classroom.handing_in import held_words
from simulator.errors import BrokenFile, InputError, RefusedAct, SimulatorError, broken_file
from simulator.panels.page import assets
from simulator.panels.page.blocks import Block, Builder
from simulator.panels.page.own_widgets import asking_page, own_widgets_only
from simulator.rig.safe_words import safe_lines
from simulator.texts import entry, text

Answerer = Callable[[dict[str, Any]], dict[str, Any]]
Actor = Callable[[str, dict[str, Any], str], str]  # action, its arguments, id of the click -> what to say

#: Blocks that hold no words of instruction: a picture, a list of lessons.
WORDLESS = ("picture", "lessons")
LEADS_ON = ("buttons", "notice")  # what leads on stays last
NOT_BUILT = "a part of a lesson could not be built"  # in the log
_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the learner's page


def with_figures(blocks: list[Block]) -> list[Block]:
    """The blocks, each chart among them with the figure that the page draws: made last, when nothing changes it any more.

    Examples
    --------
    >>> with_figures([{"id": "words", "kind": "prose"}])
    [{'id': 'words', 'kind': 'prose'}]
    """

    def drawn(block: Block) -> Block:
        if block.get("kind") == "chart":
            return block | {"figure": curve_figure(block)}
        if block.get("kind") == "planner":
            return block | {"chart": drawn(block["chart"])}
        if block.get("kind") == "pages":
            items = [item | {"figure": drawn(item["figure"])} for item in block["items"]]
            return block | {"items": items}
        return block

    return [drawn(block) for block in blocks]


def with_safe_work(blocks: list[Block]) -> list[Block]:
    """The blocks, and behind them how to do safely what their words tell somebody to do.

    Examples
    --------
    >>> [block["kind"] for block in with_safe_work([{"id": "a", "kind": "prose", "paragraphs": ["Pull the strainer."]}])]
    ['prose', 'safe']
    """
    lines = safe_lines([block for block in blocks if block["kind"] not in WORDLESS])
    if not lines:
        return blocks
    title = text("safe_work.first")
    at = len(blocks)
    while at and blocks[at - 1]["kind"] in LEADS_ON:
        at -= 1
    return [*blocks[:at], {"id": "safe_work", "kind": "safe", "title": title, "items": lines}, *blocks[at:]]


def broken_words(error: BrokenFile) -> list[str]:
    """What a learner is told of a broken file of the program: file, line and what would be legal, and what to do.

    Parameters
    ----------
    error : that tells of the file.

    Examples
    --------
    >>> broken_words(BrokenFile("no 'weight'", "simulator/rig/data/faults.yaml, line 6"))[0].split(": ", 1)[1]
    "simulator/rig/data/faults.yaml, line 6: no 'weight'."
    """
    what = str(error).rstrip(".")
    return [text("lessons.words.file_broken", what=what), text("lessons.words.file_broken_way")]


class LessonPart(anywidget.AnyWidget):
    """Some blocks of a lesson.

    Parameters
    ----------
    name : of the part, for style and tests.
    build : gives the blocks as they now are; each has an "id" and a "kind" the page can draw.
    act : does what a click asks for and gives a sentence to say, or an empty one.
    carry : answers messages about the file that work is saved in or loaded from.
    """

    _esm = assets.lesson_scripts()[0]
    _css = assets.built("lesson.css")
    #: By process and page: the part that brings script and style.
    _bearers: ClassVar[dict[tuple[int, str], weakref.ref[LessonPart]]] = {}

    content = traitlets.Dict().tag(sync=True)
    glossary = traitlets.Dict().tag(sync=True)  # words of the trade that the page links

    def __init__(self, name: str, build: Builder, act: Actor, carry: Answerer | None = None) -> None:
        own_widgets_only()
        if self._is_brought():
            self._esm, self._css = assets.lesson_scripts()[1], ""
        super().__init__(glossary=entry("glossary"))
        self.name, self._build, self._perform, self._carry = name, build, act, carry
        self.on_msg(self._receive)
        self.refresh()

    def _is_brought(self) -> bool:
        """Whether another part brings script and style to this page; else this one does from now on.

        They are most of what a page weighs, and it takes them once.
        """
        here = os.getpid(), asking_page()  # a kernel may be a fork, and one page come after another
        bearer = self._bearers[here]() if here in self._bearers else None
        if bearer is not None and bearer.comm is not None:
            return True
        self._bearers[here] = weakref.ref(self)
        return False

    def refresh(self) -> None:
        """Describe the part anew; the page is told only of a change."""
        self.show(self._built())

    def show(self, blocks: list[Block]) -> None:
        """Show blocks, such as what is said while the part itself is worked out.

        Parameters
        ----------
        blocks : each with an "id" and a "kind" that the page can draw.
        """
        content = {
            "part": self.name,
            "blocks": with_figures(with_safe_work(blocks)),
            "words": entry("lessons.words"),
            "picture_words": entry("picture"),
            "held": held_words(),
        }
        if content != self.content:
            self.content = content

    def _built(self) -> list[Block]:
        """The blocks; where they cannot be made, sentences: is a file of the program or a record why?"""
        try:
            return self._build()
        except Exception as error:  # noqa: BLE001 - one record must not take the page away
            _log.exception(NOT_BUILT)
            said = [text("lessons.words.part_broken"), text("lessons.words.part_broken_way")]
            if (broken := broken_file(error)) is not None:
                said = broken_words(broken)
            return [{"id": "broken", "kind": "notice", "tone": "wait", "paragraphs": said}]

    def block(self, block_id: str) -> Block:
        """A block as the page has it.

        Parameters
        ----------
        block_id : by which the page knows it.

        Raises
        ------
        KeyError : there is no such block.
        """
        for block in self.content["blocks"]:
            if block["id"] == block_id:
                return dict(block)
        raise KeyError(block_id)

    def _receive(self, _widget: Any, message: Any, _buffers: Any) -> None:
        """A click; whatever goes wrong comes back as a sentence, and the part lives on."""
        if not isinstance(message, dict):
            return
        if message.get("kind") == "carry" and self._carry is not None:
            self.send({"kind": "carried", "id": str(message.get("id", "")), **self._carried(message)})
            return
        if message.get("kind") == "script":  # the part that brought it is not on the page any more
            self.send(
                {"kind": "script", "script": assets.lesson_scripts()[0], "style": assets.built("lesson.css")}
            )
        if message.get("kind") != "do":
            return
        click = str(message.get("id", ""))
        arguments = message.get("args")
        try:
            said = self._perform(
                str(message.get("action", "")), dict(arguments) if isinstance(arguments, dict) else {}, click
            )
            accepted = True
        except RefusedAct as error:
            said, accepted = error.sentence, False
        except SimulatorError as error:
            said, accepted = text("lessons.words.failed", what=str(error).rstrip(".")), False
        except Exception:  # noqa: BLE001 - the part must outlive any click
            _log.exception("a click in a lesson failed")
            said, accepted = text("lessons.words.failed_quietly"), False
        self.send({"kind": "done", "id": click, "accepted": accepted, "sentence": said})

    def _carried(self, message: dict[str, Any]) -> dict[str, Any]:
        assert self._carry is not None
        try:
            return {"accepted": True, **self._carry(message)}
        except InputError as error:
            legal = f" {text('lessons.carry.wanted', what=error.legal)}" if error.legal else ""
            return {
                "accepted": False,
                "sentence": f"{error.what[:1].upper()}{error.what[1:].rstrip('.')}.{legal}",
            }
        except Exception:  # noqa: BLE001 - the part must outlive any file
            _log.exception("a work file failed")
            return {"accepted": False, "sentence": text("lessons.words.failed_quietly")}
