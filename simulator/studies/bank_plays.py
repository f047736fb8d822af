"""Every case of the certificate's bank, played by simulated people and marked by the real marking; kept in one table.

From the table come the standard error of a case (:mod:`simulator.studies.case_variance`), the difficulty of the cases
(:mod:`simulator.studies.bank_drawing`) and the sittings of :mod:`simulator.studies.sittings`.

``python -m simulator.studies.bank_plays --plays 1`` plays what the table lacks and goes on where it was stopped;
``--fresh SEED`` begins a table of other chance.

Throughout: ``cases`` of the bank; ``plays`` how often each person plays each case; ``names`` of the people;
``table`` what is kept, as plain data: ``plays[person][case id]`` is a list of ``[marks, grave breach, proven]``.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from simulator.attempt import Attempt, MemoryStore
from simulator.errors import InputError
from simulator.marking.bank import KINDS, BankCase, bank
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import MARKING_VERSION
from simulator.rig.command import command, page_to_write, whole
from simulator.studies.sitters import SITTERS

FILE = Path(__file__).parent / "data" / "bank_plays.json"
FORMAT, VERSION = "bank-plays", 1
FIRST_SEED = 500  # other chance than the one by which the bank was chosen
#: First those whom the standard error and the difficulty need; then those who try to trick it.
ORDER = (
    "one start",
    "slips 60",
    "expert",
    "slips 30",
    "one answer",
    "kind known",
    "swapper",
    "slips 15",
    "slips 45",
)

Job = tuple[BankCase, str, int]


def play_case(job: Job) -> tuple[str, str, list[Any]]:
    """One play of a case: its id, the person, and marks [of 100], grave breach, proven.

    Parameters
    ----------
    job : the case, the person's name, the seed of chance.
    """
    case, name, seed = job
    attempt = Attempt(case.scenario(), MemoryStore(), mode="assessment", seed=seed)
    SITTERS[name](attempt, seed).play()
    sheet = marked_attempt(attempt)[2].sheet
    return case.id, name, [sheet.total, sheet.grave, bool(attempt.yard.proven)]


def new_table(seed: int = FIRST_SEED) -> dict[str, Any]:
    """A table with nothing in it yet; ``seed`` of the first play.

    Examples
    --------
    >>> new_table()["plays"]
    {}
    """
    return {"format": FORMAT, "version": VERSION, "marking": MARKING_VERSION, "seed": seed, "plays": {}}


def read_table(path: Path = FILE) -> dict[str, Any]:
    """The table kept at a ``path``.

    Raises
    ------
    InputError : it is another kind of file.

    Examples
    --------
    >>> read_table()["format"]
    'bank-plays'
    """
    try:
        table = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise InputError("the table of plays cannot be read", str(path), "a file of this command") from error
    if not isinstance(table, dict) or (table.get("format"), table.get("version")) != (FORMAT, VERSION):
        raise InputError("this is no table of plays", str(path), f"format: {FORMAT}, version: {VERSION}")
    return table


def missing(table: dict[str, Any], cases: Sequence[BankCase], plays: int, names: Sequence[str]) -> list[Job]:
    """What the table lacks, in an order in which every part of it is of use: all cases by one person after another.

    Examples
    --------
    >>> len(missing(new_table(), bank()[0][:3], 2, ["expert"]))
    6
    """
    together = sorted(cases, key=lambda case: repr(case.scenario().site) + case.scenario().rig)
    return [
        (case, name, int(table["seed"]) + number)
        for number in range(plays)
        for name in names
        for case in together
        if len(table["plays"].get(name, {}).get(case.id, ())) <= number
    ]


def played(jobs: Sequence[Job], workers: int) -> Iterator[tuple[str, str, list[Any]]]:
    """The plays, as they are done; ``jobs`` in order, ``workers`` the number of processes."""
    if workers <= 1:
        yield from map(play_case, jobs)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(play_case, jobs)


def write_table(table: dict[str, Any], path: Path) -> None:
    """Keep the table at a ``path``, one line a case and person, whole or not at all."""
    people = []
    for name in sorted(table["plays"]):
        lines = [
            f"   {json.dumps(case)}: {json.dumps(own)}" for case, own in sorted(table["plays"][name].items())
        ]
        people.append(f"  {json.dumps(name)}: {{\n" + ",\n".join(lines) + "\n  }")
    head = "".join(f" {json.dumps(key)}: {json.dumps(table[key])},\n" for key in table if key != "plays")
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_suffix(".part")
    beside.write_text("{\n" + head + ' "plays": {\n' + ",\n".join(people) + "\n }\n}\n", encoding="utf-8")
    beside.replace(path)


def main(arguments: Sequence[str] | None = None) -> int:
    """Play what is missing and keep it after each case.

    Parameters
    ----------
    arguments : those of the command line.
    """
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.bank_plays", description=main.__doc__)
    parser.add_argument("--plays", type=whole(1, 100), default=1, help="of each case by each person")
    parser.add_argument("--workers", type=whole(1, 64), default=2)
    parser.add_argument("--cases", type=whole(1, 1000), default=1000, help="of each kind, at most")
    parser.add_argument("--people", nargs="+", choices=sorted(SITTERS), default=list(ORDER))
    parser.add_argument("--fresh", type=whole(0, 2**30), default=None, help="begin anew, with this seed")
    parser.add_argument("--out", type=page_to_write, default=FILE)
    chosen = parser.parse_args(arguments)
    new = chosen.fresh is not None or not chosen.out.exists()
    table = new_table(FIRST_SEED if chosen.fresh is None else chosen.fresh) if new else read_table(chosen.out)
    cases = [case for kind in KINDS for case in [c for c in bank()[0] if c.slot == kind][: chosen.cases]]
    jobs = missing(table, cases, chosen.plays, chosen.people)
    for number, (case, name, play) in enumerate(played(jobs, chosen.workers), start=1):
        table["plays"].setdefault(name, {}).setdefault(case, []).append(play)
        write_table(table, chosen.out)
        sys.stdout.write(f"{number} of {len(jobs)}: {name}, case {case}: {play[0]:g}\n")
        sys.stdout.flush()
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
