"""The rig of a demonstration: faults let in, made to grow and cleared while it runs, each from its own second on.

All that was changed stays in the rig with its times, so that a run and its needles can be followed anew from the start
and come out the same.

Arguments, the same throughout: ``sound`` rig and site in good order; ``faults`` those ever let in, by their number;
``changes`` what was done with them, in order of time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from simulator.rig.faults import FAULTS
from simulator.rig.late import Late
from simulator.rig.onset import coming_late
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


def sizes_at(changes: Sequence[Change], time: float) -> dict[int, float]:
    """How bad each fault that is in stands at a time [s], in SI units.

    Examples
    --------
    >>> sizes_at([Change(0, 10.0, 10.1, 0.004), Change(0, 20.0, 30.0, 0.008)], 25.0)
    {0: 0.006}
    """
    sizes: dict[int, float] = {}
    for change in changes:
        if change.start > time:
            continue
        if change.size is None:
            sizes.pop(change.number, None)
            continue
        before = sizes.get(change.number)
        share = min((time - change.start) / (change.end - change.start), 1.0)
        sizes[change.number] = change.size if before is None else before + share * (change.size - before)
    return sizes


def settled(changes: Sequence[Change], number: int, time: float) -> list[Change]:
    """The changes, with what fault ``number`` still grows towards cut off at a time [s]: it stays as bad as it is."""
    now = sizes_at(changes, time)
    return [
        replace(change, end=time, size=now.get(number))
        if change.number == number and change.size is not None and change.start < time < change.end
        else change
        for change in changes
    ]


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
    late: list[Late] = []
    for change in changes:
        if change.size is None:
            sizes.pop(change.number, None)
        else:
            sizes[change.number] = change.size
        after = _standing(sound, faults, sizes)
        late += coming_late(before, after, change.start, change.end).late
        before = after
    return replace(before[0], late=tuple(late)), before[1]


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
