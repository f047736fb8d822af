"""Drills of lesson 03, reading the gauge: every answer is read off the run of the drill's own case.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random

from simulator.panels.page.words import format_quantity, reads_alike
from simulator.panels.teaching.cases import (
    faulted,
    lift_pressure,
    resting_vacuum,
    run_of,
    usual_site,
    vacuum_at,
)
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.gauge_shapes import (
    BELOW,
    SHAPES,
    drawn_rig,
    drawn_shape,
    drawn_site,
    end_of_interest,
    side,
    standing,
)
from simulator.panels.teaching.pull_downs import common, curve
from simulator.run import Run
from simulator.texts import text
from simulator.units import STANDARD_GRAVITY, SYSTEMS, UNITS

AREA = "lesson_03"
SHAPE, LIFT, BESIDE = "gauge.shape", "gauge.plateau", "gauge.beside_sound"
APART = 2.5e3  # [Pa] between two needles that a person at the gauge tells apart
WATCH = (15.0, 20.0, 25.0)  # [s] of a start at which needles are compared
CLIMBS = 2e3  # [Pa] between two readings, plain to be seen on a dial
TRIES = 24
FAR_BELOW = 8e3  # [Pa] short of the lift: a few kPa short may be the gauge, or a leak that lets it fill late
READ_AT = (
    (0.35, 0.5, 0.62),
    (0.28, 0.4, 0.52),
    (0.2, 0.3, 0.4),
)  # [-] of the time to prime at which a needle is read
STANDING_AT = (60, 100, 140)  # [s] at which one that stands is read
ALIKE_HEIGHT = 0.15  # [m] between two answers that would read the same


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def what_shape(chance: random.Random, units: str) -> Drill:
    """Which of the four shapes a curve has."""
    wanted = chance.choice(SHAPES)
    run, sound, case = drawn_shape(chance, wanted)
    last = end_of_interest(run, sound)
    said = common(run, units) | {"usual": text("teaching.seconds", n=round(sound.prime_time))}
    said |= {"because": text(f"{AREA}.shape_because.{wanted}", **said)}
    return drill(_key("what_shape"), SHAPE, case, wanted, said, figures=(curve(run, sound, units, last),))


def plateau(chance: random.Random, units: str) -> Drill:
    """What a needle that stands means, by the plateau rule."""
    wanted = chance.choice(("flat_low", "fast_dry"))
    run, _, case = drawn_shape(chance, wanted)
    for _ in range(TRIES):
        if wanted == "fast_dry" or lift_pressure(run.site) - resting_vacuum(run) >= FAR_BELOW:
            break
        run, _, case = drawn_shape(chance, wanted)
    where = side(resting_vacuum(run), lift_pressure(run.site))
    right = "blocked" if where == "above" else "air"
    said = common(run, units) | {"where": text(f"{AREA}.where.{where}")}
    return drill(_key("plateau"), LIFT, case, right, said)


def beside_sound(chance: random.Random, units: str) -> Drill:
    """Whether a needle is behind, with or ahead of the sound rig's at the same moment."""
    wanted = chance.choice(("healthy", "slow", "flat_low", "fast_dry"))
    run, sound, case = drawn_shape(chance, wanted)
    time = chance.choice(WATCH)
    here, good = vacuum_at(run, time), vacuum_at(sound, time)
    right = "ahead" if here > good + APART else "behind" if here < good - APART else "as_sound"
    said = {
        "now": text("teaching.seconds", n=round(time)),
        "here": format_quantity("vacuum", here, units),
        "good": format_quantity("vacuum", good, units),
    }
    return drill(_key("beside_sound"), BESIDE, f"{case} at {time:g}", right, said)


def water_height(chance: random.Random, units: str) -> Drill:
    """How high the water stands in the hose for what the gauge shows."""
    site = usual_site(chance.choice((4.0, 4.5, 5.0, 5.5)))
    rig = drawn_rig(chance, site)
    run = run_of(rig, site)
    time = chance.choice((12.0, 15.0, 18.0, 21.0))
    # as the gauge is read, so that the figures on the page agree with one another
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    vacuum = float(unit.to_si(round(unit.from_si(vacuum_at(run, time)), unit.decimals)))
    per_metre = lift_pressure(site) / site.lift
    height = vacuum / per_metre
    inches = vacuum / UNITS["inHg"].size
    if abs(inches - site.lift) < ALIKE_HEIGHT:  # would stand there twice
        inches *= 1.2
    figures = {
        "by_lift": height,
        "all_the_way": site.lift,
        "ten_times_less": height / 10.0,
        "in_inches": inches,
    }
    labels = {
        name: format_quantity("length", value, "metric" if units == "metric" else "us")
        for name, value in figures.items()
    }
    front = run.value("front_position", time)
    said = {
        "reading": format_quantity("vacuum", vacuum, units),
        "lift": format_quantity("length", site.lift, units),
        "static": format_quantity("vacuum", lift_pressure(site), units),
        "height": format_quantity("length", height, units),
        "along": format_quantity("length", front, units),
        "per": format_quantity(
            "vacuum", per_metre if units == "metric" else UNITS["ft"].size * 998.2 * STANDARD_GRAVITY, units
        ),
        "unit": text(f"{AREA}.per_unit.{units}"),
        "units": text(f"{AREA}.many_units.{units}"),
    }
    return drill(
        _key("water_height"), LIFT, f"lift {site.lift:g} at {time:g}", "by_lift", said, labels=labels
    )


def which_reading(chance: random.Random, units: str) -> Drill:
    """Which of three resting needles belongs to a rig whose water is held back."""
    site = drawn_site(chance)
    rig = drawn_rig(chance, site)
    lift = lift_pressure(site)
    size = chance.choice((0.985, 0.99, 0.995))
    blocked = faulted("strainer_plugged", size, "", rig, site)
    leak = faulted("flange_leaks", chance.choice((0.0075, 0.008)), "", rig, site)
    rest = resting_vacuum(blocked)
    figures = {"low": resting_vacuum(leak), "at_lift": lift, "deep": rest}
    right = min(figures, key=lambda name: abs(figures[name] - rest))
    said = common(blocked, units) | {
        name: format_quantity("vacuum", value, units) for name, value in figures.items()
    }
    labels = {name: said[name] for name in figures}
    return drill(
        _key("which_reading"), LIFT, f"strainer {size:g} lift {site.lift:g}", right, said, labels=labels
    )


def first_seconds(chance: random.Random, units: str) -> Drill:
    """Which of two first quarter minutes belongs to a plugged strainer or a closed hose, and which to a sound rig."""
    site = drawn_site(chance)
    rig = drawn_rig(chance, site)
    size = chance.choice((0.99, 0.993, 0.996, 0.998))
    sound, blocked = run_of(rig, site), faulted("strainer_plugged", size, "", rig, site)
    time = chance.choice((8.0, 10.0, 12.0))
    here, good = vacuum_at(blocked, time), vacuum_at(sound, time)
    right = "faster" if here > good + 800.0 else "slower" if here < good - 800.0 else "same"
    said = {
        "lift": format_quantity("length", site.lift, units),
        "now": text("teaching.seconds", n=round(time)),
        "here": format_quantity("vacuum", here, units),
        "good": format_quantity("vacuum", good, units),
    }
    return drill(
        _key("first_seconds"), SHAPE, f"strainer {size:g} lift {site.lift:g} at {time:g}", right, said
    )


def _three_readings(run: Run) -> tuple[tuple[int, ...], list[float]] | None:
    """Seconds and vacuums [Pa] of three readings that tell whether a needle climbs or stands; None where none do."""
    for shares in READ_AT if run.primed else ():
        times = tuple(round(run.prime_time * share) for share in shares)
        read = [vacuum_at(run, float(time)) for time in times]
        # a needle at the lift would be at rest there while the casing fills
        if read[2] - read[1] > CLIMBS and read[2] < BELOW * lift_pressure(run.site):
            return None if standing(run) else (times, read)
    read = [vacuum_at(run, float(time)) for time in STANDING_AT]
    at_rest = not run.primed and reads_alike("vacuum", read[1], read[2]) and standing(run)
    return (STANDING_AT, read) if at_rest else None


def coming_or_standing(chance: random.Random, units: str) -> Drill:
    """Whether a low needle still climbs or stands."""
    wanted = chance.choice(("slow", "flat_low"))
    found: tuple[tuple[int, ...], list[float]] | None = None
    for _ in range(TRIES):  # until the readings themselves tell the two apart
        run, _, case = drawn_shape(chance, wanted)
        found = _three_readings(run)
        if found is not None:
            break
    while found is None:  # a standing needle is soon found
        run, _, case = drawn_shape(chance, "flat_low")
        found = _three_readings(run)
    times, read = found
    still = reads_alike("vacuum", read[1], read[2])
    right = "stands" if still else "comes"
    said = common(run, units)
    for n, (time, value) in enumerate(zip(times, read, strict=True), start=1):
        said |= {
            f"t{n}": text("teaching.seconds", n=round(time)),
            f"v{n}": format_quantity("vacuum", value, units),
        }
    said["step"] = text(f"{AREA}.step.{'stood' if still else 'climbed'}", **said)
    end = text(f"{AREA}.coming.{'primed' if run.primed else right}", **said)
    return drill(_key("coming_or_standing"), SHAPE, case, right, said | {"end": end})


def deep_and_wet(chance: random.Random, units: str) -> Drill:
    """Whether a needle far above the static lift is a blockage: only while no water comes."""
    flows = chance.random() < 0.5
    if flows:
        site = drawn_site(chance)
        run, case = run_of(drawn_rig(chance, site), site), f"sound lift {site.lift:g}"
        time = float(round(run.prime_time + 20.0))
    else:
        run, _, case = drawn_shape(chance, "fast_dry")
        time = 100.0
    right = "pumping" if run.value("discharge_flow", time) > 0.2 * run.steady_flow else "blocked"
    said = common(run, units) | {
        "now": text("teaching.seconds", n=round(time)),
        "here": format_quantity("vacuum", vacuum_at(run, time), units),
        "outlet": text(f"{AREA}.outlet.{'wet' if right == 'pumping' else 'dry'}"),
        "end": text(
            f"{AREA}.deep.{right}", flow=format_quantity("flow", run.value("discharge_flow", time), units)
        ),
    }
    return drill(_key("deep_and_wet"), LIFT, f"{case} at {time:g}", right, said)


DRILLS: tuple[Template, ...] = (
    what_shape,
    water_height,
    first_seconds,
    plateau,
    beside_sound,
    which_reading,
    coming_or_standing,
    deep_and_wet,
)
CHECK: tuple[Template, ...] = (what_shape, plateau, first_seconds, coming_or_standing, deep_and_wet)
