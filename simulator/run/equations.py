"""The right-hand side: how air and water in the rig change from one moment to the next.

One compiled function evaluates both the rates and the channels people see, so that what is shown is what was integrated.
The gas is isothermal and saturated with vapour.

Arguments, the same throughout: ``dead``, ``flow`` tables of the ejector on the rig, see ``run.ejection``.
"""

from __future__ import annotations

import math

from simulator.compiled import compiled
from simulator.physics.compressor import air_back, delivery
from simulator.physics.ejector_table import table_flow
from simulator.physics.gas import R_AIR, hole_flow, liquid_orifice_flow, orifice_flow
from simulator.physics.hose_losses import (
    choke_loss,
    friction_factor,
    gas_drift,
    gas_speed,
    liner_target_area,
    share_under,
    strainer_loss,
    submergence_needed,
)
from simulator.physics.pump import air_head_factor, cavitation_head_factor, npsh_available
from simulator.physics.smooth import smooth_step
from simulator.run import layout as at
from simulator.run.ejection import exhaust_flow, motive
from simulator.run.hose_leaks import WATER_HOLE, bends_passed, leaks
from simulator.run.layout import Array
from simulator.run.pockets import (
    MIN_TRAPPED_PRESSURE,
    apply_ramps,
    bubbles,
    gas_pressure,
    gas_volumes_at,
    height_at,
    parcel_volumes,
    trapped_volume,
)
from simulator.run.shaft import crossing, head_made, powers
from simulator.units import STANDARD_GRAVITY as G

RELIEF = 0.65  # [-] discharge coefficient of the relief valve; handbook band 0.6 to 0.9, from memory
CHOKE = 0.80  # [-] of the rounded path past a closed liner
SHAFT_FILL = 0.5  # fill at which the shaft's seal is under water; made up for training
TAKEOFF_LOW, TAKEOFF_HIGH = 0.93, 0.99  # fill between which the ejector's take-off goes under water
CROWN = 0.02  # share of the casing that the impeller cannot draw air from
SWALLOW = 0.6  # air share at the eye per share of the casing that is gas
SLUG_RISE = 0.35  # Froude number of a long bubble climbing in a pipe: Dumitrescu 1943, Davies and Taylor 1950
SPILL_TIME = 1.0  # [s] for water above the lip to run back into an empty hose
ROOM_TIME = (
    0.2  # [s] in which a full hose takes in or gives off water where the gas in it has changed its volume
)
DELAY_STAGES = 3.0
LEFT_BEHIND = 0.8  # share of the bore behind a crest that slow water leaves to the gas; made up for training
CLEARING = (
    0.6  # Froude number of the stream that sweeps a bubble down a pipe; handbook band 0.5-0.8, from memory
)
LINE_SETTLED = 0.97  # fill of the discharge line from which water leaves its end


@compiled
def evaluate(y: Array, p: Array, m: Array, dead: Array, flow: Array, dy: Array, ch: Array) -> None:
    """Rates dy of the state y and the channels ch at one instant, in the modes m, for the parameters p."""
    if p[at.RAMP_COUNT] > 0.0:
        apply_ramps(y[at.CLOCK], p)
    rt = R_AIR * p[at.AIR_T]
    p_atm, p_v, rho = p[at.ATMOSPHERE], p[at.VAPOUR], p[at.WATER_DENSITY]
    area, length, setup = p[at.BORE_AREA], p[at.LENGTH], p[at.SETUP]
    q = y[at.SUCTION_FLOW]
    trapped = trapped_volume(y, p)
    under_way, taller = bubbles(y, p)
    x = y[at.FRONT] + (trapped + under_way) / area
    full, split, empty = m[at.HOSE_FULL] > 0.5, m[at.SPLIT] > 0.5, m[at.HOSE_EMPTY] > 0.5

    volume_h, volume_c = gas_volumes_at(x, y, p, m)
    p_c = gas_pressure(y[at.CASING_AIR], volume_c, p[at.HOSE_GIVE], p)
    p_h = gas_pressure(y[at.HOSE_AIR], volume_h, 0.0, p) if split else p_c
    p_front = p_h if split else p_c
    fill = y[at.CASING_WATER] / p[at.CASING_VOLUME]
    head_water = p[at.CASING_HEIGHT] * fill

    # pump; the impeller swallows some of the gas that stands below the crown
    gas_share = max(1.0 - fill - CROWN, 0.0)
    air_fraction = SWALLOW * gas_share * smooth_step(gas_share / CROWN)
    grip = smooth_step((fill - p[at.BITE_FILL]) / (p[at.FULL_FILL] - p[at.BITE_FILL])) * p[at.HEAD_FACTOR]
    q_d = y[at.DISCHARGE_FLOW] if m[at.NRV_OPEN] > 0.5 else 0.0
    swallowed = max(q_d, 0.0) * air_fraction * (p_c - p_v) / rt
    npsh = npsh_available(p_c, p_v, rho, q_d / area)
    npsh_required = p[at.NPSH_BASE] * y[at.SPEED] * y[at.SPEED] + p[at.NPSH_SLOPE] * q_d * q_d
    grip *= air_head_factor(air_fraction) * cavitation_head_factor(max(npsh, 1e-3), max(npsh_required, 1e-6))

    # engine and compressor
    d_speed = (m[at.SPEED_SETTING] - y[at.SPEED]) / p[at.RUN_UP]
    p_m = max(y[at.RECEIVER_AIR], 1e-9) * rt / p[at.RECEIVER_VOLUME]
    speed, wheel, belt = crossing(p, y[at.SPEED], p_m, q_d, grip)
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
    m_in += air_back(p_m, p_atm, p[at.AIR_T], p[at.DISPLACEMENT], p[at.INTAKE_BLOCKED])
    m_relief = 0.0
    if m[at.RELIEF_OPEN] > 0.5:
        m_relief = orifice_flow(p_m, p_atm, p[at.RELIEF_AREA], RELIEF, p[at.AIR_T])
    m_line_hole = hole_flow(p_m, p_atm, p[at.LINE_HOLE], p[at.AIR_T])

    # ejector, its screen and its exhaust hose
    covered = smooth_step((fill - TAKEOFF_LOW) / (TAKEOFF_HIGH - TAKEOFF_LOW))
    passage = p[at.COCK_OPEN] * m[at.COCK_SETTING]
    p_chamber = p_c if passage > 0.0 else min(p_c, p_atm)  # a shut cock parts it from a casing under pressure
    m_motive, p_nozzle, p_dead = motive(p, p_m, p_chamber)
    m_suction = passage * table_flow(p_m, p_c, p_atm, p[at.THROAT_AREA], p[at.AIR_T], dead, flow)
    if m_suction < 0.0:  # no more than the motive air that cannot leave, and what the exhaust hose lets in
        from_outside = max(-exhaust_flow(p, p_c), 0.0)
        m_suction = max(m_suction, -passage * (max(m_motive, 0.0) + from_outside))
    elif m_suction > 0.0:  # no more than the highest pressure before the exhaust hose drives through it
        m_suction = min(m_suction, max(exhaust_flow(p, max(p_c, p_nozzle)) - m_motive, 0.0))
    if m_motive > 0.0:  # what leaves the nozzle has to find a way out
        m_motive = min(m_motive, max(exhaust_flow(p, p_nozzle), 0.0) + max(-m_suction, 0.0))
    else:  # and what goes back through it a way in
        m_motive = max(m_motive, -max(m_suction - min(exhaust_flow(p, p_m), 0.0), 0.0))
    if m_suction > 0.0:
        m_air = (1.0 - covered) * m_suction * (p_c - p_v) / p_c
    else:
        m_air = m_suction
    q_spray = 0.0
    if covered > 0.0 and p_c > p_dead:
        spray_area = min(p[at.SCREEN_AREA], max(p[at.MIXING_AREA] - p[at.THROAT_AREA], 0.0))
        q_spray = (
            passage
            * (1.0 - p[at.FLOAT_CLOSES])
            * covered
            * liquid_orifice_flow(p_c, p_dead, spray_area, WATER_HOLE, rho)
        )

    # discharge line, non-return valve
    head = head_made(p, speed, q_d, grip)
    p_volute = p_c + rho * G * (head + head_water)
    line_fill = y[at.LINE_WATER] / p[at.LINE_VOLUME]
    p_line = p_atm + rho * G * p[at.LINE_RISE] * (1.0 - p[at.LINE_BURST]) * line_fill
    d_qd = 0.0
    if m[at.NRV_OPEN] > 0.5:
        v_d = q_d / p[at.LINE_BORE_AREA]
        loss = (
            p[at.NRV_LOSS]
            + p[at.LINE_FITTINGS]
            + p[at.LINE_FRICTION] * (1.0 - p[at.LINE_BURST]) * max(line_fill, 0.02)
        )
        inertia = rho * max(p[at.LINE_LENGTH] * line_fill, 1.0) / p[at.LINE_BORE_AREA]
        d_qd = (p_volute - p_line - p[at.NRV_CRACKING] - 0.5 * rho * v_d * abs(v_d) * loss) / inertia
    q_out = q_d * smooth_step((line_fill - LINE_SETTLED) / (1.0 - LINE_SETTLED))

    nrv_air, nrv_water = 0.0, 0.0
    if m[at.NRV_OPEN] < 0.5 and p[at.NRV_GAP] > 0.0:
        wet = smooth_step(y[at.LINE_WATER] / 2e-3)
        if p_line > p_volute:
            nrv_air = (1.0 - wet) * hole_flow(p_atm, p_volute, p[at.NRV_GAP], p[at.AIR_T])
            nrv_water = wet * liquid_orifice_flow(p_line, p_volute, p[at.NRV_GAP], WATER_HOLE, rho)
        else:  # out of a casing under pressure
            nrv_air = (1.0 - covered) * hole_flow(p_line, p_volute, p[at.NRV_GAP], p[at.AIR_T])

    frost_water = 0.0
    if p[at.FROST_DRAIN_AREA] > 0.0:
        p_housing = p_volute if m[at.NRV_OPEN] > 0.5 else p_line
        if p_housing > p_atm:
            wet = smooth_step(y[at.LINE_WATER] / 2e-3)
            frost_water = wet * liquid_orifice_flow(p_housing, p_atm, p[at.FROST_DRAIN_AREA], WATER_HOLE, rho)

    # openings of the casing
    p_drain = p_volute
    drain_air, drain_water = 0.0, 0.0
    if p[at.DRAIN_AREA] > 0.0:
        if p_drain < p_atm:
            drain_air = hole_flow(p_atm, p_drain, p[at.DRAIN_AREA], p[at.AIR_T])
        else:
            wet = smooth_step(fill / 0.02)
            drain_water = wet * liquid_orifice_flow(p_drain, p_atm, p[at.DRAIN_AREA], WATER_HOLE, rho)
            drain_air = (1.0 - wet) * hole_flow(p_atm, p_drain, p[at.DRAIN_AREA], p[at.AIR_T])
    p_seal = p_c + 0.25 * (p_volute - p_c)
    casing_leak, gasket_water = hole_flow(p_atm, p_c, p[at.GASKET_AREA], p[at.AIR_T]), 0.0
    if casing_leak < 0.0:  # outward: water once it stands that high
        casing_leak *= 1.0 - covered
        gasket_water = covered * liquid_orifice_flow(p_c, p_atm, p[at.GASKET_AREA], WATER_HOLE, rho)
    seal_leak = hole_flow(p_atm, p_seal, p[at.SEAL_AREA] * (0.3 + 0.7 * speed), p[at.AIR_T])
    casing_leak += seal_leak if seal_leak > 0.0 else (1.0 - smooth_step(fill / SHAFT_FILL)) * seal_leak

    # liner
    d_liner = 0.0
    opened = 1.0
    if p[at.HAS_LINER] > 0.5:
        opened = y[at.LINER_OPEN]
        p_local = p_c
        if full or x > p[at.LINER_AT]:
            p_local = p_front + rho * G * (height_at(p, length if full else x) - height_at(p, p[at.LINER_AT]))
        across = max(p_atm - p_local, 0.0)
        d_liner = (liner_target_area(opened, across, p[at.LINER_PRESSURE]) - opened) / p[at.LINER_TIME]
    free_ratio = min(opened + p[at.LINER_RESIDUAL] / area, 1.0)

    # water column, strainer to front
    drop = p[at.LEVEL_DROP]
    d_q, v, inlet, depth = 0.0, q / area, 0.0, p[at.SUBMERGENCE] - drop
    entry, friction, choke, covered_share = 0.0, 0.0, 0.0, 1.0
    past_crest, dry_column = 0.0, p[at.CREST_AT] + trapped / area
    if trapped > 0.0:  # gas past the crest weighs nothing: the water behind it does not pull
        past_crest = max(height_at(p, p[at.CREST_AT]) - height_at(p, dry_column), 0.0)
    end = length if full else x
    dynamic = 0.5 * rho * v * abs(v)
    if setup == 0.0:
        wetted = max(end, p[at.INERTIA_LENGTH])
        reynolds = rho * abs(v) * p[at.BORE] / p[at.WATER_VISCOSITY]
        inlet = strainer_loss(p[at.STRAINER_LOSS], p[at.STRAINER_BLOCKED])
        entry = p[at.ENTRY_LOSS] + inlet
        if q > 0.0:  # a strainer half out of the water has half its holes in air
            covered_share = share_under(depth, p[at.STRAINER_DIAMETER])
            entry += (1.0 + inlet) * (1.0 / (covered_share * covered_share) - 1.0)
        friction = friction_factor(reynolds, p[at.RELATIVE_ROUGHNESS]) / p[at.BORE]
        if p[at.HAS_LINER] > 0.5 and (full or x > p[at.LINER_AT]):
            choke = choke_loss(free_ratio)
        loss = 1.0 + entry + friction * wetted + bends_passed(p, end) + choke
        back = p_front
        if full:
            back += rho * G * max(head_water - p[at.LIP_FILL] * p[at.CASING_HEIGHT], 0.0)
        z_front = height_at(p, end) + drop + past_crest - taller
        if not empty:
            d_q = (p_atm - back - rho * G * z_front - dynamic * loss) * area / (rho * wetted)
            if p[at.TOP_HEIGHT] > 0.0 and end > p[at.TOP_AT]:
                # no water pulls on water past its vapour pressure: at a high bend the column parts
                upto = 1.0 + entry + friction * p[at.TOP_AT] + bends_passed(p, p[at.TOP_AT])
                upto += choke if p[at.TOP_AT] > p[at.LINER_AT] else 0.0
                spare = p_atm - p_v - rho * G * (p[at.TOP_HEIGHT] + drop) - dynamic * upto
                d_q = min(d_q, spare * area / (rho * p[at.TOP_AT]))

    # holes of hose and joints: into the gas ahead of the front, into the water behind it
    ahead_h, ahead_c, behind, joint_water = 0.0, 0.0, 0.0, 0.0
    if setup != 1.0 and p[at.LEAK_COUNT] > 0.0:
        ahead_h, ahead_c, behind, joint_water = leaks(
            p,
            x,
            full,
            split,
            p_h,
            p_c,
            dynamic,
            entry,
            friction,
            choke,
            d_q,
            past_crest,
            dry_column,
        )
        if empty:  # it runs out again at the strainer
            joint_water = 0.0
    end_air, bubbling = 0.0, 0.0
    slug = SLUG_RISE * math.sqrt(G * p[at.BORE])
    if empty:
        if p_front > p_atm + rho * G * max(depth, 0.0):
            open_area = area * (1.0 - p[at.STRAINER_BLOCKED])
            bubbling = hole_flow(p_front, p_atm + rho * G * max(depth, 0.0), open_area, p[at.AIR_T])
        elif depth < 0.5 * p[at.STRAINER_DIAMETER]:  # the holes of its part above the water
            bared = smooth_step(0.5 - depth / p[at.STRAINER_DIAMETER])
            end_air = hole_flow(p_atm, p_front, area * bared, p[at.AIR_T])
        if split:
            ahead_h += end_air - bubbling
        else:
            ahead_c += end_air - bubbling
    elif setup == 0.0:
        needed = submergence_needed(p[at.STRAINER_DIAMETER], max(q, 0.0))
        bared = smooth_step(1.0 - depth / needed)
        # inside the strainer, behind the share of its holes that water still passes
        inside = 0.5 * rho * max(v, 0.0) ** 2 * (1.0 + inlet) / (covered_share * covered_share)
        p_end = p_atm + rho * G * depth - inside
        if bared > 0.0 and p_end < p_atm:
            # air gets in past the water no faster than a long bubble climbs in the pipe, and with the stream
            passing = area * bared * bared * (max(v, 0.0) + slug)
            most = passing * p_atm / rt
            free = hole_flow(p_atm, max(p_end, p_v), area * bared * bared, p[at.AIR_T])
            end_air = free * most / (free + most)
            behind += end_air
    way = max(end - p[at.LEAKS_AT], 0.05)
    released, pace, climb = 0.0, 0.0, 0.0
    if setup == 0.0:
        z_leak = height_at(p, p[at.LEAKS_AT])
        gas = 0.0
        if behind > 0.0:  # its volume flow half-way up
            middle = p_atm - rho * G * (0.5 * (z_leak + height_at(p, end)) + drop) - p_v
            gas = behind * rt / (max(middle, MIN_TRAPPED_PRESSURE) * area)
        drift = gas_drift((height_at(p, end) - z_leak) / way, p[at.BORE])
        pace = DELAY_STAGES * gas_speed(v, gas, drift) / way
        climb = 0.0 if full else max(v, 0.0) / way  # the stretches grow with the front: less gas leaves them
        released = y[at.CARRIED_THIRD] * (pace - 3.0 * climb)

    # a high spot: water that runs down slowly behind the crest leaves gas above it, a fast stream sweeps it along
    left_behind, swept = 0.0, 0.0
    if p[at.HAS_CREST] > 0.5 and setup == 0.0:
        clearing = CLEARING * math.sqrt(G * p[at.BORE])
        if v > 0.0 and not full and p[at.CREST_AT] < x < p[at.SAG_AT]:
            share = LEFT_BEHIND * (1.0 - smooth_step(v / clearing))
            left_behind = (p_front - p_v) / rt * q * share / (1.0 - share)
        if y[at.TRAPPED_AIR] > 0.0:
            swept = y[at.TRAPPED_AIR] * max(v - clearing, 0.0) / max(p[at.SAG_AT] - p[at.CREST_AT], 0.1)
            if x < p[at.CREST_AT] and not full:
                swept += y[at.TRAPPED_AIR] / SPILL_TIME
    d_trapped = left_behind - swept
    refill = 0.0
    if full and trapped > 0.0:
        refill = -d_trapped / y[at.TRAPPED_AIR] * trapped

    # gas through the loose liner
    through = 0.0
    if split:
        through = orifice_flow(p_h, p_c, free_ratio * area, CHOKE, p[at.AIR_T])

    spill = 0.0
    if not full and setup == 0.0:
        spill = max(y[at.CASING_WATER] - p[at.LIP_FILL] * p[at.CASING_VOLUME], 0.0) / SPILL_TIME

    to_hose = split and x < p[at.LINER_AT]
    back_to_gas = (released if full or x >= p[at.CREST_AT] else released + swept) - left_behind
    dy[at.HOSE_AIR] = ahead_h - through + (back_to_gas if to_hose else 0.0)
    air_out_drain = max(-drain_air, 0.0)
    dy[at.CASING_AIR] = (
        ahead_c
        + through
        + casing_leak
        + drain_air
        + nrv_air
        + (0.0 if to_hose else back_to_gas)
        - m_air
        - swallowed
    )
    carried_on = swept if full or x >= p[at.CREST_AT] else 0.0
    into_second = y[at.CARRIED_FIRST] * (pace - climb)
    into_third = y[at.CARRIED_SECOND] * (pace - 2.0 * climb)
    dy[at.CARRIED_FIRST] = behind + carried_on - into_second
    dy[at.CARRIED_SECOND] = into_second - into_third
    dy[at.CARRIED_THIRD] = into_third - released
    if full and (under_way > 0.0 or behind > 0.0):  # air under way makes room for itself in a full hose
        refill -= parcel_volumes(dy[at.CARRIED_FIRST], dy[at.CARRIED_SECOND], dy[at.CARRIED_THIRD], y, p)
    if full and (under_way > 0.0 or trapped > 0.0):  # and as it rises, and as the outside level falls
        refill -= area * (x - length) / ROOM_TIME
    dy[at.FRONT] = 0.0
    if full:
        dy[at.FRONT] = refill / area
    elif not empty and setup == 0.0:
        dy[at.FRONT] = (q + joint_water + spill) / area
    dy[at.SUCTION_FLOW] = d_q
    into_casing = q + joint_water - refill if full else -spill
    dy[at.CASING_WATER] = into_casing + nrv_water - q_d - drain_water - gasket_water - q_spray
    dy[at.RECEIVER_AIR] = m_in - m_motive - m_relief - m_line_hole
    dy[at.TRAPPED_AIR] = d_trapped
    dy[at.CLOCK] = 1.0
    dy[at.LINER_OPEN] = d_liner
    dy[at.LINE_WATER] = q_d - q_out - nrv_water - frost_water
    dy[at.DISCHARGE_FLOW] = d_qd
    dy[at.SPEED] = d_speed
    air_in = (
        ahead_h
        + ahead_c
        + bubbling
        + behind
        + casing_leak
        + max(drain_air, 0.0)
        + max(nrv_air, 0.0)
        + max(-m_air, 0.0)
    )
    dy[at.AIR_IN] = air_in
    dy[at.AIR_OUT] = max(m_air, 0.0) + swallowed + air_out_drain + max(-nrv_air, 0.0) + bubbling
    dy[at.WATER_IN] = q + joint_water if setup == 0.0 else 0.0
    dy[at.WATER_OUT] = q_out + drain_water + gasket_water + frost_water + q_spray + (spill if empty else 0.0)
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
    ch[at.C_JOINT_AIR] = ahead_h + ahead_c + bubbling + behind - end_air
    ch[at.C_CARRIED_AIR] = released
    ch[at.C_AIR_FRACTION] = air_fraction
    ch[at.C_LINER_OPEN] = free_ratio
    ch[at.C_COMPRESSOR] = m_in
    ch[at.C_NPSH_MARGIN] = npsh - npsh_required
    ch[at.C_END_AIR] = end_air
    ch[at.C_LEVEL] = -drop
    ch[at.C_BUBBLES] = bubbling
    ch[at.C_TRAPPED] = trapped / area
    ch[at.C_FROST_DRAIN] = frost_water
    ch[at.C_JOINT_WATER] = joint_water
    ch[at.C_BUBBLE_VOLUME] = under_way
    engine_power, water_power, pump_loss, belt_power = powers(p, y[at.SPEED], speed, wheel, belt, head, q_d)
    ch[at.C_ENGINE_POWER] = engine_power
    ch[at.C_WATER_POWER] = water_power
    ch[at.C_PUMP_LOSS] = pump_loss
    ch[at.C_BELT_POWER] = belt_power
