"""Figures of lessons: curves beside the static lift, needles, and runs to play with the rig cut open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from simulator.attempt.shown_parts import parts_inside
from simulator.instruments.senses import exhaust_words
from simulator.panels.page.blocks import Block
from simulator.panels.page.dial import dial
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import lift_pressure, run_of, shown
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run import Run
from simulator.texts import text
from simulator.units import SYSTEMS, UNITS

Points = list[list[float]]
STEP = 0.5  # [s] between two moments that are sent
FULL_VACUUM = 1e5  # [Pa] to which an axis reaches at the most: there is no more
FLOW_DIGITS = 5  # of a flow in m3/s: a hundredth of a litre a second
#: The least that an axis reaches to, by quantity, in SI units.
AXIS_LEAST = {"vacuum": 5e3, "pressure": 5e3, "flow": 5e-3}
CHANNELS = (
    "front_position", "casing_fill", "suction_pressure", "hose_pressure", "motive_pressure", "motive_flow",
    "entrained_flow", "exhaust_air", "exhaust_water", "liner_open", "nrv_open", "relief_open", "line_fill",
    "suction_flow", "discharge_flow", "drain_air", "drain_water", "nrv_air", "nrv_water", "joint_air", "casing_leak_air",
    "speed_ratio", "strainer_bubbles", "water_level", "end_air", "trapped_length",
)  # fmt: skip
#: Changes during a run that the pictures draw, and how frames name them.
SEEN_TO_CHANGE = {"line_burst": "line_torn", "strainer_blocked": "strainer_weed"}
RENAMED = {"speed_ratio": "speed"}
STYLES = ("main", "other", "third")


def points(run: Run, last: float, channel: str = "vacuum") -> Points:
    """A curve of a run to draw up to a time [s]: [time s, Pa], as the gauge shows it where there is one; flow in m3/s.

    Parameters
    ----------
    last : [s].
    channel : "vacuum", "discharge_flow", or a pressure of the run.
    """
    gauge = {"vacuum": "suction", "motive_pressure": "motive"}.get(channel, "")
    if gauge == "suction" or (gauge and run.rig.has_motive_gauge):
        values = shown(run, gauge)
    elif channel == "discharge_flow":
        values = np.asarray(run.discharge_flow)
    else:
        values = np.asarray(getattr(run, channel)) - run.atmosphere
    count = min(round(last / 0.1), len(run.time) - 1) + 1
    stride = max(1, round(count / 240))
    digits = FLOW_DIGITS if channel == "discharge_flow" else None
    return [
        [round(float(t), 1), round(float(v), digits)]
        for t, v in zip(run.time[:count:stride], values[:count:stride], strict=True)
    ]


def chart(
    block_id: str,
    lines: Sequence[tuple[str, Points]],
    units: str,
    *,
    span: float,
    site: Site | None = None,
    spoken: str,
    caption: str = "",
    marks: Sequence[dict[str, Any]] = (),
    quantity: str = "vacuum",
    reading: bool = True,
) -> Block:
    """A plot of vacuum (or pressure, or flow) against time with the static lift of a site.

    Parameters
    ----------
    lines : at most three names with their points [s, Pa]; of a flow [s, m3/s].
    span : [s] of the time axis.
    spoken : what a reader who cannot see it is told; it must not give the answer away.
    reading : whether the static lift bears its figure.
    block_id : by which the page knows it.
    units : "metric" or "us".
    caption : under it; "" for none.
    marks : guesses: ``t`` [s], ``pa`` [Pa] or None, ``label``.
    quantity : "vacuum", "pressure" or "flow", for unit and axis.
    """
    unit = UNITS[SYSTEMS[units][quantity]]
    named: list[dict[str, Any]] = [
        {
            "style": STYLES[n],
            "label": name,
            "points": [point for point in run_points if point[0] <= span],
        }
        for n, (name, run_points) in enumerate(lines)
    ]
    high = max((point[1] for line in named for point in line["points"]), default=0.0)
    levels = []
    if site is not None and quantity == "vacuum":
        lift = lift_pressure(site)
        high = max(high, min(1.2 * lift, max(lift, FULL_VACUUM)))
        figure = format_quantity("vacuum", lift, units) if reading else ""
        levels = [{"pa": lift, "label": text("teaching.static_lift", reading=figure).strip()}]
    return {
        "id": block_id,
        "kind": "chart",
        "unit": {"name": unit.name, "size": unit.size, "decimals": unit.decimals},
        "span_s": float(span),
        "high_pa": float(max(high, AXIS_LEAST[quantity])),
        "levels": levels,
        "lines": named,
        "marks": list(marks),
        "axis_x": text("teaching.axis_time"),
        "axis_y": text(f"teaching.axis_{quantity}", unit=unit.name),
        "caption": caption,
        "spoken": spoken,
    }


def came(
    run: Run, beside: Run | None, units: str, *, names: tuple[str, str] = ("", ""), last: float = 0.0
) -> tuple[Block, ...]:
    """What comes with an answer: the needle of the case's run, beside another one's up to its prime.

    Parameters
    ----------
    run, beside : of the case, and a rig in good order or as it was before, if any.
    names : of the two; "this rig" and "a sound rig" by default.
    last : [s] of the time axis; as long as there is something to see by default.
    units : "metric" or "us".
    """
    ends = [each.prime_time for each in (run, beside) if each is not None and each.primed]
    if not last:
        last = max(ends) + 12.0 if ends and run.primed else max([100.0, *ends])
        last = min(15.0 * math.ceil(last / 15.0), float(run.time[-1]))
    label, other = (
        name or text(f"teaching.{key}") for name, key in zip(names, ("this_rig", "sound_rig"), strict=True)
    )
    lines = [(label, points(run, last))]
    if beside is not None:
        lines.append((other, points(beside, min(last, beside.prime_time + 5.0) if beside.primed else last)))
    spoken, caption = text("teaching.curve_spoken"), text("teaching.came_caption")
    block = chart(
        "came",
        lines,
        units,
        span=last,
        site=run.site,
        spoken=spoken,
        caption=caption,
    )
    return (block | {"height": 280},)


def metered(run: Run, beside: Run | None, units: str, last: float, block_id: str = "flow") -> Block:
    """What a flow meter in the discharge line shows up to a time [s], beside a rig in good order.

    Parameters
    ----------
    run, beside : of the case, and of the rig in good order, if any.
    units : "metric" or "us".
    last : [s] of the time axis.
    block_id : by which the page knows it.
    """
    pair = (("this_rig", run), ("sound_rig", beside))
    lines = [
        (text(f"teaching.{name}"), points(each, last, "discharge_flow"))
        for name, each in pair
        if each is not None
    ]
    spoken, caption = text("teaching.flow_spoken"), text("teaching.flow_caption")
    block = chart(block_id, lines, units, span=last, spoken=spoken, caption=caption, quantity="flow")
    return block | {"height": 200}


def on_one_scale(tracks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The same runs to play with their curves on one scale: shapes that are to be compared have the same axes.

    Parameters
    ----------
    tracks : as :func:`track` makes them.

    Examples
    --------
    >>> charts = [{"chart": {"span_s": 60.0, "high_pa": 3e4}}, {"chart": {"span_s": 90.0, "high_pa": 2e4}}]
    >>> [each["chart"] for each in on_one_scale(charts)]
    [{'span_s': 90.0, 'high_pa': 30000.0}, {'span_s': 90.0, 'high_pa': 30000.0}]
    """
    same = {key: max(each["chart"][key] for each in tracks) for key in ("span_s", "high_pa")}
    return [each | {"chart": each["chart"] | same} for each in tracks]


def dials(block_id: str, readings: dict[str, float], units: str, caption: str = "") -> Block:
    """Needles as they stand: gauge id and value [Pa], vacuum positive below the air outside.

    Parameters
    ----------
    block_id : by which the page knows it.
    readings : gauge id and value [Pa].
    units : "metric" or "us".
    caption : under them; "" for none.
    """
    items = [{"spec": dial(name), "value": float(value)} for name, value in readings.items()]
    return {"id": block_id, "kind": "dials", "items": items, "units": units, "caption": caption}


def needles(run: Run, time: float) -> dict[str, float]:
    """What suction and motive gauge show [Pa] at a time [s], as a patient eye reads them.

    Parameters
    ----------
    run : whose needles are read.
    """
    out = {}
    for name in ("suction", "motive"):
        if name == "suction" or run.rig.has_motive_gauge:
            out[name] = float(shown(run, name)[run.index(time)])
    return out


def geometry(run: Run, sound: Rig, sound_site: Site | None = None) -> dict[str, Any]:
    """The rig of a run as the pictures need it, to scale, with what is wrong with it to be seen.

    Parameters
    ----------
    sound : the same rig in good order.
    sound_site : where that stands; the run's own by default.
    """
    rig, site = run.rig, sound_site or run.site
    good = run_of(sound, site, duration=60.0)
    hose, line = sound.suction_hose, sound.discharge
    return {
        "title": sound.title,
        "bore_m": hose.bore,
        "hose_length_m": hose.length,
        "lift_m": site.lift,
        "submergence_m": site.submergence,
        "profile": [[s, z] for s, z in hose_profile(sound, site)],
        "joints": [joint.position for joint in hose.joints],
        "liner_at": hose.liner.position,
        "casing": {
            "volume_m3": sound.casing.volume,
            "height_m": sound.casing.height,
            "lip_fill": sound.casing.lip_fill,
        },
        "has_cock": sound.has_isolating_cock,
        "has_float": sound.separator.has_float,
        "has_motive_gauge": sound.has_motive_gauge,
        "relief_set_pa": sound.relief_valve.set_pressure,
        "rated_rpm": sound.engine.rated_speed * 60.0,
        "discharge": {"bore_m": line.bore, "length_m": line.length, "rise_m": line.rise},
        "atmosphere_pa": round(float(good.atmosphere), 1),
        "motive_rated_kg_s": round(float(np.max(good.motive_flow)), 6),
        "exhaust_rated_kg_s": round(float(np.max(good.exhaust_air)), 6),
        "casing_drain_bore_m": sound.casing_drain.bore,
        "strainer_diameter_m": hose.strainer.diameter,
        "exhaust": {"bore_m": sound.exhaust_hose.bore, "length_m": sound.exhaust_hose.length},
        "parts": parts_inside(rig, run.site),
        "drain_open_shown": rig.casing_drain.opening,
        "belt_slack_shown": rig.compressor.belt_slip,
        "joint_holes_m": [joint.hole_diameter for joint in rig.suction_hose.joints],
        "opened": [],
        "tagged": False,
    }


def frame(run: Run, time: float) -> dict[str, Any]:
    """One moment of a run as the see-through pictures need it.

    Parameters
    ----------
    time : [s].
    """
    values = {RENAMED.get(name, name): run.value(name, time) for name in CHANNELS}
    return {"t": round(time, 1), "see_through": True, **{k: v for k, v in values.items() if math.isfinite(v)}}


def _figures(values: np.ndarray) -> list[float | None]:
    return [float(f"{v:.4g}") if math.isfinite(v) else None for v in np.asarray(values, dtype=float).tolist()]


def track(
    track_id: str,
    label: str,
    run: Run,
    sound: Rig,
    units: str,
    *,
    last: float,
    says: Sequence[tuple[float, str]] = (),
    site: Site | None = None,
    inside: bool = True,
) -> dict[str, Any]:
    """A run to be played up to a time [s]: the rig, what goes on in it, the needles, and remarks at moments [s].

    Parameters
    ----------
    track_id : by which the page knows it.
    label : that it is chosen by.
    sound : the same rig in good order.
    units : "metric" or "us".
    last : [s].
    says : remarks, each with its time [s].
    site : of the rig in good order; the run's own by default.
    inside : whether the rig is seen cut open.
    """
    count = min(round(last / 0.1), len(run.time) - 1) + 1
    stride = round(STEP / 0.1)
    names = CHANNELS if inside else ("speed_ratio",)
    series: dict[str, Any] = {
        RENAMED.get(name, name): _figures(getattr(run, name)[:count:stride]) for name in names
    }
    for name in ("suction", "motive"):
        if name == "suction" or run.rig.has_motive_gauge:
            series[f"{name}_shown"] = _figures(shown(run, name)[:count:stride])
    if inside:
        good = run_of(sound, site or run.site, duration=max(last, 60.0))
        series["exhaust_kind"] = list(exhaust_words(run, good, run.time[:count:stride].tolist()))
    for ramp in run.rig.ramps:  # what changes on the way and is seen
        if ramp.target in SEEN_TO_CHANGE:
            ends = (ramp.start_time, ramp.end_time), (ramp.first, ramp.last)
            series[SEEN_TO_CHANGE[ramp.target]] = _figures(np.interp(run.time[:count:stride], *ends))
    return {
        "id": track_id,
        "label": label,
        "rig": geometry(run, sound, site),
        "see_through": inside,
        "step_s": STEP,
        "series": series,
        "chart": chart(
            track_id,
            [("", points(run, last))],
            units,
            span=last,
            site=site or run.site,
            spoken=text("teaching.chart_of", name=label),
        )
        | {"height": 224},
        "says": [{"t": float(t), "text": sentence} for t, sentence in says],
    }


def replay(
    block_id: str,
    tracks: Sequence[dict[str, Any]],
    units: str,
    *,
    seen: Sequence[str] = (),
    pictures: bool = True,
) -> Block:
    """Runs to play, one at a time, on the page alone; ``seen`` names those played to their end.

    Parameters
    ----------
    block_id : by which the page knows it.
    tracks : as :func:`track` makes them.
    units : "metric" or "us".
    pictures : whether site and pump are drawn.
    """
    return {
        "id": block_id,
        "kind": "replay",
        "tracks": list(tracks),
        "seen": list(seen),
        "units": units,
        "pictures": ["site", "pump"] if pictures else [],
        "height": 210,
        "dials": [dial("suction"), dial("motive")],
        "words": {
            key: text(f"teaching.replay.{key}")
            for key in (
                "play",
                "pause",
                "again",
                "time",
                "rate",
                "clock",
                "at",
                "count",
                "choose",
                "seen",
                "to_end",
            )
        },
    }
