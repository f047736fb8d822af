"""Samples of the run for the page: what instruments and senses give, no further ahead than may be sent.

Outside-only work gets needles, engine speed, and what was seen and heard while somebody stood there looking;
the inside of the rig is added in see-through lessons alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simulator.attempt.timeline import TICK, Timeline, tick_of
from simulator.instruments.senses import COMPRESSOR_SOUND, EXHAUST, EXHAUST_LEVEL, drain_spray

if TYPE_CHECKING:
    from simulator.attempt.attempt import Attempt

OUTSIDE = (
    "suction_shown",
    "motive_shown",
    "discharge_shown",
    "speed",
    "exhaust_level",
    "exhaust_kind",
    "relief_sound",
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
)
NOT_LOOKED = -1.0


@dataclass(frozen=True)
class Samples:
    """Channels (rows of ``data``) of run ``run`` from ``start`` [s] in steps of 0.1 s; SI, vacuum positive.

    ``exhaust_kind``, ``relief_sound``: positions in EXHAUST and COMPRESSOR_SOUND, -1 where nobody looked.
    """

    run: int | None
    start: float
    step: float
    channels: tuple[str, ...]
    data: np.ndarray  # (channels, count) float32
    final: bool  # nothing comes after these


def take_samples(attempt: Attempt, start: float, end: float, see_through: bool) -> Samples:
    """Samples from ``start`` to ``end`` [s] within what may be sent."""
    inside = see_through and attempt.see_through
    names = OUTSIDE + (INSIDE if inside else ())
    timeline = attempt.timeline
    if timeline is None:
        return Samples(None, 0.0, TICK, names, np.zeros((len(names), 0), dtype=np.float32), True)
    first = max(tick_of(start), 0)
    last = min(tick_of(end), attempt.horizon())
    timeline.extend_to(max(last, 0))
    count = max(last - first + 1, 0)
    part = slice(first, first + count)
    rows = [_outside(attempt, timeline, name, part, count) for name in OUTSIDE]
    if inside:
        history = timeline.history()
        rows += [np.asarray(getattr(history, name), dtype=float)[part] for name in INSIDE]
    data = np.asarray(rows, dtype=np.float32).reshape(len(names), count)
    final = timeline.last_tick is not None and last >= timeline.last_tick
    return Samples(timeline.number, round(first * TICK, 1), TICK, names, data, final)


def _outside(attempt: Attempt, timeline: Timeline, name: str, part: slice, count: int) -> np.ndarray:
    if name.endswith("_shown"):
        gauge = name.removesuffix("_shown")
        if gauge == "motive" and not attempt.case.sound_rig.has_motive_gauge:
            return np.full(count, np.nan)
        return timeline.needle(gauge)[part]
    if name == "speed":
        return np.asarray(timeline.history().speed_ratio, dtype=float)[part]
    if name == "drain_spray":
        return drain_spray(timeline.history())[part]
    seen = attempt.yard.sound_heard if name == "relief_sound" else attempt.yard.exhaust_seen
    out = np.full(count, NOT_LOOKED)
    if seen is not None and seen[0] == timeline.number:
        _, begin, end, outcome = seen
        ticks = np.arange(part.start, part.start + count)
        code = (COMPRESSOR_SOUND if name == "relief_sound" else EXHAUST).index(outcome)
        out[(ticks >= begin) & (ticks < end)] = (
            EXHAUST_LEVEL[code] if name == "exhaust_level" else float(code)
        )
    return out
