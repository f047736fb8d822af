"""The calibration study as one page: figures, reliability curves with their table, and what was taken for what.

``found`` are the forecasts by the stage they were made at, ``seed`` is that of the cases.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

import numpy as np
from plotly.offline import get_plotlyjs

from simulator.charts.report import Line, Panel, chart
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig
from simulator.studies.forecasts import BINS, SITES, WANTED, WHEN, Forecast, Score, confusion, score
from simulator.texts import text

SURE = 2.0  # [-] standard deviations within which 19 of 20 dots of a perfect forecaster lie

_STYLE = (
    "body{font:15px sans-serif;margin:2em;max-width:70em}table{border-collapse:collapse;margin:1em 0}"
    "td,th{border:1px solid #bbb;padding:3px 8px;text-align:right}th{background:#eee;text-align:left}"
    "td.missed{background:#f3c9c9}table.many td,table.many th{padding:1px 4px;font-size:11px}"
    "@media print{body{margin:0}}"
)


def page(found: Mapping[str, Sequence[Forecast]], seed: int) -> str:
    """The whole page as HTML."""
    sites = "; ".join(
        text("diagnosis.calibration.site", rig=load_rig(rig).title, lift=f"{lift:g}") for rig, lift in SITES
    )
    count = len(found["call"])
    parts = [
        f"<h1>{_words('title')}</h1>",
        f"<p>{_words('how', cases=count, seed=seed)}</p>",
        f"<p>{escape(sites)}.</p>",
        f"<p>{escape(text('common.training_aid'))}</p>",
        _figures({when: score(found[when], seed) for when in WHEN}),
        _reliability({when: _binned(found[when]) for when in WHEN}),
        f"<h2>{_words('families')}</h2>",
        _families(found["call"]),
        f"<h2>{_words('faults')}</h2>",
        _faults(found["call"]),
    ]
    body = "\n".join(parts)
    head = f'<head><meta charset="utf-8"><title>{_words("title")}</title><style>{_STYLE}</style>'
    head += f"<script>{get_plotlyjs()}</script></head>"
    return f'<!DOCTYPE html>\n<html lang="en">{head}<body>{body}</body></html>\n'


#: Forecasts of a set by the moment they were asked at, and mean and 95th percentile of a perfect forecaster's calibration
#: error there [-]; None where that is of chances that come true as they are stated.
Moments = Mapping[str, tuple[Sequence[Forecast], tuple[float, float] | None]]


def sets_page(found: Mapping[str, Moments], seed: int, sure: float) -> str:
    """The page of beliefs by set and moment (``found``) as HTML; ``sure`` [-] the chance from which a statement counts as
    sure."""
    heads = [
        _words(f"sets.{key}") for key in ("asked", "top", "ece", "null_mean", "null_high", "sure", "wrong")
    ]
    rows = []
    for name, moments in found.items():
        for moment, (own, null) in moments.items():
            got = score(own, seed, sure)
            counts = (str(got.cases), *(f"{v:.3f}" for v in (got.top, got.ece, *(null or got.null))))
            rows.append(
                [
                    f"{_words(f'when.{name}')}, {_words(f'sets.{moment}')}",
                    *counts,
                    str(round(got.certain * got.cases)),
                    f"{got.wrong:.3f}",
                ]
            )
    parts = [
        f"<h1>{_words('sets.title')}</h1>",
        f"<p>{_words('sets.how', seed=seed, sure=f'{sure:g}')}</p>",
        f"<p>{escape(text('common.training_aid'))}</p>",
        _table(["", *heads], rows),
        _reliability({name: _binned(moments["any_part"][0]) for name, moments in found.items()}),
    ]
    body = "\n".join(parts)
    head = f'<head><meta charset="utf-8"><title>{_words("sets.title")}</title><style>{_STYLE}</style>'
    head += f"<script>{get_plotlyjs()}</script></head>"
    return f'<!DOCTYPE html>\n<html lang="en">{head}<body>{body}</body></html>\n'


def _words(key: str, **fields: object) -> str:
    return escape(text(f"diagnosis.calibration.{key}", **fields))


def _figures(scores: Mapping[str, Score]) -> str:
    head = "".join(f"<th>{_words(f'when.{when}')}</th>" for when in WHEN)
    lines = [
        ("ece", lambda s: s.ece, lambda v: v <= WANTED["ece"]),
        ("null_mean", lambda s: s.null[0], None),
        ("null_high", lambda s: s.null[1], None),
        ("certain", lambda s: s.certain, None),
        ("wrong", lambda s: s.wrong, lambda v: v <= WANTED["wrong"]),
        ("top", lambda s: s.top, lambda v: v >= WANTED["top"]),
        ("right", lambda s: s.right, None),
    ]
    body = []
    for key, value, good in lines:
        cells = []
        for when in WHEN:
            figure = value(scores[when])
            missed = ' class="missed"' if when == "call" and good and not good(figure) else ""
            cells.append(f"<td{missed}>{figure:.3f}</td>")
        wanted = _words(f"wanted.{key}") if good else ""
        body.append(f"<tr><th>{_words(key)}</th>{''.join(cells)}<td>{wanted}</td></tr>")
    return f"<table><tr><th></th>{head}<th>{_words('wanted.head')}</th></tr>{''.join(body)}</table>"


def _binned(forecasts: Sequence[Forecast]) -> list[tuple[float, float, int]]:
    """Of each bin that holds any case: mean chance stated, share that came true [-], and cases [-]."""
    stated = np.array([item.stated[item.best] for item in forecasts])
    right = np.array([float(item.right) for item in forecasts])
    which = np.minimum((stated * BINS).astype(int), BINS - 1)
    return [
        (float(stated[which == n].mean()), float(right[which == n].mean()), int((which == n).sum()))
        for n in range(BINS)
        if (which == n).any()
    ]


def _reliability(bins: Mapping[str, Sequence[tuple[float, float, int]]]) -> str:
    panels, rows = [], []
    for when, found in bins.items():
        stated = [x for x, _, _ in found]
        spread = [SURE * (max(x * (1.0 - x), 1e-9) / count) ** 0.5 for x, _, count in found]
        band = [
            Line(
                "",
                stated,
                [min(max(x + sign * s, 0.0), 1.0) for x, s in zip(stated, spread, strict=True)],
                style=-1,
            )
            for sign in (-1.0, 1.0)
        ]
        lines = (
            Line("", (0.0, 1.0), (0.0, 1.0), style=-1, dash="solid"),
            *band,
            Line("", stated, [y for _, y, _ in found], mode="lines+markers"),
        )
        name = text(f"diagnosis.calibration.when.{when}")
        stated_name, true_name = text("diagnosis.calibration.stated"), text("diagnosis.calibration.came_true")
        panels.append(Panel(lines, f"{name}<br>{stated_name}", true_name, y_range=(0.0, 1.02)))
        rows += [(name, f"{x:.3f}", f"{y:.3f}", str(count)) for x, y, count in found]
    heads = ("", _words("stated"), _words("came_true"), _words("cases"))
    return (
        f"<figure>{chart(*panels, columns=len(panels))}<figcaption>{_words('curve')}</figcaption></figure>"
        + _table(heads, [[escape(cell) for cell in row] for row in rows])
    )


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]], kind: str = "") -> str:
    """A table of cells that are escaped already; the first of a row is its name."""
    head = "".join(f"<th>{name}</th>" for name in heads)
    body = "".join(
        f"<tr><th>{row[0]}</th>{''.join(c if c.startswith('<td') else f'<td>{c}</td>' for c in row[1:])}</tr>"
        for row in rows
    )
    return f'<table class="{kind}"><tr>{head}</tr>{body}</table>'


def _families(forecasts: Sequence[Forecast]) -> str:
    kinds, table = confusion(forecasts, lambda name: FAULTS[name].family)
    names = [escape(text(f"faults.families.{kind}")) for kind in kinds]
    rows = [[name, *(_shaded(v, row.sum()) for v in row)] for name, row in zip(names, table, strict=True)]
    return _table([_words("was_taken"), *names], rows)


def _shaded(value: float, total: float) -> str:
    share = value / total if total else 0.0
    return f'<td style="background:rgba(0,80,140,{0.6 * share:.2f})">{value:.0f}</td>'


def _faults(forecasts: Sequence[Forecast]) -> str:
    kinds, table = confusion(forecasts, lambda name: name)
    rows = [
        [f"{escape(text(f'faults.{kind}.name'))} ({n})", *(_shaded(v, row.sum()) if v else "" for v in row)]
        for n, (kind, row) in enumerate(zip(kinds, table, strict=True), 1)
    ]
    heads = [_words("was_taken"), *(str(n) for n in range(1, len(kinds) + 1))]
    return f"<p>{_words('matrix')}</p>" + _table(heads, rows, "many")
