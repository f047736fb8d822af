"""What the yard's card says to look at by what the gauges show: worked out by the reasoning about faults, never typed.

Every fault in every size is sorted by the picture its gauges give when a good rig would long have primed. For each
picture the reasoning says what is likeliest once the walk round has found nothing, and which look pays best. A card looks
before it mends, and from outside before it opens anything.

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
from simulator.diagnosis.outlook import NEAR_PRIME, look_times, time_index
from simulator.instruments.checks import CHECKS
from simulator.instruments.checks_from_outside import static_lift
from simulator.rig.rig import Rig, Site

#: Pictures in the order of the card; which of them a rig without an air gauge can show is seen from its faults.
PICTURES = ("motive_low", "motive_high", "zero", "below", "at", "above", "badly", "loses")
NEAR = 5e3  # [Pa] to the static lift that a reader cannot be sure about
NOTHING = 3e3  # [Pa] of vacuum that counts as none
LOW, HIGH = 0.8, 1.12  # [-] of the good rig's motive air
TELLS = 0.25  # [bit] a look has to tell about the fault to be named
FINDS = (
    0.4  # [-] by which a look shows trouble more often with a suspect than without, to be one that finds it
)
NEARLY = 0.75  # [-] of how surely the best look finds it, from which one from outside spares an opening
MOSTLY = 0.5  # [-] of all chances with the suspects, from which a look has to find one of them
IMPOSSIBLE = -60.0  # log weight of what shows another picture
NAMED = 3  # suspects a picture names
WALK = "walk_round"  # the look that the card asks for before all else
MISSED = (
    0.5  # [-] chance that the walk round misses it, below which what it looks at is not suspected after it
)
PRIMED = ("badly", "loses")  # pictures of a pump that has primed
#: Where it pumps and little comes out, everybody walks to that end first: common practice, no source.
LINE_FIRST = {"badly": "walk_discharge"}
LIKELY = 0.08  # [-] chance below which a suspect is not named

_lines: dict[tuple[str, str], Advised | None] = {}  # by set and picture: once worked out


@dataclass(frozen=True)
class Advised:
    """One line of the card: the picture, its likeliest faults with their chances [-], where to look first and then.

    ``in_order`` is what each of these looks shows where all is in order; ``once_more`` are faults that the walk round
    finds and that are worth another walk where these looks find nothing.
    """

    picture: str
    suspects: tuple[tuple[str, float], ...]
    steps: tuple[Option, ...]
    in_order: tuple[str, ...]
    once_more: tuple[str, ...] = ()


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
    shown = pictures(cases) == name
    if not shown.any():
        return None
    belief, slipped = _walked(cases, shown), _walked(cases, shown, slips=True)
    suspects = [(fault, chance) for fault, _, chance in belief.top(NAMED) if chance >= LIKELY]
    named = [fault for fault, _ in suspects]
    first = _outside_in(belief, belief, named, name, line_first=LINE_FIRST.get(name, ""))
    after = _seen_in_order(belief, first, name)
    left = [fault for fault in named if not finds(belief, first, fault, name)]
    left = left or [fault for fault, _, chance in after.top(NAMED) if chance >= LIKELY]
    steps = (first, _outside_in(belief, after, left, name, but=first.id))
    for step, now in zip(steps, (belief, after), strict=True):  # named is what a look is for
        if not any(finds(belief, step, fault, name) for fault, _ in suspects):
            likely = ((fault, chance) for fault, _, chance in now.top(len(cases.faults)) if chance > 0.0)
            suspects += [each for each in likely if finds(belief, step, each[0], name)][:1]
    chances = belief.by_fault()
    missed = [
        fault
        for fault, _, chance in slipped.top(len(cases.faults))
        if chance >= LIKELY and chances[fault] < LIKELY
    ]
    said = sorted(dict(suspects).items(), key=lambda pair: -chances[pair[0]])
    rows = tuple((fault, chances[fault]) for fault, _ in said)
    return Advised(name, rows, steps, tuple(_usual(cases, step, name) for step in steps), tuple(missed))


def _walked(cases: HypothesisSet, shown: np.ndarray, *, slips: bool = False) -> Belief:
    """The belief after the walk round that the card asks for before all else, which has found things in order; what it
    looks at and hardly misses is still there only where ``slips`` are counted, or where there is nothing else.

    Parameters
    ----------
    shown : which hypotheses give the picture, shape (hypotheses,) of bool.
    """
    walk = CHECKS[WALK]
    missed = cases.chances[WALK, ""][cases.situations.start, time_index(walk, np.nan)][
        :, walk.outcomes.index(_in_order(cases, WALK, "", np.nan))
    ]
    kept = shown if slips or not (shown & (missed >= MISSED)).any() else shown & (missed >= MISSED)
    belief = Belief(cases, found=np.where(kept, 0.0, IMPOSSIBLE))
    return belief.update_check(WALK, _in_order(cases, WALK, "", np.nan), "", np.nan)


def finds(belief: Belief, look: Option, fault: str, name: str) -> bool:
    """Whether a look shows trouble where this is the fault, more often than where it is another one.

    Parameters
    ----------
    belief : before it is seen.
    look : any that can be made.
    fault : its id.
    """
    return surely(belief, look, fault, name) >= FINDS


def surely(belief: Belief, look: Option, fault: str, name: str) -> float:
    """How much more often a look shows trouble where this is the fault than where it is another one [-], 0 to 1.

    Parameters
    ----------
    belief : before it is seen.
    look : any that can be made.
    fault : its id.
    """
    cases, weights = belief.cases, belief.weights
    chances = belief.next_chances(look.id, look.place, USUAL_LOOK)
    here = weights * (cases.fault_index == cases.faults.index(fault))
    there = weights - here
    if not here.sum() > 1e-9:
        return 0.0
    other = there @ chances / there.sum() if there.sum() > 1e-9 else np.zeros(chances.shape[1])
    more = np.maximum(here @ chances / here.sum() - other, 0.0)
    more[CHECKS[look.id].outcomes.index(_usual(cases, look, name))] = 0.0
    return float(more.sum())


def finders(belief: Belief, fault: str, name: str) -> list[Option]:
    """The looks that find a fault: those from outside, and where none of them does so nearly as surely, those that take
    something apart.

    Parameters
    ----------
    belief : before they are made.
    fault : its id.
    """
    sure = {look: surely(belief, look, fault, name) for look in _looks(belief)}
    enough = max(FINDS, NEARLY * max(sure.values(), default=0.0))
    outside = [look for look, chance in sure.items() if not CHECKS[look.id].opens and chance >= enough]
    return outside or [look for look, chance in sure.items() if CHECKS[look.id].opens and chance >= FINDS]


def _looks(belief: Belief) -> list[Option]:
    return [look for look in options(belief.cases) if look.kind == CHECK and look.id != WALK]


def _outside_in(
    walked: Belief, belief: Belief, suspects: list[str], name: str, but: str = "", line_first: str = ""
) -> Option:
    """The look that takes the fewest minutes to a find of those that find one of the suspects where they are likely, else
    the one that pays best of those that tell much; from outside where that will do. Looks alone: what one finds is put
    right, and nothing is mended on a guess."""
    every = [look for look in _looks(belief) if look.id != but]
    wanted = [look for look in every if look.id == line_first]
    found, chances = dict.fromkeys(every, 0.0), belief.by_fault()
    if not wanted and sum(chances[fault] for fault in suspects) >= MOSTLY:
        for fault in suspects:
            for look in set(finders(walked, fault, name)) & set(every):
                found[look] += chances[fault] * surely(walked, look, fault, name)
    finding = _from_outside([look for look, chance in found.items() if chance > 0.0])
    if finding:
        return min(finding, key=lambda look: (look.minutes / found[look], look.id, look.place))
    telling = [look for look in every if told(belief, look) >= TELLS]
    return next_best(belief, wanted or _from_outside(telling or every)).option


def _from_outside(looks: list[Option]) -> list[Option]:
    return [look for look in looks if not CHECKS[look.id].opens] or looks


def _usual(cases: HypothesisSet, look: Option, name: str) -> str:
    """What a look shows of a good rig, at a running one while it primes or, where it has primed, while it pumps."""
    check, time = CHECKS[look.id], np.nan
    if "running" in check.needs:
        prime = float(cases.prime_times[cases.situations.start[0]]) - NEAR_PRIME
        before = [at for at in look_times(check) if at <= prime]
        time = USUAL_LOOK if name in PRIMED else max(before, default=look_times(check)[0])
    return _in_order(cases, look.id, look.place, time)


def _in_order(cases: HypothesisSet, check: str, place: str, time: float) -> str:
    sound = cases.chances[check, place][cases.situations.start[0], time_index(CHECKS[check], time)]
    return CHECKS[check].outcomes[int(np.argmax(sound))]


def _seen_in_order(belief: Belief, look: Option, name: str) -> Belief:
    """The belief after a look that found all in order."""
    time = USUAL_LOOK if "running" in CHECKS[look.id].needs else np.nan
    return belief.update_check(look.id, _usual(belief.cases, look, name), look.place, time)
