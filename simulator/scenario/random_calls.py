"""Random call-outs for the practice yard. Title and brief are drawn apart from the fault."""

from __future__ import annotations

import random
from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from simulator.errors import InputError
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.presets import load_rig
from simulator.rig.rig import Rig, Site
from simulator.run import Run, simulate
from simulator.run.outcome import proof_limit, proves
from simulator.scenario.choices import FaultChoice, SiteChoice, choose_fault
from simulator.scenario.model import Scenario, sound_rig
from simulator.texts import entry, text

LONGEST_SOUND = 200.0  # [s] in which a sound rig primes at any site drawn here
WATCHED = 30.0  # [s] that a start is watched beyond the time that would prove the rig
SPAN = 180.0  # [s] that it is watched at least: some rigs prime, then lose it
ROUGHLY = 1e-4  # [-] tolerance that is enough to tell who would ring
TRIES = 12  # draws of a size before the last one stands


@dataclass(frozen=True)
class Level:
    """How hard random call-outs are: range of size chances and of lift [m], and whether the rig may be sound.

    A chance near 1 is the serious end of a fault's usual sizes.
    """

    id: str
    least: float
    most: float
    lift_low: float
    lift_high: float
    sound: bool


LEVELS: dict[str, Level] = {
    level.id: level
    for level in (
        Level("first", 0.6, 1.0, 2.0, 3.5, False),
        Level("usual", 0.0, 1.0, 1.5, 5.0, True),
        Level("hard", 0.0, 0.5, 2.0, 5.0, True),
    )
}


class _Chance:
    """Numbers from 0 to 1 by seed and purpose: one purpose never shifts another."""

    def __init__(self, seed: int, purpose: str) -> None:
        self._source = random.Random(f"call-out {seed} {purpose}")

    def number(self, low: float = 0.0, high: float = 1.0) -> float:
        return low + (high - low) * self._source.random()

    def index(self, count: int) -> int:
        return min(int(count * self._source.random()), count - 1)


def random_scenario(
    seed: int,
    level: str = "usual",
    *,
    rig: str = "osier",
    mode: str = "practice",
    only: Collection[str] = (),
) -> Scenario:
    """A random call-out: one fault by its weight (common practice), its size and place, and a site.

    The same seed gives the same call-out. Title, brief and site do not depend on the fault. A size so mild that the rig
    still primes in good time is drawn again: nobody would have rung. ``only`` names the faults to draw from.

    Raises
    ------
    InputError : the seed is out of range, or there is no such level, rig or mode.

    Examples
    --------
    >>> call = random_scenario(7)
    >>> call == random_scenario(7), 1.5 <= call.site.lift_m <= 5.0
    (True, True)
    """
    if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed < 2**31:
        raise InputError(f"the seed is {seed!r}", "seed", f"a whole number, 0 to {2**31 - 1}")
    if level not in LEVELS:
        raise InputError(f"there is no level {level!r}", "level", ", ".join(LEVELS))
    if mode not in ("practice", "assessment"):
        raise InputError(f"random call-outs have no mode {mode!r}", "mode", "practice or assessment")
    unknown = sorted(set(only) - set(FAULTS))
    if unknown:
        raise InputError(f"there is no fault {unknown[0]!r}", "only", "ids of the catalogue of faults")
    chosen = LEVELS[level]
    where = _Chance(seed, "site")
    name = _one_of("scenario.sites", where)
    site = SiteChoice(
        name=name,
        lift_m=round(where.number(chosen.lift_low, chosen.lift_high), 1),
        submergence_m=round(where.number(0.8, 1.5), 1),
        water_temperature_c=round(where.number(6.0, 20.0)),
        air_temperature_c=round(where.number(5.0, 25.0)),
    )
    title, brief = _words(seed, rig, site)
    noise = _Chance(seed, "noise").index(2**31)
    played: Any = mode
    plain = Scenario(title=title, brief=brief, rig=rig, site=site, mode=played, seed=noise)
    return plain.model_copy(update={"faults": _faults(seed, chosen, *sound_rig(plain), only)})


def _faults(seed: int, level: Level, rig: Rig, site: Site, only: Collection[str]) -> tuple[FaultChoice, ...]:
    what, size_chance, place_chance = (_Chance(seed, purpose) for purpose in ("fault", "size", "place"))
    fitting = [f for f in FAULTS.values() if (level.sound or f.family != "none") and f.places(rig, site)]
    fitting = [f for f in fitting if not only or f.id in only]
    if not fitting:
        raise InputError("none of these faults can be drawn here", "only", "faults that this rig can have")
    item = _by_weight(fitting, what.number())
    if item.family == "none":
        return ()
    places = item.places(rig, site)
    if item.size is None:
        return (choose_fault(item.id, place=places[place_chance.index(len(places))]),)
    first = place_chance.index(len(places))
    least = level.least
    for number in range(TRIES):
        place = places[(first + number // 4) % len(places)]  # some places never trouble anybody at this site
        size = _graded(item, size_chance.number(least, level.most))
        if item.family == "instrument" or not _pumps_well(*item.apply(rig, site, size, place), rig, site):
            break
        least = 0.5 * (least + level.most)  # too mild to ring up about: look among the worse ones
    return (choose_fault(item.id, size, place),)


@lru_cache(maxsize=4096)
def _pumps_well(rig: Rig, site: Site, sound_rig: Rig, sound_site: Site) -> bool:
    sound = _sound_run(sound_rig, sound_site)
    span = max(SPAN, proof_limit(sound.prime_time) + WATCHED)
    return proves(simulate(rig, site, duration=span, rtol=ROUGHLY), sound)


@lru_cache(maxsize=8)
def _sound_run(rig: Rig, site: Site) -> Run:
    return simulate(rig, site, duration=LONGEST_SOUND, rtol=ROUGHLY)


def _by_weight(items: list[Fault], chance: float) -> Fault:
    left = chance * sum(item.weight for item in items)
    for item in items:
        left -= item.weight
        if left < 0.0:
            return item
    return items[-1]


def _graded(item: Fault, chance: float) -> float:
    """Size at a chance counted from mild to serious, rounded to what a person would write [SI]."""
    assert item.size is not None
    milder_is_larger = item.size.small > item.size.large
    drawn = item.size.drawn(1.0 - chance if milder_is_larger else chance)
    rounded = item.size.from_file(float(f"{item.size.in_file(drawn):.3g}"))
    return min(max(rounded, item.size.low), item.size.high)


def _one_of(key: str, chance: _Chance) -> str:
    choices = entry(key)
    return str(choices[chance.index(len(choices))])


def _words(seed: int, rig: str, site: SiteChoice) -> tuple[str, str]:
    words = _Chance(seed, "words")
    fields = {"site": site.name, "lift": f"{site.lift_m:g}", "rig": load_rig(rig).title}
    parts = [
        _one_of(f"scenario.random.{part}", words).format(**fields) for part in ("caller", "trouble", "plea")
    ]
    return text("scenario.random.title", site=site.name), " ".join(parts)
