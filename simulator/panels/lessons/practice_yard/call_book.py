"""The yard's book of calls: the call-outs that come with the lessons, by number, place, rig and level alone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from simulator.rig.presets import load_rig
from simulator.scenario import Scenario, load_scenario, scenario_hash
from simulator.scenario.files import ENDING

LEVELS = (1, 2, 3, 4, 5)


@dataclass(frozen=True)
class BookCall:
    """One call of the book: what may be told before it is taken, and the call-out itself."""

    number: int
    place: str
    rig: str
    level: int
    scenario: Scenario

    @property
    def hash(self) -> str:
        """What the records know the call-out by."""
        return scenario_hash(self.scenario)


def book_folder() -> Path | None:
    """Where the call-outs are: beside the open lesson, or beside the package; None where there are none."""
    for folder in (Path("scenarios"), Path(__file__).parents[4] / "lessons" / "scenarios"):
        if folder.is_dir():
            return folder
    return None


def read_book(folder: Path | None = None) -> tuple[BookCall, ...]:
    """All calls of the book by their number; empty where the call-outs did not come with the package.

    Raises
    ------
    InputError : a file of the folder cannot be read, with its line.

    Examples
    --------
    >>> [(call.place, call.rig) for call in read_book()][:1]
    [('Alder Ditch', 'Osier')]
    """
    where = book_folder() if folder is None else folder
    return () if where is None else _read(where.resolve(), _stamps(where))


def _stamps(folder: Path) -> tuple[tuple[str, int], ...]:
    return tuple((path.name, path.stat().st_mtime_ns) for path in sorted(folder.glob(f"*{ENDING}")))


@lru_cache(maxsize=4)
def _read(folder: Path, files: tuple[tuple[str, int], ...]) -> tuple[BookCall, ...]:
    calls = []
    for number, (name, _) in enumerate(files, start=1):
        scenario = load_scenario(folder / name)
        if scenario.level is not None:
            title = load_rig(scenario.rig).title
            calls.append(BookCall(number, scenario.site.name, title, scenario.level, scenario))
    return tuple(calls)
