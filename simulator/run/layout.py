"""Where each number stands in the flat arrays that the compiled equations read and write.

Compiled code is fastest on plain arrays; these names keep it readable. Everything is SI. The last name of a group is the
size of its array: with a new name the number in ``range`` grows by one, and Python refuses to import a wrong one.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TypeAlias

import numpy as np

Array: TypeAlias = np.ndarray

# --- state vector y -------------------------------------------------------------------------------------------------
(
    HOSE_AIR,  # [kg] dry air between water front and choke (0 while the gas is one pocket)
    CASING_AIR,  # [kg] dry air in the pocket that the casing belongs to
    FRONT,  # [m] water in the hose over its bore area: the water front, less what a high spot holds back
    SUCTION_FLOW,  # [m3/s]
    CASING_WATER,  # [m3]
    RECEIVER_AIR,  # [kg]
    CARRIED_FIRST,  # [kg] air on its way in the water column, in three stages one after another
    CARRIED_SECOND,
    CARRIED_THIRD,
    TRAPPED_AIR,  # [kg] air that a high spot of the hose holds back
    LINER_OPEN,  # [-] free share of the bore at the loose liner
    LINE_WATER,  # [m3] in the discharge line
    DISCHARGE_FLOW,  # [m3/s]
    SPEED,  # [-] speed over rated that the governor aims at, as the engine runs up and down
    CLOCK,  # [s] since the start of the run's ramps
    AIR_IN,  # [kg] dry air let into pockets and hose, integrated at the openings
    AIR_OUT,  # [kg] dry air taken out by ejector, impeller and openings
    WATER_IN,  # [m3] through the strainer
    WATER_OUT,  # [m3] out of line end, exhaust and openings
    MOTIVE_IN,  # [kg] delivered by the compressor
    MOTIVE_OUT,  # [kg] through nozzle, relief valve and holes
    STATES,  # how many there are
) = range(22)

# --- modes m: constant between events -------------------------------------------------------------------------------
(
    SPLIT,  # the gas is two pockets
    HOSE_FULL,  # the front stands at the suction flange
    RELIEF_OPEN,
    NRV_OPEN,
    SPEED_SETTING,  # wanted engine speed at full load over rated; 0 stopped
    COCK_SETTING,  # isolating cock: 1 open, 0 shut
    HOSE_EMPTY,  # the front has left the hose at the strainer
    MODES,  # how many there are
) = range(8)

# --- parameters p ---------------------------------------------------------------------------------------------------
(
    ATMOSPHERE,
    AIR_T,
    VAPOUR,
    WATER_DENSITY,
    WATER_VISCOSITY,
    SETUP,
    BORE,
    BORE_AREA,
    LENGTH,
    RELATIVE_ROUGHNESS,
    ENTRY_LOSS,
    BEND_LOSS,
    STRAINER_LOSS,
    STRAINER_BLOCKED,
    STRAINER_DIAMETER,
    SUBMERGENCE,
    LEVEL_DROP,
    INERTIA_LENGTH,
    HAS_LINER,
    LINER_AT,
    LINER_PRESSURE,
    LINER_RESIDUAL,
    LINER_TIME,
    LEAKS_AT,
    HOSE_GIVE,  # [m3/Pa] by which a full hose and its water give way
    HAS_CREST,
    CREST_AT,
    SAG_AT,
    TOP_AT,
    TOP_HEIGHT,
    CASING_VOLUME,
    CASING_HEIGHT,
    LIP_FILL,
    BITE_FILL,
    FULL_FILL,
    GASKET_AREA,
    SEAL_AREA,
    DRAIN_AREA,
    FROST_DRAIN_AREA,
    NRV_GAP,
    NRV_CRACKING,
    NRV_LOSS,
    DISPLACEMENT,
    BELT_SLIP,
    CLEARANCE,
    INDEX,
    WEAR,
    INTAKE_BLOCKED,
    RECEIVER_VOLUME,
    RELIEF_SET,
    RELIEF_RESEAT,
    RELIEF_AREA,
    LINE_AREA,
    LINE_HOLE,
    THROAT_AREA,
    MIXING_AREA,
    ETA_NOZZLE,
    ETA_MIXING,
    ETA_DIFFUSER,
    JET_SHARE,
    EXIT_AREA,
    MOUTH_AREA,
    SCREEN_AREA,
    EXHAUST_LOSS,
    SHUT_HEAD,
    CURVE,
    HEAD_FACTOR,
    BEST_FLOW,
    BEST_EFFICIENCY,
    ENGINE_POWER,
    DROOP,
    NPSH_BASE,
    NPSH_SLOPE,
    LINE_BORE_AREA,
    LINE_VOLUME,
    LINE_LENGTH,
    LINE_RISE,
    LINE_FITTINGS,
    LINE_FRICTION,
    LINE_BURST,
    RUN_UP,
    COCK_OPEN,
    FLOAT_CLOSES,
    GAS_EXPONENT,
    PROFILE_COUNT,
    LEAK_COUNT,
    RAMP_COUNT,
    PARAMETERS,  # how many; then PROFILE_COUNT pairs (s, z), LEAK_COUNT pairs (s, area), RAMP_COUNT rows of RAMP_WIDTH
) = range(88)
RAMP_WIDTH = 5  # parameter index, start [s], end [s], first value, last value

# --- channels -------------------------------------------------------------------------------------------------------
CHANNELS: tuple[str, ...] = (
    "suction_pressure",
    "hose_pressure",
    "motive_pressure",
    "nozzle_pressure",
    "speed_ratio",
    "discharge_pressure",
    "suction_flow",
    "discharge_flow",
    "front_position",
    "casing_fill",
    "line_fill",
    "motive_flow",
    "entrained_flow",
    "exhaust_air",
    "exhaust_water",
    "relief_flow",
    "drain_air",
    "drain_water",
    "nrv_air",
    "nrv_water",
    "casing_leak_air",
    "joint_air",
    "carried_air",
    "air_fraction",
    "liner_open",
    "compressor_flow",
    "npsh_margin",
    "end_air",
    "water_level",
    "strainer_bubbles",
    "trapped_length",
    "frost_drain_water",
    "joint_water",
    "bubble_volume",
    "engine_power",
    "water_power",
    "pump_loss",
    "belt_power",
)
#: Unit of each channel, all SI; pressures absolute.
CHANNEL_UNITS: dict[str, str] = {
    name: (
        "Pa"
        if name.endswith("pressure")
        else "m3/s"
        if name
        in (
            "suction_flow",
            "discharge_flow",
            "exhaust_water",
            "drain_water",
            "frost_drain_water",
            "nrv_water",
            "joint_water",
        )
        else "m3"
        if name == "bubble_volume"
        else "W"
        if name in ("engine_power", "water_power", "pump_loss", "belt_power")
        else "m"
        if name in ("front_position", "npsh_margin", "water_level", "trapped_length")
        else "-"
        if name in ("speed_ratio", "casing_fill", "line_fill", "air_fraction", "liner_open")
        else "kg/s"
    )
    for name in CHANNELS
}
(
    C_SUCTION_PRESSURE,
    C_HOSE_PRESSURE,
    C_MOTIVE_PRESSURE,
    C_NOZZLE_PRESSURE,
    C_SPEED,
    C_DISCHARGE_PRESSURE,
    C_SUCTION_FLOW,
    C_DISCHARGE_FLOW,
    C_FRONT,
    C_CASING_FILL,
    C_LINE_FILL,
    C_MOTIVE_FLOW,
    C_ENTRAINED,
    C_EXHAUST_AIR,
    C_EXHAUST_WATER,
    C_RELIEF_FLOW,
    C_DRAIN_AIR,
    C_DRAIN_WATER,
    C_NRV_AIR,
    C_NRV_WATER,
    C_CASING_LEAK,
    C_JOINT_AIR,
    C_CARRIED_AIR,
    C_AIR_FRACTION,
    C_LINER_OPEN,
    C_COMPRESSOR,
    C_NPSH_MARGIN,
    C_END_AIR,
    C_LEVEL,
    C_BUBBLES,
    C_TRAPPED,
    C_FROST_DRAIN,
    C_JOINT_WATER,
    C_BUBBLE_VOLUME,
    C_ENGINE_POWER,
    C_WATER_POWER,
    C_PUMP_LOSS,
    C_BELT_POWER,
) = range(len(CHANNELS))


class Setup(IntEnum):
    """How the suction side stands for a run."""

    NORMAL = 0  # hose in the water
    BLANKED = 1  # plate on the suction flange
    CAPPED = 2  # cap on the end of the hose
