"""The plan of work followed to its end for many beliefs at once: always the act with most chance for its cost.

It is followed twice, with looks and by work alone, and the cheaper way counts: once it is all but known what is wrong, a
look in between has the most chance for its minutes and yet spares nothing.

An act that costs more than it can spare of the fallback is left out: nobody opens every part on a last small chance.

One rule twice: compiled, belief by belief, touching only what carries weight; and with whole arrays where there is no
compiler. Beliefs are weights over rows, the distinct rigs of a hypothesis set.

Throughout: ``tables`` are minutes and chances of the acts; ``watching`` what a start would tell; ``barred`` acts that
are not to be used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulator.compiled import PLAIN, compiled

SMALL = 1e-9  # [-] weight that counts as none
THIN = 1e-5  # [-] share of a belief below which a row is not followed
SETTLED = 2e-4  # [-] share of a belief that is not followed up any further
NOWHERE = -1


@dataclass(frozen=True, eq=False)
class Tables:
    """What acts do to rows, shape (rows, acts) unless said otherwise.

    ``moved`` [-]: share that the act brings nearer to its proof; ``target``: the row it comes to, -1 where that is
    proof itself; ``cost`` [min]: paid beside the act's own minutes; ``lost`` [min]: the part of it that a better act
    would have spared. ``base`` (acts,) [min]: minutes of the act itself; ``steps`` (rows,): works that a row still
    needs; ``plain`` (acts,): the work that a look stands before, -1 where the act is work.
    """

    base: np.ndarray
    moved: np.ndarray
    target: np.ndarray
    cost: np.ndarray
    lost: np.ndarray
    steps: np.ndarray
    plain: np.ndarray
    fallback: float  # [min] for what nothing on the list mends


def follow(tables: Tables, weights: np.ndarray, barred: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Expected minutes [min] to the end of the plan, times the weight, and the first act of each belief.

    Parameters
    ----------
    weights : (beliefs, rows) [-]; a belief's need not add up to 1.
    barred : (beliefs, acts) of bool: acts that are not to be used.
    """
    total, first = np.zeros(len(weights)), np.full(len(weights), NOWHERE)
    if not PLAIN:
        t = tables
        _follow_all(
            weights, barred, t.base, t.moved, t.target, t.cost, t.lost, t.steps, t.plain, t.fallback, total, first
        )  # fmt: skip
        return total, first
    return follow_by_arrays(tables, weights, barred)


@compiled
def _follow_all(weights, barred, base, moved, target, cost, lost, steps, plain, fallback, total, first):  # type: ignore[no-untyped-def]
    rows, acts = moved.shape
    left, live = np.empty(rows), np.empty(rows, np.int64)
    gain, value, paid, waste = np.empty(acts), np.empty(acts), np.empty(acts), np.empty(acts)
    used = np.empty(acts, np.bool_)
    for b in range(len(weights)):
        total[b], first[b] = _follow_best(
            weights[b], barred[b], base, moved, target, cost, lost, steps, plain, fallback,
            left, live, gain, value, paid, waste, used,
        )  # fmt: skip


@compiled
def _follow_best(  # type: ignore[no-untyped-def]
    weights, barred, base, moved, target, cost, lost, steps, plain, fallback,
    left, live, gain, value, paid, waste, used,
):  # fmt: skip
    best, first = _follow_one(
        weights, barred, False, base, moved, target, cost, lost, steps, plain, fallback,
        left, live, gain, value, paid, waste, used,
    )  # fmt: skip
    alone, work = _follow_one(
        weights, barred, True, base, moved, target, cost, lost, steps, plain, fallback,
        left, live, gain, value, paid, waste, used,
    )  # fmt: skip
    if alone < best:
        best, first = alone, work
    return best, first


@compiled
def _follow_one(  # type: ignore[no-untyped-def]
    weights, barred, no_looks, base, moved, target, cost, lost, steps, plain, fallback,
    left, live, gain, value, paid, waste, used,
):  # fmt: skip
    rows, acts = moved.shape
    rest = 0.0
    for r in range(rows):
        left[r] = weights[r]
        rest += weights[r]
    whole, count = rest, 0
    for a in range(acts):
        used[a] = barred[a] or (no_looks and plain[a] >= 0)
        gain[a] = 0.0
        value[a] = 0.0
        paid[a] = 0.0
        waste[a] = 0.0
    for r in range(rows):
        if left[r] > THIN * whole:
            live[count] = r
            count += 1
            w = left[r]
            for a in range(acts):
                m = moved[r, a]
                gain[a] += w * m
                value[a] += w * m / steps[r]
                paid[a] += w * cost[r, a]
                waste[a] += w * lost[r, a]
    spent, chosen = 0.0, -1
    for _ in range(acts):
        if chosen >= 0 and rest <= SETTLED * whole:
            break
        best, most = -1, 0.0
        for a in range(acts):
            if not used[a] and gain[a] > SMALL * whole and fallback * gain[a] > rest * base[a] + paid[a]:
                index = value[a] / max(rest * base[a] + waste[a], 1e-12)
                if index > most:
                    best, most = a, index
        if best < 0:
            break
        work = plain[best]
        if work >= 0 and not used[work] and rest * base[work] + paid[work] < rest * base[best] + paid[best]:
            best = work
        if chosen < 0:
            chosen = best
        used[best] = True
        spent += rest * base[best] + paid[best]
        before = count
        for i in range(before):
            r = live[i]
            w = left[r] * moved[r, best]
            if w <= 0.0:
                continue
            left[r] -= w
            there = target[r, best]
            if there < 0:
                rest -= w
            else:
                new = True
                for j in range(count):
                    if live[j] == there:
                        new = False
                        break
                if new:
                    live[count] = there
                    count += 1
                left[there] += w
                for a in range(acts):
                    m = moved[there, a]
                    gain[a] += w * m
                    value[a] += w * m / steps[there]
                    paid[a] += w * cost[there, a]
                    waste[a] += w * lost[there, a]
            for a in range(acts):
                m = moved[r, a]
                gain[a] -= w * m
                value[a] -= w * m / steps[r]
                paid[a] -= w * cost[r, a]
                waste[a] -= w * lost[r, a]
    return spent + fallback * max(rest, 0.0), chosen


def follow_by_arrays(
    tables: Tables, weights: np.ndarray, barred: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """As :func:`follow`, with whole arrays: slower, and needs no compiler."""
    total, first = _once_by_arrays(tables, weights, barred)
    alone, work = _once_by_arrays(tables, weights, barred | (tables.plain >= 0)[None, :])
    return np.minimum(total, alone), np.where(alone < total, work, first)


def _once_by_arrays(tables: Tables, weights: np.ndarray, barred: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    t = tables
    whole = weights.sum(axis=1)
    rest, total = whole.copy(), np.zeros(len(weights))
    first, used = np.full(len(weights), NOWHERE), np.array(barred, dtype=bool)
    left = np.where(weights > THIN * whole[:, None], weights, 0.0)
    each = np.arange(len(weights))
    for _ in range(len(t.base)):
        gain, value = left @ t.moved, left @ (t.moved / t.steps[:, None])
        index = value / np.maximum(rest[:, None] * t.base + left @ t.lost, 1e-12)
        plain_cost = rest[:, None] * t.base + left @ t.cost
        vain = (gain <= SMALL * whole[:, None]) | (t.fallback * gain <= plain_cost)
        index[used | vain] = 0.0
        best = np.argmax(index, axis=1)
        go = (index[each, best] > 0.0) & ((first < 0) | (rest > SETTLED * whole))
        if not go.any():
            break
        plain, paid = t.plain[best], plain_cost
        better = (plain >= 0) & ~used[each, plain] & (paid[each, plain] < paid[each, best])
        best = np.where(better, plain, best)
        first = np.where(go & (first < 0), best, first)
        total += np.where(go, paid[each, best], 0.0)
        used[each[go], best[go]] = True
        taken = np.where(go[:, None], left * t.moved.T[best], 0.0)
        left = left - taken
        there = t.target.T[best]
        rest = rest - np.where(there < 0, taken, 0.0).sum(axis=1)
        for b, r in zip(*np.nonzero((there >= 0) & (taken > 0.0)), strict=True):
            left[b, there[b, r]] += taken[b, r]
    return total + t.fallback * np.maximum(rest, 0.0), first


@dataclass(frozen=True, eq=False)
class Watching:
    """What a watched start would tell.

    ``proves`` (rows,); ``fits`` (signs, rows) [-]: how well each sign, what the needles of some row show, fits every
    row; ``sign`` (rows,): the sign that stands for a row; ``minutes`` [min]; ``doubt`` [-]: share of signs that come of
    something unknown; ``small`` [-]: share of a belief below which a row's sign is not followed.
    """

    proves: np.ndarray
    fits: np.ndarray
    sign: np.ndarray
    minutes: float
    doubt: float
    small: float


def after_watching(
    tables: Tables, watching: Watching, weights: np.ndarray, known: np.ndarray, barred: np.ndarray
) -> np.ndarray:
    """Expected minutes [min] left once a start has been watched, times the weight, for each belief.

    A start that proves the rig ends the work; one that does not tells by its needles, unless they were seen before.

    Parameters
    ----------
    weights : (beliefs, rows) [-].
    known : (beliefs, rows) of bool: rows whose start has been watched to its end in just that state.
    barred : (beliefs, acts) of bool: acts that are not to be used.
    """
    total, w = np.zeros(len(weights)), watching
    if not PLAIN:
        t = tables
        _watch_all(
            weights, known, barred, w.proves, w.fits, w.sign, w.doubt, w.small,
            t.base, t.moved, t.target, t.cost, t.lost, t.steps, t.plain, t.fallback, total,
        )  # fmt: skip
        return total
    return watch_by_arrays(tables, watching, weights, known, barred)


@compiled
def _watch_all(  # type: ignore[no-untyped-def]
    weights, known, barred, proves, fits, sign, doubt, small,
    base, moved, target, cost, lost, steps, plain, fallback, total,
):  # fmt: skip
    rows, acts = moved.shape
    signs = len(fits)
    left, live = np.empty(rows), np.empty(rows, np.int64)
    gain, value, paid, waste = np.empty(acts), np.empty(acts), np.empty(acts), np.empty(acts)
    used = np.empty(acts, np.bool_)
    shown, after = np.empty(2 * signs), np.empty(rows)
    for b in range(len(weights)):
        w = weights[b]
        mass, unproven = 0.0, 0.0
        for r in range(rows):
            mass += w[r]
            unproven += 0.0 if proves[r] else w[r]
        shown[:] = 0.0
        for r in range(rows):
            if not proves[r] and w[r] > small * mass:
                shown[sign[r] + (signs if known[b, r] else 0)] += w[r]
        heard = 0.0
        for s in range(2 * signs):
            heard += shown[s]
        for s in range(2 * signs):
            if shown[s] <= 0.0:
                continue
            old = s >= signs
            fit = fits[s - signs if old else s]
            average = 0.0
            for r in range(rows):
                after[r] = w[r] * (1.0 if old and known[b, r] else fit[r])
                average += after[r]
            average /= mass
            whole = 0.0
            for r in range(rows):
                after[r] = ((1.0 - doubt) * after[r] + doubt * average * w[r]) * (doubt if proves[r] else 1.0)
                whole += after[r]
            for r in range(rows):
                after[r] /= whole
            minutes, _ = _follow_best(
                after, barred[b], base, moved, target, cost, lost, steps, plain, fallback,
                left, live, gain, value, paid, waste, used,
            )  # fmt: skip
            total[b] += shown[s] * minutes * unproven / heard


def watch_by_arrays(
    tables: Tables, watching: Watching, weights: np.ndarray, known: np.ndarray, barred: np.ndarray
) -> np.ndarray:
    """As :func:`after_watching`, with whole arrays: slower, and needs no compiler."""
    w, total = watching, np.zeros(len(weights))
    for b, own in enumerate(weights):
        mass = own.sum()
        told = np.flatnonzero(~w.proves & (own > w.small * mass))
        part = own[~w.proves].sum() / max(own[told].sum(), SMALL * mass)
        pairs = np.stack([w.sign[told], known[b, told]])
        for sign, old in np.unique(pairs, axis=1).T:
            shown = float(own[told[(pairs[0] == sign) & (pairs[1] == old)]].sum())
            likely = np.where(known[b] & bool(old), 1.0, w.fits[sign])
            likely = (1.0 - w.doubt) * likely + w.doubt * float(likely @ own) / mass
            after = likely * np.where(w.proves, w.doubt, 1.0) * own
            minutes, _ = follow_by_arrays(tables, (after / after.sum())[None, :], barred[b : b + 1])
            total[b] += shown * part * float(minutes[0])
    return total
