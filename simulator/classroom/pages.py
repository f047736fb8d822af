"""The trainer's pages at the hub: who is here, resetting a PIN, ending a page, and the page for the wall."""

from __future__ import annotations

from typing import Any

from jupyterhub.handlers.base import BaseHandler
from jupyterhub.scopes import needs_scope
from tornado.web import HTTPError, authenticated

from simulator.classroom.people import TRAINER
from simulator.classroom.wall import wall_fields
from simulator.errors import InputError
from simulator.texts import entry, text

HERE = "class"  # of the pages' addresses, below the hub's


class RoomHandler(BaseHandler):
    """Who is in the class, with what the trainer may do for them."""

    @authenticated
    @needs_scope("admin-ui")
    async def get(self) -> None:
        """The list."""
        await self._page("")

    @authenticated
    @needs_scope("admin-ui")
    async def post(self) -> None:
        """``act`` is ``reset`` or ``end``, ``account`` the learner's.

        Raises
        ------
        HTTPError : nobody of the class has this account.
        """
        door, account = self.authenticator.door, self.get_body_argument("account", "")
        person = door.people.of_account(account)
        if person is None:
            raise HTTPError(404, text("classroom.no_such_person"))
        said = ""
        if self.get_body_argument("act", "") == "reset":
            door.reset_pin(account)
            said = text("classroom.room.reset_done", name=person.name)
        elif self.get_body_argument("act", "") == "end":
            user = self.find_user(account)
            if user is not None and user.spawner.active:
                await self.stop_single_user(user)
            said = text("classroom.room.ended", name=person.name)
        await self._page(said)

    async def _page(self, said: str) -> None:
        rows = [self._row(person) for person in self.authenticator.door.people.all()]
        at_work = sum(row["here"] for row in rows)
        texts = entry("classroom.room")
        most = self.authenticator.most
        lead = texts["lead"].format(count=at_work, most=most, names=len(rows)) if rows else texts["lead_none"]
        page = await self.render_template(
            "class_room.html",
            texts=texts,
            lead=lead,
            rows=rows,
            said=said,
            plain=not self.authenticator.encrypted,
            here=f"{self.hub.base_url}{HERE}",
            xsrf=self.xsrf_token.decode("ascii"),
        )
        self.finish(page)

    def _row(self, person: Any) -> dict[str, Any]:
        user = self.find_user(person.account)
        return {
            "account": person.account,
            "name": person.name,
            "since": person.since[:10],
            "here": bool(user is not None and user.spawner.active),
            "pin": bool(person.pin),
            "reset": text("classroom.room.reset_of", name=person.name),
            "end": text("classroom.room.end_of", name=person.name),
        }


class WallHandler(BaseHandler):
    """What stands on the wall: address, its square, class word."""

    @authenticated
    @needs_scope("admin-ui")
    async def get(self) -> None:
        """The page."""
        self.finish(await self.render_template("class_wall.html", **self.settings["wall"]))


def first_page(handler: Any) -> str:
    """Where somebody goes who has just come in: the trainer to the list, a learner to the lessons.

    Parameters
    ----------
    handler : of the hub.
    """
    user = handler.current_user
    if user is None:
        return f"{handler.hub.base_url}login"
    return f"{handler.hub.base_url}{HERE if user.name == TRAINER else 'spawn'}"


def wall_settings(address: str, class_word: str, encrypted: bool) -> dict[str, Any]:
    """What the page for the wall shows, for the hub's settings.

    Parameters
    ----------
    address : at which the class is open.
    class_word : for learners.
    encrypted : whether the pages go over the line encrypted.

    Raises
    ------
    InputError : the address is too long for a square.
    """
    try:
        return wall_fields(address, class_word, encrypted)
    except ValueError as error:
        raise InputError(str(error), "address") from error
