"""Files of every kind that come from outside, damaged at random, and what becomes of each.

``python -m tests.records.mutated --files 2000`` prints the figures. A file is either taken whole or refused in a
sentence, with what was there before unchanged; pages, exports and the file itself are looked at after each.
"""

from __future__ import annotations

import argparse
import base64
import copy
import gc
import gzip
import json
import logging
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from ipywidgets import Widget

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.catalogue import EXAMPLE
from simulator.errors import InputError, SimulatorError
from simulator.instruments.warm_up import warm_up
from simulator.marking.certificate import Sitting, history
from simulator.panels.exercise import debrief_work as debriefing
from simulator.panels.learner.session import LearnerSession
from simulator.panels.lessons.assessment.page import Assessment
from simulator.panels.lessons.field_sheet.page import FieldPage
from simulator.panels.lessons.how_the_rig_draws_water.page import DrawsWater
from simulator.panels.lessons.practice_yard.call_book import whole_book
from simulator.panels.lessons.practice_yard.page import Practice
from simulator.panels.lessons.reading_the_gauge.page import ReadingTheGauge
from simulator.panels.lessons.start_here.page import StartHere
from simulator.panels.page.part import NOT_BUILT
from simulator.records import (
    ObservedJob,
    Store,
    export_csv,
    keep_job,
    left_out,
    merge_work,
    read_work,
    write_work,
)
from simulator.records.work_file import checksum
from simulator.rig import presets
from simulator.rig.presets import read_rig_file, rig_names, standard_site
from simulator.rig.trainer import read_overrides
from simulator.run import simulate
from simulator.scenario import load_scenario, random_scenario
from tests.panels.conftest import Clicks
from tests.panels.lessons.test_field_sheet import typed
from tests.panels.lessons.test_how_the_rig_draws_water import act, guess_all, panel_of
from tests.panels.lessons.test_start_here import do_all, open_home
from tests.panels.teaching.test_taught_lesson import begin, do_round

KINDS = ("call-out", "rig", "trainer", "progress", "work")
SCENARIOS = Path(__file__).parents[2] / "lessons" / "scenarios"
LONGEST = 5.0  # [s] of processor time for one file, pages and all
STUCK = 120  # [s] by the clock, after which it is broken off: the machine may be busy
NASTY: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 2**31, 2**63, -(2**70), 10**18, 0.5, -0.0, 1e-300, 1e300, 1e308),
    *("", " ", "x", "0", "1e5", "nan", "\x00", "\ud800", "‮", "é" * 50, "a" * 5000, "../../etc/passwd"),
    *("<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "=1+1", "joint:0", "joint:99", "sound"),
    *(
        [],
        {},
        [[]],
        [None],
        {"a": 1},
        {"": ""},
        "2026-13-40T99:99:99.000Z",
        "0001-01-01T00:00:00.000Z",
        "{pull}",
    ),
)
YAML_NASTY = (
    *("", "~", "[]", "{}", "-1", "0", "1" * 400, "1e999", "-1e999", ".nan", ".inf", "-.inf", "yes", "0x10"),
    *(
        "&a [*a]",
        "*a",
        "!!python/object:os.system x",
        "!x y",
        "[" * 60,
        "{a: " * 40,
        "'",
        '"',
        "|",
        "? x",
        "<<: {}",
    ),
    *(
        "joint:0",
        "joint:9",
        "length:1",
        "<b>x</b>",
        "a" * 3000,
        "\x07",
        "é",
        "2026-01-01",
        "1:30",
        "1_000",
        "%",
    ),
)


@dataclass
class Outcome:
    """What became of a number of files."""

    taken: int = 0
    refused: int = 0
    tracebacks: list[str] = field(default_factory=list)
    hangs: list[str] = field(default_factory=list)
    half_loaded: list[str] = field(default_factory=list)
    originals: list[str] = field(default_factory=list)
    told_on_page: int = 0
    slowest: float = 0.0  # [s] of processor time

    @property
    def bad(self) -> list[str]:
        """Everything that must not be."""
        return [*self.tracebacks, *self.hangs, *self.half_loaded, *self.originals]


class Ticking:
    """A clock that goes on a second whenever it is read."""

    def __init__(self) -> None:
        self.time = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


# what is damaged


@lru_cache(maxsize=1)
def good_work() -> str:
    """A work file with all kinds of records, made in a process of its own: marking loads much that loading does not."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as beside:
        return beside.submit(work_done).result()


def work_done() -> str:
    """A work file with all kinds of records, made on the pages themselves."""
    clock, click = Ticking(), Clicks()
    with tempfile.TemporaryDirectory() as folder, Store.open("sqlite://", now=clock) as store:
        desk = LearnerSession(store, folder=Path(folder), now=clock)
        do_all(open_home(desk), click)
        draws = DrawsWater(desk)
        draws.aim()
        draws.run()
        guess_all(draws, click)
        for name in ("put_on_ppe", "secure_discharge", "start_engine"):
            act(panel_of(draws), name)
        panel_of(draws).attempt.see(12.0)
        draws.work.keep(
            "run:sound", {"points": [[0.0, 0], [0.5, 900]], "prime_s": 39.5, "slow": False}, "run"
        )
        lesson = ReadingTheGauge(desk)
        lesson.aim()
        begin(lesson, click)
        for stage in range(2):
            lesson.work.keep(f"on:case:{stage}:end", True, f"stage {stage}")
        lesson.work.keep("on:case:2:end", True, "stage 2")
        do_round(lesson, click, "drills")
        sheet = FieldPage(desk)
        sheet.aim()
        click(sheet, "draft", form=typed(where="By the lock"))
        click(sheet, "judge", form=typed(where="By the lock"))
        call = load_scenario(SCENARIOS / "alder_ditch.scenario.yaml")
        played = Attempt(call, _Slot(store, "practice-yard"), learner="Ash", seed=5)
        for number, name in enumerate(("put_on_ppe", "secure_discharge", "start_engine")):
            played.act(name, {}, f"click {number}")
        played.see(30.0)
        played.act("give_up", {}, "click 9")
        debriefing.debrief_and_keep(played, "metric", lambda done, total: None)
        store.save_marks(played.id, {"total": 61.0, "parts": []}, source="trainer", marked_by="Wren")
        waiting = Attempt(random_scenario(7), _Slot(store, "practice-yard", level="first"), learner="Ash")
        waiting.act("put_on_ppe", {}, "click a")
        sitting = Sitting.begin(store, "Ash", seed=1)
        sitting.attempt().act("put_on_ppe", {}, "click b")
        keep_job(store, ObservedJob("Ash", "Wren", "2026-03-02", steps=("Walk round",), points={"found": 45}))
        assert left_out(store, "Ash") == ()
        return write_work(store, "Ash")


class _Slot:
    """A store that writes where a record belongs."""

    def __init__(self, store: Store, slot: str, **more: Any) -> None:
        self._store, self._more = store, {"lesson": slot, **more}

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        return self._store.create_attempt({**record, **self._more}, attempt_id)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)


def good_file(kind: str, chance: random.Random) -> bytes:
    """A file of a kind as it should be."""
    if kind == "call-out":
        path = chance.choice(sorted(SCENARIOS.glob("*.scenario.yaml")))
    elif kind == "rig":
        path = Path(presets.__file__).parent / "data" / f"{chance.choice(rig_names())}.yaml"
    elif kind == "trainer":
        path = Path(EXAMPLE)
    elif kind == "progress":
        return json.dumps({"name": "Ash", "units": "us", "in_file": {"Ash": 12}}).encode()
    else:
        return good_work().encode()
    return path.read_bytes()


# how it is damaged


def bytes_hurt(raw: bytes, chance: random.Random) -> bytes:
    """Bits turned, bytes lost, doubled, put elsewhere, or the end cut off."""
    data = bytearray(raw)
    for _ in range(chance.choice((1, 1, 1, 2, 5, 40))):
        at = chance.randrange(len(data)) if data else 0
        size = min(chance.choice((1, 1, 4, 40, 4000)), len(data) - at)
        how = chance.randrange(6)
        if how == 0 and data:
            data[at] ^= 1 << chance.randrange(8)
        elif how == 1:
            del data[at : at + size]
        elif how == 2:
            data[at:at] = data[at : at + size]
        elif how == 3:
            data[at:at] = bytes(chance.randrange(256) for _ in range(min(size, 40)))
        elif how == 4:
            del data[at:]
        else:
            piece = bytes(data[at : at + size])
            del data[at : at + size]
            to = chance.randrange(len(data) + 1)
            data[to:to] = piece
    return bytes(data)


def lines_hurt(raw: bytes, chance: random.Random) -> bytes:
    """Lines of a YAML file lost, doubled, moved in, or with another value."""
    lines = raw.decode().split("\n")
    for _ in range(chance.choice((1, 1, 2, 4))):
        at = chance.randrange(len(lines))
        key, mark, _ = lines[at].partition(":")
        how = chance.randrange(6)
        if how <= 2 and mark:
            lines[at] = f"{key}: {chance.choice(YAML_NASTY)}"
        elif how == 3:
            del lines[at]
        elif how == 4:
            lines.insert(chance.randrange(len(lines) + 1), lines[at])
        else:
            lines[at] = lines[at].replace("_", chance.choice(("", "__", "-")), 1).replace("e", "a", 1)
        if not lines:
            break
    return "\n".join(lines).encode("utf-8", "surrogatepass")


def places_of(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value in plain data."""
    if path:
        yield path
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in pairs:
        yield from places_of(below, (*path, key))


def values_hurt(body: Any, chance: random.Random) -> Any:
    """Plain data with one or a few values, names or list items changed."""
    body = copy.deepcopy(body)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        ways = list(places_of(body))
        if not ways:
            break
        way = chance.choice(ways)
        holder = body
        for step in way[:-1]:
            holder = holder[step]
        last, how = way[-1], chance.randrange(8)
        old = holder[last]
        if how <= 3:
            holder[last] = copy.deepcopy(chance.choice(NASTY))
        elif how == 4:
            del holder[last]
        elif how == 5 and isinstance(holder, dict):
            holder[chance.choice(("", "x", f"{last}_", "question"))] = holder.pop(last)
        elif how == 6 and isinstance(holder, list):
            holder.insert(chance.randrange(len(holder) + 1), copy.deepcopy(chance.choice(holder)))
        elif isinstance(old, (int, float)) and not isinstance(old, bool):
            holder[last] = old * chance.choice((-1, 0, 10, 1e6, 1e15))
        elif isinstance(old, str):
            holder[last] = old[::-1] if chance.random() < 0.5 else old + old
        else:
            holder[last] = [old]
    return body


def values_swapped(body: Any, chance: random.Random) -> Any:
    """Plain data with values of their own kind in other places: what a check of types alone would let in."""
    body = copy.deepcopy(body)
    ways = list(places_of(body))
    for _ in range(chance.choice((1, 2, 4))):
        way, other = chance.choice(ways), chance.choice(ways)
        one, two = reach(body, way), reach(body, other)
        if one is None or two is None:
            continue
        old, new = one[way[-1]], two[other[-1]]
        if type(old) is type(new) and not isinstance(old, (dict, list)):
            one[way[-1]] = new
        elif isinstance(old, bool):
            one[way[-1]] = not old
        elif isinstance(old, (int, float)):
            one[way[-1]] = old + chance.choice((-1, 1, 7))
    return body


def reach(body: Any, way: tuple[Any, ...]) -> Any:
    """What holds the value at the end of a way; None where it is no longer there."""
    holder = body
    try:
        for step in way[:-1]:
            holder = holder[step]
        holder[way[-1]]
    except (KeyError, IndexError, TypeError):
        return None
    return holder


def events_lost(body: Any, chance: random.Random) -> Any:
    """Events taken out of the logs, or put in another order, and numbered anew: whole, and yet not what happened."""
    body = copy.deepcopy(body)
    entries = body.get("attempts", [body])
    logs = [each["events"] for each in entries if isinstance(each, dict) and each.get("events")]
    for log in chance.sample(logs, min(len(logs), chance.choice((1, 2)))):
        for _ in range(chance.choice((1, 2, 5))):
            at = chance.randrange(len(log))
            event = log.pop(at)
            if chance.random() < 0.3:
                log.insert(chance.randrange(len(log) + 1), event)
            if not log:
                break
        for number, event in enumerate(log):
            event["seq"] = number
            if "seq" in event["payload"]:
                event["payload"]["seq"] = number
    return body


def work_hurt(raw: bytes, chance: random.Random) -> bytes:
    """A work file hurt inside, packed records too; for half of them the checksum is made right again."""
    body = json.loads(raw)
    packed = [n for n, each in enumerate(body["attempts"]) if "closed" in each]
    harm = chance.choice((values_hurt, values_swapped, values_swapped, events_lost))
    if chance.random() < 0.4:
        number = chance.choice(packed)
        entry = body["attempts"][number]
        inside = json.loads(zlib.decompress(base64.b85decode(entry["closed"])))
        written = json.dumps(harm(inside, chance)).encode()
        entry["closed"] = base64.b85encode(zlib.compress(written)).decode()
    else:
        body = harm(body, chance)
    if chance.random() < 0.5 and isinstance(body, dict):
        with suppress(ValueError):
            body["checksum"] = checksum(body)
    written = json.dumps(body, indent=1).encode()
    return gzip.compress(written) if chance.random() < 0.2 else written


def hurt(kind: str, raw: bytes, chance: random.Random) -> bytes:
    """A damaged file."""
    if chance.random() < 0.3:
        return bytes_hurt(raw, chance)
    if kind == "work":
        return work_hurt(raw, chance)
    if kind == "progress":
        return json.dumps(values_hurt(json.loads(raw), chance)).encode()
    return lines_hurt(raw, chance)


# what becomes of it


class Told(logging.Handler):
    """Counts what was told on a page in place of a part that could not be built."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        if record.getMessage() == NOT_BUILT:
            self.said.append(
                "".join(traceback.format_exception(*record.exc_info)[-2:]) if record.exc_info else ""
            )


def dump(store: Store) -> dict[str, Any]:
    """All that stands in a store."""
    return {
        row.attempt_id: (
            store.attempt_record(row.attempt_id),
            store.log(row.attempt_id),
            store.marks(row.attempt_id),
        )
        for row in store.list_attempts()
    }


def try_call(path: Path) -> bool:
    """A call-out in the yard's book: it is there and plays, or it is named."""
    book = whole_book(path.parent)
    try:
        scenario = load_scenario(path)
    except InputError:
        assert (len(book.calls), len(book.left_out)) == (0, 1)
        return False
    assert book.left_out == ()
    attempt = Attempt(scenario, MemoryStore(), learner="Ash")
    for name in ("put_on_ppe", "secure_discharge", "start_engine"):
        attempt.act(name)
    attempt.see(20.0)
    attempt.snapshot()
    return True


def try_rig(path: Path) -> bool:
    """A rig of one's own: it runs, or a sentence says what is wrong with it."""
    try:
        rig = read_rig_file(path)
    except InputError:
        return False
    with suppress(SimulatorError):  # legal, and cannot stand at this site
        simulate(rig, standard_site(), duration=20.0)
    return True


def try_trainer(path: Path) -> bool:
    """A trainer's figures."""
    try:
        read_overrides(path)
    except InputError:
        return False
    return True


def open_pages(desk: LearnerSession) -> None:
    """Every page that reads the records, and every export."""
    home = open_home(desk)
    home.take_along()
    home.watched()
    for kind, names in (
        (DrawsWater, ("aim", "predict", "compare", "check", "what_next", "run")),
        (ReadingTheGauge, ("aim", "predict", "run", "case", "drills", "check", "what_next")),
        (FieldPage, ("aim", "sheet", "points_to", "what_next")),
        (Practice, ("aim", "what_next", "calls")),
        (Assessment, ("aim", "sitting", "result", "what_next")),
    ):
        page = kind(desk)
        for name in names:
            getattr(page, name)()
    if desk.name:
        history(desk.store, desk.name)
    for sheet in ("attempts", "events", "marks", "observed_jobs"):
        export_csv(desk.store, sheet)
    write_work(desk.store, desk.name)


def try_progress(path: Path, tried: Outcome, name: str) -> bool:
    """What a page remembers of its learner: a spoilt file is as none."""
    with Store.open("sqlite://") as store:
        desk = LearnerSession(store, folder=path.parent)
        page = StartHere(desk)
        page.welcome()
        page.take_along()
        Clicks()(page, "name", name="Bo")
        if LearnerSession(store, folder=path.parent).name != "Bo":
            tried.half_loaded.append(name)
        return bool(desk.name)


def try_work(data: bytes, tried: Outcome, name: str) -> bool:
    """A work file: merged whole into records that are there, or refused and nothing changed."""
    with tempfile.TemporaryDirectory() as folder, Store.open("sqlite://", now=Ticking()) as store:
        desk = LearnerSession(store, folder=Path(folder), now=Ticking())
        desk.set_name("Ash")
        store.create_attempt({"learner": "Ash", "lesson": "04", "mode": "lesson", "seed": 3})
        before = dump(store)
        try:
            work = read_work(data)
            merge_work(store, work)
        except InputError:
            if dump(store) != before:
                tried.half_loaded.append(name)
            return False
        after = dump(store)
        if any(after.get(key) != value for key, value in before.items()):
            tried.originals.append(name)
        for each in work.attempts:
            held = after.get(each["attempt_id"])
            whole = held is not None and len(held[1]) == len(each["events"])
            if not whole or len(held[2]) < len(each["marks"]) - 1:
                tried.half_loaded.append(name)
        desk.set_name(work.learner)
        open_pages(desk)
        return True


@contextmanager
def no_longer_than(seconds: int) -> Iterator[None]:
    """Break off what does not come to an end."""

    def late(*_: Any) -> None:
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def try_file(kind: str, data: bytes, folder: Path, tried: Outcome, name: str) -> bool:
    """Put a file in its place and let the program meet it; True where it was taken."""
    called = {"call-out": "call.scenario.yaml", "progress": "learner.json"}.get(kind, "file.yaml")
    with tempfile.TemporaryDirectory(dir=folder) as own:
        path = Path(own) / called
        path.write_bytes(data)
        if kind == "work":
            return try_work(data, tried, name)
        if kind == "progress":
            return try_progress(path, tried, name)
        tries: dict[str, Callable[[Path], bool]] = {
            "call-out": try_call,
            "rig": try_rig,
            "trainer": try_trainer,
        }
        taken = tries[kind](path)
        if path.read_bytes() != data:
            tried.originals.append(name)
        return taken


def sweep(kind: str, count: int, seed: int = 1, say: Callable[[str], None] | None = None) -> Outcome:
    """Try so many damaged files of a kind."""
    tried, told = Outcome(), Told()
    log = logging.getLogger("simulator.panels.page.part")
    log.addHandler(told)
    with tempfile.TemporaryDirectory() as folder:
        undamaged = good_file(kind, random.Random(kind))
        assert try_file(kind, undamaged, Path(folder), tried, kind), (
            "it loads what every page needs, and is taken"
        )
        Widget.close_all()
        gc.collect()
        gc.freeze()  # what is loaded stays: searching it again after each file took most of the time
        for number in range(count):
            name = f"{kind} {seed}:{number}"
            chance = random.Random(name)
            data = hurt(kind, good_file(kind, chance), chance)
            began = time.process_time()
            try:
                with no_longer_than(STUCK):
                    taken = try_file(kind, data, Path(folder), tried, name)
                tried.taken += taken
                tried.refused += not taken
            except TimeoutError:
                tried.hangs.append(name)
            except Exception:  # noqa: BLE001 - counted, and shown
                tried.tracebacks.append(f"{name}\n{traceback.format_exc(limit=-6)}")
            took = time.process_time() - began
            Widget.close_all()  # the pages of one file are closed before the next one comes
            gc.collect()
            if took > LONGEST:
                tried.hangs.append(f"{name}: {took:.1f} s")
            tried.slowest = max(tried.slowest, took)
            if say and number % 50 == 49:
                say(f"{kind}: {number + 1}")
    log.removeHandler(told)
    tried.told_on_page = len(told.said)
    if say:
        for said, times in Counter(re.sub(r"'[^']*'", "…", each) for each in told.said).most_common(12):
            say(f"told on a page {times} times: {said}")
    return tried


def peak_memory() -> float:
    """The most memory this process has had [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def main() -> int:
    """Print what became of the files; 1 where something happened that must not."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", nargs="*", default=KINDS, choices=KINDS)
    chosen = parser.parse_args()
    bad = 0

    def say(words: str) -> None:
        sys.stderr.write(f"{words}\n")
        sys.stderr.flush()

    with ProcessPoolExecutor(
        1, mp_context=get_context("spawn")
    ) as beside:  # compiled first, as the opener does
        beside.submit(warm_up).result()
    for kind in chosen.kinds:
        got = sweep(kind, chosen.files // len(chosen.kinds), chosen.seed, say)
        bad += len(got.bad)
        sys.stdout.write(
            f"{kind:9} taken {got.taken:4}, refused {got.refused:4}, tracebacks {len(got.tracebacks)}, "
            f"over {LONGEST:g} s {len(got.hangs)} (slowest {got.slowest:.2f} s), half loaded {len(got.half_loaded)}, "
            f"originals changed {len(got.originals)}, told on a page {got.told_on_page}\n"
        )
        for each in got.bad[:20]:
            sys.stdout.write(f"  {each}\n")
        sys.stdout.flush()
    sys.stdout.write(f"most memory: {peak_memory():.0f} MB\n")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
