"""A look of the studies shows what the same look shows in the yard: one way to draw it, by the same chances."""

from __future__ import annotations

import math

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.diagnosis.evidence import story_of
from simulator.diagnosis.outlook import Observer
from simulator.instruments.checks import CHECKS, check_places
from simulator.instruments.look import Check
from simulator.rig.presets import load_rig, standard_site
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.studies.expert_play import Place

AT = 55  # [s]
NEAR = 0.04  # [-] the studies' runs are integrated less closely


def started(fault: str, size: float) -> Attempt:
    """A call-out of a fault, its engine running for a while."""
    call = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault(fault, size),),
    )
    attempt = Attempt(call, MemoryStore(), seed=3)
    make_ready(attempt, start := Step("start_engine", {"speed": "rated"}, ""))
    attempt.act(start.action, start.args)
    attempt.act("wait", {"seconds": float(AT)})
    return attempt


def looks(attempt: Attempt, *, running: bool) -> list[tuple[Check, str]]:
    """Every look that can be made with the engine running, or stopped."""
    kept = {"stopped", "isolated"} if running else {"running"}
    rig = attempt.case.sound_rig
    return [
        (check, place)
        for check in CHECKS.values()
        if not kept & set(check.needs)
        for place in check_places(check, rig)[:2]
    ]


@pytest.mark.parametrize(
    ("fault", "size"),
    [("drain_open", 0.2), ("strainer_plugged", 0.99), ("air_line_kinked", 0.7), ("belt_loose", 0.5)],
)
@pytest.mark.parametrize("running", [True, False])
def test_a_look_of_the_studies_shows_what_the_yard_shows(fault: str, size: float, running: bool) -> None:
    # "The drain stands open", of a shut one, was met by simulated people alone: they drew plain mistakes as well
    attempt = started(fault, size)
    if not running:
        attempt.act("stop_engine")
    yard, story = attempt.case, story_of(attempt.state)
    here = Place(Observer(*story.sound), *story.true, yard.seed)
    for check, place in looks(attempt, running=running):
        seen = yard.look(attempt.timeline, attempt.yard.shown, running, place)
        theirs = here.looked_at(check, place, float(AT) if running else math.nan)
        one, other = check.chances_seen(seen), check.chances_seen(theirs)
        assert one == pytest.approx(other, abs=NEAR), (check.id, place)
        told = here.look(check.id, place, float(AT) if running else math.nan)
        assert one[told] > 0.0, (check.id, place, told)


@pytest.mark.parametrize("check", [check.id for check in CHECKS.values() if check.calls_for])
def test_no_simulated_person_finds_work_where_there_is_none(check: str) -> None:
    rig, site = load_rig("osier"), standard_site()
    observer, item = Observer(rig, site), CHECKS[check]
    places = check_places(item, rig)
    if not places:
        return
    told = {Place(observer, rig, site, seed).look(check, places[0], float(AT)) for seed in range(200)}
    assert not told & {outcome for outcome, _ in item.calls_for}
