"""The service that sealed calls are played at; it runs beside that of the records, under the trainer's account.

``python -m simulator.sealed.service`` is started by the hub, which starts it again where it ends. Each answer is
JSON, each mistake a sentence; nothing that a page may not show is ever in an answer.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from tornado.web import Application

from simulator.classroom.kept_sealed import ACCOUNTS_VARIABLE
from simulator.classroom.people_and_pins import TRAINER
from simulator.classroom.places import class_folder
from simulator.classroom.question import Listening, Question
from simulator.classroom.record_desk import RecordsAway
from simulator.errors import InputError, SimulatorError
from simulator.signing.keys import key_folder
from simulator.texts import text

if TYPE_CHECKING:  # loaded once the service listens
    from simulator.sealed.desk import SealedDesk

Ready = Callable[[], "SealedDesk | None"]
_log = logging.getLogger(__name__)


class OfACall(Question):
    """What a learner asks of sealed calls; the trainer plays none."""

    def initialize(self, hub: Any, ready: Ready) -> None:  # type: ignore[override]
        """Called by tornado.

        Parameters
        ----------
        hub : tells whose a token is.
        ready : gives the sealed calls, or nothing yet.
        """
        super().initialize(hub, lambda: self.sealed.records)
        self.ready = ready

    @property
    def sealed(self) -> SealedDesk:
        """The sealed calls.

        Raises
        ------
        RecordsAway : what they need is not loaded yet; the page asks again.
        """
        desk = self.ready()
        if desk is None:
            raise RecordsAway(text("classroom.records.away_inside"))
        return desk

    def may_read(self) -> bool:
        """Every learner, their own."""
        return self.account != TRAINER

    def may_write(self) -> bool:
        """Every learner, their own."""
        return self.account != TRAINER

    def told(self) -> dict[str, Any]:
        """What came with the question.

        Raises
        ------
        InputError : it cannot be read.
        """
        try:
            found = json.loads(self.body or b"{}")
        except (ValueError, RecursionError) as error:
            raise InputError(text("sheets.service_odd").rstrip(".")) from error
        if not isinstance(found, dict):
            raise InputError(text("sheets.service_odd").rstrip("."))
        return found

    async def with_told(self, act: Callable[[str, dict[str, Any]], dict[str, Any]]) -> None:
        """Answer with what came.

        Parameters
        ----------
        act : called with account and what came.
        """
        told = self.told()
        await self.answer(lambda: act(self.account, told))


class SealedSheets(OfACall):
    """The sealed sheets that are out."""

    async def get(self) -> None:
        """Titles, and how each call stands."""
        await self.answer(lambda: self.sealed.sheets(self.account))


class Calls(OfACall):
    """A call of a sheet."""

    async def post(self) -> None:
        """Begun, or gone on with."""
        await self.with_told(lambda account, told: self.sealed.begin(account, told))


class OneCall(OfACall):
    """A call that is played."""

    async def get(self, attempt_id: str) -> None:
        """Its page.

        Parameters
        ----------
        attempt_id : its id.
        """
        units = self.get_query_argument("units", "metric")
        await self.answer(lambda: self.sealed.state(self.account, attempt_id, units))

    async def delete(self, attempt_id: str) -> None:
        """Left.

        Parameters
        ----------
        attempt_id : its id.
        """
        await self.answer(lambda: self.sealed.leave(self.account, attempt_id))


class OneAct(OfACall):
    """An act in a call."""

    async def post(self, attempt_id: str) -> None:
        """Done, or refused with its reason.

        Parameters
        ----------
        attempt_id : of the call.
        """
        await self.with_told(lambda account, told: self.sealed.act(account, attempt_id, told))


class OneLook(OfACall):
    """How far a page has shown a call, and what may be sent now."""

    async def post(self, attempt_id: str) -> None:
        """Told and asked.

        Parameters
        ----------
        attempt_id : of the call.
        """
        await self.with_told(lambda account, told: self.sealed.look(account, attempt_id, told))


class OneSitting(OfACall):
    """A learner's latest sitting."""

    async def get(self) -> None:
        """How it stands."""
        await self.answer(lambda: self.sealed.sitting(self.account, "", {}))

    async def post(self, act: str = "") -> None:
        """Begun, a case of it opened, left, or its marks asked for.

        Parameters
        ----------
        act : which of these.
        """
        await self.with_told(lambda account, told: self.sealed.sitting(account, act, told))


def application(prefix: str, hub: Any, ready: Ready) -> Application:
    """The service below a prefix.

    Parameters
    ----------
    prefix : of its addresses, such as ``/services/sealed``.
    hub : tells whose a token is.
    ready : gives the sealed calls, or nothing while what they need is still being loaded.
    """
    given, base, one = {"hub": hub, "ready": ready}, prefix.rstrip("/"), r"([\w-]{1,64})"
    return Application(
        [
            (rf"{base}/sheets", SealedSheets, given),
            (rf"{base}/calls", Calls, given),
            (rf"{base}/calls/{one}", OneCall, given),
            (rf"{base}/calls/{one}/act", OneAct, given),
            (rf"{base}/calls/{one}/look", OneLook, given),
            (rf"{base}/sitting", OneSitting, given),
            (rf"{base}/sitting/(begin|case|leave|settle)", OneSitting, given),
        ]
    )


async def serve() -> None:
    """Listen where the hub said, for as long as the hub is there."""
    desks: list[SealedDesk] = []
    # first of all: the hub ends where a service of its does not answer in a few seconds, and the model takes longer
    here = Listening(lambda prefix, hub: application(prefix, hub, lambda: desks[0] if desks else None))
    desks.append(await asyncio.to_thread(_loaded))
    await asyncio.to_thread(_mark_the_rest, desks[0])
    await here.until_the_hub_is_gone()


def _loaded() -> SealedDesk:
    """The sealed calls, once the model is compiled."""
    from simulator.instruments.warm_up import warm_up
    from simulator.sealed.desk import SealedDesk

    warm_up()
    return SealedDesk(class_folder(), keys=key_folder(), accounts=os.environ.get(ACCOUNTS_VARIABLE, ""))


def _mark_the_rest(desk: SealedDesk) -> None:
    try:
        desk.mark_the_rest()
    except SimulatorError:  # the records are away; what is asked of them says so
        _log.exception("what is not marked yet could not be looked for")


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt):  # the class is closed: the hub ends its services by Ctrl-C
        asyncio.run(serve())
