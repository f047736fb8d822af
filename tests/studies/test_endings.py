"""The advice ends rightly, on the list and off it; what stands off the list really does."""

from __future__ import annotations

import math

import pytest

from simulator.attempt.case import sound_run
from simulator.rig.presets import load_rig
from simulator.rig.remedies import REMEDIES
from simulator.rig.rig import Site
from simulator.run import simulate
from simulator.run.outcome import proves
from simulator.studies.endings import SETS, STRANGE, Ended, faulty, jobs, play, report
from simulator.studies.off_the_list import CAUSES, SPAN, OffTheList, attempt_with, troubles
from tests.conftest import some

CARD = (load_rig("osier"), Site(lift=3.0, submergence=1.0))


@pytest.mark.parametrize("name", some(CAUSES))
def test_no_work_of_the_yard_puts_right_what_stands_on_no_list(name: str) -> None:
    cause, bad = CAUSES[name], 0.9
    card = CARD if cause.sites[0][1] < 5.0 else (load_rig("osier"), Site(lift=5.6, submergence=1.0))
    assert troubles(cause, bad, card)
    case = OffTheList(cause, bad, card, 1)
    for remedy in REMEDIES.values():
        for place in remedy.places(card[0]):
            finding = case.mend(remedy, place)
            assert finding == remedy.finding(*card, place), (
                f"{remedy.id} finds the part as it is in good order"
            )
    assert case.parts == card
    assert not proves(simulate(case.rig, case.site, duration=SPAN), sound_run(*card))


def test_a_look_that_searches_elsewhere_finds_its_part_in_good_order() -> None:
    attempt = attempt_with("frost_crack", 4)
    attempt.act("put_on_ppe")
    case = attempt.case
    assert isinstance(case, OffTheList)
    assert case.rig.casing.gasket_hole > 0.0
    assert case.parts[0].casing.gasket_hole == 0.0


def test_each_cause_has_its_reason_and_its_own_change() -> None:
    assert len(CAUSES) >= 10
    assert len({cause.why for cause in CAUSES.values()}) == len(CAUSES)
    changed = {repr(cause.change(*CARD, 0.5)) for cause in CAUSES.values()}
    assert len(changed) == len(CAUSES)
    for cause in CAUSES.values():
        assert cause.change(*CARD, 0.3) != cause.change(*CARD, 0.7), "it can be worse"


def test_the_sets_are_300_and_100() -> None:
    todo = list(jobs(300, 100, 1))
    counts = {group: sum(job[0] == group for job in todo) for group in (*SETS, STRANGE)}
    assert counts == {**SETS, STRANGE: 100}
    assert sum(SETS.values()) == 300
    assert len(set(todo)) == 400
    assert len({faulty("pair", number, 1).fault_ids for number in range(0, 55, 11)}) == 5


def test_a_rig_without_a_motive_gauge_has_none_that_lies() -> None:
    """It drew a place for a gauge that the rig Sedge does not have, and fell over."""
    drawn = [faulty("liar", number, 64200) for number in range(5, 70, 6)]
    assert {call.rig for call in drawn} >= {"sedge"}
    assert not any("motive_gauge_stuck" in call.fault_ids for call in drawn if call.rig == "sedge")


def test_what_should_not_be_is_told() -> None:
    def some_ended(group: str, how: str, circles: bool = False) -> Ended:
        return Ended(group, "x", "osier", how, circles, ())

    good = [some_ended("single", "proof")] * 3 + [some_ended(STRANGE, "none of these")]
    assert report(good) == []
    assert len(report([some_ended("single", "none of these"), some_ended(STRANGE, "proof")])) == 2
    assert len(report([some_ended("single", "cut off", circles=True)])) == 1


@pytest.mark.full
@pytest.mark.parametrize("job", [("late", 7, 7100), ("pair", 45, 7100), ("pair", 5, 7500)], ids=str)
def test_late_and_second_troubles_end_in_a_proof(job: tuple[str, int, int]) -> None:
    """Each went to "none of these" before late faults were thought of and what was mended was set aside."""
    ended = play(job)
    assert ended.how == "proof", ended.steps
    assert not ended.circles


@pytest.mark.full
@pytest.mark.parametrize(
    "job",
    [("single", 75, 9100), ("liar", 18, 9100), ("late", 7, 9100), ("pair", 0, 9100), ("late", 14, 64200)],
    ids=str,
)
def test_what_primes_late_or_beside_the_times_tried_ends_in_a_proof(job: tuple[str, int, int]) -> None:
    """Each went to "none of these": looks stood for the wrong side of a prime, primes past 120 s for none at all."""
    ended = play(job)
    assert ended.how == "proof", ended.steps
    assert not ended.circles


@pytest.mark.full
def test_what_fits_nothing_ends_in_none_of_these() -> None:
    ended = play((STRANGE, 7, 7100))
    assert ended.how == "none of these"
    assert math.isfinite(len(ended.steps))
