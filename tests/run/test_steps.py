"""How many steps the integrator takes where something happens hundreds of times over, or nothing at all."""

from __future__ import annotations

import pytest

from simulator.compiled import PLAIN
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.run import ControlStep, simulate

pytestmark = pytest.mark.skipif(PLAIN, reason="without the compiler another integrator steps")


def started(fault: str, size: float, stopped_at: float | None, duration: float, rtol: float = 1e-6):
    """A run of the Osier with a fault at its last place, stopped at a time [s]."""
    rig, site = load_rig("osier"), standard_site("osier")
    controls = [ControlStep(0.0, 1.0)]
    if stopped_at is not None:
        controls.append(ControlStep(stopped_at, 0.0))
    place = FAULTS[fault].places(rig, site)[-1]
    return simulate(
        *FAULTS[fault].apply(rig, site, size, place), controls=controls, duration=duration, rtol=rtol
    )


def test_a_relief_valve_that_pops_on_and_on_is_met_in_a_few_steps_each_time():
    run = started("nozzle_plugged", 0.9, None, 120.0, rtol=1e-4)
    moves = sum(event.kind in ("relief_pop", "relief_reseat") for event in run.events)
    assert moves > 400
    assert run.solver.steps < 2 * moves


@pytest.mark.parametrize(("fault", "size"), [("joint_ring", 0.009), ("drain_open", 0.3), ("sound", 0.0)])
def test_a_rig_at_rest_takes_hardly_any_steps(fault, size):
    """Receiver, hose and air outside stand equal: nothing goes to and fro between two valves that just shut."""
    first, whole = (started(fault, size, 120.0, duration).solver.steps for duration in (240.0, 540.0))
    assert whole - first < 300
