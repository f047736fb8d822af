"""Errors cross a process boundary as they are."""

from __future__ import annotations

import pickle

from simulator.errors import InputError, RefusedAct


def test_errors_survive_pickling() -> None:
    wrong = InputError("the bore is -0.1 m", "hose.bore", "0.05 to 0.40 m")
    again = pickle.loads(pickle.dumps(wrong))
    assert str(again) == str(wrong)
    assert (again.what, again.where, again.legal) == (wrong.what, wrong.where, wrong.legal)
    refused = pickle.loads(pickle.dumps(RefusedAct("needs", "It waits for the tag.")))
    assert (refused.code, str(refused)) == ("needs", "It waits for the tag.")
