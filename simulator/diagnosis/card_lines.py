"""What the yard's card says to look at by what the gauges show: worked out by the reasoning about faults, never typed.

Every fault in every size is sorted by the picture its gauges give when a good rig would long have primed. For each
picture the reasoning says what is likeliest then, and which look pays best. A card looks before it mends.

Throughout: ``cases`` are the hypotheses of a rig in good order at a site; ``name`` is that of a picture.
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
from simulator.instruments.checks_from_outside import static_lift
from simulator.rig.rig import Rig, Site

#: Pictures in the order of the card; which of them a rig without an air gauge can show is seen from its faults.
PICTURES = ("motive_low", "motive_high", "zero", "below", "at", "above", "badly", "loses")
NEAR = 5e3  # [Pa] to the static lift that a reader cannot be sure about
NOTHING = 3e3  # [Pa] of vacuum that counts as none
LOW, HIGH = 0.8, 1.12  # [-] of the good rig's motive air
TELLS = 0.25  # [bit] a look has to tell about the fault to be named
FINDS = 0.4  # [-] by which a look's chances differ with a suspect and without, to be one that finds it
MOSTLY = 0.5  # [-] of all chances with the suspects, from which a look has to find one of them
IMPOSSIBLE = -60.0  # log weight of what shows another picture
NAMED = 3  # suspects a picture names
WALK = "walk_round"  # the look that the card asks for before all else
LIKELY = 0.08  # [-] chance below which a suspect is not named

_lines: dict[tuple[str, str], Advised | None] = {}  # by set and picture: once worked out


@dataclass(frozen=True)
class Advised:
    """One line of the card: the picture, its likeliest faults with their chances [-], where to look first and then.

    ``in_order`` is what each of these looks shows where all is in order.
    """

    picture: str
    suspects: tuple[tuple[str, float], ...]
    steps: tuple[Option, ...]
    in_order: tuple[str, ...]


def read_at(cases: HypothesisSet) -> int:
    """The time [s] of a start at which the card has the gauges read: when it should long have primed."""
    return min(int(cases.proof_time), cases.needles.shape[2] - 1)


def picture(cases: HypothesisSet, vacuum: float, motive: float, outcome: str) -> str:
    """The picture that a start from dry gives when the card has the gauges read.

    Parameters
    ----------
    vacuum : what the suction gauge shows [Pa].
    motive : what the motive gauge shows [Pa gauge]; nan where there is none.
    outcome : pumps_badly or lost_prime where it primed and did not go on well.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    >>> picture(cases, 1e3, float(cases.needles[0, 1, read_at(cases)]), "")
    'zero'
    """
    if outcome in ("pumps_badly", "lost_prime"):
        return "badly" if outcome == "pumps_badly" else "loses"
    sound_motive, lift = float(cases.needles[0, 1, read_at(cases)]), static_lift(cases.site)
    if cases.rig.has_motive_gauge and motive < LOW * sound_motive:
        return "motive_low"
    if cases.rig.has_motive_gauge and motive > HIGH * sound_motive:
        return "motive_high"
    steps = (("zero", NOTHING), ("below", lift - NEAR), ("at", lift + NEAR), ("above", np.inf))
    return next(name for name, high in steps if vacuum < high)


def pictures(cases: HypothesisSet) -> np.ndarray:
    """The picture that each hypothesis gives, shape (hypotheses,) of text; "" where it pumps as it should."""
    at, out = read_at(cases), []
    for row in cases.situations.start:
        vacuum, motive = cases.needles[row, :, at].tolist()
        out.append("" if cases.proves[row] else picture(cases, vacuum, motive, str(cases.outcomes[row])))
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
    lines = [line(cases, name) for name in PICTURES]
    return [each for each in lines if each is not None]


def line(cases: HypothesisSet, name: str) -> Advised | None:
    """What is advised where the gauges give a picture; None where no fault of this rig gives it."""
    key = (cases.key, name)
    if key not in _lines:
        _lines[key] = _worked_out(cases, name)
    return _lines[key]


def _worked_out(cases: HypothesisSet, name: str) -> Advised | None:
    shown = pictures(cases)
    if not (shown == name).any():
        return None
    belief = _walked(Belief(cases, found=np.where(shown == name, 0.0, IMPOSSIBLE)))
    suspects = [(fault, chance) for fault, _, chance in belief.top(NAMED) if chance >= LIKELY]
    named = [fault for fault, _ in suspects]
    first = _best(belief, named)
    after = _seen_in_order(belief, first)
    left = [fault for fault in named if not finds(belief, first, fault)]
    left = left or [fault for fault, _, chance in after.top(NAMED) if chance >= LIKELY]
    steps = (first, _best(after, left, but=first.id))
    if not any(finds(after, steps[1], fault) for fault, _ in suspects):  # named is what a look is for
        likely = ((fault, chance) for fault, _, chance in after.top(len(cases.faults)))
        suspects += [each for each in likely if finds(after, steps[1], each[0])][:1]
    return Advised(name, tuple(suspects), steps, (_usual(belief, first), _usual(after, steps[1])))


def _walked(belief: Belief) -> Belief:
    """The belief after the walk round that the card asks for before all else, which has found things in order."""
    every = options(belief.cases)
    return next((_seen_in_order(belief, option) for option in every if option.id == WALK), belief)


def finds(belief: Belief, option: Option, fault: str) -> bool:
    """Whether a look shows something else where this is the fault than where it is not.

    Parameters
    ----------
    belief : before it is seen.
    option : the look.
    fault : its id.
    """
    cases, weights = belief.cases, belief.weights
    chances = belief.next_chances(option.id, option.place, USUAL_LOOK)
    here = weights * (cases.fault_index == cases.faults.index(fault))
    there = weights - here
    if not here.sum() > 0.0 or not there.sum() > 0.0:
        return False
    apart = here @ chances / here.sum() - there @ chances / there.sum()
    return 0.5 * float(np.abs(apart).sum()) >= FINDS


def _best(belief: Belief, suspects: list[str], but: str = "") -> Option:
    """The look that pays best of those that find one of the suspects where they are likely, else of those that tell much.
    Looks alone: what one finds is put right, and nothing is mended on a guess."""
    every = [
        option for option in options(belief.cases) if option.kind == CHECK and option.id not in (but, WALK)
    ]
    telling = [option for option in every if told(belief, option) >= TELLS]
    finding, chances = [], belief.by_fault()
    if sum(chances[fault] for fault in suspects) >= MOSTLY:
        finding = [option for option in every if any(finds(belief, option, fault) for fault in suspects)]
    both = [option for option in finding if option in telling]
    return next_best(belief, both or finding or telling or every).option


def _usual(belief: Belief, look: Option) -> str:
    """What a look shows of a good part; at a running rig, what it likely shows of one in this trouble."""
    cases, check = belief.cases, CHECKS[look.id]
    if "running" in check.needs:  # a rig in trouble and one that pumps differ in any case
        chances = belief.weights @ belief.next_chances(look.id, look.place, USUAL_LOOK)
    else:
        sound = cases.situations.start[0]
        chances = cases.chances[look.id, look.place][sound, time_index(check, np.nan)]
    return check.outcomes[int(np.argmax(chances))]


def _seen_in_order(belief: Belief, look: Option) -> Belief:
    """The belief after a look that found all in order."""
    time = USUAL_LOOK if "running" in CHECKS[look.id].needs else np.nan
    return belief.update_check(look.id, _usual(belief, look), look.place, time)
