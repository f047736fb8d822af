"""The keys that this machine trusts: the trainer's own, those it replaced, and those a learner took in by hand.

Arguments, the same throughout: ``digits`` of a public key; ``folder`` where keys lie, by default the user's own;
``raw`` as read from JSON, from the file ``where``; ``envelope`` the note of a key that was replaced; ``name`` of the
trainer; ``now`` with its zone.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.signing.envelope import ALTERED, SUCCESSOR, UNKNOWN_KEY, Envelope, check, seal
from simulator.signing.keys import (
    PRIVATE_FILE,
    PublicKey,
    TrainerKey,
    checked_time,
    key_folder,
    write_private,
)
from simulator.texts import text

RING_FILE = "trusted_keys.json"
RING_FORMAT = "callout-keys-1"


@dataclass(frozen=True)
class Trusted:
    """A key that is trusted, until a time where it was retired (ISO 8601; empty while it stands)."""

    key: PublicKey
    until: str = ""


@dataclass(frozen=True)
class Ring:
    """All keys that are trusted here."""

    keys: tuple[Trusted, ...] = ()

    @classmethod
    def load(cls, folder: Path | None = None) -> Ring:
        """The ring kept in a folder; an empty one where there is none.

        Raises
        ------
        InputError : the file is damaged: nothing is trusted until it is mended.
        """
        path = (folder or key_folder()) / RING_FILE
        try:
            raw = json.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return cls()
        except (OSError, ValueError, RecursionError) as error:
            raise InputError(text("signing.ring_damaged"), str(path), text("signing.ring_legal")) from error
        return cls.from_dict(raw, str(path))

    @classmethod
    def from_dict(cls, raw: object, where: str) -> Ring:
        """A ring as read from JSON.

        Raises
        ------
        InputError : it is none of ours.
        """
        rows = raw.get("keys") if isinstance(raw, dict) and raw.get("format") == RING_FORMAT else None
        if not isinstance(rows, list):
            raise InputError(text("signing.ring_damaged"), where, text("signing.ring_legal"))
        out = []
        for row in rows:
            if not isinstance(row, dict) or set(row) != {"name", "since", "digits", "until"}:
                raise InputError(text("signing.ring_damaged"), where, text("signing.ring_legal"))
            until = row.pop("until")
            if until:
                checked_time(until, "until")
            out.append(Trusted(PublicKey(**row), str(until)))
        return cls(tuple(out))

    def save(self, folder: Path | None = None) -> None:
        """Keep the ring in a folder, whole or not at all.

        Raises
        ------
        InputError : the folder cannot be written.
        """
        rows = [{**each.key.as_dict(), "until": each.until} for each in self.keys]
        content = json.dumps({"format": RING_FORMAT, "keys": rows}, indent=1, ensure_ascii=False)
        write_private((folder or key_folder()) / RING_FILE, content.encode("utf-8"), replace=True)

    def name_of(self, digits: str) -> str:
        """Whose key it is, as taken in here; empty where it is not trusted."""
        return next((each.key.name for each in self.keys if each.key.digits == digits), "")

    def stands_for(self, digits: str, moment: str) -> bool:
        """Whether a key stands for what was signed at a moment (ISO 8601)."""
        for each in self.keys:
            if each.key.digits == digits:
                signed = checked_time(moment, "signed_at")
                ended = bool(each.until) and signed > checked_time(each.until, "until")
                return signed >= checked_time(each.key.since, "since") and not ended
        return False

    def trusting(self, key: PublicKey) -> Ring:
        """The ring with one more key; a key that is there stays as it is."""
        if self.name_of(key.digits):
            return self
        return Ring((*self.keys, Trusted(key)))

    def without(self, digits: str) -> Ring:
        """The ring without a key."""
        return Ring(tuple(each for each in self.keys if each.key.digits != digits))

    def succeeded(self, envelope: Envelope) -> Ring:
        """The ring after a key was replaced: the old one stands until then, the new one from then on.

        Raises
        ------
        InputError : the old key, which must have signed the new one, is not trusted here, or the note was altered.
        """
        verdict = check(envelope, SUCCESSOR, self)
        if not verdict.good:
            reason = verdict.state if verdict.state in (ALTERED, UNKNOWN_KEY) else UNKNOWN_KEY
            raise InputError(text(f"signing.succession.{reason}"), "successor")
        new = PublicKey(**_key_in(envelope.content))
        ended = tuple(
            replace(each, until=envelope.signed_at) if each.key.digits == envelope.key.digits else each
            for each in self.keys
        )
        return Ring(ended).trusting(new)


def make_key(name: str, now: datetime, folder: Path | None = None) -> TrainerKey:
    """Make a trainer's key, keep it and trust it.

    Raises
    ------
    InputError : there is one already (see :func:`rotate`), or the folder cannot be written.
    """
    place = folder or key_folder()
    key = TrainerKey.make(name, now)
    ring = Ring.load(place).trusting(key.public)
    write_private(place / PRIVATE_FILE, key.as_text())
    ring.save(place)
    return key


def rotate(now: datetime, folder: Path | None = None) -> tuple[TrainerKey, Envelope]:
    """Replace the trainer's key by a new one: the key, and the note, signed by the old one, that others take in.

    What the old key has signed until now stays good.

    Raises
    ------
    InputError : there is no key to replace, or the folder cannot be written.
    """
    place = folder or key_folder()
    old = TrainerKey.load(place)
    if old is None:
        raise InputError(text("signing.no_key"), str(place), text("signing.no_key_legal"))
    new = TrainerKey.make(old.public.name, now)
    note = seal(new.public.as_dict(), SUCCESSOR, old, now)
    ring = Ring.load(place).trusting(old.public).succeeded(note)
    ring.save(place)  # first: a key without its place in the ring would sign what nobody trusts
    write_private(place / PRIVATE_FILE, new.as_text(), replace=True)
    return new, note


def _key_in(content: Any) -> dict[str, str]:
    if not isinstance(content, dict) or set(content) != {"name", "since", "digits"}:
        raise InputError(text("signing.bad_key"), "successor", text("signing.bad_key_legal"))
    return content
