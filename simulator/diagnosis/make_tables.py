"""Makes the ejector tables that the package keeps: ``python -m simulator.diagnosis.make_tables``.

Of every rig in the yard: in good order in one file, for whoever opens a rig cold, and in a file a rig as the hypotheses
have its ejector, for whoever works out what could be wrong with it.
"""

from __future__ import annotations

import sys

import numpy as np

from simulator.diagnosis.hypotheses import spread
from simulator.rig.command import command
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.run.ejection import made_anew, shape
from simulator.run.kept_tables import FOLDER, SOUND, file_of, name_of, packed
from simulator.run.parameters import pack


def parameters_of(rig: str) -> dict[str, np.ndarray]:
    """Name of each table and the parameters it is made from, of a rig in every state that its hypotheses begin in.

    Parameters
    ----------
    rig : name of one in the yard. The first table is that of the rig in good order.

    Examples
    --------
    >>> len(parameters_of("osier")) > 30
    True
    """
    good, site = load_rig(rig), standard_site(rig)
    packs = [pack(*state.apply(good, site)) for state in spread(good, site)]
    return {name_of(shape(p)): p for p in packs}


def main() -> int:
    """Write the files."""
    FOLDER.mkdir(exist_ok=True)
    sound = {}
    for rig in shipped_rig_names():
        made = {name: packed(*made_anew(p)) for name, p in parameters_of(rig).items()}
        first = next(iter(made))
        sound[first] = made.pop(first)
        _write(rig, made)
    _write(SOUND, sound)
    return 0


def _write(name: str, made: dict[str, np.ndarray]) -> None:
    file = file_of(name)
    np.savez_compressed(file, **made)  # type: ignore[arg-type]
    sys.stdout.write(f"{len(made)} tables, {file.stat().st_size / 1e3:.0f} kB: {file}\n")


if __name__ == "__main__":
    raise SystemExit(command(main))
