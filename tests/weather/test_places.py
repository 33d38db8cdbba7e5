"""Which station stands for a place: names as people write them, sentences where nothing fits."""

import csv

import pytest

from airtrim.core.errors import WeatherError
from airtrim.weather.files import embedded_path
from airtrim.weather.monthly import _read, stations
from airtrim.weather.places import STATES, distance_km, station_called, station_for, station_near, town_and_state

KNOWN = stations()
BY_NUMBER = {one.station: one for one in KNOWN}


@pytest.mark.parametrize(
    ("place", "station"),
    [
        ("Greensboro, NC", "723170"),
        ("greensboro, North Carolina, USA", "723170"),
        ("Tampa, Fla.", None),
        ("Tampa, FL", "722110"),
        ("Saint Louis, MO", "724340"),
        ("St. Louis, MO", "724340"),
        ("Houston, TX", "722430"),
        ("Ft. Worth, TX", "722596"),
        ("Washington, DC", "724030"),
        ("Guam, GU", "912120"),
    ],
)
def test_a_town_and_its_state_are_enough(place, station):
    """Station numbers are NREL's (user's manual for TMY3, NREL/TP-581-43156)."""
    if station is None:
        with pytest.raises(WeatherError, match="does not tell town and state"):
            station_for(KNOWN, place)
        return
    found = station_for(KNOWN, place)
    assert found.means.station == station
    assert found.means.name in found.said and place in found.said and found.said.endswith(".")


def test_other_stations_of_the_town_are_named():
    assert "others of that name: Houston Ellington Afb, TX" in station_for(KNOWN, "Houston, TX").said


@pytest.mark.parametrize(
    ("place", "near"),
    [
        ("Durham, NC", "Raleigh Durham International, NC"),
        ("Charlston, SC", "Charleston Intl Arpt, SC"),
        ("Cary, NC", "Charlotte Douglas Intl Arpt, NC"),
    ],
)
def test_a_town_without_a_station_is_one_sentence_with_names_that_help(place, near):
    with pytest.raises(WeatherError) as error:
        station_for(KNOWN, place)
    assert f"begins with the name of {place}" in str(error.value) and near in str(error.value)
    assert "weather.latitude" in str(error.value) and "weather.file" in str(error.value)


@pytest.mark.parametrize("place", ["", "Springfield", ", ,", "Paris, France"])
def test_a_place_without_a_state_is_one_sentence(place):
    with pytest.raises(WeatherError, match="does not tell town and state"):
        station_for(KNOWN, place)


def test_stations_of_one_name_far_apart_are_not_chosen_between():
    """Two stations of a name moved 200 miles apart."""
    from dataclasses import replace

    moved = [replace(BY_NUMBER["722430"], latitude_deg=33.0), BY_NUMBER["722435"]]
    with pytest.raises(WeatherError, match=r"Houston, TX may mean several stations up to .* miles"):
        station_for(moved, "Houston, TX")


def test_the_nearest_station_is_told_with_its_distance():
    """Cary's town hall, 35.79 N 78.78 W; Raleigh-Durham's airport is 35.87 N 78.78 W: 0.08 degrees, 9 km."""
    found = station_near(KNOWN, "Cary, NC", 35.79, -78.78)
    assert found.means.name == "Raleigh Durham International" and "(9 km) away, stands in for Cary, NC" in found.said
    assert "which is far" in station_near(KNOWN, "the Gulf", 28.0, -90.0).said
    with pytest.raises(WeatherError, match=r"correct weather\.latitude and weather\.longitude"):
        station_near(KNOWN, "London", 51.5, 0.0)


def test_distances_by_the_globe():
    """A degree of latitude is 111.2 km on a sphere of 6,371 km; New York to Los Angeles about 3,940 km (common-practice)."""
    new_york, los_angeles = BY_NUMBER["725033"], BY_NUMBER["722950"]
    assert distance_km(new_york, new_york.latitude_deg + 1.0, new_york.longitude_deg) == pytest.approx(111.2, abs=0.1)
    away = distance_km(new_york, los_angeles.latitude_deg, los_angeles.longitude_deg)
    assert away == pytest.approx(3950.0, abs=30.0)


def test_a_station_can_be_called_by_number_or_name():
    for station in ("723170", "Greensboro Piedmont Triad Int", "greensboro piedmont triad int, NC"):
        assert station_called(KNOWN, station, "x").means.station == "723170"
    with pytest.raises(WeatherError, match="is not in the table: give its number or name"):
        station_called(KNOWN, "Atlantis", "x")


def test_every_station_s_state_is_known():
    assert {one.state for one in KNOWN} <= set(STATES)
    assert len(KNOWN) == 1020 and len({one.station for one in KNOWN}) == 1020
    assert town_and_state("Winston-Salem, NC") == ("Winston-Salem", "NC")


def test_the_table_s_greensboro_is_the_file_s():
    """The head of NREL TMY3 723170 as pvlib carries it."""
    with embedded_path("greensboro-nc").open(newline="") as file:
        number, _, state, zone, latitude, longitude, altitude = next(csv.reader(file))
    means = BY_NUMBER[number]
    assert means.state == state.strip('"')
    assert (means.timezone_h, means.altitude_m) == (float(zone), float(altitude))
    assert (means.latitude_deg, means.longitude_deg) == pytest.approx((float(latitude), float(longitude)), abs=1e-3)


def test_a_damaged_table_is_one_sentence(tmp_path):
    from airtrim.weather.monthly import PATH

    path = tmp_path / "monthly.npz"
    with pytest.raises(WeatherError, match="cannot be read"):
        _read(path)
    path.write_bytes(PATH.read_bytes()[:-100])
    with pytest.raises(WeatherError, match="cannot be read"):
        _read(path)
    import numpy as np

    with np.load(PATH) as stored:
        arrays = {key: stored[key] for key in stored.files}
    arrays["months"] = arrays["months"] + np.int16(1)
    np.savez(path, **arrays)
    _read.cache_clear()
    with pytest.raises(WeatherError, match="is not what was stored"):
        _read(path)
