"""The hub's authenticator: asks the door, and shows the log-in page of the class with the door's own sentences."""

from __future__ import annotations

import asyncio
import re
from typing import Any

from jupyterhub.auth import Authenticator
from jupyterhub.handlers.login import LoginHandler
from traitlets import Bool, Instance, Integer, default

from simulator.classroom.login import Door, Typed
from simulator.classroom.pages import RoomHandler, WallHandler, first_page
from simulator.classroom.people_and_pins import TRAINER, People
from simulator.classroom.places import SETTINGS, class_folder, read_settings
from simulator.errors import InputError, SimulatorError
from simulator.texts import entry, text

FIELDS = ("name", "word", "pin", "again")


class DoorHandler(LoginHandler):
    """The log-in page: for a learner, or with ``?as=trainer`` for the trainer."""

    refusal = ""

    async def _page(self, status: int = 200) -> None:
        """Show the page; a name that was typed stays, words and PINs never come back."""
        login = self.authenticator
        self.set_status(status)
        page = await self.render_template(
            "class_login.html",
            texts=entry("classroom.login"),
            is_trainer=self.get_argument("as", "") == TRAINER,
            typed_name=self.get_body_argument("name", ""),
            refusal=self.refusal,
            plain=not login.encrypted,
            next=self.get_argument("next", ""),
            xsrf=self.xsrf_token.decode("ascii"),
            login_url=self.settings["login_url"],
        )
        self.finish(page)

    async def get(self) -> None:
        """The empty page; who is in already goes on."""
        if self.current_user:
            await super().get()
            return
        _ = self.xsrf_token  # sets its cookie
        await self._page()

    async def post(self) -> None:
        """What was typed."""
        user = await self.login_user({"username": ""})
        if user:
            self._jupyterhub_user = user
            wanted = self.get_next_url(user)
            of = re.search(r"/user/([^/]+)/", wanted)  # the page of who sat here before is none of theirs
            self.redirect(first_page(self) if of and of[1] != user.name else wanted)
        else:
            await self._page(403)


class ClassAuthenticator(Authenticator):
    """Class word, name and PIN for a learner; a password for the trainer, who is the hub's administrator."""

    door = Instance(Door, help="Judges what is typed; by default by the words in the folder of the class.")
    encrypted = Bool(False, help="Whether the pages go over the line encrypted.").tag(config=True)
    most = Integer(0, help="How many learners are let in at once.").tag(config=True)

    @default("door")
    def _door_of_the_class(self) -> Door:
        folder = class_folder()
        settings = read_settings(folder)
        if settings is None:
            raise InputError(text("classroom.settings_damaged").rstrip("."), str(folder / SETTINGS))
        return Door(People(folder), settings.class_word, settings.trainer)

    async def authenticate(self, handler: Any, data: Any = None, **_: Any) -> dict[str, Any] | None:
        """Let somebody in, or leave the sentence that says why not with the page.

        Parameters
        ----------
        handler : of the log-in page, which holds what was typed.
        data : what the hub read of it; not used.
        """
        typed = Typed(
            **{name: handler.get_body_argument(name, "", strip=False) for name in FIELDS},
            address=handler.request.remote_ip,
        )
        try:
            if handler.get_argument("as", "") == TRAINER:
                await asyncio.to_thread(self.door.trainer, typed)
                return {"name": TRAINER, "admin": True}
            person = await asyncio.to_thread(self.door.learner, typed)
        except (SimulatorError, OSError) as error:
            handler.refusal = str(error)
            return None
        return {"name": person.account, "admin": False}

    def get_handlers(self, app: Any) -> list[tuple[str, Any]]:
        """The pages of the class at the hub.

        Parameters
        ----------
        app : the hub.
        """
        return [("/login", DoorHandler), ("/class", RoomHandler), ("/class/wall", WallHandler)]
