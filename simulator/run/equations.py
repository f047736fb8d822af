"""The right-hand side: how air and water in the rig change from one moment to the next.

One compiled function evaluates both the rates and the channels people see, so that what is shown is what was integrated.
Lightening of the column by bubbles is neglected; the gas is isothermal and saturated with vapour.
"""

from __future__ import annotations

from simulator.compiled import compiled
from simulator.physics.compressor import delivery
from simulator.physics.ejector_table import table_flow
from simulator.physics.gas import R_AIR, liquid_orifice_flow, orifice_flow
from simulator.physics.pump import air_head_factor
from simulator.physics.smooth import smooth_step
from simulator.physics.suction_line import (
    choke_loss,
    friction_factor,
    liner_closing_area,
    liner_reopening_area,
)
from simulator.run import layout as at
from simulator.run.ejection import motive
from simulator.units import STANDARD_GRAVITY as G

HOLE = 0.65  # [-] discharge coefficient of a plain sharp-edged hole, ISO 5167 limit for small orifices is 0.60-0.65
CHOKE = 0.80  # [-] of the rounded path past a closed liner
TAKEOFF_LOW, TAKEOFF_HIGH = 0.93, 0.99  # fill between which the ejector's take-off goes under water
CROWN = 0.02  # share of the casing that the impeller cannot draw air from
SWALLOW = 0.6  # air share at the eye per share of the casing that is gas
BUBBLE_RISE = 0.25  # [m/s] of bubbles in standing water, from memory
SPILL_TIME = 1.0  # [s] for water above the lip to run back into an empty hose
COVER = 0.05  # [m] over which a joint goes from above to below the front


@compiled
def height_at(p, s):
    """Height of the hose [m] above the outside water at s [m] from the strainer."""
    n = int(p[at.PROFILE_COUNT])
    for i in range(n - 1):
        s0, s1 = p[at.PARAMETERS + 2 * i], p[at.PARAMETERS + 2 * i + 2]
        if s <= s1 or i == n - 2:
            z0, z1 = p[at.PARAMETERS + 2 * i + 1], p[at.PARAMETERS + 2 * i + 3]
            return z0 + (z1 - z0) * (s - s0) / (s1 - s0)
    return 0.0


@compiled
def gas_volumes(y, p, m):
    """Volumes [m3] of the hose-side pocket (0 without one) and of the casing's pocket."""
    area = p[at.BORE_AREA]
    setup = p[at.SETUP]
    casing = max(p[at.CASING_VOLUME] - y[at.CASING_WATER], 1e-9)
    if setup == 1.0 or m[at.HOSE_FULL] > 0.5:
        return 0.0, casing
    if m[at.SPLIT] > 0.5:
        return max(area * (p[at.LINER_AT] - y[at.FRONT]), 1e-9), casing + area * (
            p[at.LENGTH] - p[at.LINER_AT]
        )
    return 0.0, casing + max(area * (p[at.LENGTH] - y[at.FRONT]), 0.0)


@compiled
def evaluate(y, p, m, dead, flow, dy, ch):
    """Rates dy of the state y and the channels ch at one instant, in the modes m, for the parameters p."""
    rt = R_AIR * p[at.AIR_T]
    p_atm, p_v, rho = p[at.ATMOSPHERE], p[at.VAPOUR], p[at.WATER_DENSITY]
    area, length, setup = p[at.BORE_AREA], p[at.LENGTH], p[at.SETUP]
    x, q, speed = y[at.FRONT], y[at.SUCTION_FLOW], y[at.SPEED]
    full, split = m[at.HOSE_FULL] > 0.5, m[at.SPLIT] > 0.5

    volume_h, volume_c = gas_volumes(y, p, m)
    p_c = max(y[at.CASING_AIR], 0.0) * rt / volume_c + p_v
    p_h = max(y[at.HOSE_AIR], 0.0) * rt / volume_h + p_v if split else p_c
    p_front = p_h if split else p_c
    fill = y[at.CASING_WATER] / p[at.CASING_VOLUME]
    head_water = p[at.CASING_HEIGHT] * fill

    # engine and compressor
    d_speed = (m[at.SPEED_SETTING] - speed) / p[at.RUN_UP]
    p_m = max(y[at.RECEIVER_AIR], 1e-9) * rt / p[at.RECEIVER_VOLUME]
    m_in = delivery(
        p_m,
        p_atm,
        p[at.AIR_T],
        p[at.DISPLACEMENT],
        speed,
        p[at.BELT_SLIP],
        p[at.CLEARANCE],
        p[at.INDEX],
        p[at.WEAR],
        p[at.INTAKE_BLOCKED],
    )
    m_relief = 0.0
    if m[at.RELIEF_OPEN] > 0.5:
        m_relief = orifice_flow(p_m, p_atm, p[at.RELIEF_AREA], HOLE, p[at.AIR_T])
    m_line_hole = orifice_flow(p_m, p_atm, p[at.LINE_HOLE], HOLE, p[at.AIR_T])

    # ejector, its screen and its exhaust hose
    covered = smooth_step((fill - TAKEOFF_LOW) / (TAKEOFF_HIGH - TAKEOFF_LOW))
    m_motive, p_nozzle, p_dead = motive(p, p_m, p_c)
    m_suction = p[at.COCK_OPEN] * table_flow(p_m, p_c, p_atm, p[at.THROAT_AREA], p[at.AIR_T], dead, flow)
    if m_suction > 0.0:
        m_air = (1.0 - covered) * m_suction * (p_c - p_v) / p_c
    else:
        m_air = m_suction
    q_spray = 0.0
    if covered > 0.0 and p_c > p_dead:
        spray_area = min(p[at.SCREEN_AREA], max(p[at.MIXING_AREA] - p[at.THROAT_AREA], 0.0))
        q_spray = p[at.COCK_OPEN] * covered * liquid_orifice_flow(p_c, p_dead, spray_area, HOLE, rho)

    # pump, discharge line, non-return valve; the impeller swallows some of the gas that stands below the crown
    gas_share = max(1.0 - fill - CROWN, 0.0)
    air_fraction = SWALLOW * gas_share * smooth_step(gas_share / CROWN)
    grip = smooth_step((fill - p[at.BITE_FILL]) / (p[at.FULL_FILL] - p[at.BITE_FILL])) * p[at.HEAD_FACTOR]
    q_d = y[at.DISCHARGE_FLOW] if m[at.NRV_OPEN] > 0.5 else 0.0
    swallowed = max(q_d, 0.0) * air_fraction * (p_c - p_v) / rt
    head = (
        grip
        * air_head_factor(air_fraction)
        * max(p[at.SHUT_HEAD] * speed * speed - p[at.CURVE] * q_d * abs(q_d), -p[at.SHUT_HEAD])
    )
    p_volute = p_c + rho * G * (head + head_water)
    line_fill = y[at.LINE_WATER] / p[at.LINE_VOLUME]
    p_line = p_atm + rho * G * p[at.LINE_RISE] * line_fill
    d_qd = 0.0
    if m[at.NRV_OPEN] > 0.5:
        v_d = q_d / p[at.LINE_BORE_AREA]
        loss = p[at.NRV_LOSS] + p[at.LINE_FITTINGS] + p[at.LINE_FRICTION] * max(line_fill, 0.02)
        inertia = rho * max(p[at.LINE_LENGTH] * line_fill, 1.0) / p[at.LINE_BORE_AREA]
        d_qd = (p_volute - p_line - 0.5 * rho * v_d * abs(v_d) * loss) / inertia
    q_out = q_d * smooth_step((line_fill - 0.97) / 0.03)

    nrv_air, nrv_water = 0.0, 0.0
    if m[at.NRV_OPEN] < 0.5 and p[at.NRV_GAP] > 0.0:
        wet = smooth_step(y[at.LINE_WATER] / 2e-3)
        if p_line > p_volute:
            nrv_air = (1.0 - wet) * orifice_flow(p_atm, p_volute, p[at.NRV_GAP], HOLE, p[at.AIR_T])
            nrv_water = wet * liquid_orifice_flow(p_line, p_volute, p[at.NRV_GAP], HOLE, rho)

    # openings of the casing
    p_drain = p_volute
    drain_air, drain_water = 0.0, 0.0
    if p[at.DRAIN_AREA] > 0.0:
        if p_drain < p_atm:
            drain_air = orifice_flow(p_atm, p_drain, p[at.DRAIN_AREA], HOLE, p[at.AIR_T])
        else:
            wet = smooth_step(fill / 0.02)
            drain_water = wet * liquid_orifice_flow(p_drain, p_atm, p[at.DRAIN_AREA], HOLE, rho)
            drain_air = (1.0 - wet) * orifice_flow(p_atm, p_drain, p[at.DRAIN_AREA], HOLE, p[at.AIR_T])
    p_seal = p_c + 0.25 * (p_volute - p_c)
    casing_leak = orifice_flow(p_atm, p_c, p[at.GASKET_AREA], HOLE, p[at.AIR_T])
    if p_seal < p_atm:
        casing_leak += orifice_flow(p_atm, p_seal, p[at.SEAL_AREA] * (0.3 + 0.7 * speed), HOLE, p[at.AIR_T])

    # liner
    d_liner = 0.0
    opened = 1.0
    if p[at.HAS_LINER] > 0.5:
        opened = y[at.LINER_OPEN]
        p_local = p_c
        if x > p[at.LINER_AT] and not full:
            p_local = p_front + rho * G * (height_at(p, x) - height_at(p, p[at.LINER_AT]))
        elif full:
            p_local = p_c + rho * G * (height_at(p, length) - height_at(p, p[at.LINER_AT]))
        across = max(p_atm - p_local, 0.0)
        close = liner_closing_area(across, p[at.LINER_PRESSURE])
        reopen = liner_reopening_area(across, p[at.LINER_PRESSURE])
        d_liner = (max(reopen - opened, 0.0) + min(close - opened, 0.0)) / p[at.LINER_TIME]
    free_ratio = min(opened + p[at.LINER_RESIDUAL] / area, 1.0)

    # water column, strainer to front
    d_q, slope_loss, v = 0.0, 0.0, q / area
    if setup == 0.0:
        wetted = max(length if full else x, p[at.INERTIA_LENGTH])
        reynolds = rho * abs(v) * p[at.BORE] / p[at.WATER_VISCOSITY]
        loss = (
            1.0 + p[at.INLET_LOSS] + friction_factor(reynolds, p[at.RELATIVE_ROUGHNESS]) * wetted / p[at.BORE]
        )
        if p[at.HAS_LINER] > 0.5 and (full or x > p[at.LINER_AT]):
            loss += choke_loss(free_ratio)
        slope_loss = 0.5 * rho * v * abs(v) * loss
        z_front = height_at(p, length if full else x)
        back = p_front
        if full:
            back += rho * G * max(head_water - p[at.LIP_FILL] * p[at.CASING_HEIGHT], 0.0)
        d_q = (p_atm - back - rho * G * z_front - slope_loss) * area / (rho * wetted)

    # hose leaks: into the gas ahead of the front, into the water behind it
    ahead_h, ahead_c, behind = 0.0, 0.0, 0.0
    n_leaks = int(p[at.LEAK_COUNT])
    first = at.PARAMETERS + 2 * int(p[at.PROFILE_COUNT])
    if setup != 1.0:
        for i in range(n_leaks):
            s, hole = p[first + 2 * i], p[first + 2 * i + 1]
            wet = 1.0 if full else smooth_step((x - s) / COVER)
            if wet < 1.0:
                if split and s < p[at.LINER_AT]:
                    ahead_h += (1.0 - wet) * orifice_flow(p_atm, p_h, hole, HOLE, p[at.AIR_T])
                else:
                    ahead_c += (1.0 - wet) * orifice_flow(p_atm, p_c, hole, HOLE, p[at.AIR_T])
            if wet > 0.0 and setup == 0.0:
                share = s / max(length if full else x, 1e-6)
                p_local = (
                    p_atm - rho * G * height_at(p, s) - rho * s / area * d_q - slope_loss * min(share, 1.0)
                )
                if p_local < p_atm:
                    behind += wet * orifice_flow(p_atm, max(p_local, p_v), hole, HOLE, p[at.AIR_T])
    way = max((length if full else x) - p[at.LEAKS_AT], 0.05)
    released = y[at.CARRIED_AIR] * (max(v, 0.0) + BUBBLE_RISE) / way

    # gas through the loose liner
    through = 0.0
    if split:
        through = orifice_flow(p_h, p_c, free_ratio * area, CHOKE, p[at.AIR_T])

    spill = 0.0
    if not full and setup == 0.0:
        spill = max(y[at.CASING_WATER] - p[at.LIP_FILL] * p[at.CASING_VOLUME], 0.0) / SPILL_TIME

    to_hose = split and x < p[at.LINER_AT]
    dy[at.HOSE_AIR] = ahead_h - through + (released if to_hose else 0.0)
    air_out_drain = max(-drain_air, 0.0)
    dy[at.CASING_AIR] = (
        ahead_c
        + through
        + casing_leak
        + drain_air
        + nrv_air
        + (0.0 if to_hose else released)
        - m_air
        - swallowed
    )
    dy[at.FRONT] = 0.0 if (full or setup != 0.0) else (q + spill) / area
    dy[at.SUCTION_FLOW] = d_q
    into_casing = q if full else -spill
    dy[at.CASING_WATER] = into_casing + nrv_water - q_d - drain_water - q_spray
    dy[at.RECEIVER_AIR] = m_in - m_motive - m_relief - m_line_hole
    dy[at.CARRIED_AIR] = behind - released
    dy[at.LINER_OPEN] = d_liner
    dy[at.LINE_WATER] = q_d - q_out - nrv_water
    dy[at.DISCHARGE_FLOW] = d_qd
    dy[at.SPEED] = d_speed
    air_in = ahead_h + ahead_c + behind + casing_leak + max(drain_air, 0.0) + nrv_air + max(-m_air, 0.0)
    dy[at.AIR_IN] = air_in
    dy[at.AIR_OUT] = max(m_air, 0.0) + swallowed + air_out_drain
    dy[at.WATER_IN] = q if setup == 0.0 else 0.0
    dy[at.WATER_OUT] = q_out + drain_water + q_spray
    dy[at.MOTIVE_IN] = m_in
    dy[at.MOTIVE_OUT] = m_motive + m_relief + m_line_hole

    ch[at.C_SUCTION_PRESSURE] = p_c
    ch[at.C_HOSE_PRESSURE] = p_h
    ch[at.C_MOTIVE_PRESSURE] = p_m
    ch[at.C_NOZZLE_PRESSURE] = p_nozzle
    ch[at.C_SPEED] = speed
    ch[at.C_DISCHARGE_PRESSURE] = p_volute
    ch[at.C_SUCTION_FLOW] = q if setup == 0.0 else 0.0
    ch[at.C_DISCHARGE_FLOW] = q_d
    ch[at.C_FRONT] = length if full else x
    ch[at.C_CASING_FILL] = fill
    ch[at.C_LINE_FILL] = line_fill
    ch[at.C_MOTIVE_FLOW] = m_motive
    ch[at.C_ENTRAINED] = m_air
    ch[at.C_EXHAUST_AIR] = m_motive + m_air
    ch[at.C_EXHAUST_WATER] = q_spray
    ch[at.C_RELIEF_FLOW] = m_relief
    ch[at.C_DRAIN_AIR] = drain_air
    ch[at.C_DRAIN_WATER] = drain_water
    ch[at.C_NRV_AIR] = nrv_air
    ch[at.C_NRV_WATER] = nrv_water
    ch[at.C_CASING_LEAK] = casing_leak
    ch[at.C_JOINT_AIR] = ahead_h + ahead_c + behind
    ch[at.C_CARRIED_AIR] = released
    ch[at.C_AIR_FRACTION] = air_fraction
    ch[at.C_LINER_OPEN] = free_ratio
    ch[at.C_COMPRESSOR] = m_in
