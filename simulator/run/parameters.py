"""From a rig, a site and a set-up to the flat parameter array of the compiled equations.

Arguments, the same throughout: ``profile`` height over length along the hose [m, m]; ``setup`` how the rig is
set up; ``gas_exponent`` exponent of the gas, 1 for isothermal [-].
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from simulator.physics.atmosphere import pressure_at_altitude
from simulator.physics.gas import R_AIR
from simulator.physics.hose_losses import elastic_give
from simulator.physics.pump import operating_point, resistance
from simulator.physics.water import density, vapour_pressure, viscosity
from simulator.rig.ramps import Ramp
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.run import layout as at

ENTRY_LOSS = 0.1  # [-] K of the hose entry behind the strainer, included in most strainer figures
INERTIA_LENGTH = 0.5  # [m] least length of moving water: the end correction of the inlet
LINER_TIME = 0.3  # [s] for a loose liner to move
NRV_LOSS = 2.0  # [-] K of an open ball valve on the discharge bore
LINE_FRICTION = 0.018  # [-] Darcy factor of wide hoses, turbulent; Moody chart
EXHAUST_LOSS = 1.5  # [-] K of entry and exit of the exhaust hose
EXHAUST_FRICTION = 0.025  # [-] Darcy factor of the exhaust hose
SMALL = 1e-9
NEVER = 1e9  # [Pa] that no ball lifts at


def disc(diameter: float) -> float:
    """Area [m2] of a round hole of this diameter [m].

    Examples
    --------
    >>> round(disc(2.0), 4)
    3.1416
    """
    return math.pi / 4.0 * diameter**2


def rest_position(profile: tuple[tuple[float, float], ...]) -> float:
    """Where the hose comes out of the water [m from the strainer]: the first place at height 0.

    Examples
    --------
    >>> rest_position(((0.0, -1.0), (2.0, 1.0)))
    1.0
    """
    for (s0, z0), (s1, z1) in pairwise(profile):
        if z0 <= 0.0 <= z1 and z1 > z0:
            return s0 - z0 * (s1 - s0) / (z1 - z0)
    return 0.0 if profile[0][1] > 0.0 else profile[-1][0]


def high_spot(profile: tuple[tuple[float, float], ...]) -> tuple[float, float] | None:
    """Crest and following sag (s, s) [m] of the first hump of a hose above the outside water, or None.

    Examples
    --------
    >>> high_spot(((0.0, -1.0), (4.0, 2.0), (6.0, 1.2), (10.0, 3.0)))
    (4.0, 6.0)
    >>> high_spot(((0.0, -1.0), (10.0, 3.0))) is None
    True
    """
    for i in range(1, len(profile) - 1):
        if profile[i][1] > 0.0 and profile[i + 1][1] < profile[i][1] > profile[i - 1][1]:
            j = i + 1
            while j + 1 < len(profile) and profile[j + 1][1] <= profile[j][1]:
                j += 1
            return profile[i][0], profile[j][0]
    return None


def highest_bend(profile: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Place and height (s, z) [m] of the highest bend of a hose that stands above its upper end; (0, 0) without one.

    Examples
    --------
    >>> highest_bend(((0.0, -1.0), (4.0, 2.0), (6.0, 1.2), (10.0, 3.0)))
    (0.0, 0.0)
    >>> highest_bend(((0.0, -1.0), (7.6, 3.15), (8.8, 2.4), (10.0, 3.0)))
    (7.6, 3.15)
    """
    s, z = max(profile[:-1], key=lambda point: point[1])
    return (s, z) if z > profile[-1][1] else (0.0, 0.0)


#: Where each quantity that may change during a run stands.
RAMPED = {
    "level_drop": at.LEVEL_DROP,
    "strainer_blocked": at.STRAINER_BLOCKED,
    "belt_slip": at.BELT_SLIP,
    "line_burst": at.LINE_BURST,
    "gasket_area": at.GASKET_AREA,
    "head_factor": at.HEAD_FACTOR,
}


def pack(
    rig: Rig,
    site: Site,
    setup: at.Setup = at.Setup.NORMAL,
    ramps: tuple[Ramp, ...] = (),
    gas_exponent: float = 1.0,
) -> np.ndarray:
    """Parameter array, SI; shape (PARAMETERS + 2 profile points + 2 leaks + 5 ramps,)."""
    hose, ejector, casing, line = rig.suction_hose, rig.ejector, rig.casing, rig.discharge
    p_atm = float(pressure_at_altitude(site.altitude))
    leaks = [
        (joint.position, disc(joint.hole_diameter)) for joint in hose.joints if joint.hole_diameter > 0.0
    ]
    leaks += [(hole.position, disc(hole.diameter)) for hole in hose.holes if hole.diameter > 0.0]
    profile = hose_profile(rig, site)
    p = np.zeros(at.PARAMETERS + 2 * len(profile) + 2 * len(leaks) + at.RAMP_WIDTH * len(ramps))
    p[at.ATMOSPHERE] = p_atm
    p[at.AIR_T] = site.air_temperature
    p[at.VAPOUR] = vapour_pressure(site.water_temperature)
    p[at.WATER_DENSITY] = density(site.water_temperature)
    p[at.WATER_VISCOSITY] = viscosity(site.water_temperature)
    p[at.SETUP] = float(setup)
    p[at.BORE], p[at.BORE_AREA] = hose.bore, disc(hose.bore)
    p[at.LENGTH] = hose.length
    p[at.RELATIVE_ROUGHNESS] = hose.roughness / hose.bore
    p[at.ENTRY_LOSS] = ENTRY_LOSS
    p[at.BEND_LOSS] = hose.bend_loss
    p[at.STRAINER_LOSS], p[at.STRAINER_BLOCKED] = hose.strainer.loss, hose.strainer.blocked
    p[at.STRAINER_DIAMETER], p[at.SUBMERGENCE] = hose.strainer.diameter, site.submergence
    p[at.INERTIA_LENGTH] = INERTIA_LENGTH
    p[at.HAS_LINER] = float(math.isfinite(hose.liner.closing_pressure))
    p[at.LINER_AT] = hose.liner.position
    p[at.LINER_PRESSURE] = hose.liner.closing_pressure if p[at.HAS_LINER] else 1e9
    p[at.LINER_RESIDUAL] = hose.liner.residual_area
    p[at.LINER_TIME] = LINER_TIME
    p[at.LEAKS_AT] = sum(s * a for s, a in leaks) / sum(a for _, a in leaks) if leaks else 0.0
    if setup == at.Setup.NORMAL:
        p[at.HOSE_GIVE] = elastic_give(p[at.BORE_AREA] * hose.length, p[at.WATER_DENSITY])
    hump = high_spot(profile)
    if hump is not None:
        p[at.HAS_CREST] = 1.0
        p[at.CREST_AT], p[at.SAG_AT] = hump
    p[at.TOP_AT], p[at.TOP_HEIGHT] = highest_bend(profile)
    p[at.CASING_VOLUME], p[at.CASING_HEIGHT] = casing.volume, casing.height
    p[at.LIP_FILL], p[at.BITE_FILL], p[at.FULL_FILL] = casing.lip_fill, casing.bite_fill, casing.full_fill
    p[at.GASKET_AREA], p[at.SEAL_AREA] = disc(casing.gasket_hole), disc(casing.seal_hole)
    p[at.DRAIN_AREA] = disc(rig.casing_drain.bore) * rig.casing_drain.opening
    p[at.FROST_DRAIN_AREA] = disc(rig.frost_drain.bore) * rig.frost_drain.opening
    p[at.NRV_GAP] = rig.nrv.gap_area
    p[at.NRV_CRACKING] = NEVER if rig.nrv.stuck else rig.nrv.cracking_pressure
    p[at.NRV_LOSS] = NRV_LOSS
    compressor = rig.compressor
    p[at.DISPLACEMENT], p[at.BELT_SLIP] = compressor.displacement, compressor.belt_slip
    p[at.CLEARANCE], p[at.INDEX] = compressor.clearance, compressor.index
    p[at.WEAR], p[at.INTAKE_BLOCKED] = compressor.wear, compressor.intake_blocked
    p[at.RECEIVER_VOLUME] = rig.air_line.receiver_volume
    p[at.RELIEF_SET] = p_atm + rig.relief_valve.set_pressure
    p[at.RELIEF_RESEAT] = p_atm + rig.relief_valve.set_pressure * rig.relief_valve.reseat_ratio
    p[at.RELIEF_AREA] = disc(rig.relief_valve.bore)
    p[at.LINE_AREA] = disc(rig.air_line.bore) * (1.0 - rig.air_line.kinked) + SMALL
    p[at.LINE_HOLE] = disc(rig.air_line.hole_diameter)
    p[at.THROAT_AREA] = (
        disc(ejector.nozzle_diameter) * (1.0 - ejector.nozzle_plugged) * (1.0 + ejector.nozzle_worn)
    )
    p[at.MIXING_AREA] = disc(ejector.mixing_diameter) * (1.0 + ejector.mixing_worn)
    p[at.MOUTH_AREA] = disc(ejector.mixing_diameter)
    p[at.ETA_NOZZLE], p[at.ETA_MIXING] = ejector.nozzle_efficiency, ejector.mixing_efficiency
    p[at.ETA_DIFFUSER] = ejector.diffuser_efficiency
    p[at.JET_SHARE], p[at.EXIT_AREA] = ejector.jet_share, disc(ejector.exit_diameter)
    p[at.SCREEN_AREA] = rig.screen.open_area * (1.0 - rig.screen.plugged) + SMALL
    bore = rig.exhaust_hose.bore
    air_density = p_atm / (R_AIR * site.air_temperature)
    resistance = EXHAUST_LOSS + EXHAUST_FRICTION * rig.exhaust_hose.length / bore
    exhaust_area = disc(bore) * (1.0 - rig.exhaust_hose.blocked) + SMALL
    p[at.EXHAUST_LOSS] = resistance / (2.0 * air_density * exhaust_area**2)
    p[at.SHUT_HEAD], p[at.CURVE], p[at.HEAD_FACTOR] = rig.pump.shut_head, rig.pump.curve, rig.pump.head_factor
    p[at.BEST_FLOW], p[at.BEST_EFFICIENCY] = rig.pump.best_flow, rig.pump.best_efficiency
    p[at.ENGINE_POWER], p[at.DROOP] = rig.engine.rated_power, rig.engine.droop
    p[at.LINE_BORE_AREA] = disc(line.bore)
    p[at.LINE_VOLUME] = disc(line.bore) * line.length
    p[at.LINE_LENGTH], p[at.LINE_RISE] = line.length, line.rise
    opening = max(line.valve.opening, 1e-4)
    p[at.LINE_FITTINGS] = line.loss + (1.0 / opening - 1.0) ** 2 + (1.0 / (1.0 - line.kinked) - 1.0) ** 2
    p[at.LINE_FRICTION] = LINE_FRICTION * line.length / line.bore
    p[at.RUN_UP] = rig.engine.run_up_time
    separator = rig.separator
    p[at.COCK_OPEN] = 0.0 if separator.has_float and separator.stuck_shut else rig.isolating_cock.opening
    p[at.FLOAT_CLOSES] = float(separator.has_float and not separator.stuck_open)
    p[at.GAS_EXPONENT] = gas_exponent
    p[at.NPSH_BASE], p[at.NPSH_SLOPE] = rig.pump.npsh_base, rig.pump.npsh_slope
    p[at.LINE_BURST] = line.burst
    p[at.PROFILE_COUNT], p[at.LEAK_COUNT] = float(len(profile)), float(len(leaks))
    p[at.RAMP_COUNT] = float(len(ramps))
    rows = [(float(RAMPED[r.target]), r.start_time, r.end_time, r.first, r.last) for r in ramps]
    tail = [value for row in (*profile, *leaks, *rows) for value in row]
    p[at.PARAMETERS :] = tail
    return p


def design_flow(rig: Rig, site: Site) -> float:
    """Steady flow [m3/s] of the rig as it was built at this site: clean strainer, sound liner, full head.

    Zero where the pump cannot reach the outlet.
    """
    hose, line, pump = rig.suction_hose, rig.discharge, rig.pump
    suction = 1.0 + hose.strainer.loss + ENTRY_LOSS + hose.bend_loss + LINE_FRICTION * hose.length / hose.bore
    discharge = NRV_LOSS + line.loss + LINE_FRICTION * line.length / line.bore
    return float(
        operating_point(
            rig.engine.speed_setting,
            pump.shut_head,
            pump.curve,
            site.lift + line.rise,
            resistance(suction, hose.bore),
            resistance(discharge, line.bore),
        )
    )
