"""The page's scripts and styles: bundles under ``screen/built``, made from ``screen/src`` by ``npm run build`` there."""

from __future__ import annotations

from functools import cache
from pathlib import Path

SCREEN = Path(__file__).parents[1] / "screen"


@cache
def built(name: str) -> str:
    """A bundle by its file's name: ``exercise.js``, ``exercise.css``, ``lesson.js`` or ``lesson.css``.

    Returns
    -------
    str
        The text that is handed to the browser; a script is one ES module whose default export has ``render``.

    Raises
    ------
    OSError
        The file is missing from the installation.

    Examples
    --------
    >>> "render" in built("lesson.js")
    True
    """
    return (SCREEN / "built" / name).read_text(encoding="utf-8")
