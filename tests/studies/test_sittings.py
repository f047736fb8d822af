"""The certificate tells the expert from the part swapper."""

from __future__ import annotations

import pytest

from simulator.marking.bank import bank
from simulator.studies.sittings import misses, page, play_bank, sit


def test_sittings_are_counted_right() -> None:
    good = {case.id: [(75.0, False)] for case in bank()[0]}
    bad = {case.id: [(75.0, True), (75.0, False)] for case in bank()[0]}
    rates = {"expert": sit("expert", good, 30), "swapper": sit("swapper", bad, 30)}
    assert rates["expert"].passes == 1.0
    assert 0.0 <= rates["swapper"].passes < 0.3  # (1/2)^5 without a grave breach
    assert "30 simulated sittings" in page(rates, 1)
    assert len(misses({"expert": rates["swapper"], "swapper": rates["expert"]})) == 2


@pytest.mark.full
def test_over_200_sittings_the_expert_passes_and_the_swapper_does_not() -> None:
    played = play_bank(bank()[0], 2, workers=2)
    rates = {name: sit(name, played[name], 200) for name in played}
    assert misses(rates) == [], rates
