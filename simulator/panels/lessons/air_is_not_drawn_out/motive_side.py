"""The motive side of a rig, told from a run: motive gauge, relief valve, exhaust, and which look comes first."""

from __future__ import annotations

from functools import lru_cache

from simulator.instruments.checks import CHECKS
from simulator.panels.teaching.cases import motive_at, run_of, usual_rig, usual_site
from simulator.rig.faults import FAULTS
from simulator.run import Run

WATCH = 60.0  # [s] of a start at which the motive side has settled
HIGH, LOW = 1.15, 0.85  # [-] of a sound rig's motive air: plainly more, plainly less
POPS = 5.0  # a minute: the valve is heard
NO_STREAM, WEAK, STRONG = 0.05, 0.75, 1.2  # [-] of the motive air of a sound rig
#: What the two gauges and the relief valve say together, and what may be behind it.
ROWS = {
    "narrow": ("nozzle_plugged", "air_line_kinked"),
    "short": ("belt_loose", "compressor_worn", "intake_blocked", "air_line_holed", "nozzle_worn"),
    "relief": ("relief_weak",),
    "behind": ("screen_plugged", "exhaust_blocked"),
}
HISSES = "air_line_holed"  # what is heard to blow off
ALONG = (HISSES, "air_line_kinked")  # what is seen on the way along the air line
QUICK = 1.0 / 3.0  # [-] of the minutes of a look that opens a part: one that opens nothing comes before it
BLOWS_BACK = "exhaust_blocked"  # what turns the jet back, so that the suction needle goes above zero
#: The look that finds each of them.
LOOKS = {
    "nozzle_plugged": "nozzle_out",
    "air_line_kinked": "follow_air_line",
    "belt_loose": "belt",
    "intake_blocked": "belt",
    "compressor_worn": "receiver_test",
    "air_line_holed": "follow_air_line",
    "nozzle_worn": "nozzle_out",
    "relief_weak": "receiver_test",
    "screen_plugged": "screen_out",
    "exhaust_blocked": "exhaust_off",
}


def pops_a_minute(run: Run) -> float:
    """How often the relief valve pops [1/min] once the motive side has settled; 600 where it blows without a stop."""
    end = min(WATCH + 60.0, float(run.time[-1]))
    count = (run.value("relief_pops", end) - run.value("relief_pops", WATCH)) * 60.0 / (end - WATCH)
    blows = run.value("relief_open", WATCH) > 0.5 and run.value("relief_open", end) > 0.5 and count < 1.0
    return 600.0 if blows else count


def level(run: Run, sound: Run) -> str:
    """The motive gauge beside a sound rig's: high, usual or low.

    Examples
    --------
    >>> from simulator.panels.teaching.cases import faulted
    >>> sound = run_of(usual_rig(), usual_site())
    >>> level(sound, sound), level(faulted("belt_loose", 0.7), sound)
    ('usual', 'low')
    """
    share = motive_at(run, WATCH) / motive_at(sound, WATCH)
    return "high" if share > HIGH else "low" if share < LOW else "usual"


def row(run: Run, sound: Run) -> str:
    """The row of the table that a run belongs to: narrow, short, relief or behind.

    Examples
    --------
    >>> from simulator.panels.teaching.cases import faulted
    >>> sound = run_of(usual_rig(), usual_site())
    >>> row(faulted("nozzle_plugged", 0.85), sound), row(faulted("exhaust_blocked", 0.97), sound)
    ('narrow', 'behind')
    """
    found, heard = level(run, sound), pops_a_minute(run) >= POPS
    if found == "high":
        return "narrow"
    if found == "low":
        return "relief" if heard else "short"
    return "behind"


def stream(run: Run, time: float = WATCH) -> str:
    """The stream of the exhaust at a time [s] beside the motive air of a sound rig: none, weak, usual or strong."""
    sound = run_of(usual_rig(), usual_site())
    share = run.value("exhaust_air", time) / sound.value("motive_flow", time)
    return (
        "none" if share < NO_STREAM else "weak" if share < WEAK else "usual" if share < STRONG else "strong"
    )


@lru_cache(maxsize=8)
def looks_of(name: str, heard: str = "", needle: str = "") -> dict[str, float]:
    """Minutes a find [min] of each look for a row of the table, the best first.

    Minutes over the chance of what the look finds: the order of Kadane & Simon (1977) for independent faults. A hole in
    the air line is heard over its hiss: where air blows off, that look comes first; where none does, it is not the hole.
    A suction needle above zero is an exhaust that is shut; one that is not speaks for a free exhaust. A quick look that
    takes nothing apart comes before one that does (common practice, no source).

    Parameters
    ----------
    name : of the row.
    heard : "blows" or "silent" between compressor and jet; "followed" where the line was followed too, and is good; ""
        where nobody has listened.
    needle : "above_zero" or "not_above" on the suction gauge; "" where nobody has read it.
    """
    chance: dict[str, float] = {}
    for fault in ROWS[name]:
        if (heard == "silent" and fault == HISSES) or (heard == "followed" and fault in ALONG):
            continue
        if needle and name == "behind" and (fault == BLOWS_BACK) != (needle == "above_zero"):
            continue
        chance[LOOKS[fault]] = chance.get(LOOKS[fault], 0.0) + FAULTS[fault].weight
    cost = {look: CHECKS[look].minutes / share for look, share in chance.items()}
    if heard == "blows":
        cost[LOOKS[HISSES]] = 0.0
    first = CHECKS[min(cost, key=lambda look: cost[look])]
    for look in cost:
        if first.opens and not CHECKS[look].opens and CHECKS[look].minutes <= QUICK * first.minutes:
            cost[look] = 0.0
    return dict(sorted(cost.items(), key=lambda item: item[1]))
