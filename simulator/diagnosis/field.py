"""Readings taken beside a real pump, held against all that could be wrong: suspects, or an honest "does not fit".

Throughout: ``belief`` is how likely each hypothesis is now; ``cases`` are the hypotheses of the rig in good order;
``sheet`` is what was read and seen beside the pump; ``items`` are the things on it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from simulator.diagnosis.advice import BEFORE_START, next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.field_first import (
    HELD_SHARE,
    NAMED,
    STRAINER,
    look_past_the_lift,
    start_first,
    strainer_first,
    walk_first,
)
from simulator.diagnosis.field_fit import Item, finding_item, misfit, needle_items, start_item
from simulator.diagnosis.gauge_likelihood import covariance, predicted
from simulator.diagnosis.hypotheses import PART_SIZES, other_strainers
from simulator.diagnosis.hypothesis_set import HypothesisSet, Progress, hypothesis_set, with_more
from simulator.diagnosis.look_first import before_a_guess, look_first
from simulator.diagnosis.option import REMEDY, WATCH, Option
from simulator.diagnosis.outlook import CURVES, MOVED, SPAN, check_keys
from simulator.diagnosis.words import minutes_words, reason, reason_before
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.instruments.checks_from_outside import static_lift
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.rig.hose_length import with_hose_length
from simulator.rig.rig import Rig, Site
from simulator.run.expected import expected
from simulator.texts import text

LAST = SPAN  # [s] after the start up to which needles can be judged
MAX_MOTIVE = 16e5  # [Pa] gauge, above which no such air line is run
GAUGE_SLACK = 3e3  # [Pa] by which a sound gauge may show more than can be
ENDS = ("primed", "pumps_badly", "lost_prime")
SWING = 12.0  # [s] after the prime in which the needle swings, while the discharge line fills
AFTER_PRIME = 2.0  # [s] before the prime from which needles jump too much to be judged
REACH = 1.06  # hose length over the height it climbs, at least
#: Standard deviations [-] of what gauges and rigs of one kind differ by, up to which a reading and a suspect agree.
AGREE = 1.0
#: What a gauge showed and what it would show with a suspect [Pa], so far apart that it is not that: a made-up rig and a
#: real one do not differ by as much.
FAR_OFF = {"suction": 15e3, "motive": 1.5e5}
ELSE_LEFT = 0.05  # [-] chance of all that comes nearer, from which it goes first
RULED_OUT = 0.05  # [-] of its chance that is left to what is so far off
SPEAKS = 0.25  # natural logarithm of how much likelier an item must be under a suspect than on average
WATCHED_FOR = 60.0  # [s] of a start, after which its needle has shown where it goes
LATE = 45.0  # [s] from which a needle without water is held against the static lift
ABOVE = 6e3  # [Pa] beyond the static lift that counts
STILL = 1.0e3  # [Pa] between two readings up to which a needle stands: half a mark of a usual gauge
STEP = 4.0  # [s] that two readings must lie apart to tell whether the needle rises
LONGEST_DRY = 180.0  # [s] that nobody is told to run a pump dry, unless a good rig of the kind takes longer
MAX_NAMED = 5
#: Faults that are the same hole at another part: gauges and ears hardly tell them apart, a look at the part does.
SAME_HOLE = (("joint_ring", "hose_hole"), ("flange_leaks", "seal_worn"))
AT_THE_PART = ("joint", "length", "flange", "seal")  # places of the looks that do
TOLD_APART = 3.0  # [-] how much likelier all else may make the one than the other


@dataclass(frozen=True)
class Needle:
    """The gauges read at a time [s] after a dry start at full speed; vacuum and motive air [Pa gauge], nan: not read."""

    time: float
    vacuum: float = math.nan
    motive: float = math.nan


@dataclass(frozen=True)
class Finding:
    """What a check showed, at a time [s] after the start; nan: with the engine stopped."""

    check: str
    outcome: str
    place: str = ""
    time: float = math.nan


@dataclass(frozen=True)
class Watch:
    """How long a start was watched [s], when the pump took its prime [s] (None: it did not) and how it went on."""

    watched: float
    primed_at: float | None = None
    end: str = ""


@dataclass(frozen=True)
class FieldSheet:
    """One sheet: the rig and its site in good order, and what was read, seen and found there."""

    rig: Rig
    site: Site
    needles: tuple[Needle, ...] = ()
    findings: tuple[Finding, ...] = ()
    watch: Watch | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all was read or seen."""
        return not (self.needles or self.findings or self.watch)


@dataclass(frozen=True)
class Suspect:
    """A fault with its likeliest place and its probability [-]; which items of the sheet speak for it and against it.

    ``place_share`` [-]: of the fault's probability, what lies on that place. ``how``: "late" where it is likelier than
    not that it comes only while the pump draws, "part" where it shuts the way in part, else "".
    """

    fault: str
    place: str
    chance: float
    speaks_for: tuple[Item, ...]
    speaks_against: tuple[Item, ...]
    place_share: float = 1.0
    how: str = ""


@dataclass(frozen=True)
class FieldReport:
    """What a sheet comes to.

    ``fits``: some single fault could give all of it; ``clashes``: where it does not, the items whose removal mends
    it, the most likely slip first. ``expected`` [s]: time to prime of the rig in good order, and its band.
    ``then``: what comes after a walk round, where it is plain already. ``early``: the start ended too soon to tell, and
    ``limit`` [s] is how long the next one may run.
    """

    fits: bool
    suspects: tuple[Suspect, ...]
    clashes: tuple[Item, ...]
    next: Option
    reason: str
    expected: tuple[float, float, float]
    misfit: float
    proved: bool
    left_out: int  # needles read after the prime that tell nothing
    then: Option | None = None
    early: bool = False
    limit: float = math.nan


def check_sheet(sheet: FieldSheet) -> None:
    """Say what cannot be, before anything is worked out.

    Raises
    ------
    InputError : a reading is outside of what its gauge, the air outside or the first two minutes allow.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> check_sheet(FieldSheet(load_rig("osier"), standard_site(), (Needle(30.0, 140e3),)))
    Traceback (most recent call last):
    simulator.errors.InputError: vacuum at 30 s: 140 kPa is more than the air outside can give. Legal: at most 101 kPa.
    """
    air = float(pressure_at_altitude(sheet.site.altitude))
    for needle in sheet.needles:
        if not 0.0 <= needle.time <= LAST:
            raise InputError(f"{needle.time:g} s is too late to judge", "needles", f"0 to {LAST:g} s")
        if needle.vacuum > air + GAUGE_SLACK:
            shown = f"{needle.vacuum / 1e3:.0f} kPa is more than the air outside can give"
            raise InputError(shown, f"vacuum at {needle.time:g} s", f"at most {air / 1e3:.0f} kPa")
        if not math.isnan(needle.motive) and not 0.0 <= needle.motive <= MAX_MOTIVE:
            shown = f"{needle.motive / 1e5:.1f} bar"
            raise InputError(shown, f"motive air at {needle.time:g} s", f"0 to {MAX_MOTIVE / 1e5:g} bar")
    known = set(check_keys(sheet.rig))
    for finding in sheet.findings:
        if (finding.check, finding.place) not in known:
            raise InputError(
                f"{finding.check!r} cannot be made on this rig", "findings", "a check of this rig"
            )
        if finding.outcome not in CHECKS[finding.check].outcomes:
            legal = ", ".join(CHECKS[finding.check].outcomes)
            raise InputError(f"{finding.outcome!r} is no outcome of it", finding.check, legal)
    if sheet.watch is not None:
        _check_watch(sheet.watch)


def _check_watch(watch: Watch) -> None:
    if not watch.watched > 0.0:
        raise InputError(f"the start was watched for {watch.watched:g} s", "watch", "more than 0 s")
    if watch.primed_at is not None and not 0.0 < watch.primed_at <= watch.watched:
        legal = f"more than 0, up to the {watch.watched:g} s that it was watched"
        raise InputError(f"it pumped after {watch.primed_at:g} s", "watch", legal)
    if watch.end and watch.end not in ENDS:
        raise InputError(f"it went on {watch.end!r}", "watch", ", ".join(ENDS))


def usable(sheet: FieldSheet) -> tuple[Needle, ...]:
    """The needles that can be judged, in order of time: those read before the pump took its prime.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> needles = (Needle(50.0, 60e3), Needle(20.0, 20e3))
    >>> sheet = FieldSheet(load_rig("osier"), standard_site(), needles, watch=Watch(60.0, 40.0))
    >>> [needle.time for needle in usable(sheet)]
    [20.0]
    """
    primed = sheet.watch.primed_at if sheet.watch is not None else None
    end = math.inf if primed is None else primed - AFTER_PRIME
    return tuple(sorted((n for n in sheet.needles if n.time < end), key=lambda n: n.time))


def after_the_prime(sheet: FieldSheet) -> tuple[Needle, ...]:
    """Suction readings of a start that went badly on, in order of time, once the swing of the bite is over: they tell
    which way the needle went.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> needles = (Needle(20.0, 17e3), Needle(50.0, 61e3), Needle(110.0, 75e3))
    >>> sheet = FieldSheet(load_rig("osier"), standard_site(), needles, watch=Watch(110.0, 36.0, "pumps_badly"))
    >>> [needle.time for needle in after_the_prime(sheet)], way_gone(sheet)
    ([50.0, 110.0], 1)
    """
    watch = sheet.watch
    if watch is None or watch.primed_at is None or watch.end not in ("pumps_badly", "lost_prime"):
        return ()
    since = watch.primed_at + SWING
    late = [n for n in sheet.needles if n.time >= since and math.isfinite(n.vacuum)]
    return tuple(sorted(late, key=lambda n: n.time)) if len(late) > 1 else ()


def way_gone(sheet: FieldSheet) -> int:
    """Which way the suction needle of a start that went badly on has gone: 1 up, -1 down, 0 neither or not told."""
    read = after_the_prime(sheet)
    moved = read[-1].vacuum - read[0].vacuum if read else 0.0
    return 0 if abs(moved) < MOVED else 1 if moved > 0.0 else -1


def field_set(
    rig: Rig,
    site: Site,
    *,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> HypothesisSet:
    """All that could be wrong beside a real pump: what call-outs know, and more of what blinds a strainer.

    Parameters
    ----------
    rig, site : in good order.
    progress, should_stop : as of :func:`hypothesis_set`.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = field_set(load_rig("osier"), standard_site())
    >>> {here.fault for here in cases.hypotheses if here.late is not None}
    {'strainer_plugged'}
    """
    cases = hypothesis_set(rig, site, progress=progress, should_stop=should_stop)
    more = other_strainers(rig, site, float(cases.prime_times[0]))
    return with_more(cases, more, progress=progress, should_stop=should_stop) if more else cases


def items_of(sheet: FieldSheet, cases: HypothesisSet) -> tuple[Item, ...]:
    """Everything on the sheet, each with how odd it would be under every hypothesis."""
    needles = usable(sheet)
    found = [finding_item(cases, f.check, f.outcome, f.place, f.time) for f in sheet.findings]
    out = [*needle_items(cases, [(n.time, n.vacuum, n.motive) for n in needles]), *found]
    if sheet.watch is not None:
        watch = sheet.watch
        out.append(start_item(cases, watch.watched, watch.primed_at, watch.end))
    return tuple(out)


@dataclass(frozen=True, eq=False)
class FieldBelief(Belief):
    """A belief in which a hole at one part and the same hole at another are told apart by looks at these parts.

    The sizes and spots of a real hole are more than the model's, so how well one of them fits to the second says little.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site())
    >>> sheet = FieldSheet(cases.rig, cases.site, (Needle(60.0, 6e3), Needle(100.0, 6e3)))
    >>> found = belief_of(sheet, cases).by_fault()
    >>> found["hose_hole"] > 0.02 * found["joint_ring"]
    True
    """

    @cached_property
    def weights(self) -> np.ndarray:
        """Probability of each hypothesis [-], shape (hypotheses,), together 1."""
        weights = Belief.weights.func(self)  # type: ignore[attr-defined]
        at_part = tuple(look for look in self.looks if CHECKS[look.check].place in AT_THE_PART)
        plain = Belief(self.cases, looks=at_part, found=self.found, rows=self.rows).weights
        for names in SAME_HOLE:
            own = [
                self.cases.fault_index == self.cases.faults.index(name)
                for name in names
                if name in self.cases.faults
            ]
            if len(own) < 2:
                continue
            now, before = (
                np.array([max(float(each[rows].sum()), 1e-300) for rows in own]) for each in (weights, plain)
            )
            told = (now[0] / now[1]) / (before[0] / before[1])
            kept = min(max(told, 1.0 / TOLD_APART), TOLD_APART) * before[0] / before[1]
            shares = now.sum() * np.array([kept, 1.0]) / (1.0 + kept)
            for rows, share, mass in zip(own, shares, now, strict=True):
                weights = np.where(rows, weights * (share / mass), weights)
        weights = weights / weights.sum()
        far = self.far_off()
        if float(weights[~far].sum()) >= ELSE_LEFT:
            weights = np.where(far, weights * RULED_OUT, weights)
        return weights / weights.sum()

    def far_off(self) -> np.ndarray:
        """Hypotheses of faults whose needle would at no size stand near what was read, shape (hypotheses,) of bool.

        Needles that none comes near tell nothing between them; but beside a real pump nobody goes by one that they rule
        out while another comes near.
        """
        far = np.zeros(len(self.cases.hypotheses), dtype=bool)
        for read in self.readings:
            for gauge, name in enumerate(CURVES):
                there = np.isfinite(read.values[gauge])
                if there.any():
                    would = predicted(self.cases.needles, read.rows, gauge, read.times[there])
                    far |= np.abs(would - read.values[gauge][there]).mean(axis=1) > FAR_OFF[name]
        near = np.unique(self.cases.fault_index[~far])
        return ~np.isin(self.cases.fault_index, near)


def belief_of(sheet: FieldSheet, cases: HypothesisSet) -> Belief:
    """What the sheet makes of every hypothesis."""
    belief: Belief = FieldBelief(cases)
    needles = usable(sheet)
    if needles:
        values = np.array([[n.vacuum for n in needles], [n.motive for n in needles]])
        belief = belief.update_gauges(1, np.array([n.time for n in needles]), values)
    for finding in sheet.findings:
        belief = belief.update_check(finding.check, finding.outcome, finding.place, finding.time)
    if sheet.watch is not None:
        watch = sheet.watch
        proof = watch.primed_at is not None and watch.end in ("", "primed")
        proof = proof and watch.primed_at is not None and watch.primed_at <= cases.proof_time
        way = way_gone(sheet)
        # A needle that moves on, long after the bite, is moved by something that came under way.
        belief = belief.update_restart(
            1, watch.watched, watch.primed_at, proof=proof, end=watch.end, went=way, was_well=way != 0
        )
    return belief


def judge_sheet(sheet: FieldSheet, *, progress: Progress | None = None) -> FieldReport:
    """Suspects in order with what speaks for and against them, and what to do next; or what does not fit.

    Parameters
    ----------
    sheet : readings in SI units, of a start from dry at full speed.
    progress : called with (done, total) while the rig's cases are worked out.

    Raises
    ------
    InputError : there is nothing on the sheet, or something that cannot be.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> needles = (Needle(20.0, 0.0, 0.0), Needle(60.0, 0.0, 0.0))
    >>> report = judge_sheet(FieldSheet(load_rig("osier"), standard_site(), needles))
    >>> report.fits, report.suspects[0].fault
    (True, 'belt_loose')
    """
    check_sheet(sheet)
    if sheet.is_empty:
        raise InputError("there is nothing on the sheet yet", "sheet", "a gauge reading or something seen")
    cases = field_set(sheet.rig, sheet.site, progress=progress)
    items = items_of(sheet, cases)
    odd = misfit(items, cases.weights)
    belief = belief_of(sheet, cases)
    named = suspects(belief, items)
    fits = odd <= 1.0 and near_enough(named[0], items, cases)
    made = {(finding.check, finding.place) for finding in sheet.findings}
    done = [o for o in options(cases) if not (o.kind == "check" and (o.id, o.place) in made)]
    plan = expected(sheet.rig, sheet.site)
    early = stopped_early(sheet, plan.high) and not belief.proved
    told = not math.isnan(past_the_lift(sheet)) or (
        named[0].fault != "sound" and named[0].chance >= HELD_SHARE
    )
    amiss = seen_amiss(sheet)
    unknown = early and not told and not amiss
    if was_watched(sheet) and not belief.proved and not unknown:
        # the same start once more would tell what stands on the sheet, and wear a seal that runs dry
        done = [option for option in done if option.kind != WATCH]
    advice = next_best(belief, done)
    before: Option | None = None
    then: Option | None = None
    if not belief.proved:
        walk, listed = walk_first(done), [(each.fault, each.chance) for each in named]
        if early and amiss:
            then = next((each for each in done if (each.id, each.place) in amiss), None)
        elif unknown:
            then = start_first(done)
        elif not math.isnan(past_the_lift(sheet)):
            then = look_past_the_lift(belief, listed, done)
        then = then or strainer_first(belief, done)
        before = walk or then or look_first(belief, advice.option, tuple(done))
        if before is None or (before.kind == "check" and CHECKS[before.id].opens):
            # nothing is opened on a guess that a look at the running rig could tell
            before = before_a_guess(belief, advice.option, tuple(done)) or before
    limit = max(plan.high, min(float(cases.proof_time), LONGEST_DRY))
    limit = 5.0 * math.ceil(limit / 5.0) if math.isfinite(limit) else math.nan
    if before is not None and before.id == BEFORE_START:
        why = text("diagnosis.reason.walk_round", minutes=minutes_words(before.minutes))
    elif early and (before or advice.option).kind == WATCH:
        why = text("diagnosis.reason.watch_longer", limit=f"{limit:.0f}")
    elif before is not None and before.kind == REMEDY:
        why = reason(belief, before)
    else:
        why = advice.reason if before is None else reason_before(belief, before, advice.option)
    return FieldReport(
        fits=fits,
        suspects=named,
        clashes=() if fits else clashes(sheet, cases, items),
        next=before or advice.option,
        reason=why,
        expected=(plan.time, plan.low, plan.high),
        misfit=odd,
        proved=belief.proved,
        left_out=len(sheet.needles) - len(usable(sheet)) - len(after_the_prime(sheet)),
        then=then if before is not None and before.id == BEFORE_START else None,
        early=early,
        limit=limit,
    )


def was_watched(sheet: FieldSheet) -> bool:
    """Whether a start was watched, or its needle read twice, for as long as it takes to see where it goes.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> read = (Needle(30.0, 11e3), Needle(90.0, 14e3))
    >>> [was_watched(FieldSheet(load_rig("osier"), standard_site(), each)) for each in (read, read[:1])]
    [True, False]
    """
    times = [needle.time for needle in sheet.needles if not math.isnan(needle.vacuum)]
    read = len(times) > 1 and max(times) >= WATCHED_FOR
    return read or (len(times) > 0 and sheet.watch is not None and sheet.watch.watched >= WATCHED_FOR)


def past_the_lift(sheet: FieldSheet) -> float:
    """The last vacuum read [Pa] where it stands well above the static lift and no water came; else nan.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> sheets = [FieldSheet(load_rig("osier"), standard_site(), (Needle(60.0, read),)) for read in (25e3, 60e3)]
    >>> [past_the_lift(sheet) for sheet in sheets]
    [nan, 60000.0]
    """
    last = late_reading(sheet)
    return last.vacuum if last is not None and last.vacuum > static_lift(sheet.site) + ABOVE else math.nan


def late_reading(sheet: FieldSheet) -> Needle | None:
    """The last vacuum read of a start without water, late enough to be held against the static lift; else None."""
    primed = sheet.watch is not None and sheet.watch.primed_at is not None
    read = [n for n in usable(sheet) if n.time >= LATE and not math.isnan(n.vacuum)]
    return read[-1] if read and not primed else None


def stopped_early(sheet: FieldSheet, high: float) -> bool:
    """Whether a start without water ended before a good rig has pumped for sure, its needle not at rest: it tells little.

    Parameters
    ----------
    high : [s] by which a good rig pumps; inf where none does.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rising = (Needle(10.0, 10e3), Needle(28.0, 28e3))
    >>> at_rest = (Needle(10.0, 8e3), Needle(28.0, 8e3))
    >>> [
    ...     stopped_early(FieldSheet(load_rig("osier"), standard_site(), read, (), Watch(28.0)), 48.0)
    ...     for read in (rising, at_rest)
    ... ]
    [True, False]
    """
    if not math.isfinite(high) or (sheet.watch is not None and sheet.watch.primed_at is not None):
        return False
    read = [n for n in usable(sheet) if not math.isnan(n.vacuum)]
    if sheet.watch is None and len(read) < 2:
        return False
    ended = sheet.watch.watched if sheet.watch is not None else read[-1].time
    if ended >= high:
        return False
    return rises(read) if len(read) > 1 else not read or read[0].vacuum > STILL


def seen_amiss(sheet: FieldSheet) -> tuple[tuple[str, str], ...]:
    """The works, each with its place, that looks on the sheet call for: they come before another start.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> seen = [(Finding("walk_round", outcome),) for outcome in ("in_order", "drain_open")]
    >>> [seen_amiss(FieldSheet(load_rig("osier"), standard_site(), (), each)) for each in seen]
    [(), (('close_drain', ''),)]
    """
    called = (
        (dict(CHECKS[each.check].calls_for).get(each.outcome, ""), each.place) for each in sheet.findings
    )
    return tuple((work, place) for work, place in called if work)


def rises(read: Sequence[Needle]) -> bool:
    """Whether the suction needle still rose at the last of some readings, in order of time."""
    before = [n for n in read[:-1] if n.time <= read[-1].time - STEP]
    return bool(before) and read[-1].vacuum - before[-1].vacuum > STILL


def would_show(item: Item, own: np.ndarray, cases: HypothesisSet) -> float:
    """What a gauge would show [Pa] at the time of a reading under that case of a suspect which fits it best.

    Parameters
    ----------
    item : readings of a gauge; the last one is meant.
    own : rows of the suspect.
    """
    row = int(np.argmax(np.where(own, item.logs, -np.inf)))
    rows = cases.situations.start[row : row + 1]
    return float(predicted(cases.needles, rows, CURVES.index(item.kind), np.array([item.time]))[0, 0])


def near_enough(first: Suspect, items: tuple[Item, ...], cases: HypothesisSet) -> bool:
    """Whether the likeliest suspect would give gauges anything like those read.

    Where no fault comes near a needle, it tells nothing between them, and the looks alone put one first that the needle
    rules out: the sheet does not fit together then.

    Parameters
    ----------
    first : the likeliest suspect.
    """
    own = cases.fault_index == cases.faults.index(first.fault)
    read = [item for item in items if item.kind in CURVES]
    return all(abs(item.value - would_show(item, own, cases)) <= FAR_OFF[item.kind] for item in read)


def agrees(item: Item, own: np.ndarray, cases: HypothesisSet) -> bool:
    """Whether a suspect would give what was read, as close as gauges and rigs of one kind are; a look always does.

    What fits a suspect badly and all others worse does not speak for it.

    Parameters
    ----------
    item : a reading or a look.
    own : rows of the suspect.
    """
    if item.kind not in CURVES:
        return True
    gauge = CURVES.index(item.kind)
    spread = math.sqrt(float(covariance(gauge, np.array([item.time]), np.array([item.value]))[0, 0]))
    return abs(item.value - would_show(item, own, cases)) <= AGREE * spread


def suspects(belief: Belief, items: tuple[Item, ...]) -> tuple[Suspect, ...]:
    """The likeliest faults, each with the items that speak most for it and against it."""
    cases, weights = belief.cases, belief.weights
    ways = {
        "late": np.array([here.late is not None for here in cases.hypotheses]),
        "part": np.array(
            [here.fault == STRAINER and here.size <= max(PART_SIZES) for here in cases.hypotheses]
        ),
    }
    out = []
    for number, (fault, place, chance) in enumerate(belief.top(MAX_NAMED)):
        if number and chance < NAMED:
            break
        own = cases.fault_index == cases.faults.index(fault)
        mine = weights * own if weights[own].sum() > 0.0 else cases.weights * own
        leaning = [(item.leaning(mine / mine.sum(), cases.weights), item) for item in items]
        ordered = sorted(leaning, key=lambda pair: -pair[0])
        good = tuple(item for lean, item in ordered if lean > SPEAKS and agrees(item, own, cases))[:2]
        bad = tuple(item for lean, item in reversed(ordered) if lean < -SPEAKS)[:2]
        if (
            number and bad and not good
        ):  # what something speaks against and nothing for is no suspect beside another
            continue
        there = np.array([here.place == place for here in cases.hypotheses]) & own
        at_place = float(weights[there].sum() / max(float(weights[own].sum()), 1e-300))
        how = next(
            (name for name, rows in ways.items() if 2.0 * weights[own & rows].sum() > weights[own].sum()), ""
        )
        out.append(Suspect(fault, place, chance, good, bad, at_place, how))
    return tuple(out)


def clashes(sheet: FieldSheet, cases: HypothesisSet, items: tuple[Item, ...]) -> tuple[Item, ...]:
    """The readings whose removal, one at a time, lets the rest fit; the one that mends most comes first."""
    found: list[tuple[float, Item]] = []
    needles = usable(sheet)
    for item in items:
        if item.kind in ("suction", "motive"):
            continue
        rest = tuple(other for other in items if other is not item)
        found.append((misfit(rest, cases.weights), item))
    others = tuple(item for item in items if item.kind not in ("suction", "motive"))
    read = [(n.time, n.vacuum, n.motive) for n in needles]
    for row in range(len(needles)):
        for which, kind in ((1, "suction"), (2, "motive")):
            if math.isnan(read[row][which]):
                continue
            changed = [
                tuple(math.nan if (i, j) == (row, which) else v for j, v in enumerate(r))
                for i, r in enumerate(read)
            ]
            rest = (*needle_items(cases, changed), *others)  # type: ignore[arg-type]
            found.append(
                (
                    misfit(rest, cases.weights),
                    Item(kind, np.zeros(0), np.zeros(0), time=read[row][0], value=read[row][which]),
                )
            )
    mended = sorted((pair for pair in found if pair[0] <= 1.0), key=lambda pair: pair[0])
    return tuple(item for _, item in mended[:3])


def with_card(
    rig: Rig, site: Site, *, hose: float, lift: float, altitude: float, water: float
) -> tuple[Rig, Site]:
    """A rig with a hose of one's own [m] at a lift [m], altitude [m] and water temperature [K].

    Raises
    ------
    InputError : a figure is out of range, or the hose is too short to reach.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = with_card(load_rig("osier"), standard_site(), hose=12.0, lift=4.0, altitude=0.0, water=288.15)
    >>> rig.suction_hose.length, site.lift
    (12.0, 4.0)
    """
    rig = with_hose_length(rig, hose)
    site = replace(site, lift=lift, altitude=altitude, water_temperature=water)
    if hose < REACH * (lift + site.submergence):
        least = f"{REACH * (lift + site.submergence):.1f} m or more for this lift"
        raise InputError(f"a hose of {hose:g} m does not reach", "hose", least)
    return rig, site
