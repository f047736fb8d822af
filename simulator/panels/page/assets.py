"""Script and style of the lesson parts, put together from files under ``screen``."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

SCREEN = Path(__file__).parents[1] / "screen"
#: Drawings a lesson shares with the exercise screen, then its own; each name is a file or the start of some.
SCRIPTS = ("palette.js", "dials.js", "picture_*.js", "trend_scale.js", "exercise_nodes.js", "lesson_*.js")
STYLES = ("base.css", "picture.css", "lesson*.css")


def lesson_files(patterns: tuple[str, ...]) -> list[Path]:
    """The files in the order they are put together.

    Examples
    --------
    >>> [path.name for path in lesson_files(SCRIPTS)][:2]
    ['palette.js', 'dials.js']
    """
    return [path for pattern in patterns for path in sorted(SCREEN.glob(pattern))]


@lru_cache(maxsize=1)
def lesson_script() -> str:
    """One ES module for a part of a lesson; all its files share one scope."""
    parts = [f"// {path.name}\n{path.read_text(encoding='utf-8')}" for path in lesson_files(SCRIPTS)]
    return "\n".join(parts) + "\nexport default { render: lessonRender };\n"


@lru_cache(maxsize=1)
def lesson_style() -> str:
    """One style sheet for a part of a lesson."""
    return "\n".join(path.read_text(encoding="utf-8") for path in lesson_files(STYLES))
