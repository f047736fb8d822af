"""The rules of safety that attempts of version 1 were made under; their logs replay under them. Never changed.

``lacking`` are the needs that were not met, ``yard`` is what hands and eyes had changed, ``guarded`` the parts that
may not stand open at a start.
"""

from __future__ import annotations

from simulator.attempt.yard import Yard

#: Needs that make an act possible or keep the lesson in order; to try without them is refused, not unsafe.
NOT_SAFETY = ("running", "first_call", "second_call", "question")
_GRADE = {
    "ppe": "minor",
    "stopped": "serious",
    "isolated": "serious",
    "air_bled": "serious",
    "line_relieved": "serious",
    "hose_vented": "serious",
    "discharge_secured": "serious",
    "plate_rated": "serious",
    "edge_safe": "serious",
    "second_person": "minor",
    "line_held": "serious",
    "free_to_start": "grave",
}
_GRADES = ("minor", "serious", "grave")


def grade_before(lacking: list[str], yard: Yard, guarded: tuple[str, ...]) -> str:
    """How grave it was to try an act that lacks these needs: "", "minor", "serious" or "grave".

    Examples
    --------
    >>> grade_before(["ppe"], Yard(), ()), grade_before(["isolated"], Yard(engine_on=True), ())
    ('minor', 'grave')
    """
    worst = -1
    for need in lacking:
        if need in NOT_SAFETY:
            continue
        level = _GRADES.index(_GRADE[need])
        if need == "isolated" and yard.engine_on:
            level = 2
        if need == "free_to_start" and not yard.tagged and not set(yard.opened) & set(guarded):
            level = 1
        worst = max(worst, level)
    return _GRADES[worst] if worst >= 0 else ""
