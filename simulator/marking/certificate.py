"""A certificate sitting: five to ten sealed cases of the bank, nothing shown before the last is over, all of it stored.

After the fifth case and each further one the rule (:mod:`simulator.marking.decision`) says passed, failed or one more;
after ten there may be no decision. A grave breach is never averaged away. A case that was not played counts nothing. A
trainer's marks of a case count only with the trainer's signature. Every sitting of a learner stays in the records and on
the sheet; a retake draws cases that this learner has not met. Sittings of older releases have five cases and keep their
rule.

Throughout: ``number`` is that of a case in its sitting, from 1; ``store`` keeps the records.
"""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import simulator
from simulator.attempt import Attempt
from simulator.errors import InputError, RefusedAct
from simulator.marking.bank import BankCase, bank
from simulator.marking.case_result import NOT_PLAYED, CaseStore, in_words, model_now, stored_sheet, worked_out
from simulator.marking.certificate_forms import draw_form
from simulator.marking.decision import FAILED, ONE_MORE, PASSED, UNDECIDED, Rule, rule_now, rule_of
from simulator.marking.sheet import MARKING_VERSION
from simulator.marking.signed import sheet_verdict, trainer_total
from simulator.marking.sitting_records import (
    CaseResult,
    CaseState,
    SittingLine,
    SittingResult,
    SittingStore,
)
from simulator.scenario import Scenario, scenario_from, scenario_hash
from simulator.scenario.packed import NOT_PACKED
from simulator.texts import text

LESSON, CASE_LESSON, MODE = "10", "10-case", "sitting"
STATE_OF = {PASSED: "passed", FAILED: "not_passed", UNDECIDED: "undecided"}
Progress = Callable[[int, int], None]
__all__ = [
    "CaseResult",
    "CaseState",
    "Sitting",
    "SittingLine",
    "SittingResult",
    "SittingStore",
    "history",
]


class Sitting:
    """One sitting of one learner. All of it is in the store: a new object goes on where the last one was.

    Examples
    --------
    >>> from simulator.records import Store
    >>> with Store.open("sqlite://") as store:
    ...     sitting = Sitting.begin(store, "Ash", seed=1)
    ...     sitting.attempt().act("put_on_ppe").accepted, sitting.current
    (True, 1)
    """

    def __init__(self, store: SittingStore, sitting_id: str) -> None:
        record = store.attempt_record(sitting_id)
        if record.get("mode") != MODE:
            raise InputError(f"{sitting_id!r} is no sitting", "sitting", "the id of a sitting")
        self.store, self.id = store, sitting_id
        self.learner, self.seed = str(record["learner"]), int(record["seed"])
        self._cases: list[dict[str, Any]] = record["cases"]
        self.rule: Rule = rule_of(record)
        self.accounts = str(
            record.get("accounts", "")
        )  # held at the service of a class: how those who play are parted
        self._asked = min(self.rule.least, len(self._cases))  # for so many cases at least
        self._attempts: dict[int, Attempt] = {}
        self._ready: dict[int, dict[str, Any]] = {}  # sheets worked out before the end, in no record yet

    @classmethod
    def begin(
        cls,
        store: SittingStore,
        learner: str,
        *,
        seed: int | None = None,
        cases: Sequence[BankCase] | None = None,
        target: float | None = None,
        packed: bool = True,
    ) -> Sitting:
        """A new sitting with cases this learner has not met.

        Parameters
        ----------
        seed : of the draw; by default a fresh one.
        cases, target : of another bank than the one that comes with the package.
        packed : the cases stand packed in the record; else they stay with the bank until they are played.

        Raises
        ------
        RefusedAct : a sitting of this learner is still open: go on with it, or leave it.
        InputError : the learner has no name.
        """
        if not learner.strip():
            raise InputError(text("marking.certificate.no_name").rstrip("."), "learner", "a name")
        lines = history(store, learner)
        if any(line.state in ("open", "unmarked") for line in lines):
            raise RefusedAct("sitting_open", text("marking.certificate.open"))
        used = [case_id for line in lines for case_id in Sitting(store, line.sitting_id).met]
        seed = secrets.randbits(31) if seed is None else seed
        form = draw_form(seed, used, cases, target)
        scenarios = [case.scenario() for case in form]
        record = {
            "learner": learner,
            "lesson": LESSON,
            "mode": MODE,
            "seed": seed,
            "scenario_hash": "",
            "model_version": simulator.__version__,
            "rule": rule_now().as_dict(),
            "cases": [
                {
                    "id": case.id,
                    "slot": case.slot,
                    "minutes": case.minutes,
                    "sealed": case.sealed if packed else NOT_PACKED,
                    "title": scenario.title,
                    "scenario_hash": scenario_hash(scenario),
                }
                for case, scenario in zip(form, scenarios, strict=True)
            ],
        }
        return cls(store, store.create_attempt(record))

    @classmethod
    def latest(cls, store: SittingStore, learner: str) -> Sitting | None:
        """The newest sitting of a learner, over or not; None before the first."""
        lines = history(store, learner)
        return cls(store, lines[-1].sitting_id) if lines else None

    # what may be known

    @property
    def number(self) -> int:
        """Which sitting of this learner it is, from 1."""
        rows = _rows(self.store, self.learner)
        return 1 + [row.attempt_id for row in rows].index(self.id)

    @property
    def asked(self) -> int:
        """How many cases are asked for, as far as that is known: five, and more once :meth:`settle` has said so."""
        while self._asked < len(self._cases) and self._known(self._asked + 1):
            self._asked += 1  # one that was begun was asked for
        return self._asked

    @property
    def met(self) -> tuple[str, ...]:
        """Ids of the cases that were begun."""
        return tuple(case["id"] for number, case in enumerate(self._cases, start=1) if self._known(number))

    @property
    def cases(self) -> tuple[CaseState, ...]:
        """The cases asked for, in their order, with no word of what is wrong or how it went."""
        return tuple(
            CaseState(number, self._cases[number - 1]["title"], self._state(number))
            for number in range(1, self.asked + 1)
        )

    @property
    def current(self) -> int | None:
        """Number of the case that is open or comes next; None when all that are asked for are over."""
        if self.left:
            return None
        return next((case.number for case in self.cases if case.state != "over"), None)

    @property
    def left(self) -> bool:
        """Whether the sitting was left before its end, or was set aside as damaged."""
        row = next((row for row in _rows(self.store, self.learner) if row.attempt_id == self.id), None)
        if row is None:
            return True
        sheet = stored_sheet(self.store, self.id)
        return bool(row.finished) and (sheet is None or not sheet["complete"])

    @property
    def over(self) -> bool:
        """Whether nothing is left to play, as far as is known: :meth:`settle` may yet ask for one more case."""
        return self.current is None

    @property
    def unmarked(self) -> bool:
        """Whether all cases asked for are over, and it is not worked out yet what comes of it."""
        return self.over and not self.left and stored_sheet(self.store, self.id) is None

    # playing

    def attempt(self) -> Attempt:
        """The open case, at the same second; where none is open, the next one is begun.

        It is sealed: its page shows no truth, and it must be shown without a debrief.

        Raises
        ------
        RefusedAct : the sitting is over.
        InputError : the case was begun with another version of the model, and does not replay.
        """
        number = self.current
        if number is None:
            raise RefusedAct("sitting_over", text("marking.certificate.over"))
        if number not in self._attempts:
            self._attempts[number] = self._open(number)
        return self._attempts[number]

    def leave(self) -> None:
        """Leave the sitting for good: cases not played count nothing, and the sitting stays on the list."""
        if not self.over:
            for number in [case.number for case in self.cases if case.state == "open"]:
                # A case that was set aside as damaged has ended already.
                with contextlib.suppress(InputError):
                    self.store.end_attempt(self.case_id(number), "left")
            self.store.end_attempt(self.id, "left")

    def prepare(
        self,
        number: int,
        progress: Progress | None = None,
        should_stop: Callable[[], bool] | None = None,
    ) -> None:
        """Work out beforehand what the marks of a case need, so that the sheet is there soon after the last case.

        While the case is played that is the simulation of what could be wrong; once it is over, its marks. They are
        held in memory alone: nothing is shown or kept before the sitting is over. It may run in another thread, as it
        asks nothing of the store.

        Parameters
        ----------
        number : of the case, from 1.
        progress : told how much is simulated, of how much.
        should_stop : asked in between; True gives up with a StoppedError.
        """
        from simulator.diagnosis.hypothesis_set import hypothesis_set
        from simulator.scenario import sound_rig

        hypothesis_set(*sound_rig(self._scenario(number)), progress=progress, should_stop=should_stop)
        attempt = self._attempts.get(number)
        if attempt is not None and attempt.yard.ended and number not in self._ready:
            self._ready[number] = worked_out(attempt)

    def settle(self, progress: Progress | None = None) -> bool:
        """Whether it is decided, once the cases asked for are over; where not, one more is asked for.

        The marks that this needs are held in memory alone.

        Parameters
        ----------
        progress : told after each case (done, total).
        """
        if self.left or self.current is not None:
            return self.left
        sheets = []
        for number in range(1, self.asked + 1):
            sheets.append(self._sheet_of(number))
            if progress is not None:
                progress(number, self.asked)
        totals, graves = (
            [float(sheet["total"]) for sheet in sheets],
            [bool(sheet.get("grave")) for sheet in sheets],
        )
        if self.rule.decided(totals, graves)[1] != ONE_MORE or self.asked >= len(self._cases):
            return True
        self._asked += 1
        return False

    # after the end

    def result(self, progress: Progress | None = None) -> SittingResult:
        """Marks of every case and of the sitting, from the records; cases not marked yet are marked now.

        Parameters
        ----------
        progress : told after each case (done, total).

        Raises
        ------
        RefusedAct : the sitting is not over.
        """
        if not self.over or not self.settle(progress):
            raise RefusedAct("sealed", text("marking.certificate.sealed"))
        found = [self._case_result(number) for number in range(1, self.asked + 1)]
        complete = all(case.attempt_id for case in found)
        # What was played on beyond the decision does not count: nobody plays on until it goes well.
        graves, automatic = [case.grave for case in found], [case.automatic for case in found]
        counted, by_machine = self.rule.decided(automatic, graves)
        found = found[:counted]
        totals = [case.total for case in found]
        decision = self.rule.decide(totals, graves[:counted])
        latest = stored_sheet(self.store, self.id)
        sheet = {
            "total": round(sum(automatic[:counted]) / counted, 1),
            "passed": complete and by_machine == PASSED,
            "complete": complete,
            "decision": by_machine,
            "cases": counted,
            "version": latest["version"] if latest else MARKING_VERSION,
            "model": latest["model"] if latest else model_now(),
        }
        if latest is None:
            self.store.save_marks(self.id, sheet)
        found_now = SittingResult(
            sitting_id=self.id,
            number=self.number,
            learner=self.learner,
            date=str(self.store.marks(self.id)[0].made_at),
            total=round(sum(totals) / len(totals), 1),
            grave=any(graves[:counted]),
            # A trainer's marks may lead where another case would have been asked for.
            decision=UNDECIDED if decision == ONE_MORE else decision,
            complete=complete,
            version=int(sheet["version"]),
            model=str(sheet["model"]),
            cases=tuple(found),
            rule=self.rule,
            accounts=self.accounts,
        )
        return replace(found_now, signature=sheet_verdict(self.store, found_now))

    @property
    def handed_in(self) -> tuple[int, ...]:
        """Numbers of the cases that were played to their end, whatever became of the sitting."""
        return tuple(number for number in range(1, self.asked + 1) if self._state(number) == "over")

    def told_when_left(self, progress: Progress | None = None) -> tuple[CaseResult, ...]:
        """Marks of the cases that were handed in before the sitting was left: they decide nothing, and are told all the
        same. Those not marked yet are marked now.

        Parameters
        ----------
        progress : told after each case (done, total).

        Raises
        ------
        RefusedAct : the sitting was not left.
        """
        if not self.left:
            raise RefusedAct("sealed", text("marking.certificate.sealed"))
        found = []
        for number in self.handed_in:
            found.append(self._case_result(number))
            if progress is not None:
                progress(len(found), len(self.handed_in))
        return tuple(found)

    @property
    def told(self) -> bool:
        """Whether the cases that were handed in have their marks."""
        return all(stored_sheet(self.store, self.case_id(number)) is not None for number in self.handed_in)

    # within

    def case_id(self, number: int) -> str:
        """The id of the attempt at a case, begun or not; cases count from 1."""
        return f"{self.id}-{number}"

    def case_seed(self, number: int) -> int:
        """The seed of the chances in a case."""
        return (self.seed + 7919 * number) % 2**31

    def _scenario(self, number: int) -> Scenario:
        case = self._cases[number - 1]
        if case["sealed"] != NOT_PACKED:
            return BankCase(case["id"], case["slot"], case["minutes"], case["sealed"]).scenario()
        if self._known(number):
            return scenario_from(self.store.attempt_record(self.case_id(number))["scenario"])
        found = next((each for each in bank()[0] if each.id == case["id"]), None)
        if found is None:
            raise InputError(text("marking.certificate.not_in_bank").rstrip("."), "certificate bank")
        return found.scenario()

    def _known(self, number: int) -> bool:
        try:
            self.store.attempt_record(self.case_id(number))
        except InputError:
            return False
        return True

    def _state(self, number: int) -> str:
        if number in self._attempts:
            return "over" if self._attempts[number].yard.ended else "open"
        if not self._known(number):
            return "waiting"
        events = self.store.events(self.case_id(number))
        return "over" if events and events[-1]["ended"] else "open"

    def _open(self, number: int) -> Attempt:
        if self._known(number):
            return Attempt.resume(self.store, self.case_id(number))
        more = {"lesson": CASE_LESSON, "sitting": self.id, "case": number, "sealed": True}
        kept: Any = CaseStore(self.store, **more)
        return Attempt(
            self._scenario(number),
            kept,
            learner=self.learner,
            mode="assessment",
            seed=self.case_seed(number),
            attempt_id=self.case_id(number),
        )

    def _case_result(self, number: int) -> CaseResult:
        case, scenario = self._cases[number - 1], self._scenario(number)
        from simulator.marking.debrief import truth_of

        plain = {
            "number": number,
            "title": case["title"],
            "truth": truth_of(scenario.what_is_wrong()),
            "expert_minutes": float(case["minutes"]),
        }
        if self._state(number) != "over":
            return CaseResult(**plain, **NOT_PLAYED)
        sheet, kept = self._sheet_of(number), stored_sheet(self.store, self.case_id(number))
        if kept is None:
            self.store.save_marks(self.case_id(number), sheet)
        by_trainer, verdict = trainer_total(self.store, self.case_id(number))
        automatic = float(sheet["total"])
        return CaseResult(
            **plain,
            attempt_id=self.case_id(number),
            total=by_trainer if by_trainer is not None and verdict.good else automatic,
            automatic=automatic,
            trainer=by_trainer,
            trainer_signature=verdict,
            grave=bool(sheet.get("grave")),
            minutes=float(sheet.get("minutes", 0.0)),
            parts=tuple(in_words(part) for part in sheet["parts"]),
        )

    def _sheet_of(self, number: int) -> dict[str, Any]:
        """The marks of a case that is over: those kept, or worked out now and held in memory."""
        kept = stored_sheet(self.store, self.case_id(number))
        if kept is not None:
            return kept
        if number not in self._ready:
            self._ready[number] = worked_out(self._attempts.get(number) or self._open(number))
        return self._ready[number]


def _rows(store: SittingStore, learner: str) -> list[Any]:
    return [row for row in store.list_attempts(learner, LESSON) if row.mode == MODE]


def history(store: SittingStore, learner: str) -> tuple[SittingLine, ...]:
    """All sittings of a learner, the oldest first. None is ever left out."""
    out = []
    for number, row in enumerate(_rows(store, learner), start=1):
        sheets = [marks for marks in store.marks(row.attempt_id) if marks.source == "automatic"]
        sitting = Sitting(store, row.attempt_id)
        if sheets:
            result = sitting.result()
            state = STATE_OF[result.decision] if result.complete else "left"
            out.append(SittingLine(number, str(sheets[0].made_at), state, result.total, row.attempt_id))
        else:
            state = "left" if row.finished else "unmarked" if sitting.over else "open"
            out.append(SittingLine(number, str(row.made_at), state, None, row.attempt_id))
    return tuple(out)
