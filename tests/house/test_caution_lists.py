"""The short lists of cautions are written by hand; none may leave out what the table of safe work asks for.

The rule. A list belongs to acts: that of a lesson to those which the lesson's own words tell somebody to do, a list for
any job (home, assessment, mark sheet, yard card, field sheet, the form for a watched job) to all there are. Whatever
one of these acts waits for by the table is said in the list, in words of the trade.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import pytest

from simulator.panels.lessons.registry import lesson
from simulator.rig import safe_work
from simulator.rig.safe_words import acts_told, strings
from simulator.texts import catalogue

#: What has to be said of a state that the table asks for: each of these, anywhere in the list.
SAID: dict[str, tuple[str, ...]] = {
    "ppe": (r"\bear protection\b|\bgear\b",),
    "closed_up": (r"\bclosed up\b",),
    "discharge_secured": (
        r"\b(discharge|its) end\b[^.]*\btied\b|\btie\b[^.]*\bdischarge end\b",
        r"\bclear\b",
    ),
    "stopped": (r"\b(stop|stopped|engine off)\b",),
    "isolated": (r"\block", r"\btag"),
    "air_bled": (r"\b(bleed|bled)\b",),
    "line_relieved": (r"\b(drain|let off|line off|drained)\b",),
    "hose_vented": (r"\bvacuum\b[^.]*\bout\b|\blet\b[^.]*\bvacuum\b[^.]*\b(go|out)\b",),
    "line_held": (r"\b(air )?(line|hose)\b[^.]*\btied?\b|\btie\b[^.]*\bline\b",),
    "plate_rated": (r"\brated\b",),
    "edge_safe": (r"\bvest\b", r"\bguard\b"),
    "second_person": (r"\btwo\b",),
    "free_to_start": (
        r"\btag\b[^.]*\b(off|comes off)\b",
        r"\bnobody at it|looked round|all stand clear\b|\blook round\b",
    ),
}
LESSONS = ("02", "03", "04", "05", "06", "07", "08", "11")


def every_act() -> tuple[tuple[str, str], ...]:
    return tuple(
        (kind, name)
        for kind, acts in safe_work.table().acts.items()
        if kind != safe_work.SAFE
        for name in acts
    )


def words_of(*path: str) -> Any:
    found: Any = catalogue()
    for key in path:
        found = found[key]
    return found


#: Parts of the catalogue that hold a list of cautions, by whose it is.
PLACES = {
    "home": ("lessons", "home", "safety"), "lesson 10": ("lesson_10", "cautions"),
    "mark sheet": ("marking", "sheet_page", "cautions"), "yard card": ("papers", "card", "cautions"),
    "field sheet": ("field_sheet", "result", "cautions"), "watched job": ("papers", "job", "safety"),
}  # fmt: skip
NAMES = list(dict.fromkeys([*(f"lesson {number}" for number in LESSONS), "lesson 01", *PLACES]))


@cache
def lists() -> dict[str, tuple[str, tuple[tuple[str, str], ...]]]:
    """Each list as one text, and the acts it belongs to."""
    out: dict[str, tuple[Any, tuple[tuple[str, str], ...]]] = {}
    for number in LESSONS:
        shown = lesson(number).aim().block("cautions")["items"]
        out[f"lesson {number}"] = (shown, acts_told(words_of(f"lesson_{number}")))
    out["lesson 01"] = (
        lesson("01").aim().block("cautions")["items"],
        acts_told(words_of("lessons", "draws")),
    )
    for name, path in PLACES.items():
        out[name] = (words_of(*path), every_act())
    return {name: (" ".join(strings(items)).replace("*", ""), acts) for name, (items, acts) in out.items()}


def left_out(said: str, acts: tuple[tuple[str, str], ...]) -> dict[str, list[str]]:
    """What the acts wait for and the list does not say, with the acts."""
    lacking: dict[str, list[str]] = {}
    for kind, name in acts:
        for need in safe_work.needs(kind, name):
            if need != "running" and not all(re.search(one, said, re.IGNORECASE) for one in SAID[need]):
                lacking.setdefault(need, []).append(name)
    return lacking


def test_every_list_is_looked_at() -> None:
    assert set(NAMES) == set(lists())


@pytest.mark.parametrize("name", NAMES)
def test_a_list_leaves_nothing_out_that_the_table_asks_for(name: str) -> None:
    said, acts = lists()[name]
    assert acts
    assert left_out(said, acts) == {}


@pytest.mark.parametrize("need", [need for need in SAID if need != "stopped"])
def test_a_list_that_leaves_something_out_is_found(need: str) -> None:
    said, acts = lists()["yard card"]
    for pattern in SAID[need]:
        said = re.sub(pattern, "", said, flags=re.IGNORECASE)
    assert need in left_out(said, acts)


def test_every_protection_of_the_table_has_its_words() -> None:
    assert set(SAID) == set(safe_work.table().protections)
