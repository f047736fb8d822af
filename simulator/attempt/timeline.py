"""One start of the engine and what follows: computed ahead, and anew only from where something changed.

How far ahead is the timeline's own affair: who asks for a run or a needle says up to which tick, and gets that much
and no more. So nobody can run off its end, and a replay, which computes less ahead, gives the same.

Times count from the start on the 0.1 s grid, kept as whole ticks so that a replay gives the same bytes.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import Any

import numpy as np

from simulator.instruments.chance import key
from simulator.instruments.gauges import gauges_of, needle_of
from simulator.rig.rig import Rig, Site
from simulator.run import CHANNELS, ControlStep, Run, State
from simulator.run.once import simulate_once
from simulator.run.outcome import HELD, SHARE, prime_time

TICK = 0.1  # [s]
AHEAD = 300.0  # [s] computed at a time while the engine runs
TAIL = 60.0  # [s] computed after a stop: the column falls back
EVENT_CHANNELS = ("relief_open", "nrv_open", "relief_pops")


def tick_of(time: float) -> int:
    """The first grid tick [0.1 s] at or after a time [s].

    Examples
    --------
    >>> tick_of(22.0), tick_of(22.01)
    (220, 221)
    """
    return math.ceil(time / TICK - 1e-6)


class Joined:
    """Pieces of a run, each channel joined when somebody asks for it."""

    def __init__(self, pieces: list[tuple[int, Run]]) -> None:
        self._pieces = list(pieces)  # (first tick, run from there on)
        self._channels: dict[str, np.ndarray] = {}
        first, last = pieces[-1]
        self.count = first + len(last.time)
        self.atmosphere = pieces[0][1].atmosphere  # [Pa abs]
        self.time = TICK * np.arange(self.count)  # [s]

    def steady_flow(self, tick: int) -> float:
        """What the rig, as it stood at a tick, gives once it pumps [m3/s]: a lever may have been raised while it ran."""
        return float([run.steady_flow for first, run in self._pieces if first <= tick][-1])

    @cached_property
    def taken(self) -> np.ndarray:
        """Flow over that of the rig as it stood [-], shape (count,): 0 where it could give none."""
        firsts = [first for first, _ in self._pieces]
        lengths = np.diff([*firsts, self.count])
        steady = np.repeat([run.steady_flow for _, run in self._pieces], lengths)
        flow = self.channel("discharge_flow")
        return np.divide(flow, steady, out=np.zeros_like(flow), where=steady > 0.0)

    @property
    def one_flow(self) -> bool:
        """Whether the rig could give the same flow all along."""
        return len({run.steady_flow for _, run in self._pieces}) == 1

    def channel(self, name: str) -> np.ndarray:
        """The channel of a name over all pieces, shape (count,)."""
        if name not in self._channels:
            parts, pops = [], 0.0
            for place, (first, run) in enumerate(self._pieces):
                last = len(run.time)
                if place + 1 < len(self._pieces):
                    last = self._pieces[place + 1][0] - first
                values = np.asarray(getattr(run, name), dtype=float)
                if name == "relief_pops":  # counted on from piece to piece
                    parts.append(values[:last] + pops)
                    if last:
                        pops += float(values[min(last, len(values) - 1)])
                else:
                    parts.append(values[:last])
            self._channels[name] = np.concatenate(parts)
        return self._channels[name]


class History:
    """A timeline from its start over ``count`` ticks; offers what instruments ask of a run."""

    def __init__(self, joined: Joined, count: int) -> None:
        self._joined, self._count = joined, count
        self.time = joined.time[:count]
        self.atmosphere, self.steady_flow = joined.atmosphere, joined.steady_flow(count - 1)

    def __getattr__(self, name: str) -> Any:
        if name in CHANNELS or name in EVENT_CHANNELS:
            return self._joined.channel(name)[: self._count]
        raise AttributeError(name)

    @cached_property
    def prime_time(self) -> float:
        """When the pump took its prime [s]; nan if it has not."""
        if self._joined.one_flow:
            return prime_time(self.time, self.discharge_flow, self.steady_flow)
        return prime_time(self.time, self._joined.taken[: self._count], 1.0)


class Timeline:
    """A run in pieces. ``version`` rises whenever samples that were computed before are replaced."""

    def __init__(
        self,
        number: int,
        rig: Rig,
        site: Site,
        start: State | None,
        speed: float,
        seed: int,
        cock_open: bool = True,
    ) -> None:
        self.number, self.rig, self.site = number, rig, site
        self.seed = key(seed, "run", number)
        self._rigs: list[tuple[int, Rig]] = [(0, rig)]  # as it was from a tick on: a gauge may be changed
        self.begun_from = start  # what stood in casing and hose; None: dry
        self.controls: tuple[ControlStep, ...] = (ControlStep(0.0, speed, cock_open),)
        self.stopped_at: int | None = None  # tick
        self.version, self.changed_from = 0, 0
        self._pieces: list[tuple[int, Run]] = []  # (first tick, run from there on)
        self._joined: Joined | None = None
        self._history: History | None = None
        self._needles: dict[str, np.ndarray] = {}
        self._compute(0, start, AHEAD)

    @property
    def running(self) -> bool:
        """Whether the engine is wanted to run."""
        return self.stopped_at is None

    @property
    def changed_under_way(self) -> bool:
        """Whether work has changed the rig since this start."""
        return len(self._rigs) > 1

    @property
    def computed(self) -> int:
        """Last tick that is computed."""
        first, run = self._pieces[-1]
        return first + len(run.time) - 1

    @property
    def last_tick(self) -> int | None:
        """Last tick there is to see; None while the engine runs."""
        return None if self.stopped_at is None else self.stopped_at + tick_of(TAIL)

    def extend_to(self, tick: int) -> None:
        """Compute on until at least this tick."""
        while self.computed < tick:
            self._compute(self.computed, self.state_at(self.computed), AHEAD if self.running else TAIL)

    def change(
        self,
        tick: int,
        *,
        rig: Rig | None = None,
        site: Site | None = None,
        speed: float | None = None,
        cock_open: bool | None = None,
    ) -> bool:
        """Change rig, site or engine from a tick on; False, and nothing computed, where nothing changes.

        speed: of the engine over rated [-]; cock_open: the isolating cock. What is None stays.
        """
        rig, site = rig or self.rig, site or self.site
        last = self.controls[-1]
        wanted = last.speed if speed is None else speed
        cock = last.cock_open if cock_open is None else cock_open
        same_speed = (wanted, cock) == (last.speed, last.cock_open)
        if rig == self.rig and site == self.site and same_speed:
            return False
        self.extend_to(tick)
        state = self.state_at(tick)
        if rig != self.rig:
            self._rigs = [*(one for one in self._rigs if one[0] < max(tick, 1)), (tick, rig)]
        self.rig, self.site = rig, site
        if not same_speed:
            kept = tuple(step for step in self.controls if step.time < tick * TICK - 1e-9)
            self.controls = (*kept, ControlStep(tick * TICK, wanted, cock))
            if wanted != last.speed:
                self.stopped_at = tick if wanted == 0.0 else None
        self._cut(tick)
        left = AHEAD - (tick % tick_of(AHEAD)) * TICK
        self._compute(tick, state, TAIL if not self.running else max(left, 60.0))
        self.version += 1
        self.changed_from = tick
        return True

    def state_at(self, tick: int) -> State:
        """The state at a computed tick.

        Raises
        ------
        ValueError : the tick lies before the start.
        """
        for first, run in reversed(self._pieces):
            if first <= tick:
                index = min(tick - first, len(run.time) - 1)
                return State(run.states[index].copy(), run.modes[index].copy())
        raise ValueError("a tick before the start")

    def history(self, tick: int) -> History:
        """The run from its start up to and with a tick, in one piece."""
        self.extend_to(tick)
        return History(self._whole(), tick + 1)

    def computed_history(self) -> History:
        """All that happens to be computed, for those who look back on a run; nothing of a log may rest on its length."""
        if self._history is None:
            self._history = History(self._whole(), self._whole().count)
        return self._history

    def _whole(self) -> Joined:
        if self._joined is None:
            self._joined = Joined(self._pieces)
        return self._joined

    def needle(self, gauge_id: str, tick: int) -> np.ndarray:
        """What the needle of gauge ``gauge_id`` shows at every tick up to and with this one [Pa], shape (tick + 1,)."""
        self.extend_to(tick)
        return self.computed_needle(gauge_id)[: tick + 1]

    def computed_needle(self, gauge_id: str) -> np.ndarray:
        """The same of a gauge, by its ``gauge_id``, at every tick that is computed."""
        if gauge_id not in self._needles:
            history = self.computed_history()
            (gauge,) = (one for one in gauges_of(self.rig) if one.id == gauge_id)
            shown = needle_of(history, gauge, self._rigs[0][1], self.seed)
            for tick, rig in self._rigs[1:]:  # what an earlier gauge has shown stays as it was
                shown[tick + 1 :] = needle_of(history, gauge, rig, self.seed)[tick + 1 :]
            self._needles[gauge_id] = shown
        return self._needles[gauge_id]

    def prime_tick(self) -> int | None:
        """First tick at which the pump plainly has its prime; None if not in what is computed.

        Hold it against a tick that is computed: before that tick the answer does not depend on how far it goes on.
        """
        time = self.computed_history().prime_time
        return tick_of(time + HELD) if math.isfinite(time) else None

    def lost_at(self, tick: int) -> bool:
        """Whether the pump has had its prime and no longer has it, its engine still running."""
        self.extend_to(tick)
        prime = self.prime_tick()
        if prime is None or tick <= prime or not self.running:
            return False
        whole = self._whole()
        return bool(whole.channel("discharge_flow")[tick] < SHARE * whole.steady_flow(tick))

    def _cut(self, tick: int) -> None:
        self._pieces = [(first, run) for first, run in self._pieces if first < tick or first == 0]

    def _compute(self, tick: int, state: State | None, duration: float) -> None:
        run = simulate_once(
            self.rig,
            self.site,
            controls=self.controls,
            duration=duration,
            start=state,
            start_time=tick * TICK,
        )
        if self._pieces and self._pieces[-1][0] == tick:
            self._pieces.pop()
        self._pieces.append((tick, run))
        self._joined = self._history = None
        self._needles = {}
