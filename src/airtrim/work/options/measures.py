"""What one option does to each system over the year, in the few measures options are compared by."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from airtrim.physics.blower.path import Resistance
from airtrim.physics.blower.wheel import RelativeSound, relative_sound_db, wheel_load
from airtrim.physics.season.layout import HUMIDITY_LINES
from airtrim.physics.season.system import WeatherArrays
from airtrim.physics.season.year import YearResults
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate
from airtrim.work.options.comfort import Comfort, comfort_of
from airtrim.work.options.energy import by_month_and_hour, demand_kw, electricity_kwh
from airtrim.work.options.money import added_bill
from airtrim.work.options.ranking import DRY

Array = NDArray[np.float64]
_DAMP_LINE = HUMIDITY_LINES.index(DRY)
#: Months (from 0) of the season a complaint names; all where none is named.
SEASONS: Final = {"spring": (2, 3, 4), "summer": (5, 6, 7), "autumn": (8, 9, 10), "winter": (11, 0, 1)}


@dataclass(frozen=True)
class Measures:
    """One value a system, `[N]`; `sound` has its own range. Humidity is that of the season complained of; `bill` and `comfort` only
    where the year tells them."""

    damp_hours: Array
    worst_month: Array
    missed: Array
    kwh: Array
    sound: tuple[Array, Array, Array]
    bill: Array | None
    comfort: Comfort | None

    @property
    def cost(self) -> Array:
        return self.kwh if self.bill is None else self.bill

    @property
    def heard(self) -> Array:
        """Middle of the sound's change, 0 where the blower does not run."""
        return self.sound[1] if np.all(np.isfinite(self.sound[1])) else np.zeros(len(self.kwh))

    def by_system(self) -> dict[str, list[float]]:
        """What rankings look at, less is better."""
        told = {
            "damp_hours": self.damp_hours,
            "worst_month": self.worst_month,
            "sound_change": self.heard,
            "cost_to_run": self.cost,
            "kwh": self.kwh,
            "hours_set_point_missed": self.missed,
        }
        if self.comfort is not None:
            told["uncomfortable_hours"] = self.comfort.too_warm + self.comfort.too_cold
        return {name: values.tolist() for name, values in told.items()}


def measures_of(
    found: Findings, candidate: Candidate, years: YearResults, m: int, weather: WeatherArrays | None
) -> Measures:
    """The measures of program m of a year."""
    months = list(SEASONS.get(found.job.complaint.season, range(12)))
    strips = found.job.heat.kind in ("electric_strip", "heat_pump")
    hourly = years.details.hourly
    return Measures(
        damp_hours=years.monthly_hours_over_humidity[:, m][:, _DAMP_LINE, months].sum(axis=1),
        worst_month=years.monthly_relative_humidity[:, m][:, months].max(axis=1),
        missed=years.hours_set_point_missed[:, m],
        kwh=electricity_kwh(years, m, strips),
        sound=_sound(found, candidate, years, m),
        bill=_bill(found, candidate, years, m, strips),
        comfort=comfort_of(hourly["temperature_c"][:, m], hourly["relative_humidity"][:, m], weather)
        if hourly and weather is not None
        else None,
    )


def _bill(found: Findings, candidate: Candidate, years: YearResults, m: int, strips: bool) -> Array | None:
    energy = by_month_and_hour(years, m, strips)
    if energy is None or not found.job.tariff.is_known or candidate.program is None:
        return None
    heating = candidate.system_of(found).heating_capacity_w[: len(energy)]
    demand = demand_kw(years, m, candidate.program.circulation_flow > 0.0, strips, heating)
    return added_bill(found.job.tariff, energy, demand)


def _sound(found: Findings, candidate: Candidate, years: YearResults, m: int) -> tuple[Array, Array, Array]:
    """Change of the blower's sound while cooling, dB, by its speed at the year's mean airflow; each end `[N]`."""
    blower, system = candidate.blower_of(found), candidate.system_of(found)
    count = years.mean_flow_fraction.shape[0]
    parts = years.mean_flow_fraction[:, m] * (system.full_flow_kg_s / found.system.full_flow_kg_s)[:count]
    unheard = RelativeSound(np.nan, np.nan, np.nan)
    sounds: list[Any] = [
        relative_sound_db(float(wheel_load(float(part), blower.wheel, blower.path, Resistance())[0]))
        if part > 0.0
        else unheard
        for part in parts
    ]
    low, mid, high = (np.array(end) for end in zip(*sounds, strict=True))
    return low, mid, high
