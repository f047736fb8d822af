"""The questions of a round: no kind of case comes twice in a row, and the kinds are spread over the round.

The check never asks what a drill may have asked: each question belongs to the one or to the other, by its own words.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache

from simulator.panels.teaching.drill import Drill, Template, build
from simulator.rig.faults import FAULTS

DRAWS, STEP = 9, 101  # cases offered for a question at most, and what lies between their seeds
FEW = 3  # cases offered for a question of a check: only one drawn in SHARE is one
SEEDS = 120  # seeds looked through for them
SHARE = 3  # one question in so many is kept for the check
LOOKS = 3  # cases that tell whether a template is always about the same kind
#: What a case is called in the records, where that is no id of the catalogue of faults.
SHORT = {"strainer": "strainer_plugged", "liner": "liner_collapsed", "joint": "joint_ring"}


def kind_of(made: Drill) -> str:
    """What is wrong in the case of a drill; a question that is not about a fault is of a kind of its own.

    Parameters
    ----------
    made : with its case.

    Examples
    --------
    >>> from dataclasses import replace
    >>> one = Drill("plateau", "gauge.plateau", "joint:1 0.008 lift 3", "", (), "", "", ())
    >>> kind_of(one), kind_of(replace(one, case="bore 0.1"))
    ('joint_ring', 'plateau')
    """
    word = made.case.split(" ", 1)[0].split(":", 1)[0]
    word = SHORT.get(word, word)
    return word if word in FAULTS else made.name


def part_of(made: Drill) -> str:
    """The part of a lesson that a question belongs to, by all that is seen before it is answered: drills or check.

    Parameters
    ----------
    made : with its words in the reader's units: two cases may read alike in one system and not in the other.

    Examples
    --------
    >>> part_of(Drill("plateau", "gauge.plateau", "joint:1 0.008 lift 3", "Where?", (), "", "There.", ()))
    'drills'
    """
    seen = repr((made.text, sorted(option.label for option in made.options), made.figures)).encode()
    return "check" if hashlib.sha256(seen).digest()[0] % SHARE == 0 else "drills"


@lru_cache(maxsize=16)
def round_of(templates: tuple[Template, ...], seed: int, units: str, part: str = "") -> tuple[Drill, ...]:
    """One drill of each template in their order, the same for the same seed.

    Parameters
    ----------
    templates : that make the drills.
    units : "metric" or "us".
    part : "drills" or "check", whose questions are asked; "" for any.

    Examples
    --------
    >>> from simulator.panels.lessons.water_cannot_come.drills import DRILLS
    >>> kinds = [kind_of(made) for made in round_of(DRILLS, 3, "metric")]
    >>> any(one == other for one, other in zip(kinds, kinds[1:]))
    False
    """
    # What some templates are always about is counted from the start: the others leave room for it.
    looks = [
        {kind_of(build(template, seed + STEP * number, units)) for number in range(LOOKS)}
        for template in templates
    ]
    had = Counter(kind for kinds in looks if len(kinds) == 1 for kind in kinds)
    found = _go_on(templates, seed, units, part, (), had)
    return found or tuple(next(_of_part(template, seed, units, part)) for template in templates)


def _go_on(
    templates: tuple[Template, ...],
    seed: int,
    units: str,
    part: str,
    so_far: tuple[Drill, ...],
    had: Counter[str],
) -> tuple[Drill, ...] | None:
    """The rest of a round after some of its drills; None where that cannot be had."""
    if len(so_far) == len(templates):
        return so_far
    before = kind_of(so_far[-1]) if so_far else ""
    tried: set[str] = set()
    for made in _best_first(templates[len(so_far)], seed, units, part, had):
        kind = kind_of(made)
        if kind == before or kind in tried:
            continue
        tried.add(kind)
        rest = _go_on(templates, seed, units, part, (*so_far, made), had + Counter([kind]))
        if rest is not None:
            return rest
    return None


def _of_part(template: Template, seed: int, units: str, part: str) -> Iterator[Drill]:
    """Cases of a template that belong to a part, a few of them; any case where there is none."""
    count = 0
    for number in range(SEEDS):
        made = build(template, seed + STEP * number, units)
        if part in ("", part_of(made)):
            count += 1
            yield made
        if count == (FEW if part == "check" else DRAWS):
            return
    if not count:
        yield build(template, seed, units)


def _best_first(template: Template, seed: int, units: str, part: str, had: Counter[str]) -> Iterator[Drill]:
    """Cases for a template: kinds the round has not had at once, then the others, the rarest first."""
    waiting = []
    for made in _of_part(template, seed, units, part):
        if had[kind_of(made)]:
            waiting.append(made)
        else:
            yield made
    yield from sorted(waiting, key=lambda each: had[kind_of(each)])
