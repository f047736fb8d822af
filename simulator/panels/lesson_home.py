"""Lesson 00: the learner's home in the yard, the cautions, the gauge, and a look at the screen."""

from __future__ import annotations

import math
import random
from typing import Any

import ipywidgets

from simulator.attempt import Attempt, MemoryStore
from simulator.panels.dial import dial
from simulator.panels.lesson_base import FILES, Lesson, words
from simulator.panels.lesson_part import Block, LessonPart
from simulator.panels.lesson_records import PASS_MARK, lesson_state
from simulator.panels.lesson_scenes import good_rig
from simulator.panels.lesson_skills import skills_block
from simulator.panels.papers.shelf import Shelf
from simulator.panels.papers.watched import WatchedJobs
from simulator.physics import water
from simulator.rig.presets import load_rig, load_site
from simulator.scenario import Scenario
from simulator.texts import entry, text
from simulator.units import STANDARD_ATMOSPHERE, STANDARD_GRAVITY, UNITS

GUESS_VACUUM = 30e3  # [Pa] on the gauge of the first guess
PLATE_VACUUM = 80e3  # [Pa] a deep vacuum of such a rig
KILOGRAM_PER_POUND = 0.453_592_37  # exact (NIST SP 811)
GAUGE_HIGH = {"suction": 100e3, "motive": 10e5}  # [Pa] how far the sliders go
READINGS = ("suction", "motive")
PRACTICE_LESSON = "09"
#: What is to be done on this page, and the part of it where that is done.
STEPS = {"name": "welcome", "safety": "safety", "guess": "gauges", "reading": "gauges"}


def height_held(vacuum: float) -> float:
    """Height [m] to which a vacuum [Pa] holds cool water up.

    Examples
    --------
    >>> round(height_held(9.8e3), 2)
    1.0
    """
    return vacuum / (float(water.density(load_site("teal_pond").water_temperature)) * STANDARD_GRAVITY)


def demonstration() -> Scenario:
    """The rig in good order at Teal Pond, from outside, to look at."""
    return good_rig().model_copy(update={"mode": "practice", "see_through": False})


class StartHere(Lesson):
    """Start here."""

    number = "00"

    def __init__(self, desk: Any = None) -> None:
        super().__init__(desk)
        self._screen: ipywidgets.VBox | None = None
        self._shelf, self._watched = Shelf(), WatchedJobs(self.desk)
        self._toured: tuple[LessonPart, Any] | None = None

    # parts, in the order of the page

    def welcome(self) -> LessonPart:
        """Who you are, where to go on, and what is done."""
        return self.part("welcome", self._welcome)

    def yard(self) -> LessonPart:
        """The yard and the rig."""
        return self.part("yard", self._yard)

    def safety(self) -> LessonPart:
        """The cautions in plain words."""
        return self.part("safety", self._safety)

    def gauges(self) -> LessonPart:
        """Units, and what a gauge says."""
        return self.part("gauges", self._gauges)

    def screen(self) -> ipywidgets.VBox:
        """The guided look at the screen of a call-out."""
        if self._screen is None:
            self._screen = ipywidgets.VBox([self.part("screen", self._screen_intro)])
            self._screen.add_class("lesson-stack")
        return self._screen

    def papers(self) -> LessonPart:
        """Sheets to print for the wall and the cab."""
        return self.parts.setdefault("papers", self._shelf.part())

    def watched(self) -> LessonPart:
        """Real jobs that somebody watched, typed back beside the marks."""
        return self.parts.setdefault("watched", self._watched.part())

    def what_next(self) -> LessonPart:
        """What is left to do here, and the next lesson."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _welcome(self) -> list[Block]:
        name = self.desk.name
        lead = text("lessons.home.greeting", name=name) if name else text("lessons.home.welcome")
        blocks: list[Block] = [
            {
                "id": "title",
                "kind": "title",
                "kicker": text("lessons.home.kicker"),
                "text": text("lessons.home.title"),
                "lead": lead,
            },
            *self.notices(),
        ]
        who = {
            "id": "name",
            "kind": "name",
            "label": text("lessons.home.name_label"),
            "button": text("lessons.home.name_change" if name else "lessons.home.name_button"),
            "hint": text("lessons.home.name_hint"),
            "value": name,
            "quiet": bool(name),
        }
        if not name:
            paragraphs = [text("lessons.home.first"), text("lessons.words.made_up")]
            blocks += [{"id": "first", "kind": "prose", "paragraphs": paragraphs}, who]
        # What to do now comes before all that one may look up.
        if self._left():
            blocks.append(self._steps())
        else:
            blocks += self._go()
        lessons = {
            "id": "lessons",
            "kind": "lessons",
            "title": text("lessons.home.lessons_title"),
            "note": text("lessons.home.lessons_note", marks=f"{PASS_MARK:.0f}"),
            "items": self._states(),
        }
        blocks += [self.units_block(), lessons, *skills_block(self.desk)]
        return [*blocks, who] if name else blocks

    def _steps(self) -> Block:
        """What is to be done on this page, the first thing left marked."""
        left = self._left()
        items = []
        for name, part in STEPS.items():
            state = "done" if name not in left else "now" if name == left[0] else "open"
            label = text(f"lessons.home.left_{name}")
            items.append(
                {
                    "label": label[:1].upper() + label[1:],
                    "part": part,
                    "state": state,
                    "says": text(f"teaching.state.{state}"),
                }
            )
        return {"id": "steps", "kind": "steps", "title": text("lessons.home.steps_title"), "items": items}

    def _states(self) -> list[dict[str, Any]]:
        return [self._state(number) for number in FILES]

    def _go(self) -> list[Block]:
        """The way on, once this page is done."""
        wanted = ("open", "begun", "weak", "due")
        for state in self._states():
            if state["state"] in wanted and state["number"] and not state["here"]:
                key = "next_again" if state["state"] in ("weak", "due") else "next_first"
                label = text(f"lessons.home.{key}", number=state["number"], title=state["title"])
                return [{"id": "go", "kind": "go", "links": [{"file": state["file"], "label": label}]}]
        return []

    def _state(self, number: str) -> dict[str, Any]:
        state, says = lesson_state(self.desk, number)
        return {
            "number": number if number.isdigit() else "",
            "file": FILES[number],
            "title": text(f"lessons.titles.{number}"),
            "detail": text(f"lessons.minutes.{number}"),
            "state": state,
            "says": says,
            "here": number == self.number,
        }

    def _yard(self) -> list[Block]:
        picture = {
            "id": "picture",
            "kind": "picture",
            "rig": self._geometry(),
            "pictures": ["site"],
            "units": self.units,
            "height": 300,
            "frame": {"t": 0, "see_through": False},
            "caption": text("lessons.home.picture_caption"),
        }
        return [self.heading("yard", "home.yard_title", words("home.yard")), picture]

    def _geometry(self) -> dict[str, Any]:
        return Attempt(demonstration(), MemoryStore(), seed=0).snapshot().rig

    def _safety(self) -> list[Block]:
        return [
            {
                "id": "safety",
                "kind": "caution",
                "title": text("lessons.home.safety_title"),
                "paragraphs": words("home.safety_intro"),
                "items": [item.format(pull=self._pull()) for item in words("home.safety")],
                "foot": text("lessons.home.safety_foot"),
                "button": text("lessons.home.safety_button"),
                "action": "safety",
                "done": text("lessons.home.safety_done") if "safety" in self.answers else "",
            }
        ]

    def _pull(self) -> str:
        """Weight that a plate on the suction flange holds against the deepest usual vacuum, roughly."""
        bore = load_rig("osier").suction_hose.bore
        mass = PLATE_VACUUM * math.pi * bore**2 / 4.0 / STANDARD_GRAVITY
        if self.units == "us":
            return text("lessons.home.pull_us", n=int(round(mass / KILOGRAM_PER_POUND, -1)))
        return text("lessons.home.pull", n=int(round(mass, -1)))

    def _gauges(self) -> list[Block]:
        return [
            self.heading("gauges", "home.gauge_title", words("home.gauge_intro")),
            self._guess(),
            *([{**self._suction(), "arrive": "nearest"}, self._motive()] if "guess" in self.answers else []),
            *(
                [self.heading("reading", "home.reading_title"), *self._readings()]
                if "guess" in self.answers
                else []
            ),
        ]

    def _guess(self) -> Block:
        held, most = height_held(GUESS_VACUUM), height_held(STANDARD_ATMOSPHERE)
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
        """Where the needle stands [Pa]: at a mark or half-way between two of the dial in use."""
        face = dial(gauge)["units"][self.units]
        chance = random.Random(f"{self.work.seed} {gauge} {turn}").uniform(0.12, 0.92)
        half = 0.5 * face["minor"]
        return float(round(chance * face["high"] / half) * half * face["size_pa"])

    def _readings(self) -> list[Block]:
        blocks, turn = [], self._round()
        for gauge in READINGS:
            blocks.append(self._reading(gauge, turn))
            if f"read:{gauge}:{turn}" not in self.answers:
                return blocks
        button = {"label": text("lessons.home.read_again"), "action": "again", "args": {"turn": turn}}
        on = {
            "id": "on",
            "kind": "notice",
            "tone": "plain",
            "paragraphs": [text("lessons.home.reading_done")],
            "to": {"part": "screen", "label": text("lessons.home.reading_on")},
            "arrive": "nearest",
        }
        return [*blocks, {"id": "again", "kind": "buttons", "buttons": [button]}, on]

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
        stands = f"{value / face['size_pa']:.4g} {face['name']}"
        says = []
        if kept:
            key = "read_right" if good else "read_wrong"
            says = [text(f"lessons.home.{key}", value=stands, mark=f"{face['minor']:g} {face['name']}")]
        return {
            "id": question,
            "kind": "question",
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

    # the guided look

    def _screen_intro(self) -> list[Block]:
        open_now = len(self.screen().children) > 1 if self._screen is not None else False
        button = {
            "label": text("lessons.home.tour_hide" if open_now else "lessons.home.tour_button"),
            "action": "screen",
            "args": {"open": not open_now},
            "primary": not open_now,
        }
        return [
            self.heading("screen", "home.tour_title", words("home.tour_intro")),
            {"id": "open", "kind": "buttons", "buttons": [button]},
        ]

    def _tour(self) -> list[Block]:
        steps = [
            {"where": step["where"], "title": step["title"], "paragraphs": [step["text"]]}
            for step in entry("lessons.home.tour_screen")
        ]
        return [{"id": "tour", "kind": "tour", "steps": steps, "seen": self.seen("tour")}]

    def on_screen(self, args: dict[str, Any], click: str) -> None:
        """Show the screen of a call-out or put it away; nothing of it is recorded."""
        stack = self.screen()
        intro, *shown = stack.children
        if args.get("open") and not shown:
            stack.children = (intro, *self._tour_parts())
        elif not args.get("open") and shown:
            stack.children = (intro,)

    def _tour_parts(self) -> tuple[LessonPart, Any]:
        """The words of the guided look and the screen they speak of; made once, and kept when put away."""
        if self._toured is None:
            from simulator.panels.exercise import ExercisePanel  # here, as it is slow to load

            tour = LessonPart("tour", self._tour, self.act)
            tour.add_class("lesson-stick")
            attempt = Attempt(demonstration(), MemoryStore(), seed=0)
            self._toured = (tour, ExercisePanel(attempt, debriefer=None, units=self.units))
        return self._toured

    # what next

    def _left(self) -> list[str]:
        """What is still to do on this page."""
        turn = self._round()
        done = {
            "name": bool(self.desk.name),
            "safety": "safety" in self.answers,
            "guess": "guess" in self.answers,
            "reading": turn > 0 or all(f"read:{gauge}:{turn}" in self.answers for gauge in READINGS),
        }
        return [name for name, is_done in done.items() if not is_done]

    def _what_next(self) -> list[Block]:
        left = [text(f"lessons.home.left_{name}") for name in self._left()]
        if left:
            joined = (
                left[0] if len(left) == 1 else f"{', '.join(left[:-1])} {text('lessons.home.and')} {left[-1]}"
            )
            said = text("lessons.home.what_next_left", what=joined)
        else:
            begun = any(state["state"] != "open" for state in self._states() if state["number"] == "01")
            said = text("lessons.home.what_next_on" if begun else "lessons.home.what_next_done")
        go = [] if left else self._go()
        return [
            self.heading("next", "home.what_next_title", [said]),
            *(go or [self.links("go", "01", PRACTICE_LESSON) | {"quiet": bool(left)}]),
            self.caution(),
        ]

    # clicks

    def on_name(self, args: dict[str, Any], click: str) -> str:
        """The learner's name was typed."""
        self.desk.set_name(str(args.get("name", "")))
        self.work = type(self.work)(self.desk, self.number)
        name = self.desk.name
        return text("lessons.home.name_kept", name=name) if name else text("lessons.home.name_dropped")

    def on_safety(self, args: dict[str, Any], click: str) -> None:
        """The cautions were read."""
        self.work.keep("safety", True, click)
        self._finish()

    def on_again(self, args: dict[str, Any], click: str) -> None:
        """Two other gauges to read."""
        if args.get("turn") == self._round():
            self.work.keep(f"again:{self._round()}", True, click)

    def on_answer(self, args: dict[str, Any], click: str) -> None:
        """The guess, or a reading."""
        question, answer = str(args.get("question", "")), args.get("answer")
        if question == "guess":
            if answer in ("too_small", "right", "too_large", "by_hose"):
                self.work.keep("guess", answer, click)
        elif question.startswith("read:"):
            _, gauge, turn = question.split(":")
            if gauge in READINGS and turn == str(self._round()) and isinstance(answer, (int, float)):
                kept = {"answer": float(answer), "value": self._needle(gauge, int(turn)), "units": self.units}
                self.work.keep(question, kept, click)
        self._finish()

    def _finish(self) -> None:
        """Once all is done, the lesson is marked by the two gauges read last: a guess before the teaching is free."""
        turn = self._round()
        if any(f"read:{gauge}:{turn}" not in self.answers for gauge in READINGS):
            return
        if [name for name in self._left() if name != "name"]:
            return
        good = [bool(self._reading(gauge, turn)["good"]) for gauge in READINGS]
        parts = [{"label": name, "good": ok} for name, ok in zip(READINGS, good, strict=True)]
        self.work.finish(round(100.0 * sum(good) / len(good)), parts)


def _figure(name: str, size: float, decimals: int) -> dict[str, Any]:
    return {"name": name, "size": size, "decimals": decimals}
