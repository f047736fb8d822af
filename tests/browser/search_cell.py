"""What somebody who writes code would try in a cell: look for the truth of a call in all that can be reached.

It runs in the learner's own kernel, which plays the call. Set before it: ``WANTED`` (patterns by name, none of which
finds itself), ``ROOTS`` (folders to look through), ``ANSWER`` (the file for what was found).
"""

from __future__ import annotations

import base64
import gc
import json
import os
import re
import stat
import sys
import zlib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

given: dict[str, Any] = globals()
LARGEST = 80_000_000  # [byte] of a file
WHOLE = 2_000_000_000  # [byte] of a region of memory
PACKED = (
    (re.compile(rb"[A-Za-z0-9+/]{120,}={0,2}"), base64.b64decode),
    (re.compile(rb"[0-9A-Za-z!#$%&()*+\-;<=>?@^_`{|}~]{120,}"), base64.b85decode),
)
patterns = {
    name: re.compile(written.encode("latin-1"), re.DOTALL) for name, written in given["WANTED"].items()
}
finds: list[list[str]] = []
looked = dict.fromkeys(("files", "folders", "refused", "processes", "own", "regions", "live"), 0)
others = {"environ": [0, 0], "mem": [0, 0]}  # of other accounts' processes: tried, read


def unpacked(raw: bytes) -> Iterator[bytes]:
    """All that can be unpacked of a file, one layer."""
    for bits in (15, -15, 31):
        with suppress(zlib.error):
            yield zlib.decompress(raw, bits)
    for pattern, decode in PACKED:
        for piece in pattern.findall(raw):
            with suppress(ValueError, zlib.error):
                yield zlib.decompress(decode(piece))


def look(raw: bytes, where: str, *, deep: bool = True) -> None:
    """Look for all that is wanted."""
    finds.extend([name, where] for name, pattern in patterns.items() if pattern.search(raw))
    if deep:
        for more in unpacked(raw):
            look(more, f"{where} (unpacked)", deep=False)


def look_at_file(path: Path) -> None:
    """One file."""
    try:
        about = path.lstat()
        if not stat.S_ISREG(about.st_mode) or about.st_size > LARGEST:
            return
        raw = path.read_bytes()
    except OSError:
        looked["refused"] += 1
        return
    looked["files"] += 1
    look(raw, str(path))


def look_at_memory(folder: Path, mine: bool) -> None:
    """What a process can write to of its memory."""
    others["mem"][0] += not mine
    with suppress(OSError), (folder / "mem").open("rb", buffering=0) as memory:
        regions = (folder / "maps").read_text().splitlines()
        others["mem"][1] += not mine and bool(regions)
        for region in regions:
            span, rights, *_ = region.split()
            begin, end = (int(each, 16) for each in span.split("-"))
            if not rights.startswith("rw") or end - begin > WHOLE:
                continue
            with suppress(OSError, OverflowError):
                memory.seek(begin)
                look(memory.read(end - begin), str(folder / "mem"), deep=False)
                looked["regions"] += 1


def look_at_process(folder: Path) -> None:
    """What it was started with, and its memory."""
    mine = folder.stat().st_uid == os.getuid()
    looked["processes"] += 1
    looked["own"] += mine
    with suppress(OSError):
        look((folder / "cmdline").read_bytes(), str(folder / "cmdline"))
    others["environ"][0] += not mine
    with suppress(OSError):
        look((folder / "environ").read_bytes(), str(folder / "environ"))
        others["environ"][1] += not mine
    look_at_memory(folder, mine)


for root in given["ROOTS"]:
    for top, folders, names in os.walk(root):
        folders[:] = [each for each in folders if each not in ("site-packages", "proc", "sys")]
        looked["folders"] += 1
        for name in names:
            look_at_file(Path(top, name))
for process in Path("/proc").iterdir():
    if process.name.isdecimal():
        with suppress(OSError):
            look_at_process(process)
for thing in gc.get_objects():
    if type(thing).__name__ in ("Scenario", "Attempt", "AttemptState", "Case", "FaultChoice"):
        looked["live"] += 1
        look(repr(getattr(thing, "__dict__", thing)).encode(), f"a live {type(thing).__name__}", deep=False)
told = {"finds": finds, "looked": looked, "others": others, "uid": os.getuid(), "python": sys.executable}
Path(given["ANSWER"]).write_text(json.dumps(told), encoding="utf-8")
