"""Drills of lesson 06, water cannot come: every answer is read off the run, or the look, of the drill's own case.

``chance`` draws what is left to chance; ``units`` names the system that figures are told in, "metric" or "us".
"""

from __future__ import annotations

import random
from dataclasses import replace

from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity, height_words
from simulator.panels.teaching.cases import (
    deepest_vacuum,
    faulted,
    lift_pressure,
    resting_vacuum,
    run_of,
    usual_rig,
    usual_site,
    vacuum_at,
    with_hose,
)
from simulator.panels.teaching.drill import Drill, Template, drill
from simulator.panels.teaching.figures import came, chart, metered, points
from simulator.panels.teaching.looking import cheapest_that_tells, likeliest
from simulator.rig.rig import Rig, Site
from simulator.run import Run
from simulator.texts import text

AREA = "lesson_06"
CAUSE, LOOK, HEIGHT, SPOT = (
    "water_cannot_come.cause",
    "water_cannot_come.look",
    "water_cannot_come.height",
    "water_cannot_come.high_spot",
)
STRAINERS, LINERS = (0.98, 0.985, 0.99, 0.995, 0.998), (7e3, 8e3, 9e3, 10e3, 11e3)
LOOKS = ("strainer_out", "clear_plate", "dip_water", "walk_round")
LONG = 12.0  # [m] of hose where the lift asks for it
CARD_LIFTS = (4.0, 4.2, 4.5)  # [m] from which on a rig that stands too high begins as a sound one does
SHOWN = 90.0  # [s] of a curve
AHEAD = 4e3  # [Pa] between two needles that a person at the gauge tells apart
KINK, OVER = 2.4, 1.4  # [-] times the climb of the first 10 s: plainly steeper, plainly flatter
LATE, DOUBTFUL = 1.1, (1.05, 1.14)  # [-] times: someone with a watch notices; might or might not
TRIES = 20
WEEDY = (0.2, 0.25, 0.3, 0.75, 0.8, 0.88, 0.99, 0.995)  # [-] of the strainer covered
LITTLE = 0.8  # [-] of a sound rig's flow: plainly less


def long_rig() -> Rig:
    """The usual rig with a hose long enough for any lift of this lesson."""
    return with_hose(usual_rig(), LONG)


def drawn(chance: random.Random, wanted: str) -> tuple[Run, Run, str]:
    """A run with one thing that keeps the water away, the run that the card promises, and what was drawn.

    Parameters
    ----------
    wanted : what keeps the water away, as :func:`cause_of` names it.
    """
    site, rig = usual_site(chance.choice(CARD_LIFTS)), long_rig()
    sound, lift = run_of(rig, site), site.lift
    if wanted == "strainer":
        size = chance.choice(STRAINERS)
        return faulted("strainer_plugged", size, "", rig, site), sound, f"strainer {size:g} lift {lift:g}"
    if wanted == "liner":
        size = chance.choice(LINERS)
        return faulted("liner_collapsed", size, "", rig, site), sound, f"liner {size:g} lift {lift:g}"
    high = chance.choice((9.0, 9.1, 9.2, 9.3, 9.4))
    return run_of(rig, usual_site(high)), sound, f"pump_high lift {high:g} for {lift:g}"


CAUSES = ("strainer", "liner", "too_high")


def fields(run: Run, sound: Run, units: str) -> dict[str, str]:
    """Fields that most sentences use. The lift is the one on the card: nobody has dipped the water yet.

    Parameters
    ----------
    sound : the run that the card promises.
    """
    out = {
        "lift": format_quantity("length", sound.site.lift, units),
        "true_lift": format_quantity("length", run.site.lift, units),
        "static": format_quantity("vacuum", lift_pressure(sound.site), units),
        "true_static": format_quantity("vacuum", lift_pressure(run.site), units),
        "rest": format_quantity("vacuum", vacuum_at(run, SHOWN), units),
        "end_s": text("teaching.seconds", n=round(SHOWN)),
    }
    for name, time in (("early", 10.0), ("late", 30.0)):
        out[name] = format_quantity("vacuum", vacuum_at(run, time), units)
        out[f"good_{name}"] = format_quantity("vacuum", vacuum_at(sound, time), units)
        out[f"{name}_s"] = text("teaching.seconds", n=round(time))
    return out


def curve(run: Run, sound: Run, units: str, last: float = SHOWN) -> Block:
    """The needle of a run beside the sound rig's.

    Parameters
    ----------
    last : [s] of the time axis.
    """
    sound_until = min(sound.prime_time - 1.0, last)
    lines = [
        (text("teaching.this_rig"), points(run, last)),
        (text("teaching.sound_rig"), points(sound, sound_until)),
    ]
    spoken = text("teaching.curve_spoken")
    return chart("curve", lines, units, span=last, site=sound.site, spoken=spoken)


def bends(run: Run) -> str:
    """How the climb goes on from 10 s to 30 s of a run: on the same line, bending over, or with a kink upward."""
    first, more = vacuum_at(run, 10.0), vacuum_at(run, 30.0) - vacuum_at(run, 10.0)
    return "kink" if more > KINK * first else "over" if more < OVER * first else "same"


def cause_of(run: Run, sound: Run) -> str:
    """What keeps the water away, told from the needle alone: ahead at once, a kink later, or neither.

    Parameters
    ----------
    sound : the run that the card promises.
    """
    if vacuum_at(run, 10.0) > vacuum_at(sound, 10.0) + AHEAD:
        return "strainer"
    return "liner" if bends(run) == "kink" else "too_high"


def _key(name: str) -> str:
    return f"{AREA}.drills.{name}"


def what_holds_it(chance: random.Random, units: str) -> Drill:
    """Strainer, liner or lift, from the curve."""
    wanted = chance.choice(CAUSES)
    run, sound, case = drawn(chance, wanted)
    right = cause_of(run, sound)
    said = fields(run, sound, units)
    because = text(f"{AREA}.cause_because.{right}", **said)
    figures = (curve(run, sound, units),)
    return drill(_key("what_holds_it"), CAUSE, case, right, said | {"end": because}, figures=figures)


def two_readings(chance: random.Random, units: str) -> Drill:
    """The same from two readings, early and late."""
    wanted = chance.choice(CAUSES)
    run, sound, case = drawn(chance, wanted)
    said = fields(run, sound, units)
    right = cause_of(run, sound)
    said |= {"end": text(f"{AREA}.cause_because.{right}", **said)}
    return drill(_key("two_readings"), CAUSE, case, right, said, after=(curve(run, sound, units),))


def so_far(cause: str) -> str:
    """What was seen before the next look is asked for: the strainer comes out before a longer look behind it.

    Weed that the stream drags onto it gives the same kink as a loose liner: common practice, no source.

    Parameters
    ----------
    cause : as :func:`cause_of` gives it.
    """
    return text(f"{AREA}.so_far.{cause}")


def next_look(chance: random.Random, units: str) -> Drill:
    """The cheapest look that shows what the needle points to."""
    wanted = chance.choice(CAUSES)
    run, sound, case = drawn(chance, wanted)
    right = cheapest_that_tells(LOOKS, run, sound)
    said = fields(run, sound, units)
    cause = cause_of(run, sound)
    said |= {"sign": text(f"{AREA}.signs.{cause}", **said), "so_far": so_far(cause)}
    return drill(_key("next_look"), LOOK, case, right, said, after=(curve(run, sound, units),))


def can_it_prime(chance: random.Random, units: str) -> Drill:
    """Whether a sound rig primes at a lift and a height above the sea."""
    lift = chance.choice((6.5, 7.0, 7.5, 8.0, 8.5, 9.2))
    altitude = chance.choice((0.0, 0.0, 600.0, 1200.0, 1800.0))
    site: Site = replace(usual_site(lift), altitude=altitude)
    rig = with_hose(usual_rig(), LONG)
    run = run_of(rig, site, duration=300.0)
    usual = run_of(rig, usual_site(lift), duration=300.0)
    right = "never" if not run.primed else "late" if run.prime_time > 90.0 else "in_time"
    deepest = deepest_vacuum(rig, site)
    said = {
        "lift": format_quantity("length", lift, units),
        "where": height_words(altitude, units),
        "static": format_quantity("vacuum", lift_pressure(site), units),
        "deepest": format_quantity("vacuum", deepest, units),
    }
    said["end"] = text(
        f"{AREA}.can_end.{'never' if right == 'never' else 'primed'}",
        **said,
        time=text("teaching.seconds", n=round(run.prime_time) if run.primed else 0),
        usual=text("teaching.seconds", n=round(usual.prime_time) if usual.primed else 0),
    )
    case = f"lift {lift:g} altitude {altitude:g}"
    return drill(_key("can_it_prime"), HEIGHT, case, right, said, after=came(run, None, units))


def how_high(chance: random.Random, units: str) -> Drill:
    """How high the water stands under a needle that has come to rest too low for the lift."""
    lift = chance.choice((9.5, 9.6, 9.8, 10.0))
    altitude = chance.choice((0.0, 300.0, 600.0, 900.0))
    site = replace(usual_site(lift), altitude=altitude)
    rig = with_hose(usual_rig(), LONG)
    run = run_of(rig, site, duration=300.0)
    rest = resting_vacuum(run)
    height = rest / lift_pressure(usual_site(1.0))
    labels = {
        "by_vacuum": format_quantity("length", height, units),
        "at_pump": format_quantity("length", lift, units),
        "stays": text(f"{AREA}.in_the_pond"),
    }
    said = {
        "lift": format_quantity("length", lift, units),
        "rest": format_quantity("vacuum", rest, units),
        "height": labels["by_vacuum"],
        "static": format_quantity("vacuum", lift_pressure(site), units),
    }
    if labels["by_vacuum"] == labels["at_pump"]:  # a foot is too coarse to tell them apart
        labels["by_vacuum"] = text(f"{AREA}.just_under", lift=said["lift"])
    return drill(
        _key("how_high"),
        HEIGHT,
        f"lift {lift:g} altitude {altitude:g}",
        "by_vacuum",
        said,
        labels=labels,
        after=came(run, None, units, last=180.0),
    )


def high_spot(chance: random.Random, units: str) -> Drill:
    """What a high spot in the hose costs."""
    for _ in range(TRIES):  # until nobody with a watch can be in doubt
        lift, dip = chance.choice((3.0, 4.5, 6.0, 8.2, 8.5)), chance.choice((0.4, 0.8, 1.4))
        rig, site = with_hose(usual_rig(), LONG), usual_site(lift)
        run, sound = faulted("hose_humped", dip, "", rig, site), run_of(rig, site)
        if not DOUBTFUL[0] < run.prime_time / sound.prime_time < DOUBTFUL[1]:
            break
    right = "never" if not run.primed else "late" if run.prime_time > LATE * sound.prime_time else "same"
    said = {
        "lift": format_quantity("length", lift, units),
        "dip": format_quantity("length", dip, units),
        "usual": text("teaching.seconds", n=round(sound.prime_time)),
    }
    time = text("teaching.seconds", n=round(run.prime_time) if run.primed else 0)
    said["end"] = text(f"{AREA}.spot_end.{'never' if right == 'never' else 'primed'}", time=time)
    case = f"dip {dip:g} lift {lift:g}"
    return drill(_key("high_spot"), SPOT, case, right, said, after=came(run, sound, units))


def weedy(share: float, lift: float) -> Run:
    """A start at a lift [m] with a share [-] of the strainer covered by weed; less of it than a fault takes, too."""
    rig = usual_rig()
    hose = rig.suction_hose
    covered = replace(hose, strainer=replace(hose.strainer, blocked=share))
    return run_of(replace(rig, suction_hose=covered), usual_site(lift))


def part_plugged(chance: random.Random, units: str) -> Drill:
    """What a strainer that is plugged in part does once water comes."""
    lift, size = chance.choice((2.0, 2.5, 3.0, 3.5)), chance.choice(WEEDY)
    run, sound = weedy(size, lift), run_of(usual_rig(), usual_site(lift))
    flow, good = (run_.value("discharge_flow", 120.0) for run_ in (run, sound))
    right = "never" if not run.primed else "little" if flow < LITTLE * good else "as_ever"
    said = {
        "lift": format_quantity("length", lift, units),
        "share": f"{100 * size:.3g}",
        "flow": format_quantity("flow", flow, units),
        "good": format_quantity("flow", good, units),
    }
    said["end"] = text(f"{AREA}.part_end.{'dry' if right == 'never' else 'wet'}", **said)
    case = f"strainer {size:g} lift {lift:g}"
    after = (*came(run, sound, units, last=120.0), metered(run, sound, units, 120.0))
    return drill(_key("part_plugged"), CAUSE, case, right, said, after=after)


def light_through(chance: random.Random, units: str) -> Drill:
    """What a light through a hose shows of a liner that only closes under vacuum."""
    size = chance.choice((8e3, 12e3, 16e3, 20e3))
    lift = chance.choice((2.0, 2.5, 3.0, 3.5, 4.0, 4.5))
    site = usual_site(lift)
    run, sound = faulted("liner_collapsed", size, "", usual_rig(), site), run_of(usual_rig(), site)
    place = next(
        f"length:{i}"
        for i, joint in enumerate(run.rig.suction_hose.joints)
        if joint.position >= run.rig.suction_hose.liner.position
    )
    seen = likeliest("light_through", run, sound, place=place)
    under = likeliest("clear_plate", run, sound)
    right = {"clear": "looks_good", "blister": "hangs_down", "hole": "hole"}[seen]
    said = {
        "lift": format_quantity("length", lift, units),
        "rest": format_quantity("vacuum", resting_vacuum(run), units),
        "light": text(f"checks.light_through.outcomes.{seen}", joint=int(place[-1]) + 1),
        "plate": text(f"checks.clear_plate.outcomes.{under}"),
    }
    case = f"liner {size:g} lift {lift:g}"
    return drill(_key("light_through"), LOOK, case, right, said, after=came(run, sound, units))


def capped_hose(chance: random.Random, units: str) -> Drill:
    """What a cap on the end of the hose shows of a plugged strainer or a loose liner."""
    wanted = chance.choice(("strainer", "liner"))
    run, sound, case = drawn(chance, wanted)
    right = "as_good" if likeliest("capped_hose", run, sound) == "deep_quick" else "not_deep"
    said = fields(run, sound, units) | {
        "what": text(f"{AREA}.what.{wanted}"),
        "end": text(f"{AREA}.capped_end.{wanted}"),
    }
    return drill(_key("capped_hose"), LOOK, case, right, said)


DRILLS: tuple[Template, ...] = (
    what_holds_it,
    two_readings,
    next_look,
    can_it_prime,
    how_high,
    high_spot,
    light_through,
    part_plugged,
    capped_hose,
)
CHECK: tuple[Template, ...] = (what_holds_it, next_look, can_it_prime, high_spot, light_through)
