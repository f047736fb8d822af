"""A gauge that lies beside whatever else is wrong: its needle says so, and it is changed once the rig is proven."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from simulator.diagnosis.advice import next_best
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.lying_gauge import bad_gauges
from simulator.instruments.gauges import lagged
from simulator.rig.presets import load_rig, standard_site

GAUGES = ("gauge_low", "gauge_stuck", "gauge_slow", "motive_gauge_stuck")
TIMES = np.arange(3.0, 31.0, 3.0)
#: What a needle shows instead of the truth [Pa], and of which gauge.
LIES: dict[str, tuple[int, Callable[[np.ndarray], np.ndarray]]] = {
    "gauge_low": (0, lambda curve: curve - 14e3),
    "gauge_stuck": (0, np.zeros_like),
    "gauge_slow": (0, lambda curve: lagged(curve, 35.0, 1.0)),
    "motive_gauge_stuck": (1, np.zeros_like),
}


@pytest.fixture(scope="module")
def cases() -> HypothesisSet:
    return hypothesis_set(load_rig("osier"), standard_site(), ["drain_open", "belt_loose", *GAUGES])


def mended(cases: HypothesisSet, lie: str = "") -> Belief:
    """An open drain was found and shut, and the rig proved; one gauge lies all the while."""

    def needles(row: int) -> np.ndarray:
        shown = cases.needles[row].copy()
        if lie:
            gauge, bent = LIES[lie]
            shown[gauge] = bent(shown[gauge])
        return shown[:, TIMES.astype(int)]

    row = int(cases.situations.start[cases.fault_index == cases.faults.index("drain_open")][2])
    belief = Belief(cases).update_gauges(1, TIMES, needles(row)).update_restart(1, 90.0)
    belief = belief.update_remedy("close_drain", "", "was_open").update_gauges(2, TIMES, needles(0))
    prime = float(cases.prime_times[0])
    return belief.update_restart(2, cases.span, prime, proof=True, end="primed")


def lies(belief: Belief) -> dict[str, float]:
    """Chance that each gauge lies, alone or beside what else is wrong."""
    own = belief.by_fault()
    return {name: own[name] + chance for name, chance in bad_gauges(belief).items()}


@pytest.mark.parametrize("lie", GAUGES)
def test_a_gauge_that_lies_beside_a_fault_is_known_by_its_needle(cases: HypothesisSet, lie: str) -> None:
    """The rig proved and the play was over: of the gauge it was never said that it lies."""
    belief = mended(cases, lie)
    chances = lies(belief)
    assert chances[lie] == max(chances.values()) > 0.9
    work = next_best(belief).option.id
    assert work == ("swap_motive_gauge" if LIES[lie][0] else "swap_suction_gauge")
    changed = belief.update_remedy(work, "", "was_bad")
    assert lie not in lies(changed)
    assert (
        next_best(changed.update_restart(3, cases.span, float(cases.prime_times[0]), proof=True)).option.id
        == "finish"
    )


def test_of_good_gauges_nothing_is_said(cases: HypothesisSet) -> None:
    belief = mended(cases)
    assert sum(bad_gauges(belief).values()) < 0.05
    assert next_best(belief).option.id == "finish"


def test_needles_that_come_near_nothing_are_no_sign_of_a_bad_gauge(cases: HypothesisSet) -> None:
    """Motive air that fell by half as the rig ran, which no single fault does: it was said that its gauge stuck."""
    times = np.arange(3.0, 91.0, 3.0)
    shown = cases.needles[0][:, times.astype(int)].copy()
    shown[1] = np.where(times < 30.0, shown[1], 0.5 * shown[1])
    belief = Belief(cases).update_gauges(1, times, shown).update_restart(1, 120.0)
    assert sum(bad_gauges(belief).values()) < 0.2


def test_a_good_gauge_beside_it_says_more_than_the_needle(cases: HypothesisSet) -> None:
    """After the look the needles of the gauge found bad are left out, and it is known all the same."""
    belief = mended(cases, "gauge_low")
    assert lies(belief.update_check("gauge_swap", "suction_off"))["gauge_low"] > 0.8
    fine = mended(cases)
    tried = fine.update_check("gauge_swap", "agree")
    assert bad_gauges(tried)["gauge_low"] < 0.1 * bad_gauges(fine)["gauge_low"]
