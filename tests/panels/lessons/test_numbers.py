"""Every number with a unit in the texts of the pages has its origin: the model, the figures, a conversion, a named
source, or "made up".

What a page works out comes by a field ({lift}) and is the model's. This reads the numbers that are typed out. A label of
a look holds the look's own minutes, a figure in brackets the one before it in other units; all else stands in ROWS, each
with what holds it: a function of model and figures, a number that the lesson's own runs are set to, or words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

import simulator
from simulator.instruments.checks import CHECKS
from simulator.instruments.vacuum_tests import DEEP_WITHIN
from simulator.marking.debrief import USUAL_MOTIVE
from simulator.marking.sheet import ECONOMY, FOUND, OUT_OF
from simulator.panels.lessons.air_gets_in.drills import PUMPING_TIME, WIDE
from simulator.panels.teaching.cases import faulted, run_of, usual_rig, usual_site, with_hose
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.rig.presets import load_rig, shipped_rig_names
from simulator.rig.safe_work import LIGHT_HOSE
from simulator.run import ControlStep, simulate
from simulator.units import STANDARD_GRAVITY as G

HOME = Path(simulator.__file__).parent
LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # a tenth of the time
FILES = (*sorted((HOME / "texts" / "en").glob("*.yaml")), *sorted(HOME.glob("panels/lessons/*/words.yaml")))
#: SI size of a unit as it is written
SIZES = {
    "%": 0.01, "kPa": 1e3, "bar": 1e5, "psi": 6894.757, "inHg": 3386.389, "mm": 1e-3, "m": 1.0, "ft": 0.3048,
    "L/s": 1e-3, "min": 60.0, "minute": 60.0, "minutes": 60.0, "hour": 3600.0, "hours": 3600.0, "s": 1.0,
    "seconds": 1.0,
    "kg": 1.0, "lb": 0.45359, "times": 1.0, "marks": 1.0, "marker": 1.0, "markers": 1.0, "points": 1.0, "rpm": 1.0,
    "kN": 1e3, "°C": 1.0, "°F": 1.0, "litres": 1e-3,
}  # fmt: skip
UNIT = "|".join(sorted(map(re.escape, SIZES), key=len, reverse=True))
NUMBER = re.compile(
    rf"(?<![\w{{.,])(\d+(?:\.\d+)?)(?:\s*(?:to|and|or)\s*(\d+(?:\.\d+)?))?\s*({UNIT})(?![\w²³/])"
)
WATER = 999.0  # [kg/m3]


def texts(found: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a catalogue with its key."""
    if isinstance(found, dict):
        for name, value in found.items():
            yield from texts(value, f"{key}.{name}" if key else str(name))
    elif isinstance(found, list):
        for number, value in enumerate(found):
            yield from texts(value, f"{key}.{number}")
    elif isinstance(found, str):
        yield key, found


def numbers() -> Iterator[tuple[str, str, str]]:
    """File and key, the number as it is written, and the text; a conversion in brackets goes with its number."""
    for path in FILES:
        area = path.parent.name if path.name == "words.yaml" else path.stem
        for key, said in texts(yaml.load(path.read_text(encoding="utf-8"), Loader=LOADER)):
            before: re.Match[str] | None = None
            for found in NUMBER.finditer(said):
                bracket = before is not None and said[before.end() : found.start()] in (" (", ", ")
                if bracket and before is not None and SIZES[before[3]] != SIZES[found[3]]:
                    if not same(before, found):
                        yield f"{area}.{key}", f"{before[0]} is not {found[0]}", said
                else:
                    yield f"{area}.{key.removeprefix(f'{area}.')}", found[0], said
                before = found


def same(one: re.Match[str], other: re.Match[str]) -> bool:
    """Whether a number in other units says the same, as people round."""
    first, second = (float(each[2] or each[1]) * SIZES[each[3]] for each in (one, other))
    return bool(abs(first - second) <= 0.07 * first)


# what holds a number: each gives whether it is so


def primes(fault: str, size: float, place: str = "", lift: float = 3.0) -> float:
    """How many times as long as in good order a start takes; inf where it never primes."""
    site = usual_site(lift)
    took = faulted(fault, size, place, None, site).prime_time
    return float(np.nan_to_num(took, nan=np.inf) / run_of(usual_rig(), site).prime_time)


def at_speed(speed: float, lift: float) -> float:
    """Time [s] that a start of the usual rig takes at a speed [-]; inf where it never primes."""
    return float(np.nan_to_num(run_of(usual_rig(), usual_site(lift), speed).prime_time, nan=np.inf))


def flow(size: float, fault: str = "joint_ring", place: str = "joint:2", at: float = PUMPING_TIME) -> float:
    """The flow with a hole, beside that of a sound rig [-]."""
    sound = run_of(usual_rig(), usual_site())
    here = faulted(fault, size, place, None, usual_site())
    return here.value("discharge_flow", at) / sound.value("discharge_flow", at)


def at_half_speed(lift: float, speed: float = 0.5) -> float:
    """The flow [m3/s] a minute after the engine was brought down."""
    controls = (ControlStep(0.0, 1.0), ControlStep(70.0, speed))
    return float(
        simulate(usual_rig(), usual_site(lift), controls=controls, duration=130.0).discharge_flow[-1]
    )


def stands_high(lift: float) -> bool:
    """Whether the usual rig, in good order and with a longer hose, pumps at a lift [m]."""
    return run_of(with_hose(usual_rig(), 13.0), usual_site(lift), duration=300.0).outcome.code == "primed"


def height(pressure: float) -> float:
    """Metres of water that a pressure [Pa] holds up."""
    return pressure / (WATER * G)


def near(value: float, wanted: float, within: float = 0.06) -> bool:
    """Whether a figure is what is said, as people round."""
    return abs(value - wanted) <= within * wanted


def bore(name: str, wanted: float) -> bool:
    """Whether a rig's hose has a bore [m]."""
    return load_rig(name).suction_hose.bore == pytest.approx(wanted)


def deepest(altitude: float = 0.0) -> float:
    """The deepest vacuum [Pa] that the usual rig draws on a plugged strainer."""
    site = usual_site()
    site = type(site)(**{**vars(site), "altitude": altitude})
    run = faulted("strainer_plugged", 0.999, "", None, site)
    return float(pressure_at_altitude(altitude) - run.suction_pressure[-1])


def pull(bore_m: float, vacuum: float) -> float:
    """What the air outside presses a plate on with [kg]."""
    return 0.25 * np.pi * bore_m**2 * vacuum / G


SEA = 101_325.0
Holds = Callable[[], bool] | str
SET = "set: the lesson's own runs are set to it"
DEFINED = "defined: what the page or the measure is, no figure of a rig"
MADE_UP = "made up: how long a lesson is planned for"
PRACTICE = "common practice, no source"

#: (pattern of the key, pattern of the number, what holds it); the first row that fits counts.
ROWS: tuple[tuple[str, str, Holds], ...] = (
    (r"bench\..*back|.*\.plan\.wall\..*", r"10 s|20 s", DEFINED),  # how far a press goes back, when to hold
    (r"desks\.hints\.place", r".*", DEFINED),  # an example of typing
    (r"diagnosis\.(chance|minutes|calibration)\..*|own_pump\.factor_columns\..*", r".*", DEFINED),
    (r"marking\.found\.call_.*|panel\.call\..*|.*", r"(10|1) markers?|100 marks", DEFINED),
    (r"skills\.how_worked\..*", r"10 minutes", DEFINED),
    (r"study\.test", r"85 points", lambda: OUT_OF[FOUND] + OUT_OF[ECONOMY] == 85.0),
    (r"study\.share", r"95 %", DEFINED),  # the goal that a study is held against
    (r"plans\.words\..*|[a-z_]+\.minutes|lessons\.home\.first", r".*", MADE_UP),
    (r"(lessons\.home|.*\.pull_on_plate)\..*", r"150 mm", partial(bore, "osier", 0.15)),
    (r"halving_the_problem\..*", r"200 mm", partial(bore, "alder", 0.20)),
    (r"halving_the_problem\..*", r"300 mm", lambda: pull(0.3, 8e4) > 500.0),
    (r"halving_the_problem\..*", r"5 kPa", lambda: DEEP_WITHIN == 5e3),
    (r"halving_the_problem\..*", r"145 kg", lambda: near(pull(0.15, 8e4), 145.0)),
    (r"halving_the_problem\..*pull_on_plate.*", r"80 kPa", SET),
    (r".*", r"(10|9\.8) kPa", lambda: near(WATER * G, 9.8e3)),  # a metre of water
    (r".*", r"1 inHg", lambda: 1.0 < 3386.389 / (WATER * G * 0.3048) < 1.2),  # a foot of it and a bit
    (r"start_here\.plan\..*", r"30 kPa|50 kPa", DEFINED),  # what is asked
    (r"start_here\.plan\..*", r"5 m", lambda: near(height(5e4), 5.0)),
    (r".*", r"15 %", lambda: USUAL_MOTIVE == 0.15),
    (r"own_pump\.hints\.readings|own_pump\.then\.few|field_sheet\.result\.below_once", r".*", PRACTICE),
    (r"own_pump\.how\.hose_length_m", r".*", SET),
    (r"own_pump\.bad\.range_time", r".*", DEFINED),
    (r"safe_work\.only\.heavy_hose", r"160 mm", lambda: LIGHT_HOSE == 0.16),
    (
        r"(safe_work\.dangers\.air_pressed|air_is_not_drawn_out\.words\.cautions\.0)",
        r"8 bar",
        lambda: max(load_rig(name).relief_valve.set_pressure for name in shipped_rig_names()) <= 8.05e5,
    ),
    (r"air_gets_in\.words\.(ideas\.size|predictions\.small_hole|tracks\.small)\..*", r"3 m|4 mm", SET),
    (
        r"air_gets_in\.words\.ideas\.size\..*",
        r"5\.5 mm",
        lambda: primes("flange_leaks", 0.0055) > 3.0 and 1.9 < primes("joint_ring", 0.0055, "joint:1") < 2.4,
    ),
    (r"air_gets_in\.words\.ideas\.look\..*", r"3 m", SET),
    (r"air_gets_in\.words\.ideas\.look\..*", r"4 kPa", lambda: near(WIDE * 3.0 * WATER * G, 4e3, 0.1)),
    (r"air_gets_in\.words\.ideas\.size\..*", r"7\.5 mm", lambda: primes("flange_leaks", 0.0075) == np.inf),
    (r"air_gets_in\.words\.predictions\.half_open_drain\.text", r"40 %", SET),
    (r"air_gets_in\..*hole_at_flange.*", r"2 mm", lambda: primes("flange_leaks", 0.0018) < 1.1),
    (r"air_gets_in\..*hole_at_flange.*", r"4 mm", lambda: 1.1 < primes("flange_leaks", 0.004) < np.inf),
    (r"air_gets_in\..*hole_at_flange.*", r"7 mm", lambda: primes("flange_leaks", 0.007) == np.inf),
    (r"air_gets_in\..*bigger_hole.*", r"5 mm", lambda: 1.1 < primes("joint_ring", 0.005, "joint:1") < np.inf),
    (r"air_gets_in\..*bigger_hole.*", r"6\.5 mm", lambda: primes("joint_ring", 0.0066, "joint:1") == np.inf),
    (r"air_gets_in\..*less_flow.*", r"4 mm", lambda: flow(0.004) > 0.98),
    (r"air_gets_in\..*less_flow.*", r"5 mm", lambda: flow(0.0054) < 0.92),
    (r"air_is_not_drawn_out\.words\.(figures|tracks|table)\..*", r"20 s|60 s|3 m", SET),
    (r"how_long_should_it_take\.plan\..*", r"1500 m", SET),
    (r"how_long_should_it_take\..*half_throttle.*", r"3\.5 m", lambda: at_speed(0.75, 3.5) < np.inf),
    (r"how_long_should_it_take\..*half_throttle.*", r"6 m", lambda: at_speed(0.5, 6.0) == np.inf),
    (
        r"how_long_should_it_take\.plan\..*",
        r"8\.6 m",
        lambda: near(height(pressure_at_altitude(1500.0)), 8.6, 0.02),
    ),
    (r"how_long_should_it_take\.plan\..*", r"10\.3 m", lambda: near(height(SEA), 10.3, 0.02)),
    (r"how_long_should_it_take\..*", r"1\.8 times", lambda: near((4.0 / 3.0) ** 2, 1.8, 0.02)),
    (r"how_long_should_it_take\.words\.curves\..*", r".*", SET),
    (r"how_long_should_it_take\.words\.ideas\.lift\..*", r"5 m", lambda: boils_at(5.0) and not boils_at(4.5)),
    (r".*", r"10 m", lambda: near(height(SEA), 10.0)),
    (
        r"how_long_should_it_take\..*too_high.*",
        r"1 m|1000 m",
        lambda: near(height(SEA - pressure_at_altitude(1000.0)), 1.0, 0.2),
    ),
    (r"how_long_should_it_take\..*too_high.*", r"85 %", lambda: 0.83 < 8.7 / height(SEA) < 0.87),
    (r"how_the_rig_draws_water\.plan\..*", r"800 times", lambda: near(WATER / 1.225, 800.0)),
    (r"primes_then_loses_it\.words\.(intro|drills\.suction_tells)\..*", r"50 s", SET),
    (
        r"primes_then_loses_it\..*(how_much_air|air_joint).*",
        r"4 mm",
        lambda: flow(0.004, "flange_works_loose", "", 120.0) > 0.95,
    ),
    (
        r"primes_then_loses_it\..*(how_much_air|air_joint).*",
        r"6 mm",
        lambda: 0.2 < flow(0.006, "flange_works_loose", "", 120.0) < 0.95,
    ),
    (
        r"primes_then_loses_it\..*(how_much_air|air_joint).*",
        r"8 mm",
        lambda: flow(0.008, "flange_works_loose", "", 120.0) < 0.2,
    ),
    (r"reading_the_gauge\..*", r"20 s|8 mm", SET),
    # ice at 0 C: 917 kg/m3, CRC Handbook of Chemistry and Physics, from memory
    (r"shutting_down\.words\.ideas\.ice\..*", r"9 %", lambda: near(WATER / 917.0 - 1.0, 0.09, 0.05)),
    (r"shutting_down\.words\.ideas\.bring_down\..*", r"3 m", lambda: at_half_speed(3.0) < 1e-3),
    (r"shutting_down\.words\.ideas\.bring_down\..*", r"2\.5 m", lambda: at_half_speed(2.5) > 1e-3),
    (r"shutting_down\..*part_speed.*", r"6 m", lambda: usual_rig().discharge.rise == 6.0),
    (r"shutting_down\..*part_speed.*", r"2\.5 m", lambda: at_half_speed(2.5) > 1e-3),
    (r"shutting_down\..*part_speed.*", r"3 m", lambda: at_half_speed(3.0) < 1e-3 < at_half_speed(3.0, 0.75)),
    (r"shutting_down\..*forgot_casing.*", r"5 %", lambda: primes("drain_open", 0.05) < np.inf),
    (r"shutting_down\..*forgot_casing.*", r"30 %", lambda: primes("drain_open", 0.3) == np.inf),
    (r"water_cannot_come\..*", r"(10|15|30) s|10 seconds", SET),
    (
        r"water_cannot_come\.words\.ideas\.cheapest\..*",
        r"3 minutes",
        lambda: CHECKS["dip_water"].minutes == 3.0,
    ),
    (
        r"water_cannot_come\.words\.ideas\.cheapest\..*",
        r"6 minutes",
        lambda: CHECKS["strainer_out"].minutes == 6.0,
    ),
    (
        r"water_cannot_come\.words\.ideas\.cheapest\..*",
        r"12 minutes",
        lambda: CHECKS["clear_plate"].minutes == 12.0,
    ),
    (r"water_cannot_come\..*can_it_prime.*", r"91 kPa", lambda: near(deepest(), 9.1e4, 0.02)),
    (r"water_cannot_come\..*can_it_prime.*", r"1000 m", lambda: near(deepest() - deepest(1000.0), 1e4, 0.2)),
    (
        r"water_cannot_come\..*high_spot.*",
        r"8\.7 m",
        lambda: stands_high(8.7) and not stands_high(8.9),
    ),
)


def row_of(key: str, number: str) -> Holds | None:
    """What holds a number; None where nothing does."""
    check = re.fullmatch(r".*\.options\.(\w+)\.label", key)
    if check and check[1] in CHECKS:
        minutes = CHECKS[check[1]].minutes
        return lambda: float(number.split()[0]) == minutes
    for where, what, holds in ROWS:
        if re.fullmatch(where, key) and re.fullmatch(what, number):
            return holds
    return None


def boils_at(lift: float) -> bool:
    """Whether the usual rig in good order wants more head before its wheel than it has, pumping at a lift [m]."""
    run = run_of(usual_rig(), usual_site(lift))
    return float(run.value("npsh_margin", run.prime_time + 30.0)) < 0.0


FOUND_NUMBERS = tuple(numbers())


def test_numbers_are_found() -> None:
    assert len(FOUND_NUMBERS) > 100


def test_every_number_has_its_origin() -> None:
    lost = [f"{key}: {number} | {said}" for key, number, said in FOUND_NUMBERS if row_of(key, number) is None]
    assert lost == []


def test_every_row_is_needed() -> None:
    used = {id(row_of(key, number)) for key, number, _ in FOUND_NUMBERS}
    assert [what for _, what, holds in ROWS if callable(holds) and id(holds) not in used] == []


@pytest.mark.parametrize(
    ("where", "number"),
    sorted({(key, number) for key, number, _ in FOUND_NUMBERS if callable(row_of(key, number))}),
)
def test_what_is_said_is_so(where: str, number: str) -> None:
    holds = row_of(where, number)
    assert callable(holds)
    assert holds()


def test_what_a_lessons_runs_are_set_to_stands_in_the_lesson() -> None:
    """A number that only sets a case must be one of the lesson's own code, in SI, or of the usual rig and site."""
    missing = []
    for key, number, _ in FOUND_NUMBERS:
        if row_of(key, number) != SET:
            continue
        folder = HOME / "panels" / "lessons" / key.split(".")[0]
        code = "".join(path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.py")))
        typed = {float(one) for one in re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?:e-?\d+)?", code)} | {
            usual_site().lift
        }
        value = float(number.split()[0]) * SIZES[number.split()[-1]]
        if code and not any(value == pytest.approx(one) for one in typed):
            missing.append(f"{key}: {number}")
    assert missing == []
