"""Processes that open, reopen, reload, close and are killed at random on one store: what was told to be kept is, once.

``python -m tests.records.storm --rounds 300`` prints the figures. A process writes a line to a file of its own only after
the store has told it that an act is kept; at the end every such line must be found in the store, once.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import multiprocessing
import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from simulator.errors import InputError
from simulator.records import Store

LONGEST = 0.9  # [s] of a round before its processes are killed


@dataclass
class Outcome:
    """What a storm came to; all counts [-]."""

    rounds: int = 0
    processes: int = 0
    killed: int = 0
    told: int = 0
    lost: int = 0
    doubled: int = 0
    notices: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    integrity: str = ""
    chains: str = ""

    def lines(self) -> str:
        """The figures, one a line."""
        return (
            f"rounds {self.rounds}, processes {self.processes}, killed {self.killed}\n"
            f"acknowledged {self.told}, lost {self.lost}, doubled {self.doubled}\n"
            f"integrity {self.integrity}, chains {self.chains}, "
            f"notices {len(self.notices)}, other refusals {len(self.refused)}\n"
        )


def work(place: str, told: str, shared: str, seed: int, ends_well: bool) -> None:
    """One process: acts at random until it is killed, or for a while and then an orderly end."""
    chance = random.Random(seed)
    out = os.open(told, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600)

    def tell(**kept: object) -> None:
        os.write(out, (json.dumps(kept) + "\n").encode())

    stores = [Store.open(place)]
    tell(act="notices", notices=list(stores[0].notices))
    mine = stores[0].create_attempt({"learner": f"worker {seed}", "lesson": "01", "mode": "lesson"})
    tell(act="attempt", attempt=mine)
    until = time.monotonic() + LONGEST * (0.4 if ends_well else 2.0)
    number, marks = 0, 0
    while time.monotonic() < until:
        store, what = chance.choice(stores), chance.random()
        if what < 0.15:  # a page is loaded again: its store is opened anew, the old one forgotten or closed
            stores.append(Store.open(place))
            tell(act="notices", notices=list(stores[-1].notices))
        elif what < 0.27 and len(stores) > 1:
            stores.remove(store)
            if chance.random() < 0.5:
                store.close()
        elif what < 0.32:  # the only page closes and comes back
            while stores:
                stores.pop().close()
            stores.append(Store.open(place))
        elif what < 0.37:
            marks += 1
            store.save_marks(mine, {"total": marks})
            tell(act="marks", attempt=mine, total=marks)
        elif what < 0.42:
            store.set_progress(mine, {"run": 0, "shown_s": float(number)})
        elif what < 0.6:  # two or more go on with one log: who comes second loads it again
            with contextlib.suppress(InputError):
                seq = len(store.events(shared))
                click = f"{seed} shared {number}"
                store.append_event(shared, seq, {"click": click}, click)
                tell(act="event", attempt=shared, click=click)
        else:
            click = f"{seed} {number}"
            store.append_event(mine, number, {"click": click, "filler": "x" * chance.randrange(900)}, click)
            tell(act="event", attempt=mine, click=click)
            number += 1
    for store in stores:
        store.close()


def guarded(*arguments: object) -> None:
    """The same; what goes wrong is told in the file as well."""
    try:
        work(*arguments)  # type: ignore[arg-type]
    except BaseException as error:
        with Path(str(arguments[1])).open("a", encoding="utf-8") as stream:
            stream.write(json.dumps({"act": "refused", "why": f"{type(error).__name__}: {error}"}) + "\n")
        raise


def storm(folder: Path, rounds: int, seed: int = 1) -> Outcome:
    """Let processes work on a store in a folder, and count what became of it."""
    chance, out = random.Random(seed), Outcome()
    place, tales = folder / "records.sqlite3", folder / "told"
    tales.mkdir()
    fork = multiprocessing.get_context("fork")
    maker = fork.Process(target=_begin, args=(str(place), str(folder / "shared")))
    maker.start()
    maker.join()
    shared = (folder / "shared").read_text(encoding="utf-8")
    for round_number in range(rounds):
        ends_well = round_number % 4 == 3
        workers = []
        for number in range(chance.randint(2, 5)):
            told = tales / f"{round_number}-{number}"
            arguments = (str(place), str(told), shared, chance.randrange(2**30), ends_well and number > 0)
            workers.append(fork.Process(target=guarded, args=arguments))
            workers[-1].start()
        for worker in workers:
            if ends_well and worker is not workers[0]:
                worker.join(60.0)
        time.sleep(chance.uniform(0.02, LONGEST) if not ends_well else 0.0)
        chance.shuffle(workers)
        for worker in workers:  # one after the other: those left go on while others die
            if worker.is_alive():
                os.kill(worker.pid or 0, signal.SIGKILL)
                out.killed += 1
                time.sleep(chance.uniform(0.0, 0.05))
        for worker in workers:
            worker.join(60.0)
        out.processes += len(workers)
        out.rounds += 1
    _count(place, tales, out)
    return out


def _begin(place: str, name: str) -> None:
    with Store.open(place) as store:
        attempt = store.create_attempt({"learner": "all", "lesson": "01", "mode": "lesson"})
    Path(name).write_text(attempt, encoding="utf-8")


def _count(place: Path, tales: Path, out: Outcome) -> None:
    with Store.open(place) as store:
        out.notices += store.notices
        there = {row.attempt_id for row in store.list_attempts()}
        clicks = {each: Counter(e["click"] for e in store.events(each)) for each in there}
        totals = {each: [m.sheet["total"] for m in store.marks(each)] for each in there}
        out.chains = "ok" if not getattr(store, "aside", list)() else "broken"
    for tale in sorted(tales.iterdir()):
        for line in tale.read_text(encoding="utf-8").splitlines():
            told = json.loads(line)
            if told["act"] == "notices":
                out.notices += told["notices"]
            elif told["act"] == "refused":
                out.refused.append(told["why"])
            else:
                out.told += 1
                attempt = told["attempt"]
                if told["act"] == "event":
                    found = clicks.get(attempt, {}).get(told["click"], 0)
                elif told["act"] == "marks":
                    found = totals.get(attempt, []).count(told["total"])
                else:
                    found = int(attempt in there)
                out.lost += found == 0
                out.doubled += found > 1
    connection = sqlite3.connect(place)
    out.integrity = str(connection.execute("PRAGMA integrity_check").fetchone()[0])
    connection.close()


def main() -> int:
    """Run a storm and print its figures; 0 where nothing was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        began = time.monotonic()
        out = storm(Path(folder), asked.rounds, asked.seed)
    sys.stdout.write(f"{out.lines()}{time.monotonic() - began:.0f} s\n")
    for each in (*out.notices[:5], *out.refused[:5]):
        sys.stdout.write(f"  {each}\n")
    return int(bool(out.lost or out.doubled or out.notices or out.refused or out.integrity != "ok"))


if __name__ == "__main__":
    sys.exit(main())
