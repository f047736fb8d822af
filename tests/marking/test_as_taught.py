"""Rules 4 and 5 of the marks: who follows card and lessons to the letter loses nothing; guesses count once it ran."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.advice import options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.card_lines import PICTURES, Advised, advised, picture, read_at
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.diagnosis.option import CHECK, Option
from simulator.diagnosis.outlook import time_index
from simulator.instruments.checks import CHECKS
from simulator.marking.again import why_since
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import UNDERSTANDING
from simulator.marking.taught_looks import TAUGHT, TELLING, Taught, taught
from simulator.rig.presets import load_rig, standard_site
from simulator.scenario import Scenario
from simulator.studies.skill import study_scenarios
from simulator.studies.trainees import Expert
from simulator.texts import entry, text
from tests.marking.conftest import call_out

CALLS = 40


class CardReader(Expert):
    """Walks round, lets it run its time, reads the gauges and looks where the card says; then as the expert."""

    name = "card reader"
    looks: tuple[Option, ...] = ()

    def choices(self) -> Iterable[Option]:
        """What the card says, in its order, until a look or the walk round has found something: that is put right first.
        Then what the expert does."""
        yield from self.walk()
        if not self.found():
            yield self.watching()
        line = None if self.found() or self.attempt.proven() else self.line()
        for look, good in zip(line.steps, line.in_order, strict=True) if line else ():
            offered = [one for one in self.offered(CHECK) if (one.id, one.place) == (look.id, look.place)]
            if not offered:
                continue
            self.looks = (*self.looks, offered[0])
            yield offered[0]
            seen = [event for event in self.attempt.log if event["act"] == "check" and event["accepted"]]
            if seen[-1]["result"]["outcome"] != good:
                break
        yield from super().choices()

    def outcomes(self) -> list[tuple[str, str]]:
        """Looks made and what they showed, in order."""
        made = [event for event in self.attempt.log if event["act"] == "check" and event["accepted"]]
        return [(event["args"]["check"], event["result"]["outcome"]) for event in made]

    def found(self) -> bool:
        """Whether a look, so far the walk round, has shown another thing than that all is in order."""
        return any(outcome != CHECKS[name].outcomes[0] for name, outcome in self.outcomes())

    def line(self) -> Advised | None:
        """The line of the printed card for what the gauges showed when it should have pumped."""
        name = self.cases.rig.name
        return {one.picture: one for one in advised(load_rig(name), standard_site(name))}.get(self.shows())

    def shows(self, end: str | None = None) -> str:
        """The picture that the gauges gave; of the needles alone where how it ended is told as ""."""
        story, cases = self.story, self.cases
        run = story.runs[max(story.runs)]
        vacuum, motive = run.needles[:, min(read_at(cases), run.needles.shape[1] - 1)]
        return picture(
            cases, float(vacuum), float(motive), run.end(self.attempt.shown) if end is None else end
        )


class LessonReader(CardReader):
    """Makes every look that a lesson names for what the gauges showed, as it reads, until one has found something."""

    name = "lesson reader"

    def choices(self) -> Iterable[Option]:
        """What lessons say, then what the expert does."""
        yield from self.walk()
        yield self.watching()
        found = self.found()
        pictures = {self.shows(), *({"motive_low", "motive_high"} & {self.shows("")})}
        for look in () if found or self.attempt.proven() else self.told(pictures):
            self.looks = (*self.looks, look)
            yield look
            if self.outcomes()[-1][1] != CHECKS[look.id].outcomes[0]:
                break
        yield from Expert.choices(self)

    def told(self, shows: set[str]) -> Iterable[Option]:
        """The looks of all lessons for some pictures that are on offer here, each once."""
        made: set[tuple[str, str]] = set()
        for each in (one for one in TAUGHT if shows & set(one.pictures)):
            for look in self.offered(CHECK):
                key = (look.id, look.place)
                known = self.outcomes()
                seen = set(each.after) & set(known)
                ready = not each.after or (seen == set(each.after) if each.each else seen)
                again = key in made or (look.id == "walk_round" and look.id in {name for name, _ in known})
                if look.id in each.looks and ready and not again:
                    made.add(key)
                    yield look


def _lost(
    scenario: Scenario, seed: int, kind: type[CardReader] = CardReader
) -> tuple[int, list[tuple[str, float]], bool]:
    """Looks taken as told, those that cost something [min], and whether points came off for safety."""
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=seed)
    reader = kind(attempt, seed)
    reader.play()
    marked = marked_attempt(attempt)[2]
    on_card = {(look.id, look.place) for look in reader.looks}
    first: dict[tuple[str, str], float] = {}
    for judged in marked.judged:
        key = (judged.step.option.id, judged.step.option.place)
        if key in on_card:
            first.setdefault(key, judged.lost)
    lost = [(name, lost) for (name, _), lost in first.items() if lost > 0.0]
    # a look at a rig that runs takes a start where it stood still
    lost += [
        (f"start for {then.step.option.id}", start.lost)
        for start, then in pairwise(marked.judged)
        if start.step.option.kind == "watch"
        and start.lost > 0.0
        and (then.step.option.id, then.step.option.place) in on_card
        and "running" in CHECKS[then.step.option.id].needs
    ]
    return len(reader.looks), lost, bool(marked.sheet.points("safety"))


@pytest.mark.parametrize(
    ("fault", "size"),
    [("exhaust_blocked", 0.93), pytest.param("screen_plugged", 0.95, marks=pytest.mark.full)],
)
def test_a_look_of_the_card_costs_nothing(fault: str, size: float) -> None:
    looks, lost, unsafe = _lost(call_out(fault, size), 7)
    assert (lost, unsafe) == ([], False)
    assert looks >= 1


@pytest.mark.full
@pytest.mark.parametrize("number", range(CALLS))
def test_a_look_of_the_card_costs_nothing_at_many_calls(number: int) -> None:
    _, lost, unsafe = _lost(study_scenarios(CALLS)[number], 100 + number)
    assert (lost, unsafe) == ([], False)


@pytest.mark.parametrize("each", TAUGHT, ids=lambda each: f"{each.where}-{each.looks[0]}")
def test_a_lesson_says_what_its_looks_are_free_for(each: Taught) -> None:
    area, *keys = each.where.split(".")
    said = entry(area)
    for key in keys:
        said = said[key]
    lines = said["text"] if isinstance(said, dict) else said
    assert each.words in " ".join(str(one) for one in lines).replace("**", "")
    assert set(each.pictures) <= set(PICTURES)
    assert set(each.looks) <= set(CHECKS)
    assert all(outcome in CHECKS[check].outcomes for check, outcome in each.after)


def test_the_first_outcome_of_a_look_that_is_told_is_that_of_a_good_part() -> None:
    cases = hypothesis_set(load_rig("osier"), standard_site())
    sound = cases.situations.start[0]
    for check in sorted(TELLING):
        for (name, _), chances in cases.chances.items():
            if name == check and "running" not in CHECKS[check].needs:
                assert int(np.argmax(chances[sound, time_index(CHECKS[check], np.nan)])) == 0, check


@pytest.mark.parametrize(
    ("fault", "size"),
    [
        ("exhaust_blocked", 0.93),
        (
            "compressor_worn",
            0.45,
        ),  # it primes and pumps badly, the motive needle low: the air line comes first (05)
        pytest.param("strainer_plugged", 0.98, marks=pytest.mark.full),
    ],
)
def test_looks_that_lessons_name_cost_nothing(fault: str, size: float) -> None:
    looks, lost, unsafe = _lost(call_out(fault, size), 7, LessonReader)
    assert (lost, unsafe) == ([], False)
    assert looks >= 1


@pytest.mark.full
@pytest.mark.parametrize("number", range(CALLS))
def test_looks_that_lessons_name_cost_nothing_at_many_calls(number: int) -> None:
    _, lost, unsafe = _lost(study_scenarios(CALLS)[number], 100 + number, LessonReader)
    assert (lost, unsafe) == ([], False)


def test_once_a_look_has_found_something_no_other_is_free() -> None:
    belief = Belief(hypothesis_set(load_rig("osier"), standard_site()))
    foam = next(one for one in options(belief.cases) if one.id == "foam_pump")
    assert taught(foam, belief, "below")
    heard = belief.update_check("listen_line", "hiss_hose", "", 100.0)
    assert not taught(foam, heard, "below")
    assert taught(foam, belief.update_check("listen_line", "quiet", "", 100.0), "below")
    assert not taught(foam, belief.update_check("foam_pump", "stays", "", 100.0), "below")
    assert not taught(foam, belief, "above")


def test_the_lid_is_as_taught_once_foam_lay_still_everywhere_and_the_exhaust_was_felt() -> None:
    belief = Belief(hypothesis_set(load_rig("osier"), standard_site()))
    lid = next(one for one in options(belief.cases) if one.id == "nrv_lid")
    assert not taught(lid, belief, "below")
    belief = belief.update_check("foam_pump", "stays", "", 100.0)
    belief = belief.update_check("exhaust_stream", "strong_on", "", 100.0)
    for joint in range(3):
        assert not taught(lid, belief, "below"), "a joint is left"
        belief = belief.update_check("foam_joint", "stays", f"joint:{joint}", 100.0)
    assert taught(lid, belief, "below")
    assert not taught(lid, belief, "above")


def test_a_plate_is_as_taught_where_nobody_can_listen_first() -> None:
    belief = Belief(hypothesis_set(load_rig("osier"), standard_site()))
    plate = next(one for one in options(belief.cases) if one.id == "blank_off")
    assert not taught(plate, belief, "below")
    assert not taught(plate, belief, "below", {"blank_off", "listen_line"})
    assert taught(plate, belief, "below", {"blank_off"})


def test_a_look_that_the_card_does_not_name_is_charged_as_ever() -> None:
    class Elsewhere(CardReader):
        """Makes the longest look there is instead."""

        def line(self) -> Advised | None:
            longest = max(self.offered(CHECK), key=lambda look: look.minutes)
            card = super().line()
            assert card is not None
            assert longest.id not in {step.id for step in card.steps}
            return Advised(card.picture, card.suspects, (longest,), ("",))

    attempt = Attempt(call_out("exhaust_blocked", 0.93), MemoryStore(), mode="practice", seed=7)
    reader = Elsewhere(attempt, 7)
    reader.play()
    (made,) = reader.looks
    assert max(j.lost for j in marked_attempt(attempt)[2].judged if j.step.option.id == made.id) > 1.0


def test_before_the_engine_ran_a_right_guess_earns_nothing() -> None:
    """A good guesser who handed every call over had 15 of 100."""
    for started in (False, True):
        attempt = Attempt(call_out("belt_loose", 0.5), MemoryStore(), mode="practice", seed=3)
        sound = hypothesis_set(load_rig("osier"), standard_site()).prime_times[0]
        attempt.act("predict", {"question": "sound_prime_time", "answer": round(float(sound))})
        if started:
            for name in ("put_on_ppe", "secure_discharge", "start_engine"):
                attempt.act(name)
            attempt.see(5.0)
        attempt.act("give_up")
        sheet = marked_attempt(attempt)[2].sheet
        part = next(part for part in sheet.parts if part.id == UNDERSTANDING)
        assert (part.points > 0.0) == started
        if not started:
            assert sheet.total == 0.0
            assert part.evidence[0].sentence == text("marking.understanding.not_begun")


def test_an_older_sheet_is_told_why_its_marks_differ() -> None:
    assert "the yard's card" in why_since(3)
    assert why_since(3) in why_since(1)
