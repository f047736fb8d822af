"""A trainer's own figures: weights of faults, minutes of checks and remedies, what counts as proof, and as a pass.

The file is named by the environment variable ``SIMULATOR_TRAINER_FILE``. What is not in it stays as it comes with the
package::

    format: trainer-figures
    version: 1
    weights: {drain_open: 0.4}
    minutes: {walk_round: 2, clean_strainer: 10}
    thresholds: {proof_factor: 1.3, proof_slack_s: 20, pass_mark: 72}
    marks: {found: 50, economy: 40, understanding: 10}

``marks`` weighs the three parts of a mark sheet; they are brought to 100 together. Files of older releases also weigh
``safety``: that is read and left out, as safety is a gate now and no part that gives points.

Arguments, the same throughout: ``usual`` minutes where the trainer names none [min]; ``path`` the file of a
trainer.
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
from simulator.texts import catalogue

VARIABLE = "SIMULATOR_TRAINER_FILE"
MAX_MINUTES = 240.0
MAX_MARKS = 100.0
#: Every threshold a trainer may set: the figure that comes with the package, and its legal range.
THRESHOLDS: dict[str, tuple[float, float, float]] = {
    "proof_factor": (1.25, 1.0, 3.0),  # a proof may take this times the sound rig's time
    "proof_slack_s": (15.0, 0.0, 120.0),  # and this much more
    "proof_flow": (0.85, 0.3, 0.98),  # share of the sound rig's flow that counts as pumping well
    "pass_mark": (70.0, 40.0, 95.0),  # of 100, to pass a certificate sitting
}

MARK_PARTS = ("found", "economy", "understanding")
NO_MORE = ("safety",)  # weighed in files of older releases


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


def read_overrides(path: Path | str) -> Overrides:
    """A trainer's file, every id in it looked up.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    document = read_file(path)
    # by the words there are for each: the tables themselves are built with a trainer's figures
    faults = tuple(name for name in catalogue()["faults"] if name != "families")
    acts = (*catalogue()["checks"], *catalogue()["remedies"])
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
    legal = {
        "weights": faults,
        "minutes": acts,
        "thresholds": tuple(THRESHOLDS),
        "marks": (*MARK_PARTS, *NO_MORE),
    }
    found = {name: _figures(document, data.get(name) or {}, name, legal[name]) for name in legal}
    for name in NO_MORE:
        found["marks"].pop(name, None)
    if len(found["marks"]) == len(MARK_PARTS) and not any(found["marks"].values()):
        raise InputError("no part has any marks", document.where(("marks",)), "at least one above 0")
    if found["weights"] and not any(value > 0.0 for value in found["weights"].values()):
        raise InputError("no weight is above 0", document.where(("weights",)), "at least one above 0")
    return Overrides(**found)


def _figures(document: Document, data: Any, group: str, names: tuple[str, ...]) -> dict[str, float]:
    if not isinstance(data, dict):
        raise InputError(
            f"{group} is {str(data)[:40]!r}", document.where((group,)), "a group of keys with figures"
        )
    out = {}
    for name, value in data.items():
        where = document.where((group, name))
        if name not in names:
            close = difflib.get_close_matches(str(name), names, 3)
            hint = f"; did you mean {close[0]!r}?" if close else ""
            raise InputError(f"there is no {name!r}{hint}", where, ", ".join(close or names))
        most = {"weights": 1.0, "marks": MAX_MARKS}.get(group, MAX_MINUTES)
        _, low, high = THRESHOLDS.get(name, (0.0, 0.0, most))
        number = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        if not number or not low <= value <= high:
            raise InputError(f"{name} is {value!r}", where, f"{low:g} to {high:g}")
        out[str(name)] = float(value)
    return out


@lru_cache(maxsize=1)
def overrides() -> Overrides:
    """The trainer's figures in force; none where no file is named, or where the one named cannot be used.

    A file of which a part cannot be used is not used at all: see :func:`trouble`.

    Examples
    --------
    >>> overrides().threshold("proof_factor")
    1.25
    """
    return _named()[0]


def trouble() -> InputError | None:
    """Why the file that is named cannot be used; None where all is well.

    Examples
    --------
    >>> trouble() is None
    True
    """
    return _named()[1]


@lru_cache(maxsize=1)
def _named() -> tuple[Overrides, InputError | None]:
    named = os.environ.get(VARIABLE, "")
    try:
        return (read_overrides(named) if named else Overrides()), None
    except InputError as error:
        return Overrides(), InputError(error.what, f"{VARIABLE}, {error.where}", error.legal)
