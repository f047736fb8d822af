"""What an old hand knows by heart: finding to remedy, remedy to suspect, suspect to check."""

from __future__ import annotations

from functools import lru_cache

from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS
from simulator.rig.lazy import LazyTable
from simulator.rig.remedies import REMEDIES

#: A check's outcome that shows what is wrong, and the remedy for it.
REMEDY_FOR: LazyTable[tuple[str, str], str] = LazyTable(
    lambda: {(check.id, outcome): work for check in CHECKS.values() for outcome, work in check.calls_for}
)
#: The fault an old hand thinks of who is told to do a remedy.
SUSPECT_OF: LazyTable[str, str] = LazyTable(
    lambda: {name: remedy.mends for name, remedy in REMEDIES.items() if remedy.mends}
)
#: The check by which an old hand looks for a fault; the drain is tried by hand.
CHECK_FOR: LazyTable[str, str] = LazyTable(
    lambda: {name: fault.look for name, fault in FAULTS.items() if fault.look}
)
_FIRST = (
    "drain_open",
    "strainer_plugged",
    "belt_loose",
    "joint_ring",
    "nozzle_plugged",
    "screen_plugged",
    "nrv_fouled",
    "liner_collapsed",
    "engine_slow",
    "strainer_high",
    "pump_high",
    "discharge_shut",
    "flange_leaks",
    "exhaust_blocked",
    "air_line_holed",
    "compressor_worn",
    "hose_hole",
    "float_stuck_shut",
    "gauge_low",
    "seal_worn",
    "impeller_clogged",
)
#: Looks that cost little and halve the job, beside those of CHECK_FOR.
QUICK = ("walk_round", "blank_off", "exhaust_stream", "relief_listen", "foam_pump", "gauges")
#: Whom the gauges point at, in the order to look.
TOO_LITTLE_AIR = ("engine_slow", "belt_loose", "air_line_holed", "compressor_worn", "nozzle_plugged")
LOSES_IT = ("strainer_clogs", "level_falls", "flange_works_loose", "line_bursts", "joint_ring")
GIVES_LITTLE = (
    "discharge_shut",
    "engine_slow",
    "level_falls",
    "impeller_clogged",
    "joint_ring",
    "nrv_stuck",
)
STRAINS = ("line_bursts", "strainer_clogs", "level_falls", "strainer_plugged", "liner_collapsed")
#: Whom the test with the plate points at.
BY_BLANK = {
    "deep_quick": ("joint_ring", "hose_hole", "strainer_high", "strainer_plugged", "liner_collapsed"),
    "deep_slow": ("screen_plugged", "nozzle_plugged", "belt_loose"),
    "shallow": ("drain_open", "nrv_fouled", "flange_leaks", "seal_worn", "belt_loose"),
    "nothing": ("drain_open", "nrv_fouled", "exhaust_blocked", "belt_loose"),
}


@lru_cache(maxsize=1)
def found_good() -> frozenset[str]:
    """Findings of work that say the part was good all along: the first of each.

    Examples
    --------
    >>> "was_tight" in found_good(), "was_loose" in found_good()
    (True, False)
    """
    return frozenset(remedy.findings[0] for remedy in REMEDIES.values())


@lru_cache(maxsize=1)
def all_suspects() -> tuple[str, ...]:
    """The order in which suspects are looked for; what is not named comes last.

    Examples
    --------
    >>> all_suspects()[0]
    'drain_open'
    """
    return (*_FIRST, *(name for name in CHECK_FOR if name not in _FIRST))
