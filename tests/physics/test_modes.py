"""Compiled code and plain Python give the same figures."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = """
import json
from simulator.physics import atmosphere, compressor, ejector, ejector_table, gas, pump, hose_losses, water

table = ejector_table.build_table(8.544, 0.92, 0.90, 0.78)
values = [
    gas.orifice_mass_flow(1e5, 80e3, 1e-6, 0.65, 293.15),
    gas.orifice_flow(1e5, 1.0001e5, 1e-6, 0.65, 293.15),
    gas.liquid_orifice_flow(2e5, 1e5, 1e-4, 0.62, 998.0),
    gas.normal_shock_stagnation_ratio(2.2, 1.4),
    atmosphere.pressure_at_altitude(1500.0),
    water.vapour_pressure(300.0), water.density(300.0), water.viscosity(300.0),
    compressor.delivery(5e5, 1e5, 293.15, 8.5e-3, 0.9, 0.1, 0.06, 1.25, 0.1, 0.8),
    hose_losses.friction_factor(3e3, 1e-4), hose_losses.friction_factor(3e5, 1e-4),
    hose_losses.choke_loss(0.3), hose_losses.liner_target_area(0.4, 13e3, 20e3),
    pump.operating_point(0.9, 32.0, 2600.0, 9.0, 700.0, 900.0), pump.air_head_factor(0.05),
]
for p_m in (0.8e5, 1.013e5, 1.05e5, 2e5, 6.7e5, 11e5):
    for p_s in (5e3, 20e3, 60e3, 1.0e5, 1.1e5):
        values.append(ejector.entrained_flow(p_m, p_s, 1.03e5, 5.3e-6, 45e-6, 293.15, 0.92, 0.90, 0.78))
        values.append(ejector_table.table_flow(p_m, p_s, 1.03e5, 5.3e-6, 293.15, *table.arrays))
print(json.dumps([float(v) for v in values]))
"""


def figures(plain: str) -> list[float]:
    environment = os.environ | {"SIMULATOR_PLAIN_PYTHON": plain}
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], env=environment, cwd=root, capture_output=True, text=True, check=True
    )
    values: list[float] = json.loads(done.stdout)
    return values


def test_both_modes_agree() -> None:
    compiled, plain = figures("0"), figures("1")
    assert len(compiled) == 75
    assert plain == pytest.approx(compiled, rel=1e-7, abs=1e-13)
