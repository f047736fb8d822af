"""The coach of the pages is the expert that the marks go by: who follows its words to the letter loses nothing."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest

from simulator import compiled
from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.hints import RuleOfThumbCoach, hint_steps
from simulator.attempt.notes import render
from simulator.diagnosis import hypothesis_set
from simulator.diagnosis.advice import options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.look_first import SHARE, confirming
from simulator.diagnosis.option import CHECK, FINISH, HAND_OVER, REMEDY, Option
from simulator.diagnosis.words import safe_label
from simulator.instruments.checks import CHECKS
from simulator.marking.service import marked_attempt
from simulator.panels.exercise.coach import PageCoach
from simulator.panels.exercise.opening import begin
from simulator.panels.exercise.page_model import build_page
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.scenario import load_scenario, random_scenario
from simulator.studies.skill import study_scenarios
from simulator.studies.trainees import Expert
from simulator.texts import text
from tests.marking.conftest import call_out

SHIPPED = Path(__file__).parents[3] / "lessons" / "scenarios"
NO_LOSS = {"economy.well", "economy.start", "economy.hints"}
CALLS = 40


class Follower(Expert):
    """Asks for all three steps at every turn, reads the third, and does what it says."""

    name = "follower"

    def choices(self) -> Iterable[Option]:
        """What the third step says, until it says to stop."""
        while True:
            for _ in range(3):
                self.attempt.act("ask_hint")
            said = render(self.attempt.log[-1]["notes"][0])
            done = self.told(said)
            if done.kind == HAND_OVER:
                return
            if done.kind != FINISH:
                yield done

    def told(self, said: str) -> Option:
        """The thing to do that a sentence names; there is just one."""
        ends = (Option(FINISH, "finish", "", 0.0), Option(HAND_OVER, "hand_over", "", 0.0))
        every = [*self.offered(CHECK), *self.offered(REMEDY), self.watching(), *ends]
        named = [one for one in every if said.startswith(text("marking.hints.do", what=safe_label(one)))]
        assert len(named) == 1, said
        return named[0]


def _followed(scenario, seed: int) -> tuple[list[str], bool]:
    store = MemoryStore()
    attempt = Attempt(scenario, store, mode="practice", seed=seed, coach=PageCoach())
    Follower(attempt, seed).play()
    refused = [event for event in attempt.log if not event["accepted"] and event["act"] != "finish"]
    sheet = marked_attempt(attempt)[2].sheet
    economy = next(part for part in sheet.parts if part.id == "economy")
    lost = [
        item.sentence
        for item in economy.evidence
        if item.points < 0.0 and item.key.removeprefix("marking.") not in NO_LOSS
    ]
    # nor does work that the coach picked and that turned out to be in vain
    vain = [item for part in sheet.parts for item in part.evidence if item.key.endswith(".not_needed")]
    lost += [item.sentence for item in vain if item.points < 0.0]
    safety = next(part for part in sheet.parts if part.id == "safety")
    return [*lost, *(str(event["act"]) for event in refused)], bool(safety.points)


def test_the_coach_of_a_page_is_the_expert() -> None:
    attempt = begin(random_scenario(3), MemoryStore(), "")
    assert isinstance(attempt.state.terms.coach, PageCoach)


def test_its_words_followed_to_the_letter_cost_nothing() -> None:
    scenario = load_scenario(SHIPPED / "teal_pond_2.scenario.yaml")
    assert _followed(scenario, 11) == ([], False)


@pytest.mark.full  # among them 15, where to stop the engine for the work made another act the better one
@pytest.mark.parametrize("number", range(CALLS))
def test_its_words_followed_to_the_letter_cost_nothing_at_many_calls(number: int) -> None:
    assert _followed(study_scenarios(CALLS)[number], 100 + number) == ([], False)


def test_the_same_words_never_cost_twice() -> None:
    attempt = begin(load_scenario(SHIPPED / "teal_pond_2.scenario.yaml"), MemoryStore(), "")
    attempt.act("ask_hint")
    attempt.act("put_on_ppe")  # something was done, and it changes nothing that a hint rests on
    attempt.act("ask_hint")
    first, second = (event for event in attempt.log if event["act"] == "ask_hint")
    assert render(first["notes"][0]) == render(second["notes"][0])
    assert hint_steps(attempt.log) == (1,)
    said = build_page(attempt)["coach"]["lines"]
    assert text("panel.coach.told_before") in said


def test_a_hint_that_no_longer_holds_is_taken_down() -> None:
    """It stayed up: “A look helps most now. Where: along the hose”, while the line said to mend what it found."""
    attempt = begin(load_scenario(SHIPPED / "teal_pond_2.scenario.yaml"), MemoryStore(), "")
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    for act in ("put_on_ppe", "secure_discharge"):
        attempt.act(act)

    def shown() -> list[str]:
        return build_page(attempt)["coach"]["lines"]

    attempt.act("check", {"check": "walk_round"})
    attempt.act("ask_hint")
    said = shown()
    assert said
    attempt.act("start_engine")
    attempt.see(9.0)
    assert shown() == said, "a start may be what it asked for"
    attempt.act("check", {"check": "listen_line"})
    assert attempt.log[-1]["accepted"]
    assert shown() == []
    assert said[0] in [note["text"] for note in build_page(attempt)["notes"]], "the notes keep it"
    attempt.act("ask_hint")
    attempt.act("stop_engine")
    assert shown() != [], "to stop is what makes the next act safe"
    attempt.act("start_engine")
    attempt.see(9.0)
    attempt.act("stop_engine")
    assert shown() == [], "another start has been watched since"


def test_the_second_step_names_place_and_suspects_and_the_third_what_the_call_holds() -> None:
    """The words of the steps, of one call: none speaks of an act that it does not name."""
    attempt = Attempt(
        call_out("strainer_plugged", FAULTS["strainer_plugged"].size.drawn(0.9)),
        MemoryStore(),
        mode="practice",
        seed=4,
        coach=PageCoach(),
    )
    Follower(attempt, 4).play()
    notes = [event["notes"][0] for event in attempt.log if event["act"] == "ask_hint"]
    works = [one for one in notes if one["key"] == "marking.hints.why_remedy"]
    assert works
    assert all(one["fields"]["where"] and one["fields"]["suspect"] for one in works)
    looks = [one for one in notes if one["key"] == "marking.hints.why_check"]
    assert all(one["fields"]["where"] for one in looks)
    calls = [one for one in notes if one["key"] == "marking.hints.do_call"]
    assert calls
    assert all(1 <= one["fields"]["n"] <= 10 for one in calls)


def test_before_a_start_it_says_where_to_begin() -> None:
    attempt = begin(load_scenario(SHIPPED / "teal_pond_2.scenario.yaml"), MemoryStore(), "")
    attempt.act("ask_hint")
    said = render(attempt.log[-1]["notes"][0])
    assert said in (text("attempt.hints.walk_first.ask"), text("attempt.hints.run_it.ask"))


def test_without_a_compiler_and_nothing_kept_rules_of_thumb_give_the_hint(monkeypatch) -> None:
    monkeypatch.setattr(compiled, "PLAIN", True)
    monkeypatch.setattr(hypothesis_set, "_sets", {})
    attempt = begin(random_scenario(77), MemoryStore(), "")
    assert not hypothesis_set.at_hand(attempt.case.sound_rig, attempt.case.sound_site)
    assert PageCoach().hint(attempt.state, 1) == RuleOfThumbCoach().hint(attempt.state, 1)


@pytest.mark.parametrize(
    ("fault", "look", "work"),
    [
        ("pump_high", "dip_water", "lower_pump"),
        pytest.param("compressor_worn", "belt", "renew_compressor", marks=pytest.mark.full),
        pytest.param("flange_leaks", "foam_pump", "renew_gasket", marks=pytest.mark.full),
    ],
)
def test_before_long_work_on_needles_alone_it_asks_for_a_quick_look_at_no_loss(
    fault: str, look: str, work: str
) -> None:
    size = FAULTS[fault].size
    assert size is not None
    attempt = Attempt(
        call_out(fault, size.drawn(0.6)), MemoryStore(), mode="practice", seed=4, coach=PageCoach()
    )
    Follower(attempt, 4).play()
    made = [
        event["args"].get("check") or event["args"].get("remedy")
        for event in attempt.log
        if event["accepted"]
    ]
    assert made.index(look) < made.index(work)
    marked = marked_attempt(attempt)[2]
    assert [item for item in marked.judged if item.lost > 0.0] == []
    seen = next(item for item in marked.judged if item.step.option.id == look)
    assert seen.same
    assert CHECKS[look].minutes <= SHARE * REMEDIES[work].minutes


def test_once_a_look_has_shown_it_no_other_is_asked_for() -> None:
    cases = hypothesis_set.hypothesis_set(load_rig("osier"), standard_site())
    every = options(cases)
    work = next(one for one in every if one.id == "lower_pump")
    belief = Belief(cases)
    look = confirming(belief, work, every)
    assert look is not None
    assert look.id == "dip_water"
    assert confirming(belief.update_check("dip_water", "lift_more"), work, every) is None
    quick = next(one for one in every if one.id == "close_drain")
    assert confirming(belief, quick, every) is None, "nothing is quick beside a minute's work"
