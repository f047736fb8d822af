"""Moments of a good rig's run, as the pictures of lesson 01 show them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.attempt import Attempt, MemoryStore
from simulator.panels.learner.first_steps import before_the_plate
from simulator.rig.presets import load_site
from simulator.scenario import FaultChoice, Scenario, SiteChoice, choose_fault
from simulator.texts import text

SITE = "teal_pond"
AHEAD = 60.0  # [s] of run that the scenes are taken from


OPENING = 0.6  # [-] of the drain valve in the run with a fault


def good_rig() -> Scenario:
    """The Osier in good order at Teal Pond, to look into."""
    return _at_teal_pond("sound", ())


def open_drain() -> Scenario:
    """The same rig with its drain valve left open."""
    return _at_teal_pond("fault", (choose_fault("drain_open", OPENING),))


def _at_teal_pond(words: str, faults: tuple[FaultChoice, ...]) -> Scenario:
    site = load_site(SITE)
    return Scenario(
        title=text(f"lessons.draws.{words}_title"),
        brief=text(f"lessons.draws.{words}_brief"),
        rig="osier",
        site=SiteChoice(name=site.name, lift_m=site.lift, submergence_m=site.submergence),
        faults=faults,
        mode="guided",
        see_through=True,
        allowed_checks=before_the_plate(),
    )


@dataclass(frozen=True)
class Scene:
    """A rig as the pictures need it, and one moment of its run: channels by name, SI."""

    rig: dict[str, Any]
    frame: dict[str, Any]


def scenes() -> list[Scene]:
    """One moment for each of the five ideas, out of two runs of the model.

    At rest; the jet at work; the water half-way up; the pump taking hold; and with the drain valve open.
    """
    rig, series, step = _played(good_rig())
    front, flow = series["front_position"], series["discharge_flow"]
    length = rig["hose_length_m"]
    rest = {"t": 0.0, "see_through": True, "speed": 0.0}
    jet = series[
        "entrained_flow"
    ]  # the water lies in the hose's foot before the start: the jet is what shows idea two
    moments = (
        _first((jet > 0.5 * jet.max()) & (series["speed"] > 0.9)),
        _first(front > 0.6 * length),
        _first(flow > 0.5 * flow.max()),
    )
    leaking, leak, leak_step = _played(open_drain())
    return [
        Scene(rig, rest),
        *(Scene(rig, _frame(series, index, step)) for index in moments),
        Scene(leaking, _frame(leak, len(leak["speed"]) // 2, leak_step)),
    ]


def _played(scenario: Scenario) -> tuple[dict[str, Any], dict[str, np.ndarray], float]:
    """Start a rig as a learner would, and look inside."""
    attempt = Attempt(scenario, MemoryStore(), seed=0)
    for act, args in (
        ("predict", {"question": attempt.yard.question, "answer": None}),
        ("put_on_ppe", {}),
        ("secure_discharge", {}),
        ("start_engine", {"speed": "rated"}),
    ):
        attempt.act(act, args)
    samples = attempt.samples(0.0, AHEAD, see_through=True)
    rows = zip(samples.channels, samples.data, strict=True)
    return attempt.rig_shown(), {name: np.asarray(row, dtype=float) for name, row in rows}, samples.step


def _first(condition: np.ndarray) -> int:
    found = np.flatnonzero(condition)
    return int(found[0]) if len(found) else len(condition) - 1


def _frame(series: dict[str, np.ndarray], index: int, step: float) -> dict[str, Any]:
    values = {name: float(row[index]) for name, row in series.items() if np.isfinite(row[index])}
    return {"t": round(index * step, 1), "see_through": True, **values}
