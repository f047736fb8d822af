"""Which acts a text tells somebody to do, and the lines that say how to do them safely.

The rule: a sentence tells an act when it holds the act's own name (the label of a look, the name of a piece of work)
or one of its patterns: ``told_as`` in the record of a check or of work, ``rig/data/safe_work/words.yaml`` for the
others. Whatever shows such a sentence shows the act's line from
the table of safe work with it, or in the few words of a list.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from simulator.rig import safe_work
from simulator.rig.plain_yaml import read_file
from simulator.rig.record_files import patterns_told
from simulator.texts import entry, knows, language, text

_NUMBERS = frozenset((int, float, bool, type(None)))
_FILE = Path(__file__).parent / "data" / "safe_work" / "words.yaml"
#: Keys of a page's data that hold no words for a reader.
SILENT = frozenset(
    {
        "id",
        "kind",
        "action",
        "part",
        "to",
        "icon",
        "key",
        "html",
        "figure",
        "arrive",
        "state",
        "picture_words",
    }
)
Told = tuple[str, str]  # kind and name of an act of the table


def name_of(kind: str, name: str) -> str:
    """What an act of a kind is called, with a capital.

    Examples
    --------
    >>> name_of("remedies", "clean_nrv"), name_of("checks", "joint_apart")
    ('Clean the non-return valve, seat the ball', 'Open hose joint: look at its ring')
    """
    if kind == safe_work.CHECKS:
        return str(entry(f"checks.{name}.label")).replace(" {joint}", "")
    if kind == safe_work.REMEDIES:
        words = str(entry(f"remedies.{name}.name"))
        return words[:1].upper() + words[1:]
    return text(f"safe_work.told.{name}" if kind == safe_work.TOLD else f"attempt.actions.{name}")


def patterns_of(lang: str) -> dict[str, dict[str, list[str]]]:
    """How sentences of the language ``lang`` tell an act: patterns by kind and name of the act.

    Examples
    --------
    >>> patterns_of("en")["told"]["clear_drain"]
    ['\\\\bwire\\\\b|\\\\bpoke it clear\\\\b']
    """
    data: dict[str, Any] = read_file(_FILE).data
    records = {kind: patterns_told(kind, lang) for kind in (safe_work.CHECKS, safe_work.REMEDIES)}
    return {**records, **data.get(lang, {})}


def can_be_told(kind: Literal["checks", "remedies"], name: str) -> bool:
    """Whether an act has words, and a row of safe work: what nobody has said how to do safely is offered to nobody.

    Parameters
    ----------
    kind : of the act, as in the table of safe work.
    name : of the check or remedy.

    Examples
    --------
    >>> can_be_told("remedies", "clean_nrv"), can_be_told("remedies", "polish_nrv")
    (True, False)
    """
    words = "label" if kind == safe_work.CHECKS else "name"
    return name in safe_work.table().acts[kind] and knows(f"{kind}.{name}.{words}")


@lru_cache(maxsize=4)
def _patterns(lang: str) -> tuple[tuple[Told, re.Pattern[str]], ...]:
    """Every act with what tells it; a language without patterns of its own goes by the names alone."""
    known = patterns_of(lang)
    out = []
    for kind, acts in safe_work.table().acts.items():
        if kind == safe_work.SAFE:
            continue
        for name in acts:
            own = [re.escape(name_of(kind, name))] if kind != safe_work.ENGINE else []
            every = [*own, *known.get(kind, {}).get(name, [])]
            if every:
                out.append(
                    ((str(kind), name), re.compile("|".join(f"(?:{one})" for one in every), re.IGNORECASE))
                )
    return tuple(out)


def told(words: str) -> tuple[Told, ...]:
    """The acts that a text tells somebody to do, in the order of the table.

    Examples
    --------
    >>> told("Pull the strainer and look at its holes."), told("The strainer is plugged.")
    ((('checks', 'strainer_out'),), ())
    """
    return _told(words, language())


@lru_cache(maxsize=4096)  # a page looks through the same sentences after every press
def _told(words: str, language: str) -> tuple[Told, ...]:
    return tuple(act for act, pattern in _patterns(language) if pattern.search(words))


def strings(data: Any) -> Iterator[str]:
    """Every string of plain data that a reader may see.

    Examples
    --------
    >>> list(strings({"id": "a", "text": "One.", "items": ["Two.", {"label": "Three."}]}))
    ['One.', 'Two.', 'Three.']
    """
    waiting = [data]
    while waiting:
        one = waiting.pop()
        if isinstance(one, str):
            yield one
            continue
        if isinstance(one, dict):
            inner = [value for key, value in one.items() if key not in SILENT]
        elif isinstance(one, (list, tuple)):
            inner = [
                value for value in one if type(value) not in _NUMBERS
            ]  # most of a page are points of curves
        else:
            continue
        inner.reverse()
        waiting += inner


def acts_told(data: Any) -> tuple[Told, ...]:
    """The acts that any string of plain data tells, each once, in the order of the table.

    Examples
    --------
    >>> acts_told({"text": "Take the nozzle out.", "hints": ["Look at the belt first."]})
    (('checks', 'belt'), ('checks', 'nozzle_out'))
    """
    found = {act for words in strings(data) for act in told(words)}
    return tuple(act for act, _ in _patterns(language()) if act in found)


def line(act: Told) -> str:
    """One act and what protects in it.

    Examples
    --------
    >>> line(("engine", "set_speed"))
    '**Change the engine speed.** Keep hands, sleeves and hair clear of belt and shaft. The guard stays on.'
    """
    return text("safe_work.line", act=name_of(*act), box=safe_work.box(*act))


def safe_lines(data: Any) -> list[str]:
    """How to do safely what a text tells; acts that are made safe alike share a line.

    Examples
    --------
    >>> safe_lines("Take the nozzle out.")[0].startswith("**Take the jet nozzle out.** Protective gear on. Engine")
    True
    """
    return shared_lines(acts_told(data))


def all_first(data: Any) -> str:
    """What the acts that a text tells wait for, all together, in the order in which it is brought about; "" for none.

    Examples
    --------
    >>> all_first("Take the nozzle out.").endswith("Gear on. Engine stopped, locked off and tagged. Air bled.")
    True
    """
    wanted = {need for act in acts_told(data) for need in safe_work.needs(*act)} - {"running"}
    if "isolated" in wanted:
        wanted.discard("stopped")
    if not wanted:
        return ""
    states = (text(f"safe_work.states.{need}") for need in sorted(wanted, key=safe_work.TOLD_ORDER.index))
    return text("safe_work.all_first", states=" ".join(states))


def shared_lines(acts: Iterable[Told]) -> list[str]:
    """A line for every way to make acts safe, with the names of the acts that it holds for.

    Examples
    --------
    >>> len(shared_lines([("checks", "nozzle_out"), ("remedies", "clean_nozzle")]))
    1
    """
    ways: dict[str, list[str]] = {}
    for act in acts:
        ways.setdefault(safe_work.box(*act), []).append(name_of(*act).rstrip("."))
    return [text("safe_work.line", act="; ".join(names), box=box) for box, names in ways.items()]
