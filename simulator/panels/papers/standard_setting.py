"""The sheet on which a group of trainers sets a passing mark of its own, see :mod:`simulator.marking.standard`.

It names kinds of case as the certificate has them, and no case of the bank: it may lie on any table.
"""

from __future__ import annotations

from simulator.marking.bank import KINDS
from simulator.marking.sheet import PASS
from simulator.marking.standard import FOUND_EARNS, MISSED_EARNS, mark_of
from simulator.panels.papers.sheet import sheet
from simulator.rig.faults import FAULTS
from simulator.texts import text

OF_EACH = 2  # faults of each kind of case, the commonest
JUDGES = 6
STEPS = (40, 50, 60, 70, 80, 90, 100)  # [%] of cases found


def judged_faults() -> list[str]:
    """Ids of the faults that are judged: the commonest of each kind of case.

    Examples
    --------
    >>> len(judged_faults()) == OF_EACH * len(KINDS), "sound" in judged_faults()
    (True, True)
    """
    out = []
    for families in KINDS.values():
        own = [fault for fault in FAULTS.values() if fault.family in families]
        out += [
            fault.id
            for fault in sorted(own, key=lambda fault: (fault.id != "sound", -fault.weight))[:OF_EACH]
        ]
    return out


def standard_sheet() -> str:
    """The sheet as HTML that prints on one page of A4 or Letter."""
    rows = [(text(f"faults.{name}.name"), text(f"faults.{name}.what")) for name in judged_faults()]
    return sheet(
        "standard_setting.html",
        text("papers.standard.title"),
        rows=rows,
        judges=JUDGES,
        usual=f"{PASS:g}",
        earns={"found": f"{FOUND_EARNS:.0f}", "missed": f"{MISSED_EARNS:.0f}"},
        steps=[(step, f"{mark_of(step / 100.0):.0f}") for step in STEPS],
    )
