"""The hypothesis set of a call-out, and the command that makes those kept in the package.

``python -m simulator.diagnosis.scenario_sets`` derives them anew from ``lessons/scenarios`` and from the rigs where their
yard cards have them stand, and drops what nobody needs; ``--check`` only says what differs.

Throughout: ``scenario`` is a call-out; ``progress`` takes the share that is done [-]; ``kept`` and ``made`` are
arrays of a set by name; ``arguments`` are those of the command line.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from simulator.diagnosis import shipped
from simulator.diagnosis.hypotheses import situations, spread
from simulator.diagnosis.hypothesis_set import HypothesisSet, Progress, hypothesis_set, simulated
from simulator.rig.command import call_files, command
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.rig import Rig, Site
from simulator.scenario import Scenario, load_scenario
from simulator.scenario.model import sound_rig

NEAR = {"prime_times": 0.5, "chances": 0.05}  # [s], [-] within which a set is still the same
NEEDLE_NEAR = 400.0  # [Pa] within which a needle still is
ILL_CONDITIONED = 0.02  # share of rows that may end otherwise, and of those whose needle may stray


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


def derived(rig: Rig, site: Site, pairs: bool) -> tuple[str, shipped.Arrays]:
    """Key and arrays of the set of a rig in good order, simulated anew.

    Parameters
    ----------
    rig, site : in good order, and where it stands.
    pairs : two faults at once too.
    """
    hypotheses = spread(rig, site, pairs=pairs)
    return shipped.key_of(rig, site, hypotheses), simulated(rig, site, situations(rig, site, hypotheses))


def _of_cards() -> Iterator[tuple[str, Rig, Site, bool]]:
    """The sets that yard cards rest on."""
    for name in shipped_rig_names():
        yield f"card of {name}", load_rig(name), standard_site(name), False


def _of_calls(files: Sequence[Path]) -> Iterator[tuple[str, Rig, Site, bool]]:
    """The sets of call-outs: single faults whatever is there, as reasoning begins with them; where a second one can
    show, pairs too."""
    for path in files:
        scenario = load_scenario(path)
        for pairs in (False, True) if len(scenario.faults) > 1 else (False,):
            yield f"{path.name}{', two at once' if pairs else ''}", *sound_rig(scenario), pairs


def differences(kept: shipped.Arrays, made: shipped.Arrays) -> dict[str, float]:
    """How far a kept set is from one made anew: prime times [s] at the 99th and chances [-] at the 99.9th percentile, and
    the share of rows that end otherwise and of those whose needle strays [-]."""
    if any(name not in kept or kept[name].shape != made[name].shape for name in made):
        return dict.fromkeys((*NEAR, "outcomes", "needles"), np.inf)
    never = np.isnan(kept["prime_times"]) != np.isnan(made["prime_times"])
    apart = np.abs(kept["prime_times"] - made["prime_times"])[np.isfinite(made["prime_times"]) & ~never]
    names = [name for name in made if name.startswith("check ")]
    chances = np.concatenate([np.abs(kept[name] - made[name]).ravel() for name in names])
    strays = np.abs(kept["needles"] - made["needles"])[:, 0] > NEEDLE_NEAR
    return {
        "prime_times": float(np.quantile(apart, 0.99)) if len(apart) else 0.0,
        "chances": float(np.quantile(chances, 0.999)),
        "outcomes": float(np.mean(kept["outcomes"] != made["outcomes"])),
        "needles": float(np.mean(strays.any(axis=-1))),
    }


def same(kept: shipped.Arrays, made: shipped.Arrays) -> bool:
    """Whether a kept set is what the model gives: all but a few rows, which all but stall, or whose pump gasps for air
    behind a shut valve: there the last digit decides when."""
    found = differences(kept, made)
    few = max(found["outcomes"], found["needles"]) <= ILL_CONDITIONED
    return few and all(found[name] <= limit for name, limit in NEAR.items())


def main(arguments: Sequence[str] | None = None) -> int:
    """Derive the sets of all call-outs; with ``--check`` 1 where one differs."""
    parser = argparse.ArgumentParser(prog="python -m simulator.diagnosis.scenario_sets")
    parser.add_argument("files", nargs="*", type=Path, help="by default all of lessons/scenarios")
    parser.add_argument("--check", action="store_true", help="only compare")
    parser.add_argument("--missing", action="store_true", help="only those not yet kept")
    chosen = parser.parse_args(arguments)
    files = call_files(chosen.files)
    wrong, keys = 0, set()
    for what, rig, site, pairs in (*_of_calls(files), *(() if chosen.files else _of_cards())):
        key = shipped.key_of(rig, site, spread(rig, site, pairs=pairs))
        keys.add(key)
        kept = shipped.load(key)
        if kept is not None and chosen.missing:
            continue
        _, made = derived(rig, site, pairs)
        differs = kept is None or not same(kept, made)
        wrong += differs
        if differs and not chosen.check:
            shipped.save(key, made)
        sys.stdout.write(f"{what}: {'made anew' if differs else 'as kept'}\n")
        sys.stdout.flush()
    if not chosen.files and not chosen.check:
        for old in shipped.FOLDER.glob("*.npz"):
            if old.stem not in keys:
                old.unlink()
    return 1 if wrong and chosen.check else 0


if __name__ == "__main__":
    raise SystemExit(command(main))
