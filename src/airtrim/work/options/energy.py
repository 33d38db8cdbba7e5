"""When in the year an option uses electricity, as the year itself tells it, for tariffs that ask."""

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.season.year import YearResults

Array = NDArray[np.float64]
#: Parts of electricity by month and hour of the day; strips only where strips heat.
_ALWAYS = ("compressor_kwh", "blower_kwh", "dehumidifier_kwh", "heat_pump_kwh")


def electricity_kwh(years: YearResults, m: int, strips_heat: bool) -> Array:
    """All electricity of a year under program m, `[N]`."""
    total = (
        years.compressor_kwh[:, m] + years.blower_kwh[:, m] + years.dehumidifier_kwh[:, m] + years.heat_pump_kwh[:, m]
    )
    return np.asarray(total + years.strips_or_furnace_kwh[:, m] if strips_heat else total)


def by_month_and_hour(years: YearResults, m: int, strips_heat: bool) -> Array | None:
    """Electricity `[N, 12, 24]`, kWh in each month and hour of the day (standard time); None where the year does not hold it."""
    told = years.details.by_hour
    if not told:
        return None
    names = (*_ALWAYS, "strips_or_furnace_kwh") if strips_heat else _ALWAYS
    total = np.zeros(told["compressor_kwh"][:, m].shape)
    for name in names:
        total = total + told[name][:, m]
    return total


def demand_kw(years: YearResults, m: int, circulates: bool, strips_heat: bool, heating_w: Array) -> Array:
    """The greatest demand of each month, `[N, 12]`, kW: what can run at once in it, strips alone where they heat.

    Compressor and dehumidifier draw the mean of their running hours, the blower that of its own.
    """
    run = years.monthly_run_hours[:, m]
    cools, heats = run > 1.0, years.monthly_heating_kwh[:, m] > 1.0
    compressor = np.where(cools, years.monthly_compressor_kwh[:, m] / np.maximum(run, 1.0), 0.0)
    heating_hours = 1000.0 * years.heating_kwh[:, m] / np.maximum(heating_w, 1.0)
    blowing = np.full(len(run), 8760.0) if circulates else years.run_hours[:, m] + heating_hours
    blower = (years.blower_kwh[:, m] / np.maximum(blowing, 1.0))[:, None] * (cools | heats | circulates)
    dries = years.monthly_dehumidifier_kwh[:, m] > 0.1
    dehumidifier = (years.dehumidifier_kwh[:, m] / np.maximum(years.dehumidifier_hours[:, m], 1.0))[:, None] * dries
    strips = (heating_w / 1000.0)[:, None] * (heats & strips_heat)
    return np.asarray(np.maximum(compressor, strips) + blower + dehumidifier)
