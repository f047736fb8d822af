"""Expected minutes until the pump is proven to run: look and mend first where there is most chance for the minutes.

For independent single faults and checks that never err, going by chance over cost is the best order there is
(Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995). Here it is the plan by which what remains after a
step is priced. Its acts are works, and looks that stand before the work they call for.

Throughout: ``cases`` are the hypotheses of the rig in good order; ``weights`` are those of the rows in each belief,
shape (beliefs, rows) [-]; ``fits``, shape (rows, rows), says how well one row's needles fit another's; ``proves``,
shape (rows,), which prove themselves; ``prior``, shape (rows,), how likely each is beforehand [-]; ``seen`` are the
looks made before; ``allowed`` those that may be made (None: all).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from simulator.diagnosis.greedy import NOWHERE, Tables, Watching, after_watching, follow
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.outlook import CheckKey, time_index
from simulator.instruments.checks import CHECKS
from simulator.rig.remedies import REMEDIES

FALLBACK = (
    90.0  # [min] to bring another rig, when nothing on the list mends this one; common practice, no source
)
RESTART = ("restart", "")
GLANCE = 1.0  # [min] to start a stopped rig for a look at it running
USUAL_LOOK = 55.0  # [s] of the run at which an expert looks at it running
CALLS_FOR = 0.5  # [-] chance from which an outcome calls for a work
DOUBT = 2e-3  # [-] share of watched starts whose needles mislead
MISSED = 20.0  # [min] that a work in vain costs in what comes after it
RARE = 4e-3  # [-] an outcome rarer than this is not worth a second plan
SMALL_MASS = 2e-3  # [-] share of a belief below which a hypothesis is not followed up
ALIKE = 0.8  # [-] affinity from which two rows' needles count as one sign

Act = tuple[str, str]  # remedy, check or RESTART, and place


@dataclass(frozen=True, eq=False)
class Plan:
    """The acts of a hypothesis set and what they do: a start, works, and looks with the work they call for.

    A row that should prove itself and was seen not to counts as a row of its own: ``unproven`` (rows,) is its number, -1
    where there is none; ``rows`` is how many there are with these.
    """

    rows: int
    unproven: np.ndarray
    acts: tuple[Act, ...]
    number: dict[Act, int]
    tables: Tables
    watching: Watching


_plans: WeakKeyDictionary[HypothesisSet, Plan] = WeakKeyDictionary()


def plan_for(cases: HypothesisSet) -> Plan:
    """The plan of a set, made once."""
    if cases not in _plans:
        _plans[cases] = _made(cases)
    return _plans[cases]


def _made(cases: HypothesisSet) -> Plan:
    rows, watch, plain_count = cases.situations, cases.watch_minutes, len(cases.proves)
    twice = np.flatnonzero(cases.proves)
    own = np.concatenate([np.arange(plain_count), twice])  # the row of the set that each row of the plan is
    count = len(own)
    unproven = np.full(plain_count, NOWHERE)
    unproven[twice] = np.arange(plain_count, count)
    proves = np.concatenate([cases.proves, np.zeros(len(twice), dtype=bool)])
    works = list(rows.after)
    after = np.array([rows.after[act] for act in works]).reshape(len(works), plain_count)[:, own]
    after = np.where(after == own, np.arange(count), after)  # what a work leaves as it is stays unproven
    steps = steps_needed(after, proves)
    nearer = steps[after] < steps
    codes = np.zeros(after.shape, dtype=int)
    unclear = np.zeros(after.shape, dtype=bool)
    for i, act in enumerate(works):
        codes[i] = rows.codes[act][own]
        # What the hands find leaves it open whether the work has mended anything: a start must tell.
        unclear[i] = np.isin(codes[i], codes[i][nearer[i]]) & ~nearer[i] & ~proves
    minutes = np.array([REMEDIES[name].minutes for name, _ in works])
    useful = np.flatnonzero(nearer.any(axis=1))
    finite = np.where(np.isfinite(steps) & (steps > 0.0), steps, 1.0)

    acts: list[Act] = [RESTART, *(works[i] for i in useful)]
    base = [watch, *minutes[useful]]
    moved = [proves.astype(float), *nearer[useful].astype(float)]
    # A start after work is paid where the work has mended the rig or leaves it open whether it has.
    cost = [np.zeros(count), *(watch * (nearer | unclear)[useful])]
    lost = [np.zeros(count), *(watch * unclear[useful])]
    least = np.min(np.where(nearer, minutes[:, None] + watch, np.inf), axis=0, initial=np.inf)
    least = np.where(np.isfinite(least), least, 0.0)  # [min] that no plan can spare a row
    done = np.where(proves[after], NOWHERE, after)
    target = [np.full(count, NOWHERE), *done[useful]]
    plain = [NOWHERE] * len(acts)
    prior = np.bincount(rows.start, cases.weights, count)
    for key, chances in cases.chances.items():
        check = CHECKS[key[0]]
        running = "running" in check.needs
        table = chances[:, time_index(check, USUAL_LOOK if running else float("nan"))][own]
        calls = [_called_for(prior * column, nearer, minutes) for column in table.T]
        if max(calls) < 0:
            continue
        own_moved, own_due, own_vain = np.zeros(count), np.zeros(count), np.zeros(count)
        for work, column in zip(calls, table.T, strict=True):
            if work >= 0:
                own_moved += column * nearer[work]
                own_due += column * nearer[work] * (minutes[work] + watch)
                own_vain += column * ~nearer[work] * (minutes[work] + watch * unclear[work])
        told = [work for work in calls if work >= 0]
        main = max(told, key=lambda work: float((prior * nearer[work]).sum()))
        own_target = np.full(count, NOWHERE)
        for work in reversed(told):
            own_target = np.where(nearer[work], done[work], own_target)
        acts.append(key)
        base.append(check.minutes + (GLANCE if running else 0.0))
        moved.append(own_moved)
        cost.append(own_due + own_vain)
        lost.append(own_vain + np.maximum(own_due - own_moved * least, 0.0))
        target.append(own_target)
        plain.append(acts.index(works[main]))

    def columns(items: list[np.ndarray]) -> np.ndarray:
        return np.ascontiguousarray(np.array(items).T)

    tables = Tables(
        np.array(base), columns(moved), columns(target), columns(cost), columns(lost), finite, np.array(plain), FALLBACK
    )  # fmt: skip
    chosen, sign = signs_of(cases.fits, cases.proves, prior[:plain_count])
    fits = np.ascontiguousarray(cases.fits[np.ix_(chosen, own)])
    watching = Watching(proves, fits, sign[own], watch, DOUBT, SMALL_MASS)
    number = {act: i for i, act in enumerate(acts)}
    return Plan(count, unproven, tuple(acts), number, tables, watching)


def _called_for(joint: np.ndarray, nearer: np.ndarray, minutes: np.ndarray) -> int:
    """The work that an outcome calls for, -1 for none; ``joint`` (rows,) weight of rows with that outcome."""
    share = nearer @ joint / max(float(joint.sum()), 1e-300)
    spent = np.where(share > CALLS_FOR, minutes + (1.0 - share) * MISSED, np.inf)
    best = int(np.argmin(spent)) if len(spent) else 0
    return best if len(spent) and np.isfinite(spent[best]) else NOWHERE


def steps_needed(after: np.ndarray, proves: np.ndarray) -> np.ndarray:
    """How many works each row needs until it proves itself, inf where none do; ``after`` (works, rows).

    Examples
    --------
    >>> steps_needed(np.array([[0, 0, 1]]), np.array([True, False, False]))
    array([0., 1., 2.])
    """
    steps = np.where(proves, 0.0, np.inf)
    while len(after):
        better = np.minimum(steps, 1.0 + steps[after].min(axis=0))
        if np.array_equal(better, steps):
            break
        steps = better
    return steps


def signs_of(fits: np.ndarray, proves: np.ndarray, prior: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows whose needles stand for those of all others, and for each row which of them does.

    Examples
    --------
    >>> signs_of(np.array([[1.0, 0.9, 0.0], [0.9, 1.0, 0.0], [0.0, 0.0, 1.0]]), np.zeros(3, bool), np.ones(3) / 3)
    (array([0, 2]), array([0, 0, 1]))
    """
    root = np.sqrt(fits / fits.sum(axis=1, keepdims=True))
    affinity = root @ root.T
    chosen: list[int] = []
    for row in np.argsort(-prior, kind="stable").tolist():
        if not proves[row] and (not chosen or affinity[row, chosen].max() < ALIKE):
            chosen.append(row)
    chosen = chosen or [0]
    return np.array(chosen), np.argmax(affinity[:, chosen], axis=1)


def barred_acts(plan: Plan, seen: Collection[CheckKey], allowed: Collection[str] | None = None) -> np.ndarray:
    """Acts (acts,) not to be counted on: looks made before, which tell little new, and those not allowed."""
    return np.array(
        [
            act in seen or (act[0] in CHECKS and allowed is not None and act[0] not in allowed)
            for act in plan.acts
        ]
    )


def by_row(plan: Plan, weights: np.ndarray, now: np.ndarray) -> np.ndarray:
    """Weights of hypotheses (beliefs, hypotheses) that are in rows ``now`` as weights of rows (beliefs, rows)."""
    out = np.zeros((len(weights), plan.rows))
    np.add.at(out.T, now, np.asarray(weights, dtype=float).T)
    return out


def minutes_from(
    plan: Plan, weights: np.ndarray, known: np.ndarray, barred: np.ndarray, usual: float = np.inf
) -> np.ndarray:
    """Expected minutes [min] until proven pumping, times the weight, for beliefs (beliefs, rows).

    The better of two plans: mend by chance over cost at once, or watch a start first. ``known`` (beliefs, rows): rows
    watched before in just that state; ``barred`` (beliefs, acts); ``usual`` [min]: what is left without all this, good
    enough for what is rare.
    """
    best, _ = follow(plan.tables, weights, barred)
    mass = weights.sum(axis=1)
    new = (weights * ~known).sum(axis=1)
    rare = mass <= RARE
    best[rare] = np.minimum(best[rare], usual * mass[rare])
    worth = np.flatnonzero(~rare & (new > SMALL_MASS * mass))
    if len(worth):
        told = after_watching(plan.tables, plan.watching, weights[worth], known[worth], barred[worth])
        best[worth] = np.minimum(best[worth], plan.watching.minutes * mass[worth] + told)
    return best
