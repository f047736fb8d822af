"""What can go wrong with a database, said in sentences with a way out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from simulator.errors import InputError
from simulator.texts import text

_SIGNS = (
    ("database or disk is full", "full"),
    ("disk I/O error", "disk_error"),
    ("readonly database", "read_only"),
    ("unable to open", "cannot_open"),
    ("database is locked", "busy"),
    ("file is not a database", "damaged"),
    ("malformed", "damaged"),
    ("append-only", "append_only"),
)


@contextmanager
def sentences(where: str) -> Iterator[None]:
    """Turn what the database raises into an :class:`InputError` that says what to do.

    Raises
    ------
    InputError : the database is full, locked, damaged, read-only or gone; nothing of the act was stored.
    """
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        reason = str(error.orig) if isinstance(error, DBAPIError) else str(error)
        code = next((code for sign, code in _SIGNS if sign in reason), "other")
        raise InputError(
            text(f"records.failures.{code}.what", reason=reason),
            where,
            text(f"records.failures.{code}.legal"),
        ) from error
