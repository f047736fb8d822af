"""What the page says beside two works on one part costs nothing: the look that tells which of them is wanted.

Foam shows where air is drawn in, and not whether bolts or gasket let it in; the list says so, and to look first. Who
knows the rig may go on at once; that is for the debrief to say, not to take off.
"""

from __future__ import annotations

from dataclasses import dataclass

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import Step
from simulator.diagnosis.option import CHECK, REMEDY, Option


@dataclass(frozen=True)
class Beside:
    """What the list says under ``panel.acts.choose``: words of it, the works they stand beside, the look they send to,
    and what points at the part without telling which work it wants: a look and its outcome."""

    words: str
    works: tuple[str, ...]
    look: str
    points: tuple[str, str]


BESIDE = (
    Beside(
        "Look at them first",
        ("tighten_flange", "renew_gasket"),
        "flange_look",
        ("foam_pump", "drawn_in_flange"),
    ),
)


def tells_which(step: Step, best: Option) -> bool:
    """Whether a step is the look that tells two works apart, made for the first time where one of them is next, or where
    another look has pointed at their part.

    Parameters
    ----------
    step : as it was done.
    best : what an expert would have done instead.

    Examples
    --------
    >>> from types import SimpleNamespace as Seen
    >>> look = Option(CHECK, "flange_look", "", 4.0)
    >>> step = Seen(option=look, before=Seen(looks=()))
    >>> [tells_which(step, Option(REMEDY, work, "", 16.0)) for work in ("renew_gasket", "renew_belt")]
    [True, False]
    """
    if step.option.kind != CHECK:
        return False
    for each in BESIDE:
        if step.option.id == each.look and not _told(each, step.before):
            pointed = any((seen.check, seen.outcome) == each.points for seen in step.before.looks)
            return pointed or (best.kind == REMEDY and best.id in each.works)
    return False


def _told(each: Beside, belief: Belief) -> bool:
    return any(seen.check == each.look for seen in belief.looks)
