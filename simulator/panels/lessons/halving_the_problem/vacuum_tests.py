"""Tests under vacuum as lessons show them: plate, hold test or cap, their curves, and the rig with the plate on."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from simulator.instruments.vacuum_tests import (
    BLANK_DURATION,
    CAPPED_DURATION,
    HOLD_DURATION,
    HOLD_STEPS,
    MARK,
)
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import run_of
from simulator.panels.teaching.figures import chart, points
from simulator.panels.teaching.looking import hold_run, test_run
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.run import Run, Setup
from simulator.texts import text

AREA = "lesson_07"
RIG = "alder"
Fault = tuple[str, float, str]
PLATE = 80e3  # [Pa] a deep vacuum behind a plate
LASTS = {"plate": BLANK_DURATION, "hold": HOLD_DURATION, "cap": CAPPED_DURATION}  # [s]


@lru_cache(maxsize=1)
def sound() -> Run:
    """The rig in good order."""
    return run_of(load_rig(RIG), standard_site(RIG))


@lru_cache(maxsize=32)
def faulty(fault: str, size: float, place: str) -> Run:
    """The rig with one fault of a size in SI units [unit of the fault].

    Parameters
    ----------
    place : of the fault; "" where it has but one.
    """
    good = sound()
    return run_of(*FAULTS[fault].apply(good.rig, good.site, size, place))


def tested(fault: Fault | None, kind: str) -> Run:
    """A test of the rig with one fault of a size in SI units [unit of the fault], or of the rig in good order.

    Parameters
    ----------
    kind : of the test: "plate", "hold" or "cap".
    """
    rig = sound() if fault is None else faulty(*fault)
    if kind == "hold":
        return hold_run(rig.rig, rig.site)
    return test_run(rig.rig, rig.site, Setup.CAPPED if kind == "cap" else Setup.BLANKED)


def marked(block: Block, units: str) -> Block:
    """A plot of a test with the mark in it instead of a static lift: behind a plate there is none.

    Parameters
    ----------
    block : a chart.
    units : "metric" or "us".
    """
    label = text(f"{AREA}.mark", reading=format_quantity("vacuum", MARK, units))
    return block | {"levels": [{"pa": MARK, "label": label}], "high_pa": max(block["high_pa"], PLATE)}


def came_of(fault: Fault, kind: str, units: str) -> tuple[Block, ...]:
    """What comes with an answer: the needle in a test of the case's rig, beside a good one's.

    Parameters
    ----------
    fault : with its size and place.
    kind : of the test: "plate", "hold" or "cap".
    units : "metric" or "us".
    """
    last = LASTS[kind]
    lines = [
        (text("teaching.this_rig"), points(tested(fault, kind), last)),
        (text("teaching.sound_rig"), points(tested(None, kind), last)),
    ]
    spoken, caption = text(f"{AREA}.came.spoken"), text(f"{AREA}.came.{kind}")
    block = chart("came", lines, units, span=last, spoken=spoken, caption=caption)
    return (marked(block, units) | {"height": 280},)


def with_plate(rig: dict[str, Any], kind: str) -> dict[str, Any]:
    """The rig of a picture with the plate on its flange and the hose off; a cap sits far off, at the hose's end.

    Parameters
    ----------
    kind : of the test: "plate", "hold" or "cap".
    """
    return rig if kind == "cap" else rig | {"parts": rig["parts"] | {"plate": "alone"}}


def cock_of(kind: str, step: float, count: int) -> list[float]:
    """Where the cock stands [-] at moments a step [s] apart of a test: shut when the engine stops in a hold test.

    Parameters
    ----------
    kind : of the test: "plate", "hold" or "cap".
    count : of moments [-].

    Examples
    --------
    >>> cock_of("hold", 30.0, 4), cock_of("plate", 30.0, 2)
    ([1.0, 1.0, 0.0, 0.0], [1.0, 1.0])
    """
    steps = HOLD_STEPS if kind == "hold" else HOLD_STEPS[:1]
    return [float([each.cock_open for each in steps if each.time <= n * step][-1]) for n in range(count)]
