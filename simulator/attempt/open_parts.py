"""Parts that are open already: work on them need not open them again, and takes fewer minutes.

Throughout: ``remedy`` is its id, ``place`` where it is done, ``opened`` the parts that stand open.
"""

from __future__ import annotations

from collections.abc import Iterable

from simulator.instruments.checks import CHECKS, VACUUM_RUNS
from simulator.rig import hands
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import Rig

#: Share of a look's minutes that goes into opening the part and closing it up again; common practice, no source.
OPENING_SHARE = 0.75
MIN_MINUTES = 0.5
#: Looks that count as opening something, but leave nothing off: a test with plate or plug, a hand on the bolts.
NOTHING_OFF = (*VACUUM_RUNS, "receiver_test", "flange_look")
#: Parts that come to light together with another one.
BESIDE = {"intake": "belt", "mixing_tube": "nozzle", "weed": "strainer", "motive_gauge": "suction_gauge"}

#: Work that takes the guard off the belt: who does it sees at once whether there is a belt, but not how tight it is.
GUARD_OFF = ("clean_intake", "renew_compressor")


def beside_it(remedy: str, rig: Rig) -> str:
    """What a remedy lays open beside its own part, as seen at a glance: "belt_on", "belt_gone", or "" for nothing.

    Parameters
    ----------
    rig : as it was before the work.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> beside_it("clean_intake", load_rig("osier")), beside_it("clean_nrv", load_rig("osier"))
    ('belt_on', '')
    """
    if remedy not in GUARD_OFF:
        return ""
    return "belt_gone" if hands.belt_found(rig, "") == "belt_gone" else "belt_on"


def opening_minutes(where: str) -> float:
    """Minutes [min] that opening this place takes; 0 where no look opens it.

    Examples
    --------
    >>> opening_minutes("nrv"), opening_minutes("joint:1"), opening_minutes("relief")
    (9.0, 3.0, 0.0)
    """
    part = where.partition(":")[0]
    looks = (
        check
        for check in CHECKS.values()
        if check.opens and check.place == part and check.id not in NOTHING_OFF
    )
    return max((OPENING_SHARE * check.minutes for check in looks), default=0.0)


def saved_minutes(remedy: str, place: str, opened: Iterable[str]) -> float:
    """Minutes [min] a remedy saves because its part is open already.

    Examples
    --------
    >>> saved_minutes("clean_nrv", "", ["nrv"]), saved_minutes("clean_nrv", "", ["screen"])
    (9.0, 0.0)
    >>> saved_minutes("clean_intake", "", ["belt"]), saved_minutes("renew_joint_ring", "joint:1", ["joint:0"])
    (3.0, 0.0)
    """
    item = REMEDIES[remedy]
    where = place or item.part
    where = BESIDE.get(where, where)
    if where not in {BESIDE.get(one, one) for one in opened}:
        return 0.0
    whole = max(round(2.0 * (item.minutes - opening_minutes(where))) / 2.0, MIN_MINUTES)
    return max(item.minutes - whole, 0.0)


def minutes_now(remedy: str, place: str, opened: Iterable[str]) -> float:
    """Minutes [min] a remedy takes as things stand.

    Examples
    --------
    >>> minutes_now("clean_nrv", "", []), minutes_now("clean_nrv", "", ["nrv"])
    (15.0, 6.0)
    """
    return REMEDIES[remedy].minutes - saved_minutes(remedy, place, opened)
