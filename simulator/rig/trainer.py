"""A trainer's own figures: weights of faults, minutes of checks and remedies, what counts as proof, and as a pass.

The file is named by the environment variable ``SIMULATOR_TRAINER_FILE``; without it, it is ``own_figures.yaml`` beside
the folder of the trainer's own rigs, where there is one. What is not in it stays as it comes with the package::

    format: trainer-figures
    version: 1
    weights: {drain_open: 0.4}
    minutes: {walk_round: 2, clean_strainer: 10}
    thresholds: {proof_factor: 1.3, proof_slack_s: 20, pass_mark: 72}
    marks: {found: 50, economy: 40, understanding: 10}

``marks`` weighs the three parts of a mark sheet; they are brought to 100 together. Files of older releases also weigh
``safety``: that is read and left out, as safety is a gate now and no part that gives points.

The figures are those that stood in the file when a process began: tables are built with them.

Arguments, the same throughout: ``usual`` minutes where the trainer names none [min]; ``path`` the file of a
trainer; ``group`` a key of the file, ``name`` an id in it.
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
from simulator.rig.own_rigs import own_rigs_folder
from simulator.rig.plain_yaml import LARGEST_FILE, Document, read_bytes, read_whole
from simulator.texts import entry

VARIABLE = "SIMULATOR_TRAINER_FILE"
FILE_NAME = "own_figures.yaml"
FORMAT, VERSION = "trainer-figures", 1
GROUPS = ("weights", "minutes", "thresholds", "marks")
MAX_WEIGHT = 1.0
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


def figures_file() -> Path:
    """Where the trainer's file lies, or would lie: the one that is named, else beside the folder of the own rigs."""
    named = os.environ.get(VARIABLE, "")
    return Path(named) if named else own_rigs_folder().parent / FILE_NAME


def names_of(group: str) -> tuple[str, ...]:
    """Every id that may stand under a key of the file.

    Examples
    --------
    >>> names_of("marks")
    ('found', 'economy', 'understanding')
    >>> "walk_round" in names_of("minutes"), "drain_open" in names_of("weights")
    (True, True)
    """
    # by the words there are for each: the tables themselves are built with a trainer's figures
    if group == "weights":
        return tuple(name for name in entry("faults") if name != "families")
    if group == "minutes":
        return (*entry("checks"), *entry("remedies"))
    return tuple(THRESHOLDS) if group == "thresholds" else MARK_PARTS


def legal_range(group: str, name: str) -> tuple[float, float]:
    """The least and the most that a figure may be, in its own unit.

    Examples
    --------
    >>> legal_range("thresholds", "pass_mark"), legal_range("minutes", "belt"), legal_range("weights", "drain_open")
    ((40.0, 95.0), (0.0, 240.0), (0.0, 1.0))
    """
    if group == "thresholds":
        return THRESHOLDS[name][1:]
    return 0.0, {"weights": MAX_WEIGHT, "marks": MAX_MARKS}.get(group, MAX_MINUTES)


def read_overrides(path: Path | str) -> Overrides:
    """A trainer's file, every id in it looked up.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    path = Path(path)
    return overrides_from(read_whole(path, LARGEST_FILE + 1), path.name)


def overrides_from(written: bytes, source: str) -> Overrides:
    """The figures in the bytes of a trainer's file, every id looked up.

    Parameters
    ----------
    written : the file's bytes.
    source : what to call it in an error.

    Raises
    ------
    InputError : names file, line, key and what would be legal.

    Examples
    --------
    >>> overrides_from(b"format: trainer-figures\\nversion: 1\\nminutes: {belt: 7}\\n", "a file").minutes
    {'belt': 7.0}
    """
    document = read_bytes(written, source)
    data = dict(document.data) if isinstance(document.data, dict) else {}
    if data.pop("format", None) != FORMAT or data.pop("version", None) != VERSION:
        raise InputError(
            "this is another kind of file", document.where(()), f"format: {FORMAT}, version: {VERSION}"
        )
    for key in data:
        if key not in GROUPS:
            raise InputError(f"{key!r} is not a key of this file", document.where((key,)), ", ".join(GROUPS))
    found = {group: _figures(document, data.get(group) or {}, group) for group in GROUPS}
    for name in NO_MORE:
        found["marks"].pop(name, None)
    if len(found["marks"]) == len(MARK_PARTS) and not any(found["marks"].values()):
        raise InputError("no part has any marks", document.where(("marks",)), "at least one above 0")
    if none_comes(found["weights"]):
        raise InputError("no weight is above 0", document.where(("weights",)), "at least one above 0")
    return Overrides(**found)


def none_comes(weights: dict[str, float]) -> bool:
    """Whether no fault would ever come: every one of them is set to 0.

    Parameters
    ----------
    weights : those that are set, by id [-].

    Examples
    --------
    >>> none_comes({"drain_open": 0.0}), none_comes(dict.fromkeys(names_of("weights"), 0.0))
    (False, True)
    """
    return all(weights.get(name) == 0.0 for name in names_of("weights") if name != "sound")


def _figures(document: Document, data: Any, group: str) -> dict[str, float]:
    if not isinstance(data, dict):
        raise InputError(
            f"{group} is {str(data)[:40]!r}", document.where((group,)), "a group of keys with figures"
        )
    names, out = names_of(group) + (NO_MORE if group == "marks" else ()), {}
    for name, value in data.items():
        where = document.where((group, name))
        if name not in names:
            close = difflib.get_close_matches(str(name), names, 3)
            hint = f"; did you mean {close[0]!r}?" if close else ""
            raise InputError(f"there is no {name!r}{hint}", where, ", ".join(close or names))
        low, high = legal_range(group, name)
        number = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        if not number or not low <= value <= high:
            raise InputError(f"{name} is {value!r}", where, f"{low:g} to {high:g}")
        out[str(name)] = float(value)
    return out


@lru_cache(maxsize=1)
def overrides() -> Overrides:
    """The trainer's figures in force; none where there is no file, or where it cannot be used.

    A file of which a part cannot be used is not used at all: see :func:`trouble`.

    Examples
    --------
    >>> overrides().threshold("proof_factor")
    1.25
    """
    return _named()[0]


def trouble() -> InputError | None:
    """Why the trainer's file cannot be used; None where all is well.

    Examples
    --------
    >>> trouble() is None
    True
    """
    return _named()[1]


@lru_cache(maxsize=1)
def _named() -> tuple[Overrides, InputError | None]:
    named, file = os.environ.get(VARIABLE, ""), figures_file()
    if not named and not file.is_file():
        return Overrides(), None
    try:
        return read_overrides(file), None
    except InputError as error:
        said = f"{VARIABLE}, {error.where}" if named else error.where
        return Overrides(), InputError(error.what, said, error.legal)
