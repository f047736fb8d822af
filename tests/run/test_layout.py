"""The sizes of the flat arrays follow from the names in them: none that is forgotten can overwrite what lies behind."""

from __future__ import annotations

import re
from pathlib import Path

from simulator.run import layout as at


def test_no_size_is_counted_twice() -> None:
    source = Path(at.__file__).read_text(encoding="utf-8")
    assert re.findall(r"^([A-Z_]+) = \d+", source, re.MULTILINE) == ["RAMP_WIDTH"]
    assert "range(len(CHANNELS))" in source


def test_what_lies_behind_the_parameters_begins_after_the_last() -> None:
    assert at.PARAMETERS == at.RAMP_COUNT + 1
    assert at.STATES == at.MOTIVE_OUT + 1
    assert at.MODES == at.HOSE_EMPTY + 1
    assert len(at.CHANNELS) == at.C_BELT_POWER + 1
    assert {type(size) for size in (at.PARAMETERS, at.STATES, at.MODES)} == {int}
