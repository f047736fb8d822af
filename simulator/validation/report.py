"""The validation report: every check of the model on one page that can be printed."""

from __future__ import annotations

import platform
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from plotly.offline import get_plotlyjs

from simulator import __version__
from simulator.compiled import PLAIN
from simulator.validation import ejector_checks, exact, integrators, signatures, standards
from simulator.validation.rows import Section, State

FOLDER = Path(__file__).parent / "data"
SUBJECTS: dict[str, Callable[[], Section]] = {
    "air and water": standards.air_and_water,
    "openings": standards.openings,
    "ejector": ejector_checks.the_ejector,
    "friction": standards.friction,
    "exact solutions": exact.exact_solutions,
    "greatest lift": standards.lift_limits,
    "trends": integrators.trends,
    "signatures": signatures.signatures,
    "fast and reference": integrators.fast_and_reference,
    "books": integrators.books,
    "at random": integrators.at_random,
}
LIBRARIES = ("numpy", "scipy", "numba", "plotly", "fluids", "CoolProp", "iapws")


@dataclass(frozen=True)
class Report:
    """All sections, ready to be written."""

    sections: tuple[Section, ...]

    def count(self, state: State) -> int:
        """How many checks have a verdict: pass, miss, absent or shown.

        Parameters
        ----------
        state : the verdict: pass, miss, absent or shown.
        """
        return sum(section.count(state) for section in self.sections)

    @property
    def passed(self) -> bool:
        """Whether no check misses its tolerance."""
        return self.count("miss") == 0

    @property
    def misses(self) -> list[str]:
        """The checks that miss, as sentences."""
        return [
            f"{section.title}: {row.what}: ours {row.our_text}, theirs {row.their_text}{_unit(row.unit)}"
            f", within {row.within or 'the bound'}"
            for section in self.sections
            for row in section.all_rows
            if row.state == "miss"
        ]


def _unit(unit: str) -> str:
    return "" if unit in ("", "-") else f" {unit}"


def make_report(
    subjects: Sequence[str] = tuple(SUBJECTS), progress: Callable[[str], None] | None = None
) -> Report:
    """Run the checks of some subjects, by default of all; ``progress`` is told the name of each before it starts.

    Raises
    ------
    KeyError : there is no such subject.
    """
    sections = []
    for name in subjects:
        if progress is not None:
            progress(name)
        sections.append(SUBJECTS[name]())
    return Report(tuple(sections))


def installed() -> dict[str, str]:
    """Versions of the libraries that take part, and of Python.

    Examples
    --------
    >>> "Python" in installed()
    True
    """
    found = {"Python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found


def to_html(report: Report) -> str:
    """The page: one file, nothing fetched from anywhere; wide enough for paper."""
    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["chart"] = Markup  # charts are ours; every other text is escaped
    return environment.get_template("report.html").render(
        report=report,
        version=__version__,
        today=date.today().isoformat(),
        installed=installed(),
        compiled=not PLAIN,
        plotly=Markup(get_plotlyjs()),
        plural=lambda n, one, many: f"{n} {one if n == 1 else many}",
    )


def write(report: Report, path: Path) -> None:
    """Write the page to a file.

    Parameters
    ----------
    path : of the file, made or written over.
    """
    path.write_text(to_html(report), encoding="utf-8")
