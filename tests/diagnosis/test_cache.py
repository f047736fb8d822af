"""The cache: never half a file, never in the way."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from simulator.diagnosis import cache
from simulator.errors import InputError

KEY = "ab12" * 8


@pytest.fixture(autouse=True)
def _forgetful(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("SIMULATOR_CACHE_DIR", str(tmp_path / "cache"))
    cache.forget()
    yield
    cache.forget()


def stored() -> Path:
    return cache.cache_folder() / "hypotheses" / f"{KEY}.npz"


def test_what_is_kept_comes_back() -> None:
    arrays = {"a": np.arange(3.0), "words": np.array(["primed", "stalled"])}
    assert cache.save(KEY, arrays)
    cache.forget()
    found = cache.load(KEY)
    assert found is not None
    np.testing.assert_array_equal(found["a"], arrays["a"])
    np.testing.assert_array_equal(found["words"], arrays["words"])
    assert [path.name for path in stored().parent.iterdir()] == [stored().name], "nothing half-written stays"


@pytest.mark.parametrize("damage", [b"", b"not an archive", b"PK\x03\x04 cut short"])
def test_a_damaged_file_counts_as_none(damage: bytes) -> None:
    stored().parent.mkdir(parents=True)
    stored().write_bytes(damage)
    assert cache.load(KEY) is None


def test_a_file_cut_in_the_middle_counts_as_none() -> None:
    cache.save(KEY, {"a": np.arange(10_000.0)})
    cache.forget()
    whole = stored().read_bytes()
    stored().write_bytes(whole[: len(whole) // 2])
    assert cache.load(KEY) is None


def test_a_file_with_objects_is_not_trusted() -> None:
    stored().parent.mkdir(parents=True)
    np.savez(stored(), a=np.array([{"x": 1}], dtype=object))
    assert cache.load(KEY) is None


def test_where_nothing_can_be_written_memory_serves(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "a file, not a folder"
    blocked.write_text("")
    monkeypatch.setenv("SIMULATOR_CACHE_DIR", str(blocked))
    assert not cache.save(KEY, {"a": np.arange(3.0)})
    assert cache.load(KEY) is not None
    cache.forget()
    assert cache.load(KEY) is None


def test_a_failed_write_leaves_no_part(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*args: object, **kwargs: object) -> None:
        raise OSError("no space left")

    monkeypatch.setattr(np, "savez_compressed", full)
    assert not cache.save(KEY, {"a": np.arange(3.0)})
    assert list(stored().parent.iterdir()) == []


def test_the_folder_can_be_chosen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SIMULATOR_CACHE_DIR", str(tmp_path / "here"))
    assert cache.cache_folder() == tmp_path / "here"
    monkeypatch.delenv("SIMULATOR_CACHE_DIR")
    assert cache.cache_folder().is_absolute()
    assert os.fspath(cache.cache_folder()).endswith("callout-simulator")


def test_a_key_cannot_leave_the_folder() -> None:
    with pytest.raises(InputError):
        cache.load("../elsewhere")


def test_a_damaged_set_is_made_anew() -> None:
    from simulator.diagnosis.hypothesis_set import forget, hypothesis_set
    from simulator.rig.presets import load_rig, standard_site

    first = hypothesis_set(load_rig("osier"), standard_site(), ["drain_open"])
    path = cache.cache_folder() / "hypotheses" / f"{first.key}.npz"
    path.write_bytes(b"damaged")
    forget()
    again = hypothesis_set(load_rig("osier"), standard_site(), ["drain_open"])
    np.testing.assert_array_equal(first.needles, again.needles)
    forget()
    from_disk = hypothesis_set(load_rig("osier"), standard_site(), ["drain_open"])
    np.testing.assert_array_equal(first.needles, from_disk.needles)
