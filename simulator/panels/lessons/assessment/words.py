"""Sentences, headings and buttons of lesson 10."""

from __future__ import annotations

from typing import Any

from simulator.panels.page.blocks import Block
from simulator.texts import text

AREA = "lesson_10"


def said(key: str, **fields: Any) -> str:
    """A sentence of this lesson.

    Parameters
    ----------
    key : of the sentence, under this lesson's.
    """
    return text(f"{AREA}.{key}", **fields)


def heading(key: str, paragraphs: list[str] | None = None) -> Block:
    """A heading with paragraphs under it.

    Parameters
    ----------
    key : of its words, under this lesson's.
    """
    return {"id": "heading", "kind": "heading", "text": said(key), "paragraphs": paragraphs or []}


def a_button(key: str, action: str, *, primary: bool = True, **args: Any) -> dict[str, Any]:
    """A button of a row.

    Parameters
    ----------
    key : of its words, under this lesson's.
    action : that a click asks for.
    primary : whether it is the plain next step.
    """
    return {"label": said(key), "action": action, "args": args, "primary": primary}
