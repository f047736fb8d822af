"""What a tape gives at the water: figures, in the note and in the picture, and on the card's word until then."""

from __future__ import annotations

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.commands import perform, perform_again
from simulator.attempt.hints import RuleOfThumbCoach
from simulator.attempt.state import AttemptState, Terms
from simulator.instruments.checks_while_running import DIPPED, MISREAD, tape_read
from simulator.instruments.look import Look
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.scenario import Scenario, SiteChoice, choose_fault, random_scenario

RIG, CARD = load_rig("osier"), standard_site()


def look_at(fault: str, size: float) -> Look:
    rig, site = FAULTS[fault].apply(RIG, CARD, size, "")
    return Look(rig, site, card_rig=RIG, card_site=CARD)


def test_the_tape_reads_what_is_there() -> None:
    high = look_at("pump_high", 7.0)
    assert tape_read(high, "lift_more") == {
        "lift": pytest.approx(high.site.lift, abs=0.005),
        "depth": pytest.approx(CARD.submergence, abs=0.005),
    }
    shallow = look_at("strainer_high", FAULTS["strainer_high"].sizes[1])
    assert tape_read(shallow, "strainer_shallow")["depth"] <= max(shallow.site.submergence, 0.0) + 0.005


def test_a_slip_misreads_the_tape_so_that_figure_and_sentence_agree() -> None:
    as_card = tape_read(look_at("pump_high", 7.0), "as_card")
    assert as_card["lift"] == pytest.approx(CARD.lift, abs=0.005)
    sound = Look(RIG, CARD, card_rig=RIG, card_site=CARD)
    assert tape_read(sound, "lift_more")["lift"] >= CARD.lift + DIPPED - MISREAD - 0.005
    assert tape_read(sound, "strainer_shallow")["depth"] < CARD.submergence


def test_note_picture_and_level_follow_the_tape_and_the_card_until_then() -> None:
    attempt = Attempt(
        Scenario(
            title="A call",
            brief="It will not draw.",
            rig="osier",
            site=SiteChoice(lift_m=3.4),
            faults=(choose_fault("pump_high", 8.5),),
        ),
        MemoryStore(),
        seed=1,
    )
    before = attempt.snapshot()
    assert before.rig["lift_m"] == pytest.approx(3.4)
    assert before.rig["as_told"]
    assert before.curve["as_told"]
    for act in ("put_on_ppe", "guard_edge", "call_second_person"):
        attempt.act(act)
    reply = attempt.act("check", {"check": "dip_water"})
    assert reply.accepted
    outcome = attempt.log[-1]["result"]["outcome"]
    assert outcome == "lift_more"
    lift = attempt.log[-1]["result"]["figures"]["lift"]
    assert lift == pytest.approx(attempt.case.site.lift, abs=0.005)
    assert f"{lift:.1f} m" in reply.sentence
    assert " ft" in attempt.snapshot("us").notes[-1]["text"]
    after = attempt.snapshot()
    assert after.rig["lift_m"] == pytest.approx(lift, abs=0.01)
    assert not after.rig["as_told"]  # a tape has measured it
    heights = [z for _, z in after.rig["profile"]]
    assert heights[-1] == pytest.approx(lift, abs=0.01)
    assert after.curve["static_lift_pa"] > 2.0 * before.curve["static_lift_pa"]


def test_a_dip_that_was_kept_without_figures_replays_as_given() -> None:
    terms = Terms("a", random_scenario(7), "practice", 7, RuleOfThumbCoach())
    state, later = AttemptState(terms), AttemptState(terms)
    acts = ("put_on_ppe", "guard_edge", "call_second_person")
    log = [perform(state, act, {}) for act in acts]
    dip = perform(state, "check", {"check": "dip_water", "place": "water"})
    assert dip["result"]["figures"]
    before = {**dip, "result": {**dip["result"], "figures": {}}}
    before["notes"] = [{"kind": "look", "key": "checks.dip_water.outcomes.as_card", "fields": {}, "clock": 0}]
    assert all(perform_again(later, event) for event in [*log, before])
