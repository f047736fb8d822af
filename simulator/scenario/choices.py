"""The parts of a scenario file as data models; bounds and units come from the records they become.

Arguments, the same throughout: ``kind`` the record whose field is meant; ``name`` id of the fault.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any, Literal, Union

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, create_model
from pydantic_core import CoreSchema

from simulator.errors import InputError
from simulator.rig.faults import FAULTS, Fault, fault
from simulator.rig.files import FILE_UNITS, keys_of
from simulator.rig.lazy import LazyTable
from simulator.rig.rig import Site

STRICT = ConfigDict(
    extra="forbid",
    frozen=True,
    strict=True,
    allow_inf_nan=False,
    validate_default=True,
    use_attribute_docstrings=True,
)

LATEST = 1800.0  # [s] of a run after which nobody would wait for more


def in_range_of(kind: type, key: str, **more: Any) -> Any:
    """A pydantic field with the legal range of the record's field that ``key`` stands for, in the key's unit.

    Examples
    --------
    >>> in_range_of(Site, "lift_m").metadata
    [Ge(ge=-5.0), Le(le=12.0)]
    """
    item, ending = keys_of(kind)[key]
    unit = FILE_UNITS[ending]
    return Field(ge=unit.from_si(item.metadata["low"]), le=unit.from_si(item.metadata["high"]), **more)


class SiteChoice(BaseModel):
    """Where the rig stands; heights and depths in metres, temperatures in degrees Celsius."""

    model_config = STRICT

    name: Annotated[str, Field(max_length=60, pattern=r"^[^\u0000-\u001f\u007f-\u009f\u2028\u2029]*$")] = ""
    """What the site is called."""
    lift_m: float = in_range_of(Site, "lift_m")
    """Water level to suction flange."""
    submergence_m: float = in_range_of(Site, "submergence_m", default=1.0)
    """How deep the strainer hangs under the water level."""
    altitude_m: float = in_range_of(Site, "altitude_m", default=0.0)
    """Height above the sea."""
    air_temperature_c: float = in_range_of(Site, "air_temperature_c", default=20.0)
    """Temperature of the air."""
    water_temperature_c: float = in_range_of(Site, "water_temperature_c", default=20.0)
    """Temperature of the water."""

    def site(self) -> Site:
        """The site in SI units.

        Examples
        --------
        >>> SiteChoice(lift_m=3.0).site().water_temperature
        293.15
        """
        figures = {name: value for name, value in self.model_dump().items() if name != "name"}
        keys = keys_of(Site)
        values: dict[str, Any] = {
            keys[key][0].name: FILE_UNITS[keys[key][1]].to_si(value) for key, value in figures.items()
        }
        return Site(name=self.name, **values)


class FaultChoice(BaseModel):
    """One fault of a scenario; each kind carries its own size key, such as ``hole_diameter_mm``."""

    model_config = STRICT

    fault: str
    place: str = ""

    @property
    def rig_place(self) -> str:
        """Where it sits, as the parts of a rig are numbered: from 0, where a file and the page count from 1.

        Examples
        --------
        >>> choice = choose_fault("joint_ring", 0.007, "joint:1")
        >>> choice.place, choice.rig_place
        ('joint:2', 'joint:1')
        """
        return moved_place(self.place, -1)

    @property
    def size(self) -> float:
        """How bad it is, in SI units.

        Examples
        --------
        >>> choose_fault("joint_ring", 0.007, "joint:1").size
        0.007
        """
        size = FAULTS[self.fault].size
        if size is None:
            return 0.0
        return min(max(size.from_file(getattr(self, size.key)), size.low), size.high)

    @property
    def times(self) -> tuple[float, float] | None:
        """When it comes and when it is there in full, as run times [s]; None for the fault's own, which is most often
        from the start.

        Examples
        --------
        >>> choose_fault("strainer_clogs", 0.98).times is None
        True
        """
        start, end = getattr(self, "start_s", None), getattr(self, "end_s", None)
        return None if start is None or end is None else (start, end)


class _ListedFault(FaultChoice):
    """The base of the models below: they have no source text that descriptions could be read from, and looking for it
    is most of what making them costs.
    """

    model_config = STRICT | ConfigDict(use_attribute_docstrings=False)

    def __reduce__(self) -> tuple[Callable[[dict[str, Any]], FaultChoice], tuple[dict[str, Any]]]:
        """By what was chosen: another process finds none of these models under a name."""
        return _chosen, (self.model_dump(),)


def _chosen(values: dict[str, Any]) -> FaultChoice:
    return FAULT_MODELS[values["fault"]](**values)


def _model(item: Fault) -> type[FaultChoice]:
    """The model of one fault: its id, its size in the unit of the file, and its place."""
    size = item.size
    place: Any = (Literal[""], "")
    if item.kind:
        place = (Annotated[str, Field(pattern=rf"^{item.kind}:[1-9][0-9]?$")], ...)
    sized: dict[str, Any] = {}
    if size is not None:
        sized[size.key] = (float, Field(ge=size.in_file(size.low), le=size.in_file(size.high)))
    time = Annotated[float, Field(ge=0.0, le=LATEST)] | None
    sized |= {"start_s": (time, None), "end_s": (time, None)}
    return create_model(
        "".join(word.title() for word in item.id.split("_")),
        __base__=_ListedFault,
        __doc__=f"The fault {item.id}.",
        **{
            "fault": (Literal[item.id], ...),
            **sized,
            "place": place,
        },
    )  # type: ignore[call-overload, no-any-return]


FAULT_MODELS: LazyTable[str, type[FaultChoice]] = LazyTable(
    lambda: {name: _model(item) for name, item in FAULTS.items() if name != "sound"}
)


class _OneOfThem:
    """The models of all faults, told apart by their ids; asked for when the first scenario is read, not at an import."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        models: Any = Annotated[Union[tuple(FAULT_MODELS.values())], Field(discriminator="fault")]  # noqa: UP007
        return handler.generate_schema(models)


#: For a model whose building is put off (``defer_build``).
AnyFault = Annotated[FaultChoice, _OneOfThem()]


def moved_place(place: str, by: int) -> str:
    """A place with its number moved on by ``by`` [-]; what has no number stays as it is.

    Examples
    --------
    >>> moved_place("joint:0", 1), moved_place("", 1)
    ('joint:1', '')
    """
    kind, _, number = place.partition(":")
    return f"{kind}:{int(number) + by}" if re.fullmatch(r"0|[1-9]\d?", number) else place


def choose_fault(name: str, size: float = 0.0, place: str = "") -> FaultChoice:
    """A fault of a scenario from its id, its size in SI units ([-], [m], [m2] or [Pa]) and its place on the rig.

    Parameters
    ----------
    place : as the parts of a rig are numbered, from 0, such as ``joint:0``.

    Raises
    ------
    InputError : there is no such fault, or its size is out of range.

    Examples
    --------
    >>> choose_fault("belt_loose", 0.7).slip_percent
    70.0
    """
    item, place = fault(name), moved_place(place, 1)
    if name == "sound":
        raise InputError("a sound rig is a scenario without faults", "faults", "an empty list")
    if item.size is None:
        return FAULT_MODELS[name](fault=name, place=place)
    if not item.size.low <= size <= item.size.high:
        raise InputError(f"{item.size.key} is {item.size.in_file(size):g}", name, item.size.legal())
    figure = min(
        max(item.size.in_file(size), item.size.in_file(item.size.low)), item.size.in_file(item.size.high)
    )
    values: dict[str, Any] = {"fault": name, item.size.key: figure, "place": place}
    return FAULT_MODELS[name](**values)
