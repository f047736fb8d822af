"""A demonstration without a page: acts folded into one run, which can be taken back to any moment and kept.

The same acts give the same bytes, whenever they are folded.

Arguments, the same throughout: ``setting`` rig and site; ``tick`` a moment of the run [0.1 s since the start].
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simulator.attempt.case import sound_run
from simulator.attempt.samples import INSIDE, Samples, exhaust_codes
from simulator.attempt.timeline import TICK, Timeline, tick_of
from simulator.attempt.yard import SPEEDS
from simulator.errors import InputError, RefusedAct
from simulator.instruments.senses import drain_spray, heard_speed
from simulator.panels.trainer.bench.faults_in import (
    AT_ONCE,
    Change,
    FaultIn,
    creeps_until,
    rest_size,
    rig_with,
    sizes_at,
    target_at,
)
from simulator.rig.faults import FAULTS, size_words
from simulator.scenario import Scenario, SiteChoice, scenario_from, sound_rig
from simulator.scenario.choices import moved_place
from simulator.texts import text

LONGEST = tick_of(1800.0)  # of a demonstration
AHEAD = 10.0  # [s] that may be sent ahead of what is shown
MOST_FAULTS = 8
MOST_ACTS = 400
GROWS = (0.0, 30.0, 120.0, 300.0)  # [s] over which a fault may come or grow; 0: at once
#: What everybody beside a running rig has before them; a page that looks in from outside gets these and no more.
OUTSIDE = ("suction_shown", "motive_shown", "discharge_shown", "speed", "drain_spray")
QUESTIONS = {
    "needle": ("climbs", "stands", "falls", "swings"),
    "water": ("comes_sooner", "comes_later", "never", "goes"),
}
MOST_HANDS = 99


@dataclass(frozen=True)
class Setting:
    """Rig and site of a demonstration; lengths in m, None: as the rig has it. ``seed`` is of chance in the gauges."""

    rig: str = "osier"
    lift_m: float = 3.0
    hose_length_m: float | None = None
    seed: int = 1

    def scenario(self) -> Scenario:
        """The same as a call-out with nothing wrong.

        Raises
        ------
        InputError : a figure is out of range, with what would be legal.

        Examples
        --------
        >>> Setting(lift_m=4.0).scenario().site.lift_m
        4.0
        """
        plain = Scenario(
            title=text("bench.title"), brief=text("bench.lead"), site=SiteChoice(lift_m=3.0), mode="guided"
        ).content()
        plain |= {"rig": self.rig, "see_through": True}
        plain["site"]["lift_m"] = self.lift_m
        if self.hose_length_m is not None:
            plain["hose_length_m"] = self.hose_length_m
        return scenario_from(plain, text("bench.setting"))


@dataclass(frozen=True)
class Act:
    """Something the trainer did at a moment; ``args`` plain data, sizes in the unit of files, places counted from 1."""

    tick: int
    kind: str
    args: dict[str, Any]


class BenchRun:
    """One demonstration.

    Parameters
    ----------
    acts : to begin with, in order of time.

    Raises
    ------
    InputError : the setting or an act cannot be.

    Examples
    --------
    >>> run = BenchRun(Setting())
    >>> run.do(0, "start", {})
    >>> run.do(200, "let_in", {"fault": "drain_open", "place": "", "size": 50.0, "over_s": 0.0})
    >>> [mark["kind"] for mark in run.marks()]
    ['start', 'let_in']
    """

    def __init__(self, setting: Setting, acts: Iterable[Act] = ()) -> None:
        self.setting = setting
        self.scenario = setting.scenario()
        self.sound = sound_rig(self.scenario)
        self.acts: list[Act] = []
        self.timeline: Timeline | None = None
        self.faults: dict[int, FaultIn] = {}
        self.changes: list[Change] = []
        self._creeping: dict[tuple[int, float], float] = {}
        self._rests: dict[int, float | None] = {}  # by number, the size from which a fault comes
        self.speed = "rated"
        for act in acts:
            self.do(act.tick, act.kind, act.args)

    @property
    def running(self) -> bool:
        """Whether the engine runs."""
        return self.timeline is not None and self.timeline.running

    def do(self, tick: int, kind: str, args: dict[str, Any]) -> None:
        """Do one act at a moment no earlier than the last.

        Parameters
        ----------
        kind : "start", "stop", "speed", "let_in", "grow", "clear", "ask" or "hands".
        args : of the act.

        Raises
        ------
        InputError : there is no such act, or its arguments cannot be.
        RefusedAct : it cannot be done now.
        """
        done = _DOERS.get(kind)
        if done is None:
            raise InputError(f"there is no act {kind!r}", "act", ", ".join(KINDS))
        if self.acts and tick < self.acts[-1].tick:
            raise InputError("it comes before the act before it", "at_s", "later")
        if len(self.acts) >= MOST_ACTS or tick > LONGEST:
            raise RefusedAct("full", text("bench.said.full"))
        kept = done(self, 0 if self.timeline is None else tick, args)
        if kept is not None:
            self.acts.append(Act(0 if self.timeline is None else tick, kind, kept))

    # the engine

    def _do_start(self, tick: int, args: dict[str, Any]) -> dict[str, Any]:
        if self.running:
            raise RefusedAct("runs", text("bench.said.runs"))
        if self.timeline is None:
            rig, site = rig_with(self.sound, self.faults, self.changes)
            self.timeline = Timeline(1, rig, site, None, SPEEDS[self.speed], self.setting.seed)
        else:
            self.timeline.change(tick, speed=SPEEDS[self.speed])
        return {}

    def _do_stop(self, tick: int, args: dict[str, Any]) -> dict[str, Any]:
        if self.timeline is None or not self.running:
            raise RefusedAct("stands", text("bench.said.stands"))
        self.timeline.change(tick, speed=0.0)
        return {}

    def _do_speed(self, tick: int, args: dict[str, Any]) -> dict[str, Any] | None:
        speed = args.get("speed")
        if speed not in SPEEDS:
            raise InputError(f"there is no engine speed {speed!r}", "speed", ", ".join(SPEEDS))
        if speed == self.speed:
            return None
        self.speed = speed
        if self.timeline is not None and self.running:
            self.timeline.change(tick, speed=SPEEDS[speed])
        return {"speed": speed}

    # faults

    def _do_let_in(self, tick: int, args: dict[str, Any]) -> dict[str, Any]:
        fault = FAULTS.get(str(args.get("fault")))
        if fault is None or fault.family == "none":
            raise InputError(f"there is no fault {args.get('fault')!r}", "fault", "one of the list")
        place = str(args.get("place") or "")
        here = moved_place(place, -1) if place else ""
        if any((one.fault, one.place) == (fault.id, here) for one in self.standing(tick).values()):
            raise RefusedAct("there", text("bench.said.there"))
        if len(self.faults) >= MOST_FAULTS:
            raise RefusedAct("many", text("bench.said.many", n=MOST_FAULTS))
        size = self._size(fault.id, args)
        number, over = len(self.faults), _over(args)
        since = tick * TICK
        faults = {**self.faults, number: FaultIn(fault.id, here, since)}
        self._alter(tick, faults, Change(number, since, since + max(over, AT_ONCE), size), self.changes)
        self._rests[number] = rest_size(self.sound, faults[number])
        kept = {"fault": fault.id, "place": place, "over_s": over}
        return kept | ({} if fault.size is None else {"size": args["size"]})

    def _do_grow(self, tick: int, args: dict[str, Any]) -> dict[str, Any]:
        number = self._number(tick, args)
        size, over, start = self._size(self.faults[number].fault, args), _over(args), tick * TICK
        if FAULTS[self.faults[number].fault].size is None:
            raise RefusedAct("whole", text("bench.said.whole"))
        change = Change(number, start, start + max(over, AT_ONCE), size)
        self._alter(tick, self.faults, change, self.changes)
        return {"number": number, "size": args["size"], "over_s": over}

    def _do_clear(self, tick: int, args: dict[str, Any]) -> dict[str, Any]:
        number, start = self._number(tick, args), tick * TICK
        change = Change(number, start, start + AT_ONCE, None)
        self._alter(tick, self.faults, change, self.changes)
        return {"number": number}

    def _number(self, tick: int, args: dict[str, Any]) -> int:
        number = args.get("number")
        if number not in self.standing(tick):
            raise RefusedAct("not_in", text("bench.said.not_in"))
        return int(number)  # type: ignore[arg-type]

    def _size(self, fault: str, args: dict[str, Any]) -> float:
        size, given = FAULTS[fault].size, args.get("size")
        if size is None:
            return 0.0
        figure = isinstance(given, (int, float)) and not isinstance(given, bool) and np.isfinite(given)
        si = size.from_file(float(given)) if figure else np.nan  # type: ignore[arg-type]
        if not size.low <= si <= size.high:
            raise InputError(f"{given!r} is out of range", size_words(fault), size.legal())
        return si

    def _alter(self, tick: int, faults: dict[int, FaultIn], change: Change, before: list[Change]) -> None:
        changes = [*before, change]
        rig, site = rig_with(self.sound, faults, changes)
        if self.timeline is not None:
            self.timeline.change(tick, rig=rig, site=site)
        self.faults, self.changes = faults, changes

    # the class is asked

    def _do_ask(self, tick: int, args: dict[str, Any]) -> dict[str, Any]:
        if args.get("question") not in QUESTIONS:
            raise InputError(
                f"there is no question {args.get('question')!r}", "question", ", ".join(QUESTIONS)
            )
        if self.timeline is None:
            raise RefusedAct("no_run", text("bench.said.ask_running"))
        return {"question": args["question"], "hands": [0] * len(QUESTIONS[args["question"]])}

    def _do_hands(self, tick: int, args: dict[str, Any]) -> None:
        asked = [place for place, act in enumerate(self.acts) if act.kind == "ask"]
        hands = args.get("hands")
        if not asked:
            raise RefusedAct("not_asked", text("bench.said.not_asked"))
        act = self.acts[asked[-1]]
        whole = isinstance(hands, list) and all(type(n) is int and 0 <= n <= MOST_HANDS for n in hands)
        if not whole or len(hands) != len(act.args["hands"]):  # type: ignore[arg-type]
            raise InputError("this is no show of hands", text("bench.ask.hands"), f"0 to {MOST_HANDS} each")
        self.acts[asked[-1]] = replace(act, args={**act.args, "hands": hands})

    # what stands

    def standing(self, tick: int) -> dict[int, FaultIn]:
        """The faults that are in at a moment, by their number."""
        return {number: self.faults[number] for number in self.sizes(tick)}

    def sizes(self, tick: int) -> dict[int, float]:
        """How bad each of them is [SI]."""
        return sizes_at(self.changes, tick * TICK, self._rests)

    def _creeps(self, number: int, size: float) -> float:
        if (number, size) not in self._creeping:
            self._creeping[number, size] = creeps_until(self.sound, self.faults[number], size)
        return self._creeping[number, size]

    def last_growth(self) -> float:
        """The second of the run [s] after which nothing that was let in changes by itself; 0 where nothing ever does."""
        ends = [change.end for change in self.changes if change.end - change.start > 2 * AT_ONCE]
        ends += [
            self._creeps(change.number, change.size) for change in self.changes if change.size is not None
        ]
        return max(ends, default=0.0)

    def on_its_way(self, number: int, tick: int) -> tuple[float, float] | None:
        """The size [SI] to which a fault still goes at a moment, and the second [s] at which it gets there; or None.

        Parameters
        ----------
        number : of the fault.
        """
        change = target_at(self.changes, number, tick * TICK)
        last = next(
            each for each in reversed(self.changes) if each.number == number and each.start <= tick * TICK
        )
        size = last.size or 0.0
        end = max(last.end if change is not None else 0.0, self._creeps(number, size))
        return (size, end) if tick * TICK < end else None

    def comes_by_size(self, number: int, tick: int) -> bool:
        """Whether a fault on its way stands at a size meanwhile; else its figure is what it will be.

        Parameters
        ----------
        number : of the fault.
        """
        first = next(each for each in self.changes if each.number == number)
        if tick * TICK < self._creeps(number, first.size or 0.0):
            return False
        return self._rests.get(number) is not None or tick * TICK >= first.end

    def marks(self) -> list[dict[str, Any]]:
        """What leaves its mark on the curve: ``t`` [s], ``kind`` of act, ``number`` of a fault or None."""
        out, number = [], 0
        for act in self.acts:
            which = act.args.get("number")
            if act.kind == "let_in":
                which, number = number, number + 1
            out.append({"t": round(act.tick * TICK, 1), "kind": act.kind, "number": which, "args": act.args})
        return out

    def back_to(self, tick: int) -> BenchRun:
        """The same run with all that was done after a moment undone, to go on from there."""
        kept = [act for act in self.acts if act.tick <= tick]
        return BenchRun(self.setting, kept)

    def reach(self, shown: int) -> int:
        """The last tick that may be sent while ``shown`` is the furthest one seen."""
        if self.timeline is None:
            return 0
        last = self.timeline.last_tick
        return min(shown + tick_of(AHEAD), LONGEST, LONGEST if last is None else last)

    def samples(self, number: int, start: int, last: int, *, inside: bool) -> Samples:
        """Samples of the run from one tick to another.

        Parameters
        ----------
        number : of the run, as the page knows it.
        start, last : first and last tick.
        inside : with what only shows where one may look inside.
        """
        names = OUTSIDE + ((*INSIDE, "exhaust_kind") if inside else ())
        if self.timeline is None:
            return Samples(None, 0.0, TICK, names, np.zeros((len(names), 0), dtype=np.float32), True)
        count = max(last - start + 1, 0)
        part = slice(start, start + count)
        history = self.timeline.history(max(last, 0))
        rows = [self._outside(name, history, max(last, 0), count, inside)[part] for name in OUTSIDE]
        if inside:
            rows += [np.asarray(getattr(history, name), dtype=float)[part] for name in INSIDE]
            rows.append(exhaust_codes(history, sound_run(*self.sound), start, count))
        data = np.asarray(rows, dtype=np.float32).reshape(len(names), count)
        end = self.timeline.last_tick
        final = last >= LONGEST or (end is not None and last >= end)
        return Samples(number, round(start * TICK, 1), TICK, names, data, final)

    def _outside(self, name: str, history: Any, last: int, count: int, inside: bool) -> np.ndarray:
        assert self.timeline is not None
        if name.endswith("_shown"):
            gauge = name.removesuffix("_shown")
            if gauge == "motive" and not self.sound[0].has_motive_gauge:
                return np.full(last + 1, np.nan)
            return self.timeline.needle(gauge, last)
        if name == "speed":
            ratio = np.asarray(history.speed_ratio, dtype=float)
            return ratio if inside else heard_speed(ratio)
        return drain_spray(history)


#: What can be done, and by which method.
_DOERS = {
    "start": BenchRun._do_start,
    "stop": BenchRun._do_stop,
    "speed": BenchRun._do_speed,
    "let_in": BenchRun._do_let_in,
    "grow": BenchRun._do_grow,
    "clear": BenchRun._do_clear,
    "ask": BenchRun._do_ask,
    "hands": BenchRun._do_hands,
}
KINDS = tuple(_DOERS)


def _over(args: dict[str, Any]) -> float:
    over = args.get("over_s", 0.0)
    if over not in GROWS:
        raise InputError(
            f"{over!r} is no time to grow in", "over_s", ", ".join(f"{each:g}" for each in GROWS)
        )
    return float(over)
