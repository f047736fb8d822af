"""What can be wrong with a rig: a fault changes physical quantities of a sound rig; nothing else knows it.

Sizes are SI inside (a share [-], m, m2, Pa); in files they carry a key that ends in its unit.
One record a fault stands in ``data/faults.yaml``, its words under the same name in the message catalogue.

Arguments, the same throughout: ``name`` id of a fault in the catalogue.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from simulator.errors import InputError
from simulator.rig import trainer
from simulator.rig.fault_changes import (
    FUNCTIONS,
    VALUES,
    WITH_OPTIONS,
    Change,
    joint_index,
    part_changed,
    ramped,
    with_joint_hole,
)
from simulator.rig.files import FILE_UNITS, file_unit, legal_range
from simulator.rig.lazy import RecordTable
from simulator.rig.plain_yaml import Document
from simulator.rig.presets import fitted_with, joints_above_water
from simulator.rig.ramps import RAMP_TARGETS
from simulator.rig.record_files import StrictRecord, in_si, known_field, record_file, validated
from simulator.rig.rig import Rig, Site
from simulator.texts import knows, text

__all__ = ["FAMILIES", "FAULTS", "Change", "Fault", "Size", "fault", "joint_index", "with_joint_hole"]
FAMILIES = (
    "air_gets_in",
    "air_not_drawn_out",
    "water_cannot_come",
    "primes_little_flow",
    "primes_then_loses",
    "instrument",
    "none",
)
USUAL_CUTS = 3


@dataclass(frozen=True)
class Size:
    """How bad a fault can be, in SI units.

    ``key`` is the name in files, ending in its unit; ``small``, ``middle`` and ``large`` grow in seriousness,
    not always in value; ``usual_low`` to ``usual_high`` is what random cases draw from, with a share
    ``end_share`` [-] of them at ``large``. ``rare`` are sizes beyond the usual that somebody may still make: beliefs
    know them, no random case draws them.
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
    rare: tuple[float, ...] = ()

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


class SizeRecord(StrictRecord):
    """How bad a fault can be, as the record says it: figures in the unit that the key ends in."""

    key: str
    low: int | float
    high: int | float
    small: int | float
    middle: int | float
    large: int | float
    usual_low: int | float
    usual_high: int | float
    scale: Literal["log", "linear"]
    end_share: float = Field(ge=0.0, le=1.0)
    rare: tuple[int | float, ...] = ()

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not any(self.key.endswith("_" + ending) for ending in FILE_UNITS):
            raise ValueError(f"{self.key!r} ends in no unit: one of {', '.join('_' + e for e in FILE_UNITS)}")
        if not self.low < self.high:
            raise ValueError("low is not below high")
        for name in ("small", "middle", "large", "usual_low", "usual_high"):
            if not self.low <= getattr(self, name) <= self.high:
                raise ValueError(f"{name} is not between low and high, {self.low:g} and {self.high:g}")
        if not min(self.small, self.large) <= self.middle <= max(self.small, self.large):
            raise ValueError(f"middle is not between small and large, {self.small:g} and {self.large:g}")
        if self.usual_low > self.usual_high:
            raise ValueError("usual_low is above usual_high")
        usual = sorted((self.usual_low, self.usual_high))
        for size in self.rare:
            if not self.low <= size <= self.high or usual[0] <= size <= usual[1]:
                raise ValueError(f"rare size {size:g} is not between low and high, or within the usual ones")
        if self.scale == "log" and self.usual_low <= 0:
            raise ValueError("usual_low is to be above 0 on a log scale")
        return self


class ChangeRecord(BaseModel):
    """What a fault changes: a field of a part, the end of a ramp, or what a function of ``fault_changes.py`` does."""

    model_config = ConfigDict(extra="allow", frozen=True)
    part: str = ""
    field: str = ""
    value: Literal["size", "rest", "less", "there", "area_of_hole"] = "size"
    ramp: str = ""
    from_s: float = 0.0
    until_s: float = 0.0
    by: str = ""

    def function(self) -> Change:
        """The change itself.

        Raises
        ------
        InputError : no rig has such a part or field, there is no such function, or it takes no such option.
        """
        options, of_size = self.model_extra or {}, VALUES[self.value]
        if self.by in WITH_OPTIONS:
            try:
                return WITH_OPTIONS[self.by](**in_si(options))
            except TypeError as error:
                raise InputError(f"{self.by!r} does not take these options", "change", str(error)) from error
        if options:
            legal = ", ".join(type(self).model_fields)
            raise InputError(f"{next(iter(options))!r} is no key of a change", "change", legal)
        if self.by:
            if self.by not in FUNCTIONS:
                raise InputError(
                    f"there is no function {self.by!r}", "change.by", ", ".join((*FUNCTIONS, *WITH_OPTIONS))
                )
            return FUNCTIONS[self.by]
        if self.ramp:
            if self.ramp not in RAMP_TARGETS:
                raise InputError(
                    f"{self.ramp!r} cannot change during a run", "change.ramp", ", ".join(RAMP_TARGETS)
                )
            return ramped(self.ramp, (self.from_s, self.until_s), of_size)
        known_field(self.part, self.field)
        return part_changed(self.part, self.field, of_size)


class FaultRecord(StrictRecord):
    """One record of ``data/faults.yaml``; the comment at its head says what each key is."""

    family: Literal[FAMILIES]  # type: ignore[valid-type]
    part: str
    weight: float = Field(ge=0.0)
    places: Literal["", "joint", "length"] = ""
    fitted: str = ""
    size: SizeRecord | None = None
    change: ChangeRecord
    cuts: int = Field(default=USUAL_CUTS, ge=1)
    look: str = ""


@dataclass(frozen=True)
class Fault:
    """One thing that can be wrong.

    ``part`` is the part of the rig it sits in, ``weight`` its share of call-outs [-] (common practice, no
    source). ``size`` is None for the sound rig, and for faults that are there or not. ``kind`` is ``joint`` or
    ``length`` where it sits at one of several places, ``fitted`` names a part that only some rigs have. ``cuts`` is
    into how many sizes beliefs cut it at each place [-], ``look`` the check by which an old hand looks for it, or "".
    ``usual_weight`` is the weight that comes with the package [-], where a trainer sets another.
    """

    id: str
    family: str
    part: str
    weight: float
    size: Size | None
    change: Change
    kind: str = ""
    fitted: str = ""
    cuts: int = USUAL_CUTS
    look: str = ""
    usual_weight: float = 0.0

    @property
    def sizes(self) -> tuple[float, ...]:
        """The three representative sizes in SI units; ``(0.0,)`` where there is none.

        Examples
        --------
        >>> FAULTS["joint_ring"].sizes
        (0.004, 0.007, 0.011)
        """
        return self.size.representative if self.size else (0.0,)

    def places(self, rig: Rig, site: Site | None = None) -> tuple[str, ...]:
        """Where on the rig it can sit; ``("",)`` where there is only one place, none where the rig lacks the part.

        With a site, joints and lengths below the outside water level are left out: they draw no air.

        Examples
        --------
        >>> from simulator.rig.presets import load_rig
        >>> FAULTS["joint_ring"].places(load_rig("osier"))
        ('joint:0', 'joint:1', 'joint:2')
        >>> FAULTS["cock_shut"].places(load_rig("osier"))
        ()
        """
        if not fitted_with(rig, self.fitted):
            return ()
        if not self.kind:
            return ("",)
        joints = joints_above_water(rig, site) if site else range(len(rig.suction_hose.joints))
        return tuple(f"{self.kind}:{i}" for i in joints)

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
            if not places:
                raise InputError(f"the rig {rig.title} has no such part", self.id, "another rig or fault")
            legal = ", ".join(places) if places != ("",) else "no place"
            raise InputError(f"there is no place {place!r} for this fault", self.id, legal)
        return self.change(rig, site, float(size), place)


def fault_from(document: Document, name: str) -> Fault:
    """The fault of a ``document`` of records that has a ``name``.

    Raises
    ------
    InputError : its record is not whole, with its line, what is wrong and what would be legal.
    """
    weights = trainer.overrides().weights
    record = validated("fault", FaultRecord, name, document)
    try:
        change = record.change.function()
    except InputError as error:
        raise InputError(
            f"fault {name!r}: {error.what}", document.where((name, "change")), error.legal
        ) from error
    return Fault(
        id=name,
        family=record.family,
        part=record.part,
        weight=float(weights.get(name, record.weight)),
        size=None if record.size is None else _size(record.size),
        change=change,
        kind=record.places,
        fitted=record.fitted,
        cuts=record.cuts,
        look=record.look,
        usual_weight=record.weight,
    )


def _size(data: SizeRecord) -> Size:
    unit = file_unit(data.key)
    plain = ("key", "scale", "end_share")
    values: dict[str, Any] = {
        name: value if name in plain else unit.to_si(value) for name, value in data if name != "rare"
    }
    return Size(**values, rare=tuple(unit.to_si(value) for value in data.rare))


#: Every fault by its id, the sound rig first.
FAULTS: RecordTable[Fault] = RecordTable(lambda: record_file("faults"), fault_from)


def size_words(name: str) -> str:
    """What pages call the size of a fault: its own ``size``, what its key is called on other faults, or the bare key.

    Parameters
    ----------
    name : of the fault.

    Examples
    --------
    >>> size_words("joint_ring")
    'Width of the hole'
    """
    size = fault(name).size
    key = size.key if size else ""
    for place in (f"faults.{name}.size", f"desks.sizes.{key}"):
        if knows(place):
            return text(place)
    return key.rpartition("_")[0].replace("_", " ").capitalize()


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
