"""Setting an attempt aside whose chain does not hold: its rows stay, no page meets it, its sound front part goes on.

Throughout: ``connection`` is one of SQLAlchemy's, within a transaction; ``attempt_id`` is the opaque id of an
attempt; ``broken`` is what does not hold, ``links`` are the rows of a chain, ``where`` names the records, ``now`` is
the time as ISO 8601.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, select

from simulator.errors import InputError
from simulator.records import tables
from simulator.records.chain import COLUMNS, Broken, Link, examine
from simulator.records.checking import head_of, links_of
from simulator.records.writing import put_attempt, put_ending, put_event, put_marks
from simulator.texts import text

KEPT_FROM = "kept_from"  # in a record: the attempt of which this is the sound front part
_TOLD = 4  # sentences before the rest is only counted


def set_aside(connection: Connection, broken: Iterable[Broken], now: str) -> list[str]:
    """Set attempts aside that still do not hold, and say so, a sentence each.

    Within one writing transaction, in which each is looked at again: another process may have been first.
    """
    told = []
    for each in broken:
        if _is_aside(connection, each.attempt_id):
            continue
        links = links_of(connection, [each.attempt_id]).get(each.attempt_id, [])
        if each.how not in ("short", "replaced", "gone"):
            now_broken, _ = examine(each.attempt_id, links, head_of(connection, each.attempt_id), None)
            if now_broken is None:
                continue
            each = now_broken
        links.sort(key=lambda link: link.number if type(link.number) is int else 2**62)
        kept = _keep_front(connection, each, links[: each.sound])
        reason = sentence(each, links, kept)
        connection.execute(
            tables.set_aside.insert().values(
                attempt_id=each.attempt_id, reason=reason, kept_as=kept, made_at=now
            )
        )
        told.append(reason)
    return told


def sentence(broken: Broken, links: list[Link], kept: str | None = None) -> str:
    """What is wrong with an attempt and, once it is set aside, what was kept of it, for whoever opens the records.

    Examples
    --------
    >>> sentence(Broken("ab12", "gone", 0, 3), [])
    'An attempt (ab12) is missing from the records with all that was in it (3 steps); it was there before.'
    """
    record = next((link for link in links if link.kind == "record"), None)
    names = dict(zip(COLUMNS["record"], record.values, strict=True)) if record and broken.sound else {}
    whose = text("records.aside.whose", learner=names["learner"], lesson=names["lesson"]) if names else ""
    what = text(
        f"records.aside.{broken.how}",
        attempt=broken.attempt_id[:12],
        whose=whose,
        row=broken.row,
        sound=broken.sound,
        expected=broken.expected,
        missing=max(broken.expected - broken.sound, 0),
    )
    if kept is None:
        return what
    return (
        f"{what} {text('records.aside.kept' if kept else 'records.aside.nothing_kept', sound=broken.sound)}"
    )


def refuse_aside(connection: Connection, attempt_id: str, where: str) -> None:
    """Refuse an attempt that was set aside.

    Raises
    ------
    InputError : it was; with what was said of it then.
    """
    a = tables.set_aside.c
    reason = connection.execute(select(a.reason).where(a.attempt_id == attempt_id)).scalar()
    if reason is not None:
        raise InputError(str(reason).rstrip("."), where)


def told_shortly(sentences: list[str]) -> list[str]:
    """The first few of many sentences, and how many more there are."""
    if len(sentences) <= _TOLD:
        return sentences
    return [*sentences[:_TOLD], text("records.aside.more", more=len(sentences) - _TOLD)]


def _is_aside(connection: Connection, attempt_id: str) -> bool:
    a = tables.set_aside.c
    return connection.execute(select(a.made_at).where(a.attempt_id == attempt_id)).first() is not None


def _keep_front(connection: Connection, broken: Broken, front: list[Link]) -> str:
    """Add the sound front part as an attempt of its own and return its id; empty where there is nothing to go on with."""
    if not any(link.kind == "event" for link in front):
        return ""
    first = dict(zip(COLUMNS["record"], front[0].values, strict=True))
    record: dict[str, Any] = json.loads(first["record"])
    if record.get("sealed"):  # a case under assessment is not gone on with by another name
        return ""
    kept = hashlib.sha256(f"{broken.attempt_id} {front[-1].hash}".encode()).hexdigest()[:32]
    a = tables.attempts.c
    if connection.execute(select(a.seed).where(a.attempt_id == kept)).first() is not None:
        return kept
    put_links(connection, kept, front, {**record, KEPT_FROM: broken.attempt_id})
    return kept


def put_links(connection: Connection, attempt_id: str, links: list[Link], record: dict[str, Any]) -> None:
    """Add the links of a sound chain once more, as the rows of an attempt.

    Parameters
    ----------
    links : in their order, the record first.
    record : what is kept as the record.
    """
    first = dict(zip(COLUMNS["record"], links[0].values, strict=True))
    put_attempt(connection, attempt_id, record, first["made_at"], first["number"])
    for link in links[1:]:
        row = dict(zip(COLUMNS[link.kind], link.values, strict=True))
        if link.kind == "event":
            payload = json.loads(row["payload"])
            put_event(connection, attempt_id, row["seq"], payload, row["click_id"], row["made_at"])
        elif link.kind == "marks":
            sheet = json.loads(row["sheet"])
            put_marks(
                connection, attempt_id, row["source"], row["version"], row["marked_by"], sheet, row["made_at"]
            )
        else:
            put_ending(connection, attempt_id, row["reason"], row["made_at"])
