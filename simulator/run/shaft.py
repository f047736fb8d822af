"""The shaft: the speed at which what pump and compressor take meets what the engine's governor gives."""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.physics.compressor import belt_torque
from simulator.physics.pump import governed_speed, impeller_torque
from simulator.run import layout as at
from simulator.run.layout import Array
from simulator.units import STANDARD_GRAVITY as G

DRAG = 0.02  # [-] of the rated torque: bearings, seal and the wheel in air; made up for training
CROSSINGS = 3


@compiled
def head_made(p: Array, speed: float, q: float, grip: float) -> float:
    """Head [m] of the pump at a speed over rated [-] and flow q [m3/s]; ``grip`` [-]: the share of it that grips.

    p: parameters of the run, see ``run/layout.py``.
    """
    return grip * max(p[at.SHUT_HEAD] * speed * speed - p[at.CURVE] * q * abs(q), -p[at.SHUT_HEAD])


@compiled
def crossing(p: Array, setting: float, p_m: float, q: float, grip: float) -> tuple[float, float, float]:
    """Speed over rated [-] where the governor's line meets the load, and the torques of impeller and belt [W at rated].

    p: parameters of the run; setting [-]: what the lever asks for, as the engine runs up; p_m [Pa] in the receiver, q
    [m3/s] of the pump, grip [-]. Newton steps on ``n = governed_speed(setting, droop, load(n))``; the droop is small,
    so three are exact to 1e-9.
    """
    belt = belt_torque(
        p_m, p[at.ATMOSPHERE], p[at.DISPLACEMENT], p[at.BELT_SLIP], p[at.CLEARANCE], p[at.INDEX]
    )
    rated, droop = p[at.ENGINE_POWER], p[at.DROOP]
    still = belt + DRAG * rated
    speed = governed_speed(setting, droop, still / rated)
    wheel = 0.0
    if grip > 0.0 and setting > 0.0:
        for _ in range(CROSSINGS):
            made = head_made(p, speed, q, grip)
            wheel = impeller_torque(
                q, made, speed, p[at.BEST_FLOW], p[at.BEST_EFFICIENCY], p[at.WATER_DENSITY]
            )
            error = speed - governed_speed(setting, droop, (still + wheel) / rated)
            steep = 2.0 * grip * p[at.SHUT_HEAD] * speed * wheel / made if made > 0.0 else 0.0
            speed -= error / (1.0 + setting * droop * steep / rated)
    return speed, wheel, belt


@compiled
def powers(
    p: Array, setting: float, speed: float, wheel: float, belt: float, head: float, q: float
) -> tuple[float, float, float, float]:
    """Power [W] of the engine by its governor's line, in the water, lost in the pump, and into the belt.

    The first is read off the speed alone, the others off the loads: that they agree is the crossing. p, setting: as
    :func:`crossing`, which gives speed [-], wheel and belt [W at rated]; head [m] and flow q [m3/s] of the pump.
    """
    if setting <= 0.0 or speed <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    torque = p[at.ENGINE_POWER] * (1.0 + (1.0 - speed / setting) / p[at.DROOP]) if p[at.DROOP] > 0.0 else 0.0
    if p[at.DROOP] <= 0.0:
        torque = wheel + belt + DRAG * p[at.ENGINE_POWER]
    water = p[at.WATER_DENSITY] * G * q * head
    lost = (wheel + DRAG * p[at.ENGINE_POWER]) * speed - water
    return torque * speed, water, lost, belt * speed
