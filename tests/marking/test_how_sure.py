"""Markers of many calls beside what was wrong: how sure somebody was, and how often right."""

from __future__ import annotations

from simulator.marking.how_sure import LAST, LEAST, Band, bands, calls_of
from simulator.panels.learner.how_sure import how_sure_block
from simulator.panels.learner.session import LearnerSession
from simulator.records import Store


def keep(store: Store, number: int, markers: dict[str, int], faults: list[str], hints: int = 0) -> None:
    """A call-out of Ash's, marked, with a first call that counts no longer."""
    record = {
        "learner": "Ash", "lesson": "09", "mode": "practice", "seed": number, "scenario_hash": f"h{number}",
        "scenario": {"faults": [{"fault": fault} for fault in faults]},
    }  # fmt: skip
    attempt = store.create_attempt(record)
    for place, stated in enumerate(({"belt_loose": 10}, markers)):
        event = {"act": "call", "accepted": True, "result": {"markers": stated}}
        store.append_event(attempt, place, event, f"{number} {place}")
    store.save_marks(attempt, {"version": 8, "parts": [], "hints": hints})


def test_the_last_calls_are_told_by_markers_and_what_was_right(tmp_path) -> None:
    with Store.open(tmp_path / "records.sqlite3") as store:
        session = LearnerSession(store, folder=tmp_path)
        session.set_name("Ash")
        for number in range(LEAST - 1):
            keep(store, number, {"drain_open": 5, "joint_ring": 3, "something_else": 2}, ["joint_ring"])
        keep(store, 90, {"sound": 10}, [], hints=3)  # hinted: no evidence
        assert how_sure_block(session) == []
        keep(store, 91, {"strainer_plugged": 6, "seal_worn": 4}, ["belt_loose"])
        (_, block) = how_sure_block(session)
        assert [row["cells"] for row in block["rows"]] == [["7 to 9", "4", "4"], ["4 to 6", "2", "0"]]
        for number in range(100, 100 + LAST):
            keep(store, number, {"sound": 10}, ["gauge_low"])
        assert bands(calls_of(store, "Ash")) == (Band(10, 10, LAST, 0),)
        assert calls_of(store, "Rowan") == ()
