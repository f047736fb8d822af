"""Readings typed or pasted in every way people write them; each line that cannot be read is told by its number."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.measured.table import read_readings

TIMES, VACUUMS = (10.0, 20.0, 70.0), (8_500.0, 21_000.0, 40_250.0)
KPA = ("8.5", "21", "40.25")
WAYS = {
    "tab": "10\t8.5\n20\t21\n70\t40.25",
    "comma parts, point in figures": "10,8.5\n20,21\n70,40.25",
    "comma and blank": "10, 8.5\n20, 21\n70, 40.25",
    "semicolon, comma in figures": "10;8,5\n20;21\n70;40,25",
    "tab, comma in figures": "10\t8,5\n20\t21\n70\t40,25",
    "blanks, comma in figures": "10  8,5\n20  21\n70  40,25",
    "heading": "Time (s),Vacuum (kPa)\n10,8.5\n20,21\n70,40.25",
    "heading and blank lines": "\ufeffsecond;vacuum\n\n10;8.5\n\n20;21\n70;40.25\n\n",
    "minutes and seconds": "0:10;8.5\n0:20;21\n1:10;40.25",
    "hours too": "0:00:10;8.5\n0:00:20;21\n0:01:10;40.25",
    "units in cells": "10 s;8.5 kPa\n20 s;21 kPa\n70 s;40.25 kPa",
    "blanks and units": "10 8.5 kPa\n20 21 kPa\n70 40.25 kPa",
    "quoted": '"10","8.5"\n"20","21"\n"70","40.25"',
    "below nought, as some gauges have it": "10;-8.5\n20;-21\n70;−40.25",
    "line ends of another system": "10,8.5\r\n20,21\r\n70,40.25\r\n",
    "empty cells behind": "10;8.5;;\n20;21;;\n70;40.25;;",
    "in bar": "s;bar\n10;0.085\n20;0.21\n70;0.4025",
}


@pytest.mark.parametrize("way", WAYS)
def test_a_table_is_read_however_it_is_written(way: str) -> None:
    found = read_readings(WAYS[way])
    assert found.bad == ()
    assert found.times == TIMES
    assert found.vacuums == pytest.approx(VACUUMS, abs=1e-6)


def test_inches_of_mercury_by_heading_by_cell_and_by_choice() -> None:
    # 1 inHg = 3386.389 Pa: NIST SP 811 (2008), Appendix B
    for written, unit in (("s;inHg\n10;6", "kPa"), ("10;6 inHg", "kPa"), ('10;6"', "kPa"), ("10;6", "inHg")):
        assert read_readings(written, unit).vacuums == pytest.approx((20_318.334,), abs=1e-3)


BAD = {
    "10;deep": "no_vacuum",
    "soon;8": "no_time",
    "10": "cells",
    "10;8;9": "cells",
    "5000;8": "range_time",
    "10;850": "deep",
    "1:75;8": "no_time",
    "10,8,5": "cells",
}


@pytest.mark.parametrize("line", BAD)
def test_a_bad_line_is_told_by_its_number_and_the_others_count(line: str) -> None:
    found = read_readings(f"s;kPa\n2;1\n{line}\n3;2")
    assert [(bad.number, bad.kind, bad.line) for bad in found.bad] == [(3, BAD[line], line)]
    assert found.times == (2.0, 3.0)


def test_a_time_twice_or_out_of_order_is_told() -> None:
    found = read_readings("10;5\n20;9\n20;9\n15;7\n30;12")
    assert [(bad.number, bad.kind) for bad in found.bad] == [(3, "twice"), (4, "order")]
    assert found.times == (10.0, 20.0, 30.0)


@given(
    rows=st.lists(
        st.tuples(st.integers(0, 3600), st.integers(0, 900)),
        min_size=1,
        max_size=40,
        unique_by=lambda r: r[0],
    ),
    dialect=st.sampled_from(("excel", "excel-tab", "unix")),
    heading=st.booleans(),
)
def test_what_pythons_own_writer_writes_is_read(
    rows: list[tuple[int, int]], dialect: str, heading: bool
) -> None:
    rows = sorted(rows)
    written = io.StringIO()
    writer = csv.writer(written, dialect=dialect)
    if heading:
        writer.writerow(["time", "vacuum kPa"])
    writer.writerows([time, f"{tenths / 10:.1f}"] for time, tenths in rows)
    found = read_readings(written.getvalue())
    assert found.bad == ()
    assert found.times == tuple(float(time) for time, _ in rows)
    assert found.vacuums == pytest.approx([100.0 * tenths for _, tenths in rows], abs=1e-6)


@given(st.text(max_size=300))
def test_no_text_breaks_it_and_no_line_is_lost(written: str) -> None:
    found = read_readings(written)
    told = len(found.times) + len(found.bad)
    lines = [line for line in written.lstrip("\ufeff").splitlines() if line.strip(" \t;,")]
    assert told in (len(lines), len(lines) - 1)  # the first may be a heading
