"""From the log of an attempt to a mark sheet with its evidence, and to a debrief. Pure: the same log, the
same marks."""

from simulator.marking.mark import mark
from simulator.marking.service import Coaching, advise, debrief_and_keep
from simulator.marking.sheet import MARKING_VERSION, MarkSheet, Part

__all__ = ["MARKING_VERSION", "Coaching", "MarkSheet", "Part", "advise", "debrief_and_keep", "mark"]
