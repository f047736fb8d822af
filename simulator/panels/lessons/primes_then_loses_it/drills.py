"""Drills of lesson 08, primes, then loses it: every answer is read off the run, or the look, of the drill's own case.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from functools import lru_cache

from simulator.instruments.checks import CHECKS
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import faulted, run_of, usual_rig, usual_site, vacuum_at
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import came, chart, metered, points
from simulator.panels.teaching.looking import likeliest
from simulator.rig.remedies import REMEDIES
from simulator.run import Run
from simulator.run.outcome import pumps_well
from simulator.texts import text

AREA = "lesson_08"
CAUSE, NEEDLE, LOOK, MEND = (
    "primes_then_loses.cause",
    "primes_then_loses.needle",
    "primes_then_loses.look",
    "primes_then_loses.mend",
)
SIZES = {
    "flange_works_loose": (0.008, 0.009, 0.01, 0.011, 0.013),
    "strainer_clogs": (0.96, 0.97, 0.985, 0.995, 0.998),
    "level_falls": (1.2, 1.4, 1.6, 1.9, 2.2),
    "line_bursts": (0.7, 0.75, 0.8, 0.9, 0.95),
}
CAUSES = {
    "flange_works_loose": "air_joint",
    "strainer_clogs": "weed",
    "level_falls": "level",
    "line_bursts": "burst",
}
LIFTS = (2.0, 2.5, 3.0, 3.5)
BEFORE, LATE = 50.0, 80.0  # [s] of a run: all is still well; a change that comes at once has come
FADED = 0.6  # [-] of the flow before: it is going
MOVED = 2.5e3  # [Pa] that a needle must go to count as moved
WORK = ("tighten_flange", "basket_strainer", "lower_strainer", "renew_line")


@lru_cache(maxsize=8)
def sound_at(lift: float) -> Run:
    """The rig in good order at a lift [m]."""
    return run_of(usual_rig(), usual_site(lift))


def drawn(chance: random.Random, names: tuple[str, ...] = tuple(SIZES)) -> tuple[Run, Run, str, str]:
    """A run that primes and then loses it, the sound one, the cause and what was drawn."""
    name = chance.choice(names)
    size, lift = chance.choice(SIZES[name]), chance.choice(LIFTS)
    run = faulted(name, size, "", usual_rig(), usual_site(lift))
    return run, sound_at(lift), CAUSES[name], f"{name} {size:g} lift {lift:g}"


def losing(run: Run) -> float:
    """When a run is plainly losing it [s]: its flow has faded, or else some time after a change that came at once."""
    flow = run.discharge_flow
    before = float(flow[run.index(BEFORE)])
    faded = [i for i in range(run.index(BEFORE), len(flow)) if flow[i] < FADED * before]
    return min(float(run.time[faded[0]]), 120.0) if faded else LATE


def moved(before: float, after: float) -> str:
    """Whether a needle [Pa] has gone up, down, or nowhere.

    Parameters
    ----------
    before, after : readings of the needle [Pa].
    """
    return "up" if after > before + MOVED else "down" if after < before - MOVED else "same"


def discharge(run: Run, time: float) -> float:
    """What the discharge gauge shows [Pa gauge] at a time [s]."""
    return max(run.value("discharge_pressure", time) - run.atmosphere, 0.0)


def fields(run: Run, sound: Run, units: str) -> dict[str, str]:
    """Fields that most sentences use: both needles and the flow, before and as it goes.

    Parameters
    ----------
    sound : the same rig's run in good order.
    """
    at = losing(run)
    out = {
        "lift": format_quantity("length", run.site.lift, units),
        "before_s": text("teaching.seconds", n=round(BEFORE)),
        "after_s": text("teaching.seconds", n=round(at)),
        "prime": text("teaching.seconds", n=round(run.prime_time)),
    }
    for name, time in (("before", BEFORE), ("after", at)):
        out[f"suction_{name}"] = format_quantity("vacuum", vacuum_at(run, time), units)
        out[f"discharge_{name}"] = format_quantity("pressure", discharge(run, time), units)
        out[f"flow_{name}"] = format_quantity("flow", max(run.value("discharge_flow", time), 0.0), units)
    out["sounds"] = CHECKS["listen_pump"].sentence(likeliest("listen_pump", run, sound, at))
    return out


def curve(run: Run, sound: Run, units: str) -> Block:
    """The suction needle of a run beside the sound rig's."""
    last = losing(run) + 15.0
    lines = [
        (text("teaching.this_rig"), points(run, last)),
        (text("teaching.sound_rig"), points(sound, last)),
    ]
    spoken = text("teaching.curve_spoken")
    return chart("curve", lines, units, span=last, site=sound.site, spoken=spoken)


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def what_went(chance: random.Random, units: str) -> Drill:
    """What has gone wrong, from both needles and the sound of the pump."""
    run, sound, cause, case = drawn(chance)
    said = fields(run, sound, units)
    water = CHECKS["watch_water"].sentence(likeliest("watch_water", run, sound, losing(run)))
    said |= {"water": water, "end": text(f"{AREA}.because.{cause}", **said)}
    return drill(_key("what_went"), CAUSE, case, cause, said, after=(curve(run, sound, units),))


def suction_tells(chance: random.Random, units: str) -> Drill:
    """Air or water, from the way the suction needle goes."""
    run, sound, _, case = drawn(chance, ("flange_works_loose", "strainer_clogs", "level_falls"))
    at = losing(run)
    way = moved(vacuum_at(run, BEFORE), vacuum_at(run, at))
    right = {"up": "held", "down": "air"}.get(way, "neither")
    said = fields(run, sound, units)
    said |= {"end": text(f"{AREA}.way.{way}", **said)}
    figures = (curve(run, sound, units), metered(run, sound, units, at + 15.0))
    return drill(_key("suction_tells"), NEEDLE, case, right, said, figures=figures)


def first_look(run: Run) -> str:
    """The look that comes first by what the needles say, before anybody knows where it is.

    More water than before: the discharge line. Else the fault may sit at the water, and that is the quickest look.
    """
    more = run.value("discharge_flow", losing(run)) > 0.95 * run.value("discharge_flow", BEFORE)
    return "walk_discharge" if more else "watch_water"


def which_look(chance: random.Random, units: str) -> Drill:
    """The look that comes first by what the needles say, as it runs."""
    run, sound, cause, case = drawn(chance)
    right = first_look(run)
    said = fields(run, sound, units) | {"end": text(f"{AREA}.look_because.{cause}")}
    return drill(_key("which_look"), LOOK, case, right, said, after=(curve(run, sound, units),))


def at_the_water(chance: random.Random, units: str) -> Drill:
    """What is seen at the strainer."""
    run, sound, cause, case = drawn(chance)
    at = losing(run) + 8.0
    right = likeliest("watch_water", run, sound, at)
    right = {"whirl": "air_there", "bare": "air_there", "falling": "air_there", "bubbles": "calm"}.get(
        right, right
    )
    said = fields(run, sound, units) | {
        "cause": text(f"{AREA}.cause_names.{cause}"),
        "seen": CHECKS["watch_water"].sentence(likeliest("watch_water", run, sound, at)),
    }
    return drill(_key("at_the_water"), LOOK, case, right, said)


def burst_flow(chance: random.Random, units: str) -> Drill:
    """What a burst line does to the flow through the pump."""
    run, sound, _, case = drawn(chance, ("line_bursts",))
    flow, good = (each.value("discharge_flow", 90.0) for each in (run, sound))
    right = "more" if flow > 1.05 * good else "less" if flow < 0.95 * good else "same"
    said = fields(run, sound, units) | {
        "flow": format_quantity("flow", flow, units),
        "good": format_quantity("flow", good, units),
        "head": format_quantity("pressure", discharge(run, 90.0), units),
        "good_head": format_quantity("pressure", discharge(sound, 90.0), units),
    }
    after = (curve(run, sound, units), metered(run, sound, units, 95.0))
    return drill(_key("burst_flow"), CAUSE, case, right, said, after=after)


@lru_cache(maxsize=64)
def keeps_after(run_rig_site: tuple[object, object], work: str, lift: float) -> bool:
    """Whether a rig keeps its prime once some work has been done on it.

    Parameters
    ----------
    run_rig_site : rig and site, as the fault has left them.
    lift : [m].
    """
    rig, site = REMEDIES[work].apply(*run_rig_site)  # type: ignore[arg-type]
    sound = sound_at(lift)
    run = run_of(rig, site)
    return bool(run.outcome.code == "primed" and pumps_well(run, sound, float(run.time[-1])))


def mending(run: Run, sound: Run) -> str:
    """The first of some works after which the rig keeps its prime; empty where none is enough.

    Parameters
    ----------
    sound : the same rig's run in good order.
    """
    done = [w for w in WORK if keeps_after((run.rig, run.site), w, sound.site.lift)]
    return done[0] if done else ""


def what_mends(chance: random.Random, units: str) -> Drill:
    """Which work makes it keep its prime."""
    run, sound, cause, case = drawn(chance)
    said = fields(run, sound, units) | {"cause": text(f"{AREA}.cause_names.{cause}")}
    return drill(_key("what_mends"), MEND, case, mending(run, sound), said)


def how_much_air(chance: random.Random, units: str) -> Drill:
    """What a hole of a size that opens under way does to a running pump."""
    size, lift = chance.choice((0.003, 0.0035, 0.004, 0.006, 0.006, 0.008, 0.01, 0.012)), chance.choice(LIFTS)
    run, sound = faulted("flange_works_loose", size, "", usual_rig(), usual_site(lift)), sound_at(lift)
    flow, good = (each.value("discharge_flow", 120.0) for each in (run, sound))
    right = "as_ever" if flow > 0.95 * good else "less" if flow > 0.2 * good else "lets_go"
    said = {
        "hole": f"{1e3 * size:g} mm",
        "lift": format_quantity("length", lift, units),
        "flow": format_quantity("flow", max(flow, 0.0), units),
        "good": format_quantity("flow", good, units),
    }
    after = (*came(run, sound, units, last=120.0), metered(run, sound, units, 120.0))
    return drill(_key("how_much_air"), CAUSE, f"hole {size:g} lift {lift:g}", right, said, after=after)


HEALS = ("strainer_clogs", "level_falls")  # standing still: the weed drops off, the pit fills again


def start_again(chance: random.Random, units: str) -> Drill:
    """What a fresh start without any work gives, of what is as it was once the pump has stood still.

    Bolts that have backed off are no such thing: that flange gapes at the next start too. Common practice, no source.
    """
    run, sound, cause, case = drawn(chance, HEALS)
    again = run_of(run.rig, run.site)
    right = "again" if again.outcome.code == "lost_prime" else "keeps" if again.primed else "never"
    said = fields(run, sound, units) | {"cause": text(f"{AREA}.cause_names.{cause}")}
    return drill(_key("start_again"), MEND, case, right, said, after=came(again, None, units, last=180.0))


DRILLS: tuple[Template, ...] = (
    what_went,
    suction_tells,
    which_look,
    at_the_water,
    burst_flow,
    what_mends,
    how_much_air,
    start_again,
)
CHECK: tuple[Template, ...] = (what_went, suction_tells, at_the_water, what_mends, how_much_air)
