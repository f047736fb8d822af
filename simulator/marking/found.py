"""Part one: was it found and fixed. Proof, place and size of the work, and stated certainty.

Throughout: ``cases`` are the hypotheses of the rig in good order.
"""

from __future__ import annotations

from collections.abc import Collection

from simulator.attempt.calls import MARKERS
from simulator.diagnosis.evidence import Story
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.words import fault_name, minutes_words
from simulator.marking.certainty import as_one, certainty_points, stated
from simulator.marking.rig_state import Work, cheapest_minutes, proves, touches, works
from simulator.marking.sheet import FOUND, Evidence, Part, because, part
from simulator.rig.faults import FAULTS
from simulator.rig.rig import Rig, Site
from simulator.texts import text

PROOF, PLACE, SIZE, CERTAINTY = 15.0, 5.0, 5.0, 20.0
CHARGE = 0.3  # points a minute of work that changed nothing
MAX_CHARGE = 5.0  # points for one such work
NOT_TOUCHED = 2.5  # points of PLACE and of SIZE where the rig proves itself with the fault still in it


def mark_found(story: Story, cases: HypothesisSet, wanted: Collection[int] = ()) -> Part:
    """Points for a story; not marked where the attempt was stopped for safety.

    Parameters
    ----------
    wanted : numbers in the log of the work that an old hand would have done as well: in vain, it costs nothing.
    """
    if story.ended == "stopped_for_safety":
        return part(FOUND, [because(0.0, "found.not_reached")], marked=False)
    done, left = works(story)
    evidence = [*_proof(story, done, wanted), *_place_and_size(story, done, left), *_certainty(story, cases)]
    return part(FOUND, evidence)


def charge(work: Work) -> float:
    """Points that a piece of work costs which changed nothing.

    Examples
    --------
    >>> charge(Work("clean_nrv", "", 15.0, False)), charge(Work("clean_nrv", "", 15.0, True))
    (4.5, 0.0)
    """
    return 0.0 if work.changed else min(CHARGE * work.minutes, MAX_CHARGE)


def _proof(story: Story, done: list[Work], wanted: Collection[int]) -> list[Evidence]:
    if story.ended != "finished":
        return [because(0.0, "found.not_proven")]
    seconds = next(
        (event["result"].get("prime_time_s") for event in reversed(story.log) if event["act"] == "finish"),
        None,
    )
    out = [because(PROOF, "found.proven", seconds=round(seconds or 0.0))]
    left = PROOF
    for work in done:
        cost = min(charge(work), left)
        if cost > 0.0 and work.seq in wanted:
            out.append(because(0.0, "found.not_needed_but_right", what=text(f"remedies.{work.remedy}.name")))
        elif cost > 0.0:
            left -= cost
            out.append(because(-cost, "found.not_needed", what=text(f"remedies.{work.remedy}.name")))
    return out


def _place_and_size(story: Story, done: list[Work], left: tuple[Rig, Site]) -> list[Evidence]:
    if not story.faults:
        if done:
            return [because(0.0, "found.good_rig_mended")]
        right = story.ended == "finished"
        return [because(PLACE + SIZE if right else 0.0, "found.good_rig" if right else "found.good_rig_left")]
    out: list[Evidence] = []
    share = 1.0 / len(story.faults)
    for item in story.faults:
        name, place = item["fault"], item.get("place", "")
        here = [work for work in done if touches(work, name, place)]
        if not here:
            unharmed = story.ended == "finished" and not done and proves(*story.true, story.sound)
            points = 2.0 * NOT_TOUCHED * share if unharmed else 0.0
            key = "found.pumps_with_it" if unharmed else "found.wrong_place"
            out.append(because(points, key, fault=fault_name(name)))
            continue
        out.append(because(PLACE * share, "found.right_place", fault=fault_name(name)))
        out.append(_size(story, name, place, here, left, share))
    return out


def _size(
    story: Story, name: str, place: str, here: list[Work], left: tuple[Rig, Site], share: float
) -> Evidence:
    spent = sum(work.minutes for work in here)
    least = cheapest_minutes(story, name, place)
    fixed = any(work.changed for work in here) and (len(story.faults) > 1 or proves(*left, story.sound))
    if not fixed:
        return because(0.0, "found.not_enough", fault=fault_name(name))
    if least >= spent:
        return because(SIZE * share, "found.right_size")
    fields = {"spent": minutes_words(spent), "least": minutes_words(least)}
    return because(SIZE * share * least / spent, "found.more_than_needed", **fields)


def _certainty(story: Story, cases: HypothesisSet) -> list[Evidence]:
    """Each of the two calls counts half; a call that was not made counts as knowing nothing."""
    calls = [event for event in story.log if event["act"] == "call" and event["accepted"]]
    mended = any(event["act"] == "remedy" and event["accepted"] for event in story.log)
    markers = [as_one(event["result"]["markers"], story.faults) for event in calls[:2]]
    stood_by = len(markers) == 1 and (mended or story.ended == "finished")
    if stood_by:
        markers.append(markers[0])  # no second call was needed, or none was made before the work
    truths = [FAULTS[name].family for name in story.fault_ids]
    out = []
    for number in (1, 2):
        if number > len(markers):
            out.append(because(0.0, f"found.call_{number}_missing"))
            continue
        statement = stated(markers[number - 1], cases.families)
        points = sum(certainty_points(statement, truth, CERTAINTY / 2.0) for truth in truths) / len(truths)
        on_it = round(10.0 * sum(statement.get(truth, 0.0) for truth in dict.fromkeys(truths)))
        family = text("diagnosis.and").join(text(f"faults.families.{f}") for f in dict.fromkeys(truths))
        word = "well" if points >= 0.5 else "badly" if points <= -0.5 else "even"
        if word != "well" and len(set(truths)) > 1 and 2 * on_it >= MARKERS:
            word = "one_of_two"
        out.append(
            because(
                points,
                f"found.call_{'stood' if number == 2 and stood_by else number}_{word}",
                n=on_it,
                family=family,
            )
        )
    return out
