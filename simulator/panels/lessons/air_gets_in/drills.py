"""Drills of lesson 04, air gets in: every answer is read off runs of a rig with a hole in it.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

from simulator.diagnosis.words import joint_field
from simulator.instruments.checks import CHECKS
from simulator.panels.page.blocks import Block, folded
from simulator.panels.page.words import format_quantity, reads_alike
from simulator.panels.teaching.cases import (
    faulted,
    lift_pressure,
    motive_at,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
    with_hose,
)
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import came, metered
from simulator.panels.teaching.gauge_shapes import LATE, side
from simulator.panels.teaching.pull_downs import common
from simulator.rig.faults import FAULTS
from simulator.rig.rig import Site, hose_profile
from simulator.run import Run
from simulator.texts import text

AREA = "lesson_04"
SIZE, PLACE, LOOK, SOURCE = "air_gets_in.size", "air_gets_in.place", "air_gets_in.look", "air_gets_in.or_jet"
DRAIN = "drain_open"
#: Where air may get in, and the look that finds it at the least cost.
LOOKS = {
    DRAIN: "walk_round",
    "joint_ring": "listen_line",
    "flange_leaks": "foam_pump",
    "nrv_fouled": "nrv_lid",
}
WIDE = 0.125  # [-] of the static lift: a needle below it means a wide opening
LIKE = 4.5e3  # [Pa] by which two resting needles may differ and still be the same story: no gap between the usual sizes
PUMPING_TIME = 170.0  # [s]
LESS = 0.92  # [-] of a sound rig's flow: a tenth less, near enough
TRIES, DOUBTFUL = 24, (1.1, 1.3)  # draws; [-] times: some would call it late


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def millimetres(size: float) -> str:
    """A hole's diameter [m] in words; holes are spoken of in millimetres everywhere.

    Parameters
    ----------
    size : [m].

    Examples
    --------
    >>> millimetres(0.0055)
    '5.5 mm'
    """
    return f"{1e3 * size:g} mm"


def flows(run: Run, sound: Run, units: str) -> dict[str, str]:
    """What a flow meter shows once both pump: fields ``flow`` and ``good_flow``.

    Parameters
    ----------
    run, sound : the leaking rig's start, and the same rig's in good order.
    """
    pair = {"flow": run, "good_flow": sound}
    return {
        key: format_quantity("flow", each.value("discharge_flow", PUMPING_TIME), units)
        for key, each in pair.items()
    }


def late_or_never(run: Run, sound: Run) -> str:
    """What a leak does to the start: same, late or never.

    Parameters
    ----------
    run, sound : the leaking rig's start, and the same rig's in good order.
    """
    if not run.primed:
        return "never"
    return "late" if run.prime_time > LATE * sound.prime_time else "same"


def hole_at_flange(chance: random.Random, units: str) -> Drill:
    """Where the needle ends for a hole of some size."""
    site = usual_site(chance.choice((2.5, 3.0, 3.5, 4.0)))
    size = chance.choice((0.0015, 0.0018, 0.004, 0.0045, 0.007, 0.0075, 0.008))
    run, sound = faulted("flange_leaks", size, "", None, site), run_of(usual_rig(), site)
    right = {"same": "in_time", "late": "late", "never": "stands"}[late_or_never(run, sound)]
    said = common(run, units) | {
        "hole": millimetres(size),
        "usual": text("teaching.seconds", n=round(sound.prime_time)),
    }
    said["end"] = text(f"{AREA}.end.{'primes' if run.primed else 'stands'}", **said)
    case = f"flange_leaks {size:g} lift {site.lift:g}"
    return drill(_key("hole_at_flange"), SIZE, case, right, said, after=came(run, sound, units))


def bigger_hole(chance: random.Random, units: str) -> Drill:
    """From a small hole to one half as wide again."""
    for _ in range(TRIES):  # until nobody with a watch can be in doubt
        small = chance.choice((0.0035, 0.004, 0.0045))
        big = round(small + chance.choice((0.001, 0.0015, 0.0025, 0.003, 0.0035)), 4)
        place = chance.choice(("joint:1", "joint:2"))
        before, after = faulted("joint_ring", small, place), faulted("joint_ring", big, place)
        plain = not DOUBTFUL[0] < after.prime_time / before.prime_time < DOUBTFUL[1]
        if plain and (after.primed or side(resting_vacuum(after), lift_pressure(after.site)) == "below"):
            break
    sound = run_of(usual_rig(), usual_site())
    right = {"same": "same", "late": "later", "never": "never"}[
        late_or_never(after, before if before.primed else sound)
    ]
    said = common(after, units) | {
        "joint": str(joint_field(place)["joint"]),
        "small": millimetres(small),
        "big": millimetres(big),
        "before": text("teaching.seconds", n=round(before.prime_time)),
    }
    said["end"] = text(f"{AREA}.end.{'primes' if after.primed else 'stands'}", **said)
    shown_after = came(after, before, units, names=(said["big"], said["small"]))
    return drill(
        _key("bigger_hole"), SIZE, f"joint_ring {small:g} to {big:g} {place}", right, said, after=shown_after
    )


def how_wide(chance: random.Random, units: str) -> Drill:
    """Whether a resting needle means a wide opening or a small hole."""
    site = usual_site(chance.choice((3.0, 3.5, 4.0, 4.5, 5.0)))
    if chance.random() < 0.5:
        fault, size, place = "drain_open", chance.choice((0.25, 0.35, 0.6)), ""
    else:
        fault, size, place = "joint_ring", chance.choice((0.007, 0.0075, 0.008)), "joint:2"
    rig = with_hose(usual_rig(), 12.0)
    run = faulted(fault, size, place, rig, site)
    rest, lift = resting_vacuum(run), lift_pressure(site)
    right = "wide" if rest < WIDE * lift else "hole"
    said, shown_after = common(run, units) | eighth(site, units), came(run, run_of(rig, site), units)
    return drill(
        _key("how_wide"), SIZE, f"{fault} {size:g} lift {site.lift:g}", right, said, after=shown_after
    )


def under_water(chance: random.Random, units: str) -> Drill:
    """A torn ring at a joint below or above the outside water level."""
    site = replace(usual_site(chance.choice((2.5, 3.0, 3.5))), submergence=2.5)
    rig = with_hose(usual_rig(), 12.0)
    number = chance.choice((0, 0, 1, 2))
    size = chance.choice((0.008, 0.009, 0.010))
    run, sound = faulted("joint_ring", size, f"joint:{number}", rig, site), run_of(rig, site)
    right = {"same": "as_sound", "late": "late", "never": "never"}[late_or_never(run, sound)]
    where = rig.suction_hose.joints[number].position
    (s0, z0), (s1, z1) = hose_profile(rig, site)[1:3]
    height = z0 + (z1 - z0) * min(max((where - s0) / (s1 - s0), 0.0), 1.0)
    said = common(run, units) | {
        "hole": millimetres(size),
        "where": text(
            f"{AREA}.level.{'below' if height < 0 else 'above'}",
            height=format_quantity("length", abs(height), units),
        ),
        "usual": text("teaching.seconds", n=round(sound.prime_time)),
    }
    said["end"] = text(f"{AREA}.end.{'primes' if run.primed else 'stands'}", **said)
    case = f"joint:{number} {size:g} lift {site.lift:g}"
    return drill(_key("under_water"), PLACE, case, right, said, after=came(run, sound, units))


def while_pumping(chance: random.Random, units: str) -> Drill:
    """What a leak does once the pump has taken hold: sprays, or goes on drawing air."""
    if chance.random() < 0.5:
        fault, size, place = "drain_open", 0.05, ""
        # higher up it has not primed by the time that is asked for
        site = usual_site(chance.choice((2.0, 2.2, 2.4, 2.6, 2.8, 3.0)))
    else:
        fault, size, place = "joint_ring", chance.choice((0.004, 0.0045, 0.005)), "joint:2"
        site = usual_site(chance.choice((2.4, 2.6, 2.8, 3.0, 3.2, 3.4, 3.5)))
    run = faulted(fault, size, place, None, site)
    water, air = run.value("drain_water", PUMPING_TIME), run.value("joint_air", PUMPING_TIME)
    right = "sprays" if water > 1e-5 else "draws" if air > 1e-5 else "nothing"
    said = common(run, units) | {
        "what": text(f"{AREA}.leak_at.{fault}"),
        "end": text(f"{AREA}.pumping.{right}", litres=f"{60e3 * water:.0f}", air=f"{60e3 * air / 1.2:.0f}"),
    }
    return drill(_key("while_pumping"), PLACE, f"{fault} {size:g} lift {site.lift:g}", right, said)


def less_flow(chance: random.Random, units: str) -> Drill:
    """Whether a leak in the hose that lets the rig prime costs flow."""
    site = usual_site(chance.choice((2.5, 3.0)))
    size = chance.choice((0.002, 0.003, 0.004, 0.0056) if site.lift < 3.0 else (0.002, 0.003, 0.004, 0.0054))
    run, sound = faulted("joint_ring", size, "joint:2", None, site), run_of(usual_rig(), site)
    said = common(run, units) | flows(run, sound, units) | {"hole": millimetres(size)}
    share = run.value("discharge_flow", PUMPING_TIME) / sound.value("discharge_flow", PUMPING_TIME)
    right = "none" if share < 0.1 else "less" if share < LESS else "full"
    case, after = f"joint:2 {size:g} lift {site.lift:g}", (metered(run, sound, units, PUMPING_TIME),)
    return drill(_key("less_flow"), PLACE, case, right, said, after=after)


def air_or_jet(chance: random.Random, units: str) -> Drill:
    """Whether a low needle is air that gets in or a jet that is too weak, by the motive gauge."""
    if chance.random() < 0.5:
        fault, size, place = chance.choice(
            (("flange_leaks", 0.0075, ""), ("drain_open", 0.12, ""), ("joint_ring", 0.0075, "joint:1"))
        )
    else:
        fault, size, place = chance.choice(
            (("belt_loose", 0.7, ""), ("compressor_worn", 0.72, ""), ("air_line_holed", 0.0048, ""))
        )
    site = usual_site(chance.choice((3.0, 3.5, 4.0)))
    run, sound = faulted(fault, size, place, None, site), run_of(usual_rig(), site)
    here, good = motive_at(run, 60.0), motive_at(sound, 60.0)
    right = "jet" if here < 0.8 * good else "leak"
    said = common(run, units) | {
        "motive": format_quantity("pressure", here, units),
        "good": format_quantity("pressure", good, units),
    }
    case = f"{fault} {size:g} lift {site.lift:g}"
    return drill(_key("air_or_jet"), SOURCE, case, right, said, after=came(run, sound, units))


@lru_cache(maxsize=1)
def rests() -> dict[str, tuple[float, ...]]:
    """Resting needles [Pa] of usual sizes of each way for air to get in, at the usual site."""
    out = {}
    for fault in LOOKS:
        size = FAULTS[fault].size
        assert size is not None
        place = "joint:2" if FAULTS[fault].kind else ""
        drawn = (size.drawn(chance) for chance in (0.1, 0.3, 0.5, 0.7, 0.9))
        out[fault] = tuple(resting_vacuum(faulted(fault, each, place)) for each in drawn)
    return out


def near(rest: float) -> dict[str, int]:
    """How many of the usual sizes of each fault rest near a needle [Pa], of five [-]."""
    return {fault: sum(abs(each - rest) <= LIKE for each in rested) for fault, rested in rests().items()}


def best_look(rest: float) -> tuple[str, dict[str, float]]:
    """The fault to look for first at a resting needle [Pa], and minutes a find [min] of each.

    Chance of the fault, times the share of its usual sizes that rest about there, over the minutes of its look:
    the order of Kadane & Simon (1977) for independent faults.
    """
    cost, fits = {}, near(rest)
    for fault, check in LOOKS.items():
        chance = FAULTS[fault].weight * (0.02 + fits[fault] / len(rests()[fault]))
        cost[fault] = CHECKS[check].minutes / chance
    return min(cost, key=lambda name: cost[name]), cost


def tells(rest: float, site: Site) -> bool:
    """Whether a needle says by itself whether something stands wide open: what looks first and how wide agree.

    Parameters
    ----------
    rest : needle at rest [Pa].
    site : where the rig stands.
    """
    edge = WIDE * lift_pressure(site)
    return not reads_alike("vacuum", rest, edge) and (rest < edge) == (best_look(rest)[0] == DRAIN)


def near_words(rest: float) -> dict[str, str]:
    """Fields of sentences on which faults rest near a needle [Pa], the minutes of the looks for them, and what both come
    to: in ``plain`` why the first look comes first; in ``weigh`` sizes that fit, times how often the fault comes beside
    a flange, over those minutes.
    """
    fits, (first, _) = near(rest), best_look(rest)
    counts = {f"{name}_near": text(f"{AREA}.near_count.{count}") for name, count in fits.items()}
    minutes = {name: CHECKS[check].minutes for name, check in LOOKS.items()}
    each = []
    for name in looks_left(first):
        times = FAULTS[name].weight / FAULTS["flange_leaks"].weight
        each.append(
            text(
                f"{AREA}.weigh_each",
                name=text(f"{AREA}.weigh_name.{name}"),
                fits=str(fits[name]),
                times=f"{times:g}",
                minutes=f"{minutes[name]:g}",
                worth=f"{fits[name] * times / minutes[name]:.1f}",
            )
        )
    counts["weigh"] = text(f"{AREA}.weigh", each=" ".join(each))
    counts |= {f"{name}_minutes": f"{took:g}" for name, took in minutes.items()}
    counts["ring_times"] = f"{FAULTS['joint_ring'].weight / FAULTS['flange_leaks'].weight:g}"
    return counts | {"plain": text(f"{AREA}.plain.{first}", **counts)}


def sum_behind(said: dict[str, str]) -> Block:
    """The sum behind a first look, folded away: in the yard nobody needs it.

    Parameters
    ----------
    said : fields of its sentences, ``near`` and ``weigh`` among them.
    """
    return folded("sum", text(f"{AREA}.sum"), said["near"], said["weigh"])


def eighth(site: Site, units: str) -> dict[str, str]:
    """Field ``eighth``: the needle below which something stands wide open.

    Parameters
    ----------
    site : where the rig stands.
    """
    return {"eighth": format_quantity("vacuum", WIDE * lift_pressure(site), units)}


def walked(first: str) -> str:
    """What the walk round, which comes before all else, has shown where it is not what finds the fault.

    Parameters
    ----------
    first : the fault that the best look finds.
    """
    return "" if first == DRAIN else text(f"{AREA}.walked")


def looks_left(first: str) -> tuple[str, ...]:
    """The looks on offer: without the walk round where it was made.

    Parameters
    ----------
    first : the fault that the best look finds.
    """
    return tuple(name for name in LOOKS if first == DRAIN or name != DRAIN)


def first_look(chance: random.Random, units: str) -> Drill:
    """Which look comes first for a needle at rest."""
    for _ in range(TRIES):
        if chance.random() < 0.5:
            fault, size, place = DRAIN, chance.choice((0.2, 0.3, 0.5, 1.0)), ""
        else:
            fault, size, place = "joint_ring", chance.choice((0.0066, 0.007, 0.0075)), "joint:1"
        run = faulted(fault, size, place)
        right, _ = best_look(resting_vacuum(run))
        if (fault != DRAIN or right == DRAIN) and tells(resting_vacuum(run), run.site):
            break
    said = common(run, units) | near_words(resting_vacuum(run)) | {"walked": walked(right)}
    said["near"] = text(f"{AREA}.near", **said)
    shown_after = came(run, run_of(usual_rig(), usual_site()), units)
    only = looks_left(right)
    after = (sum_behind(said), *shown_after)
    return drill(_key("first_look"), LOOK, f"{fault} {size:g}", right, said, only=only, after=after)


DRILLS: tuple[Template, ...] = (
    hole_at_flange,
    how_wide,
    air_or_jet,
    bigger_hole,
    while_pumping,
    under_water,
    first_look,
    less_flow,
)
CHECK: tuple[Template, ...] = (hole_at_flange, how_wide, air_or_jet, under_water, while_pumping)
