"""What the work of an attempt did to the rig, work by work.

Throughout: ``story`` is what an attempt holds; ``site`` is where the rig stands; ``place`` is where on the rig.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from simulator.diagnosis.evidence import Story
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.rig import Rig, Site
from simulator.run import Run, simulate
from simulator.run.outcome import proves as run_proves

SPAN = 180.0  # [s]


@dataclass(frozen=True)
class Work:
    """One piece of work: what, where, its minutes [min], and whether it changed anything."""

    remedy: str
    place: str
    minutes: float
    changed: bool
    seq: int = -1  # of its event in the log


@lru_cache(maxsize=64)
def run_of(rig: Rig, site: Site) -> Run:
    """The rig started from dry at rated speed, 180 s."""
    return simulate(rig, site, duration=SPAN)


def proves(rig: Rig, site: Site, sound: tuple[Rig, Site]) -> bool:
    """Whether a start from dry primes in the time that the sound rig's time allows."""
    return run_proves(run_of(rig, site), run_of(*sound))


def works(story: Story) -> tuple[list[Work], tuple[Rig, Site]]:
    """All work done, in order, and the rig and site as they were left."""
    rig, site = story.true
    out = []
    for event in story.log:
        if event["act"] == "remedy" and event["accepted"]:
            result = event["result"]
            item = REMEDIES[result["remedy"]]
            after = item.apply(rig, site, result["place"])
            minutes = float(result.get("minutes", item.minutes))
            out.append(Work(item.id, result["place"], minutes, after != (rig, site), event["seq"]))
            rig, site = after
    return out, (rig, site)


def touches(work: Work, fault: str, place: str) -> bool:
    """Whether work was done where a fault sits.

    Examples
    --------
    >>> touches(Work("renew_joint_ring", "joint:0", 6.0, False), "joint_ring", "joint:1")
    False
    """
    part = FAULTS[fault].part
    if part == "joint":
        return work.remedy == "replace_hose" or (work.remedy in remedies_for(part) and work.place == place)
    return work.remedy in remedies_for(part)


def cheapest_minutes(story: Story, fault: str, place: str) -> float:
    """Minutes [min] of the quickest work that puts a fault right alone; 0 where none does."""
    rig, site = story.true
    found = []
    for item in REMEDIES.values():
        for where in item.places(rig):
            if touches(Work(item.id, where, item.minutes, True), fault, place):
                after = item.apply(rig, site, where)
                if after != (rig, site) and (len(story.faults) > 1 or proves(*after, story.sound)):
                    found.append(item.minutes)
    return min(found, default=0.0)
