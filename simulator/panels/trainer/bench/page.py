"""The demonstration bench's page."""

from __future__ import annotations

from typing import Any

from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.texts import entry, text


class Bench(Lesson):
    """The demonstration bench: what it is for, the bench itself, what becomes of a demonstration."""

    number = "bench"
    on_page = ("aim", "bench", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self._panel: Any = None

    def aim(self) -> LessonPart:
        """What the page is for."""
        return self.part("aim", self._aim)

    def bench(self) -> Any:
        """The bench, a widget; asked for again, it is the same one, with the run as it stands."""
        if self._panel is None:
            from simulator.panels.trainer.bench.panel import BenchPanel  # here, as it is slow to load

            self._panel = BenchPanel(units=self.units)
        return self._panel

    def what_next(self) -> LessonPart:
        """What becomes of a demonstration, and the way back."""
        return self.part("what_next", self._what_next)

    def _aim(self) -> list[Block]:
        return [*self.opening("bench", "bench.kicker")]

    def _what_next(self) -> list[Block]:
        heading = {
            "id": "heading",
            "kind": "heading",
            "text": text("bench.next_title"),
            "paragraphs": list(entry("bench.next_text")),
        }
        return [heading, self.links("go", "00", "09") | {"quiet": True}, self.caution()]
