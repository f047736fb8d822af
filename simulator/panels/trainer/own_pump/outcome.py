"""What the timed start came to, as blocks of the page: curves and misfit, the three factors, other places, verdict.

Arguments, the same throughout: ``units`` "metric" or "us"; ``start`` the timed start; ``fit`` the fitted rig;
``refusal`` the reason against it, None where there is none.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from simulator.measured.fit import FACTORS, Fit
from simulator.measured.judging import Refusal, foretold
from simulator.measured.start import TimedStart
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.words import format_quantity
from simulator.rig.presets import load_rig
from simulator.texts import entry, text
from simulator.units import STANDARD_GRAVITY, SYSTEMS, UNITS, plain_figure

EVERY = 5  # grid points to one drawn
LEAST_HIGH = 40e3  # [Pa] of the axis
AFTER = 1.15  # the curve is drawn so many times the prime time [-]
VACUUMS = ("vacuum", "most", "before", "least")  # of what a refusal says: pressures [Pa]


def chart(start: TimedStart, fit: Fit | None, units: str) -> Block:
    """Vacuum against time: what was read, the fitted rig, and how far they lie apart."""
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    read = [[0.0, 0.0], *([t, v] for t, v in zip(start.times, start.vacuums, strict=True))]
    lines: list[dict[str, Any]] = [{"label": text("own_pump.curve.read"), "style": "other", "points": read}]
    primed = start.prime_time if math.isfinite(start.prime_time) else 0.0
    span = max(AFTER * primed, start.times[-1] if start.times else 0.0, 30.0)
    marks = []
    if primed:
        marks.append({"t": primed, "pa": None, "label": text("own_pump.curve.water")})
    if fit is not None:
        used = fit.start
        keep = fit.needle.time <= min(span, np.nanmax([fit.needle.prime_time, used.prime_time]))
        points = [
            [round(float(t), 1), round(float(v))]
            for t, v in zip(fit.needle.time[keep][::EVERY], fit.needle.vacuum[keep][::EVERY], strict=True)
        ]
        lines.insert(0, {"label": text("own_pump.curve.fitted"), "style": "main", "points": points})
        apart = np.abs(fit.needle.at(used.times) - np.asarray(used.vacuums))
        off = [[t, float(d)] for t, d in zip(used.times, apart, strict=True)]
        lines.append({"label": text("own_pump.curve.apart"), "style": "third", "points": off})
    head = 998.0 * STANDARD_GRAVITY * start.lift
    high = max(LEAST_HIGH, head, *(point[1] for line in lines for point in line["points"]))
    spoken = text("own_pump.curve.spoken", n=len(start.times), prime=f"{primed:.0f}")
    return {
        "id": "curve",
        "kind": "chart",
        "lines": lines,
        "levels": [{"pa": head, "label": text("own_pump.curve.lift")}],
        "marks": marks,
        "unit": {"name": unit.name, "size": unit.size},
        "span_s": span,
        "high_pa": 1.04 * high,
        "axis_x": text("own_pump.curve.axis_x"),
        "axis_y": text("own_pump.curve.axis_y", unit=unit.name),
        "spoken": spoken,
        "height": 250,  # what it comes to, and the name, stand under it in one window
    }


def refusal_words(refusal: Refusal, units: str) -> list[str]:
    """Why it cannot be used, and what to do about it.

    Examples
    --------
    >>> refusal_words(Refusal("few", {"count": 3, "least": 5}), "metric")[0]
    'Taken before the water came: 3 readings. At least 5 are needed.'
    """
    said: dict[str, Any] = {}
    for key, value in refusal.said.items():
        if key in ("factor", "other"):
            said[key] = text(f"own_pump.factors.{value}")
        elif refusal.kind == "misfit":
            said[key] = f"{float(value):.1f}"
        elif key == "length":
            said[key] = format_quantity("length", float(value), units)
        elif refusal.kind == "wide" and key != "every":
            said[key] = f"{100 * float(value):.0f}"
        elif key in VACUUMS and refusal.kind not in ("few",):
            said[key] = format_quantity("vacuum", float(value), units)
        else:
            said[key] = plain_figure(float(value))
    then = "wide_way" if "would" in refusal.said else refusal.kind
    return [text(f"own_pump.refused.{refusal.kind}", **said), text(f"own_pump.then.{then}", **said)]


def fitted_blocks(fit: Fit, refusal: Refusal | None, units: str) -> list[Block]:
    """What was fitted, with how sure it is, and whether it can be used."""
    off = fit.residuals[:-2] if len(fit.residuals) > 2 else fit.residuals
    typical = math.sqrt(float(off @ off) / max(len(off), 1)) * 1e3
    primed = fit.needle.prime_time
    said = [
        text(
            "own_pump.fitted.times",
            read=f"{fit.start.prime_time:.0f}",
            fitted=f"{primed:.0f}" if math.isfinite(primed) else "-",
            off=one_more(typical, units),
        )
    ]
    out: list[Block] = [{"id": "fitted", "kind": "prose", "paragraphs": said}]
    if refusal is not None and refusal.kind != "wide":
        return [*out, factors_block(fit)]
    return [*out, places_block(foretold(fit), units, sure=refusal is None), factors_block(fit)]


def verdict(refusal: Refusal | None, units: str) -> Block:
    """Whether it can be used, and if not, why and what to do."""
    if refusal is None:
        return notice("verdict", "plain", text("own_pump.good"))
    return notice("verdict", "wait", text("own_pump.not_used"), *refusal_words(refusal, units))


def one_more(pressure: float, units: str) -> str:
    """A small pressure [Pa] in the unit of vacuums, with one decimal.

    Examples
    --------
    >>> one_more(640.0, "metric"), one_more(640.0, "us")
    ('0.6 kPa', '0.2 inHg')
    """
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    return f"{unit.from_si(pressure):.1f} {unit.name}"


def factors_block(fit: Fit) -> Block:
    """The three factors with their intervals."""
    rows = []
    for name, factor, (low, high) in zip(FACTORS, fit.factors, fit.intervals, strict=True):
        if name == "warming":
            cells = [f"{factor:.2f}", f"{max(low, 1.0):.2f} - {min(high, 1.4):.2f}"]
        else:
            cells = [
                f"{100 * factor:.0f}\N{NO-BREAK SPACE}%",
                f"{100 * low:.0f} - {100 * high:.0f}\N{NO-BREAK SPACE}%",
            ]
        rows.append({"key": name, "cells": [text(f"own_pump.factor_rows.{name}"), *cells], "buttons": []})
    columns = list(entry("own_pump.factor_columns"))
    title = text("own_pump.factor_title", rig=load_rig(fit.base.name).title if fit.base.name != "own" else "")
    return {"id": "factors", "kind": "rows", "title": title, "columns": columns, "rows": rows, "none": ""}


def places_block(places: Any, units: str, *, sure: bool = True) -> Block:
    """The prime time at other places; ``sure``: or it is too unsure to teach with, which its heading says."""
    items = [
        text(
            "own_pump.place",
            lift=format_quantity("length", each.lift, units),
            length=format_quantity("length", each.length, units),
            time=f"{each.time:.0f}",
            low=f"{each.low:.0f}",
            high=f"{each.high:.0f}",
        )
        for each in places
    ]
    return {
        "id": "places",
        "kind": "list",
        "ordered": False,
        "title": text("own_pump.places" if sure else "own_pump.places_unsure"),
        "items": items,
    }
