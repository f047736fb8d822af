"""Checks made without opening anything: a walk round, the gauges.

Arguments, the same throughout: ``site`` where the rig stands; ``look`` what the check may see; ``gauge_id``
id of a gauge of the rig; ``seed`` chance, the same for the same number.
"""

from __future__ import annotations

import math

import numpy as np

from simulator.instruments.gauges import RunLike, gauges_of, needle, read, reading, state_of
from simulator.instruments.look import Look, Probabilities, beyond, ladder
from simulator.instruments.senses import SPRAY_SEEN, needed_run, window
from simulator.physics.water import density
from simulator.rig.rig import Rig, Site
from simulator.units import STANDARD_GRAVITY

PUMPING = 0.5e5  # [Pa] on the discharge gauge: the pump has bitten


def static_lift(site: Site) -> float:
    """Vacuum [Pa] that just holds the water at the suction flange.

    Examples
    --------
    >>> round(static_lift(Site(lift=3.0)), -2)
    29400.0
    """
    return float(density(site.water_temperature)) * STANDARD_GRAVITY * site.lift


def dip_of(site: Site) -> float:
    """How far the hose goes down again after its highest spot on the way up [m]; 0 where it only rises.

    Examples
    --------
    >>> dip_of(Site(lift=3.0, profile=((0.0, -1.0), (5.0, 2.0), (7.0, 1.5), (10.0, 3.0))))
    0.5
    """
    heights = [z for _, z in site.profile]
    return max((max(heights[: i + 1]) - z for i, z in enumerate(heights)), default=0.0)


def judge_walk_round(look: Look) -> Probabilities:
    """Drain valve, cocks, lay of the hose, rope and water level: seen likely, not surely.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_walk_round(Look(rig, site))["in_order"] > 0.99
    True
    """
    opening = look.rig.casing_drain.opening
    noticed = 0.93 * (1.0 - math.exp(-opening / 0.12))
    spraying = 0.0
    if look.run is not None and look.running:
        spraying = beyond(
            float(window(look.run, "drain_water", look.time, 5.0).mean()), SPRAY_SEEN, 0.2 * SPRAY_SEEN
        )
    wide = beyond(opening, 0.4, 0.08)
    rig, site = look.rig, look.site
    cock = beyond(1.0 - rig.isolating_cock.opening, 0.3, 0.05) if rig.has_isolating_cock else 0.0
    return ladder(
        ("drain_spraying", 0.97 * spraying),
        ("strainer_uncovered", 0.9 * (1.0 - beyond(look.site.submergence, 0.0, 0.03))),
        ("drain_open", noticed * wide),
        ("drain_ajar", noticed * (1.0 - wide) / (1.0 - noticed * wide)),
        ("frost_drain_open", 0.6 * beyond(rig.frost_drain.opening, 0.08, 0.01)),
        ("cock_shut", 0.85 * cock),
        ("valve_shut", 0.8 * beyond(1.0 - rig.discharge.valve.opening, 0.4, 0.06)),
        ("line_kinked", 0.75 * beyond(rig.discharge.kinked, 0.5, 0.06)),
        ("hose_humped", 0.8 * beyond(dip_of(site), 0.25, 0.03)),
        ("in_order", 1.0),
    )


def settled(run: RunLike, rig: Rig, gauge_id: str, time: float) -> float:
    """What a gauge shows [Pa] at a time [s] without its shake; 0 where the rig has no such gauge.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=10.0)
    >>> 5e3 < settled(run, run.rig, "suction", 10.0) < 25e3
    True
    """
    for gauge in gauges_of(rig):
        if gauge.id == gauge_id:
            shown = needle(run, gauge, state_of(rig, gauge_id), 0, tremble=False)
            at = round((time - float(run.time[0])) / 0.1)
            return float(shown[min(max(at, 0), len(shown) - 1)])
    return 0.0


def judge_gauges(look: Look) -> Probabilities:
    """The suction gauge beside a sound rig's at the same moment, and beside the static lift.

    Raises
    ------
    InputError : the look has no run or no sound run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_gauges(Look(run.rig, run.site, run, 10.0, True, sound_run=run))["as_sound"] > 0.95
    True
    """
    run, sound = needed_run(look.run, "a run"), needed_run(look.sound_run, "the sound rig's run")
    vacuum = settled(run, look.rig, "suction", look.time)
    expected = float(sound.atmosphere - window(sound, "suction_pressure", look.time, 0.1)[0])
    discharge = settled(run, look.rig, "discharge", look.time)
    lift = static_lift(look.site)
    late = beyond(
        float(window(sound, "discharge_pressure", look.time, 0.1)[0]) - sound.atmosphere, PUMPING, 0.05e5
    )
    slow = 1.0 - beyond(vacuum, min(expected, lift) - 4e3, 1e3)
    usual = max(float(np.max(sound.discharge_pressure)) - float(sound.atmosphere), PUMPING)
    return ladder(
        ("pumping_high", beyond(discharge / usual, 1.3, 0.03)),
        (
            "pumping_low",
            beyond(discharge, 0.3e5, 0.05e5)
            * beyond(late, 0.5, 0.02)
            * (1.0 - beyond(discharge / usual, 0.8, 0.02)),
        ),
        ("pumping", beyond(discharge, PUMPING, 0.05e5)),
        ("above_lift", beyond(vacuum, lift + 6e3, 1e3)),
        ("no_vacuum", (1.0 - beyond(vacuum, 3e3, 0.5e3)) * beyond(expected, 7e3, 1e3)),
        ("behind", max(late, slow)),
        ("as_sound", 1.0),
    )


def gauge_figures(look: Look, seed: int) -> dict[str, float]:
    """The needles as read to half a graduation [Pa], by gauge.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> sorted(gauge_figures(Look(run.rig, run.site, run, 10.0, True), 1))
    ['discharge', 'motive', 'suction']
    """
    run = needed_run(look.run, "a run")
    return {
        gauge.id: read(float(reading(run, gauge, state_of(look.rig, gauge.id), seed, look.time)), gauge)
        for gauge in gauges_of(look.rig)
    }
