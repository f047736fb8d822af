"""Tests that draw a vacuum on part of the rig: the hose behind a clear plate, the pump end behind a blank.

Arguments, the same throughout: ``look`` what the check may see; ``atmosphere`` pressure of the atmosphere
[Pa]; ``seed`` chance, the same for the same number; ``tremble`` whether the needle trembles; ``start`` from
when on it is measured [s]; ``site`` where the rig stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from simulator.errors import InputError
from simulator.instruments.gauges import GAUGES, RunLike, needle, read, state_of
from simulator.instruments.look import Look, Probabilities, beyond, ladder
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.physics.compressor import delivery
from simulator.physics.gas import hole_flow
from simulator.physics.hose_losses import liner_closing_area
from simulator.rig.rig import Rig, Site
from simulator.run.result import ControlStep
from simulator.units import STANDARD_ATMOSPHERE

TEST_VACUUM = 0.75  # [-] of the atmosphere that the test pump draws on a hose
BLANK_DURATION = 90.0  # [s] the engine runs against the plate
CAPPED_DURATION = 120.0  # [s] the engine runs with the cap on the hose
HOLD_FROM, HOLD_DURATION = 62.0, 95.0  # [s] vacuum drawn for a minute, then watched
HOLD_STEPS = (ControlStep(0.0, 1.0), ControlStep(60.0, 0.0, False))
FILL_PRESSURE = 1e5  # [Pa] gauge at which the filling of the receiver is timed
MARK = 70e3  # [Pa] vacuum whose time is taken at sea level; at a height the same share of the atmosphere
NEVER = math.inf
NOTHING_BELOW, DEEP_WITHIN = 0.2, 5e3  # [-] of a good rig's depth; [Pa] short of it


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
    return _beside(look.rig, _blanked(look.blank_run), _blanked(look.sound_blank_run))


def _beside(rig: Rig, run: RunLike, sound: RunLike) -> Probabilities:
    deepest, time = deepest_and_time(run, rig)
    creeping = beyond(still_rising(run, rig), 1e3, 0.15e3)
    sound_deepest, sound_time = deepest_and_time(sound, rig)
    ratio = math.log(min(time, 10.0 * BLANK_DURATION) / max(min(sound_time, BLANK_DURATION), 0.5))
    return ladder(
        ("nothing", 1.0 - beyond(deepest, NOTHING_BELOW * sound_deepest, 1.5e3)),
        ("shallow", beyond(sound_deepest - deepest, DEEP_WITHIN, 0.8e3) * (1.0 - creeping)),
        ("deep_slow", beyond(ratio, math.log(1.4), 0.05)),
        ("deep_quick", 1.0),
    )


def blank_bounds(sound: RunLike, rig: Rig) -> tuple[float, float]:
    """Below what a blank-off test shows next to nothing, and from where on it is deep [Pa].

    Parameters
    ----------
    sound : the rig in good order against the plate.
    rig : in good order.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0, setup=Setup.BLANKED)
    >>> little, deep = blank_bounds(run, run.rig)
    >>> 10e3 < little < 20e3, 75e3 < deep < 96e3
    (True, True)
    """
    deepest, _ = deepest_and_time(sound, rig)
    return NOTHING_BELOW * deepest, deepest - DEEP_WITHIN


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


def judge_capped(look: Look) -> Probabilities:
    """As the blank-off test with the hose in: a cap on its end. A loose liner does no harm here: nothing flows.

    Raises
    ------
    InputError : the look has no capped runs.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=CAPPED_DURATION, setup=Setup.CAPPED)
    >>> judge_capped(Look(run.rig, run.site, capped_run=lambda: run, sound_capped_run=lambda: run))["deep_quick"] > 0.99
    True
    """
    return _beside(look.rig, _blanked(look.capped_run), _blanked(look.sound_capped_run))


def fall_rate(run: RunLike, rig: Rig, start: float) -> float:
    """Rate at which the vacuum falls [Pa/s] after a time [s] of a run: a straight line through ten seconds of the needle.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0, setup=Setup.BLANKED)
    >>> abs(fall_rate(run, run.rig, 75.0)) < 50.0
    True
    """
    shown = needle(run, GAUGES["suction"], state_of(rig, "suction"), 0, tremble=False)
    first = int(np.searchsorted(run.time, start - 1e-6))
    part = slice(first, min(first + 101, len(shown)))
    return -float(np.polyfit(np.asarray(run.time)[part], shown[part], 1)[0])


def judge_hold(look: Look) -> Probabilities:
    """Plate on, vacuum drawn, cock shut, engine off: how fast the vacuum falls.

    Raises
    ------
    InputError : the look has no hold run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import ControlStep, Setup, simulate
    >>> rig, site = load_rig("alder"), standard_site("alder")
    >>> run = simulate(rig, site, duration=HOLD_DURATION, setup=Setup.BLANKED, controls=HOLD_STEPS)
    >>> judge_hold(Look(rig, site, hold_run=lambda: run))["holds"] > 0.95
    True
    """
    run = _blanked(look.hold_run)
    shown = needle(run, GAUGES["suction"], state_of(look.rig, "suction"), 0, tremble=False)
    begun = float(shown[int(np.searchsorted(run.time, HOLD_FROM))])
    rate = fall_rate(run, look.rig, HOLD_FROM)
    return ladder(
        ("nothing_to_hold", 1.0 - beyond(begun, 8e3, 1e3)),
        ("falls", beyond(rate, 250.0, 30.0)),
        ("creeps", beyond(rate, 25.0, 4.0)),
        ("holds", 1.0),
    )


def hold_figures(look: Look, seed: int) -> dict[str, float]:
    """Vacuum read as the test begins [Pa], and what is lost in half a minute [Pa].

    Raises
    ------
    InputError : the look has no hold run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> from simulator.run import Setup
    >>> rig, site = load_rig("alder"), standard_site("alder")
    >>> run = simulate(rig, site, duration=HOLD_DURATION, setup=Setup.BLANKED, controls=HOLD_STEPS)
    >>> sorted(hold_figures(Look(rig, site, hold_run=lambda: run), 1))
    ['begun', 'lost']
    """
    run = _blanked(look.hold_run)
    shown = needle(run, GAUGES["suction"], state_of(look.rig, "suction"), seed)
    first, last = np.searchsorted(run.time, [HOLD_FROM, HOLD_FROM + 30.0])
    begun, ended = read(float(shown[first]), GAUGES["suction"]), read(float(shown[last]), GAUGES["suction"])
    return {"begun": begun, "lost": begun - ended}


def capped_figures(look: Look, seed: int) -> dict[str, float]:
    """As :func:`blank_figures`, of the capped hose.

    Raises
    ------
    InputError : the look has no capped run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import Setup, simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=CAPPED_DURATION, setup=Setup.CAPPED)
    >>> sorted(capped_figures(Look(run.rig, run.site, capped_run=lambda: run), 1))
    ['deepest', 'mark', 'time_s']
    """
    return blank_figures(replace(look, blank_run=look.capped_run), seed)


def judge_receiver(look: Look) -> Probabilities:
    """Nozzle end plugged, a test gauge on: how fast the receiver fills, and where its pressure stops.

    Raises
    ------
    InputError : there is no card.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_receiver(Look(rig, site, card_rig=rig, card_site=site))["as_card"] > 0.95
    True
    """
    card, _ = look.card()
    here, good = fill_rate(look.rig, look.site), fill_rate(card, look.site)
    share = here / good
    stops = look.rig.relief_valve.set_pressure / card.relief_valve.set_pressure
    hole = look.rig.air_line.hole_diameter * 1e3  # [mm]
    return ladder(
        ("no_rise", 1.0 - beyond(share, 0.04, 0.01)),
        ("hiss_on_line", 0.8 * beyond(hole, 0.7, 0.1)),
        ("stops_low", 1.0 - beyond(stops, 0.8, 0.03)),
        ("slow", 1.0 - beyond(share, 0.85, 0.02)),
        ("as_card", 1.0),
    )


def fill_rate(rig: Rig, site: Site) -> float:
    """Air that the compressor puts into the receiver at 1 bar gauge, what a hole loses taken off [kg/s].

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> fill_rate(load_rig("osier"), standard_site()) > 0.0
    True
    """
    outside, part = float(pressure_at_altitude(site.altitude)), rig.compressor
    pressure = outside + FILL_PRESSURE
    made = delivery(
        pressure, outside, site.air_temperature, part.displacement, rig.engine.speed_setting, part.belt_slip,
        part.clearance, part.index, part.wear, part.intake_blocked,
    )  # fmt: skip
    area = math.pi / 4.0 * rig.air_line.hole_diameter**2
    return float(made - hole_flow(pressure, outside, area, site.air_temperature))
