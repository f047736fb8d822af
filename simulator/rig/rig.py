"""A whole rig and the site it stands on."""

from __future__ import annotations

from dataclasses import dataclass, field

from simulator.errors import InputError
from simulator.rig.late import Late
from simulator.rig.parts import (
    AirLine,
    Casing,
    Compressor,
    DischargeLine,
    Ejector,
    Engine,
    ExhaustHose,
    GaugeState,
    NonReturnValve,
    Part,
    Pump,
    ReliefValve,
    Screen,
    Separator,
    SuctionHose,
    Valve,
)
from simulator.rig.quantity import quantity
from simulator.rig.ramps import Ramp


@dataclass(frozen=True)
class Rig:
    """One hired pump with its hoses, in SI units. Altered copies are made with :func:`dataclasses.replace`."""

    name: str
    title: str
    engine: Engine
    compressor: Compressor
    air_line: AirLine
    relief_valve: ReliefValve
    ejector: Ejector
    screen: Screen
    exhaust_hose: ExhaustHose
    casing: Casing
    casing_drain: Valve
    nrv: NonReturnValve
    suction_hose: SuctionHose
    pump: Pump
    discharge: DischargeLine
    has_motive_gauge: bool = True
    has_isolating_cock: bool = False
    isolating_cock: Valve = field(default_factory=lambda: Valve(bore=25e-3, opening=1.0))
    separator: Separator = field(default_factory=Separator)
    frost_drain: Valve = field(
        default_factory=lambda: Valve(bore=15e-3)
    )  # of the NRV housing, above the ball
    suction_gauge: GaugeState = field(default_factory=GaugeState)
    motive_gauge: GaugeState = field(default_factory=GaugeState)
    ramps: tuple[Ramp, ...] = ()  # what changes while it runs; falls back at rest
    late: tuple[Late, ...] = field(
        default=(), repr=False
    )  # what a run begins without, though the rig at rest has it; kept sets are found by a rig's repr, and have none

    def __post_init__(self) -> None:
        hose = self.suction_hose
        places = [("joint", j.position) for j in hose.joints] + [("hole", h.position) for h in hose.holes]
        for what, position in [*places, ("liner", hose.liner.position)]:
            if position > hose.length:
                raise InputError(
                    f"the {what} at {position:g} m lies beyond the hose of {hose.length:g} m", "suction_hose"
                )


@dataclass(frozen=True)
class Site(Part):
    """Where the rig stands. The hose profile runs from the strainer to the suction flange."""

    lift: float = quantity("m", -5.0, 12.0)  # outside water level to suction flange
    submergence: float = quantity("m", -0.5, 10.0, 0.8)  # of the strainer
    altitude: float = quantity("m", -400.0, 5000.0, 0.0)
    air_temperature: float = quantity("K", 243.15, 323.15, 293.15)
    water_temperature: float = quantity("K", 273.15, 333.15, 293.15)
    profile: tuple[
        tuple[float, float], ...
    ] = ()  # (s [m] from the strainer, z [m] above the water), empty: usual lay
    name: str = ""
    lowest_stand: float = quantity(
        "m", -5.0, 12.0, 12.0
    )  # least lift of a lower place the pump could stand at
    deepest_spot: float = quantity("m", -0.5, 10.0, -0.5)  # submergence where the bed within reach is deepest


def hose_profile(rig: Rig, site: Site) -> tuple[tuple[float, float], ...]:
    """Polyline (s, z) of the hose [m]: along the bed, up the bank, level into the flange.

    Raises
    ------
    InputError : the hose is too short for the height it must climb.
    """
    if site.profile:
        return site.profile
    length, bottom, top = rig.suction_hose.length, -site.submergence, site.lift
    if length < 1.05 * (top - bottom):
        raise InputError(
            f"a hose of {length:g} m cannot climb {top - bottom:g} m",
            "suction_hose.length",
            f"{1.05 * (top - bottom):.1f} m or more",
        )
    slack = length - (top - bottom)
    flat_low, flat_high = min(0.15 * length, 0.4 * slack), min(0.2 * length, 0.4 * slack)
    return ((0.0, bottom), (flat_low, bottom), (length - flat_high, top), (length, top))
