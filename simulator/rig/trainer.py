"""A trainer's own figures: weights of faults, minutes of checks and remedies, and what counts as proof.

The file is named by the environment variable ``SIMULATOR_TRAINER_FILE``. What is not in it stays as it comes with the
package::

    format: trainer-figures
    version: 1
    weights: {drain_open: 0.4}
    minutes: {walk_round: 2, clean_strainer: 10}
    thresholds: {proof_factor: 1.3, proof_slack_s: 20}
    marks: {found: 50, economy: 20, safety: 25, understanding: 5}

``marks`` weighs the four parts of a mark sheet; they are brought to 100 together.
"""

from __future__ import annotations

import difflib
import math
import os
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.rig.plain_yaml import Document, read_file

VARIABLE = "SIMULATOR_TRAINER_FILE"
MAX_MINUTES = 240.0
MAX_MARKS = 100.0
#: Every threshold a trainer may set: the figure that comes with the package, and its legal range.
THRESHOLDS: dict[str, tuple[float, float, float]] = {
    "proof_factor": (1.25, 1.0, 3.0),  # a proof may take this times the sound rig's time
    "proof_slack_s": (15.0, 0.0, 120.0),  # and this much more
    "proof_flow": (0.85, 0.3, 0.98),  # share of the sound rig's flow that counts as pumping well
}

MARK_PARTS = ("found", "economy", "safety", "understanding")


@dataclass(frozen=True)
class Overrides:
    """Figures of a trainer by id: weights [-], minutes [min], thresholds in the unit their name ends in, marks [-]."""

    weights: dict[str, float] = field(default_factory=dict)
    minutes: dict[str, float] = field(default_factory=dict)
    thresholds: dict[str, float] = field(default_factory=dict)
    marks: dict[str, float] = field(default_factory=dict)

    def threshold(self, name: str) -> float:
        """A threshold, the trainer's or the package's.

        Examples
        --------
        >>> Overrides(thresholds={"proof_factor": 1.5}).threshold("proof_factor")
        1.5
        >>> Overrides().threshold("proof_slack_s")
        15.0
        """
        return self.thresholds.get(name, THRESHOLDS[name][0])

    def minutes_of(self, name: str, usual: float) -> float:
        """Minutes [min] of a check or remedy.

        Examples
        --------
        >>> Overrides(minutes={"belt": 6.0}).minutes_of("belt", 4.0)
        6.0
        """
        return self.minutes.get(name, usual)


def read_overrides(
    path: Path | str, *, faults: tuple[str, ...] = (), acts: tuple[str, ...] = ()
) -> Overrides:
    """A trainer's file. Ids are looked up where ``faults`` or ``acts`` (checks and remedies) are given.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    document = read_file(path)
    data = dict(document.data) if isinstance(document.data, dict) else {}
    if data.pop("format", None) != "trainer-figures" or data.pop("version", None) != 1:
        raise InputError(
            "this is another kind of file", document.where(()), "format: trainer-figures, version: 1"
        )
    for key in data:
        if key not in ("weights", "minutes", "thresholds", "marks"):
            raise InputError(
                f"{key!r} is not a key of this file",
                document.where((key,)),
                "weights, minutes, thresholds, marks",
            )
    legal = {"weights": faults, "minutes": acts, "thresholds": tuple(THRESHOLDS), "marks": MARK_PARTS}
    found = {name: _figures(document, data.get(name) or {}, name, legal[name]) for name in legal}
    if len(found["marks"]) == len(MARK_PARTS) and not any(found["marks"].values()):
        raise InputError("no part has any marks", document.where(("marks",)), "at least one above 0")
    if found["weights"] and not any(value > 0.0 for value in found["weights"].values()):
        raise InputError("no weight is above 0", document.where(("weights",)), "at least one above 0")
    return Overrides(**found)


def _figures(document: Document, data: Any, group: str, names: tuple[str, ...]) -> dict[str, float]:
    if not isinstance(data, dict):
        raise InputError(f"{group} is {data!r}", document.where((group,)), "a group of keys with figures")
    out = {}
    for name, value in data.items():
        where = document.where((group, name))
        if names and name not in names:
            close = difflib.get_close_matches(str(name), names, 1)
            hint = f"; did you mean {close[0]!r}?" if close else ""
            raise InputError(f"there is no {name!r}{hint}", where, ", ".join(names))
        most = {"weights": 1.0, "marks": MAX_MARKS}.get(group, MAX_MINUTES)
        _, low, high = THRESHOLDS.get(name, (0.0, 0.0, most))
        number = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        if not number or not low <= value <= high:
            raise InputError(f"{name} is {value!r}", where, f"{low:g} to {high:g}")
        out[str(name)] = float(value)
    return out


@lru_cache(maxsize=1)
def overrides() -> Overrides:
    """The trainer's figures in force; none where no file is named.

    Examples
    --------
    >>> overrides().threshold("proof_factor")
    1.25
    """
    named = os.environ.get(VARIABLE, "")
    return read_overrides(named) if named else Overrides()
