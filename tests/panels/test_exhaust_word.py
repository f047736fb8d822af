"""The picture's word at the exhaust is the hand's: one function, also where one looks inside and at a deep vacuum."""

from __future__ import annotations

import numpy as np

from simulator.attempt.samples import NOT_LOOKED, exhaust_codes
from simulator.instruments.look import Look
from simulator.instruments.senses import EXHAUST, EXHAUST_LOOK, exhaust_words, judge_exhaust
from simulator.panels.teaching.cases import run_of, usual_rig, usual_site
from simulator.panels.teaching.figures import track
from simulator.texts import entry


def test_at_a_deep_vacuum_the_picture_says_what_the_hand_says() -> None:
    rig, high = usual_rig(), usual_site(7.0)
    run = run_of(rig, high, duration=90.0)
    late = float(run.time[-1])
    hand = judge_exhaust(Look(run.rig, run.site, run, late - EXHAUST_LOOK, True, sound_run=run))
    assert max(hand, key=lambda name: hand[name]) == "motive_only"
    shown = track("a", "a", run, rig, "metric", last=late)["series"]["exhaust_kind"]
    assert shown[-1] == "motive_only"
    assert {"", "as_usual", "motive_only"} <= set(shown) <= {"", "weak", "as_usual", "motive_only"}
    assert shown[0] == ""  # nobody has felt it as long as that takes
    assert exhaust_codes(run, run, 0, 1)[0] == NOT_LOOKED
    codes = exhaust_codes(run, run, 10 * int(late), 5)
    assert [EXHAUST[int(code)] for code in codes] == exhaust_words(run, run, [int(late)]) * 5
    assert np.all(np.isfinite(codes))


def test_every_word_of_the_hand_has_its_label_and_its_sound() -> None:
    picture, sound = entry("picture"), entry("panel.sound")
    for name in EXHAUST:
        assert f"exhaust_{name}" in picture
        assert f"exhaust_{name}" in sound
