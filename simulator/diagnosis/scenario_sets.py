"""The hypothesis set of a call-out, and the command that makes those kept in the package.

``python -m simulator.diagnosis.scenario_sets`` derives them anew from ``lessons/scenarios`` and drops what nobody needs;
``--check`` only says what differs.

Throughout: ``scenario`` is a call-out; ``progress`` takes the share that is done [-]; ``kept`` and ``made`` are
arrays of a set by name; ``arguments`` are those of the command line.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from simulator.diagnosis import shipped
from simulator.diagnosis.hypotheses import situations, spread
from simulator.diagnosis.hypothesis_set import HypothesisSet, Progress, hypothesis_set, simulated
from simulator.rig.command import call_files, command
from simulator.scenario import Scenario, load_scenario
from simulator.scenario.model import sound_rig

NEAR = {
    "needles": 400.0,
    "prime_times": 0.5,
    "chances": 0.05,
}  # [Pa], [s], [-] within which a set is still the same


def set_of(scenario: Scenario, progress: Progress | None = None) -> HypothesisSet:
    """The hypotheses of a call-out's rig in good order; two at once where it has two.

    Examples
    --------
    >>> from simulator.scenario import SiteChoice
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0))
    >>> set_of(call).faults[0]
    'sound'
    """
    return hypothesis_set(*sound_rig(scenario), pairs=len(scenario.faults) > 1, progress=progress)


def derive(scenario: Scenario, *, pairs: bool | None = None) -> tuple[str, shipped.Arrays]:
    """Key and arrays of a call-out's set, simulated anew; ``pairs``: two at once, by default where it has two."""
    rig, site = sound_rig(scenario)
    hypotheses = spread(rig, site, pairs=len(scenario.faults) > 1 if pairs is None else pairs)
    return shipped.key_of(rig, site, hypotheses), simulated(rig, site, situations(rig, site, hypotheses))


def differences(kept: shipped.Arrays, made: shipped.Arrays) -> dict[str, float]:
    """How far a kept set is from one made anew: needles [Pa] and chances [-] at the 99.9th percentile, prime times [s],
    and outcomes: number of rows that end otherwise."""
    if kept["needles"].shape != made["needles"].shape:
        return dict.fromkeys((*NEAR, "outcomes"), np.inf)
    never = np.isnan(kept["prime_times"]) != np.isnan(made["prime_times"])
    apart = np.abs(kept["prime_times"] - made["prime_times"])[np.isfinite(made["prime_times"]) & ~never]
    names = [name for name in made if name.startswith("check ")]
    chances = np.concatenate([np.abs(kept[name] - made[name]).ravel() for name in names])
    return {
        "needles": float(np.quantile(np.abs(kept["needles"] - made["needles"])[:, 0], 0.999)),
        "prime_times": float(np.quantile(apart, 0.99)) if len(apart) else 0.0,
        "chances": float(np.quantile(chances, 0.999)),
        "outcomes": float(np.sum(kept["outcomes"] != made["outcomes"])),
    }


def same(kept: shipped.Arrays, made: shipped.Arrays) -> bool:
    """Whether a kept set is what the model gives: all but a few ill-conditioned rows, which all but stall."""
    found = differences(kept, made)
    few = 0.02 * len(made["outcomes"])
    return found["outcomes"] <= few and all(found[name] <= limit for name, limit in NEAR.items())


def main(arguments: Sequence[str] | None = None) -> int:
    """Derive the sets of all call-outs; with ``--check`` 1 where one differs."""
    parser = argparse.ArgumentParser(prog="python -m simulator.diagnosis.scenario_sets")
    parser.add_argument("files", nargs="*", type=Path, help="by default all of lessons/scenarios")
    parser.add_argument("--check", action="store_true", help="only compare")
    parser.add_argument("--missing", action="store_true", help="only those not yet kept")
    chosen = parser.parse_args(arguments)
    files = call_files(chosen.files)
    wrong, keys = 0, set()
    for path in files:
        scenario = load_scenario(path)
        rig, site = sound_rig(scenario)
        # Reasoning begins with single faults whatever is there; where a second one can show, pairs are kept too.
        for pairs in (False, True) if len(scenario.faults) > 1 else (False,):
            key = shipped.key_of(rig, site, spread(rig, site, pairs=pairs))
            keys.add(key)
            kept = shipped.load(key)
            if kept is not None and chosen.missing:
                continue
            _, made = derive(scenario, pairs=pairs)
            differs = kept is None or not same(kept, made)
            wrong += differs
            if differs and not chosen.check:
                shipped.save(key, made)
            what = f"{path.name}{', two at once' if pairs else ''}"
            sys.stdout.write(f"{what}: {'made anew' if differs else 'as kept'}\n")
            sys.stdout.flush()
    if not chosen.files and not chosen.check:
        for old in shipped.FOLDER.glob("*.npz"):
            if old.stem not in keys:
                old.unlink()
    return 1 if wrong and chosen.check else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
