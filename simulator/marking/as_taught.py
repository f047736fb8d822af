"""Who does as taught loses nothing: a look that the yard's card or a lesson names for what the gauges show costs nothing.

The card has one walk round and run the rig its time, read the gauges, and look here first, then there; the lessons name
more places. An old hand who reads the whole curve may know better; that is for the debrief to say, not to take off.
"""

from __future__ import annotations

import numpy as np

from simulator.diagnosis.belief import Belief, Start
from simulator.diagnosis.card_lines import line, picture, read_at
from simulator.diagnosis.evidence import Step, Story
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.option import CHECK, Option
from simulator.marking.taught_looks import taught
from simulator.rig.presets import load_rig, rig_names, standard_site

#: Pictures of the motive needle: a lesson speaks of them whether the pump has primed or not.
MOTIVE = ("motive_low", "motive_high")


def as_taught(step: Step, story: Story) -> bool:
    """Whether a step is the look that the card names next, or one that a lesson tells to make there.

    Parameters
    ----------
    step : as it was done.
    story : what the attempt holds.
    """
    look, belief = step.option, step.before
    if look.kind != CHECK:
        return False
    start = _read(belief)
    shows = () if start is None else _pictures(belief.cases, start, story)
    if not shows:
        return False
    return any(taught(look, belief, one, story.allowed_checks) for one in shows) or _next_on_card(
        look, belief, shows[0], story
    )


def _next_on_card(look: Option, belief: Belief, shows: str, story: Story) -> bool:
    advised = line(_card_of(story, belief.cases), shows)
    if advised is None:
        return False
    for each, good in zip(advised.steps, advised.in_order, strict=True):
        if story.allowed_checks is not None and each.id not in story.allowed_checks:
            continue
        seen = {one.outcome for one in belief.looks if (one.check, one.place) == (each.id, each.place)}
        if not seen:
            return (each.id, each.place) == (look.id, look.place)
        if seen != {good}:
            return False
    return False


def _read(belief: Belief) -> Start | None:
    """The latest start from dry that was given its time; none where something has been mended since."""
    at = read_at(belief.cases)
    read = [start for start in belief.starts if not start.warm and start.watched >= at]
    return read[-1] if read and np.array_equal(read[-1].rows, belief.now) else None


def _pictures(cases: HypothesisSet, start: Start, story: Story) -> tuple[str, ...]:
    """What the gauges showed at that start when they were to be read, none where it pumped by then as it should; as the
    card has it, and where that is how it pumped, what lessons say of the motive needle all the same."""
    run = story.runs[start.run]
    late = start.primed_at is not None and start.primed_at > read_at(cases)
    if start.proof or (start.end == "primed" and not late):
        return ()
    vacuum, motive = run.needles[:, min(read_at(cases), run.needles.shape[1] - 1)]
    on_card = picture(cases, float(vacuum), float(motive), start.end)
    needle = picture(cases, float(vacuum), float(motive), "")
    return (on_card, needle) if needle != on_card and needle in MOTIVE else (on_card,)


def _card_of(story: Story, cases: HypothesisSet) -> HypothesisSet:
    """What the card that hangs in the cab was made from: of a rig of one's own, the rig where it stands."""
    name = story.sound[0].name
    return hypothesis_set(load_rig(name), standard_site(name)) if name in rig_names() else cases
