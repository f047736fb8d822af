"""The one place where a suction hose gets another length."""

from __future__ import annotations

from dataclasses import replace

from simulator.rig.rig import Rig

FINEST = 6  # decimals of a metre to which positions are rounded, so that a file gives the same hose


def with_hose_length(rig: Rig, length: float) -> Rig:
    """A copy of a rig whose suction hose has another length; joints, holes and liner keep their share of the way.

    Parameters
    ----------
    rig : as it is; a hose of that length already is left as it is, to the last digit.
    length : of the hose [m].

    Raises
    ------
    InputError : the length is not that of a hose.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> with_hose_length(load_rig("osier"), 20.0).suction_hose.joints[0].position
    6.6
    """
    hose = rig.suction_hose
    if length == hose.length:
        return rig
    share = length / hose.length
    longer = replace(
        hose,
        length=length,
        joints=tuple(replace(each, position=round(each.position * share, FINEST)) for each in hose.joints),
        holes=tuple(replace(each, position=round(each.position * share, FINEST)) for each in hose.holes),
        liner=replace(hose.liner, position=round(hose.liner.position * share, FINEST)),
    )
    return replace(rig, suction_hose=longer)
