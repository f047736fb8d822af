"""A question on a fresh case: words from the catalogue, the right answer from a run, wrong options that have a name.

A *template* is a small pure function ``(chance, units) -> Drill``. It draws a case from ``chance``, runs it, and reads
the right option off the run. Its words stand in the catalogue under ``<area>.drills.<name>``::

    text: "The question, with {fields}"
    hints: ["where to look", "what to compare", "nearly the answer"]
    because: "The run shows {value}."
    options:
      name_of_the_idea: {label: "What is said", says: "To who chose it, where it is wrong."}
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from simulator.errors import BrokenFile
from simulator.panels.page.blocks import Block
from simulator.texts import entry, file_of, language

HINTS = 3  # steps of every hint: where to look, what to compare, nearly the answer


@dataclass(frozen=True)
class Option:
    """One answer: its id names the right idea or the misconception; ``says`` speaks to who chose it wrongly."""

    id: str
    label: str
    says: str


@dataclass(frozen=True, eq=False)
class Drill:
    """A question on one case.

    ``name`` of its template, ``skill`` it trains, ``case`` what was drawn, in one line for the records; ``right`` is
    the option the run bears out and ``because`` the sentence with the run's figures. ``figures`` are blocks that stand
    above the question, ``after`` blocks that come with the answer.
    """

    name: str
    skill: str
    case: str
    text: str
    options: tuple[Option, ...]
    right: str
    because: str
    hints: tuple[str, ...]
    figures: tuple[Block, ...] = ()
    after: tuple[Block, ...] = ()

    def option(self, option_id: Any) -> Option | None:
        """The option of an id, or None.

        Parameters
        ----------
        option_id : as the page sent it.
        """
        return next((option for option in self.options if option.id == option_id), None)


Template = Callable[[random.Random, str], Drill]


def drill(
    key: str,
    skill: str,
    case: str,
    right: str,
    said: Mapping[str, str],
    *,
    only: Collection[str] = (),
    labels: Mapping[str, str] | None = None,
    figures: tuple[Block, ...] = (),
    after: tuple[Block, ...] = (),
) -> Drill:
    """A drill with its words from the catalogue.

    Parameters
    ----------
    key : of its words, such as ``lesson_03.drills.shape``.
    skill, case : for the records; see :class:`Drill`.
    right : the option that the run bears out.
    said : fields of the sentences.
    only : the options on offer; all by default.
    labels : what options say, where that is a figure of the case.
    figures, after : blocks above the question, and with its answer.

    Raises
    ------
    BrokenFile : the right option is not on offer, there are hints but not three, or its words lack a sentence.
    """
    words, file = entry(key), file_of(key, language())
    try:
        return _drill(key, skill, case, right, said, words, file, only, labels or {}, figures, after)
    except (KeyError, IndexError, TypeError, AttributeError, ValueError) as error:
        raise BrokenFile(
            f"the words of {key!r} do not fit ({type(error).__name__}: {error})",
            file,
            f"text, because, options with label and says; fields {', '.join(f'{{{name}}}' for name in said)}",
        ) from error


def _drill(
    key: str,
    skill: str,
    case: str,
    right: str,
    said: Mapping[str, str],
    words: Mapping[str, Any],
    file: str,
    only: Collection[str],
    labels: Mapping[str, str],
    figures: tuple[Block, ...],
    after: tuple[Block, ...],
) -> Drill:
    """The drill of the words that stand in a file."""
    found = {name: value for name, value in words["options"].items() if not only or name in only}
    if right not in found:
        raise BrokenFile(f"the right option {right!r} of {key!r} is not on offer", file, ", ".join(found))
    hints = words.get("hints", [])  # a prediction has none
    if len(hints) not in (0, HINTS):
        raise BrokenFile(f"{key!r} has {len(words['hints'])} hints", file, f"{HINTS} hints")
    options = tuple(
        Option(
            name,
            str(labels.get(name) or value["label"]).format(**said),
            str(value.get("says", "")).format(**said),
        )
        for name, value in found.items()
    )
    return Drill(
        name=key.rpartition(".")[2],
        skill=skill,
        case=case,
        text=str(words["text"]).format(**said),
        options=options,
        right=right,
        because=str(words["because"]).format(**said),
        hints=tuple(str(hint).format(**said) for hint in hints),
        figures=figures,
        after=after,
    )


@lru_cache(maxsize=256)
def build(template: Template, seed: int, units: str) -> Drill:
    """The drill of a template for a seed; the same seed gives the same case with its options in the same order."""
    chance = random.Random(f"{seed} {template.__name__}")
    return shuffled(template(chance, units), f"{seed} order {template.__name__}")


def shuffled(made: Drill, seed: str) -> Drill:
    """The same drill with its options in an order drawn from a seed: the right one has no fixed place.

    Parameters
    ----------
    made : with its options as they were written.
    """
    options = list(made.options)
    random.Random(seed).shuffle(options)
    return replace(made, options=tuple(options))
