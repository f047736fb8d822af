"""Work that was done here without a name, offered to who has given one: to take over, or to leave."""

from __future__ import annotations

from typing import Any

from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.records import nameless, take_over
from simulator.texts import text


class NamelessWork:
    """The offer on the first page. In a class everybody logs in, and there is none."""

    def __init__(self, session: LearnerSession) -> None:
        self._session = session

    def _waiting(self) -> tuple[dict[str, Any], ...]:
        session = self._session
        return nameless(session.store) if session.name and not session.given else ()

    @staticmethod
    def key(attempts: tuple[dict[str, Any], ...]) -> str:
        """Under what a "leave them" is kept: for the work that was there then."""
        return f"nameless:{attempts[-1]['attempt_id']}"

    def blocks(self, answers: dict[str, Any]) -> list[Block]:
        """The offer, where there is such work and it was not left before.

        Parameters
        ----------
        answers : kept on the first page.
        """
        waiting = self._waiting()
        if not waiting or self.key(waiting) in answers:
            return []
        calls = sum("scenario" in each["record"] for each in waiting)
        said = [
            text("lessons.nameless.offer", calls=calls, pages=len(waiting) - calls),
            text("lessons.nameless.only_yours"),
        ]
        buttons = [
            {
                "label": text(f"lessons.nameless.{name}"),
                "action": f"nameless_{name}",
                "args": {},
                "primary": False,
            }
            for name in ("mine", "leave")
        ]
        return [
            {"id": "nameless_work", "kind": "notice", "tone": "plain", "paragraphs": said},
            {"id": "nameless_buttons", "kind": "buttons", "buttons": buttons},
        ]

    def mine(self) -> int:
        """Take it over; gives how many came [-]."""
        waiting = self._waiting()
        return take_over(self._session.store, self._session.name, waiting) if waiting else 0

    def left(self) -> str:
        """The key of what is left, "" where there is nothing."""
        waiting = self._waiting()
        return self.key(waiting) if waiting else ""
