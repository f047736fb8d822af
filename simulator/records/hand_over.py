"""Handing chains from one store to another, link by link: what was begun here goes on there, the same to the hash.

A link has an identity of its own: the attempt, its place in the chain and the hash over it and all before it. To hand the
same one over twice changes nothing; one that does not follow on what is there is refused. What comes from elsewhere
is looked at as a work file is, before any of it is kept.

Throughout: ``learner`` is the name whose records they are, ``attempt_id`` the opaque id of an attempt, ``connection``
one of SQLAlchemy's, within a transaction.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, func, select

from simulator.errors import BrokenFile, InputError
from simulator.records import tables
from simulator.records.aside import refuse_aside
from simulator.records.chain import COLUMNS, Head, Link, link_hash
from simulator.records.checking import head_of, links_of
from simulator.records.kinds import check_entry
from simulator.records.rows import attempt_values, event_values, plain
from simulator.records.store import Store
from simulator.records.work_limits import MAX_ATTEMPTS, look_over
from simulator.records.writing import progress_hash, put_as_it_was, put_progress
from simulator.texts import text

MAX_LINKS = 200_000  # [-] of all attempts of one learner
LONGEST_CLICK = 80  # [characters], as the table has it
_WORD, _WHOLE, _FIGURE, _CLICK = (str,), (int,), (float, type(None)), (str, type(None))
_TYPES: dict[str, tuple[tuple[type, ...], ...]] = {
    "record": (_WORD, _WHOLE, _WORD, _WORD, _WORD, _WHOLE, _WORD, _WORD, _WORD, _WORD),
    "event": (_WHOLE, _CLICK, _FIGURE, _FIGURE, _WORD, _WORD, _WORD),
    "marks": (_WORD, _WHOLE, _WORD, _WORD, _WORD),
    "ending": (_WORD, _WORD),
}


@dataclass(frozen=True)
class Coming:
    """Links of one attempt on their way, in order; ``shown`` is how far its page has shown, and when, or None."""

    attempt_id: str
    links: tuple[Link, ...] = ()
    shown: dict[str, Any] | None = None

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "attempt_id": self.attempt_id,
            "links": [[link.number, link.kind, list(link.values), link.hash] for link in self.links],
            "shown": self.shown,
        }


@dataclass
class Taken:
    """What became of what came: where each chain ends now, and a sentence for each that was refused."""

    heads: dict[str, Head] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Standing:
    """How far a learner's records go: where each chain ends, and when its page was last shown (UTC, ISO 8601)."""

    heads: dict[str, Head]
    shown: dict[str, str]


def standing(store: Store, learner: str) -> Standing:
    """How far a learner's records in a store go, in the order in which attempts were begun.

    Parameters
    ----------
    store : the records.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     [count for count, _ in standing(store, "Ash").heads.values()]
    [1]
    """
    a, h, p = tables.attempts.c, tables.heads.c, tables.progress.c
    aside = select(tables.set_aside.c.attempt_id)
    query = select(a.attempt_id, h.count, h.hash, p.made_at).select_from(
        tables.attempts.join(tables.heads, a.attempt_id == h.attempt_id).outerjoin(
            tables.progress, a.attempt_id == p.attempt_id
        )
    )
    query = query.where(a.learner == learner, a.attempt_id.not_in(aside))
    with store.transaction(write=False) as connection:
        rows = connection.execute(query.order_by(a.number, a.made_at, a.attempt_id)).all()
    return Standing(
        {row[0]: (int(row[1]), str(row[2])) for row in rows},
        {row[0]: str(row[3]) for row in rows if row[3] is not None},
    )


@dataclass(frozen=True)
class Begun:
    """A record of anybody's: when it was begun and last shown, why it was left (or nothing), and where its chain ends."""

    attempt_id: str
    learner: str
    made_at: str
    shown_at: str
    ending: str
    head: Head


def all_begun(store: Store) -> list[Begun]:
    """Everybody's records in the order in which they were begun; those set aside are left out.

    Parameters
    ----------
    store : the records.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     [(each.learner, each.ending, each.head[0]) for each in all_begun(store)]
    [('Ash', '', 1)]
    """
    a, h, p, e = tables.attempts.c, tables.heads.c, tables.progress.c, tables.endings.c
    joined = tables.attempts.join(tables.heads, a.attempt_id == h.attempt_id)
    joined = joined.outerjoin(tables.progress, a.attempt_id == p.attempt_id)
    joined = joined.outerjoin(tables.endings, a.attempt_id == e.attempt_id)
    query = select(a.attempt_id, a.learner, a.made_at, p.made_at, e.reason, h.count, h.hash).select_from(
        joined
    )
    query = query.where(a.attempt_id.not_in(select(tables.set_aside.c.attempt_id)))
    with store.transaction(write=False) as connection:
        rows = connection.execute(query.order_by(a.number, a.made_at, a.attempt_id)).all()
    return [Begun(*row[:3], row[3] or "", row[4] or "", (int(row[5]), str(row[6]))) for row in rows]


def whose(store: Store, attempt_id: str) -> str | None:
    """The name that stands in an attempt, with all of it that is not set aside; None where there is none.

    Parameters
    ----------
    store : the records.
    """
    a = tables.attempts.c
    with store.transaction(write=False) as connection:
        found = connection.execute(select(a.learner).where(a.attempt_id == attempt_id)).scalar()
    return None if found is None else str(found)


def chain_of(store: Store, attempt_id: str, start: int = 0) -> Coming:
    """An attempt from a link on, ready to be handed over; nothing in it where there is no such attempt.

    Parameters
    ----------
    store : the records.
    start : number of the first link that is wanted [-].

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     [link.kind for link in chain_of(store, attempt).links]
    ['record']
    """
    p = tables.progress.c
    with store.transaction(write=False) as connection:
        links = links_of(connection, [attempt_id]).get(attempt_id, [])
        row = connection.execute(select(p.data, p.made_at, p.hash).where(p.attempt_id == attempt_id)).first()
    shown = None
    if row is not None and row.hash == progress_hash(attempt_id, row.data, row.made_at):
        shown = {"data": plain(row.data, "records"), "made_at": row.made_at}
    wanted = sorted((link for link in links if link.number >= start), key=lambda link: link.number)
    return Coming(attempt_id, tuple(wanted), shown)


def coming_from(raw: Any) -> Coming:
    """Links on their way, as they were read from JSON.

    Parameters
    ----------
    raw : as :meth:`Coming.as_dict` gives it.

    Raises
    ------
    InputError : it is not such a thing.

    Examples
    --------
    >>> coming_from({"attempt_id": "a", "links": [], "shown": None})
    Coming(attempt_id='a', links=(), shown=None)
    """
    try:
        return _coming_from(*(raw[name] for name in ("attempt_id", "links", "shown")))
    except (TypeError, KeyError, ValueError) as error:
        raise _refused("not_read") from error


def _coming_from(attempt_id: Any, links: Any, shown: Any) -> Coming:
    if type(attempt_id) is not str or not 1 <= len(attempt_id) <= 64 or type(links) is not list:
        raise ValueError("attempt_id")
    if shown is not None and (type(shown) is not dict or set(shown) != {"data", "made_at"}):
        raise ValueError("shown")
    return Coming(attempt_id, tuple(_link_from(each) for each in links), shown)


def _link_from(raw: Any) -> Link:
    number, kind, values, made = raw
    if type(number) is not int or type(kind) is not str or type(values) is not list or type(made) is not str:
        raise ValueError("link")
    types = _TYPES[kind]
    if len(values) != len(types) or any(
        type(value) not in of for value, of in zip(values, types, strict=True)
    ):
        raise ValueError("values")
    if any(type(value) is str and "\x00" in value for value in values):
        raise ValueError("values")
    return Link(number, kind, tuple(values), made)


def take_in(store: Store, learner: str, coming: Iterable[Coming]) -> Taken:
    """Take what somebody hands over into their records: all that follows on what is there, each link once.

    Parameters
    ----------
    store : the records.
    coming : attempts with links; a gap ends what is taken of one.

    Returns
    -------
    Where each chain ends now. What is refused is left out whole, with a sentence; the rest is taken in all the same.

    Raises
    ------
    InputError : the store cannot be written; then nothing was kept.

    Examples
    --------
    >>> with Store.open("sqlite://") as here, Store.open("sqlite://") as there:
    ...     attempt = here.create_attempt({"learner": "Ash", "lesson": "01", "mode": "lesson"})
    ...     taken = [take_in(there, "Ash", [chain_of(here, attempt)]) for _ in range(2)]
    ...     taken[0].heads == taken[1].heads == standing(here, "Ash").heads, len(there.list_attempts())
    (True, 1)
    """
    out = Taken()
    with store.transaction() as connection:
        for each in coming:
            try:
                out.heads[each.attempt_id] = _take(connection, learner, each)
            except InputError as error:
                out.refused[each.attempt_id] = str(error)
    return out


def _take(connection: Connection, learner: str, coming: Coming) -> Head:
    """One attempt: all is looked at before anything is written, so that a refusal leaves nothing behind."""
    a, attempt_id = tables.attempts.c, coming.attempt_id
    owner = connection.execute(select(a.learner).where(a.attempt_id == attempt_id)).scalar()
    if owner is not None and owner != learner:
        raise _refused("not_yours")
    refuse_aside(connection, attempt_id, "records")
    links = sorted(links_of(connection, [attempt_id]).get(attempt_id, []), key=lambda link: link.number)
    head, new = head_of(connection, attempt_id) or (0, ""), _that_follow(links, coming)
    if new:
        _check_room(connection, learner, is_new=not links, more=len(new))
        _check_new(connection, learner, attempt_id, new)
    shown = _newer(connection, attempt_id, coming.shown)
    if new or shown:
        _check_whole(attempt_id, [*links, *new], shown)
    if new:
        head = put_as_it_was(connection, attempt_id, new)
    if shown and (links or new):
        put_progress(connection, attempt_id, shown["data"], shown["made_at"])
    return head


def _that_follow(links: list[Link], coming: Coming) -> list[Link]:
    """The links that are not here yet and follow on those that are."""
    new: list[Link] = []
    for link in sorted(coming.links, key=lambda link: link.number):
        known = len(links) + len(new)
        if 0 <= link.number < known:
            if link.hash != [*links, *new][link.number].hash:
                raise _refused("two_ways")
            continue
        if link.number != known:
            break  # whoever hands it over learns from the head where to go on
        before = (new or links)[-1].hash if known else ""
        if (link.kind == "record") != (known == 0) or link.hash != link_hash(before, link.kind, link.values):
            raise _refused("altered")
        new.append(link)
    return new


def _check_room(connection: Connection, learner: str, *, is_new: bool, more: int) -> None:
    a, h = tables.attempts.c, tables.heads.c
    mine = select(func.count(), func.sum(h.count)).select_from(
        tables.attempts.join(tables.heads, a.attempt_id == h.attempt_id)
    )
    attempts, links = connection.execute(mine.where(a.learner == learner)).one()
    if attempts + is_new > MAX_ATTEMPTS or (links or 0) + more > MAX_LINKS:
        raise _refused("no_room", attempts=MAX_ATTEMPTS, links=MAX_LINKS)


def _check_new(connection: Connection, learner: str, attempt_id: str, new: list[Link]) -> None:
    """Whether the columns of new rows say what the content of the rows says, and whose they are."""
    try:
        for link in new:
            row = dict(zip(COLUMNS[link.kind], link.values, strict=True))
            if link.kind == "record":
                told = attempt_values(_read(row["record"]))
                said = {name: row[name] for name in told if name != "record"}
                if said != {name: told[name] for name in said} or row["attempt_id"] != attempt_id:
                    raise ValueError("record")
                if row["learner"] != learner:
                    raise _refused("other_name", name=row["learner"])
                if _was_taken_out(connection, link):
                    raise _refused("taken_out")
            elif link.kind == "event":
                told = event_values(_read(row["payload"]))
                said = {name: row[name] for name in told if name != "payload"}
                if said != {name: told[name] for name in said} or len(row["click_id"] or "") > LONGEST_CLICK:
                    raise ValueError(f"event {row['seq']}")
    except ValueError as error:
        raise _refused("not_whole", where=str(error)) from error


def _read(written: Any) -> dict[str, Any]:
    """Plain data of a row, looked over; what is none is a ValueError."""
    try:
        found = plain(written, "records")
    except InputError as error:
        raise ValueError("JSON") from error
    look_over(found)
    return found


def _was_taken_out(connection: Connection, record: Link) -> bool:
    s = tables.stones.c
    return connection.execute(select(s.number).where(s.hash == record.hash)).first() is not None


def _newer(connection: Connection, attempt_id: str, shown: dict[str, Any] | None) -> dict[str, Any] | None:
    """How far the page has shown, where that is later than what is here."""
    p = tables.progress.c
    there = connection.execute(select(p.made_at).where(p.attempt_id == attempt_id)).scalar()
    return shown if shown and (there is None or str(shown["made_at"]) > there) else None


def _check_whole(attempt_id: str, links: list[Link], shown: Mapping[str, Any] | None) -> None:
    """Whether the attempt, as it would then stand, is one that pages and lists can read."""
    entry: dict[str, Any] = {"attempt_id": attempt_id, "events": [], "marks": [], "ending": None}
    entry |= {"progress": shown, "made_at": "", "record": {}}
    versions: dict[str, int] = {}
    try:
        for link in links:
            row = dict(zip(COLUMNS[link.kind], link.values, strict=True))
            for name in {"record", "payload", "sheet"} & set(row):
                row[name] = _read(row[name])
            if link.kind == "record":
                entry |= {"record": row["record"], "made_at": row["made_at"], "number": row["number"]}
            elif link.kind == "ending" and entry["ending"] is not None:
                raise ValueError("ending")
            elif link.kind == "ending":
                entry["ending"] = row
            elif link.kind == "marks":
                versions[row["source"]] = versions.get(row["source"], 0) + 1
                if row["version"] != versions[row["source"]]:
                    raise ValueError("marks")
                entry["marks"].append(row)
            else:
                entry["events"].append(
                    {name: row[name] for name in ("seq", "click_id", "made_at", "payload")}
                )
        check_entry(entry)
    except BrokenFile:  # of the program's: nothing is known of the record
        raise
    except (ValueError, InputError) as error:
        raise _refused("not_whole", where=str(error)[:120]) from error


def _refused(key: str, **fields: Any) -> InputError:
    return InputError(text(f"records.hand_over.{key}", **fields).rstrip("."))
