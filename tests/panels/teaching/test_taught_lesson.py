"""The machinery of the taught lessons: order of the steps, hints, what is kept, rounds, marks, and going on later."""

from __future__ import annotations

import json

import pytest

from simulator.errors import InputError
from simulator.panels.learner.progress import lesson_state
from simulator.panels.lessons.reading_the_gauge.page import PLAN, ReadingTheGauge
from simulator.panels.page.words import UNSURE
from simulator.panels.teaching.drill import build, drill
from simulator.panels.teaching.fading import STAGES, done_by_expert
from simulator.texts import text
from tests.panels.teaching.taught import assert_words, do_call

pytestmark = pytest.mark.usefixtures("quick_marks")
PARTS = ("aim", "ideas", "predict", "run", "case", "drills", "check", "what_next")


def open_lesson(session) -> ReadingTheGauge:
    page = ReadingTheGauge(session)
    for name in PARTS:
        getattr(page, name)()
    return page


def asked(page, name: str) -> dict:
    """The question that a part asks now."""
    return [b for b in page.parts[name].content["blocks"] if b["kind"] == "question" and b["answer"] is None][
        -1
    ]


def begin(page, click) -> None:
    click(page, "seen", what="ideas")
    for template in PLAN.predictions:
        click(
            page, "answer", question=f"predict:{template.__name__}", answer=build(template, 0, "metric").right
        )
    for name in ("healthy", "slow", "flat_low", "fast_dry"):
        click(page, "seen", what=f"run:{name}")


def do_cases(page, click, hint: bool = False) -> None:
    for stage in range(len(STAGES) - 1):
        steps = page.fading.case(stage).steps
        for n, step in enumerate(steps):
            key = f"case:{stage}:{n}"
            if n >= done_by_expert(stage, len(steps)):
                if hint:
                    click(page, "hint", question=key)
                click(page, "answer", question=key, answer=step.right)
            click(page, "continue", key=key)
        click(page, "continue", key=f"case:{stage}:end")
    do_call(page, click)


def do_round(page, click, part: str, wrong: int = 0) -> None:
    number = 0
    while (current := page.rounds.current(part)) is not None:
        key, made = current
        others = [option.id for option in made.options if option.id != made.right]
        for answer in (
            others[:2] if number < wrong else [made.right]
        ):  # in a drill a wrong one is asked once more
            click(page, "answer", question=key, answer=answer)
        click(page, "next", key=key)
        number += 1


def test_the_steps_come_one_after_another(new_session, click) -> None:
    page = open_lesson(new_session())
    assert page.course.now() == "ideas"
    for name in ("predict", "run", "case", "drills", "check"):
        assert [b["id"] for b in page.parts[name].content["blocks"]] == ["heading", "wait"], name
    begin(page, click)
    assert page.course.now() == "case"
    do_cases(page, click)
    assert page.course.now() == "drills"
    do_round(page, click, "drills")
    do_round(page, click, "check")
    assert page.course.now() == ""
    assert lesson_state(page.session, "03") == ("done", "done: 100 of 100")
    states = [item["state"] for item in page.aim().block("steps")["items"]]
    assert set(states) == {"done"}
    assert page.what_next().block("go")["links"]


def test_a_prediction_is_told_after_the_run_alone(new_session, click) -> None:
    page = open_lesson(new_session())
    click(page, "seen", what="ideas")
    for template in PLAN.predictions:
        click(page, "answer", question=f"predict:{template.__name__}", answer=UNSURE)
        for block in page.predict().content["blocks"]:
            assert not block.get("revealed")
            assert block.get("right") is None
    with pytest.raises(KeyError):
        page.run().block("compare")
    for name in ("healthy", "slow", "flat_low", "fast_dry"):
        click(page, "seen", what=f"run:{name}")
    rows = page.run().block("compare")["rows"]
    assert len(rows) == len(PLAN.predictions)
    assert all("You said: I do not know" in row["cells"][3] for row in rows)


@pytest.mark.full
def test_hints_come_in_three_steps_and_are_kept_with_the_answer(new_session, click, clock) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    block = asked(page, "drills")
    key, made = page.rounds.current("drills")
    assert block["hint"]["shown"] == []
    for taken in range(1, 4):
        click(page, "hint", question=key)
        assert len(asked(page, "drills")["hint"]["shown"]) == taken
    click(page, "hint", question=key)
    assert asked(page, "drills")["hint"]["more"] == ""
    clock.wait(21.0 / 86400.0)
    click(page, "answer", question=key, answer=made.right)
    kept = page.answers[key]
    assert (kept["hints"], kept["right"], kept["skill"]) == (3, True, made.skill)
    assert (kept["drill"], kept["case"], kept["part"]) == (made.name, made.case, "drill")
    assert kept["seconds"] == pytest.approx(21.0, abs=1.0)
    # it stands in the records as it was given
    events = page.session.store.events(page.work.id)
    assert next(e["answer"] for e in events if e["question"] == key) == kept


def test_a_right_answer_is_not_on_the_page_before_it_is_given(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    key, made = page.rounds.current("drills")
    block = page.drills().block(key)
    assert (block["right"], block["says"]) == (None, [])
    assert made.because not in json.dumps(page.drills().content)


@pytest.mark.full
def test_no_hints_in_the_check(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    do_round(page, click, "drills")
    assert "hint" not in asked(page, "check")
    key, _ = page.rounds.current("check")
    click(page, "hint", question=key)
    assert f"hint:{key}:0" not in page.answers


@pytest.mark.full
def test_the_expert_does_all_then_half_then_nothing(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    shown = []
    for stage in range(len(STAGES) - 1):
        steps = page.fading.case(stage).steps
        experts = 0
        for n, step in enumerate(steps):
            key = f"case:{stage}:{n}"
            if page.parts["case"].block(key)["kind"] == "expert":
                experts += 1
            else:
                click(page, "answer", question=key, answer=step.right)
            click(page, "continue", key=key)
        click(page, "continue", key=f"case:{stage}:end")
        shown.append((experts, len(steps)))
    assert [experts for experts, _ in shown] == [shown[0][1], shown[1][1] // 2]
    assert [block["id"] for block in page.parts["case"].content["blocks"]][-1] == "alone:begin"


@pytest.mark.full
def test_a_weak_check_can_be_taken_again_on_fresh_cases(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    do_round(page, click, "drills", wrong=2)
    do_round(page, click, "check", wrong=3)
    assert lesson_state(page.session, "03")[0] == "weak"
    step = page.aim().block("steps")["items"][-1]
    assert (step["state"], step["says"]) == ("now", text("lessons.states.weak", marks="40"))
    before = [page.rounds.templates("check")]
    old = build(PLAN.check[1], page.work.seed + 500_000, "metric")
    click(page, "fresh", part="check", turn=0)
    click(page, "fresh", part="check", turn=0)  # a late second click changes nothing
    assert page.rounds.turn("check") == 1
    _, made = page.rounds.current("check")
    assert made is not old
    do_round(page, click, "check")
    assert lesson_state(page.session, "03")[0] == "done"
    assert page.aim().block("steps")["items"][-1]["state"] == "done"
    assert before


@pytest.mark.full
def test_a_round_ends_with_what_the_runs_showed_and_a_weak_check_sends_nobody_on(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    do_round(page, click, "drills", wrong=2)
    assert page.drills().block("end")["arrive"] == "start"  # how many were right is what one sees first
    rows = page.drills().block("results")["rows"]
    made = page.rounds.round_of("drills")
    assert all(one.because in row["cells"][-1] for one, row in zip(made, rows, strict=True))
    assert made[0].because in rows[0]["cells"][-1]
    assert page.what_next().block("go")["quiet"]
    do_round(page, click, "check", wrong=4)
    assert page.what_next().block("go")["quiet"]
    assert page.what_next().block("heading")["paragraphs"][0] == text("teaching.next_weak")


def test_a_wrong_answer_to_a_drill_gets_a_second_try_that_counts_half(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    key, made = page.rounds.current("drills")
    wrong = next(option for option in made.options if option.id != made.right and option.says)
    click(page, "answer", question=key, answer=wrong.id)
    block = asked(page, "drills")
    assert (block["right"], block["revealed"]) == (None, False)
    assert wrong.id not in {option["id"] for option in block["options"]}
    said = [text("teaching.second_try", tried=wrong.label), wrong.says, text("teaching.second_counts")]
    assert block["says"] == said
    assert made.because not in json.dumps(page.drills().content)
    click(page, "answer", question=key, answer=wrong.id)  # a late second click
    assert asked(page, "drills")["says"] == said
    assert asked(open_lesson(new_session()), "drills")["says"] == said  # the page was closed in between
    click(page, "answer", question=key, answer=made.right)
    assert (page.answers[key]["right"], page.answers[key]["tries"]) == (True, 2)
    assert page.drills().block(key)["says"] == [text("teaching.second_right"), made.because]
    click(page, "next", key=key)
    do_round(page, click, "drills")
    total = len(PLAN.drills)
    assert page.rounds.marks("drills") == pytest.approx(100.0 * (total - 0.5) / total, abs=1e-9)
    row = page.drills().block("results")["rows"][0]
    assert row["cells"][1] == text("teaching.right_second")
    end = page.drills().block("end")["paragraphs"][0]
    assert end == text("teaching.round_end_second", right=total - 1, second=1, total=total)


def test_the_check_asks_once_and_who_does_not_know_is_told(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    key, made = page.rounds.current("drills")
    click(page, "answer", question=key, answer=UNSURE)
    assert page.drills().block(key)["right"] == made.right
    click(page, "next", key=key)
    do_round(page, click, "drills")
    key, made = page.rounds.current("check")
    click(page, "answer", question=key, answer=next(o.id for o in made.options if o.id != made.right))
    assert page.check().block(key)["right"] == made.right


def test_everything_is_there_again_after_a_new_start(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    key, made = page.rounds.current("drills")
    click(page, "hint", question=key)
    again = open_lesson(new_session())
    assert again.course.now() == "drills"
    assert again.rounds.current("drills")[0] == key
    assert asked(again, "drills")["text"] == made.text
    assert len(asked(again, "drills")["hint"]["shown"]) == 1


@pytest.mark.full
def test_whoever_has_done_it_may_take_any_part(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    do_cases(page, click)
    do_round(page, click, "drills")
    do_round(page, click, "check")
    click(page, "all_again")
    assert page.course.now() == "ideas"
    assert page.course.waits_for("check") == ""
    assert asked(page, "check")


def test_who_shows_it_to_others_may_open_any_part_and_the_marks_count_as_before(new_session, click) -> None:
    session = new_session()
    assert open_lesson(session).course.waits_for("check") == "ideas"
    session.set_opens_all(True)
    page = open_lesson(new_session())  # as the next page finds it
    assert [page.course.waits_for(step) for step in page.course.steps()] == [""] * len(page.course.steps())
    do_round(page, click, "check")
    assert page.course.now() == "ideas"
    session.set_opens_all(False)
    assert not new_session().opens_all


def test_clicks_that_make_no_sense_change_nothing(new_session, click) -> None:
    page = open_lesson(new_session())
    for args in (
        {"question": "drills:0:0", "answer": "slow"},
        {"question": "check:0:0", "answer": "slow"},
        {"question": "case:0:0", "answer": "by_height"},
        {"question": "predict:held_back", "answer": "faster"},
        {"question": "nonsense", "answer": 3},
    ):
        assert click(page, "answer", **args)["accepted"]
    for action in ("next", "continue", "hint", "fresh"):
        assert click(page, action, key="drills:0:0", question="case:0:0", part="x")["accepted"]
    assert page.answers == {}


def test_units_reach_every_part(new_session, click) -> None:
    page = open_lesson(new_session())
    begin(page, click)
    assert "kPa" in json.dumps(page.run().content)
    click(page, "units", value="us")
    assert "inHg" in json.dumps(page.parts["case"].content)
    json.dumps(page.run().content, allow_nan=False)


def test_a_drill_without_its_right_option_is_refused() -> None:
    with pytest.raises(InputError):
        drill("lesson_03.predictions.leaking", "x", "x", "sideways", {"rest": "", "static": ""})


def test_the_shared_words_read_easily() -> None:
    assert_words("teaching")


def test_a_round_that_has_been_opened_says_that_it_is_being_made(new_session, click) -> None:
    """ "Comes after: Three cases" stood over the drills, for seconds, while they were worked out."""
    page = open_lesson(new_session())
    begin(page, click)
    told: list[list[str]] = []
    page.parts["drills"].observe(
        lambda change: told.append([b["id"] for b in change["new"]["blocks"]]), names="content"
    )
    do_cases(page, click)
    assert told[0] == ["heading", "making"]
    assert asked(page, "drills")
    told.clear()
    page.refresh()
    assert told == []
