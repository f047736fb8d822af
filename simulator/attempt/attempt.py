"""The headless trainee: everything a click can do. The log is the one truth; a resumed attempt replays it."""

from __future__ import annotations

import json
from typing import Any

import simulator
from simulator.attempt import acts, calls, proof
from simulator.attempt.case import Case
from simulator.attempt.events import Event, Reply, event_of, moment_of, reply_of, same_event
from simulator.attempt.hints import Coach, RuleOfThumbCoach
from simulator.attempt.notes import Note, note, pressure
from simulator.attempt.offers import ActionView, action_views
from simulator.attempt.safety import act_here, grade, missing, need_keys, worst_danger
from simulator.attempt.samples import Samples, take_samples
from simulator.attempt.store_protocol import AttemptStore
from simulator.attempt.timeline import TICK, Timeline, tick_of
from simulator.attempt.views import Snapshot, take_snapshot
from simulator.attempt.yard import Yard
from simulator.errors import InputError, RefusedAct, ReplayError
from simulator.instruments.chance import key
from simulator.rig.safe_work import RULES
from simulator.scenario import Scenario, build, scenario_from, scenario_hash, sound_rig
from simulator.texts import text

MODES = ("guided", "practice", "assessment")
AHEAD_OUTSIDE, AHEAD_SEE_THROUGH = 100, 600  # [0.1 s] that may be sent ahead of the shown clock


class Attempt:
    """One trainee at one call-out.

    Parameters
    ----------
    scenario : the call-out; its faults are known to the case alone.
    store : where record, log and progress are kept.
    learner : as typed by the learner.
    mode : guided, practice or assessment; the scenario's by default.
    seed : of all chance in the attempt; the scenario's by default.
    coach : gives hints; rules of thumb by default.
    attempt_id : an id of the caller's choice; otherwise the store makes one.

    Examples
    --------
    >>> from simulator.attempt import MemoryStore
    >>> from simulator.scenario import random_scenario
    >>> attempt = Attempt(random_scenario(7), MemoryStore(), learner="Ash")
    >>> attempt.act("put_on_ppe").accepted, attempt.snapshot().yard_minutes
    (True, 1.0)
    >>> attempt.act("start_engine").breach
    'serious'
    """

    def __init__(
        self,
        scenario: Scenario,
        store: AttemptStore,
        *,
        learner: str = "",
        mode: str | None = None,
        seed: int | None = None,
        coach: Coach | None = None,
        attempt_id: str | None = None,
    ) -> None:
        mode = mode or scenario.mode
        if mode not in MODES:
            raise InputError(f"the mode is {mode!r}", "mode", ", ".join(MODES))
        seed = scenario.seed if seed is None else int(seed)
        record = {
            "learner": learner,
            "mode": mode,
            "seed": seed,
            "scenario": scenario.content(),
            "scenario_hash": scenario_hash(scenario),
            "model_version": simulator.__version__,
        }
        self._set_up(scenario, store, store.create_attempt(record, attempt_id), mode, seed, coach)
        self._store_and_keep(self._opening(), None)

    def _set_up(
        self,
        scenario: Scenario,
        store: AttemptStore,
        attempt_id: str,
        mode: str,
        seed: int,
        coach: Coach | None,
    ) -> None:
        self.scenario, self.store, self.id, self.mode, self.seed = scenario, store, attempt_id, mode, seed
        self.units = "metric"  # of replies; a snapshot may ask for others
        self.coach: Coach = coach or RuleOfThumbCoach()
        self.see_through = bool(scenario.see_through) and mode != "assessment"
        self.rules = RULES  # of safety; a stored attempt keeps to those it was begun under
        self.sealed = bool(
            store.attempt_record(attempt_id).get("sealed")
        )  # a page tells no truth, even at the end
        self._restart()

    def _restart(self) -> None:
        scenario = self.scenario
        rig, site = build(scenario)
        self.case = Case(rig, site, *sound_rig(scenario), self.seed)
        self.yard = Yard(question=calls.PRIME_QUESTION, rules=self.rules)
        self.timelines: list[Timeline] = []
        self.log: list[Event] = []
        self._clicks: dict[str, int] = {}

    @classmethod
    def resume(
        cls,
        store: AttemptStore,
        attempt_id: str,
        *,
        scenario: Scenario | None = None,
        coach: Coach | None = None,
    ) -> Attempt:
        """Go on with a stored attempt, at the same second.

        Raises
        ------
        InputError : there is no such attempt.
        ReplayError : this version of the model gives another log, or none.
        """
        record = store.attempt_record(attempt_id)
        found = scenario or scenario_from(record["scenario"])
        attempt = cls.__new__(cls)
        attempt._set_up(found, store, attempt_id, record["mode"], int(record["seed"]), coach)
        attempt._replay()
        return attempt

    def _replay(self) -> None:
        events = self.store.events(self.id)
        if events:
            self.rules = int(events[0].get("result", {}).get("rules", 1))
        self._restart()
        if not events:
            self._store_and_keep(self._opening(), None)
        for stored in events:
            try:
                same = self._comes_out_again(stored)
            except Exception as error:
                raise self._no_replay(events) from error
            if not same:
                raise self._no_replay(events)
            self._keep(stored)
        progress = self.store.progress(self.id)
        if progress and self.timeline and progress.get("run") == self.timeline.number:
            self._pass_to(float(progress["shown_s"]), exact=True)

    def _comes_out_again(self, stored: Event) -> bool:
        """Do an act of the log once more; whether it gives the same event. A hint is the coach's, and stays as given."""
        if stored["act"] == "begin":
            again = self._opening()
        else:
            again = self._perform(stored["act"], stored["args"], stored["shown_s"], exact=True)
        again["click_id"] = stored.get("click_id")
        if stored["act"] == "ask_hint" and stored["accepted"]:
            again["notes"] = stored["notes"]
        return same_event(again, stored)

    def _no_replay(self, events: list[Event]) -> ReplayError:
        made = str(self.store.attempt_record(self.id).get("model_version", ""))
        return ReplayError(len(self.log), len(events), made)

    # --- acts ---

    def act(
        self,
        action: str,
        args: dict[str, Any] | None = None,
        click_id: str | None = None,
        shown: float | None = None,
        run: int | None = None,
    ) -> Reply:
        """Do something at the run time ``shown`` [s] that the learner saw; a repeated click id acts once.

        ``run`` is the run that the shown time belongs to; a time of an older run is left out.

        The act is stored before this returns. An act that lacks what it waits for is refused with the reason.

        Raises
        ------
        InputError : there is no such act, check, remedy or place.
        """
        if click_id is not None and click_id in self._clicks:
            return reply_of(self.log[self._clicks[click_id]], self.units)
        if self.yard.ended:
            return Reply(False, text("attempt.refused.over"), "", (), len(self.log) - 1)
        clean = json.loads(json.dumps(args or {}))
        if run is not None and (self.timeline is None or run != self.timeline.number):
            shown = None
        acts.needs_of(self, action, clean)  # unknown names are errors before anything is touched
        known = len(self.log)
        try:
            return self._perform_and_keep(action, clean, shown, click_id)
        except InputError:
            # Another window went on with this attempt: it has caught up with that now, and does the act there.
            if len(self.log) <= known:
                raise
            if click_id in self._clicks or self.yard.ended:
                return self.act(action, args, click_id)
            return self._perform_and_keep(action, clean, None, click_id)

    def _perform_and_keep(
        self, action: str, args: dict[str, Any], shown: float | None, click_id: str | None
    ) -> Reply:
        try:
            event = self._perform(action, args, shown)
            self._store_and_keep(event, click_id)
        except BaseException:
            self._replay()  # whatever went wrong: back to what is stored
            raise
        return reply_of(event, self.units)

    def see(self, shown: float, run: int | None = None) -> float:
        """The page has shown the run up to this time [s]: the clock follows. Returns what it shows [s]."""
        if self.timeline is not None and run in (None, self.timeline.number) and not self.yard.ended:
            before = self.yard.shown
            self._pass_to(shown)
            if self.yard.shown != before:
                self.store.set_progress(self.id, {"run": self.timeline.number, "shown_s": self.shown})
        return self.shown

    def _opening(self) -> dict[str, Any]:
        opening = note("act", "attempt.did.begin")
        rules = {} if self.rules == 1 else {"rules": self.rules}
        return event_of(self, moment_of(self), "begin", {}, {**rules, "notes": [opening]})

    def _perform(
        self, action: str, args: dict[str, Any], shown: float | None, *, exact: bool = False
    ) -> dict[str, Any]:
        yard = self.yard
        if shown is not None:
            self._pass_to(shown, exact=exact)
        moment = moment_of(self)
        lacking = missing(acts.needs_of(self, action, args), yard)
        if lacking:
            act = act_here(self, action, args)
            breach = grade(lacking, yard, act)
            if breach == "grave":
                yard.ended = "stopped_for_safety"
            kind = "warning" if breach else "refused"
            said = [note(kind, f"attempt.needs.{key}") for key in need_keys(lacking, yard, act)]
            result: dict[str, Any] = {"lacking": lacking, "notes": said}
            if breach and self.rules > 1:
                result["danger"] = worst_danger(lacking, yard, act)
                said.append(note(kind, f"safe_work.dangers.{result['danger']}"))
            if breach == "grave":
                said.append(note("end", "attempt.did.stopped_for_safety"))
            return event_of(self, moment, action, args, result, reason="needs", breach=breach)
        try:
            result = acts.HANDLERS[action](self, args)
        except RefusedAct as refused:
            said = [note("refused", f"attempt.refused.{refused.code}", **self._refusal_fields(refused, args))]
            return event_of(self, moment, action, args, {"notes": said}, reason=refused.code)
        breach = "minor" if result.get("hazard") else proof.dry_running(self, result)
        return event_of(self, moment, action, args, result, breach=breach)

    @staticmethod
    def _refusal_fields(refused: RefusedAct, args: dict[str, Any]) -> dict[str, Any]:
        if refused.code == "marker_count":
            return {"n": sum(args["markers"].values())}
        return {}

    def _store_and_keep(self, event: dict[str, Any], click_id: str | None) -> None:
        event["click_id"] = click_id
        self.store.append_event(self.id, event["seq"], event, click_id)
        self._keep(event)

    def _keep(self, event: dict[str, Any]) -> None:
        self.log.append(event)
        if event["click_id"] is not None:
            self._clicks[event["click_id"]] = event["seq"]

    # --- clocks ---

    @property
    def timeline(self) -> Timeline | None:
        """The run since the latest start, or None before the first."""
        return self.timelines[-1] if self.timelines else None

    def running_timeline(self) -> Timeline:
        """The run that is under way; only asked where the needs have made sure of it."""
        if self.timeline is None:
            raise RefusedAct("not_proven", text("attempt.refused.not_proven"))
        return self.timeline

    @property
    def shown(self) -> float:
        """Run clock as the learner saw it [s]."""
        return round(self.yard.shown * TICK, 1)

    @property
    def ahead(self) -> int:
        """Ticks that may be sent ahead of the shown clock."""
        return AHEAD_SEE_THROUGH if self.see_through else AHEAD_OUTSIDE

    def horizon(self) -> int:
        """Last tick that may be sent now."""
        timeline, yard = self.timeline, self.yard
        if timeline is None:
            return 0
        last = timeline.last_tick
        return yard.shown + self.ahead if last is None else min(yard.shown + self.ahead, last)

    def _pass_to(self, shown: float, *, exact: bool = False) -> None:
        """Let the clocks go on to a shown time, never back and never beyond what could have been shown."""
        timeline, yard = self.timeline, self.yard
        if timeline is None:
            return
        tick = tick_of(shown)
        if not exact:
            tick = min(tick, self.horizon())
        gone = max(tick - yard.shown, 0)
        yard.shown += gone
        yard.ticks += gone
        if not yard.engine_on:
            yard.rested += gone

    def spend(self, minutes: float) -> None:
        """Let minutes go by in the yard; a running engine runs on."""
        ticks, yard, timeline = round(minutes * 600), self.yard, self.timeline
        yard.ticks += ticks
        if timeline is None:
            return
        if yard.engine_on:
            yard.shown += ticks
            timeline.extend_to(yard.shown)
        else:
            yard.rested += ticks
            yard.shown = max(yard.shown, min(yard.shown + ticks, timeline.last_tick or 0))

    # --- what may be known ---

    def allows(self, check_id: str) -> bool:
        """Whether the call-out offers a check."""
        allowed = self.scenario.allowed_checks
        return allowed == "all" or check_id in allowed

    def look_seed(self, check_id: str, repeat: int) -> int:
        """Seed of the needle's shake while a check reads it."""
        if check_id == "gauges" and self.timeline is not None:
            return self.timeline.seed
        return key(self.seed, "needle", check_id, repeat)

    def proven(self) -> bool:
        """Whether the run that is shown has primed in the time its hose and lift should take."""
        return proof.proven(self)

    def still_pumps(self, ticks: int) -> bool:
        """Whether the running pump goes on pumping well for so many ticks of 0.1 s."""
        return proof.still_pumps(self, ticks)

    def gauge_coaching(self, tick: int, outcome: str) -> list[Note]:
        """In guided work: what a sound rig would show now, and what to ask oneself."""
        if self.mode != "guided":
            return []
        band = self.case.band()
        row = next((row for row in band if row[0] >= tick * TICK), None)
        said = []
        if row is not None:
            said.append(
                note(
                    "ask",
                    "attempt.coach.expected",
                    low=pressure("vacuum", row[1]),
                    high=pressure("vacuum", row[2]),
                )
            )
        return [*said, note("ask", f"attempt.coach.{outcome}")]

    def samples(self, start: float, end: float, see_through: bool | None = None) -> Samples:
        """Channels of the present run from ``start`` to ``end`` [s], no further than may be sent."""
        return take_samples(self, start, end, self.see_through if see_through is None else see_through)

    def snapshot(self, units: str | None = None) -> Snapshot:
        """Everything a page needs, in the reader's units; nothing that tells the fault too early."""
        return take_snapshot(self, units or self.units)

    def available_actions(self) -> list[ActionView]:
        """All acts with what each waits for."""
        return action_views(self)

    def truth(self) -> list[dict[str, Any]]:
        """What was wrong, once the answer is in.

        Raises
        ------
        RefusedAct : the call-out is not over.
        """
        if not self.yard.ended:
            raise RefusedAct("not_over", text("attempt.refused.not_over"))
        return self.scenario.what_is_wrong()
