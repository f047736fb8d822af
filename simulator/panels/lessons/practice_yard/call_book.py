"""The yard's book of calls: the call-outs that come with the lessons, by number, place, rig and level alone.

A file that cannot be used is left out and named; the rest of the book goes on. A call has the number that stands in its
file, so that no number shifts when a file is added; a call without one goes by its place.
"""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from simulator.errors import InputError
from simulator.rig.presets import load_rig
from simulator.scenario import Scenario, load_scenario, scenario_hash
from simulator.scenario.files import ENDING
from simulator.texts import text

LEVELS = (1, 2, 3, 4, 5)
OWN_FOLDER = "SIMULATOR_CALLS_DIR"  # where a trainer's own call-outs lie
MAX_CALLS = 500


@dataclass(frozen=True)
class BookCall:
    """One call of the book: what may be told before it is taken, and the call-out itself.

    ``number`` is None where none stands in the file. ``key`` is what a page calls it by: the number, or letters that its
    file's name gives, as the name itself might tell the answer.
    """

    key: str
    number: int | None
    place: str
    rig: str
    level: int
    scenario: Scenario

    @property
    def hash(self) -> str:
        """What the records know the call-out by."""
        return scenario_hash(self.scenario)


@dataclass(frozen=True)
class Book:
    """All calls that can be taken, and a sentence for each file that is left out."""

    calls: tuple[BookCall, ...] = ()
    left_out: tuple[str, ...] = ()


def book_folder() -> Path | None:
    """Where the call-outs are: beside the open lesson, or beside the package; None where there are none."""
    for folder in (Path("scenarios"), Path(__file__).parents[4] / "lessons" / "scenarios"):
        if folder.is_dir():
            return folder
    return None


def own_folder() -> Path:
    """Where a trainer's own call-outs lie: ``SIMULATOR_CALLS_DIR``, else ``own_call_outs`` beside the lessons."""
    named = os.environ.get(OWN_FOLDER)
    if named:
        return Path(named)
    book = book_folder()
    return Path("own_call_outs") if book is None else book.resolve().parent / "own_call_outs"


def read_book(folder: Path | None = None) -> tuple[BookCall, ...]:
    """All calls of the book by their number; empty where the call-outs did not come with the package.

    Parameters
    ----------
    folder : of the call-outs; the package's by default.

    Examples
    --------
    >>> [(call.place, call.rig) for call in read_book()][:1]
    [('Alder Ditch', 'Osier')]
    """
    return whole_book(folder).calls


def whole_book(folder: Path | None = None) -> Book:
    """The book with what had to be left out of it.

    Parameters
    ----------
    folder : of the call-outs; by default the package's, and behind it the trainer's own.

    Examples
    --------
    >>> whole_book().left_out
    ()
    """
    if folder is None and own_folder().is_dir():
        shipped, own = _book_in(book_folder()), _book_in(own_folder())
        return Book((*shipped.calls, *_apart(shipped.calls, own.calls)), (*shipped.left_out, *own.left_out))
    return _book_in(book_folder() if folder is None else folder)


def _apart(calls: tuple[BookCall, ...], more: tuple[BookCall, ...]) -> list[BookCall]:
    """The second ones, without the numbers that the first have already."""
    taken = {call.key for call in calls}
    return [replace(call, key=call.hash[:12], number=None) if call.key in taken else call for call in more]


def _book_in(where: Path | None) -> Book:
    if where is None:
        return Book()
    try:
        return _read(where.resolve(), _stamps(where))
    except OSError as error:
        return Book((), (text("panel.yard.no_book", reason=error.strerror or str(error)),))


def _stamps(folder: Path) -> tuple[tuple[str, int, int], ...]:
    out = []
    with os.scandir(folder) as found:
        for item in found:
            if not item.name.endswith(ENDING) or item.name.startswith("."):
                continue
            try:
                state = item.stat()
            except OSError:  # a link to nowhere: reading it says so
                out.append((item.name, 0, 0))
                continue
            size = state.st_size if stat.S_ISREG(state.st_mode) else -1
            out.append((item.name, state.st_mtime_ns, size))
    return tuple(sorted(out))


@lru_cache(maxsize=4)
def _read(folder: Path, files: tuple[tuple[str, int, int], ...]) -> Book:
    calls: list[BookCall] = []
    left_out: list[str] = []
    taken: dict[int, str] = {}
    for name, _, _ in files[:MAX_CALLS]:
        try:
            scenario = load_scenario(folder / name)
            title = load_rig(scenario.rig).title
        except InputError as error:
            left_out.append(str(error))
            continue
        if scenario.level is None:
            continue
        number = scenario.number
        if number is not None and number in taken:
            left_out.append(text("panel.yard.same_number", file=name, number=number, other=taken[number]))
            number = None
        if number is not None:
            taken[number] = name
        key = (
            str(number)
            if number is not None
            else hashlib.sha256(name.encode("utf-8", "replace")).hexdigest()[:12]
        )
        calls.append(BookCall(key, number, scenario.site.name, title, scenario.level, scenario))
    if len(files) > MAX_CALLS:
        left_out.append(text("panel.yard.too_many", n=len(files) - MAX_CALLS, most=MAX_CALLS))
    calls.sort(key=lambda call: (call.number is None, call.number or 0, call.scenario.title, call.key))
    return Book(tuple(calls), tuple(left_out))
