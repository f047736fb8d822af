"""The exercise screen: one widget, played in the browser, fed by an attempt.

The panel holds traits and answers messages; every decision is the attempt's. Whatever goes wrong in an act
comes back as a sentence, and the panel lives on.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from simulator.attempt import Attempt, Coach
from simulator.classroom.handing_in import at_work, held_words
from simulator.errors import SimulatorError
from simulator.panels.exercise.debrief_work import (
    Debriefer,
    DebriefWork,
    StoppedByReader,
    debrief_and_keep,
    in_page_thread,
)
from simulator.panels.exercise.opening import SlotStore, begin, resume_or_begin, the_scenario
from simulator.panels.exercise.page_model import fixed_words, sample_message
from simulator.panels.exercise.played import Played, PlayedHere, StandsStill
from simulator.panels.page import assets
from simulator.panels.page.messages import heard
from simulator.scenario import Scenario
from simulator.texts import text

_log = logging.getLogger(__name__)
# What went wrong goes to whoever listens, never onto the learner's page.
_log.addHandler(logging.NullHandler())


class ExercisePanel(anywidget.AnyWidget):
    """One exercise on the page.

    Parameters
    ----------
    attempt : the attempt it shows and acts on, or a call that is played elsewhere.
    debriefer : called as ``debriefer(attempt, units, progress)`` once an attempt is over; gives total, parts,
        steps, curves, truth and practise. None: no marks, as in a demonstration.
    again : begins the same call-out anew, for the button under a debrief; None: no such button.
    units : "metric" or "us", the gauges at first.
    notice : a sentence to begin with, where there is something to say.
    whole_window : a call that begins takes the whole window of the browser; else it stays on the page.
    which : which of several calls it is, in the place of the mode; "" for a call of its own.
    """

    _esm = assets.built("exercise.js")
    _css = assets.built("exercise.css")

    page = traitlets.Dict().tag(sync=True)  # what is shown; replaced at every change of the attempt's state
    words = traitlets.Dict().tag(sync=True)  # labels and codes that do not change
    units = traitlets.Unicode("metric").tag(sync=True)
    whole_window = traitlets.Bool(False).tag(sync=True)  # the page opens a call in the whole window

    def __init__(
        self,
        attempt: Attempt | Played,
        *,
        debriefer: Debriefer | None = debrief_and_keep,
        again: Callable[[], Attempt] | None = None,
        units: str = "metric",
        notice: str = "",
        whole_window: bool = False,
        which: str = "",
    ) -> None:
        super().__init__(words=fixed_words(), units=units, whole_window=whole_window)
        self._notice, self._which = notice, which
        self._debriefer, self._again, self._done_again = debriefer, again, ""
        self._serial, self._said_trouble = 0, False
        self._working: DebriefWork | None = None
        self._handing = at_work()
        self._open(attempt)
        if self._handing is not None:
            in_page_thread(self._handing.listen, self._refresh)
        self.on_msg(self._receive)
        self.observe(lambda change: self._change_units(), names="units")

    @property
    def played(self) -> Played:
        """The call on the page."""
        return self._played

    @property
    def attempt(self) -> Attempt:
        """The attempt on the page, of a call that is played in this process."""
        assert isinstance(self._played, PlayedHere)
        return self._played.attempt

    def _open(self, attempt: Attempt | Played) -> None:
        """Put a call on the page, at the second it had got to."""
        self._drop_work()
        self._played: Played = PlayedHere(attempt) if isinstance(attempt, Attempt) else attempt
        self._debrief: dict[str, Any] | None = None
        in_page_thread(self._played.listen, self._refresh)
        self._refresh()
        if self._played.ended:
            self._make_debrief()

    def _change_units(self) -> None:
        if self._debrief is not None and not self._debrief.get("stopped"):
            self._make_debrief()  # its sentences carry figures
        else:
            self._refresh()

    # messages from the page

    def _receive(self, _widget: Any, message: Any, _buffers: Any) -> None:
        """Whatever the page says; nothing it says can bring the panel down."""
        heard(message, self._answer)

    def _answer(self, kind: str, message: dict[str, Any]) -> None:
        try:
            if kind == "act":
                self._act(message)
            elif kind == "need":
                self._need(message)
            elif kind == "shown":
                self._see(message)
            elif kind == "page":  # the one that was sent was lost on its way
                self.send_state("page")
        except StandsStill:
            if not self._said_trouble:
                self._refresh()

    def _act(self, message: dict[str, Any]) -> None:
        """Do one act, then send in this order: the page, the samples it changed, the answer."""
        played, run = self._played, self._played.run
        shown = _seconds(message.get("shown")) if message.get("run", run) == run else None
        try:
            accepted, sentence = self._perform(
                str(message.get("action", "")), dict(message.get("args") or {}), str(message["id"]), shown
            )
        except StandsStill as error:
            accepted, sentence = False, str(error)
        except SimulatorError as error:
            accepted, sentence = False, text("panel.link.failed", what=str(error).rstrip("."))
        except Exception:  # noqa: BLE001 - whatever an act did wrong, the learner gets a sentence
            _log.exception("an act failed")
            accepted, sentence = False, text("panel.link.failed_quietly")
        try:
            self._refresh()
            if not self._played.trouble:
                self._send_samples(played.changed_from if self._played is played else 0.0, replace=True)
        except Exception:  # noqa: BLE001 - as above
            _log.exception("the page could not be drawn anew after an act")
            accepted, sentence = False, text("panel.link.failed_quietly")
        self.send(
            {
                "kind": "ack",
                "id": message.get("id"),
                "accepted": accepted,
                "sentence": sentence,
                "serial": self._serial,
            }
        )
        if self._played.ended and self._debrief is None and self._working is None:
            self._make_debrief()

    def _perform(
        self, action: str, args: dict[str, Any], click_id: str, shown: float | None
    ) -> tuple[bool, str]:
        """Hand an act to the attempt; whether it was done, and what to say."""
        if held := held_words():
            return False, held["text"]
        if action == "stop_debrief":
            if self._working is not None:
                self._working.stop()
            return True, ""
        if action == "make_debrief":
            if self._debrief is not None and self._debrief.get("stopped"):
                self._debrief = None  # worked out anew once the answer is out
            return True, ""
        if action == "again" and self._again is not None and self._played.ended:
            self._done_again = click_id
            self._open(self._again())
        if click_id == self._done_again:  # the same click sent twice begins once
            return True, ""
        return self._played.act(action, args, click_id, shown)

    def _need(self, message: dict[str, Any]) -> None:
        self._see({"t": message.get("shown"), "run": message.get("run")})
        if message.get("run") == self._played.run:
            self._send_samples(_seconds(message.get("from")) or 0.0)
            if self._played.changed:  # where it is played elsewhere, an answer with samples brings a page too
                self._refresh()

    def _see(self, message: dict[str, Any]) -> None:
        """The clock has gone on; the page is drawn anew only where that changes what may be done."""
        shown = _seconds(message.get("t"))
        if shown is None:
            return
        if self._played.see(shown, message.get("run")):
            self._refresh()

    # messages to the page

    def _refresh(self) -> None:
        """Draw the page anew from the call."""
        page = {**self._played.page(self.units), "debrief": self._debrief}
        page["debrief_pending"] = (
            page["phase"] == "debrief" and self._debrief is None and self._debriefer is not None
        )
        if self._debriefer is None:  # no marks, so nothing that a hint or a lapse could cost
            page["coach"]["cost"] = page["lapse"] = None
        if self._which:
            page["header"]["badges"] = [self._which, *page["header"]["badges"][1:]]
        here = isinstance(self._played, PlayedHere)  # what is played elsewhere is kept there
        if here and self._handing is not None and (badge := self._handing.badge()):
            page["header"]["badges"] = [*page["header"]["badges"], badge]
        page["held"] = held_words()
        self._said_trouble = bool(self._played.trouble)
        if self._said_trouble:
            page["header"]["badges"] = [*page["header"]["badges"], self._played.trouble]
        still = text("sheets.stands_still") if self._said_trouble else ""
        page["notice"], page["again"] = still or self._notice, self._again is not None
        page.update(self._additions())
        self._serial += 1
        page["serial"] = self._serial
        self.page = page

    def _additions(self) -> dict[str, Any]:
        """What a panel of another kind adds to the page."""
        return {}

    def _send_samples(self, start: float, *, replace: bool = False) -> None:
        """Send what may be sent from ``start`` [s] of the present run on."""
        samples = self._played.samples(start)
        if samples.run is None or (samples.data.shape[1] == 0 and not samples.final):
            return
        message, rows = sample_message(samples, samples.start if replace else None)
        self.send({**message, "serial": self._serial}, buffers=[rows])

    def _make_debrief(self) -> None:
        """Work out the debrief once the answer has gone out; a failure is a sentence."""
        if self._debriefer is None or not isinstance(self._played, PlayedHere):
            return
        self._drop_work()
        debriefer, attempt, units = self._debriefer, self._played.attempt, self.units
        work = DebriefWork(
            lambda progress: debriefer(attempt, units, progress), self._progress, self._take_debrief
        )
        self._working = None if work.over else work

    def _take_debrief(self, debrief: dict[str, Any] | None, error: Exception | None) -> None:
        self._working = None
        if isinstance(error, StoppedByReader):
            self._debrief = {"failed": text("panel.debrief.stopped"), "stopped": True}
        elif isinstance(error, SimulatorError):
            self._debrief = {"failed": text("panel.debrief.failed", what=str(error).rstrip("."))}
        elif error is not None:  # the call-out is done, whatever the marks say
            _log.error("the debrief failed", exc_info=error)
            self._debrief = {"failed": text("panel.debrief.failed_quietly")}
        else:
            self._debrief = debrief
        self._refresh()

    def _drop_work(self) -> None:
        """Whatever is being worked out is of no use any more."""
        if self._working is not None:
            self._working.stop(drop=True)
            self._working = None

    def _progress(self, done: int, total: int) -> None:
        """Long work says how far it is."""
        self.send({"kind": "progress", "done": int(done), "total": int(total)})


def default_store() -> Any:
    """The user's own records."""
    from simulator.records import Store  # late: a panel with a store of its own does not need a database

    return Store.open()


def open_exercise(
    scenario: Scenario | str | Path,
    *,
    mode: str | None = None,
    see_through: bool | None = None,
    learner: str = "",
    store: Any = None,
    slot: str = "",
    debriefer: Debriefer | None = debrief_and_keep,
    coach: Coach | None = None,
    units: str = "metric",
) -> ExercisePanel:
    """An exercise for the page: the learner's unfinished attempt at this slot goes on, else a new one begins.

    Parameters
    ----------
    scenario : the call-out, or the file it stands in.
    mode, see_through : as the lesson wants them; the call-out's own where left out.
    learner : as typed by the learner.
    store : where attempts are kept; the user's own records by default.
    slot : the place in the lessons, such as "01-first-run"; without one nothing is gone on with.
    debriefer : works out the marks; None: none are given.
    coach : gives hints where the mode allows them.
    units : "metric" or "us".

    Raises
    ------
    InputError : the call-out cannot be read, or the records cannot be opened.

    Examples
    --------
    >>> from simulator.attempt import MemoryStore
    >>> from simulator.scenario import random_scenario
    >>> panel = open_exercise(random_scenario(1), learner="Ash", store=MemoryStore())
    >>> panel.page["phase"]
    'predict'
    """
    played = the_scenario(scenario, mode, see_through)
    kept = SlotStore(default_store() if store is None else store, slot)
    opened = resume_or_begin(played, kept, learner, slot, coach)
    # A lesson's desk tells of losses itself; here the records were opened for this call alone.
    losses = kept.notices if store is None else ()
    return ExercisePanel(
        opened.attempt,
        debriefer=debriefer,
        again=None if played.mode == "assessment" else lambda: begin(played, kept, learner, coach),
        units=units,
        notice=" ".join([*losses, *([opened.notice] if opened.notice else [])]),
    )


def _seconds(value: Any) -> float | None:
    """A time [s] from a message, or None where it is no such thing."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return max(float(value), 0.0) if number and math.isfinite(value) else None
