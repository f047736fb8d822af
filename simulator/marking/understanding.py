"""Understanding: predictions, scored against the model on a rig known to be sound or under the trainee's own
suspect.

Throughout: ``story`` is what an attempt holds; ``belief`` is how likely each hypothesis is now; ``cases`` are the
hypotheses of the rig in good order; ``answer`` is what was said; ``true`` the right time [s]; ``trail`` holds the
steps as they were judged.
"""

from __future__ import annotations

import math

import numpy as np

from simulator.attempt.calls import BLANK_QUESTION, PRIME_QUESTION, blank_suspect
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import Story, Trail
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.words import fault_name
from simulator.instruments.checks import CHECKS
from simulator.marking.rig_state import run_of, works
from simulator.marking.sheet import OUT_OF, UNDERSTANDING, Evidence, Part, because, part
from simulator.texts import text
from simulator.units import SYSTEMS, UNITS

CLOSE, FAR = 1.15, 2.0  # a time within a factor CLOSE earns all, beyond FAR nothing
WELL = 0.8  # [-] share of the points for a time, from which it is called well judged
PROOF_APART = 2.0  # [s] from the time on the card, from which a proof's own time asks for a word
LIFT_APART = 0.15  # [m] from the lift on the card, from which that is the word


def time_share(answer: float, true: float) -> float:
    """Share of the points [-] for a predicted time [s].

    Examples
    --------
    >>> time_share(40.0, 38.0), time_share(90.0, 38.0)
    (1.0, 0.0)
    """
    apart = abs(math.log(answer / true))
    return float(np.clip((math.log(FAR) - apart) / (math.log(FAR) - math.log(CLOSE)), 0.0, 1.0))


def blank_share(answer: str, suspect: str, belief: Belief) -> tuple[float, str]:
    """Share of the points [-] for what a blank-off test would show were the suspect right, and the likeliest
    outcome."""
    cases = belief.cases
    if suspect not in cases.faults:
        return 0.0, ""
    weights = belief.weights * (cases.fault_index == cases.faults.index(suspect))
    chances = weights @ cases.chances["blank_off", ""][belief.now, 0]
    outcomes = CHECKS["blank_off"].outcomes
    best = outcomes[int(np.argmax(chances))]
    return float(chances[outcomes.index(answer)] / chances.max()), best


def mark_understanding(story: Story, cases: HypothesisSet, trail: Trail) -> Part:
    """Points for the predictions that were asked; the part is shared equally among them.

    A call that was handed over before the engine ran shows none.
    """
    if not any(e["act"] == "start_engine" and e["accepted"] for e in story.log):
        return part(UNDERSTANDING, [because(0.0, "understanding.not_begun")])
    answers = {e["result"]["question"]: e for e in story.log if e["act"] == "predict" and e["accepted"]}
    asked = [PRIME_QUESTION, *([BLANK_QUESTION] if blank_asked(story) else [])]
    each = OUT_OF[UNDERSTANDING] / len(asked)
    evidence: list[Evidence] = []
    for question in asked:
        event = answers.get(question)
        if event is None or event["result"]["answer"] is None:
            evidence.append(because(0.0, f"understanding.{question}.open"))
        elif question == PRIME_QUESTION:
            evidence += _prime(story, float(event["result"]["answer"]), each)
        else:
            before = [belief for seq, belief in sorted(trail.at_calls.items()) if seq < event["seq"]]
            belief = before[-1] if before else Belief(cases)
            evidence.append(_blank(event["result"], belief, each))
    return part(UNDERSTANDING, evidence)


def blank_asked(story: Story) -> bool:
    """Whether the question about the blank-off test counts: it came up at the first call, with a suspect that such a
    test could show, before there was one. A test that was made before the answer took the question away."""
    tested = asked = False
    for event in story.log:
        if not event["accepted"]:
            continue
        if event["act"] == "predict" and event["result"]["question"] == BLANK_QUESTION:
            return True
        if event["act"] == "check" and event["result"]["check"] == "blank_off":
            if asked:
                return False
            tested = True
        if event["act"] == "call" and event["result"]["stage"] == 1:
            named = blank_suspect(event["result"]["markers"]) != ""
            allowed = story.allowed_checks is None or "blank_off" in story.allowed_checks
            asked = named and allowed and not tested
    return asked


def _prime(story: Story, answer: float, most: float) -> list[Evidence]:
    """What the guess was worth; with a word on the proof where that took another time than the rig of the card does."""
    true = float(run_of(*story.sound).prime_time)
    if not math.isfinite(true):
        return [because(0.0, "understanding.sound_prime_time.never")]
    share = time_share(answer, true)
    word = "close" if share >= WELL else "fair" if share > 0.0 else "far"
    key = "understanding.sound_prime_time"
    out = [because(most * share, f"{key}.{word}", said=round(answer), true=round(true))]
    proof = next((e["result"].get("prime_time_s") for e in reversed(story.log) if e["act"] == "finish"), None)
    if story.ended == "finished" and proof is not None and abs(proof - true) >= PROOF_APART:
        out.append(_why_other(story, float(proof), true))
    return out


def _why_other(story: Story, proof: float, true: float) -> Evidence:
    """Why a proof took another time [s] than the rig of the card."""
    (_, (_, there)) = works(story)
    lift, card = there.lift, story.sound[1].lift
    if abs(lift - card) >= LIFT_APART and (lift < card) == (proof < true):
        why = "proof_lift_less" if lift < card else "proof_lift_more"
    else:
        why = "proof_quicker" if proof < true else "proof_slower"
    return because(
        0.0,
        f"understanding.sound_prime_time.{why}",
        proof=round(proof),
        true=round(true),
        limit=round(story.runs[max(story.runs)].proof_time),
        lift=_both(lift),
        card=_both(card),
    )


def _both(length: float) -> str:
    """A length [m] in metres and feet, as lessons give them."""
    units = [SYSTEMS[system]["length"] for system in ("metric", "us")]
    shown = [f"{UNITS[unit].from_si(length):.{UNITS[unit].decimals}f} {unit}" for unit in units]
    return f"{shown[0]} ({shown[1]})"


def _blank(result: dict, belief: Belief, most: float) -> Evidence:
    share, best = blank_share(str(result["answer"]), str(result["suspect"]), belief)
    if not best:
        return because(0.0, "understanding.blank_off_if_right.open")
    word = "right" if share >= 0.8 else "partly" if share > 0.2 else "wrong"
    return because(
        most * share,
        f"understanding.blank_off_if_right.said_{word}",
        suspect=fault_name(str(result["suspect"])),
        said=text(f"attempt.questions.blank_off_options.{result['answer']}"),
        best=text(f"attempt.questions.blank_off_options.{best}"),
    )
