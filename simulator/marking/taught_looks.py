"""Looks that a lesson tells to make where the gauges show a certain picture, each with the words that tell it.

A yard card names two looks for a picture, and the lessons name more. Who makes one of those there does as he was taught:
it is not charged, as long as nothing has been found yet.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.option import Option
from simulator.instruments.checks import CHECKS

#: Pictures at which the needle stands low and the motive air is as usual.
LOW = ("zero", "below")


@dataclass(frozen=True)
class Taught:
    """What a lesson says: where it stands in the catalogue, words of it, the pictures it speaks of, the looks it names.

    ``after`` names looks and what they showed, where the words presume that: any one of them will do, or all of them, at
    every place, where the words want ``each``.
    """

    where: str
    words: str
    pictures: tuple[str, ...]
    looks: tuple[str, ...]
    after: tuple[tuple[str, str], ...] = ()
    each: bool = False


TAUGHT = (
    Taught("lesson_03.ideas.plateau", "Look at strainer and hose", ("above",), ("strainer_out",)),
    Taught(
        "lesson_03.ideas.plateau",
        "Look at strainer and hose",
        ("above",),
        ("capped_hose",),
        (("strainer_out", "clean"),),
    ),
    Taught(
        "lesson_03.ideas.plateau",
        "Look at drains, joints and the air side",
        LOW,
        ("walk_round", "listen_line", "foam_joint", "exhaust_stream", "relief_listen", "follow_air_line"),
    ),
    Taught("lesson_04.ideas.look", "Walk round the drain valves first", LOW, ("walk_round",)),
    Taught(
        "lesson_04.ideas.look",
        "Listen, and use foam at joints and flange",
        ("below",),
        ("listen_line", "foam_pump", "foam_joint"),
    ),
    Taught(
        "lesson_04.ideas.look",
        "Then take the lid off the NRV",
        ("below",),
        ("nrv_lid",),
        (("foam_pump", "stays"), ("foam_joint", "stays"), ("exhaust_stream", "strong_on")),
        each=True,
    ),
    Taught(
        "lesson_05.ideas.short",
        "A hole in the air line hisses: you can hear it",
        ("motive_low",),
        ("follow_air_line", "belt"),
    ),
    Taught(
        "lesson_05.ideas.narrow",
        "the nozzle is plugged, or the air line is kinked",
        ("motive_high",),
        ("follow_air_line", "nozzle_out"),
    ),
    Taught("lesson_05.ideas.relief", "popping or blowing", ("motive_low",), ("relief_listen",)),
    Taught(
        "lesson_05.ideas.behind",
        "the screen, a cock, or the exhaust hose",
        ("zero",),
        ("exhaust_off", "screen_out"),
    ),
    Taught(
        "lesson_06.ideas.cheapest",
        "Dip the water: 3 minutes. Pull the strainer: 6 minutes",
        ("above",),
        ("walk_round", "dip_water", "strainer_out"),
    ),
    Taught(
        "lesson_06.ideas.cheapest",
        "Vacuum test of the hose: 12 minutes",
        ("above",),
        ("capped_hose", "clear_plate"),
        (("strainer_out", "clean"),),
    ),
    Taught("lessons.practice.plan", "Take the quick, cheap looks first", ("above",), ("watch_water",)),
    Taught(
        "lesson_07.intro.ideas",
        "The needle stands low, and you hear no leak",
        (*LOW, "at"),
        ("blank_off",),
        (("listen_line", "quiet"),),
    ),
    Taught(
        "lesson_07.ideas.four_answers",
        "look at the screen",
        LOW,
        ("screen_out",),
        (("blank_off", "deep_slow"),),
    ),
    Taught(
        "lesson_07.ideas.hold",
        "To tell them apart",
        (*LOW, "at"),
        ("hold_test",),
        (("blank_off", "shallow"), ("blank_off", "nothing")),
    ),
    Taught(
        "lesson_07.ideas.cap",
        "Was the plate test good?",
        (*LOW, "at", "above"),
        ("capped_hose",),
        (("blank_off", "deep_quick"),),
    ),
    Taught(
        "lesson_07.ideas.cap",
        "A clear plate shows it",
        ("above",),
        ("clear_plate",),
        (("capped_hose", "deep_quick"),),
    ),
    Taught("lesson_08.ideas.level", "Look at the water", ("loses", "badly"), ("watch_water",)),
    Taught(
        "lesson_08.ideas.weed",
        "The pump rattles as if it had gravel in it",
        ("loses", "badly"),
        ("listen_pump",),
    ),
    Taught("lesson_08.ideas.air_joint", "You hear a hiss at the spot", ("loses", "badly"), ("listen_line",)),
)
LIKELY = 0.5  # [-] what a look has found still stands
#: Looks of the list that show a fault by another outcome than their first; what jet, valve or pump sound like names none.
TELLING = frozenset(look for each in TAUGHT for look in each.looks) - {
    "exhaust_stream",
    "relief_listen",
    "listen_pump",
}


def taught(look: Option, belief: Belief, shows: str, allowed: Collection[str] | None = None) -> bool:
    """Whether a lesson tells to make a look at this picture, the looks before it having found nothing.

    Parameters
    ----------
    belief : before the look.
    shows : the picture that the gauges showed.
    allowed : the looks that can be made at this call; None for all. What the words presume cannot be asked for where it
        cannot be made: nobody hears a hiss beside another engine.
    """
    seen = {(one.check, one.outcome) for one in belief.looks}
    if any((one.check, one.place) == (look.id, look.place) for one in belief.looks):
        return False
    for each in TAUGHT:
        if shows not in each.pictures or look.id not in each.looks:
            continue
        told = seen & set(each.after)
        asked = [one for one in each.after if allowed is None or one[0] in allowed]
        if each.each and not all(_everywhere(check, outcome, belief) for check, outcome in asked):
            continue
        if (told or not asked) and not (_found(seen - told) and belief.top(1)[0][2] > LIKELY):
            return True
    return False


def _everywhere(check: str, outcome: str, belief: Belief) -> bool:
    """Whether a look showed an outcome at each place of the rig where it can be made."""
    places = {place for name, place in belief.cases.chances if name == check}
    seen = {one.place for one in belief.looks if (one.check, one.outcome) == (check, outcome)}
    return places <= seen


def _found(seen: set[tuple[str, str]]) -> bool:
    """Whether one of the looks that lessons name has found something."""
    return any(check in TELLING and outcome != CHECKS[check].outcomes[0] for check, outcome in seen)
