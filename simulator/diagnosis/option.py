"""What can be done next: watch a start, make a check, do a work, finish, or hand over what fits nothing."""

from __future__ import annotations

from dataclasses import dataclass

RUN_ON = "run_on"  # id of a WATCH: what runs is let run
WATCH, CHECK, REMEDY, FINISH, HAND_OVER = "watch", "check", "remedy", "finish", "hand_over"


@dataclass(frozen=True)
class Option:
    """One thing that can be done.

    Attributes
    ----------
    kind : WATCH, CHECK, REMEDY, FINISH or HAND_OVER.
    id : of the check or remedy; RUN_ON where a start that runs is watched on; otherwise the kind again.
    place : on the rig, as in ``joint:1``; "" where the act has but one.
    minutes : it takes of its own [min], what makes it safe left out.

    Examples
    --------
    >>> Option(CHECK, "joint_apart", "joint:1", 4.0).place
    'joint:1'
    """

    kind: str
    id: str
    place: str
    minutes: float
