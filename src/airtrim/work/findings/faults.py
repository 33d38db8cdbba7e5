"""What may be wrong: every explanation with the parameters it moves, how common it is, and which complaint it makes.

Every number here is judgement, formed on field surveys of split systems (low airflow and wrong charge each in about half of the
houses looked at, proctor-class surveys [from-memory]); each is a weight before anything is read, and readings outweigh them.
"""

from dataclasses import dataclass, field
from typing import Final

from airtrim.physics.unit.fields import FIXED_ORIFICE
from airtrim.work.findings.parameters import Ends

AIRFLOW, CHARGE, MACHINE, HOUSE, NONE = "airflow", "charge", "machine", "house", "none"


@dataclass(frozen=True)
class Fault:
    """One way something is wrong: explanation it belongs to, group, weight before readings, ranges it moves.

    `device` keeps it to one metering device; `spread` widens what the model may be off (for what is not on the list).
    """

    id: str
    explanation: str
    group: str
    weight: float
    moves: dict[str, Ends] = field(default_factory=dict)
    device: float | None = None
    spread: float = 1.0


#: Watts go so much with the airflow that is lost: on a slower tap more than in proportion, with a dirty wheel less [judgement].
_TAP: Final[dict[str, Ends]] = {"fault_watts": (1.2, 1.5, 2.0)}
_WHEEL: Final[dict[str, Ends]] = {"fault_watts": (0.0, 0.4, 1.0)}
#: Whether what the blower lacks is lacking against its table too: 1, else 0.
_OFF_TABLE: Final[dict[str, Ends]] = {"off_table": (0.999, 1.0, 1.001)}
FAULTS: Final = (
    Fault("restricted_filter", "restricted_filter", AIRFLOW, 0.09, {"filter_resistance": (2.2, 4.0, 9.0)}),
    Fault(
        "restricted_coil",
        "restricted_coil",
        AIRFLOW,
        0.07,
        {"coil_resistance": (1.9, 3.0, 7.0), "coil_clean": (0.50, 0.72, 0.92)},
    ),
    # a coil in ice, whatever made the ice
    Fault(
        "iced_coil",
        "restricted_coil",
        AIRFLOW,
        0.02,
        {"coil_resistance": (7.0, 20.0, 80.0), "coil_clean": (0.35, 0.65, 0.95)},
    ),
    Fault("restricted_return", "restricted_return", AIRFLOW, 0.07, {"return_duct_resistance": (2.2, 4.0, 9.0)}),
    Fault("restricted_supply", "restricted_supply", AIRFLOW, 0.05, {"supply_duct_resistance": (2.2, 4.0, 9.0)}),
    # a tap chosen too slow or too fast: the maker's row of that tap holds all the same
    Fault("slow_tap", "wrong_tap", AIRFLOW, 0.030, {"blower_fault": (-0.50, -0.26, -0.12), **_TAP}),
    Fault("fast_tap", "wrong_tap", AIRFLOW, 0.030, {"blower_fault": (0.10, 0.18, 0.35), **_TAP}),
    # another tap than was written down, or another blower's table: its row does not hold
    Fault("slow_row", "wrong_tap", AIRFLOW, 0.015, {"blower_fault": (-0.50, -0.26, -0.12), **_TAP, **_OFF_TABLE}),
    Fault("fast_row", "wrong_tap", AIRFLOW, 0.015, {"blower_fault": (0.10, 0.18, 0.35), **_TAP, **_OFF_TABLE}),
    Fault(
        "weak_capacitor",
        "weak_capacitor",
        AIRFLOW,
        0.03,
        {
            "capacitor": (0.40, 0.65, 0.88),
            "blower_fault": (-0.25, -0.05, -0.01),
            "fault_watts": (-2.5, -0.8, 0.3),
            **_OFF_TABLE,
        },
    ),
    Fault("dirty_wheel", "wheel", AIRFLOW, 0.04, {"blower_fault": (-0.60, -0.28, -0.10), **_WHEEL, **_OFF_TABLE}),
    Fault("backward_wheel", "wheel", AIRFLOW, 0.01, {"blower_fault": (-1.00, -0.70, -0.50), **_WHEEL, **_OFF_TABLE}),
    Fault("undercharge", "undercharge", CHARGE, 0.11, {"charge": (0.62, 0.78, 0.91)}),
    Fault("overcharge", "overcharge", CHARGE, 0.07, {"charge": (1.09, 1.18, 1.36)}),
    Fault("starving_valve", "metering_device", CHARGE, 0.025, {"metering_size": (0.28, 0.46, 0.66)}, device=0.0),
    Fault("overfeeding_valve", "metering_device", CHARGE, 0.020, {"superheat_k": (0.05, 0.5, 2.0)}, device=0.0),
    Fault(
        "small_orifice", "metering_device", CHARGE, 0.020, {"metering_size": (0.55, 0.74, 0.90)}, device=FIXED_ORIFICE
    ),
    Fault(
        "large_orifice", "metering_device", CHARGE, 0.020, {"metering_size": (1.08, 1.20, 1.45)}, device=FIXED_ORIFICE
    ),
    Fault(
        "dirty_condenser",
        "dirty_condenser",
        MACHINE,
        0.07,
        {"condenser_clean": (0.40, 0.58, 0.80), "condenser_air": (0.50, 0.68, 0.88)},
    ),
    Fault("mismatched_coil", "mismatched_coil", MACHINE, 0.25),
    Fault("return_leak", "return_leak", HOUSE, 0.06, {"return_leak": (0.09, 0.16, 0.35)}),
    Fault("fan_on", "fan_on", HOUSE, 0.40),
    Fault("moisture_source", "moisture_source", HOUSE, 0.05),
    Fault("small_load", "small_load", HOUSE, 0.06),
    Fault("nothing_found", "nothing_found", NONE, 0.12),
    Fault("something_else", "something_else", NONE, 0.025, spread=4.0),
)
#: Chance that a house with this explanation makes the complaint; `other` where the explanation has none of its own.
COMPLAINTS: Final[dict[str, dict[str, float]]] = {
    "damp": {
        "fan_on": 0.60, "moisture_source": 0.50, "small_load": 0.40, "mismatched_coil": 0.40, "return_leak": 0.40,
        "wrong_tap": 0.30, "undercharge": 0.30, "overcharge": 0.20, "metering_device": 0.25, "dirty_condenser": 0.20,
        "restricted_filter": 0.14, "restricted_coil": 0.18, "restricted_return": 0.14, "restricted_supply": 0.14,
        "weak_capacitor": 0.14, "wheel": 0.14, "nothing_found": 0.08, "other": 0.20,
    },
    "icing": {
        "restricted_filter": 0.40, "restricted_coil": 0.40, "restricted_return": 0.35, "restricted_supply": 0.30,
        "wheel": 0.35, "weak_capacitor": 0.25, "wrong_tap": 0.15, "undercharge": 0.45, "metering_device": 0.30,
        "nothing_found": 0.02, "other": 0.04,
    },
    "noise": {
        "restricted_return": 0.50, "restricted_filter": 0.40, "restricted_supply": 0.40, "wrong_tap": 0.30,
        "weak_capacitor": 0.20, "wheel": 0.20, "nothing_found": 0.08, "other": 0.06,
    },
    "cost": {"nothing_found": 0.10, "other": 0.20, "small_load": 0.08, "moisture_source": 0.08},
    "too_dry": {
        "wrong_tap": 0.30, "restricted_filter": 0.15, "restricted_return": 0.15, "restricted_supply": 0.15,
        "restricted_coil": 0.15, "wheel": 0.15, "weak_capacitor": 0.15, "fan_on": 0.02, "moisture_source": 0.01,
        "small_load": 0.03, "mismatched_coil": 0.03, "nothing_found": 0.10, "other": 0.06,
    },
    "stops": {
        "weak_capacitor": 0.50, "wheel": 0.30, "restricted_filter": 0.30, "restricted_return": 0.30,
        "restricted_coil": 0.25, "restricted_supply": 0.25, "dirty_condenser": 0.30, "nothing_found": 0.05, "other": 0.10,
    },
    "uneven": {
        "restricted_supply": 0.40, "restricted_return": 0.30, "return_leak": 0.30, "nothing_found": 0.10, "other": 0.15,
    },
}  # fmt: skip
#: The same for ice on the coil that was seen.
FROST_SEEN: Final = {**COMPLAINTS["icing"], "overcharge": 0.02}
