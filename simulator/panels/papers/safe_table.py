"""The table of safe work on paper: every act, what can hurt in it, what protects, and what that follows."""

from __future__ import annotations

from itertools import groupby

from simulator.panels.papers.sheet import sheet
from simulator.rig import safe_work
from simulator.rig.safe_words import name_of
from simulator.texts import entry, text


def safe_table() -> str:
    """The table as HTML to print; acts that have their dangers and care alike share a row.

    Examples
    --------
    >>> "ISO 14118" in safe_table()
    True
    """
    ways: dict[tuple[str, ...], list[str]] = {}
    rows: dict[tuple[str, ...], list[safe_work.Row]] = {}
    for (kind, act), found in groupby(safe_work.rows(), key=lambda row: (row.kind, row.act)):
        listed = list(found)
        key = tuple(f"{row.danger} {row.care}" for row in listed)
        ways.setdefault(key, []).append(_name(kind, act))
        rows[key] = listed
    acts = [("; ".join(ways[key]), [_line(row) for row in rows[key]]) for key in ways]
    sources = [(name, source.name, source.from_memory) for name, source in safe_work.table().sources.items()]
    return sheet("safe_work.html", text("safe_work.title"), acts=acts, sources=sources)


def _name(kind: str, act: str) -> str:
    return text(f"attempt.actions.{act}") if kind == safe_work.SAFE else name_of(kind, act)


def _harm(harms: tuple[str, ...]) -> str:
    words = entry("safe_work.harm")
    still = str(words[harms[0]])
    return still if len(harms) == 1 else text("safe_work.harm.running", still=still, on=words[harms[1]])


def _line(row: safe_work.Row) -> dict[str, str]:
    states = [text(f"attempt.needs.{state}") for state in row.protects]
    cares = [text(f"safe_work.care.{care}") for care in row.care]
    only = text(f"safe_work.only.{row.only}") if row.only else ""
    return {
        "danger": text(f"safe_work.dangers.{row.danger}"),
        "protects": " ".join((*states, *cares, only)).strip(),
        "harm": _harm(row.harms),
        "follows": ", ".join(row.follows),
    }
