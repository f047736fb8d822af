"""What can be measured on a pump with a tape, read on its plate or on a gauge, and the rig that comes of it.

What is not asked stays as the nearest rig of the package has it; what is built to go with a measured part follows it.

Arguments, the same throughout: ``values`` the measured figures by key, in the units that the keys end in, each left out
where nobody knows it; ``base`` the nearest rig.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from simulator.errors import InputError
from simulator.physics.compressor import volumetric_efficiency
from simulator.rig.files import FILE_UNITS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.parts import Joint
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.rig import Rig
from simulator.run.simulate import simulate
from simulator.units import STANDARD_ATMOSPHERE

LEAST_HOSE = 7  # [m] so that practice calls can stand the rig 5 m above the water
TAIL = 0.99  # share of the hose at which the last joint sits, as on the rigs of the package
DIGITS = 5  # of what is worked out: a file stays readable


@dataclass(frozen=True)
class Measure:
    """One thing to measure: its key, the legal range in the unit the key ends in, and where it is read."""

    key: str
    low: float
    high: float
    read: str  # "tape", "plate", "gauge", "count", "bucket" or "look"


MEASURES = {
    each.key: each
    for each in (
        Measure("hose_bore_mm", 50, 400, "tape"),
        Measure("hose_length_m", LEAST_HOSE, 60, "tape"),
        Measure("joints", 1, 12, "count"),
        Measure("strainer_diameter_mm", 60, 1500, "tape"),
        Measure("casing_volume_l", 4, 800, "bucket"),
        Measure("casing_height_m", 0.2, 2.0, "tape"),
        Measure("line_bore_mm", 50, 400, "tape"),
        Measure("line_length_m", 1, 1000, "tape"),
        Measure("engine_speed_rpm", 900, 3600, "plate"),
        Measure("engine_power_kw", 3, 800, "plate"),
        Measure("pump_head_m", 8, 120, "plate"),
        Measure("pump_flow_l_s", 3, 1500, "plate"),
        Measure("compressor_l_s", 1.5, 95, "plate"),
        Measure("motive_bar", 1.5, 12, "gauge"),
        Measure("cock", 0, 1, "look"),
    )
}
USUAL = "osier"  # the rig of the lessons, while nothing is known
AS_NEAR = math.log(1.1)  # by which two rigs may differ in how near their hoses are, and count as equally near
NEEDED = ("hose_bore_mm", "hose_length_m")


def nearest_rig(values: Mapping[str, float]) -> str:
    """Name of the rig of the package that is nearest, by the logarithm of ratios: by the bore of the hose, to which pump
    and line are built; casing and compressor decide between two that are as near.

    Examples
    --------
    >>> nearest_rig({"hose_bore_mm": 160.0}), nearest_rig({"hose_bore_mm": 200.0, "casing_volume_l": 200.0})
    ('osier', 'alder')
    """
    own = {name: measured_of(load_rig(name)) for name in shipped_rig_names()}

    def away(name: str, *keys: str) -> float:
        return sum(math.log(values[key] / own[name][key]) ** 2 for key in keys if values.get(key, 0.0) > 0.0)

    by_hose = {name: math.sqrt(away(name, "hose_bore_mm")) for name in own}
    near = [name for name in own if by_hose[name] <= min(by_hose.values()) + AS_NEAR]
    return min(
        near,
        key=lambda name: (away(name, "hose_bore_mm", "casing_volume_l", "compressor_l_s"), name != USUAL),
    )


def measured_of(rig: Rig) -> dict[str, float]:
    """What one would measure on a rig.

    Parameters
    ----------
    rig : the rig.

    Examples
    --------
    >>> measured_of(load_rig("osier"))["hose_bore_mm"], measured_of(load_rig("sedge"))["cock"]
    (150.0, 0.0)
    """
    hose, line, pump = rig.suction_hose, rig.discharge, rig.pump
    si = {
        "hose_bore_mm": hose.bore,
        "hose_length_m": hose.length,
        "strainer_diameter_mm": hose.strainer.diameter,
        "casing_volume_l": rig.casing.volume,
        "casing_height_m": rig.casing.height,
        "line_bore_mm": line.bore,
        "line_length_m": line.length,
        "engine_speed_rpm": rig.engine.rated_speed,
        "engine_power_kw": rig.engine.rated_power,
        "pump_head_m": pump.shut_head,
        "pump_flow_l_s": pump.best_flow,
        "compressor_l_s": rig.compressor.displacement,
    }
    out = {key: FILE_UNITS[unit_of_key(key)].from_si(value) for key, value in si.items()}
    return {**out, "joints": float(len(hose.joints)), "cock": float(rig.has_isolating_cock)}


def unit_of_key(key: str) -> str:
    """The unit that a key ends in; empty for what is counted or seen.

    Parameters
    ----------
    key : of a measure.

    Examples
    --------
    >>> unit_of_key("pump_flow_l_s"), unit_of_key("joints")
    ('l_s', '')
    """
    return next((u for u in sorted(FILE_UNITS, key=len, reverse=True) if key.endswith("_" + u)), "")


def measured_rig(values: Mapping[str, float], base: str, name: str, title: str) -> Rig:
    """The rig that measured figures and the nearest rig make together.

    Parameters
    ----------
    name, title : of the new rig.

    Raises
    ------
    InputError : a figure is out of its range.

    Examples
    --------
    >>> rig = measured_rig({"hose_bore_mm": 150.0, "hose_length_m": 12.0, "joints": 4.0}, "osier", "ours", "Ours")
    >>> rig.suction_hose.joints[0].position, rig.casing == load_rig("osier").casing
    (2.97, True)
    """
    for key, value in values.items():
        low, high = MEASURES[key].low, MEASURES[key].high
        if not low <= value <= high:
            raise InputError(f"{value:g} is out of range", key, f"{low:g} to {high:g}")
    old = load_rig(base)
    found = {**measured_of(old), **values}
    si = {
        key: FILE_UNITS[unit_of_key(key)].to_si(value) if unit_of_key(key) else value
        for key, value in found.items()
    }
    air = si["compressor_l_s"] / old.compressor.displacement
    flow = si["pump_flow_l_s"] / old.pump.best_flow
    head = si["pump_head_m"] / old.pump.shut_head
    length, count = si["hose_length_m"], round(si["joints"])
    hose, wide = with_hose_length(old, length).suction_hose, math.sqrt(air)
    joints = tuple(Joint(round(TAIL * length * (n + 1) / count, 6)) for n in range(count))
    ejector = old.ejector
    nozzle = ejector.nozzle_diameter * wide
    if "motive_bar" in values:
        nozzle *= math.sqrt(_throat_share(old, si["motive_bar"]))
    return replace(
        old,
        name=name,
        title=title,
        engine=replace(old.engine, rated_speed=si["engine_speed_rpm"], rated_power=si["engine_power_kw"]),
        compressor=replace(old.compressor, displacement=si["compressor_l_s"]),
        air_line=replace(
            old.air_line,
            receiver_volume=tidy(old.air_line.receiver_volume * air),
            bore=tidy(old.air_line.bore * wide),
        ),
        relief_valve=replace(old.relief_valve, bore=tidy(old.relief_valve.bore * wide)),
        ejector=replace(
            ejector,
            nozzle_diameter=tidy(nozzle),
            exit_diameter=tidy(ejector.exit_diameter * wide),
            mixing_diameter=tidy(ejector.mixing_diameter * wide),
        ),
        screen=replace(old.screen, open_area=tidy(old.screen.open_area * air)),
        exhaust_hose=replace(old.exhaust_hose, bore=tidy(old.exhaust_hose.bore * wide)),
        casing=replace(old.casing, volume=si["casing_volume_l"], height=si["casing_height_m"]),
        nrv=replace(old.nrv, bore=si["line_bore_mm"]),
        suction_hose=replace(
            hose,
            bore=si["hose_bore_mm"],
            joints=joints,
            strainer=replace(hose.strainer, diameter=si["strainer_diameter_mm"]),
        ),
        pump=replace(
            old.pump,
            shut_head=si["pump_head_m"],
            best_flow=si["pump_flow_l_s"],
            curve=tidy(old.pump.curve * head / flow**2),
            npsh_slope=tidy(old.pump.npsh_slope / flow**2),
        ),
        discharge=replace(
            old.discharge,
            bore=si["line_bore_mm"],
            length=si["line_length_m"],
            valve=replace(old.discharge.valve, bore=si["line_bore_mm"]),
        ),
        has_motive_gauge="motive_bar" in values,
        has_isolating_cock=bool(si["cock"]),
    )


def tidy(value: float) -> float:
    """A figure that was worked out, to as many digits as anybody could check.

    Parameters
    ----------
    value : the figure.

    Examples
    --------
    >>> tidy(0.0123456789)
    0.012346
    """
    return float(f"{value:.{DIGITS}g}")


def _throat_share(rig: Rig, motive: float) -> float:
    """Throat area over that which goes with the nearest rig's own motive pressure [-], for one read on a gauge [Pa].

    A choked nozzle passes as its pressure, the compressor less as its own rises: what it delivers must go through.
    """
    usual = usual_motive(rig.name)

    def passed(gauge: float) -> float:
        ratio = (gauge + STANDARD_ATMOSPHERE) / STANDARD_ATMOSPHERE
        return float(volumetric_efficiency(ratio, rig.compressor.clearance, rig.compressor.index)) / ratio

    return passed(motive) / passed(usual)


@lru_cache(maxsize=8)
def usual_motive(base: str) -> float:
    """Motive pressure on the gauge of a rig of the package while it draws air [Pa].

    Examples
    --------
    >>> 4e5 < usual_motive("osier") < 6e5
    True
    """
    run = simulate(load_rig(base), standard_site(base), duration=20.0)
    return float(run.motive_pressure[-1] - run.atmosphere)
