"""The notebooks of lessons and desks: a hint, then one cell a part, as the page's class lists them.

``python -m simulator.panels.lessons.notebooks`` writes those that differ; ``--check`` only says which.

Arguments, the same throughout: ``entry`` a lesson or desk of the registry; ``arguments`` words of the command line,
those of this process by default.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.panels.lessons.registry import DESKS, LESSONS, LessonEntry
from simulator.rig.command import command
from simulator.texts import text

HINT = "run-all-hint"
FIRST = 'from simulator.panels.lessons.registry import lesson\n\npage = lesson("{number}")\n'
METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
    "lesson_page": True,
}


def parts_of(entry: LessonEntry) -> tuple[str, ...]:
    """The parts on a page, by the names of its methods.

    Raises
    ------
    InputError : its page cannot be loaded, or lists no parts.

    Examples
    --------
    >>> parts_of(LESSONS["09"])
    ('aim', 'calls', 'what_next')
    """
    try:
        page = getattr(import_module(entry.module), entry.page)
    except Exception as error:  # whatever it is, it is told
        raise InputError(
            f"the page of lesson {entry.number} cannot be loaded: {error}", entry.module
        ) from error
    if not page.on_page:
        raise InputError(
            f"the page of lesson {entry.number} lists no parts",
            f"{entry.module}.{entry.page}",
            "on_page = (...)",
        )
    return tuple(page.on_page)


def notebook(entry: LessonEntry) -> dict[str, Any]:
    """The notebook of a page, as JSON.

    Raises
    ------
    InputError : its page cannot be loaded, or lists no parts.

    Examples
    --------
    >>> notebook(LESSONS["09"])["cells"][2]["source"]
    ['page.calls()']
    """
    fixed = {"deletable": False, "editable": False}
    cells: list[dict[str, Any]] = [
        {
            "cell_type": "markdown",
            "id": HINT,
            "metadata": {**fixed, "tags": [HINT]},
            "source": [text("lessons.words.run_all_hint")],
        }
    ]
    for number, part in enumerate(parts_of(entry)):
        source = f"{FIRST.format(number=entry.number) if number == 0 else ''}page.{part}()"
        cells.append(
            {
                "cell_type": "code",
                "id": part.replace("_", "-"),
                "metadata": dict(fixed),
                "execution_count": None,
                "outputs": [],
                "source": source.splitlines(keepends=True),
            }
        )
    return {"cells": cells, "metadata": METADATA, "nbformat": 4, "nbformat_minor": 5}


def written(entry: LessonEntry) -> str:
    """The notebook of a page as the text of its file.

    Raises
    ------
    InputError : its page cannot be loaded, or lists no parts.

    Examples
    --------
    >>> written(LESSONS["09"]).count("page.calls()")
    1
    """
    return json.dumps(notebook(entry), indent=1, ensure_ascii=False) + "\n"


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the notebooks that differ from what their pages list; with ``--check`` only say which, 1 if any.

    Raises
    ------
    InputError : the package was installed without lessons.
    """
    parser = argparse.ArgumentParser(prog="python -m simulator.panels.lessons.notebooks")
    parser.add_argument("--check", action="store_true", help="only say which would change")
    check = parser.parse_args(arguments).check
    folder, differ, broken = Path(__file__).parents[3] / "lessons", 0, 0
    if not folder.is_dir():
        raise InputError(
            "there are no lessons beside the package", str(folder), "a source tree with its lessons"
        )
    for entry in (*LESSONS.values(), *DESKS.values()):
        path = folder / entry.notebook
        try:
            wanted = written(entry)
        except InputError as error:  # one that is broken keeps no other from being written
            sys.stderr.write(f"{path.name}: {error}\n")
            broken += 1
            continue
        if path.is_file() and path.read_text(encoding="utf-8") == wanted:
            continue
        differ += 1
        if not check:
            path.write_text(wanted, encoding="utf-8", newline="\n")
        sys.stdout.write(f"{path.name}: {'differs' if check else 'written'}\n")
    return 1 if broken or (differ and check) else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
