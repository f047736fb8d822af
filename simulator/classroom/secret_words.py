"""Class word, trainer's password and PINs: made where nobody chose one, compared as people type them, kept as a hash."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import unicodedata

from simulator.errors import InputError
from simulator.texts import entry, text

WORDS_OF_A_CLASS, WORDS_OF_A_TRAINER = 3, 6
MIN_CLASS, MIN_TRAINER = 6, 12  # [characters] of what a person chooses
MAX_TYPED = 200  # [characters] that are looked at
PIN = re.compile(r"[0-9]{4,8}")
#: Costs of scrypt (RFC 7914): 16 MiB and some 50 ms a look, so that a list of words takes long to try.
COST, BLOCK, LANES = 2**14, 8, 1


def made_words(count: int) -> str:
    """Words drawn from the catalogue's list, joined by hyphens: easily said across a room.

    Parameters
    ----------
    count : of words [-]; each is worth seven bits.

    Examples
    --------
    >>> made_words(3).count("-")
    2
    """
    return "-".join(secrets.choice(entry("classroom.word_list")) for _ in range(count))


def as_typed(word: str) -> str:
    """A word as it is compared: capitals, accents written either way, spaces and hyphens make no difference.

    Parameters
    ----------
    word : as somebody typed it; what lies beyond 200 characters is left off.

    Examples
    --------
    >>> as_typed(" Copper - Willow gate") == as_typed("copper-willow-gate")
    True
    """
    plain = unicodedata.normalize("NFKC", word[:MAX_TYPED]).casefold()
    return "-".join(part for part in re.split(r"[\s\-–—_]+", plain) if part)


def same_word(typed: str, wanted: str) -> bool:
    """Whether a class word was typed; how long that takes tells nothing of it.

    Parameters
    ----------
    typed : by a learner.
    wanted : the word of the class.

    Examples
    --------
    >>> same_word("Copper Willow Gate", "copper-willow-gate"), same_word("", "copper-willow-gate")
    (True, False)
    """
    return hmac.compare_digest(as_typed(typed).encode(), as_typed(wanted).encode())


def checked_class_word(word: str) -> str:
    """A class word that somebody chose, as it is kept.

    Parameters
    ----------
    word : at least six characters.

    Raises
    ------
    InputError : it is shorter, or longer than 200 characters.

    Examples
    --------
    >>> checked_class_word(" copper willow ")
    'copper willow'
    """
    kept = " ".join(word.split())
    if not MIN_CLASS <= len(kept) <= MAX_TYPED or not kept.isprintable():
        raise InputError(
            text("classroom.bad_class_word").rstrip("."), "class word", f"{MIN_CLASS} to {MAX_TYPED}"
        )
    return kept


def checked_password(password: str) -> str:
    """A trainer's password that somebody chose.

    Parameters
    ----------
    password : at least twelve characters.

    Raises
    ------
    InputError : it is shorter, or longer than 200 characters.
    """
    if not MIN_TRAINER <= len(password) <= MAX_TYPED:
        raise InputError(
            text("classroom.bad_password").rstrip("."), "password", f"{MIN_TRAINER} to {MAX_TYPED}"
        )
    return password


def checked_pin(pin: str, again: str) -> str:
    """A PIN that is set for the first time.

    Parameters
    ----------
    pin : four to eight digits.
    again : the same once more.

    Raises
    ------
    InputError : it is not four to eight digits, or the two differ.

    Examples
    --------
    >>> checked_pin("4711", "4711")
    '4711'
    """
    if not PIN.fullmatch(pin):
        raise InputError(text("classroom.bad_pin").rstrip("."), "PIN")
    if pin != again:
        raise InputError(text("classroom.pins_differ").rstrip("."), "PIN")
    return pin


def hashed(secret: str) -> str:
    """What is kept of a PIN or password: salt and scrypt hash (RFC 7914), as hexadecimal digits with a colon between.

    Parameters
    ----------
    secret : as typed.

    Examples
    --------
    >>> is_secret("4711", hashed("4711")), is_secret("4712", hashed("4711"))
    (True, False)
    """
    salt = secrets.token_bytes(16)
    return f"{salt.hex()}:{_scrypt(secret, salt).hex()}"


def is_secret(typed: str, kept: str) -> bool:
    """Whether what was typed is what the hash was made of; False for a hash that is none.

    Parameters
    ----------
    typed : by somebody.
    kept : by :func:`hashed`.

    Examples
    --------
    >>> is_secret("4711", "nothing")
    False
    """
    salt, _, digest = kept.partition(":")
    try:
        wanted = bytes.fromhex(digest)
        found = _scrypt(typed[:MAX_TYPED], bytes.fromhex(salt))
    except ValueError:
        return False
    return hmac.compare_digest(found, wanted)


def _scrypt(secret: str, salt: bytes) -> bytes:
    return hashlib.scrypt(secret.encode(), salt=salt, n=COST, r=BLOCK, p=LANES, dklen=32)
