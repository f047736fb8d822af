"""The lessons there are, one line each, in the order in which a learner meets them, and the trainer's desks.

Nothing of a lesson is imported before it is opened, so a lesson that is broken breaks no other page.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from traceback import extract_tb
from typing import Any

from simulator.errors import BrokenFile, InputError, shown_path
from simulator.texts import text


@dataclass(frozen=True)
class LessonEntry:
    """A lesson: its number, its folder beside this file, and the class in the folder's ``page.py`` that is its page.

    Examples
    --------
    >>> entry = LESSONS["03"]
    >>> entry.title, entry.notebook
    ('Reading the gauge', '03_reading_the_gauge.ipynb')
    """

    number: str
    folder: str
    page: str

    @property
    def title(self) -> str:
        """What it is called on the page; where the catalogue has no title, what its folder is called."""
        return self._word("titles") or self.folder.replace("_", " ").capitalize()

    @property
    def minutes(self) -> str:
        """How long it takes, in words; nothing where the catalogue does not say."""
        return self._word("minutes")

    def _word(self, kind: str) -> str:
        """A word of the catalogue, or nothing: the list of lessons on one page must not break for another's sake."""
        try:
            return text(f"lessons.{kind}.{self.number}")
        except InputError:
            return ""

    @property
    def notebook(self) -> str:
        """File name of its notebook."""
        return f"{self.number}_{self.folder}.ipynb" if self.number.isdigit() else f"{self.folder}.ipynb"

    @property
    def module(self) -> str:
        """The module that holds its page."""
        return f"{__package__}.{self.folder}.page"


LESSONS = {
    entry.number: entry
    for entry in (
        LessonEntry("00", "start_here", "StartHere"),
        LessonEntry("01", "how_the_rig_draws_water", "DrawsWater"),
        LessonEntry("02", "how_long_should_it_take", "HowLong"),
        LessonEntry("03", "reading_the_gauge", "ReadingTheGauge"),
        LessonEntry("04", "air_gets_in", "AirGetsIn"),
        LessonEntry("05", "air_is_not_drawn_out", "NotDrawnOut"),
        LessonEntry("06", "water_cannot_come", "WaterCannotCome"),
        LessonEntry("07", "halving_the_problem", "HalvingTheProblem"),
        LessonEntry("08", "primes_then_loses_it", "LosesIt"),
        LessonEntry("09", "practice_yard", "Practice"),
        LessonEntry("10", "assessment", "Assessment"),
        LessonEntry("11", "shutting_down", "ShuttingDown"),
        LessonEntry("field", "field_sheet", "FieldPage"),
    )
}


class DeskEntry(LessonEntry):
    """A desk of the trainer's: a page beside the lessons that stands in no learner's list.

    Examples
    --------
    >>> DESKS["builder"].module, DESKS["builder"].notebook
    ('simulator.panels.trainer.call_builder.page', 'call_builder.ipynb')
    """

    @property
    def module(self) -> str:
        """The module that holds its page."""
        return f"{__package__.rpartition('.')[0]}.trainer.{self.folder}.page"


DESKS = {
    entry.number: entry
    for entry in (
        DeskEntry("builder", "call_builder", "CallBuilder"),
        DeskEntry("sheet", "call_sheet", "SheetDesk"),
        DeskEntry("bench", "bench", "Bench"),
        DeskEntry("pump", "own_pump", "OwnPump"),
        DeskEntry("board", "class_board", "ClassBoard"),
        DeskEntry("after", "after_class", "AfterClass"),
        DeskEntry("figures", "figures", "Figures"),
    )
}


def lesson(number: str) -> Any:
    """A lesson or a desk, whose methods give the parts of its page; work begun before goes on.

    Parameters
    ----------
    number : such as "03", "field" or "builder".

    Raises
    ------
    InputError : there is no such lesson, or (as a BrokenFile, with file and line) what makes its page is broken.

    Examples
    --------
    >>> page = lesson("00")
    >>> page.welcome().name
    'welcome'
    """
    entry = LESSONS.get(number) or DESKS.get(number)
    if entry is None:
        raise InputError(f"there is no lesson {number!r}", "lesson", ", ".join((*LESSONS, *DESKS)))
    try:
        page = getattr(import_module(entry.module), entry.page)
    except Exception as error:
        what = f"lesson {number} cannot be opened: {why(error)}"
        raise BrokenFile(what, place(error, entry), f"{entry.module}, with the class {entry.page}") from error
    return page()


def why(error: BaseException) -> str:
    """What went wrong in an ``error`` of a lesson's code, in a few words.

    Examples
    --------
    >>> why(SyntaxError("'(' was never closed")), why(ImportError("no module 'hat'"))
    ("'(' was never closed", "no module 'hat'")
    """
    said = error.msg if isinstance(error, SyntaxError) else str(error)
    plain = isinstance(error, (SyntaxError, ImportError, AttributeError, InputError))
    return said.rstrip(".") if plain else f"{type(error).__name__}: {said}".rstrip(".: ")


def place(error: BaseException, entry: LessonEntry) -> str:
    """File and line where the code of a lesson's ``entry`` raised an ``error``, from the project's folder.

    Examples
    --------
    >>> place(AttributeError("no StartHere"), LESSONS["00"])
    'simulator/panels/lessons/start_here/page.py'
    """
    if isinstance(error, SyntaxError) and error.filename:
        return f"{shown_path(Path(error.filename))}, line {error.lineno}"
    own = f"{entry.module.rpartition('.')[0].replace('.', '/')}/"
    for frame in reversed(extract_tb(error.__traceback__)):
        if (file := shown_path(Path(frame.filename))).startswith(own):
            return f"{file}, line {frame.lineno}"
    return f"{own}page.py"
