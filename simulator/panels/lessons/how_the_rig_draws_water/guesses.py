"""The three guesses of lesson 01, made before the run and compared with it afterwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from simulator.panels.lessons.how_the_rig_draws_water.questions import (
    SITE,
    Option,
    arrival,
    change,
    deepest_vacuum,
    good_run,
    lift_pressure,
    nearest,
    seconds,
)
from simulator.panels.page.words import UNSURE, format_quantity
from simulator.rig.presets import load_site
from simulator.texts import text

GUESSES = ("prime_time", "gauge_arrives", "lower_pond")
LOWER = 2.0  # [m] by which the water is lower in the third guess
LONGEST = 1800.0  # [s]


@dataclass(frozen=True)
class Guess:
    """One guess: its words, and its options where it is not a time."""

    id: str
    text: str
    options: tuple[Option, ...]

    def takes(self, answer: Any) -> bool:
        """Whether an answer fits."""
        if answer == UNSURE:
            return True
        if self.options:
            return answer in {option.id for option in self.options}
        return isinstance(answer, (int, float)) and not isinstance(answer, bool) and 0.0 < answer <= LONGEST

    def label(self, answer: Any) -> str:
        """An answer in words."""
        if answer == UNSURE or not self.takes(answer):
            return text("lessons.words.unsure")
        if not self.options:
            return text("lessons.draws.seconds", n=f"{answer:g}")
        return next(option.label for option in self.options if option.id == answer)


def gauge_options() -> dict[str, float]:
    """What the gauge might be thought to show when the water arrives [Pa], by the idea behind it."""
    return {"zero": 0.0, "height": lift_pressure(load_site(SITE)), "all_it_can": deepest_vacuum()}


def lower_run() -> Any:
    """The good rig with the water lower."""
    return good_run(load_site(SITE).lift + LOWER)


def guesses(units: str) -> tuple[Guess, ...]:
    """The guesses in the reader's units."""
    gauges = tuple(
        Option(name, format_quantity("vacuum", value, units), "") for name, value in gauge_options().items()
    )
    lower = tuple(
        Option(name, text(f"lessons.draws.lower_options.{name}"), "")
        for name in ("neither", "time_only", "gauge_only", "both")
    )
    more = format_quantity("length", LOWER, units)
    return (
        Guess("prime_time", text("lessons.draws.prime_time"), ()),
        Guess("gauge_arrives", text("lessons.draws.gauge_arrives"), gauges),
        Guess("lower_pond", text("lessons.draws.lower_pond", more=more), lower),
    )


def right_gauge() -> str:
    """The option nearest to what the model's gauge shows when the water arrives."""
    return nearest(arrival(good_run())[1], gauge_options())


def right_lower() -> str:
    """What lower water changes, read off two runs."""
    names = {
        (True, True): "both",
        (True, False): "time_only",
        (False, True): "gauge_only",
        (False, False): "neither",
    }
    return names[change(lower_run(), good_run())]


def time_verdict(guessed: float, came: float) -> str:
    """How good a guessed time [s] was, by what it earns in the call: right, near, not_far or not_quite.

    Parameters
    ----------
    came : the time it took [s].

    Examples
    --------
    >>> [time_verdict(guessed, 40.0) for guessed in (45.0, 50.0, 70.0, 90.0)]
    ['right', 'near', 'not_far', 'not_quite']
    """
    # here, as the marks are loaded by the call before it
    from simulator.marking.understanding import WELL, time_share

    if not (math.isfinite(came) and guessed > 0.0):
        return "not_quite"
    share = time_share(guessed, came)
    if share >= 1.0:
        return "right"
    return "near" if share >= WELL else "not_far" if share > 0.0 else "not_quite"


def lower_words(units: str) -> tuple[str, str]:
    """Time and gauge of the run with the water lower, in words.

    Parameters
    ----------
    units : "metric" or "us".
    """
    run = lower_run()
    return seconds(run.prime_time), format_quantity("vacuum", arrival(run)[1], units)
