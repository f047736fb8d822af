"""Drills of lesson 02, how long it should take: every time is that of a run of the drill's own set-up.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np

from simulator.panels.lessons.how_long_should_it_take.planning import SetUp, expected, expected_run
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import RATTLES, format_quantity, height_words
from simulator.panels.teaching.cases import faulted, run_of
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import came
from simulator.physics import atmosphere, water
from simulator.run import simulate
from simulator.run.expected import DRAWS, sibling
from simulator.run.result import ControlStep
from simulator.texts import text
from simulator.units import STANDARD_GRAVITY

AREA = "lesson_02"
HOSE, LIFT, AIR, SPEED, JUDGE = (
    "prime_time.hose",
    "prime_time.lift",
    "prime_time.altitude",
    "prime_time.speed",
    "prime_time.judge",
)
APART = 0.10  # [-] by which two times differ at least to stand as two options
SAME = 0.10  # [-] of difference that nobody with a watch would speak of
TRIES, DOUBTFUL = 30, (1.07, 1.13)  # draws; [-] times: some would call it longer


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def prime(setup: SetUp) -> float:
    """Time until a sound rig primes [s]; inf when it never does.

    Parameters
    ----------
    setup : rig, hose, lift, altitude and speed.
    """
    time = expected_run(setup).prime_time
    return float(time) if math.isfinite(time) else math.inf


def seconds(time: float) -> str:
    """A time [s] in words, to whole seconds, from 100 s to 5."""
    if not math.isfinite(time):
        return text("teaching.never")
    return text("teaching.seconds", n=whole(time))


def whole(time: float) -> int:
    """A time [s] as people say it: to whole seconds, from 100 s to 5.

    Examples
    --------
    >>> whole(39.2), whole(127.0)
    (39, 125)
    """
    return round(time) if time < 100.0 else 5 * round(time / 5.0)


def words(setup: SetUp, units: str) -> dict[str, str]:
    """A set-up in words.

    Parameters
    ----------
    setup : rig, hose, lift, altitude and speed.
    """
    return {
        "bore": bore_words(setup.bore, units),
        "length": format_quantity("length", setup.length, units),
        "lift": format_quantity("length", setup.lift, units),
        "altitude": format_quantity("length", setup.altitude, units),
        "where": height_words(setup.altitude, units),
        "percent": f"{100 * setup.speed:.0f}",
    }


def bore_words(bore: float, units: str) -> str:
    """A bore [m] as hoses are named.

    Examples
    --------
    >>> bore_words(0.15, "metric"), bore_words(0.15, "us")
    ('150 mm', '6 in')
    """
    return f"{round(bore / 0.025)} in" if units == "us" else f"{round(bore * 1e3)} mm"


def times(right: str, figures: dict[str, float]) -> tuple[list[str], dict[str, str]]:
    """The options whose times [s] can be told apart from the right one and from each other, and their labels."""
    kept = [right]
    for name, value in figures.items():
        near = any(abs(value - figures[other]) < APART * figures[other] for other in kept)
        if name != right and not near:
            kept.append(name)
    return kept, {name: seconds(figures[name]) for name in kept}


def changed(
    key: str, skill: str, units: str, before: SetUp, after: SetUp, ratio: float, more: dict[str, float]
) -> Drill:
    """A question on how a time [s] changes when one thing of a set-up does, by a ratio [-]; ``more`` options [s].

    Parameters
    ----------
    key : of the drill's words in the catalogue.
    skill : that the answer counts for.
    before, after : the two set-ups.
    """
    old, new = prime(before), prime(after)
    figures = {"as_run": new, "same": old, "in_step": old * ratio, "by_square": old * ratio**2} | more
    kept, labels = times("as_run", figures)
    said = words(after, units) | {f"old_{k}": v for k, v in words(before, units).items()}
    said |= {"before": seconds(old), "after": seconds(new)}
    case = " to ".join(f"hose {s.length:g} bore {s.bore:g} lift {s.lift:g}" for s in (before, after))
    return drill(key, skill, case, "as_run", said, only=kept, labels=labels, after=both(after, before, units))


def both(after: SetUp, before: SetUp, units: str) -> tuple[Block, ...]:
    """The curves of a set-up as it is and as it was.

    Parameters
    ----------
    after, before : the two set-ups.
    """
    names = text(f"{AREA}.after"), text(f"{AREA}.before")
    return came(expected_run(after), expected_run(before), units, names=names)


def longer_hose(chance: random.Random, units: str) -> Drill:
    """A longer hose on the same rig."""
    before = SetUp(lift=chance.choice((2.0, 2.5, 3.0, 3.5, 4.0)))
    after = replace(before, length=chance.choice((16.0, 18.0, 20.0, 22.0, 25.0)))
    return changed(
        _key("longer_hose"),
        HOSE,
        units,
        before,
        after,
        after.length / before.length,
        {"quicker": 0.7 * prime(before)},
    )


def wider_hose(chance: random.Random, units: str) -> Drill:
    """A thicker hose on the same rig."""
    # A short hose: the casing's share of the air is plain to see beside it.
    before = SetUp(lift=chance.choice((2.0, 2.5, 3.0, 3.5, 4.0)), length=chance.choice((6.0, 8.0, 10.0)))
    after = replace(before, bore=0.20)
    ratio = (after.bore / before.bore) ** 2  # of the air in the hose
    return changed(_key("wider_hose"), HOSE, units, before, after, ratio, {"quicker": prime(before) * 0.75})


def higher_lift(chance: random.Random, units: str) -> Drill:
    """The water further down."""
    before = SetUp(lift=chance.choice((2.0, 2.5, 3.0)), length=chance.choice((10.0, 12.0)))
    after = replace(before, lift=before.lift + chance.choice((2.0, 2.5, 3.0)))
    return changed(
        _key("higher_lift"),
        LIFT,
        units,
        before,
        after,
        after.lift / before.lift,
        {"quicker": 0.75 * prime(before)},
    )


def in_the_hills(chance: random.Random, units: str) -> Drill:
    """The same set-up high above the sea."""
    for _ in range(TRIES):  # until nobody with a watch can be in doubt
        low = SetUp(lift=chance.choice((2.0, 2.5, 3.0, 3.5, 5.5, 6.0, 6.5)))
        high = replace(low, altitude=chance.choice((900.0, 1200.0, 1500.0, 1800.0)))
        old, new = prime(low), prime(high)
        if not DOUBTFUL[0] < new / old < DOUBTFUL[1]:
            break
    right = "longer" if new > (1 + SAME) * old else "shorter" if new < (1 - SAME) * old else "same"
    said = words(high, units) | {"before": seconds(old), "after": seconds(new)}
    case = f"lift {low.lift:g} altitude {high.altitude:g}"
    return drill(_key("in_the_hills"), AIR, case, right, said, after=both(high, low, units))


def too_high(chance: random.Random, units: str) -> Drill:
    """Whether a lift can be done at all at an altitude."""
    altitude = chance.choice((0.0, 1000.0, 1500.0, 2000.0))
    setup = SetUp(lift=chance.choice((5.0, 6.0, 7.5, 8.0, 8.5)), length=12.0, altitude=altitude)
    time = prime(setup)
    _, site = setup.built()
    outside = float(atmosphere.pressure_at_altitude(altitude))
    most = (outside - float(water.vapour_pressure(site.water_temperature))) / (
        float(water.density(site.water_temperature)) * STANDARD_GRAVITY
    )
    said = words(setup, units) | {"most": format_quantity("length", most, units), "after": seconds(time)}
    said["share"] = f"{100.0 * setup.lift / most:.0f}"
    primes = math.isfinite(time)
    run = expected_run(setup)
    rattles = primes and float(run.npsh_margin[-1]) < RATTLES
    said["end"] = text(
        f"{AREA}.too_high_end.{'rattles' if rattles else 'primes' if primes else 'never'}", **said
    )
    return drill(
        _key("too_high"),
        AIR,
        f"lift {setup.lift:g} altitude {altitude:g}",
        "primes" if primes else "never",
        said,
        after=came(run, None, units),
    )


def half_throttle(chance: random.Random, units: str) -> Drill:
    """The engine below its rated speed, at a small lift or at a big one: whether it primes at all.

    By how much a small lift takes longer is not asked: these jets have air to spare, and a real pump may not.
    """
    small = chance.random() < 0.5
    lift = chance.choice((2.0, 2.5, 3.0, 3.5) if small else (6.0, 6.25, 6.5))
    full = SetUp(lift=lift, length=chance.choice((10.0, 12.0, 15.0)))
    slow = replace(full, speed=chance.choice((0.75, 0.8, 0.85) if small else (0.5, 0.55)))
    old, new = prime(full), prime(slow)
    right = "primes" if math.isfinite(new) else "never"
    said = words(slow, units) | {"before": seconds(old), "after": seconds(new)}
    said["end"] = text(f"{AREA}.less_end.{right}", **said)
    return drill(
        _key("half_throttle"),
        SPEED,
        f"speed {slow.speed:g} lift {slow.lift:g} hose {slow.length:g}",
        right,
        said,
        after=both(slow, full, units),
    )


def which_is_longest(chance: random.Random, units: str) -> Drill:
    """Which of three changes costs most time."""
    base = SetUp(lift=chance.choice((2.0, 2.5, 3.0)))
    changed = {
        "hose": replace(base, length=base.length + chance.choice((2.0, 10.0, 15.0))),
        "bore": replace(base, bore=chance.choice((0.175, 0.20, 0.25))),
        "lift": replace(base, lift=base.lift + chance.choice((1.0, 3.0, 4.0))),
    }
    cost = {name: prime(setup) for name, setup in changed.items()}
    ranked = sorted(cost, key=lambda name: cost[name])
    if cost[ranked[-1]] < (1 + APART) * cost[ranked[-2]]:  # too close to call: make the first one plain
        changed[ranked[-1]] = _more(changed[ranked[-1]], ranked[-1])
        cost = {name: prime(setup) for name, setup in changed.items()}
    right = max(cost, key=lambda name: cost[name])
    said = words(base, units)
    said |= {
        f"{name}_value": words(setup, units)[{"hose": "length", "bore": "bore", "lift": "lift"}[name]]
        for name, setup in changed.items()
    }
    said |= {f"{name}_time": seconds(cost[name]) for name in cost}
    return drill(
        _key("which_is_longest"), HOSE, " ".join(f"{n} {c:.0f}s" for n, c in cost.items()), right, said
    )


def _more(setup: SetUp, what: str) -> SetUp:
    return {
        "hose": replace(setup, length=setup.length + 8.0),
        "bore": replace(setup, bore=0.30),
        "lift": replace(setup, lift=min(setup.lift + 1.5, 8.0)),
    }[what]


def late_or_not(chance: random.Random, units: str) -> Drill:
    """Whether a rig that took so long is in its band."""
    setup = SetUp(lift=chance.choice((2.5, 3.0, 4.0, 5.0)), length=chance.choice((10.0, 12.0, 16.0)))
    rig, site = setup.built()
    if chance.random() < 0.5:
        draw = [chance.uniform(-0.8, 0.8) for _ in range(DRAWS)]
        other, exponent, faster = sibling(rig, np.array(draw))
        run = simulate(other, site, controls=(ControlStep(0.0, faster),), gas_exponent=exponent)
        case = "sound"
    else:
        size = chance.choice((0.93, 0.94, 0.95))
        run, case = faulted("screen_plugged", size, "", rig, site), f"screen_plugged {size:g}"
    plan = expected(setup)
    if not run.primed:
        run, case = run_of(rig, site), "sound"
    took = float(run.prime_time)
    right = "late" if took > plan.high else "as_should"
    said = words(setup, units) | {
        "took": seconds(took),
        "low": seconds(plan.low),
        "high": seconds(plan.high),
        "time": seconds(plan.time),
    }
    return drill(
        _key("late_or_not"),
        JUDGE,
        f"{case} lift {setup.lift:g} hose {setup.length:g} took {took:.0f} s",
        right,
        said,
        after=came(run, run_of(rig, site), units),
    )


DRILLS: tuple[Template, ...] = (
    longer_hose,
    wider_hose,
    higher_lift,
    in_the_hills,
    half_throttle,
    which_is_longest,
    too_high,
    late_or_not,
)
CHECK: tuple[Template, ...] = (wider_hose, higher_lift, which_is_longest, too_high, late_or_not)
