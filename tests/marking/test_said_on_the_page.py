"""What the page and a lesson say is done as they say it, and costs nothing; what is called better fits how
the engine stands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.option import CHECK, WATCH, Option
from simulator.instruments.checks import CHECKS
from simulator.marking.economy import Judged
from simulator.marking.mark import Marked
from simulator.marking.service import debrief_and_keep, marked_attempt
from simulator.marking.which_of_two import BESIDE
from simulator.panels.lessons.air_gets_in.page import PLAN
from simulator.rig.remedies import REMEDIES
from simulator.scenario import Scenario
from simulator.studies.trainees import Expert
from simulator.texts import entry, text
from tests.marking.conftest import call_out, do


class AsTold(Expert):
    """Walks round, watches a start, makes some looks in their order, then goes on as the expert.

    Parameters
    ----------
    looks : ids of looks, each made at all its places until one of ``finds`` is shown.
    """

    def __init__(self, attempt: Attempt, looks: Sequence[str], finds: Sequence[str] = ()) -> None:
        super().__init__(attempt, 7)
        self.looks, self.finds = looks, finds

    def choices(self) -> Iterable[Option]:
        """As told, then as the expert."""
        yield from self.walk()
        yield self.watching()
        for name in self.looks:
            for look in [one for one in self.offered(CHECK) if one.id == name]:
                yield look
                if self.attempt.log[-1]["result"].get("outcome") in self.finds:
                    yield from super().choices()
                    return
        yield from super().choices()


def _marked(scenario: Scenario, looks: Sequence[str], finds: Sequence[str] = ()) -> Marked:
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=7)
    AsTold(attempt, looks, finds).play()
    return marked_attempt(attempt)[2]


def _of(marked: Marked, name: str) -> list[Judged]:
    return [one for one in marked.judged if one.step.option.id == name]


@pytest.mark.parametrize("size", [0.0055, 0.007])
def test_bolts_or_gasket_is_looked_at_for_nothing_where_foam_points_at_the_flange(size: float) -> None:
    """It cost six marks, and the list said itself that foam cannot tell the two works apart."""
    assert "Foam cannot tell" in text("panel.acts.choose.tighten_flange")
    marked = _marked(call_out("flange_leaks", size), ["foam_pump", "flange_look"])
    foam, look = _of(marked, "foam_pump")[0], _of(marked, "flange_look")[0]
    assert foam.step.result["outcome"] == "drawn_in_flange"
    assert look.step.result["outcome"] == "gasket_torn"
    assert look.lost == 0.0
    assert not _of(marked, "tighten_flange")


def test_bolts_seen_loose_are_tightened_for_nothing() -> None:
    assert dict(CHECKS["flange_look"].calls_for)["bolts_loose"] == "tighten_flange"
    scenario = call_out("flange_works_loose", 0.011)
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=7)
    do(attempt, "check", check="walk_round")
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": 90.0})
    for name in ("foam_pump", "flange_look"):
        do(attempt, "check", check=name)
    assert attempt.log[-1]["result"]["outcome"] == "bolts_loose"
    do(attempt, "remedy", remedy="tighten_flange", place="")
    attempt.act("give_up")
    marked = marked_attempt(attempt)[2]
    assert _of(marked, "flange_look")[0].lost == 0.0
    assert _of(marked, "tighten_flange")[0].lost == 0.0


def test_bolts_and_gasket_are_no_free_look_where_nothing_points_at_them() -> None:
    assert _of(_marked(call_out("strainer_plugged", 0.98), ["flange_look"]), "flange_look")[0].lost > 1.0
    twice = _marked(call_out("flange_leaks", 0.007), ["foam_pump", "flange_look", "flange_look"])
    first, second = (one.lost for one in _of(twice, "flange_look"))
    assert first == 0.0
    assert second > 1.0


LESSON_04 = ("listen_line", "foam_pump", "foam_joint", "exhaust_stream", "nrv_lid")
FOUND = ("hiss_pump", "hiss_hose", "drawn_in_flange", "drawn_in_seal", "drawn_in", "fouled")


@pytest.mark.parametrize(
    "seed",
    [22, *(pytest.param(seed, marks=pytest.mark.full) for seed in (7, 33, 30, 64, 3, 11, 9, 18, 0, 2))],
)
def test_the_call_of_lesson_04_done_as_it_teaches_costs_nothing(seed: int) -> None:
    """The lid after foam that lay still cost up to ten minutes: “Better then: Feel the exhaust stream”."""
    marked = _marked(PLAN.solo_call.scenario(seed, 0), LESSON_04, FOUND)
    looks = [one for one in marked.judged if one.step.option.id in LESSON_04]
    assert looks
    assert [(one.step.option.id, one.step.option.place, one.lost) for one in looks if one.lost > 0.0] == []


def _idle(before: float, look: str) -> Attempt:
    """A call at which the pump is started anew for a look, and runs on for some seconds [s] before it."""
    attempt = Attempt(call_out("joint_ring", 0.0075, "joint:1"), MemoryStore(), mode="practice", seed=3)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    do(attempt, "check", check="walk_round")
    for seconds in (80.0, before):
        do(attempt, "start_engine", speed="rated")
        while attempt.shown < seconds:
            attempt.see(min(attempt.shown + 9.0, seconds))
        if seconds == before:
            do(attempt, "check", check=look)
        attempt.act("stop_engine")
    attempt.act("give_up")
    return attempt


def test_a_start_for_the_look_that_was_better_is_told_as_too_long_not_as_the_wrong_thing() -> None:
    """It said: Start it and watch the gauges. Better then: Walk the suction line and listen. It was started for that."""
    attempt = _idle(300.0, "listen_line")
    marked = marked_attempt(attempt)[2]
    start = [one for one in marked.judged if one.step.option.kind == WATCH][-1]
    assert start.lost > 1.0
    assert start.better.id != "watch"
    said = [item.sentence for part in marked.sheet.parts for item in part.evidence]
    assert not any("Start it and watch the gauges" in one and "Better then" in one for one in said)
    assert any("Start it and watch the gauges" in one and "longer than it had to" in one for one in said)
    told = [step for step in debrief_and_keep(attempt)["steps"] if step["lost_minutes"] > 1.0]
    ways = {text(f"marking.steps.{key}") for key in ("expert_too_long", "warned_dry")}
    assert told[-1]["expert_line"] in ways
    assert CHECKS["listen_line"].label in told[-1]["why"]


def test_a_look_at_a_running_pump_that_would_have_been_better_is_told_with_its_start() -> None:
    """It said: Better then: Feel the exhaust stream, of an engine that stood."""
    attempt = Attempt(call_out("joint_ring", 0.0075, "joint:1"), MemoryStore(), mode="practice", seed=3)
    do(attempt, "check", check="walk_round")
    do(attempt, "start_engine", speed="rated")
    attempt.act("wait", {"seconds": 80.0})
    attempt.act("stop_engine")
    do(attempt, "check", check="nrv_lid")
    attempt.act("give_up")
    marked = marked_attempt(attempt)[2]
    lid = _of(marked, "nrv_lid")[0]
    assert "running" in CHECKS[lid.better.id].needs
    label = CHECKS[lid.better.id].label
    act = f"start it, then {label[:1].lower()}{label[1:]}"
    said = [item.sentence for part in marked.sheet.parts for item in part.evidence]
    assert any(f"Better then: {act}" in one for one in said)
    assert any(act in step["expert_line"] for step in debrief_and_keep(attempt)["steps"])


def test_the_words_that_a_look_is_free_for_stand_beside_both_works() -> None:
    for each in BESIDE:
        assert each.words in text(f"panel.acts.choose.{each.works[0]}")
        assert set(each.works) <= set(entry("panel.acts.choose"))
        assert len({REMEDIES[work].part for work in each.works}) == 1
        assert set(dict(CHECKS[each.look].calls_for).values()) == set(each.works)
        assert each.points[1] in CHECKS[each.points[0]].outcomes
