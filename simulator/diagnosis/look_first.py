"""The look that comes before long work or a long look: cheap beside it, it could part the first two suspects, or show
that it is the first one.

Throughout: ``belief`` is after all that was seen; ``look`` and ``work`` are options; ``available`` are those that are
open, looks made before are not among them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulator.attempt.open_parts import NOTHING_OFF, saved_minutes
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import USUAL_LOOK, plan_for
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.instruments.checks import CHECKS

SHARE = 0.25  # [-] of the work's minutes that a look before it may take
LOOK_SHARE = 0.5  # [-] of a longer look's minutes
PARTS = 0.5  # [-] chance by which two suspects must differ in an outcome, or in several together
SPOKEN = 0.02  # [-] chance from which a suspect is one
SHOWS = 0.8  # [-] chance by which a look must differ between what a work puts right and all else that is left
NAMES = (
    0.5  # [-] chance that what a look showed comes, by itself, of what a work puts right, to have shown it
)
EVEN = 0.5  # [-] chance below which a work is likelier in vain than not
TELLS = 0.5  # [-] chance by which a look before such work must differ between what it puts right and all else
#: What is pulled out before a long work on what lies behind it, by work: weed that the stream drags on blinds a strainer
#: only once water runs, and no hypothesis has it. Common practice, no source.
OUT_FIRST = {"replace_hose": ("strainer_out", "clean_strainer", "water_cannot_come")}
SPOKE = 3.0  # [-] how much likelier what the hands found must be with it than with all else, to have shown it


def two_suspects(belief: Belief) -> tuple[np.ndarray, np.ndarray] | None:
    """The weights [-] of the hypotheses of the two likeliest faults at their places; None where one alone is left."""
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
    option : a look.
    pair : the weights [-] of each suspect's hypotheses.
    """
    chances = belief.next_chances(option.id, option.place, _at(option))
    one, other = (weights @ chances / weights.sum() for weights in pair)
    return 0.5 * float(np.abs(one - other).sum())


def _at(look: Option) -> float:
    return USUAL_LOOK if "running" in CHECKS[look.id].needs else float("nan")


def put_right(belief: Belief, work: Option) -> np.ndarray:
    """Which hypotheses a work brings nearer to a proof, as they are now, shape (hypotheses,) of bool."""
    plan = plan_for(belief.cases)
    number = plan.number.get((work.id, work.place))
    if number is None:
        return np.zeros(len(belief.now), dtype=bool)
    return np.asarray(plan.tables.moved[belief.now, number] > 0.5)


def shows(belief: Belief, look: Option, mended: np.ndarray) -> float:
    """How far a look parts what a work puts right from all else that is left [-]; 0 where nothing else is.

    Parameters
    ----------
    mended : as :func:`put_right` gives it.
    """
    pair = belief.weights * mended, belief.weights * ~mended
    if min(float(weights.sum()) for weights in pair) <= 0.0:
        return 0.0
    return parting(belief, look, pair)


def shown(belief: Belief, mended: np.ndarray) -> bool:
    """Whether a look, or the hands, have shown what a work puts right: needles alone do not.

    Parameters
    ----------
    mended : as :func:`put_right` gives it.
    """
    weights = belief.cases.weights
    one, other = weights * mended, weights * ~mended
    if min(float(one.sum()), float(other.sum())) <= 0.0:
        return True
    for look in belief.looks:
        chances = look.chances[:, CHECKS[look.check].outcomes.index(look.outcome)]
        if one @ chances >= NAMES * (weights @ chances):
            return True
    if belief.found is None:
        return False
    found = np.exp(belief.found - belief.found.max())
    return bool(one @ found / one.sum() >= SPOKE * (other @ found) / other.sum())


def beside_work(look: Option, work: Option) -> float:
    """Minutes [min] that a look takes beside a work: to open a part is the first half of the work on it.

    Parameters
    ----------
    look, work : a check and a remedy.

    Examples
    --------
    >>> ring = Option(REMEDY, "renew_joint_ring", "joint:1", 6.0)
    >>> [beside_work(Option(CHECK, "joint_apart", place, 4.0), ring) for place in ("joint:1", "joint:0")]
    [1.0, 4.0]
    """
    check = CHECKS[look.id]
    opened = [look.place or check.place] if check.opens and check.id not in NOTHING_OFF else []
    return look.minutes - saved_minutes(work.id, work.place, opened)


def can_confirm(belief: Belief, look: Option, work: Option, share: float = SHARE) -> bool:
    """Whether a foreman wants a look before a work: cheap beside it, and nothing but needles spoke yet.

    Parameters
    ----------
    share : [-] of the work's minutes that the look may take.

    Examples
    --------
    >>> from simulator.diagnosis.advice import options
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["pump_high", "seal_worn"])
    >>> acts = {option.id: option for option in options(cases)}
    >>> can_confirm(Belief(cases), acts["dip_water"], acts["lower_pump"])
    True
    """
    if look.kind != CHECK or work.kind != REMEDY or beside_work(look, work) > share * work.minutes:
        return False
    mended = put_right(belief, work)
    return not shown(belief, mended) and shows(belief, look, mended) >= SHOWS


def confirming(belief: Belief, work: Option, available: tuple[Option, ...]) -> Option | None:
    """The quickest look that shows, in a quarter of a work's minutes, that it is what the work puts right; None where
    there is none, or something but needles has shown it. What :data:`OUT_FIRST` names comes before it.
    """
    if work.kind != REMEDY or belief.proved:
        return None
    quick = [one for one in available if one.kind == CHECK and beside_work(one, work) <= SHARE * work.minutes]
    mended = put_right(belief, work)
    if not quick or shown(belief, mended):
        return None
    made = {(seen.check, seen.place) for seen in belief.looks}
    looks = [
        look for look in quick if (look.id, look.place) not in made and shows(belief, look, mended) >= SHOWS
    ]
    return _out_first(belief, work, quick, mended, made) or min(
        looks, key=lambda look: beside_work(look, work), default=None
    )


def _out_first(
    belief: Belief, work: Option, quick: list[Option], mended: np.ndarray, made: set[tuple[str, str]]
) -> Option | None:
    look, cleaned, family = OUT_FIRST.get(work.id, ("", "", ""))
    if not look or look in {check for check, _ in made}:
        return None
    held = np.array([here.family == family for here in belief.cases.hypotheses])
    likely = belief.weights * mended
    if float(likely[held].sum()) < 0.5 * float(likely.sum()):
        return None
    if not put_right(belief, Option(REMEDY, cleaned, "", 0.0)).any():  # it was out already
        return None
    return next((one for one in quick if one.id == look), None)


def look_first(belief: Belief, work: Option, available: tuple[Option, ...]) -> Option | None:
    """The quickest look that could part the first two suspects, in a quarter of a work's minutes, or half a look's; where
    there is none, the quickest that shows that it is the first.

    Parameters
    ----------
    work : what is about to be done: work, or a look.

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
    if share is None or belief.proved:
        return None
    pair = two_suspects(belief)
    whole = (
        CHECKS[work.id].minutes if work.kind == CHECK else work.minutes
    )  # a start for a look is no part of it
    looks = [
        option
        for option in (available if pair is not None else ())
        if option.kind == CHECK
        and CHECKS[option.id].minutes <= share * whole
        and pair is not None
        and parting(belief, option, pair) >= PARTS
    ]
    if not looks or pair is None:
        return confirming(belief, work, tuple(replace(one, minutes=own_minutes(one)) for one in available))
    return min(looks, key=lambda option: (option.minutes, -parting(belief, option, pair)))


def before_a_guess(belief: Belief, work: Option, available: tuple[Option, ...]) -> Option | None:
    """The look that tells best whether a work is the right one, where that is likelier in vain than not.

    It takes nothing apart and no longer than half the work. None where the work is no guess, or no look tells.

    Examples
    --------
    >>> from simulator.diagnosis.advice import options
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["joint_ring", "hose_hole"])
    >>> ring = next(option for option in options(cases) if option.id == "renew_joint_ring")
    >>> look = before_a_guess(Belief(cases), ring, options(cases))
    >>> look.id, look.place == ring.place
    ('foam_joint', True)
    """
    if work.kind != REMEDY or belief.proved:
        return None
    mended = put_right(belief, work)
    if belief.weights[mended].sum() >= EVEN * belief.weights.sum():
        return None
    looks = [
        (shows(belief, look, mended), -own_minutes(look), look)
        for look in available
        if look.kind == CHECK and not CHECKS[look.id].opens and 2.0 * own_minutes(look) <= work.minutes
    ]
    telling = max(looks, key=lambda row: row[:2], default=None)
    return telling[2] if telling is not None and telling[0] >= TELLS else None


def own_minutes(option: Option) -> float:
    """Minutes [min] of an option without those of a start for it."""
    return CHECKS[option.id].minutes if option.kind == CHECK else option.minutes
