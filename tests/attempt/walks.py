"""Walks at random over the acts of a call-out, with long watching between them, and a reload after every event.

``python -m tests.attempt.walks --walks 10000`` prints how many walks there were, how far they came and what failed.
With ``--kept FILE`` each finished walk is a line of that file, and seeds that stand in it are not walked again: ten
thousand may be done in pieces, and the figures are those of the whole file.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import traceback
from collections import Counter, OrderedDict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from simulator.attempt import Attempt, AttemptStore, MemoryStore, timeline
from simulator.attempt.calls import MARKERS, PRIME_QUESTION
from simulator.run import Run, simulate
from simulator.scenario import random_scenario

ACTS = 9  # of a walk
WATCHED = 900.0  # [s] between two acts at most
LONG = 300.0  # [s] of watching in a row that is called long: more than is computed at a time
GLANCE = 9.0  # [s] that a page shows between two messages
CALLS = 200  # different call-outs
KEPT = 240  # runs that are remembered
READY = ("put_on_ppe", "secure_discharge")


_runs: OrderedDict[Any, Run] = OrderedDict()


def remembered(*parts: Any, start: Any = None, **more: Any) -> Run:
    """As ``simulate``; the same question is worked out once, a question that differs in the least anew."""
    state = None if start is None else (start.y.tobytes(), start.modes.tobytes())
    asked = (*parts, state, *sorted(more.items()))
    if asked not in _runs:
        _runs[asked] = simulate(*parts, start=start, **more)
        if len(_runs) > KEPT:
            _runs.popitem(last=False)
    _runs.move_to_end(asked)
    return _runs[asked]


call_out = lru_cache(maxsize=CALLS)(random_scenario)


@dataclass
class Walk:
    """What a walk reached."""

    seed: int
    events: int = 0
    reloads: int = 0
    starts: int = 0
    stops: int = 0
    changes_while_running: int = 0
    longest_watch: float = 0.0  # [s] in a row
    longest_run: float = 0.0  # [s] on the run's clock
    stopped_late: bool = False  # watched for more than a minute after a change, then stopped
    failures: list[str] = field(default_factory=list)


def drawn(attempt: Attempt) -> bytes:
    """The samples a page may draw, all of them."""
    return attempt.samples(0.0, 1e5).data.tobytes()


def page(attempt: Attempt) -> str:
    """All else that a page shows of an attempt, byte for byte."""
    return json.dumps(attempt.snapshot().as_dict())


def kept(attempt: Attempt) -> list[Any]:
    """What the page is made from: yard, log, the rig as it is."""
    return [vars(attempt.yard), attempt.log, attempt.case.rig, attempt.case.site]


def any_call(chance: random.Random) -> dict[str, Any]:
    """Ten markers, laid at random."""
    names = ["drain_open", "belt_loose", "nrv_fouled", "something_else"]
    cuts = sorted(chance.randint(0, MARKERS) for _ in range(3))
    counts = [b - a for a, b in zip([0, *cuts], [*cuts, MARKERS], strict=True)]
    return {"markers": dict(zip(names, counts, strict=True))}


def any_act(attempt: Attempt, chance: random.Random) -> tuple[str, dict[str, Any]]:
    """One act out of all there are; engine, levers and work come up more often than on the page's list."""
    kind = chance.random()
    if kind < 0.18:
        return ("stop_engine", {}) if attempt.yard.engine_on else ("start_engine", {})
    if kind < 0.34:
        return "set_speed", {
            "speed": chance.choice(["slow", "rated"] if attempt.yard.speed == "rated" else ["rated"])
        }
    if kind < 0.38:
        return "wait", {"seconds": chance.choice([0.1, 3.0, 61.0, 400.0, 900.0])}
    if kind < 0.44:
        return "call", any_call(chance)
    if kind < 0.50:
        question = attempt.yard.question or "none"
        return "predict", {"question": question, "answer": chance.choice([None, 40, "shallow", "open_both"])}
    if kind < 0.54:
        return "ask_hint", {}
    views = [view for view in attempt.available_actions() if view.action not in ("give_up", "start_engine")]
    safe = [view for view in views if not view.risk]
    work = [view for view in safe if view.action == "remedy" and not view.waits]
    if work and kind < 0.68:
        safe = work
    view = chance.choice(safe if chance.random() < 0.98 else views)
    return view.action, view.args


def watch(attempt: Attempt, seconds: float, chance: random.Random) -> None:
    """Look on as a page does: glance by glance, with samples asked for now and then."""
    until = attempt.shown + seconds
    while attempt.shown < until:
        before = attempt.shown
        attempt.see(min(before + chance.uniform(0.5, 1.0) * GLANCE, until))
        if attempt.shown == before:
            return
        if chance.random() < 0.05:
            attempt.samples(before, attempt.shown + 30.0)


def walk(seed: int, store: AttemptStore | None = None, acts: int = ACTS, pages: int = 1) -> Walk:
    """One walk; every event is followed by a reload that must give the same bytes, and half of them are gone on with.

    The curves and what the page is made from are compared every time, the page itself every ``pages`` events and at
    the end.
    """
    chance, out = random.Random(seed), Walk(seed)
    store = MemoryStore() if store is None else store
    attempt = Attempt(call_out(seed % CALLS), store, seed=seed)
    opening: list[tuple[str, dict[str, Any]]] = [(action, {}) for action in READY]
    opening += [("predict", {"question": PRIME_QUESTION, "answer": 60}), ("start_engine", {})]
    if chance.random() < 0.15:
        opening = []
    changed = -1.0  # [s] of the run when something was last changed in it
    for number in range(acts + len(opening)):
        action, args = opening[number] if number < len(opening) else any_act(attempt, chance)
        version = attempt.timeline.version if attempt.timeline else 0
        shown = chance.choice([None, attempt.shown, attempt.shown + 4.96])
        running, run = attempt.yard.engine_on, len(attempt.timelines)
        attempt.act(action, args, f"c{number}", shown)
        out.events += 1
        out.starts += len(attempt.timelines) > run
        if running and not attempt.yard.engine_on:
            out.stops += 1
            out.stopped_late |= attempt.shown - changed > 60.0 and changed >= 0.0
        if len(attempt.timelines) > run:
            changed = -1.0
        elif attempt.timeline and attempt.timeline.version > version:
            out.changes_while_running += attempt.yard.engine_on
            changed = attempt.shown
        if chance.random() < (0.8 if changed == attempt.shown else 0.3):
            begun = attempt.shown
            watch(attempt, chance.uniform(0.0, WATCHED), chance)
            out.longest_watch = max(out.longest_watch, attempt.shown - begun)
        out.longest_run = max(out.longest_run, attempt.shown)
        again = Attempt.resume(store, attempt.id)
        out.reloads += 1
        last = bool(attempt.yard.ended) or number + 1 == acts + len(opening)
        same = kept(again) == kept(attempt) and drawn(again) == drawn(attempt)
        if not same or ((last or number % pages == 0) and page(again) != page(attempt)):
            out.failures.append(f"after event {number} ({action}) a reload shows something else")
            return out
        if last:
            break
        if chance.random() < 0.5:
            attempt = again
    return out


def walk_kept(seed: int, pages: int = 4) -> Walk:
    """As :func:`walk`; what is raised becomes a failure of the walk."""
    try:
        return walk(seed, pages=pages)
    except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
        return Walk(seed, failures=[traceback.format_exc(limit=-4)])


def summary(walks: Iterable[Walk]) -> Iterator[str]:
    """Lines that tell what the walks reached."""
    done = list(walks)
    failed = [one for one in done if one.failures]
    yield f"walks {len(done)}, events {sum(w.events for w in done)}, reloads {sum(w.reloads for w in done)}"
    changes = sum(w.changes_while_running for w in done)
    yield f"starts {sum(w.starts for w in done)}, stops {sum(w.stops for w in done)}, changes of a running rig {changes}"
    yield f"walks that watched {LONG:g} s or more in a row: {sum(w.longest_watch >= LONG for w in done)}"
    yield f"walks with a run of {2 * LONG:g} s or more: {sum(w.longest_run >= 2 * LONG for w in done)}"
    yield f"walks that stopped more than a minute after a change: {sum(w.stopped_late for w in done)}"
    yield f"walks that failed: {len(failed)}"
    for said, count in Counter(one.failures[0].strip().splitlines()[-1] for one in failed).most_common(8):
        first = next(w for w in failed if w.failures[0].strip().endswith(said))
        yield f"  {count} x {said} (first: walk {first.seed})"


def read_walks(path: Path) -> dict[int, Walk]:
    """The walks that a file holds, by seed; a line that was cut off is walked again."""
    done = {}
    for line in path.read_text(encoding="utf-8").splitlines() if path.exists() else ():
        try:
            one = Walk(**json.loads(line))
        except ValueError:
            continue
        done[one.seed] = one
    return done


def walk_many(seeds: Iterable[int], processes: int) -> Iterator[Walk]:
    """The walks of some seeds, as they end."""
    timeline.simulate_once = remembered  # type: ignore[assignment]
    if processes == 1:
        yield from map(walk_kept, seeds)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(walk_kept, seeds, chunksize=10)


def main(arguments: list[str] | None = None) -> int:
    """Walk and tell; 1 where a walk failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walks", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="seed of the first walk")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--kept", type=Path, help="file that keeps finished walks, a line each")
    given = parser.parse_args(arguments)
    done = read_walks(given.kept) if given.kept else {}
    left = [seed for seed in range(given.first, given.first + given.walks) if seed not in done]
    with (given.kept or Path(os.devnull)).open("a", encoding="utf-8") as kept:
        for one in walk_many(left, given.processes):
            done[one.seed] = one
            kept.write(f"{json.dumps(asdict(one))}\n")
            kept.flush()
    for line in summary(done.values()):
        sys.stdout.write(f"{line}\n")
    return 1 if any(one.failures for one in done.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
