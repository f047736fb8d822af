"""Watched jobs: kept beside the automatic marks, never over them, and exported."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest

from simulator.errors import InputError
from simulator.marking.sheet import OUT_OF
from simulator.records import ObservedJob, Store, export_csv, jobs, keep_job, mark_job
from simulator.records.observed import PARTS

JOB = ObservedJob(
    learner="Ash Reed",
    observer="Wren",
    done_on="2026-03-02",
    rig="osier",
    site="Teal Pond",
    call="It runs, no water.",
    safety="All done.",
    steps=("7:10 Walk round, drain shut, 2 min", "7:13 Gauges, 12 kPa, 1 min"),
    first_call="Joint ring, 6 of 10",
    cause="torn ring",
    work="new ring",
    proof_s=41.0,
    remarks="Read the gauges first.",
    points={"found": 38, "economy": 20, "understanding": 7},
)


def test_a_job_comes_back_as_it_was_typed(tmp_path: Path) -> None:
    with Store.open(tmp_path / "records.sqlite3") as store:
        kept = keep_job(store, JOB)
    with Store.open(tmp_path / "records.sqlite3") as store:
        assert jobs(store, "Ash Reed") == [(kept, JOB)]
        assert jobs(store, "Somebody else") == []
        assert store.marks(kept)[0].sheet["total"] == 65.0
        assert store.marks(kept)[0].marked_by == "Wren"


def test_it_stands_beside_automatic_marks_and_never_over_them() -> None:
    with Store.open("sqlite://") as store:
        own = store.create_attempt({"learner": "Ash Reed", "lesson": "09"})
        store.save_marks(own, {"total": 61.0})
        kept = keep_job(store, JOB)
        mark_job(store, kept, {"understanding": 10.0}, "Wren")
        mark_job(store, own, {"found": 40.0}, "Wren")
        assert [m.sheet["total"] for m in store.marks(own, "automatic")] == [61.0]
        assert [m.version for m in store.marks(kept, "trainer")] == [1, 2]
        assert store.marks(kept, "automatic") == []
        assert all(row.finished for row in store.list_attempts("Ash Reed", "observed-job"))


def test_it_is_exported_with_units_in_the_names() -> None:
    with Store.open("sqlite://") as store:
        keep_job(store, JOB)
        keep_job(store, replace(JOB, learner="=1+1", proof_s=None, points={}))
        rows = list(csv.DictReader(io.StringIO(export_csv(store, "observed_jobs"))))
        assert [row["proof_s"] for row in rows] == ["41.0", ""]
        assert rows[0]["total"] == "65.0"
        assert rows[1]["learner"] == "'=1+1"
        assert "Walk round" in rows[0]["steps"]
        marks = list(csv.DictReader(io.StringIO(export_csv(store, "marks"))))
        assert [row["source"] for row in marks] == ["trainer"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"learner": " "}, "the one who did the job is missing"),
        ({"observer": ""}, "the one who watched is missing"),
        ({"done_on": "yesterday"}, "the date is 'yesterday'"),
        ({"proof_s": -3.0}, "it took -3 s to pump"),
        ({"points": {"economy": 41.0}}, "economy has 41 points. Legal: 0 to 40"),
        ({"points": {"luck": 1.0}}, "luck has 1 points"),
        ({"ending": "lost"}, "mended, handed_over, stopped_for_safety"),
    ],
)
def test_what_does_not_fit_is_told(change: dict[str, object], sentence: str) -> None:
    with Store.open("sqlite://") as store:
        with pytest.raises(InputError) as caught:
            keep_job(store, replace(JOB, **change))
        assert sentence in str(caught.value)
        assert store.list_attempts() == []


def test_the_parts_are_those_of_every_mark_sheet() -> None:
    assert PARTS == OUT_OF
