"""How hard each case of the bank is: the marks that simulated people lose at it, each of them counted alike.

The plays are those of :mod:`simulator.studies.bank_plays`; where somebody has not played a case, the mean of those of its
kind stands in. Forms are drawn alike in it (:mod:`simulator.marking.certificate_forms`).

``python -m simulator.studies.bank_weighing`` writes it into the bank, and leaves the cases as they are.

Throughout: ``cases`` of the bank; ``table`` of plays; ``arguments`` those of the command line.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from statistics import fmean
from typing import Any

from simulator.marking.bank import FILE, BankCase, read_bank
from simulator.rig.command import command, page_to_write
from simulator.studies.bank_drawing import write_bank
from simulator.studies.bank_plays import FILE as PLAYS
from simulator.studies.bank_plays import read_table
from simulator.studies.near_people import played

WEIGHED_BY = ("expert", "slips 30", "slips 60", "one start")


def weighed(cases: Sequence[BankCase], table: dict[str, Any]) -> list[BankCase]:
    """The cases with their difficulty [marks of 100].

    Raises
    ------
    ValueError : somebody has played no case of some kind.
    """
    earned = [played(table, name) for name in WEIGHED_BY]
    return [
        replace(case, difficulty=round(100.0 - fmean(own[case.id] for own in earned), 1)) for case in cases
    ]


def main(arguments: Sequence[str] | None = None) -> int:
    """Weigh the cases and write the bank's file."""
    parser = argparse.ArgumentParser(
        prog="python -m simulator.studies.bank_weighing", description=main.__doc__
    )
    parser.add_argument("--table", type=Path, default=PLAYS)
    parser.add_argument("--out", type=page_to_write, default=FILE)
    chosen = parser.parse_args(arguments)
    write_bank(weighed(read_bank()[0], read_table(chosen.table)), chosen.out)
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
