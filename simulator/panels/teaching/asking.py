"""Questions on the page of a taught lesson: hints, a second try, an answer with its reason, and what is kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simulator.panels.learner.session import LearnerSession, Work
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import UNSURE
from simulator.panels.teaching.drill import HINTS, Drill
from simulator.texts import text

LONGEST = 3600.0  # [s] counted for an answer: whoever walks away is not slow
SECOND_TRY = 0.5  # [-] of a right answer: what one at the second try is worth
LEAST_OPTIONS = 3  # for a second try: of two, the other one is no answer any more


def worth(kept: Mapping[str, Any]) -> float:
    """What an answer counts [0 to 1].

    Parameters
    ----------
    kept : as :class:`Asking` keeps it.

    Examples
    --------
    >>> worth({"right": True}), worth({"right": True, "tries": 2}), worth({"right": False, "tries": 2})
    (1.0, 0.5, 0.0)
    """
    return (SECOND_TRY if kept.get("tries", 1) > 1 else 1.0) if kept["right"] else 0.0


class Asking:
    """Asks drills within a sitting.

    What is kept of an answer, under the key of its place in the lesson: ``{"answer": option id or "unsure", "right":
    bool, "skill": str, "drill": name of its template, "case": what was drawn, "hints": steps taken 0 to 3, "seconds":
    [s] from the question to the answer, "part": predict, case, drill or check, "tries": 1 or 2}``. A wrong first try at a
    drill is kept under ``first:<key>``.
    What stands before the dot of a skill is a skill of ``simulator.marking.mastery`` (a family of faults, ``safe_work``),
    where it is one that call-outs ask for; else a word of the lesson's own (``gauge``, ``prime_time``, ``closing``).

    ``work`` is what the learner has done in the lesson; ``click`` the id of a click, kept with what follows from it.
    """

    def __init__(self, session: LearnerSession) -> None:
        self._desk = session
        self._asked_at: dict[str, float] = {}

    def hints_taken(self, work: Work, key: str) -> int:
        """Steps of the hint taken so far [-]."""
        return sum(1 for step in range(HINTS) if f"hint:{key}:{step}" in work.answers)

    def take_hint(self, work: Work, key: str, click: str) -> None:
        """One more step of the hint."""
        taken = self.hints_taken(work, key)
        if taken < HINTS and key not in work.answers:
            work.keep(f"hint:{key}:{taken}", True, click)

    def answer(self, work: Work, key: str, part: str, drill: Drill, answer: Any, click: str) -> bool:
        """Keep an answer; False where it is none of the options or was given before.

        A drill that is answered wrongly is asked once more: what is wrong is said, and a right answer then counts half.
        """
        if answer != UNSURE and drill.option(answer) is None:
            return False
        first = self.first_try(work, key)
        wrong = answer not in (UNSURE, drill.right)
        if part == "drill" and wrong and not first and len(drill.options) >= LEAST_OPTIONS:
            return key not in work.answers and work.keep(f"first:{key}", answer, click)
        if answer == first:
            return False
        now = self._desk.now().timestamp()
        spent = min(now - self._asked_at.get(key, now), LONGEST)
        kept = {
            "answer": answer,
            "right": answer == drill.right,
            "skill": drill.skill,
            "drill": drill.name,
            "case": drill.case,
            "hints": self.hints_taken(work, key),
            "seconds": round(max(spent, 0.0), 1),
            "part": part,
            "tries": 2 if first else 1,
        }
        return work.keep(key, kept, click)

    def first_try(self, work: Work, key: str) -> str:
        """The wrong answer that was given first; "" where there was none."""
        return str(work.answers.get(f"first:{key}", ""))

    def blocks(
        self,
        work: Work,
        key: str,
        drill: Drill,
        *,
        step: str = "",
        hints: bool = True,
        told: bool = True,
        figures: bool = True,
    ) -> list[Block]:
        """A question as it stands.

        Parameters
        ----------
        step : where it stands in a row of questions, in words.
        hints : whether hints are on offer.
        told : whether an answer is told at once; a prediction waits for the run.
        figures : whether its figures stand above it.
        """
        if key not in work.answers:
            self._asked_at.setdefault(key, self._desk.now().timestamp())
        kept = work.answers.get(key) or {}
        answer = kept.get("answer")
        done = answer is not None
        above = [{**block, "id": f"{key}:{block['id']}"} for block in drill.figures] if figures else []
        first = self.first_try(work, key)
        options = [
            {"id": option.id, "label": option.label}
            for option in drill.options
            if option.id != first or (done and told)
        ]
        unsure = {"id": UNSURE, "label": text("lessons.words.unsure")}
        taken = self.hints_taken(work, key)
        block: Block = {
            "id": key,
            "kind": "question",
            "step": step,
            "text": drill.text,
            "options": [*options, unsure],
            "answer": answer,
            "right": drill.right if done and told else None,
            "revealed": done and told,
            "good": done and answer == drill.right,
            "verdict": "not_known" if answer == UNSURE else "",
            "says": self.says(drill, answer, first) if done and told else self._try_again(drill, first),
        }
        if hints:
            block["hint"] = {
                "shown": [
                    text("teaching.hint", n=n + 1, total=HINTS, hint=drill.hints[n]) for n in range(taken)
                ],
                "more": ""
                if done or taken == HINTS
                else text("teaching.hint_first" if taken == 0 else "teaching.hint_more"),
            }
        after = [{**each, "id": f"{key}:{each['id']}"} for each in drill.after] if done and told else []
        return [*above, block, *after]

    def says(self, drill: Drill, answer: Any, first: str = "") -> list[str]:
        """What is said to an answer: where it goes wrong, then the figures of the run.

        Parameters
        ----------
        first : the wrong answer that was given before it, where there was one.
        """
        chosen = drill.option(answer)
        wrong = chosen.says if chosen is not None and chosen.id != drill.right else ""
        half = text("teaching.second_right") if first and answer == drill.right else ""
        return [sentence for sentence in (half, wrong, drill.because) if sentence]

    def _try_again(self, drill: Drill, first: str) -> list[str]:
        tried = drill.option(first)
        if tried is None:
            return []
        said = [text("teaching.second_try", tried=tried.label), tried.says, text("teaching.second_counts")]
        return [sentence for sentence in said if sentence]
