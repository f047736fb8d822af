"""How a page reaches what hands things out: the service of its class where there is one, else this machine's folder."""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import Any

from simulator.classroom.call_sheet import file_text
from simulator.classroom.handing_out import FILE_NAME, Given, HandOut, HandsOut, as_raw, given_from
from simulator.classroom.line import Line
from simulator.errors import InputError
from simulator.records import data_folder
from simulator.records.private import write_private
from simulator.signing.envelope import Envelope
from simulator.signing.ring import RING_FORMAT, Ring

ADDRESS, TOKEN = "SIMULATOR_CLASS_SERVICE", "JUPYTERHUB_API_TOKEN"


class AskService:
    """The service of the class. What it said last is kept: a learner's page works on while the service is away.

    Parameters
    ----------
    address : of the service.
    token : by which the hub knows whose page this is.
    kept : folder of the learner's own records.
    """

    def __init__(self, address: str, token: str, kept: Path) -> None:
        self._line, self._kept = Line(address, token, "call sheet"), kept / FILE_NAME

    def given(self) -> list[Given]:
        """What is handed out now, the newest first; with the service away what it said last.

        Raises
        ------
        InputError : what was kept is damaged.
        """
        return given_from(self._known(), self._line.address)

    def ring(self) -> Ring:
        """The keys that stand behind it.

        Raises
        ------
        InputError : what was kept is damaged.
        """
        return Ring.from_dict({"format": RING_FORMAT, "keys": self._known().get("ring")}, self._line.address)

    def hand_out(self, envelope: Envelope) -> None:
        """Give a sheet to everybody.

        Parameters
        ----------
        envelope : whole, and signed by a key that the service trusts.

        Raises
        ------
        InputError : the service refuses it, or is away.
        """
        self._line.ask("POST", "sheets", file_text(envelope))

    def set_open(self, sheet: str, is_open: bool) -> None:
        """Open the envelopes of a sheet, or shut them.

        Parameters
        ----------
        sheet : its id.
        is_open : whether debriefs may be read.

        Raises
        ------
        InputError : the service refuses it, or is away.
        """
        self._line.ask("PUT", f"sheets/{sheet}", json.dumps({"open": is_open}))

    def take_back(self, sheet: str) -> None:
        """Take a sheet off the learners' pages.

        Parameters
        ----------
        sheet : its id.

        Raises
        ------
        InputError : the service refuses it, or is away.
        """
        self._line.ask("DELETE", f"sheets/{sheet}")

    def _known(self) -> dict[str, Any]:
        try:
            found = self._line.ask("GET", "sheets")
        except InputError:
            try:
                return dict(json.loads(self._kept.read_text(encoding="utf-8")))
            except (OSError, ValueError, TypeError, RecursionError):
                return as_raw([]) | {"ring": []}
        with contextlib.suppress(OSError):  # the page goes on with what it was told
            write_private(self._kept, json.dumps(found, ensure_ascii=False))
        return found


def in_a_class() -> bool:
    """Whether this page belongs to a class, so that a service hands things out.

    Examples
    --------
    >>> in_a_class()
    False
    """
    return bool(os.environ.get(ADDRESS)) and bool(os.environ.get(TOKEN))


def hands_out() -> HandsOut:
    """What hands things out to this page.

    Examples
    --------
    >>> hands_out().given()
    []
    """
    if in_a_class():
        return AskService(os.environ[ADDRESS], os.environ[TOKEN], data_folder())
    return HandOut(data_folder())


def page_of_class(name: str) -> str:
    """The address of a page of the hub, below the one that all of the class is under.

    Parameters
    ----------
    name : such as "logout", or "class" for the trainer's list of people.

    Examples
    --------
    >>> page_of_class("logout")
    '/hub/logout'
    """
    return f"{os.environ.get('JUPYTERHUB_BASE_URL', '/')}hub/{name}"
