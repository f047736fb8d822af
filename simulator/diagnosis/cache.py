"""A folder of one's own for what takes long to compute. Losing it costs only time.

The folder is the environment variable ``SIMULATOR_CACHE_DIR``, else the user's cache folder. Where nothing
can be written the results live in memory alone; a file that cannot be read is made anew.
"""

from __future__ import annotations

import os
import tempfile
import zipfile
from pathlib import Path

import numpy as np
from platformdirs import user_cache_path

from simulator.errors import InputError

Arrays = dict[str, np.ndarray]
KEPT = 8  # sets held in memory
_memory: dict[str, Arrays] = {}


def cache_folder() -> Path:
    """Where results are kept; it may not exist yet."""
    named = os.environ.get("SIMULATOR_CACHE_DIR", "")
    return Path(named) if named else user_cache_path("callout-simulator", appauthor=False)


def _path(key: str) -> Path:
    if not key.isalnum():
        raise InputError(f"{key!r} is not a key", "cache", "letters and digits")
    return cache_folder() / "hypotheses" / f"{key}.npz"


def load(key: str) -> Arrays | None:
    """Arrays kept under a key; None where there are none or the file is damaged.

    Examples
    --------
    >>> load("0" * 32) is None
    True
    """
    if key in _memory:
        return _memory[key]
    try:
        with np.load(_path(key), allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in stored.files}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
    _remember(key, arrays)
    return arrays


def save(key: str, arrays: Arrays) -> bool:
    """Keep arrays under a key; True when they are on disk too. A reader never sees half a file."""
    _remember(key, arrays)
    path = _path(key)
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as file:
            temporary = file.name
            np.savez_compressed(file, allow_pickle=False, **arrays)
        Path(temporary).replace(path)
    except OSError:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        return False
    return True


def forget() -> None:
    """Drop what is held in memory."""
    _memory.clear()


def _remember(key: str, arrays: Arrays) -> None:
    while len(_memory) >= KEPT:
        _memory.pop(next(iter(_memory)))
    _memory[key] = arrays
