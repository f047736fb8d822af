"""The integrated equations against solutions worked out on paper."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
from scipy.integrate import quad

from simulator.charts.report import Line, Panel, chart
from simulator.physics.gas import R_AIR
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.rig import hose_profile
from simulator.run import layout as at
from simulator.run.ejection import CHOKED, assembly_table
from simulator.run.integrate import integrate
from simulator.run.layout import Setup
from simulator.run.parameters import ENTRY_LOSS, LINE_FRICTION, NRV_LOSS, pack
from simulator.run.result import ControlStep
from simulator.run.simulate import simulate
from simulator.run.state import State, rest_state
from simulator.units import PASCAL_PER_INHG, STANDARD_GRAVITY
from simulator.validation.bubble_column import constant_suction, driven_state
from simulator.validation.rows import Figure, Row, Section, absent, at_most, equal
from simulator.validation.standards import library

STILL = (ControlStep(0.0, 0.0),)
HANDBOOK = "vacuum handbooks: t = V/S ln(p₀/p₁), exact"


def exact_solutions() -> Section:
    """Pump-down, leaks, hold tests, the start of a column and the steady flow."""
    down_rows, down = _pump_down()
    hold_rows, hold = _hold()
    column_rows, column = _column()
    return Section(
        "Exact solutions",
        "Where the answer can be worked out on paper, the computed run must hit it.",
        (*down_rows, *hold_rows, *column_rows, *_steady_flow()),
        (down, hold, column),
    )


def perry(ratio: float) -> float:
    """Discharge coefficient of a sharp-edged hole [-]: Perry 1949, the polynomial as Beater 2007 prints it, from memory.

    ratio: absolute pressure behind the hole over before it [-], 0 to 1.

    Examples
    --------
    >>> round(perry(1.0), 3)
    0.6
    """
    terms = (0.8414, -0.1002, 0.8415, -3.9, 4.6001, -1.6827)
    return sum(term * ratio**power for power, term in enumerate(terms))


def _states(
    p: np.ndarray, state: State, table: tuple[np.ndarray, np.ndarray], end: float
) -> tuple[np.ndarray, np.ndarray]:
    times = np.arange(0.0, end + 0.05, 0.1)
    return times, integrate(p, table, state, times, STILL, rtol=1e-9).states


def _pressure(states: np.ndarray, p: np.ndarray) -> np.ndarray:
    return states[:, at.CASING_AIR] * R_AIR * p[at.AIR_T] / p[at.CASING_VOLUME] + p[at.VAPOUR]


def _pump_down() -> tuple[list[Row], Figure]:
    rig, site = load_rig("osier"), standard_site()
    p = pack(rig, site, Setup.BLANKED)
    p[at.VAPOUR] = 0.0
    volume, speed = p[at.CASING_VOLUME], 6e-3
    times, states = _states(p, driven_state(rig, site, p), constant_suction(p, speed), 30.0)
    pressure = _pressure(states, p)
    expected = p[at.ATMOSPHERE] * np.exp(-speed / volume * times)
    half = float(np.interp(-0.5 * p[at.ATMOSPHERE], -pressure, times))
    leaky = p.copy()
    leaky[at.GASKET_AREA] = 4e-6
    leak_times, leak_states = _states(
        leaky, driven_state(rig, site, leaky), constant_suction(leaky, 8e-3), 120.0
    )
    leak_pressure = _pressure(leak_states, leaky)
    rt = R_AIR * p[at.AIR_T]
    coefficient = perry(leak_pressure[-1] / p[at.ATMOSPHERE])
    floor = coefficient * 4e-6 * p[at.ATMOSPHERE] * CHOKED * math.sqrt(rt) / 8e-3
    rows = [
        equal(
            "Pump-down of a closed volume: time to half the pressure",
            HANDBOOK,
            half,
            volume / speed * math.log(2.0),
            "s",
            rel=1e-3,
        ),
        at_most(
            "The same over 30 s, largest deviation",
            HANDBOOK,
            float(np.abs(pressure / expected - 1.0).max()),
            1e-6,
            "-",
        ),
        equal(
            "End pressure with a leak of 4 mm²",
            "vacuum handbooks: Q/S, exact",
            leak_pressure[-1] / 1e3,
            floor / 1e3,
            "kPa",
            rel=1e-4,
        ),
    ]
    for exponent in (1.2, 1.4):
        q = pack(rig, site, Setup.BLANKED, gas_exponent=exponent)
        q[at.VAPOUR] = 0.0
        seconds, warm = _states(q, driven_state(rig, site, q), constant_suction(q, speed), 10.0)
        left = warm[:, at.CASING_AIR] / warm[0, at.CASING_AIR]
        paper = (1.0 + (exponent - 1.0) * speed / volume * seconds) ** (-1.0 / (exponent - 1.0))
        rows.append(
            at_most(
                f"Polytropic pump-down, exponent {exponent:g}, largest deviation",
                "integrated by hand, exact",
                float(np.abs(left / paper - 1.0).max()),
                1e-6,
                "-",
            )
        )
    picture = Figure(
        "Drawing a closed volume down",
        "A pump of constant speed empties a tight volume along an exponential; with a leak it ends where "
        "the leak feeds it.",
        chart(
            Panel(
                (
                    Line("tight, this model", times, pressure / 1e3, style=0),
                    Line("tight, on paper", times[::20], expected[::20] / 1e3, "markers", 0),
                    Line("leak 4 mm², this model", leak_times[:301], leak_pressure[:301] / 1e3, style=1),
                    Line("leak, end on paper", [0.0, 30.0], [floor / 1e3] * 2, style=-1),
                ),
                "time, s",
                "pressure, kPa absolute",
            ),
            height=250,
        ),
    )
    return rows, picture


def _hold() -> tuple[list[Row], Figure]:
    rig, site = load_rig("osier"), standard_site()
    p = pack(rig, site, Setup.BLANKED)
    p[at.COCK_OPEN], p[at.GASKET_AREA] = 0.0, 2e-6
    rt = R_AIR * p[at.AIR_T]
    state = rest_state(rig, site, p)
    state.y[at.CASING_AIR] *= 0.2
    times, states = _states(p, state, assembly_table(p), 60.0)
    pressure = _pressure(states, p)
    ideal = 2e-6 * p[at.ATMOSPHERE] * CHOKED * math.sqrt(rt) / p[at.CASING_VOLUME]
    choked = pressure < 0.528 * p[at.ATMOSPHERE]
    marks = np.linspace(pressure[0], pressure[choked][-1], 13)
    steps = [
        quad(lambda x: 1.0 / (ideal * perry(x / p[at.ATMOSPHERE])), *ends)[0] for ends in pairwise(marks)
    ]
    paper = np.concatenate([[0.0], np.cumsum(steps)])
    computed = np.diff(pressure[choked]) / 0.1
    rows = [
        at_most(
            "Hold test, leak of 2 mm²: time to twelve pressures while choked, largest deviation",
            "t = ∫ V/q dp with Perry's coefficient, by quadrature",
            float(np.abs(np.interp(marks, pressure, times) - paper).max() / paper[-1]),
            1e-4,
            "-",
        ),
        at_most(
            "Hold test: how far the rise while choked is from a straight line, slopes first to last",
            "a sharp edge passes 0.84 into a vacuum and 0.74 where it chokes (Perry 1949)",
            float(1.0 - computed.min() / computed.max()),
            0.13,
            "-",
        ),
        *_open_hose(),
        *_fire_pump_leak(),
    ]
    picture = Figure(
        "Hold test",
        "Ejector shut, flange blanked: the gauge falls back along nearly a straight line while the leak is choked, then "
        "slower.",
        chart(
            Panel(
                (
                    Line("this model", times, (p[at.ATMOSPHERE] - pressure) / 1e3),
                    Line(
                        "on paper, while choked",
                        paper,
                        (p[at.ATMOSPHERE] - marks) / 1e3,
                        "markers",
                        1,
                    ),
                    Line("end of choking", [0.0, 60.0], [0.472 * p[at.ATMOSPHERE] / 1e3] * 2, style=-1),
                ),
                "time, s",
                "vacuum, kPa",
            ),
            height=240,
        ),
    )
    return rows, picture


def _open_hose() -> list[Row]:
    """Hose open in the water: the column falls as the pressure rises, so that the volume grows."""
    rig = load_rig("osier")
    leaky = replace(rig, casing=replace(rig.casing, gasket_hole=0.6e-3), has_isolating_cock=True)
    site = replace(standard_site(), lift=6.0)
    controls = (ControlStep(0.0, 1.0), ControlStep(30.0, 1.0, cock_open=False))
    run = simulate(leaky, site, controls=controls, duration=240.0)
    p = pack(leaky, site)
    a, b = run.index(60.0), run.index(240.0)
    (_, _), (s1, z1), (s2, z2), (_, _) = hose_profile(leaky, site)
    pressure, front = run.suction_pressure[a:b].mean(), run.front_position[a:b].mean()
    volume = p[at.CASING_VOLUME] + p[at.BORE_AREA] * (p[at.LENGTH] - front)
    weight = p[at.WATER_DENSITY] * STANDARD_GRAVITY * (z2 - z1) / (s2 - s1)
    stretch = (pressure - p[at.VAPOUR]) * p[at.BORE_AREA] / weight
    leak = float(run.casing_leak_air[(a + b) // 2]) * R_AIR * p[at.AIR_T]
    rate = float(np.polyfit(run.time[a:b], run.suction_pressure[a:b], 1)[0])
    return [
        equal(
            "Hold test with the hose in the water: rise",
            "dp/dt = q/(V + p dV/dp), exact for a slow column",
            rate,
            leak / (volume + stretch),
            "Pa/s",
            rel=0.03,
        )
    ]


def _fire_pump_leak() -> list[Row]:
    """A yardstick: the largest leak that passes the vacuum test of fire pumps, on 50 litres."""
    rig, site = load_rig("osier"), standard_site()
    p = pack(rig, site, Setup.BLANKED)
    p[at.COCK_OPEN], p[at.CASING_VOLUME] = 0.0, 0.050
    p[at.GASKET_AREA] = (
        0.281e-6 / 0.767
    )  # effective area: the coefficient's mean from 22 to 12 inHg of vacuum
    p[at.VAPOUR] = 0.0
    state = rest_state(rig, site, p)
    state.y[at.CASING_AIR] *= 1.0 - 22.0 * PASCAL_PER_INHG / p[at.ATMOSPHERE]
    _, states = _states(p, state, assembly_table(p), 300.0)
    pressure = _pressure(states, p)
    lost = (pressure[-1] - pressure[0]) / PASCAL_PER_INHG
    return [
        equal(
            "Leak of 0.281 mm² effective on 50 L: loss in 5 min from 22 inHg",
            "NFPA 1911 vacuum test limit, from memory; book-keeping: the hole is sized by Perry's mean coefficient",
            lost,
            10.0,
            "inHg",
            abs_=0.3,
        )
    ]


def _column() -> tuple[list[Row], Figure]:
    rig, site = load_rig("osier"), standard_site()
    length, loss, drive = 20.0, 8.0, 30e3
    flat = replace(site, profile=((0.0, -1e-6), (length, -1e-6)))
    long = with_hose_length(rig, length)
    long = replace(long, suction_hose=replace(long.suction_hose, joints=()))
    p = pack(long, flat)
    p[at.BORE] = 1e15  # of the friction term only: no wall friction
    p[at.ENTRY_LOSS], p[at.BEND_LOSS], p[at.STRAINER_LOSS] = loss - 1.0, 0.0, 0.0
    p[at.SUBMERGENCE] = 1e3  # no vortex
    p[at.CASING_VOLUME], p[at.COCK_OPEN] = 1e9, 0.0
    state = rest_state(long, flat, p)
    state.y[at.FRONT], state.modes[at.HOSE_FULL], state.modes[at.SPLIT] = length, 1.0, 0.0
    rho, rt = p[at.WATER_DENSITY], R_AIR * p[at.AIR_T]
    state.y[at.CASING_AIR] = (p[at.ATMOSPHERE] - drive - p[at.VAPOUR]) * p[at.CASING_VOLUME] / rt
    times, states = _states(p, state, assembly_table(p), 10.0)
    speed = states[:, at.SUCTION_FLOW] / p[at.BORE_AREA]
    drive += rho * STANDARD_GRAVITY * 1e-6
    final = math.sqrt(2.0 * drive / (rho * loss))
    tau = 2.0 * length / (loss * final)
    paper = final * np.tanh(times / tau)
    source = "rigid column, u = u∞ tanh(t/τ), exact"
    rows = [
        equal(
            "Column from rest: speed after one τ",
            source,
            float(np.interp(tau, times, speed)),
            final * math.tanh(1.0),
            "m/s",
            rel=1e-3,
        ),
        at_most(
            "Column from rest, largest deviation",
            source,
            float(np.abs(speed - paper).max() / final),
            2e-5,
            "-",
        ),
    ]
    picture = Figure(
        "A column of water starts to move",
        "Twenty metres of water under a constant 30 kPa: inertia first, then friction.",
        chart(
            Panel(
                (Line("this model", times, speed), Line("on paper", times[::8], paper[::8], "markers", 1)),
                "time, s",
                "speed, m/s",
            ),
            height=220,
        ),
    )
    return rows, picture


def _steady_flow() -> list[Row]:
    """Heads of a running sound rig: pump head against lift, rise and all losses."""
    fluids = library("fluids")
    if fluids is None:
        return [absent("Steady flow where pump and system meet", "fluids")]
    rig, site = load_rig("osier"), standard_site()
    run = simulate(rig, site, duration=200.0)
    q, p = float(run.discharge_flow[-1]), pack(rig, site)
    hose, line = rig.suction_hose, rig.discharge
    velocity = q / p[at.BORE_AREA]
    reynolds = p[at.WATER_DENSITY] * velocity * hose.bore / p[at.WATER_VISCOSITY]
    f = fluids.friction_factor(Re=reynolds, eD=hose.roughness / hose.bore, Method="Clamond")
    two_g = 2.0 * STANDARD_GRAVITY
    suction = 1.0 + hose.strainer.loss + ENTRY_LOSS + hose.bend_loss + f * hose.length / hose.bore
    discharge = NRV_LOSS + line.loss + LINE_FRICTION * line.length / line.bore
    needed = site.lift + line.rise - rig.casing.height * rig.casing.lip_fill  # heads count from the inlet lip
    needed += rig.nrv.cracking_pressure / (
        p[at.WATER_DENSITY] * STANDARD_GRAVITY
    )  # the stream carries the ball
    needed += velocity**2 / two_g * suction + (q / p[at.LINE_BORE_AREA]) ** 2 / two_g * discharge
    head = rig.pump.shut_head * float(run.speed_ratio[-1]) ** 2 - rig.pump.curve * q**2
    return [
        equal(
            "Running rig: head of the pump against head of the system",
            "steady energy equation; Colebrook by fluids",
            head,
            needed,
            "m",
            abs_=0.15,
        )
    ]
