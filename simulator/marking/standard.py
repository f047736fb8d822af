"""A passing mark set by a group of trainers: the modified Angoff way.

Each judge says of each case how many of a hundred just-competent hands would find it; the group talks over where it is
far apart, and each judges again (Livingston & Zieky 1982, Passing Scores, Educational Testing Service; the steps from
memory). A case that is found does not earn all marks, and one that is not found not none. Both figures rest on simulated
people (:mod:`simulator.studies.bank_plays`) and are held to them by a test: found, between those who slip often and the
one who never does; not found, the mean of those who hand over unproved. Those who slip find every case in the end, so the
latter hand over after one start, or guess.

``python -m simulator.marking.standard judged.csv`` works it out: one line a judge, one figure from 0 to 100 a case.

Throughout: ``chances`` is an array (judges, cases) [-].
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simulator.errors import InputError
from simulator.rig.command import command
from simulator.texts import text

FOUND_EARNS, MISSED_EARNS = 80.0, 9.0  # [of 100] of a case that ends in a proof, and of one that does not
MOST_JUDGES, MOST_CASES = 100, 100


@dataclass(frozen=True)
class Standard:
    """What a group judged: passing mark [of 100], its standard error between judges [marks], each judge's own mark."""

    mark: float
    error: float
    by_judge: tuple[float, ...]


def mark_of(chance: float) -> float:
    """The mean mark [of 100] of somebody who finds so many of the cases (``chance``, [-]).

    Examples
    --------
    >>> mark_of(0.0) == MISSED_EARNS, mark_of(1.0) == FOUND_EARNS
    (True, True)
    """
    return MISSED_EARNS + (FOUND_EARNS - MISSED_EARNS) * chance


def standard(chances: NDArray[np.float64]) -> Standard:
    """The passing mark that a group's chances come to.

    Raises
    ------
    InputError : fewer than two judges, no case, or a chance that is none.

    Examples
    --------
    >>> found = standard(np.array([[0.9, 0.7], [0.8, 0.8]]))
    >>> abs(found.mark - mark_of(0.8)) < 1e-6, round(found.error, 9)
    (True, 0.0)
    """
    judges = chances.shape[0] if chances.ndim == 2 else 0
    if judges < 2 or chances.shape[1] < 1:
        raise InputError(text("marking.standard.too_few"), "", text("marking.standard.legal"))
    if not bool(np.all((chances >= 0.0) & (chances <= 1.0))):
        raise InputError(text("marking.standard.no_chance"), "", text("marking.standard.legal"))
    marks = np.array([mark_of(float(chance)) for chance in chances.mean(axis=1)])
    error = float(marks.std(ddof=1)) / float(np.sqrt(judges))
    return Standard(round(float(marks.mean()), 6), error, tuple(float(mark) for mark in marks))


def read_chances(path: Path) -> NDArray[np.float64]:
    """The chances in a file at a ``path``: one line a judge, percent by commas or semicolons, empty lines left out.

    Raises
    ------
    InputError : names the line, and what would be legal.
    """
    try:
        written = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            text("marking.standard.not_read"), str(path), text("marking.standard.legal")
        ) from error
    rows: list[list[float]] = []
    lines = csv.reader(written.splitlines(), delimiter=";" if ";" in written else ",")
    for number, line in enumerate(lines, start=1):
        if not any(cell.strip() for cell in line):
            continue
        where = text("marking.standard.at_line", path=path, n=number)
        try:
            row = [float(cell.strip().rstrip("%").replace(",", ".")) / 100.0 for cell in line]
        except ValueError as error:
            raise InputError(
                text("marking.standard.no_chance"), where, text("marking.standard.legal")
            ) from error
        if not all(0.0 <= chance <= 1.0 for chance in row):
            raise InputError(text("marking.standard.no_chance"), where, text("marking.standard.legal"))
        if len(row) != len(rows[0] if rows else row) or len(row) > MOST_CASES or len(rows) >= MOST_JUDGES:
            raise InputError(text("marking.standard.uneven"), where, text("marking.standard.legal"))
        rows.append(row)
    return np.array(rows, dtype=float)


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the passing mark that a group's chances come to; 1 and a sentence where the file does not fit.

    Parameters
    ----------
    arguments : those of the command line.
    """
    parser = argparse.ArgumentParser(prog="python -m simulator.marking.standard", description=main.__doc__)
    parser.add_argument("judged", type=Path)
    chosen = parser.parse_args(arguments)
    try:
        found = standard(read_chances(chosen.judged))
    except InputError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    for number, own in enumerate(found.by_judge, start=1):
        sys.stdout.write(text("marking.standard.judge", n=number, mark=f"{own:.1f}") + "\n")
    sys.stdout.write(
        text("marking.standard.found", mark=f"{found.mark:.1f}", error=f"{found.error:.1f}") + "\n"
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
