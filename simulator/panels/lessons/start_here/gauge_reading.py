"""What a gauge says, in lesson 00: a guess, two gauges to play with, two to read."""

from __future__ import annotations

import random
from typing import Any

from simulator.panels.page.blocks import Block
from simulator.panels.page.dial import dial
from simulator.panels.page.words import words
from simulator.panels.teaching.lesson import Lesson
from simulator.physics import water
from simulator.rig.presets import load_site
from simulator.texts import text
from simulator.units import STANDARD_ATMOSPHERE, STANDARD_GRAVITY, UNITS, plain_figure

GUESS_VACUUM = 30e3  # [Pa] on the gauge of the first guess
GAUGE_HIGH = {"suction": 100e3, "motive": 10e5}  # [Pa] how far the sliders go
READINGS = ("suction", "motive")


def height_held(vacuum: float) -> float:
    """Height [m] to which a vacuum [Pa] holds cool water up.

    Examples
    --------
    >>> round(height_held(9.8e3), 2)
    1.0
    """
    return vacuum / (float(water.density(load_site("teal_pond").water_temperature)) * STANDARD_GRAVITY)


def on_to(said: str, label: str, **where: str) -> Block:
    """A notice with a button to what comes next, brought into view when it comes.

    Parameters
    ----------
    said, label : keys of its words below ``lessons.home``.
    where : the part of the page that it leads to, and a block of it.
    """
    return {
        "id": f"on:{label}",
        "kind": "notice",
        "tone": "plain",
        "paragraphs": [text(f"lessons.home.{said}")],
        "to": {**where, "label": text(f"lessons.home.{label}")},
        "arrive": "nearest",
    }


class GaugeReading(Lesson):
    """The part of a lesson that teaches to read the two gauges."""

    def _gauges(self) -> list[Block]:
        heading = self.heading("gauges", "home.gauge_title", words("home.gauge_intro"))
        if "safety" in self.answers and "guess" not in self.answers:  # what comes next comes by itself
            heading |= {"arrive": "start", "arrive_for": "cautions read"}
        return [
            heading,
            self._guess(),
            *(
                [
                    self._suction(),
                    on_to("suction_done", "suction_on", part="gauges", block="motive"),
                    self._motive(),
                ]
                if "guess" in self.answers
                else []
            ),
            *(
                [
                    self.heading("reading", "home.reading_title", words("home.reading_intro")),
                    *self._readings(),
                ]
                if "guess" in self.answers
                else []
            ),
        ]

    def _guess(self) -> Block:
        thinnest = water.vapour_pressure(load_site("teal_pond").water_temperature)  # no vacuum goes below
        held, most = height_held(GUESS_VACUUM), height_held(STANDARD_ATMOSPHERE - thinnest)
        heights = {"too_small": held / 10.0, "right": held, "too_large": held * 10.0}
        said = {
            "reading": self.figure("vacuum", GUESS_VACUUM),
            "height": self.figure("length", held),
            "most": self.figure("length", most),
        }
        options = [
            {"id": name, "label": text("lessons.home.guess_height", height=self.figure("length", height))}
            for name, height in heights.items()
        ]
        options.append({"id": "by_hose", "label": text("lessons.home.guess_by_hose")})
        answer = self.answers.get("guess")
        known = answer in {option["id"] for option in options}
        return {
            "id": "guess",
            "kind": "question",
            "text": text("lessons.home.guess", **said),
            "options": options,
            "answer": answer,
            "right": "right",
            "revealed": answer is not None,
            "good": answer == "right",
            "says": [text(f"lessons.home.guess_says.{answer}", **said)] if known else [],
        }

    def _suction(self) -> Block:
        kpa, inhg, metre, foot = (UNITS[name].size for name in ("kPa", "inHg", "m", "ft"))
        pressure_a_metre = 1.0 / height_held(1.0)
        return {
            "id": "suction",
            "kind": "gauge",
            "spec": dial("suction"),
            "units": self.units,
            "value": GUESS_VACUUM,
            "low": 0,
            "high": GAUGE_HIGH["suction"],
            "step": 500,
            "title": text("lessons.home.suction_title"),
            "paragraphs": words("home.suction_text"),
            "label": text("lessons.home.suction_label"),
            "lines": [
                {
                    "text": text("lessons.home.suction_line_vacuum"),
                    "figures": [_figure("kpa", kpa, 0), _figure("inhg", inhg, 1)],
                },
                {
                    "text": text("lessons.home.suction_line_height"),
                    "figures": [
                        _figure("m", pressure_a_metre * metre, 1),
                        _figure("ft", pressure_a_metre * foot, 0),
                    ],
                },
            ],
            "after": text("lessons.home.suction_after"),
        }

    def _motive(self) -> Block:
        return {
            "id": "motive",
            "kind": "gauge",
            "spec": dial("motive"),
            "units": self.units,
            "value": 5.5e5,
            "low": 0,
            "high": GAUGE_HIGH["motive"],
            "step": 1e4,
            "title": text("lessons.home.motive_title"),
            "paragraphs": words("home.motive_text"),
            "label": text("lessons.home.motive_label"),
            "lines": [
                {
                    "text": text("lessons.home.motive_line"),
                    "figures": [_figure("bar", UNITS["bar"].size, 1), _figure("psi", UNITS["psi"].size, 0)],
                }
            ],
        }

    # two gauges to read, with figures drawn from the sitting's own chance

    def _round(self) -> int:
        return sum(1 for key in self.answers if key.startswith("again:"))

    def _needle(self, gauge: str, turn: int) -> float:
        """Where the needle stands [Pa]: at a mark or half-way between two of the dial, never where it stood last."""
        face = dial(gauge)["units"][self.units]
        half = 0.5 * face["minor"]
        before = at = -1
        for number in range(turn + 1):
            before, chance = at, random.Random(f"{self.work.seed} {gauge} {number}")
            while at == before:
                at = round(chance.uniform(0.12, 0.92) * face["high"] / half)
        return float(at * half * face["size_pa"])

    def _readings(self) -> list[Block]:
        blocks, turn = [], self._round()
        for gauge in READINGS:
            blocks.append(self._reading(gauge, turn))
            if f"read:{gauge}:{turn}" not in self.answers:
                return blocks
        good = all(self._reading(gauge, turn)["good"] for gauge in READINGS)
        on = on_to("reading_done" if good else "reading_weak", "reading_on", part="screen")
        button = {"label": text("lessons.home.read_again"), "action": "again", "args": {"turn": turn}}
        again = {"id": "again", "kind": "buttons", "buttons": [button | {"primary": not good}]}
        if good:
            return [*blocks, again, on]
        return [*blocks, on | {"quiet": True}, again | {"arrive": "nearest"}]

    def _reading(self, gauge: str, turn: int) -> Block:
        question = f"read:{gauge}:{turn}"
        kept = self.answers.get(question)
        spec = dial(gauge)
        system = kept["units"] if kept else self.units
        face = spec["units"][system]
        value = kept["value"] if kept else self._needle(gauge, turn)
        half = 0.5 * face["minor"]
        answer = kept["answer"] if kept else None
        good = (
            kept is not None and answer is not None and abs(answer - value / face["size_pa"]) <= half + 1e-9
        )
        stands = f"{plain_figure(value / face['size_pa'], 4)} {face['name']}"
        says = []
        if kept:
            key = "read_right" if good else "read_wrong"
            says = [text(f"lessons.home.{key}", value=stands, mark=f"{face['minor']:g} {face['name']}")]
        return {
            "id": question,
            "kind": "question",
            # the first comes with what the guess brings, which is read before it
            "arrive": "not" if (gauge, turn) == (READINGS[0], 0) else "",
            "dial": {"spec": spec, "value": value, "hide": kept is None},
            "units": system,
            "text": text(f"lessons.home.read_{gauge}"),
            "note": text("lessons.home.read_note") if kept is None else "",
            "unit": face["name"],
            "low": 0,
            "high": round(face["high"]),
            "answer": answer,
            "shown": f"{answer:g} {face['name']}" if answer is not None else "",
            "revealed": kept is not None,
            "good": good,
            "says": says,
        }


def _figure(name: str, size: float, decimals: int) -> dict[str, Any]:
    return {"name": name, "size": size, "decimals": decimals}
