"""Errors a person can act on: what is wrong, where, and what would be legal."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


class SimulatorError(Exception):
    """Base of every error this package raises on purpose."""


class InputError(SimulatorError):
    """A value or a file that cannot be used.

    Parameters
    ----------
    what : what is wrong, as a sentence without a full stop.
    where : the field, file or line it stands in; may be empty.
    legal : what would be accepted instead; may be empty.

    Examples
    --------
    >>> str(InputError("the bore is -0.1 m", "hose.bore", "0.05 to 0.40 m"))
    'hose.bore: the bore is -0.1 m. Legal: 0.05 to 0.40 m.'
    """

    def __init__(self, what: str, where: str = "", legal: str = "") -> None:
        self.what, self.where, self.legal = what, where, legal
        sentence = f"{where}: {what}." if where else f"{what}."
        super().__init__(f"{sentence} Legal: {legal}." if legal else sentence)

    def __reduce__(self) -> tuple[type, tuple[str, str, str]]:
        return type(self), (self.what, self.where, self.legal)


class BrokenFile(InputError):
    """A file that comes with the program does not fit: texts, records of faults, a lesson's words; no work of a learner.

    Examples
    --------
    >>> str(BrokenFile("no 'weight'", "simulator/rig/data/faults.yaml, line 6", "a share of 1"))
    "simulator/rig/data/faults.yaml, line 6: no 'weight'. Legal: a share of 1."
    """


class MissingMessage(BrokenFile):
    """A message that the catalogue lacks: a file is short of it, or a damaged record asked for what there never was.

    Examples
    --------
    >>> isinstance(MissingMessage("no message 'faults.hat'", "faults.yaml"), BrokenFile)
    True
    """


@contextmanager
def own_files() -> Iterator[None]:
    """What is read here comes with the program: an error in it is one of a :class:`BrokenFile`.

    Raises
    ------
    BrokenFile : for any InputError raised inside.

    Examples
    --------
    >>> with own_files():
    ...     raise InputError("the file is empty", "faults.yaml")
    Traceback (most recent call last):
    simulator.errors.BrokenFile: faults.yaml: the file is empty.
    """
    try:
        yield
    except BrokenFile:
        raise
    except InputError as error:
        raise BrokenFile(error.what, error.where, error.legal) from error


def broken_file(error: BaseException | None) -> BrokenFile | None:
    """The broken file of the program that an ``error`` comes from, or None.

    Examples
    --------
    >>> broken_file(ValueError("no figure")) is None
    True
    """
    while error is not None and not isinstance(error, BrokenFile):
        error = error.__cause__
    return error


def broken_program(error: BaseException) -> BrokenFile | None:
    """The broken file of the program that an ``error`` met while a record was read comes from, so that the record is not
    to blame; None where it may be: a damaged record, too, can ask for a message that is missing.

    Examples
    --------
    >>> broken_program(InputError("no such fault", "fault")) is None
    True
    """
    broken = broken_file(error)
    return None if isinstance(broken, MissingMessage) else broken


def shown_path(path: Path) -> str:
    """A file of the program with its way from the project's folder; of any other ``path`` its name.

    Examples
    --------
    >>> shown_path(Path(__file__)), shown_path(Path("yard/rig.yaml"))
    ('simulator/errors.py', 'rig.yaml')
    """
    whole = path.resolve() if path.is_absolute() else path
    if whole.is_relative_to(_PACKAGE):
        return whole.relative_to(_PACKAGE.parent).as_posix()
    return path.name


class ReplayError(InputError):
    """A stored log that does not come out again: the model or the log is another one.

    Parameters
    ----------
    kept : how many events came out as they are stored.
    events : how many are stored.
    made : version of the program that the attempt was made with.
    """

    def __init__(self, kept: int, events: int, made: str) -> None:
        self.kept, self.events, self.made = kept, events, made
        super().__init__(
            f"event {kept} of {events} does not replay: the attempt was made with version {made}",
            "log",
            f"version {made}",
        )

    def __reduce__(self) -> tuple[type, tuple[int, int, str]]:  # type: ignore[override]
        return type(self), (self.kept, self.events, self.made)


class RefusedAct(SimulatorError):
    """An act that is not possible or not safe in the present state; carries a sentence saying why."""

    def __init__(self, code: str, sentence: str) -> None:
        self.code, self.sentence = code, sentence
        super().__init__(sentence)

    def __reduce__(self) -> tuple[type, tuple[str, str]]:
        return type(self), (self.code, self.sentence)


class RunFailed(SimulatorError):
    """The integrator could not go on; says where in time and in which mode."""
