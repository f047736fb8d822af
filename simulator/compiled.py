"""One source for compiled and plain physics: numba when it is installed, ordinary Python when it is not.

Machine code is cached in a per-user folder named after the content of every source file it could have been made from: a
changed formula in one file must not leave stale code of another behind. Where no folder is writable the code is compiled
in memory only. Set ``SIMULATOR_PLAIN_PYTHON=1`` to run without the compiler.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

F = TypeVar("F", bound=Callable[..., object])

PLAIN = os.environ.get("SIMULATOR_PLAIN_PYTHON", "") not in ("", "0")
_SOURCES = ("physics", "run", "instruments")


def user_cache_folder() -> Path:
    """Per-user folder for things that can be made again; ``SIMULATOR_CACHE_DIR`` overrides it.

    Examples
    --------
    >>> user_cache_folder().is_absolute()
    True
    """
    chosen = os.environ.get("SIMULATOR_CACHE_DIR")
    if chosen:
        return Path(chosen).expanduser().absolute()
    if os.name == "nt":
        base = os.environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base).absolute() / "callout-simulator"


def _source_fingerprint() -> str:
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for folder in _SOURCES:
        for path in sorted((here / folder).glob("*.py")):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _writable_cache() -> bool:
    """Point the compiler at the cache folder, or at ``SIMULATOR_COMPILED_DIR``; False where it cannot be written."""
    apart = os.environ.get("SIMULATOR_COMPILED_DIR")
    home = Path(apart).expanduser().absolute() if apart else user_cache_folder()
    folder = home / f"compiled-{_source_fingerprint()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError:
        return False
    numba.config.CACHE_DIR = str(folder)  # type: ignore[attr-defined]
    return True


if not PLAIN:
    try:
        import numba
    except ImportError:
        PLAIN = True
_CACHE = not PLAIN and _writable_cache()


def compiled_folder() -> Path | None:
    """Where this process keeps machine code; None where it keeps none.

    Examples
    --------
    >>> compiled_folder() is None or compiled_folder().name.startswith("compiled-")
    True
    """
    return Path(numba.config.CACHE_DIR) if _CACHE else None  # type: ignore[attr-defined]


def compiled(function: F) -> F:
    """Compile a scalar function of floats and arrays, or hand it back unchanged without a compiler.

    Division by zero follows IEEE rules when compiled and raises in plain Python: compiled functions must guard it.

    Examples
    --------
    >>> @compiled
    ... def double(x):
    ...     return 2.0 * x
    >>> double(1.5)
    3.0
    """
    if PLAIN:
        return function
    try:
        return numba.njit(function, cache=_CACHE, nogil=True, error_model="numpy")  # type: ignore[return-value]
    except RuntimeError:  # the function stands in no file that a cache could be kept for
        return numba.njit(function, nogil=True, error_model="numpy")  # type: ignore[return-value]
