"""Simulated hypotheses of the call-outs that come with the simulator, kept small in the package.

Needles are kept to 10 Pa of vacuum and 200 Pa of motive air, chances in half precision. A set is found by what it was
made from; that the model still gives it is for a test to say.

Throughout: ``arrays`` are those of a set, by name.
"""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from simulator.diagnosis.hypotheses import Hypothesis
from simulator.rig.rig import Rig, Site
from simulator.rig.trainer import overrides

FOLDER = Path(__file__).parent / "data"
UNITS = np.array([10.0, 200.0])  # [Pa] of one step of the suction and of the motive needle
LEAST = 1e-7  # [-] no chance is ever nought

Arrays = dict[str, np.ndarray]


def key_of(rig: Rig, site: Site, hypotheses: Sequence[Hypothesis]) -> str:
    """A fingerprint of what a set is made from: rig, site, faults with sizes and places, thresholds that a trainer set.

    The site's name and the weights of faults are left out: they change nothing of what is simulated.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> len(key_of(load_rig("osier"), standard_site(), ()))
    32
    """
    what = [(h.fault, h.size, h.place, h.second, *((h.late,) if h.late else ())) for h in hypotheses]
    written = repr((rig, replace(site, name=""), what, sorted(overrides().thresholds.items())))
    return hashlib.blake2b(written.encode(), digest_size=16).hexdigest()


def packed(arrays: Arrays) -> Arrays:
    """The same, small: what simulation gives less what can be worked out again."""
    needles = np.round(arrays["needles"] / UNITS[:, None]).astype(np.int32)
    steps = np.diff(needles, axis=2, prepend=0).astype(np.int16)
    names = [name for name in arrays if name.startswith("check ")]
    return {
        "needles": steps,
        "prime_times": arrays["prime_times"].astype(np.float32),
        "outcomes": arrays["outcomes"].astype("S16"),
        "checks": np.array(names),
        "shapes": np.array([arrays[name].shape[1:] for name in names]),
        "chances": np.concatenate(
            [arrays[name].reshape(len(needles), -1) for name in names], axis=1
        ).T.astype(np.float16),
    }


def unpacked(small: Arrays) -> Arrays:
    """What was packed, chances together 1 again."""
    out = {
        "needles": np.cumsum(small["needles"].astype(np.int64), axis=2) * UNITS[:, None],
        "prime_times": small["prime_times"].astype(float),
        "outcomes": small["outcomes"].astype(str),
    }
    chances, first = small["chances"].T.astype(float), 0
    for name, (times, outcomes) in zip(small["checks"].tolist(), small["shapes"].tolist(), strict=True):
        values = np.maximum(chances[:, first : first + times * outcomes], LEAST).reshape(-1, times, outcomes)
        out[name] = values / values.sum(axis=2, keepdims=True)
        first += times * outcomes
    return out


def load(key: str) -> Arrays | None:
    """The set of a key; None where none is kept, or it cannot be read.

    Examples
    --------
    >>> load("0" * 32) is None
    True
    """
    try:
        with np.load(FOLDER / f"{key}.npz", allow_pickle=False) as stored:
            return unpacked({name: stored[name] for name in stored.files})
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def save(key: str, arrays: Arrays) -> Path:
    """Keep a set under its key."""
    FOLDER.mkdir(exist_ok=True)
    path = FOLDER / f"{key}.npz"
    np.savez_compressed(path, allow_pickle=False, **packed(arrays))
    return path
