"""The year a job is computed with: its file, else a year made up for a station that stands for its place."""

from dataclasses import replace

from airtrim.core.errors import WeatherError
from airtrim.job.model import Job
from airtrim.weather.change import Change
from airtrim.weather.files import weather_for
from airtrim.weather.made_up import made_up_year
from airtrim.weather.monthly import MonthlyMeans, stations
from airtrim.weather.own_places import own_places
from airtrim.weather.places import FARTHEST_KM, Found, distance_km, station_called, station_for, station_near
from airtrim.weather.year import WeatherYear


def weather_of(job: Job) -> WeatherYear:
    """The year with what there is to say about it in its notes; raises `WeatherError` in one sentence."""
    change = change_of(job)
    if job.weather.file is not None:
        year = weather_for(job.weather.file, change=change)
        said = _of_another_place(job, year)
    else:
        found = station_of(job)
        year = made_up_year(found.means, job.weather.made_up_year, change)
        said = [found.said]
    if not change.is_none:
        said.append(f"The year was changed: {change.said}.")
    return replace(year, notes=(*said, *year.notes))


def station_of(job: Job) -> Found:
    """The station whose monthly means make the year of a job without a file."""
    known = (*own_places(), *stations())
    chosen, place = job.weather, job.house.place
    if chosen.station is not None:
        return station_called(known, chosen.station, place)
    if chosen.latitude is not None and chosen.longitude is not None:
        return station_near(known, place, chosen.latitude, chosen.longitude)
    return station_for(known, place)


def weather_remarks(job: Job) -> list[str]:
    """What a job's choice of weather means, before anything is computed; a file is not read for it."""
    return [station_of(job).said] if job.weather.file is None else []


def change_of(job: Job) -> Change:
    """How the job wants its year changed."""
    weather = job.weather
    return Change(
        dry_bulb_shift_k=weather.dry_bulb_shift.si if weather.dry_bulb_shift is not None else 0.0,
        dry_bulb_scale=weather.dry_bulb_scale,
        dew_point_shift_k=weather.dew_point_shift.si if weather.dew_point_shift is not None else 0.0,
        dew_point_scale=weather.dew_point_scale,
    )


def _of_another_place(job: Job, year: WeatherYear) -> list[str]:
    """A sentence where the file's station lies far from the job's place, as far as the table knows the place."""
    means = _known(job.house.place)
    if means is None:
        return []
    away = distance_km(means, year.latitude_deg, year.longitude_deg)
    if away <= 0.5 * FARTHEST_KM:
        return []
    return [
        f"The weather file is of {year.place}, {away / 1.609344:.0f} miles ({away:.0f} km) from {job.house.place}: leave "
        "weather.file out and a year is made up for the place."
    ]


def _known(place: str) -> MonthlyMeans | None:
    try:
        return station_for(stations(), place).means
    except WeatherError:
        return None  # a place the table does not know cannot be compared, and the file says where it is from
