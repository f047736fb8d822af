"""How fast beliefs and advice are. No test here judges a time.

python binder/run_tests.py -m benchmark tests/benchmarks/test_beliefs.py
"""

from __future__ import annotations

import numpy as np
import pytest

from simulator.diagnosis.advice import next_best
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.rig.presets import load_rig, standard_site

pytestmark = pytest.mark.benchmark


@pytest.fixture(scope="module")
def cases() -> HypothesisSet:
    return hypothesis_set(load_rig("osier"), standard_site(), use_cache=False)


def watched(cases: HypothesisSet) -> Belief:
    times = np.arange(3.0, 76.0, 3.0)
    values = cases.needles[cases.situations.start[20]][:, times.astype(int)]
    return Belief(cases).update_gauges(1, times, values).update_restart(1, 76.0, None)


def test_a_cold_set_of_hypotheses(benchmark) -> None:
    benchmark.pedantic(
        lambda: hypothesis_set(load_rig("osier"), standard_site(), use_cache=False), rounds=2, iterations=1
    )


def test_a_belief_after_a_check(benchmark, cases) -> None:
    before = watched(cases)
    benchmark(lambda: before.update_check("belt", "tight").weights)


def test_a_belief_after_the_gauges(benchmark, cases) -> None:
    benchmark(lambda: watched(cases).weights)


def test_advice_before_anything_is_seen(benchmark, cases) -> None:
    next_best(Belief(cases))
    benchmark.pedantic(lambda: next_best(Belief(cases)), rounds=5, iterations=1)


def test_advice_after_the_gauges(benchmark, cases) -> None:
    belief = watched(cases)
    benchmark.pedantic(lambda: next_best(belief), rounds=5, iterations=1)
