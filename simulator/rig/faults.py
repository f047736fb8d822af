"""What can be wrong with a rig: a fault changes physical quantities of a sound rig; nothing else knows it.

Sizes are SI inside (a share [-], m, m2, Pa); in files they carry a key that ends in its unit.
Weights and sizes stand in ``data/faults.yaml``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.rig.files import FILE_UNITS, file_unit, legal_range
from simulator.rig.parts import Joint
from simulator.rig.plain_yaml import read_file
from simulator.rig.presets import joints_above_water
from simulator.rig.rig import Rig, Site

Change = Callable[[Rig, Site, float, str], tuple[Rig, Site]]
FAMILIES = ("air_gets_in", "air_not_drawn_out", "water_cannot_come", "none")


@dataclass(frozen=True)
class Size:
    """How bad a fault can be, in SI units.

    ``key`` is the name in files, ending in its unit; ``small``, ``middle`` and ``large`` grow in seriousness,
    not always in value; ``usual_low`` to ``usual_high`` is what random cases draw from, with a share
    ``end_share`` [-] of them at ``large``.
    """

    key: str
    low: float
    high: float
    small: float
    middle: float
    large: float
    usual_low: float
    usual_high: float
    scale: str
    end_share: float

    @property
    def representative(self) -> tuple[float, float, float]:
        """Small, middle and large size, in SI units."""
        return self.small, self.middle, self.large

    def in_file(self, size: float) -> float:
        """Figure for a file of a size in SI units [-].

        Examples
        --------
        >>> FAULTS["joint_ring"].size.in_file(0.007)
        7.0
        """
        return file_unit(self.key).from_si(size)

    def from_file(self, figure: float) -> float:
        """Size in SI units of a figure in a file.

        Examples
        --------
        >>> FAULTS["joint_ring"].size.from_file(7.0)
        0.007
        """
        return file_unit(self.key).to_si(figure)

    def legal(self) -> str:
        """The range in words, in the unit of the file.

        Examples
        --------
        >>> FAULTS["joint_ring"].size.legal()
        '1 to 12 mm'
        """
        ending = next(e for e in sorted(FILE_UNITS, key=len, reverse=True) if self.key.endswith("_" + e))
        return legal_range(self.low, self.high, FILE_UNITS[ending], ending)

    def drawn(self, chance: float) -> float:
        """Size at a chance between 0 and 1 [-], for random cases; SI units.

        Raises
        ------
        InputError : the chance is not between 0 and 1.

        Examples
        --------
        >>> FAULTS["belt_loose"].size.drawn(0.99)
        1.0
        """
        if not 0.0 <= chance <= 1.0:
            raise InputError(f"the chance is {chance!r}", "size", "0 to 1")
        spread = 1.0 - self.end_share
        if chance > spread:
            return self.large
        share = chance / spread if spread > 0.0 else 0.0
        if self.scale == "log":
            value = self.usual_low * math.pow(self.usual_high / self.usual_low, share)
        else:
            value = self.usual_low + share * (self.usual_high - self.usual_low)
        return min(max(value, self.low), self.high)


@dataclass(frozen=True)
class Fault:
    """One thing that can be wrong.

    ``part`` is the part of the rig it sits in, ``weight`` its share of call-outs [-] (common practice, no
    source). ``size`` is None for the sound rig.
    """

    id: str
    family: str
    part: str
    weight: float
    size: Size | None
    change: Change

    @property
    def sizes(self) -> tuple[float, ...]:
        """The three representative sizes in SI units; ``(0.0,)`` for the sound rig.

        Examples
        --------
        >>> FAULTS["joint_ring"].sizes
        (0.004, 0.007, 0.011)
        """
        return self.size.representative if self.size else (0.0,)

    def places(self, rig: Rig, site: Site | None = None) -> tuple[str, ...]:
        """Where on the rig it can sit; ``("",)`` where there is only one place.

        With a site, joints below the outside water level are left out: they draw no air.

        Examples
        --------
        >>> from simulator.rig.presets import load_rig
        >>> FAULTS["joint_ring"].places(load_rig("osier"))
        ('joint:0', 'joint:1', 'joint:2')
        """
        if self.part != "joint":
            return ("",)
        joints = joints_above_water(rig, site) if site else range(len(rig.suction_hose.joints))
        return tuple(f"joint:{i}" for i in joints)

    def apply(self, rig: Rig, site: Site, size: float = 0.0, place: str = "") -> tuple[Rig, Site]:
        """The altered rig and site; the given ones stay as they are. ``size`` in SI units.

        Raises
        ------
        InputError : the size is out of range or the place is not on this rig.

        Examples
        --------
        >>> from simulator.rig.presets import load_rig, standard_site
        >>> altered, _ = FAULTS["drain_open"].apply(load_rig("osier"), standard_site(), 0.4)
        >>> altered.casing_drain.opening
        0.4
        """
        if self.size is not None:
            number = isinstance(size, (int, float)) and not isinstance(size, bool)
            if not number or not self.size.low <= size <= self.size.high:
                shown = f"{self.size.in_file(size):g}" if number and math.isfinite(size) else repr(size)
                raise InputError(f"{self.size.key} is {shown}", self.id, self.size.legal())
        places = self.places(rig)
        if place not in places:
            legal = ", ".join(places) if places != ("",) else "no place"
            raise InputError(f"there is no place {place!r} for this fault", self.id, legal)
        return self.change(rig, site, float(size), place)


def joint_index(place: str, rig: Rig) -> int:
    """Index [-] of the joint a place such as ``joint:1`` names.

    Raises
    ------
    InputError : the place names no joint of this rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> joint_index("joint:1", load_rig("osier"))
    1
    """
    count = len(rig.suction_hose.joints)
    for index in range(count):
        if place == f"joint:{index}":
            return index
    raise InputError(f"there is no joint {place!r}", "place", ", ".join(f"joint:{i}" for i in range(count)))


def with_joint_hole(rig: Rig, index: int, diameter: float) -> Rig:
    """A copy of the rig with a hole of a diameter [m] at one joint; 0 is a whole ring.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> with_joint_hole(load_rig("osier"), 1, 0.006).suction_hose.joints[1].hole_diameter
    0.006
    """
    joints = list(rig.suction_hose.joints)
    joints[index] = Joint(position=joints[index].position, hole_diameter=diameter)
    return replace(rig, suction_hose=replace(rig.suction_hose, joints=tuple(joints)))


def _part_changed(part: str, field: str) -> Change:
    def change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
        old: Any = getattr(rig, part)
        return replace(rig, **{part: replace(old, **{field: size})}), site

    return change


def _no_change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    return rig, site


def _joint_ring(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    return with_joint_hole(rig, joint_index(place, rig), size), site


def _strainer(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
    strainer = replace(rig.suction_hose.strainer, blocked=size)
    return replace(rig, suction_hose=replace(rig.suction_hose, strainer=strainer)), site


def _liner(residual_area: float) -> Change:
    def change(rig: Rig, site: Site, size: float, place: str) -> tuple[Rig, Site]:
        liner = replace(rig.suction_hose.liner, closing_pressure=size, residual_area=residual_area)
        return replace(rig, suction_hose=replace(rig.suction_hose, liner=liner)), site

    return change


def _catalogue() -> dict[str, Fault]:
    data = read_file(Path(__file__).parent / "data" / "faults.yaml").data
    changes: dict[str, Change] = {
        "sound": _no_change,
        "drain_open": _part_changed("casing_drain", "opening"),
        "nrv_fouled": _part_changed("nrv", "gap_area"),
        "joint_ring": _joint_ring,
        "belt_loose": _part_changed("compressor", "belt_slip"),
        "nozzle_plugged": _part_changed("ejector", "nozzle_plugged"),
        "screen_plugged": _part_changed("screen", "plugged"),
        "strainer_plugged": _strainer,
        "liner_collapsed": _liner(FILE_UNITS["mm2"].to_si(data["liner_collapsed"]["residual_mm2"])),
    }
    return {
        name: Fault(
            id=name,
            family=data[name]["family"],
            part=data[name]["part"],
            weight=float(data[name]["weight"]),
            size=_size(data[name].get("size")),
            change=change,
        )
        for name, change in changes.items()
    }


def _size(data: dict[str, Any] | None) -> Size | None:
    if data is None:
        return None
    unit = file_unit(data["key"])
    plain = ("key", "scale", "end_share")
    values: dict[str, Any] = {
        key: value if key in plain else unit.to_si(value) for key, value in data.items()
    }
    return Size(**values)


#: Every fault by its id, the sound rig first.
FAULTS: dict[str, Fault] = _catalogue()


def fault(name: str) -> Fault:
    """A fault by its id.

    Raises
    ------
    InputError : there is no such fault.

    Examples
    --------
    >>> fault("drain_open").family
    'air_gets_in'
    """
    if name not in FAULTS:
        raise InputError(f"there is no fault {name!r}", "fault", ", ".join(FAULTS))
    return FAULTS[name]
