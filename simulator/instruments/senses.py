"""What can be seen, heard and felt of a running rig, as plain numbers and as codes.

Arguments, the same throughout: ``what`` what was to be sensed; ``start`` from when on it is counted [s].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.errors import InputError
from simulator.instruments.gauges import RunLike
from simulator.instruments.look import Look, Probabilities, beyond, ladder

EXHAUST_LOOK = 4.0  # [s] of stream that a hand beside the exhaust judges by
HEARD_TURNING, HEARD_RATED = 0.05, 0.85  # of the rated speed: it turns; it runs as it should
HEARD_SLOW = 0.65  # of the rated speed: how an engine that runs slow is shown
SPRAY_SEEN = 2e-5  # [m3/s] of water that is seen outside
#: Exhaust outcomes from least to most; the position is the code sent to the page.
EXHAUST = ("none", "weak", "motive_only", "as_usual", "strong_on", "water_spray")
#: How full the stream is drawn [-], in the same order.
EXHAUST_LEVEL = (0.0, 0.25, 0.4, 0.7, 1.0, 0.9)
#: What an ear beside the compressor tells; the position is the code.
COMPRESSOR_SOUND = ("even", "pops_seldom", "pops_often", "belt_squeal", "no_beat")


def window(run: RunLike, channel: str, start: float, length: float) -> np.ndarray:
    """A channel from ``start`` [s] over ``length`` [s]; at least one sample, the run's last if need be.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> len(window(run, "motive_flow", 5.0, 2.0)), len(window(run, "motive_flow", 500.0, 2.0))
    (20, 1)
    """
    values = np.asarray(getattr(run, channel), dtype=float)
    first = min(int(run.time.searchsorted(start - 1e-6)), len(values) - 1)
    last = int(run.time.searchsorted(start + length - 1e-6))
    return values[first : max(last, first + 1)]


def needed_run(run: RunLike | None, what: str) -> RunLike:
    """The run, or a sentence that one is needed.

    Raises
    ------
    InputError : there is no run.

    Examples
    --------
    >>> needed_run(None, "a run")
    Traceback (most recent call last):
    simulator.errors.InputError: look: this check needs a run. Legal: a run.
    """
    if run is None:
        raise InputError(f"this check needs {what}", "look", "a run")
    return run


@dataclass(frozen=True)
class Stream:
    """The exhaust stream beside what a sound rig gives at the same moment [-], and its water [m3/s]."""

    total: float  # all air over the sound rig's settled motive air
    motive: float  # motive air over the sound rig's settled motive air
    drawn: float  # air drawn from the pump over the most a sound rig draws
    sound_drawn: float  # the same for the sound rig at that moment
    water: float


def stream(look: Look) -> Stream:
    """How the exhaust stream is in the first seconds of a look.

    Raises
    ------
    InputError : the look has no run or no sound run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> 0.9 < stream(Look(run.rig, run.site, run, 10.0, True, sound_run=run)).motive <= 1.0
    True
    """
    run, sound = needed_run(look.run, "a run"), needed_run(look.sound_run, "the sound rig's run")
    motive = max(float(np.max(np.asarray(sound.motive_flow))), 1e-9)
    drawn = max(float(np.max(np.asarray(sound.entrained_flow))), 1e-9)

    def mean(of: RunLike, channel: str) -> float:
        return float(np.mean(window(of, channel, look.time, EXHAUST_LOOK)))

    return Stream(
        total=mean(run, "exhaust_air") / motive,
        motive=mean(run, "motive_flow") / motive,
        drawn=mean(run, "entrained_flow") / drawn,
        sound_drawn=mean(sound, "entrained_flow") / drawn,
        water=mean(run, "exhaust_water"),
    )


def judge_exhaust(look: Look) -> Probabilities:
    """The exhaust stream, judged beside what a sound rig gives at the same moment.

    Raises
    ------
    InputError : the look has no run or no sound run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_exhaust(Look(run.rig, run.site, run, 10.0, True, sound_run=run))["as_usual"] > 0.9
    True
    """
    s = stream(look)
    return ladder(
        ("water_spray", beyond(s.water, SPRAY_SEEN, 0.25 * SPRAY_SEEN)),
        ("none", 1.0 - beyond(s.total, 0.15, 0.04)),
        ("weak", 1.0 - beyond(min(s.motive, s.total), 0.72, 0.05)),  # a poor jet, or one that cannot leave
        ("strong_on", beyond(s.drawn - s.sound_drawn, 0.25, 0.05)),
        ("motive_only", 1.0 - beyond(s.drawn, min(0.12, 0.5 * s.sound_drawn + 0.04), 0.025)),
        ("as_usual", 1.0),
    )


def exhaust_words(run: RunLike, sound: RunLike, times: Sequence[float]) -> list[str]:
    """What a hand that was at the exhaust would say of a run at ``times`` [s]: the likeliest of :func:`judge_exhaust`
    over the seconds before, one of EXHAUST each; "" before it has run as long as a hand takes.

    Parameters
    ----------
    sound : the run of the same rig in good order.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> exhaust_words(run, run, [10.0])
    ['as_usual']
    """
    out = []
    for time in times:
        if time < EXHAUST_LOOK:
            out.append("")
            continue
        look = Look(sound.rig, sound.site, run, float(time) - EXHAUST_LOOK, True, sound_run=sound)
        chances = judge_exhaust(look)
        out.append(max(chances, key=lambda name: chances[name]))
    return out


def pops_a_minute(run: RunLike, start: float, length: float) -> float:
    """Pops of the relief valve a minute [1/min] over ``length`` [s]; blowing steadily counts as 60.

    Where the run ends sooner, its last so many seconds are listened to.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> pops_a_minute(run, 0.0, 20.0)
    0.0
    """
    start = max(min(start, float(run.time[-1]) - length), 0.0)
    count = window(run, "relief_pops", start, length)
    blowing = float(np.mean(window(run, "relief_open", start, length)))
    return max(float(count[-1] - count[0]) / (length / 60.0), 60.0 * blowing)


def judge_compressor(look: Look) -> Probabilities:
    """What an ear tells beside the compressor, through ear protection and engine noise.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_compressor(Look(run.rig, run.site, run, 10.0, True))["even"] > 0.9
    True
    """
    run = needed_run(look.run, "a run")
    rate = pops_a_minute(run, look.time, 30.0)
    speed = float(np.mean(window(run, "speed_ratio", look.time, 5.0)))
    slip = look.rig.compressor.belt_slip
    turning = beyond(speed, 0.2, 0.03)
    squeal = 0.75 * beyond(slip, 0.2, 0.06) * (1.0 - beyond(slip, 0.95, 0.01)) * turning
    return ladder(
        ("no_beat", 0.7 * max(beyond(slip, 0.97, 0.005), 1.0 - turning)),
        ("pops_often", 0.95 * beyond(rate, 12.0, 2.0)),
        ("pops_seldom", 0.85 * beyond(rate, 1.0, 0.3)),
        ("belt_squeal", squeal),
        ("even", 1.0),
    )


def heard_speed(ratio: np.ndarray) -> np.ndarray:
    """Engine speed as an ear has it, over the rated one [-], same shape: stands, runs slow, runs at rated.

    How slow no ear can say: that takes a tachometer. Common practice, no source.

    Parameters
    ----------
    ratio : true speed over the rated one [-], any shape.

    Examples
    --------
    >>> heard_speed(np.array([0.02, 0.584, 0.82, 0.97]))
    array([0.  , 0.65, 0.65, 1.  ])
    """
    slow = np.where(ratio >= HEARD_RATED, 1.0, HEARD_SLOW)
    return np.where(ratio < HEARD_TURNING, 0.0, slow)


def drain_spray(run: RunLike) -> np.ndarray:
    """Whether water is seen spraying out of the drain (0 or 1) at every grid point, shape (n,).

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> float(drain_spray(run).max())
    0.0
    """
    return (np.asarray(run.drain_water, dtype=float) > SPRAY_SEEN).astype(float)
