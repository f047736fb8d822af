"""What moves a timed start, and by how much: the ranking behind the three factors that are fitted.

Each quantity is moved by what it may be off on a rig whose form is filled in (common practice, no source). Its weight is
the root of the sum of squares of what that does to needle and prime time, each over what reading alone makes of it.

An air leak weighs as much as the room in the casing, and is not fitted: a sound rig has none, and a rig that is saved
with one would be a rig with a fault. A start that needs a leak to be explained is refused instead.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from simulator.measured.fit import READING, ROOM, WATCH, with_factors
from simulator.measured.start import TimedStart, needle_of, prime_time_at
from simulator.rig.presets import load_rig
from simulator.rig.rig import Rig

RIG = "osier"
PLACE = TimedStart(4.5, 16.0, 0.15, math.nan, (), ())
ELSEWHERE = (6.0, 20.0)  # lift and length [m] at which the prime time is foretold
SPAN = 120.0  # [s]
Change = Callable[[Rig, float], Rig]


def _ejector(name: str, *, area: bool = False) -> Change:
    def change(rig: Rig, factor: float) -> Rig:
        value = getattr(rig.ejector, name) * (math.sqrt(factor) if area else factor)
        return replace(rig, ejector=replace(rig.ejector, **{name: min(value, 1.0)}))

    return change


def _part(part: str, name: str) -> Change:
    def change(rig: Rig, factor: float) -> Rig:
        old = getattr(rig, part)
        return replace(rig, **{part: replace(old, **{name: getattr(old, name) * factor})})

    return change


def _losses(rig: Rig, factor: float) -> Rig:
    hose = rig.suction_hose
    strainer = replace(hose.strainer, loss=hose.strainer.loss * factor)
    return replace(rig, suction_hose=replace(hose, bend_loss=hose.bend_loss * factor, strainer=strainer))


def _leak(rig: Rig, factor: float) -> Rig:
    return replace(rig, casing=replace(rig.casing, gasket_hole=1e-3 * math.sqrt(factor - 1.0)))


#: Each quantity: by how much it may be off [-], and the change.
QUANTITIES: dict[str, tuple[float, Change]] = {
    "air drawn (tube, nozzle exit, screen, exhaust)": (0.10, lambda r, f: with_factors(r, (f, 1.0, 1.0))),
    "room in the casing": (ROOM, lambda r, f: with_factors(r, (1.0, f, 1.0))),
    "warming of the air (exponent)": (0.15, lambda r, f: r),
    "compressor, swept volume": (0.05, _part("compressor", "displacement")),
    "nozzle throat, area": (0.06, _ejector("nozzle_diameter", area=True)),
    "efficiency of the diffuser (deepest vacuum)": (0.05, _ejector("diffuser_efficiency")),
    "efficiency of the mixing tube": (0.03, _ejector("mixing_efficiency")),
    "relief valve, pressure": (0.05, _part("relief_valve", "set_pressure")),
    "receiver": (0.30, _part("air_line", "receiver_volume")),
    "hose, roughness": (1.0, _part("suction_hose", "roughness")),
    "losses of bends and strainer": (0.20, _losses),
    "engine, run-up": (0.30, _part("engine", "run_up_time")),
    "fill at which the pump bites": (0.05, _part("casing", "bite_fill")),
    "fill at the inlet lip": (0.10, _part("casing", "lip_fill")),
    "non-return valve": (0.30, _part("nrv", "cracking_pressure")),
    "air leak of 1 mm at the flange": (1.0, _leak),
}


def effects() -> list[tuple[str, float, float, float, float]]:
    """For each quantity: weight [-], needle [Pa], prime time [s], prime time elsewhere [-]; the weightiest first.

    Examples
    --------
    >>> [row[0].split(" ")[0] for row in effects()[:2]]
    ['air', 'warming']
    """
    rig = load_rig(RIG)
    usual = needle_of(rig, PLACE, SPAN)
    times = tuple(float(t) for t in np.arange(10.0, usual.prime_time, 10.0))
    there = prime_time_at(rig, *ELSEWHERE)
    out = []
    for name, (off, change) in QUANTITIES.items():
        exponent = 1.0 + off if name.startswith("warming") else 1.0
        other = change(rig, 1.0 + off)
        moved = needle_of(other, PLACE, SPAN, exponent)
        needle = moved.at(times) - usual.at(times)
        prime = moved.prime_time - usual.prime_time
        weight = math.sqrt(float(needle @ needle) / READING**2 + (prime / WATCH) ** 2)
        elsewhere = prime_time_at(other, *ELSEWHERE, gas_exponent=exponent) / there - 1.0
        out.append((name, weight, math.sqrt(float(needle @ needle) / len(times)), prime, elsewhere))
    return sorted(out, key=lambda row: -row[1])


def table() -> list[str]:
    """The ranking in lines."""
    place = f"lift {PLACE.lift:g} m, hose {PLACE.hose_length:g} m"
    heads = ("quantity", "off by", "weight", "needle kPa", "prime s", "elsewhere")
    lines = [
        f"{RIG}, {place}; prime time elsewhere at {ELSEWHERE[0]:g} m and {ELSEWHERE[1]:g} m",
        "{:48} {:>7} {:>7} {:>11} {:>8} {:>10}".format(*heads),
    ]
    for name, weight, needle, prime, elsewhere in effects():
        off = f"{100 * QUANTITIES[name][0]:.0f} %"
        lines.append(
            f"{name:48} {off:>7} {weight:7.2f} {needle / 1e3:11.2f} {prime:+8.1f} {100 * elsewhere:+9.1f} %"
        )
    return lines
