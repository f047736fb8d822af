"""The rig of a demonstration: faults let in, made to grow and cleared while it runs, each from its own second on.

All that was changed stays in the rig with its times, so that a run and its needles can be followed anew from the start
and come out the same.

Arguments, the same throughout: ``sound`` rig and site in good order; ``faults`` those ever let in, by their number;
``changes`` what was done with them, in order of time.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.late import Late
from simulator.rig.onset import as_at, coming_late
from simulator.rig.rig import Rig, Site

AT_ONCE = 0.1  # [s] in which a change that comes at once is there


@dataclass(frozen=True)
class FaultIn:
    """A fault that was let in: its id, where it sits (joints from 0, as on the rig) and from which second on."""

    fault: str
    place: str
    since: float


@dataclass(frozen=True)
class Change:
    """A fault goes to another size (SI; None: it is cleared) between two seconds of the run."""

    number: int
    start: float
    end: float
    size: float | None


def sizes_at(
    changes: Sequence[Change], time: float, rests: Mapping[int, float | None] = {}
) -> dict[int, float]:
    """How bad each fault that is in stands at a time [s], in SI units.

    Parameters
    ----------
    rests : for each fault the size from which it comes (:func:`rest_size`); one of which none is known counts as there.

    Examples
    --------
    >>> sizes_at([Change(0, 10.0, 20.0, 0.004), Change(0, 20.0, 30.0, 0.008)], 25.0)
    {0: 0.006}
    >>> sizes_at([Change(0, 10.0, 20.0, 0.004)], 15.0, {0: 0.0})
    {0: 0.002}
    """
    ways: dict[int, tuple[Change, float]] = {}  # what each is on its way to, and from where

    def reached(number: int, now: float) -> float:
        change, before = ways[number]
        assert change.size is not None
        share = min((now - change.start) / (change.end - change.start), 1.0)
        return before + share * (change.size - before)

    for change in changes:
        if change.start > time:
            continue
        if change.size is None:
            ways.pop(change.number, None)
        elif change.number in ways:
            ways[change.number] = change, reached(change.number, change.start)
        else:
            rest = rests.get(change.number)
            ways[change.number] = change, change.size if rest is None else rest
    return {number: reached(number, time) for number in ways}


def target_at(changes: Sequence[Change], number: int, time: float) -> Change | None:
    """What fault ``number`` is on its way to at a time [s]; None once it is there.

    Examples
    --------
    >>> changes = [Change(0, 10.0, 20.0, 0.004)]
    >>> target_at(changes, 0, 15.0) == changes[0], target_at(changes, 0, 20.0)
    (True, None)
    """
    begun = [change for change in changes if change.number == number and change.start <= time]
    return begun[-1] if begun and time < begun[-1].end else None


def rest_size(sound: tuple[Rig, Site], one: FaultIn) -> float | None:
    """The size [SI] that a fault would have where nothing is wrong; None where what it changes goes with no size.

    Parameters
    ----------
    one : the fault.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> sound = load_rig("osier"), standard_site()
    >>> rest_size(sound, FaultIn("flange_leaks", "", 0.0)), rest_size(sound, FaultIn("strainer_clogs", "", 0.0))
    (0.0, None)
    """
    item = FAULTS[one.fault]
    if item.size is None:
        return None
    low, middle, high = item.size.low, 0.5 * (item.size.low + item.size.high), item.size.high
    try:
        found = [
            {
                each.path: each
                for each in coming_late(sound, item.apply(*sound, size, one.place), 0.0, 1.0).late
            }
            for size in (low, middle, high)
        ]
    except InputError:  # not each size goes with this rig
        return None
    few, half, full = found
    if not few or few.keys() != half.keys() or few.keys() != full.keys():
        return None
    rests = []
    for path, one_end in few.items():
        a, b, c = one_end, half[path], full[path]
        if not (a.even and b.even and c.even) or a.after == c.after:
            return None
        if not math.isclose(2.0 * b.after, a.after + c.after, rel_tol=1e-6):
            return None
        rests.append(low + (a.before - a.after) * (high - low) / (c.after - a.after))
    scale = abs(high - low)
    return round(rests[0], 9) + 0.0 if max(rests) - min(rests) < 1e-6 * scale else None


def creeps_until(sound: tuple[Rig, Site], one: FaultIn, size: float) -> float:
    """The second of the run until which a fault gets worse by itself [s]; that at which it was let in where it does not.

    Parameters
    ----------
    one : the fault.
    size : of it [SI].
    """
    rig, _ = FAULTS[one.fault].apply(*sound, size, one.place)
    return one.since + max((ramp.end_time for ramp in rig.ramps[len(sound[0].ramps) :]), default=0.0)


def rig_with(
    sound: tuple[Rig, Site], faults: Mapping[int, FaultIn], changes: Sequence[Change]
) -> tuple[Rig, Site]:
    """Rig and site as they stand after all changes, each held back until its time.

    Raises
    ------
    InputError : a fault does not fit the rig.

    Examples
    --------
    >>> from simulator.rig.onset import as_at
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> sound = load_rig("osier"), standard_site()
    >>> rig, site = rig_with(sound, {0: FaultIn("drain_open", "", 10.0)},
    ...                      [Change(0, 10.0, 20.0, 0.5), Change(0, 40.0, 40.1, None)])
    >>> [as_at(rig, site, t)[0].casing_drain.opening for t in (5.0, 15.0, 30.0, 50.0)]
    [0.0, 0.25, 0.5, 0.0]
    """
    sizes: dict[int, float] = {}
    before = sound
    late: list[tuple[int, Late]] = []
    for change in changes:
        if change.size is None:
            sizes.pop(change.number, None)
        else:
            sizes[change.number] = change.size
        after = _standing(sound, faults, sizes)
        # what the same fault was still bringing stays where it has got to, and goes on from there
        own = tuple(each for n, each in late if n == change.number)
        here = as_at(replace(before[0], late=own), before[1], change.start)
        late = [(n, _cut(each, change.start) if n == change.number else each) for n, each in late]
        late += [(change.number, each) for each in coming_late(here, after, change.start, change.end).late]
        before = after
    return replace(before[0], late=tuple(each for _, each in late)), before[1]


def _cut(late: Late, time: float) -> Late:
    """A change that ends at a time [s], at the value it has then."""
    if not late.even or not late.start < time < late.end:
        return late
    return replace(late, after=late.value(time), end=time)


def _standing(
    sound: tuple[Rig, Site], faults: Mapping[int, FaultIn], sizes: Mapping[int, float]
) -> tuple[Rig, Site]:
    """Rig and site with every fault as bad as it gets; what creeps by itself creeps from the second it was let in."""
    rig, site = sound
    for number, size in sorted(sizes.items()):
        one = faults[number]
        known = len(rig.ramps)
        rig, site = FAULTS[one.fault].apply(rig, site, size, one.place)
        creeping = tuple(
            replace(ramp, start_time=ramp.start_time + one.since, end_time=ramp.end_time + one.since)
            for ramp in rig.ramps[known:]
        )
        rig = replace(rig, ramps=(*rig.ramps[:known], *creeping))
    return rig, site
