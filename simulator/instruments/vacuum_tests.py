"""Tests that draw a vacuum on part of the rig: the hose behind a clear plate, the pump end behind a blank."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from simulator.errors import InputError
from simulator.instruments.gauges import GAUGES, RunLike, needle, read, state_of
from simulator.instruments.look import Look, Probabilities, beyond, ladder
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.physics.suction_line import liner_closing_area
from simulator.rig.rig import Rig
from simulator.units import STANDARD_ATMOSPHERE

TEST_VACUUM = 0.75  # [-] of the atmosphere that the test pump draws on a hose
BLANK_DURATION = 90.0  # [s] the engine runs against the plate
MARK = 70e3  # [Pa] vacuum whose time is taken at sea level; at a height the same share of the atmosphere
NEVER = math.inf


def judge_clear_plate(look: Look) -> Probabilities:
    """A light inside the hose, a clear plate on its end: the liner is watched while the vacuum is drawn.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_clear_plate(Look(rig, site))["liner_still"] > 0.98
    True
    """
    hose = look.rig.suction_hose
    vacuum = TEST_VACUUM * float(pressure_at_altitude(look.site.altitude))
    free = 1.0
    if math.isfinite(hose.liner.closing_pressure):
        free = float(liner_closing_area(vacuum, hose.liner.closing_pressure))
    hole = max((hole.diameter for hole in hose.holes), default=0.0) * 1e3  # [mm]
    return ladder(
        ("will_not_hold", 0.97 * beyond(hole, 0.8, 0.1)),
        ("liner_closes", 1.0 - beyond(free, 0.35, 0.05)),
        ("liner_moves", 1.0 - beyond(free, 0.93, 0.015)),
        ("liner_still", 1.0),
    )


def blank_mark(atmosphere: float) -> float:
    """Vacuum [Pa] whose time is taken in a blank-off test at this outside pressure [Pa].

    Examples
    --------
    >>> blank_mark(101_325.0)
    70000.0
    """
    return MARK * atmosphere / STANDARD_ATMOSPHERE


def deepest_and_time(run: RunLike, rig: Rig, seed: int = 0, *, tremble: bool = False) -> tuple[float, float]:
    """Deepest vacuum [Pa] on the suction gauge of a blanked run, and time [s] to the mark, inf if never.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0, setup=Setup.BLANKED)
    >>> deepest, time = deepest_and_time(run, run.rig)
    >>> 70e3 < deepest < 101e3, 3.0 < time < 60.0
    (True, True)
    """
    shown = needle(run, GAUGES["suction"], state_of(rig, "suction"), seed, tremble=tremble)
    reached = np.flatnonzero(shown >= blank_mark(run.atmosphere))
    time = float(run.time[reached[0]] - run.time[0]) if len(reached) else NEVER
    return float(np.max(shown)), time


def still_rising(run: RunLike, rig: Rig) -> float:
    """Vacuum gained [Pa] in the last quarter minute of a blanked run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0, setup=Setup.BLANKED)
    >>> abs(still_rising(run, run.rig)) < 1e3
    True
    """
    shown = needle(run, GAUGES["suction"], state_of(rig, "suction"), 0, tremble=False)
    return float(shown[-1] - shown[-1 - min(150, len(shown) - 1)])


def _blanked(run: Callable[[], RunLike] | None) -> RunLike:
    if run is None:
        raise InputError(
            "the blank-off test needs a blanked run", "look.blank_run", "a function that gives one"
        )
    return run()


def judge_blank_off(look: Look) -> Probabilities:
    """Deep and quick, deep or getting there but slow, shallow, or next to nothing, beside the sound rig.

    Raises
    ------
    InputError : the look has no blanked runs.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0, setup=Setup.BLANKED)
    >>> look = Look(run.rig, run.site, blank_run=lambda: run, sound_blank_run=lambda: run)
    >>> judge_blank_off(look)["deep_quick"] > 0.99
    True
    """
    run = _blanked(look.blank_run)
    deepest, time = deepest_and_time(run, look.rig)
    creeping = beyond(still_rising(run, look.rig), 1e3, 0.15e3)
    sound_deepest, sound_time = deepest_and_time(_blanked(look.sound_blank_run), look.rig)
    ratio = math.log(min(time, 10.0 * BLANK_DURATION) / max(min(sound_time, BLANK_DURATION), 0.5))
    return ladder(
        ("nothing", 1.0 - beyond(deepest, 0.2 * sound_deepest, 1.5e3)),
        ("shallow", beyond(sound_deepest - deepest, 5e3, 0.8e3) * (1.0 - creeping)),
        ("deep_slow", beyond(ratio, math.log(1.4), 0.05)),
        ("deep_quick", 1.0),
    )


def blank_figures(look: Look, seed: int) -> dict[str, float]:
    """Deepest vacuum read [Pa], time to the mark [s] (-1: never), the mark [Pa].

    Raises
    ------
    InputError : the look has no blanked run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0, setup=Setup.BLANKED)
    >>> look = Look(run.rig, run.site, blank_run=lambda: run, sound_blank_run=lambda: run)
    >>> sorted(blank_figures(look, 1))
    ['deepest', 'mark', 'time_s']
    """
    run = _blanked(look.blank_run)
    deepest, time = deepest_and_time(run, look.rig, seed, tremble=True)
    return {
        "deepest": read(deepest, GAUGES["suction"]),
        "time_s": round(time) if math.isfinite(time) else -1.0,
        "mark": blank_mark(run.atmosphere),
    }
