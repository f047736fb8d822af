"""What to look at next by what the gauges show: worked out by the reasoning about faults, never typed.

Every fault in every size is sorted by the picture its gauges give when a good rig would long have primed. For each
picture the reasoning says what is likeliest then, and which look pays best. A card looks before it mends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulator.diagnosis.advice import next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.option import CHECK, Option
from simulator.diagnosis.outlook import time_index
from simulator.instruments.checks import CHECKS
from simulator.instruments.outside_looks import static_lift
from simulator.rig.rig import Rig, Site

#: Pictures in the order of the card; which of them a rig without an air gauge can show is seen from its faults.
PICTURES = ("motive_low", "motive_high", "zero", "below", "at", "above", "badly", "loses")
NEAR = 5e3  # [Pa] to the static lift that a reader cannot be sure about
NOTHING = 3e3  # [Pa] of vacuum that counts as none
LOW, HIGH = 0.8, 1.12  # [-] of the good rig's motive air
TELLS = 0.25  # [bit] a look has to tell about the fault to be named
IMPOSSIBLE = -60.0  # log weight of what shows another picture
NAMED = 3  # suspects a picture names
WALK = "walk_round"  # the look that the card asks for before all else
LIKELY = 0.08  # [-] chance below which a suspect is not named


@dataclass(frozen=True)
class Advised:
    """One line of the card: the picture, its likeliest faults with their chances [-], where to look first and then."""

    picture: str
    suspects: tuple[tuple[str, float], ...]
    steps: tuple[Option, ...]


def pictures(cases: HypothesisSet) -> np.ndarray:
    """The picture that each hypothesis gives, shape (hypotheses,) of text; "" where it pumps as it should.

    Parameters
    ----------
    cases : of one rig and site.
    """
    start = cases.situations.start
    at = min(int(cases.proof_time), cases.needles.shape[2] - 1)
    suction, motive = cases.needles[start, 0, at], cases.needles[start, 1, at]
    sound_motive, lift = float(cases.needles[0, 1, at]), static_lift(cases.site)
    out = []
    for row, vacuum, air in zip(start, suction, motive, strict=True):
        if cases.proves[row]:
            out.append("")
        elif cases.outcomes[row] in ("pumps_badly", "lost_prime"):
            out.append("badly" if cases.outcomes[row] == "pumps_badly" else "loses")
        elif cases.rig.has_motive_gauge and air < LOW * sound_motive:
            out.append("motive_low")
        elif cases.rig.has_motive_gauge and air > HIGH * sound_motive:
            out.append("motive_high")
        else:
            steps = (("zero", NOTHING), ("below", lift - NEAR), ("at", lift + NEAR), ("above", np.inf))
            out.append(next(name for name, high in steps if vacuum < high))
    return np.array(out)


def told(belief: Belief, option: Option) -> float:
    """What an option tells about which fault it is [bit]: mutual information of outcome and fault.

    Parameters
    ----------
    belief : before it is seen.
    """
    cases, weights = belief.cases, belief.weights
    if option.kind == CHECK:
        chances = belief.next_chances(option.id, option.place, USUAL_LOOK)
    else:
        found = cases.situations.findings[option.id, option.place][belief.now]
        chances = (found[:, None] == np.unique(found)[None, :]).astype(float)
    joint = np.zeros((len(cases.faults), chances.shape[1]))
    np.add.at(joint, cases.fault_index, weights[:, None] * chances)
    apart = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    seen = joint > 1e-12
    return float(np.sum(joint[seen] * np.log2(joint[seen] / apart[seen])))


def advised(rig: Rig, site: Site) -> list[Advised]:
    """A line for every picture that a fault of this rig can give.

    Parameters
    ----------
    site : where it stands.
    """
    cases = hypothesis_set(rig, site)
    shown, out = pictures(cases), []
    for name in PICTURES:
        if not (shown == name).any():
            continue
        belief = _walked(Belief(cases, found=np.where(shown == name, 0.0, IMPOSSIBLE)))
        suspects = [(fault, chance) for fault, _, chance in belief.top(NAMED) if chance >= LIKELY]
        out.append(Advised(name, tuple(suspects), _looks(belief)))
    return out


def _walked(belief: Belief) -> Belief:
    """The belief after the walk round that the card asks for before all else, which has found things in order."""
    every = options(belief.cases)
    return next((_in_order(belief, option) for option in every if option.id == WALK), belief)


def _looks(belief: Belief) -> tuple[Option, ...]:
    """The look that pays best, and the one that pays best after it where it has shown a good part.

    Looks alone: what a look finds is put right, and nothing is mended on a guess.
    """
    first = _best(belief)
    return first, _best(_in_order(belief, first), but=first.id)


def _best(belief: Belief, but: str = "") -> Option:
    every = [
        option for option in options(belief.cases) if option.kind == CHECK and option.id not in (but, WALK)
    ]
    useful = [option for option in every if told(belief, option) >= TELLS]
    return next_best(belief, useful or every).option


def _in_order(belief: Belief, option: Option) -> Belief:
    """The belief after a look or work that found the part good; a look at a running rig, what it likely shows."""
    cases = belief.cases
    sound = cases.situations.start[0]
    if option.kind != CHECK:
        finding = str(cases.situations.findings[option.id, option.place][sound])
        return belief.update_remedy(option.id, option.place, finding)
    check = CHECKS[option.id]
    if "running" in check.needs:  # a rig in trouble and one that pumps differ in any case
        time = USUAL_LOOK
        usual = belief.weights @ belief.next_chances(option.id, option.place, time)
    else:
        time = float("nan")
        usual = cases.chances[option.id, option.place][sound, time_index(check, time)]
    return belief.update_check(option.id, check.outcomes[int(np.argmax(usual))], option.place, time)
