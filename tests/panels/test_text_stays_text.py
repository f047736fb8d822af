"""Whatever is typed is shown as it was typed: never as HTML, never as a formula."""

from __future__ import annotations

import csv
import io

import pytest

from simulator.records import ObservedJob, Store, export_csv, keep_job
from tests.panels.hostile_text import HOSTILE, PICTURE, SCRIPT, SHEETS, Elements

QUICK = ("certificate", "field sheet")  # sheets that simulate nothing anew
FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1+1", "\n=1", '=HYPERLINK("x")')


@pytest.mark.parametrize(
    "name", [n if n in QUICK else pytest.param(n, marks=pytest.mark.full) for n in SHEETS]
)
def test_a_sheet_shows_what_was_typed(name: str) -> None:
    page = Elements(SHEETS[name]())
    assert not {"script", "img", "iframe", "object"} & set(page.tags)
    assert page.listening == []
    words = "".join(page.words)
    assert SCRIPT in words
    assert PICTURE in words


def test_a_cell_is_never_a_formula() -> None:
    with Store.open("sqlite://") as store:
        for formula in FORMULAS:
            keep_job(
                store,
                ObservedJob("Ash", "Wren", "2026-03-02", cause=formula, remarks=formula, steps=(formula,)),
            )
        keep_job(store, ObservedJob(HOSTILE[:60], "Wren", "2026-03-02", site=HOSTILE))
        for sheet in ("attempts", "events", "marks", "observed_jobs"):
            rows = list(csv.reader(io.StringIO(export_csv(store, sheet))))  # type: ignore[arg-type]
            for row in rows:
                for cell in row:
                    assert cell.strip()[:1] not in (*"=+-@＝",) or cell[:1] == "'", cell
        written = list(csv.DictReader(io.StringIO(export_csv(store, "observed_jobs"))))
        assert {row["cause"].removeprefix("'") for row in written[:-1]} == set(FORMULAS)
        assert written[-1]["site"] == HOSTILE
