"""What the fit may move: each parameter of the machine with its range before anything is read, and how a fault changes that range.

A parameter's middle and 90 % range make a two-sided lognormal (linear where it may be zero or negative); the sampler works on its
standard normal coordinate. Ranges without another source are judgement.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from airtrim.job.model import Job
from airtrim.physics.unit.describe import UnitDescription, describe_unit
from airtrim.work.findings.maker import by_maker

Array = NDArray[np.float64]
NINETY: Final = 1.6448536
#: How far from the middle a parameter is followed, in standard deviations: the model is asked nothing beyond.
FARTHEST: Final = 4.0
CFM: Final = 0.0004719474432
CFM_PER_TON: Final = CFM / 3516.8528
#: Blower watts per cfm. PSC: 0.45 to 0.58 are asked for [common-practice]; constant airflow: 0.34 at 0.5 in w.c. and 0.44 at 0.8
#: in a maker's table [fan-tables]; constant torque between; shaded pole by its efficiency. The ranges are judgement.
PSC_WATTS: Final = (0.37, 0.48, 0.62)
WATTS_PER_CFM: Final = {
    "constant_torque": (0.27, 0.37, 0.51),
    "constant_airflow": (0.25, 0.35, 0.49),
    "shaded_pole": (0.60, 0.90, 1.30),
}
#: A blower as installed at its rated static, cfm a ton: 350 to 400 asked for, more found [common-practice; judgement]; the taps of
#: one cabinet lie as far apart as this range is wide, and any of them may be in use [fan-tables].
BLOWER_PER_TON: Final = (310.0 * CFM_PER_TON, 380.0 * CFM_PER_TON, 465.0 * CFM_PER_TON)
#: How steeply a blower's airflow falls with static against the usual of its kind (`response.Answer`). From 0.5 to 0.8 in w.c. the
#: high and middle taps of two multi-tap blowers and three furnaces lose 9 to 16 %, the two low taps 4 and 14 %, where the usual is
#: 13 % [fan-tables].
STEEPNESS: Final = (0.5, 1.0, 1.35)


@dataclass(frozen=True)
class Parameter:
    """Ends of the 90 % range and the middle, in the unit the model takes it; `linear` where it may be zero or negative."""

    name: str
    low: float
    mid: float
    high: float
    unit: str = ""
    linear: bool = False

    def at(self, z: Array) -> Array:
        """Values at standard normal coordinates."""
        return np.asarray(values_at([self], np.asarray(z)[..., None])[self.name])


Ends = tuple[float, float, float]
#: Columns of UNIT_FIELDS taken over from the description of the unit as they are.
_COLUMNS: Final = (
    "gross_capacity_w",
    "compressor_power_w",
    "coil_td_k",
    "sensible_heat_ratio",
    "air_exponent",
    "rated_flow_kg_s",
    "subcooling_k",
    "condenser_lift_k",
    "condenser_units",
    "circuit_drop_k",
    "valve_reserve",
    "outdoor_fan_share",
)
#: What is no fault yet: a service's charge, dirt of a season, superheat as set at the works, circuits that do not share evenly.
_SOUND: Final[dict[str, Ends]] = {
    "superheat_k": (3.5, 6.1, 9.0),
    "condenser_air": (0.92, 1.0, 1.03),
    "condenser_clean": (0.85, 0.95, 1.02),
    "coil_clean": (0.86, 0.96, 1.02),
    "uneven_circuits": (0.03, 0.10, 0.28),
    "charge": (0.95, 1.0, 1.05),
    "metering_size": (0.97, 1.0, 1.03),
}
UNIT_NAMES: Final = (*_COLUMNS, *_SOUND)


def described(job: Job, device: str) -> UnitDescription:
    """The unit by its plates with one metering device; "unknown" words are left to the year made."""
    system = job.system
    refrigerant = None if system.refrigerant == "unknown" else system.refrigerant
    if system.performance:  # the maker's table is of this match: the coil's size is in it
        coil = system.outdoor_size.si
    else:
        coil = min(max(system.coil_size.si, 0.7 * system.outdoor_size.si), 1.7 * system.outdoor_size.si)
    return describe_unit(
        system.outdoor_size.si,
        coil,
        refrigerant=refrigerant,
        metering_device=device,
        seer=system.seer,
        eer=system.eer,
        year=system.year or 2012,
    )


def sound_parameters(job: Job, unit: UnitDescription, return_leak: Ends) -> list[Parameter]:
    """Every parameter as it is where nothing is wrong, in the order the model reads them."""
    size = job.system.outdoor_size.si
    listed = [Parameter(name, unit[name].low, unit[name].mid, unit[name].high) for name in _COLUMNS]
    told = by_maker(job, unit)
    listed = [Parameter(one.name, *told[one.name]) if one.name in told else one for one in listed]
    listed += [Parameter(name, *ends) for name, ends in _SOUND.items()]
    if job.system.plate_subcooling is not None:
        plate = job.system.plate_subcooling.si
        listed = [
            Parameter("subcooling_k", 0.85 * plate, plate, 1.15 * plate) if one.name == "subcooling_k" else one
            for one in listed
        ]
    return [
        *listed,
        _times("blower", size, BLOWER_PER_TON, "m3/s"),
        Parameter("blower_fault", -0.001, 0.0, 0.001, linear=True),  # logarithm of the airflow against a sound blower's
        Parameter("off_table", -0.001, 0.0, 0.001, linear=True),  # 1: the maker's table does not hold for it
        Parameter("steepness", *STEEPNESS),
        _times("watts_per_airflow", 1.0 / CFM, WATTS_PER_CFM.get(job.blower.motor, PSC_WATTS), "W/(m3/s)"),
        Parameter("fault_watts", 0.9, 1.0, 1.1, linear=True),  # power of the lost airflow that the watts go with
        *(Parameter(f"{part}_resistance", 0.55, 1.0, 1.8) for part in PARTS),  # against the allowance
        Parameter("tap_ratio", 0.87, 0.92, 0.97),  # airflow of a tap against the next faster one
        Parameter("return_leak", *return_leak, "fraction"),
        Parameter("attic_gain", 8.0, 15.0, 23.0, "K"),
        Parameter("return_gain", 0.1, 0.5, 1.2, "K", linear=True),
        Parameter("capacitor", 0.94, 1.0, 1.06),
    ]


def _times(name: str, factor: float, ends: Ends, unit: str) -> Parameter:
    low, mid, high = ends
    return Parameter(name, factor * low, factor * mid, factor * high, unit)


#: Parts of the air's path, as the pressure budget names them.
PARTS: Final = ("return_duct", "filter", "coil", "supply_duct")


def changed(parameters: list[Parameter], fault: dict[str, Ends]) -> list[Parameter]:
    """The same with a fault's ranges in place of the sound ones."""
    unknown = fault.keys() - {one.name for one in parameters}
    assert not unknown, unknown
    return [
        Parameter(one.name, *fault[one.name], one.unit, one.linear) if one.name in fault else one for one in parameters
    ]


def values_at(parameters: list[Parameter], z: Array) -> dict[str, Array]:
    """Values by name at coordinates `[N, d]`."""
    part = np.clip(z, -FARTHEST, FARTHEST) / NINETY
    linear = np.array([one.linear for one in parameters])
    low, mid, high = (np.array([getattr(one, end) for one in parameters]) for end in ("low", "mid", "high"))
    # a linear parameter's ends may be zero or negative: its logarithm is not asked for
    ratios = [
        np.log(np.where(linear, 1.0, top) / np.where(linear, 1.0, bottom)) for top, bottom in ((high, mid), (mid, low))
    ]
    up, down = np.where(linear, high - mid, ratios[0]), np.where(linear, mid - low, ratios[1])
    moved = np.where(part > 0.0, part * up, part * down)
    values = np.where(linear, mid + moved, mid * np.exp(np.where(linear, 0.0, moved)))
    return {one.name: np.ascontiguousarray(values[..., place]) for place, one in enumerate(parameters)}
