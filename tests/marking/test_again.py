"""A stored attempt marked again: the same marks, or the version that changed them; trainer's marks and weights."""

from __future__ import annotations

import sys

import pytest

from simulator.attempt import Attempt
from simulator.errors import InputError
from simulator.marking import again, found, sheet
from simulator.marking.again import mark_again
from simulator.marking.mark import mark_in_full
from simulator.marking.service import marked_attempt
from simulator.records import Store
from simulator.rig import trainer
from simulator.rig.trainer import Overrides, read_overrides
from tests.marking.conftest import call_out


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "records.sqlite3") as opened:
        yield opened


def stored_attempt(store) -> str:
    """A call-out mended and proven at once, marked and stored."""
    attempt = Attempt(call_out("drain_open", 1.0), store, learner="Ash", seed=3)
    for act, args in (
        ("predict", {"question": "sound_prime_time", "answer": 40}),
        ("put_on_ppe", {}),
        ("check", {"check": "walk_round"}),
        ("secure_discharge", {}),
        ("call", {"markers": {"drain_open": 6, "belt_loose": 1, "something_else": 3}}),
        ("predict", {"question": "blank_off_if_right", "answer": "nothing"}),
        ("remedy", {"remedy": "close_drain"}),
        ("start_engine", {"speed": "rated"}),
        ("wait", {"seconds": 90}),
        ("finish", {}),
    ):
        assert attempt.act(act, args).accepted, act
    store.save_marks(attempt.id, marked_attempt(attempt)[2].sheet.as_dict())
    return attempt.id


def test_a_stored_attempt_replays_to_the_same_marks(store) -> None:
    attempt_id = stored_attempt(store)
    first = mark_again(store, attempt_id)
    assert first.same
    assert first.stored["total"] == first.now["total"] > 80.0
    assert len(store.marks(attempt_id)) == 1  # nothing was written


def test_other_marking_rules_are_named(store, monkeypatch) -> None:
    attempt_id = stored_attempt(store)
    monkeypatch.setattr(found, "PROOF", 12.0)
    assert (
        mark_again(store, attempt_id).cause == "unexplained"
    )  # a change of rules must come with a new version
    monkeypatch.setattr(sys.modules[mark_in_full.__module__], "MARKING_VERSION", 99)
    monkeypatch.setattr(again, "MARKING_VERSION", 99)
    other = mark_again(store, attempt_id)
    assert other.cause == "marking"
    assert f"{sheet.MARKING_VERSION} then, 99 now" in other.sentence
    assert other.now["total"] == pytest.approx(other.stored["total"] - 3.0, abs=0.11)


def test_another_model_is_named(store, monkeypatch) -> None:
    attempt_id = stored_attempt(store)
    old = next(marks.sheet for marks in store.marks(attempt_id))
    old = {**old, "model": "0123456789abcdef"}
    old["parts"] = [{**part, "points": (part["points"] or 0.0) - 1.0} for part in old["parts"]]
    store.save_marks(attempt_id, old)
    other = mark_again(store, attempt_id)
    assert other.cause == "model"
    assert "0123456789abcdef then" in other.sentence


def test_an_attempt_that_no_longer_replays_says_so_and_keeps_its_marks(store, monkeypatch) -> None:
    attempt_id = stored_attempt(store)

    def refuse(*_args, **_more):
        raise InputError("event 3 does not replay", "log")

    monkeypatch.setattr(Attempt, "resume", refuse)
    other = mark_again(store, attempt_id)
    assert (other.cause, other.now) == ("no_replay", None)
    assert other.stored["total"] > 80.0
    assert "old marks stand" in other.sentence


def test_a_trainers_marks_are_kept_apart_and_never_written_over(store) -> None:
    attempt_id = stored_attempt(store)
    store.save_marks(attempt_id, {"total": 61.0}, source="trainer", marked_by="Rowan")
    assert mark_again(store, attempt_id).same
    store.save_marks(attempt_id, {**store.marks(attempt_id, "automatic")[-1].sheet, "total": 1.0})
    by_trainer = store.marks(attempt_id, "trainer")
    assert [(marks.version, marks.sheet["total"], marks.marked_by) for marks in by_trainer] == [
        (1, 61.0, "Rowan")
    ]
    assert len(store.marks(attempt_id, "automatic")) == 2


def test_a_trainer_can_weigh_the_parts_anew(store, tmp_path, monkeypatch) -> None:
    attempt_id = stored_attempt(store)
    path = tmp_path / "figures.yaml"
    path.write_text(
        "format: trainer-figures\nversion: 1\nmarks: {found: 60, economy: 25, safety: 75}\n", "utf-8"
    )
    read = read_overrides(path)
    assert read == Overrides(marks={"found": 60.0, "economy": 25.0}), "a gate has no weight: read, left out"
    monkeypatch.setattr(sheet, "overrides", lambda: read)
    other = mark_again(store, attempt_id)
    assert other.cause == "weights"
    # 60 + 25 and the usual 15: together 100
    outs = {part["id"]: part["out_of"] for part in other.now["parts"]}
    assert outs == {"found": 60.0, "economy": 25.0, "understanding": 15.0, "safety": 0.0}
    assert sum(outs.values()) == pytest.approx(100.0, rel=1e-12)
    for before, after in zip(other.stored["parts"], other.now["parts"], strict=True):
        assert after["points"] == pytest.approx(
            before["points"] * after["out_of"] / (before["out_of"] or 1.0), abs=0.2
        )


def test_wrong_weights_get_a_sentence(tmp_path) -> None:
    path = tmp_path / "figures.yaml"
    for line in (
        "marks: {beauty: 5}",
        "marks: {found: -1}",
        "marks: {found: 0, economy: 0, safety: 0, understanding: 0}",
    ):
        path.write_text(f"format: trainer-figures\nversion: 1\n{line}\n", "utf-8")
        with pytest.raises(InputError) as caught:
            read_overrides(path)
        assert "figures.yaml:3" in str(caught.value) or "marks" in str(caught.value)
    assert tuple(sheet.OUT_OF) == trainer.MARK_PARTS
