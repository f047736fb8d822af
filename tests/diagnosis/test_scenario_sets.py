"""Hypothesis sets kept in the package: small, whole, and what the model gives; two faults at once are among them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.diagnosis import shipped
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.hypotheses import situations, spread
from simulator.diagnosis.hypothesis_set import simulated
from simulator.diagnosis.scenario_sets import derived, same, set_of
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.scenario import load_scenario
from simulator.scenario.model import sound_rig

FILES = sorted((Path(__file__).parents[2] / "lessons" / "scenarios").glob("*.scenario.yaml"))
ONE = "teal_pond."  # of the fast tier
MAX_BYTES = 10e6


def kept(path: Path) -> shipped.Arrays | None:
    call = load_scenario(path)
    rig, site = sound_rig(call)
    return shipped.load(shipped.key_of(rig, site, spread(rig, site, pairs=len(call.faults) > 1)))


def test_most_call_outs_have_their_set_and_all_are_small() -> None:
    """One that has none yet is simulated when it is first needed."""
    assert sum(kept(path) is None for path in FILES) <= 0.2 * len(FILES)
    assert sum(path.stat().st_size for path in shipped.FOLDER.glob("*.npz")) < MAX_BYTES


@pytest.mark.full
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name.split(".")[0])
def test_a_kept_set_is_what_the_model_gives(path: Path) -> None:
    found = kept(path)
    if found is None:
        pytest.skip("no set is kept for this call-out yet")
    call = load_scenario(path)
    key, made = derived(*sound_rig(call), len(call.faults) > 1)
    assert same(found, made), key


def test_each_tenth_row_of_a_kept_set_is_what_the_model_gives() -> None:
    path = next(path for path in FILES if path.name.startswith(ONE))
    rig, site = sound_rig(load_scenario(path))
    rows = situations(rig, site, spread(rig, site))
    made = simulated(rig, site, replace(rows, rows=rows.rows[::10]))
    found = kept(path)
    assert found is not None
    assert same({name: array[::10] for name, array in found.items()}, made)


@pytest.mark.full
@pytest.mark.parametrize("name", rig_names())
def test_the_set_that_a_card_rests_on_is_what_the_model_gives(name: str) -> None:
    key, made = derived(load_rig(name), standard_site(name), False)
    found = shipped.load(key)
    assert found is not None, "made by python -m simulator.diagnosis.scenario_sets"
    assert same(found, made)


def test_packing_loses_next_to_nothing(cases) -> None:
    arrays = {
        "needles": cases.needles,
        "prime_times": cases.prime_times,
        "outcomes": cases.outcomes,
        **{f"check {name} {place}": values for (name, place), values in cases.chances.items()},
    }
    back = shipped.unpacked(shipped.packed(arrays))
    assert back.keys() == arrays.keys()
    assert np.max(np.abs(back["needles"] - arrays["needles"])[:, 0]) <= 5.0 + 1e-6
    assert np.max(np.abs(back["needles"] - arrays["needles"])[:, 1]) <= 100.0 + 1e-6
    np.testing.assert_array_equal(back["outcomes"], arrays["outcomes"])
    np.testing.assert_allclose(back["prime_times"], arrays["prime_times"], rtol=1e-6)
    for name in arrays:
        if name.startswith("check "):
            np.testing.assert_allclose(back[name], arrays[name], rtol=2e-3, atol=1e-6)
            assert np.all(back[name] > 0.0)


def test_what_is_damaged_counts_as_not_there(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(shipped, "FOLDER", tmp_path)
    (tmp_path / f"{'a' * 32}.npz").write_bytes(b"no such thing")
    assert shipped.load("a" * 32) is None


def test_the_site_by_another_name_has_the_same_key() -> None:
    rig, site = load_rig("osier"), standard_site()

    other = replace(site, name="Elsewhere")
    assert shipped.key_of(rig, site, ()) == shipped.key_of(rig, other, ())
    assert shipped.key_of(rig, site, ()) != shipped.key_of(rig, replace(site, lift=site.lift + 0.1), ())


@pytest.mark.full
def test_a_pair_shares_its_weight_between_its_faults() -> None:
    path = next(path for path in FILES if len(load_scenario(path).faults) > 1)
    cases = set_of(load_scenario(path))
    belief = Belief(cases)
    pairs = np.array([h.second is not None for h in cases.hypotheses])
    assert belief.weights[pairs].sum() == pytest.approx(0.25, abs=0.02)
    assert sum(belief.by_fault().values()) == pytest.approx(1.0, rel=1e-12)
    assert sum(belief.by_family().values()) == pytest.approx(1.0, rel=1e-12)


def test_a_pair_is_two_faults_and_each_leaves_the_other() -> None:
    rig, site = load_rig("osier"), standard_site()
    found = [h for h in spread(rig, site, ["drain_open", "belt_loose"], pairs=True) if h.second is not None]
    assert len(found) == 4
    for h in found:
        there, _ = h.apply(rig, site)
        assert there.casing_drain.opening > 0.0
        assert there.compressor.belt_slip > 0.0
    assert sum(h.weight for h in spread(rig, site, pairs=True)) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize(
    ("rows", "moved", "still"), [(1, 5000.0, True), (20, 500.0, False), (20, 300.0, True)]
)
def test_a_few_rows_may_stray_and_no_more(rows: int, moved: float, still: bool) -> None:
    found = kept(next(path for path in FILES if path.name.startswith(ONE)))
    assert found is not None
    strayed = found["needles"].copy()
    strayed[:rows, 0, -1] += moved
    assert same(found, found | {"needles": strayed}) is still
