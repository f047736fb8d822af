"""What is kept of people is for its owner's eyes: folders 0700, files 0600, on systems that have such rights.

Throughout: ``path`` is a file, ``tighten`` asks that rights of others be taken away, ``content`` is text.
"""

from __future__ import annotations

import contextlib
import os
import stat
from pathlib import Path

FOLDER, FILE = 0o700, 0o600
#: What SQLite and we keep beside a database, by the end of its name.
BESIDE = ("", "-wal", "-shm", "-journal", "-heads")


def private_folder(folder: Path, *, tighten: bool) -> None:
    """Make a folder that nobody else can look into; one that is there is tightened where it is to be.

    A folder of somebody else's, one that everybody may write to (such as /tmp) and the home folder stay as they are.

    Raises
    ------
    OSError : it cannot be made.
    """
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    for each in reversed(missing):
        with contextlib.suppress(FileExistsError):
            each.mkdir(mode=FOLDER)
    if not missing and tighten and os.name == "posix":
        found = folder.stat()
        shared = found.st_mode & stat.S_ISVTX or folder.resolve() in (Path.home().resolve(), Path("/"))
        if found.st_uid == os.geteuid() and not shared and stat.S_IMODE(found.st_mode) & 0o077:
            folder.chmod(FOLDER)


def new_private_file(path: Path) -> bool:
    """Make an empty file for its owner alone; False where something of this name is there already.

    It is never opened where it exists: closing a file drops every lock this process has on it.
    """
    if path.exists():
        return False
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE))
    except FileExistsError:
        return False
    return True


def tighten_files(path: Path) -> None:
    """Take the rights of others from a database and from what lies beside it; by name, opening none of them."""
    if os.name != "posix":
        return
    for end in BESIDE:
        with contextlib.suppress(OSError):
            each = path.with_name(path.name + end)
            found = each.stat()
            if found.st_uid == os.geteuid() and stat.S_IMODE(found.st_mode) & 0o077:
                each.chmod(FILE)


def write_private(path: Path, content: str) -> None:
    """Write a text file for its owner alone, whole or not at all.

    Raises
    ------
    OSError : it cannot be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    handle = os.open(beside, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, FILE)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except OSError:
        beside.unlink(missing_ok=True)
        raise


def sync_folder(folder: Path) -> None:
    """Wait until a folder's own entries are on the disk, where the system can do that."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
