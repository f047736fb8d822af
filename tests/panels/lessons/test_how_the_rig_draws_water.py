"""Lesson 01 without a browser: guesses before the run, run, comparison, check, and again after a new start."""

from __future__ import annotations

import json

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.service import marked_attempt
from simulator.panels.learner.progress import lesson_state
from simulator.panels.lessons.how_the_rig_draws_water import questions as asked
from simulator.panels.lessons.how_the_rig_draws_water.comparison import run_summary
from simulator.panels.lessons.how_the_rig_draws_water.page import DrawsWater
from simulator.panels.teaching.scenes import good_rig, open_drain, scenes

PARTS = ("aim", "ideas", "predict", "compare", "check", "what_next")


def open_lesson(session) -> DrawsWater:
    page = DrawsWater(session)
    for name in PARTS:
        getattr(page, name)()
    page.run()
    return page


def guess_all(page: DrawsWater, click, time=45) -> None:
    click(page, "seen", what="ideas")
    click(page, "answer", question="prime_time", answer=time)
    click(page, "answer", question="gauge_arrives", answer="all_it_can")
    click(page, "answer", question="lower_pond", answer="both")


def panel_of(page: DrawsWater):
    return page.run().children[1]


def act(panel, action: str, shown: float | None = None, **args):
    """An act as the exercise's own page sends it."""
    sent = panel.send
    panel.send = lambda *given, **more: None
    count = len(panel.attempt.log)
    panel._receive(
        panel, {"kind": "act", "id": f"{panel.attempt.id} {count}", "action": action, "args": args}, []
    )
    panel.send = sent
    assert panel.attempt.log[-1]["accepted"], panel.attempt.log[-1]


def pump_it(panel) -> None:
    act(panel, "put_on_ppe")
    act(panel, "secure_discharge")
    act(panel, "start_engine", speed="rated")
    for second in range(5, 71, 5):
        panel.attempt.see(float(second))
    act(panel, "call", markers={"sound": 10})
    act(panel, "finish")


@pytest.fixture(autouse=True)
def no_marks(monkeypatch: pytest.MonkeyPatch) -> None:
    """The marks of the exercise are tried elsewhere; here they would simulate every suspect."""
    from simulator.panels.lessons.how_the_rig_draws_water import runs as lesson_runs

    made = lesson_runs.ExercisePanel
    monkeypatch.setattr(lesson_runs, "ExercisePanel", lambda *a, **k: made(*a, **{**k, "debriefer": None}))


def test_nothing_of_the_answer_is_on_the_page_before_the_guesses(new_session, click) -> None:
    page = open_lesson(new_session())
    assert [block["kind"] for block in page.compare().content["blocks"]] == ["heading", "notice"]
    assert len(page.run().children) == 1
    click(page, "seen", what="ideas")
    for answer in (("prime_time", 45), ("gauge_arrives", "zero")):
        click(page, "answer", question=answer[0], answer=answer[1])
        assert len(page.run().children) == 1
        for block in page.predict().content["blocks"]:
            assert not block.get("revealed")
            assert "right" not in block


def test_the_ideas_are_five_and_their_pictures_come_from_runs(new_session) -> None:
    items = open_lesson(new_session()).ideas().block("ideas")["items"]
    assert len(items) == 5
    fronts = [item["frame"].get("front_position") for item in items[1:4]]
    assert fronts == sorted(fronts)
    assert items[3]["frame"]["discharge_flow"] > 0.0
    assert items[4]["frame"]["drain_air"] > 0.0
    assert items[0]["frame"]["speed"] == 0.0


def test_the_pictures_of_a_running_rig_show_it_running() -> None:
    rest, *running = scenes()
    assert rest.frame["speed"] == 0.0
    for scene in running:
        assert scene.frame["speed"] > 0.9
        assert scene.frame["motive_pressure"] > 3e5  # the compressor is at its work
        assert scene.frame["exhaust_air"] > 0.0
    assert running[0].frame["entrained_flow"] == max(scene.frame["entrained_flow"] for scene in running[:3])


def test_a_guess_counts_once_and_must_fit(new_session, click) -> None:
    page = open_lesson(new_session())
    click(page, "seen", what="ideas")
    for wrong in (0, -5, 99999, "soon", True, None):
        click(page, "answer", question="prime_time", answer=wrong)
    assert "guess:prime_time" not in page.answers
    click(page, "answer", question="prime_time", answer=45)
    click(page, "answer", question="prime_time", answer=39)
    assert page.answers["guess:prime_time"] == 45


def test_the_exercise_takes_over_the_guess(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    panel = panel_of(page)
    assert panel.page["phase"] == "work"
    assert panel.attempt.yard.answers == {"sound_prime_time": 45.0}
    assert (panel.attempt.mode, panel.attempt.see_through) == ("guided", True)
    assert panel.attempt.scenario.fault_ids == ("sound",)


def test_from_guesses_to_comparison(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click, time=60)
    pump_it(panel_of(page))
    rows = page.compare().block("table")["rows"]
    model = asked.good_run()
    assert rows[0]["cells"][1:3] == ["60 s", f"{model.prime_time:.0f} s"]
    assert "Some way off" in rows[0]["cells"][3]  # half as long again earns a little
    assert "Not right" in rows[1]["cells"][3]
    assert "Right" in rows[2]["cells"][3]
    chart = page.compare().block("chart")
    assert chart["marks"][0]["t"] == 60.0
    own = dict(map(tuple, chart["lines"][0]["points"]))
    # the learner's own run is the model's own
    assert own[20.0] == pytest.approx(float(model.vacuum[200]), abs=150.0)
    json.dumps(page.compare().content, allow_nan=False)
    # what the gauge shows at the arrival and the static lift are two figures, and the page says why
    assert "static lift is 49 kPa" in page.compare().block("lift")["paragraphs"][0]


def test_a_drain_shut_before_the_first_start_leaves_no_run_with_the_fault(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    pump_it(panel_of(page))
    click(page, "stage", which="fault")
    assert page._stage._before.block("heading")["text"] == "The same rig with a fault"
    assert [block["id"] for block in page._stage._after.content["blocks"]] == ["on"]
    panel = panel_of(page)
    act(panel, "predict", question=panel.attempt.yard.question, answer=None)
    act(panel, "put_on_ppe")
    act(panel, "check", check="walk_round")
    act(panel, "call", markers={"drain_open": 10})
    act(panel, "remedy", remedy="close_drain")
    act(panel, "secure_discharge")
    act(panel, "start_engine", speed="rated")
    for second in range(5, 71, 5):
        panel.attempt.see(float(second))
    act(panel, "finish")
    assert page._stage._after.block("check")["to"]["part"] == "check"  # and not back to the good rig alone
    lines = {line["label"]: line["points"] for line in page.compare().block("chart")["lines"]}
    assert "your run with the fault" not in lines
    assert max(pa for _, pa in lines["as it would be with the drain open"]) < 10e3
    assert "no whole run of yours" in page.compare().block("fault")["paragraphs"][0]


def test_the_run_with_the_fault_is_the_one_that_did_not_prime() -> None:
    attempt = Attempt(open_drain(), MemoryStore(), mode="guided", seed=3)
    for act_, args in (
        ("predict", {"question": "sound_prime_time", "answer": 40}),
        ("put_on_ppe", {}),
        ("check", {"check": "walk_round"}),
        ("secure_discharge", {}),
        ("start_engine", {"speed": "rated"}),
        ("wait", {"seconds": 60.0}),
        ("stop_engine", {}),
        ("call", {"markers": {"drain_open": 10}}),
        ("remedy", {"remedy": "close_drain"}),
        ("start_engine", {"speed": "rated"}),
        ("wait", {"seconds": 60.0}),
    ):
        told = attempt.act(act_, args)
        assert told.accepted, (act_, told.sentence)
    kept = run_summary(attempt, primed=False)
    assert kept["prime_s"] is None
    assert max(pa for _, pa in kept["points"]) < 10e3  # the static lift is 29 kPa
    assert run_summary(attempt)["prime_s"] is not None


def test_a_check_that_went_badly_is_told_alike_at_the_end_and_at_home(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    pump_it(panel_of(page))
    assert any("three of four" in line for line in page.check().block("heading")["paragraphs"])
    for make in asked.QUESTIONS:
        question = make(page.work.seed, page.units)
        block = [each for each in page.check().content["blocks"] if each["kind"] == "question"][-1]
        wrong = next(option.id for option in question.options if option.id != question.right)
        click(page, "answer", question=block["id"], answer=wrong)
    assert lesson_state(page.session, "01")[0] == "weak"
    said = " ".join(page.what_next().block("heading")["paragraphs"])
    assert "counts as done from 70" in said
    assert page.what_next().block("go")["quiet"]
    states = {item["label"]: item["state"] for item in page.aim().block("steps")["items"]}
    assert states["Your check"] != "done"


def test_the_check_marks_the_lesson_and_can_be_had_afresh(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    pump_it(panel_of(page))
    for number, make in enumerate(asked.QUESTIONS):
        question = make(page.work.seed, page.units)
        block = [each for each in page.check().content["blocks"] if each["kind"] == "question"][-1]
        assert (block["answer"], block["right"], block["says"]) == (None, None, [])
        wrong = next(option.id for option in question.options if option.id != question.right)
        click(page, "answer", question=block["id"], answer=question.right if number else wrong)
        assert page.check().block(block["id"])["revealed"]
    assert lesson_state(page.session, "01") == ("done", "done: 75 of 100")
    assert "3 of 4" in page.check().block("end")["paragraphs"][0]
    before = [block.get("text") for block in page.check().content["blocks"]]
    click(page, "fresh", round=0)
    assert [block.get("text") for block in page.check().content["blocks"]] != before


def test_everything_is_there_again_after_a_new_start(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    panel = panel_of(page)
    act(panel, "put_on_ppe")
    act(panel, "secure_discharge")
    act(panel, "start_engine", speed="rated")
    panel.attempt.see(10.0)
    again = open_lesson(new_session())
    assert again.answers == page.answers
    assert panel_of(again).attempt.id == panel.attempt.id
    assert panel_of(again).attempt.shown == pytest.approx(10.0, abs=0.05)
    act(panel_of(again), "call", markers={"sound": 10})
    for second in range(15, 71, 5):
        panel_of(again).attempt.see(float(second))
    act(panel_of(again), "finish")
    click(again, "stage", which="fault")
    third = open_lesson(new_session())
    assert panel_of(third).attempt.scenario.fault_ids == ("drain_open",)
    assert third.compare().block("table")["rows"]


@pytest.mark.full
def test_the_whole_lesson_again(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    pump_it(panel_of(page))
    old = panel_of(page).attempt.id
    click(page, "all_again")
    assert page.answers == {}
    assert len(page.run().children) == 1
    guess_all(page, click)
    assert panel_of(page).attempt.id != old
    assert panel_of(page).page["phase"] == "work"


def test_units_reach_the_exercise_and_come_back(new_session, click) -> None:
    page = open_lesson(new_session())
    guess_all(page, click)
    click(page, "units", value="us")
    assert panel_of(page).units == "us"
    panel_of(page).units = "metric"
    assert page.units == "metric"
    assert "kPa" in json.dumps(page.ideas().content)


def test_unsure_is_an_answer(new_session, click) -> None:
    page = open_lesson(new_session())
    click(page, "seen", what="ideas")
    for name in ("prime_time", "gauge_arrives", "lower_pond"):
        click(page, "answer", question=name, answer="unsure")
    pump_it(panel_of(page))
    assert all("You said: I do not know" in row["cells"][3] for row in page.compare().block("table")["rows"])
    assert page.compare().block("chart")["marks"] == []


def test_a_summary_without_a_run() -> None:
    class Nothing:
        timelines = ()

    assert run_summary(Nothing()) == {"points": [], "prime_s": None, "slow": False}


def test_the_order_that_the_lesson_tells_costs_no_marks() -> None:
    attempt = Attempt(good_rig(), MemoryStore(), mode="guided", seed=3)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    for act, args in (
        ("put_on_ppe", {}),
        ("check", {"check": "walk_round"}),
        ("secure_discharge", {}),
        ("start_engine", {"speed": "rated"}),
        ("wait", {"seconds": 60}),
        ("call", {"markers": {"sound": 10}}),
        ("finish", {}),
    ):
        attempt.act(act, args)
    assert all(event["accepted"] for event in attempt.log)
    assert attempt.yard.question == ""
    sheet = marked_attempt(attempt)[2].sheet
    assert sheet.total == sheet.out_of == 100.0
