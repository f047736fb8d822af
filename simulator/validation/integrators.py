"""The fast integrator against the reference, the books of every run, and runs drawn at random."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np

from simulator.charts.report import Line, Panel, chart, steps
from simulator.rig.faults import FAULTS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig, Site
from simulator.run.batch import Case, CaseFailed, run_batch
from simulator.run.layout import Setup
from simulator.run.reference import reference_run
from simulator.run.result import ControlStep, Run
from simulator.run.simulate import simulate
from simulator.validation.comparison import PRESSURE, Comparison, compare
from simulator.validation.invariants import BOOKS, breaches
from simulator.validation.random_cases import random_cases
from simulator.validation.rows import Figure, Row, Section, at_least, at_most
from simulator.validation.standards import IF97

REFERENCE = "SciPy Radau, rtol 1e-9, same equations"
CASES: tuple[tuple[str, str, str, float, str, dict[str, Any]], ...] = (
    ("sound, 150 mm", "osier", "sound", 0.0, "", {}),
    ("sound, 100 mm", "sedge", "sound", 0.0, "", {}),
    ("sound, 300 mm", "reed", "sound", 0.0, "", {}),
    ("drain 5 % open", "osier", "drain_open", 0.05, "", {"duration": 200.0}),
    ("ball seat 12 mm² open", "osier", "nrv_fouled", 12e-6, "", {}),
    ("joint hole 5 mm", "osier", "joint_ring", 0.005, "joint:1", {}),
    ("belt slips 40 %", "osier", "belt_loose", 0.4, "", {}),
    ("nozzle 75 % plugged", "osier", "nozzle_plugged", 0.75, "", {"duration": 40.0}),
    ("screen 96 % plugged", "osier", "screen_plugged", 0.96, "", {"duration": 160.0}),
    ("strainer 99.8 % plugged", "osier", "strainer_plugged", 0.998, "", {}),
    ("liner closing at 8 kPa", "osier", "liner_collapsed", 8e3, "", {}),
    ("level falls while pumping", "osier", "sound", 0.0, "", {"ramps": (Ramp("level_drop", 60.0, 80.0, 0.0, 0.9),)}),
    ("shut-down at 60 s", "osier", "sound", 0.0, "", {"controls": (ControlStep(0.0, 1.0), ControlStep(60.0, 0.0))}),
    ("hold test", "osier", "sound", 0.0, "", {
        "setup": Setup.BLANKED,
        "controls": (ControlStep(0.0, 1.0), ControlStep(40.0, 1.0, cock_open=False)),
        "duration": 60.0,
    }),
)  # fmt: skip


def altered(rig_name: str, fault: str, size: float, place: str) -> tuple[Rig, Site]:
    """A rig of the package at the standard site with a fault of a size [SI unit of the fault].

    Parameters
    ----------
    rig_name : of a rig of the package.
    place : of the fault, as the catalogue names places; "" where it has but one.
    """
    return FAULTS[fault].apply(load_rig(rig_name), standard_site(), size, place)


def fast_and_reference() -> Section:
    """Representative cases by both integrators."""
    rows: list[Row] = []
    details: list[Row] = []
    pairs: dict[str, tuple[Run, Run]] = {}
    found: list[Comparison] = []
    for name, rig_name, fault, size, place, options in CASES:
        rig, site = altered(rig_name, fault, size, place)
        chosen = {"duration": 90.0, **options}
        pairs[name] = simulate(rig, site, **chosen), reference_run(rig, site, **chosen)
        found.append(compare(*pairs[name]))
        rows.append(
            at_most(
                f"{name}: suction pressure apart",
                REFERENCE,
                found[-1].pressure_gap / 1e3,
                PRESSURE / 1e3,
                "kPa",
            )
        )
        details += _single(name, found[-1])
    other = sum(not one.same_events for one in found)
    late = sum(not one.same_prime for one in found)
    rows += [
        at_most(f"Cases of {len(found)} with another sequence of events", REFERENCE, other, 0, "-"),
        at_most("Cases with prime times more than 0.1 s + 0.2 % apart", REFERENCE, late, 0, "-"),
    ]
    return Section(
        "Fast against reference",
        "The quick integrator that the lessons use, against a slow and tight one on the same equations. Pressures are "
        "compared outside 0.1 s of an event.",
        tuple(rows),
        (_pair_figure(pairs), _popping_figure(pairs["nozzle 75 % plugged"])),
        tuple(details),
    )


def _single(name: str, found: Comparison) -> list[Row]:
    rows = [at_most(f"{name}: prime times apart", REFERENCE, found.prime_gap, found.prime_allowed, "s")]
    if found.repeating:
        rows += [
            at_most(f"{name}: counts of events apart", REFERENCE, 100 * found.count_gap, 1.0, "%"),
            at_most(f"{name}: means and envelopes apart", REFERENCE, 100 * found.statistics_gap, 1.0, "%"),
        ]
    return rows


def _pair_figure(pairs: dict[str, tuple[Run, Run]]) -> Figure:
    shown = ("sound, 150 mm", "joint hole 5 mm", "level falls while pumping", "liner closing at 8 kPa")
    top: list[Line] = []
    for style, name in enumerate(shown):
        fast, slow = pairs[name]
        top += [
            Line(name, steps(fast.time), steps(fast.vacuum) / 1e3, style=style),
            Line("reference", steps(slow.time, 40), steps(slow.vacuum, 40) / 1e3, "markers", style),
        ]
    gaps = tuple(
        Line(
            name,
            steps(pairs[name][0].time),
            steps(pairs[name][0].vacuum - pairs[name][1].vacuum),
            style=style,
        )
        for style, name in enumerate(shown)
    )
    return Figure(
        "Two integrators, one curve",
        "Lines: fast. Marks: reference. Right: the difference in pascal; 50 Pa are allowed.",
        chart(
            Panel(tuple(top), "time, s", "vacuum, kPa"),
            Panel(gaps, "time, s", "difference, Pa"),
            columns=2,
            height=260,
        ),
    )


def _popping_figure(pair: tuple[Run, Run]) -> Figure:
    fast, slow = pair
    part = slice(200, 261)
    lines = (
        Line("fast", fast.time[part], (fast.motive_pressure[part] - fast.atmosphere) / 1e5, style=0),
        Line(
            "reference", slow.time[part], (slow.motive_pressure[part] - slow.atmosphere) / 1e5, "markers", 1
        ),
    )
    return Figure(
        "A popping relief valve",
        "Nozzle 75 % plugged: the valve opens and reseats again and again, each time at the same instant in both.",
        chart(Panel(lines, "time, s", "motive gauge, bar"), height=220),
    )


def books() -> Section:
    """Balances of air, water and motive air on every rig, fault and size."""
    cases, worst = [], {"air": 0.0, "water": 0.0, "motive air": 0.0}
    for name in shipped_rig_names():
        rig, site = load_rig(name), standard_site()
        for fault in FAULTS.values():
            for size, place in itertools.product(fault.sizes, fault.places(rig, site)[-1:]):
                cases.append(Case(*fault.apply(rig, site, size, place), {"duration": 120.0}))
    lowest = math.inf
    for run in run_batch(cases):
        errors = (run.balance.air_error, run.balance.water_error, run.balance.motive_error)
        worst = {key: max(worst[key], abs(error)) for key, error in zip(worst, errors, strict=True)}
        lowest = min(lowest, float(run.suction_pressure.min()))
    source = "book-keeping: contents against boundary flows integrated on their own, from the same terms"
    many = f"{len(cases)} runs, every rig, fault and size"
    rows = [
        at_most(f"Books of {key}, worst of {many}", source, error, BOOKS, "-") for key, error in worst.items()
    ]
    rows.append(
        at_least(
            "Lowest suction pressure of these runs, water at 20 °C",
            f"identity: the vapour's pressure is added to the dry air's; vapour pressure, {IF97}",
            lowest,
            2339.2,
            "Pa",
        )
    )
    return Section(
        "Books of air and water", "What came in, less what went out, is what stayed. Always.", tuple(rows)
    )


def at_random(count: int = 200, seed: int = 20) -> Section:
    """So many runs [-] drawn at random over rigs, sites, faults, severities, set-ups and controls; seed [-].

    Parameters
    ----------
    count : of runs [-].
    """
    cases = random_cases(count, seed)
    results = run_batch(cases, return_exceptions=True)
    failed = [result for result in results if isinstance(result, CaseFailed)]
    runs = [result for result in results if not isinstance(result, CaseFailed)]
    broken = [run for run in runs if breaches(run)]
    again = run_batch(cases[:10], return_exceptions=True)
    differing = sum(
        not np.array_equal(one.series, two.series)
        for one, two in zip(results, again, strict=False)
        if not isinstance(one, CaseFailed)
    )
    source = "property: holds for every run"
    rows = (
        at_most(f"Runs that failed, of {count}", source, len(failed), 0, "-"),
        at_most(
            "Runs with a figure not finite, a negative mass or a pressure out of bounds",
            source,
            len(broken),
            0,
            "-",
        ),
        at_most(
            "Runs of 10 that differ when computed again",
            "same input, same figures, bit for bit",
            differing,
            0,
            "-",
        ),
    )
    return Section(
        "Runs drawn at random",
        "Rigs, sites, faults, sizes, set-ups, engine controls and slow changes drawn by dice: none may fail.",
        rows,
    )


def trends() -> Section:
    """More lift, altitude, warmth, length or bore takes longer; so does a worse leak."""
    rig, site = load_rig("osier"), standard_site()
    hose = rig.suction_hose
    sweeps: dict[str, tuple[str, np.ndarray, list[Case]]] = {}

    def sweep(name: str, label: str, values: np.ndarray, make: Any) -> None:
        pairs = [make(float(value)) for value in values]
        cases = [Case(one, place, {"duration": 600.0}) for one, place in pairs]
        sweeps[name] = label, values, cases

    sweep(
        "lift",
        "lift, m",
        np.linspace(1.0, 7.5, 14),
        lambda v: (with_hose_length(rig, 11.0), replace(site, lift=v)),
    )
    sweep("altitude", "altitude, m", np.linspace(0.0, 3000.0, 7), lambda v: (rig, replace(site, altitude=v)))
    warm = np.linspace(1.0, 60.0, 8)
    sweep(
        "water temperature", "water, °C", warm, lambda v: (rig, replace(site, water_temperature=273.15 + v))
    )
    sweep(
        "hose length", "hose length, m", np.linspace(6.0, 30.0, 9), lambda v: (with_hose_length(rig, v), site)
    )
    bores = np.linspace(0.1, 0.21, 9)
    sweep(
        "hose bore",
        "hose bore, mm",
        bores,
        lambda v: (replace(rig, suction_hose=replace(hose, bore=v)), site),
    )
    holes = np.linspace(0.0, 5.5e-3, 12)
    sweep(
        "leak",
        "casing leak, mm",
        holes,
        lambda v: (replace(rig, casing=replace(rig.casing, gasket_hole=v)), site),
    )
    rows, panels = [], []
    for name, (label, values, cases) in sweeps.items():
        runs = run_batch(cases, channels=("suction_pressure",), every=1.0)
        times = np.array([run.prime_time for run in runs])
        filled = np.where(np.isnan(times), np.inf, times)
        before = np.maximum.accumulate(filled)[:-1]
        later = min(
            (t - b for b, t in zip(before, filled[1:], strict=True) if math.isfinite(b)), default=math.nan
        )
        source = "common practice: longer, never sooner"
        rows.append(
            at_least(f"More {name}: smallest step to a later prime", source, later, 0.0, "s", margin=0.1)
        )
        scale = 1e3 if label.endswith("mm") else 1.0
        panels.append(Panel((Line("", scale * values, times, "lines+markers"),), label, "prime, s"))
    sound = simulate(rig, site, duration=120.0)
    rows.append(
        at_most(
            "150 mm rig, 10 m hose, 3 m lift, sound: prime time",
            "common practice: within about a minute",
            sound.prime_time,
            75.0,
            "s",
        )
    )
    picture = Figure(
        "What makes priming slow",
        "Prime time of the 150 mm rig. A curve that ends early means: from there on it never primes.",
        chart(*panels, columns=3, height=190),
    )
    return Section(
        "Trends", "What every yard hand knows must come out of the model by itself.", tuple(rows), (picture,)
    )
