"""The trainer's view of a demonstration as plain data.

Arguments, the same throughout: ``run`` the demonstration; ``tick`` the moment that is looked at [0.1 s].
"""

from __future__ import annotations

from typing import Any

from simulator.attempt.timeline import TICK
from simulator.panels.trainer.bench.kept import kept_names
from simulator.panels.trainer.bench.run import GROWS, QUESTIONS, BenchRun
from simulator.panels.trainer.bench.wall import asked
from simulator.panels.trainer.bench.words import fault_words, letter_of, mark_words
from simulator.panels.trainer.call_builder.form import UNIT_NAMES, fault_options, place_words
from simulator.panels.trainer.call_builder.typing import ending_of
from simulator.rig.faults import FAULTS, size_words
from simulator.rig.presets import load_rig, rig_names
from simulator.scenario.choices import moved_place
from simulator.texts import text
from simulator.units import SYSTEMS, plain_figure


def bench_page(
    run: BenchRun,
    still: dict[str, Any],
    shown_run: dict[str, Any],
    tick: int,
    *,
    rig: dict[str, Any],
    inside_here: bool,
    inside_wall: bool,
    told: frozenset[int],
    fields: dict[str, str],
    name: str,
    over: bool,
    ask_shown: bool,
    units: str,
    serial: int,
) -> dict[str, Any]:
    """Everything the trainer's view shows besides the samples, ready for JSON.

    Parameters
    ----------
    still : what does not change in a demonstration; shown_run : the run as the page knows it.
    rig : as it is drawn; inside_here, inside_wall : where one looks inside.
    told : numbers of the faults that the wall names.
    fields : of a new demonstration, as typed.
    name, over : of the file; whether the next press writes over another.
    ask_shown : whether the question stands on the wall.
    units : "metric" or "us".
    serial : of the page.
    """
    return {
        "serial": serial,
        "phase": "work",
        "mode": "bench",
        "header": {"title": text("bench.title"), "rig_line": still["rig_line"]},
        "rig": rig,
        "gauges": still["gauges"],
        "curve": still["curve"],
        "see_through": inside_here,
        "run": shown_run,
        "engine": {"running": run.running, "speed": run.speed, "speeds": still["speeds"], "waits": []},
        "marks": [{"t": mark["t"], "label": mark_words(mark)} for mark in run.marks()],
        "faults": [_fault(run, tick, number, size, told) for number, size in sorted(run.sizes(tick).items())],
        "past": [
            {"number": number, "label": fault_words(run, number, letter=True)}
            for number, one in run.faults.items()
            if number not in run.sizes(tick) and one.since <= tick * TICK
        ],
        "choices": _choices(run),
        "grows": [{"id": f"{each:g}", "label": _over_words(each)} for each in GROWS],
        "inside": {"here": inside_here, "wall": inside_wall},
        "ask": None,
        "asked": None if (ask := asked(run)) is None else ask | {"shown": ask_shown},
        "questions": [{"id": each, "label": text(f"bench.ask.questions.{each}")} for each in QUESTIONS],
        "new": {
            "fields": fields,
            "rigs": [{"id": r, "label": load_rig(r).title} for r in rig_names()],
            "labels": {each: text(f"desks.fields.{each}") for each in fields},
        },
        "unit_names": {system: text(f"lessons.units.{system}") for system in SYSTEMS},
        "kept": {"names": kept_names(), "name": name, "over": over},
        "units": units,
        "caution": text("common.training_aid"),
    }


def _over_words(seconds: float) -> str:
    if seconds == 0.0:
        return text("bench.at_once")
    minutes = seconds / 60.0
    return (
        text("bench.over_min", n=f"{minutes:g}") if minutes >= 1.0 else text("bench.over_s", n=f"{seconds:g}")
    )


def _sized(fault: str) -> dict[str, Any] | None:
    size = FAULTS[fault].size
    if size is None:
        return None
    low, high = sorted((size.in_file(size.low), size.in_file(size.high)))
    return {
        "label": size_words(fault),
        "unit": UNIT_NAMES.get(ending_of(size.key), ending_of(size.key)),
        "low": low,
        "high": high,
        "legal": size.legal(),
        "usual": [plain_figure(size.in_file(each), 4) for each in size.representative],
    }


def _choices(run: BenchRun) -> list[dict[str, Any]]:
    rig, site = run.sound
    out = []
    for option in fault_options(rig):
        fault = FAULTS[option["id"]]
        places = [moved_place(place, 1) for place in fault.places(rig, site) if place]
        if fault.kind and not places:
            continue
        named = [{"id": place, "label": place_words(place, rig)} for place in places]
        out.append({**option, "places": named, "size": _sized(fault.id)})
    return out


def _figure(fault: str, size: float) -> str:
    item = FAULTS[fault].size
    return "" if item is None else plain_figure(item.in_file(size))


def _now_words(run: BenchRun, number: int, tick: int, size: float, way: tuple[float, float] | None) -> str:
    """How bad a fault is at a moment, and to what it still goes."""
    fault = run.faults[number].fault
    item = FAULTS[fault].size
    assert item is not None
    unit = UNIT_NAMES.get(ending_of(item.key), ending_of(item.key))
    now = f"{_figure(fault, size)} {unit}".strip()
    if way is None:
        return text("bench.size.now", now=now)
    to = f"{_figure(fault, way[0])} {unit}".strip()
    if run.comes_by_size(number, tick):
        return text("bench.size.on_way", now=now, to=to)
    return text("bench.size.coming", to=to, end=f"{way[1]:.0f}")


def _fault(run: BenchRun, tick: int, number: int, size: float, told: frozenset[int]) -> dict[str, Any]:
    one = FAULTS[run.faults[number].fault]
    sized = _sized(one.id)
    way = run.on_its_way(number, tick) if sized else None
    final = size if way is None else way[0]
    return {
        "number": number,
        "letter": letter_of(number),
        "label": fault_words(run, number),
        "size": sized,
        "now": _now_words(run, number, tick, size, way) if sized else "",
        "target": _figure(one.id, final) if sized else "",
        "told": number in told,
    }
