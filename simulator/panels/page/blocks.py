"""A block of a page: plain data with an "id" and a "kind" that the page can draw."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Block = dict[str, Any]
Builder = Callable[[], list[Block]]
