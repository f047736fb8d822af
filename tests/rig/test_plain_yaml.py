"""Files that came from anybody: plain data with line numbers, or a sentence."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.errors import InputError
from simulator.rig import plain_yaml
from simulator.rig.plain_yaml import (
    DEEPEST_NESTING,
    LARGEST_FILE,
    dotted,
    read_bytes,
    read_file,
    read_text,
)


def _nested(levels: int) -> str:
    return "a: " + "[" * levels + "]" * levels


REFUSED = {
    "empty": ("", "line 1", "empty"),
    "only comments": ("# nothing\n", "line 1", "empty"),
    "a tab": ("a: 1\n\tb: 2\n", "line 2", "not YAML"),
    "an open bracket": ("a: 1\nb: [1, 2\nc: 3\n", "line", "not YAML"),
    "a python tag": ("a: 1\nb: !!python/object/apply:os.system ['true']\n", "line 2", "tag"),
    "a tag": ("a: !secret 1\n", "line 1", "tag"),
    "an anchor": ("a: &x [1]\nb: *x\n", "line 1", "anchors"),
    "an alias bomb": ("a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\n", "line 1", "anchors"),
    "two documents": ("a: 1\n---\nb: 2\n", "line 2", "second document"),
    "a duplicate": ("a: 1\nb: 2\na: 3\n", "line 3, a", "twice"),
    "a duplicate inside": ("s:\n  a: 1\n  a: 2\n", "line 3, s.a", "twice"),
    "a list as a key": ("? [1, 2]\n: 3\n", "line 1", "key"),
    "not a number": ("a: 1\nb: .nan\n", "line 2, b", "number"),
    "infinite": ("a: -.inf\n", "line 1, a", "number"),
    "overflow": ("a: 1.0e+999\n", "line 1, a", "number"),
    "endless digits": ("a: " + "9" * 5000, "line 1, a", "number"),
    "too deep": (_nested(DEEPEST_NESTING + 1), "line 1", "nest"),
    "far too deep": (_nested(50_000), "line 1", "nest"),
    "a control character": ("a: 1\nb: \x00\n", "line 2", "not YAML"),
}


@pytest.mark.parametrize("loader", [plain_yaml._LOADER, yaml.SafeLoader])  # with and without the C library
@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_line(name: str, loader: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plain_yaml, "_LOADER", loader)
    written, where, what = REFUSED[name]
    with pytest.raises(InputError) as caught:
        read_text(written, "a file")
    assert caught.value.where.startswith("a file, " + where)
    assert what in caught.value.what
    assert caught.value.legal


def test_file_errors_are_sentences(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be opened"):
        read_file(tmp_path / "missing.yaml")
    with pytest.raises(InputError, match="cannot be opened"):
        read_file(tmp_path)
    (tmp_path / "big.yaml").write_bytes(b"a: 1\n" * LARGEST_FILE)
    with pytest.raises(InputError, match="too large"):
        read_file(tmp_path / "big.yaml")
    with pytest.raises(InputError, match=r"line 3.*UTF-8"):
        read_bytes(b"a: 1\nb: 2\nc: \xff\xfe\n", "a file")


def test_a_mark_at_the_start_and_windows_line_ends_are_fine() -> None:
    document = read_bytes("\ufeffa: 1\r\nb:\r\n  c: true\r\n".encode(), "a file")
    assert document.data == {"a": 1, "b": {"c": True}}
    assert document.line(("b", "c")) == 3


def test_lines_and_locations() -> None:
    document = read_text("top:\n  - x: 1\n  - x: 2\n    y: no\nwhen: 2024-01-02\n", "a file")
    assert document.data == {"top": [{"x": 1}, {"x": 2, "y": False}], "when": "2024-01-02"}
    assert document.line(("top", 1, "y")) == 4
    assert document.where(("top", 1, "z")).startswith("a file, line 3")
    assert dotted(("top", 1, "y")) == "top[2].y"


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**15), 10**15)
    | st.floats(-1e9, 1e9).filter(math.isfinite)
    | st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abcxyz", min_size=1), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(deadline=None)
@given(st.dictionaries(st.text("abcxyz", min_size=1), PLAIN, min_size=1, max_size=4))
def test_what_the_library_writes_reads_back(data: dict[str, object]) -> None:
    written = yaml.safe_dump(data, allow_unicode=True)
    if "&" in written and yaml.safe_load(written) == data and "*id" in written:
        return  # the library shares equal objects by an anchor; those are refused on purpose
    assert read_text(written, "a file").data == data


@settings(deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_give_data_or_a_sentence(raw: bytes) -> None:
    where = "a file, line"
    try:
        read_bytes(raw, "a file")
    except InputError as error:
        where = error.where
    assert where.startswith("a file, line")


def test_a_number_of_hundreds_of_digits_is_refused() -> None:
    with pytest.raises(InputError, match="line 2, b: the number cannot be read"):
        read_text("a: 1\nb: " + "1" * 400 + "\n", "a file")
