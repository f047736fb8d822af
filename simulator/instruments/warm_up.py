"""Have the model compiled before somebody waits for it."""

from __future__ import annotations

from simulator.instruments.gauges import GAUGES, needle_of
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.run import simulate


def warm_up() -> None:
    """Run the model and read a needle once: what is compiled for it is kept, or read from what was kept.

    Examples
    --------
    >>> warm_up()
    """
    rig = load_rig(shipped_rig_names()[0])
    run = simulate(rig, standard_site(rig.name), duration=1.0)
    needle_of(run, GAUGES["suction"], rig, 1)
