"""The planner of lesson 02: one's own hose, lift, altitude and speed in; expected time, band, curve and table out."""

from __future__ import annotations

import math
from dataclasses import asdict, replace
from typing import Any

from simulator.errors import InputError
from simulator.panels.lessons.how_long_should_it_take.drills import bore_words, seconds, whole
from simulator.panels.lessons.how_long_should_it_take.planning import (
    LEGAL,
    SetUp,
    expected,
    expected_run,
)
from simulator.panels.page.blocks import Block
from simulator.panels.page.printing import printable
from simulator.panels.page.words import RATTLES, format_quantity
from simulator.panels.teaching.cases import lift_pressure
from simulator.panels.teaching.figures import chart, points
from simulator.panels.teaching.lesson import Lesson
from simulator.physics import water
from simulator.rig.presets import load_rig, rig_names
from simulator.run.expected import Expected
from simulator.run.outcome import proof_limit
from simulator.texts import entry, language, text

AREA = "lesson_02.planner"
BORES = (0.10, 0.15, 0.20, 0.30)  # [m] of hoses in the yard
TABLE_LENGTHS = (6.0, 8.0, 10.0, 12.0, 15.0, 20.0)  # [m]
TABLE_BORES = 3  # rows of the table: the hoses nearest to the rig's own
PAST = 10e3  # [Pa] above the static lift: vacuum enough to move the water too, and still it does not come
NO_BREAK = "\N{NO-BREAK SPACE}"
STEPS = {"length": 0.5, "lift": 0.1, "altitude": 50.0, "speed": 0.01}  # of the sliders
ENDS = {"length": (3.0, 30.0), "lift": (0.5, 9.0), "altitude": (0.0, 3000.0), "speed": (0.6, 1.0)}


class Planner:
    """What the planner shows; the set-up lives as long as the page."""

    def __init__(self, lesson: Lesson) -> None:
        self._lesson = lesson
        self.setup = SetUp()
        self.plan: Expected | None = None
        self.trouble = ""
        self.asked: dict[
            str, Any
        ] = {}  # what was asked for while it cannot be: the sliders stay where they were put
        self.rows: list[dict[str, Any]] = []
        self._table_for: SetUp | None = None

    # clicks

    def set(self, args: dict[str, Any]) -> None:
        """Take over what was typed or moved; a set-up that cannot be is answered with a sentence.

        Parameters
        ----------
        args : what was moved: by name, in SI units.

        Raises
        ------
        InputError : what should be a figure is none.
        """
        wanted = self.asked | {key: args[key] for key in asdict(self.setup) if key in args}
        self.trouble, self.asked = "", {}
        try:
            figures: dict[str, Any] = {k: str(v) if k == "rig" else float(v) for k, v in wanted.items()}
            new = replace(self.setup, **figures)
        except (TypeError, ValueError) as error:
            raise InputError(text(f"{AREA}.no_number").rstrip(".")) from error
        except InputError as error:
            self.trouble = self._sentence(wanted, error)
            return
        if new != self.setup:
            self.setup, self.plan = new, None

    def _sentence(self, wanted: dict[str, Any], error: InputError) -> str:
        lift = float(wanted.get("lift", self.setup.lift))
        length = float(wanted.get("length", self.setup.length))
        inside = all(
            LEGAL[name][0] <= float(wanted.get(name, getattr(self.setup, name))) <= LEGAL[name][1]
            for name in LEGAL
        )
        if not inside or ("rig" in wanted and wanted["rig"] not in rig_names()):
            return str(error)
        self.asked = wanted
        least = replace(self.setup, lift=lift, length=LEGAL["length"][1]).least_length()
        units = self._lesson.units
        return text(
            f"{AREA}.short",
            length=format_quantity("length", length, units),
            lift=format_quantity("length", lift, units),
            least=format_quantity("length", least, units),
        )

    def band(self) -> None:
        """Work out the band of the set-up."""
        self.plan = expected(self.setup)

    def table_bores(self) -> tuple[float, ...]:
        """Bores [m] of the table: those nearest to the rig's own."""
        own = load_rig(self.setup.rig).suction_hose.bore
        return tuple(sorted(sorted(BORES, key=lambda bore: abs(bore - own))[:TABLE_BORES]))

    def row(self, number: int) -> None:
        """One row of the table [-], for a bore; the first begins it anew.

        Parameters
        ----------
        number : of the row [-], from 0.
        """
        if self.trouble:  # what is asked for cannot be: a table would be of the set-up before
            return
        if number == 0 or self._table_for != self._key():
            self.rows, self._table_for = [], self._key()
        if number != len(self.rows) or number >= TABLE_BORES:
            return
        cells, bores = [], self.table_bores()
        for length in TABLE_LENGTHS:
            try:
                plan = expected(replace(self.setup, bore=bores[number], length=length))
            except InputError:  # too short for the lift
                cells.append({"text": text(f"{AREA}.cell_short")})
                continue
            cells.append({"text": self._cell(plan)})
        self.rows.append({"bore": bores[number], "cells": cells})

    def _key(self) -> SetUp:
        """What a table is for: all but bore and length."""
        return replace(self.setup, bore=0.15, length=LEGAL["length"][1])

    def _cell(self, plan: Expected) -> str:
        if not math.isfinite(plan.time):
            return text("teaching.never")
        if not math.isfinite(plan.high):
            return text(f"{AREA}.cell_open", time=seconds(plan.time), low=seconds(plan.low))
        return text(
            f"{AREA}.cell", time=seconds(plan.time), low=str(whole(plan.low)), high=str(whole(plan.high))
        )

    # what is shown

    def block(self) -> Block:
        """The planner as it stands."""
        units, setup = self._lesson.units, self.setup
        run = expected_run(setup)
        usual = expected_run(SetUp())
        end = run.prime_time if run.primed else 180.0
        span = float(min(max(60.0, 15.0 * math.ceil((1.15 * end + 8.0) / 15.0)), 900.0))
        lines = [(text(f"{AREA}.yours"), points(run, span))]
        if setup != SetUp():
            lines.append((text(f"{AREA}.usual"), points(usual, min(span, 60.0))))
        figure = chart(
            "chart",
            lines,
            units,
            span=span,
            site=run.site,
            spoken=text(f"{AREA}.spoken"),
        ) | {"height": 300}
        return {
            "id": "planner",
            "kind": "planner",
            "setup": asdict(setup) | self.asked,
            "rigs": [
                {"value": name, "label": self._rig_words(name)} for name in sorted(rig_names(), key=_bore_of)
            ],
            "bores": [{"value": bore, "label": bore_words(bore, units)} for bore in BORES],
            "sliders": [self._slider(name) for name in STEPS],
            "chart": figure,
            "answer": self._answer(),
            "band_open": self.plan is None and run.primed,
            "trouble": self.trouble,
            "table": self._table(),
            "words": {
                key: text(f"{AREA}.{key}")
                for key in ("rig", "bore", "make_table", "stop", "open", "working", "figuring")
            },
        }

    def _rig_words(self, name: str) -> str:
        rig = load_rig(name)
        bore = bore_words(rig.suction_hose.bore, self._lesson.units).replace(" ", NO_BREAK)
        return text(f"{AREA}.rig_name", name=rig.title, bore=bore)

    def _slider(self, name: str) -> dict[str, Any]:
        value, units = float(self.asked.get(name, getattr(self.setup, name))), self._lesson.units
        low, high = ENDS[name]
        unit = {"size": 1.0, "decimals": 1, "name": "m"}
        if name == "speed":
            unit = {"size": 0.01, "decimals": 0, "name": "%"}
        elif units == "us":
            unit = {"size": 0.3048, "decimals": 0, "name": "ft"}
        elif name == "altitude":
            unit = {"size": 1.0, "decimals": 0, "name": "m"}
        return {
            "id": name,
            "label": text(f"{AREA}.{name}"),
            "low": low,
            "high": high,
            "step": STEPS[name],
            "value": value,
            "unit": unit,
        }

    def _answer(self) -> list[str]:
        run = expected_run(self.setup)
        static = format_quantity("vacuum", lift_pressure(run.site), self._lesson.units)
        if not run.primed:
            lift, deepest = lift_pressure(run.site), float(run.vacuum.max())
            why = "never_thin" if deepest > lift + PAST else "never_why"
            fastest = replace(self.setup, speed=ENDS["speed"][1])
            if why == "never_why" and not expected_run(fastest).primed:
                why = "never_lower"
            if lift > run.atmosphere - water.vapour_pressure(run.site.water_temperature):
                why = "never_anywhere"
            outside = format_quantity("vacuum", run.atmosphere, self._lesson.units)
            return [text(f"{AREA}.never"), text(f"{AREA}.{why}", static=static, outside=outside)]
        said = [text(f"{AREA}.about", time=seconds(run.prime_time))]
        if self.plan is not None:
            wide = not math.isfinite(self.plan.high)
            band = {
                "low": seconds(self.plan.low),
                "high": "" if wide else seconds(self.plan.high),
                "call": seconds(proof_limit(run.prime_time)),
            }
            said.append(text(f"{AREA}.{'band_open' if wide else 'band'}", **band))
        if float(run.npsh_margin[-1]) < RATTLES:
            said.append(text(f"{AREA}.rattles"))
        return said

    def _table(self) -> dict[str, Any]:
        units = self._lesson.units
        fresh = self._table_for == self._key()
        rows = self.rows if fresh else []
        columns = [
            text(f"{AREA}.table_corner"),
            *(format_quantity("length", length, units) for length in TABLE_LENGTHS),
        ]
        cells = [[bore_words(row["bore"], units), *(cell["text"] for cell in row["cells"])] for row in rows]
        whole = len(rows) == TABLE_BORES
        return {
            "total": TABLE_BORES,
            "columns": columns,
            "rows": cells,
            "title": text(f"{AREA}.table_title"),
            "page": self._page(columns, cells) if whole else "",
            "file": text(f"{AREA}.file"),
        }

    def _page(self, columns: list[str], rows: list[list[str]]) -> str:
        units, setup = self._lesson.units, self.setup
        said = text(
            f"{AREA}.page_line",
            rig=self._rig_words(setup.rig),
            lift=format_quantity("length", setup.lift, units),
            altitude=format_quantity("length", setup.altitude, units),
            percent=f"{100 * setup.speed:.0f}",
        )
        lines = [said, *entry(f"{AREA}.page_how")]
        foot = [*entry(f"{AREA}.page_foot"), text("common.training_aid")]
        return printable(text(f"{AREA}.table_title"), lines, columns, rows, foot, language())


def _bore_of(name: str) -> float:
    return load_rig(name).suction_hose.bore
