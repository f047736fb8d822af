"""The plateau rule held against every fault that leaves a rig dry: seventeen sizes, four rigs, two lifts.

The rule: a needle that stands above the static lift without water means that water is held back; below it, that air gets
in or is not drawn out. An exception is a run that breaks it by more than MARGIN; each belongs to a class whose physics is
named.

``python -m simulator.validation.plateau`` runs it and lists the exceptions; ``--sizes 5`` is a quick look.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulator.charts.report import Line, Panel, chart
from simulator.physics.water import density
from simulator.rig.command import command, whole
from simulator.rig.faults import FAULTS
from simulator.rig.presets import fitted_with, load_rig, shipped_rig_names, standard_site
from simulator.run.batch import Case, run_batch
from simulator.units import STANDARD_GRAVITY
from simulator.validation.rows import Figure, Row, Section, at_most, shown

SIZES = 17
LIFTS = (3.0, 5.0)  # [m]
DURATION = 300.0  # [s]
MARGIN = 2e3  # [Pa]
ALLOWED = 0.01  # [-] share of runs that may be exceptions
DRY = 0.02  # [-] fill of the casing that counts as no water
AIR_SIDE = ("air_gets_in", "air_not_drawn_out")
CLASSES = {
    "still moving": "the needle had not come to rest within five minutes: a slow leak of air or a slow climb of water",
    "water at the lip": "the front stands within a few centimetres of the pump: the plateau is the lift plus the lip",
    "held back by little": "the strainer passes a thread of water: it primes late, and stands near the lift until then",
    "both at once": "a strainer at the surface draws air and holds water back: the needle stands between the two",
    "other": "no class fits: to be looked into",
}


@dataclass(frozen=True)
class Standing:
    """Where the needle stood without water at the end of a run: vacuum and static lift [Pa], and what became of it."""

    fault: str
    rig: str
    lift: float  # [m]
    size: float
    vacuum: float
    static: float
    moving: bool
    near_pump: bool

    @property
    def exceeds(self) -> float:
        """By how much [Pa] the run breaks the rule; 0 where it keeps it."""
        family = FAULTS[self.fault].family
        over = self.vacuum - self.static
        return max(over, 0.0) if family in AIR_SIDE else max(-over, 0.0)

    @property
    def kind(self) -> str:
        """Class of an exception; empty for a run that keeps the rule."""
        if self.exceeds <= MARGIN:
            return ""
        if self.moving:
            return "still moving"
        if self.near_pump:
            return "water at the lip"
        if self.fault == "strainer_high":
            return "both at once"
        if self.fault in ("strainer_plugged", "liner_collapsed"):
            return "held back by little"
        return "other"


def dry_faults() -> tuple[str, ...]:
    """Faults with a size that can leave a rig without water: air side and water side, in the catalogue's order.

    Examples
    --------
    >>> "drain_open" in dry_faults(), "discharge_shut" in dry_faults()
    (True, False)
    """
    families = (*AIR_SIDE, "water_cannot_come")
    return tuple(
        n for n, f in FAULTS.items() if f.family in families and f.size is not None and f.part != "stand"
    )


def sweep(sizes: int = SIZES) -> tuple[list[Standing], int]:
    """Run every case; returns where the dry ones stand, and how many runs there were."""
    cases, keys = [], []
    for name in shipped_rig_names():
        rig = load_rig(name)
        for lift in LIFTS:
            site = replace(standard_site(name), lift=lift)
            for fault in dry_faults():
                item = FAULTS[fault]
                if not fitted_with(rig, item.fitted or ""):
                    continue
                places, span = item.places(rig, site), item.size
                assert span is not None  # dry_faults keeps those with a size
                for number, size in enumerate(np.linspace(span.low, span.high, sizes)):
                    place = places[number % len(places)]
                    altered, at_site = item.apply(rig, site, float(size), place)
                    cases.append(Case(altered, at_site, {"duration": DURATION}))
                    keys.append((fault, name, lift, float(size)))
    kept = ("suction_pressure", "casing_fill", "front_position")
    runs = run_batch(cases, channels=kept, every=1.0)
    found = []
    for (fault, name, lift, size), case, run in zip(keys, cases, runs, strict=True):
        dry = run.casing_fill < DRY
        if run.primed or not dry[-1]:
            continue
        outside = float(run.suction_pressure[0])
        vacuum = outside - run.suction_pressure
        static = float(density(case.site.water_temperature)) * STANDARD_GRAVITY * lift
        found.append(
            Standing(
                fault=fault,
                rig=name,
                lift=lift,
                size=size,
                vacuum=float(vacuum[-1]),
                static=static,
                moving=abs(float(vacuum[-1] - vacuum[-31])) > 300.0,
                near_pump=float(run.front_position[-1]) > case.rig.suction_hose.length - 0.3,
            )
        )
    return found, len(cases)


def plateau_rule() -> Section:
    """The sweep as a section of the report."""
    found, runs = sweep()
    broken = [each for each in found if each.kind]
    counts = Counter(each.kind for each in broken)
    source = "hydrostatics: water rises until its weight balances the vacuum"
    rows: list[Row] = [
        at_most(
            "Runs that break the plateau rule, of all runs",
            source,
            100.0 * len(broken) / runs,
            100.0 * ALLOWED,
            "%",
        ),
        shown("Runs, and those that end without water", source, runs, len(found), "-"),
        at_most("Exceptions without a class", source, counts["other"], 0, "-"),
    ]
    rows += [shown(f"{kind}: {CLASSES[kind]}", source, count, 0, "-") for kind, count in counts.items()]
    rows.append(
        shown("Largest breach", source, max((each.exceeds for each in broken), default=0.0) / 1e3, 0.0, "kPa")
    )
    by_side = {
        "air gets in or is not drawn out": [e for e in found if FAULTS[e.fault].family in AIR_SIDE],
        "water cannot come": [e for e in found if FAULTS[e.fault].family not in AIR_SIDE],
    }
    top = 90.0
    picture = Figure(
        "Where the needle stands",
        "Each point is a run that ends without water: on the line the vacuum just holds the water at the pump. Above it "
        "water is held back, below it air is the matter.",
        chart(
            Panel(
                (
                    Line("static lift", [0.0, top], [0.0, top], style=-1),
                    *(
                        Line(
                            name,
                            [e.static / 1e3 for e in side],
                            [e.vacuum / 1e3 for e in side],
                            "markers",
                            number,
                        )
                        for number, (name, side) in enumerate(by_side.items())
                    ),
                ),
                "static lift, kPa",
                "vacuum at the end, kPa",
            ),
            height=280,
        ),
    )
    return Section(
        "The plateau rule",
        f"Every fault that can leave a rig dry, in {SIZES} sizes, on four rigs at two lifts.",
        tuple(rows),
        (picture,),
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sweep and list its exceptions by class; 1 where there are more than the rule allows.

    arguments: of the command line; without them those it was called with.
    """
    parser = argparse.ArgumentParser(prog="python -m simulator.validation.plateau")
    parser.add_argument("--sizes", type=whole(2, 200), default=SIZES, help="sizes of each fault")
    found, runs = sweep(parser.parse_args(arguments).sizes)
    broken = sorted((each for each in found if each.kind), key=lambda each: (each.kind, -each.exceeds))
    for each in broken:
        stood = f"stands at {each.vacuum / 1e3:.1f} kPa, static lift {each.static / 1e3:.1f} kPa"
        sys.stdout.write(f"{each.kind}: {each.fault} {each.size:g}, {each.rig}, {each.lift:g} m: {stood}\n")
    share = len(broken) / runs
    sys.stdout.write(f"{runs} runs, {len(found)} end without water, {len(broken)} exceptions: {share:.2%}\n")
    for kind, count in Counter(each.kind for each in broken).items():
        sys.stdout.write(f"{kind}: {count}: {CLASSES[kind]}\n")
    return 1 if share > ALLOWED or any(each.kind == "other" for each in broken) else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
