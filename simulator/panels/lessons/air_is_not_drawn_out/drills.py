"""Drills of lesson 05, air is not drawn out: every answer is read off the run of the drill's own case.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np

from simulator.instruments.vacuum_tests import BLANK_DURATION
from simulator.panels.lessons.air_is_not_drawn_out.motive_side import (
    POPS,
    WATCH,
    level,
    pops_a_minute,
    row,
    stream,
)
from simulator.panels.page.words import format_quantity, reads_alike
from simulator.panels.teaching.cases import (
    faulted,
    lift_pressure,
    motive_at,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
    vacuum_at,
    with_hose,
)
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import came, dials, needles
from simulator.panels.teaching.gauge_shapes import standing
from simulator.panels.teaching.pull_downs import common
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.run import Run, Setup, simulate
from simulator.texts import text

AREA = "lesson_05"
TABLE, JET, STREAM, SOURCE = (
    "air_not_drawn_out.table",
    "air_not_drawn_out.jet",
    "air_not_drawn_out.exhaust",
    "air_not_drawn_out.source",
)
COUNTED = 30.0  # pops a minute that a person can count
PLAINLY = 1.5e3  # [Pa] short of the lift that a gauge shows for sure
LATER = 1.14  # [-] of a sound rig's time from which a start is plainly later, in whole seconds too
#: Lift [m] and closed share of a nozzle [-] that make a start late, or keep it from priming.
HALF_PLUGGED = (
    *((4.0, 0.68), (4.0, 0.7), (4.5, 0.66), (5.0, 0.62), (5.5, 0.6)),
    *((5.0, 0.7), (5.5, 0.68), (6.0, 0.66), (6.5, 0.62), (7.0, 0.6)),
)
READ, TRIES = (40.0, 120.0, 170.0), 24  # [s] of a start at which the needle is read; draws
#: Cases of the motive side: fault and sizes in SI units.
CASES = {
    "nozzle_plugged": (0.7, 0.75, 0.8, 0.85, 0.9),
    "air_line_kinked": (0.978, 0.982, 0.985, 0.987),
    "belt_loose": (0.6, 0.65, 0.7, 0.75),
    "compressor_worn": (0.62, 0.66, 0.7, 0.74),
    "air_line_holed": (0.0038, 0.0042, 0.0046, 0.005),
    "relief_weak": (1.2e5, 1.6e5, 2.0e5, 2.4e5),
    "screen_plugged": (0.95, 0.96, 0.97, 0.98, 0.99),
    "exhaust_blocked": (0.93, 0.95, 0.97, 0.985),
}


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def drawn(chance: random.Random, names: tuple[str, ...] = tuple(CASES)) -> tuple[str, float, Run]:
    """A fault, its size in SI units and its run at the usual rig and site."""
    name = chance.choice(names)
    size = chance.choice(CASES[name])
    return name, size, faulted(name, size)


def motive_words(run: Run, units: str) -> dict[str, str]:
    """Fields on the motive side of a run beside the sound rig's."""
    good = run_of(usual_rig(), usual_site())
    return common(run, units) | {
        "motive": format_quantity("pressure", needles(run, WATCH)["motive"], units),
        "good": format_quantity("pressure", needles(good, WATCH)["motive"], units),
        "valve": valve_words(run),
    }


def valve_words(run: Run) -> str:
    """What the relief valve is heard to do."""
    pops = pops_a_minute(run)
    if pops >= 600.0:
        return text(f"{AREA}.valve.blows")
    if pops > COUNTED:  # nobody counts that
        return text(f"{AREA}.valve.pops_on")
    return text(f"{AREA}.valve.pops", n=round(pops)) if pops >= POPS else text(f"{AREA}.valve.silent")


def which_row(chance: random.Random, units: str) -> Drill:
    """What motive gauge and relief valve say together."""
    name, size, run = drawn(chance)
    sound = run_of(usual_rig(), usual_site())
    figures = (dials("needles", needles(run, WATCH), units, text(f"{AREA}.needles_at", n=round(WATCH))),)
    return drill(
        _key("which_row"),
        TABLE,
        f"{name} {size:g}",
        row(run, sound),
        motive_words(run, units),
        figures=figures,
    )


def motive_of(chance: random.Random, units: str) -> Drill:
    """What the motive side does for something that is wrong."""
    name, size, _ = drawn(
        chance,
        (
            "nozzle_plugged",
            "air_line_kinked",
            "belt_loose",
            "air_line_holed",
            "relief_weak",
            "screen_plugged",
        ),
    )
    site = usual_site(chance.choice((2.5, 3.0, 3.5, 4.0)))
    run = faulted(name, size, "", None, site)
    sound = run_of(usual_rig(), usual_site())
    found, heard = level(run, sound), pops_a_minute(run) >= POPS
    right = "usual" if found == "usual" else f"{found}_{'pops' if heard else 'silent'}"
    said = motive_words(run, units) | {"what": text(f"{AREA}.wrong.{name}")}
    only = ("usual", "low_silent", "low_pops", "high_pops")
    stood = (dials("needles", needles(run, WATCH), units, text(f"{AREA}.needles_at", n=round(WATCH))),)
    case = f"{name} {size:g} lift {site.lift:g}"
    return drill(_key("motive_of"), TABLE, case, right, said, only=only, after=stood)


def half_plugged(chance: random.Random, units: str) -> Drill:
    """What a nozzle that is more than half plugged does: prime plainly later, or never."""
    for _ in range(TRIES):
        lift, size = chance.choice(HALF_PLUGGED)
        hose = chance.choice((11.0, 12.0, 13.0))
        rig, site = with_hose(usual_rig(), hose), usual_site(lift)
        run, sound = faulted("nozzle_plugged", size, "", rig, site), run_of(rig, site)
        # one that is as good as on time, or stands right at the lift, would be a matter of luck
        if run.primed and run.prime_time > LATER * sound.prime_time:
            break
        if not run.primed and resting_vacuum(run) < lift_pressure(site) - PLAINLY:
            break
    right = "later" if run.primed else "never"
    said = common(run, units) | {"usual": text("teaching.seconds", n=round(sound.prime_time))}
    said["hose"] = format_quantity("length", hose, units)
    plate = simulate(
        *FAULTS["nozzle_plugged"].apply(rig, site, size, ""), setup=Setup.BLANKED, duration=BLANK_DURATION
    )
    said["depth"] = format_quantity("vacuum", float(np.max(plate.vacuum)), units)
    said["end"] = text(f"{AREA}.plug_end.{right}", **said)
    case = f"nozzle_plugged {size:g} lift {lift:g} hose {hose:g}"
    return drill(_key("half_plugged"), JET, case, right, said, after=came(run, sound, units))


def suction_of(chance: random.Random, units: str) -> Drill:
    """What the suction gauge does when the jet fails outright, or is turned back."""
    name, size = chance.choice(
        (
            ("belt_loose", 1.0),
            ("exhaust_blocked", 0.97),
            ("exhaust_blocked", 0.985),
            ("nozzle_plugged", 0.85),
            ("nozzle_plugged", 0.9),
        )
    )
    site = usual_site(chance.choice((2.5, 3.0, 3.5)))
    run = faulted(name, size, "", None, site)
    rest = resting_vacuum(run)
    right = "pressure" if rest < -2e3 else "zero" if rest < 2e3 else "short"
    said = common(run, units) | {
        "what": text(f"{AREA}.wrong.{name if size < 1.0 else 'belt_gone'}"),
        "end": text(f"{AREA}.suction_end.{right}", rest=format_quantity("vacuum", abs(rest), units)),
    }
    stood = (dials("needles", needles(run, WATCH), units, text(f"{AREA}.needles_at", n=round(WATCH))),)
    return drill(_key("suction_of"), JET, f"{name} {size:g} lift {site.lift:g}", right, said, after=stood)


def exhaust_feel(chance: random.Random, units: str) -> Drill:
    """What the stream at the exhaust hose is like."""
    name, size = chance.choice(
        (
            ("belt_loose", 1.0),
            ("nozzle_plugged", 0.85),
            ("belt_loose", 0.75),
            ("flange_leaks", 0.0075),
            ("drain_open", 0.6),
        )
    )
    site = usual_site(chance.choice((3.0, 3.5, 4.0)))
    run = faulted(name, size, "", None, site)
    found = stream(run)
    right = "strong" if found in ("strong", "usual") else found
    said = common(run, units) | {
        "what": text(f"{AREA}.wrong.{name if size < 1.0 else 'belt_gone'}"),
        "end": text(f"{AREA}.stream.{right}"),
    }
    return drill(_key("exhaust_feel"), STREAM, f"{name} {size:g} lift {site.lift:g}", right, said)


def screen_or_leak(chance: random.Random, units: str) -> Drill:
    """Whether a low needle with good motive air is a plugged screen or a leak: the screen keeps climbing."""
    for _ in range(TRIES):  # until the readings themselves tell the two apart
        site = usual_site(chance.choice((3.0, 3.5, 4.0)))
        if chance.random() < 0.5:
            name, size = "screen_plugged", chance.choice((0.98, 0.982, 0.985))
        else:
            name, size = "flange_leaks", chance.choice((0.007, 0.0075, 0.008))
        run = faulted(name, size, "", None, site)
        right = "leak" if standing(run) else "screen"
        if reads_alike("vacuum", vacuum_at(run, READ[1]), vacuum_at(run, READ[2])) == (right == "leak"):
            break
    said = motive_words(run, units)
    for n, time in enumerate(READ, start=1):
        said |= {
            f"t{n}": text("teaching.seconds", n=round(time)),
            f"v{n}": format_quantity("vacuum", vacuum_at(run, time), units),
        }
    said["end"] = text(f"{AREA}.{'stood' if right == 'leak' else 'climbed'}", **said)
    case, sound = f"{name} {size:g} lift {site.lift:g}", run_of(usual_rig(), site)
    return drill(_key("screen_or_leak"), SOURCE, case, right, said, after=came(run, sound, units, last=180.0))


def speed_or_belt(chance: random.Random, units: str) -> Drill:
    """Whether low motive air comes of a slow engine or of the belt, by the engine's revolutions."""
    if chance.random() < 0.5:
        name, size = "engine_slow", chance.choice((0.55, 0.6, 0.65, 0.7))
    else:
        name, size = "belt_loose", chance.choice((0.45, 0.5, 0.6, 0.65))
    run = faulted(name, size)
    speed = run.value("speed_ratio", WATCH)
    rated = 60.0 * usual_rig().engine.rated_speed
    right = "engine" if speed < 0.9 else "belt"
    said = motive_words(run, units) | {
        "rpm": f"{10 * round(6.0 * run.rig.engine.rated_speed * speed):d}",
        "rated": f"{rated:.0f}",
    }
    stood = (dials("needles", needles(run, WATCH), units, text(f"{AREA}.needles_at", n=round(WATCH))),)
    return drill(_key("speed_or_belt"), SOURCE, f"{name} {size:g}", right, said, after=stood)


def zero_vacuum(chance: random.Random, units: str) -> Drill:
    """No vacuum at all: cock shut, belt gone, or a drain wide open."""
    rig = load_rig("alder")
    site = replace(standard_site("alder"), lift=chance.choice((2.0, 2.5, 3.0, 3.5)))
    name, size = chance.choice((("cock_shut", 1.0), ("belt_loose", 1.0), ("drain_open", 1.0)))
    run, sound = faulted(name, size, "", rig, site), run_of(rig, site)
    motive = motive_at(run, WATCH)
    share = run.value("exhaust_air", WATCH) / max(run.value("motive_flow", WATCH), 1e-9)
    right = "belt" if motive < 0.3 * motive_at(sound, WATCH) else "cock" if share < 1.1 else "drain"
    felt = "none" if right == "belt" else "motive_only" if right == "cock" else "strong"
    said = common(run, units) | {
        "motive": format_quantity("pressure", needles(run, WATCH)["motive"], units),
        "good": format_quantity("pressure", needles(sound, WATCH)["motive"], units),
        "felt": text(f"{AREA}.felt.{felt}"),
    }
    stood = (dials("needles", needles(run, WATCH), units, text(f"{AREA}.needles_at", n=round(WATCH))),)
    return drill(_key("zero_vacuum"), SOURCE, f"{name} alder lift {site.lift:g}", right, said, after=stood)


DRILLS: tuple[Template, ...] = (
    which_row,
    motive_of,
    half_plugged,
    suction_of,
    exhaust_feel,
    screen_or_leak,
    speed_or_belt,
    zero_vacuum,
)
CHECK: tuple[Template, ...] = (which_row, motive_of, half_plugged, screen_or_leak, zero_vacuum)
