"""A call sheet: calls in order, how they are played, in one signed file; a sealed one gives nothing away at a glance."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import secrets
import zlib
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from simulator.errors import InputError
from simulator.scenario import Scenario, read_scenario, scenario_text
from simulator.signing.envelope import PACK, Envelope, Trust, check, seal
from simulator.signing.keys import TrainerKey
from simulator.texts import text

VERSION = 1
DRAWN = 2  # of a sheet from which each learner draws; all others stay as older programs read them
MAX_CALLS = 12
MAX_OTHERS = 5  # [-] calls that may come in place of one
MAX_TITLE = 80
MAX_BYTES = 1_000_000  # of a sheet's file, and of its calls unpacked
_KEYS = {"call_sheet", "id", "title", "sealed", "hints", "see_through", "calls"}
_KEYS_DRAWN = _KEYS | {"others"}


@dataclass(frozen=True)
class CallSheet:
    """A trainer's choice of calls.

    ``sealed``: how a call went is told once the trainer opens the envelopes. ``hints``: they may be asked for.
    ``see_through``: the inside of the rig is shown. ``others``: for each call those that may come in its place; empty
    where all learners get the same.

    Examples
    --------
    >>> CallSheet("monday", "Monday", ()).mode
    'practice'
    """

    id: str
    title: str
    calls: tuple[Scenario, ...]
    sealed: bool = False
    hints: bool = True
    see_through: bool = False
    others: tuple[tuple[Scenario, ...], ...] = ()

    @property
    def drawn(self) -> bool:
        """Whether each learner gets calls of their own."""
        return bool(self.others)

    def of_learner(self, learner: str) -> CallSheet:
        """The sheet as one learner gets it: always the same calls for the same name, none of them twice.

        Parameters
        ----------
        learner : by name.

        Examples
        --------
        >>> CallSheet("monday", "Monday", ()).of_learner("Ash").calls
        ()
        """
        if not self.drawn:
            return self
        calls: list[Scenario] = []
        for n, (call, others) in enumerate(zip(self.calls, self.others, strict=True)):
            left = [each for each in (call, *others) if each not in calls] or [call]
            digest = hashlib.sha256(f"{self.id}\n{learner}\n{n}".encode("utf-8", "replace")).digest()
            calls.append(left[int.from_bytes(digest[:8], "big") % len(left)])
        return replace(self, calls=tuple(calls), others=())

    @property
    def mode(self) -> str:
        """How its calls are played: guided with the inside shown, practice with hints, else as an assessment."""
        return "guided" if self.see_through else "practice" if self.hints else "assessment"

    def played(self, number: int) -> Scenario:
        """A call as a learner plays it.

        Parameters
        ----------
        number : of the call on the sheet [-], from 0.
        """
        how = {"mode": self.mode, "see_through": self.see_through}
        return self.calls[number].model_copy(update=how)


def new_id() -> str:
    """A name for a new sheet by which the records know it.

    Examples
    --------
    >>> len(new_id())
    12
    """
    return secrets.token_hex(6)


def checked_sheet(sheet: CallSheet) -> CallSheet:
    """A sheet that may be handed out.

    Parameters
    ----------
    sheet : as it was put together.

    Raises
    ------
    InputError : no call, too many, or a title that is none.
    """
    title = " ".join(sheet.title.split())
    if not 0 < len(title) <= MAX_TITLE or not title.isprintable():
        raise InputError(text("sheets.bad_title").rstrip("."), "title", f"1 to {MAX_TITLE}")
    if not 0 < len(sheet.calls) <= MAX_CALLS:
        raise InputError(text("sheets.bad_count").rstrip("."), "calls", f"1 to {MAX_CALLS}")
    if sheet.others and len(sheet.others) != len(sheet.calls):
        raise InputError(text("sheets.no_sheet").rstrip("."), "others", str(len(sheet.calls)))
    return replace(sheet, title=title)


def signed(sheet: CallSheet, key: TrainerKey, now: datetime) -> Envelope:
    """The sheet as it is handed out; a sealed one's calls are packed, so that a glance at the file tells nothing.

    Packing hides them from a glance and from nobody who looks for them: on a machine of the learner's own nothing can.

    Parameters
    ----------
    sheet : to be handed out.
    key : the trainer's.
    now : with its zone.

    Raises
    ------
    InputError : the sheet cannot be handed out.
    """
    whole = checked_sheet(sheet)
    calls = _put_away([scenario_text(call) for call in whole.calls], whole.sealed)
    others = [[scenario_text(call) for call in each] for each in whole.others]
    content = {
        "call_sheet": DRAWN if whole.drawn else VERSION,
        "id": whole.id,
        "title": whole.title,
        "sealed": whole.sealed,
        "hints": whole.hints,
        "see_through": whole.see_through,
        "calls": calls,
        **({"others": _put_away(others, whole.sealed)} if whole.drawn else {}),
    }
    return seal(content, PACK, key, now)


def opened(envelope: Envelope, ring: Trust) -> CallSheet:
    """The sheet in an envelope that is whole and signed by a trusted key.

    Parameters
    ----------
    envelope : as it came.
    ring : the keys trusted here.

    Raises
    ------
    InputError : it was altered, is of a key that is not trusted, or holds no sheet; nothing of it is used then.
    """
    verdict = check(envelope, PACK, ring)
    if not verdict.good:
        raise InputError(verdict.sentence.rstrip("."), "call sheet")
    content = envelope.content
    keys = {VERSION: _KEYS, DRAWN: _KEYS_DRAWN}
    version = content.get("call_sheet") if isinstance(content, dict) else None
    if type(version) is not int or set(content) != keys.get(version):
        raise InputError(text("sheets.no_sheet").rstrip("."), "call sheet")
    ticks = {name: content[name] for name in ("sealed", "hints", "see_through")}
    if not all(isinstance(tick, bool) for tick in ticks.values()) or not isinstance(content["id"], str):
        raise InputError(text("sheets.no_sheet").rstrip("."), "call sheet")
    written = _unpacked(content["calls"]) if ticks["sealed"] else content["calls"]
    calls = _read(written, MAX_CALLS + 1, "call {n}")
    spare = []
    if version == DRAWN:
        rows = _unpacked(content["others"]) if ticks["sealed"] else content["others"]
        if not isinstance(rows, list) or len(rows) != len(calls):
            raise InputError(text("sheets.no_sheet").rstrip("."), "call sheet")
        spare = [_read(row, MAX_OTHERS, f"call {n}, in its place {{n}}") for n, row in enumerate(rows, 1)]
    sheet = CallSheet(content["id"][:40], str(content["title"]), calls, **ticks, others=tuple(spare))
    return checked_sheet(sheet)


def _read(written: Any, most: int, source: str) -> tuple[Scenario, ...]:
    if not isinstance(written, list) or not all(isinstance(each, str) for each in written):
        raise InputError(text("sheets.no_sheet").rstrip("."), "call sheet")
    return tuple(read_scenario(each, source.format(n=n)) for n, each in enumerate(written[:most], 1))


def _put_away(calls: list[Any], sealed: bool) -> Any:
    """Calls as they stand in a file: packed where the sheet is sealed."""
    if not sealed:
        return calls
    return base64.b64encode(zlib.compress(json.dumps(calls).encode("utf-8"), 9)).decode("ascii")


def _unpacked(packed: object) -> Any:
    try:
        raw = base64.b64decode(str(packed), validate=True)
        stream = zlib.decompressobj()
        out = stream.decompress(raw, MAX_BYTES)
        if not stream.eof:
            raise ValueError
        return json.loads(out.decode("utf-8"))
    except (binascii.Error, zlib.error, ValueError, RecursionError) as error:
        raise InputError(text("sheets.no_sheet").rstrip("."), "call sheet") from error


def file_text(envelope: Envelope) -> str:
    """The envelope as one file.

    Parameters
    ----------
    envelope : of a sheet.
    """
    return json.dumps(envelope.as_dict(), indent=1, ensure_ascii=False) + "\n"


def read_file_text(written: str | bytes, source: str) -> Envelope:
    """The envelope in a file; whether its signature holds is asked by :func:`opened`.

    Parameters
    ----------
    written : of the file.
    source : what to call it in an error.

    Raises
    ------
    InputError : it is no envelope, or larger than a sheet can be.
    """
    raw = written.encode("utf-8", "surrogatepass") if isinstance(written, str) else written
    if len(raw) > MAX_BYTES:
        raise InputError(text("sheets.no_sheet").rstrip("."), source)
    try:
        return Envelope.from_dict(json.loads(raw.decode("utf-8")), source)
    except (ValueError, RecursionError) as error:
        raise InputError(text("sheets.no_sheet").rstrip("."), source) from error
