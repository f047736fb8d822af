"""A simple expert who plays a call-out by the acts of a trainee: rules of thumb, every precaution first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simulator.attempt.acts import needs_of
from simulator.attempt.calls import (
    FROST_QUESTION,
    FROST_RIGHT,
    MARKERS,
    PRIME_QUESTION,
    SOMETHING_ELSE,
)
from simulator.attempt.rules_of_thumb import Step, known_of, next_step, ranking
from simulator.attempt.rules_of_thumb_tables import all_suspects
from simulator.attempt.safety import missing
from simulator.attempt.timeline import TICK

if TYPE_CHECKING:
    from simulator.attempt.attempt import Attempt
    from simulator.attempt.events import Reply

MAX_STEPS = 80
SHARES = {1: (8,), 2: (6, 3), 3: (5, 3, 1)}  # markers on the suspects in their order

#: The act that meets a need.
ACT_FOR = {
    "ppe": "put_on_ppe",
    "stopped": "stop_engine",
    "isolated": "isolate_and_tag",
    "air_bled": "bleed_air",
    "line_relieved": "relieve_line",
    "hose_vented": "vent_hose",
    "discharge_secured": "secure_discharge",
    "plate_rated": "take_rated_plate",
    "edge_safe": "guard_edge",
    "second_person": "call_second_person",
    "line_held": "tie_down_air_line",
    "closed_up": "untag_and_close_up",
    "free_to_start": "untag_and_close_up",
}


EMPTIED = 45.0  # [s] after a stop in which a hose empties, on every rig here


def markers_for(suspects: tuple[str, ...]) -> dict[str, int]:
    """Ten markers over suspects in their order; what is left lies on something else.

    Examples
    --------
    >>> markers_for(("belt_loose", "nozzle_plugged"))
    {'belt_loose': 6, 'nozzle_plugged': 3, 'something_else': 1}
    """
    chosen = tuple(dict.fromkeys(suspects))[:3] or all_suspects()[:3]
    markers = dict(zip(chosen, SHARES[len(chosen)], strict=True))
    return {**markers, SOMETHING_ELSE: MARKERS - sum(markers.values())}


def make_ready(attempt: Attempt, step: Step) -> None:
    """Do what a ``step`` of an ``attempt`` waits for, in a safe order."""
    while True:
        lacking = missing(needs_of(attempt.state, step.action, step.args), attempt.yard)
        if not lacking:
            return
        need = next((n for n in lacking if n in ("first_call", "second_call")), lacking[0])
        if need in ("first_call", "second_call"):
            suspects = step.suspects or ranking(known_of(attempt.state))[1]
            attempt.act("call", {"markers": markers_for(suspects)})
        elif need == "running":
            _do(attempt, Step("start_engine", {"speed": "rated"}, ""))
        elif need == "question":
            seconds = attempt.case.sound_prime_time
            answer = round(seconds) if seconds == seconds else None
            attempt.act("predict", {"question": PRIME_QUESTION, "answer": answer})
        elif need == "isolated" and attempt.yard.engine_on:
            attempt.act("stop_engine")
        else:
            _do(attempt, Step(ACT_FOR[need], {}, ""))


def let_empty(attempt: Attempt) -> None:
    """Wait until the hose of an ``attempt`` has emptied after a stop: a start from a full one would prove nothing."""
    standing = round(EMPTIED - attempt.yard.rested * TICK, 1)
    if attempt.timeline is not None and not attempt.yard.engine_on and standing > 0.0:
        attempt.act("wait", {"seconds": standing})


def _do(attempt: Attempt, step: Step) -> Reply:
    make_ready(attempt, step)
    if step.action == "start_engine":
        let_empty(attempt)
    reply = attempt.act(step.action, step.args)
    if attempt.yard.question == FROST_QUESTION:  # asked at the end of a job in freezing weather
        attempt.act("predict", {"question": FROST_QUESTION, "answer": FROST_RIGHT})
        return attempt.act(step.action, step.args)
    return reply


def play(attempt: Attempt, most_steps: int = MAX_STEPS) -> bool:
    """Play the call-out of an ``attempt`` to its end, in ``most_steps`` at most; True when the pump was proven."""
    for _ in range(most_steps):
        step = next_step(known_of(attempt.state))
        _do(attempt, step)
        if attempt.yard.ended:
            break
    return attempt.yard.proven
