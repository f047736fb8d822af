"""The look that comes before long work or a long look: cheap beside it, and it could part the first two suspects."""

from __future__ import annotations

import numpy as np

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.instruments.checks import CHECKS

SHARE = 0.25  # [-] of the work's minutes that a look before it may take
LOOK_SHARE = 0.5  # [-] of a longer look's minutes
PARTS = 0.5  # [-] chance by which two suspects must differ in an outcome, or in several together
SPOKEN = 0.02  # [-] chance from which a suspect is one


def two_suspects(belief: Belief) -> tuple[np.ndarray, np.ndarray] | None:
    """The weights [-] of the hypotheses of the two likeliest faults at their places; None where one alone is left.

    Parameters
    ----------
    belief : after all that was seen.
    """
    spots: dict[tuple[str, str], np.ndarray] = {}
    for number, here in enumerate(belief.cases.hypotheses):
        mine = spots.setdefault((here.fault, here.place), np.zeros(len(belief.weights)))
        mine[number] = belief.weights[number]
    ranked = sorted(spots.values(), key=lambda weights: -float(weights.sum()))[:2]
    if len(ranked) < 2 or float(ranked[1].sum()) < SPOKEN:
        return None
    return ranked[0], ranked[1]


def parting(belief: Belief, option: Option, pair: tuple[np.ndarray, np.ndarray]) -> float:
    """How far a look parts two suspects [-]: the largest difference of the chances of any set of its outcomes.

    Parameters
    ----------
    belief : after all that was seen.
    option : a look.
    pair : the weights [-] of each suspect's hypotheses.
    """
    at = USUAL_LOOK if "running" in CHECKS[option.id].needs else float("nan")
    chances = belief.next_chances(option.id, option.place, at)
    one, other = (weights @ chances / weights.sum() for weights in pair)
    return 0.5 * float(np.abs(one - other).sum())


def look_first(belief: Belief, work: Option, available: tuple[Option, ...]) -> Option | None:
    """The quickest look that could part the first two suspects, in a quarter of a work's minutes, or half a look's.

    Parameters
    ----------
    belief : after all that was seen.
    work : what is about to be done: work, or a look.
    available : options that are open; looks made before are not among them.

    Examples
    --------
    >>> from simulator.diagnosis.advice import options
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "seal_worn"])
    >>> work = next(option for option in options(cases) if option.id == "renew_seal")
    >>> look = look_first(Belief(cases), work, options(cases))
    >>> look is not None and look.minutes <= work.minutes / 4
    True
    """
    share = {REMEDY: SHARE, CHECK: LOOK_SHARE}.get(work.kind)
    pair = None if share is None or belief.proved else two_suspects(belief)
    if pair is None or share is None:
        return None
    whole = (
        CHECKS[work.id].minutes if work.kind == CHECK else work.minutes
    )  # a start for a look is no part of it
    looks = [
        option
        for option in available
        if option.kind == CHECK
        and CHECKS[option.id].minutes <= share * whole
        and parting(belief, option, pair) >= PARTS
    ]
    return min(looks, key=lambda option: (option.minutes, -parting(belief, option, pair)), default=None)
