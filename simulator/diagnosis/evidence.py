"""From the log of an attempt to what could be known at every step: the needles as shown, looks, finds and
starts.

Throughout: ``belief`` is how likely each hypothesis is now; ``until`` is a time of the run [s]; ``history`` is a run
as it was; ``sound`` that of the rig in good order; ``timeline`` is a start of an attempt; ``proof_time`` the time
that a proof may take [s]; ``engine`` what is known of the engine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import numpy as np

from simulator.attempt.proof import begun_dry, begun_full, must_hold
from simulator.attempt.timeline import TICK
from simulator.attempt.yard import PRECAUTIONS
from simulator.diagnosis.advice import BEFORE_START
from simulator.diagnosis.belief import FROM_DRY, LONGER, Belief, key_of
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.option import CHECK, REMEDY, WATCH, Option
from simulator.diagnosis.outlook import CURVES, READ_FROM_NEEDLES, time_index, which_way
from simulator.instruments.checks import CHECKS, VACUUM_RUNS
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import Rig, Site
from simulator.run.outcome import HELD, SHARE, pumps_well

if TYPE_CHECKING:
    from simulator.attempt import AttemptState
    from simulator.attempt.timeline import Timeline

EVERY = 3.0  # [s] between needles that count as read
BEFORE_PRIME = 1.0  # [s] before the prime after which needles are left out: they jump
WELL_FOR = 5  # [s] in which a pump that pumps well is seen to
RATED = 1.0
PACKED = 120.0  # [s] while the van was packed
SMALL_SHARE = 0.01  # [-] chance up to which work is taken to have left a running rig as it was
STOPPED = math.nan
RUN_FOR = (
    *VACUUM_RUNS,
    "receiver_test",
)  # looks for which the engine is run: what else is wrong shows in them


@dataclass(frozen=True, eq=False)
class RunSeen:
    """One start as a learner could watch it.

    ``needles`` [Pa gauge, suction as vacuum], shape (2, seconds), nan where there is no gauge; ``prime_time``
    [s], nan where it never primes; ``plain``: from dry at rated speed, as hypotheses are simulated;
    ``proof_time`` [s].
    """

    number: int
    needles: np.ndarray
    prime_time: float
    plain: bool
    proof_time: float
    states: tuple[str, ...] = ()  # each second since the start: "", primed, pumps_badly or lost_prime
    must_hold: float = (
        0.0  # [s] up to which it must be watched, as an earlier start failed later than it primed
    )
    fill: tuple[float, ...] = ()  # [-] of the casing that was water, each second since the start
    discharge: tuple[float, ...] = ()  # [Pa] what the discharge gauge showed each second since the start
    wet: bool = False  # the hose still held water when it began, so it can be no proof

    def end(self, until: float) -> str:
        """How it stood at a time [s] of the run; "" before its prime."""
        if not self.states or not self.primed(until):
            return ""
        return self.states[min(int(until), len(self.states) - 1)]

    def last_well(self, until: float) -> int | None:
        """The last second in which it pumped well, where it did for a while (WELL_FOR) and stands badly at a time [s] of
        the run; else None."""
        seen = self.states[: int(until) + 1]
        if self.end(until) not in ("pumps_badly", "lost_prime") or seen.count("primed") < WELL_FOR:
            return None
        return len(seen) - 1 - seen[::-1].index("primed")

    def was_well(self, until: float) -> bool:
        """Whether it pumped well for a while and then badly, by a time [s] of the run."""
        return self.last_well(until) is not None

    def went(self, until: float) -> int:
        """Which way the suction needle has gone by a time [s] of the run since its prime: 1 up, -1 down, 0 neither."""
        well = self.last_well(until)
        return which_way(self.needles[0], self.prime_time, until, None if well is None else float(well))

    def proof(self, until: float) -> bool:
        """Whether it has been seen to prime in time by a time [s] of the run."""
        return self._well_in_time(until) and not self.lacks(until)

    def lacks(self, until: float) -> str:
        """What a start that pumps well, and took its prime in time, lacks to be a proof at a time [s] of the run.

        FROM_DRY, LONGER, or "" where it lacks nothing or is not such a start.
        """
        if not self._well_in_time(until):
            return ""
        return FROM_DRY if self.wet else LONGER if until < self.must_hold else ""

    def _well_in_time(self, until: float) -> bool:
        well = self.end(until) in ("", "primed")
        return well and self.primed(until) and self.prime_time <= self.proof_time

    def primed(self, until: float) -> bool:
        """Whether it has been seen to prime by a time [s] of the run."""
        return math.isfinite(self.prime_time) and self.prime_time + 5.0 <= until + 1e-6


@dataclass(frozen=True, eq=False)
class Story:
    """All that marking and debrief need of an attempt: its log, its runs, the rig in good order and as it
    was."""

    log: tuple[dict[str, Any], ...]
    runs: dict[int, RunSeen]
    sound: tuple[Rig, Site]
    true: tuple[Rig, Site]
    faults: tuple[dict[str, Any], ...]  # of the scenario: fault, place and size key; empty for a sound rig
    allowed_checks: tuple[str, ...] | None  # None: all
    mode: str
    shown: float  # [s] of the latest run, as far as the learner saw it
    ended: str  # "" | finished | said_done | given_up | stopped_for_safety

    @property
    def fault_ids(self) -> tuple[str, ...]:
        """What was wrong; ``("sound",)`` where nothing was."""
        return tuple(item["fault"] for item in self.faults) or ("sound",)


def states_of(history: Any, sound: Any) -> tuple[str, ...]:
    """How a run stood at each second beside the sound rig's: "", primed, pumps_badly or lost_prime."""
    prime = float(history.prime_time)
    out = []
    for second in range(int(history.time[-1]) + 1):
        if not second >= prime + HELD:
            out.append("")
            continue
        flow = float(history.discharge_flow[10 * second])
        if flow < SHARE * history.steady_flow:
            out.append("lost_prime")
        else:
            out.append("primed" if pumps_well(history, sound, float(second)) else "pumps_badly")
    return tuple(out)


def run_seen(timeline: Timeline, proof_time: float, sound: Any = None) -> RunSeen:
    """A start of an attempt, as the needles showed it; ``sound`` is the sound rig's run to hold it against."""
    history = timeline.computed_history()
    count = len(history.time)
    needles = []
    for name in CURVES:
        if name == "motive" and not timeline.rig.has_motive_gauge:
            needles.append(np.full(len(range(0, count, 10)), np.nan))
        else:
            needles.append(timeline.computed_needle(name)[::10])
    return RunSeen(
        number=timeline.number,
        needles=np.array(needles),
        prime_time=float(history.prime_time),
        plain=begun_dry(history) and timeline.controls[0].speed == RATED and timeline.controls[0].cock_open,
        proof_time=proof_time,
        states=() if sound is None else states_of(history, sound),
        fill=tuple(np.asarray(history.casing_fill)[::10].tolist()),
        discharge=tuple(timeline.computed_needle("discharge")[::10].tolist()),
    )


_seen_runs: WeakKeyDictionary[Timeline, tuple[tuple[int, int, float], RunSeen]] = WeakKeyDictionary()


def _run_seen_once(timeline: Timeline, proof_time: float, sound: Any) -> RunSeen:
    """As :func:`run_seen`; worked out anew only where a run has changed or gone on."""
    key = (timeline.version, timeline.computed, proof_time)
    kept = _seen_runs.get(timeline)
    if kept is None or kept[0] != key:
        kept = (key, run_seen(timeline, proof_time, sound))
        _seen_runs[timeline] = kept
    return kept[1]


def story_of(state: AttemptState) -> Story:
    """The story of an attempt so far, from its ``state``.

    It holds the answer: show nothing of it before the call-out is over.
    """
    from simulator.scenario import build

    scenario = state.terms.scenario
    allowed = scenario.allowed_checks
    for timeline in state.timelines:
        timeline.extend_to(state.yard.shown if timeline is state.timeline else 0)
    return Story(
        log=tuple(state.log),
        runs={
            timeline.number: replace(
                _run_seen_once(timeline, state.case.proof_time_of(timeline), state.case.sound),
                must_hold=must_hold(state, before) * TICK,
                wet=state.terms.proof_rules != 1 and begun_full(timeline),
            )
            for before, timeline in enumerate(state.timelines)
        },
        sound=(state.case.sound_rig, state.case.sound_site),
        true=build(scenario),
        faults=tuple(scenario.what_is_wrong()),
        allowed_checks=None if allowed == "all" else tuple(allowed),
        mode=state.terms.mode,
        shown=state.shown,
        ended=state.yard.ended,
    )


@dataclass(frozen=True, eq=False)
class Step:
    """One thing done, with what could be known before and after. ``time`` [s] of the run, nan when stopped.

    ``minutes`` [min] are those it took: of a watched start the time that no look, work or precaution filled.
    """

    option: Option
    seq: int
    clock: float
    time: float
    minutes: float
    before: Belief
    after: Belief
    started: bool = True  # whether the engine had been started before
    result: dict[str, Any] = field(default_factory=dict)


@dataclass
class _Engine:
    """The run under way while a log is followed."""

    run: RunSeen
    begun: dict[str, Any]
    before: Belief
    started: bool  # whether the engine had been started before
    changed: float = math.inf  # [s] from which the rig or its speed is not what it was at the start
    filled: float = 0.0  # [s] taken by looks, work and what makes them safe
    seen: Belief | None = None  # at the first thing done after the start


@dataclass(frozen=True, eq=False)
class Trail:
    """Steps of an attempt, the belief at each call (by the event's seq), and the belief at the end."""

    steps: tuple[Step, ...]
    at_calls: dict[int, Belief]
    end: Belief
    time: float  # [s] of the run at the end, nan when stopped


def watched(belief: Belief, engine: _Engine, until: float) -> Belief:
    """The belief with a run watched until a time [s] of the run."""
    run, steady = engine.run, min(until, engine.changed)
    primed = run.primed(until)
    if run.plain:
        last = min(
            steady,
            belief.cases.span,
            run.prime_time - BEFORE_PRIME if primed else math.inf,
            run.needles.shape[1] - 1.0,
        )
        times = np.arange(EVERY, last + 1e-9, EVERY)
        if len(times):
            belief = belief.update_gauges(run.number, times, run.needles[:, times.astype(int)])
        early = run.primed(steady)
        if steady > 0.0:
            at = run.prime_time if early else None
            end = run.end(steady)
            went = run.went(steady)
            belief = belief.update_restart(
                run.number,
                steady,
                at,
                proof=run.proof(steady),
                end=end,
                went=went,
                lacks=run.lacks(steady),
                was_well=run.was_well(steady),
            )
        if engine.changed >= until or early:
            return belief
    since = engine.changed if run.plain else 0.0
    at = run.prime_time - since if primed else None
    gone = until - since
    if gone <= 0.0 and at is None:
        return belief
    return belief.update_restart(
        run.number,
        gone,
        None if at is None else max(at, 1.0),
        warm=True,
        proof=run.proof(until),
        end=run.end(until),
        went=run.went(until) if run.plain else 0,
        lacks=run.lacks(until),
        was_well=run.plain and run.was_well(until),
    )


def seen_good(belief: Belief, check: str, place: str, outcome: str, time: float) -> bool:
    """Whether a look showed a part at rest as it is on a rig in good order: that holds, whatever else is wrong.

    Parameters
    ----------
    check, place, outcome : of the look.
    time : [s] of the run, nan when stopped.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> belief = Belief(hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose"]))
    >>> seen_good(belief, "belt", "", "tight", STOPPED), seen_good(belief, "belt", "", "slack", STOPPED)
    (True, False)
    """
    if not math.isnan(time) or check in RUN_FOR or (check, place) not in belief.cases.chances:
        return False
    good = belief.cases.chances[check, place][0, time_index(CHECKS[check], time)]
    return bool(good[CHECKS[check].outcomes.index(outcome)] > 0.5)


def follow(story: Story, cases: HypothesisSet, mended: int = -1) -> Trail:
    """Go through the log and work out what could be known at every step.

    Parameters
    ----------
    story : of an attempt.
    cases : hypotheses of the same rig and site.
    mended : the event (its seq) by which a trouble was found and mended, and another one goes on: what the rig did before
        it had both, and only what was seen of good parts at rest still counts; -1: none.
    """
    belief, engine = Belief(cases), None
    steps: list[Step] = []
    at_calls: dict[int, Belief] = {}
    time, ever_started = STOPPED, False

    def close_watch() -> None:
        if engine is not None and engine.seen is None:
            engine.seen = belief

    def end_watch(until: float) -> None:
        assert engine is not None
        option = Option(WATCH, "watch", "", cases.watch_minutes)
        minutes = max(until - engine.filled, 0.0) / 60.0
        begun = engine.begun
        before, after = engine.before, engine.seen or belief
        steps.append(
            Step(option, begun["seq"], begun["clock_s"], STOPPED, minutes, before, after, engine.started)
        )

    for event in story.log:
        if not event["accepted"]:
            if event["reason"] == "lost_while_packing" and engine is not None:
                engine.filled += PACKED  # nobody could know: no minutes of watching
            continue
        shown, act, result = event["shown_s"], event["act"], event["result"]
        before = event["seq"] <= mended
        if engine is not None and shown is not None and engine.begun["seq"] > mended:
            belief = watched(belief, engine, shown)
        time = STOPPED if engine is None else float(shown or 0.0)
        if act in (
            "check",
            "remedy",
            "stop_engine",
            "call",
            "shut_cock",
            "reopen_cock",
            "finish",
            "give_up",
        ):
            close_watch()
        if act == "start_engine":
            engine = _Engine(story.runs[result["run"]], event, belief, ever_started)
            ever_started = True
        elif act == "stop_engine" and engine is not None:
            end_watch(float(shown or 0.0))
            engine, time = None, STOPPED
        elif act in ("set_speed", "shut_cock", "reopen_cock") and engine is not None:
            engine.changed = min(engine.changed, float(shown or 0.0))
        elif act == "call":
            at_calls[event["seq"]] = belief
        elif act in PRECAUTIONS and engine is not None:
            engine.filled += 60.0 * result.get("minutes", 0.0)
        elif act == "remedy" or (act == "check" and result["check"] not in READ_FROM_NEEDLES):
            primed = None if engine is None else bool(engine.run.prime_time <= time)
            step = _done(belief, event, time, ever_started, primed)
            if before:
                step = replace(step, after=_lasting(belief, step, event["seq"] == mended))
            if engine is not None:
                engine.filled += 60.0 * result["minutes"]
                moved = step.after.weights[step.after.now != belief.now].sum()
                if act == "remedy" and moved > SMALL_SHARE:
                    engine.changed = min(engine.changed, time)
            belief = step.after
            steps.append(step)
    if engine is not None:
        time = story.shown
        if engine.begun["seq"] > mended:
            belief = watched(belief, engine, time)
        close_watch()
        end_watch(time)
    return Trail(tuple(sorted(steps, key=lambda step: step.seq)), at_calls, belief, time)


def _lasting(belief: Belief, step: Step, mended: bool) -> Belief:
    """What still counts of a step once a trouble has been ``mended`` and another one goes on."""
    option = step.option
    if option.kind == REMEDY:
        finding = "" if mended else step.result["finding"]
        return belief.update_remedy(option.id, option.place, finding)
    good = seen_good(belief, option.id, option.place, step.result["outcome"], step.time)
    return step.after if good else belief


def _done(
    belief: Belief, event: dict[str, Any], time: float, started: bool, primed: bool | None = None
) -> Step:
    result = event["result"]
    if event["act"] == "check":
        name, place = key_of(result["check"], result["place"])
        after = belief.update_check(name, result["outcome"], place, time, primed)
        option = Option(CHECK, name, place, CHECKS[name].minutes)
    else:
        name, place = result["remedy"], result["place"]
        seen = belief.update_belt_seen(result["beside"] == "belt_gone") if "beside" in result else belief
        after = seen.update_remedy(name, place, result["finding"])
        # what it took: a part that a look had opened already takes less
        option = Option(REMEDY, name, place, float(result.get("minutes", REMEDIES[name].minutes)))
    minutes = option.minutes
    if name == BEFORE_START and not started:
        minutes, option = 0.0, Option(CHECK, name, place, 0.0)
    return Step(option, event["seq"], event["clock_s"], time, minutes, belief, after, started, result)
