"""Chance that repeats: numbers that look random but are functions of a seed and a name.

Nothing depends on how often or in which order they are asked for.
"""

from __future__ import annotations

import hashlib

import numpy as np
import scipy

_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_MIX_1 = np.uint64(0xBF58476D1CE4E5B9)
_MIX_2 = np.uint64(0x94D049BB133111EB)


def key(*parts: object) -> int:
    """A 64-bit number from any printable parts.

    Examples
    --------
    >>> key(7, "suction") == key(7, "suction"), key(7, "suction") == key(8, "suction")
    (True, False)
    """
    written = "\x1f".join(str(part) for part in parts).encode("utf-8")
    return int.from_bytes(hashlib.blake2b(written, digest_size=8).digest(), "little")


def unit(*parts: object) -> float:
    """A number in [0, 1) from any printable parts.

    Examples
    --------
    >>> 0.0 <= unit("a", 1) < 1.0
    True
    """
    return (key(*parts) >> 11) * 2.0**-53


def normals(seed: int, index: np.ndarray) -> np.ndarray:
    """Standard normal numbers [-], each a function of the seed and its own whole number of ``index`` alone.

    Mixing: SplitMix64 (Steele, Lea & Flood 2014); normal by the inverse distribution function.

    Examples
    --------
    >>> a = normals(3, np.arange(5))
    >>> bool(a[4] == normals(3, np.array([4]))[0])
    True
    """
    with np.errstate(over="ignore"):
        mixed = np.asarray(index, dtype=np.int64).astype(np.uint64) * _GOLDEN + np.uint64(seed & (2**64 - 1))
        mixed = (mixed ^ (mixed >> np.uint64(30))) * _MIX_1
        mixed = (mixed ^ (mixed >> np.uint64(27))) * _MIX_2
        mixed ^= mixed >> np.uint64(31)
    uniform = ((mixed >> np.uint64(11)).astype(float) + 0.5) * 2.0**-53
    return np.asarray(scipy.special.ndtri(uniform))
