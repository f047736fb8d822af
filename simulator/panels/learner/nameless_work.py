"""Work that was done here without a name, offered to who has given one: to take over, or to leave."""

from __future__ import annotations

from typing import Any

from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.records import nameless, take_over
from simulator.texts import text


class NamelessWork:
    """The offer, on a page that has ``session``, ``work`` and ``number``; in a class everybody logs in: none there.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.
    """

    session: LearnerSession
    work: Any
    number: str

    def nameless_blocks(self) -> list[Block]:
        """The offer, where there is such work and it was not left before."""
        waiting = self._waiting()
        if not waiting or _key(waiting) in self.work.answers:
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

    def on_nameless_mine(self, args: dict[str, Any], click: str) -> str:
        """What was done without a name is theirs."""
        waiting = self._waiting()
        came = take_over(self.session.store, self.session.name, waiting) if waiting else 0
        self.work = type(self.work)(self.session, self.number)
        return text("lessons.nameless.taken", n=came)

    def on_nameless_leave(self, args: dict[str, Any], click: str) -> None:
        """It is not theirs, or they do not want it."""
        if waiting := self._waiting():
            self.work.keep(_key(waiting), "left", click)

    def _waiting(self) -> tuple[dict[str, Any], ...]:
        session = self.session
        return nameless(session.store) if session.name and not session.given else ()


def _key(attempts: tuple[dict[str, Any], ...]) -> str:
    """Under what it is kept that these were left: what is done without a name later is offered again."""
    return f"nameless:{attempts[-1]['attempt_id']}"
