"""What could be wrong with a rig: every single fault in a spread of sizes and places, each with its weight,
and the
rigs that remedies make of them.

Throughout: ``hypotheses`` are faults with size and place; ``count`` is how many sizes are wanted [-].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from simulator.errors import InputError
from simulator.rig.faults import FAULTS, Size, fault
from simulator.rig.onset import COMES_LATER, coming_at, coming_late, settled
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import Rig, Site
from simulator.rig.safe_words import can_be_told

MOST = 700
#: [-] least weight of a fault here: one that a trainer never lets be drawn may still be built into a call-out.
SELDOM = 1e-4
#: Faults that may come two at a time where a call-out has two: the usual ones, and some that hide behind another.
PAIRED = (
    "drain_open", "nrv_fouled", "joint_ring", "belt_loose", "nozzle_plugged", "screen_plugged", "engine_slow",
    "strainer_plugged", "liner_collapsed", "strainer_clogs", "gauge_low",
)  # fmt: skip
PAIR_SHARE = 0.25  # [-] of all weight, where a call-out may have two
PAIR_SIZES = (
    0.25,
    0.75,
)  # [-] places in the usual sizes at which each fault of a pair stands, where it has one place
#: When a fault that comes late begins and is there in full [s]; the belief takes what lies between for as likely.
LATE_TIMES = ((10.0, 25.0), (35.0, 55.0), (70.0, 95.0))
LATE_SPREAD = 20.0  # [s] to either side for which one of these times stands
LATE_SHARE = 0.15  # [-] of all weight, where one may come late
BAD_SHARE = 0.1  # [-] of all weight, where a pump has primed and then gone bad
LATE_SIZE = 0.6  # [-] place in the usual sizes at which a fault that comes late stands
#: A gauge, a stand and the lay of a hose do not turn bad.
NEVER_LATE = ("none", "instrument")
STAND_STILL = ("stand", "hose_lay")
#: A strainer beside the one that is all but shut before the start. Weed that the stream drags onto it while the water
#: climbs: how much it closes [-], when it begins and when it is there in full, as shares [-] of the time that a good rig
#: takes to prime; five tell it from a loose liner as well as twenty-seven do. One that is plugged in part [-]: it primes,
#: and gives little. How often each comes beside the other [-]: common practice, no source.
WEEDS = ((0.96, 0.05, 1.0), (0.96, 0.45, 1.1), (0.99, 0.05, 1.0), (0.99, 0.3, 0.9), (0.99, 0.3, 0.55))
WEED_SHARE = 0.5
PART_SIZES = (0.82, 0.89)
PART_SHARE = 0.5
TAIL = 0.08  # [-] share of a fault's weight given to a small or large size outside the usual range, or to all rare ones

Situation = tuple[Rig, Site]


@dataclass(frozen=True)
class Hypothesis:
    """One thing that could be wrong: a fault of a size (SI) at a place, with its weight [-] before anything
    is seen."""

    fault: str
    family: str
    size: float
    place: str
    weight: float
    second: tuple[str, float, str] | None = None  # fault, size (SI) and place of another one at the same time
    late: tuple[float, float] | None = (
        None  # [s] of each run when it begins and is there in full; None: from the start
    )

    @property
    def comes_later(self) -> bool:
        """Whether something of it comes while the rig runs, and not from the start."""
        both = (self.fault,) if self.second is None else (self.fault, self.second[0])
        return self.late is not None or any(fault(name).family == COMES_LATER for name in both)

    @property
    def may_come_late(self) -> bool:
        """Whether it is one fault, of a kind that may come while the rig runs."""
        item = fault(self.fault)
        return self.second is None and item.family not in NEVER_LATE and item.part not in STAND_STILL

    @property
    def kind(self) -> tuple[str, ...]:
        """What it is but for its sizes and times: fault and place, of both where there are two."""
        if self.late is not None:
            return (self.fault, self.place, "late", f"{self.size:g}")
        return (
            (self.fault, self.place) if self.second is None else (self.fault, self.place, *self.second[::2])
        )  # type: ignore[return-value]

    def apply(self, rig: Rig, site: Site) -> Situation:
        """The rig and site with this wrong."""
        there = FAULTS[self.fault].apply(rig, site, self.size, self.place)
        if self.late is not None and self.family == COMES_LATER:
            return coming_at(rig, there[0], *self.late), there[1]
        if self.late is not None:
            return coming_late((rig, site), there, *self.late), there[1]
        if self.second is not None:
            other, size, place = self.second
            there = FAULTS[other].apply(*there, size, place)
        return there


def sizes_of(size: Size | None, count: int) -> list[tuple[float, float]]:
    """Sizes in SI units with their shares [-] of the fault's weight, smallest value first.

    Each stands for an equal slice of the sizes that random cases draw; those outside the usual range, small, large
    and rare, get a tail.

    Examples
    --------
    >>> sizes = sizes_of(FAULTS["belt_loose"].size, 4)
    >>> len(sizes), round(sum(share for _, share in sizes), 9), sizes[-1][0]
    (6, 1.0, 1.0)
    """
    if size is None:
        return [(0.0, 1.0)]
    spread = 1.0 - size.end_share
    shares = {size.drawn(spread * (i + 0.5) / count): spread / count for i in range(count)}
    if size.end_share > 0.0:
        shares[size.large] = shares.get(size.large, 0.0) + size.end_share
    low, high = sorted((size.usual_low, size.usual_high))
    tails = [value for value in (size.small, size.large) if not low <= value <= high and value not in shares]
    rare = [value for value in size.rare if value not in tails]
    shares = {value: share * (1.0 - TAIL * (len(tails) + bool(rare))) for value, share in shares.items()}
    shares.update(dict.fromkeys(tails, TAIL))
    shares.update({value: TAIL / len(rare) for value in rare})
    return sorted(shares.items())


def spread(
    rig: Rig, site: Site, faults: Sequence[str] | None = None, *, pairs: bool = False
) -> tuple[Hypothesis, ...]:
    """Every single fault of a sound rig in sizes and places, weights together 1; the sound rig comes first.

    Parameters
    ----------
    rig, site : in good order.
    faults : ids that are possible here; by default all. The sound rig is always among them.
    pairs : whether two of the usual faults may be there at once, or one may come late.

    Raises
    ------
    InputError : a fault is not in the catalogue, or there would be more than 700 hypotheses.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = spread(load_rig("osier"), standard_site())
    >>> found[0].fault, round(sum(h.weight for h in found), 9), len(found) <= MOST
    ('sound', 1.0, True)
    """
    wanted = ["sound", *(name for name in FAULTS if name != "sound" and (faults is None or name in faults))]
    for name in faults or ():
        fault(name)
    out = []
    for name in wanted:
        item = FAULTS[name]
        places = item.places(rig, site)
        for place in places:
            for size, share in sizes_of(item.size, item.cuts):
                weight = max(item.weight, SELDOM) * share / len(places)
                out.append(Hypothesis(name, item.family, size, place, weight))
    if pairs:
        singles = sum(h.weight for h in out)
        rest = 1.0 - PAIR_SHARE - LATE_SHARE
        out += _weighing(_pairs(rig, site, wanted), singles * PAIR_SHARE / rest)
        out += _weighing(_late(rig, site, wanted), singles * LATE_SHARE / rest)
    if len(out) > MOST:
        raise InputError(f"there would be {len(out)} hypotheses", "faults", f"at most {MOST}")
    total = sum(h.weight for h in out)
    return tuple(replace(h, weight=h.weight / total) for h in out)


def _weighing(hypotheses: list[Hypothesis], together: float) -> list[Hypothesis]:
    """The same, of a given weight [-] all together."""
    whole = sum(h.weight for h in hypotheses)
    return [replace(h, weight=h.weight / whole * together) for h in hypotheses]


def late_ones(rig: Rig, site: Site, faults: Sequence[str]) -> tuple[Hypothesis, ...]:
    """One fault that comes while the rig runs, to be added to single ones of weights together 1 where a pump has primed
    and then gone bad.

    Parameters
    ----------
    rig, site : in good order.
    faults : ids that are possible here.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = late_ones(load_rig("osier"), standard_site(), ["belt_loose"])
    >>> len(found), round(sum(here.weight for here in found), 9), all(here.late for here in found)
    (6, 0.111111111, True)
    """
    return tuple(_weighing(_late(rig, site, faults), BAD_SHARE / (1.0 - BAD_SHARE)))


def _late(rig: Rig, site: Site, wanted: Sequence[str]) -> list[Hypothesis]:
    """One fault at each place that comes while the rig runs, at some times, with the weight it has elsewhere.

    Each stands in one size, and where some are there in full (a valve wide open, a belt gone) in that too: work and looks
    at the part find it otherwise.
    """
    out = []
    for item in (FAULTS[name] for name in wanted):
        places = item.places(rig, site)
        if not places or not Hypothesis(item.id, item.family, 0.0, places[0], 0.0).may_come_late:
            continue
        weight = max(item.weight, SELDOM) / len(places) / len(LATE_TIMES)
        out += [
            Hypothesis(item.id, item.family, size, place, weight * share, late=times)
            for place in places
            for size, share in _late_sizes(item.size)
            for times in LATE_TIMES
        ]
    return out


def weeds(rig: Rig, site: Site, prime_time: float) -> tuple[Hypothesis, ...]:
    """A strainer that weed blinds while the water climbs, to be added to single faults of weights together 1.

    The needle climbs as ever and then runs ahead of the water, as with a loose liner.

    Parameters
    ----------
    rig, site : in good order.
    prime_time : [s] of the rig in good order; where it never primes there is nothing to say.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = weeds(load_rig("osier"), standard_site(), 40.0)
    >>> {here.fault for here in found}, found[0].late
    ({'strainer_plugged'}, (2.0, 40.0))
    """
    item = FAULTS["strainer_plugged"]
    places = item.places(rig, site)
    if not places or not prime_time > 0.0:
        return ()
    weight = item.weight * WEED_SHARE / len(WEEDS)
    return tuple(
        Hypothesis(item.id, item.family, size, places[0], weight, late=(begin * prime_time, end * prime_time))
        for size, begin, end in WEEDS
    )


def other_strainers(rig: Rig, site: Site, prime_time: float) -> tuple[Hypothesis, ...]:
    """A strainer that weed blinds while the water climbs, and one plugged in part, beside those of :func:`spread`.

    No drawn call-out has the second: it is for readings of a real pump. It primes, and gives little.

    Parameters
    ----------
    rig, site : in good order.
    prime_time : [s] of the rig in good order; where it never primes there is nothing to say.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = other_strainers(load_rig("osier"), standard_site(), 40.0)
    >>> {here.fault for here in found}, found[0].late, found[-1].late
    ({'strainer_plugged'}, (2.0, 40.0), None)
    """
    item = FAULTS["strainer_plugged"]
    part = item.weight * PART_SHARE / len(PART_SIZES)
    blinded = weeds(rig, site, prime_time)
    return (
        *blinded,
        *(Hypothesis(item.id, item.family, size, blinded[0].place, part) for size in PART_SIZES if blinded),
    )


def _late_sizes(size: Size | None) -> list[tuple[float, float]]:
    """Sizes in SI units in which a fault that comes late stands, with their shares [-] of its weight."""
    if size is None:
        return [(0.0, 1.0)]
    usual = size.drawn(_counted_from_mild(size, LATE_SIZE) * (1.0 - size.end_share))
    ends = [(size.large, size.end_share)] if size.end_share > 0.0 else []
    return [(usual, 1.0 - size.end_share), *ends]


def _counted_from_mild(size: Size, chance: float) -> float:
    return 1.0 - chance if size.small > size.large else chance


def _pairs(rig: Rig, site: Site, wanted: Sequence[str]) -> list[Hypothesis]:
    """Two of the usual faults at once, each in two variants of size or place, weighted by both faults' weights."""
    out = []
    here = [name for name in PAIRED if name in wanted and FAULTS[name].places(rig, site)]
    for i, first in enumerate(here):
        for second in here[i + 1 :]:
            one, other = _variants(first, rig, site), _variants(second, rig, site)
            both = max(FAULTS[first].weight, SELDOM) * max(FAULTS[second].weight, SELDOM)
            weight = both / (len(one) * len(other))
            out += [
                Hypothesis(first, FAULTS[first].family, size, place, weight, (second, *there))
                for size, place in one
                for there in other
            ]
    return out


def _variants(name: str, rig: Rig, site: Site) -> list[tuple[float, str]]:
    """Sizes and places of one fault of a pair, all of which stand alone too: mending one leaves a known rig."""
    item = FAULTS[name]
    sizes = [
        size for size, _ in sizes_of(item.size, item.cuts) if item.size is None or size not in item.size.rare
    ]
    places = item.places(rig, site)
    if len(places) > 1:
        return [(sizes[len(sizes) // 2], place) for place in (places[0], places[-1])]
    return [(sizes[int(share * (len(sizes) - 1))], places[0]) for share in PAIR_SIZES]


def remedy_places(rig: Rig) -> tuple[tuple[str, str], ...]:
    """Every remedy with every place it can be done at on this rig, less those that nobody has said how to do safely.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> ("close_drain", "") in remedy_places(load_rig("osier"))
    True
    """
    return tuple(
        (name, place)
        for name, item in REMEDIES.items()
        if can_be_told("remedies", name)
        for place in item.places(rig)
    )


@dataclass(frozen=True)
class Situations:
    """The distinct rigs (rows) that hypotheses start from and that remedies lead to.

    ``start`` is the row of each hypothesis, shape (hypotheses,). ``after`` gives for each remedy and place
    the row that each row becomes, shape (rows,); ``findings`` the code of what the hands find, (rows,) of
    text.
    """

    rows: tuple[Situation, ...]
    start: np.ndarray
    after: dict[tuple[str, str], np.ndarray]
    findings: dict[tuple[str, str], np.ndarray]

    @cached_property
    def codes(self) -> dict[tuple[str, str], np.ndarray]:
        """Findings as whole numbers from 0, shape (rows,) for each remedy and place."""
        return {
            act: np.unique(found, return_inverse=True)[1].reshape(-1) for act, found in self.findings.items()
        }


def situations(rig: Rig, site: Site, hypotheses: Sequence[Hypothesis]) -> Situations:
    """All rigs that can come about; row 0 is the sound rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> all_rows = situations(rig, site, spread(rig, site, ["drain_open"]))
    >>> bool((all_rows.after["close_drain", ""] == 0).all())
    True
    """
    index: dict[Situation, int] = {(rig, site): 0}
    start = [index.setdefault(h.apply(rig, site), len(index)) for h in hypotheses]
    acts = remedy_places(rig)
    after: dict[tuple[str, str], list[int]] = {act: [] for act in acts}
    findings: dict[tuple[str, str], list[str]] = {act: [] for act in acts}
    rows = list(index)
    for here in rows:  # grows while remedies lead to rigs not met before
        for name, place in acts:
            item = REMEDIES[name]
            findings[name, place].append(item.finding(*here, place))
            there = item.apply(*here, place)
            there = settled(*there), there[1]
            if there not in index:
                rows.append(there)
            after[name, place].append(index.setdefault(there, len(index)))
    return Situations(
        rows=tuple(rows),
        start=np.array(start),
        after={act: np.array(values) for act, values in after.items()},
        findings={act: np.array(values) for act, values in findings.items()},
    )
