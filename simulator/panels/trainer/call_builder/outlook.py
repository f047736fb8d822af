"""What a call-out comes to: its curve beside a sound rig's, faults that look alike, whether it can be solved, how hard.

Arguments, the same throughout: ``scenario`` the call-out.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from simulator.attempt.level import Effort
from simulator.diagnosis.hypothesis_set import HypothesisSet, kept_set
from simulator.diagnosis.lookalikes import check_label, look_alikes, refusal, truth_outlook
from simulator.diagnosis.narrow_set import narrow_set
from simulator.diagnosis.outlook import SETTLES
from simulator.diagnosis.words import fault_name, minutes_words
from simulator.instruments.checks import CHECKS
from simulator.panels.exercise.debrief_work import Progress
from simulator.panels.page.blocks import Block
from simulator.panels.page.words import RATTLES, format_quantity
from simulator.panels.trainer.call_builder.form import place_words
from simulator.run import Run, simulate
from simulator.scenario import Scenario, build, sound_rig
from simulator.scenario.choices import moved_place
from simulator.texts import text
from simulator.units import SYSTEMS, UNITS

SPAN = 180.0  # [s] of a start that is drawn
LONGEST = 900.0  # [s] drawn where something comes late
AFTER = 60.0  # [s] drawn after what comes late is there in full
EVERY = 10  # grid points to one drawn
RTOL = 1e-4  # of these runs: some 0.05 kPa, which no screen shows
LEAST_HIGH = 60e3  # [Pa] of the axis
MOST_ALIKE = 3
LESS = 0.9  # [-] of the water it gave, or of a sound rig's, under which it is said to give less


def span_of(scenario: Scenario) -> float:
    """Seconds of a start worth drawing [s].

    Examples
    --------
    >>> from simulator.scenario import SiteChoice
    >>> span_of(Scenario(title="A", brief="B", site=SiteChoice(lift_m=3.0)))
    180.0
    """
    late = [choice.times[1] for choice in scenario.faults if choice.times is not None]
    return min(max([SPAN, *(end + AFTER for end in late)]), LONGEST)


def both_runs(scenario: Scenario) -> tuple[Run, Run]:
    """The start of the rig in good order and of the rig as it is."""
    span = span_of(scenario)
    good = simulate(*sound_rig(scenario), duration=span, rtol=RTOL)
    as_it_is = simulate(*build(scenario), duration=span, rtol=RTOL) if scenario.faults else good
    return good, as_it_is


def curve_block(good: Run, as_it_is: Run, units: str, lift: float) -> Block:
    """The chart of both starts: vacuum against time.

    Parameters
    ----------
    good, as_it_is : the two starts.
    units : "metric" or "us".
    lift : static lift [m].
    """
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    same = as_it_is is good
    lines = [_line(good, "desks.curve.sound", "main" if same else "other")]
    if not same:
        lines.append(_line(as_it_is, "desks.curve.as_it_is", "main"))
    high = max(LEAST_HIGH, *(float(np.max(run.vacuum)) for run in (good, as_it_is)))
    head = 9.81e3 * lift
    levels = [{"pa": head, "label": text("desks.curve.lift")}] if head > 0.0 else []
    sags = sags_from(as_it_is, good)
    spoken = (start_words(good), start_words(as_it_is, units, good))
    return {
        "id": "curve",
        "kind": "chart",
        "lines": lines,
        "levels": levels,
        "marks": [{"t": sags, "pa": None, "label": text("desks.curve.sags")}] if math.isfinite(sags) else [],
        "unit": {"name": unit.name, "size": unit.size},
        "span_s": float(good.time[-1]),
        "high_pa": 1.04 * high,
        "axis_x": text("desks.curve.axis_x"),
        "axis_y": text("desks.curve.axis_y", unit=unit.name),
        "spoken": text("desks.curve.spoken", good=spoken[0], bad=spoken[1]),
        "height": 250,  # what looks alike and the level stand under it in one window
    }


def _line(run: Run, key: str, style: str) -> dict[str, Any]:
    points = [
        [round(float(t), 1), round(float(v), 0)]
        for t, v in zip(run.time[::EVERY], run.vacuum[::EVERY], strict=True)
    ]
    return {"label": text(key), "style": style, "points": points}


def start_words(run: Run, units: str = "metric", good: Run | None = None) -> str:
    """How a start went, in a sentence or two: whether it primed, and what has become of its water since.

    Parameters
    ----------
    run : the start.
    units : "metric" or "us".
    good : that of the rig in good order, which its water is held against; None: it is that of this rig.
    """
    code = run.outcome.code
    fields = {
        "prime": f"{run.prime_time:.0f}" if math.isfinite(run.prime_time) else "",
        "end": f"{run.outcome.time:.0f}",
    }
    said = text(f"desks.start.{code}", **fields)
    if code != "primed" or good is None or not math.isfinite(good.prime_time):
        return said
    if run.time[-1] < run.prime_time + SETTLES:  # too soon to tell
        return said
    share = share_of(run, good)
    more = {
        "share": f"{100.0 * share[-1]:.0f}",
        "end": f"{run.time[-1]:.0f}",
        "vacuum": format_quantity("vacuum", float(run.vacuum[-1]), units),
    }
    sags = sags_from(run, good)
    if math.isfinite(sags):
        return f"{said} {text('desks.start.sags', since=f'{sags:.0f}', **more)}"
    return f"{said} {text('desks.start.less', **more)}" if share[-1] < LESS else said


def rattles_words(good: Run, units: str = "metric") -> str:
    """That even the rig in good order pumps with the water near boiling in its wheel; nothing where it does not.

    Parameters
    ----------
    good : the start of the rig in good order.
    units : "metric" or "us".
    """
    if good.outcome.code != "primed" or not float(good.npsh_margin[-1]) < RATTLES:
        return ""
    return text("desks.start.rattles", vacuum=format_quantity("vacuum", float(good.vacuum[-1]), units))


def share_of(run: Run, good: Run) -> np.ndarray:
    """Water of a start over that of the rig in good order as long after its own prime, shape (n,) [-].

    Parameters
    ----------
    run : the start.
    good : that of the rig in good order.
    """
    same = run.time + (good.prime_time - run.prime_time)
    usual = np.interp(same, good.time, good.discharge_flow)
    return np.asarray(run.discharge_flow / np.maximum(usual, 1e-9))


def sags_from(run: Run, good: Run) -> float:
    """When the water of a pump that keeps its prime begins to be less than it was and should be [s]; nan: it does not.

    Parameters
    ----------
    run : the start.
    good : that of the rig in good order.
    """
    if run.outcome.code != "primed" or not math.isfinite(run.prime_time + good.prime_time):
        return math.nan
    share = np.where(run.time > run.prime_time + SETTLES, share_of(run, good), 0.0)
    well = np.flatnonzero(share >= LESS)
    return float(run.time[well[-1]]) if len(well) and share[-1] < LESS else math.nan


def hypotheses_of(
    scenario: Scenario, progress: Progress | None = None, *, all_pairs: bool = True
) -> HypothesisSet:
    """The hypotheses that a call-out is judged by: a kept set, or one worked out as far as that takes.

    Parameters
    ----------
    progress : told how far the simulating is; may raise to stop it.
    all_pairs : False: of two faults at once those of the call-out alone, where the set has to be worked out.
    """
    rig, site = sound_rig(scenario)
    pairs = len(scenario.faults) > 1
    kept = kept_set(rig, site, pairs=pairs)
    if kept is not None:
        return kept
    alone = None if all_pairs or not pairs else frozenset(scenario.fault_ids)
    return narrow_set(rig, site, pairs=pairs, alone=alone, progress=progress)


def _allowed(scenario: Scenario) -> set[str] | None:
    return None if scenario.allowed_checks == "all" else set(scenario.allowed_checks)


def alike(scenario: Scenario, progress: Progress | None = None) -> dict[str, Any]:
    """Faults that look alike on the gauges; needs the starts of single faults simulated.

    Parameters
    ----------
    progress : told how far the simulating is; may raise to stop it.

    Returns
    -------
    dict
        ``alike``: at most three sentences.
    """
    cases = hypotheses_of(scenario, progress, all_pairs=False)
    seen = truth_outlook(scenario, cases)
    said = []
    for found in look_alikes(cases, seen, scenario.fault_ids, _allowed(scenario), MOST_ALIKE):
        name = fault_name(found.fault)
        if found.place:
            name = text(
                "desks.alike.at", fault=name, place=place_words(moved_place(found.place, 1), cases.rig)
            )
        if found.same_work:
            said.append(text("desks.alike.same_work", fault=name))
        elif found.check is None:
            said.append(text("desks.alike.nothing_parts", fault=name))
        else:
            minutes = minutes_words(found.minutes)
            item = CHECKS[found.check[0]]
            key = "parted_running" if "running" in item.needs else "parted"
            said.append(
                text(f"desks.alike.{key}", fault=name, check=check_label(found.check), minutes=minutes)
            )
    return {"alike": said or [text("desks.alike.none")]}


def enough(scenario: Scenario, progress: Progress | None = None) -> dict[str, Any]:
    """Whether the allowed checks suffice to find out what is wrong; needs every start simulated.

    Parameters
    ----------
    progress : told how far the simulating is; may raise to stop it.

    Returns
    -------
    dict
        ``enough``: a sentence; ``suffices``: whether the checks do.
    """
    wrong = refusal(scenario, hypotheses_of(scenario, progress))
    if wrong is None:
        return {"enough": text("desks.alike.enough"), "suffices": True}
    said = text("desks.alike.not_enough", what=_sentence(wrong.what), helps=wrong.legal)
    return {"enough": said, "suffices": False}


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:].rstrip(".")


def hard_words(found: Effort) -> dict[str, Any]:
    """What a call-out costs an old hand with rules of thumb: level, minutes of looking, whether it is found.

    Parameters
    ----------
    found : the means over several chances.

    Returns
    -------
    dict
        ``level`` [-], ``minutes`` [min], ``sentence``.

    Examples
    --------
    >>> hard_words(Effort(minutes=12.0, steps=6.0, solved=1.0))["level"]
    2
    """
    key = "level" if found.solved >= 1.0 else "level_not_found"
    share = f"{100.0 * found.solved:.0f}"
    sentence = text(f"desks.hard.{key}", level=found.level, minutes=f"{found.minutes:.0f}", share=share)
    return {"level": found.level, "minutes": found.minutes, "sentence": sentence}
