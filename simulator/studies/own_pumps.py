"""A trainer's own pump on trial: rigs a few percent off in what no form asks, timed with an unsure eye, fitted, foretold.

``python -m simulator.studies.own_pumps --rigs 200`` prints how many starts were refused and why, and how far the prime
time of the accepted ones is off at another lift and length; ``--sensitivity`` what moves a start, and by how much.

Arguments, the same throughout: ``seed``, ``number`` of a rig [-]; together they give all that chance decides.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections import Counter
from dataclasses import dataclass, replace

import numpy as np

from simulator.measured.figures import MEASURES, measured_of, measured_rig, nearest_rig, unit_of_key
from simulator.measured.fit import ROOM, Fit, fit_rig
from simulator.measured.judging import Refusal, why_not, why_not_fit
from simulator.measured.start import TimedStart, needle_of, prime_time_at
from simulator.rig.command import command, whole
from simulator.rig.files import FILE_UNITS
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.rig import Rig
from simulator.studies.perturbed import EXPONENT, perturbed_rig

WITHIN = 0.10  # [-] that the foretold prime time may be off
SHARE = 0.95  # of the accepted ones of which that must hold
AREAS = 0.06  # [-] spread of the ejector's areas, as in simulator.run.expected
FILLS = 0.05  # [-] of the fills of the casing
PLATE = 0.12  # [-] by which own pumps differ from the nearest rig in what a form asks
TAPE = 0.01  # [-] standard deviation of a tape
BUCKET = ROOM  # [-] of the litres of a casing
ZERO = 0.5e3  # [Pa] of the gauge's zero
EYE = 0.7e3  # [Pa] of a reading, before it is rounded to a kilopascal
THUMB = 0.7  # [s] of the prime time, before it is rounded to a second
HOSES = (12.0, 20.0)  # [m] that starts are timed with
LIFTS = (3.5, 5.5)  # [m] at which
ELSE_HOSES, ELSE_LIFTS = (8.0, 28.0), (2.0, 6.0)  # [m] of the other places
LONGEST = 600.0  # [s]


@dataclass(frozen=True)
class Trial:
    """One rig: what was made of its start, and the relative error of the prime time elsewhere [-]; nan where refused."""

    number: int
    base: str
    readings: int
    refusal: Refusal | None
    fit: Fit | None
    error: float


def true_rig(number: int, seed: int) -> tuple[Rig, float, np.random.Generator]:
    """A pump as it really is, the exponent of its air [-], and what goes on being drawn from.

    It differs from a rig of the package in what a form asks, and a few percent in what none does.

    Examples
    --------
    >>> true_rig(0, 1)[0].ejector != load_rig("alder").ejector
    True
    """
    chance = np.random.default_rng([seed, number])

    def about(value: float, spread: float) -> float:
        return value * float(chance.uniform(1.0 - spread, 1.0 + spread))

    base = shipped_rig_names()[number % len(shipped_rig_names())]
    asked = {
        key: about(value, PLATE)
        for key, value in measured_of(load_rig(base)).items()
        if unit_of_key(key)
        and MEASURES[key].low <= value * (1 - PLATE)
        and value * (1 + PLATE) <= MEASURES[key].high
    }
    rig = perturbed_rig(measured_rig(asked, base, "true", "True"), chance)
    ejector, casing = rig.ejector, rig.casing
    rig = replace(
        rig,
        ejector=replace(
            ejector,
            mixing_diameter=ejector.mixing_diameter * math.sqrt(about(1.0, AREAS)),
            exit_diameter=ejector.exit_diameter * math.sqrt(about(1.0, AREAS)),
        ),
        casing=replace(
            casing,
            lip_fill=about(casing.lip_fill, FILLS),
            bite_fill=about(casing.bite_fill, FILLS),
            full_fill=min(about(casing.full_fill, FILLS), 0.99),
        ),
    )
    return rig, float(chance.uniform(*EXPONENT)), chance


def form_of(rig: Rig, chance: np.random.Generator) -> dict[str, float]:
    """What a trainer writes down of a rig with tape, bucket and plate, each a little off.

    Parameters
    ----------
    rig : as it really is.
    chance : what is drawn from.
    """
    spread = {"tape": TAPE, "bucket": BUCKET, "plate": 0.0, "gauge": 0.0, "count": 0.0, "look": 0.0}
    out = {
        key: value * math.exp(spread[MEASURES[key].read] * float(chance.standard_normal()))
        for key, value in measured_of(rig).items()
    }
    return {key: float(f"{value:.4g}") for key, value in out.items()}


def timed(rig: Rig, exponent: float, chance: np.random.Generator) -> TimedStart | None:
    """A start of it, read every 10 s by an eye and timed by a thumb; None where it does not prime.

    Parameters
    ----------
    rig : as it really is.
    exponent : of its air [-].
    chance : what is drawn from.
    """
    lift, length = float(chance.uniform(*LIFTS)), float(chance.uniform(*HOSES))
    site = standard_site(nearest_rig(measured_of(rig)))
    place = TimedStart(
        round(lift, 1), round(length, 1), rig.suction_hose.bore, math.nan, (), (), site.submergence
    )
    needle = needle_of(rig, place, LONGEST, exponent)
    if not math.isfinite(needle.prime_time):
        return None
    times = np.arange(10.0, needle.prime_time, 10.0)
    eye = float(chance.normal(0.0, ZERO)) + chance.normal(0.0, EYE, len(times))
    read = np.maximum(1e3 * np.round((needle.at(tuple(times)) + eye) / 1e3), 0.0)
    primed = round(needle.prime_time + float(chance.normal(0.0, THUMB)))
    return replace(place, prime_time=float(primed), times=tuple(times), vacuums=tuple(read))


def trial(number: int, seed: int) -> Trial:
    """One rig timed, fitted and foretold."""
    rig, exponent, chance = true_rig(number, seed)
    form, start = form_of(rig, chance), timed(rig, exponent, chance)
    base = nearest_rig(form)
    if start is None:
        return Trial(number, base, 0, Refusal("no_prime"), None, math.nan)
    measured = replace(start, hose_bore=FILE_UNITS["mm"].to_si(form["hose_bore_mm"]))
    refusal = why_not(measured)
    count = len(start.before_prime.times)
    if refusal is not None:
        return Trial(number, base, count, refusal, None, math.nan)
    fit = fit_rig(measured_rig(form, base, "ours", "Ours"), measured)
    refusal = why_not_fit(fit)
    if refusal is not None:
        return Trial(number, base, count, refusal, fit, math.nan)
    lift, length = float(chance.uniform(*ELSE_LIFTS)), float(chance.uniform(*ELSE_HOSES))
    length = max(length, 1.1 * (lift + start.submergence))
    more = {"submergence": start.submergence}
    true = prime_time_at(rig, lift, length, gas_exponent=exponent, **more)
    said = prime_time_at(fit.rig, lift, length, measured.hose_bore, **more)
    same = math.isnan(true) and math.isnan(said)
    error = 0.0 if same else math.inf if math.isnan(true) or math.isnan(said) else said / true - 1.0
    return Trial(number, base, count, None, fit, error)


def summary(trials: list[Trial]) -> tuple[list[str], bool]:
    """What came of the trials in lines, and whether it is as promised.

    Parameters
    ----------
    trials : one a rig.

    Examples
    --------
    >>> summary([Trial(0, "osier", 6, None, None, 0.02), Trial(1, "osier", 3, Refusal("few"), None, math.nan)])[0][0]
    '2 rigs: 1 accepted, 1 refused (few 1)'
    """
    accepted = [each for each in trials if each.refusal is None]
    why = Counter(each.refusal.kind for each in trials if each.refusal is not None)
    reasons = ", ".join(f"{kind} {count}" for kind, count in why.most_common())
    lines = [
        f"{len(trials)} rigs: {len(accepted)} accepted, {len(trials) - len(accepted)} refused"
        + (f" ({reasons})" if reasons else "")
    ]
    if not accepted:
        return lines, False
    errors = np.abs([each.error for each in accepted])
    share = float(np.mean(errors <= WITHIN))
    lines.append(
        f"prime time elsewhere within {100 * WITHIN:.0f} %: {100 * share:.1f} % of the accepted "
        f"(wanted {100 * SHARE:.0f} %)"
    )
    lines.append(
        f"error: median {100 * np.median(errors):.1f} %, 95 in 100 below {100 * np.quantile(errors, SHARE):.1f} %, "
        f"largest {100 * errors.max():.1f} %"
    )
    fits = [each.fit for each in accepted if each.fit is not None]
    if fits:
        lines.append(
            f"misfit over reading noise: median {np.median([f.misfit for f in fits]):.2f}; "
            f"runs a fit: median {np.median([f.runs for f in fits]):.0f}"
        )
    return lines, share >= SHARE


def main(arguments: list[str] | None = None) -> int:
    """The command; 1 where the promise is missed. ``arguments`` those of the command line without them."""
    parser = argparse.ArgumentParser(prog="python -m simulator.studies.own_pumps", description=__doc__)
    parser.add_argument("--rigs", type=whole(1, 5000), default=200)
    parser.add_argument("--seed", type=whole(0, 10**6), default=17)
    parser.add_argument("--sensitivity", action="store_true", help="what moves a start, and by how much")
    chosen = parser.parse_args(arguments)
    if chosen.sensitivity:
        from simulator.studies.own_pumps_sensitivity import table

        sys.stdout.write("\n".join(table()) + "\n")
        return 0
    lines, kept = summary([trial(number, chosen.seed) for number in range(chosen.rigs)])
    sys.stdout.write("\n".join(lines) + "\n")
    return 0 if kept else 1


if __name__ == "__main__":
    raise SystemExit(command(main))
