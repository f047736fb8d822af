"""What every test has: folders of its own, and a failure when a widget callback swallowed an exception."""

from __future__ import annotations

import gc
import hashlib
import itertools
import logging
import os
import shutil
import tempfile
from collections.abc import Generator, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

PROJECT = Path(__file__).parents[1]
DATA_FOLDER = "SIMULATOR_DATA_DIR"
RIGS_FOLDER = "SIMULATOR_RIGS_DIR"
CACHE_FOLDER = "SIMULATOR_CACHE_DIR"
KEPT_RUNS = "SIMULATOR_KEPT_RUNS"  # one process reads all lessons
COMPILED_FOLDER = "SIMULATOR_COMPILED_DIR"
#: Machine code outlives a session: its folder is named after the sources it was made from. So many are kept.
COMPILED_HOME, COMPILED_KEPT = PROJECT / ".lessons-environment" / "compiled-for-tests", 6
#: So do sets of hypotheses, ten seconds each: their folder is named after the sources and data that they come from, the
#: layers up to the one that makes them. What stands above, pages and marks, changes none.
SETS_HOME, SETS_KEPT = PROJECT / ".lessons-environment" / "sets-for-tests", 2
SETS_COME_FROM = ("physics", "rig", "run", "instruments", "measured", "scenario", "attempt", "diagnosis")
EXAMPLES = 20  # of a property in the fast tier; a hundred in the full one
REQUIRE_BROWSER = "SIMULATOR_REQUIRE_BROWSER"
#: The one without windows opens a page in half the time.
BROWSERS = (
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
BROWSER_PLACES = (
    "/usr/bin/chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)
#: Tests of the browser that need no server: scripts of ours, or a page to print, in a page of their own; longest first.
BARE_PAGES = (
    "test_working_view.py",
    "test_in_sight.py",
    "test_exercise_playback.py",
    "test_exercise_access.py",
    "test_report_page.py",
    "test_papers_print.py",
    "test_layout.py",
    "test_moments.py",
    "test_text_stays_text.py",
)
NO_BROWSER = "no Chromium on this machine: install Chromium (or Chrome) and run again"
REQUIRE_NODE = "SIMULATOR_REQUIRE_NODE"
NO_NODE = "no Node 20 with the scripts' tools on this machine: install Node and npm and run binder/run_tests.py again"
#: What is skipped loudly: the words of the skip, what it is called, how it comes to Debian.
LOUD = {
    NO_BROWSER: ("BROWSER TESTS", "chromium-headless-shell fonts-dejavu-core fonts-liberation"),
    NO_NODE: ("GATES OF THE SCRIPTS", "nodejs npm"),
}

_session_folder: list[str] = []
_numbers = itertools.count()
_loud_skips: list[str] = []


def fast_tier(config: pytest.Config) -> bool:
    """Whether the slow sweeps are left out."""
    return "not full" in config.option.markexpr


def find_browser() -> str | None:
    """The Chromium to drive: the environment variable BROWSER_PATH, then the usual names and places."""
    named = os.environ.get("BROWSER_PATH")
    if named:
        return named if Path(named).is_file() else None
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    return found or next((place for place in BROWSER_PLACES if Path(place).is_file()), None)


def pytest_configure(config: pytest.Config) -> None:
    """Point all that is written for a user, by kernels and doctests too, at a folder that goes away."""
    gc.disable()  # until all is collected
    folder = tempfile.mkdtemp(prefix="simulator-tests-")
    _session_folder.append(folder)
    os.environ[DATA_FOLDER] = str(Path(folder) / "data")
    os.environ[RIGS_FOLDER] = str(Path(folder) / "own_rigs")  # a trainer's own rigs are no part of the tests
    os.environ[CACHE_FOLDER] = str(SETS_HOME / f"sets-{fingerprint_of_model()}")
    os.environ.setdefault(COMPILED_FOLDER, str(COMPILED_HOME))
    os.environ.setdefault(KEPT_RUNS, "600")
    settings.register_profile("fast", max_examples=EXAMPLES, deadline=None)
    if fast_tier(config):
        settings.load_profile("fast")
    if not hasattr(config, "workerinput"):
        keep_newest(COMPILED_HOME, COMPILED_KEPT)
        Path(os.environ[CACHE_FOLDER]).mkdir(parents=True, exist_ok=True)
        keep_newest(SETS_HOME, SETS_KEPT)


def pytest_collection_finish() -> None:
    """What all tests share stays until the end: it need not be searched for what is no longer used, neither while it
    is read, which takes a third of the time, nor later."""
    gc.freeze()
    gc.enable()
    gc.set_threshold(50_000, 20, 50)  # looked for as rarely as memory allows


def fingerprint_of_model() -> str:
    """What all that the layers up to the diagnosis compute depends on: the text of their sources and data."""
    home, digest = PROJECT / "simulator", hashlib.blake2b(digest_size=8)
    files = [*home.glob("*.py"), *(path for layer in SETS_COME_FROM for path in (home / layer).rglob("*"))]
    for path in sorted(files):
        if path.suffix in (".py", ".yaml", ".npz"):
            digest.update(path.relative_to(PROJECT).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()


def keep_newest(home: Path, count: int) -> None:
    """Keep the newest few folders of what outlives a session."""
    newest_first = sorted(home.glob("*-*"), key=lambda path: path.stat().st_mtime, reverse=True)
    for old in newest_first[count:]:
        shutil.rmtree(old, ignore_errors=True)


def pytest_unconfigure(config: pytest.Config) -> None:
    while _session_folder:
        shutil.rmtree(_session_folder.pop(), ignore_errors=True)


def thin(first: Any, *others: Any) -> list[Any]:
    """Values of a parameter: the first in the fast tier, all others in the full one."""
    return [
        first,
        *(pytest.param(*(o if type(o) is list else [o]), marks=pytest.mark.full) for o in others),
    ]


def quick() -> bool:
    """Whether tests are collected for the fast tier; each worker knows it before it reads the first file of tests."""
    return settings.default is not None and settings.default.max_examples == EXAMPLES


def examples(count: int) -> int:
    """How often a property is tried: so often in the full tier, no oftener than any other in the fast one."""
    return min(count, EXAMPLES) if quick() else count


def some(values: Iterable[Any], every: int = 5) -> list[Any]:
    """Values of a parameter: each n-th in the fast tier, all others in the full one."""
    return [
        pytest.param(value, marks=[pytest.mark.full] if number % every else [])
        for number, value in enumerate(values)
    ]


@pytest.fixture(autouse=True)
def user_folders(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> dict[str, Path]:
    """A data folder for this test alone; what is cached is as good for every other."""
    folder = tmp_path_factory.getbasetemp() / f"user-{next(_numbers)}"  # looking for a free name takes longer
    folder.mkdir()
    folders = {"data": folder / "data"}
    monkeypatch.setenv(DATA_FOLDER, str(folders["data"]))
    return folders


class _CallbackErrors(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.seen: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        message = record.getMessage()
        if "Exception in callback" in message:
            detail = logging.Formatter().formatException(record.exc_info) if record.exc_info else ""
            self.seen.append(f"{message}\n{detail}")


def fail_on(errors: list[str]) -> None:
    """Fail the running test when a widget callback raised."""
    if errors:
        pytest.fail("a widget callback raised:\n" + "\n".join(errors), pytrace=False)


@pytest.fixture(autouse=True)
def no_swallowed_exceptions() -> Iterator[list[str]]:
    """Fail when a widget callback raised: the widget library logs the exception and goes on."""
    handler = _CallbackErrors()
    loggers = [logging.getLogger(), logging.getLogger("traitlets"), logging.getLogger("ipywidgets")]
    for logger in loggers:
        logger.addHandler(handler)
    yield handler.seen
    for logger in loggers:
        logger.removeHandler(handler)
    fail_on(list(dict.fromkeys(handler.seen)))


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection_modifyitems(
    config: pytest.Config, items: list[pytest.Item]
) -> Generator[None, object, object]:
    """In the fast tier what drives lessons in a browser first, as it is longest; its other pages late; worked examples
    last: each is done in a moment, so that no worker waits long for another at the end.

    A kernel of its own for each notebook is of the full tier: the fast one runs their cells in one process, and opens
    each as a page.
    """
    for item in items:
        if item.path.suffix == ".ipynb":
            item.add_marker(pytest.mark.full)
    result = yield
    fast = fast_tier(config)

    def place(item: pytest.Item) -> tuple[int, int, bool]:
        looks_only = "home_as_opened" in getattr(item, "fixturenames", ())
        if item.get_closest_marker("browser") is None:
            return 1 if (PROJECT / "tests") in item.path.parents else 4, 0, not looks_only
        if item.path.name in BARE_PAGES:
            return 3, BARE_PAGES.index(item.path.name), not looks_only
        return 0 if fast else 3, 0, not looks_only

    items.sort(key=place)
    return result


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """On several workers a file stays together: what its tests share is made once, a notebook's cells meet one kernel.

    In the fast tier what drives lessons in a browser stays together too: one server, one browser and one page of
    JupyterLab serve all of it. In the full one each test of the browser goes to whichever worker is free.
    """
    from xdist.scheduler import LoadScopeScheduling

    class ByFile(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file = nodeid.split("::")[0]
            if not file.startswith("tests/browser/"):
                return file
            if not fast_tier(config):
                return nodeid
            return file if file.split("/")[-1] in BARE_PAGES else "tests/browser"

    return ByFile(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.skipped:
        _loud_skips.extend(reason for reason in LOUD if reason in str(report.longrepr))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for reason in dict.fromkeys(_loud_skips):
        name, packages = LOUD[reason]
        lines = [
            f"{_loud_skips.count(reason)} {name} DID NOT RUN",
            reason[0].upper() + reason[1:] + ".",
            f"Debian or Ubuntu: sudo apt-get install {packages}",
        ]
        width = max(map(len, lines))
        terminalreporter.write_line("")
        terminalreporter.write_line("#" * (width + 4), red=True)
        for line in lines:
            terminalreporter.write_line(f"# {line:<{width}} #", red=True)
        terminalreporter.write_line("#" * (width + 4), red=True)
