"""The hypotheses of a rig for one call-out, worked out only as far as it takes to say what looks alike.

A whole set serves an attempt in which anything may be looked at, at any time, and anything mended. Whoever judges a
call-out asks for less: the start of every hypothesis, the looks at its end, and test runs and looks at other times of the
few hypotheses that are still likely then. What is worked out is the same as in the whole set.

Throughout: ``row`` is a state of the rig, ``rows`` several; ``progress`` takes (done, total).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from simulator.diagnosis.hypotheses import Hypothesis, Situation, Situations, spread
from simulator.diagnosis.hypothesis_set import THREADS, HypothesisSet, Progress, slices
from simulator.diagnosis.outlook import TESTED, CheckKey, Observer, check_keys, look_times
from simulator.instruments.checks import CHECKS
from simulator.rig.rig import Rig, Site

STOPS = 4  # starts between two moments at which the work can be stopped
KEPT = 3  # rigs at their sites whose starts are held in memory


@dataclass(frozen=True, eq=False)
class Shown:
    """What a start of one row showed: ``needles`` [Pa] (gauges, seconds), ``prime_time`` [s], and by check and number of
    the look time the chances of the looks at its end [-]."""

    needles: np.ndarray
    prime_time: float
    outcome: str
    looks: dict[tuple[CheckKey, int], np.ndarray]


def last_looks(check: str) -> tuple[int, ...]:
    """Numbers of a check's look times that count when everything is looked at: at rest, and late in a start.

    Examples
    --------
    >>> last_looks("strainer_out"), last_looks("exhaust_stream"), last_looks("walk_round")
    ((0,), (8,), (0, 9))
    """
    times = look_times(CHECKS[check])
    return tuple(sorted({0, len(times) - 1} if math.isnan(times[0]) else {len(times) - 1}))


class Starts:
    """Dry starts of states of one rig, each simulated once.

    Parameters
    ----------
    rig, site : in good order, and where it stands.
    """

    def __init__(self, rig: Rig, site: Site) -> None:
        self.observer = Observer(rig, site)
        self._shown: dict[Situation, Shown] = {}
        #: Looks at the end of a start: check and place, the check, numbers and times [s] of its look times that count.
        self._ends = tuple(
            (key, CHECKS[key[0]], numbers, tuple(look_times(CHECKS[key[0]])[number] for number in numbers))
            for key in check_keys(rig)
            if key[0] not in TESTED
            for numbers in [last_looks(key[0])]
        )

    def of(self, rows: Sequence[Situation], progress: Progress | None = None) -> list[Shown]:
        """What the start of each row showed, all rows different; what nobody has asked for yet is simulated, on threads.

        A thread looks while another simulates: compiled code leaves the interpreter free.
        """
        found = [self._shown.get(row) for row in rows]
        todo = [number for number, shown in enumerate(found) if shown is None]
        with ThreadPoolExecutor(THREADS, thread_name_prefix="starts") as threads:
            # What has not begun ends with the loop.
            for done, shown in enumerate(threads.map(self._simulated, [rows[number] for number in todo])):
                found[todo[done]] = self._shown[rows[todo[done]]] = shown
                if progress is not None and done % STOPS == 0:
                    progress(done, len(todo))
        return [shown for shown in found if shown is not None]

    def _simulated(self, row: Situation) -> Shown:
        run, looks = self.observer.run_of(*row), {}
        for key, check, numbers, times in self._ends:
            found = self.observer.chances(check, key[1], *row, run, times)
            looks.update({(key, number): found[i] for i, number in enumerate(numbers)})
        needles, outcome = self.observer.needles(row[0], run), self.observer.outcome(run)
        return Shown(needles, float(run.prime_time), outcome, looks)


@dataclass(frozen=True, eq=False)
class NarrowSet(HypothesisSet):
    """Hypotheses of which each row is known as far as its start goes; more of a row is worked out when asked for.

    What remedies would make of a row is left out, and ``fits`` is empty: nothing is advised by such a set.
    """

    observer: Observer = field(kw_only=True)
    tested: np.ndarray = field(kw_only=True)  # (rows,) whether its test runs are there

    def know_row(self, row: int) -> None:
        """Everything that the row of this number would show, at all look times."""
        outlook = self.observer.outlook(*self.situations.rows[row])
        for key, chances in outlook.chances.items():
            self.chances[key][row] = chances
        self.tested[row] = True

    def know_tests(self, rows: np.ndarray) -> None:
        """The test runs of these rows, by number; no other is told to show anything likelier than the least of them."""
        new = np.unique(rows[~self.tested[rows]])
        here = [self.situations.rows[row] for row in new]
        self.observer.run_tests([rig for rig, _ in here], THREADS)
        keys = [key for key in self.chances if key[0] in TESTED]
        for key in keys:
            for row, (rig, site) in zip(new, here, strict=True):
                self.chances[key][row] = self.observer.chances(CHECKS[key[0]], key[1], rig, site, None)
        self.tested[new] = True
        for key in keys:
            self.chances[key][~self.tested] = self.chances[key][self.tested].min(axis=0)


_starts: dict[Situation, Starts] = {}


def narrow_set(
    rig: Rig,
    site: Site,
    *,
    pairs: bool = False,
    alone: frozenset[str] | None = None,
    progress: Progress | None = None,
) -> NarrowSet:
    """The hypotheses of a sound rig at its site, as far as their starts go.

    Parameters
    ----------
    rig, site : in good order.
    pairs : whether two of the usual faults may be there at once, or one may come late.
    alone : ids of two faults; of pairs only theirs are then among the hypotheses.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = narrow_set(load_rig("osier"), standard_site())
    >>> found.faults[0], found.needles.shape[0] == len(found.situations.rows)
    ('sound', True)
    """
    starts = _starts.pop((rig, site), None) or Starts(rig, site)
    while len(_starts) >= KEPT:
        _starts.pop(next(iter(_starts)), None)
    _starts[rig, site] = starts
    hypotheses = spread(rig, site, pairs=pairs)
    if alone is not None:
        hypotheses = tuple(h for h in hypotheses if h.second is None or {h.fault, h.second[0]} == alone)
    return _assembled(starts, hypotheses, progress)


def _assembled(
    starts: Starts, hypotheses: tuple[Hypothesis, ...], progress: Progress | None = None
) -> NarrowSet:
    observer = starts.observer
    rig, site = observer.rig, observer.site
    index: dict[Situation, int] = {(rig, site): 0}
    start = np.array([index.setdefault(h.apply(rig, site), len(index)) for h in hypotheses])
    rows = tuple(index)
    shown = starts.of(rows, progress)
    chances = {}
    for name, place in check_keys(rig):
        item = CHECKS[name]
        values = np.full((len(rows), len(look_times(item)), len(item.outcomes)), np.nan)
        if name not in TESTED:
            for number in last_looks(name):
                values[:, number] = [each.looks[(name, place), number] for each in shown]
        chances[name, place] = values
    needles = np.array([each.needles for each in shown])
    return NarrowSet(
        rig=rig,
        site=site,
        hypotheses=hypotheses,
        situations=Situations(rows, start, {}, {}),
        needles=needles,
        prime_times=np.array([each.prime_time for each in shown]),
        outcomes=np.array([each.outcome for each in shown]),
        chances=chances,
        cells=slices(needles, hypotheses, start),
        fits=np.empty((0, 0)),
        key="",
        observer=observer,
        tested=np.zeros(len(rows), dtype=bool),
    )
