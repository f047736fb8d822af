"""Taking a person out of the records: every row goes, and a stone without a name stands where each attempt was."""

from __future__ import annotations

from sqlalchemy import Connection, select

from simulator.records import tables
from simulator.records.store import Store

_ROWS = (tables.progress, tables.endings, tables.marks, tables.events, tables.heads, tables.attempts)
_GUARDED = ("attempts", "events", "marks", "endings", "set_aside")


def forget(store: Store, learner: str) -> int:
    """Take all attempts of a learner out for good and return how many there were [-].

    What was overwritten is wiped from the file's pages and its log. Backups and work files that were made before are not
    touched.

    Raises
    ------
    InputError : it cannot be done; then all is as it was.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     attempt = store.create_attempt({"learner": "Ash", "lesson": "01"})
    ...     forget(store, "Ash"), store.list_attempts()
    (1, [])
    """
    with store.transaction() as connection:
        gone = _stones(connection, learner, store.stamp())
        if gone:
            tables.unguard(connection, *_GUARDED)
            for table in _ROWS:
                connection.execute(table.delete().where(table.c.attempt_id.in_(gone)))
            # What was said of an attempt set aside names its learner.
            aside = tables.set_aside
            connection.execute(aside.delete().where(aside.c.attempt_id.in_(gone) | aside.c.kept_as.in_(gone)))
            tables.guard(connection, *_GUARDED)
    if gone:
        store.fold()
        store.drop_heads(set(gone))
    return len(gone)


def _stones(connection: Connection, learner: str, now: str) -> list[str]:
    """Put a stone for every attempt of a learner, and return the ids of the attempts."""
    a, h, s = tables.attempts.c, tables.heads.c, tables.stones
    query = select(a.attempt_id, a.number, a.hash, h.count.label("links"), h.hash.label("last"))
    query = query.select_from(tables.attempts.outerjoin(tables.heads, a.attempt_id == h.attempt_id))
    gone = []
    for row in connection.execute(query.where(a.learner == learner)).all():
        gone.append(row.attempt_id)
        last = row.last or row.hash
        if connection.execute(select(s.c.number).where(s.c.hash == last)).first() is None:
            stone = {"hash": last, "number": row.number, "count": row.links or 1, "made_at": now[:10]}
            connection.execute(s.insert().values(**stone))
        if connection.execute(select(s.c.number).where(s.c.hash == row.hash)).first() is None:
            # The first link of the chain too: by it the attempt is known again where somebody hands it in once more.
            first = {"hash": row.hash, "number": row.number, "count": 1, "made_at": now[:10]}
            connection.execute(s.insert().values(**first))
    return gone
