"""Marking: from a story to its sheet.

Throughout: ``cases`` are the hypotheses of the rig in good order.
"""

from __future__ import annotations

from dataclasses import dataclass

from simulator.attempt.hints import hint_steps
from simulator.diagnosis.evidence import Story, Trail
from simulator.diagnosis.hypothesis_set import HypothesisSet, Progress, model_version
from simulator.diagnosis.second_trouble import trail_of
from simulator.marking.dry_running import dry_runs
from simulator.marking.economy import Judged, mark_economy
from simulator.marking.found import mark_found
from simulator.marking.hints import with_hints
from simulator.marking.safety_gate import mark_safety
from simulator.marking.sheet import MARKING_VERSION, MarkSheet
from simulator.marking.understanding import mark_understanding


@dataclass(frozen=True)
class Marked:
    """A sheet with what it rests on."""

    sheet: MarkSheet
    trail: Trail
    judged: tuple[Judged, ...]


def mark_in_full(story: Story, cases: HypothesisSet, progress: Progress | None = None) -> Marked:
    """The sheet of a story together with every step judged.

    Parameters
    ----------
    story : of an attempt that is over, see :func:`simulator.diagnosis.evidence.story_of`.
    cases : single faults of the same rig and site in good order.
    progress : told how far two at once are simulated, where what was seen asks for them.
    """
    trail = trail_of(story, cases, progress)
    economy, judged = mark_economy(story, cases, trail)
    hints = hint_steps(story.log)
    wanted = {item.step.seq for item in judged if item.same}
    parts = (
        with_hints(mark_found(story, cases, wanted), hints),
        with_hints(economy, hints),
        mark_understanding(story, cases, trail),
        mark_safety(story, dry_runs(story, trail)),
    )
    grave = any(event["breach"] == "grave" for event in story.log)
    sheet = MarkSheet(parts, MARKING_VERSION, model_version(), grave, len(hints))
    return Marked(sheet, trail, tuple(judged))


def mark(story: Story, cases: HypothesisSet) -> MarkSheet:
    """The mark sheet of a story: the same story gives the same marks, whenever and however often."""
    return mark_in_full(story, cases).sheet
