"""The trainer's key: made once, kept on the trainer's own machine, backed up, replaced by a newer one when need be.

Ed25519 (RFC 8032). The private half never leaves the folder except into a backup that a passphrase locks; the public half
travels, so that anybody can check what was signed.

Arguments, the same throughout: ``now`` with its zone; ``content`` of a file as bytes; ``where`` the place that errors
name; ``path`` of a file, which stays as it is unless ``replace``.
"""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from simulator.errors import InputError
from simulator.texts import text

if TYPE_CHECKING:  # loaded with the first key: a page of a lesson meets none
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

KEY_FOLDER_VARIABLE = "SIMULATOR_KEY_DIR"
PRIVATE_FILE = "trainer_key.pem"
MIN_PASSPHRASE = 8  # characters of the passphrase that locks a backup
MAX_NAME = 80  # characters of a trainer's name
_HEX = re.compile(r"[0-9a-f]{64}")


def key_folder() -> Path:
    """Where keys lie: ``SIMULATOR_KEY_DIR`` if set, else a folder of the user's own, apart from the records.

    Examples
    --------
    >>> key_folder().is_absolute()
    True
    """
    named = os.environ.get(KEY_FOLDER_VARIABLE, "")
    folder = (
        Path(named)
        if named
        else Path(platformdirs.user_config_dir("callout-simulator", appauthor=False)) / "keys"
    )
    return folder.expanduser().absolute()


@dataclass(frozen=True)
class PublicKey:
    """The half of a key that travels: whose it is, since when, and the 32 bytes as 64 hexadecimal digits."""

    name: str
    since: str  # ISO 8601, UTC
    digits: str

    def __post_init__(self) -> None:
        if not isinstance(self.digits, str) or not _HEX.fullmatch(self.digits):
            raise InputError(text("signing.bad_key"), "key", text("signing.bad_key_legal"))
        if not isinstance(self.name, str) or not 0 < len(self.name.strip()) <= MAX_NAME:
            raise InputError(text("signing.bad_name"), "name", text("signing.bad_name_legal", most=MAX_NAME))
        checked_time(self.since, "since")

    @property
    def fingerprint(self) -> str:
        """Eight groups of four digits by which two people compare keys aloud (SHA-256, first half).

        Examples
        --------
        >>> PublicKey("R. Ferrow", "2026-01-05T08:00:00+00:00", "00" * 32).fingerprint
        '6668 7aad f862 bd77 6c8f c18b 8e9f 8e20'
        """
        digest = hashlib.sha256(bytes.fromhex(self.digits)).hexdigest()[:32]
        return " ".join(digest[at : at + 4] for at in range(0, 32, 4))

    def signed(self, message: bytes, signature: bytes) -> bool:
        """Whether a signature (64 bytes) of a message was made with the private half of this key."""
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

        try:
            Ed25519PublicKey.from_public_bytes(bytes.fromhex(self.digits)).verify(signature, message)
        except (InvalidSignature, ValueError):
            return False
        return True

    def as_dict(self) -> dict[str, str]:
        """For JSON."""
        return {"name": self.name, "since": self.since, "digits": self.digits}


@dataclass(frozen=True)
class TrainerKey:
    """Both halves of a trainer's key."""

    public: PublicKey
    _private: Ed25519PrivateKey

    @classmethod
    def make(cls, name: str, now: datetime) -> TrainerKey:
        """A new key for a trainer's name, from the system's source of chance.

        Raises
        ------
        InputError : the name is empty or too long.
        """
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        private = Ed25519PrivateKey.generate()
        return cls(PublicKey(name.strip(), now.isoformat(timespec="seconds"), _digits(private)), private)

    @classmethod
    def load(cls, folder: Path | None = None) -> TrainerKey | None:
        """The key kept in a folder; None where there is none.

        Raises
        ------
        InputError : there is one, but it cannot be read, or others on this machine can read it.
        """
        path = (folder or key_folder()) / PRIVATE_FILE
        try:
            content = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise InputError(
                text("signing.unreadable", reason=error.strerror or str(error)), str(path)
            ) from error
        if os.name == "posix" and path.stat().st_mode & 0o077:
            raise InputError(text("signing.open_to_others"), str(path), text("signing.open_to_others_legal"))
        return cls.from_text(content, None, str(path))

    @classmethod
    def from_text(cls, content: bytes, passphrase: str | None, where: str) -> TrainerKey:
        """A key from what :meth:`as_text` wrote; ``where`` names the place in errors.

        Raises
        ------
        InputError : it is no key of ours, or the passphrase is not that of the backup.
        """
        from cryptography.hazmat.primitives import serialization as form
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        head = re.match(rb"# (?P<since>\S+) (?P<name>[^\n]+)\n", content)
        if head is None:
            raise InputError(text("signing.not_a_key"), where, text("signing.not_a_key_legal"))
        secret = passphrase.encode() if passphrase else None
        try:
            private = form.load_pem_private_key(content[head.end() :], secret)
            name, since = head["name"].decode("utf-8"), head["since"].decode("ascii")
        except TypeError as error:
            key = "signing.wants_passphrase" if secret is None else "signing.no_passphrase_wanted"
            raise InputError(text(key), where) from error
        except (ValueError, UnicodeDecodeError) as error:
            key = "signing.not_a_key" if secret is None else "signing.wrong_passphrase"
            raise InputError(text(key), where) from error
        if not isinstance(private, Ed25519PrivateKey):
            raise InputError(text("signing.not_a_key"), where, text("signing.not_a_key_legal"))
        return cls(PublicKey(name, since, _digits(private)), private)

    def as_text(self, passphrase: str | None = None) -> bytes:
        """The key as text (PKCS #8, PEM, under a line with date and name), locked where a passphrase is given.

        Raises
        ------
        InputError : the passphrase is too short.
        """
        from cryptography.hazmat.primitives import serialization as form

        if passphrase is not None and len(passphrase) < MIN_PASSPHRASE:
            raise InputError(
                text("signing.short_passphrase"),
                "passphrase",
                text("signing.short_legal", least=MIN_PASSPHRASE),
            )
        lock = form.BestAvailableEncryption(passphrase.encode()) if passphrase else form.NoEncryption()
        body = self._private.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, lock)
        return f"# {self.public.since} {self.public.name}\n".encode() + body

    def sign(self, message: bytes) -> bytes:
        """The signature (64 bytes) of a message."""
        return self._private.sign(message)


def write_private(path: Path, content: bytes, *, replace: bool = False) -> None:
    """Write what only its owner may read, whole or not at all; a file that is there stays unless it is to be replaced.

    Raises
    ------
    InputError : the file is there, or cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if path.exists() and not replace:
            raise InputError(text("signing.is_there"), str(path), text("signing.is_there_legal"))
        draft = path.with_name(f".{path.name}.{os.getpid()}")
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            draft.replace(path)
        except BaseException:
            draft.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise InputError(
            text("signing.unwritable", reason=error.strerror or str(error)), str(path)
        ) from error


def checked_time(written: object, where: str) -> datetime:
    """A time as written (ISO 8601 with its zone).

    Raises
    ------
    InputError : it is none.

    Examples
    --------
    >>> checked_time("2026-01-05T08:00:00+00:00", "since").year
    2026
    """
    try:
        moment = datetime.fromisoformat(str(written))
    except ValueError:
        moment = None  # type: ignore[assignment]
    if moment is None or moment.tzinfo is None:
        raise InputError(text("signing.bad_time"), where, text("signing.bad_time_legal"))
    return moment


def _digits(private: Ed25519PrivateKey) -> str:
    from cryptography.hazmat.primitives import serialization as form

    return private.public_key().public_bytes(form.Encoding.Raw, form.PublicFormat.Raw).hex()
