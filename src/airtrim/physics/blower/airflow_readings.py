"""Airflow from what a contractor reads: heat and rise, velocity pressure, openings, pressure matching, fan laws, traverses.

A name with a unit suffix is a raw SI kernel (NaN in, NaN out), one without takes and returns checked quantities. Volumes are of
moist air at `density`, kilograms of moist air per m3, unless the name says dry air.
"""

from math import pi
from typing import Any

import numpy as np

from airtrim.core.errors import InputError
from airtrim.core.kernels import inline_kernel, kernel
from airtrim.core.units import si_gate

FLOW = ("m**3/s", 1e-4, 10.0)
DROP = ("Pa", 0.0, 5000.0)
DENSITY = ("kg/m**3", 0.6, 1.6)
EXPONENT = ("", 0.3, 1.0)
#: Heat of dry air and of water vapour, J/kg K, as in the enthalpy of moist air [ashrae2017, ch. 1, eq. 30].
DRY_AIR_HEAT, VAPOUR_HEAT = 1006.0, 1860.0

#: Shares of a side, from the wall, where a log-Tchebycheff traverse of a rectangular duct reads; all weigh the same. Print of
#: three makers' manuals that agree [trade-manuals].
RECTANGULAR = {
    5: (0.074, 0.288, 0.500, 0.712, 0.926),
    6: (0.061, 0.235, 0.437, 0.563, 0.765, 0.939),
    7: (0.053, 0.203, 0.366, 0.500, 0.634, 0.797, 0.947),
}
#: Shares of the diameter of a round duct: log-linear as printed in the trade [trade-manuals], log-Tchebycheff as recalled from
#: ISO 3966 [from-memory].
ROUND_LOG_LINEAR = {
    6: (0.032, 0.135, 0.321, 0.679, 0.865, 0.968),
    8: (0.021, 0.117, 0.184, 0.345, 0.655, 0.816, 0.883, 0.979),
    10: (0.019, 0.077, 0.153, 0.217, 0.361, 0.639, 0.783, 0.847, 0.923, 0.981),
}
ROUND_LOG_TCHEBYCHEFF = {
    6: (0.032, 0.137, 0.312, 0.688, 0.863, 0.968),
    8: (0.024, 0.100, 0.194, 0.334, 0.666, 0.806, 0.900, 0.976),
    10: (0.019, 0.076, 0.155, 0.215, 0.357, 0.643, 0.785, 0.845, 0.924, 0.981),
}
#: A side needs 6 lines from here and 7 above, m (30 and 36 in), and the section 25 points at least [trade-manuals].
SIX_LINES_M, SEVEN_LINES_M, LEAST_POINTS = 0.762, 0.9144, 25


@inline_kernel
def flow_by_heat_kg_s(heat_w: float, rise_k: float, humidity_ratio: float) -> float:
    """Dry air that `heat_w` warms by `rise_k`; NaN where it is not warmed."""
    if not rise_k > 0.0:
        return np.nan
    return heat_w / ((DRY_AIR_HEAT + VAPOUR_HEAT * humidity_ratio) * rise_k)


@inline_kernel
def velocity_m_s(velocity_pressure_pa: float, density_kg_m3: float) -> float:
    """Speed of the air whose velocity pressure a pitot tube shows; NaN below nought."""
    if not velocity_pressure_pa >= 0.0:
        return np.nan
    return float(np.sqrt(2.0 * velocity_pressure_pa / density_kg_m3))


@inline_kernel
def opening_airflow_m3_s(area_m2: float, drop_pa: float, coefficient: float, density_kg_m3: float) -> float:
    """Air through an opening, a plate or a grid of discharge coefficient `coefficient`; NaN below nought."""
    if not drop_pa >= 0.0:
        return np.nan
    return coefficient * area_m2 * float(np.sqrt(2.0 * drop_pa / density_kg_m3))


@inline_kernel
def matched_airflow_m3_s(airflow_m3_s: float, reached_pa: float, wanted_pa: float, exponent: float) -> float:
    """Air on the same path at the wanted pressure, from the air at the pressure that was reached."""
    if not (reached_pa > 0.0 and wanted_pa > 0.0):
        return np.nan
    return float(airflow_m3_s * (wanted_pa / reached_pa) ** exponent)


@inline_kernel
def airflow_at_speed_m3_s(airflow_m3_s: float, speed: float, new_speed: float) -> float:
    """Fan law: the same wheel on the same path moves air as its speed; speeds in one unit, whichever."""
    return airflow_m3_s * new_speed / speed


@inline_kernel
def capacitance_f(amps: float, volts: float, hertz: float) -> float:
    """Capacitance of a run capacitor from the current through it and the voltage across it, running."""
    return amps / (2.0 * pi * hertz * volts)


@kernel
def gas_heat_w(
    volume_m3: float, time_s: float, heating_value_j_m3: float, efficiency: float, pressure_ratio: float
) -> float:
    """Heat a furnace gives the air, by its meter: volume in a time, at `pressure_ratio` of the heating value's own conditions."""
    return volume_m3 * pressure_ratio / time_s * heating_value_j_m3 * efficiency


@si_gate(
    heat=("W", 1.0, 1e5),
    rise=("delta_degC", 0.5, 60.0),
    humidity_ratio=("", 0.0, 0.05),
    dry_density=DENSITY,
    returns="m**3/s",
    source="field formula, cfm = Btu/h / (1.08 dT) [common-practice]",
)
def airflow_by_heat(heat: Any, rise: Any, humidity_ratio: Any, dry_density: Any) -> Any:
    """Air that a known heat warms by a known rise; `dry_density` is kg of dry air per m3 where the volume is wanted."""
    return flow_by_heat_kg_s(heat, rise, humidity_ratio) / dry_density


@si_gate(velocity_pressure=DROP, density=DENSITY, returns="m/s", source="Bernoulli")
def velocity(velocity_pressure: Any, density: Any) -> Any:
    """Speed of the air whose velocity pressure a pitot tube shows."""
    return velocity_m_s(velocity_pressure, density)


@si_gate(
    area=("m**2", 1e-6, 10.0), drop=DROP, coefficient=("", 0.3, 1.2), density=DENSITY, returns="m**3/s",
    source="orifice equation",
)  # fmt: skip
def opening_airflow(area: Any, drop: Any, coefficient: Any, density: Any) -> Any:
    """Air through an opening, plate or grid."""
    return opening_airflow_m3_s(area, drop, coefficient, density)


@si_gate(
    airflow=FLOW, reached=("Pa", 1.0, 1000.0), wanted=("Pa", 1.0, 1000.0), exponent=EXPONENT, returns="m**3/s",
    source="duct power law, Q as P to the power 0.5 to 0.6",
)  # fmt: skip
def matched_airflow(airflow: Any, reached: Any, wanted: Any, exponent: Any) -> Any:
    """Air at the wanted supply pressure, from the air at the pressure reached on the same duct."""
    return matched_airflow_m3_s(airflow, reached, wanted, exponent)


@si_gate(
    airflow=FLOW, speed=("rpm", 50.0, 5000.0), new_speed=("rpm", 50.0, 5000.0), returns="m**3/s", source="fan laws"
)
def airflow_at_speed(airflow: Any, speed: Any, new_speed: Any) -> Any:
    """Air the same wheel moves through the same path at another speed."""
    return airflow_at_speed_m3_s(airflow, speed, new_speed)


@si_gate(
    amps=("A", 0.0, 100.0), volts=("V", 50.0, 700.0), frequency=("Hz", 10.0, 100.0), returns="F",
    source="I = 2 pi f C V",
)  # fmt: skip
def capacitance(amps: Any, volts: Any, frequency: Any) -> Any:
    """Capacitance of a run capacitor under load: amps in its lead, volts across it."""
    return capacitance_f(amps, volts, frequency)


@si_gate(
    volume=("m**3", 1e-3, 10.0), time=("s", 5.0, 3600.0), heating_value=("J/m**3", 1e7, 2e8),
    efficiency=("", 0.4, 1.0), pressure_ratio=("", 0.5, 1.5), returns="W", source="clocking the meter [common-practice]",
)  # fmt: skip
def gas_heat(volume: Any, time: Any, heating_value: Any, efficiency: Any, pressure_ratio: Any = 1.0) -> Any:
    """Heat of a furnace from its clocked meter."""
    return gas_heat_w(volume, time, heating_value, efficiency, pressure_ratio)


def traverse_lines(side_m: float) -> int:
    """How many log-Tchebycheff lines a side of a rectangular duct wants: 5 below 30 in, 6 up to 36 in, 7 above."""
    return 5 if side_m < SIX_LINES_M else 6 if side_m <= SEVEN_LINES_M else 7


def traverse_positions(shape: str, rule: str, points: int) -> tuple[float, ...]:
    """Where to read along a side ("rectangular") or a diameter ("round"), as shares from the wall; every point weighs the same.

    `rule` is "log_tchebycheff" (5 to 7 lines, or 6, 8, 10 points round) or "log_linear" (round: 6, 8, 10 points). Raises
    `InputError` for a number of points the rule does not have.
    """
    known = {
        ("rectangular", "log_tchebycheff"): RECTANGULAR,
        ("round", "log_linear"): ROUND_LOG_LINEAR,
        ("round", "log_tchebycheff"): ROUND_LOG_TCHEBYCHEFF,
    }.get((shape, rule))
    if known is None:
        raise InputError(
            f"A {shape} duct has no {rule} traverse here: use log_tchebycheff, or log_linear in a round duct."
        )
    if points not in known:
        counts = ", ".join(str(one) for one in known)
        raise InputError(f"A {shape} {rule} traverse reads {counts} points on a line, got {points}: read so many.")
    return known[points]


def traverse_airflow_m3_s(velocities_m_s: Any, area_m2: float) -> float:
    """Mean of the velocities (never of the velocity pressures) times the area."""
    return float(np.mean(velocities_m_s)) * area_m2


def round_area_m2(diameter_m: float) -> float:
    """Area of a round section."""
    return pi * diameter_m**2 / 4.0


def even_section(velocities_m_s: Any) -> bool:
    """Whether three quarters of the velocity pressures exceed a tenth of the greatest, as a fair section shows [amca203]."""
    pressures = np.asarray(velocities_m_s, dtype=np.float64) ** 2
    return bool(np.mean(pressures > 0.1 * pressures.max()) >= 0.75)
