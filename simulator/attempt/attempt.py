"""The headless trainee: everything a click can do. The log is the one truth; a resumed attempt folds it again."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import simulator
from simulator.attempt import acts, commands, proof
from simulator.attempt.case import Case
from simulator.attempt.events import Reply, reply_of
from simulator.attempt.hints import RuleOfThumbCoach
from simulator.attempt.offers import ActionView, action_views
from simulator.attempt.samples import Samples, take_samples
from simulator.attempt.state import AttemptState, Coach, Event, Terms
from simulator.attempt.store_protocol import AttemptStore
from simulator.attempt.timeline import Timeline
from simulator.attempt.views import Snapshot, rig_view, take_snapshot, truth_of
from simulator.attempt.yard import Yard
from simulator.errors import InputError, ReplayError
from simulator.scenario import Scenario, scenario_from, scenario_hash
from simulator.texts import text

MODES = ("guided", "practice", "assessment")


class Attempt:
    """One trainee at one call-out: a state, the store that its log lies in, and the clicks that have acted.

    Parameters
    ----------
    scenario : the call-out; its faults are known to the case alone.
    store : where record, log and progress are kept.
    learner : as typed by the learner.
    mode : guided, practice or assessment; the scenario's by default.
    seed : of all chance in the attempt; the scenario's by default.
    coach : gives hints; rules of thumb by default.
    attempt_id : an id of the caller's choice; otherwise the store makes one.

    Raises
    ------
    InputError : there is no such mode, or the store has the id already.

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
        attempt_id = store.create_attempt(record, attempt_id)
        self._take_up(store, Terms(attempt_id, scenario, mode, seed, coach or RuleOfThumbCoach()))
        self._store_and_keep(commands.begin(self.state), None)

    def _take_up(self, store: AttemptStore, terms: Terms) -> None:
        self.store, self.units = store, "metric"  # of replies; a snapshot may ask for others
        sealed = bool(store.attempt_record(terms.id).get("sealed"))
        self._start_over(replace(terms, sealed=sealed))

    def _start_over(self, terms: Terms) -> None:
        self.state = AttemptState(terms)
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
        seed = int(record["seed"])
        attempt = cls.__new__(cls)
        attempt._take_up(store, Terms(attempt_id, found, record["mode"], seed, coach or RuleOfThumbCoach()))
        attempt._replay()
        return attempt

    def _replay(self) -> None:
        events = self.store.events(self.id)
        terms = self.state.terms
        if events:
            begun = events[0].get("result", {})
            terms = replace(
                terms, rules=int(begun.get("rules", 1)), proof_rules=int(begun.get("proof_rules", 1))
            )
        self._start_over(terms)
        if not events:
            self._store_and_keep(commands.begin(self.state), None)
        for stored in events:
            try:
                same = commands.perform_again(self.state, stored)
            except Exception as error:
                raise self._no_replay(events) from error
            if not same:
                raise self._no_replay(events)
            self._keep(stored)
        progress = self.store.progress(self.id)
        if progress and self.timeline and progress.get("run") == self.timeline.number:
            self.state.pass_to(float(progress["shown_s"]), exact=True)

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
        """Do something at the run time that the learner saw.

        Parameters
        ----------
        action, args : the act as the page names it, such as ``check`` with {"check": "belt"}.
        click_id : of the click; one that has acted gives its reply again and does nothing.
        shown : run time [s] that the learner saw; None leaves the clock as it is.
        run : number of the run that the shown time belongs to; a time of an older run is left out.

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
        acts.needs_of(self.state, action, clean)  # unknown names are errors before anything is touched
        known = len(self.log)
        try:
            event = self._perform_and_keep(action, clean, shown, click_id)
        except InputError:
            # Another window went on with this attempt: it has caught up with that now, and does the act there.
            if len(self.log) <= known:
                raise
            if click_id in self._clicks or self.yard.ended:
                return self.act(action, args, click_id)
            event = self._perform_and_keep(action, clean, None, click_id)
        return reply_of(event, self.units)  # outside: what cannot be worded has been done all the same

    def _perform_and_keep(
        self, action: str, args: dict[str, Any], shown: float | None, click_id: str | None
    ) -> Event:
        try:
            event = commands.perform(self.state, action, args, shown)
            self._store_and_keep(event, click_id)
        except BaseException:
            self._replay()  # whatever went wrong: back to what is stored
            raise
        return event

    def see(self, shown: float, run: int | None = None) -> float:
        """The page has shown the run up to this time [s]: the clock follows. Returns what it shows [s]."""
        if self.timeline is not None and run in (None, self.timeline.number) and not self.yard.ended:
            before = self.yard.shown
            self.state.pass_to(shown)
            if self.yard.shown != before:
                self.store.set_progress(self.id, {"run": self.timeline.number, "shown_s": self.shown})
        return self.shown

    def _store_and_keep(self, event: Event, click_id: str | None) -> None:
        event["click_id"] = click_id
        self.store.append_event(self.id, event["seq"], event, click_id)
        self._keep(event)

    def _keep(self, event: Event) -> None:
        self.log.append(event)
        if event["click_id"] is not None:
            self._clicks[event["click_id"]] = event["seq"]

    # --- what it holds ---

    @property
    def id(self) -> str:
        """Its id in the store."""
        return self.state.terms.id

    @property
    def scenario(self) -> Scenario:
        """The call-out; it holds the answer."""
        return self.state.terms.scenario

    @property
    def mode(self) -> str:
        """guided, practice or assessment."""
        return self.state.terms.mode

    @property
    def see_through(self) -> bool:
        """Whether pages may look inside the rig."""
        return self.state.terms.see_through

    @property
    def case(self) -> Case:
        """The rig as it now is, and in good order."""
        return self.state.case

    @property
    def yard(self) -> Yard:
        """What is worn, tagged, open, known; the clocks."""
        return self.state.yard

    @property
    def log(self) -> list[Event]:
        """Its events, as they are stored."""
        return self.state.log

    @property
    def timelines(self) -> list[Timeline]:
        """One a start of the engine, in order."""
        return self.state.timelines

    @property
    def timeline(self) -> Timeline | None:
        """The run since the latest start, or None before the first."""
        return self.state.timeline

    @property
    def shown(self) -> float:
        """Run clock as the learner saw it [s]."""
        return self.state.shown

    # --- what may be known ---

    def proven(self) -> bool:
        """Whether the run that is shown has primed in the time its hose and lift should take."""
        return proof.proven(self.state)

    def samples(self, start: float, end: float, see_through: bool | None = None) -> Samples:
        """Channels of the present run from ``start`` to ``end`` [s], no further than may be sent; ``see_through`` adds
        those of the inside where the call-out allows it."""
        inside = self.see_through if see_through is None else see_through
        return take_samples(self.state, start, end, inside)

    def snapshot(self, units: str | None = None) -> Snapshot:
        """Everything a page needs, in the reader's units; nothing that tells the fault too early.

        Raises
        ------
        InputError : there is no such unit system.
        """
        return take_snapshot(self.state, units or self.units)

    def rig_shown(self) -> dict[str, Any]:
        """What the pictures draw: the rig of :meth:`snapshot` alone, a third of its work.

        Examples
        --------
        >>> from simulator.attempt import MemoryStore
        >>> from simulator.scenario import Scenario, SiteChoice
        >>> call = Scenario(title="A", brief="B", site=SiteChoice(lift_m=3.0))
        >>> attempt = Attempt(call, MemoryStore(), seed=0)
        >>> attempt.rig_shown() == attempt.snapshot().rig
        True
        """
        return rig_view(self.state)

    def available_actions(self) -> list[ActionView]:
        """All acts with what each waits for."""
        return action_views(self.state)

    def truth(self) -> list[dict[str, Any]]:
        """What was wrong, once the answer is in: one record a fault.

        Raises
        ------
        RefusedAct : the call-out is not over.
        """
        return truth_of(self.state)
