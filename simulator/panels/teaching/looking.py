"""What a look at a rig of a lesson's case would most likely show, from the same chances that call-outs are drawn from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from simulator.instruments.checks import CHECKS, Look
from simulator.instruments.vacuum_tests import BLANK_DURATION, CAPPED_DURATION, HOLD_DURATION, HOLD_STEPS
from simulator.panels.teaching.cases import run_of
from simulator.rig.rig import Rig, Site
from simulator.run import Run, Setup, simulate

PLAIN = (
    "in_order",
    "clean",
    "clear",
    "as_card",
    "liner_still",
    "deep_quick",
    "quiet",
    "stays",
    "holds",
    "calm",
)
TOLD = 0.6  # [-] chance from which a look is taken to show what is wrong


@lru_cache(maxsize=24)
def hold_run(rig: Rig, site: Site) -> Run:
    """Plate on, vacuum drawn for a minute, cock shut, engine off.

    Parameters
    ----------
    site : where it stands.
    """
    return simulate(rig, site, duration=HOLD_DURATION, setup=Setup.BLANKED, controls=HOLD_STEPS)


def test_run(rig: Rig, site: Site, setup: Setup) -> Run:
    """The run of a blank-off test or of a capped hose; a cap takes the strainer's place.

    Parameters
    ----------
    site : where it stands.
    setup : plate or cap.
    """
    if setup is Setup.BLANKED:
        return run_of(rig, site, 1.0, BLANK_DURATION, setup)
    hose = rig.suction_hose
    bare = replace(hose, strainer=replace(hose.strainer, blocked=0.0))
    return run_of(replace(rig, suction_hose=bare), site, 1.0, CAPPED_DURATION, setup)


def look_at(run: Run, sound: Run, time: float = math.nan, place: str = "") -> Look:
    """What lies before somebody at a time [s] of a run; nan: with the engine stopped.

    Parameters
    ----------
    sound : the same rig's run in good order.
    place : of the fault, for looks that go to one.
    """
    stopped = math.isnan(time)
    return Look(
        rig=run.rig,
        site=run.site,
        run=run,
        time=float(run.time[-1]) if stopped else time,
        running=not stopped,
        place=place,
        sound_run=sound,
        blank_run=lambda: test_run(run.rig, run.site, Setup.BLANKED),
        sound_blank_run=lambda: test_run(sound.rig, sound.site, Setup.BLANKED),
        capped_run=lambda: test_run(run.rig, run.site, Setup.CAPPED),
        sound_capped_run=lambda: test_run(sound.rig, sound.site, Setup.CAPPED),
        hold_run=lambda: hold_run(run.rig, run.site),
        card_rig=sound.rig,
        card_site=sound.site,
    )


def likeliest(check: str, run: Run, sound: Run, time: float = math.nan, place: str = "") -> str:
    """The outcome that a check most likely has.

    Parameters
    ----------
    run : that is looked at.
    time, place : as for :func:`look_at`.

    Examples
    --------
    >>> from simulator.panels.teaching.cases import faulted, usual_rig, usual_site
    >>> sound = run_of(usual_rig(), usual_site())
    >>> likeliest("strainer_out", faulted("strainer_plugged", 0.99), sound)
    'plugged'
    """
    item = CHECKS[check]
    chances = item.chances_seen(look_at(run, sound, time, place or item.place))
    return max(chances, key=lambda outcome: chances[outcome])


def tells(check: str, run: Run, sound: Run, time: float = math.nan, place: str = "") -> bool:
    """Whether a check most likely shows that something is wrong.

    Parameters
    ----------
    run, sound : that is looked at, and the same rig's in good order.
    time, place : as for :func:`look_at`.
    """
    item = CHECKS[check]
    chances = item.chances_seen(look_at(run, sound, time, place or item.place))
    return sum(chance for outcome, chance in chances.items() if outcome not in PLAIN) > TOLD


def cheapest_that_tells(checks: Sequence[str], run: Run, sound: Run) -> str:
    """The cheapest of some checks, made with the engine stopped, that shows what is wrong; empty where none does.

    Parameters
    ----------
    run : that is looked at.

    Examples
    --------
    >>> from simulator.panels.teaching.cases import faulted, usual_rig, usual_site
    >>> sound = run_of(usual_rig(), usual_site())
    >>> cheapest_that_tells(("clear_plate", "strainer_out", "dip_water"), faulted("strainer_plugged", 0.99), sound)
    'strainer_out'
    """
    found = [check for check in checks if tells(check, run, sound)]
    return min(found, key=lambda check: CHECKS[check].minutes, default="")
