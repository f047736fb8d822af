"""The page's scripts and styles: bundles under ``screen/built``, made from ``screen/src`` by ``npm run build`` there."""

from __future__ import annotations

import hashlib
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


@cache
def lesson_scripts() -> tuple[str, str]:
    """The script of a lesson's parts, and a short one for all parts but the first: it waits until the first has come.

    Both go by a name of the script's own content, so that two versions on one page do not mix.

    Examples
    --------
    >>> whole, short = lesson_scripts()
    >>> len(short) < len(whole) / 50, "SHARED_AS" in whole + short
    (True, False)
    """
    whole, short = built("lesson.js"), built("lesson_waits.js")
    name = f"lesson {hashlib.sha256(whole.encode()).hexdigest()[:16]}"
    return whole.replace("SHARED_AS", name), short.replace("SHARED_AS", name)
