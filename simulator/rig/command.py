"""Every command of the package ends in a sentence where its user made a mistake, never in a traceback."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from pathlib import Path

from simulator.errors import InputError, SimulatorError
from simulator.rig import trainer

FAILED, STOPPED = 1, 130


def command(main: Callable[[], int | None]) -> int:
    """Run a command's ``main`` and give its exit code: what it returns, 1 with a sentence, 130 where it was stopped.

    A trainer's file that is named and cannot be used ends it before it begins.

    Examples
    --------
    >>> command(lambda: 0)
    0
    """
    try:
        wrong = trainer.trouble()
        if wrong is not None:
            raise wrong
        code = main() or 0
        sys.stdout.flush()
    except SimulatorError as error:
        sys.stderr.write(f"{error}\n")
        return FAILED
    except BrokenPipeError:  # whoever read along has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        sys.stderr.write(f"{where}{error.strerror or error}. Nothing more was done.\n")
        return FAILED
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        return STOPPED
    return code


def whole(low: int, high: int) -> Callable[[str], int]:
    """For an argument that is a whole number from ``low`` to ``high``.

    Examples
    --------
    >>> whole(1, 64)("2")
    2
    """

    def read(written: str) -> int:
        try:
            value = int(written)
        except ValueError:
            value = low - 1
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"{written!r} is no whole number from {low} to {high}")
        return value

    return read


def page_to_write(written: str) -> Path:
    """For an argument that names a file to write: told before long work begins that it cannot be written.

    What an OSError says of the file becomes the sentence of the parser.

    Examples
    --------
    >>> page_to_write("report.html").name
    'report.html'
    """
    path = Path(written)
    try:
        if path.is_dir():
            raise OSError("it is a folder")
        if path.exists() and not os.access(path, os.W_OK):
            raise OSError("it may not be written over")
        if not path.parent.is_dir():
            raise OSError(f"there is no folder {path.parent}")
        if not os.access(path.parent, os.W_OK):
            raise OSError(f"the folder {path.parent} may not be written to")
    except (OSError, ValueError) as error:
        raise argparse.ArgumentTypeError(f"the page cannot be written to {written}: {error}") from error
    return path


def call_files(named: list[Path], folder: Path = Path("lessons/scenarios")) -> list[Path]:
    """The call-outs that a command is about: those named, else all in the project's folder.

    Raises
    ------
    InputError : none is named, and the project's are not here.
    """
    files = named or sorted(folder.glob("*.scenario.yaml"))
    if not files:
        raise InputError(
            f"there are no call-outs in {folder}", "files", "the folder of the project, or files"
        )
    return files
