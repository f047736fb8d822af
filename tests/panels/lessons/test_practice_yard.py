"""Lesson 09 without a browser: a call at the learner's level goes on after a new start and is listed when done."""

from __future__ import annotations

from simulator.panels.lessons.practice_yard.page import Practice


def open_yard(session) -> Practice:
    page = Practice(session)
    page.aim()
    page.calls()
    page.what_next()
    return page


def test_a_call_goes_on_after_a_new_start(new_session) -> None:
    page = open_yard(new_session())
    attempt = page.calls().attempt
    attempt.act("put_on_ppe", {}, "gear")
    again = open_yard(new_session())
    assert again.calls().attempt.id == attempt.id
    assert again.calls().attempt.yard.ppe
    assert not again.calls().attempt.see_through


def test_a_new_learner_begins_with_plain_calls(new_session) -> None:
    page = open_yard(new_session())
    assert page.calls().page["yard"]["level"] == "first"
    assert page.aim().block("plan")["items"]


def test_calls_are_listed_with_their_marks(new_session) -> None:
    page = open_yard(new_session())
    assert page.what_next().block("none")
    attempt = page.calls().attempt
    attempt.act("put_on_ppe", {}, "gear")
    page.session.store.save_marks(attempt.id, {"total": 82.0})
    later = open_yard(new_session())
    row = later.what_next().block("log")["rows"][0]["cells"]
    assert row[2] == "82 of 100"
    assert "plan" not in [block["id"] for block in later.aim().content["blocks"]]
