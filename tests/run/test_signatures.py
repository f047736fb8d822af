"""What each fault looks like from the gauges, in kind; and the books of air and water in every case."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.run import ControlStep, Setup, simulate
from simulator.units import STANDARD_GRAVITY

RIG, SITE = load_rig("osier"), standard_site()
STATIC_LIFT = 998.2 * STANDARD_GRAVITY * SITE.lift  # [Pa]


def with_fault(name: str, size: float = 0.0, place: str = ""):
    return FAULTS[name].apply(RIG, SITE, size, place)


@pytest.fixture(scope="module")
def sound():
    return simulate(RIG, SITE)


def test_sound_rig_primes_within_about_a_minute(sound):
    """150 mm hose about 10 m long, 3 m lift: common practice, no source."""
    assert sound.outcome.code == "primed"
    assert 20.0 < sound.prime_time < 75.0
    assert sound.discharge_flow[-1] > 0.8 * sound.steady_flow


def test_open_drain_never_primes(sound):
    run = simulate(*with_fault("drain_open", 1.0))
    assert not run.primed
    assert run.vacuum.max() < 0.05 * STATIC_LIFT
    assert np.all(run.drain_air[100:] > 0.0)


def test_broken_belt_gives_no_motive_air():
    run = simulate(*with_fault("belt_loose", 1.0))
    assert run.outcome.code == "no_motive_air"
    assert run.motive_pressure.max() - run.atmosphere < 100.0
    assert run.vacuum.max() < 100.0


def test_plugged_nozzle_pops_the_relief_valve(sound):
    run = simulate(*with_fault("nozzle_plugged", 0.8), duration=60.0)
    assert run.relief_pops[-1] > 10
    late = run.motive_pressure[300:] - run.atmosphere
    assert late.min() > 0.88 * RIG.relief_valve.set_pressure
    assert late.min() > sound.motive_pressure[300] - sound.atmosphere
    assert run.vacuum[300] < sound.vacuum[300]


def test_plugged_screen_is_slow_with_normal_motive_pressure(sound):
    run = simulate(*with_fault("screen_plugged", 0.96))
    assert run.primed
    assert run.prime_time > 1.5 * sound.prime_time
    assert run.motive_pressure[250] == pytest.approx(sound.motive_pressure[250], rel=0.02)
    blanked = [
        simulate(*rig_and_site, setup=Setup.BLANKED, duration=120.0)
        for rig_and_site in ((RIG, SITE), with_fault("screen_plugged", 0.96))
    ]
    assert blanked[1].vacuum[-1] == pytest.approx(blanked[0].vacuum[-1], rel=0.05)  # deep in the end
    first = [float(run.time[np.argmax(run.vacuum > 70e3)]) for run in blanked]
    assert first[1] > 2.0 * first[0]


def test_plugged_strainer_gives_high_vacuum_and_no_water():
    run = simulate(*with_fault("strainer_plugged", 0.998), duration=150.0)
    assert not run.primed
    assert run.vacuum[-1] > 1.5 * STATIC_LIFT
    assert run.discharge_flow.max() < 0.02 * run.steady_flow


def test_collapsed_liner_is_fast_but_dry(sound):
    run = simulate(*with_fault("liner_collapsed", 8e3), duration=150.0)
    assert not run.primed
    for time, faster in ((18.0, 2e3), (20.0, 5e3), (25.0, 10e3)):
        assert run.vacuum[run.index(time)] > sound.vacuum[sound.index(time)] + faster
    assert run.vacuum[-1] > 1.5 * STATIC_LIFT
    assert run.discharge_flow.max() < 0.02 * run.steady_flow


def test_plateau_rule():
    """Standing above the static lift without water: blockage. Below it: air gets in or is not drawn out."""
    for name, size, place in (
        ("drain_open", 0.2, ""),
        ("joint_ring", 0.009, "joint:2"),
        ("belt_loose", 0.8, ""),
    ):
        assert simulate(*with_fault(name, size, place)).vacuum[-1] < STATIC_LIFT
    for name, size in (("strainer_plugged", 0.998), ("liner_collapsed", 8e3)):
        assert simulate(*with_fault(name, size)).vacuum[-1] > STATIC_LIFT


CASES = [
    pytest.param(rig, fault, size, marks=[] if size == FAULTS[fault].sizes[-1] else [pytest.mark.full])
    for rig in rig_names()
    for fault in FAULTS
    for size in FAULTS[fault].sizes
]


@pytest.mark.parametrize(("rig_name", "fault", "size"), CASES)
def test_books_balance_and_pressures_stay_in_bounds(rig_name, fault, size):
    """Contents against separately integrated boundary flows, on every rig x fault x three sizes: within 1e-6."""
    rig = load_rig(rig_name)
    site = standard_site(rig_name)
    for place in FAULTS[fault].places(rig, site)[-1:]:
        run = simulate(*FAULTS[fault].apply(rig, site, size, place), duration=120.0)
        assert abs(run.balance.air_error) < 1e-6
        assert abs(run.balance.water_error) < 1e-6
        assert abs(run.balance.motive_error) < 1e-6
        assert np.all(np.isfinite(run.series))
        assert (
            run.suction_pressure.min() > 2.3e3
        )  # vapour pressure of water at 20 C is 2.339 kPa (IAPWS-IF97)
        assert run.states[:, :2].min() > -1e-9
        assert run.air_passed > 1e-4 or fault in ("belt_loose", "cock_shut", "float_stuck_shut")


def test_a_balance_that_is_off_is_seen():
    """The same books with one boundary flow left out do not close."""
    from simulator.run import layout as at
    from simulator.run.parameters import pack
    from simulator.run.simulate import balance
    from simulator.run.state import State

    run = simulate(RIG, SITE, duration=60.0)
    p = pack(RIG, SITE)
    ends = [State(run.states[i].copy(), run.modes[i].copy()) for i in (0, -1)]
    assert abs(balance(ends[0], ends[1], p).air_error) < 1e-6
    ends[1].y[at.AIR_OUT] *= 0.999
    assert abs(balance(ends[0], ends[1], p).air_error) > 1e-4


@pytest.mark.parametrize("seed", range(3))
def test_going_on_from_any_moment_changes_no_later_dial(sound, seed):
    """Stopping the computation and going on from the stored state: every later pressure within 0.01 kPa, away from
    the first 0.1 s around an event."""
    rng = np.random.default_rng(seed)
    for time in np.round(rng.uniform(0.5, 60.0, 8), 1):
        rest = simulate(RIG, SITE, start=sound.state_at(time), start_time=time, duration=80.0 - time)
        first = sound.index(time)
        same = sound.suction_pressure[first : first + len(rest.time)] - rest.suction_pressure
        calm = np.ones(len(same), dtype=bool)
        for event in sound.events:
            calm &= np.abs(rest.time - event.time) > 0.25
        assert np.max(np.abs(same[calm])) < 10.0


def test_speed_is_a_live_control(sound):
    half = simulate(RIG, SITE, controls=(ControlStep(0.0, 1.0), ControlStep(10.0, 0.6)))
    assert half.suction_pressure[99] == pytest.approx(sound.suction_pressure[99], abs=1.0)
    assert half.motive_pressure[200] < 0.8 * sound.motive_pressure[200]


def test_water_kept_in_the_casing_shortens_the_next_prime(sound):
    from simulator.run import rest_state
    from simulator.run.parameters import pack

    wet = simulate(RIG, SITE, start=rest_state(RIG, SITE, pack(RIG, SITE), casing_water=0.017))
    assert wet.prime_time < sound.prime_time - 2.0


def test_stopping_the_engine_lets_the_column_fall(sound):
    run = simulate(RIG, SITE, controls=(ControlStep(0.0, 1.0), ControlStep(60.0, 0.0)), duration=200.0)
    assert run.discharge_flow[-1] == 0.0
    assert run.nrv_open[-1] == 0.0
    assert run.front_position[-1] < RIG.suction_hose.length
    assert abs(run.balance.water_error) < 1e-6
    assert abs(run.balance.air_error) < 1e-6


def test_longer_hose_and_more_lift_take_longer(sound):
    """Common practice, no source."""
    long = replace(RIG, suction_hose=replace(RIG.suction_hose, length=20.0))
    assert simulate(long, SITE).prime_time > 1.3 * sound.prime_time
    assert simulate(RIG, replace(SITE, lift=5.0)).prime_time > 1.1 * sound.prime_time
    assert simulate(RIG, replace(SITE, altitude=1500.0)).prime_time > sound.prime_time
    assert simulate(RIG, replace(SITE, water_temperature=323.15)).prime_time > sound.prime_time


def test_plain_python_gives_the_same_figures():
    """Without the compiler the same source runs as ordinary Python."""
    code = (
        "from simulator.rig.presets import load_rig, standard_site\n"
        "from simulator.run import simulate\n"
        "import sys\n"
        "run = simulate(load_rig('osier'), standard_site(), duration=4.0, rtol=1e-7)\n"
        "sys.stdout.write(repr(float(run.suction_pressure[-1])))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "SIMULATOR_PLAIN_PYTHON": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    compiled = simulate(RIG, SITE, duration=4.0, rtol=1e-7).suction_pressure[-1]
    assert float(done.stdout) == pytest.approx(float(compiled), rel=1e-6)
    assert compiled < 98e3
