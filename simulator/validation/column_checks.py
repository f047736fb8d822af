"""The parcels that carry bubbles in the runs, and the shaft, as a section of the report."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.run import simulate
from simulator.validation.bubble_column import compare
from simulator.validation.rows import Row, Section, at_least, at_most, shown

#: Lift [m], hole of the first joint [m] and by how much the water may be late or early at the pump [-].
CASES = ((3.0, 3e-3, 0.02), (3.0, 6e-3, 0.03), (5.0, 3e-3, 0.03), (5.0, 6e-3, 0.05), (5.0, 9e-3, 0.12))
SUCTION = 8e-3  # [m3/s] drawn from the casing in the comparison
FINE = "finely cut column: drift flux, Zuber and Findlay 1965; long bubbles in sloping pipes, Bendiksen 1984"


def air_under_way() -> Section:
    """Volume of the air in the column against the fine cutting; power on the shaft against the governor's line."""
    rows: list[Row] = []
    for lift, hole, late in CASES:
        found = compare(load_rig("osier"), replace(standard_site(), lift=lift), hole, SUCTION)
        where = f"lift {lift:g} m, hole {1e3 * hole:g} mm at the first joint"
        error = 100.0 * (found.time / found.fine_time - 1.0)
        rows += [
            at_most(f"Water at the pump, {where}: late or early", FINE, abs(error), 100.0 * late, "%"),
            at_least(f"and gas in the column, {where}", FINE, 1e3 * found.fine_gas, 0.1, "L"),
            shown("and the front, greatest distance", FINE, found.largest_front, 0.0, "m"),
            shown("and the gas in it at the end", FINE, 1e3 * found.gas, 1e3 * found.fine_gas, "L"),
        ]
    for name in shipped_rig_names():
        rig, site = load_rig(name), standard_site(name)
        for fault, size in (("sound", 0.0), ("discharge_shut", 1.0)):
            run = simulate(*FAULTS[fault].apply(rig, site, size, ""), duration=150.0)
            steady = run.time > 12.0
            load = (run.water_power + run.pump_loss + run.belt_power)[steady]
            apart = float(np.abs(run.engine_power[steady] / load - 1.0).max())
            rows.append(
                at_most(
                    f"{rig.title}, {FAULTS[fault].part or 'sound'}: engine less water, pump loss and belt",
                    "the governor's line (ISO 8528-5) against the loads at the same speed",
                    100.0 * apart,
                    1.0,
                    "%",
                )
            )
    return Section(
        "Air under way, and the shaft",
        "Air in the column takes its volume; the engine turns as fast as its governor lets it under the load. Fuel is "
        "not modelled.",
        tuple(rows),
    )
