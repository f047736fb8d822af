"""Hypothesis sets that several tests share, simulated once."""

from __future__ import annotations

import os
import pickle
from pathlib import Path

import numpy as np
import pytest

from simulator.diagnosis.hypotheses import Hypothesis, Situations
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from tests.conftest import CACHE_FOLDER


@pytest.fixture(scope="session")
def cases() -> HypothesisSet:
    """All hypotheses of the rig Osier at its usual site."""
    return kept_for_tests("osier")


def kept_for_tests(rig: str) -> HypothesisSet:
    """A set as the model gives it: simulated once for the same sources and data, after which its folder is named."""
    path = Path(os.environ[CACHE_FOLDER]) / f"as-simulated-{rig}.pickle"
    if path.is_file():
        kept: HypothesisSet = pickle.loads(path.read_bytes())
        return kept
    made = hypothesis_set(load_rig(rig), standard_site(rig), use_cache=False)
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(f".{os.getpid()}")
    part.write_bytes(pickle.dumps(made))
    part.replace(path)
    return made


@pytest.fixture
def small_set():
    """A made-up set: one hypothesis a row, flat needles, chances of checks as given."""

    def make(
        weights, chances=None, after=None, findings=None, prime_times=None, levels=None
    ) -> HypothesisSet:
        count = len(weights)
        prime = np.array([35.0] + [np.nan] * (count - 1) if prime_times is None else prime_times)
        needles = np.zeros((count, 2, 121))
        for row, level in enumerate(levels or []):
            needles[row, 0] = level
        after = after or {}
        return HypothesisSet(
            rig=load_rig("osier"),
            site=standard_site(),
            hypotheses=tuple(
                Hypothesis(name, FAULTS[name].family, 0.0, "", w)
                for name, w in zip(FAULTS, weights, strict=False)
            ),
            situations=Situations(
                rows=(),
                start=np.arange(count),
                after={act: np.array(rows) for act, rows in after.items()},
                findings={
                    act: np.array(
                        (findings or {}).get(act, ["seen" if r != i else "clean" for i, r in enumerate(rows)])
                    )
                    for act, rows in after.items()
                },
            ),
            needles=needles,
            prime_times=prime,
            outcomes=np.where(np.isfinite(prime), "primed", "stalled"),
            chances={key: np.array(values)[:, None, :] for key, values in (chances or {}).items()},
            cells=np.zeros_like(needles),
            fits=np.eye(count) * 0.9 + 0.1,
            key=f"made up {count} {weights} {sorted(map(str, after))} {prime.tolist()}",
        )

    return make
