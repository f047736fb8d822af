"""Resistances of the suction hose: wall friction, strainer, a closing inner tube; and the depth a strainer
needs.

Arguments, the same throughout: ``reynolds`` Reynolds number of the bore [-]; ``relative_roughness`` roughness
over bore [-]; ``pressure_difference`` outside less inside of the inner tube [Pa]; ``closing_pressure``
difference at which it has closed [Pa].
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.smooth import smooth_step
from simulator.units import STANDARD_GRAVITY

DISTRIBUTION = 1.2  # Zuber and Findlay's C0: gas gathers where the stream is fastest [-]
MIN_UNDER = 0.02  # share of a bared strainer that still counts as under water [-]
LAMINAR_LIMIT = 2300.0  # Reynolds number where laminar flow begins to break up [-]
TURBULENT_LIMIT = 4000.0  # Reynolds number from which flow is taken as turbulent [-]
SMALLEST_OPEN_SHARE = 1e-3  # a strainer or choke never counts as tighter than this share of its area [-]
WAVE_SPEED = (
    400.0  # [m/s] of a pressure wave in a hose full of water; from memory: plastic pipe 300-500, steel 1,100
)
REOPENING_SHARE = (
    0.6  # reopening pressure over closing pressure of a loose inner tube [-]; common practice, no source
)


@compiled
def turbulent_friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor by Colebrook's equation [-], Reynolds number 4000 and above [-], roughness/bore
    0 to 0.05 [-].

    Haaland's formula (J. Fluids Eng. 105 (1983) 89) improved by two substitutions into Colebrook (1939).

    Examples
    --------
    >>> round(turbulent_friction_factor(1e5, 1e-4), 5)
    0.01851
    """
    inverse_root = -1.8 * math.log10(math.pow(relative_roughness / 3.7, 1.11) + 6.9 / reynolds)
    for _ in range(2):
        inverse_root = -2.0 * math.log10(relative_roughness / 3.7 + 2.51 * inverse_root / reynolds)
    return 1.0 / (inverse_root * inverse_root)


@compiled
def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor of a round hose [-]; reynolds [-] of any sign, relative_roughness =
    roughness/bore, 0 to 0.05 [-].

    64/Re in laminar flow (Hagen-Poiseuille), Colebrook from Re = 4000, a smooth step in log Re between 2300
    and 4000. Below Re = 1 it stays at 64, so that the loss f v|v| goes to zero with the velocity.

    Examples
    --------
    >>> friction_factor(1000.0, 1e-4)
    0.064
    >>> round(friction_factor(6e5, 2e-4), 5)
    0.0152
    """
    re = max(abs(reynolds), 1.0)
    if re <= LAMINAR_LIMIT:
        return 64.0 / re
    if re >= TURBULENT_LIMIT:
        return turbulent_friction_factor(re, relative_roughness)
    weight = smooth_step(math.log(re / LAMINAR_LIMIT) / math.log(TURBULENT_LIMIT / LAMINAR_LIMIT))
    turbulent = turbulent_friction_factor(re, relative_roughness)
    return (1.0 - weight) * 64.0 / re + weight * turbulent


@compiled
def strainer_loss(k_clean: float, blocked: float) -> float:
    """Loss coefficient of a part-blocked strainer on the hose velocity head [-].

    ``K = K_clean / s^2`` with the share s = 1 - blocked of the holes still open (kept above 0.001): the
    same flow goes through fewer holes and the loss follows the square of the velocity in them. At blocked =
    0.99 K is 10 000 K_clean. k_clean >= 0, blocked 0 to 1 [-]. Source: thin perforated plate, loss at
    constant hole coefficient (textbook form).

    Examples
    --------
    >>> strainer_loss(1.5, 0.0), round(strainer_loss(1.5, 0.99))
    (1.5, 15000)
    """
    share = max(1.0 - blocked, SMALLEST_OPEN_SHARE)
    return k_clean / (share * share)


@compiled
def choke_loss(area_ratio: float) -> float:
    """Loss coefficient of a choke in the hose on the hose velocity head [-]; area_ratio = free over full
    area, 0 to 1 [-].

    ``(1/(Cc r) - 1)^2``: Borda-Carnot loss behind a vena contracta of Weisbach's Cc = 0.62 + 0.38 r^3. r is
    kept above 0.001.

    Examples
    --------
    >>> choke_loss(1.0), round(choke_loss(0.5), 2)
    (0.0, 3.99)
    """
    r = min(max(area_ratio, SMALLEST_OPEN_SHARE), 1.0)
    contraction = 0.62 + 0.38 * r * r * r
    excess = 1.0 / (contraction * r) - 1.0
    return excess * excess


@compiled
def liner_closing_area(pressure_difference: float, closing_pressure: float) -> float:
    """Free share of the area of a loose inner tube as it closes [-]: ``1 / (1 + (dp / dp_c)^4)``.

    pressure_difference dp: outside minus inside [Pa]; closing_pressure dp_c: at half area [Pa], may be
    infinite (sound). Below dp = 0 the tube is open. Form made up for training.

    Examples
    --------
    >>> liner_closing_area(20e3, 20e3), liner_closing_area(0.0, 20e3)
    (0.5, 1.0)
    """
    if pressure_difference <= 0.0 or closing_pressure <= 0.0:
        return 1.0
    t = pressure_difference / closing_pressure
    return 1.0 / (1.0 + t * t * t * t)


@compiled
def liner_reopening_area(pressure_difference: float, closing_pressure: float) -> float:
    """Free share of the area of a loose inner tube as it reopens [-]: as closing, at REOPENING_SHARE of dp_c.

    Arguments as :func:`liner_closing_area` [Pa].

    Examples
    --------
    >>> liner_reopening_area(12e3, 20e3)
    0.5
    """
    return liner_closing_area(pressure_difference, REOPENING_SHARE * closing_pressure)


@compiled
def liner_target_area(opening: float, pressure_difference: float, closing_pressure: float) -> float:
    """Free share of the area a loose inner tube now moves to [-]: it stays as it is between its two curves.

    opening: present free share [-]; pressures as :func:`liner_closing_area` [Pa]. C0 in all arguments.

    Examples
    --------
    >>> liner_target_area(1.0, 20e3, 20e3)
    0.5
    >>> liner_target_area(0.3, 14e3, 20e3)
    0.3
    """
    most = liner_closing_area(pressure_difference, closing_pressure)
    least = liner_reopening_area(pressure_difference, closing_pressure)
    return min(max(opening, least), most)


@compiled
def submergence_needed(diameter: float, flow: float) -> float:
    """Depth [m] of water over a strainer or bell below which a vortex may draw air.

    ``S = D (1 + 2.3 Fr)``, Fr = v / sqrt(g D), v = flow / (pi D^2 / 4); diameter D of the envelope [m],
    flow [m3/s].
    Source: ANSI/HI 9.8 (from memory).

    Examples
    --------
    >>> round(submergence_needed(0.3, 0.07), 3)
    0.698
    """
    if diameter <= 0.0:
        return 0.0
    velocity = abs(flow) / (0.25 * math.pi * diameter * diameter)
    return diameter * (1.0 + 2.3 * velocity / math.sqrt(STANDARD_GRAVITY * diameter))


@compiled
def elastic_give(volume: float, density: float) -> float:
    """Volume per pressure [m3/Pa] by which a hose full of water gives way: ``V / (rho a^2)``, wave speed a = 400 m/s.

    volume V of the water in it [m3], its density rho [kg/m3]. A column that is stopped at v raises the pressure by
    ``rho a v`` at most: all its energy goes into this give. Source: Joukowsky (1898), Korteweg (1878) for a.

    Examples
    --------
    >>> round(1e9 * elastic_give(0.18, 1000.0), 3)
    1.125
    """
    return volume / (density * WAVE_SPEED * WAVE_SPEED)


@compiled
def gas_drift(slope: float, bore: float) -> float:
    """Speed [m/s] of long bubbles relative to the mixture in a pipe that rises with a slope dz/ds [-].

    ``(0.54 cos + 0.35 sin) sqrt(g D)``, bore D [m]. Source: Bendiksen, Int. J. Multiphase Flow 10 (1984) 467; the
    upright part is Dumitrescu's (1943) and Davies and Taylor's (1950).

    Examples
    --------
    >>> round(gas_drift(1.0, 0.15), 3), round(gas_drift(0.0, 0.15), 3)
    (0.424, 0.655)
    """
    rise = min(max(slope, 0.0), 1.0)
    return (0.54 * math.sqrt(1.0 - rise * rise) + 0.35 * rise) * math.sqrt(STANDARD_GRAVITY * bore)


@compiled
def gas_speed(water: float, gas: float, drift: float) -> float:
    """Speed of the gas [m/s] in a stream of water and gas: ``C0 (j_w + j_g) + drift``, C0 = 1.2.

    Volume flows of water and gas over the bore [m/s], drift [m/s] as :func:`gas_drift`. Source: Zuber and Findlay,
    J. Heat Transfer 87 (1965) 453.

    Examples
    --------
    >>> round(gas_speed(1.0, 0.5, 0.424), 3)
    2.224
    """
    return DISTRIBUTION * (max(water, 0.0) + max(gas, 0.0)) + drift


@compiled
def share_under(depth: float, diameter: float) -> float:
    """Share of a strainer's holes that water covers [-]: 0 with its top bare, 1 from half its diameter down.

    depth [m] of the strainer below the surface, diameter of its envelope [m]; never below MIN_UNDER, for a finite
    loss.

    Examples
    --------
    >>> share_under(0.2, 0.3), share_under(-0.1, 0.3), share_under(0.075, 0.3)
    (1.0, 0.02, 0.5)
    """
    return max(smooth_step(2.0 * depth / diameter), MIN_UNDER)
