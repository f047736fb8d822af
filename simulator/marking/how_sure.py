"""How sure a learner was, and how often right: one call hardly tells whether somebody is sure too soon, twenty do.

Throughout: ``store`` is where the records are, ``learner`` the name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from simulator.attempt.calls import MARKERS, SOMETHING_ELSE
from simulator.marking.certainty import as_one
from simulator.rig.faults import FAULTS

LAST = 20  # calls that count, the newest
LEAST = 5  # calls from which something can be told
BANDS = ((MARKERS, MARKERS), (7, 9), (4, 6), (1, 3))  # markers on one kind of trouble, least and most

Call = tuple[Mapping[str, int], Sequence[str]]  # markers as placed, and the faults that were there


@dataclass(frozen=True)
class Band:
    """How often so many markers, ``least`` to ``most``, were put on one kind of trouble, and how often that was right."""

    least: int
    most: int
    stated: int
    right: int


def bands(calls: Iterable[Call]) -> tuple[Band, ...]:
    """What the markers of some calls came to, most markers first; without what was never stated.

    Parameters
    ----------
    calls : markers by suspect, with the ids of the faults that were there; none: nothing was wrong.

    Examples
    --------
    >>> told = bands([({"drain_open": 6, "joint_ring": 1, "belt_loose": 3}, ["drain_open"]), ({"sound": 10}, [])])
    >>> [(band.most, band.stated, band.right) for band in told]
    [(10, 1, 1), (9, 1, 1), (3, 1, 0)]
    """
    found: list[tuple[int, bool]] = []
    for markers, faults in calls:
        kinds: dict[str, int] = {}
        for name, count in markers.items():
            if name != SOMETHING_ELSE and name in FAULTS:
                kinds[FAULTS[name].family] = kinds.get(FAULTS[name].family, 0) + int(count)
        true = {FAULTS[name].family for name in (faults or ["sound"]) if name in FAULTS}
        found += [(count, family in true) for family, count in kinds.items() if count]
    out = []
    for least, most in BANDS:
        own = [right for count, right in found if least <= count <= most]
        if own:
            out.append(Band(least, most, len(own), sum(own)))
    return tuple(out)


def calls_of(store: Any, learner: str) -> tuple[Call, ...]:
    """The last call of each of a learner's latest marked call-outs, the newest last; those with hints are left out."""
    out: list[Call] = []
    for row in reversed(store.list_attempts(learner)):
        if len(out) >= LAST:
            break
        sheets = store.marks(row.attempt_id) if row.scenario_hash else ()
        if not sheets or sheets[-1].sheet.get("hints"):
            continue
        record = store.attempt_record(row.attempt_id)
        made = [
            event["result"]["markers"]
            for event in store.events(row.attempt_id)
            if event.get("act") == "call" and event.get("accepted") and event.get("result", {}).get("markers")
        ]
        if made and "scenario" in record:
            faults = record["scenario"].get("faults", ())
            out.append((as_one(made[-1], faults), [str(item["fault"]) for item in faults]))
    return tuple(reversed(out))
