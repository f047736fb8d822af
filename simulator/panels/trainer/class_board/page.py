"""The page of the board: a row a person, who stands still marked, and one of them looked at, live and read-only."""

from __future__ import annotations

import secrets
from typing import Any

from simulator.classroom.asking import in_a_class, page_of_class
from simulator.classroom.board import DONE, STANDING, WORKING, Place, gravest, places
from simulator.classroom.seen import Seen
from simulator.classroom.seen_words import name_words
from simulator.classroom.watching import Watching, watching
from simulator.panels.exercise.debrief_work import DebriefWork, in_page_thread
from simulator.panels.learner.sheet_calls import PREFIX
from simulator.panels.lessons.registry import DESKS, LESSONS
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.class_board.following import Following
from simulator.panels.trainer.class_board.one_call import Played, blocks_of, play_again
from simulator.panels.trainer.class_board.wall import wall_block
from simulator.texts import entry, text

ALL, STUCK = "all", "stuck"


class ClassBoard(Lesson):
    """The board.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id.
    """

    number = "board"
    on_page = ("aim", "board", "one", "what_next")

    def __init__(self, session: Any = None, watch: Watching | None = None) -> None:
        super().__init__(session)
        self.following = Following(watch or watching(self.session.store), self.session.now)
        self.following.look()
        self._show = ALL
        self._person: str | None = None  # who is looked at; one who plays without a name has an empty one
        self._played: Played | None = None
        self._work: DebriefWork | None = None
        self._channel = f"wall-{secrets.token_hex(8)}"
        in_page_thread(self.following.listen, self.follow)

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the page is for."""
        return self.part("aim", self._aim)

    def board(self) -> LessonPart:
        """Everybody, a row each."""
        return self.part("board", self._board)

    def one(self) -> LessonPart:
        """The one that is looked at."""
        return self.part("one", self._one)

    def what_next(self) -> LessonPart:
        """The way on."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _aim(self) -> list[Block]:
        title = {"id": "title", "kind": "title", "kicker": text("class_board.kicker"),
                 "text": text("class_board.title"), "lead": text("class_board.lead")}  # fmt: skip
        alone = [] if in_a_class() else [notice("alone", "quiet", text("class_board.alone"))]
        return [title, *alone]

    def places(self) -> list[Place]:
        """Where everybody is."""
        known = self.following.known
        return places(known.people, known.seen, self.session.now(), known.open or ())

    def _board(self) -> list[Block]:
        everybody = self.places()
        counts = {
            "n": len(everybody),
            "working": sum(place.state in (WORKING, STANDING) for place in everybody),
        }
        who_open = self.following.known.open  # whose page is open is known in a class alone
        key = "class_board.heading" if who_open is None else "class_board.heading_open"
        heading = {"id": "heading", "kind": "heading", "paragraphs": [],
                   "text": text(key, **counts, pages=len(who_open or ()))}  # fmt: skip
        away = []
        if self.following.trouble:
            away = [notice("away", "wait", text("class_board.away", at=self.following.heard or "–"))]
        options = [{"id": each, "label": text(f"class_board.show.{each}")} for each in (ALL, STUCK)]
        show = {"id": "show", "kind": "choices", "label": text("class_board.show.heading"), "action": "show",
                "options": options, "value": self._show}  # fmt: skip
        shown = [place for place in everybody if self._show == ALL or _needs_somebody(place)]
        rows = {"id": "people", "kind": "rows", "title": text("class_board.table"),
                "columns": list(entry("class_board.columns")), "none": text("class_board.none"),
                "rows": [self._row(place) for place in shown]}  # fmt: skip
        return [heading, *away, *self._hold(), show, rows]

    def _hold(self) -> list[Block]:
        """In a class: hold everybody, or let them go on."""
        if not in_a_class():
            return []
        held = self.following.known.held
        button = {"label": text(f"class_board.hold.{'go_on' if held else 'all'}"), "action": "hold",
                  "args": {"held": not held}, "primary": held}  # fmt: skip
        said = [notice("held", "wait", text("class_board.hold.held"))] if held else []
        return [*said, {"id": "hold", "kind": "buttons", "buttons": [button]}]

    def _row(self, place: Place) -> dict[str, Any]:
        at, name = place.at, place.person
        state = text(f"class_board.state.{place.state}")
        if at is None:
            cells: list[Any] = [name_words(name), "", "", "", "", state]
            return {"key": name, "cells": cells, "buttons": []}
        breach = gravest(at) if place.state != DONE or at.is_call else ""
        how: Any = {"text": state, "tone": "wait"} if place.state == STANDING else state
        if breach:
            how = {"text": f"{state}, {text(f'class_board.breach.{breach}')}", "tone": "bad"}
        engine = text(f"class_board.engine.{at.engine}", s=f"{at.run_s:.0f}") if at.is_call else ""
        ago = (
            text("class_board.ago", n=f"{place.quiet:.0f}")
            if place.quiet >= 1.0
            else text("class_board.just_now")
        )
        look = {"label": text("class_board.look"), "says": text("class_board.look_of", name=name_words(name)),
                "action": "look", "args": {"name": name}}  # fmt: skip
        cells = [name_words(name), what_of(at), engine, f"{at.minutes:.0f}" if at.is_call else "", ago, how]
        return {"key": name, "cells": cells, "buttons": [look], "now": name == self._person}

    def _one(self) -> list[Block]:
        place = next((each for each in self.places() if each.person == self._person), None)
        if place is None or place.at is None:
            return []
        at = place.at
        heading: Block = {
            "id": "heading",
            "kind": "heading",
            "paragraphs": [],
            "arrive": "start",
            "arrive_for": self._person,
            "text": text("class_board.one.heading", name=name_words(place.person), what=what_of(at)),
        }
        close = {"id": "close", "kind": "buttons",
                 "buttons": [{"label": text("class_board.close"), "action": "close", "args": {}}]}  # fmt: skip
        if not at.is_call:
            said = text("class_board.one.no_call", name=name_words(place.person))
            return [heading, {"id": "facts", "kind": "prose", "paragraphs": [said]}, close]
        if self._played is None or self._played.attempt_id != at.attempt_id:
            said = text("class_board.one.coming", name=name_words(place.person))
            return [heading, close, notice("coming", "quiet", said)]
        shown = blocks_of(
            self._played, at, self.units
        )  # first: it brings the call up to the second that is shown
        on_wall = []
        if self._played.attempt is not None:
            on_wall = [wall_block(self._played.attempt, self._channel, self.units)]
        return [heading, close, *on_wall, self.units_block(), *shown]

    def _what_next(self) -> list[Block]:
        heading = {"id": "heading", "kind": "heading", "text": text("class_board.next_title"),
                   "paragraphs": [text("class_board.next_text")]}  # fmt: skip
        links = [{"file": DESKS["after"].notebook, "label": text("after_class.link")},
                 {"file": LESSONS["00"].notebook, "label": text("lessons.home_link")}]  # fmt: skip
        people = {"address": page_of_class("class"), "label": text("class_board.people")}
        where = (
            [notice("people", "quiet", text("class_board.people_text")) | {"link": people}]
            if in_a_class()
            else []
        )
        return [heading, *where, {"id": "go", "kind": "go", "links": links, "quiet": True}, self.caution()]

    # what comes by itself

    def follow(self) -> None:
        """The class was looked at: what has changed is shown."""
        self._play()
        self.refresh()

    def _play(self) -> None:
        """Play the call of the one who is looked at again, beside the page, where it has gone on."""
        at = next((each.at for each in self.places() if each.person == self._person), None)
        if (
            at is None
            or not at.is_call
            or self._work is not None
            or (self._played and self._played.is_of(at))
        ):
            return
        seen: Seen = at

        def done(found: dict[str, Any] | None, error: Exception | None) -> None:
            self._work = None
            self._played = (
                found["played"] if found else Played(seen.attempt_id, seen.steps, 0.0, None, str(error))
            )
            self.refresh()

        watch = self.following.watch
        work = DebriefWork(lambda _: {"played": play_again(watch, seen)}, lambda one, all_: None, done)
        self._work = None if work.over else work

    # clicks

    def on_show(self, args: dict[str, Any], click: str) -> None:
        """All, or those who need somebody."""
        self._show = STUCK if args.get("value") == STUCK else ALL

    def on_hold(self, args: dict[str, Any], click: str) -> str:
        """Everybody is held, or goes on.

        Raises
        ------
        InputError : the class cannot be reached.
        """
        held = args.get("held") is True
        self.following.watch.hold(held)
        self.following.look()
        return text(f"class_board.hold.{'done' if held else 'over'}")

    def on_look(self, args: dict[str, Any], click: str) -> None:
        """A row was pressed."""
        self._person = str(args.get("name", ""))[:80]
        self.following.look()
        self._play()

    def on_close(self, args: dict[str, Any], click: str) -> None:
        """Nobody is looked at any more."""
        self._person, self._played = None, None


def _needs_somebody(place: Place) -> bool:
    return place.state == STANDING or (
        place.at is not None and place.state == WORKING and bool(gravest(place.at))
    )


def what_of(at: Seen) -> str:
    """What somebody is at, in words.

    Parameters
    ----------
    at : the record.

    Examples
    --------
    >>> what_of(Seen("a", "Ada", "lesson", "03", "lesson", "", "", False))
    'Lesson 03: Reading the gauge'
    """
    if at.is_call:
        number = at.sheet.rpartition("-")[2]
        if at.sheet.startswith(PREFIX) and number.isdecimal():
            return text("class_board.on_sheet", title=at.title, n=int(number) + 1)
        return text("class_board.call", title=at.title)
    known = LESSONS.get(at.lesson)
    if known is None or at.lesson == "00":
        return text("class_board.other")
    return text("class_board.lesson", number=known.number, title=known.title)
