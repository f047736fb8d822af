"""Lesson 00: the learner's home in the yard, the cautions, the gauge, and a look at the screen."""

from __future__ import annotations

import math
from typing import Any

import ipywidgets

from simulator.attempt import Attempt, MemoryStore
from simulator.classroom.asking import in_a_class
from simulator.panels.learner.how_sure import how_sure_block
from simulator.panels.learner.how_worked import how_worked_block
from simulator.panels.learner.nameless_work import NamelessWork
from simulator.panels.learner.next_call import PASS_MARK, PRACTICE_SLOT
from simulator.panels.learner.progress import lesson_state
from simulator.panels.learner.session import LearnerSession
from simulator.panels.learner.sheet_blocks import sheet_blocks
from simulator.panels.learner.sheet_by_hand import LoadsSheets
from simulator.panels.learner.sheet_calls import given_sheets
from simulator.panels.learner.skills import skills_block
from simulator.panels.lessons.registry import DESKS, LESSONS
from simulator.panels.lessons.start_here.envelope_marks import EnvelopeMarks
from simulator.panels.lessons.start_here.gauge_reading import READINGS, GaugeReading, on_to
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import words
from simulator.panels.papers.shelf import Shelf
from simulator.panels.papers.watched import WatchedJobs
from simulator.panels.teaching.scenes import good_rig
from simulator.rig.presets import load_rig
from simulator.scenario import Scenario
from simulator.texts import entry, text
from simulator.units import KILOGRAM_PER_POUND, STANDARD_GRAVITY

PLATE_VACUUM = 91e3  # [Pa] the deepest vacuum that a rig of ours draws against a plate, to the kPa
PRACTICE_LESSON = "09"
#: What is to be done on this page, and the part of it where that is done.
STEPS = {"name": "", "safety": "safety", "guess": "gauges", "reading": "gauges"}


def demonstration() -> Scenario:
    """The rig in good order at Teal Pond, from outside, to look at."""
    return good_rig().model_copy(update={"mode": "practice", "see_through": False})


def handed_out(session: LearnerSession, envelopes: EnvelopeMarks) -> list[Block]:
    """The calls that the trainer handed out, before everything else.

    Parameters
    ----------
    session : the learner's.
    envelopes : marks what may be read and is not marked yet.
    """
    given = given_sheets(session.store, session.name, PRACTICE_SLOT)
    if not given:
        return []
    file = LESSONS[PRACTICE_LESSON].notebook
    link = {"file": file, "label": text("sheets.home_link")}
    rows = sheet_blocks(given, session.total, file, envelopes.coming(given))
    return [*rows, {"id": "to_calls", "kind": "go", "links": [link]}]


def for_trainers(opens_all: bool) -> list[Block]:
    """The way to the desks of who trains others, and whether lessons stand open for showing them.

    Parameters
    ----------
    opens_all : whether they do now.
    """
    links = [
        {"file": DESKS["builder"].notebook, "label": text("desks.home_link")},
        {"file": DESKS["sheet"].notebook, "label": text("sheets.desk.link")},
        {"file": DESKS["bench"].notebook, "label": text("bench.home_link")},
        {"file": DESKS["pump"].notebook, "label": text("own_pump.home_link")},
        {"file": DESKS["board"].notebook, "label": text("class_board.link")},
        {"file": DESKS["after"].notebook, "label": text("after_class.link")},
        {"file": DESKS["figures"].notebook, "label": text("figures.home_link")},
    ]
    now = "all" if opens_all else "in_turn"
    said = [text("desks.home_text"), *([] if in_a_class() else [text("desks.home_alone")])]
    return [
        {"id": "trainers", "kind": "heading", "text": text("desks.home_title"), "paragraphs": said},
        {"id": "desks", "kind": "go", "links": links, "quiet": True},
        {"id": "opening", "kind": "choices", "label": text("desks.home_opening"), "action": "opening", "value": now,
         "options": [{"id": each, "label": text(f"desks.home_opens.{each}")} for each in ("in_turn", "all")]},
    ]  # fmt: skip


def to_trainers() -> Block:
    """A small way from the top of the page to the desks, which stand far down it."""
    link = {"part": "what_next", "block": "trainers", "label": text("desks.home_jump")}
    return {**notice("to_trainers", "line"), "quiet": True, "to": link}


def _pull(units: str) -> str:
    """Weight whose pull holds a plate on the suction flange at the deepest vacuum of our rigs, rounded up."""
    bore = load_rig("osier").suction_hose.bore
    mass = PLATE_VACUUM * math.pi * bore**2 / 4.0 / STANDARD_GRAVITY
    if units == "us":
        return text("lessons.home.pull_us", n=10 * math.ceil(mass / KILOGRAM_PER_POUND / 10.0))
    return text("lessons.home.pull", n=10 * math.ceil(mass / 10.0))


class StartHere(NamelessWork, LoadsSheets, GaugeReading):
    """Start here.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    number = "00"
    on_page = (
        "welcome",
        "yard",
        "safety",
        "gauges",
        "screen",
        "what_next",
        "take_along",
        "papers",
        "watched",
    )

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self._screen: ipywidgets.VBox | None = None
        self._shelf, self._watched = Shelf(), WatchedJobs(self.session)
        self._toured: tuple[LessonPart, Any] | None = None
        self._envelopes = EnvelopeMarks(self.session, self.refresh)

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

    def take_along(self) -> LessonPart:
        """The learner's work saved in a file, or loaded from one."""
        return self.part("carry", lambda: [*self.transfer.block(), *self.by_hand.blocks()])

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
        name = self.session.name
        lead = text("lessons.home.greeting", name=name) if name else text("lessons.home.welcome")
        blocks: list[Block] = [
            {
                "id": "title",
                "kind": "title",
                "kicker": text("lessons.home.kicker"),
                "text": text("lessons.home.title"),
                "lead": lead,
            },
            *([] if self.session.given else [to_trainers()]),
            *self.notices(),
            *self.transfer.welcome(),
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
        blocks += self.nameless_blocks()
        blocks += handed_out(self.session, self._envelopes)
        # What to do now comes before all that one may look up.
        if self._left() or _weak(self):
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
        blocks += [
            self.units_block() | {"note": text("lessons.units.note")},
            lessons,
            *skills_block(self.session),
            *how_sure_block(self.session),
            *how_worked_block(self.session),
        ]
        return [*blocks, who] if name and not self.session.given else blocks

    def _steps(self) -> Block:
        """What is to be done on this page, the first thing left marked."""
        left = self._left() or ["reading"]
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
        return [self._state(number) for number in LESSONS]

    def _go(self) -> list[Block]:
        """The way on, once this page is done."""
        wanted = ("open", "begun", "weak", "due")
        for state in self._states():
            if state["state"] in wanted and state["number"] and not state["here"]:
                keys = {"open": "next_new", "begun": "next_first"}
                key = keys.get(state["state"], "next_again")
                label = text(f"lessons.home.{key}", number=state["number"], title=state["title"])
                return [{"id": "go", "kind": "go", "links": [{"file": state["file"], "label": label}]}]
        return []

    def _state(self, number: str) -> dict[str, Any]:
        state, says = lesson_state(self.session, number)
        return {
            "number": number if number.isdigit() else "",
            "file": LESSONS[number].notebook,
            "title": LESSONS[number].title,
            "detail": LESSONS[number].minutes,
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
        return Attempt(demonstration(), MemoryStore(), seed=0).rig_shown()

    def _safety(self) -> list[Block]:
        return [
            {
                "id": "safety",
                "kind": "caution",
                "title": text("lessons.home.safety_title"),
                "paragraphs": words("home.safety_intro"),
                "items": [item.format(pull=_pull(self.units)) for item in words("home.safety")],
                "foot": text("lessons.home.safety_foot"),
                "button": text("lessons.home.safety_button"),
                "action": "safety",
                "done": text("lessons.home.safety_done") if "safety" in self.answers else "",
            },
        ]

    # the guided look

    def _screen_intro(self) -> list[Block]:
        open_now = len(self.screen().children) > 1 if self._screen is not None else False
        button = {
            "label": text("lessons.home.tour_hide" if open_now else "lessons.home.tour_button"),
            "action": "screen",
            "args": {"open": not open_now},
            "primary": not open_now and not self._left(),  # until then something above comes first
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
        tour = {"id": "tour", "kind": "tour", "steps": steps, "seen": self.seen("tour")}
        return [tour, *([on_to("tour_done", "tour_on", part="what_next")] if self.seen("tour") else [])]

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
            from simulator.panels.exercise.panel import ExercisePanel  # here, as it is slow to load

            tour = self.part("tour", self._tour)
            tour.add_class("lesson-stick")
            attempt = Attempt(demonstration(), MemoryStore(), seed=0)
            self._toured = (tour, ExercisePanel(attempt, debriefer=None, units=self.units))
        return self._toured

    # what next

    def _left(self) -> list[str]:
        """What is still to do on this page."""
        turn = self._round()
        done = {
            "name": bool(self.session.name),
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
        elif _weak(self):
            said = text("lessons.home.what_next_weak", marks=f"{PASS_MARK:.0f}")
        else:
            begun = any(state["state"] != "open" for state in self._states() if state["number"] == "01")
            said = text("lessons.home.what_next_on" if begun else "lessons.home.what_next_done")
        go = [] if left or _weak(self) else self._go()
        return [
            self.heading("next", "home.what_next_title", [said]),
            *(go or [self.links("go", "01", PRACTICE_LESSON) | {"quiet": bool(left) or _weak(self)}]),
            self.caution(),
            # in a class the trainer has a page of their own
            *([] if self.session.given else for_trainers(self.session.opens_all)),
        ]

    # clicks

    def on_name(self, args: dict[str, Any], click: str) -> str:
        """The learner's name was typed."""
        self.session.set_name(str(args.get("name", "")))
        self.work = type(self.work)(self.session, self.number)
        name = self.session.name
        return text("lessons.home.name_kept", name=name) if name else text("lessons.home.name_dropped")

    def on_safety(self, args: dict[str, Any], click: str) -> None:
        """The cautions were read."""
        self.work.keep("safety", True, click)
        self._finish()

    def on_opening(self, args: dict[str, Any], click: str) -> str:
        """Whether the parts of the lessons stand open from the start."""
        self.session.set_opens_all(args.get("value") == "all")
        return text(f"desks.home_opened.{'all' if self.session.opens_all else 'in_turn'}")

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


def _weak(page: StartHere) -> bool:
    """Whether all was done, but too few gauges were read right for the page to count as done."""
    return page.work.finished and lesson_state(page.session, page.number)[0] == "weak"
