"""Samples of the run for the page: what instruments and senses give, no further ahead than may be sent.

Outside-only work gets needles, engine speed, and what was seen and heard while somebody stood there looking;
the inside of the rig is added in see-through lessons alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.attempt.state import AttemptState
from simulator.attempt.timeline import TICK, Timeline, tick_of
from simulator.instruments.checks import CHECKS
from simulator.instruments.senses import EXHAUST, EXHAUST_LEVEL, drain_spray, exhaust_words, heard_speed

OUTSIDE = (
    "suction_shown",
    "motive_shown",
    "discharge_shown",
    "speed",
    "exhaust_level",
    "exhaust_kind",
    "relief_sound",
    "pump_sound",
    "line_sound",
    "water_seen",
    "tachometer_shown",
    "drain_spray",
)
INSIDE = (
    "front_position",
    "casing_fill",
    "suction_pressure",
    "hose_pressure",
    "motive_pressure",
    "motive_flow",
    "entrained_flow",
    "exhaust_air",
    "exhaust_water",
    "liner_open",
    "nrv_open",
    "relief_open",
    "line_fill",
    "suction_flow",
    "discharge_flow",
    "drain_air",
    "drain_water",
    "nrv_air",
    "nrv_water",
    "joint_air",
    "casing_leak_air",
    "air_fraction",
    "npsh_margin",
    "end_air",
    "water_level",
    "strainer_bubbles",
    "trapped_length",
    "frost_drain_water",
    "relief_flow",
)
NOT_LOOKED = -1.0
TACHOMETER_STEP = 10.0  # [1/min] between two figures of a hand tachometer; common practice, no source
#: Which look a channel of codes comes from; the code is the position of what was seen among its outcomes.
LOOK_OF = {
    "exhaust_level": "exhaust_stream",
    "exhaust_kind": "exhaust_stream",
    "relief_sound": "relief_listen",
    "pump_sound": "listen_pump",
    "line_sound": "listen_line",
    "water_seen": "watch_water",
}


def codes_of(channel: str) -> tuple[str, ...]:
    """What the codes of a channel stand for, in order.

    Examples
    --------
    >>> codes_of("line_sound")
    ('quiet', 'hiss_pump', 'hiss_hose')
    """
    return CHECKS[LOOK_OF[channel]].outcomes


@dataclass(frozen=True)
class Samples:
    """Channels (rows of ``data``) of run ``run`` from ``start`` [s] in steps of 0.1 s; SI, vacuum positive.

    Channels of LOOK_OF are codes of what somebody saw or heard who stood there, -1 where nobody did.
    """

    run: int | None
    start: float
    step: float
    channels: tuple[str, ...]
    data: np.ndarray  # (channels, count) float32
    final: bool  # nothing comes after these


def take_samples(state: AttemptState, start: float, end: float, see_through: bool) -> Samples:
    """Samples of the run that ``state`` shows, from ``start`` to ``end`` [s] within what may be sent.

    ``see_through``: whether the inside of the rig may be sent too.
    """
    inside = see_through and state.terms.see_through
    names = OUTSIDE + (INSIDE if inside else ())
    timeline = state.timeline
    if timeline is None:
        return Samples(None, 0.0, TICK, names, np.zeros((len(names), 0), dtype=np.float32), True)
    first = max(tick_of(start), 0)
    last = max(min(tick_of(end), state.horizon()), 0)
    count = max(last - first + 1, 0)
    part = slice(first, first + count)
    rows = [_outside(state, timeline, name, part, count, last) for name in OUTSIDE]
    if inside:
        history = timeline.history(last)
        rows += [np.asarray(getattr(history, name), dtype=float)[part] for name in INSIDE]
        rows[names.index("exhaust_kind")] = exhaust_codes(history, state.case.sound, first, count)
    data = np.asarray(rows, dtype=np.float32).reshape(len(names), count)
    final = timeline.last_tick is not None and last >= timeline.last_tick
    return Samples(timeline.number, round(first * TICK, 1), TICK, names, data, final)


def exhaust_codes(history: Any, sound: Any, first: int, count: int) -> np.ndarray:
    """The word for the exhaust stream where one may look inside, as codes, shape (count,); it changes by the second.

    Parameters
    ----------
    history, sound : the run so far, and that of the rig in good order.
    first, count : tick [0.1 s] of the first sample, and how many.
    """
    if count < 1:
        return np.zeros(0)
    seconds = (first + np.arange(count)) // 10
    words = exhaust_words(history, sound, range(int(seconds[0]), int(seconds[-1]) + 1))
    codes = np.array([EXHAUST.index(word) if word else NOT_LOOKED for word in words], dtype=float)
    return np.asarray(codes[seconds - seconds[0]])


def _outside(
    state: AttemptState, timeline: Timeline, name: str, part: slice, count: int, last: int
) -> np.ndarray:
    if name == "tachometer_shown":
        return _tachometer(state, timeline, part, count, last)
    if name.endswith("_shown"):
        gauge = name.removesuffix("_shown")
        if gauge == "motive" and not state.case.sound_rig.has_motive_gauge:
            return np.full(count, np.nan)
        return timeline.needle(gauge, last)[part]
    if name == "speed":
        ratio = np.asarray(timeline.history(last).speed_ratio, dtype=float)[part]
        return ratio if state.terms.see_through else heard_speed(ratio)
    if name == "drain_spray":
        return drain_spray(timeline.history(last))[part]
    out = np.full(count, NOT_LOOKED)
    there, outcome = _stood_there(state, LOOK_OF[name], timeline, part, count)
    if outcome:
        if name == "exhaust_level":
            out[there] = EXHAUST_LEVEL[EXHAUST.index(outcome)]
        else:
            out[there] = float(codes_of(name).index(outcome))
    return out


def _stood_there(
    state: AttemptState, look: str, timeline: Timeline, part: slice, count: int
) -> tuple[np.ndarray, str]:
    """When somebody stood there, shape (count,) of bool, and what they found; "" where nobody did in this run."""
    seen = state.yard.stood_by.get(look)
    if seen is None or seen[0] != timeline.number:
        return np.zeros(count, dtype=bool), ""
    _, begin, end, outcome = seen
    ticks = np.arange(part.start, part.start + count)
    return (ticks >= begin) & (ticks < end), outcome


def _tachometer(state: AttemptState, timeline: Timeline, part: slice, count: int, last: int) -> np.ndarray:
    """Engine speed [1/min] as a hand tachometer gives it while one is held to the shaft; else nan."""
    there, _ = _stood_there(state, "tachometer", timeline, part, count)
    rated = state.case.sound_rig.engine.rated_speed * 60.0
    turning = rated * np.asarray(timeline.history(last).speed_ratio, dtype=float)[part]
    return np.where(there, TACHOMETER_STEP * np.round(turning / TACHOMETER_STEP), np.nan)
