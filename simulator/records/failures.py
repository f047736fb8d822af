"""What can go wrong with a database, said in sentences with a way out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
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
    ("no such table", "damaged"),
    ("no such column", "damaged"),
    ("unsupported file format", "damaged"),
    ("append-only", "append_only"),
)


@contextmanager
def sentences(where: str, others: Mapping[str, InputError] | None = None) -> Iterator[None]:
    """Turn what the database raises into an :class:`InputError` that says what to do.

    Parameters
    ----------
    others : what to raise instead where the reason holds a phrase.

    Raises
    ------
    InputError : the database is full, locked, damaged, read-only or gone; nothing of the act was stored.
    """
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        reason = str(error.orig) if isinstance(error, DBAPIError) else str(error)
        for phrase, other in (others or {}).items():
            if phrase in reason:
                raise other from error
        code = next((code for sign, code in _SIGNS if sign in reason), "other")
        raise InputError(
            text(f"records.failures.{code}.what", reason=reason),
            where,
            text(f"records.failures.{code}.legal"),
        ) from error
    except OverflowError as error:  # a figure that damage has made larger than any column
        raise InputError(
            text("records.failures.damaged.what"), where, text("records.failures.damaged.legal")
        ) from error
