"""Cases from rigs that no hypothesis knows: the same kind of rig, a few percent off in what nobody can measure.

Stated chances must come true on these, not on the model they were worked out with.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulator.diagnosis.outlook import Observer
from simulator.errors import InputError
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.parts import GaugeState, Valve
from simulator.rig.ramps import RAMP_TARGETS
from simulator.rig.rig import Rig, Site
from simulator.run.outcome import proof_limit, pumps_well

EJECTOR = 0.05  # [-] spread of the ejector's coefficients
FRICTION = 0.20  # [-] of the losses of hoses, strainer and fittings
ROUGHNESS = 3.0  # [-] factor either way: with it the friction factor of a hose changes by about as much
OPENINGS = 0.10  # [-] of the discharge coefficient of every hole and gap
EXPONENT = (1.0, 1.3)  # [-] polytropic exponent of the air
SPEED = 0.05  # [-] of the speed of engine, pump and compressor
OFFSET = 0.8e3  # [Pa] standard deviation of the suction gauge's zero
PRIORS = 0.4  # [-] standard deviation of the logarithm of a fault's weight
SIZES = 0.4  # [-] the same of the exponent that bends how bad faults are
TRIES = 4  # draws of a size before another fault is drawn: some trouble nobody at a small lift
MAX_DRAWN = 200


@dataclass(frozen=True)
class Truth:
    """A case: what is wrong and how bad, with rig and site as they really are; ``gas_exponent`` [-] of its air."""

    fault: str
    place: str
    size: float
    rig: Rig
    site: Site
    gas_exponent: float
    seed: int


def perturbed_rig(rig: Rig, chance: np.random.Generator) -> Rig:
    """A rig like the given one in what its card says, a few percent off, by ``chance``, in what it does not say.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> other = perturbed_rig(load_rig("osier"), np.random.default_rng(1))
    >>> other.suction_hose.bore == load_rig("osier").suction_hose.bore, other == load_rig("osier")
    (True, False)
    """

    def about(value: float, spread: float) -> float:
        return value * float(chance.uniform(1.0 - spread, 1.0 + spread))

    hose, line, ejector, speed = rig.suction_hose, rig.discharge, rig.ejector, about(1.0, SPEED)
    return replace(
        rig,
        ejector=replace(
            ejector,
            nozzle_efficiency=min(about(ejector.nozzle_efficiency, EJECTOR), 1.0),
            mixing_efficiency=min(about(ejector.mixing_efficiency, EJECTOR), 1.0),
            diffuser_efficiency=min(about(ejector.diffuser_efficiency, EJECTOR), 1.0),
            nozzle_diameter=ejector.nozzle_diameter * math.sqrt(about(1.0, OPENINGS)),
        ),
        suction_hose=replace(
            hose,
            roughness=hose.roughness * ROUGHNESS ** float(chance.uniform(-1.0, 1.0)),
            bend_loss=about(hose.bend_loss, FRICTION),
            strainer=replace(hose.strainer, loss=about(hose.strainer.loss, FRICTION)),
        ),
        discharge=replace(line, loss=about(line.loss, FRICTION)),
        compressor=replace(rig.compressor, displacement=rig.compressor.displacement * speed),
        pump=replace(rig.pump, shut_head=rig.pump.shut_head * speed**2),
    )


def with_openings(rig: Rig, factor: float) -> Rig:
    """The rig with every hole and gap let through more by a factor [-] of its area.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> leaky, _ = FAULTS["flange_leaks"].apply(load_rig("osier"), standard_site(), 0.006)
    >>> round(1e3 * with_openings(leaky, 1.1).casing.gasket_hole, 3)
    6.293
    """
    wide = math.sqrt(factor)
    hose, casing = rig.suction_hose, rig.casing

    def valve(item: Valve) -> Valve:
        return replace(item, bore=item.bore * wide)

    def ramp_end(target: str, value: float) -> float:
        return min(value * factor, RAMP_TARGETS[target][2]) if target == "gasket_area" else value

    return replace(
        rig,
        suction_hose=replace(
            hose,
            joints=tuple(replace(j, hole_diameter=j.hole_diameter * wide) for j in hose.joints),
            holes=tuple(replace(h, diameter=h.diameter * wide) for h in hose.holes),
        ),
        casing=replace(casing, gasket_hole=casing.gasket_hole * wide, seal_hole=casing.seal_hole * wide),
        casing_drain=valve(rig.casing_drain),
        frost_drain=valve(rig.frost_drain),
        nrv=replace(rig.nrv, gap_area=rig.nrv.gap_area * factor),
        air_line=replace(rig.air_line, hole_diameter=rig.air_line.hole_diameter * wide),
        screen=replace(rig.screen, open_area=rig.screen.open_area * factor),
        ramps=tuple(replace(r, last=ramp_end(r.target, r.last)) for r in rig.ramps),
    )


def altered_weights(chance: np.random.Generator) -> dict[str, float]:
    """Weights of faults [-] another yard might have: each of ours times a chance factor.

    Examples
    --------
    >>> weights = altered_weights(np.random.default_rng(1))
    >>> weights.keys() == FAULTS.keys()
    True
    """
    factors = np.exp(PRIORS * chance.standard_normal(len(FAULTS)))
    return {name: item.weight * float(f) for (name, item), f in zip(FAULTS.items(), factors, strict=True)}


def draw_truth(
    observer: Observer, chance: np.random.Generator, weights: dict[str, float], bend: float, seed: int
) -> Truth:
    """A case beside a rig in good order: a fault that somebody would ring up about, on a rig a few percent off.

    Parameters
    ----------
    observer : of the rig in good order.
    weights : of faults [-]; those the rig cannot have are left out.
    bend : exponent [-] by which chances of sizes are bent: below 1 more of them are bad.
    chance : what is drawn from.
    seed : of the needles' shake.

    Raises
    ------
    InputError : in many draws there was none that anybody would ring up about.
    """
    card, site = observer.rig, observer.site
    fitting = [item for item in FAULTS.values() if item.places(card, site)]
    shares = np.array([weights[item.id] for item in fitting])
    for _ in range(MAX_DRAWN):
        item = fitting[int(chance.choice(len(fitting), p=shares / shares.sum()))]
        base, exponent = perturbed_rig(card, chance), float(chance.uniform(*EXPONENT))
        base = replace(base, suction_gauge=GaugeState(offset=float(chance.normal(0.0, OFFSET))))
        factor = float(chance.uniform(1.0 - OPENINGS, 1.0 + OPENINGS))
        places = item.places(card, site)
        own = observer.beside(exponent)
        for _ in range(TRIES):
            place = places[int(chance.integers(len(places)))]
            size = drawn_size(item, float(chance.random()) ** bend)
            rig, where = item.apply(base, site, size, place)
            rig = with_openings(rig, factor)
            if item.family in ("none", "instrument") or not pumps_in_time(own, rig, where):
                return Truth(item.id, place, size, rig, where, exponent, seed)
    raise InputError("no fault troubles this rig at this site", "site", "a site with some lift")


def drawn_size(item: Fault, chance: float) -> float:
    """Size of a fault (``item``) at a chance counted from mild to bad [SI].

    Examples
    --------
    >>> drawn_size(FAULTS["belt_loose"], 1.0)
    1.0
    """
    if item.size is None:
        return 0.0
    return item.size.drawn(1.0 - chance if item.size.small > item.size.large else chance)


def pumps_in_time(observer: Observer, rig: Rig, site: Site) -> bool:
    """Whether a start would prove a rig at a site beside the observer's rig in good order."""
    run = observer.run_of(rig, site)
    in_time = float(run.prime_time) <= proof_limit(float(observer.sound.prime_time))
    return in_time and run.outcome.code == "primed" and pumps_well(run, observer.sound, observer.span)


def spread_of_cases(count: int, parts: int) -> Sequence[int]:
    """How many of ``count`` cases fall on each of some parts.

    Examples
    --------
    >>> spread_of_cases(10, 4)
    [3, 3, 2, 2]
    """
    return [count // parts + (number < count % parts) for number in range(parts)]
