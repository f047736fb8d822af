"""The page's script and style, put together from the files under ``screen`` into one module and one sheet."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

SCREEN = Path(__file__).parents[1] / "screen"

#: What comes first: helpers and drawings, then the screen that uses them.
ORDER = ("base", "palette", "dials", "trend", "picture", "exercise")


def screen_files(suffix: str) -> list[Path]:
    """The files of one kind under ``screen`` in the order they are put together.

    Examples
    --------
    >>> [path.name for path in screen_files(".js")][0]
    'palette.js'
    """

    def place(path: Path) -> tuple[int, str]:
        stem = path.stem.split("_")[0]
        return (ORDER.index(stem) if stem in ORDER else len(ORDER), path.name)

    return sorted((path for path in SCREEN.glob(f"*{suffix}") if place(path)[0] < len(ORDER)), key=place)


@lru_cache(maxsize=1)
def exercise_script() -> str:
    """One ES module for the whole exercise screen; its files share one scope and export one ``render``."""
    parts = [f"// {path.name}\n{path.read_text(encoding='utf-8')}" for path in screen_files(".js")]
    return "\n".join(parts) + "\nexport default { render };\n"


@lru_cache(maxsize=1)
def exercise_style() -> str:
    """One style sheet for the whole exercise screen."""
    return "\n".join(path.read_text(encoding="utf-8") for path in screen_files(".css"))
