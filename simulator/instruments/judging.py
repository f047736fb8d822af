"""Judges that a check's record tells in steps: a quantity of the rig, its site or its run, beside thresholds.

Arguments, the same throughout: ``steps`` of a judge as the record has them, one after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from pydantic import Field

from simulator.errors import InputError
from simulator.instruments.gauges import RunLike
from simulator.instruments.look import Look, Probabilities, beyond, ladder
from simulator.instruments.senses import window
from simulator.rig.plain_yaml import Document
from simulator.rig.record_files import StepRecord, in_si, quantity_of, validated
from simulator.rig.rig import Site

RUN, SITE = "run.", "site."
MEAN_OF = 5.0  # [s] from the look on that a quantity of the run is taken over


class JudgeStep(StepRecord):
    """One step: the outcome, and what of the quantity speaks for it; the last one names no quantity."""

    outcome: str
    doubt: float | None = Field(default=None, gt=0.0)
    seen: float = Field(default=1.0, gt=0.0, le=1.0)


def mean_of(run: RunLike, channel: str, time: float, length: float = MEAN_OF) -> float:
    """Mean of a quantity of a run from a time on, over so long, in the channel's unit.

    Parameters
    ----------
    channel : name of the quantity.
    time, length : when it begins and how long it is [s].

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=10.0)
    >>> mean_of(run, "drain_air", 10.0)
    0.0
    """
    values = window(run, channel, time, length)
    return float(values.sum()) / len(values)  # a tenth of what the mean of so few costs


def judge_of(steps: Sequence[dict[str, Any]]) -> Callable[[Look], Probabilities]:
    """The judge that a record tells in steps.

    Raises
    ------
    InputError : a step is not whole, no rig has its quantity, or the last is not the rest.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge = judge_of([
    ...     {"outcome": "plugged", "of": "screen.plugged", "above": 0.8, "doubt": 0.03}, {"outcome": "clear"}
    ... ])
    >>> judge(Look(load_rig("osier"), standard_site()))["clear"] > 0.99
    True
    """
    document = Document({str(number): in_si(step) for number, step in enumerate(steps, 1)}, {}, "judge")
    read = [validated("step", JudgeStep, number, document) for number in document.data]
    if not read or read[-1].of or not all(step.of for step in read[:-1]):
        raise InputError("only the last step of 'judge' takes the rest", "judge", "a last step without 'of'")
    asked = [(step.outcome, _share(step)) for step in read[:-1]]
    rest = read[-1].outcome

    def judge(look: Look) -> Probabilities:
        return ladder(*((outcome, share(look)) for outcome, share in asked), (rest, 1.0))

    return judge


def _share(step: JudgeStep) -> Callable[[Look], float]:
    value, seen = _value(step.of), step.seen
    threshold = step.above if step.above is not None else step.below
    if threshold is None:
        return lambda look: seen * float(bool(value(look)))
    if step.doubt is None or (step.above is not None and step.below is not None):
        said = f"step {step.outcome!r} takes 'above' or 'below', and a 'doubt' in the same unit"
        raise InputError(
            said, "judge", "such as {outcome: torn, of: casing.gasket_hole, above_mm: 2, doubt_mm: 0.3}"
        )
    sign = 1.0 if step.above is not None else -1.0
    limit, width = sign * threshold, step.doubt
    return lambda look: seen * beyond(sign * value(look), limit, width)


def _value(path: str) -> Callable[[Look], Any]:
    if path.startswith(SITE):
        of_site = quantity_of(path.removeprefix(SITE), Site)
        return lambda look: of_site(look.site)
    if not path.startswith(RUN):
        of_rig = quantity_of(path)
        return lambda look: of_rig(look.rig)
    from simulator.run.layout import CHANNELS

    channel = path.removeprefix(RUN)
    if channel not in CHANNELS:
        raise InputError(f"no run has {channel!r}", "judge", ", ".join(CHANNELS))
    return lambda look: (
        mean_of(look.run, channel, look.time) if look.run is not None and look.running else 0.0
    )
