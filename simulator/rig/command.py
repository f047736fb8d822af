"""Every command of the package ends in a sentence where its user made a mistake, never in a traceback."""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from simulator.errors import InputError, SimulatorError
from simulator.rig import trainer

FAILED, NOT_UNDERSTOOD, STOPPED = 1, 2, 130
TYPED = "SIMULATOR_COMMAND"  # how the command was typed that started this one


def as_typed(module: str) -> str:
    """What somebody typed to have a module run: the command that started it, else Python with the module's name.

    Examples
    --------
    >>> as_typed("simulator.attempt.level")
    'python -m simulator.attempt.level'
    """
    return os.environ.get(TYPED) or f"python -m {module}"


class Words(argparse.ArgumentParser):
    """Reads the words behind a command; what cannot be is said in one sentence that names the command as it was typed."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong, and end.

        Parameters
        ----------
        message : of the parser.

        Examples
        --------
        >>> parser = Words(prog="level")
        >>> parser.error("unrecognized arguments: --all")
        Traceback (most recent call last):
        SystemExit: 2
        """
        self.exit(NOT_UNDERSTOOD, f"{_sentence(message)} More: {self.prog} --help\n")


#: What the standard library's parser says, as a sentence for whoever typed.
_SAID = (
    (re.compile(r"the following arguments are required: (.+)", re.DOTALL), "Something is left out: {0}."),
    (re.compile(r"unrecognized arguments: (.+)", re.DOTALL), "This cannot be used here: {0}."),
    (re.compile(r"argument (.+?): expected one argument"), "Something is left out behind {0}."),
    (
        re.compile(r"argument (.+?): invalid choice: (.+?) \(choose from (.+)\)", re.DOTALL),
        "There is no {1}. Legal: {2}.",
    ),
)


def _sentence(message: str) -> str:
    for said, words in _SAID:
        if found := said.fullmatch(message):
            return " ".join(words.format(*found.groups()).split())
    plain = " ".join(message.rstrip(".").split())
    return f"{plain[:1].upper()}{plain[1:]}."


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
