"""Ejector tables of the yard's rigs, kept in the package: a rig that is opened cold need not make its own.

They are kept in good order, and as worn or plugged as the hypotheses have them: a third of what these take to simulate.

``python -m simulator.diagnosis.make_tables`` makes them anew; that the model still gives them is for a test to say.
"""

from __future__ import annotations

import hashlib
import zipfile
from functools import lru_cache
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent / "data"
SOUND = "ejectors"  # the file of all rigs in good order; that of one rig's hypotheses has the rig's name behind it


def file_of(rig: str) -> Path:
    """Where the tables of a rig's hypotheses are kept; with :data:`SOUND` in place of a rig, those in good order."""
    return FOLDER / (f"{SOUND}.npz" if rig == SOUND else f"{SOUND}_{rig}.npz")


def name_of(values: tuple[float, ...]) -> str:
    """Name under which the table of a shape is kept; ``values``: the numbers of the shape, as the table is made from.

    Examples
    --------
    >>> len(name_of((1.0, 2.0)))
    32
    """
    return hashlib.blake2b(repr(values).encode(), digest_size=16).hexdigest()


@lru_cache(maxsize=1)
def _files() -> dict[str, Path]:
    """The file of each kept table by the table's name; only the lists of what is in them are read."""
    found = {}
    for file in sorted(FOLDER.glob(f"{SOUND}*.npz")):
        with zipfile.ZipFile(file) as held:
            found.update({name.removesuffix(".npy"): file for name in held.namelist()})
    return found


@lru_cache(maxsize=2)  # the tables themselves are held where they are used
def _kept(file: Path) -> dict[str, np.ndarray]:
    with np.load(file) as held:
        return {name: held[name] for name in held.files}


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
    name = name_of(values)
    file = _files().get(name)
    if file is None:
        return None
    found = _kept(file)[name]
    dead, flow = np.zeros((found.shape[1], 2)), np.zeros((found.shape[0] - 1, found.shape[1], 4))
    dead[:, 0], flow[:, :, 0] = found[0], found[1:]
    return dead, flow
