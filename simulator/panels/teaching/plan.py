"""What a taught lesson is made of: its ideas, predictions, runs, the case that fades, drills and check, as data."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from simulator.panels.page.blocks import Block
from simulator.panels.teaching.drill import Drill, Template
from simulator.panels.teaching.solo_call import SoloCalls

MAX_IDEAS = 5
MIN_DRILLS = 8


@dataclass(frozen=True, eq=False)
class Case:
    """A case worked in steps: by the expert, or half by the learner.

    ``brief`` says what is called in, ``figures`` stand above all steps, ``steps`` are the questions an expert asks one
    after another; each is answered from the run of the case. ``close`` is said at the end.
    """

    case: str
    brief: tuple[str, ...]
    figures: tuple[Block, ...]
    steps: tuple[Drill, ...]
    close: tuple[str, ...]


CaseTemplate = Callable[[random.Random, str], Case]


@dataclass(frozen=True)
class Plan:
    """The content of a lesson; every part but the words.

    Parameters
    ----------
    area : of the catalogue that holds its words, such as ``lesson_03``.
    minutes : it takes [min], 15 to 45.
    ideas : names of its new ideas, at most five; words under ``<area>.ideas.<name>``.
    idea_figure : ``(idea, units) -> Block`` what stands beside an idea.
    predictions : asked before the run, answered after it.
    tracks : ``(units) -> list`` runs to play; see :func:`simulator.panels.teaching.figures.track`.
    case : the case that fades, or None.
    drills : at least eight templates; a round takes each once.
    check : templates of the check of understanding, taken on other cases.
    following : numbers of the lessons to go on with.
    solo_call : the calls it draws for the case done alone; None: that case is a row of questions too.
    pictures : of the rig beside a run; both where none are named.
    cautions : whether ``<area>.cautions`` holds some that belong to this lesson.
    """

    area: str
    minutes: int
    ideas: tuple[str, ...]
    idea_figure: Callable[[str, str], Block]
    predictions: tuple[Template, ...]
    tracks: Callable[[str], list[dict[str, Any]]]
    case: CaseTemplate | None
    drills: tuple[Template, ...]
    check: tuple[Template, ...]
    following: tuple[str, ...]
    cautions: bool = True
    solo_call: SoloCalls | None = None
    pictures: tuple[str, ...] = ()

    @property
    def skills(self) -> tuple[str, ...]:
        """Skills that its drills train, each once."""
        return tuple(dict.fromkeys(template(random.Random(0), "metric").skill for template in self.drills))
