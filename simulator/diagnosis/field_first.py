"""Where beside a real pump the trouble sits by its suspects, and the look that an old hand makes first for it.

Throughout: ``belief`` is how likely each hypothesis is now; ``available`` are options that are open, looks made before
are not among them; ``named`` are suspects as (fault, chance [-]), the likeliest first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from simulator.diagnosis.advice import BEFORE_START
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.look_first import shows
from simulator.diagnosis.option import CHECK, WATCH, Option
from simulator.rig.faults import FAULTS

NAMED = 0.02  # [-] chance from which a suspect is worth a line
#: What holds the water back: needles hardly tell one from the other, and the first is out in a quarter of the time that
#: the second takes to change.
STRAINER, LINER = "strainer_plugged", "liner_collapsed"
STRAINER_LOOK, DIP = "strainer_out", "dip_water"
HELD_SHARE = 0.5  # [-] chance of several together from which they are gone by
#: Looks at a pump that is full and throws nothing.
WAY_OUT_LOOKS = ("listen_pump", "walk_discharge")
TELLS = 0.25  # [-] chance by which such a look must differ between these and all else

#: Sides of a rig: air gets in, air is not drawn out, water is held back, it stands too high, water has no way out, the
#: wheel moves too little, water is thrown too easily.
IN, OUT, HELD, HIGH, SHUT, LESS, THROWN = "in", "out", "held", "high", "shut", "less", "thrown"
_OF_FAMILY = {"air_gets_in": IN, "air_not_drawn_out": OUT, "water_cannot_come": HELD}
_OF_FAULT = {
    "frost_drain_open": "",  # above the ball: it lets no air in
    "flange_works_loose": IN,
    "level_falls": IN,
    "strainer_clogs": HELD,
    "pump_high": HIGH,
    "discharge_shut": SHUT,
    "line_kinked": SHUT,
    "nrv_stuck": SHUT,
    "impeller_clogged": LESS,
    "line_bursts": THROWN,
}


def side_of(fault: str) -> str:
    """On which side of a rig a fault sits; "" where on none, as a gauge.

    Examples
    --------
    >>> side_of("joint_ring"), side_of("pump_high"), side_of("gauge_low")
    ('in', 'high', '')
    """
    return _OF_FAULT.get(fault, _OF_FAMILY.get(FAULTS[fault].family, ""))


def leading_side(named: Sequence[tuple[str, float]]) -> str:
    """Where a needle past the lift without water points to; "" where the list points to none of these sides.

    Examples
    --------
    >>> leading_side([("pump_high", 0.8), ("strainer_plugged", 0.1)]), leading_side([("seal_worn", 0.2)])
    ('high', '')
    >>> leading_side([("seal_worn", 0.2), ("nrv_stuck", 0.15), ("discharge_shut", 0.1)])
    'shut'
    """
    first, chance = named[0]
    side = side_of(first)
    if side in (HELD, HIGH, SHUT):
        return side
    return SHUT if sum(part for fault, part in named if side_of(fault) == SHUT) >= chance else ""


def walk_first(available: Iterable[Option]) -> Option | None:
    """The walk round where it was not made: it comes before every start, and before all other looks."""
    return _option(available, BEFORE_START)


def start_first(available: Iterable[Option]) -> Option | None:
    """Another start, where the last one was stopped too soon to tell anything."""
    return next((option for option in available if option.kind == WATCH), None)


def strainer_first(belief: Belief, available: Iterable[Option]) -> Option | None:
    """The strainer, where the water is held back and nobody has looked at it: weed looks like a loose liner. Else None.

    Common practice, no source: what comes up on its rope in minutes is looked at before a long work behind it, and before
    quick looks at what the pump sounds like.
    """
    chance = belief.by_fault()
    strainer, liner = chance.get(STRAINER, 0.0), chance.get(LINER, 0.0)
    if strainer < NAMED or strainer + liner < HELD_SHARE:
        return None
    return _option(available, STRAINER_LOOK)


def look_past_the_lift(
    belief: Belief, named: Sequence[tuple[str, float]], available: Iterable[Option]
) -> Option | None:
    """The first look where the needle is past the lift and no water comes: a dip where the pump may stand too high, the
    look that tells most where the water may have no way out. Else None.

    Common practice, no source: a tape in the water takes minutes, and all else is read against the lift.
    """
    side = leading_side(named)
    if side == HIGH:
        return _option(available, DIP)
    if side != SHUT:
        return None
    own = np.array([side_of(here.fault) == SHUT for here in belief.cases.hypotheses])
    looks = [option for option in available if option.id in WAY_OUT_LOOKS]
    best = max(looks, key=lambda look: shows(belief, look, own), default=None)
    return best if best is not None and shows(belief, best, own) >= TELLS else None


def _option(available: Iterable[Option], check: str) -> Option | None:
    return next((option for option in available if option.kind == CHECK and option.id == check), None)
