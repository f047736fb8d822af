"""States and set-ups beyond the plain start: ramps, bared strainer, cavitation, cock, float, hold and capped tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.physics.gas import R_AIR
from simulator.rig.parts import Separator, Valve
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.ramps import Ramp
from simulator.run import ControlStep, Setup, simulate
from simulator.run import layout as at
from simulator.run.events import NRV_SHUTS, due
from simulator.run.parameters import pack
from simulator.run.state import rest_state

RIG, SITE = load_rig("osier"), standard_site()


@pytest.fixture(scope="module")
def sound():
    return simulate(RIG, SITE, duration=200.0)


def test_a_falling_level_bares_the_strainer_and_the_prime_is_lost(sound):
    run = simulate(RIG, SITE, ramps=(Ramp("level_drop", 70.0, 130.0, 0.0, 1.4),), duration=200.0)
    assert run.outcome.code == "lost_prime"
    assert run.outcome.time > 90.0
    assert run.end_air[run.index(150.0)] > 1e-3
    before = run.index(65.0)
    assert np.allclose(run.suction_pressure[:before], sound.suction_pressure[:before], atol=10.0)
    assert abs(run.balance.air_error) < 1e-6
    assert abs(run.balance.water_error) < 1e-6


def test_a_level_that_comes_back_primes_again():
    run = simulate(
        RIG,
        SITE,
        ramps=(Ramp("level_drop", 60.0, 90.0, 0.0, 1.3),),
        duration=100.0,
    )
    later = simulate(
        RIG,
        SITE,
        start=run.state_at(100.0),
        start_time=100.0,
        duration=200.0,
        ramps=(Ramp("level_drop", 120.0, 121.0, 1.3, 0.0),),
    )
    assert run.discharge_flow[-1] < 0.1 * run.steady_flow
    assert later.discharge_flow[-1] > 0.8 * later.steady_flow


def test_a_strainer_that_clogs_while_running_breaks_suction():
    run = simulate(RIG, SITE, ramps=(Ramp("strainer_blocked", 60.0, 120.0, 0.0, 0.99),), duration=200.0)
    assert run.primed
    assert run.outcome.code == "lost_prime"
    assert run.vacuum[run.index(110.0)] > run.vacuum[run.index(59.0)]


def test_a_burst_discharge_runs_off_its_curve(sound):
    run = simulate(RIG, SITE, ramps=(Ramp("line_burst", 80.0, 81.0, 0.0, 0.95),), duration=200.0)
    late, before = run.index(150.0), run.index(75.0)
    assert run.suction_flow[late] > 1.05 * run.suction_flow[before]
    assert run.npsh_margin[late] < run.npsh_margin[before]


def test_a_trickle_back_does_not_seat_the_ball_and_a_stream_does():
    """From one centimetre a second in the bore on; made up for training."""
    p = pack(load_rig("osier"), standard_site())
    state = rest_state(load_rig("osier"), standard_site(), p)
    state.modes[at.NRV_OPEN] = 1.0
    ch = np.zeros(len(at.CHANNELS))
    ch[at.C_MOTIVE_PRESSURE] = p[at.ATMOSPHERE]
    state.y[at.LINE_WATER] = 1e-3
    found = []
    for stream in (-0.008, -0.012):
        state.y[at.DISCHARGE_FLOW] = stream * p[at.LINE_BORE_AREA]
        found.append(due(state.y, p, state.modes, ch) == NRV_SHUTS)
    assert found == [False, True]
    state.y[[at.DISCHARGE_FLOW, at.LINE_WATER]] = -0.001 * p[at.LINE_BORE_AREA], 0.0
    assert due(state.y, p, state.modes, ch) == NRV_SHUTS  # with no water above it none comes back


def test_cavitation_costs_head():
    needy = replace(RIG, pump=replace(RIG.pump, npsh_base=4.5))
    high = replace(SITE, lift=4.5)
    plain, cavitating = (simulate(rig, high, duration=250.0) for rig in (RIG, needy))
    assert cavitating.primed
    assert cavitating.discharge_flow[-1] < 0.97 * plain.discharge_flow[-1]


def test_isolating_cock_left_shut_gives_no_vacuum_and_normal_motive_air(sound):
    shut = replace(RIG, has_isolating_cock=True, isolating_cock=Valve(bore=25e-3, opening=0.0))
    run = simulate(shut, SITE, duration=60.0)
    assert run.vacuum.max() < 50.0
    assert run.motive_pressure[250] == pytest.approx(sound.motive_pressure[250], rel=1e-3)  # both unloaded


def test_float_valve_keeps_water_out_of_the_exhaust_and_may_stick(sound):
    works = simulate(replace(RIG, separator=Separator(has_float=True)), SITE, duration=100.0)
    assert works.primed
    assert works.exhaust_water.max() == 0.0
    assert sound.exhaust_water[-1] > 1e-5
    stuck = simulate(replace(RIG, separator=Separator(has_float=True, stuck_shut=True)), SITE, duration=60.0)
    assert stuck.vacuum.max() < 50.0


def test_hold_test_rises_by_the_leak_over_the_volume():
    """dp/dt = q/V with the cock shut and the flange blanked, within 2 %."""
    leaky = replace(RIG, casing=replace(RIG.casing, gasket_hole=1.2e-3), has_isolating_cock=True)
    run = simulate(
        leaky,
        SITE,
        setup=Setup.BLANKED,
        controls=(ControlStep(0.0, 1.0), ControlStep(60.0, 1.0, cock_open=False)),
        duration=75.0,
    )
    p = pack(leaky, SITE, Setup.BLANKED)
    start, end = run.index(62.0), run.index(70.0)
    assert run.suction_pressure[end] < 0.528 * run.atmosphere
    rate = (run.suction_pressure[end] - run.suction_pressure[start]) / 8.0
    leak = float(run.casing_leak_air[start]) * R_AIR * p[at.AIR_T] / p[at.CASING_VOLUME]
    assert leak > 200.0
    assert rate == pytest.approx(leak, rel=0.02)


def test_hold_test_with_the_hose_open_rises_slower_as_the_column_falls():
    """dp/dt = q/(V + p dV/dp), exact for a column that follows at once; dV/dp = A/(rho g dz/ds)."""
    leaky = replace(RIG, casing=replace(RIG.casing, gasket_hole=0.6e-3), has_isolating_cock=True)
    lifted = replace(SITE, lift=6.0)
    run = simulate(
        leaky,
        lifted,
        controls=(ControlStep(0.0, 1.0), ControlStep(30.0, 1.0, cock_open=False)),
        duration=240.0,
    )
    p = pack(leaky, lifted)
    a, b = run.index(60.0), run.index(240.0)
    front = run.front_position[a:b]
    assert front.max() < 9.0
    from simulator.rig.rig import hose_profile

    (_, _), (s1, z1), (s2, z2), (_, _) = hose_profile(leaky, lifted)
    steep = (z2 - z1) / (s2 - s1)
    middle = (a + b) // 2
    pressure = run.suction_pressure[a:b].mean()  # the column swings a little on the air above it
    volume = p[at.CASING_VOLUME] + p[at.BORE_AREA] * (p[at.LENGTH] - front.mean())
    dry = pressure - p[at.VAPOUR]
    stretch = dry * p[at.BORE_AREA] / (p[at.WATER_DENSITY] * 9.80665 * steep)
    leak = float(run.casing_leak_air[middle]) * R_AIR * p[at.AIR_T]
    expected = leak / (volume + stretch)
    rate = np.polyfit(run.time[a:b], run.suction_pressure[a:b], 1)[0]
    assert expected > 10.0
    assert rate == pytest.approx(expected, rel=0.03)
    assert rate < 0.8 * leak / volume


def test_capped_hose_finds_a_hose_leak_the_blank_off_passes():
    torn = tuple(
        replace(joint, hole_diameter=5e-3 if i == 0 else 0.0)
        for i, joint in enumerate(RIG.suction_hose.joints)
    )
    leaky = replace(RIG, suction_hose=replace(RIG.suction_hose, joints=torn))
    blanked = simulate(leaky, SITE, setup=Setup.BLANKED, duration=90.0).vacuum[-1]
    sound = simulate(RIG, SITE, setup=Setup.BLANKED, duration=90.0).vacuum[-1]
    capped = simulate(leaky, SITE, setup=Setup.CAPPED, duration=300.0).vacuum[-1]
    assert blanked == pytest.approx(sound, rel=1e-6)
    assert capped < 0.8 * sound


def test_blocked_exhaust_pushes_the_suction_gauge_above_zero():
    choked = replace(RIG, exhaust_hose=replace(RIG.exhaust_hose, blocked=0.995))
    run = simulate(choked, SITE, duration=60.0)
    assert run.vacuum[-1] < -1e3
    assert not run.primed


def test_ramps_refuse_nonsense():
    with pytest.raises(InputError, match="cannot change during a run"):
        Ramp("colour")
    with pytest.raises(InputError, match="ends before it starts"):
        Ramp("level_drop", 10.0, 10.0)
    with pytest.raises(InputError, match="Legal"):
        Ramp("belt_slip", 0.0, 1.0, 0.0, 2.0)


def test_a_high_spot_holds_air_back_until_the_stream_clears_it(sound):
    """The water behind the crest does not pull on what is before it: more vacuum is needed for the same height."""
    humped = replace(
        SITE, profile=((0.0, -1.0), (1.5, -1.0), (5.4, 2.6), (7.2, 1.4), (9.0, 3.0), (10.0, 3.0))
    )
    run = simulate(RIG, humped, duration=120.0)
    assert run.primed
    filling = [
        (r.casing_fill > 0.05) & (r.casing_fill < 0.7) for r in (run, sound)
    ]  # the column swings: means
    held = run.trapped_length[filling[0]].mean()
    assert held > 0.2
    lock = 998.2 * 9.80665 * held * (2.6 - 1.4) / (7.2 - 5.4)  # [Pa] of the water that does not pull
    extra = run.vacuum[filling[0]].mean() - sound.vacuum[filling[1]].mean()
    assert extra == pytest.approx(lock, rel=0.35)
    assert run.prime_time > sound.prime_time
    assert run.trapped_length[-1] < 1e-3
    assert abs(run.balance.air_error) < 1e-6
    assert abs(run.balance.water_error) < 1e-6


def test_frost_drain_left_open_sprays_only_when_it_pumps(sound):
    """It stands above the ball: harmless to the vacuum while the ball seats."""
    run = simulate(replace(RIG, frost_drain=Valve(bore=15e-3, opening=1.0)), SITE, duration=200.0)
    assert run.prime_time == pytest.approx(sound.prime_time, abs=0.5)
    assert run.frost_drain_water[run.index(30.0)] == 0.0
    assert run.frost_drain_water[-1] > 1e-3
    assert abs(run.balance.water_error) < 1e-6
