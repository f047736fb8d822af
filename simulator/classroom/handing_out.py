"""What is handed out: call sheets in a folder of the trainer's, their envelopes shut or open; one file, written whole."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from simulator.classroom.call_sheet import CallSheet, opened
from simulator.errors import InputError
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import read_whole
from simulator.signing.envelope import Envelope
from simulator.signing.ring import Ring
from simulator.texts import text

FILE_NAME = "handed_out.json"
FORMAT = "callout-handed-out-1"
MAX_SHEETS = 20
MAX_FILE = 24 * 1024 * 1024  # [byte]


@dataclass(frozen=True)
class Given:
    """A sheet that was handed out: its envelope as signed, when, and whether the debriefs may be read."""

    envelope: Envelope
    at: str  # ISO 8601, UTC
    is_open: bool

    @property
    def id(self) -> str:
        """By which the sheet is known."""
        content = self.envelope.content
        return str(content.get("id", "")) if isinstance(content, dict) else ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {"envelope": self.envelope.as_dict(), "at": self.at, "open": self.is_open}

    @classmethod
    def from_dict(cls, raw: Any, where: str) -> Given:
        """As read from JSON.

        Parameters
        ----------
        raw : as read.
        where : the file or address it came from.

        Raises
        ------
        InputError : it is none.
        """
        if not isinstance(raw, dict) or set(raw) != {"envelope", "at", "open"}:
            raise InputError(text("sheets.damaged").rstrip("."), where)
        return cls(Envelope.from_dict(raw["envelope"], where), str(raw["at"]), raw["open"] is True)


class HandsOut(Protocol):
    """What the pages ask, the same on one machine and behind the hub."""

    def given(self) -> list[Given]:
        """What is handed out now, the newest first."""
        ...

    def ring(self) -> Ring:
        """The keys that stand behind it."""
        ...

    def hand_out(self, envelope: Envelope) -> None:
        """Give a sheet to everybody: the signed ``envelope``."""
        ...

    def set_open(self, sheet: str, is_open: bool) -> None:
        """Open the envelopes of a ``sheet`` (its id), or shut them, by ``is_open``."""
        ...

    def take_back(self, sheet: str) -> None:
        """Take a ``sheet`` (its id) off the learners' pages; what they did stays."""
        ...


def _utc_now() -> datetime:
    return datetime.now(UTC)


class HandOut:
    """The sheets in a folder.

    Parameters
    ----------
    folder : where the file lies.
    keys : folder of the trusted keys; the user's own by default.
    now : the clock.
    """

    def __init__(
        self, folder: Path, keys: Path | None = None, now: Callable[[], datetime] = _utc_now
    ) -> None:
        self._file, self._keys, self._now = folder / FILE_NAME, keys, now

    def given(self) -> list[Given]:
        """What is handed out now, the newest first.

        Raises
        ------
        InputError : the file is damaged.
        """
        if not self._file.exists():
            return []
        try:
            raw = json.loads(read_whole(self._file, MAX_FILE).decode("utf-8"))
        except (ValueError, RecursionError) as error:
            raise InputError(text("sheets.damaged").rstrip("."), str(self._file)) from error
        return given_from(raw, str(self._file))

    def stamp(self) -> int:
        """Another number as soon as something was handed out, opened or taken back; nothing is read for it."""
        try:
            return self._file.stat().st_mtime_ns
        except OSError:
            return 0

    def ring(self) -> Ring:
        """The keys that stand behind it.

        Raises
        ------
        InputError : their file is damaged.
        """
        return Ring.load(self._keys)

    def hand_out(self, envelope: Envelope) -> None:
        """Give a sheet to everybody; one that was given before takes its own place.

        Parameters
        ----------
        envelope : whole, and signed by a key that is trusted here.

        Raises
        ------
        InputError : it is not, or there are too many sheets; nothing is given then.
        OSError : the file cannot be written.
        """
        sheet = opened(envelope, self.ring())
        rest = [each for each in self.given() if each.id != sheet.id]
        if len(rest) >= MAX_SHEETS:
            raise InputError(text("sheets.too_many", most=MAX_SHEETS).rstrip("."), "call sheet")
        at = self._now().isoformat(timespec="seconds")
        self._write([Given(envelope, at, not sheet.sealed), *rest])

    def set_open(self, sheet: str, is_open: bool) -> None:
        """Open the envelopes of a sheet, or shut them.

        Parameters
        ----------
        sheet : its id.
        is_open : whether debriefs may be read.

        Raises
        ------
        InputError : it is not handed out.
        OSError : the file cannot be written.
        """
        given = self.given()
        self._there(sheet, given)
        self._write([replace(each, is_open=is_open) if each.id == sheet else each for each in given])

    def take_back(self, sheet: str) -> None:
        """Take a sheet off the learners' pages; what they did stays.

        Parameters
        ----------
        sheet : its id.

        Raises
        ------
        InputError : it is not handed out.
        OSError : the file cannot be written.
        """
        given = self.given()
        self._there(sheet, given)
        self._write([each for each in given if each.id != sheet])

    def _there(self, sheet: str, given: list[Given]) -> None:
        if not any(each.id == sheet for each in given):
            raise InputError(text("sheets.not_given").rstrip("."), "call sheet")

    def _write(self, given: list[Given]) -> None:
        private_folder(self._file.parent, tighten=False)
        write_private(self._file, json.dumps(as_raw(given), ensure_ascii=False))


def as_raw(given: list[Given]) -> dict[str, Any]:
    """Sheets that are handed out, for JSON.

    Parameters
    ----------
    given : the newest first.
    """
    return {"format": FORMAT, "given": [each.as_dict() for each in given]}


def given_from(raw: Any, where: str) -> list[Given]:
    """Sheets that are handed out, as read from JSON.

    Parameters
    ----------
    raw : as read.
    where : the file or address it came from.

    Raises
    ------
    InputError : these are none.
    """
    rows = raw.get("given") if isinstance(raw, dict) and raw.get("format") == FORMAT else None
    if not isinstance(rows, list):
        raise InputError(text("sheets.damaged").rstrip("."), where)
    return [Given.from_dict(row, where) for row in rows[:MAX_SHEETS]]


def sheets_of(desk: HandsOut) -> list[tuple[CallSheet, Given]]:
    """The sheets that can be played, the newest first; one that was altered on its way is left out.

    Parameters
    ----------
    desk : that hands them out.
    """
    ring, out = desk.ring(), []
    for each in desk.given():
        try:
            out.append((opened(each.envelope, ring), each))
        except InputError:
            continue
    return out
