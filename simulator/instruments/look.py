"""The frame of every check: what it may look at, the probabilities of its outcomes, and how one is drawn.

One definition of the probabilities serves both: to draw what is seen, and to reason about what was seen.
A check looks at the rig as it is and at its run; it has no way to ask what was made wrong.

Arguments, the same throughout: ``seed`` chance, the same for the same number.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from simulator.errors import InputError
from simulator.instruments.chance import unit
from simulator.instruments.gauges import RunLike
from simulator.rig import safe_work
from simulator.rig.presets import fitted_with
from simulator.rig.rig import Rig, Site
from simulator.texts import text

ALL_ROUND = "all_round"  # group of the looks at what stands plainly there
LIKELIER = 0.5  # [-]
DOUBTED = 0.02  # [-] of what figures may be told as; less is the tail of a threshold that they are far from
TRACE = (
    1e-6  # share of a slip for what a rig does not have: nobody sees it, and nothing is ever quite ruled out
)


@dataclass(frozen=True)
class Look:
    """What lies before somebody who makes a check."""

    rig: Rig
    site: Site
    run: RunLike | None = None  # the run so far; None where none is needed
    time: float = 0.0  # [s] of the run, when the check begins
    running: bool = False
    place: str = ""  # such as joint:1
    sound_run: RunLike | None = None  # the same rig in good order, from a dry start
    blank_run: Callable[[], RunLike] | None = None  # this rig with the plate on its suction flange, from dry
    sound_blank_run: Callable[[], RunLike] | None = None
    capped_run: Callable[[], RunLike] | None = None  # with a cap on the end of the hose
    sound_capped_run: Callable[[], RunLike] | None = None
    hold_run: Callable[[], RunLike] | None = None  # blanked, then cock shut and engine stopped
    card_rig: Rig | None = None  # the rig and its site as its card says
    card_site: Site | None = None

    def joint(self) -> int:
        """Index of the joint that the place names.

        Raises
        ------
        InputError : the place is not a joint of this rig's hose.
        """
        kind, _, number = self.place.partition(":")
        count = len(self.rig.suction_hose.joints)
        if kind != "joint" or not number.isdigit() or int(number) >= count:
            raise InputError(f"{self.place!r} is not a hose joint", "place", f"joint:0 to joint:{count - 1}")
        return int(number)

    def length(self) -> int:
        """Index of the hose length that the place names.

        Raises
        ------
        InputError : the place is not a length of this rig's hose.
        """
        kind, _, number = self.place.partition(":")
        count = len(self.rig.suction_hose.joints)
        if kind != "length" or not number.isdigit() or int(number) >= count:
            raise InputError(
                f"{self.place!r} is not a hose length", "place", f"length:0 to length:{count - 1}"
            )
        return int(number)

    def card(self) -> tuple[Rig, Site]:
        """What the rig's card says: the rig in good order and its site.

        Raises
        ------
        InputError : there is no card.
        """
        if self.card_rig is None or self.card_site is None:
            raise InputError("this check needs the rig's card", "look", "card_rig and card_site")
        return self.card_rig, self.card_site


Probabilities = dict[str, float]


@dataclass(frozen=True)
class Check:
    """Something a person can do to learn more. Labels, steps and cautions stand in the message catalogue."""

    id: str
    place: str  # part of the rig; per-joint checks get theirs when asked
    minutes: float
    outcomes: tuple[str, ...]
    judge: Callable[[Look], Probabilities]
    slip: float  # share of plain mistakes, spread over all outcomes; reasoning allows for them even where none is drawn
    per_joint: bool = False
    per_length: bool = False
    fitted: str = ""  # a part that only some rigs have
    only_with: tuple[tuple[str, str], ...] = ()  # outcomes that speak of a part which only some rigs have
    opens: bool = False  # takes a part of the rig off or apart
    shared: float = 0.9  # share of what decides the outcome that is the same at every repeat
    figures: Callable[[Look, int], dict[str, float]] | None = None  # numbers read, SI, given a seed
    calls_for: tuple[tuple[str, str], ...] = ()  # the work that an outcome calls for
    group: str = ""  # where its place stands on the page, where that is said here
    icon: str = ""
    spot: str = ""  # the part in a picture that leads to it, where its own cannot be pressed
    plain: tuple[str, ...] = ()  # outcomes that nobody who looks overlooks, once they are likelier than not
    usual_minutes: float = 0.0  # as it comes with the package [min], where a trainer sets another

    def probabilities(self, look: Look) -> Probabilities:
        """Probability of each outcome [-] for what lies before the observer; never 0, never 1, together 1."""
        judged = self.judge(look)
        absent = {outcome for outcome, part in self.only_with if not fitted_with(look.rig, part)}
        slips = {outcome: TRACE if outcome in absent else 1.0 for outcome in self.outcomes}
        share = self.slip / sum(slips.values())
        return {
            outcome: (1.0 - self.slip) * judged.get(outcome, 0.0) + share * slips[outcome]
            for outcome in self.outcomes
        }

    def chances_seen(self, look: Look) -> Probabilities:
        """As :meth:`probabilities`, of what a person sees who has the numbers read before him, or the opened part in his
        hands, or walks round it: what is told fits that, and near a threshold either of two things may be. A plain
        mistake is left to ear, hand and foam, which may miss what is there. Nobody takes a belt that is gone for a tight
        one, overlooks weed that drifts in the water he watches, or sees a kink where there is none."""
        judged = self.judge(look)
        seen = max(self.plain, key=lambda outcome: judged.get(outcome, 0.0), default="")
        if judged.get(seen, 0.0) > LIKELIER:
            return {outcome: float(outcome == seen) for outcome in self.outcomes}
        may_be = {outcome: chance for outcome, chance in judged.items() if chance > DOUBTED}
        if self.figures is None and not self.opens and self.group != ALL_ROUND:
            work = {outcome for outcome, _ in self.calls_for}
            chances = self.probabilities(look)
            may_be = {o: chances[o] for o in self.outcomes if o in may_be or o not in work}
        total = sum(may_be.values())
        return {outcome: may_be.get(outcome, 0.0) / total for outcome in self.outcomes}

    @property
    def needs(self) -> tuple[str, ...]:
        """The states it waits for, by the table of safe work; some of them only with a heavy hose or at the water."""
        return safe_work.needs(safe_work.CHECKS, self.id)

    @property
    def label(self) -> str:
        """What the check is called."""
        return text(f"checks.{self.id}.label")

    @property
    def protects(self) -> str:
        """What protects the person who does it."""
        return safe_work.box(safe_work.CHECKS, self.id)

    def sentence(self, outcome: str, **fields: object) -> str:
        """What the trainee is told for an outcome."""
        return text(f"checks.{self.id}.outcomes.{outcome}", **fields)


def beyond(value: float, threshold: float, width: float) -> float:
    """Chance [-] that a value is judged to be above a threshold; ``width`` is the doubt, in the value's unit.

    Examples
    --------
    >>> beyond(3.0, 3.0, 0.5)
    0.5
    """
    scaled = (value - threshold) / width
    if scaled > 700.0:
        return 1.0
    return 0.0 if scaled < -700.0 else 1.0 / (1.0 + math.exp(-scaled))


def ladder(*steps: tuple[str, float]) -> Probabilities:
    """Outcomes asked one after the other: each takes its share of what the ones before have left.

    Examples
    --------
    >>> ladder(("wet", 0.5), ("damp", 0.5), ("dry", 1.0))
    {'wet': 0.5, 'damp': 0.25, 'dry': 0.25}
    """
    left, out = 1.0, {}
    for outcome, chance in steps:
        out[outcome] = left * chance
        left *= 1.0 - chance
    return out


def draw(check: Check, probabilities: Mapping[str, float], seed: int, place: str, repeat: int) -> str:
    """The outcome seen the ``repeat``-th time (0 first) this check is made at this place in this case.

    Most of what decides it is the same every time: how well a thing can be seen or heard belongs to the case.

    Examples
    --------
    >>> from simulator.instruments.checks import CHECKS
    >>> sure = dict.fromkeys(CHECKS["belt"].outcomes, 0.0) | {"slack": 1.0}
    >>> draw(CHECKS["belt"], sure, 7, "belt", 0)
    'slack'
    """
    again = unit(seed, "look", check.id, place, "again", repeat) < check.shared
    level = (
        unit(seed, "look", check.id, place, "case") if again else unit(seed, "look", check.id, place, repeat)
    )
    total = 0.0
    for outcome in check.outcomes:
        total += probabilities[outcome]
        if level < total:
            return outcome
    return check.outcomes[-1]


def joint_probability(
    check: Check, seen: Sequence[tuple[Mapping[str, float | np.ndarray], str]]
) -> np.ndarray:
    """Probability [-] of a whole series of outcomes of one check at one place, repeats and all.

    ``seen`` holds, for each time, the outcome and the probabilities [-] of each, of one hypothesis or of many at once,
    shape (hypotheses,), which is then the answer's too. Exact for :func:`draw`.

    Examples
    --------
    >>> from simulator.instruments.checks import CHECKS
    >>> p = {o: 1.0 / len(CHECKS["walk_round"].outcomes) for o in CHECKS["walk_round"].outcomes}
    >>> once = joint_probability(CHECKS["walk_round"], [(p, "in_order")])
    >>> twice = joint_probability(CHECKS["walk_round"], [(p, "in_order")] * 2)
    >>> bool(twice > 0.8 * once)
    True
    """
    spans: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
    for probabilities, outcome in seen:
        own = np.asarray(probabilities[outcome], dtype=float)
        low = np.zeros_like(own)
        for name in check.outcomes[: check.outcomes.index(outcome)]:
            low = low + probabilities[name]
        high = np.ones_like(own) if outcome == check.outcomes[-1] else low + own
        spans.append((low, high, own))
    none = np.zeros_like(spans[0][0])
    ends = [np.minimum(end, 1.0) for low, high, _ in spans for end in (low, high)]
    edges = np.sort(np.stack([none, none + 1.0, *ends]), axis=0)
    middle, product = 0.5 * (edges[:-1] + edges[1:]), np.diff(edges, axis=0)
    for low, high, own in spans:
        product *= check.shared * ((low <= middle) & (middle < high)) + (1.0 - check.shared) * own
    return np.asarray(product.sum(axis=0))
