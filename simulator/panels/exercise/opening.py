"""Begin or go on with the attempt of a place in a lesson; nothing of it needs a screen."""

from __future__ import annotations

import logging
import secrets
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import simulator
from simulator.attempt import Attempt, AttemptStore, Coach
from simulator.errors import InputError, ReplayError, broken_program
from simulator.panels.exercise.coach import PageCoach
from simulator.records.log_copy import write_log_copy
from simulator.scenario import Scenario, load_scenario, scenario_hash
from simulator.texts import text

_log = logging.getLogger(__name__)
SEED_BITS = 31  # what a store keeps


class SlotStore:
    """A store that writes into every new record where in the lessons the attempt belongs."""

    def __init__(self, store: Any, slot: str, **more: Any) -> None:
        self._store, self._added = store, {"lesson": slot, **more}

    def create_attempt(self, record: dict[str, Any], attempt_id: str | None = None) -> str:
        """Keep a new attempt under its slot.

        Parameters
        ----------
        attempt_id : to keep it by; a new one by default.
        """
        return str(self._store.create_attempt({**record, **self._added}, attempt_id))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)


@dataclass(frozen=True)
class Opened:
    """An attempt ready to be shown, and a sentence where something has to be said about it."""

    attempt: Attempt
    notice: str


def the_scenario(
    given: Scenario | str | Path, mode: str | None = None, see_through: bool | None = None
) -> Scenario:
    """The call-out to be played, from a scenario or its file, with mode and view as the lesson wants them.

    Parameters
    ----------
    given : a call-out, or the path of its file.

    Raises
    ------
    InputError : the file cannot be read, or mode and view do not go together.

    Examples
    --------
    >>> from simulator.scenario import random_scenario
    >>> the_scenario(random_scenario(1), mode="guided", see_through=True).see_through
    True
    """
    scenario = given if isinstance(given, Scenario) else load_scenario(Path(given))
    wanted = {"mode": mode, "see_through": see_through}
    changed = {name: value for name, value in wanted.items() if value is not None}
    if mode is not None and mode != "guided" and see_through is None:
        changed["see_through"] = False
    if changed.get("see_through") and changed.get("mode", scenario.mode) != "guided":
        raise InputError("the inside is shown in guided call-outs only", "see_through", "mode='guided'")
    if changed.get("mode", scenario.mode) not in ("guided", "practice", "assessment"):
        raise InputError(f"the mode is {mode!r}", "mode", "guided, practice, assessment")
    return scenario.model_copy(update=changed)


def begin(scenario: Scenario, store: AttemptStore, learner: str, coach: Coach | None = None) -> Attempt:
    """A new attempt with fresh chance.

    Parameters
    ----------
    scenario : to be played.
    store : where its events are kept.
    learner : by name; "" for nobody in particular.
    coach : gives hints where the mode allows them; that of all pages by default.
    """
    seed = secrets.randbits(SEED_BITS)
    coach = coach or PageCoach()
    return Attempt(scenario, store, learner=learner, mode=scenario.mode, seed=seed, coach=coach)


def latest(store: Any, learner: str, slot: str) -> str | None:
    """The newest attempt of this slot that was not left: one to go on with, or one whose debrief is to be seen.

    None where there is none, or where the store keeps no such list.

    Parameters
    ----------
    learner : by name.
    """
    if not slot or not hasattr(store, "list_attempts"):
        return None
    rows = store.list_attempts(learner, slot)
    if rows and (not rows[-1].finished or store.marks(rows[-1].attempt_id, "automatic")):
        return str(rows[-1].attempt_id)
    return None


def why_not_gone_on_with(store: Any, attempt_id: str, error: InputError) -> str:
    """Why an attempt cannot go on, what is kept of it, and where a copy of its log lies for whoever can mend it.

    Parameters
    ----------
    store : that the attempt lies in.
    attempt_id : of it.
    error : that resuming it raised.
    """
    if not isinstance(error, ReplayError):
        return text("panel.link.cannot_read")
    _log.warning("attempt %s does not replay", attempt_id, exc_info=error)
    if error.made != simulator.__version__:
        said = text(
            "panel.link.other_version", made=error.made, now=simulator.__version__, steps=error.events
        )
    else:
        said = text("panel.link.cannot_replay", kept=error.kept, steps=error.events)
    copy = write_log_copy(store, attempt_id, "".join(traceback.format_exception(error)))
    return said if copy is None else f"{said} {text('panel.link.copy', file=str(copy))}"


def resume_or_begin(
    scenario: Scenario, store: SlotStore, learner: str, slot: str, coach: Coach | None = None
) -> Opened:
    """Go on with the latest attempt of a slot at the same second, else begin a new one.

    An attempt at another call-out, or one that this version of the model cannot replay, stays in the records
    and is not gone on with.

    Parameters
    ----------
    scenario : to be played where there is nothing to go on with.
    store : where attempts of the slot are kept.
    learner : by name.
    coach : gives hints where the mode allows them.
    """
    notice = ""
    found = latest(store, learner, slot)
    if found is not None:
        if store.attempt_record(found).get("scenario_hash") == scenario_hash(scenario):
            try:
                return Opened(Attempt.resume(store, found, coach=coach or PageCoach()), "")
            except InputError as error:
                if broken_program(error) is not None:
                    raise
                notice = f"{why_not_gone_on_with(store, found, error)} {text('panel.link.new_one')}"
        store.end_attempt(found, "left")
    return Opened(begin(scenario, store, learner, coach), notice)
