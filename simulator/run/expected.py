"""How long a sound rig of a kind takes to prime at a site: one range, for the planner, the yard card and the field sheet.

A rig's card does not say everything: ejectors and casings differ by a few percent, hoses by their roughness, air is
neither quite isothermal nor adiabatic. :data:`SPREAD` says by how much (common practice, no source). The range is that of
:data:`SIBLINGS` rigs spread evenly over it by a Latin hypercube. Of independent draws the range of n holds (n - 1) of
(n + 1), nine in ten (order statistics); drawn evenly it holds more: rigs drawn otherwise bear out :data:`COVERAGE`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import scipy

from simulator.rig.rig import Rig, Site
from simulator.run.batch import Case, run_batch
from simulator.run.result import ControlStep, Run
from simulator.run.simulate import simulate

SIBLINGS = 19
COVERAGE = 0.95  # [-] share of rigs that prime within the range
#: Half-width of each spread, as a share of the value [-].
SPREAD = {
    "nozzle_efficiency": 0.03,
    "mixing_efficiency": 0.03,
    "diffuser_efficiency": 0.05,
    "friction": 0.20,
    "openings": 0.10,
    "speed": 0.05,
    "mixing_area": 0.06,
    "exit_area": 0.06,
    "casing": 0.05,
}
EXPONENT = (1.0, 1.3)  # [-] polytropic exponent of the air
ROUGHNESS = 3.0  # [-] factor either way: it moves the friction factor by about as much as the losses
DRAWS = len(SPREAD) + 2  # quantities that differ from rig to rig
LONGEST = 900.0  # [s] beyond which a rig counts as one that never primes
FIRST_LOOK = 120.0  # [s] most sound rigs have primed by then
FASTEST = 1.2  # [-] of rated speed that an engine may be set to


@dataclass(frozen=True)
class Expected:
    """Expected time [s] of a set-up and the range [s] of rigs of its kind; nan and inf where they never prime."""

    time: float
    low: float
    high: float


@lru_cache(maxsize=1)
def draws() -> np.ndarray:
    """Even draws in [-1, 1] for the siblings, shape (siblings, quantities): a Latin hypercube, always the same.

    Examples
    --------
    >>> draws().shape == (SIBLINGS, DRAWS)
    True
    """
    sampler = scipy.stats.qmc.LatinHypercube(d=DRAWS, seed=19)
    return np.asarray(2.0 * sampler.random(SIBLINGS) - 1.0)


def sibling(rig: Rig, draw: np.ndarray) -> tuple[Rig, float, float]:
    """A rig of the same kind, with the exponent of its air and its speed over the nominal one [-].

    draw: one row of :func:`draws`, shape (DRAWS,), each in [-1, 1]; noughts give the rig itself.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> sibling(load_rig("osier"), np.zeros(DRAWS))[0] == load_rig("osier")
    True
    """
    share = {name: 1.0 + SPREAD[name] * float(d) for name, d in zip(SPREAD, draw, strict=False)}
    exponent = float(np.interp(draw[-2], (-1.0, 1.0), EXPONENT))
    rough = ROUGHNESS ** float(draw[-1])
    ejector, hose = rig.ejector, rig.suction_hose
    other = replace(
        rig,
        ejector=replace(
            ejector,
            nozzle_efficiency=min(ejector.nozzle_efficiency * share["nozzle_efficiency"], 1.0),
            mixing_efficiency=min(ejector.mixing_efficiency * share["mixing_efficiency"], 1.0),
            diffuser_efficiency=min(ejector.diffuser_efficiency * share["diffuser_efficiency"], 1.0),
            nozzle_diameter=ejector.nozzle_diameter * math.sqrt(share["openings"]),
            mixing_diameter=ejector.mixing_diameter * math.sqrt(share["mixing_area"]),
            exit_diameter=ejector.exit_diameter * math.sqrt(share["exit_area"]),
        ),
        casing=replace(rig.casing, volume=rig.casing.volume * share["casing"]),
        suction_hose=replace(
            hose,
            roughness=hose.roughness * rough,
            bend_loss=hose.bend_loss * share["friction"],
            strainer=replace(hose.strainer, loss=hose.strainer.loss * share["friction"]),
        ),
    )
    return other, exponent, share["speed"]


@lru_cache(maxsize=64)
def expected_run(rig: Rig, site: Site, speed: float = 1.0) -> Run:
    """The run of a rig as its card has it, at a speed over rated [-], until a little after its prime; else to LONGEST.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> expected_run(load_rig("osier"), standard_site()).primed
    True
    """
    controls = (ControlStep(0.0, speed),)
    run = simulate(rig, site, controls=controls, duration=FIRST_LOOK)
    return run if run.primed else simulate(rig, site, controls=controls, duration=LONGEST)


@lru_cache(maxsize=512)
def expected(rig: Rig, site: Site, speed: float = 1.0) -> Expected:
    """Expected time and range of a sound rig at a site, at a speed over rated [-]; see the head of the module.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> plan = expected(load_rig("osier"), standard_site())
    >>> plan.low < plan.time < plan.high
    True
    """
    run = expected_run(rig, site, speed)
    watched = min(1.4 * run.prime_time + 12.0, LONGEST) if run.primed else LONGEST
    times = _times(rig, site, speed, watched)
    if np.isnan(times).any() and watched < LONGEST:
        times = _times(rig, site, speed, LONGEST)
    filled = np.where(np.isnan(times), math.inf, times)
    return Expected(float(run.prime_time), float(filled.min()), float(filled.max()))


def _times(rig: Rig, site: Site, speed: float, watched: float) -> np.ndarray:
    cases = []
    for draw in draws():
        other, exponent, faster = sibling(rig, draw)
        options: dict[str, Any] = {
            "controls": (ControlStep(0.0, min(speed * faster, FASTEST)),),
            "duration": round(watched, 1),
            "gas_exponent": exponent,
        }
        cases.append(Case(other, site, options))
    runs = run_batch(cases, channels=("suction_pressure",), every=1.0)
    return np.array([run.prime_time for run in runs])
