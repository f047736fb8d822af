"""A block of a page: plain data with an "id" and a "kind" that the page can draw."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Block = dict[str, Any]
Builder = Callable[[], list[Block]]


def notice(block_id: str, tone: str, *paragraphs: str) -> Block:
    """Something said in a box of its own, in a tone the page knows: plain, quiet or wait.

    Parameters
    ----------
    block_id : by which the page knows it.
    """
    return {"id": block_id, "kind": "notice", "tone": tone, "paragraphs": list(paragraphs)}


def folded(block_id: str, title: str, *paragraphs: str) -> Block:
    """What only who wants to know more reads, folded away under its title.

    Parameters
    ----------
    block_id : by which the page knows it.
    """
    return {"id": block_id, "kind": "folded", "title": title, "paragraphs": list(paragraphs)}
