"""Whether two faults are there is never asked of the call-out: a second one counts once it shows by what was seen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.evidence import story_of
from simulator.diagnosis.second_trouble import shows_second, trail_of, weight_of_two
from simulator.marking.service import cases_for
from simulator.scenario import Scenario, load_scenario
from simulator.scenario.choices import SiteChoice, choose_fault

FILES = sorted((Path(__file__).parents[2] / "lessons" / "scenarios").glob("*.scenario.yaml"))


def test_the_same_log_gives_the_same_belief_whatever_is_wrong() -> None:
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault("belt_loose", 0.7),),
    )
    attempt = Attempt(call, MemoryStore(), seed=1)
    attempt.act("put_on_ppe")
    attempt.act("check", {"check": "walk_round"})
    one = story_of(attempt.state)
    two = replace(one, faults=(*one.faults, {"fault": "drain_open", "open_percent": 50.0}))
    none = replace(one, faults=())
    assert cases_for(one).key == cases_for(two).key == cases_for(none).key
    ends = [trail_of(story, cases_for(story)).end for story in (one, two, none)]
    assert (ends[0].weights == ends[1].weights).all()
    assert (ends[0].weights == ends[2].weights).all()
    assert not any(h.second for h in cases_for(two).hypotheses)


@pytest.mark.full
@pytest.mark.parametrize(
    "path",
    [path for path in FILES if path.read_text(encoding="utf-8").count("- fault:") > 1],
    ids=lambda path: path.name.split(".")[0],
)
def test_a_second_trouble_shows_and_the_advice_ends_in_a_proof(path: Path) -> None:
    from simulator.studies.trainees import Expert

    attempt = Attempt(load_scenario(path), MemoryStore(), seed=1)
    Expert(attempt).play()
    trail = trail_of(story_of(attempt.state), cases_for(story_of(attempt.state)))
    assert attempt.yard.ended == "finished"
    remedies = {
        event["args"]["remedy"] for event in attempt.log if event["act"] == "remedy" and event["accepted"]
    }
    if len(remedies) > 1:
        shown = shows_second(trail)
        assert shown is None or weight_of_two(trail) > 0.0
