"""The calibration study as one page to print: figures, reliability curve and confusion matrix, no script needed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

import numpy as np

from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig
from simulator.studies.forecasts import BINS, SITES, WANTED, WHEN, Forecast, Score, confusion, score
from simulator.texts import text

SIDE = 300  # [px] of the reliability square
CELL = 15  # [px] of the confusion matrix

_STYLE = (
    "body{font:15px sans-serif;margin:2em;max-width:70em}table{border-collapse:collapse;margin:1em 0}"
    "td,th{border:1px solid #bbb;padding:3px 8px;text-align:right}th{background:#eee;text-align:left}"
    "td.missed{background:#f3c9c9}figure{display:inline-block;margin:1em 2em 1em 0;vertical-align:top}"
    "figcaption{max-width:22em}@media print{body{margin:0}figure{break-inside:avoid}}"
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
        *(_reliability(found[when], when) for when in WHEN),
        f"<h2>{_words('families')}</h2>",
        _families(found["call"]),
        f"<h2>{_words('faults')}</h2>",
        _matrix(found["call"]),
    ]
    body = "\n".join(parts)
    head = f'<head><meta charset="utf-8"><title>{_words("title")}</title><style>{_STYLE}</style></head>'
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


def _reliability(forecasts: Sequence[Forecast], when: str) -> str:
    stated = np.array([item.stated[item.best] for item in forecasts])
    right = np.array([float(item.best == item.truth) for item in forecasts])
    which = np.minimum((stated * BINS).astype(int), BINS - 1)
    dots, path = [], []
    for number in range(BINS):
        inside = which == number
        count = int(inside.sum())
        if not count:
            continue
        x, y = float(stated[inside].mean()), float(right[inside].mean())
        spread = float(np.sqrt(max(x * (1.0 - x), 1e-9) / count))
        px, py = 40 + SIDE * x, 10 + SIDE * (1.0 - y)
        low, high = (10 + SIDE * (1.0 - min(max(x + sign * 2.0 * spread, 0.0), 1.0)) for sign in (-1.0, 1.0))
        dots.append(
            f'<line x1="{px:.1f}" y1="{low:.1f}" x2="{px:.1f}" y2="{high:.1f}" stroke="#9bb" stroke-width="6"/>'
            f'<circle cx="{px:.1f}" cy="{py:.1f}" r="4" fill="#036"/>'
            f'<text x="{px + 6:.1f}" y="{py + 12:.1f}" font-size="10">{count}</text>'
        )
        path.append(f"{px:.1f},{py:.1f}")
    ticks = "".join(
        f'<text x="{40 + SIDE * t - 8:.0f}" y="{SIDE + 26}" font-size="11">{t:g}</text>'
        f'<text x="12" y="{14 + SIDE * (1.0 - t):.0f}" font-size="11">{t:g}</text>'
        for t in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
    )
    drawing = (
        f'<svg width="{SIDE + 60}" height="{SIDE + 50}" role="img" aria-label="{_words(f"when.{when}")}">'
        f'<rect x="40" y="10" width="{SIDE}" height="{SIDE}" fill="none" stroke="#888"/>'
        f'<line x1="40" y1="{10 + SIDE}" x2="{40 + SIDE}" y2="10" stroke="#888" stroke-dasharray="4"/>'
        f'<polyline points="{" ".join(path)}" fill="none" stroke="#036"/>{"".join(dots)}{ticks}'
        f'<text x="{40 + SIDE / 2 - 40:.0f}" y="{SIDE + 44}" font-size="12">{_words("stated")}</text></svg>'
    )
    caption = f"{_words(f'when.{when}')}. {_words('curve')}"
    return f"<figure>{drawing}<figcaption>{caption}</figcaption></figure>"


def _families(forecasts: Sequence[Forecast]) -> str:
    kinds, table = confusion(forecasts, lambda name: FAULTS[name].family)
    names = [escape(text(f"faults.families.{kind}")) for kind in kinds]
    head = "".join(f"<th>{name}</th>" for name in names)
    body = "".join(
        f"<tr><th>{name}</th>{''.join(_shaded(v, row.sum()) for v in row)}</tr>"
        for name, row in zip(names, table, strict=True)
    )
    return f"<table><tr><th>{_words('was_taken')}</th>{head}</tr>{body}</table>"


def _shaded(value: float, total: float) -> str:
    share = value / total if total else 0.0
    return f'<td style="background:rgba(0,80,140,{0.6 * share:.2f})">{value:.0f}</td>'


def _matrix(forecasts: Sequence[Forecast]) -> str:
    kinds, table = confusion(forecasts, lambda name: name)
    left, top = 260, 10
    size = CELL * len(kinds)
    squares, labels = [], []
    for i, kind in enumerate(kinds):
        name = escape(text(f"faults.{kind}.name"))
        y = top + CELL * i
        labels.append(
            f'<text x="{left - 30}" y="{y + 11}" font-size="10" text-anchor="end">{name} ({i + 1})</text>'
        )
        labels.append(f'<text x="{left + CELL * i + 2}" y="{top + size + 12}" font-size="9">{i + 1}</text>')
        for j in np.flatnonzero(table[i]):
            share = table[i, j] / table[i].sum()
            squares.append(
                f'<rect x="{left + CELL * j}" y="{y}" width="{CELL}" height="{CELL}" fill="#036" '
                f'fill-opacity="{0.15 + 0.85 * share:.2f}"><title>{name}: {table[i, j]:.0f}</title></rect>'
            )
    frame = f'<rect x="{left}" y="{top}" width="{size}" height="{size}" fill="none" stroke="#888"/>'
    label = _words("faults")
    drawing = (
        f'<svg width="{left + size + 20}" height="{top + size + 30}" role="img" aria-label="{label}">'
        f"{frame}{''.join(squares)}{''.join(labels)}</svg>"
    )
    return f"<figure>{drawing}<figcaption>{_words('matrix')}</figcaption></figure>"
