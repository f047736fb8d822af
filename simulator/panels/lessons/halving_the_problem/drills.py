"""Drills of lesson 07, halving the problem: tests under vacuum on the Alder, which has a cock to shut.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from functools import lru_cache

from simulator.instruments.checks import CHECKS
from simulator.instruments.vacuum_tests import (
    HOLD_FROM,
    HOLD_STEPS,
    MARK,
    deepest_and_time,
    fall_rate,
)
from simulator.panels.lessons.halving_the_problem.vacuum_tests import AREA, came_of, faulty, sound
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import lift_pressure, resting_vacuum
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import needles
from simulator.panels.teaching.looking import hold_run, likeliest, test_run
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig
from simulator.run import Run, Setup
from simulator.texts import text
from simulator.units import KILOGRAM_PER_POUND, STANDARD_GRAVITY, SYSTEMS, UNITS

HALF, HOLD, CAP = "half", "hold", "cap"  # what a skill is about, after the family of its case
SAFE = "safe_work.plate"
#: What may be wrong, by the part that a row of tests leads to: fault, place and sizes in SI units.
KINDS: dict[str, tuple[tuple[str, str, tuple[float, ...]], ...]] = {
    "leak_pump": (
        ("nrv_fouled", "", (20e-6, 25e-6, 30e-6, 35e-6, 40e-6)),
        ("flange_leaks", "", (0.005, 0.006, 0.007)),
        ("seal_worn", "", (0.0045, 0.005, 0.006)),
    ),
    "weak_jet": (
        ("belt_loose", "", (0.55, 0.6, 0.65, 0.7)),  # beyond, the plate shows next to nothing
        ("compressor_worn", "", (0.45, 0.55, 0.6, 0.65)),
        ("nozzle_plugged", "", (0.7, 0.75, 0.8)),
    ),
    "screen": (("screen_plugged", "", (0.945, 0.955, 0.96, 0.965, 0.97)),),
    "leak_hose": (
        ("joint_ring", "joint:1", (0.006, 0.007, 0.008, 0.009)),
        ("joint_ring", "joint:2", (0.006, 0.007, 0.008, 0.009)),
        ("hose_hole", "length:1", (0.006, 0.007)),
    ),
    "water_way": (
        ("strainer_plugged", "", (0.985, 0.99, 0.995)),
        ("liner_collapsed", "", (8e3, 10e3, 12e3)),
    ),
}
TESTS = ("hold_test", "capped_hose", "screen_out", "start_again")
MAX_LOST = 4e3  # [Pa] in half a minute that a tight pump end may lose
GROWN = 75.0  # [kg] of a grown person, made up for training


@lru_cache(maxsize=128)
def shows(check: str, fault: str, size: float, place: str) -> str:
    """What a test most likely shows of the rig with one fault.

    Parameters
    ----------
    check : by its id.
    size : in SI units [unit of the fault].
    place : of the fault; "" where it has but one.
    """
    return likeliest(check, sound() if not fault else faulty(fault, size, place), sound())


def part_of(fault: str, size: float, place: str) -> str:
    """The part that a row of tests leads to, told from the tests alone.

    Parameters
    ----------
    fault, size, place : what is wrong, how much in SI units [unit of the fault], and where.
    """
    blank = shows("blank_off", fault, size, place)
    if blank == "deep_slow":
        return "screen"
    if blank == "deep_quick":
        return "water_way" if shows("capped_hose", fault, size, place) == "deep_quick" else "leak_hose"
    return "weak_jet" if shows("hold_test", fault, size, place) == "holds" else "leak_pump"


def drawn(chance: random.Random, kinds: Sequence[str]) -> tuple[str, float, str]:
    """A fault of one of some kinds with its size in SI units [unit of the fault] and its place."""
    fault, place, sizes = chance.choice(KINDS[chance.choice(list(kinds))])
    return fault, chance.choice(sizes), place


def case_name(fault: str, size: float, place: str) -> str:
    """What was drawn, in a line.

    Parameters
    ----------
    fault, size, place : what is wrong, how much in SI units [unit of the fault], and where.
    """
    return f"{fault} {size:.3g} {place}".strip()


def skill(fault: tuple[str, float, str], about: str) -> str:
    """The skill that a question about a case with this fault trains."""
    return f"{FAULTS[fault[0]].family}.{about}"


def pull(vacuum: float, bore: float, units: str) -> str:
    """The pull of a vacuum [Pa] on a plate of a bore [m], as a weight in words."""
    mass = vacuum * math.pi * bore**2 / 4.0 / STANDARD_GRAVITY
    if units == "us":
        return text("lessons.home.pull_us", n=int(round(mass / KILOGRAM_PER_POUND, -1)))
    return text("lessons.home.pull", n=int(round(mass, -1)))


def people(mass: float) -> str:
    """A weight in grown people of 75 kg each, in words.

    Parameters
    ----------
    mass : [kg].
    """
    count = max(1, round(mass / GROWN))
    return text(f"{AREA}.people.{'one' if count == 1 else 'many'}", n=count)


def test_fields(run: Run, units: str) -> dict[str, str]:
    """What the tests read on a rig and on the sound one: the middle of a trembling needle, as the curves show it.

    Parameters
    ----------
    run : of the rig in question, up to its prime or to the end of the watch.
    """
    out = {}
    for prefix, of in (("", run), ("good_", sound())):
        for name, setup in (("blank", Setup.BLANKED), ("cap", Setup.CAPPED)):
            deepest, time = deepest_and_time(test_run(of.rig, of.site, setup), of.rig)
            out[f"{prefix}{name}"] = format_quantity("vacuum", deepest, units)
            out[f"{prefix}{name}_time"] = (
                text("teaching.seconds", n=round(time)) if math.isfinite(time) else text("teaching.never")
            )
        held = held_by(of)
        out[f"{prefix}begun"] = format_quantity("vacuum", held["begun"], units)
        out[f"{prefix}lost"] = format_quantity("vacuum", max(held["lost"], 0.0), units)
    out["mark"] = format_quantity("vacuum", MARK, units)
    out["static"] = format_quantity("vacuum", lift_pressure(run.site), units)
    out["rest"] = format_quantity("vacuum", max(resting_vacuum(run), 0.0), units)
    return out


def held_by(of: Run) -> dict[str, float]:
    """What the needle shows when the cock is shut and the engine stops, and what it has lost half a minute on [Pa].

    Parameters
    ----------
    of : a run of the rig that is tested.
    """
    run, shut = hold_run(of.rig, of.site), HOLD_STEPS[-1].time
    begun, left = (needles(run, shut + later)["suction"] for later in (0.0, 30.0))
    return {"begun": begun, "lost": begun - left}


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def read_blank(chance: random.Random, units: str) -> Drill:
    """What a blank-off reading is, beside the sound one."""
    fault = drawn(chance, ("leak_pump", "weak_jet", "screen", "leak_hose", "water_way"))
    right = shows("blank_off", *fault)
    said = test_fields(faulty(*fault), units)
    return drill(
        _key("read_blank"),
        skill(fault, HALF),
        case_name(*fault),
        right,
        said,
        after=came_of(fault, "plate", units),
    )


def which_half(chance: random.Random, units: str) -> Drill:
    """Which half a blank-off points to."""
    fault = drawn(chance, ("leak_pump", "weak_jet", "leak_hose", "water_way", "screen"))
    right = {"deep_quick": "water_side", "deep_slow": "slow"}.get(shows("blank_off", *fault), "pump_end")
    said = test_fields(faulty(*fault), units)
    said["end"] = text(f"{AREA}.half_because.{right}")
    return drill(
        _key("which_half"),
        skill(fault, HALF),
        case_name(*fault),
        right,
        said,
        after=came_of(fault, "plate", units),
    )


def hold_means(chance: random.Random, units: str) -> Drill:
    """What a hold test says after a shallow blank-off."""
    fault = drawn(chance, ("leak_pump", "weak_jet"))
    right = part_of(*fault)
    said = test_fields(faulty(*fault), units)
    said["end"] = text(f"{AREA}.hold_because.{right}", **said)
    return drill(
        _key("hold_means"),
        skill(fault, HOLD),
        case_name(*fault),
        right,
        said,
        after=came_of(fault, "hold", units),
    )


def capped_means(chance: random.Random, units: str) -> Drill:
    """What a capped hose says after a good blank-off."""
    fault = drawn(chance, ("leak_hose", "water_way"))
    right = part_of(*fault)
    said = test_fields(faulty(*fault), units)
    said["end"] = text(f"{AREA}.cap_because.{right}", **said)
    return drill(
        _key("capped_means"),
        skill(fault, CAP),
        case_name(*fault),
        right,
        said,
        after=came_of(fault, "cap", units),
    )


def splitting_test(blank: str) -> str:
    """The test that tells most of what is left apart after a blank-off outcome; the screen where only it is left."""
    kinds = {"deep_quick": ("leak_hose", "water_way"), "deep_slow": ("screen",)}
    left = [
        (fault, sizes[len(sizes) // 2], place)
        for kind in kinds.get(blank, ("leak_pump", "weak_jet"))
        for fault, place, sizes in KINDS[kind]
    ]
    if len(left) == 1:
        return "screen_out"
    seen = {test: len({shows(test, *each) for each in left}) for test in ("hold_test", "capped_hose")}
    good = {test: {shows(test, *each) for each in left} for test in seen}
    # a test parts two kinds where one of them shows as the sound rig does
    parts = [test for test in seen if seen[test] > 1 and shows(test, "", 0.0, "") in good[test]]
    return parts[0] if parts else "start_again"


def which_test(chance: random.Random, units: str) -> Drill:
    """The next test after a blank-off."""
    fault = drawn(chance, ("leak_pump", "weak_jet", "leak_hose", "water_way", "screen"))
    blank = shows("blank_off", *fault)
    right = splitting_test(blank)
    said = test_fields(faulty(*fault), units)
    said |= {"saw": CHECKS["blank_off"].sentence(blank), "end": text(f"{AREA}.test_because.{right}")}
    return drill(
        _key("which_test"),
        skill(fault, HALF),
        case_name(*fault),
        right,
        said,
        after=came_of(fault, "plate", units),
    )


def what_would_show(chance: random.Random, units: str) -> Drill:
    """What a blank-off would show of a named fault."""
    fault = drawn(chance, ("leak_pump", "weak_jet", "screen", "leak_hose", "water_way"))
    right = shows("blank_off", *fault)
    said = test_fields(faulty(*fault), units) | {
        "fault": text(f"{AREA}.slips" if fault[0] == "belt_loose" else f"faults.{fault[0]}.what")
    }
    return drill(
        _key("what_would_show"),
        skill(fault, HALF),
        case_name(*fault),
        right,
        said,
        after=came_of(fault, "plate", units),
    )


def to_a_tenth(vacuum: float, units: str) -> str:
    """A vacuum [Pa] to a tenth of its unit, so that one is seen to be four times another.

    Parameters
    ----------
    units : "metric" or "us".

    Examples
    --------
    >>> to_a_tenth(1440.0, "metric"), to_a_tenth(5400.0, "us")
    ('1.4 kPa', '1.6 inHg')
    """
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    return f"{vacuum / unit.size:.1f} {unit.name}"


def twice_the_hole(chance: random.Random, units: str) -> Drill:
    """How much faster the vacuum falls through a hole of twice the size."""
    small = chance.choice((0.001, 0.00125, 0.0015, 0.00175, 0.002))
    good = sound()
    rates = [
        fall_rate(hold_run(*FAULTS["flange_leaks"].apply(good.rig, good.site, d, "")), good.rig, HOLD_FROM)
        for d in (small, 2.0 * small)
    ]
    ratio = rates[1] / rates[0]
    right = min({"same": 1.0, "twice": 2.0, "four": 4.0}.items(), key=lambda item: abs(item[1] - ratio))[0]
    said = {
        "small": format_quantity("bore", small, "metric") if small >= 0.002 else f"{small * 1e3:g} mm",
        "large": f"{2e3 * small:g} mm",
        "first": to_a_tenth(10.0 * rates[0], units),
        "second": to_a_tenth(10.0 * rates[1], units),
    }
    said["small"] = f"{small * 1e3:g} mm"
    return drill(
        _key("twice_the_hole"), skill(("flange_leaks", small, ""), HOLD), f"hole {small:g}", right, said
    )


def pull_on_plate(chance: random.Random, units: str) -> Drill:
    """The pull that a vacuum has on a plate."""
    rig = load_rig(chance.choice(("reed", "osier", "alder", "sedge")))
    vacuum = 1e3 * chance.choice((70, 75, 80))
    bore = rig.suction_hose.bore
    labels = {
        "right": pull(vacuum, bore, units),
        "tenth": pull(vacuum / 8.0, bore, units),
        "double": pull(vacuum * 6.0, bore, units),
    }
    said = {
        "bore": format_quantity("bore", bore, units).replace(".0", ""),
        "vacuum": format_quantity("vacuum", vacuum, units),
        "pull": labels["right"],
        "people": people(vacuum * math.pi * bore**2 / 4.0 / STANDARD_GRAVITY),
    }
    return drill(
        _key("pull_on_plate"), SAFE, f"bore {bore:g} vacuum {vacuum:g}", "right", said, labels=labels
    )


def still_on(chance: random.Random, units: str) -> Drill:
    """What is left of the pull half a minute after the engine was stopped."""
    fault = (
        ("", 0.0, "")
        if chance.random() < 0.3
        else drawn(chance, ("weak_jet", "leak_hose", "water_way", "leak_pump"))
    )
    run = sound() if not fault[0] else faulty(*fault)
    held = held_by(run)
    left = held["begun"] - held["lost"]
    bore = run.rig.suction_hose.bore
    share = left / held["begun"]
    right = "most" if share > 0.5 else "little" if share > 0.1 else "none"
    tight = "tight" if right == "most" else "leaks"
    said = {
        "begun": format_quantity("vacuum", held["begun"], units),
        "left": format_quantity("vacuum", max(left, 0.0), units),
        "pull": pull(max(left, 0.0), bore, units),
        "hole": text(f"{AREA}.tight.{tight}"),
        "what": text(f"{AREA}.rig_is.{tight}"),
    }
    said["still"] = text(f"{AREA}.still.{right}", **said)
    return drill(_key("still_on"), SAFE, case_name(*fault) or "sound", right, said)


DRILLS: tuple[Template, ...] = (
    read_blank,
    which_half,
    which_test,
    hold_means,
    capped_means,
    what_would_show,
    twice_the_hole,
    pull_on_plate,
    still_on,
)
CHECK: tuple[Template, ...] = (which_half, hold_means, capped_means, what_would_show, pull_on_plate)
