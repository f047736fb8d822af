"""Makes the ejector tables that the package keeps: ``python -m simulator.run.make_tables``."""

from __future__ import annotations

import sys

import numpy as np

from simulator.rig.command import command
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.run.ejection import made_anew, shape
from simulator.run.kept_tables import FILE, name_of, packed
from simulator.run.parameters import pack


def tables() -> dict[str, np.ndarray]:
    """Name and values of the table of every rig in the yard."""
    parameters = [pack(load_rig(name), standard_site(name)) for name in shipped_rig_names()]
    return {name_of(shape(p)): packed(*made_anew(p)) for p in parameters}


def main() -> int:
    """Write the file."""
    made = tables()
    FILE.parent.mkdir(exist_ok=True)
    np.savez_compressed(FILE, **made)  # type: ignore[arg-type]
    sys.stdout.write(f"{len(made)} tables, {FILE.stat().st_size / 1e3:.0f} kB: {FILE}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
