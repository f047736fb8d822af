"""The words of a lesson's own area of the catalogue, and the small blocks that all its parts use."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from simulator.panels.page.blocks import Block
from simulator.panels.teaching.course import Course
from simulator.texts import entry, text


def no_fields(key: str) -> dict[str, str]:
    """Nothing to put into the sentences of a key."""
    return {}


class Phrases:
    """Sentences of an area.

    Parameters
    ----------
    area : of the catalogue, such as ``lesson_03``.
    course : where the learner stands.
    fields : ``(key) -> dict`` what stands in the sentences of a key, beside what a caller gives.
    """

    def __init__(
        self, area: str, course: Course, fields: Callable[[str], dict[str, str]] = no_fields
    ) -> None:
        self._area, self._course, self._fields = area, course, fields

    def words(self, key: str, **fields: str) -> list[str]:
        """Sentences of this lesson's area."""
        own = self._fields(key)
        return [str(each).format(**own, **fields) for each in entry(f"{self._area}.{key}")]

    def said(self, key: str, **fields: Any) -> str:
        """One sentence of this lesson's area."""
        return text(f"{self._area}.{key}", **fields)

    def part_head(self, step: str) -> Block:
        """The heading of a step with its intro."""
        return {
            "id": "heading",
            "kind": "heading",
            "text": self.said(f"steps.{step}"),
            "paragraphs": self.words(f"intro.{step}"),
        }

    def wait_block(self, step: str) -> list[Block]:
        """What has to be done before a step, in words; nothing when it is open."""
        first = self._course.waits_for(step)
        if not first:
            return []
        said = text("teaching.wait", what=self.said(f"steps.{first}"))
        return [{"id": "wait", "kind": "notice", "tone": "quiet", "paragraphs": [said]}]

    def plain(self, block_id: str, *sentences: str, to: str = "", back: bool = False) -> Block:
        """A notice that says where to go on, with a button to that step or to what comes next; ``back`` is further up.

        Parameters
        ----------
        block_id : by which the page knows it.
        """
        block: Block = {
            "id": block_id,
            "kind": "notice",
            "tone": "plain",
            "paragraphs": list(sentences),
            "arrive": "nearest",
        }
        if to:
            name = text("teaching.next_title") if to == "what_next" else self.said(f"steps.{to}")
            block["to"] = {"part": to, "label": text(f"teaching.{'back' if back else 'on'}_to", what=name)}
        return block


def button(block_id: str, label: str, action: str, primary: bool = True, **args: Any) -> Block:
    """A button by itself.

    Parameters
    ----------
    block_id : by which the page knows it.
    label : on it.
    action : that a click asks for.
    primary : whether it is the plain next step.
    """
    pressed = {"label": label, "action": action, "args": args, "primary": primary}
    return {"id": block_id, "kind": "buttons", "buttons": [pressed], "arrive": "nearest"}


def arriving(blocks: list[Block], how: str = "start") -> list[Block]:
    """The same blocks, the first of them brought into view when it comes.

    Parameters
    ----------
    how : "start": to the window's top; "nearest": just into it.
    """
    return [{**blocks[0], "arrive": how}, *blocks[1:]] if blocks else blocks
