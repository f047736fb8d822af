"""What each kind of trouble looks like from the gauges: one picture and one verdict in kind each."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from simulator.charts.report import Line, Panel, chart, steps
from simulator.rig.faults import FAULTS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig
from simulator.run.layout import Setup
from simulator.run.result import Run
from simulator.run.simulate import simulate
from simulator.units import STANDARD_GRAVITY
from simulator.validation.rows import Figure, Row, Section, at_least, at_most, equal

IN_KIND = "in kind; common practice, no source"
RIG, SITE = load_rig("osier"), standard_site()
STATIC = 998.2 * STANDARD_GRAVITY * SITE.lift / 1e3  # [kPa]


def run_with(fault: str, size: float = 0.0, place: str = "", **options: Any) -> Run:
    """The 150 mm rig with a fault of a size [SI unit of the fault] at the standard site, 3 m lift.

    Parameters
    ----------
    place : of the fault, as the catalogue names places; "" where it has but one.
    """
    return simulate(*FAULTS[fault].apply(RIG, SITE, size, place), **{"duration": 150.0, **options})


def vacuum_line(name: str, run: Run, style: int) -> Line:
    """Suction gauge over time.

    Parameters
    ----------
    name : in the legend.
    run : whose needle is drawn [kPa over s].
    style : of the line, by number [-].
    """
    return Line(name, steps(run.time), steps(run.vacuum) / 1e3, style=style)


def flow_line(name: str, run: Run, style: int) -> Line:
    """Flow through the pump over time.

    Parameters
    ----------
    name : in the legend.
    run : whose flow is drawn [L/s over s].
    style : of the line, by number [-].
    """
    return Line(name, steps(run.time), steps(run.discharge_flow) * 1e3, style=style)


def lift_line(end: float = 150.0) -> Line:
    """Where the gauge stands when the column just reaches the pump; up to ``end`` [s]."""
    return Line("static lift", [0.0, end], [STATIC, STATIC], style=-1)


def signatures() -> Section:
    """All signatures."""
    sound = run_with("sound")
    parts = (
        _plateau(sound),
        _liner(sound),
        _strainer(sound),
        _screen(),
        _motive_side(),
        _exhaust(),
        _under_flow(sound),
        _breaks_suction(),
        _primes_again(),
    )
    return Section(
        "Signatures",
        "What a trainee is to learn to read. Each picture shows one kind of trouble on the 150 mm rig at 3 m lift; the "
        "table says what must be seen in it.",
        tuple(row for rows, _ in parts for row in rows),
        tuple(figure for _, figure in parts),
    )


def _plateau(sound: Run) -> tuple[list[Row], Figure]:
    above = {
        "strainer plugged": run_with("strainer_plugged", 0.998),
        "liner closed": run_with("liner_collapsed", 8e3),
    }
    below = {
        "drain 12 % open": run_with("drain_open", 0.12),
        "belt slips 80 %": run_with("belt_loose", 0.8),
        "joint hole 9 mm": run_with("joint_ring", 0.009, "joint:2"),
    }
    rows = [
        at_least(f"{name}: vacuum stands above the static lift", IN_KIND, r.vacuum[-1] / 1e3, STATIC, "kPa")
        for name, r in above.items()
    ]
    rows += [
        at_most(f"{name}: vacuum stands below the static lift", IN_KIND, r.vacuum[-1] / 1e3, STATIC, "kPa")
        for name, r in below.items()
    ]
    lines = [vacuum_line("sound", sound, 0)]
    lines += [
        vacuum_line(name, run, style) for style, (name, run) in enumerate({**above, **below}.items(), 1)
    ]
    picture = Figure(
        "The plateau rule",
        "No water, and the vacuum stands above the static lift: something blocks the water. Below it: air gets in, or is "
        "not drawn out.",
        chart(Panel((*lines, lift_line()), "time, s", "vacuum, kPa"), height=300),
    )
    return rows, picture


def _liner(sound: Run) -> tuple[list[Row], Figure]:
    run = run_with("liner_collapsed", 8e3)
    lead = (run.vacuum[run.index(20.0)] - sound.vacuum[sound.index(20.0)]) / 1e3
    rows = [
        at_least("Liner: vacuum ahead of a sound rig at 20 s", IN_KIND, lead, 2.0, "kPa"),
        at_most(
            "Liner: greatest flow over the steady flow",
            IN_KIND,
            run.discharge_flow.max() / run.steady_flow,
            0.02,
            "-",
        ),
    ]
    return rows, _two_panels(
        "Liner: fast but dry",
        "Only the space above the closed liner is emptied, so the vacuum runs ahead; water never comes.",
        {"sound": sound, "liner closed": run},
    )


def _strainer(sound: Run) -> tuple[list[Row], Figure]:
    run = run_with("strainer_plugged", 0.998)
    front = float(run.front_position[0])
    hose = RIG.suction_hose
    short = with_hose_length(RIG, hose.length - front).suction_hose
    short = replace(short, joints=(), liner=replace(short.liner, position=1.0))
    capped = simulate(
        replace(RIG, suction_hose=short), replace(SITE, submergence=0.1), setup=Setup.CAPPED, duration=150.0
    )
    reach = [float(r.time[np.argmax(r.vacuum > 60e3)]) for r in (capped, run)]
    rows = [
        equal(
            "Strainer: time to 60 kPa over that of a tight closed hose",
            IN_KIND,
            reach[1] / reach[0],
            1.0,
            "-",
            rel=0.1,
        ),
        at_most("Strainer: greatest flow over the steady flow", IN_KIND, _flow_share(run), 0.02, "-"),
    ]
    return rows, _two_panels(
        "Strainer: normal rate but dry",
        "The ejector works as it does on a tight hose with its end closed: one even climb, far past the static lift, and "
        "no water. (With water coming up, the gauge of a sound rig climbs slower: the water gives way.)",
        {"sound": sound, "strainer plugged": run, "tight hose, end closed": capped},
    )


def _flow_share(run: Run) -> float:
    return float(run.discharge_flow.max()) / run.steady_flow


def _two_panels(title: str, caption: str, runs: dict[str, Run]) -> Figure:
    end = float(next(iter(runs.values())).time[-1])
    vacuum = [vacuum_line(name, run, style) for style, (name, run) in enumerate(runs.items())]
    flow = [flow_line(name, run, style) for style, (name, run) in enumerate(runs.items())]
    return Figure(
        title,
        caption,
        chart(
            Panel((*vacuum, lift_line(end)), "time, s", "vacuum, kPa"),
            Panel(tuple(flow), "time, s", "flow, L/s"),
            columns=2,
            height=230,
        ),
    )


def _screen() -> tuple[list[Row], Figure]:
    sound, run = (
        run_with(name, size, setup=Setup.BLANKED) for name, size in (("sound", 0.0), ("screen_plugged", 0.96))
    )
    reach = [float(r.time[np.argmax(r.vacuum > 70e3)]) for r in (sound, run)]
    rows = [
        at_least(
            "Screen, blank-off: time to 70 kPa over a sound rig's", IN_KIND, reach[1] / reach[0], 2.0, "-"
        ),
        at_least(
            "Screen, blank-off: deepest vacuum over a sound rig's",
            IN_KIND,
            run.vacuum[-1] / sound.vacuum[-1],
            0.95,
            "-",
        ),
    ]
    lines = (vacuum_line("sound", sound, 0), vacuum_line("screen plugged", run, 1))
    picture = Figure(
        "Screen: deep but slow",
        "Suction flange blanked off: the gauge gets as deep as ever, only far too late. Read the time as well as "
        "the vacuum.",
        chart(Panel(lines, "time, s", "vacuum, kPa"), height=220),
    )
    return rows, picture


def _motive_side() -> tuple[list[Row], Figure]:
    high = {
        "nozzle plugged 75 %": run_with("nozzle_plugged", 0.75, duration=60.0),
        "air line kinked": _other(replace(RIG, air_line=replace(RIG.air_line, kinked=0.975))),
    }
    low = {
        "belt slips 60 %": run_with("belt_loose", 0.6, duration=60.0),
        "compressor worn": _other(replace(RIG, compressor=replace(RIG.compressor, wear=0.5))),
        "intake blocked": _other(replace(RIG, compressor=replace(RIG.compressor, intake_blocked=0.9))),
        "hole in the line": _other(replace(RIG, air_line=replace(RIG.air_line, hole_diameter=2e-3))),
        "nozzle worn wide": _other(replace(RIG, ejector=replace(RIG.ejector, nozzle_worn=0.6))),
    }
    weak = _other(replace(RIG, relief_valve=replace(RIG.relief_valve, set_pressure=3e5)))
    sound = run_with("sound", duration=60.0)
    usual = _motive_end(sound)
    rows: list[Row] = []
    for name, run in high.items():
        rows.append(at_least(f"{name}: motive gauge high", IN_KIND, _motive_end(run), 1.1 * usual, "bar"))
        rows.append(at_least(f"{name}: relief pops in 60 s", IN_KIND, float(run.relief_pops[-1]), 10.0, "-"))
    for name, run in low.items():
        rows.append(at_most(f"{name}: motive gauge low", IN_KIND, _motive_end(run), 0.95 * usual, "bar"))
        rows.append(at_most(f"{name}: relief pops in 60 s", IN_KIND, float(run.relief_pops[-1]), 0.0, "-"))
    rows.append(
        at_most("relief valve weak: motive gauge low", IN_KIND, _motive_end(weak), 0.95 * usual, "bar")
    )
    rows.append(
        at_least("relief valve weak: relief pops in 60 s", IN_KIND, float(weak.relief_pops[-1]), 1.0, "-")
    )
    names = {
        "sound": sound,
        "nozzle plugged 75 %": high["nozzle plugged 75 %"],
        "belt slips 60 %": low["belt slips 60 %"],
        "hole in the line": low["hole in the line"],
        "relief valve weak": weak,
    }
    part = slice(0, 301)
    lines = tuple(
        Line(
            name,
            run.time[part],
            (run.motive_pressure[part] - run.atmosphere) / 1e5,
            style=style,
            dash="solid" if run.relief_pops[-1] > 0 else "",  # a ragged curve is told by its shape
        )
        for style, (name, run) in enumerate(names.items())
    )
    picture = Figure(
        "The motive side",
        "High and popping: the air cannot leave through the nozzle. Low and silent: too little air, or it leaves "
        "elsewhere. Low and popping: the relief valve itself.",
        chart(Panel(lines, "time, s", "motive gauge, bar"), height=270),
    )
    return rows, picture


def _other(rig: Rig) -> Run:
    return simulate(rig, SITE, duration=60.0)


def _motive_end(run: Run) -> float:
    return float((run.motive_pressure[300:] - run.atmosphere).mean()) / 1e5


def _exhaust() -> tuple[list[Row], Figure]:
    run = _other(replace(RIG, exhaust_hose=replace(RIG.exhaust_hose, blocked=0.97)))
    rows = [
        at_least("Exhaust blocked: suction gauge above zero by", IN_KIND, -run.vacuum[-1] / 1e3, 1.0, "kPa"),
        at_least(
            "Exhaust blocked: air out of the strainer",
            IN_KIND,
            1e3 * float(run.strainer_bubbles[-1]),
            1.0,
            "g/s",
        ),
    ]
    panels = (
        Panel(
            (Line("exhaust blocked", steps(run.time), steps(-run.vacuum) / 1e3),),
            "time, s",
            "gauge above zero, kPa",
        ),
        Panel(
            (Line("exhaust blocked", steps(run.time), 1e3 * steps(run.strainer_bubbles)),),
            "time, s",
            "bubbles, g/s",
        ),
    )
    picture = Figure(
        "Exhaust blocked: above zero",
        "Motive air that cannot leave goes down the suction hose and bubbles out at the strainer.",
        chart(*panels, columns=2, height=210),
    )
    return rows, picture


def _under_flow(sound: Run) -> tuple[list[Row], Figure]:
    run = run_with("joint_ring", 0.008, "joint:0")
    late = slice(1000, 1500)
    ratio = float(run.discharge_flow[late].mean() / sound.discharge_flow[late].mean())
    rows = [
        at_most(
            "Joint low on the hose: prime time over a sound rig's",
            IN_KIND,
            run.prime_time / sound.prime_time,
            1.5,
            "-",
        ),
        at_most("Joint low on the hose: flow over a sound rig's", IN_KIND, ratio, 0.85, "-"),
    ]
    return rows, _two_panels(
        "A joint leak that bites under flow",
        "A torn ring low on the hose: it primes nearly as usual, then pumps less than it should.",
        {"sound": sound, "joint hole 8 mm": run},
    )


def _breaks_suction() -> tuple[list[Row], Figure]:
    run = run_with("sound", ramps=(Ramp("level_drop", 70.0, 120.0, 0.0, 1.3),))
    end = run.outcome.time if run.outcome.code == "lost_prime" else np.nan
    rows = [
        at_most("Level falls: gauge above zero at most", IN_KIND, -run.vacuum.min() / 1e3, 5.0, "kPa"),
        at_most("Level falls: primed at", IN_KIND, run.prime_time, 60.0, "s"),
        at_least("Level falls: prime lost at", IN_KIND, end, 75.0, "s"),
        at_most(
            "Level falls: flow at the end over the steady flow",
            IN_KIND,
            _share_at_end(run),
            0.05,
            "-",
        ),
    ]
    return rows, _two_panels(
        "Primes, then breaks suction",
        "From 70 s on the level falls until the strainer draws air.",
        {"level falls": run},
    )


def _primes_again() -> tuple[list[Row], Figure]:
    falls = run_with("sound", ramps=(Ramp("level_drop", 60.0, 90.0, 0.0, 1.3),), duration=110.0)
    returns = run_with(
        "sound",
        ramps=(Ramp("level_drop", 120.0, 121.0, 1.3, 0.0),),
        start=falls.state_at(110.0),
        start_time=110.0,
        duration=140.0,
    )
    rows = [
        at_most("Level comes back: flow while it was away", IN_KIND, _share_at_end(falls), 0.1, "-"),
        at_least(
            "Level comes back: flow afterwards over the steady flow",
            IN_KIND,
            _share_at_end(returns),
            0.8,
            "-",
        ),
    ]
    time = np.concatenate((falls.time, returns.time[1:]))
    vacuum, flow = (
        np.concatenate((getattr(falls, name), getattr(returns, name)[1:]))
        for name in ("vacuum", "discharge_flow")
    )
    picture = Figure(
        "Primes again by itself",
        "The level falls below the strainer at about 80 s and is back at 121 s: the ejector starts over without a hand.",
        chart(
            Panel(
                (Line("level away", steps(time), steps(vacuum) / 1e3), lift_line(250.0)),
                "time, s",
                "vacuum, kPa",
            ),
            Panel((Line("level away", steps(time), steps(flow) * 1e3),), "time, s", "flow, L/s"),
            columns=2,
            height=230,
        ),
    )
    return rows, picture


def _share_at_end(run: Run) -> float:
    return float(run.discharge_flow[-1]) / run.steady_flow
