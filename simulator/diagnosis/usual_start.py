"""How a start from dry ends with a fault at its middle size, in a run and in words: one story for catalogue and plans.

Throughout: ``fault`` is one by id ("sound": the rig in good order); ``rig``, ``site`` are those in good order.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from simulator.diagnosis.outlook import LONGEST_SPAN
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.rig import Rig, Site
from simulator.run import Run, simulate
from simulator.run.expected import expected
from simulator.run.outcome import pumps_well
from simulator.texts import text

SOUND = "sound"


@dataclass(frozen=True)
class UsualStart:
    """A start: its run, how it ended in a code of an outcome, "late" or "pumps_badly", and in words."""

    run: Run
    code: str
    words: str


def middle_place(item: Fault, rig: Rig, site: Site) -> str | None:
    """The place at which a fault is shown; None where the rig lacks the part.

    Parameters
    ----------
    item : the fault.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> middle_place(FAULTS["joint_ring"], load_rig("osier"), standard_site())
    'joint:1'
    """
    places = item.places(rig, site)
    return places[len(places) // 2] if places else None


def with_fault(fault: str, rig: Rig, site: Site) -> tuple[Rig, Site]:
    """Rig and site with a fault at its middle size and place; the rig has to have the part.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> with_fault("drain_open", rig, site)[0] == rig, with_fault("sound", rig, site)[0] == rig
    (False, True)
    """
    item = FAULTS[fault]
    return item.apply(rig, site, item.sizes[len(item.sizes) // 2], middle_place(item, rig, site) or "")


@lru_cache(maxsize=128)
def usual_start(fault: str, rig: Rig, site: Site) -> UsualStart:
    """A start of five minutes with a fault, and how it ends.

    Late is what takes longer than good rigs of the kind do; badly pumps what does not pump like this rig in good order.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> usual_start("strainer_plugged", load_rig("osier"), standard_site()).words
    'it fills, but next to no water goes out'
    """
    run = simulate(*with_fault(fault, rig, site), duration=LONGEST_SPAN)
    code = run.outcome.code
    if code == "primed":
        sound = run if fault == SOUND else usual_start(SOUND, rig, site).run
        if not pumps_well(run, sound, LONGEST_SPAN):
            code = "pumps_badly"
        elif run.prime_time > expected(rig, site).high:
            code = "late"
    seconds = f"{run.prime_time:.0f}" if math.isfinite(run.prime_time) else ""
    return UsualStart(
        run, code, text(f"catalogue.outcomes.{code}", seconds=seconds, end=f"{run.outcome.time:.0f}")
    )
