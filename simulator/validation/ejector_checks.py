"""The ejector against loss-free theory, the second law and a measured set, and its table against itself."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np

from simulator.charts.report import Line, Panel, chart
from simulator.physics import ejector, gas
from simulator.physics.ejector_table import build_table, table_dead_pressure, table_flow
from simulator.rig.parts import Ejector
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.run import layout as at
from simulator.run.ejection import assembly_table, motive
from simulator.run.parameters import pack
from simulator.validation.rows import Figure, Row, Section, at_least, at_most, equal, shown

DATA = Path(__file__).parent / "data"
NO_LOSS = (1.0, 1.0, 1.0)
TUBE = 45.36e-6  # [m2] of the mixing tube in the checks, 7.6 mm
T = 293.15
THEORY = "Keenan, Neumann and Lustwerk 1950; Fabri and Siestrunck 1958"
HUANG = "Huang, Chang, Wang and Petrenko 1999, R141b, from memory"


def read(name: str) -> list[dict[str, str]]:
    """Rows of a data file of this folder; lines that begin with # say where it comes from.

    Parameters
    ----------
    name : of the file.
    """
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def coefficients(part: Ejector) -> tuple[float, ...]:
    """Efficiencies of a part's nozzle, mixing and diffuser, its jet's share of the ideal area, exit over throat [-].

    Examples
    --------
    >>> len(coefficients(load_rig("osier").ejector))
    5
    """
    exit_ratio = (part.exit_diameter / part.nozzle_diameter) ** 2
    return (
        part.nozzle_efficiency,
        part.mixing_efficiency,
        part.diffuser_efficiency,
        part.jet_share,
        exit_ratio,
    )


def drawn(
    p_m: float, p_s: float, p_b: float, ratio: float, efficiencies: tuple[float, ...]
) -> tuple[float, float]:
    """Suction and motive flow [kg/s] at motive, suction and back pressure [Pa] and area ratio [-].

    Parameters
    ----------
    p_m, p_s, p_b : motive, suction and back pressure [Pa abs].
    ratio : mixing tube over nozzle throat, by area [-].
    efficiencies : of nozzle, suction and diffuser [-].
    """
    motive = ejector.motive_flow(p_m, p_s, TUBE / ratio, 1.0, T)
    return ejector.entrained_flow(p_m, p_s, p_b, TUBE / ratio, TUBE, T, *efficiencies), motive


def the_ejector() -> Section:
    """All checks of the ejector."""
    free_rows, free_details, free_figure = _loss_free()
    law_rows, law_figure = _second_law()
    huang_rows, huang_figure, huang_details = _measured()
    return Section(
        "The ejector",
        "The heart of the machine: a jet of compressed air drags the air out of casing and hose.",
        (*free_rows, *law_rows, *huang_rows, *_table_rows()),
        (free_figure, law_figure, huang_figure),
        (*free_details, *huang_details),
    )


def _loss_free() -> tuple[list[Row], list[Row], Figure]:
    details: list[Row] = []
    theirs_all: list[tuple[float, float]] = []
    ours_all: list[tuple[float, float]] = []
    for row in read("ejector_loss_free.csv"):
        p_m, p_s = 1e3 * float(row["motive_kpa_abs"]), 1e3 * float(row["suction_kpa_abs"])
        ratio = float(row["area_ratio_mixing_to_throat"])
        share, p_d = float(row["entrainment_ratio"]), float(row["greatest_discharge_kpa_abs"])
        suction, motive = drawn(p_m, p_s, 997.0 * p_d, ratio, NO_LOSS)
        greatest = ejector.suction_limit(p_s / p_m, ratio, 1.4, *NO_LOSS)[2] * p_m / 1e3
        where = f"{p_m / 1e3:.0f} over {p_s / 1e3:.0f} kPa, area ratio {ratio:g}"
        details += [
            equal(f"Loss-free entrainment, {where}", THEORY, suction / motive, share, "-", rel=3e-3),
            equal(f"Loss-free greatest discharge pressure, {where}", THEORY, greatest, p_d, "kPa", rel=3e-3),
        ]
        theirs_all.append((share, p_d))
        ours_all.append((suction / motive, greatest))
    theirs, ours = np.array(theirs_all), np.array(ours_all)
    worst = np.abs(ours / theirs - 1.0).max(axis=0)
    count = len(theirs)
    rows = [
        at_most(f"Loss-free entrainment, {count} cases, largest deviation", THEORY, 100 * worst[0], 0.3, "%"),
        at_most(f"Loss-free greatest discharge pressure, {count} cases", THEORY, 100 * worst[1], 0.3, "%"),
    ]
    panels = [
        Panel(
            (
                Line("equal", [0, top], [0, top], style=-1),
                Line("loss-free cases", theirs[:, k], ours[:, k], "markers", 0),
            ),
            f"theory: {name}",
            "this model",
        )
        for k, (name, top) in enumerate((("entrainment ratio", 1.25), ("greatest discharge, kPa", 300.0)))
    ]
    for mach in (1.5, 2.0, 3.0):
        area = gas.isentropic_area_ratio(mach, 1.4)
        x_1 = gas.isentropic_pressure_ratio(mach, 1.4)
        exit_pressure, _, _ = ejector.mixed_pressure(x_1, 0.0, area, 1.4, *NO_LOSS)
        shock = gas.normal_shock_stagnation_ratio(mach, 1.4)
        what = f"Jet that fills the tube at Mach {mach:g}: exit over motive pressure"
        rows.append(equal(what, "normal shock, NACA Report 1135", exit_pressure, shock, "-", rel=1e-6))
    picture = Figure(
        "The ejector without losses",
        "Each point is one case of the control-volume theory; on the line both agree.",
        chart(*panels, columns=2, height=240),
    )
    return rows, details, picture


def _second_law() -> tuple[list[Row], Figure]:
    part = load_rig("osier").ejector
    usual = coefficients(part)
    ratio = (part.mixing_diameter / part.nozzle_diameter) ** 2
    worst = {"loss-free": 0.0, "with losses": 0.0}
    for p_m in np.linspace(1.5e5, 11e5, 12):
        for p_b in (0.7e5, 1.02e5, 1.3e5, 1.8e5):
            for p_s in np.linspace(0.05, 0.97, 24) * p_b:
                if p_b >= p_m:
                    continue
                ceiling = math.log(p_m / p_b) / math.log(p_b / p_s)
                for name, efficiencies in (("loss-free", NO_LOSS), ("with losses", usual)):
                    suction, motive = drawn(p_m, p_s, p_b, ratio, efficiencies)
                    worst[name] = max(worst[name], suction / motive / ceiling)
    law = "second law: ln(pₘ/p_d) / ln(p_d/pₛ) at equal temperature"
    rows = [
        at_most(f"Entrainment over its ceiling, 1152 states, {name}", law, value, 1.0, "-")
        for name, value in worst.items()
    ]
    p_m, p_b = 6.6e5, 1.03e5
    suction_pressures = np.linspace(12e3, 95e3, 84)
    curves = [
        Line(
            name,
            suction_pressures / 1e3,
            [max(_share(p_m, p, p_b, ratio, eta), 0.0) for p in suction_pressures],
            style=style,
        )
        for style, (name, eta) in enumerate(
            (("this model, with losses", usual), ("this model, loss-free", NO_LOSS))
        )
    ]
    ceiling_curve = [math.log(p_m / p_b) / math.log(p_b / p) for p in suction_pressures]
    inside = np.array(ceiling_curve) < 4.0
    curves.append(
        Line(
            "ceiling of the second law",
            suction_pressures[inside] / 1e3,
            np.array(ceiling_curve)[inside],
            style=2,
        )
    )
    picture = Figure(
        "No ejector beats the second law",
        "Air drawn over motive air at 6.6 bar absolute. The deepest vacuum is where the curve meets zero.",
        chart(
            Panel(tuple(curves), "suction pressure, kPa absolute", "air drawn over motive air"), height=260
        ),
    )
    return rows, picture


def _share(p_m: float, p_s: float, p_b: float, ratio: float, eta: tuple[float, ...]) -> float:
    suction, motive = drawn(p_m, p_s, p_b, ratio, eta)
    return suction / motive


def _entrainment(
    row: dict[str, str], nozzle: float, suction: float, share: float, exit_ratio: float
) -> float:
    """Air over motive air [-] that the ejector of the runs draws at a measured point, with loss coefficients [-].

    ``nozzle`` and ``suction`` under the root on the two flows, ``share`` of its ideal area that the jet takes up.
    """
    gamma = 1.135
    x_s = float(row["suction_kpa_abs"]) / float(row["motive_kpa_abs"])
    ratio = float(row["area_ratio_mixing_to_throat"])
    hot, cold = (float(row[key]) + 273.15 for key in ("motive_saturation_c", "suction_saturation_c"))
    _, drawn_share, _ = ejector.suction_limit(x_s, ratio, gamma, 1.0, 1.0, 1.0, share, exit_ratio)
    motive = math.sqrt(nozzle) * gas.choked_flow_factor(gamma)
    return math.sqrt(suction) * drawn_share / motive * math.sqrt(hot / cold)


def _measured() -> tuple[list[Row], Figure, list[Row]]:
    """The ejector of the runs with the paper's coefficients: 0.95 and 0.85 on the two flows, 0.88 on the jet's area."""
    part = load_rig("osier").ejector
    points = read("ejector_huang.csv")
    measured = [float(row["entrainment_ratio"]) for row in points]
    computed = [_entrainment(row, 0.95, 0.85, 0.88, 0.0) for row in points]
    names = [
        f"Measured entrainment, ejector {row['ejector']}, motive {row['motive_kpa_abs']} kPa"
        for row in points
    ]
    error = np.array(computed) / np.array(measured) - 1.0
    own = np.array([_entrainment(row, 1.0, 1.0, part.jet_share, 0.0) for row in points]) / measured - 1.0
    rows = [
        at_most(
            f"Measured set, {len(error)} points, largest deviation",
            HUANG,
            100 * np.abs(error).max(),
            17.0,
            "%",
        ),
        at_most("The same, root mean square", HUANG, 100 * float(np.sqrt(np.mean(error**2))), 9.0, "%"),
        shown("The same, mean", HUANG, 100 * float(np.mean(error)), 0.0, "%"),
        shown(
            "The same with the rigs' own coefficients (another gas, other nozzles), mean",
            HUANG,
            100 * float(np.mean(own)),
            0.0,
            "%",
        ),
        shown("and root mean square", HUANG, 100 * float(np.sqrt(np.mean(own**2))), 0.0, "%"),
    ]
    details = [
        equal(name, HUANG, one, two, "-", rel=0.17)
        for name, one, two in zip(names, computed, measured, strict=True)
    ]
    span = np.array([0.0, 0.65])
    picture = Figure(
        "A measured set",
        "Twenty-five measured ejectors, another gas: a wide check of the choked flow. Figures from memory; dotted lines "
        "are 17 % apart.",
        chart(
            Panel(
                (
                    Line("equal", span, span, style=-1, dash="solid"),
                    Line("17 % off", span, 1.17 * span, style=-1),
                    Line("17 % off", span, 0.83 * span, style=-1),
                    Line("measured points", measured, computed, "markers", 0),
                ),
                "measured entrainment ratio",
                "this model",
            ),
            height=270,
        ),
    )
    return rows, picture, details


def _band_rows() -> list[Row]:
    """The ejectors of all rigs, with screen and exhaust hose, against what single-stage air ejectors do."""
    rows = []
    band = "handbook bands of single-stage air ejectors, from memory"
    for name in shipped_rig_names():
        p = pack(load_rig(name), standard_site(name))
        dead, flow = assembly_table(p)
        outside = float(p[at.ATMOSPHERE])
        closed = [table_dead_pressure(outside + g, outside, dead) / 1e3 for g in (4e5, 5e5, 6e5, 7e5)]
        share = [
            table_flow(outside + g, 30e3, outside, p[at.THROAT_AREA], p[at.AIR_T], dead, flow)
            / motive(p, outside + g, 30e3)[0]
            for g in (5e5, 6e5, 7e5)
        ]
        title = load_rig(name).title
        rows += [
            at_least(f"{title}: closed suction at 4 to 7 bar gauge, deepest", band, min(closed), 8.0, "kPa"),
            at_most(f"{title}: the same, shallowest", band, max(closed), 17.0, "kPa"),
            at_least(
                f"{title}: air over motive air at 30 kPa, 5 to 7 bar, least", band, min(share), 0.08, "-"
            ),
            at_most(f"{title}: the same, most", band, max(share), 0.25, "-"),
        ]
    return rows


def _table_rows() -> list[Row]:
    """The smooth table that the equations read, against the direct solution."""
    part = load_rig("osier").ejector
    usual = coefficients(part)
    ratio = (part.mixing_diameter / part.nozzle_diameter) ** 2
    table = build_table(ratio, *usual)
    gaps = []
    for p_m in np.linspace(1.1e5, 9e5, 21):
        for p_s in np.linspace(4e3, 115e3, 75):
            direct, _ = drawn(p_m, p_s, 1.03e5, ratio, usual)
            tabled = table_flow(p_m, p_s, 1.03e5, TUBE / ratio, T, *table.arrays)
            gaps.append(abs(direct - tabled) / gas.orifice_mass_flow(101_325.0, 0.0, TUBE, 1.0, T))
    source = "identity: the same theory, solved point by point"
    unit = "%"
    return [
        *_band_rows(),
        at_most(
            "Table that the runs read: 98 of 100 states, of the choked flow",
            source,
            100 * np.quantile(gaps, 0.98),
            1.0,
            unit,
        ),
        shown("The same, largest distance (where a corner is rounded)", source, 100 * max(gaps), 0.0, unit),
    ]
