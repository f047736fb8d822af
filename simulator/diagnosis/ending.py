"""When the advice ends: nothing is left that could tell or mend, or nothing on the list fits what was seen.

Arguments, the same throughout: ``belief`` after all that was seen.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from simulator.diagnosis.belief import MISREPORT, Belief
from simulator.diagnosis.option import CHECK, REMEDY, WATCH, Option
from simulator.instruments.checks import CHECKS

TWICE = 2  # times after which a look or a start says nothing more while the rig stays as it is
OFTEN = 4  # times after which a look says nothing more at all
#: Ways a primed run can stand that tell as much as one that never primed.
FAILED_ENDS = ("pumps_badly", "lost_prime")
STIRS = 1e-6  # [-] chance that a work changes anything, below which it is not done again
#: [nat] A thing that comes true once in a hundred.
ONCE = -float(np.log(MISREPORT))
#: [nat] How surprising all that was seen may be under what fits best: more than two such things. In a dozen looks two are
#: misheard in one call-out of a hundred and fifty (binomial); to say of as many that nothing fits would be too often.
MISFIT = 2.5 * ONCE


def surprise(belief: Belief) -> float:
    """How surprising what was seen is under what fits best [nat], above the likeliest that could have been seen.

    Each look counts once, however often it was made; needles are left out, as the belief doubts them itself: one that
    stands still must not make what the looks fit unlikely.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> belief = Belief(hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"]))
    >>> round(surprise(belief), 9)
    0.0
    """
    total = np.zeros(len(belief.now))
    for seen in {(item.check, item.place): item for item in belief.looks}.values():
        at = CHECKS[seen.check].outcomes.index(seen.outcome)
        total += np.log(seen.chances.max(axis=1)) - np.log(seen.chances[:, at])
    if belief.found is not None:
        total -= belief.found
    total -= belief.starts_part
    return max(float(belief.without_needles.weights @ total), 0.0) + 0.0


def fits_nothing(belief: Belief) -> bool:
    """Whether nothing fits, two troubles at once included: never said while these have not been thought of."""
    two = any(here.second is not None for here in belief.cases.hypotheses)
    return two and surprise(belief) >= MISFIT


def still_open(belief: Belief, options: Iterable[Option]) -> tuple[Option, ...]:
    """The options that can still tell or mend something; as none stays open for ever, the advice ends.

    Parameters
    ----------
    belief : after all that was seen.
    options : everything that can be done.
    """
    return tuple(option for option in options if _open(belief, option))


def _open(belief: Belief, option: Option) -> bool:
    if option.kind == WATCH:
        return _watched(belief) < TWICE
    if option.kind == CHECK:
        made = [item for item in belief.looks if (item.check, item.place) == (option.id, option.place)]
        if len(made) < TWICE:
            return True
        table = belief.cases.chances[option.id, option.place]
        as_now = [item for item in made if np.array_equal(table[item.rows], table[belief.now])]
        return len(made) < OFTEN and len(as_now) < TWICE
    if option.kind == REMEDY:
        after = belief.cases.situations.after[option.id, option.place][belief.now]
        return bool(belief.weights[after != belief.now].sum() > STIRS)
    return True


def _watched(belief: Belief) -> int:
    """How many starts have been watched to where they tell all, with the rig as it is now.

    One that lacks something to be a proof does not; nor, the first times, one that pumps well but began otherwise than
    from dry at full speed.
    """
    cases = belief.cases
    enough = min(cases.proof_time, cases.span) if np.isfinite(cases.proof_time) else cases.span
    telling: set[int] = set()
    warm: set[int] = set()
    for start in belief.starts:
        primed = start.primed_at is not None
        if (
            start.proof
            or start.lacks
            or not (primed or start.watched >= min(enough, 60.0 * cases.watch_minutes - 1.0))
        ):
            continue
        if float(belief.weights[start.rows == belief.now].sum()) > 1.0 - MISREPORT:
            well = start.warm and primed and start.end not in FAILED_ENDS
            (warm if well else telling).add(start.run)
    return len(telling | warm) if len(warm) >= OFTEN else len(telling)
