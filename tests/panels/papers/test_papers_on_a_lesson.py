"""Sheets and watched jobs on a lesson page."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from simulator.panels.learner.session import LearnerSession
from simulator.panels.papers.shelf import Shelf
from simulator.panels.papers.watched import WatchedJobs
from simulator.records import Store, jobs


@pytest.fixture
def session(tmp_path: Path) -> Iterator[LearnerSession]:
    with Store.open("sqlite://") as store:
        made = LearnerSession(store, folder=tmp_path, now=lambda: datetime(2026, 3, 2, 9, tzinfo=UTC))
        made.set_name("Ash Reed")
        yield made


def act(part: Any, action: str, **args: Any) -> dict[str, Any]:
    said: list[dict[str, Any]] = []
    part.send = lambda content, buffers=None: said.append(content)
    part._receive(part, {"kind": "do", "id": "click", "action": action, "args": args}, [])
    return said[0]


def test_a_sheet_is_made_when_it_is_asked_for() -> None:
    part = Shelf().part()
    assert len(part.block("make")["buttons"]) == 5
    assert act(part, "make", sheet="form")["accepted"]
    assert len(part.block("make")["buttons"]) == 4
    assert part.block("sheet:form")["html"].startswith("<!DOCTYPE html>")
    assert not act(part, "make", sheet="ghost")["accepted"]
    assert not act(part, "burn")["accepted"]


def test_a_watched_job_typed_in_stands_beside_the_marks(session: LearnerSession) -> None:
    own = session.store.create_attempt({"learner": "Ash Reed", "lesson": "09"})
    session.store.save_marks(own, {"total": 55.0})
    part = WatchedJobs(session).part()
    act(part, "open", open=True)
    form = dict(part.block("form")["form"])
    assert (form["learner"], form["done_on"]) == ("Ash Reed", "2026-03-02")
    form |= {
        "observer": "Wren",
        "steps": "7:10 Walk round\n\n7:13 Gauges",
        "proof_s": "41,5",
        "safety": "All done",
    }
    form |= {"points_found": "30", "points_economy": "20"}
    act(part, "draft", form=form)
    assert act(part, "judge", form=form)["sentence"] == "Kept, for Ash Reed."
    ((kept, job),) = jobs(session.store)
    assert job.steps == ("7:10 Walk round", "7:13 Gauges")
    assert job.proof_s == 41.5
    assert job.safety == "All done"
    assert session.store.marks(kept)[0].sheet["total"] == round(100.0 * 50.0 / 85.0, 1)
    assert [m.sheet["total"] for m in session.store.marks(own)] == [55.0]
    assert "59 of 100 by Wren" in part.block("list")["items"][0]
    with pytest.raises(KeyError):
        part.block("form")


def test_what_does_not_fit_stays_to_be_mended(session: LearnerSession) -> None:
    part = WatchedJobs(session).part()
    act(part, "open", open=True)
    form = dict(part.block("form")["form"])
    assert "Not kept" in act(part, "judge", form=form)["sentence"]
    assert part.block("form")["problems"][0]["field"] == "observer"
    form |= {"observer": "Wren", "proof_s": "soon", "points_found": "46"}
    act(part, "judge", form=form)
    assert part.block("form")["problems"] == [
        {"field": "proof_s", "sentence": "Proof: it pumped after: soon is not a number."}
    ]
    act(part, "judge", form=form | {"proof_s": ""})
    assert part.block("form")["problems"][0]["sentence"] == "Found has 46 points."
    assert part.block("form")["form"]["observer"] == "Wren"
    assert jobs(session.store) == []
