"""What can be done next: watch a start, make a check, do a work, finish, or hand over what fits nothing."""

from __future__ import annotations

from dataclasses import dataclass

WATCH, CHECK, REMEDY, FINISH, HAND_OVER = "watch", "check", "remedy", "finish", "hand_over"


@dataclass(frozen=True)
class Option:
    """One thing that can be done.

    Attributes
    ----------
    kind : WATCH, CHECK, REMEDY, FINISH or HAND_OVER.
    id : of the check or remedy; otherwise the kind again.
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
