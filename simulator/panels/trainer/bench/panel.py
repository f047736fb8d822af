"""The trainer's view of a demonstration: one widget, played in the browser, which also hands the wall what is its own."""

from __future__ import annotations

import logging
import math
import secrets
import time
from collections.abc import Callable
from typing import Any

import anywidget
import traitlets

from simulator.attempt.timeline import TICK, tick_of
from simulator.errors import InputError, RefusedAct, SimulatorError
from simulator.panels.exercise.page_model import fixed_words, sample_message
from simulator.panels.page import assets
from simulator.panels.page.messages import heard
from simulator.panels.trainer.bench.kept import keep, kept_names, take_up
from simulator.panels.trainer.bench.page_model import bench_page
from simulator.panels.trainer.bench.picture import seen_inside, standing_page
from simulator.panels.trainer.bench.run import KINDS, BenchRun, Setting
from simulator.panels.trainer.bench.wall import wall_document, wall_page, wall_words
from simulator.panels.trainer.call_builder.own_calls import legal_name
from simulator.texts import entry, text

EVERY = 1.0  # [s] between two descriptions of what grows
SETTLED = 30.0  # [s] of the run after which what has grown was described once more, at the quickest clock

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page


class BenchPanel(anywidget.AnyWidget):
    """A demonstration on the trainer's page.

    Parameters
    ----------
    units : "metric" or "us", the gauges at first.
    """

    _esm = assets.built("bench.js")
    _css = assets.built("bench.css")

    page = traitlets.Dict().tag(sync=True)  # the trainer's own: names of faults stand in it
    words = traitlets.Dict().tag(sync=True)
    units = traitlets.Unicode("metric").tag(sync=True)
    wall = traitlets.Dict().tag(sync=True)  # the wall's: handed on as it is
    wall_kit = traitlets.Dict().tag(sync=True)  # channel, document and words of the wall

    def __init__(self, *, units: str = "metric") -> None:
        channel = f"wall-{secrets.token_hex(8)}"
        kit = {"channel": channel, "document": wall_document(channel), "words": wall_words()}
        super().__init__(words={**fixed_words(), "bench": entry("bench")}, units=units, wall_kit=kit)
        self._stands_for: Setting | None = None  # what the still part of the page was made for
        self._told: frozenset[int] = frozenset()  # faults that the wall may name
        self._number = 0  # of the run on the page: another one after each step back
        self._looked: int | None = None  # the tick that is looked at again; None: the furthest
        self._fields = {"rig": "osier", "lift_m": "3", "hose_length_m": ""}
        self._name, self._over = "", ""
        self._inside_here, self._inside_wall = True, False
        self._ask_shown = True
        self._done: dict[str, tuple[bool, str]] = {}
        self._begin(BenchRun(Setting()), 0)
        self.on_msg(self._receive)
        self.observe(lambda change: self._refresh(), names="units")

    @property
    def run(self) -> BenchRun:
        """The demonstration on the page."""
        return self._run

    @property
    def shown(self) -> int:
        """The furthest tick that was seen."""
        return self._shown

    def _begin(self, run: BenchRun, shown: int) -> None:
        """Put a demonstration on the page, at the moment it had got to."""
        if run.setting != self._stands_for:
            self._still, self._stands_for = standing_page(run), run.setting
            self._told = frozenset()
        self._run, self._shown, self._looked = run, shown, None
        self._number += 1
        self._told = frozenset(number for number in self._told if number in run.faults)
        self._refresh()

    # messages from the page

    def _receive(self, _widget: Any, message: Any, _buffers: Any) -> None:
        """Whatever the page says; nothing it says can bring the panel down."""
        heard(message, self._answer)

    def _answer(self, kind: str, message: dict[str, Any]) -> None:
        if kind == "act":
            self._act(message)
        elif kind == "look":
            self._look(message.get("t"), message.get("run"))
        elif kind in ("need", "shown"):
            self._see(message.get("shown" if kind == "need" else "t"), message.get("run"))
            if kind == "need" and message.get("run") == self._number:
                self._send_samples(_tick(message.get("from")) or 0, wall=message.get("wall") is True)
            self._follow_growth()

    def _look(self, at: Any, run: Any) -> None:
        """What was seen before is looked at again: what stood then is described; None: the page is at the end again."""
        tick = None if at is None else _tick(at)
        if run != self._number or (at is not None and tick is None):
            return
        looked = None if tick is None or tick >= self._shown else tick
        if looked != self._looked:
            self._looked = looked
            self._refresh()

    def _see(self, shown: Any, run: Any) -> None:
        tick = _tick(shown)
        if tick is not None and run == self._number and self._run.timeline is not None:
            self._shown = max(self._shown, min(tick, self._run.reach(self._shown)))

    def _follow_growth(self) -> None:
        """While something grows, how bad it is and how it looks inside go on from second to second."""
        grows = self._looked is None and self._shown * TICK <= self._run.last_growth() + SETTLED
        if self._run.changes and grows and time.monotonic() - self._described > EVERY:
            self._refresh()

    def _act(self, message: dict[str, Any]) -> None:
        """Do one act, then send in this order: the pages, the samples it changed, the answer."""
        click, number = str(message.get("id", "")), self._number
        self._see(message.get("shown"), message.get("run"))
        args = message.get("args")
        if click not in self._done:  # the same click sent twice acts once
            self._done[click] = self._tried(
                str(message.get("action", "")), dict(args) if isinstance(args, dict) else {}
            )
            self._done = dict(list(self._done.items())[-20:])
        accepted, sentence = self._done[click]
        self._refresh()
        start = self._shown if self._number == number else 0
        for wall in (False, True):
            self._send_samples(start, wall=wall, replace=True)
        self.send(
            {
                "kind": "ack",
                "id": click,
                "accepted": accepted,
                "sentence": sentence,
                "serial": self.page["serial"],
            }
        )

    def _tried(self, action: str, args: dict[str, Any]) -> tuple[bool, str]:
        try:
            return True, self._perform(action, args)
        except RefusedAct as error:
            return False, error.sentence
        except InputError as error:
            legal = f" {text('bench.said.legal', legal=error.legal)}" if error.legal else ""
            return False, f"{error.where}: {error.what}.{legal}" if error.where else f"{error.what}.{legal}"
        except SimulatorError as error:
            return False, str(error)
        except Exception:  # noqa: BLE001 - whatever an act did wrong, the trainer gets a sentence
            _log.exception("an act failed")
            return False, text("panel.link.failed_quietly")

    def _perform(self, action: str, args: dict[str, Any]) -> str:
        own = _OWN.get(action)
        if own is not None:
            return own(self, args) or ""
        kind = {"start_engine": "start", "stop_engine": "stop", "set_speed": "speed"}.get(action, action)
        if kind not in KINDS:
            raise InputError(f"there is no act {action!r}", "act", ", ".join(KINDS))
        self._run.do(self._shown, kind, args)
        if kind == "ask":
            self._ask_shown = True
        return ""

    def _on_back_to(self, args: dict[str, Any]) -> str:
        """Undo all that came after a moment, and go on from there."""
        tick = _tick(args.get("t"))
        if tick is None or tick > self._shown:
            raise InputError("this moment was not seen yet", text("bench.back.moment"), "one that was seen")
        self._begin(self._run.back_to(tick), tick)
        return text("bench.said.went_back", t=round(tick * TICK))

    def _on_inside(self, args: dict[str, Any]) -> None:
        on = args.get("on") is True
        if args.get("where") == "wall":
            self._inside_wall = on
        else:
            self._inside_here = on

    def _on_ask_shown(self, args: dict[str, Any]) -> None:
        """The question goes off the wall, or onto it again."""
        self._ask_shown = args.get("on") is True

    def _on_tell(self, args: dict[str, Any]) -> None:
        """The wall may say what a fault is, or no longer."""
        number = args.get("number")
        if number in self._run.faults:
            self._told = self._told | {number} if args.get("on") is True else self._told - {number}

    def _on_new(self, args: dict[str, Any]) -> str:
        """Begin another demonstration; what cannot be is told at its field."""
        self._fields = {name: str(args.get(name, ""))[:60] for name in self._fields}
        setting = _setting(self._fields)
        try:
            run = BenchRun(setting)
        except InputError as error:
            field = next((name for name in self._fields if error.where.endswith(name)), "rig")
            raise InputError(error.what, text(f"desks.fields.{field}"), error.legal) from error
        self._name = ""
        self._told = frozenset()
        self._begin(run, 0)
        return text("bench.said.began")

    def _on_keep(self, args: dict[str, Any]) -> str:
        name = legal_name(str(args.get("name", "")))
        over = name in (self._name, self._over)
        if not over and name in kept_names():
            self._over = name
            return text("bench.said.exists", name=name)
        self._name, self._over = keep(name, self._run, self._shown, over=over), ""
        return text("bench.said.kept", name=self._name)

    def _on_take_up(self, args: dict[str, Any]) -> str:
        run, shown = take_up(str(args.get("name", "")))
        self._name, self._told = str(args["name"]), frozenset()
        setting = run.setting
        hose = "" if setting.hose_length_m is None else f"{setting.hose_length_m:g}"
        self._fields = {"rig": setting.rig, "lift_m": f"{setting.lift_m:g}", "hose_length_m": hose}
        self._begin(run, shown)
        return text("bench.said.taken_up", name=self._name)

    # messages to the page

    def _refresh(self) -> None:
        """Describe both views anew."""
        run, still = self._run, self._still
        self._described = time.monotonic()
        begun = run.timeline is not None
        shown = {"id": self._number if begun else None, "shown": self._shown * TICK, "duration": 300}
        looked = self._shown if self._looked is None else self._looked
        inside = seen_inside(still["rig"], run, looked)
        self.page = bench_page(
            run,
            still,
            shown,
            looked,
            rig=inside if self._inside_here else still["rig"],
            inside_here=self._inside_here,
            inside_wall=self._inside_wall,
            told=self._told,
            fields=self._fields,
            name=self._name,
            over=bool(self._over),
            ask_shown=self._ask_shown,
            units=self.units,
            serial=self.page.get("serial", 0) + 1,
        )
        rig = inside if self._inside_wall else still["rig"]
        wall = wall_page(
            run, still, shown, self._told, rig=rig, inside=self._inside_wall, ask=self._ask_shown
        )
        self.wall = wall | {"units": self.units}

    def _send_samples(self, start: int, *, wall: bool, replace: bool = False) -> None:
        """Send what may be sent from a tick on, to the trainer's view or for the wall."""
        if self._run.timeline is None:
            return
        inside = self._inside_wall if wall else True
        samples = self._run.samples(self._number, start, self._run.reach(self._shown), inside=inside)
        if samples.data.shape[1] == 0 and not samples.final:
            return
        message, rows = sample_message(samples, samples.start if replace else None)
        self.send({"kind": "wall", "message": message} if wall else message, buffers=[rows])


#: What changes no run, or puts another one on the page.
_OWN: dict[str, Callable[[BenchPanel, dict[str, Any]], str | None]] = {
    "back_to": BenchPanel._on_back_to,
    "inside": BenchPanel._on_inside,
    "ask_shown": BenchPanel._on_ask_shown,
    "tell": BenchPanel._on_tell,
    "new": BenchPanel._on_new,
    "keep": BenchPanel._on_keep,
    "take_up": BenchPanel._on_take_up,
}


def _setting(fields: dict[str, str]) -> Setting:
    def figure(name: str) -> float | None:
        written = fields[name].strip().replace(",", ".").removesuffix("m").strip()
        if not written:
            return None
        try:
            value = float(written)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise InputError(
                f"{fields[name]!r} is no figure", text(f"desks.fields.{name}"), "metres, such as 4.5"
            )
        return value

    lift = figure("lift_m")
    if lift is None:
        raise InputError("the field is empty", text("desks.fields.lift_m"), "metres, such as 4.5")
    return Setting(fields["rig"], lift, figure("hose_length_m"))


def _tick(value: Any) -> int | None:
    """A moment [0.1 s] from a message, or None where it is no such thing."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return max(tick_of(float(value)), 0) if number and math.isfinite(value) else None
