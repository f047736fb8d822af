"""Six learners under load, and away and back; thirty on an idle machine: ``python -m tests.classroom.load``."""

from __future__ import annotations

import os

import pytest

from tests.classroom.load import ACTS, Figures, load, share


def test_figures_are_told_in_words() -> None:
    figures = Figures(learners=2, usable=[10.0, 20.0], clicks=[0.1, 0.2, 3.0], memory=1.5e9, before=0.5e9)
    assert (share([3.0, 1.0, 2.0], 0.5), share([], 0.95)) == (2.0, 0.0)
    said = figures.lines()
    assert "last after 20 s" in said
    assert "500 MB a learner" in said


@pytest.mark.full
@pytest.mark.skipif(os.name == "nt", reason="the hub does not run on Windows")
def test_six_at_the_bell_are_let_in_play_go_and_are_back_at_the_same_second() -> None:
    """More than are started at once: nobody is turned away, and the page says how many come first."""
    figures = load(6, minutes=6.0, idle=20.0)
    assert figures.waited > 0
    assert figures.failed == []
    assert figures.dead == 0
    assert len(figures.usable) == 6
    assert len(figures.clicks) == 6 * len(ACTS)
    assert (figures.culled, figures.back, figures.moved) == (6, 6, [])
