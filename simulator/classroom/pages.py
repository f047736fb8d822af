"""The trainer's pages at the hub: who is here, a PIN reset, a page ended, a person removed, and the page for the wall."""

from __future__ import annotations

import asyncio
import contextlib
import json
import shutil
from typing import Any

from jupyterhub.handlers.base import BaseHandler
from jupyterhub.scopes import needs_scope
from tornado.web import HTTPError, authenticated

from simulator.classroom.keeping import copies_naming
from simulator.classroom.kept_sealed import OWN
from simulator.classroom.line import Line
from simulator.classroom.own_accounts import remove_account
from simulator.classroom.people_and_pins import TRAINER, Person
from simulator.classroom.places import class_folder
from simulator.classroom.wall import wall_fields
from simulator.errors import InputError
from simulator.texts import entry, text

FORGETTING = 60.0  # [s] that taking somebody's records out may take
HERE = "class"  # of the pages' addresses, below the hub's


class RoomHandler(BaseHandler):
    """Who is in the class, with what the trainer may do for them."""

    @authenticated
    @needs_scope("admin-ui")
    async def get(self) -> None:
        """The list; with ``?remove=ACCOUNT`` what removing somebody means, and the name to be typed."""
        person = self.authenticator.door.people.of_account(self.get_query_argument("remove", ""))
        await (self._page("") if person is None else self._sure(person, ""))

    @authenticated
    @needs_scope("admin-ui")
    async def post(self) -> None:
        """``act`` is ``reset``, ``end`` or ``remove``, ``account`` the learner's; to remove, ``name`` is typed.

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
            await self._end(self.find_user(account))
            said = text("classroom.room.ended", name=person.name)
        elif self.get_body_argument("act", "") == "remove":
            if self.get_body_argument("name", "").strip() != person.name:
                await self._sure(person, text("classroom.room.remove_not"))
                return
            said = await self._remove(person)
        await self._page(said)

    async def _end(self, user: Any) -> None:
        """End somebody's server; one that waits for its turn waits no longer, one that starts is let start first."""
        if user is None or not user.spawner.active:
            return
        if user.spawner.pending == "spawn":
            user.spawner.give_up()
            starting = user.spawner._spawn_future
            if starting is not None:
                await asyncio.wait([starting])
        if user.spawner.ready:
            await self.stop_single_user(user)

    async def _remove(self, person: Person) -> str:
        """Page, records, folder, name and account go, in this order: with the records away nothing else is touched."""
        user = self.find_user(person.account)
        await self._end(user)
        address, token = self.settings["class_service"]
        line = Line(address, token, "class", FORGETTING)
        asked = json.dumps({"name": person.name})
        try:
            gone = int((await asyncio.to_thread(line.ask, "POST", "class/forget", asked)).get("attempts", 0))
        except InputError:
            return text("classroom.room.remove_away")
        self.authenticator.door.remove(person.account)
        own = class_folder() / "learners" / person.account
        await asyncio.to_thread(shutil.rmtree, own, ignore_errors=True)
        if self.settings.get("class_accounts") == OWN:
            await asyncio.to_thread(remove_account, person.account)
        with contextlib.suppress(InputError):  # what was on its way meanwhile
            gone += int((await asyncio.to_thread(line.ask, "POST", "class/forget", asked)).get("attempts", 0))
        if user is not None:
            self.authenticator.delete_user(user)
            await user.delete_spawners()
            self.users.delete(user)
        said = text("classroom.room.removed", n=gone)
        if left := await asyncio.to_thread(copies_naming, class_folder(), person.name):
            names = ", ".join(each.name for each in left)
            said += f" {text('classroom.room.removed_copies', names=names, place=left[0].parent)}"
        return said

    async def _sure(self, person: Person, said: str) -> None:
        fields = {key: words.format(name=person.name) if "{name}" in words else words
                  for key, words in entry("classroom.room").items() if key.startswith("remove")}  # fmt: skip
        page = await self.render_template(
            "class_remove.html",
            texts=fields,
            account=person.account,
            said=said,
            kicker=text("classroom.room.kicker"),
            here=f"{self.hub.base_url}{HERE}",
            xsrf=self.xsrf_token.decode("ascii"),
        )
        self.finish(page)

    async def _page(self, said: str) -> None:
        rows = [self._row(person) for person in self.authenticator.door.people.all()]
        at_work = sum(row["here"] for row in rows)
        texts = dict(entry("classroom.room"))
        if self.settings.get("class_accounts") == OWN:
            texts["one_account"] = texts["own_accounts"]
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
            "soon": bool(user is not None and user.spawner.pending == "spawn"),
            "pin": bool(person.pin),
            "reset": text("classroom.room.reset_of", name=person.name),
            "end": text("classroom.room.end_of", name=person.name),
            "remove": text("classroom.room.remove_of", name=person.name),
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
