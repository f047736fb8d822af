"""Work done without a name: offered once to who gives one, copied with marks, never taken twice, or left for good."""

from __future__ import annotations

from simulator.panels.learner.next_call import PRACTICE_SLOT
from simulator.panels.learner.session import Work
from simulator.panels.lessons.start_here.page import StartHere
from simulator.scenario import random_scenario, scenario_hash


def worked_without_a_name(session) -> str:
    scenario = random_scenario(3)
    record = {
        "learner": "", "lesson": PRACTICE_SLOT, "mode": "practice", "seed": 4,
        "scenario": scenario.content(), "scenario_hash": scenario_hash(scenario),
    }  # fmt: skip
    call = session.store.create_attempt(record)
    for seq in range(2):
        session.store.append_event(call, seq, {"act": "wait", "seq": seq}, f"c{seq}")
    session.store.save_marks(call, {"total": 71.0, "parts": []})
    for question in ("a", "b"):
        Work(session, "03").keep(question, "yes", f"click {question}")
    return call


def offered(page: StartHere) -> bool:
    page.refresh()
    return any(block["id"] == "nameless_work" for block in page.welcome().content["blocks"])


def test_it_is_offered_to_who_gives_a_name_and_kept_under_it(new_session, click) -> None:
    session = new_session()
    call = worked_without_a_name(session)
    page = StartHere(session)
    page.welcome()
    assert not offered(page)
    click(page, "name", name="Ash")
    assert offered(page)
    assert session.rows(PRACTICE_SLOT) == []
    click(page, "nameless_mine")
    (mine,) = session.rows(PRACTICE_SLOT)
    assert mine.attempt_id != call
    assert mine.events == 2
    assert session.total(mine.attempt_id) == 71.0
    assert Work(session, "03").answers == {"a": "yes", "b": "yes"}
    assert session.store.events(call) == session.store.events(mine.attempt_id)  # what was there stays
    assert not offered(page)
    click(page, "name", name="Reed")  # nobody else can take it
    assert not offered(page)
    click(page, "nameless_mine")
    assert session.rows(PRACTICE_SLOT) == []


def test_what_is_left_is_not_offered_again_until_there_is_more(new_session, click) -> None:
    session = new_session()
    worked_without_a_name(session)
    page = StartHere(session)
    page.welcome()
    click(page, "name", name="Ash")
    click(page, "nameless_leave")
    assert not offered(page)
    assert session.rows(PRACTICE_SLOT) == []
    click(page, "name", name="")
    worked_without_a_name(session)
    click(page, "name", name="Ash")
    assert offered(page)


def test_answers_of_ones_own_stand(new_session, click) -> None:
    session = new_session()
    worked_without_a_name(session)
    page = StartHere(session)
    page.welcome()
    click(page, "name", name="Ash")
    Work(session, "03").keep("a", "no", "own")
    click(page, "nameless_mine")
    assert Work(session, "03").answers == {"a": "no"}
    assert len(session.rows(PRACTICE_SLOT)) == 1
