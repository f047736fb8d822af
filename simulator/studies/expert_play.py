"""An expert plays a case by the advisor's choices; the case answers by the chances of its own rig.

Throughout: ``place`` is where on the rig (for a look or work) or the rig as it is (for a play), ``remedy`` the id of
a work, ``number`` counts the starts from 1, ``sound`` is the run of the rig in good order, ``most_steps`` ends a
play.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from copy import copy
from dataclasses import dataclass, field, replace
from functools import partial
from weakref import WeakKeyDictionary

import numpy as np

from simulator.attempt.case import Case
from simulator.diagnosis.advice import next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import USUAL_LOOK
from simulator.diagnosis.ending import FAILED_ENDS, still_open, surprise
from simulator.diagnosis.evidence import WELL_FOR, Step, seen_good
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.option import CHECK, FINISH, HAND_OVER, REMEDY, Option
from simulator.diagnosis.outlook import Observer, which_way
from simulator.diagnosis.second_trouble import ODD, SHOWN_BY_STARTS, cured_in_vain, found_bad
from simulator.instruments.chance import key, normals
from simulator.instruments.checks import CHECKS, Check, Look
from simulator.instruments.gauges import GAUGES, read
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import Rig, Site
from simulator.run import Run
from simulator.run.outcome import HELD, SHARE, pumps_well

READ_EVERY = 3.0  # [s] between needles taken down
BEFORE_PRIME = 1.0  # [s] before the prime after which needles are left out: they jump
HANDLE = 2.0  # [min] up to which a work is a handle turned: it looks as much as it mends
MAX_STEPS = 60
STOPPED = math.nan


class Place:
    """The call-out's rig as it is now: it answers starts, looks and work, and knows no fault."""

    def __init__(self, observer: Observer, rig: Rig, site: Site, seed: int, noise: float = 1.0) -> None:
        self.observer, self.rig, self.site, self.seed = observer, rig, site, seed
        self.noise = noise  # [-] the needles' shake over that of the usual ones
        self.run: Run | None = None
        self._repeats: dict[tuple[str, str], int] = {}

    def as_it_is(self) -> Place:
        """The place as it is now, whatever is done to it later."""
        return copy(self)

    def start(self) -> Run:
        """Start it from dry."""
        if self.run is None:
            self.run = self.observer.run_of(self.rig, self.site)
        return self.run

    def look(self, check: str, place: str, time: float) -> str:
        """The outcome of a check at a time [s] of a run, nan with the engine stopped; seen as the yard shows it."""
        item, repeat = CHECKS[check], self._repeats.get((check, place), 0)
        self._repeats[check, place] = repeat + 1
        return self._case().see(item, self.looked_at(item, place, time), repeat)

    def looked_at(self, check: Check, place: str, time: float) -> Look:
        """What lies before somebody who makes a check at a ``time`` [s], as :meth:`look` takes it."""
        card, rig = self.observer, self.rig
        stopped = math.isnan(time)
        seen = self._case().look_at(
            self.start(), card.span if stopped else time, not stopped, place or check.place
        )
        return replace(
            seen,
            sound_run=card.sound,
            blank_run=partial(card.test, "blank", rig),
            sound_blank_run=lambda: card.sound_tests["blank"],
            capped_run=partial(card.test, "capped", rig),
            sound_capped_run=lambda: card.sound_tests["capped"],
            hold_run=partial(card.test, "hold", rig),
        )

    def _case(self) -> Case:
        return Case(self.rig, self.site, self.observer.rig, self.observer.site, self.seed)

    def primed(self, time: float) -> bool | None:
        """Whether the run had primed at a time [s] of it; None with the engine stopped."""
        return None if math.isnan(time) else bool(self.start().prime_time <= time)

    def work(self, remedy: str, place: str) -> str:
        """Do a work; what the hands found."""
        item = REMEDIES[remedy]
        found = item.finding(self.rig, self.site, place)
        after = item.apply(self.rig, self.site, place)
        if after != (self.rig, self.site):
            (self.rig, self.site), self.run = after, None
        return found


@dataclass
class Played:
    """How a case went: ``steps`` as options, ``minutes`` [min] by the yard clock, ``proved`` at its end; ``beliefs`` by
    name: gauges, outside (before a part is opened), call (before the first long work), end."""

    steps: list[tuple[Option, str]] = field(default_factory=list)
    minutes: float = 0.0
    proved: bool = False
    beliefs: dict[str, Belief] = field(default_factory=dict)


def watch(belief: Belief, place: Place, number: int, seconds: float = 0.0) -> Belief:
    """The belief after a start from dry, watched until it has proved anything or failed to; ``seconds``: for so long
    alone, which proves nothing: what comes late may come yet."""
    cases, run = belief.cases, place.start()
    limit = seconds or min(60.0 * cases.watch_minutes, cases.span)
    prime = float(run.prime_time)
    primed = math.isfinite(prime) and prime + HELD <= limit
    until = cases.span if primed and not seconds else limit
    last = min(until, prime - BEFORE_PRIME) if primed else until
    times = np.arange(READ_EVERY, last + 1e-9, READ_EVERY)
    shown = place.observer.needles(place.rig, run)
    values = shown[:, times.astype(int)]
    for row, name in enumerate(("suction", "motive")):
        gauge = GAUGES[name]
        shake = place.noise * gauge.tremble * normals(key(place.seed, name, number), np.arange(len(times)))
        values[row] = [read(float(v), gauge) for v in values[row] + shake]
    if not place.rig.has_motive_gauge:
        values[1] = np.nan
    if len(times):
        belief = belief.update_gauges(number, times, values)
    if not primed:
        return belief.update_restart(number, until)
    end = how_it_pumps(run, place.observer.sound, until)
    well = last_well(run, place.observer.sound, until) if end in FAILED_ENDS else None
    went = which_way(shown[0], prime, until, well)
    proof = prime <= cases.proof_time and end == "primed" and not seconds
    return belief.update_restart(
        number, until, prime, proof=proof, end=end, went=went, was_well=well is not None
    )


def glance(belief: Belief, place: Place, number: int) -> Belief:
    """The belief after a start for a look alone, as a live attempt counts it: needles, and whether it has primed."""
    return watch(belief, place, number, USUAL_LOOK)


def how_it_pumps(run: Run, sound: Run, time: float) -> str:
    """How a primed run stands at a time [s] beside the rig in good order: primed, pumps_badly or lost_prime."""
    if float(run.value("discharge_flow", time)) < SHARE * run.steady_flow:
        return "lost_prime"
    return "primed" if pumps_well(run, sound, time) else "pumps_badly"


def last_well(run: Run, sound: Run, time: float) -> float | None:
    """The last second [s] up to a time [s] in which a primed run pumped well beside the rig in good order, where it did
    for a while; else None. As :meth:`simulator.diagnosis.evidence.RunSeen.last_well` has it of a live start."""
    seconds = range(math.ceil(float(run.prime_time) + HELD), int(time) + 1)
    well = [second for second in seconds if how_it_pumps(run, sound, float(second)) == "primed"]
    return float(well[-1]) if len(well) >= WELL_FOR else None


def play(
    cases: HypothesisSet,
    place: Place,
    *,
    allowed_checks: Collection[str] | None = None,
    to_the_end: bool = True,
    most_steps: int = MAX_STEPS,
    before: Callable[[Belief, Option], bool] | None = None,
    pairs: Callable[[], HypothesisSet] | None = None,
) -> Played:
    """Play a case by the advisor's choices.

    Parameters
    ----------
    cases : hypotheses of the rig in good order at its site.
    place : the rig as it is.
    allowed_checks : checks that may be used; None for all.
    to_the_end : go on until the pump is proven; otherwise until the first long work would begin.
    before : told of the belief before each step that was chosen; true ends the play before it.
    pairs : gives the hypotheses with two at once, from where a second trouble shows; None: never, nor what a start
        shows that more is to be thought of.
    """
    out, belief, starts, time, opened = Played(), Belief(cases), 0, STOPPED, False
    story = Told(cases, pairs)
    while len(out.steps) < most_steps:
        running = not math.isnan(time)
        offered = options(belief.cases, allowed_checks, running=running, started=starts > 0)
        offered = (
            still_open(belief, offered) or offered
        )  # as on the page: what told all it can is not done again
        step = _choice(belief, offered, time, allowed_checks)
        if step.kind in (FINISH, HAND_OVER) or (before is not None and before(belief, step)):
            break
        if starts and step.kind in (CHECK, REMEDY):
            out.beliefs.setdefault("gauges", belief)
            if not opened and (step.kind == REMEDY or CHECKS[step.id].opens):
                out.beliefs["outside"], opened = belief, True
        if step.kind == REMEDY and step.minutes > HANDLE:
            out.beliefs.setdefault("call", belief)
            if not to_the_end:
                break
        result, glanced = "", False
        out.minutes += step.minutes
        if step.kind == CHECK:
            check = CHECKS[step.id]
            if "running" in check.needs and not (time >= USUAL_LOOK):
                time, starts, glanced = USUAL_LOOK, starts + 1, True
                belief = glance(belief, place, starts)
            elif {"stopped", "isolated"} & set(check.needs):
                time = STOPPED
            result = place.look(step.id, step.place, time)
            after = belief.update_check(step.id, result, step.place, time, place.primed(time))
        elif step.kind == REMEDY:
            time = STOPPED
            result = place.work(step.id, step.place)
            after = belief.update_remedy(step.id, step.place, result)
        else:
            starts += 1
            after = watch(belief, place, starts)
            time = after.starts[-1].watched  # a look comes after all that the watching has shown
        belief = story.after(step, result, time, belief, after, place.as_it_is(), glanced=glanced)
        out.steps.append((step, result))
        if belief.proved:
            out.proved = True
            break
    for name in ("gauges", "outside", "call", "end"):
        out.beliefs.setdefault(name, belief)
    return out


class Told:
    """What was done in a play, so that more can be thought of once a second trouble shows, as ``trail_of`` does it."""

    def __init__(self, cases: HypothesisSet, pairs: Callable[[], HypothesisSet] | None) -> None:
        self.cases, self.pairs, self.wide = cases, pairs, cases
        self.steps: list[tuple[Step, Place, bool]] = []  # and whether it was started for the look
        self.since = self.asked = -1
        self.to_come = dict(
            SHOWN_BY_STARTS
        )  # what a start may still show, and what is thought of from there on

    def after(
        self,
        option: Option,
        result: str,
        time: float,
        before: Belief,
        after: Belief,
        place: Place,
        *,
        glanced: bool = False,
    ) -> Belief:
        """The belief after a step: the plain one, or another where no one fault fits any more.

        Parameters
        ----------
        option, result : what was done and what came of it.
        time : of the run [s], nan with the engine stopped.
        before, after : belief around it.
        place : as it is now.
        glanced : the rig was started for this look.
        """
        key = "finding" if option.kind == REMEDY else "outcome"
        number = len(self.steps)
        step = Step(option, number, 0.0, time, option.minutes, before, after, result={key: result})
        self.steps.append((step, place, glanced))
        if self.pairs is None:
            return after
        for seen in [seen for seen in self.to_come if self.wide is self.cases and seen(after)]:
            self.cases = self.wide = self.to_come.pop(seen)(self.cases, None)
            after = self.anew()
            step = replace(step, after=after)
            self.steps[-1] = (step, place, glanced)
        since = [each for each, *_ in self.steps if each.seq > self.asked]
        worked = any(each.option.kind == REMEDY for each in since)
        bad = [each.seq for each in since if found_bad(each)]
        narrow, odd = self.wide is self.cases, surprise(after) >= ODD
        vain = cured_in_vain(step, worked)
        if not (vain and (bad or narrow)) and not (narrow and odd):
            return after
        if bad and surprise(before) < ODD:
            self.since = bad[-1]
        elif narrow:
            self.wide = self.pairs()
        self.asked = number
        return self.anew()

    def anew(self) -> Belief:
        """The belief that all that was done leads to, with all that is thought of by now."""
        belief, starts = Belief(self.wide), 0
        for step, place, glanced in self.steps:
            option, counts = step.option, step.seq > self.since
            starts += glanced or option.kind not in (CHECK, REMEDY)
            if glanced and counts:
                belief = glance(belief, place, starts)
            if option.kind == REMEDY:
                found = step.result["finding"] if step.seq != self.since else ""
                belief = belief.update_remedy(option.id, option.place, found)
            elif option.kind == CHECK and (
                counts or seen_good(belief, option.id, option.place, step.result["outcome"], step.time)
            ):
                seen, primed = step.result["outcome"], place.primed(step.time)
                belief = belief.update_check(option.id, seen, option.place, step.time, primed)
            elif option.kind != CHECK and counts:
                belief = watch(belief, place, starts)
        return belief


_early: WeakKeyDictionary[HypothesisSet, dict[tuple[object, ...], Option]] = WeakKeyDictionary()


def _choice(
    belief: Belief, offered: tuple[Option, ...], time: float, allowed: Collection[str] | None
) -> Option:
    """The best option; before the first start it is kept, as all cases begin alike."""
    if belief.readings or belief.starts or belief.found is not None:
        return next_best(belief, offered, time=time, allowed_checks=allowed).option
    known = _early.setdefault(belief.cases, {})
    named = None if allowed is None else tuple(sorted(allowed))
    seen = (named, *((item.check, item.place, item.outcome) for item in belief.looks))
    if seen not in known:
        known[seen] = next_best(belief, offered, time=time, allowed_checks=allowed).option
    return known[seen]
