"""Learners and the service of a class killed at random while they write: nothing lost, nothing doubled."""

from __future__ import annotations

import multiprocessing
from pathlib import Path

import pytest

from tests.classroom.storm import storm
from tests.records.postgres_server import running

pytestmark = pytest.mark.skipif(
    "fork" not in multiprocessing.get_all_start_methods(), reason="processes are forked here"
)


def test_a_small_storm(tmp_path: Path) -> None:
    out = storm(tmp_path, kills=1, learners=2, pause=0.3)
    assert out.good, out.lines() + "\n".join(out.notices)


@pytest.mark.full
def test_thirty_learners_and_two_hundred_kills(tmp_path: Path) -> None:
    out = storm(tmp_path, kills=200)
    assert out.good, out.lines() + "\n".join(out.notices)
    assert (out.service_killed, out.learners_killed) == (200, 200)


@pytest.mark.full
def test_thirty_learners_at_a_database_server(tmp_path: Path) -> None:
    with running() as url:
        out = storm(tmp_path, url, kills=40)
    assert out.good, out.lines() + "\n".join(out.notices)
