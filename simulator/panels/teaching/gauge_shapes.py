"""The four shapes of a pull-down, told from a run: healthy, slow, flat and low, fast but dry."""

from __future__ import annotations

import random

import numpy as np

from simulator.panels.teaching.cases import (
    WATCHED,
    drawn_fault,
    faulted,
    lift_pressure,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
    vacuum_at,
    with_hose,
)
from simulator.rig.rig import Rig, Site
from simulator.run import Run
from simulator.run.expected import DRAWS, sibling

SHAPES = ("healthy", "slow", "flat_low", "fast_dry")
#: Faults that usually give a shape; what a run really shows is read off it.
LIKELY = {
    "healthy": ("sound",),
    "slow": ("screen_plugged", "nrv_fouled", "hose_hole"),
    "flat_low": ("drain_open", "flange_leaks", "belt_loose", "nozzle_plugged", "nrv_fouled", "hose_hole"),
    "fast_dry": ("strainer_plugged", "liner_collapsed"),
}
LATE = 1.3  # [-] times the sound rig's time: someone with a watch calls it slow
STANDS = 600.0  # [Pa] of change in 30 s or less: the needle stands
BELOW, ABOVE = 0.88, 1.25  # [-] of the static lift: plainly below it, plainly above it
RESTS = 1.5e3  # [Pa] from the static lift, within which a needle is seen to rest at it
AT_REST = 0.9  # [-] of the sound rig's time to prime, when its needle rests at the lift
FILLS = (0.85, 0.97)  # [-] of the time to prime, between which the casing fills and the needle rests
PAUSE, CLIMBS = 5.0, 1e3  # [s] in which a needle climbs by less than so much [Pa]: one who looks sees it rest
TRIES = 40


def standing(run: Run) -> bool:
    """Whether the needle stands at the end of a run."""
    end = float(run.time[-1])
    return abs(vacuum_at(run, end) - vacuum_at(run, end - 30.0)) < STANDS


def rests_at_lift(run: Run) -> bool:
    """Whether the needle of a run that primes is seen to rest at the static lift while the casing fills.

    Air that comes in under the hose's crest makes the column lighter: such a needle rests below the line.

    Examples
    --------
    >>> rests_at_lift(run_of(usual_rig(), usual_site()))
    True
    """
    low, high = (share * run.prime_time for share in FILLS)
    filling = run.vacuum[(run.time >= low) & (run.time <= high)]
    return bool(filling.size) and abs(float(np.median(filling)) - lift_pressure(run.site)) <= RESTS


def pauses_at_lift(run: Run) -> bool:
    """Whether the needle of a run that stays dry hangs for some seconds about the static lift, on its way past it.

    Examples
    --------
    >>> pauses_at_lift(faulted("strainer_plugged", 0.995)), pauses_at_lift(run_of(usual_rig(), usual_site()))
    (False, True)
    """
    lift = lift_pressure(run.site)
    times = np.arange(0.0, float(run.time[-1]) - PAUSE, 0.5)
    now = np.interp(times, run.time, run.vacuum)
    later = np.interp(times + PAUSE, run.time, run.vacuum)
    near = (now >= BELOW * lift) & (now <= ABOVE * lift)
    return bool((later - now)[near].min(initial=np.inf) < CLIMBS)


def side(vacuum: float, lift: float) -> str:
    """Where a needle at a vacuum [Pa] is against the static lift [Pa]: below, at or above.

    Examples
    --------
    >>> side(14e3, 29.4e3), side(29e3, 29.4e3), side(80e3, 29.4e3)
    ('below', 'at', 'above')
    """
    share = vacuum / lift
    return "below" if share < BELOW else "at" if share <= ABOVE else "above"


def shape(run: Run, sound: Run) -> str:
    """The shape of a run beside the sound rig's at the same site; empty where it is none of the four.

    Examples
    --------
    >>> sound = run_of(usual_rig(), usual_site())
    >>> shape(sound, sound), shape(faulted("flange_leaks", 0.008), sound)
    ('healthy', 'flat_low')
    """
    lift = lift_pressure(run.site)
    if run.primed:
        share = run.prime_time / sound.prime_time
        near = 1 / LATE <= share <= 1.1
        if share >= LATE:
            return "slow" if rests_at_lift(run) else ""  # as it is told of it
        return "healthy" if near else ""
    reached = side(float(run.vacuum.max()), lift)
    if reached == "above":
        # A liner that folds only as the pump takes hold rests and jumps as a sound rig does: none of the four.
        past = vacuum_at(run, AT_REST * sound.prime_time) > ABOVE * lift
        past = past and vacuum_at(run, 60.0) > ABOVE * lift
        return "fast_dry" if past and not pauses_at_lift(run) else ""
    # One that still climbs when the picture ends hardly draws at all: nobody in the yard calls that only late.
    return "flat_low" if reached == "below" and standing(run) else ""


def drawn_site(chance: random.Random) -> Site:
    """The usual site with a lift as the yard has it [m], whole or half metres: a sound rig pumps there without a rattle.

    Parameters
    ----------
    chance : what is drawn from.
    """
    return usual_site(chance.choice((2.0, 2.5, 3.0, 3.5, 4.0, 4.5)))


def drawn_rig(chance: random.Random, site: Site) -> Rig:
    """The usual rig, its hose as long as the lift asks for.

    Parameters
    ----------
    chance : what is drawn from.
    site : whose water the hose must reach.
    """
    return with_hose(usual_rig(), 10.0 if site.lift <= 4.0 else 12.0)


def drawn_shape(chance: random.Random, wanted: str) -> tuple[Run, Run, str]:
    """A run of a wanted shape, the sound rig's beside it, and what was drawn, in a line.

    The shape is told from the run; a case that shows another one is drawn again.

    Parameters
    ----------
    chance : what is drawn from.
    """
    for _ in range(TRIES):
        site = drawn_site(chance)
        rig = drawn_rig(chance, site)
        sound = run_of(rig, site)
        fault, size, place = drawn_fault(chance, LIKELY[wanted], rig, site)
        # No two sound rigs are quite the same.
        own = sibling(rig, np.array([chance.uniform(-0.7, 0.7) for _ in range(DRAWS)]))[0]
        run = faulted(fault, size, place, own if wanted == "healthy" else rig, site)
        if shape(run, sound) == wanted:
            return run, sound, f"{fault} {size:.4g} {place} lift {site.lift:g}".replace("  ", " ")
    # what every rig can show, whatever the chance
    rig, site = usual_rig(), usual_site()
    sound = run_of(rig, site)
    sizes = {"healthy": 0.0, "slow": 0.95, "flat_low": 0.008, "fast_dry": 0.99}
    names = {
        "healthy": "sound",
        "slow": "screen_plugged",
        "flat_low": "flange_leaks",
        "fast_dry": "strainer_plugged",
    }
    return faulted(names[wanted], sizes[wanted], "", rig, site), sound, f"{names[wanted]} usual"


def end_of_interest(run: Run, sound: Run) -> float:
    """Until when a run is worth a look [s]: a little past its prime, else well past the sound rig's."""
    if run.primed:
        return min(max(run.prime_time, sound.prime_time) * 1.15 + 10.0, WATCHED)
    return WATCHED if side(resting_vacuum(run), lift_pressure(run.site)) == "below" else min(120.0, WATCHED)
