"""One source for compiled and plain physics: numba when it is installed, ordinary Python when it is not.

Machine code is cached in a folder numba can write (beside the source, else the user's cache). Where no folder is
writable the code is compiled in memory only. Set ``SIMULATOR_PLAIN_PYTHON=1`` to run without the compiler.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TypeVar

F = TypeVar("F", bound=Callable[..., object])

PLAIN = os.environ.get("SIMULATOR_PLAIN_PYTHON", "") not in ("", "0")

if not PLAIN:
    try:
        import numba
    except ImportError:
        PLAIN = True


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
        return numba.njit(function, cache=True, nogil=True, error_model="numpy")  # type: ignore[no-any-return]
    except RuntimeError:  # no writable cache folder
        return numba.njit(function, nogil=True, error_model="numpy")  # type: ignore[no-any-return]
