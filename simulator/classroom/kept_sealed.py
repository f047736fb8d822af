"""Which records of a class are sealed: played at its service, and not to be read by their learner yet.

What is played at the service has an id of its own kind, which no learner's page can hand in.

Throughout: ``attempt_id`` is the opaque id of an attempt.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterable
from typing import Any

from simulator.classroom.handing_out import HandOut
from simulator.errors import InputError
from simulator.records import Store

PREFIX = "at-service-"
SHEET_LEVEL = "sheet_"  # how the level of a call of a sheet begins; its id and a dash follow
SITTING_MODE = "sitting"
#: In the record of a sitting, how those who played at the service were parted: each an account, or one for all.
ACCOUNTS, OWN, SHARED = "accounts", "own", "shared"
ACCOUNTS_VARIABLE = "SIMULATOR_CLASS_ACCOUNTS"  # says the same to the pages of a class


def new_id() -> str:
    """An id for a record of something that is played at the service.

    Examples
    --------
    >>> played_at_service(new_id()), len(new_id()) <= 50
    (True, True)
    """
    return f"{PREFIX}{uuid.uuid4().hex}"


def own_accounts() -> bool:
    """Whether this page belongs to a class in which each learner has an account of their own.

    Examples
    --------
    >>> own_accounts()
    False
    """
    return os.environ.get(ACCOUNTS_VARIABLE) == OWN


def played_at_service(attempt_id: str) -> bool:
    """Whether a record is of something that is played at the service.

    Examples
    --------
    >>> played_at_service("0123abcd")
    False
    """
    return attempt_id.startswith(PREFIX)


def sealed_of(store: Store, sheets: HandOut, learner: str, among: Iterable[str]) -> set[str]:
    """Records that their learner may not read yet: a sheet's whose envelopes are shut, a sitting's that is not over.

    Parameters
    ----------
    store : the records of the class.
    sheets : what is handed out.
    learner : whose records they are.
    among : ids of some of them.
    """
    wanted = [each for each in among if played_at_service(each)]
    if not wanted:
        return set()
    ended = {row.attempt_id for row in store.list_attempts(learner) if row.finished}
    try:
        opened = {each.id for each in sheets.given() if each.is_open}
    except InputError:  # a damaged list opens no envelope
        opened = set()
    records = {each: store.attempt_record(each) for each in wanted}
    return {each for each, record in records.items() if not _is_open(each, record, ended, opened)}


def _is_open(attempt_id: str, record: dict[str, Any], ended: set[str], opened: set[str]) -> bool:
    if record.get("mode") == SITTING_MODE:
        return attempt_id in ended
    if record.get("sitting"):
        return str(record["sitting"]) in ended
    return attempt_id in ended and sheet_of(record) in opened


def sheet_of(record: dict[str, Any]) -> str:
    """The id of the sheet that a record is a call of; empty where it is of none.

    Parameters
    ----------
    record : of an attempt.

    Examples
    --------
    >>> sheet_of({"level": "sheet_monday-2"}), sheet_of({"level": "book_1"})
    ('monday', '')
    """
    level = str(record.get("level", ""))
    return level.removeprefix(SHEET_LEVEL).rpartition("-")[0] if level.startswith(SHEET_LEVEL) else ""
