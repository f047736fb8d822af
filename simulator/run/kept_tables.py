"""Ejector tables of the yard's rigs in good order, kept in the package: a rig that is opened cold need not make its own.

``python -m simulator.run.make_tables`` makes them anew; that the model still gives them is for a test to say.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

import numpy as np

FILE = Path(__file__).parent / "data" / "ejectors.npz"


def name_of(values: tuple[float, ...]) -> str:
    """Name under which the table of a shape is kept; ``values``: the numbers of the shape, as the table is made from.

    Examples
    --------
    >>> len(name_of((1.0, 2.0)))
    32
    """
    return hashlib.blake2b(repr(values).encode(), digest_size=16).hexdigest()


@lru_cache(maxsize=1)
def _kept() -> dict[str, np.ndarray]:
    if not FILE.exists():
        return {}
    with np.load(FILE) as file:
        return {name: file[name] for name in file.files}


def packed(dead: np.ndarray, flow: np.ndarray) -> np.ndarray:
    """Values of a table in one array, shape (1 + suction nodes, motive nodes) [-].

    dead: dead pressures with their slopes, shape (motive nodes, 2); flow: flows with theirs, shape (suction nodes,
    motive nodes, 4). Slopes are left out.
    """
    return np.vstack([dead[None, :, 0], flow[:, :, 0]])


def kept_table(values: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray] | None:
    """The kept table of a shape's ``values``, its slopes nought; None where none is kept.

    Examples
    --------
    >>> kept_table((0.0,)) is None
    True
    """
    found = _kept().get(name_of(values))
    if found is None:
        return None
    dead, flow = np.zeros((found.shape[1], 2)), np.zeros((found.shape[0] - 1, found.shape[1], 4))
    dead[:, 0], flow[:, :, 0] = found[0], found[1:]
    return dead, flow
