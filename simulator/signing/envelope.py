"""A signed envelope: some content, what kind of thing it is, when it was signed and by which key.

What is signed is the content written in one way only (JSON, keys in order, no white space, UTF-8), together with its
kind and time: a sheet cannot be passed off as a pack, nor an old signature as a new one.

Arguments, the same throughout: ``raw`` as read from JSON, from the file ``where``; ``now`` with its zone.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from simulator.errors import InputError
from simulator.signing.keys import PublicKey, TrainerKey, checked_time
from simulator.texts import text

FORMAT = "callout-signed-1"
SHEET, PACK, MARKS, SUCCESSOR = "sheet", "pack", "marks", "successor"
KINDS = (SHEET, PACK, MARKS, SUCCESSOR)
MAX_BYTES = 8_000_000  # of the content as text
MAX_DEPTH = 40  # of lists and groups inside one another

#: What a check can find.
GOOD, UNSIGNED, ALTERED, UNKNOWN_KEY, RETIRED = "good", "unsigned", "altered", "unknown_key", "retired"


class Trust(Protocol):
    """The keys that are trusted here, by their ``digits``; ``moment`` in ISO 8601."""

    def name_of(self, digits: str) -> str:
        """Whose key it is; empty where it is not trusted."""
        ...

    def stands_for(self, digits: str, moment: str) -> bool:
        """Whether a key stands for what was signed at a moment."""
        ...


@dataclass(frozen=True)
class Envelope:
    """Content with a signature: ``signature`` is 128 hexadecimal digits, ``signed_at`` ISO 8601 with its zone."""

    kind: str
    content: Any
    signed_at: str
    key: PublicKey
    signature: str

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "format": FORMAT,
            "kind": self.kind,
            "signed_at": self.signed_at,
            "key": self.key.as_dict(),
            "signature": self.signature,
            "content": self.content,
        }

    @classmethod
    def from_dict(cls, raw: object, where: str = "") -> Envelope:
        """An envelope as read from JSON; whether its signature holds is another question, see :func:`check`.

        Raises
        ------
        InputError : it is no envelope of this version.
        """
        if not isinstance(raw, dict) or set(raw) != {
            "format",
            "kind",
            "signed_at",
            "key",
            "signature",
            "content",
        }:
            raise InputError(text("signing.not_signed"), where, text("signing.not_signed_legal"))
        if raw["format"] != FORMAT:
            raise InputError(text("signing.other_format", found=repr(raw["format"])[:60]), where, FORMAT)
        if (
            raw["kind"] not in KINDS
            or not isinstance(raw["signature"], str)
            or not isinstance(raw["key"], dict)
        ):
            raise InputError(text("signing.not_signed"), where, text("signing.not_signed_legal"))
        key = raw["key"]
        if set(key) != {"name", "since", "digits"}:
            raise InputError(text("signing.bad_key"), where, text("signing.bad_key_legal"))
        checked_time(raw["signed_at"], "signed_at")
        return cls(raw["kind"], raw["content"], raw["signed_at"], PublicKey(**key), raw["signature"])


@dataclass(frozen=True)
class Verdict:
    """What a check found: good, unsigned, altered, unknown_key or retired; ``name`` of the key's owner as this ring knows
    it, empty where it does not."""

    state: str
    name: str = ""
    fingerprint: str = ""
    signed_at: str = ""

    @property
    def good(self) -> bool:
        """Whether a key that is trusted here stands behind the content as it is."""
        return self.state == GOOD

    @property
    def sentence(self) -> str:
        """The finding in words."""
        return text(
            f"signing.verdict.{self.state}",
            name=self.name,
            fingerprint=self.fingerprint,
            date=self.signed_at[:10],
        )


def written(content: Any) -> bytes:
    """Content in the one way that is signed.

    Raises
    ------
    InputError : it is not plain JSON: a number that is none, a key that is no text, too deep or too large.

    Examples
    --------
    >>> written({"b": 1, "a": [1.5, "ü", None]}).decode()
    '{"a":[1.5,"ü",null],"b":1}'
    """
    _plain(content, 0)
    out = json.dumps(
        content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    ).encode("utf-8", "surrogatepass")
    if len(out) > MAX_BYTES:
        raise InputError(
            text("signing.too_large"), "content", text("signing.too_large_legal", most=MAX_BYTES // 10**6)
        )
    return out


def seal(content: Any, kind: str, key: TrainerKey, now: datetime) -> Envelope:
    """Sign some content.

    Raises
    ------
    InputError : the content is not plain JSON, or the kind is none of :data:`KINDS`.
    """
    if kind not in KINDS:
        raise InputError(text("signing.bad_kind", kind=kind), "kind", ", ".join(KINDS))
    moment = now.isoformat(timespec="seconds")
    checked_time(moment, "signed_at")
    return Envelope(kind, content, moment, key.public, key.sign(_message(kind, moment, content)).hex())


def check(envelope: Envelope | None, kind: str, ring: Trust) -> Verdict:
    """Whether an envelope of a kind is whole and signed by a key that a ring trusts.

    ``altered`` covers everything that breaks the signature: content, time, kind or key exchanged. A key that was retired
    stands for what was signed until then.
    """
    if envelope is None:
        return Verdict(UNSIGNED)
    key = envelope.key
    known = ring.name_of(key.digits)
    found = (known, key.fingerprint, envelope.signed_at)
    try:
        message, signature = (
            _message(envelope.kind, envelope.signed_at, envelope.content),
            bytes.fromhex(envelope.signature),
        )
    except (InputError, ValueError):
        return Verdict(ALTERED, *found)
    if envelope.kind != kind or not key.signed(message, signature):
        return Verdict(ALTERED, *found)
    if not known:
        return Verdict(UNKNOWN_KEY, *found)
    return Verdict(GOOD if ring.stands_for(key.digits, envelope.signed_at) else RETIRED, *found)


def _message(kind: str, moment: str, content: Any) -> bytes:
    return f"{FORMAT}\n{kind}\n{moment}\n".encode() + written(content)


def _plain(node: Any, depth: int) -> None:
    if depth > MAX_DEPTH:
        raise InputError(text("signing.too_deep"), "content", text("signing.too_deep_legal", most=MAX_DEPTH))
    if isinstance(node, dict):
        for key, value in node.items():
            if not isinstance(key, str):
                raise InputError(
                    text("signing.not_plain"), f"content, {key!r}", text("signing.not_plain_legal")
                )
            _plain(value, depth + 1)
    elif isinstance(node, (list, tuple)):
        for value in node:
            _plain(value, depth + 1)
    elif not (
        node is None
        or isinstance(node, (str, bool, int))
        or (isinstance(node, float) and math.isfinite(node))
    ):
        raise InputError(
            text("signing.not_plain"), f"content, {node!r}"[:80], text("signing.not_plain_legal")
        )
