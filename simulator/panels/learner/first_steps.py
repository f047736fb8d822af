"""What may be asked of a learner by how far the lessons have been done: plain faults first, tests with a plate late."""

from __future__ import annotations

from typing import Any

from simulator.instruments.checks import CHECKS

#: Tests under vacuum, which lesson 07 teaches: before it nobody is asked what they would show.
TAUGHT_LATER = ("blank_off", "capped_hose", "hold_test")
PLATE_LESSON = "07"
#: What the first level draws from: faults that the look round shows, that the gauges tell, or that one of the looks of
#: lessons 01 and 04 finds. Lesson 09 says so.
PLAIN = (
    "drain_open",
    "frost_drain_open",
    "joint_ring",
    "hose_hole",
    "flange_leaks",
    "belt_loose",
    "strainer_plugged",
    "hose_humped",
    "discharge_shut",
    "line_kinked",
)


def before_the_plate() -> tuple[str, ...]:
    """The checks on offer before lesson 07.

    Examples
    --------
    >>> "foam_joint" in before_the_plate(), "hold_test" in before_the_plate()
    (True, False)
    """
    return tuple(sorted(name for name in CHECKS if name not in TAUGHT_LATER))


def has_done(rows: Any, lesson: str) -> bool:
    """Whether a lesson was brought to its end at least once.

    Parameters
    ----------
    rows : records of the learner, as a store lists them.
    lesson : its number, such as "07".

    Examples
    --------
    >>> has_done((), "07")
    False
    """
    return any(row.lesson == lesson and row.mode == "lesson" and row.finished for row in rows)
