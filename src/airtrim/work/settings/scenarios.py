"""What settings must stand: wet and hot years, a part-loaded filter, the coldest set-point used, a coil sensor off by its accuracy;
and the same systems run under each."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final, Literal

from airtrim.job.model import Job
from airtrim.physics.season.system import AirflowProgram, SystemSample, WeatherArrays
from airtrim.physics.season.weeks import WHOLE_YEAR, Calendar
from airtrim.physics.season.year import YearResults, run_years
from airtrim.work.findings import Findings
from airtrim.work.options.candidates import Candidate, card_of
from airtrim.work.options.heat import LOADED_FILTER
from airtrim.work.weather import weather_of

YearName = Literal["typical", "wet", "hot"]
#: A wet and a hot year beside the typical one, K: about the summer that comes once in ten [judgement].
WETTER_DEW_POINT_K = 1.0
HOTTER_DRY_BULB_K, HOTTER_DEW_POINT_K = 1.2, 0.6
#: Accuracy of a coil sensor whose card says nothing, K (2 F) [common-practice].
SENSOR_K: Final = 2.0 / 1.8
#: A set-point asked for that nobody stated: this much below the usual one, K (2 F), as the safe limits take it.
COLDER_K: Final = 1.1


@dataclass(frozen=True)
class Years:
    """The typical year and what it is held against."""

    typical: WeatherArrays
    wet: WeatherArrays
    hot: WeatherArrays

    def of(self, name: YearName) -> WeatherArrays:
        return {"typical": self.typical, "wet": self.wet, "hot": self.hot}[name]


@dataclass(frozen=True)
class Scenario:
    """One thing to stand: the year, whether the filter is part-loaded, whether the coldest set-point is used, and by how many times
    its accuracy the coil sensor shows too much (-1, 0 or 1; too much makes the program take more air away)."""

    id: str
    year: YearName = "typical"
    loaded: bool = False
    coldest: bool = False
    sensor: float = 0.0


TYPICAL = Scenario("typical")
#: What ices first: everything that makes the coil colder, at once.
COLD = Scenario("cold", loaded=True, coldest=True, sensor=1.0)
#: What leaves the house too warm first.
HOT = Scenario("hot", "hot", loaded=True, sensor=1.0)
WET = Scenario("wet", "wet")
#: What dries least.
UNDER = Scenario("under", sensor=-1.0)
ALL: Final = (TYPICAL, COLD, HOT, WET, UNDER)


def years_of(job: Job, typical: WeatherArrays) -> Years:
    """The job's typical year with a wet and a hot one made from the same file or means."""

    def changed(dry_bulb_k: float, dew_point_k: float) -> WeatherArrays:
        weather = job.weather
        shifts = {}
        for name, more in (("dry_bulb_shift", dry_bulb_k), ("dew_point_shift", dew_point_k)):
            given = getattr(weather, name)
            shifts[name] = _kelvin((given.si if given is not None else 0.0) + more)
        return weather_of(job.model_copy(update={"weather": weather.model_copy(update=shifts)}))

    return Years(typical, changed(0.0, WETTER_DEW_POINT_K), changed(HOTTER_DRY_BULB_K, HOTTER_DEW_POINT_K))


def _kelvin(value: float) -> Any:
    from airtrim.job.measured import Measured

    return Measured(text=f"{value:g} K", si=value, unit="K")


def sensor_accuracy_k(job: Job, kind: str) -> float:
    """Accuracy of the coil sensor of a card's kind, K."""
    for sensor in card_of(job, kind).sensors:
        if sensor.kind == "coil_temperature" and sensor.accuracy is not None:
            return sensor.accuracy.si
    return SENSOR_K


def coldest_set_point_c(job: Job) -> float:
    """The lowest set-point the owner uses, degC."""
    coldest = job.thermostat.coldest_set_point
    return coldest.si if coldest is not None else job.thermostat.set_point.si - COLDER_K


def program_under(program: AirflowProgram, scenario: Scenario, job: Job, accuracy_k: float) -> AirflowProgram:
    """The program as it runs under a scenario."""
    changed = replace(program, sensor_error_k=scenario.sensor * accuracy_k if program.coil_sensor_drop_k > 0.0 else 0.0)
    if not scenario.coldest:
        return changed
    cold = min(coldest_set_point_c(job), program.cooling_set_point_c)
    heating = min(program.heating_set_point_c, cold - 1.5)
    return replace(changed, cooling_set_point_c=cold, heating_set_point_c=heating)


def system_under(system: SystemSample, scenario: Scenario) -> SystemSample:
    """The sample as it runs under a scenario; the motor's watts are left as they are."""
    return replace(system, full_flow_kg_s=LOADED_FILTER * system.full_flow_kg_s) if scenario.loaded else system


def systems_at(system: SystemSample, places: Sequence[int]) -> SystemSample:
    """Some systems of a sample, in the order given."""
    chosen = list(places)
    return SystemSample(system.pressure_pa, *(getattr(system, column.name)[chosen] for column in fields(system)[1:]))


def run_under(
    found: Findings,
    candidates: Sequence[Candidate],
    scenario: Scenario,
    years: Years,
    step_s: float,
    accuracy_k: float,
    places: Sequence[int] | None = None,
    calendar: Calendar = WHOLE_YEAR,
    progress: Any = None,
) -> YearResults:
    """The candidates' years under a scenario, `[N, M]`, on the systems at `places` (all)."""
    chosen = list(range(found.system.count)) if places is None else list(places)
    system = found.system if places is None else systems_at(found.system, chosen)
    programs, watts = [], []
    for candidate in candidates:
        assert candidate.program is not None
        programs.append(program_under(candidate.program, scenario, found.job, accuracy_k))
        watts.append(None if candidate.watts is None else candidate.watts[chosen])
    return run_years(
        system_under(system, scenario), programs, years.of(scenario.year), step_s, watts, progress, calendar=calendar
    )
