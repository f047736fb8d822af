"""Slow changes during a run: a level that falls, a strainer that clogs, a belt that gives way."""

from __future__ import annotations

from dataclasses import dataclass

from simulator.errors import InputError
from simulator.rig.parts import Part
from simulator.rig.quantity import quantity

#: What can change during a run, its unit and legal range.
RAMP_TARGETS: dict[str, tuple[str, float, float]] = {
    "level_drop": ("m", -5.0, 5.0),
    "strainer_blocked": ("-", 0.0, 0.999),
    "belt_slip": ("-", 0.0, 1.0),
    "line_burst": ("-", 0.0, 1.0),
    "gasket_area": ("m2", 0.0, 5e-4),
    "head_factor": ("-", 0.0, 1.0),
}


@dataclass(frozen=True)
class Ramp(Part):
    """A quantity that goes in a straight line from one value to another between two times of a run.

    Before the start it has its first value, after the end its last.

    Raises
    ------
    InputError : an unknown quantity, an end before the start or a value out of range.

    Examples
    --------
    >>> Ramp("level_drop", start_time=60.0, end_time=120.0, last=1.5).last
    1.5
    """

    target: str
    start_time: float = quantity("s", 0.0, 36_000.0, 0.0)
    end_time: float = quantity("s", 0.0, 36_000.0, 1.0)
    first: float = 0.0
    last: float = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.target not in RAMP_TARGETS:
            raise InputError(f"{self.target!r} cannot change during a run", "ramp", ", ".join(RAMP_TARGETS))
        unit, low, high = RAMP_TARGETS[self.target]
        for value in (self.first, self.last):
            if not low <= value <= high:
                raise InputError(f"{self.target} is {value!r}", "ramp", f"{low:g} to {high:g} {unit}")
        if not self.end_time > self.start_time:
            raise InputError("the ramp ends before it starts", "ramp.end_time", "later than start_time")
