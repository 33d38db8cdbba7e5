"""The columns that describe a cooling unit, their neutral values, and rows made from them."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.core.errors import InputError
from airtrim.core.kernels import kernel
from airtrim.physics.data.ahri540_example import MASS_FLOW_LB_H, POWER_W
from airtrim.physics.data.loop_properties import REFRIGERANTS

UnitRow = NDArray[np.float64]

#: One row of floats for one unit. Rated means 80 F return dry bulb, 67 F wet bulb, 95 F outdoors, sea level, rated airflow, coil
#: and outdoor unit matched, clean and rightly charged.
#:   gross_capacity_w     total cooling before blower heat, W
#:   compressor_power_w   compressor and outdoor fan, W
#:   coil_td_k            return dry bulb less saturated suction, K; 15 to 20 (27 to 36 F)
#:   sensible_heat_ratio  sensible part of the gross capacity; 0.65 to 0.85
#:   air_exponent         x where the coil's air-side conductance goes as airflow^x; 0.0 to 0.8
#:   rated_flow_kg_s      dry air, kg/s
#:   metering_device      0 expansion valve, 1 fixed orifice
#:   refrigerant          place in REFRIGERANTS
#:   compressor           0 scroll, 2 reciprocating, 1 by the map of the last twenty columns; scaled to the rating
#:   superheat_k          at rating, K; a valve holds it. 0: the usual of the device, 10 F for a valve, 12 F for an orifice
#:   subcooling_k         at rating, K
#:   condenser_lift_k     condensing (dew) less outdoors at rating, K
#:   condenser_units      transfer units of the condenser's air side at rating
#:   condenser_air        airflow through the condenser over that of the clean unit
#:   condenser_clean      conductance of the condenser over that of the clean unit
#:   coil_clean           air-side conductance of the coil over that of the clean unit
#:   coil_scale           size of the coil over the size it was rated with
#:   circuit_drop_k       fall of saturation along the coil's circuit at rating, K
#:   uneven_circuits      0 all alike; u: the worst circuit has (1 - u) of the mean air and flow, the best (1 + u)
#:   charge               refrigerant in it over the right charge; 0.6 to 1.4
#:   valve_reserve        greatest flow of the expansion valve over that at rating, at rated pressures
#:   outdoor_fan_share    part of compressor_power_w that the outdoor fan takes
#:   sensor_place         where a sensor in the fins sits: 0 at saturation, 1 at the mean surface
#:   metering_size        feed of the metering device over that of the right one: below 1 plugged or too small, above too large
#:   map_flow_1 ... _10   AHRI 540 coefficients, F and lb/h;  map_power_1 ... _10  the same, W
UNIT_FIELDS: Final = (
    "gross_capacity_w",
    "compressor_power_w",
    "coil_td_k",
    "sensible_heat_ratio",
    "air_exponent",
    "rated_flow_kg_s",
    "metering_device",
    "refrigerant",
    "compressor",
    "superheat_k",
    "subcooling_k",
    "condenser_lift_k",
    "condenser_units",
    "condenser_air",
    "condenser_clean",
    "coil_clean",
    "coil_scale",
    "circuit_drop_k",
    "uneven_circuits",
    "charge",
    "valve_reserve",
    "outdoor_fan_share",
    "sensor_place",
    "metering_size",
    *(f"map_flow_{k}" for k in range(1, 11)),
    *(f"map_power_{k}" for k in range(1, 11)),
)
(CAPACITY, POWER, COIL_TD, SENSIBLE_RATIO, AIR_EXPONENT, RATED_FLOW, METERING, REFRIGERANT, COMPRESSOR, SUPERHEAT, SUBCOOLING,
 LIFT, CONDENSER_UNITS, CONDENSER_AIR, CONDENSER_CLEAN, COIL_CLEAN, COIL_SCALE, CIRCUIT_DROP, UNEVEN, CHARGE, VALVE_RESERVE,
 FAN_SHARE, SENSOR_PLACE, METERING_SIZE, MAP_FLOW) = range(25)  # fmt: skip
MAP_POWER: Final = MAP_FLOW + 10
#: Columns without a neutral value: what every unit must be told.
NEEDED: Final = 7
EXPANSION_VALVE, FIXED_ORIFICE = 0.0, 1.0
SCROLL, BY_MAP, RECIPROCATING = 0.0, 1.0, 2.0

#: Neutral values of the columns from `refrigerant` on: R-410A with the example map, 10 F subcooling, 20 F between condensing and
#: outdoors (usual figures of the trade), a condenser whose air comes two thirds of the way, no faults. The outdoor fan's part is
#: 108 W of 1968 W, from the energies of case CE200 [nrel30152]. The valve's reserve is a judgement: a valve is sized for its
#: tonnage at 160 psi with some reserve, and meets 260 psi at rating.
NEUTRAL: Final = np.array(
    [float(REFRIGERANTS.index("R-410A")), BY_MAP, 0.0, 10.0 / 1.8, 20.0 / 1.8, 1.1, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0, 1.7,
     0.055, 0.5, 1.0, *MASS_FLOW_LB_H, *POWER_W]
)  # fmt: skip


def refrigerant_code(name: str) -> float:
    """The number that stands for a refrigerant in a row; raises `InputError` on a name without a table."""
    bare = name.strip().upper().replace("-", "").replace(" ", "")
    for code, known in enumerate(REFRIGERANTS):
        if known.upper().replace("-", "") == bare:
            return float(code)
    raise InputError(f"Refrigerant {name!r} is not known to the loop: give one of {', '.join(REFRIGERANTS)}.")


@kernel
def whole_row(row: UnitRow) -> UnitRow:
    """A row with the neutral values of the columns it lacks; a copy."""
    whole = np.empty(NEEDED + NEUTRAL.shape[0])
    for k in range(whole.shape[0]):
        whole[k] = row[k] if k < row.shape[0] else NEUTRAL[k - NEEDED]
    return whole


def complete_rows(units: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows `[N, len(UNIT_FIELDS)]`: rows of the first columns alone get the neutral values of the others; a copy."""
    rows = np.atleast_2d(np.asarray(units, dtype=np.float64))
    given, width = rows.shape[1], len(UNIT_FIELDS)
    if not NEEDED <= given <= width:
        raise InputError(
            f"The array of cooling units has {given} columns where {NEEDED} to {width} were expected: "
            "give the columns of UNIT_FIELDS in their order."
        )
    filled = np.tile(NEUTRAL[given - NEEDED :], (len(rows), 1))
    return np.ascontiguousarray(np.concatenate([rows, filled], axis=1))


def unit_rows(**columns: object) -> NDArray[np.float64]:
    """Rows from columns by name, each a number or an array `[N]`; the first seven must be there, the others are neutral.

    `refrigerant` may be a name. Where it is not R-410A and no compressor is named, the compressor is a scroll.
    """
    unknown = sorted(columns.keys() - set(UNIT_FIELDS))
    missing = [name for name in UNIT_FIELDS[:NEEDED] if name not in columns]
    if unknown or missing:
        wrong = f"no column is called {unknown[0]}" if unknown else f"the column {missing[0]} is missing"
        raise InputError(f"A cooling unit cannot be described so, {wrong}: name columns as UNIT_FIELDS does.")
    given = dict(columns)
    if isinstance(given.get("refrigerant"), str):
        given["refrigerant"] = refrigerant_code(str(given["refrigerant"]))
    if "refrigerant" in given and "compressor" not in given:
        given["compressor"] = np.where(
            np.asarray(given["refrigerant"]) == NEUTRAL[REFRIGERANT - NEEDED], BY_MAP, SCROLL
        )
    arrays = {name: np.asarray(value, dtype=np.float64) for name, value in given.items()}
    count = max((one.size for one in arrays.values()), default=1)
    rows = complete_rows(np.zeros((count, NEEDED)))
    for name, value in arrays.items():
        rows[:, UNIT_FIELDS.index(name)] = value
    return rows
