"""Drills of lesson 11, shutting down, draining, frost: every answer is read off a stop, a draining or a fresh start.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import faulted, run_of, usual_rig, usual_site, vacuum_at
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import came, metered
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.rig import Rig, Site
from simulator.run import ControlStep, Run, simulate
from simulator.run.state import State
from simulator.texts import text

AREA = "lesson_11"
STAYS, DRAINS, FROST, MORNING, STOPS = (
    "closing.what_stays", "closing.drains", "closing.frost", "closing.morning", "closing.stop",
)  # fmt: skip
STOP_AT, SETTLED = 80.0, 200.0  # [s] when the engine is stopped, and when all has come to rest
DRAINING = 900.0  # [s] that drains are left open
EMPTY, DRY = (
    0.05,
    0.35,
)  # [-] of casing and of discharge line: as good as empty; what runs off a line that lies level
#: Ice over water by volume: 1/0.917, density of ice at 0 C from the CRC Handbook of Chemistry and Physics, from memory.
ICE = 1.0 / 0.917
LITRE = 1e-3  # [m3]
WATCHED, PUSHED = 60.0, 2e3  # [s] into a start, and [Pa] above zero that a reader sees
WET = 0.03  # [-] by which a start must be quicker to be called so


@lru_cache(maxsize=16)
def stopped(rig: Rig, site: Site) -> Run:
    """A rig that pumps and is then stopped, until all has come to rest.

    Parameters
    ----------
    site : where it stands.
    """
    controls = (ControlStep(0.0, 1.0), ControlStep(STOP_AT, 0.0))
    return simulate(rig, site, controls=controls, duration=SETTLED)


def at_rest(rig: Rig, site: Site) -> State:
    """The state that a stop leaves.

    Parameters
    ----------
    rig, site : that were stopped.
    """
    return stopped(rig, site).state_at(SETTLED)


@lru_cache(maxsize=16)
def drained(rig: Rig, site: Site, casing: float, frost: float, time: float = DRAINING) -> Run:
    """A stopped rig with its drains opened by some share [-], for a time [s] counted from then.

    Parameters
    ----------
    site : where it stands.
    casing : share by which the casing drain is open [-].
    """
    opened = replace(
        rig,
        casing_drain=replace(rig.casing_drain, opening=casing),
        frost_drain=replace(rig.frost_drain, opening=frost),
    )
    start = at_rest(rig, site)
    return simulate(opened, site, controls=(ControlStep(0.0, 0.0),), start=start, duration=time)


def litres(volume: float, units: str) -> str:
    """A volume [m3] in words."""
    if units == "us":
        return text(f"{AREA}.gallons", n=f"{volume / 3.785_411_784e-3:.1f}")
    return text(f"{AREA}.litres", n=f"{volume / LITRE:.0f}")


def seconds(value: float) -> str:
    """A time [s] in words.

    Parameters
    ----------
    value : [s].
    """
    return text("teaching.seconds", n=round(value))


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def _rig(chance: random.Random) -> tuple[str, Rig, Site]:
    name = chance.choice(shipped_rig_names())
    return name, load_rig(name), replace(standard_site(name), lift=chance.choice((2.0, 2.5, 3.0)))


def how_much_left(chance: random.Random, units: str) -> Drill:
    """How much water a stop leaves in the casing."""
    name, rig, site = _rig(chance)
    run = stopped(rig, site)
    fill = float(run.casing_fill[-1])
    right = "lip" if EMPTY < fill < 0.8 else "none" if fill <= EMPTY else "full"
    volume = rig.casing.volume
    labels = {
        "none": text(f"{AREA}.nothing"),
        "lip": litres(fill * volume, units),
        "full": litres(volume, units),
    }
    lift = format_quantity("length", site.lift, units)
    said = {"rig": rig.title, "lift": lift, "all": litres(volume, units), "left": labels["lip"]}
    return drill(_key("how_much_left"), STAYS, f"{name} lift {site.lift:g}", right, said, labels=labels)


def where_the_hose_is(chance: random.Random, units: str) -> Drill:
    """Where the water in the hose has gone two minutes after a stop."""
    name, rig, site = _rig(chance)
    run = stopped(rig, site)
    before, now = float(run.front_position[run.index(STOP_AT - 1.0)]), float(run.front_position[-1])
    right = "back" if now < 0.6 * before else "stays" if now > 0.9 * before else "half"
    said = {
        "rig": rig.title,
        "lift": format_quantity("length", site.lift, units),
        "hose": format_quantity("length", before, units),
        "now": format_quantity("length", now, units),
    }
    return drill(_key("where_the_hose_is"), STOPS, f"{name} lift {site.lift:g}", right, said)


QUICK = ("osier", "sedge")  # their lines run empty in a quarter of an hour
OPENED = {"casing": (1.0, 0.0), "frost": (0.0, 1.0), "both": (1.0, 1.0), "none": (0.0, 0.0)}


def emptied(run: Run) -> str:
    """What has run empty at the end of a draining: casing, line, both or none."""
    casing, line = float(run.casing_fill[-1]) < EMPTY, float(run.line_fill[-1]) < DRY
    return {(True, True): "both", (True, False): "casing", (False, True): "line", (False, False): "none"}[
        casing, line
    ]


def which_drain(chance: random.Random, units: str) -> Drill:
    """What runs empty when some drains are opened."""
    opened, name = chance.choice(sorted(OPENED)), chance.choice(QUICK)
    rig, site = load_rig(name), standard_site(name)
    run = drained(rig, site, *OPENED[opened])
    said = {
        "rig": rig.title,
        "opened": text(f"{AREA}.opened.{opened}"),
        "minutes": f"{DRAINING / 60:.0f}",
        "casing": f"{100 * float(run.casing_fill[-1]):.0f}",
        "line": f"{100 * float(run.line_fill[-1]):.0f}",
    }
    return drill(_key("which_drain"), DRAINS, f"{opened} {name}", emptied(run), said)


def how_long(chance: random.Random, units: str) -> Drill:
    """How long the casing takes to run empty."""
    name, rig, site = _rig(chance)
    opening = chance.choice((0.5, 1.0))
    run = drained(rig, site, opening, 0.0)
    empty = run.casing_fill < EMPTY
    time = float(run.time[int(empty.argmax())]) if empty.any() else DRAINING
    labels = {"right": seconds(time), "short": seconds(time / 8.0), "long": seconds(8.0 * time)}
    said = {
        "rig": rig.title,
        "left": litres(float(run.casing_fill[0]) * rig.casing.volume, units),
        "bore": f"{rig.casing_drain.bore * 1e3:.0f} mm",
        "open": text(f"{AREA}.openings.{'wide' if opening == 1.0 else 'half'}"),
        "time": labels["right"],
    }
    return drill(_key("how_long"), DRAINS, f"{name} opening {opening:g}", "right", said, labels=labels)


def ice_room(chance: random.Random, units: str) -> Drill:
    """How much room the water left in a casing takes when it freezes."""
    name, rig, site = _rig(chance)
    left = float(stopped(rig, site).casing_fill[-1]) * rig.casing.volume
    rooms = {"more": left * ICE, "less": left / ICE, "same": left}
    labels = {
        which: text(f"{AREA}.room", volume=litres(volume, units), how=text(f"{AREA}.how.{which}"))
        for which, volume in rooms.items()
    }
    right = "more" if ICE > 1.0 else "less"
    lift = format_quantity("length", site.lift, units)
    said = {"rig": rig.title, "lift": lift, "left": litres(left, units), "ice": litres(left * ICE, units)}
    return drill(_key("ice_room"), FROST, f"{name} lift {site.lift:g}", right, said, labels=labels)


def restart_wet(chance: random.Random, units: str) -> Drill:
    """A start with the water left in the casing beside a start from dry."""
    name, rig, site = _rig(chance)
    filled = simulate(rig, site, start=at_rest(rig, site), duration=180.0)
    plain = run_of(rig, site)
    share = filled.prime_time / plain.prime_time
    right = "sooner" if share < 1.0 - WET else "later" if share > 1.0 + WET else "same"
    said = {
        "rig": rig.title,
        "lift": format_quantity("length", site.lift, units),
        "filled": seconds(filled.prime_time),
        "dry": seconds(plain.prime_time),
    }
    names = text(f"{AREA}.start_filled"), text(f"{AREA}.start_dry")
    case, after = f"{name} lift {site.lift:g}", came(filled, plain, units, names=names)
    return drill(_key("restart_wet"), MORNING, case, right, said, after=after)


def forgot_casing(chance: random.Random, units: str) -> Drill:
    """A start with the casing drain still open, more or less."""
    opening, lift = chance.choice((0.05, 0.05, 0.3, 0.5, 0.75, 1.0)), chance.choice((2.0, 2.5, 3.0))
    site = usual_site(lift)
    run, good = faulted("drain_open", opening, "", usual_rig(), site), run_of(usual_rig(), site)
    right = "never" if not run.primed else "late" if run.prime_time > 1.1 * good.prime_time else "as_ever"
    said = {
        "share": f"{100 * opening:.0f}",
        "lift": format_quantity("length", lift, units),
        "good": seconds(good.prime_time),
    }
    end = "never" if right == "never" else "primed"
    said["end"] = text(f"{AREA}.forgot.{end}", time=seconds(run.prime_time) if run.primed else "")
    case = f"opening {opening:g} lift {lift:g}"
    return drill(_key("forgot_casing"), MORNING, case, right, said, after=came(run, good, units))


def forgot_frost(chance: random.Random, units: str) -> Drill:
    """A start with the frost drain above the ball still open."""
    opening, lift = chance.choice((0.3, 0.5, 0.75, 1.0)), chance.choice((2.0, 2.5, 3.0, 3.5))
    site = usual_site(lift)
    run, good = faulted("frost_drain_open", opening, "", usual_rig(), site), run_of(usual_rig(), site)
    sprays = run.value("frost_drain_water", run.prime_time + 20.0) if run.primed else 0.0
    in_time = run.primed and run.prime_time < 1.1 * good.prime_time
    right = "sprays" if in_time and sprays > 2e-5 else "never" if not run.primed else "late"
    said = {
        "share": f"{100 * opening:.0f}",
        "lift": format_quantity("length", lift, units),
        "good": seconds(good.prime_time),
        "time": seconds(run.prime_time),
        "spray": litres(60.0 * sprays, units),
    }
    case = f"opening {opening:g} lift {lift:g}"
    return drill(_key("forgot_frost"), MORNING, case, right, said, after=came(run, good, units))


#: Where wet gathers on the air side, and the fault that ice makes of it: shut as far as that fault goes.
ICED = {"air_line": "air_line_kinked", "ejector": "exhaust_blocked"}


def iced_air_side(chance: random.Random, units: str) -> Drill:
    """A start after a freezing night with the small drains of the air side left shut."""
    where, lift = chance.choice(tuple(ICED)), chance.choice((2.0, 2.5, 3.0, 3.5))
    size = FAULTS[ICED[where]].size
    assert size is not None
    site = usual_site(lift)
    run = faulted(ICED[where], size.large, "", usual_rig(), site)
    good = run_of(usual_rig(), site)
    rest, motive = vacuum_at(run, WATCHED), run.value("motive_pressure", WATCHED) - run.atmosphere
    right = "as_ever" if run.primed else "blows_back" if rest < -PUSHED else "no_jet"
    said = {
        "where": text(f"{AREA}.iced.{where}"),
        "lift": format_quantity("length", lift, units),
        "good": seconds(good.prime_time),
        "rest": format_quantity("vacuum", abs(rest), units),
        "motive": format_quantity("pressure", motive, units),
        "good_motive": format_quantity(
            "pressure", good.value("motive_pressure", 20.0) - good.atmosphere, units
        ),
    }
    said["end"] = text(f"{AREA}.iced_end.{right}", **said)
    case = f"{ICED[where]} {size.large:g} lift {lift:g}"
    return drill(_key("iced_air_side"), MORNING, case, right, said, after=came(run, good, units))


def part_speed(chance: random.Random, units: str) -> Drill:
    """What a pump does when its engine is brought down before the stop."""
    speed, lift = chance.choice((0.4, 0.45, 0.5, 0.75, 0.8, 0.9)), chance.choice((2.0, 2.5, 3.0))
    site = usual_site(lift)
    controls = (ControlStep(0.0, 1.0), ControlStep(STOP_AT, speed))
    run = simulate(usual_rig(), site, controls=controls, duration=130.0)
    flow, good = float(run.discharge_flow[-1]), run.value("discharge_flow", STOP_AT - 1.0)
    right = "none" if flow < 0.02 * good else "less" if flow < 0.95 * good else "same"
    said = {
        "speed": f"{100 * speed:.0f}",
        "lift": format_quantity("length", lift, units),
        "flow": format_quantity("flow", max(flow, 0.0), units),
        "good": format_quantity("flow", good, units),
    }
    after = (metered(run, None, units, 130.0),)
    return drill(_key("part_speed"), STOPS, f"speed {speed:g} lift {lift:g}", right, said, after=after)


DRILLS: tuple[Template, ...] = (
    where_the_hose_is,
    how_much_left,
    part_speed,
    which_drain,
    how_long,
    ice_room,
    restart_wet,
    forgot_casing,
    forgot_frost,
    iced_air_side,
)
CHECK: tuple[Template, ...] = (how_much_left, which_drain, ice_room, forgot_casing, forgot_frost)
