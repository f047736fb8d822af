"""How likely each hypothesis is after what was seen. Every update gives a new belief; the old one stays as it
was.

Throughout: ``cases`` are the hypotheses of the rig in good order; ``place`` is where on the rig a look or work is
done; ``check`` is the id of a look; ``time`` is that of the run [s], nan with the engine stopped; ``finding`` is what
the hands found; ``end`` is how a run stood.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import scipy

from simulator.diagnosis.gauge_likelihood import (
    Readings,
    log_came_later,
    log_likelihoods,
    log_moved_to,
    log_unknown,
    went_against,
    with_doubt,
)
from simulator.diagnosis.hypotheses import LATE_SHARE
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.outlook import CURVES, CheckKey, time_index, times_beside
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, find_check, joint_probability
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES

#: What a start that pumped well lacked to be a proof: a hose that was empty, or to run past the time at which one failed.
FROM_DRY, LONGER = "from_dry", "longer"
#: Works that find a gauge good or bad, each with the gauge's number among the needles.
GAUGE_WORK = {f"swap_{name}_gauge": number for number, name in enumerate(CURVES)}
KEPT = 128  # answers of the needles that a set of hypotheses holds
MISREPORT = 0.01  # [-] share of finds of the hands, and of starts, that are told or remembered wrong
WRONG_END = 0.03  # [-] chance of a gauge after the prime that does not fit
WENT_BAD = (
    0.05  # [-] chance that what is there from the start, and pumps badly, was seen to pump well at first
)
WRONG_WAY = 0.03  # [-] chance of a needle that goes the other way since the prime
AT_LAST = 0.5  # [-] share of a slice of sizes at the edge of priming that primes at last, after what is kept
LOSES_LATER = (
    0.2  # [-] chance that one of a row that pumps badly to the end of what is kept is seen to lose its prime
)
#: [-] chance that a gauge is bad beside whatever else is wrong: it draws no air, so it is no second way to explain a pump
#: that fails; common practice, no source.
ALSO_BAD = 0.05
GAUGES_TRIED = "gauge_swap"  # the look that shows whether they are
GOOD_LOSES = 0.003  # [-] chance that a pump of a row that keeps its prime is seen to lose it
#: [-] Share of looks at a running engine that show of what came late what they show of any such trouble: it is one of all
#: sizes and times, and its rows stand for few. Chosen on 180 cases a set (``studies/belief_sets.py``).
LATE_LOOKS = 0.5


@dataclass(frozen=True, eq=False)
class Seen:
    """An outcome of a check, with its chance [-] under each hypothesis then: ``chances`` (hypotheses,
    outcomes), and the row each was in: ``rows`` (hypotheses,)."""

    check: str
    place: str
    outcome: str
    chances: np.ndarray
    rows: np.ndarray


@dataclass(frozen=True, eq=False)
class Start:
    """A start watched for a time [s]; ``primed_at`` [s] where the pump took its prime, else None.

    ``warm``: not from dry at rated speed, or the rig was changed while it ran, so that a prime may come
    sooner than hypotheses say. ``proof``: it primed in the time it should take.
    """

    run: int
    rows: np.ndarray
    watched: float
    primed_at: float | None
    warm: bool
    proof: bool
    end: str = ""  # primed, pumps_badly or lost_prime, once it has primed and was watched on
    went: int = 0  # which way the suction needle has gone since the prime: 1 up, -1 down, 0 neither
    lacks: str = ""  # of one that pumped well: FROM_DRY or LONGER, what it lacked to be a proof
    was_well: bool = False  # it pumped well for a while before it came to ``end``


@dataclass(frozen=True, eq=False)
class Belief:
    """Weights over the hypotheses of a set, and what they rest on.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"])
    >>> belief = Belief(cases)
    >>> belief.update_check("belt", "tight").by_fault()["belt_loose"] < 0.02 < belief.by_fault()["belt_loose"]
    True
    """

    cases: HypothesisSet
    readings: tuple[Readings, ...] = ()
    looks: tuple[Seen, ...] = ()
    starts: tuple[Start, ...] = ()
    found: np.ndarray | None = None  # log of what remedies found, (hypotheses,)
    rows: np.ndarray | None = None  # row each hypothesis is in now; None: as at the beginning
    renewed: frozenset[int] = frozenset()  # gauges, by number, that have been changed for good ones
    _parts: dict[str, np.ndarray] = field(
        default_factory=dict, repr=False
    )  # log likelihoods already worked out

    @cached_property
    def now(self) -> np.ndarray:
        """The row each hypothesis is in, shape (hypotheses,)."""
        return self.cases.situations.start if self.rows is None else self.rows

    @cached_property
    def proved(self) -> bool:
        """Whether the rig, as it now is, has primed in the time it should take."""
        return bool(self.starts) and self.starts[-1].proof and np.array_equal(self.starts[-1].rows, self.now)

    @cached_property
    def lacks(self) -> str:
        """What the latest start lacked to be a proof, where it pumped well and the rig is likelier right by now than not:
        FROM_DRY, LONGER or ""."""
        last = self.starts[-1] if self.starts else None
        if last is None or not last.lacks or not np.array_equal(last.rows, self.now):
            return ""
        return last.lacks if float(self.weights[self.cases.proves[self.now]].sum()) > 0.5 else ""

    @cached_property
    def weights(self) -> np.ndarray:
        """Probability of each hypothesis [-], shape (hypotheses,), together 1."""
        total = np.log(self.cases.weights)
        for part in (self._readings_part, self._looks_part, self.starts_part):
            total = total + part
        if self.found is not None:
            total = total + self.found
        likely = np.exp(total - total.max())
        return likely / likely.sum()

    @cached_property
    def without_needles(self) -> Belief:
        """The same, had no needle been read."""
        return self._new(("readings",), readings=()) if self.readings else self

    def update_gauges(self, run: int, times: np.ndarray, values: np.ndarray) -> Belief:
        """What the needles showed in a run from a dry start; readings of the same run given before are
        replaced.

        Parameters
        ----------
        run : number of the run.
        times : [s] since the start, shape (k,).
        values : [Pa] suction as vacuum and motive air, shape (2, k).

        Raises
        ------
        InputError : times and values do not fit together.
        """
        times, values = np.asarray(times, dtype=float), np.asarray(values, dtype=float)
        if values.shape != (2, len(times)):
            raise InputError(f"the readings have the shape {values.shape}", "readings", f"(2, {len(times)})")
        earlier = tuple(item for item in self.readings if item.run != run)
        same = [item.rows for item in self.readings if item.run == run]
        item = Readings(run, times, values, same[0] if same else self.now)
        return self._new(("readings",), readings=(*earlier, item))

    def update_check(
        self,
        check: str,
        outcome: str,
        place: str = "",
        time: float = float("nan"),
        primed: bool | None = None,
    ) -> Belief:
        """An outcome of a check, made at a time [s] of a run or with the engine stopped (nan).

        ``primed``: whether the run had primed by then; None where nobody knows.

        Raises
        ------
        InputError : the check has no such outcome.
        """
        if outcome not in find_check(check).outcomes:
            raise InputError(f"{outcome!r} is not an outcome", check, ", ".join(CHECKS[check].outcomes))
        if (check, place) not in self.cases.chances:
            return self
        chances = self._seen_chances(check, place, time, primed)
        if check != GAUGES_TRIED or not self.cases.gauges_at_fault.any():
            return self._new(("looks",), looks=(*self.looks, Seen(check, place, outcome, chances, self.now)))
        chances = (1.0 - ALSO_BAD) * chances + ALSO_BAD * (self.cases.gauges_at_fault @ chances)
        belief = self._new(("looks",), looks=(*self.looks, Seen(check, place, outcome, chances, self.now)))
        gauge = outcome.partition("_")[0]
        return belief.without_needle(CURVES.index(gauge)) if gauge in CURVES else belief

    def without_needle(self, gauge: int) -> Belief:
        """The same less all that a gauge, by its number, has shown so far: it was found bad."""
        kept = tuple(
            replace(item, values=np.where(np.arange(len(CURVES))[:, None] == gauge, np.nan, item.values))
            for item in self.readings
        )
        return self._new(("readings",), readings=kept)

    def update_belt_seen(self, gone: bool) -> Belief:
        """The guard came off for other work: whether the belt was gone, seen without a hand on it."""
        chance = self.chances("belt")[:, find_check("belt").outcomes.index("broken")]
        likely = np.log(np.clip(chance if gone else 1.0 - chance, MISREPORT, 1.0))
        return self._new((), found=likely if self.found is None else self.found + likely)

    def update_remedy(self, remedy: str, place: str = "", finding: str = "") -> Belief:
        """A remedy done: what the hands found, and what the rig has become under each hypothesis.

        Raises
        ------
        InputError : the rig has no such remedy at this place.
        """
        key = (remedy, place)
        if key not in self.cases.situations.after:
            raise InputError(f"there is no remedy {remedy!r} at {place!r}", "remedy", "a remedy of this rig")
        found = np.zeros(len(self.now)) if self.found is None else self.found
        gauge = GAUGE_WORK.get(remedy) if finding == REMEDIES[remedy].findings[-1] else None
        if finding:
            fits = self.cases.situations.findings[key][self.now] == finding
            other = MISREPORT if gauge is None else ALSO_BAD
            found = found + np.log(np.where(fits, 1.0 - MISREPORT, other))
        renewed = self.renewed | ({GAUGE_WORK[remedy]} if remedy in GAUGE_WORK else set())
        belief = self._new((), found=found, rows=self.cases.situations.after[key][self.now], renewed=renewed)
        return belief if gauge is None else belief.without_needle(gauge)

    def update_restart(
        self,
        run: int,
        watched: float,
        primed_at: float | None = None,
        *,
        warm: bool = False,
        proof: bool = False,
        end: str = "",
        went: int = 0,
        lacks: str = "",
        was_well: bool = False,
    ) -> Belief:
        """How a start went so far; what was said of the same run (and ``warm``) before is replaced.

        Parameters
        ----------
        run : number of the run.
        watched : [s] for which it was watched; of a warm one since the change.
        primed_at : [s] counted the same way; None where it has not primed.
        warm : not from dry at rated speed, or the rig was changed under way.
        proof : it primed in the time it should take.
        end : how it stood at the last look after its prime: primed, pumps_badly or lost_prime; "" when not looked at.
        went : which way the suction needle has gone since (``outlook.which_way``); 0 when not looked at.
        lacks : what it lacked to be a proof where it pumped well: FROM_DRY or LONGER.
        was_well : it pumped well for a while before it came to its end.
        """
        same = [item.rows for item in self.starts if (item.run, item.warm) == (run, warm)]
        others = tuple(item for item in self.starts if (item.run, item.warm) != (run, warm))
        item = Start(
            run, same[0] if same else self.now, watched, primed_at, warm, proof, end, went, lacks, was_well
        )
        return self._new(("starts",), starts=(*others, item))

    def chances(self, check: str, place: str = "", time: float = float("nan")) -> np.ndarray:
        """Outcome probabilities [-] of a check under each hypothesis as it is now, shape (hypotheses,
        outcomes)."""
        return self._of_any_late(check, self._nearest(check, place, time))

    def _nearest(self, check: str, place: str, time: float) -> np.ndarray:
        """What the rows themselves show at the nearest time of a look, (hypotheses, outcomes)."""
        return self.cases.chances[check, place][self.now, time_index(find_check(check), time)]

    def _of_any_late(self, check: str, chances: np.ndarray) -> np.ndarray:
        """The same, what came late shown in part as any such trouble, where the engine runs: of this size, at this time,
        it stands for others too. At rest a part is found as bad as it is."""
        late = self.cases.onset_spread * (self.now == self.cases.situations.start) > 0.0
        if "running" not in CHECKS[check].needs or not late.any():
            return chances
        weights = self.cases.weights * late
        shown = weights @ chances / weights.sum()
        return np.where(late[:, None], (1.0 - LATE_LOOKS) * chances + LATE_LOOKS * shown, chances)

    def _seen_chances(self, check: str, place: str, time: float, primed: bool | None) -> np.ndarray:
        """As :meth:`chances`, of a look at a run that is known to have primed by then, or not to."""
        nearest = self._nearest(check, place, time)
        table = self.cases.chances[check, place]
        if primed is None or np.isnan(time) or table.shape[1] == 1:
            return self._of_any_late(check, nearest)
        primes = self.cases.prime_times[self.now]
        within = np.where(self.now == self.cases.situations.start, self.cases.onset_spread, 0.0)
        shares = times_beside(find_check(check), time, primes, primed=primed, within=within)
        beside = np.einsum("ht,hto->ho", shares, table[self.now])
        # One that primes beyond what is kept is then as it was, or as one in good order that has primed, for all one
        # knows; one that never does is as it ever was.
        beyond = np.logical_or(np.isfinite(primes), self.cases.at_the_edge[self.now])
        other = np.where(beyond[:, None], 0.5 * (nearest + table[0, -1]), nearest) if primed else nearest
        return self._of_any_late(check, np.where(shares.any(axis=1, keepdims=True), beside, other))

    def next_chances(self, check: str, place: str = "", time: float = float("nan")) -> np.ndarray:
        """As :meth:`chances`, given how the same look came out before: a miss is mostly missed again.

        Where the rig, as it is, has been started before, a look at a running engine counts as one on the side of the
        prime that the start ended on, as it will when it is made: else the same look would seem to tell something again.
        """
        chances = self.chances(check, place, time)
        if self.starts:
            last = self.starts[-1]
            sided = self._seen_chances(check, place, time, last.primed_at is not None)
            chances = np.where((last.rows == self.now)[:, None], sided, chances)
        before = [item for item in self.looks if (item.check, item.place) == (check, place)]
        if not before:
            return chances
        fresh = [Seen(check, place, outcome, chances, self.now) for outcome in CHECKS[check].outcomes]
        joint = np.column_stack([np.exp(_log_joint((*before, item))) for item in fresh])
        return joint / joint.sum(axis=1, keepdims=True)

    def by_fault(self) -> dict[str, float]:
        """Probability of each fault [-], over sizes and places; where two are there at once each counts half."""
        sums = self.cases.shares @ self.weights
        return dict(zip(self.cases.faults, sums.tolist(), strict=True))

    def by_family(self) -> dict[str, float]:
        """Probability of each family of faults [-]."""
        out = dict.fromkeys(self.cases.families, 0.0)
        for name, chance in self.by_fault().items():
            out[FAULTS[name].family] += chance
        return out

    def top(self, n: int = 3) -> list[tuple[str, str, float]]:
        """The n likeliest faults with their likeliest place and the fault's probability [-]."""
        out = []
        for name, chance in sorted(self.by_fault().items(), key=lambda item: -item[1])[:n]:
            places: dict[str, float] = {}
            for here, weight in zip(self.cases.hypotheses, self.weights.tolist(), strict=True):
                if here.fault == name:
                    places[here.place] = places.get(here.place, 0.0) + weight
                elif here.second is not None and here.second[0] == name:
                    places[here.second[2]] = places.get(here.second[2], 0.0) + weight
            out.append((name, max(places, key=lambda place: places[place]), chance))
        return out

    def _new(self, changed: tuple[str, ...], **values: object) -> Belief:
        kept = {name: part for name, part in self._parts.items() if name not in changed}
        return replace(self, _parts=kept, **values)  # type: ignore[arg-type]

    @property
    def _readings_part(self) -> np.ndarray:
        if "readings" not in self._parts:
            part = np.zeros(len(self.now))
            if self.readings:
                part = _told(self.cases, self.readings)
            self._parts["readings"] = part
        return self._parts["readings"]

    @property
    def _looks_part(self) -> np.ndarray:
        if "looks" not in self._parts:
            part = np.zeros(len(self.now))
            for key in dict.fromkeys((item.check, item.place) for item in self.looks):
                part = part + _log_joint(tuple(i for i in self.looks if (i.check, i.place) == key))
            self._parts["looks"] = part
        return self._parts["looks"]

    @property
    def starts_part(self) -> np.ndarray:
        """Log likelihood of how the starts went, (hypotheses,)."""
        if "starts" not in self._parts:
            self._parts["starts"] = starts_log_likelihood(self.cases, self.starts)
        return self._parts["starts"]


def _told(cases: HypothesisSet, readings: tuple[Readings, ...]) -> np.ndarray:
    """What needles tell of each hypothesis, (hypotheses,): were it there from the start, or did it come under way, which
    they tell of all alike that move them that way. The latest answers are kept: every look at a log follows it from its
    beginning."""
    digest = hashlib.blake2b(digest_size=16)
    for item in readings:
        for array in (item.times, item.values, item.rows):
            digest.update(array.tobytes())
    key = digest.digest()
    part = cases.told.get(key)
    if part is None:
        unknown = log_unknown(cases.needles, readings, cases.weights)
        there = log_likelihoods(cases.needles, cases.cells, readings)
        may = cases.may_come_late & ~went_against(cases.needles, readings)
        later = np.where(may, log_came_later(cases.needles[0], readings), -np.inf)
        moved = np.where(cases.may_come_late, log_moved_to(cases.needles, readings), -np.inf)
        later = np.logaddexp(later, moved) - np.log(2.0)
        likely = np.logaddexp(np.log1p(-LATE_SHARE) + there, np.log(LATE_SHARE) + later)
        part = with_doubt(likely, cases.weights, unknown)
        while len(cases.told) >= KEPT:
            cases.told.pop(next(iter(cases.told), b""), None)
        cases.told[key] = part
    return part


def _log_joint(seen: tuple[Seen, ...]) -> np.ndarray:
    """Log probability of all outcomes of one check at one place, (hypotheses,): what decides them is mostly
    shared."""
    check = CHECKS[seen[0].check]
    if len(seen) == 1:
        return np.log(seen[0].chances[:, check.outcomes.index(seen[0].outcome)])
    series = [(dict(zip(check.outcomes, item.chances.T, strict=True)), item.outcome) for item in seen]
    return np.log(np.maximum(joint_probability(check, series), 1e-300))


def end_fits(outcomes: np.ndarray, end: str, *, to_its_end: bool = False) -> np.ndarray:
    """How well outcomes of hypotheses, (hypotheses,) of text, fit how a run stood after its prime [-].

    A pump that still pumps well may yet lose its prime, unless it was watched for all that is kept (``to_its_end``); one
    that pumps badly may be about to.

    Examples
    --------
    >>> end_fits(np.array(["primed", "pumps_badly", "lost_prime"]), "pumps_badly").tolist()
    [0.03, 1.0, 0.3]
    >>> [end_fits(np.array(["lost_prime"]), "primed", to_its_end=done).tolist() for done in (False, True)]
    [[0.5], [0.03]]
    """
    if not end:
        return np.ones(len(outcomes))
    fits = {
        "primed": {"primed": 1.0, "pumps_badly": WRONG_END, "lost_prime": WRONG_END if to_its_end else 0.5},
        "pumps_badly": {"primed": WRONG_END, "pumps_badly": 1.0, "lost_prime": 0.3},
        "lost_prime": {"primed": GOOD_LOSES, "pumps_badly": LOSES_LATER, "lost_prime": 1.0},
    }[end]
    return np.select([outcomes == name for name in fits], list(fits.values()), WRONG_END)


def ways_fit(cases: HypothesisSet, start: Start) -> np.ndarray:
    """How well the way the needle went in a start that did not go on well fits each hypothesis [-], (hypotheses,).

    Held back, the needle goes up; with air in it, down. A hypothesis whose own needle goes neither way is left alone.
    """
    if start.went == 0 or start.end not in ("pumps_badly", "lost_prime"):
        return np.ones(len(start.rows))
    ways = cases.ways[start.rows]
    return np.where(ways == -start.went, WRONG_WAY, 1.0)


def onset_fits(cases: HypothesisSet, start: Start) -> np.ndarray:
    """How well it fits each hypothesis [-], (hypotheses,), that a start pumped well for a while and then badly.

    What is there from the start shows from the first: a wheel that is clogged, a line that lies kinked. What comes
    while it runs does not.
    """
    if not start.was_well or start.end not in ("pumps_badly", "lost_prime"):
        return np.ones(len(start.rows))
    badly = cases.outcomes[start.rows] == "pumps_badly"
    return np.where(badly & ~cases.comes_later, WENT_BAD, 1.0)


def starts_log_likelihood(cases: HypothesisSet, starts: tuple[Start, ...]) -> np.ndarray:
    """Log likelihood of how the starts went, (hypotheses,). Starting an unchanged rig again tells nothing
    new."""
    doubts = cases.prime_doubts
    total = np.zeros(len(doubts))
    log_prime = np.log(np.where(np.isfinite(cases.prime_times), cases.prime_times, np.inf))
    # For each hypothesis and row only the most telling start counts: a prime, or else the longest watch.
    order = sorted(starts, key=lambda item: (item.primed_at is None, -item.watched))
    counted: list[np.ndarray] = []
    for item in order:
        new = np.ones(len(total), dtype=bool)
        for rows in counted:
            new &= rows != item.rows
        expected = log_prime[item.rows]
        if item.primed_at is not None:
            with np.errstate(invalid="ignore"):
                gap = (np.log(item.primed_at) - expected) / doubts
            gap = np.maximum(gap, 0.0) if item.warm else gap
            likely = np.where(np.isfinite(expected), np.exp(-0.5 * gap**2), 0.0)
            over = not item.warm and item.watched >= cases.span - 1.0
            likely = likely * end_fits(cases.outcomes[item.rows], item.end, to_its_end=over)
            likely = likely * ways_fit(cases, item) * onset_fits(cases, item)
            likely = np.where(cases.at_the_edge[item.rows], AT_LAST * _beyond(cases, item, doubts), likely)
        else:
            with np.errstate(divide="ignore"):
                likely = scipy.special.ndtr((expected - np.log(max(item.watched, 1e-3))) / doubts)
            never = np.where(item.rows == cases.situations.start, cases.never_shares, 0.0)
            likely = never + (1.0 - never) * likely
        total = total + np.where(new, np.log(MISREPORT + (1.0 - MISREPORT) * likely), 0.0)
        counted.append(item.rows)
    return total


def _beyond(cases: HypothesisSet, start: Start, doubts: np.ndarray) -> np.ndarray:
    """How well a prime fits one after the seconds that are kept [-], (hypotheses,); a warm one may come sooner."""
    if start.warm or start.primed_at is None:
        return np.ones(len(doubts))
    return np.asarray(scipy.special.ndtr(np.log(start.primed_at / cases.span) / doubts))


def key_of(check: str, place: str) -> CheckKey:
    """Key of a check and place in a set: only checks made per joint carry a place.

    Examples
    --------
    >>> key_of("belt", "belt"), key_of("joint_apart", "joint:1")
    (('belt', ''), ('joint_apart', 'joint:1'))
    """
    item = find_check(check)
    return check, place if item.per_joint or item.per_length else ""
