"""What a certificate sitting asks of its store, and what it tells: its cases, its results, its lines on the list.

Throughout: ``attempt_id`` is the opaque id of a record; ``learner`` and ``lesson`` whose and which; ``reason`` why it
ended; ``sheet`` its marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from simulator.attempt import AttemptStore
from simulator.marking.decision import FIVE, PASSED, Rule
from simulator.signing import Verdict
from simulator.signing.envelope import UNSIGNED

NOT_SIGNED = Verdict(UNSIGNED)


class SittingStore(AttemptStore, Protocol):
    """What a sitting asks of its store beside what an attempt asks."""

    def list_attempts(self, learner: str | None = None, lesson: str | None = None) -> Sequence[Any]:
        """Records, the oldest first."""
        ...

    def end_attempt(self, attempt_id: str, reason: str = "left") -> None:
        """Say that a record will not be gone on with."""
        ...

    def save_marks(self, attempt_id: str, sheet: dict[str, Any]) -> int:
        """Keep automatic marks."""
        ...

    def marks(self, attempt_id: str) -> Sequence[Any]:
        """All marks, the oldest first; each has ``source``, ``sheet`` and ``made_at``."""
        ...


@dataclass(frozen=True)
class CaseState:
    """A case as the learner may know it now: its number from 1, its title, and ``waiting``, ``open`` or ``over``."""

    number: int
    title: str
    state: str


@dataclass(frozen=True)
class CaseResult:
    """A case of a sitting that is over. ``total`` is what counts: the trainer's marks where there are signed ones."""

    number: int
    title: str
    attempt_id: str
    total: float
    automatic: float
    trainer: float | None
    grave: bool
    truth: str
    minutes: float  # [min] of looks, work and starts
    expert_minutes: float
    parts: tuple[dict[str, Any], ...]  # label, points, out_of, evidence
    trainer_signature: Verdict = NOT_SIGNED


@dataclass(frozen=True)
class SittingResult:
    """A sitting that is over: marks out of 100 over its cases, and what was decided (see :class:`Rule`)."""

    sitting_id: str
    number: int
    learner: str
    date: str  # UTC, ISO 8601
    total: float
    grave: bool
    decision: str  # passed, failed or undecided
    complete: bool  # all cases that were asked for were played
    version: int  # of the marking
    model: str
    cases: tuple[CaseResult, ...]
    rule: Rule = FIVE
    signature: Verdict = NOT_SIGNED  # under the sheet
    accounts: str = (
        ""  # held at the service of a class: "own" or "shared" accounts of those who play; else nothing
    )

    @property
    def passed(self) -> bool:
        """Whether it was passed; no decision is no pass."""
        return self.decision == PASSED and self.complete

    @property
    def error(self) -> float | None:
        """Standard error of the total [marks]; None under the rule of older releases, which knew none."""
        return (
            self.rule.error(len(self.cases), [case.total for case in self.cases])
            if self.rule.case_sd
            else None
        )


@dataclass(frozen=True)
class SittingLine:
    """One line of the list of all sittings; ``state`` is open, unmarked, left, passed, undecided or not_passed."""

    number: int
    date: str
    state: str
    total: float | None
    sitting_id: str
