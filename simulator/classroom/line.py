"""The line to the service of the class: a question with a token, an answer as plain data, mistakes as sentences."""

from __future__ import annotations

import json
import urllib.error
import urllib.request
from http.client import HTTPException
from typing import Any

from simulator.errors import InputError
from simulator.texts import text

PATIENCE = 4.0  # [s] for an answer from the same machine
LONGEST_ANSWER = 32 * 1024 * 1024  # [byte]
WAIT = "Retry-After"  # header: after how many seconds to ask again


class Away(InputError):
    """Nobody answered, or what answered cannot do it just now: the same again later may work."""


class Refused(InputError):
    """The service understood, and will not; ``code`` of HTTP, ``wait`` [s] until it may be tried again, 0 for never."""

    def __init__(self, what: str, where: str, code: int, wait: float = 0.0) -> None:
        self.code, self.wait = code, wait
        super().__init__(what, where)

    def __reduce__(self) -> tuple[type, tuple[str, str, int, float]]:  # type: ignore[override]
        return type(self), (self.what, self.where, self.code, self.wait)


class Line:
    """Asks the service.

    Parameters
    ----------
    address : of the service.
    token : by which the hub knows whose page this is.
    where : what a sentence is about, such as "call sheet".
    patience : how long an answer is waited for [s].
    """

    def __init__(self, address: str, token: str, where: str, patience: float = PATIENCE) -> None:
        self.address, self.where = address.rstrip("/"), where
        self._token, self._patience = token, patience

    def ask(self, method: str, path: str, body: str = "") -> dict[str, Any]:
        """Ask once.

        Parameters
        ----------
        method : of HTTP.
        path : below the service's address.
        body : JSON, or nothing.

        Returns
        -------
        The answer; nothing in it where it was no JSON object.

        Raises
        ------
        Away : nobody answered in time.
        Refused : the service will not.
        """
        request = urllib.request.Request(
            f"{self.address}/{path}",
            data=body.encode("utf-8") if body else None,
            method=method,
            headers={"Authorization": f"token {self._token}", "Content-Type": "application/json"},
        )
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        try:
            with direct.open(request, timeout=self._patience) as reply:
                found = json.loads(reply.read(LONGEST_ANSWER) or b"{}")
        except urllib.error.HTTPError as error:
            raise self._refusal(error) from error
        except (OSError, ValueError, RecursionError, HTTPException) as error:
            raise Away(text("sheets.away").rstrip("."), self.where) from error
        return found if isinstance(found, dict) else {}

    def _refusal(self, error: urllib.error.HTTPError) -> InputError:
        if error.code >= 500:
            return Away(text("sheets.away").rstrip("."), self.where)
        try:
            said = json.loads(error.read(100_000))
        except (OSError, ValueError, RecursionError):
            said = {}
        told = isinstance(said, dict) and error.code != 403
        sentence = str(said.get("sentence")) if told else text("sheets.refused")
        wait = error.headers.get(WAIT, "")
        return Refused(sentence.rstrip("."), self.where, error.code, float(wait) if wait.isdecimal() else 0.0)
