"""Sheets as a person beside a pump would fill them in, from rigs that are not quite as the model thinks; and sets
of readings that cannot be true together."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from simulator.diagnosis.field import AFTER_PRIME, FieldSheet, Finding, Needle, Watch
from simulator.diagnosis.hypothesis_set import MILD, HypothesisSet
from simulator.instruments.checks import CHECKS, Look, draw
from simulator.instruments.gauges import GAUGES, needle, read, state_of
from simulator.rig.faults import FAULTS
from simulator.rig.rig import Rig, Site
from simulator.run import ControlStep, Run, simulate
from simulator.run.outcome import pumps_well

WATCHED = 110.0  # [s]
LOOKS = {
    "walk_round": 0.8,
    "exhaust_stream": 0.8,
    "relief_listen": 0.6,
    "listen_pump": 0.5,
    "watch_water": 0.4,
}
READ_AT = (10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 75.0, 90.0, 105.0)


def perturbed(rig: Rig, site: Site, rng: np.random.Generator) -> tuple[Rig, dict[str, Any]]:
    """The rig as it really is: ejector 5 %, friction 20 %, holes 10 %, speed 5 % off, air not quite isothermal."""

    def about(share: float) -> float:
        return float(rng.uniform(1.0 - share, 1.0 + share))

    ejector, hose, casing = rig.ejector, rig.suction_hose, rig.casing
    ejector = replace(
        ejector,
        nozzle_efficiency=min(ejector.nozzle_efficiency * about(0.05), 1.0),
        mixing_efficiency=min(ejector.mixing_efficiency * about(0.05), 1.0),
        diffuser_efficiency=min(ejector.diffuser_efficiency * about(0.05), 1.0),
    )
    friction, wide = about(0.2), math.sqrt(about(0.1))
    hose = replace(
        hose,
        roughness=hose.roughness * friction,
        bend_loss=hose.bend_loss * friction,
        strainer=replace(hose.strainer, loss=hose.strainer.loss * friction),
        joints=tuple(replace(j, hole_diameter=j.hole_diameter * wide) for j in hose.joints),
        holes=tuple(replace(h, diameter=h.diameter * wide) for h in hose.holes),
    )
    casing = replace(casing, gasket_hole=casing.gasket_hole * wide, seal_hole=casing.seal_hole * wide)
    drain = replace(rig.casing_drain, opening=min(rig.casing_drain.opening * wide**2, 1.0))
    nrv = replace(rig.nrv, gap_area=min(rig.nrv.gap_area * wide**2, 1e-3))
    speed = about(0.05)
    engine = replace(rig.engine, speed_setting=min(max(rig.engine.speed_setting * speed, 0.3), 1.2))
    real = replace(
        rig, ejector=ejector, suction_hose=hose, casing=casing, casing_drain=drain, nrv=nrv, engine=engine
    )
    options = {"controls": (ControlStep(0.0, 1.2),), "gas_exponent": float(rng.uniform(1.0, 1.3))}
    return real, options


def drawn_case(cases: HypothesisSet, rng: np.random.Generator) -> tuple[str, Rig, Site, Run]:
    """A fault by its weight, on a rig that is off; one so mild that nobody would ring up is mostly drawn anew."""
    names = [name for name in FAULTS if FAULTS[name].places(cases.rig, cases.site)]
    shares = np.array([FAULTS[name].weight for name in names])
    sound = simulate(cases.rig, cases.site, duration=WATCHED)
    while True:
        name = str(rng.choice(names, p=shares / shares.sum()))
        fault = FAULTS[name]
        size = fault.size.drawn(float(rng.uniform(0.0, 1.0))) if fault.size else 0.0
        place = str(rng.choice(fault.places(cases.rig, cases.site)))
        altered, site = fault.apply(cases.rig, cases.site, size, place)
        real, options = perturbed(altered, site, rng)
        run = simulate(real, site, duration=WATCHED, **options)
        well = run.prime_time <= cases.proof_time and pumps_well(run, sound, WATCHED)
        if name == "sound" or not well or rng.uniform() < MILD:
            return name, real, site, run


def sheet_of(cases: HypothesisSet, real: Rig, site: Site, run: Run, rng: np.random.Generator) -> FieldSheet:
    """What a person would write down of it."""
    seed, system = int(rng.integers(1 << 30)), str(rng.choice(("metric", "us")))
    primed = float(run.prime_time) if run.primed else None
    end = math.inf if primed is None else primed - AFTER_PRIME
    possible = [t for t in READ_AT if t < end]
    count = min(len(possible), int(rng.integers(2, 6)))
    times = sorted(float(t) for t in rng.choice(possible, count, replace=False)) if count else []
    shown = {}
    for name in ("suction", "motive"):
        gauge = GAUGES[name]
        off, scale = rng.normal(0.0, 0.005 * gauge.high), rng.normal(1.0, 0.02)
        values = needle(run, gauge, state_of(real, name), seed)
        shown[name] = {
            t: max(read(float(values[round(10 * t)]) * scale + off, gauge, system), 0.0) for t in times
        }
    has_motive = cases.rig.has_motive_gauge
    needles = tuple(
        Needle(t, shown["suction"][t], shown["motive"][t] if has_motive else math.nan) for t in times
    )
    sound = simulate(cases.rig, cases.site, duration=WATCHED + 10.0)
    findings = []
    for check, chance in LOOKS.items():
        if rng.uniform() < chance:
            at = float(rng.uniform(20.0, 90.0))
            look = Look(
                real,
                site,
                run,
                at,
                True,
                CHECKS[check].place,
                sound,
                card_rig=cases.rig,
                card_site=cases.site,
            )
            outcome = draw(CHECKS[check], CHECKS[check].probabilities(look), seed, "", 0)
            findings.append(Finding(check, outcome, "", 55.0))  # nobody notes the second
    how = ""
    if primed is not None:
        code = run.outcome.code
        how = (
            "lost_prime"
            if code == "lost_prime"
            else "primed"
            if pumps_well(run, sound, WATCHED)
            else "pumps_badly"
        )
    return FieldSheet(cases.rig, cases.site, needles, tuple(findings), Watch(WATCHED, primed, how))


NONSENSE = ("two pumps mixed up", "a slip of units", "times mixed up", "cannot be", "any figures")


def nonsense(kind: str, cases: HypothesisSet, rng: np.random.Generator) -> FieldSheet:
    """A set of readings that cannot be true together."""
    name, real, site, run = drawn_case(cases, rng)
    sheet = sheet_of(cases, real, site, run, rng)
    while len(sheet.needles) < 3 or len(sheet.findings) < 2:
        name, real, site, run = drawn_case(cases, rng)
        sheet = sheet_of(cases, real, site, run, rng)
    if kind == "two pumps mixed up":
        while True:
            other, real, site, run = drawn_case(cases, rng)
            if FAULTS[other].family != FAULTS[name].family:
                second = sheet_of(cases, real, site, run, rng)
                if second.needles and second.findings:
                    return replace(sheet, findings=second.findings, watch=second.watch)
    if kind == "a slip of units":
        needles = list(sheet.needles)
        row = int(rng.integers(len(needles)))
        old = needles[row].vacuum
        factor = float(rng.choice((1 / 3.386, 3.386, 10.0, 0.1)))
        if not old >= 12e3 or old * factor > 100e3:
            factor = 0.1 if old >= 12e3 else 1.0
            if factor == 1.0:
                return nonsense(kind, cases, rng)
        needles[row] = replace(needles[row], vacuum=old * factor)
        return replace(sheet, needles=tuple(needles))
    if kind == "times mixed up":
        values = [n.vacuum for n in sheet.needles]
        if max(values) - min(values) < 15e3:
            return nonsense(kind, cases, rng)
        return replace(
            sheet,
            needles=tuple(
                replace(n, vacuum=v) for n, v in zip(sheet.needles, sorted(values, reverse=True), strict=True)
            ),
        )
    times = (15.0, 30.0, 60.0, 90.0)
    if kind == "cannot be":
        which = int(rng.integers(4))
        if which == 0:  # pumps well, yet there never was a vacuum or air to make one
            return FieldSheet(
                cases.rig, cases.site, tuple(Needle(t, 0.0, 0.0) for t in times[:2]),
                (Finding("exhaust_stream", "none", "", 30.0),), Watch(WATCHED, 40.0, "primed"),
            )  # fmt: skip
        if which == 1:  # deep vacuum without motive air
            return FieldSheet(
                cases.rig, cases.site, tuple(Needle(t, min(1.5e3 * t, 80e3), 0.0) for t in times),
                (Finding("relief_listen", "no_beat", "", 60.0), Finding("belt", "broken")), Watch(WATCHED),
            )  # fmt: skip
        if which == 2:  # the drain stands open, and the vacuum is deep
            return FieldSheet(
                cases.rig, cases.site, tuple(Needle(t, min(1.5e3 * t, 80e3), 5.7e5) for t in times),
                (Finding("walk_round", "drain_open", "", 60.0), Finding("exhaust_stream", "strong_on", "", 60.0)),
                Watch(WATCHED),
            )  # fmt: skip
        return FieldSheet(  # nothing comes out of the exhaust, all gauges as on a good rig, and it pumps in good time
            cases.rig, cases.site, (Needle(15.0, 15e3, 5.7e5), Needle(30.0, 29e3, 5.7e5)),
            (Finding("exhaust_stream", "none", "", 30.0), Finding("listen_pump", "turns_dry", "", 80.0)),
            Watch(WATCHED, 40.0, "primed"),
        )  # fmt: skip
    return FieldSheet(
        cases.rig, cases.site,
        tuple(Needle(t, float(rng.uniform(0.0, 95e3)), float(rng.uniform(0.0, 8e5))) for t in times),
        sheet.findings, sheet.watch if rng.uniform() < 0.5 else Watch(WATCHED),
    )  # fmt: skip
