"""Thirty learners who write at once to the service of a class, while it and they are killed: what was kept is, once.

``python -m tests.classroom.storm --kills 200`` prints the figures (``--url`` of an empty PostgreSQL database instead of a
file). A learner is a process with records of its own and what hands them in; it writes a line to a file only after its
own store has told it that an answer is kept. Service and learners are killed (SIGKILL) at random and begun again. At
the end what is left is handed in, and every such line must be found at the class once, in its order.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tornado.httpserver import HTTPServer

from simulator.classroom.handing_in import HANDED_OVER, HandingIn
from simulator.classroom.handing_out import HandOut
from simulator.classroom.line import Line
from simulator.classroom.record_desk import RecordDesk
from simulator.classroom.service import application
from simulator.records import Store
from simulator.records.hand_over import standing
from tests.classroom.a_class import PREFIX, Hub, a_class
from tests.records.postgres_server import free_port

LEARNERS = 30
GAP = 0.9  # [s] between two kills at most
FORK = multiprocessing.get_context("fork")
Process = Any


@dataclass
class Outcome:
    """What a storm came to; all counts [-]."""

    learners: int = 0
    service_killed: int = 0
    learners_killed: int = 0
    told: int = 0
    lost: int = 0
    doubled: int = 0
    out_of_order: int = 0
    other_ends: int = 0  # chains that end in another link at the class than at the learner's
    left: int = 0  # learners who could not hand all over in the end
    notices: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def good(self) -> bool:
        """Whether nothing was lost, doubled or moved."""
        bad = (self.lost, self.doubled, self.out_of_order, self.other_ends, self.left, len(self.notices))
        return self.told > 0 and not any(bad)

    def lines(self) -> str:
        """The figures."""
        return (
            f"learners {self.learners}, service killed {self.service_killed}, learners killed {self.learners_killed}\n"
            f"kept {self.told}, lost {self.lost}, doubled {self.doubled}, out of order {self.out_of_order}\n"
            f"chains with another end {self.other_ends}, not handed in {self.left}, notices {len(self.notices)}, "
            f"{self.seconds:.0f} s\n"
        )


def serve(folder: Path, place: str | Path, port: int) -> None:
    """The service, until it is killed."""

    async def listen() -> None:
        app = application(PREFIX, Hub(), HandOut(folder), RecordDesk(folder, place))
        HTTPServer(app).listen(port, "127.0.0.1")
        await asyncio.Event().wait()

    asyncio.run(listen())


def learn(own: Path, name: str, address: str, number: int, pause: float, over: Any) -> None:
    """A learner: answers at random, hands in beside it, until killed or told that it is over."""
    chance = random.Random(os.getpid())
    tale = os.open(own / "told", os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600)
    store = Store.open(own / "records.sqlite3")
    hands = HandingIn(store, name, Line(address, f"token-{number}", "records", 15.0))
    hands.start()
    rows = [row for row in store.list_attempts(name) if not row.finished]
    while not over.is_set():
        if not rows or chance.random() < 0.03:
            if rows:
                store.save_marks(rows[-1].attempt_id, {"total": 80.0, "parts": []})
            store.create_attempt({"learner": name, "lesson": "01", "mode": "lesson"})
            rows = store.list_attempts(name)
        attempt = rows[-1].attempt_id
        seq = len(store.events(attempt))
        click = f"{os.getpid()} {time.monotonic_ns()}"
        event = {"kind": "answer", "question": f"seen:{click}", "answer": True, "click": click}
        store.append_event(attempt, seq, event, click)
        os.write(tale, (json.dumps([attempt, seq, click]) + "\n").encode())
        time.sleep(chance.uniform(0.2, 1.8) * pause)
    late = time.monotonic() + 600.0  # every learner has stopped: what is left is handed in
    there = Line(address, f"token-{number}", "records", 15.0)
    while time.monotonic() < late:
        with contextlib.suppress(Exception):
            heads = {key: tuple(head) for key, head in there.ask("GET", "records")["heads"].items()}
            if hands.state == HANDED_OVER and heads == standing(store, name).heads:
                os._exit(0)
        time.sleep(0.5)
    os._exit(1)


def storm(
    folder: Path,
    place: str | Path | None = None,
    *,
    kills: int = 200,
    learners: int = LEARNERS,
    pause: float = 1.0,
    gap: float = GAP,
    seed: int = 1,
    show: Callable[[Outcome], None] | None = None,
) -> Outcome:
    """Let learners write to a service in a folder while both are killed, so many times each; ``show`` hears every 25."""
    chance, out, began = random.Random(seed), Outcome(learners), time.monotonic()
    names = tuple(f"Learner {n}" for n in range(1, learners + 1))
    room = a_class(folder / "class", names)
    where = place or room / "records"
    port, over = free_port(), FORK.Event()
    address = f"http://127.0.0.1:{port}{PREFIX}"

    def a_service() -> Process:
        process = FORK.Process(target=serve, args=(room, where, port))
        process.start()
        return process

    def a_learner(n: int) -> Process:
        own = folder / f"learner {n}"
        own.mkdir(exist_ok=True)
        process = FORK.Process(target=learn, args=(own, names[n - 1], address, n, pause, over))
        process.start()
        return process

    service = a_service()
    people = {n: a_learner(n) for n in range(1, learners + 1)}
    time.sleep(2.0)
    for turn in range(2 * kills):
        time.sleep(chance.uniform(0.0, gap))
        if turn % 2 == 0:
            _kill(service)
            out.service_killed += 1
            time.sleep(chance.uniform(0.0, gap))  # learners meet a closed door
            service = a_service()
        else:
            n = chance.randint(1, learners)
            _kill(people[n])
            out.learners_killed += 1
            people[n] = a_learner(n)
        if show is not None and turn % 50 == 49:
            out.seconds = time.monotonic() - began
            show(out)
    over.set()
    for process in people.values():
        process.join(660.0)
        out.left += process.exitcode != 0
        if process.is_alive():
            _kill(process)
    _kill(service)
    # In a process of its own: this one forks, and holds no database.
    with FORK.Pool(1) as pool:
        counted = pool.apply(_count, (folder, where, names))
    out.told, out.lost, out.doubled, out.out_of_order, out.other_ends, out.notices = counted
    out.seconds = time.monotonic() - began
    return out


def _kill(process: Process) -> None:
    os.kill(process.pid, signal.SIGKILL)
    process.join(30.0)


def _count(
    folder: Path, where: str | Path, names: tuple[str, ...]
) -> tuple[int, int, int, int, int, list[str]]:
    told = lost = doubled = moved = ends = 0
    notices: list[str] = []
    with Store.open(where) as there:
        notices += there.notices
        for n, name in enumerate(names, start=1):
            with Store.open(folder / f"learner {n}" / "records.sqlite3") as here:
                notices += here.notices
                ours, theirs = standing(here, name).heads, standing(there, name).heads
                ends += sum(theirs.get(key) != head for key, head in ours.items()) + len(
                    set(theirs) - set(ours)
                )
            clicks = {key: [event["click"] for event in there.events(key)] for key in theirs}
            counts = {key: Counter(each) for key, each in clicks.items()}
            tale = folder / f"learner {n}" / "told"
            for line in tale.read_text(encoding="utf-8").splitlines() if tale.exists() else ():
                attempt, seq, click = json.loads(line)
                told += 1
                found = counts.get(attempt, Counter())[click]
                lost += found == 0
                doubled += found > 1
                moved += found == 1 and clicks[attempt][seq] != click
    return told, lost, doubled, moved, ends, notices


def main() -> int:
    """Run a storm and print its figures; 0 where nothing was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--learners", type=int, default=LEARNERS)
    parser.add_argument("--pause", type=float, default=1.0, help="[s] between two answers of a learner")
    parser.add_argument("--gap", type=float, default=GAP, help="[s] between two kills at most")
    parser.add_argument("--url")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()

    def show(so_far: Outcome) -> None:
        sys.stdout.write(so_far.lines().splitlines()[0] + f", {so_far.seconds:.0f} s\n")
        sys.stdout.flush()

    with tempfile.TemporaryDirectory() as folder:
        out = storm(
            Path(folder),
            asked.url,
            kills=asked.kills,
            learners=asked.learners,
            pause=asked.pause,
            gap=asked.gap,
            seed=asked.seed,
            show=show,
        )
    sys.stdout.write(out.lines())
    for each in out.notices[:5]:
        sys.stdout.write(f"  {each}\n")
    return int(not out.good)


if __name__ == "__main__":
    sys.exit(main())
