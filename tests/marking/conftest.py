"""Simulated trainees who play a call-out by the acts of a page, and obey the safety rules unless that is their point."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.acts import needs_of
from simulator.attempt.calls import BLANK_QUESTION, MARKERS, SOMETHING_ELSE, top_suspect
from simulator.attempt.expert import make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import story_of
from simulator.diagnosis.second_trouble import trail_of
from simulator.instruments.checks import CHECKS
from simulator.marking.economy import expert_advice
from simulator.marking.service import cases_for
from simulator.marking.understanding import blank_share
from simulator.scenario import Scenario
from simulator.scenario.choices import SiteChoice, choose_fault

MAX_STEPS = 40


def call_out(fault: str, size: float, place: str = "") -> Scenario:
    """A call-out at one site, so that all tests share one set of hypotheses."""
    faults = () if fault == "sound" else (choose_fault(fault, size, place),)
    return Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0), faults=faults)


def belief_of(attempt: Attempt) -> tuple[Belief, float]:
    story = story_of(attempt.state)
    trail = trail_of(story, cases_for(story))
    return trail.end, trail.time


def honest_markers(belief: Belief) -> dict[str, int]:
    """Ten markers as near to the belief as ten can come."""
    chances = sorted(belief.by_fault().items(), key=lambda item: -item[1])[:3]
    markers = {name: int(MARKERS * chance) for name, chance in chances}
    rest = sorted(chances, key=lambda item: -(MARKERS * item[1] - markers[item[0]]))
    for name, chance in rest:
        if sum(markers.values()) < round(MARKERS * sum(c for _, c in chances)):
            markers[name] += MARKERS * chance - markers[name] >= 0.5
    return {**markers, SOMETHING_ELSE: MARKERS - sum(markers.values())}


def do(attempt: Attempt, action: str, **args: object) -> None:
    """Do what an act waits for, the calls with honest markers, then the act."""
    needs = needs_of(attempt.state, action, dict(args))
    made = len(attempt.yard.calls)
    if ("first_call" in needs and made < 1) or (
        "second_call" in needs and made < 2 and not attempt.yard.remedies
    ):
        make_call(attempt)
    make_ready(attempt, Step(action, dict(args), "", ()))
    attempt.act(action, dict(args))


def make_call(attempt: Attempt) -> None:
    """State the belief, and answer what a blank-off test would show under the chief suspect, as the model has it."""
    belief, _ = belief_of(attempt)
    markers = honest_markers(belief)
    attempt.act("call", {"markers": markers})
    suspect = top_suspect(attempt.yard.calls[-1]["markers"])
    if attempt.yard.question == BLANK_QUESTION and suspect:
        shares = {answer: blank_share(answer, suspect, belief)[0] for answer in CHECKS["blank_off"].outcomes}
        answer = max(shares, key=lambda name: shares[name])
        attempt.act("predict", {"question": BLANK_QUESTION, "answer": answer})


def watch(attempt: Attempt) -> None:
    """Start it and watch until it primes, or until it should long have."""
    if attempt.yard.engine_on:
        attempt.act("stop_engine")
    do(attempt, "start_engine", speed="rated")
    limit = 80.0
    while attempt.shown < limit and not attempt.proven():
        attempt.act("wait", {"seconds": 5.0})


def work_honestly(attempt: Attempt) -> None:
    """Follow the advice to the end."""
    for _ in range(MAX_STEPS):
        belief, time = belief_of(attempt)
        started = attempt.timeline is not None
        option = expert_advice(belief, story_of(attempt.state), time, started).option
        if option.kind == "hand_over":
            break
        if option.kind == "finish" or attempt.proven():
            do(attempt, "finish")
        elif option.kind == "watch":
            watch(attempt)
        elif option.kind == "check":
            do(attempt, "check", check=option.id, **({"place": option.place} if option.place else {}))
        else:
            do(attempt, "remedy", remedy=option.id, place=option.place)
        if attempt.yard.ended:
            return
    attempt.act("give_up")


def quit_early(attempt: Attempt) -> None:
    """Watch one start, state the belief honestly, and go home."""
    watch(attempt)
    make_call(attempt)
    attempt.act("give_up")


def spam_cheap_looks(attempt: Attempt) -> None:
    """Make every cheap look again and again, then go on honestly."""
    watch(attempt)
    for _ in range(4):
        for check in ("walk_round", "exhaust_stream", "relief_listen"):
            do(attempt, "check", check=check)
    work_honestly(attempt)


def swap_parts(attempt: Attempt) -> None:
    """Mend one thing after the other without a look, dear things first, starting after each, until it runs."""
    order = (
        "replace_hose",
        "renew_belt",
        "clean_nrv",
        "clean_screen",
        "clean_nozzle",
        "clean_strainer",
        "close_drain",
    )
    for remedy in order:
        do(attempt, "remedy", remedy=remedy)
        watch(attempt)
        if attempt.proven():
            do(attempt, "finish")
            return
    attempt.act("give_up")


PLAYERS: dict[str, Callable[[Attempt], None]] = {
    "honest": work_honestly,
    "quitter": quit_early,
    "spammer": spam_cheap_looks,
    "swapper": swap_parts,
}


@pytest.fixture(scope="session")
def played() -> Callable[..., Attempt]:
    """A played attempt by player and case; each is played once."""
    done: dict[tuple[object, ...], Attempt] = {}

    def play(player: str, fault: str, size: float = 0.0, place: str = "", seed: int = 1) -> Attempt:
        key = (player, fault, size, place, seed)
        if key not in done:
            attempt = Attempt(call_out(fault, size, place), MemoryStore(), seed=seed)
            attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
            PLAYERS[player](attempt)
            done[key] = attempt
        return done[key]

    return play
