"""The parts of a rig, each a frozen record of physical quantities in SI units.

A part says how it *is*, not what is wrong with it: an open drain is a valve with an opening, a torn ring a joint with a
hole. Whoever looks at a part sees only that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from simulator.rig.quantity import quantity, validate


class Part:
    """Base of all parts: checks the legal ranges on creation."""

    def __post_init__(self) -> None:
        validate(self)


@dataclass(frozen=True)
class Engine(Part):
    """The engine, by its speed and governor. Units and legal ranges stand with the fields."""

    rated_speed: float = quantity("1/s", 10.0, 60.0)  # revolutions a second
    speed_setting: float = quantity("-", 0.3, 1.2, 1.0)  # governor: greatest speed at full load over rated
    run_up_time: float = quantity("s", 0.1, 20.0, 1.5)  # time constant of the speed
    rated_power: float = quantity("W", 1e3, 1e6, 30e3)  # at rated speed
    droop: float = quantity("-", 0.0, 0.1, 0.05)  # rise of speed from full load to none, over rated


@dataclass(frozen=True)
class Compressor(Part):
    """The air compressor that drives the ejector. Units and legal ranges stand with the fields."""

    displacement: float = quantity("m3/s", 1e-4, 0.1)  # swept volume flow at rated engine speed
    clearance: float = quantity("-", 0.0, 0.3)  # clearance volume over swept volume
    index: float = quantity("-", 1.0, 1.4, 1.25)  # re-expansion exponent
    belt_slip: float = quantity("-", 0.0, 1.0, 0.0)  # 1: broken
    wear: float = quantity("-", 0.0, 1.0, 0.0)  # share of delivery lost past rings and valves
    intake_blocked: float = quantity("-", 0.0, 1.0, 0.0)  # share of the intake filter blocked


@dataclass(frozen=True)
class AirLine(Part):
    """Receiver and line from the compressor to the nozzle; the gauge tap is on the receiver side."""

    receiver_volume: float = quantity("m3", 1e-4, 0.1)
    bore: float = quantity("m", 2e-3, 0.1, 12e-3)
    kinked: float = quantity("-", 0.0, 1.0, 0.0)  # share of the line's area closed, after the gauge tap
    hole_diameter: float = quantity("m", 0.0, 0.02, 0.0)


@dataclass(frozen=True)
class ReliefValve(Part):
    """The valve that lets motive air off. Units and legal ranges stand with the fields."""

    set_pressure: float = quantity("Pa", 0.5e5, 16e5)  # gauge
    reseat_ratio: float = quantity("-", 0.5, 0.99, 0.92)  # reseating over set pressure, gauge
    bore: float = quantity("m", 1e-3, 0.05, 8e-3)


@dataclass(frozen=True)
class Ejector(Part):
    """The air ejector: nozzle, mixing tube and diffuser. Units and legal ranges stand with the fields."""

    nozzle_diameter: float = quantity("m", 5e-4, 0.02)  # motive nozzle throat, clean
    mixing_diameter: float = quantity("m", 2e-3, 0.06)
    nozzle_plugged: float = quantity("-", 0.0, 0.98, 0.0)  # share of the throat area closed
    nozzle_worn: float = quantity("-", 0.0, 2.0, 0.0)  # extra throat area over the clean one
    mixing_worn: float = quantity("-", 0.0, 2.0, 0.0)  # extra mixing-tube area over the new one
    nozzle_efficiency: float = quantity("-", 0.5, 1.0, 0.96)
    mixing_efficiency: float = quantity("-", 0.5, 1.0, 0.97)
    diffuser_efficiency: float = quantity("-", 0.5, 1.0, 0.90)
    jet_share: float = quantity("-", 0.5, 1.0, 0.70)  # of its ideal area that the jet takes from the tube
    exit_diameter: float = quantity("m", 0.0, 0.05, 0.0)  # of the widening nozzle; 0: no wider than the jet


@dataclass(frozen=True)
class Screen(Part):
    """The coarse screen between casing and ejector."""

    open_area: float = quantity("m2", 1e-6, 0.02)  # clean, all holes together
    plugged: float = quantity("-", 0.0, 1.0, 0.0)  # share of the open area lost


@dataclass(frozen=True)
class Separator(Part):
    """Chamber before the ejector; on some rigs a float in it shuts the air path when water comes."""

    has_float: bool = False
    stuck_shut: bool = False
    stuck_open: bool = False


@dataclass(frozen=True)
class ExhaustHose(Part):
    """The hose that leads the ejector's exhaust away. Units and legal ranges stand with the fields."""

    bore: float = quantity("m", 5e-3, 0.2)
    length: float = quantity("m", 0.1, 20.0)
    blocked: float = quantity("-", 0.0, 1.0, 0.0)  # share of the area closed


@dataclass(frozen=True)
class Casing(Part):
    """The casing of the pump with its drain. Units and legal ranges stand with the fields."""

    volume: float = quantity("m3", 1e-3, 2.0)  # casing and ejector chamber together
    height: float = quantity("m", 0.1, 3.0)  # inside, bottom to crown
    lip_fill: float = quantity("-", 0.05, 0.9)  # fill at which water stands at the inlet lip
    bite_fill: float = quantity("-", 0.3, 0.95)  # fill at which the impeller begins to make head
    full_fill: float = quantity("-", 0.5, 0.999)  # fill for full head
    gasket_hole: float = quantity(
        "m", 0.0, 0.02, 0.0
    )  # suction flange gasket or gauge tapping: hole diameter
    seal_hole: float = quantity("m", 0.0, 0.02, 0.0)  # shaft seal: equivalent hole at rated speed


@dataclass(frozen=True)
class Valve(Part):
    """A hand valve or cock, such as the casing drain."""

    bore: float = quantity("m", 1e-3, 0.4)
    opening: float = quantity("-", 0.0, 1.0, 0.0)  # share of the bore's area


@dataclass(frozen=True)
class NonReturnValve(Part):
    """The valve that keeps water from falling back. Units and legal ranges stand with the fields."""

    bore: float = quantity("m", 0.02, 0.6)
    gap_area: float = quantity("m2", 0.0, 1e-3, 0.0)  # between ball and seat when shut
    cracking_pressure: float = quantity("Pa", 0.0, 2e4, 1.5e3)
    stuck: bool = False  # the ball will not lift


@dataclass(frozen=True)
class Strainer(Part):
    """The strainer at the end of the suction hose. Units and legal ranges stand with the fields."""

    loss: float = quantity("-", 0.0, 50.0)  # K on hose velocity head, clean
    diameter: float = quantity("m", 0.02, 2.0)  # outer envelope
    blocked: float = quantity("-", 0.0, 0.999, 0.0)  # share of the open area lost


@dataclass(frozen=True)
class Joint(Part):
    """A coupling of two hose lengths; position along the hose from the strainer."""

    position: float = quantity("m", 0.0, 100.0)
    hole_diameter: float = quantity("m", 0.0, 0.05, 0.0)  # torn or missing ring


@dataclass(frozen=True)
class Hole(Part):
    """A hole or crack in the hose wall between joints."""

    position: float = quantity("m", 0.0, 100.0)
    diameter: float = quantity("m", 0.0, 0.05)


@dataclass(frozen=True)
class Liner(Part):
    """The inner tube of the suction hose. Where it has come loose it closes as the local vacuum grows."""

    position: float = quantity("m", 0.0, 100.0, 5.0)
    closing_pressure: float = quantity(
        "Pa", 1e3, math.inf, math.inf
    )  # outside minus inside at half area; inf: sound
    residual_area: float = quantity("m2", 0.0, 0.1, 2e-5)  # path that stays open when it has closed


@dataclass(frozen=True)
class SuctionHose(Part):
    """The suction hose: its way, bore and inner tube. Units and legal ranges stand with the fields."""

    bore: float = quantity("m", 0.03, 0.5)
    length: float = quantity("m", 1.0, 100.0)
    roughness: float = quantity("m", 0.0, 1e-3, 3e-5)
    bend_loss: float = quantity("-", 0.0, 10.0, 0.4)  # K of all bends
    strainer: Strainer = None  # type: ignore[assignment]
    joints: tuple[Joint, ...] = ()
    holes: tuple[Hole, ...] = ()
    liner: Liner = Liner()


@dataclass(frozen=True)
class Pump(Part):
    """The pump by its curve. Units and legal ranges stand with the fields."""

    shut_head: float = quantity("m", 3.0, 150.0)  # H0 at rated speed
    curve: float = quantity("m/(m3/s)2", 1.0, 1e7)  # a in H = H0 (n/n0)2 - a Q2
    head_factor: float = quantity("-", 0.0, 1.0, 1.0)  # wear or a clogged impeller
    best_flow: float = quantity("m3/s", 1e-4, 5.0, 0.07)  # of best efficiency at rated speed
    best_efficiency: float = quantity("-", 0.1, 0.95, 0.72)
    npsh_base: float = quantity("m", 0.0, 20.0, 1.5)  # NPSH required = base (n/n0)2 + slope Q2
    npsh_slope: float = quantity("m/(m3/s)2", 0.0, 1e6, 300.0)


@dataclass(frozen=True)
class DischargeLine(Part):
    """What the pump pushes the water through. Units and legal ranges stand with the fields."""

    bore: float = quantity("m", 0.02, 0.6)
    length: float = quantity("m", 0.5, 2000.0)
    rise: float = quantity("m", 0.0, 100.0)  # outlet above the pump
    loss: float = quantity("-", 0.0, 50.0, 3.0)  # K of fittings and exit
    valve: Valve = None  # type: ignore[assignment]  # hand valve in the line
    kinked: float = quantity("-", 0.0, 0.99, 0.0)  # share of the bore's area closed by a kink
    burst: float = quantity("-", 0.0, 1.0, 0.0)  # share of rise and length lost past a burst near the pump


@dataclass(frozen=True)
class GaugeState(Part):
    """What a gauge itself may do wrong."""

    offset: float = quantity("Pa", -1e6, 1e6, 0.0)
    stuck: bool = False  # needle or line blocked: stays where it was
    extra_lag: float = quantity("s", 0.0, 120.0, 0.0)
