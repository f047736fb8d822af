"""What an act waits for, and how grave it is to try it without.

The grades follow what can hurt: common practice, no source. Local rules and qualified people come first.
"""

from __future__ import annotations

from simulator.attempt.yard import Yard
from simulator.texts import text

GRADES = ("minor", "serious", "grave")
#: Needs that make an act possible or keep the lesson in order; to try without them is refused, not unsafe.
NOT_SAFETY = ("running", "first_call", "second_call", "question")
#: Places behind a guard or a lid: to start with one of them open is grave.
GUARDED = ("belt", "nrv", "screen", "nozzle", "float", "seal", "impeller")
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


def missing(needs: tuple[str, ...], yard: Yard) -> list[str]:
    """The needs that are not met, in order; one that another covers is left out.

    Examples
    --------
    >>> missing(("ppe", "isolated", "stopped"), Yard())
    ['ppe', 'isolated']
    """
    out = [need for need in needs if not yard.has(need)]
    if "isolated" in out and "stopped" in out:
        out.remove("stopped")
    return out


def grade(lacking: list[str], yard: Yard, *, precaution: bool = False) -> str:
    """How grave it is to try an act that lacks these needs: "", "minor", "serious" or "grave".

    Opening what turns while the engine runs is grave; so is starting an engine that is tagged or open.

    Examples
    --------
    >>> grade(["ppe"], Yard()), grade(["isolated"], Yard(engine_on=True)), grade(["running"], Yard())
    ('minor', 'grave', '')
    """
    if precaution:
        return ""
    worst = -1
    for need in lacking:
        if need in NOT_SAFETY:
            continue
        level = GRADES.index(_GRADE[need])
        if need == "isolated" and yard.engine_on:
            level = 2
        if need == "free_to_start" and not yard.tagged and not set(yard.opened) & set(GUARDED):
            level = 1
        worst = max(worst, level)
    return GRADES[worst] if worst >= 0 else ""


def waits(lacking: list[str], yard: Yard) -> list[str]:
    """The sentences that say what an act waits for."""
    out = []
    for need in lacking:
        name = "free_to_start_open" if need == "free_to_start" and yard.opened else need
        out.append(text(f"attempt.needs.{name}"))
    return out
