"""Errors a person can act on: what is wrong, where, and what would be legal."""

from __future__ import annotations


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
