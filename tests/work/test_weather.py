"""A job's choice of weather: file, station, coordinates, name; what is said of it; what it does to the house."""

import numpy as np
import pytest

from airtrim.core.errors import JobError, WeatherError
from airtrim.job import load_job, new_job_text, parse_job
from airtrim.physics.season.year import run_years
from airtrim.weather.files import embedded_path, read_hours, read_weather
from airtrim.weather.made_up import made_up_year
from airtrim.weather.monthly import stations
from airtrim.weather.own_places import add_place, means_of
from airtrim.work.findings import find
from airtrim.work.options.candidates import leave_as_is
from airtrim.work.weather import weather_of, weather_remarks
from tests.plans import EXAMPLE
from tests.weather.at_hand import FILES_AT_HAND, more_weather

TABLE = {one.station: one for one in stations()}


@pytest.fixture(autouse=True)
def no_places_of_the_user(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def job(weather="", place="Greensboro, NC"):
    text = new_job_text().replace("[weather]", f"[weather]\n{weather}").replace("Greensboro, NC", place)
    return parse_job(text, "x.toml")


def test_the_example_job_keeps_its_real_year():
    year = weather_of(load_job(EXAMPLE))
    assert year.source == "723170TYA.CSV (TMY3)" and year.notes == ()
    np.testing.assert_array_equal(year.dry_bulb_c, read_weather(embedded_path("greensboro-nc")).dry_bulb_c)


def test_a_place_is_enough():
    year = weather_of(job())
    assert year.place == "Greensboro Piedmont Triad Int, NC"
    assert year.source.startswith("made-up year 1 from monthly means, computed from NREL TMY3")
    assert year.notes == ("Greensboro Piedmont Triad Int, NC, found by its name, stands in for Greensboro, NC.",)
    assert weather_remarks(job()) == list(year.notes)
    np.testing.assert_array_equal(year.dry_bulb_c, made_up_year(TABLE["723170"], 1).dry_bulb_c)


def test_which_made_up_year_is_the_job_s_to_say():
    assert weather_of(job("made_up_year = 7")).source.startswith("made-up year 7 ")


@pytest.mark.parametrize(
    ("weather", "station"),
    [
        ('station = "722110"', "Tampa International Ap, FL"),
        ("latitude = 27.97\nlongitude = -82.53", "Tampa International Ap, FL"),
    ],
)
def test_station_and_coordinates_go_before_the_name(weather, station):
    assert weather_of(job(weather)).place == station


def test_a_file_goes_before_all_and_says_when_it_is_of_another_place():
    year = weather_of(job('file = "miami-fl"'))
    assert year.place == "Miami, FL"
    (said,) = year.notes
    assert "The weather file is of Miami, FL" in said and "from Greensboro, NC" in said
    assert weather_remarks(job('file = "miami-fl"')) == []
    assert weather_of(job('file = "miami-fl"', "Nowhere, NC")).notes == ()


def test_a_change_is_said_in_the_result():
    year = weather_of(job('dry_bulb_shift = "3.6 F"\ndew_point_scale = 1.1'))
    said = "dry-bulb shifted by +3.6 F (+2.0 K); departures of dew point from the month's course times 1.1"
    assert year.notes[-1] == f"The year was changed: {said}." and said in year.source
    plain = weather_of(job())
    assert (year.dry_bulb_c - plain.dry_bulb_c).mean() == pytest.approx(2.0, abs=0.01)
    assert weather_of(job('file = "miami-fl"\ndew_point_shift = "-2 F"')).source.endswith("shifted by -2.0 F (-1.1 K)")


def test_an_added_place_is_used_by_name():
    add_place(means_of(read_hours(embedded_path("miami-fl")), "Summerfield, NC"))
    year = weather_of(job(place="Summerfield, NC"))
    assert year.place == "Summerfield, NC" and "among the places you added" in year.notes[0]
    assert "computed from 12839.tm2 (TMY2)" in year.source


@pytest.mark.parametrize(
    ("weather", "sentence"),
    [
        ("latitude = 36.0", "latitude and longitude go together"),
        ('file = "miami-fl"\nstation = "722110"', "file and station each choose the weather"),
        ("latitude = 99.0\nlongitude = 0.0", "weather.latitude"),
        ("made_up_year = -1", "weather.made_up_year"),
        ('dry_bulb_shift = "2"', "needs a number and a unit"),
        ('dry_bulb_shift = "90 F"', "must lie in"),
        ("dew_point_scale = nan", "weather.dew_point_scale"),
        ('fille = "miami-fl"', 'did you mean "file"'),
    ],
)
def test_a_choice_that_cannot_be_is_one_sentence(weather, sentence):
    with pytest.raises(JobError, match=sentence):
        job(weather)


def test_a_place_nobody_knows_is_one_sentence():
    with pytest.raises(WeatherError, match="No station of the table begins with the name of Nowhere, NC"):
        weather_of(job(place="Nowhere, NC"))
    with pytest.raises(WeatherError, match="does not tell town and state"):
        weather_remarks(job(place="Somewhere"))


@pytest.fixture(scope="module")
def demo():
    """The demo house, four systems of it, as they stand."""
    found = find(load_job(EXAMPLE), read_weather(embedded_path("greensboro-nc")), count=4, seed=1)
    return found.system, leave_as_is(found).program


def compared(demo, real, made):
    """What docs/weather.md states, of the worst of four seeds at ten stations and a sixth more: cooling 7 %, latent 8 % and
    20 kWh, damp hours 8 % and 40 h, relative humidity 0.6 points. 60 s steps, whose error is the same on both sides."""
    system, program = demo
    ours, theirs = (run_years(system, [program], year, 60.0) for year in (made, real))
    cooling, latent, damp = ((getattr(ours, name).mean(), getattr(theirs, name).mean()) for name in
                             ("sensible_kwh", "latent_kwh", "damp_hours"))  # fmt: skip
    assert cooling[0] == pytest.approx(cooling[1], rel=0.07)
    assert abs(latent[0] - latent[1]) < 0.08 * latent[1] + 20.0
    assert abs(damp[0] - damp[1]) < 0.08 * damp[1] + 40.0
    assert ours.mean_relative_humidity.mean() == pytest.approx(theirs.mean_relative_humidity.mean(), abs=0.006)


def test_the_demo_house_in_a_made_up_year_of_its_town(demo):
    compared(demo, read_weather(embedded_path("greensboro-nc")), made_up_year(TABLE["723170"]))


@pytest.mark.slow
@pytest.mark.parametrize(("station", "file"), FILES_AT_HAND.items())
def test_the_demo_house_in_made_up_years_elsewhere(demo, station, file):
    compared(demo, read_weather(more_weather(file)), made_up_year(TABLE[station]))


def test_one_station_as_epw_and_tmy3_is_one_year_to_the_house(demo):
    """Tampa International, the same NREL year in both forms: 0.2 % of energy and 0.2 points of relative humidity."""
    system, program = demo
    one, other = (
        run_years(system, [program], read_weather(more_weather(name)), 60.0)
        for name in ("FL-Tampa_International_Ap.tmy3", "USA_FL_Tampa.Intl.AP.722110_TMY3.epw")
    )
    for name in ("sensible_kwh", "latent_kwh", "compressor_kwh", "blower_kwh"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=0.002, err_msg=name)
    np.testing.assert_allclose(one.monthly_relative_humidity, other.monthly_relative_humidity, atol=0.002)
