"""What is said while a run is played: each sentence at its moment, its figures those of the run at that moment."""

from __future__ import annotations

import math
from collections.abc import Mapping

from simulator.errors import InputError
from simulator.panels.page.words import format_quantity
from simulator.panels.teaching.cases import arrival
from simulator.panels.teaching.figures import STEP, needles
from simulator.run import Run
from simulator.texts import entry, text


def moment(when: float | str, run: Run) -> float:
    """When a sentence comes [s]: a time [s], or "arrives" (water at the pump) or "primed", the next moment shown.

    Parameters
    ----------
    when : as the catalogue has it.
    run : that is played.

    Raises
    ------
    InputError : the run has no such moment.

    Examples
    --------
    >>> from simulator.panels.teaching.cases import run_of, usual_rig, usual_site
    >>> run = run_of(usual_rig(), usual_site())
    >>> moment(5, run), moment("primed", run) - run.prime_time < 1.0
    (5.0, True)
    """
    if not isinstance(when, str):
        return float(when)
    times = {"arrives": arrival(run)[0], "primed": float(run.prime_time)}
    time = times.get(when, math.nan)
    if not math.isfinite(time):
        raise InputError(f"{when!r} is no moment of this run", "says.t", "a time [s], arrives or primed")
    return max(STEP * math.ceil(time / STEP), float(round(time)))  # not before the second that is told


def readings(run: Run, time: float, units: str) -> dict[str, str]:
    """What needles and flow meter show at a time [s], in words: ``here``, ``motive_here``,
    ``discharge_here``, ``flow_here``; and how full the casing is [%], ``fill_here``.

    Parameters
    ----------
    run : that is read.
    units : "metric" or "us".
    """
    shown, head = needles(run, time), run.value("discharge_pressure", time) - run.atmosphere
    out = {
        "here": format_quantity("vacuum", abs(shown["suction"]), units),
        "flow_here": format_quantity("flow", max(run.value("discharge_flow", time), 0.0), units),
        "discharge_here": format_quantity("pressure", max(head, 0.0), units),
        "fill_here": f"{100 * run.value('casing_fill', time):.0f}",
        "now": text("teaching.seconds", n=round(time)),
    }
    if "motive" in shown:
        out["motive_here"] = format_quantity("pressure", shown["motive"], units)
    return out


def remarks(key: str, run: Run, units: str, said: Mapping[str, str]) -> list[tuple[float, str]]:
    """The sentences of a run with their times [s].

    Parameters
    ----------
    key : of the run's words, such as ``lesson_03.tracks.slow``.
    run : that is played.
    units : "metric" or "us".
    said : more fields of the sentences.
    """
    out = []
    for each in entry(f"{key}.says"):
        time = moment(each["t"], run)
        out.append((time, str(each["text"]).format(**{**readings(run, time, units), **said})))
    return out
