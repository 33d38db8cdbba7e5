"""Places added from weather files: their figures are the table's, and they are kept and found again."""

from dataclasses import fields, replace

import numpy as np
import pytest

from airtrim.core.errors import WeatherError
from airtrim.weather.files import embedded_path, read_hours
from airtrim.weather.monthly import FIGURES, MonthlyMeans, stations
from airtrim.weather.own_places import add_place, means_of, own_places
from airtrim.weather.places import station_for
from tests.weather.at_hand import FILES_AT_HAND, more_weather

TABLE = {one.station: one for one in stations()}


@pytest.fixture(scope="module")
def greensboro():
    return read_hours(embedded_path("greensboro-nc"))


def assert_like_the_table(means, table):
    """The table was computed by another program from the same TMY3 years; half of its last printed digit, and rounding."""
    for name, parts in FIGURES.items():
        np.testing.assert_allclose(getattr(means, name), getattr(table, name), atol=0.5001 / parts, err_msg=name)
    assert means.pressure_hpa == pytest.approx(table.pressure_hpa, abs=0.051)
    assert means.design_dry_bulb_c == pytest.approx(table.design_dry_bulb_c, abs=0.3)  # one hour of 88, or between two
    assert means.design_dew_point_c == pytest.approx(table.design_dew_point_c, abs=0.4)  # hours within 1 K of it here


def test_greensboro_s_figures_are_the_table_s(greensboro):
    assert_like_the_table(means_of(greensboro), TABLE["723170"])


@pytest.mark.parametrize(("station", "file"), FILES_AT_HAND.items())
def test_a_file_s_figures_are_the_table_s(station, file):
    assert_like_the_table(means_of(read_hours(more_weather(file))), TABLE[station])


def test_an_added_place_is_kept_whole_and_found_first(greensboro, tmp_path):
    means = means_of(greensboro, "Summerfield, NC")
    path = add_place(means, folder=tmp_path)
    assert path.name == "summerfield-nc.json" and not list(tmp_path.glob("*.part"))
    (again,) = own_places(tmp_path)
    for field in fields(MonthlyMeans):
        np.testing.assert_array_equal(getattr(again, field.name), getattr(means, field.name))
    found = station_for((again, *stations()), "summerfield, North Carolina")
    assert found.means is again and "among the places you added" in found.said
    with pytest.raises(WeatherError, match="No station of the table begins"):
        station_for(stations(), "Summerfield, NC")


def test_a_place_is_replaced_only_when_told(greensboro, tmp_path):
    means = means_of(greensboro, "Summerfield, NC")
    add_place(means, folder=tmp_path)
    with pytest.raises(WeatherError, match="was added already"):
        add_place(means, folder=tmp_path)
    add_place(replace(means, altitude_m=300.0), replace=True, folder=tmp_path)
    assert own_places(tmp_path)[0].altitude_m == 300.0


def test_without_a_name_the_file_s_own_is_taken(greensboro):
    means = means_of(greensboro)
    assert (means.name, means.state) == ("Greensboro Piedmont Triad Int", "NC")
    with pytest.raises(WeatherError, match="does not tell town and state"):
        means_of(greensboro, "Summerfield")


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text[:200],
        lambda text: text.replace('"airtrim_place": 1', '"airtrim_place": 9'),
        lambda text: text.replace('"altitude_m": 273.0', '"altitude_m": NaN'),
        lambda text: text.replace('"wind_m_s"', '"wind"'),
        lambda text: "[]",
    ],
)
def test_a_damaged_place_is_one_sentence_that_names_it(greensboro, tmp_path, spoil):
    path = add_place(means_of(greensboro, "Summerfield, NC"), folder=tmp_path)
    spoiled = spoil(path.read_text())
    assert spoiled != path.read_text()
    path.write_text(spoiled)
    with pytest.raises(WeatherError, match=r"summerfield-nc\.json cannot be read .* delete that file"):
        own_places(tmp_path)


def test_a_folder_that_cannot_be_written_is_one_sentence(greensboro, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(WeatherError, match="cannot be kept in"):
        add_place(means_of(greensboro, "Summerfield, NC"), folder=tmp_path / "file" / "below")


def test_a_place_outside_the_united_states_is_found_by_its_whole_name(greensboro, tmp_path):
    add_place(means_of(greensboro, "Toronto, ON"), folder=tmp_path)
    known = (*own_places(tmp_path), *stations())
    assert station_for(known, "toronto, On").means.name == "Toronto"
    with pytest.raises(WeatherError, match="does not tell town and state"):
        station_for(known, "Ottawa, ON")


def test_no_folder_no_places(tmp_path):
    assert own_places(tmp_path / "none") == ()
