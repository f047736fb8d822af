"""Air, water, openings and friction against standards, printed tables and the libraries that carry them."""

from __future__ import annotations

import math
from importlib import import_module
from typing import Any

import numpy as np

from simulator.charts.report import Line, Panel, chart
from simulator.physics import gas, hose_losses, water
from simulator.physics.atmosphere import density_at_altitude, pressure_at_altitude, temperature_at_altitude
from simulator.units import METRE_PER_FOOT, PASCAL_PER_INHG, STANDARD_GRAVITY, ZERO_CELSIUS
from simulator.validation.rows import Figure, Row, Section, absent, at_most, equal

IF97 = "IAPWS-IF97"
NACA = "NACA Report 1135 (1953), tables, from memory"


def library(name: str) -> Any | None:
    """An outside library, or None where it is not installed.

    Parameters
    ----------
    name : to import it by.

    Examples
    --------
    >>> library("no_such_library_anywhere") is None
    True
    """
    try:
        return import_module(name)
    except ImportError:
        return None


def air_and_water() -> Section:
    """Atmosphere at altitude; vapour pressure, density and viscosity of water."""
    water_rows, details = _water()
    return Section(
        "Air and water",
        "Everything hangs on the outside air pressure and on how hard water boils under vacuum.",
        (*_atmosphere(), *water_rows),
        (_water_figure(),),
        tuple(details),
    )


def _atmosphere() -> list[Row]:
    table = "ISO 2533:1975, table, from memory"
    rows = [
        equal("Air pressure at sea level", table, pressure_at_altitude(0.0), 101_325.0, "Pa", rel=1e-9),
        equal("Air pressure at 1000 m", table, pressure_at_altitude(1000.0), 89_876.0, "Pa", rel=1e-4),
        equal("Air density at sea level", table, density_at_altitude(0.0), 1.225, "kg/m³", rel=1e-5),
        equal("Air temperature at 1000 m", table, temperature_at_altitude(1000.0), 281.651, "K", rel=1e-5),
    ]
    fluids = library("fluids")
    if fluids is None:
        return [*rows, absent("Air pressure at 500, 1500 and 3000 m", "fluids")]
    source = "US Standard Atmosphere 1976, library fluids"
    for h in (500.0, 1500.0, 3000.0):
        theirs = fluids.ATMOSPHERE_1976(h).P
        rows.append(
            equal(f"Air pressure at {h:.0f} m", source, pressure_at_altitude(h), theirs, "Pa", rel=2e-5)
        )
    return rows


QUANTITIES = (("Vapour pressure", "Pa", 1e-3), ("Density", "kg/m³", 2e-4), ("Viscosity", "mPa s", 3e-3))
CELSIUS = (5.0, 20.0, 40.0, 60.0)


def _water() -> tuple[list[Row], list[Row]]:
    table, ours = f"{IF97} table 35, from memory", water.vapour_pressure(300.0)
    rows = [equal("Vapour pressure of water at 300 K", table, ours, 3536.58941, "Pa", rel=1e-3)]
    details: list[Row] = []
    iapws, coolprop = library("iapws"), library("CoolProp.CoolProp")
    if iapws is None:
        rows.append(absent("Vapour pressure, density, viscosity of water", "iapws"))
    else:
        found = [_beside(c, f"{IF97}, library iapws", _by_iapws(iapws, c)) for c in CELSIUS]
        rows += _worst(found, f"{IF97}, library iapws")
        details += [row for some in found for row in some]
    if coolprop is None:
        rows.append(absent("Vapour pressure, density, viscosity of water", "CoolProp"))
    else:
        found = [_beside(c, "IAPWS-95, library CoolProp", _by_coolprop(coolprop, c)) for c in CELSIUS]
        rows += _worst(found, "IAPWS-95, library CoolProp")
        details += [row for some in found for row in some]
    return rows, details


def _by_iapws(iapws: Any, celsius: float) -> tuple[float, float, float]:
    liquid = iapws.IAPWS97(T=celsius + ZERO_CELSIUS, P=0.101325)
    return 1e6 * iapws.IAPWS97(T=celsius + ZERO_CELSIUS, x=0.0).P, liquid.rho, 1e3 * liquid.mu


def _by_coolprop(coolprop: Any, celsius: float) -> tuple[float, float, float]:
    T, ask = celsius + ZERO_CELSIUS, coolprop.PropsSI
    at_one_atmosphere = ("T", T, "P", 101_325.0, "Water")
    vapour = ask("P", "T", T, "Q", 0, "Water")
    return vapour, ask("D", *at_one_atmosphere), 1e3 * ask("V", *at_one_atmosphere)


def _beside(celsius: float, source: str, theirs: tuple[float, float, float]) -> list[Row]:
    T = celsius + ZERO_CELSIUS
    ours = (water.vapour_pressure(T), water.density(T), 1e3 * water.viscosity(T))
    return [
        equal(f"{what} of water at {celsius:.0f} °C", source, one, two, unit, rel=share)
        for (what, unit, share), one, two in zip(QUANTITIES, ours, theirs, strict=True)
    ]


def _worst(found: list[list[Row]], source: str) -> list[Row]:
    """The largest deviation of each quantity, in percent."""
    rows = []
    for (what, _, share), some in zip(QUANTITIES, zip(*found, strict=True), strict=True):
        worst = max(abs((row.ours or 0.0) / (row.theirs or 1.0) - 1.0) for row in some)
        rows.append(
            at_most(f"{what} of water, 5 to 60 °C, largest deviation", source, 100 * worst, 100 * share, "%")
        )
    return rows


def _water_figure() -> Figure:
    celsius = np.linspace(1.0, 60.0, 60)
    temperatures = celsius + ZERO_CELSIUS
    heights = np.linspace(0.0, 3000.0, 61)
    lines = [Line("this model", celsius, [water.vapour_pressure(T) / 1e3 for T in temperatures])]
    lift = [
        Line("this model", heights, [water.greatest_lift(pressure_at_altitude(h), 293.15) for h in heights])
    ]
    iapws = library("iapws")
    if iapws is not None:
        few = celsius[::6]
        theirs = [1e3 * iapws.IAPWS97(T=c + ZERO_CELSIUS, x=0.0).P for c in few]
        lines.append(Line("IAPWS-IF97", few, theirs, "markers", 1))
    return Figure(
        "What vacuum can do",
        "Left: the vapour pressure is the floor of the suction gauge. Right: so far can the air outside push water up, "
        "at 20 °C, whatever the pump.",
        chart(
            Panel(tuple(lines), "water, °C", "vapour pressure, kPa"),
            Panel(tuple(lift), "altitude, m", "greatest lift, m"),
            columns=2,
            height=240,
        ),
    )


def lift_limits() -> Section:
    """Greatest lift and the yardstick of the inch of mercury."""
    source = "hydrostatics with ISO 2533 and IAPWS"
    rows = (
        equal(
            "Greatest lift at sea level, water at 20 °C",
            source,
            water.greatest_lift(pressure_at_altitude(0.0), 293.15),
            10.11,
            "m",
            abs_=0.005,
        ),
        equal(
            "Greatest lift at 1500 m, water at 20 °C",
            source,
            water.greatest_lift(pressure_at_altitude(1500.0), 293.15),
            8.40,
            "m",
            abs_=0.005,
        ),
        equal(
            "One inch of mercury lifts cold water by",
            "US water handling guides, from memory",
            PASCAL_PER_INHG / (water.density(283.15) * STANDARD_GRAVITY) / METRE_PER_FOOT,
            1.134,
            "ft",
            abs_=0.001,
        ),
    )
    return Section("Greatest lift", "No pump lifts water higher than the air outside can push it.", rows)


#: Mach number: isentropic p/p0, T/T0, A/A*, then behind a normal shock M2, p2/p1, p02/p01; and half the last digit.
GAS_TABLE = {
    1.5: ((0.2724, 5e-5), (0.6897, 5e-5), (1.176, 5e-4), (0.7011, 5e-5), (2.458, 5e-4), (0.9298, 5e-5)),
    2.0: ((0.1278, 5e-5), (0.5556, 5e-5), (1.688, 5.5e-4), (0.5774, 5e-5), (4.500, 5e-4), (0.7209, 5e-5)),
    3.0: ((0.02722, 5e-6), (0.3571, 5e-5), (4.235, 5e-4), (0.4752, 5e-5), (10.33, 5e-3), (0.3283, 5e-5)),
}
GAS_FUNCTIONS = (
    ("pressure ratio p/p₀", gas.isentropic_pressure_ratio),
    ("temperature ratio T/T₀", gas.isentropic_temperature_ratio),
    ("area ratio A/A*", gas.isentropic_area_ratio),
    ("Mach number behind a shock", gas.normal_shock_mach),
    ("pressure ratio over a shock", gas.normal_shock_pressure_ratio),
    ("stagnation pressure ratio over a shock", gas.normal_shock_stagnation_ratio),
)


def openings() -> Section:
    """Flow of air through holes; the gas relations behind the ejector."""
    T, area = 293.15, 1e-6
    unit_flow = area * 101_325.0 / math.sqrt(gas.R_AIR * T)
    rows = [
        equal(
            "Critical pressure ratio of air",
            "(2/2.4)^3.5, exact",
            gas.critical_ratio(1.4),
            (2 / 2.4) ** 3.5,
            "-",
            rel=1e-12,
        ),
        equal(
            "Choked flow through 1 mm², sea level air at 20 °C",
            "NACA Report 1135: √1.4 (2/2.4)³ A p/√(RT)",
            1e6 * gas.orifice_mass_flow(101_325.0, 20e3, area, 1.0, T),
            1e6 * unit_flow * math.sqrt(1.4) * (2 / 2.4) ** 3,
            "mg/s",
            rel=1e-9,
        ),
    ]
    for ratio in (0.6, 0.8, 0.95):
        exact = unit_flow * math.sqrt(7.0 * (ratio ** (2 / 1.4) - ratio ** (2.4 / 1.4)))
        ours = gas.orifice_mass_flow(101_325.0, ratio * 101_325.0, area, 1.0, T)
        rows.append(
            equal(
                f"The same hole, pressure ratio {ratio:g}",
                "de Saint-Venant and Wantzel",
                1e6 * ours,
                1e6 * exact,
                "mg/s",
                rel=1e-9,
            )
        )
    ratios = np.linspace(0.0, 0.999, 400)
    ours_all = np.array([gas.flow_factor(r) for r in ratios]) / gas.flow_factor(0.0)
    b = gas.critical_ratio(1.4)
    ellipse = np.sqrt(1.0 - (np.maximum(ratios - b, 0.0) / (1.0 - b)) ** 2)
    rows.append(
        at_most(
            "Largest distance from the ellipse of ISO 6358, b = 0.528, of choked flow",
            "ISO 6358-1 (the standard rounds the same curve)",
            float(np.abs(ours_all - ellipse).max()),
            0.03,
            "-",
        )
    )
    details = [
        equal(f"Mach {mach:g}: {name}", NACA, function(mach, 1.4), value, "-", abs_=half)
        for mach, printed in GAS_TABLE.items()
        for (name, function), (value, half) in zip(GAS_FUNCTIONS, printed, strict=True)
    ]
    worst = max(abs((row.ours or 0.0) - (row.theirs or 0.0)) / (row.tolerance or 1.0) for row in details)
    rows.append(at_most("18 table values, worst over half the last printed digit", NACA, worst, 1.0, "-"))
    picture = Figure(
        "Air through a hole",
        "Below 0.528 of the outside pressure the flow no longer grows: it is choked. That is why a leak's flow, and the "
        "rise in a hold test, stay the same under deep vacuum.",
        chart(
            Panel(
                (
                    Line("this model", ratios, ours_all),
                    Line("ellipse of ISO 6358", ratios[::10], ellipse[::10], "markers", 1),
                ),
                "pressure inside over pressure outside",
                "flow over choked flow",
            ),
            height=240,
        ),
    )
    return Section(
        "Air through openings",
        "Leaks, valves, screen and nozzle all follow the compressible orifice.",
        tuple(rows),
        (picture,),
        tuple(details),
    )


def friction() -> Section:
    """Darcy factor, losses of strainer and closed hose."""
    rows = [
        equal(
            "Laminar flow, Re 1000",
            "Hagen and Poiseuille, 64/Re",
            hose_losses.friction_factor(1000.0, 1e-4),
            0.064,
            "-",
            rel=1e-9,
        ),
        equal(
            "Strainer with half its holes",
            "continuity: four times the loss",
            hose_losses.strainer_loss(1.5, 0.5),
            6.0,
            "-",
            rel=1e-9,
        ),
        equal(
            "Hose closed to a quarter",
            "Weisbach with Borda-Carnot, by hand",
            hose_losses.choke_loss(0.25),
            29.06,
            "-",
            rel=1e-3,
        ),
    ]
    reynolds = np.geomspace(5e2, 5e6, 200)
    lines = [
        Line(
            f"roughness/bore {rough:g}",
            reynolds,
            [hose_losses.friction_factor(re, rough) for re in reynolds],
            style=style,
        )
        for style, rough in enumerate((2e-4, 2e-3, 2e-2))
    ]
    fluids = library("fluids")
    if fluids is None:
        rows.append(absent("Friction factor by Colebrook", "fluids"))
    else:
        for rough in (2e-4, 2e-3, 2e-2):
            for re in (1e4, 1e5, 1e6):
                theirs = fluids.friction_factor(Re=re, eD=rough, Method="Clamond")
                ours = hose_losses.friction_factor(re, rough)
                rows.append(
                    equal(
                        f"Re {re:.0e}, roughness/bore {rough:g}".replace("e+0", "e"),
                        "Colebrook, library fluids",
                        ours,
                        theirs,
                        "-",
                        rel=2e-3,
                    )
                )
        few = np.geomspace(5e3, 5e6, 10)
        points = [
            fluids.friction_factor(Re=re, eD=rough, Method="Clamond")
            for rough in (2e-4, 2e-3, 2e-2)
            for re in few
        ]
        lines.append(Line("Colebrook, library fluids", np.tile(few, 3), points, "markers", 4))
    picture = Figure(
        "Friction in the hose",
        "Darcy friction factor over the Reynolds number.",
        chart(Panel(tuple(lines), "Reynolds number", "friction factor", log_x=True, log_y=True), height=250),
    )
    return Section("Friction and losses", "What holds the water back on its way up.", tuple(rows), (picture,))
