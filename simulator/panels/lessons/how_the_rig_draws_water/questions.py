"""Questions of lesson 01 on fresh cases. Every answer is read off a run made for the question; wrong options are
named misconceptions.

Throughout, ``seed`` [-] draws the case, and ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

from simulator.instruments.checks_from_outside import static_lift
from simulator.panels.page.words import format_quantity
from simulator.rig.faults import FAULTS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, load_site
from simulator.rig.rig import Site
from simulator.run import Run, Setup, simulate
from simulator.texts import text

SITE = "teal_pond"
LONGER = 1.10  # [-] times: a person with a watch notices this
MORE = 1.10  # [-] times: a person at the gauge notices this
NEAR_LIFT = (0.85, 1.25)  # [-] of the static lift: the needle counts as standing at it
NOTHING = 2e3  # [Pa] of vacuum or less counts as none: one small mark of the gauge


@dataclass(frozen=True)
class Option:
    """One answer: its id is the right idea or the misconception it stands for; ``says`` speaks to who chose it."""

    id: str
    label: str
    says: str


@dataclass(frozen=True)
class Question:
    """A question whose right option was read off the model, and the sentence with the figures."""

    id: str
    text: str
    options: tuple[Option, ...]
    right: str
    because: str


@lru_cache(maxsize=64)
def good_run(lift: float | None = None, hose: float | None = None) -> Run:
    """The Osier in good order at Teal Pond, with another lift [m] or hose length [m] where given."""
    rig, site = load_rig("osier"), load_site(SITE)
    if hose is not None and hose != rig.suction_hose.length:
        rig = with_hose_length(rig, hose)
    return simulate(rig, site if lift is None else replace(site, lift=lift))


@lru_cache(maxsize=64)
def fault_run(fault: str, size: float) -> Run:
    """The Osier at Teal Pond with one fault of a size in SI units [unit of the fault]."""
    rig, site = FAULTS[fault].apply(load_rig("osier"), load_site(SITE), size)
    return simulate(rig, site)


@lru_cache(maxsize=1)
def deepest_vacuum() -> float:
    """The deepest vacuum [Pa] the rig makes against a plate on its suction flange."""
    run = simulate(load_rig("osier"), load_site(SITE), setup=Setup.BLANKED, duration=240.0)
    return float(run.vacuum.max())


def arrival(run: Run) -> tuple[float, float]:
    """When the water reaches the pump [s], and the vacuum on the gauge then [Pa]; nan where it never does."""
    times = [event.time for event in run.events if event.kind == "front_at_pump"]
    return (
        (times[0], run.atmosphere - run.value("suction_pressure", times[0]))
        if times
        else (math.nan, math.nan)
    )


def lift_pressure(site: Site) -> float:
    """The static lift of a site [Pa]."""
    return float(static_lift(site))


def seconds(value: float) -> str:
    """A time [s] in words.

    Parameters
    ----------
    value : [s].
    """
    return text("lessons.draws.seconds", n=round(value))


def nearest(value: float, figures: dict[str, float]) -> str:
    """The name whose figure lies nearest to a value, all in one unit [-].

    Examples
    --------
    >>> nearest(29.1, {"static": 29.4, "deepest": 83.0})
    'static'
    """
    return min(figures, key=lambda name: abs(figures[name] - value))


def _ordered(
    question: str, chance: random.Random, options: list[Option], right: str, ask: str, because: str
) -> Question:
    chance.shuffle(options)
    return Question(question, ask, tuple(options), right, because)


def arrives(seed: int, units: str) -> Question:
    """What the gauge shows when the water reaches the pump, at another lift."""
    chance = random.Random(f"{seed} arrives")
    lift = chance.choice((1.5, 2.0, 4.5, 5.0, 5.5, 6.0, 6.5))
    usual = load_site(SITE)
    site = replace(usual, lift=lift)
    _, value = arrival(good_run(lift))
    hose = load_rig("osier").suction_hose.length
    figures = {
        "height": lift_pressure(site),
        "same_as_before": arrival(good_run())[1],
        "all_it_can": deepest_vacuum(),
        "by_the_hose": lift_pressure(replace(usual, lift=hose)),
    }
    said = {
        "lift": format_quantity("length", lift, units),
        "before": format_quantity("length", usual.lift, units),
        "value": format_quantity("vacuum", value, units),
        "static": format_quantity("vacuum", figures["height"], units),
    }
    options = [
        Option(
            name,
            format_quantity("vacuum", figure, units),
            "" if name == "height" else text(f"lessons.questions.arrives.{name}", **said),
        )
        for name, figure in sorted(figures.items(), key=lambda item: item[1])
    ]
    ask, because = (
        text("lessons.questions.arrives.text", **said),
        text("lessons.questions.arrives.because", **said),
    )
    return Question("arrives", ask, tuple(options), nearest(value, figures), because)


def change(other: Run, usual: Run) -> tuple[bool, bool]:
    """Whether a run takes plainly longer to prime than another, and shows plainly more vacuum at the arrival.

    Parameters
    ----------
    other, usual : the two runs.
    """
    longer = other.prime_time > LONGER * usual.prime_time
    more = arrival(other)[1] > MORE * arrival(usual)[1]
    return bool(longer), bool(more)


def hose(seed: int, units: str) -> Question:
    """What a longer hose changes."""
    chance = random.Random(f"{seed} hose")
    usual_length = load_rig("osier").suction_hose.length
    length = usual_length + chance.choice((6.0, 8.0, 10.0, 12.0))
    usual, other = good_run(), good_run(None, length)
    names = {
        (True, False): "longer_only",
        (True, True): "longer_more",
        (False, True): "same_more",
        (False, False): "nothing",
    }
    said = {
        "length": format_quantity("length", length, units),
        "before": format_quantity("length", usual_length, units),
        "lift": format_quantity("length", usual.site.lift, units),
        "time": seconds(other.prime_time),
        "time_before": seconds(usual.prime_time),
        "gauge": format_quantity("vacuum", arrival(other)[1], units),
        "gauge_before": format_quantity("vacuum", arrival(usual)[1], units),
    }
    options = [
        Option(name, text(f"lessons.questions.hose.{name}"), text(f"lessons.questions.hose.says_{name}"))
        for name in names.values()
    ]
    ask, because = text("lessons.questions.hose.text", **said), text("lessons.questions.hose.because", **said)
    return _ordered("hose", chance, options, names[change(other, usual)], ask, because)


def settles(vacuum: float, lift: float) -> str:
    """Where a needle at a vacuum [Pa] stands against the static lift [Pa]: below, at or above.

    Examples
    --------
    >>> settles(1e3, 29e3), settles(81e3, 29e3)
    ('below', 'above')
    """
    share = vacuum / lift
    return "below" if share < NEAR_LIFT[0] else "at" if share <= NEAR_LIFT[1] else "above"


def drain(seed: int, units: str) -> Question:
    """Where the needle ends up with the drain valve open."""
    chance = random.Random(f"{seed} drain")
    opening = chance.choice((0.4, 0.5, 0.6, 0.8, 1.0))
    run = fault_run("drain_open", opening)
    lift = lift_pressure(run.site)
    end = float(run.vacuum[-1])
    said = {
        "percent": f"{100 * opening:.0f}",
        "static": format_quantity("vacuum", lift, units),
        "value": format_quantity("vacuum", end, units),
    }
    options = [
        Option(
            name,
            text(f"lessons.questions.drain.{name}", **said),
            text(f"lessons.questions.drain.says_{name}"),
        )
        for name in ("below", "at", "above")
    ]
    ask, because = (
        text("lessons.questions.drain.text", **said),
        text("lessons.questions.drain.because", **said),
    )
    return _ordered("drain", chance, options, settles(end, lift), ask, because)


def belt(seed: int, units: str) -> Question:
    """What the suction gauge does without the belt."""
    chance = random.Random(f"{seed} belt")
    run, usual = fault_run("belt_loose", 1.0), good_run()
    deepest = float(run.vacuum.max())
    right = (
        "nothing"
        if deepest <= NOTHING
        else "as_usual"
        if run.primed and run.prime_time <= LONGER * usual.prime_time
        else "slower"
    )
    said = {
        "value": format_quantity("vacuum", max(float(run.vacuum[-1]), 0.0), units),
        "motive": format_quantity(
            "pressure", max(float(run.motive_pressure[-1]) - run.atmosphere, 0.0), units
        ),
    }
    options = [
        Option(name, text(f"lessons.questions.belt.{name}"), text(f"lessons.questions.belt.says_{name}"))
        for name in ("nothing", "slower", "as_usual")
    ]
    because = text("lessons.questions.belt.because", **said)
    return _ordered("belt", chance, options, right, text("lessons.questions.belt.text"), because)


#: The questions of the check, in order.
QUESTIONS: tuple[Callable[[int, str], Question], ...] = (arrives, hose, drain, belt)
