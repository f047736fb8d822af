"""What the exercise panel plays: a call, here in this process or elsewhere; the panel knows no difference.

Throughout: ``shown`` is a run time [s] that the page has shown, ``run`` the number of a run, ``units`` "metric" or "us".
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

from simulator.attempt import Attempt, Samples
from simulator.attempt.proof import overdue, without_water
from simulator.errors import SimulatorError
from simulator.panels.exercise.page_model import build_page

LONGEST_SPAN = 1e6  # [s] later than any run: samples are limited by what may be sent, not by this


class StandsStill(SimulatorError):
    """Where the call is played nobody answers: it stands still, and goes on at the same second once somebody does."""


class Played(Protocol):
    """A call that is played; nothing of it tells more than a page may show. What cannot be asked raises StandsStill.

    ``changed_from``: run time [s] of the latest act, from which on samples sent before may no longer hold.
    """

    @property
    def id(self) -> str:
        """Its id in the records."""
        ...

    @property
    def ended(self) -> bool:
        """Whether it is over."""
        ...

    @property
    def untouched(self) -> bool:
        """Whether nothing was done in it yet."""
        ...

    @property
    def run(self) -> int | None:
        """Number of the run since the latest start; None before the first."""
        ...

    @property
    def changed_from(self) -> float:
        """See above [s]."""
        ...

    @property
    def changed(self) -> bool:
        """Whether something has changed since the page was last given, so that it is to be drawn anew."""
        ...

    @property
    def trouble(self) -> str:
        """Why it stands still, in a few words for a badge; nothing where it goes on."""
        ...

    def page(self, units: str) -> dict[str, Any]:
        """All that the view shows besides the samples, without a debrief; the caller may change it."""
        ...

    def act(self, action: str, args: dict[str, Any], click_id: str, shown: float | None) -> tuple[bool, str]:
        """Do something: whether it was done, and what to say. The same ``click_id`` again does nothing more.

        Parameters
        ----------
        action, args : the act as the page names it.
        click_id : of the click.
        """
        ...

    def see(self, shown: float, run: int | None) -> bool:
        """The page has shown the run so far; whether it is to be drawn anew."""
        ...

    def samples(self, start: float) -> Samples:
        """What may be sent of the present run from ``start`` [s] on."""
        ...

    def listen(self, told: Callable[[], bool]) -> None:
        """Tell somebody, in any thread, once a call that stood still can go on.

        Parameters
        ----------
        told : called without anything; gives back whether to tell it again.
        """
        ...


class PlayedHere:
    """A call that is played in this process.

    Parameters
    ----------
    attempt : at it.

    Examples
    --------
    >>> from simulator.attempt import MemoryStore
    >>> from simulator.scenario import random_scenario
    >>> played = PlayedHere(Attempt(random_scenario(1), MemoryStore(), seed=1))
    >>> played.act("put_on_ppe", {}, "a", None)[0], played.ended, played.run
    (True, False, None)
    """

    trouble = ""

    def __init__(self, attempt: Attempt) -> None:
        self.attempt = attempt
        self.changed_from = 0.0
        self._drawn = ""

    @property
    def id(self) -> str:
        """Its id in the records."""
        return self.attempt.id

    @property
    def ended(self) -> bool:
        """Whether it is over."""
        return bool(self.attempt.yard.ended)

    @property
    def changed(self) -> bool:
        """Whether something has changed since the page was last given."""
        return self._drawn != self.stage

    @property
    def untouched(self) -> bool:
        """Whether nothing was done in it yet."""
        return len(self.attempt.log) <= 1

    @property
    def run(self) -> int | None:
        """Number of the present run; None before the first."""
        timeline = self.attempt.timeline
        return None if timeline is None else timeline.number

    def page(self, units: str) -> dict[str, Any]:
        """All that the view shows besides the samples, without a debrief.

        Raises
        ------
        InputError : there is no such unit system.
        """
        page = build_page(self.attempt, units)
        self._drawn = self.stage
        return page

    def act(self, action: str, args: dict[str, Any], click_id: str, shown: float | None) -> tuple[bool, str]:
        """Do something.

        Parameters
        ----------
        action, args : the act as the page names it.
        click_id : of the click.

        Raises
        ------
        InputError : there is no such act, check, remedy or place.
        """
        run, known = self.run, len(self.attempt.log)
        try:
            reply = self.attempt.act(action, args, click_id, shown)
        finally:
            # What was sent from the moment of the act on may no longer hold; nothing, where another window went on.
            alone = self.run == run and len(self.attempt.log) <= known + 1
            self.changed_from = float((self.attempt.log[-1]["shown_s"] if alone else None) or 0.0)
        return reply.accepted, reply.sentence

    def see(self, shown: float, run: int | None) -> bool:
        """The clock has gone on; whether that changes what may be done, so that the page is to be drawn anew."""
        self.attempt.see(shown, run)
        return self.changed

    def samples(self, start: float) -> Samples:
        """What may be sent of the present run.

        Parameters
        ----------
        start : run time of the first [s].
        """
        return self.attempt.samples(start, LONGEST_SPAN)

    def listen(self, told: Callable[[], bool]) -> None:
        """It never stands still.

        Parameters
        ----------
        told : is never called.
        """

    @property
    def stage(self) -> str:
        """Changes with all that changes the page: acts, and what time alone brings."""
        return f"{len(self.attempt.log)} {self._clock_state()}"

    def _clock_state(self) -> tuple[Any, ...]:
        """What changes on the page by time alone: the prime, its proof, the time for it, the end of a run, the minute."""
        attempt = self.attempt
        timeline = attempt.timeline
        if timeline is None:
            return (None, int(attempt.yard.minutes()))
        tick, last = timeline.prime_tick(), timeline.last_tick
        shown = attempt.yard.shown
        return (
            timeline.number,
            tick is not None and tick <= shown,
            timeline.lost_at(shown),
            last is not None and shown >= last,
            (without_water(attempt.state) or {}).get("key"),
            overdue(attempt.state),
            int(attempt.yard.minutes()),
        )
