"""Parts of the run against laws they cannot escape: Boyle, Torricelli, Bernoulli, conservation, the hose's geometry."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from simulator.physics import compressor, gas
from simulator.rig.fault_changes import with_joint_hole
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.rig import hose_profile
from simulator.run import ControlStep, simulate
from simulator.run import layout as at
from simulator.run.ejection import LINE, NOZZLE, assembly_table, made_anew, nozzle_pressure
from simulator.run.equations import LEFT_BEHIND, evaluate
from simulator.run.events import (
    FRONT_AT_PUMP,
    FRONT_LEAVES,
    HOSE_EMPTIES,
    HOSE_FLOODS,
    MERGE,
    NRV_OPENS,
    NRV_SHUTS,
    RE_FORM,
    RELIEF_POP,
    jump,
)
from simulator.run.parameters import pack, rest_position
from simulator.run.pockets import bubbles, gas_volumes_at, height_at, parcel_volumes, slope_at, trapped_volume
from simulator.run.state import rest_state
from simulator.units import STANDARD_GRAVITY as G

RIG, SITE = load_rig("osier"), standard_site()
HUMP = FAULTS["hose_humped"].apply(RIG, SITE, 0.8, "")
STOPPED = (ControlStep(0.0, 1.0), ControlStep(90.0, 0.0))


def looked_at(rig, site, y, modes, p=None):
    """Rates and channels of one state."""
    p = pack(rig, site) if p is None else p
    rates, ch = np.zeros(at.STATES), np.zeros(len(at.CHANNELS))
    evaluate(y, p, modes, *assembly_table(p), rates, ch)
    return rates, ch


# --- the hose's geometry --------------------------------------------------------------------------------------------
def test_heights_are_those_of_the_profile_and_slopes_their_derivative():
    """Linear between the points (library numpy), the slope by differences."""
    rig, site = HUMP
    p, profile = pack(rig, site), hose_profile(rig, site)
    assert len(profile) == 4
    for s in np.linspace(0.05, rig.suction_hose.length - 0.05, 60):
        assert height_at(p, s) == pytest.approx(np.interp(s, *zip(*profile, strict=True)), abs=1e-9)
        if all(abs(s - corner) > 0.01 for corner, _ in profile):
            by_steps = (height_at(p, s + 1e-4) - height_at(p, s - 1e-4)) / 2e-4
            assert slope_at(p, s) == pytest.approx(by_steps, abs=1e-6)


@pytest.mark.parametrize("x", [1.0, 4.0])
def test_the_gas_takes_the_room_that_the_water_leaves(x):
    rig = FAULTS["liner_collapsed"].apply(RIG, SITE, 15e3, "")[0]
    p = pack(rig, SITE)
    state = rest_state(rig, SITE, p, casing_water=2e-3)
    hose, casing = gas_volumes_at(x, state.y, p, state.modes)
    assert state.modes[at.SPLIT] == 1.0
    bore, liner = rig.suction_hose.bore, rig.suction_hose.liner.position
    assert hose == pytest.approx(math.pi / 4.0 * bore**2 * (liner - x), rel=1e-12)
    whole = rig.casing.volume - 2e-3 + math.pi / 4.0 * bore**2 * (rig.suction_hose.length - x)
    assert hose + casing == pytest.approx(whole, rel=1e-12)


# --- gas in the water: Boyle's law at the pressure of a standing column -----------------------------------------------
def test_bubbles_have_the_volume_of_their_mass_at_the_pressure_of_a_standing_column():
    """By quadrature of m' R T / (p - p_v) along the column, hydrostatic, after the water has gone down a little."""
    steep = replace(SITE, profile=((0.0, -1.0), (RIG.suction_hose.length, 3.0)))
    p = pack(RIG, steep)
    p[at.LEVEL_DROP], p[at.LEAKS_AT] = 0.4, 2.0
    y = np.zeros(at.STATES)
    y[at.FRONT] = 8.0
    masses = (2e-4, 3e-4, 1e-4)
    y[at.CARRIED_FIRST : at.CARRIED_FIRST + 3] = masses
    y[at.TRAPPED_AIR] = 1e-3  # none of the bubbles
    rt, weight, slope = gas.R_AIR * p[at.AIR_T], p[at.WATER_DENSITY] * G, 4.0 / RIG.suction_hose.length

    def volume_of(mass: float, low: float, high: float) -> float:
        def per_metre(s: float) -> float:
            return 1.0 / (p[at.ATMOSPHERE] - weight * (-1.0 + slope * s + 0.4) - p[at.VAPOUR])

        return mass * rt / (high - low) * quad(per_metre, low, high)[0]

    expected = sum(volume_of(mass, 2.0 + 2.0 * i, 4.0 + 2.0 * i) for i, mass in enumerate(masses))
    volume, taller = bubbles(y, p)
    y[at.CARRIED_FIRST] = 0.0
    assert bubbles(y, p)[0] == pytest.approx(expected - volume_of(masses[0], 2.0, 4.0), rel=1e-3)
    assert volume == pytest.approx(expected, rel=1e-3)
    assert taller == pytest.approx(expected * slope / p[at.BORE_AREA], rel=1e-3)
    assert parcel_volumes(*masses, y, p) == pytest.approx(expected, rel=1e-3)


def test_trapped_gas_has_the_volume_of_its_mass_at_the_crest():
    rig, site = HUMP
    p, y = pack(rig, site), np.zeros(at.STATES)
    assert trapped_volume(y, p) == 0.0
    y[at.TRAPPED_AIR] = 1e-2
    top = max(z for _, z in site.profile[:-1])
    dry = p[at.ATMOSPHERE] - p[at.VAPOUR] - p[at.WATER_DENSITY] * G * top
    assert trapped_volume(y, p) == pytest.approx(1e-2 * gas.R_AIR * p[at.AIR_T] / dry, rel=1e-9)
    assert trapped_volume(y, pack(RIG, SITE)) == 0.0  # no crest holds it


def test_slow_water_behind_a_crest_leaves_the_gas_its_share_of_the_bore():
    """Continuity: of what the front passes, water and gas have the shares of the bore that they lie in."""
    rig, site = HUMP
    p = pack(rig, site)
    state = rest_state(rig, site, p)
    area = p[at.BORE_AREA]
    state.y[at.FRONT] = p[at.CREST_AT] + 0.6
    state.y[at.SUCTION_FLOW] = 1e-3 * area
    rates, ch = looked_at(rig, site, state.y, state.modes)
    volume = rates[at.TRAPPED_AIR] * gas.R_AIR * p[at.AIR_T] / (ch[at.C_SUCTION_PRESSURE] - p[at.VAPOUR])
    assert volume / (volume + state.y[at.SUCTION_FLOW]) == pytest.approx(LEFT_BEHIND, rel=1e-3)


def test_gas_above_a_column_that_has_fallen_below_the_crest_joins_the_pocket():
    """Nothing holds it there: it goes within seconds, and as much comes to the pocket as leaves the crest."""
    rig, site = HUMP
    p = pack(rig, site)
    state = rest_state(rig, site, p)
    state.modes[at.COCK_SETTING] = 0.0
    state.y[at.FRONT], state.y[at.TRAPPED_AIR] = p[at.CREST_AT] - 1.0, 1e-3
    rates, _ = looked_at(rig, site, state.y, state.modes)
    assert -1e-2 < rates[at.TRAPPED_AIR] < -1e-4
    assert rates[at.CASING_AIR] == pytest.approx(-rates[at.TRAPPED_AIR], rel=1e-9)


@pytest.mark.parametrize("dip", [0.4, 0.8, 1.4])
def test_air_and_water_of_a_humped_hose_are_conserved_and_come_out_again(dip):
    rig, site = FAULTS["hose_humped"].apply(RIG, SITE, dip, "")
    run = simulate(rig, site, controls=(ControlStep(0.0, 1.0), ControlStep(150.0, 0.0)), duration=300.0)
    assert run.trapped_length.max() > 0.05
    assert run.states[-1, at.TRAPPED_AIR] < 1e-6  # the water behind the crest has run back
    assert abs(run.balance.air_error) < 1e-6
    assert abs(run.balance.water_error) < 1e-6


# --- what changes while it runs ---------------------------------------------------------------------------------------
def test_what_changes_while_it_runs_changes_evenly_between_its_times():
    rig, site = FAULTS["level_falls"].apply(with_joint_hole(RIG, 1, 1e-3), SITE, 1.4, "")
    run = simulate(rig, site, duration=140.0)
    ramp = rig.ramps[0]
    expected = np.interp(run.time, [ramp.start_time, ramp.end_time], [0.0, -1.4])
    assert run.water_level == pytest.approx(expected, abs=1e-6)


# --- a loose liner ----------------------------------------------------------------------------------------------------
def with_liner(closing: float, residual: float = 0.0):
    hose = RIG.suction_hose
    return replace(
        RIG,
        suction_hose=replace(
            hose, liner=replace(hose.liner, closing_pressure=closing, residual_area=residual)
        ),
    )


def test_a_liner_that_stands_open_changes_nothing():
    """Two pockets with an open bore between them are one: same times, one pressure."""
    run, sound = (simulate(rig, SITE, duration=150.0, rtol=1e-7) for rig in (with_liner(1e7), RIG))
    assert run.prime_time == pytest.approx(sound.prime_time, abs=0.11)
    assert np.max(np.abs(run.hose_pressure - run.suction_pressure)) < 60.0
    assert run.vacuum == pytest.approx(sound.vacuum, abs=300.0)
    assert [event.kind for event in run.events].count("front_at_choke") == 1


def test_behind_a_liner_that_is_shut_the_water_stands_as_high_as_its_gas_lets_it():
    """Hydrostatics and Boyle: p_atm - p_h = rho g z, and the pocket's mass fills what the water leaves it."""
    rig = with_liner(1e3)
    run = simulate(rig, SITE, duration=200.0)
    p = pack(rig, SITE)
    assert run.vacuum[-1] > 7e4
    x = run.front_position[-1]
    assert x < rig.suction_hose.liner.position - 0.5
    height = float(np.interp(x, *zip(*hose_profile(rig, SITE), strict=True)))
    assert run.atmosphere - run.hose_pressure[-1] == pytest.approx(p[at.WATER_DENSITY] * G * height, rel=0.01)
    volume = p[at.BORE_AREA] * (rig.suction_hose.liner.position - x)
    dry = run.states[-1, at.HOSE_AIR] * gas.R_AIR * p[at.AIR_T] / volume
    assert run.hose_pressure[-1] == pytest.approx(dry + p[at.VAPOUR], rel=1e-6)


def test_a_liner_under_water_feels_the_pressure_of_the_water_there():
    """A standing column holds p_atm - rho g z at the liner: by it the form of the closing counts, not by the gas."""
    rig = with_liner(20e3)
    p = pack(rig, SITE)
    state = rest_state(rig, SITE, p)
    state.y[at.FRONT] = p[at.LENGTH] - 0.3
    assert p[at.LINER_AT] < state.y[at.FRONT] - 1.0
    state.modes[at.SPLIT] = 0.0
    top, there = height_at(p, state.y[at.FRONT]), height_at(p, p[at.LINER_AT])
    weight = p[at.WATER_DENSITY] * G
    _, volume = gas_volumes_at(state.y[at.FRONT], state.y, p, state.modes)
    dry = p[at.ATMOSPHERE] - weight * top - p[at.VAPOUR]
    state.y[at.CASING_AIR] = dry * volume / (gas.R_AIR * p[at.AIR_T])
    rates, _ = looked_at(rig, SITE, state.y, state.modes)
    target = state.y[at.LINER_OPEN] + rates[at.LINER_OPEN] * p[at.LINER_TIME]
    assert target == pytest.approx(1.0 / (1.0 + (weight * there / 20e3) ** 4), rel=1e-6)
    assert abs(rates[at.SUCTION_FLOW]) < 1e-9  # it stands


def test_where_the_column_falls_past_the_liner_no_pressure_jumps_and_no_air_is_lost():
    rig = with_liner(1e6)
    run = simulate(rig, SITE, controls=STOPPED, duration=200.0)
    left = [event.time for event in run.events if event.kind == "front_left_choke"]
    assert len(left) == 1
    i = int(np.searchsorted(run.time, left[0]))
    assert abs(run.hose_pressure[i] - run.suction_pressure[i]) < 300.0
    assert run.hose_pressure[i:] == pytest.approx(run.suction_pressure[i:], abs=300.0)
    assert abs(run.balance.air_error) < 1e-6


# --- the motive side --------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("times", [0.8, 1.5, 3.0, 5.0, 20.0])
def test_air_line_and_nozzle_pass_the_same_flow(times):
    """Continuity; the line's narrowest place by Bernoulli where its drop is small, as an orifice where it is not."""
    p = pack(RIG, SITE)
    p[at.LINE_AREA] = times * p[at.THROAT_AREA]
    p_m, p_c = 6.7e5, 40e3
    p_n = nozzle_pressure(p, p_m, p_c)
    rt = gas.R_AIR * p[at.AIR_T]
    choked = NOZZLE * p[at.THROAT_AREA] * gas.choked_flow_factor(1.4) / math.sqrt(rt)
    if times > 4.0:
        through = LINE * p[at.LINE_AREA] * math.sqrt(2.0 * p_m / rt * (p_m - p_n))
        assert through == pytest.approx(choked * p_m, rel=1e-6)
    else:
        through = gas.orifice_flow(p_m, p_n, p[at.LINE_AREA], LINE, p[at.AIR_T])
        assert through == pytest.approx(choked * p_n, rel=1e-6)
    assert nozzle_pressure(p, 0.9e5, 1e5) == 0.9e5


@pytest.mark.parametrize("index", [1.0, 1.25, 1.4])
def test_the_belt_takes_the_work_of_compression(index):
    """By quadrature of v dp along p v^n for the air filled in, over a mechanical efficiency; a belt that is off, none."""
    p_m, p_in, displacement, clearance = 6.7e5, 101_325.0, 8.5e-3, 0.06
    filled = 1.0 - clearance * ((p_m / p_in) ** (1.0 / index) - 1.0)
    work, _ = quad(lambda x: (p_in / x) ** (1.0 / index), p_in, p_m)
    taken = compressor.belt_torque(p_m, p_in, displacement, 0.0, clearance, index)
    efficiency = displacement * filled * work / taken
    assert 0.8 <= efficiency <= 0.9  # handbook band, from memory
    half = compressor.belt_torque(0.5 * p_m, p_in, displacement, 0.0, clearance, index)
    filled = 1.0 - clearance * ((0.5 * p_m / p_in) ** (1.0 / index) - 1.0)
    work, _ = quad(lambda x: (p_in / x) ** (1.0 / index), p_in, 0.5 * p_m)
    assert displacement * filled * work / half == pytest.approx(efficiency, rel=1e-6)
    assert compressor.belt_torque(p_m, p_in, displacement, 1.0, clearance, index) == 0.0


@pytest.mark.parametrize("fault", ["nozzle_plugged", "air_line_kinked"])
def test_the_relief_valve_keeps_the_receiver_at_its_set_pressure(fault):
    rig, site = FAULTS[fault].apply(RIG, SITE, FAULTS[fault].sizes[-1], "")
    run = simulate(rig, site, duration=120.0)
    over = run.motive_pressure - run.atmosphere - rig.relief_valve.set_pressure
    assert over.max() == pytest.approx(0.0, abs=5e3)
    assert over.max() < 10.0
    reseat = run.atmosphere + rig.relief_valve.set_pressure * rig.relief_valve.reseat_ratio
    first = int(np.searchsorted(run.time, next(e.time for e in run.events if e.kind == "relief_pop")))
    assert run.motive_pressure[first:].min() > reseat - 10.0
    assert abs(run.balance.motive_error) < 1e-6


@pytest.mark.parametrize("name", rig_names())
def test_the_table_of_a_rig_draws_nothing_where_it_says_so_and_lies_in_the_band(name):
    """Made anew, not as kept: closed suction of 8 to 17 kPa absolute at 4 to 7 bar, handbook band from memory."""
    from simulator.physics.ejector_table import set_slopes, table_dead_pressure, table_flow

    p = pack(load_rig(name), standard_site(name))
    dead, flow = made_anew(p)
    set_slopes(dead, flow)
    outside = p[at.ATMOSPHERE]
    for gauge in (4e5, 5.5e5, 7e5):
        closed = table_dead_pressure(outside + gauge, outside, dead)
        assert 8e3 <= closed <= 17e3
        drawn = [
            table_flow(outside + gauge, x, outside, p[at.THROAT_AREA], p[at.AIR_T], dead, flow)
            for x in (0.9 * closed, closed, 1.1 * closed, 30e3, 60e3, outside)
        ]
        assert drawn[0] < 0.0 < drawn[2]
        assert abs(drawn[1]) < 1e-9
        assert drawn[1:] == sorted(drawn[1:])


# --- openings and valves ----------------------------------------------------------------------------------------------
def test_what_a_joint_draws_in_under_the_water_comes_out_of_it():
    """Mass: in steady pumping as much air leaves the column as enters it."""
    run = simulate(with_joint_hole(RIG, 1, 1.5e-3), SITE, duration=250.0)
    assert run.joint_air[-1] > 1e-5
    assert run.carried_air[-1] == pytest.approx(run.joint_air[-1], rel=2e-3)


def test_an_open_frost_drain_sprays_as_torricelli_says():
    rig, site = FAULTS["frost_drain_open"].apply(RIG, SITE, 1.0, "")
    run = simulate(rig, site, duration=150.0)
    rho = pack(rig, site)[at.WATER_DENSITY]
    area = math.pi / 4.0 * rig.frost_drain.bore**2
    expected = 0.61 * area * math.sqrt(2.0 * (run.discharge_pressure[-1] - run.atmosphere) / rho)
    assert run.discharge_pressure[-1] > 1.3 * run.atmosphere
    assert run.frost_drain_water[-1] == pytest.approx(expected, rel=0.01)
    assert run.frost_drain_water[50] == 0.0


def test_a_casing_drain_that_stands_ajar_sprays_as_torricelli_says():
    area = math.pi / 4.0 * 3e-3**2
    share = area / (math.pi / 4.0 * RIG.casing_drain.bore**2)
    run = simulate(replace(RIG, casing_drain=replace(RIG.casing_drain, opening=share)), SITE, duration=150.0)
    rho = pack(RIG, SITE)[at.WATER_DENSITY]
    expected = 0.61 * area * math.sqrt(2.0 * (run.discharge_pressure[-1] - run.atmosphere) / rho)
    assert run.discharge_pressure[-1] > 1.3 * run.atmosphere
    assert run.drain_water[-1] == pytest.approx(expected, rel=1e-3)
    assert run.drain_water[50] == 0.0 < run.drain_air[50]


@pytest.mark.parametrize("name", rig_names())
def test_after_a_stop_the_ball_holds_its_water_and_the_column_falls_to_the_outside_level(name):
    """A ball that seats passes nothing; with the vacuum gone nothing holds the column up; the lip holds the casing's."""
    rig, site = load_rig(name), standard_site(name)
    run = simulate(rig, site, controls=STOPPED, duration=300.0)
    p = pack(rig, site)
    assert run.primed
    shut = int(np.searchsorted(run.time, max(e.time for e in run.events if e.kind == "nrv_shut"))) + 2
    assert np.ptp(run.line_fill[shut:]) < 1e-9
    assert np.all(run.discharge_flow[shut:] == 0.0)
    assert run.line_fill[-1] > 0.9
    assert run.front_position[-1] == pytest.approx(rest_position(hose_profile(rig, site)), abs=0.01)
    assert run.casing_fill[-1] == pytest.approx(p[at.LIP_FILL], abs=0.01)
    assert run.speed_ratio[-1] < 1e-3
    assert abs(run.balance.water_error) < 1e-6


@pytest.mark.parametrize("name", rig_names())
def test_an_emptied_hose_floods_as_soon_as_the_pressure_in_it_gives_way(name):
    """Behind a blocked exhaust the air blows the hose empty; water comes back where the outside presses more, within 0.3
    kPa, and in the end stands level."""
    rig, site = load_rig(name), standard_site(name)
    rig = replace(rig, exhaust_hose=replace(rig.exhaust_hose, blocked=0.98))
    run = simulate(rig, site, controls=(ControlStep(0.0, 1.0), ControlStep(60.0, 0.0)), duration=600.0)
    kinds = [event.kind for event in run.events]
    assert "hose_empty" in kinds
    assert kinds.index("hose_empty") < kinds.index("hose_floods")
    floods = next(event.time for event in run.events if event.kind == "hose_floods" and event.time > 60.0)
    i = int(np.searchsorted(run.time, floods)) - 1
    rho = pack(rig, site)[at.WATER_DENSITY]
    spare = run.atmosphere + rho * G * site.submergence - run.suction_pressure[i]
    assert -50.0 < spare < 300.0
    assert run.front_position[-1] == pytest.approx(rest_position(hose_profile(rig, site)), abs=0.01)
    assert abs(run.balance.water_error) < 1e-6
    assert abs(run.balance.air_error) < 1e-6


@pytest.mark.parametrize("v", [0.5, 1.0, 2.0])
def test_air_at_a_strainer_near_the_surface_sees_the_pressure_behind_its_holes(v):
    """Bernoulli from the surface to the inside of the strainer; no more gets past the water than bubbles climb in it."""
    site = replace(SITE, submergence=0.2)
    p = pack(RIG, site)
    state = rest_state(RIG, site, p)
    state.y[at.FRONT] = p[at.LENGTH] - 0.3
    state.y[at.SUCTION_FLOW] = v * p[at.BORE_AREA]
    _, ch = looked_at(RIG, site, state.y, state.modes)
    strainer, rho = RIG.suction_hose.strainer, p[at.WATER_DENSITY]
    assert site.submergence > 0.5 * strainer.diameter  # all its holes under water
    needed = strainer.diameter + 2.3 * v * p[at.BORE_AREA] / (
        math.pi / 4.0 * strainer.diameter**2
    ) * math.sqrt(strainer.diameter / G)
    t = 1.0 - site.submergence / needed
    bared = t * t * (3.0 - 2.0 * t)
    inside = p[at.ATMOSPHERE] + rho * G * site.submergence - 0.5 * rho * v * v * (1.0 + strainer.loss)
    room = p[at.BORE_AREA] * bared**2
    most = room * (v + 0.35 * math.sqrt(G * p[at.BORE])) * p[at.ATMOSPHERE] / (gas.R_AIR * p[at.AIR_T])
    free = gas.hole_flow(p[at.ATMOSPHERE], inside, room, p[at.AIR_T])
    expected = 0.0 if inside >= p[at.ATMOSPHERE] else free * most / (free + most)
    assert ch[at.C_END_AIR] == pytest.approx(expected, rel=1e-6, abs=1e-12)
    assert expected > 0.0 or v < 1.5


# --- the water column -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("v", [0.014, 0.1, 2.0])
def test_a_balanced_column_is_slowed_by_its_losses_alone(v):
    """Unsteady Bernoulli with the weight held by the pressure: dv/dt = -sum of losses v^2/2l; friction by fluids."""
    import fluids

    p = pack(RIG, SITE)
    state = rest_state(RIG, SITE, p)
    x = p[at.LENGTH] - 0.4
    state.y[at.FRONT], state.y[at.SUCTION_FLOW] = x, v * p[at.BORE_AREA]
    rho = p[at.WATER_DENSITY]
    _, volume = gas_volumes_at(x, state.y, p, state.modes)
    dry = p[at.ATMOSPHERE] - rho * G * height_at(p, x) - p[at.VAPOUR]
    state.y[at.CASING_AIR] = dry * volume / (gas.R_AIR * p[at.AIR_T])
    rates, _ = looked_at(RIG, SITE, state.y, state.modes)
    hose = RIG.suction_hose
    reynolds = rho * v * hose.bore / p[at.WATER_VISCOSITY]
    f = fluids.friction_factor(Re=reynolds, eD=hose.roughness / hose.bore, Method="Colebrook")
    if reynolds < 2300.0:
        f = 64.0 / reynolds
    bends = (
        hose.bend_loss
        * sum(x > s for s, _ in hose_profile(RIG, SITE)[1:-1])
        / max(len(hose_profile(RIG, SITE)) - 2, 1)
    )
    losses = 1.0 + 0.1 + hose.strainer.loss + bends + f * x / hose.bore
    slowing = -0.5 * v * v * losses / x
    assert rates[at.SUCTION_FLOW] / p[at.BORE_AREA] == pytest.approx(slowing, rel=5e-3)


# --- conservation -----------------------------------------------------------------------------------------------------
LOSES = (
    ("level_falls", 2.2, ""),
    ("liner_collapsed", 15e3, ""),
    ("joint_ring", 8e-3, "joint:1"),
    ("strainer_high", 0.6, ""),
    ("strainer_plugged", 0.99, ""),
    ("nrv_fouled", 40e-6, ""),
    ("flange_works_loose", 12e-3, ""),
    ("hose_humped", 1.0, ""),
    ("drain_open", 0.2, ""),
)


@pytest.mark.parametrize(("fault", "size", "place"), LOSES)
def test_air_water_and_motive_air_are_conserved_through_start_loss_and_stop(fault, size, place):
    """What is in the rig at the end is what was there, and came, less what went: to a millionth."""
    rig, site = FAULTS[fault].apply(RIG, SITE, size, place)
    controls = (
        ControlStep(0.0, 1.0),
        ControlStep(200.0, 0.0),
        ControlStep(240.0, 1.0),
        ControlStep(300.0, 0.0),
    )
    run = simulate(rig, site, controls=controls, duration=360.0)
    for error in (run.balance.air_error, run.balance.water_error, run.balance.motive_error):
        assert abs(error) < 1e-6
    assert run.exhaust_air == pytest.approx(run.motive_flow + run.entrained_flow, abs=1e-12)
    held = run.motive_flow + run.relief_flow
    steady = slice(1900, 1990)
    if np.ptp(run.motive_pressure[steady]) < 500.0:
        assert run.compressor_flow[steady].mean() == pytest.approx(held[steady].mean(), rel=1e-3)


JUMPS = (
    MERGE,
    RE_FORM,
    FRONT_AT_PUMP,
    FRONT_LEAVES,
    NRV_OPENS,
    NRV_SHUTS,
    RELIEF_POP,
    HOSE_EMPTIES,
    HOSE_FLOODS,
)


@pytest.mark.parametrize("code", JUMPS)
def test_no_jump_makes_or_loses_air_or_water(code):
    """Where the equations change their form, what is in the rig stays, but for water that is booked as gone."""
    rig = with_liner(20e3)
    p = pack(rig, SITE)
    state = rest_state(rig, SITE, p, casing_water=0.2 * p[at.CASING_VOLUME])
    y, m = state.y, state.modes
    if code == HOSE_EMPTIES:
        y[at.FRONT], y[at.SUCTION_FLOW] = -0.01, -1e-3
        y[at.CARRIED_FIRST : at.CARRIED_FIRST + 3] = (1e-4, 2e-4, 3e-4)
    elif code in (FRONT_AT_PUMP, FRONT_LEAVES):
        y[at.FRONT], m[at.SPLIT] = p[at.LENGTH] + 0.02, 0.0
        y[at.CASING_AIR] += y[at.HOSE_AIR]
        y[at.HOSE_AIR] = 0.0
        m[at.HOSE_FULL] = float(code == FRONT_LEAVES)
    elif code == RE_FORM:
        m[at.SPLIT] = 0.0
        y[at.CASING_AIR] += y[at.HOSE_AIR]
        y[at.HOSE_AIR] = 0.0
    elif code == NRV_SHUTS:
        m[at.NRV_OPEN], y[at.DISCHARGE_FLOW] = 1.0, -1e-3

    def held() -> tuple[float, float]:
        air = y[[at.HOSE_AIR, at.CASING_AIR, at.CARRIED_FIRST, at.CARRIED_SECOND, at.CARRIED_THIRD]].sum()
        return air, p[at.BORE_AREA] * y[at.FRONT] + y[at.CASING_WATER] + y[at.LINE_WATER] - y[at.WATER_IN]

    before, in_hose = held(), y[at.HOSE_AIR]
    jump(code, y, p, m)
    assert held() == pytest.approx(before, rel=1e-12)
    if code == HOSE_EMPTIES:
        assert y[at.HOSE_AIR] == pytest.approx(in_hose + 6e-4, rel=1e-12), (
            "bubbles join the gas in front of them"
        )
        assert y[at.FRONT] == y[at.SUCTION_FLOW] == y[at.CARRIED_SECOND] == 0.0
        assert m[at.HOSE_EMPTY] == 1.0
    if code in (FRONT_AT_PUMP, FRONT_LEAVES):
        assert y[at.FRONT] == pytest.approx(p[at.LENGTH], rel=1e-12)
        assert m[at.HOSE_FULL] == float(code == FRONT_AT_PUMP)
    if code in (NRV_OPENS, NRV_SHUTS):
        assert m[at.NRV_OPEN] == float(code == NRV_OPENS)
        assert y[at.DISCHARGE_FLOW] == 0.0
    if code == RE_FORM:
        hose, casing = gas_volumes_at(y[at.FRONT], y, p, m)
        assert y[at.HOSE_AIR] / hose == pytest.approx(y[at.CASING_AIR] / casing, rel=1e-12)


@pytest.mark.parametrize("opening", ["gasket_hole", "seal_hole", "nrv_gap", "drain"])
def test_each_opening_of_the_casing_draws_under_a_vacuum_as_an_orifice_does(opening):
    from simulator.run import Setup

    area = math.pi / 4.0 * 3e-3**2
    if opening == "nrv_gap":
        rig = replace(RIG, nrv=replace(RIG.nrv, gap_area=area))
    elif opening == "drain":
        share = area / (math.pi / 4.0 * RIG.casing_drain.bore**2)
        rig = replace(RIG, casing_drain=replace(RIG.casing_drain, opening=share))
    else:
        rig = replace(RIG, casing=replace(RIG.casing, **{opening: 3e-3}))
    run = simulate(rig, SITE, setup=Setup.BLANKED, duration=60.0)
    drawn = run.casing_leak_air + run.drain_air + run.nrv_air
    share = 1.0 if opening != "seal_hole" else 0.3 + 0.7 * run.speed_ratio[-1]
    whole = gas.hole_flow(run.atmosphere, run.suction_pressure[-1], area, SITE.air_temperature)
    assert run.vacuum[-1] > 4e4
    assert drawn[-1] == pytest.approx(share * whole, rel=1e-3)
    assert run.entrained_flow[-1] == pytest.approx(drawn[-1], rel=0.02)  # in the end as much goes as comes


def test_at_a_second_start_the_ball_lifts_by_what_stands_on_it():
    """Hydrostatics: the pressure under the ball that lifts it is that of the water on it and its weight."""
    controls = (*STOPPED, ControlStep(150.0, 1.0))
    run = simulate(RIG, SITE, controls=controls, duration=260.0)
    lifts = [event.time for event in run.events if event.kind == "nrv_open"]
    assert lifts[0] < 90.0 < 150.0 < lifts[-1]
    i = int(np.searchsorted(run.time, min(time for time in lifts if time > 150.0)))
    p = pack(RIG, SITE)
    on_it = p[at.WATER_DENSITY] * G * RIG.discharge.rise * run.line_fill[i] + RIG.nrv.cracking_pressure
    under = run.discharge_pressure[i - 1 : i + 1] - run.atmosphere
    assert under[0] <= on_it * 1.001
    assert under[1] >= on_it * 0.97
    assert run.discharge_flow[1500:].min() > -0.02 * p[at.LINE_BORE_AREA]


def test_behind_a_plate_the_hose_does_not_count():
    from simulator.run import Setup

    whole, holed = (
        simulate(rig, SITE, setup=Setup.BLANKED, duration=60.0)
        for rig in (RIG, with_joint_hole(RIG, 1, 8e-3))
    )
    assert np.array_equal(whole.vacuum, holed.vacuum)
    assert holed.joint_air.max() == 0.0


@pytest.mark.parametrize(("altitude", "blocked"), [(0.0, 0.93), (3000.0, 0.93), (3000.0, 0.0)])
def test_one_table_gives_the_flow_that_is_solved_at_the_site(altitude, blocked):
    """Against the assembly solved at that site's own pressure and density."""
    from simulator.physics.ejector_table import build_table, table_flow
    from simulator.run.ejection import assembly_flow

    rig = replace(RIG, exhaust_hose=replace(RIG.exhaust_hose, blocked=blocked))
    p = pack(rig, replace(SITE, altitude=altitude))
    throat = p[at.THROAT_AREA]
    bare = build_table(
        p[at.MIXING_AREA] / throat,
        *(p[i] for i in (at.ETA_NOZZLE, at.ETA_MIXING, at.ETA_DIFFUSER, at.JET_SHARE)),
        p[at.EXIT_AREA] / throat,
        p[at.MOUTH_AREA] / throat,
    )
    outside = p[at.ATMOSPHERE]
    for p_m, p_c in ((6.5, 0.95), (6.5, 0.6), (4.0, 0.9)):
        solved = assembly_flow(p, *bare.arrays, p_m * outside, p_c * outside)
        told = table_flow(p_m * outside, p_c * outside, outside, throat, p[at.AIR_T], *assembly_table(p))
        assert told == pytest.approx(solved, rel=0.03)
