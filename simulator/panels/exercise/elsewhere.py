"""A call that is played at the service of the class: acts go there, and what a page may show comes back.

Nothing else of the call is ever in this process: not what is wrong, nor its seed, nor its log.
"""

from __future__ import annotations

import base64
import binascii
import copy
import json
import math
import threading
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from simulator.attempt import Samples
from simulator.classroom.line import Away, Line, Refused
from simulator.errors import InputError, SimulatorError
from simulator.panels.exercise.played import StandsStill
from simulator.panels.learner.at_service import sealed_line
from simulator.texts import text

SEEN_EVERY = 0.8  # [s] between two times at which only the shown clock is told
KNOCK_EVERY = 1.0  # [s] between two looks whether the service is there again
TOO_MUCH = 429  # of HTTP: too much at once, the same again later will do
LOOK_EVERY = 0.3  # [s] between two looks of a page that was told so: fewer than the service lets come
LONGEST_WAIT = 2.0  # [s] for which an act that came too soon waits, rather than be refused


def packed_samples(samples: Samples) -> dict[str, Any]:
    """Samples as JSON, exact to the bit.

    Parameters
    ----------
    samples : of a run.
    """
    return {
        "run": samples.run,
        "start": samples.start,
        "step": samples.step,
        "channels": list(samples.channels),
        "count": int(samples.data.shape[1]),
        "final": samples.final,
        "data": base64.b64encode(samples.data.astype("<f4").tobytes()).decode("ascii"),
    }


def unpacked_samples(raw: Any) -> Samples:
    """Samples from JSON.

    Parameters
    ----------
    raw : as :func:`packed_samples` gave it.

    Raises
    ------
    InputError : these are none.

    Examples
    --------
    >>> some = Samples(1, 2.5, 0.1, ("speed",), np.ones((1, 3), dtype=np.float32), False)
    >>> again = unpacked_samples(packed_samples(some))
    >>> again.run, again.start, again.channels, again.data.tolist(), again.final
    (1, 2.5, ('speed',), [[1.0, 1.0, 1.0]], False)
    """
    try:
        channels = tuple(str(name) for name in raw["channels"])
        flat = np.frombuffer(base64.b64decode(raw["data"], validate=True), dtype="<f4")
        data = flat.reshape(len(channels), int(raw["count"])).astype(np.float32)
        run = None if raw["run"] is None else int(raw["run"])
        return Samples(run, float(raw["start"]), float(raw["step"]), channels, data, bool(raw["final"]))
    except (TypeError, KeyError, ValueError, binascii.Error) as error:
        raise InputError(text("sheets.service_odd").rstrip("."), "samples") from error


class PlayedElsewhere:
    """A call that is played at the service; see :class:`simulator.panels.exercise.played.Played`.

    Parameters
    ----------
    line : to the service.
    state : of the call, as the service gave it.
    units : in which that is worded, "metric" or "us".
    now : a clock that never goes back [s].
    """

    def __init__(
        self, line: Line, state: dict[str, Any], units: str, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._line, self._units, self._now = line, units, now
        self._state: dict[str, Any] = {}
        self._samples: Samples | None = None
        self._told_at = self._not_before = -math.inf
        self._spacing = 0.0  # [s] between two looks
        self._shown: tuple[float, int | None] | None = None
        self._heard: tuple[float, int | None] | None = None  # shown, as the service last heard it
        self._drawn = ""  # the stage of the page that was last given
        self._listeners: list[Callable[[], bool]] = []
        self.trouble = ""
        self._take(state)

    @property
    def id(self) -> str:
        """Its id in the records of the class."""
        return str(self._state["id"])

    @property
    def ended(self) -> bool:
        """Whether it is over."""
        return bool(self._state["ended"])

    @property
    def untouched(self) -> bool:
        """Whether nothing was done in it yet."""
        return bool(self._state["untouched"])

    @property
    def run(self) -> int | None:
        """Number of the present run; None before the first."""
        return None if self._state["run"] is None else int(self._state["run"])

    @property
    def changed_from(self) -> float:
        """Run time of the latest act [s]."""
        return float(self._state["changed_from"])

    @property
    def changed(self) -> bool:
        """Whether the page is to be drawn anew, whichever answer brought it."""
        return bool(self._state["stage"] != self._drawn)

    def page(self, units: str) -> dict[str, Any]:
        """All that the view shows besides the samples; while the service is away as it was last.

        Parameters
        ----------
        units : "metric" or "us".
        """
        if units != self._units and not self.trouble:
            try:
                self._take(self._ask("GET", f"calls/{self.id}?units={units}"))
                self._units = units
            except StandsStill:
                pass
        self._drawn = str(self._state["stage"])
        return copy.deepcopy(dict(self._state["page"]))

    def act(self, action: str, args: dict[str, Any], click_id: str, shown: float | None) -> tuple[bool, str]:
        """Do something.

        Parameters
        ----------
        action, args : the act as the page names it.
        click_id : of the click.
        shown : run time that the page has shown [s].

        Raises
        ------
        StandsStill : nobody answers; the same click may be sent again.
        SimulatorError : there is no such act, check, remedy or place.
        """
        told = {"action": action, "args": args, "click": click_id, "shown": shown, "run": self.run}
        try:
            said = self._ask("POST", f"calls/{self.id}/act", told)
        except Refused as error:
            if error.code != TOO_MUCH or not 0.0 < error.wait <= LONGEST_WAIT:
                raise
            time.sleep(error.wait)
            said = self._ask("POST", f"calls/{self.id}/act", told)
        self._take(said)
        if said.get("failed"):
            raise SimulatorError(str(said["failed"]))
        return bool(said["accepted"]), str(said["sentence"])

    def see(self, shown: float, run: int | None) -> bool:
        """The page has shown the run up to here; whether it is to be drawn anew.

        Parameters
        ----------
        shown : run time [s].
        run : whose time it is.

        Raises
        ------
        StandsStill : nobody answers.
        """
        self._shown = (shown, run)
        # what comes by time alone may come so much later; the page says its last moment again
        if self._shown != self._heard and self._now() - self._told_at >= SEEN_EVERY:
            self._look(None)
        return self.changed

    def samples(self, start: float) -> Samples:
        """What may be sent of the present run; nothing where it is asked for too soon.

        Parameters
        ----------
        start : run time of the first [s].

        Raises
        ------
        StandsStill : nobody answers.
        InputError : what answers is not what was asked for.
        """
        kept, self._samples = self._samples, None
        if kept is not None and kept.start == start:  # they came with the act
            return kept
        if not self._look(start):
            return Samples(None, start, 0.0, (), np.zeros((0, 0), dtype=np.float32), False)
        kept, self._samples = self._samples, None
        if kept is None:
            raise InputError(text("sheets.service_odd").rstrip("."), "samples")
        return kept

    def listen(self, told: Callable[[], bool]) -> None:
        """Tell somebody, in another thread, once the service is there again.

        Parameters
        ----------
        told : called without anything; gives back whether to tell it again.
        """
        self._listeners.append(told)

    # the line

    def _look(self, start: float | None) -> bool:
        """Tell how far the page has shown the call; False where that must be done again a little later."""
        if self.trouble:  # whoever knocks says when it goes on
            raise StandsStill(text("sheets.stands_still"))
        now = self._now()
        if now < self._not_before:
            return False
        seen = self._shown
        shown, run = seen or (None, None)
        told = {"shown": shown, "run": run, "from": start, "stage": self._state["stage"]}
        try:
            self._take(self._ask("POST", f"calls/{self.id}/look", told))
        except Refused as error:
            if error.code != TOO_MUCH:
                raise
            self._spacing, self._not_before = LOOK_EVERY, now + max(error.wait, LOOK_EVERY)
            return False
        self._told_at, self._not_before, self._heard = now, now + self._spacing, seen
        return True

    def _ask(self, method: str, path: str, told: dict[str, Any] | None = None) -> dict[str, Any]:
        body = "" if told is None else json.dumps({**told, "units": self._units})
        try:
            said = self._line.ask(method, path, body)
        except Away as error:
            self._stand_still()
            raise StandsStill(text("sheets.stands_still")) from error
        self.trouble = ""
        return said

    def _take(self, said: dict[str, Any]) -> None:
        wanted = {"id", "ended", "untouched", "run", "changed_from", "stage"}
        if not wanted <= set(said) or ("page" not in said and not self._state):
            raise InputError(text("sheets.service_odd").rstrip("."), "calls")
        self._samples = unpacked_samples(said["samples"]) if said.get("samples") is not None else None
        self._state = {**self._state, **{name: said[name] for name in {*wanted, "page"} & set(said)}}

    def _stand_still(self) -> None:
        if self.trouble:
            return
        self.trouble = text("sheets.stands_still_badge")
        threading.Thread(target=self._knock, daemon=True).start()

    def _knock(self) -> None:
        """Look until the service answers, then tell of it."""
        while self.trouble:
            time.sleep(KNOCK_EVERY)
            try:
                self._line.ask("GET", f"calls/{self.id}?units={self._units}")
            except Away:
                continue
            except SimulatorError:
                pass  # it answers; what it says is heard with the next act
            self.trouble = ""
        self._listeners = [told for told in self._listeners if told()]


def begin_call(sheet: str, number: int, units: str) -> PlayedElsewhere:
    """A call of a sealed sheet: the one that is begun goes on, else a new one begins.

    Parameters
    ----------
    sheet : its id.
    number : of the call [-], from 0.
    units : "metric" or "us".

    Raises
    ------
    InputError : the service is away, or refuses it.
    """
    line = sealed_line()
    if line is None:
        raise InputError("no class plays sealed calls here", "calls")
    told = {"sheet": sheet, "number": number, "units": units}
    return PlayedElsewhere(line, line.ask("POST", "calls", json.dumps(told)), units)


def leave_call(attempt_id: str) -> None:
    """Leave a call of a sealed sheet; it may be begun anew.

    Parameters
    ----------
    attempt_id : of the call.

    Raises
    ------
    InputError : the service is away, or refuses it.
    """
    line = sealed_line()
    if line is not None:
        line.ask("DELETE", f"calls/{attempt_id}")
