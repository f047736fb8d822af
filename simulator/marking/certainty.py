"""Points for stated certainty: ten markers over suspects, scored by what kind of trouble it was.

The quadratic score (Brier 1950) is proper: nobody can do better on average than by stating what they really
believe.

Throughout: ``truth`` is the family of what was wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from simulator.attempt.calls import MARKERS, SOMETHING_ELSE
from simulator.rig.faults import FAULTS

#: The second name of what comes as the rig runs: the same of the rig changes, and the same work mends it.
AS_IT_RUNS = {"strainer_plugged": "strainer_clogs", "flange_leaks": "flange_works_loose"}


def as_one(markers: Mapping[str, int], faults: Sequence[Mapping[str, Any]]) -> dict[str, int]:
    """Markers, those on the second name of a fault that came as the rig ran laid on the fault itself.

    Weed that gathers on a strainer, and a strainer that is plugged from 60 s on, run alike, are at one spot, and one
    work mends both: no look parts them. Of a fault that was there from the start the names are two: a start parts them.

    Parameters
    ----------
    markers : by suspect, as they were placed.
    faults : what was wrong, as the call-out has it.

    Examples
    --------
    >>> as_one({"strainer_plugged": 4, "strainer_clogs": 5, "something_else": 1}, [{"fault": "strainer_clogs"}])
    {'strainer_clogs': 9, 'something_else': 1}
    >>> as_one({"strainer_clogs": 8, "something_else": 2}, [{"fault": "strainer_plugged", "start_s": None}])
    {'strainer_clogs': 8, 'something_else': 2}
    """
    there = {str(item["fault"]): item for item in faults}
    other: dict[str, str] = {}
    for name, late in AS_IT_RUNS.items():
        if late in there:
            other[name] = late
        elif name in there and there[name].get("start_s") is not None:
            other[late] = name
    out: dict[str, int] = {}
    for name, count in markers.items():
        own = name if name in there else other.get(name, name)
        out[own] = out.get(own, 0) + count
    return out


def stated(markers: Mapping[str, int], families: Sequence[str]) -> dict[str, float]:
    """Probability of each family [-] that markers state.

    Markers on "something else" count in equal parts for the families in which no suspect was named; for all
    families where each has one.

    Examples
    --------
    >>> stated({"belt_loose": 8, "something_else": 2}, ["air_gets_in", "air_not_drawn_out", "none"])
    {'air_gets_in': 0.1, 'air_not_drawn_out': 0.8, 'none': 0.1}
    """
    out = dict.fromkeys(families, 0.0)
    for name, count in markers.items():
        if name != SOMETHING_ELSE and count:
            family = FAULTS[name].family
            out[family] = out.get(family, 0.0) + count / MARKERS
    others = [family for family in families if out[family] == 0.0] or list(families)
    for family in others:
        out[family] += markers.get(SOMETHING_ELSE, 0) / MARKERS / len(others)
    return out


def certainty_points(statement: Mapping[str, float], truth: str, most: float) -> float:
    """Points for a statement (probability of each family [-]): ``most`` when sure and right, 0 for knowing
    nothing.

    Knowing nothing is the same share for each family. A statement that is sure and wrong costs more than
    ``most``: anything else would pay for bluff.

    Examples
    --------
    >>> certainty_points({"a": 1.0, "b": 0.0}, "a", 15.0), certainty_points({"a": 0.5, "b": 0.5}, "b", 15.0)
    (15.0, 0.0)
    """
    loss = sum((share - (family == truth)) ** 2 for family, share in statement.items())
    loss += 0.0 if truth in statement else 1.0
    nothing = 1.0 - 1.0 / max(len(statement), 2)
    return most * (1.0 - loss / nothing)
