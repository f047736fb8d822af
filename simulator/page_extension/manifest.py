"""The list of notebooks that open as pages: their fingerprints, and the words the page shows.

Run ``python -m simulator.page_extension.manifest`` after any change to a lesson, and with ``--check`` to see
whether the list is up to date. A notebook is a lesson when its metadata holds ``"lesson_page": true``.

Arguments, the same throughout: ``arguments`` words of the command line, those of this process by default.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.page_extension import NAME, labextensions_path
from simulator.texts import catalogue

FORMAT = 1
FLAG = "lesson_page"
KERNEL = ("kernelspec", "language_info")  # which kernel is asked for: the notebook program writes it anew
PATIENCE_S = 30  # after which a missing kernel is worth a sentence


def fingerprint(notebook: dict[str, Any]) -> str | None:
    """SHA-256 over all of a notebook that can act or be seen; None when it is no lesson.

    A lesson carries its flag and nothing that acts without being run: a notebook with saved outputs, attachments, saved
    widgets or other metadata of its own is none. The digest takes kind, metadata and source of every cell. Left out are
    what the notebook program itself writes (execution counts, cell ids, its note that a cell is trusted) and which
    kernel is asked for. Kept equal to ``fingerprint.js``.

    Parameters
    ----------
    notebook : the content of a notebook file of format 4.

    Returns
    -------
    64 hexadecimal digits, or None.

    Examples
    --------
    >>> cell = {"cell_type": "code", "source": ["1 + 1"], "outputs": [], "metadata": {}}
    >>> lesson = {"metadata": {"lesson_page": True}, "cells": [cell]}
    >>> len(fingerprint(lesson))
    64
    >>> fingerprint(lesson) == fingerprint(lesson | {"cells": [cell | {"source": "1 + 1", "id": "a"}]})
    True
    >>> fingerprint(lesson | {"cells": [cell | {"outputs": [{"output_type": "stream"}]}]}) is None
    True
    >>> fingerprint({"metadata": {}, "cells": [cell]}) is None
    True
    """
    metadata = notebook.get("metadata", {})
    if metadata.get(FLAG) is not True or set(metadata) - {FLAG, *KERNEL}:
        return None
    digest = hashlib.sha256(f"{FLAG}:true\n".encode())
    for cell in notebook["cells"]:
        if cell.get("outputs") or cell.get("attachments"):
            return None
        of_cell = dict(cell.get("metadata", {}))
        if cell["cell_type"] == "code":
            of_cell.pop("trusted", None)
        source = cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])
        for part in (_canonical(of_cell), source.replace("\r\n", "\n")):
            content = part.encode("utf-8", "surrogatepass")
            digest.update(f"{cell['cell_type']}:{len(content)}\n".encode() + content + b"\n")
    return digest.hexdigest()


def _canonical(value: Any) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def lessons_folder() -> Path:
    """The lessons of this source tree.

    Raises
    ------
    InputError : the package was installed without them.
    """
    folder = Path(__file__).parents[2] / "lessons"
    if not folder.is_dir():
        raise InputError(
            "there are no lessons beside the package", str(folder), "a source tree with its lessons"
        )
    return folder


def build(lessons: Path) -> dict[str, Any]:
    """The manifest of a folder of lessons, ready to be written as JSON.

    Raises
    ------
    InputError : a notebook cannot be read.
    """
    listed = []
    for path in sorted(lessons.rglob("*.ipynb")):
        name = path.relative_to(lessons).as_posix()
        if any(part.startswith(".") for part in path.relative_to(lessons).parts):
            continue
        try:
            notebook = json.loads(path.read_text(encoding="utf-8"))
        except ValueError as error:
            raise InputError(
                f"the notebook is not readable: {error}", name, "a notebook file in JSON"
            ) from error
        if digest := fingerprint(notebook):
            listed.append({"name": name, "sha256": digest})
    words = {"en": catalogue("en")["page"]}
    return {"format": FORMAT, "patience_s": PATIENCE_S, "lessons": listed, "words": words}


def manifest_path() -> Path:
    """Where the manifest stands.

    Examples
    --------
    >>> manifest_path().name
    'manifest.json'
    """
    return labextensions_path() / NAME / "static" / "manifest.json"


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the manifest, or with ``--check`` compare it; 0 when all is well."""
    parser = argparse.ArgumentParser(
        prog="python -m simulator.page_extension.manifest", description=main.__doc__
    )
    parser.add_argument("--check", action="store_true", help="only say whether the manifest is up to date")
    options = parser.parse_args(arguments)
    try:
        return _write_or_compare(options.check)
    except (InputError, OSError, ValueError) as error:
        sys.stderr.write(f"The manifest cannot be made: {error}\n")
        return 1


def _write_or_compare(check: bool) -> int:
    text = json.dumps(build(lessons_folder()), indent=1, ensure_ascii=False) + "\n"
    path = manifest_path()
    same = path.is_file() and path.read_text(encoding="utf-8") == text
    if check:
        sys.stdout.write("The manifest is up to date.\n" if same else "The manifest is out of date.\n")
        return 0 if same else 1
    if not same:
        path.write_text(text, encoding="utf-8", newline="\n")
    sys.stdout.write(f"{path.name}: {text.count('sha256')} lessons.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
