"""The integrated equations against exact solutions of the same physics, worked out on paper."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from simulator.physics.gas import R_AIR
from simulator.rig.presets import load_rig, standard_site
from simulator.run import ControlStep, Setup
from simulator.run import layout as at
from simulator.run.ejection import CHOKED, assembly_table
from simulator.run.integrate import integrate
from simulator.run.parameters import pack
from simulator.run.state import rest_state
from simulator.units import STANDARD_GRAVITY

STILL = (ControlStep(0.0, 0.0),)


@pytest.fixture
def rig():
    return load_rig("osier")


@pytest.fixture
def site():
    return standard_site()


def constant_volume_suction(p: np.ndarray, speed: float) -> tuple[np.ndarray, np.ndarray]:
    """An ejector table that draws a constant volume flow [m3/s], whatever the pressure: m = S p / (R T)."""
    dead, flow = (np.zeros_like(array) for array in assembly_table(p))
    dead[:, 0] = 1e-12
    unit = CHOKED * p[at.THROAT_AREA] / math.sqrt(R_AIR * p[at.AIR_T])
    flow[:, :, 0] = speed / (R_AIR * p[at.AIR_T]) / unit
    return dead, flow


def driven(rig, site, p: np.ndarray):
    """The rig at rest with a receiver so large that it drives such an ejector for ever: nothing draws without."""
    p[at.RECEIVER_VOLUME] = 1e6
    state = rest_state(rig, site, p)
    state.y[at.RECEIVER_AIR] *= 5.0
    return state


def follow(p, state, table, times, controls=STILL):
    path = integrate(p, table, state, times, controls, rtol=1e-9)
    return path.states


def casing_pressure(states: np.ndarray, p: np.ndarray, volume: float) -> np.ndarray:
    return states[:, at.CASING_AIR] * R_AIR * p[at.AIR_T] / volume + p[at.VAPOUR]


def test_closed_volume_pumps_down_exponentially(rig, site):
    """Vacuum handbook formula t = V/S ln(p0/p1), exact for a constant volume flow S of a dry gas."""
    p = pack(rig, site, Setup.BLANKED)
    p[at.VAPOUR] = 0.0
    volume, speed = p[at.CASING_VOLUME], 6e-3
    state = driven(rig, site, p)
    times = np.arange(0.0, 20.05, 0.1)
    pressure = casing_pressure(follow(p, state, constant_volume_suction(p, speed), times), p, volume)
    expected = p[at.ATMOSPHERE] * np.exp(-speed / volume * times)
    assert np.max(np.abs(pressure / expected - 1.0)) < 1e-6
    half = np.interp(-0.5 * p[at.ATMOSPHERE], -pressure, times)
    assert half == pytest.approx(volume / speed * math.log(2.0), rel=1e-4)


@pytest.mark.parametrize("exponent", [1.2, 1.4])
def test_polytropic_pump_down_starts_steeper_by_the_exponent(rig, site, exponent):
    """With m = S p/(R T) drawn and p ~ m^n, m = m0 (1 + (n-1) S t/V)^(-1/(n-1)): exact; the start slope is n S/V."""
    p = pack(rig, site, Setup.BLANKED, gas_exponent=exponent)
    p[at.VAPOUR] = 0.0
    share = 6e-3 / p[at.CASING_VOLUME]
    times = np.arange(0.0, 10.05, 0.1)
    states = follow(p, driven(rig, site, p), constant_volume_suction(p, 6e-3), times)
    left = states[:, at.CASING_AIR] / states[0, at.CASING_AIR]
    expected = (1.0 + (exponent - 1.0) * share * times) ** (-1.0 / (exponent - 1.0))
    assert expected[-1] < 0.5
    assert np.max(np.abs(left / expected - 1.0)) < 1e-6
    from simulator.run.pockets import gas_pressure

    start = [gas_pressure(mass, p[at.CASING_VOLUME], 0.0, p) for mass in states[:2, at.CASING_AIR]]
    assert (1.0 - start[1] / start[0]) / 0.1 == pytest.approx(exponent * share, rel=0.02)


def test_leak_and_constant_suction_settle_at_leak_over_speed(rig, site):
    """Vacuum handbook: the end pressure is Q/S, with the leak's Q = m R T at that pressure."""
    p = pack(rig, site, Setup.BLANKED)
    p[at.VAPOUR] = 0.0
    p[at.GASKET_AREA] = 4e-6
    speed = 8e-3
    times = np.arange(0.0, 120.05, 0.1)
    states = follow(p, driven(rig, site, p), constant_volume_suction(p, speed), times)
    rt = R_AIR * p[at.AIR_T]
    pressure = casing_pressure(states, p, p[at.CASING_VOLUME])
    leak = (
        perry(pressure[-1] / p[at.ATMOSPHERE]) * p[at.GASKET_AREA] * p[at.ATMOSPHERE] * CHOKED / math.sqrt(rt)
    )
    assert pressure[-1] < 0.528 * p[at.ATMOSPHERE]
    assert pressure[-1] == pytest.approx(leak * rt / speed, rel=1e-5)


def perry(ratio: float) -> float:
    """Discharge coefficient of a sharp-edged hole: Perry 1949, the polynomial as printed by Beater 2007, from memory."""
    terms = (0.8414, -0.1002, 0.8415, -3.9, 4.6001, -1.6827)
    return sum(term * ratio**power for power, term in enumerate(terms))


def test_hold_test_rises_by_the_flow_over_the_volume(rig, site):
    """dp/dt = q/V, its time from one pressure to another by quadrature of V/q; nearly a straight line while choked."""
    from scipy.integrate import quad

    p = pack(rig, site, Setup.BLANKED)
    p[at.COCK_OPEN] = 0.0
    p[at.GASKET_AREA] = 2e-6
    rt = R_AIR * p[at.AIR_T]
    state = rest_state(rig, site, p)
    state.y[at.CASING_AIR] *= 0.2
    times = np.arange(0.0, 10.05, 0.1)
    pressure = casing_pressure(follow(p, state, assembly_table(p), times), p, p[at.CASING_VOLUME])
    assert pressure[-1] < 0.528 * p[at.ATMOSPHERE]
    ideal = p[at.GASKET_AREA] * p[at.ATMOSPHERE] * CHOKED * math.sqrt(rt) / p[at.CASING_VOLUME]
    took, _ = quad(lambda x: 1.0 / (ideal * perry(x / p[at.ATMOSPHERE])), pressure[0], pressure[-1])
    assert took == pytest.approx(times[-1], rel=1e-5)
    slopes = np.diff(pressure) / 0.1
    assert slopes.min() > 0.85 * slopes.max() > 500.0


def frictionless_column(rig, site, length: float, loss: float):
    """A full, level hose of this length with all its resistance in one loss, into a huge casing: p is constant."""
    flat = replace(site, profile=((0.0, -1e-6), (length, -1e-6)))
    long = replace(rig, suction_hose=replace(rig.suction_hose, length=length, joints=()))
    p = pack(long, flat)
    p[at.BORE] = 1e15  # of the friction term only: no wall friction
    p[at.ENTRY_LOSS], p[at.BEND_LOSS], p[at.STRAINER_LOSS] = loss - 1.0, 0.0, 0.0
    p[at.CASING_VOLUME] = 1e9
    p[at.COCK_OPEN] = 0.0
    state = rest_state(long, flat, p)
    state.y[at.FRONT] = length
    state.modes[at.HOSE_FULL], state.modes[at.SPLIT] = 1.0, 0.0
    return p, state


def test_column_starts_up_as_tanh(rig, site):
    """Rigid column from rest under a constant pressure: u = u_inf tanh(t/tau), exact (unsteady Bernoulli)."""
    length, loss, drive = 20.0, 8.0, 30e3
    p, state = frictionless_column(rig, site, length, loss)
    rt = R_AIR * p[at.AIR_T]
    state.y[at.CASING_AIR] = (p[at.ATMOSPHERE] - drive - p[at.VAPOUR]) * p[at.CASING_VOLUME] / rt
    times = np.arange(0.0, 10.05, 0.1)
    speed = follow(p, state, assembly_table(p), times)[:, at.SUCTION_FLOW] / p[at.BORE_AREA]
    rho = p[at.WATER_DENSITY]
    drive += rho * 9.80665 * 1e-6
    final = math.sqrt(2.0 * drive / (rho * loss))
    tau = 2.0 * length / (loss * final)
    assert final > 2.0
    assert times[-1] > 3.0 * tau
    assert np.max(np.abs(speed - final * np.tanh(times / tau))) < 2e-5 * final


def test_column_falls_back_freely(rig, site):
    """A raised column with air above it at outside pressure falls as a weight on a rod: l du/dt = -g z, no losses
    in the first instants; energy is never gained."""
    p = pack(rig, site)
    p[at.COCK_OPEN] = 0.0
    state = rest_state(rig, site, p)
    start = state.y[at.FRONT] + 1.5
    state.y[at.FRONT] = start
    times = np.arange(0.0, 0.31, 0.1)
    from simulator.run.pockets import gas_volumes, height_at

    _, volume = gas_volumes(state.y, p, state.modes)
    state.y[at.CASING_AIR] = (p[at.ATMOSPHERE] - p[at.VAPOUR]) * volume / (R_AIR * p[at.AIR_T])
    states = follow(p, state, assembly_table(p), times)
    acceleration = -9.80665 * height_at(p, start) / start
    speed = states[1, at.SUCTION_FLOW] / p[at.BORE_AREA]
    assert speed == pytest.approx(acceleration * 0.1, rel=0.05)
    assert np.all(np.diff(states[:, at.FRONT]) < 0.0)


def test_steady_flow_is_where_pump_and_system_meet(rig, site):
    """At the end of a sound run the heads balance: H0 - a Q2 = lift + rise + all losses, with friction by Colebrook.

    Source of the friction factor: library ``fluids``.
    """
    import fluids

    from simulator.run import simulate
    from simulator.run.parameters import ENTRY_LOSS, LINE_FRICTION, NRV_LOSS

    run = simulate(rig, site, duration=200.0)
    q = float(run.discharge_flow[-1])
    hose, line = rig.suction_hose, rig.discharge
    p = pack(rig, site)
    area = p[at.BORE_AREA]
    velocity = q / area
    reynolds = p[at.WATER_DENSITY] * velocity * hose.bore / p[at.WATER_VISCOSITY]
    f = fluids.friction_factor(Re=reynolds, eD=hose.roughness / hose.bore)
    velocity_head = velocity**2 / (2.0 * 9.80665)
    suction = velocity_head * (
        1.0 + hose.strainer.loss + ENTRY_LOSS + hose.bend_loss + f * hose.length / hose.bore
    )
    discharge = (q / p[at.LINE_BORE_AREA]) ** 2 / (2.0 * 9.80665)
    discharge *= NRV_LOSS + line.loss + LINE_FRICTION * line.length / line.bore
    turning = run.speed_ratio[-1]
    head = rig.pump.shut_head * turning**2 - rig.pump.curve * q**2
    ball = rig.nrv.cracking_pressure / (p[at.WATER_DENSITY] * 9.80665)  # the stream carries its weight
    fill_head = rig.casing.height * rig.casing.lip_fill  # the model counts heads from the inlet lip
    assert head == pytest.approx(site.lift + line.rise + suction + discharge + ball - fill_head, abs=0.15)
    assert q > 0.05


def test_above_the_greatest_lift_it_never_primes(rig, site):
    """Greatest lift (p_atm - p_v)/(rho g): 10.11 m at 20 C at sea level (ISO 2533, IAPWS-IF97)."""
    from simulator.run import simulate

    p = pack(rig, site)
    greatest = (p[at.ATMOSPHERE] - p[at.VAPOUR]) / (p[at.WATER_DENSITY] * 9.80665)
    assert greatest == pytest.approx(10.11, abs=0.005)
    long = replace(rig, suction_hose=replace(rig.suction_hose, length=14.0))
    strong = replace(
        long,
        ejector=replace(long.ejector, nozzle_efficiency=1.0, mixing_efficiency=1.0, diffuser_efficiency=1.0),
    )
    run = simulate(strong, replace(site, lift=greatest + 0.1), duration=600.0)
    assert not run.primed
    assert np.all(run.suction_pressure >= p[at.VAPOUR])


@pytest.mark.parametrize("speed", [0.2, 0.5])
def test_water_stopped_where_no_gas_is_left_raises_the_pressure_by_density_wave_speed_and_velocity(
    rig, site, speed
):
    """Joukowsky 1898: rho a v, and the weight's d below outside pressure: sqrt(d^2 + (rho a v)^2); losses take 2 %."""
    rig = replace(rig, nrv=replace(rig.nrv, stuck=True))
    p = pack(rig, site)
    state = rest_state(rig, site, p)
    table = assembly_table(p)
    weight = p[at.WATER_DENSITY] * STANDARD_GRAVITY
    standing = p[at.ATMOSPHERE] - weight * (site.lift + (1.0 - p[at.LIP_FILL]) * p[at.CASING_HEIGHT])
    state.modes[at.HOSE_FULL], state.modes[at.SPLIT], state.modes[at.COCK_SETTING] = 1.0, 0.0, 0.0
    state.y[at.FRONT], state.y[at.SUCTION_FLOW] = p[at.LENGTH], speed * p[at.BORE_AREA]
    state.y[[at.HOSE_AIR, at.CASING_AIR]] = 0.0, 1e-9
    state.y[at.CASING_WATER] = p[at.CASING_VOLUME]
    shut = (ControlStep(0.0, 0.0, cock_open=False),)
    times = np.arange(0.0, 0.05, 5e-4)
    states = follow(p, state, table, times, shut)
    from simulator.run.pockets import gas_pressure

    volumes = p[at.CASING_VOLUME] - states[:, at.CASING_WATER]
    pressure = [
        gas_pressure(mass, room, p[at.HOSE_GIVE], p)
        for mass, room in zip(states[:, at.CASING_AIR], volumes, strict=True)
    ]
    rise = math.hypot(p[at.ATMOSPHERE] - standing, p[at.WATER_DENSITY] * 400.0 * speed)
    assert 0.98 * rise < max(pressure) - standing < 1.005 * rise


@pytest.mark.parametrize("exponent", [1.0, 1.2, 1.4])
def test_gas_beside_water_that_gives_way_follows_its_law_in_the_room_it_has(rig, site, exponent):
    """p_dry (V + C (p - p_atm))^n is what it is for the same mass at outside pressure; C counts above that alone."""
    from simulator.run.pockets import gas_pressure

    p = pack(rig, site, gas_exponent=exponent)
    give, outside = p[at.HOSE_GIVE], p[at.ATMOSPHERE] - p[at.VAPOUR]
    for mass in (1e-6, 1e-4, 0.05):
        for volume in (-5e-4, 0.0, 1e-5, 1e-3, 0.1):
            dry = gas_pressure(mass, volume, give, p) - p[at.VAPOUR]
            room = volume + give * max(dry - outside, 0.0)
            alone = mass * R_AIR * p[at.AIR_T] / outside  # its room at outside pressure
            assert dry * room**exponent == pytest.approx(outside * alone**exponent, rel=1e-6)
