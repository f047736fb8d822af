"""All hypotheses of a rig and site, simulated once: the set that beliefs are held over.

Throughout: ``progress`` takes the share that is done [-]; ``should_stop`` says whether to stop, which is a
StoppedError; ``mapper`` spreads work over processes; ``rows`` are the states to simulate; ``start`` the hypotheses
they began as.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TypeGuard

import numpy as np

import simulator
from simulator import compiled
from simulator.diagnosis import cache, shipped
from simulator.diagnosis.fits import curve_fits
from simulator.diagnosis.gauge_likelihood import PRIME_DOUBT
from simulator.diagnosis.hypotheses import LATE_SPREAD, Hypothesis, Situations, situations, spread
from simulator.diagnosis.outlook import (
    WATCH_SLACK,
    CheckKey,
    Observer,
    Outlook,
    check_keys,
    look_times,
    which_way,
)
from simulator.errors import SimulatorError
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.rig import Rig, Site
from simulator.rig.trainer import overrides
from simulator.run.batch import run_batch
from simulator.run.outcome import proof_limit

LONGEST_WATCH = 5.0  # [min]
THREADS = 2
AT_ONCE = 40  # whole runs held at a time
OPEN_ENDED = 0.4  # [-] doubt about the time to prime of a slice of sizes of which some never prime
NEVER_SHARE = 0.25  # [-] of such a slice that never primes: half of its outer half
STEEP = 1.4  # [-] times from slice to slice from which the last one of the range reaches to sizes that never prime
MILD = 0.1  # [-] share of mild sizes that are rung up about; common practice, no source
_MODEL_LAYERS = ("physics", "rig", "run", "instruments", "diagnosis")
Progress = Callable[[int, int], None]
Mapper = Callable[[Callable[[tuple[Rig, Site]], Outlook], Iterable[tuple[Rig, Site]]], Iterable[Outlook]]


class StoppedError(SimulatorError):
    """The work was stopped on request before it was done."""


_sets: dict[str, HypothesisSet] = {}


@dataclass(frozen=True, eq=False)
class HypothesisSet:
    """Hypotheses with what each would show.

    ``needles`` [Pa gauge, suction as vacuum], shape (rows, gauges, seconds); ``prime_times`` [s] (rows,),
    nan: never; ``outcomes`` (rows,) of text; ``chances`` for each check and place shape (rows, times,
    outcomes) [-]; ``cells`` how the needles change over the slice of sizes that a row stands for [Pa], shape
    as ``needles``; ``fits`` (rows, rows) how well a watched start of one row would fit another [-].
    """

    rig: Rig
    site: Site
    hypotheses: tuple[Hypothesis, ...]
    situations: Situations
    needles: np.ndarray
    prime_times: np.ndarray
    outcomes: np.ndarray
    chances: dict[CheckKey, np.ndarray]
    cells: np.ndarray
    fits: np.ndarray
    key: str

    def know_row(self, row: int) -> None:
        """See to it that all that a row (its number) would show is there; in a whole set it is."""

    def know_tests(self, rows: np.ndarray) -> None:
        """See to it that the test runs of some rows (their numbers) are there; in a whole set they are."""

    @cached_property
    def weights(self) -> np.ndarray:
        """Weight of each hypothesis before anything is seen [-], together 1.

        A fault so mild that the rig primes in good time is seldom rung up about: its weight goes to the worse
        sizes; one of which no size troubles anybody at this site counts for little.
        """
        plain = np.array([h.weight for h in self.hypotheses])
        rung_up = np.where(self.proves[self.situations.start], MILD, 1.0)
        out = plain * rung_up
        kinds: dict[tuple[str, ...], list[int]] = {}
        for i, h in enumerate(self.hypotheses):
            kinds.setdefault(h.kind, []).append(i)
        for members in kinds.values():
            first = self.hypotheses[members[0]]
            troubles = bool((rung_up[members] == 1.0).any())
            if troubles or FAULTS[first.fault].family in ("none", "instrument"):
                out[members] *= plain[members].sum() / out[members].sum()
        return out / out.sum()

    @cached_property
    def faults(self) -> tuple[str, ...]:
        """Fault ids that are possible, the sound rig first."""
        both = (name for h in self.hypotheses for name in (h.fault, *(h.second[:1] if h.second else ())))
        return tuple(dict.fromkeys(both))

    @cached_property
    def families(self) -> tuple[str, ...]:
        """Families of the possible faults."""
        return tuple(dict.fromkeys(FAULTS[name].family for name in self.faults))

    @cached_property
    def fault_index(self) -> np.ndarray:
        """Number of each hypothesis's fault in ``faults``, shape (hypotheses,)."""
        return np.array([self.faults.index(h.fault) for h in self.hypotheses])

    @cached_property
    def shares(self) -> np.ndarray:
        """Share of each hypothesis [-] that counts for each fault, (faults, hypotheses): half where there are two."""
        out = np.zeros((len(self.faults), len(self.hypotheses)))
        for i, h in enumerate(self.hypotheses):
            out[self.fault_index[i], i] = 1.0 if h.second is None else 0.5
            if h.second is not None:
                out[self.faults.index(h.second[0]), i] = 0.5
        return out

    @cached_property
    def prime_doubts(self) -> np.ndarray:
        """Doubt about the logarithm of the time to prime [-], its slice of sizes included, shape (hypotheses,)."""
        out = np.full(len(self.hypotheses), PRIME_DOUBT)
        times = self.prime_times[self.situations.start]
        for i, here in enumerate(self.hypotheses):
            for j in (i - 1, i + 1):
                if not 0 <= j < len(out) or not np.isfinite(times[i]):
                    continue
                if here.kind == self.hypotheses[j].kind:
                    apart = abs(np.log(times[j] / times[i])) / 2.0 if np.isfinite(times[j]) else OPEN_ENDED
                    out[i] = max(out[i], float(np.hypot(PRIME_DOUBT, apart)))
        return out

    @cached_property
    def never_shares(self) -> np.ndarray:
        """Share of each hypothesis's slice of sizes that never primes though its middle does [-], shape (hypotheses,)."""
        out = np.zeros(len(self.hypotheses))
        times = self.prime_times[self.situations.start]
        for i, here in enumerate(self.hypotheses):
            if here.late is not None or not np.isfinite(times[i]):
                continue
            sides = [
                times[j] if 0 <= j < len(out) and here.kind == self.hypotheses[j].kind else None
                for j in (i - 1, i + 1)
            ]
            known = [time for time in sides if time is not None]
            steep = len(known) == 1 and times[i] > STEEP * known[0]
            if steep or any(np.isnan(time) for time in known):
                out[i] = NEVER_SHARE
        return out

    @cached_property
    def at_the_edge(self) -> np.ndarray:
        """Whether a row that does not prime in the seconds that are kept may yet do so after them, shape (rows,).

        It still climbs, or stands for a slice of sizes that reaches to some that prime.
        """
        out = np.isnan(self.prime_times) & (self.outcomes == "time_up")
        start = self.situations.start
        for i, here in enumerate(self.hypotheses[:-1]):
            if here.late is None and here.kind == self.hypotheses[i + 1].kind:
                one, other = np.isnan(self.prime_times[start[i : i + 2]])
                if one != other:
                    out[start[i] if one else start[i + 1]] = True
        return out

    @cached_property
    def gauges_at_fault(self) -> np.ndarray:
        """Share of each hypothesis [-] among those with a bad gauge alone, shape (hypotheses,); all 0: none is."""
        bad = np.array([h.family == "instrument" and h.second is None for h in self.hypotheses])
        out = bad * self.weights
        return out / max(float(out.sum()), 1e-300)

    @cached_property
    def onset_spread(self) -> np.ndarray:
        """How far beside its own time a fault that comes late may begin [s], shape (hypotheses,); 0: it is not."""
        return np.array([0.0 if h.late is None else LATE_SPREAD for h in self.hypotheses])

    @cached_property
    def comes_later(self) -> np.ndarray:
        """Whether something of each hypothesis comes while the rig runs, shape (hypotheses,)."""
        return np.array([h.comes_later for h in self.hypotheses], dtype=bool)

    @cached_property
    def may_come_late(self) -> np.ndarray:
        """Whether each hypothesis is one fault of a kind that may come while the rig runs, shape (hypotheses,)."""
        return np.array([h.may_come_late for h in self.hypotheses], dtype=bool)

    @cached_property
    def ways(self) -> np.ndarray:
        """Which way the suction needle of each row goes after its prime, shape (rows,); 0 where it goes on well."""
        out = np.zeros(len(self.outcomes), dtype=int)
        for row, outcome in enumerate(self.outcomes):
            if str(outcome) in ("pumps_badly", "lost_prime"):
                out[row] = which_way(self.needles[row, 0], float(self.prime_times[row]), self.span)
        return out

    @cached_property
    def told(self) -> dict[bytes, np.ndarray]:
        """What needles told of each hypothesis, kept by what was read: see :mod:`simulator.diagnosis.belief`."""
        return {}

    @property
    def proof_time(self) -> float:
        """A start that primes within this time [s] proves the rig; nan where even a sound rig never primes."""
        return proof_limit(float(self.prime_times[0]))

    @property
    def watch_minutes(self) -> float:
        """Minutes a start is watched before it has proved anything, or has failed to [min]."""
        return watch_minutes(self.proof_time)

    @property
    def span(self) -> float:
        """Seconds of run that are kept [s]."""
        return float(self.needles.shape[2] - 1)

    @cached_property
    def proves(self) -> np.ndarray:
        """Whether a start of each row would be proof, shape (rows,)."""
        with np.errstate(invalid="ignore"):
            return (self.prime_times <= self.proof_time) & (self.outcomes == "primed")


def watch_minutes(proof: float) -> float:
    """Minutes a start is watched [min] where proof must come within a time [s]; nan: it cannot come.

    Examples
    --------
    >>> watch_minutes(70.0)
    1.5
    """
    return min((proof + WATCH_SLACK) / 60.0, LONGEST_WATCH) if math.isfinite(proof) else LONGEST_WATCH


def slices(needles: np.ndarray, hypotheses: Sequence[Hypothesis], start: np.ndarray) -> np.ndarray:
    """How needles [Pa] change over the slice of sizes that each row stands for, shape as ``needles``.

    Zero for rows that are exact: the sound rig, a mended rig, a valve wide open, a belt gone.
    """
    out = np.zeros_like(needles)
    kinds: dict[tuple[str, ...], list[int]] = {}
    for i, here in enumerate(hypotheses):
        kinds.setdefault(here.kind, []).append(i)
    for i, here in enumerate(hypotheses):
        size = FAULTS[here.fault].size
        if (
            here.second is None
            and here.late is None
            and (size is None or (size.end_share > 0.0 and here.size == size.large))
        ):
            continue
        near = [
            needles[start[j]] - needles[start[i]]
            for j in ((i - 1, i + 1) if here.second is None else kinds[here.kind])
            if 0 <= j < len(hypotheses) and j != i and hypotheses[j].kind == here.kind
        ]
        if near:
            out[start[i]] = min(near, key=lambda change: float(np.sum(change[0] ** 2)))
    return out


@lru_cache(maxsize=1)
def model_version() -> str:
    """A short fingerprint of everything that outcomes depend on: the text of the model's own source and data.

    Examples
    --------
    >>> len(model_version())
    16
    """
    home = Path(simulator.__file__).parent
    digest = hashlib.blake2b(digest_size=8)
    for layer in _MODEL_LAYERS:
        for path in sorted((home / layer).rglob("*")):
            if path.suffix in (".py", ".yaml"):
                digest.update(path.relative_to(home).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()


def content_key(rig: Rig, site: Site, hypotheses: Sequence[Hypothesis]) -> str:
    """A fingerprint of a set's whole content."""
    written = repr((rig, site, tuple(hypotheses), model_version(), overrides()))
    return hashlib.blake2b(written.encode(), digest_size=16).hexdigest()


def hypothesis_set(
    rig: Rig,
    site: Site,
    faults: Sequence[str] | None = None,
    *,
    pairs: bool = False,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] | None = None,
    mapper: Mapper | None = None,
    use_cache: bool = True,
) -> HypothesisSet:
    """Every hypothesis of a sound rig at its site, simulated or taken from the cache.

    Parameters
    ----------
    rig, site : in good order.
    faults : ids that are possible here; by default all.
    pairs : whether two of the usual faults may be there at once, or one may come late.
    progress : called with (done, total) after each piece of work.
    should_stop : asked before each piece; True stops the work.
    mapper : how outlooks are made of rows, such as an executor's ``map``; by default a batch on two threads.
    use_cache : look in the cache folder first and leave the result there.

    Raises
    ------
    StoppedError : ``should_stop`` said so.
    InputError : unknown fault.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> found = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    >>> found.faults
    ('sound', 'belt_loose')
    """
    if use_cache and (kept := kept_set(rig, site, faults, pairs=pairs)) is not None:
        if progress is not None:
            progress(len(kept.needles), len(kept.needles))
        return kept
    hypotheses = spread(rig, site, faults, pairs=pairs)
    rows = situations(rig, site, hypotheses)
    arrays = simulated(rig, site, rows, progress, should_stop, mapper)
    return _assembled(rig, site, hypotheses, rows, arrays, keep=use_cache)


def with_more(
    cases: HypothesisSet,
    more: Sequence[Hypothesis],
    *,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> HypothesisSet:
    """A set with some hypotheses more; only what they add is simulated.

    Parameters
    ----------
    cases : the set that is added to.
    more : weighed as those of :func:`spread` are.
    progress, should_stop : as of :func:`hypothesis_set`.

    Examples
    --------
    >>> from simulator.diagnosis.hypotheses import other_strainers
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"])
    >>> more = other_strainers(cases.rig, cases.site, float(cases.prime_times[0]))
    >>> len(with_more(cases, more).hypotheses) - len(cases.hypotheses) == len(more)
    True
    """
    total = 1.0 + sum(here.weight for here in more)
    hypotheses = tuple(replace(here, weight=here.weight / total) for here in (*cases.hypotheses, *more))
    key = content_key(cases.rig, cases.site, hypotheses)
    if key in _sets:
        return _sets[key]
    rows = situations(cases.rig, cases.site, hypotheses)
    kept = cache.load(key)
    if _complete(kept, cases.rig, len(rows.rows)):
        return _assembled(cases.rig, cases.site, hypotheses, rows, kept, keep=True)
    number = {here: row for row, here in enumerate(cases.situations.rows)}
    new = tuple(here for here in rows.rows if here not in number)
    number |= {here: len(cases.situations.rows) + row for row, here in enumerate(new)}
    order = np.array([number[here] for here in rows.rows])
    added = simulated(cases.rig, cases.site, replace(rows, rows=new), progress, should_stop) if new else {}
    known = {
        "needles": cases.needles,
        "prime_times": cases.prime_times,
        "outcomes": cases.outcomes,
        **{f"check {name} {place}": chances for (name, place), chances in cases.chances.items()},
    }
    arrays = {
        name: (np.concatenate([values, added[name]]) if new else values)[order]
        for name, values in known.items()
    }
    return _assembled(cases.rig, cases.site, hypotheses, rows, arrays, keep=True)


def kept_set(
    rig: Rig, site: Site, faults: Sequence[str] | None = None, *, pairs: bool = False
) -> HypothesisSet | None:
    """The set as of :func:`hypothesis_set` where it is kept, here or in the package; None where it is to be simulated.

    Parameters
    ----------
    rig, site : in good order.
    faults : ids that are possible here; by default all.
    pairs : whether two of the usual faults may be there at once, or one may come late.
    """
    hypotheses = spread(rig, site, faults, pairs=pairs)
    key = content_key(rig, site, hypotheses)
    if key in _sets:
        return _sets[key]
    for load in (lambda: cache.load(key), lambda: shipped.load(shipped.key_of(rig, site, hypotheses))):
        arrays = load()
        if arrays is not None:
            rows = situations(rig, site, hypotheses)
            if _complete(arrays, rig, len(rows.rows)):
                return _assembled(rig, site, hypotheses, rows, arrays, keep=True)
    return None


def _assembled(
    rig: Rig,
    site: Site,
    hypotheses: tuple[Hypothesis, ...],
    rows: Situations,
    arrays: dict[str, np.ndarray],
    *,
    keep: bool,
) -> HypothesisSet:
    """A set of arrays that hold every row; ``keep`` it in memory, and on disk what was not there."""
    key = content_key(rig, site, hypotheses)
    if "fits" not in arrays:
        arrays["cells"] = slices(arrays["needles"], hypotheses, rows.start)
        watched = 60.0 * watch_minutes(proof_limit(float(arrays["prime_times"][0])))
        gauges = (0, 1) if rig.has_motive_gauge else (0,)
        arrays["fits"] = curve_fits(
            arrays["needles"], arrays["cells"], arrays["prime_times"], watched, gauges
        )
        if keep:
            cache.save(key, arrays)
    chances = {_check_key(name): values for name, values in arrays.items() if name.startswith("check ")}
    found = HypothesisSet(
        rig=rig,
        site=site,
        hypotheses=hypotheses,
        situations=rows,
        needles=arrays["needles"],
        prime_times=arrays["prime_times"],
        outcomes=arrays["outcomes"],
        chances=chances,
        cells=arrays["cells"],
        fits=arrays["fits"],
        key=key,
    )
    if keep:
        while len(_sets) >= cache.KEPT:
            _sets.pop(next(iter(_sets)), None)
        _sets[key] = found
    return found


def at_hand(rig: Rig, site: Site) -> bool:
    """Whether the hypotheses of a rig at its site come within seconds: kept, or simulated by compiled code.

    Parameters
    ----------
    rig, site : in good order.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> at_hand(load_rig("osier"), standard_site()) or compiled.PLAIN
    True
    """
    hypotheses = spread(rig, site, None, pairs=False)
    if not compiled.PLAIN or content_key(rig, site, hypotheses) in _sets:
        return True
    return shipped.load(shipped.key_of(rig, site, hypotheses)) is not None


def forget() -> None:
    """Drop the sets held in memory; what is on disk stays."""
    _sets.clear()
    cache.forget()


def simulated(
    rig: Rig,
    site: Site,
    rows: Situations,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] | None = None,
    mapper: Mapper | None = None,
) -> dict[str, np.ndarray]:
    """What every row would show, simulated: arrays by name. Parameters as of :func:`hypothesis_set`."""
    observer = Observer(rig, site)
    out: list[Outlook] = []

    def go_on() -> None:
        if should_stop is not None and should_stop():
            raise StoppedError("the work on the hypotheses was stopped")

    def look(row: tuple[Rig, Site]) -> Outlook:
        go_on()
        return observer.outlook(*row)

    def collect(outlooks: Iterable[Outlook]) -> None:
        for outlook in outlooks:
            out.append(outlook)
            if progress is not None:
                progress(len(out), len(rows.rows))

    if mapper is not None:
        collect(mapper(look, rows.rows))
        return _arrays(out)
    # Compiled runs leave the interpreter free; more threads than this would crowd out other learners.
    for first in range(0, len(rows.rows), AT_ONCE):
        some = rows.rows[first : first + AT_ONCE]
        go_on()
        observer.run_tests([here for here, _ in some], THREADS)
        go_on()
        runs = run_batch([observer.start(*row) for row in some], threads=THREADS)
        collect(observer.outlook(*row, run=run) for row, run in zip(some, runs, strict=True))
    return _arrays(out)


def _arrays(outlooks: Sequence[Outlook]) -> dict[str, np.ndarray]:
    arrays = {
        "needles": np.array([o.needles for o in outlooks]),
        "prime_times": np.array([o.prime_time for o in outlooks]),
        "outcomes": np.array([o.outcome for o in outlooks]),
    }
    for name, place in outlooks[0].chances:
        arrays[f"check {name} {place}"] = np.array([o.chances[name, place] for o in outlooks])
    return arrays


def _complete(arrays: dict[str, np.ndarray] | None, rig: Rig, rows: int) -> TypeGuard[dict[str, np.ndarray]]:
    """Whether a kept set holds every row, and every check that there is by now at every time of a look."""
    if arrays is None or len(arrays["prime_times"]) != rows:
        return False
    names = {f"check {name} {place}": len(look_times(CHECKS[name])) for name, place in check_keys(rig)}
    return all(name in arrays and arrays[name].shape[1] == times for name, times in names.items())


def _check_key(name: str) -> CheckKey:
    _, check, place = name.split(" ")
    return check, place
