"""A call-out as data: which rig, where it stands, what is wrong with it, and how it is played.

Arguments, the same throughout: ``choice`` a fault as the scenario names it; ``scenario`` the scenario as it
was read.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.onset import COMES_LATER, coming_at, coming_late
from simulator.rig.parts import DischargeLine, SuctionHose
from simulator.rig.presets import load_rig
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.scenario.choices import (
    STRICT,
    AnyFault,
    FaultChoice,
    SiteChoice,
    in_range_of,
    moved_place,
)

FORMAT = "callout-scenario"
VERSION = 3
OLDEST = 1  # the oldest version that is still read
COUNTS_FROM_ONE = 3  # the version from which places are counted from 1; from 0 before
MAX_FAULTS = 2
_ONE_LINE = r"^[^\u0000-\u001f\u007f-\u009f\u2028\u2029]*$"
_LINES = r"^[^\u0000-\u0009\u000b-\u001f\u007f-\u009f\u2028\u2029]*$"
_LEFT_OUT = (
    "number",
    "level",
    "cause",
    "hose_length_m",
    "discharge_length_m",
    "discharge_rise_m",
)  # where not set
CheckId = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")]


class Scenario(BaseModel):
    """A call-out for a pump that will not prime. Keys that are quantities end in their unit."""

    model_config = STRICT | ConfigDict(defer_build=True)  # the faults are read with the first scenario

    format: Literal["callout-scenario"] = "callout-scenario"
    """What kind of file this is."""
    version: Literal[3] = 3
    """Version of the format."""
    title: Annotated[str, Field(min_length=1, max_length=80, pattern=_ONE_LINE)]
    """One line for lists; must not tell the answer."""
    brief: Annotated[str, Field(min_length=1, max_length=1500, pattern=_LINES)]
    """The call from the field as the trainee reads it; must not tell the answer."""
    number: Annotated[int, Field(ge=1, le=9999)] | None = None
    """Its number in the yard's book, which stays whatever else comes in; left out where it needs none."""
    language: Annotated[str, Field(pattern=r"^[a-z]{2}$")] = "en"
    """Language of title and brief."""
    level: Annotated[int, Field(ge=1, le=5)] | None = None
    """How hard it is, from 1 to 5; left out where nobody has measured it."""
    cause: Literal["", "wear", "dirt", "weather", "site", "own_mistake"] = ""
    """How it came about; an own mistake is something that people left undone or set wrong."""
    rig: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")] = "osier"
    """Name of the rig."""
    hose_length_m: Annotated[float, in_range_of(SuctionHose, "length_m")] | None = None
    """Length of the suction hose; the rig's own where it is left out."""
    discharge_length_m: Annotated[float, in_range_of(DischargeLine, "length_m")] | None = None
    """Length of the discharge line; the rig's own where it is left out."""
    discharge_rise_m: Annotated[float, in_range_of(DischargeLine, "rise_m")] | None = None
    """Height of its outlet above the pump; the rig's own where it is left out."""
    site: SiteChoice
    """Where the rig stands."""
    faults: Annotated[tuple[AnyFault, ...], Field(strict=False, max_length=MAX_FAULTS)] = ()
    """What is wrong; an empty list is a sound rig."""
    mode: Literal["guided", "practice", "assessment"] = "practice"
    """How it is played."""
    see_through: bool = False
    """Whether the inside of the rig is shown; guided call-outs only."""
    allowed_checks: (
        Literal["all"] | Annotated[tuple[CheckId, ...], Field(strict=False, min_length=1, max_length=60)]
    ) = "all"
    """Checks the trainee may use."""
    seed: Annotated[int, Field(ge=0, le=2**31 - 1)] = 0
    """Seed of all that is left to chance, such as the noise of a gauge."""

    @property
    def fault_ids(self) -> tuple[str, ...]:
        """Ids of what is wrong; ``("sound",)`` where nothing is.

        Examples
        --------
        >>> Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0)).fault_ids
        ('sound',)
        """
        return tuple(choice.fault for choice in self.faults) or ("sound",)

    def what_is_wrong(self) -> list[dict[str, Any]]:
        """The faults as plain data, with places as the parts of a rig are numbered: from 0.

        Examples
        --------
        >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0))
        >>> call.what_is_wrong()
        []
        """
        faults: list[dict[str, Any]] = self.content()["faults"]
        for item in faults:
            if "place" in item:
                item["place"] = moved_place(item["place"], -1)
        return faults

    def content(self) -> dict[str, Any]:
        """The scenario as plain data, in the order and with the keys of the file.

        Examples
        --------
        >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0))
        >>> call.content()["site"]["lift_m"]
        3.0
        """
        data = self.model_dump(mode="json")
        for key in _LEFT_OUT:
            if data[key] in (None, ""):
                del data[key]
        for choice in data["faults"]:
            for key in ("place", "start_s", "end_s"):
                if choice.get(key) in (None, ""):
                    choice.pop(key, None)
        return data


def sound_rig(scenario: Scenario) -> tuple[Rig, Site]:
    """The rig and site of a scenario with nothing wrong, in SI units. Joints keep their share of the hose.

    Raises
    ------
    InputError : there is no such rig.

    Examples
    --------
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0),
    ...                 hose_length_m=20.0)
    >>> sound_rig(call)[0].suction_hose.joints[0].position
    6.6
    """
    rig = load_rig(scenario.rig)
    if scenario.hose_length_m is not None:
        rig = with_hose_length(rig, scenario.hose_length_m)
    line = {"length": scenario.discharge_length_m, "rise": scenario.discharge_rise_m}
    changed = {name: value for name, value in line.items() if value is not None}
    if changed:
        rig = replace(rig, discharge=replace(rig.discharge, **changed))  # type: ignore[arg-type]
    return rig, scenario.site.site()


def build(scenario: Scenario) -> tuple[Rig, Site]:
    """The rig and site of a scenario as they really are, faults included, in SI units.

    Raises
    ------
    InputError : there is no such rig, or a fault does not fit it.

    Examples
    --------
    >>> from simulator.scenario.choices import choose_fault
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0),
    ...                 faults=(choose_fault("drain_open", 0.5),))
    >>> build(call)[0].casing_drain.opening
    0.5
    """
    rig, site = sound_rig(scenario)
    for choice in scenario.faults:
        rig, site = apply_choice(choice, rig, site)
    return rig, site


def apply_choice(choice: FaultChoice, rig: Rig, site: Site) -> tuple[Rig, Site]:
    """The rig and site with one fault more, in SI units.

    Raises
    ------
    InputError : the fault does not fit the rig.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.scenario.choices import choose_fault
    >>> apply_choice(choose_fault("belt_loose", 1.0), load_rig(), standard_site())[0].compressor.belt_slip
    1.0
    """
    altered, place = FAULTS[choice.fault].apply(rig, site, choice.size, choice.rig_place)
    if choice.times is None:
        return altered, place
    start, end = choice.times
    if FAULTS[choice.fault].family != COMES_LATER:
        return coming_late((rig, site), (altered, place), start, end), place
    return coming_at(rig, altered, start, end), place


def scenario_hash(scenario: Scenario) -> str:
    """SHA-256 of all that changes how the call-out plays; its words (title, brief, names) are left out.

    Examples
    --------
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0))
    >>> len(scenario_hash(call)), scenario_hash(call) == scenario_hash(call.model_copy(update={"title": "B"}))
    (64, True)
    """
    data = scenario.content()
    for words in ("title", "brief", "number", "language", "level", "cause"):
        data.pop(words, None)
    # the same call-out in a newer format is the same call-out
    data["version"], data["faults"] = OLDEST, scenario.what_is_wrong()
    del data["site"]["name"]
    if isinstance(data["allowed_checks"], list):
        data["allowed_checks"] = sorted(set(data["allowed_checks"]))
    canonical = json.dumps(_without_minus_zero(data), sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(canonical.encode("utf-8")).hexdigest()


def _without_minus_zero(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_minus_zero(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_without_minus_zero(each) for each in value]
    return value + 0.0 if isinstance(value, float) else value


def fits(scenario: Scenario) -> tuple[tuple[str | int, ...], InputError] | None:
    """The first thing that cannot be though each key alone is legal: where, and why; None if all fits.

    Examples
    --------
    >>> fits(Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=11.0)))[0]
    ('site', 'lift_m')
    """
    if scenario.see_through and scenario.mode != "guided":
        return ("see_through",), InputError(
            f"a call-out in the mode {scenario.mode!r} cannot show the inside", "", "false, or mode: guided"
        )
    try:
        rig, site = sound_rig(scenario)
    except InputError as error:
        return ("rig",), error
    try:
        hose_profile(rig, site)
    except InputError as error:
        longest = rig.suction_hose.length / 1.05
        legal = f"lift_m and submergence_m together at most {longest:.1f} m"
        return ("site", "lift_m"), InputError(error.what, "", legal)
    seen: set[tuple[str, str]] = set()
    for index, choice in enumerate(scenario.faults):
        if (choice.fault, choice.place) in seen:
            return ("faults", index, "fault"), InputError(
                "the same fault stands twice", "", "each fault once"
            )
        seen.add((choice.fault, choice.place))
        wrong = _wrong_times(choice)
        if wrong:
            return ("faults", index, wrong[0]), wrong[1]
        try:
            rig, site = apply_choice(choice, rig, site)
        except InputError as error:
            return ("faults", index, "place"), _told_of_place(choice, rig, error)
    return None


def _told_of_place(choice: FaultChoice, rig: Rig, error: InputError) -> InputError:
    """What is wrong with a place, its number as the file has it."""
    places = FAULTS[choice.fault].places(rig)
    if not places or choice.rig_place in places:
        return error
    legal = ", ".join(moved_place(place, 1) for place in places) if places != ("",) else "no place"
    return InputError(f"there is no place {choice.place!r} for this fault", error.where, legal)


def _wrong_times(choice: FaultChoice) -> tuple[str, InputError] | None:
    """The key and what is wrong with the times of a fault that comes while the rig runs; None where nothing is."""
    start, end = getattr(choice, "start_s", None), getattr(choice, "end_s", None)
    if (start is None) != (end is None):
        given, lacking = ("start_s", "end_s") if end is None else ("end_s", "start_s")
        return given, InputError(f"{given} stands without {lacking}", "", "both, or none of them")
    if start is not None and end is not None and end <= start:
        return "end_s", InputError(f"it ends at {end:g} s, before it starts", "", f"more than {start:g} s")
    return None
