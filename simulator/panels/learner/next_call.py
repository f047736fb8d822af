"""The next call of the practice yard: level and rig follow the learner, the kind of trouble follows chance alone.

Were the kind chosen by what the learner should meet again, what came last would tell what comes next, and the belief that
an expert starts from would be another than the draw's. So every call is drawn as trouble comes up in the yard; the first
level leaves out what no lesson before it has shown.
"""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

from simulator.errors import InputError
from simulator.marking.mastery import LEFT
from simulator.panels.learner.first_steps import PLAIN, PLATE_LESSON, before_the_plate, has_done
from simulator.panels.learner.session import LearnerSession
from simulator.rig.presets import rig_names
from simulator.scenario import Scenario, random_scenario, scenario_hash

PRACTICE_SLOT = "practice-yard"
FIRST_RIG = "osier"  # the rig of the lessons
FIRST, USUAL, HARD = "first", "usual", "hard"
LADDER = (FIRST, USUAL, HARD)
PASS_MARK = 70.0  # out of 100
HARD_MARK = 85.0  # out of 100, on the way to the hard level
#: Calls in a row that must have gone well before a harder level, and badly before an easier one; common practice.
STEP_UP = {FIRST: 3, USUAL: 5}
STEP_DOWN = 3
DRAWS = 12  # draws of a call that this learner has not met


def level_after(totals: list[float]) -> str:
    """The level that fits a learner, from ``totals``: marks [out of 100] of the practice calls, the oldest first.

    Three calls in a row that pass lead from the first level to the usual one, five with high marks to the hard one; three
    in a row that do not pass lead back.

    Examples
    --------
    >>> level_after([]), level_after([90.0, 80.0, 71.0]), level_after([90.0, 80.0, 71.0, 20.0, 30.0, 40.0])
    ('first', 'usual', 'first')
    """
    place, well, badly = 0, 0, 0
    for total in totals:
        level = LADDER[place]
        badly = badly + 1 if total < PASS_MARK else 0
        well = well + 1 if total >= (PASS_MARK if level == FIRST else HARD_MARK) else 0
        if well >= STEP_UP.get(level, len(totals) + 1):
            place, well, badly = place + 1, 0, 0
        elif badly >= STEP_DOWN and place:
            place, well, badly = place - 1, 0, 0
    return LADDER[place]


def practice_level(session: LearnerSession) -> str:
    """The level of the next call. A call that was begun and left for another one counts as none found.

    Parameters
    ----------
    session : of the learner.
    """
    totals = []
    for row in session.rows(PRACTICE_SLOT):
        total = session.total(row.attempt_id)
        if total is not None:
            totals.append(total)
        elif row.ending == LEFT and row.events > 1:
            totals.append(0.0)
    return level_after(totals)


def next_rig(level: str, met: Counter[str], chance: random.Random) -> str:
    """The rig of the next call: at the first level that of the lessons, then all of the yard, those met least first.

    Examples
    --------
    >>> next_rig("first", Counter(), random.Random(1))
    'osier'
    """
    if level == FIRST:
        return FIRST_RIG
    names = rig_names()
    return chance.choices(names, [1.0 / (1.0 + met[name]) for name in names])[0]


def next_scenario(store: Any, learner: str, level: str, chance: random.Random | None = None) -> Scenario:
    """A call-out for a learner at a level, one not met before where there is one.

    The first level draws plain faults alone. Who has not done the lesson on the tests with a plate is not asked about
    them, and has none on offer.

    Parameters
    ----------
    store : where attempts are kept.
    learner : as typed.
    level : of random call-outs, see :data:`simulator.scenario.LEVELS`.
    chance : what is drawn from; by default the system's.
    """
    source = chance or random.SystemRandom()
    rows = store.list_attempts(learner) if hasattr(store, "list_attempts") else ()
    hashes = {row.scenario_hash for row in rows}
    met: Counter[str] = Counter()
    for row in rows:
        if row.lesson == PRACTICE_SLOT:
            met[str(store.attempt_record(row.attempt_id).get("scenario", {}).get("rig", ""))] += 1
    rig = next_rig(level, met, source)
    for _ in range(DRAWS):
        number = source.getrandbits(31)
        plain = PLAIN if level == FIRST else ()
        try:
            drawn = random_scenario(number, level, rig=rig, only=plain)
        except InputError:  # an own rig that cannot stand where calls come from
            drawn = random_scenario(number, level, rig=FIRST_RIG, only=plain)
        if not has_done(rows, PLATE_LESSON):
            drawn = drawn.model_copy(update={"allowed_checks": before_the_plate()})
        if scenario_hash(drawn) not in hashes:
            break
    return drawn
