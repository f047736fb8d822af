"""Rules 4 of the marks: who follows the yard's card to the letter loses nothing; guesses count once the engine ran."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.card_lines import Advised, advised, picture, read_at
from simulator.diagnosis.hypothesis_set import hypothesis_set
from simulator.diagnosis.option import CHECK, Option
from simulator.marking.again import why_since
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import UNDERSTANDING
from simulator.rig.presets import load_rig, standard_site
from simulator.scenario import Scenario
from simulator.studies.skill import study_scenarios
from simulator.studies.trainees import Expert
from simulator.texts import text
from tests.marking.conftest import call_out

CALLS = 40


class CardReader(Expert):
    """Walks round, lets it run its time, reads the gauges and looks where the card says; then as the expert."""

    name = "card reader"
    looks: tuple[Option, ...] = ()

    def choices(self) -> Iterable[Option]:
        """What the card says, in its order, until a look has found something; then what the expert does."""
        yield from self.walk()
        yield self.watching()
        line = None if self.attempt.proven() else self.line()
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

    def line(self) -> Advised | None:
        """The line of the printed card for what the gauges showed when it should have pumped."""
        story, cases = self.story, self.cases
        run = story.runs[max(story.runs)]
        vacuum, motive = run.needles[:, min(read_at(cases), run.needles.shape[1] - 1)]
        shows = picture(cases, float(vacuum), float(motive), run.end(self.attempt.shown))
        name = cases.rig.name
        return {one.picture: one for one in advised(load_rig(name), standard_site(name))}.get(shows)


def _lost(scenario: Scenario, seed: int) -> tuple[int, list[tuple[str, float]], bool]:
    """Looks taken off the card, those that cost something [min], and whether points came off for safety."""
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=seed)
    reader = CardReader(attempt, seed)
    reader.play()
    marked = marked_attempt(attempt)[2]
    on_card = {(look.id, look.place) for look in reader.looks}
    first: dict[tuple[str, str], float] = {}
    for judged in marked.judged:
        key = (judged.step.option.id, judged.step.option.place)
        if key in on_card:
            first.setdefault(key, judged.lost)
    lost = [(name, lost) for (name, _), lost in first.items() if lost > 0.0]
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
