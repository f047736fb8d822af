"""Faults that come while the rig runs: what they change is held back until their time, then let in evenly.

The rig itself stands as the fault left it, so whoever takes a part off finds it as bad as it is. Only a run begins
without it: at every start anew, from the second at which the fault comes until it is there in full. Work that changes
the part ends the holding back by itself, for the value is then no longer the one that the fault had set.

Arguments, the same throughout: ``rig``, ``site`` as they stand, the fault in full; ``time`` run time since the start [s].
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from itertools import pairwise
from typing import Any

from simulator.rig.late import STEP, Late, Path
from simulator.rig.rig import Rig, Site

COMES_LATER = "primes_then_loses"  # the family of faults that come while the rig runs, whatever a file says


def coming_late(sound: tuple[Rig, Site], faulty: tuple[Rig, Site], start: float, end: float) -> Rig:
    """The faulty rig, what parts it from the ``sound`` one held back from ``start`` to ``end`` [s] of each run.

    Parameters
    ----------
    sound, faulty : rig and site before and after one fault.

    Examples
    --------
    >>> from simulator.rig.faults import FAULTS
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> sound = load_rig("osier"), standard_site()
    >>> rig = coming_late(sound, FAULTS["joint_ring"].apply(*sound, 0.008, "joint:1"), 40.0, 60.0)
    >>> [as_at(rig, sound[1], t)[0].suction_hose.joints[1].hole_diameter for t in (39.0, 50.0, 61.0)]
    [0.0, 0.004, 0.008]
    """
    found: list[tuple[Path, Any, Any]] = []
    for name, one, other in zip(("rig", "site"), sound, faulty, strict=True):
        _differences((name,), one, other, found)
    late = tuple(Late(path, before, after, start, end) for path, before, after in found)
    return replace(faulty[0], late=(*faulty[0].late, *late))


def coming_at(rig: Rig, faulty: Rig, start: float, end: float) -> Rig:
    """The faulty rig whose own slow changes, which ``rig`` has not, come from ``start`` to ``end`` [s] of each run.

    Examples
    --------
    >>> from simulator.rig.faults import FAULTS
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig = load_rig("osier")
    >>> clogs = FAULTS["strainer_clogs"].apply(rig, standard_site(), 0.98, "")[0]
    >>> [(ramp.start_time, ramp.end_time) for ramp in coming_at(rig, clogs, 10.0, 25.0).ramps]
    [(10.0, 25.0)]
    """
    kept = len(rig.ramps)
    moved = tuple(replace(ramp, start_time=start, end_time=end) for ramp in faulty.ramps[kept:])
    return replace(faulty, ramps=(*faulty.ramps[:kept], *moved))


def _differences(path: Path, one: Any, other: Any, found: list[tuple[Path, Any, Any]]) -> None:
    """The values in which two records differ, each with the way to it."""
    if one == other:
        return
    if is_dataclass(one) and type(one) is type(other):
        for item in fields(one):
            if item.name not in ("late", "ramps"):
                _differences((*path, item.name), getattr(one, item.name), getattr(other, item.name), found)
    elif _hole_more(path, one, other):
        for number in range(len(one), len(other)):
            found.append(((*path, number, "diameter"), 0.0, other[number].diameter))
    elif isinstance(one, tuple) and isinstance(other, tuple) and one and len(one) == len(other):
        for number, pair in enumerate(zip(one, other, strict=True)):
            _differences((*path, number), *pair, found)
    else:
        found.append((path, one, other))


def _hole_more(path: Path, one: Any, other: Any) -> bool:
    return path[-1] == "holes" and len(other) > len(one) and other[: len(one)] == one


def as_at(rig: Rig, site: Site, time: float) -> tuple[Rig, Site]:
    """Rig and site at a time of a run, what has not come yet left out; nothing in them comes late any more.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> as_at(load_rig("osier"), standard_site(), 3.0) == (load_rig("osier"), standard_site())
    True
    """
    if not rig.late:
        return rig, site
    now: dict[str, Any] = {"rig": replace(rig, late=()), "site": site}
    for change in reversed(rig.late):  # of two on one value the later set one stands above
        owner, way = str(change.path[0]), change.path[1:]
        if _value(now[owner], way) == change.after:
            now[owner] = _with(now[owner], way, change.value(time))
    return now["rig"], now["site"]


def settled(rig: Rig, site: Site) -> Rig:
    """The rig without the holding back of what work has since put right.

    Examples
    --------
    >>> from simulator.rig.faults import FAULTS
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.rig.remedies import REMEDIES
    >>> sound = load_rig("osier"), standard_site()
    >>> rig = coming_late(sound, FAULTS["joint_ring"].apply(*sound, 0.008, "joint:1"), 40.0, 60.0)
    >>> settled(*REMEDIES["renew_joint_ring"].apply(rig, sound[1], "joint:1")) == sound[0]
    True
    """
    if not rig.late:
        return rig
    owner = {"rig": rig, "site": site}
    kept = tuple(c for c in rig.late if _value(owner[str(c.path[0])], c.path[1:]) == c.after)
    return rig if kept == rig.late else replace(rig, late=kept)


def stages(rig: Rig, site: Site, first: int, last: int) -> list[tuple[int, int, Rig, Site]]:
    """The run from tick ``first`` to ``last`` [0.1 s since the start] in stretches, rig and site of each.

    What grows stands in each stretch as it is half-way through, whatever part of the stretch is asked for: a run that is
    taken up again half-way goes on as it would have.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> [(one, two) for one, two, _, _ in stages(load_rig("osier"), standard_site(), 0, 600)]
    [(0, 600)]
    """
    if not rig.late:
        return [(first, last, rig, site)]
    turns = sorted({turn for change in rig.late for turn in change.turns()})
    edges = [0, *(turn for turn in turns if turn > 0), max(last, turns[-1]) + 1]
    out = []
    for begin, end in pairwise(edges):
        one, two = max(begin, first), min(end, last)
        if one < two:
            out.append((one, two, *as_at(rig, site, 0.5 * STEP * (begin + end))))
    return out or [(first, last, *as_at(rig, site, STEP * first))]


def _value(owner: Any, way: Path) -> Any:
    for step in way:
        if isinstance(step, int):
            if step >= len(owner):
                return None
            owner = owner[step]
        else:
            owner = getattr(owner, step)
    return owner


def _with(owner: Any, way: Path, value: Any) -> Any:
    """A copy of a record with the value at the end of a way set anew."""
    if not way:
        return value
    step, rest = way[0], way[1:]
    if isinstance(step, int):
        return (*owner[:step], _with(owner[step], rest, value), *owner[step + 1 :])
    return replace(owner, **{step: _with(getattr(owner, step), rest, value)})
