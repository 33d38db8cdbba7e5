"""Weather files: the embedded years against their own lines, and one station in two formats."""

import csv
from pathlib import Path

import numpy as np
import psychrolib
import pvlib
import pytest

from airtrim.weather.files import EMBEDDED, embedded_weather, read_weather, weather_for
from tests.weather.at_hand import more_weather

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO = DATA / EMBEDDED["greensboro-nc"]
MIAMI = DATA / EMBEDDED["miami-fl"]
MONTH = np.repeat(np.arange(12), np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24)


@pytest.fixture(scope="module")
def greensboro():
    return embedded_weather("greensboro-nc")


@pytest.fixture(scope="module")
def miami():
    return embedded_weather("miami-fl")


@pytest.fixture(scope="module")
def greensboro_cells():
    """NREL TMY3 723170, read independently with the csv module."""
    with GREENSBORO.open(newline="") as handle:
        rows = list(csv.reader(handle))
    return {head: [row[place] for row in rows[2:]] for place, head in enumerate(rows[1])}


@pytest.fixture(scope="module")
def miami_lines():
    """NREL TMY2 12839; places in the line by the TMY2 manual (doi 10.2172/87130), table 3-2."""
    return MIAMI.read_text().splitlines()[1:]


def test_greensboro_equals_the_cells_of_its_file(greensboro, greensboro_cells):
    def numbers(head):
        return np.array(greensboro_cells[head], dtype=float)

    np.testing.assert_array_equal(greensboro.dry_bulb_c, numbers("Dry-bulb (C)"))
    np.testing.assert_array_equal(greensboro.wind_m_s, numbers("Wspd (m/s)"))
    np.testing.assert_array_equal(greensboro.ghi_w_m2, numbers("GHI (W/m^2)"))
    assert greensboro.pressure_pa == pytest.approx(numbers("Pressure (mbar)").mean() * 100.0)
    place = (greensboro.latitude_deg, greensboro.longitude_deg, greensboro.timezone_h, greensboro.altitude_m)
    assert place == (36.1, -79.95, -5.0, 273.0)  # line 1 of the file
    assert greensboro.place == "Greensboro Piedmont Triad Int, NC"


def test_miami_equals_the_places_in_its_lines(miami, miami_lines):
    np.testing.assert_allclose(miami.dry_bulb_c, [float(line[67:71]) / 10.0 for line in miami_lines])
    np.testing.assert_allclose(miami.wind_m_s, [float(line[95:98]) / 10.0 for line in miami_lines])
    np.testing.assert_array_equal(miami.ghi_w_m2, [float(line[17:21]) for line in miami_lines])
    assert miami.pressure_pa == pytest.approx(np.mean([float(line[84:88]) for line in miami_lines]) * 100.0)
    assert (miami.latitude_deg, miami.longitude_deg) == pytest.approx((25.8, -(80 + 16 / 60)))  # N 25 48 W 80 16
    assert (miami.timezone_h, miami.altitude_m, miami.place) == (-5.0, 2.0, "Miami, FL")


def test_humidity_equals_an_independent_formula(greensboro, greensboro_cells, miami, miami_lines):
    """psychrolib, from the file's dew point and the pressure of that hour; 0.2 %: two fits of saturation pressure."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for hour in range(0, 8760, 97):
        dew = float(greensboro_cells["Dew-point (C)"][hour])
        pressure = float(greensboro_cells["Pressure (mbar)"][hour]) * 100.0
        expected = psychrolib.GetHumRatioFromVapPres(psychrolib.GetSatVapPres(dew), pressure)
        assert greensboro.humidity_ratio[hour] == pytest.approx(expected, rel=2e-3)
        line = miami_lines[hour]
        vapor = psychrolib.GetSatVapPres(float(line[73:77]) / 10.0)
        expected = psychrolib.GetHumRatioFromVapPres(vapor, float(line[84:88]) * 100.0)
        assert miami.humidity_ratio[hour] == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("name", list(EMBEDDED))
def test_embedded_years_are_whole_and_plausible(name, request):
    year = request.getfixturevalue(name.split("-")[0])
    assert year.notes == ()
    assert year.facade_w_m2.shape == (8760, 4)
    for values in (year.dry_bulb_c, year.humidity_ratio, year.wind_m_s, year.ghi_w_m2, year.facade_w_m2):
        assert values.dtype == np.float64
        assert np.isfinite(values).all()
    assert (year.facade_w_m2 >= 0.0).all()
    north, east, south, west = year.facade_w_m2.sum(axis=0)
    assert north < min(east, south, west)  # the north wall sees least sun in the northern hemisphere
    monthly = np.array([year.dry_bulb_c[month == MONTH].mean() for month in range(12)])
    assert monthly[6:8].min() > monthly[[0, 11]].max() + 5.0
    assert year.humidity_ratio[MONTH == 6].mean() > year.humidity_ratio[MONTH == 0].mean() + 0.004


def test_more_sun_and_damp_in_miami(greensboro, miami):
    assert (
        1400.0 < greensboro.ghi_w_m2.sum() / 1000.0 < 1700.0 < miami.ghi_w_m2.sum() / 1000.0 < 1900.0
    )  # common-practice
    assert miami.humidity_ratio.mean() > greensboro.humidity_ratio.mean() + 0.004


def sun_at_mid_hour(year):
    """Height, degrees, and the sun's cosine to the south and the east wall at the middle of each hour, apart from pvlib.

    Declination and equation of time by the Fourier series of Spencer 1971 (from-memory). One year for all, so the leap years
    alone put it up to 0.3 degrees off in March (seen against pvlib's sun).
    """
    hour = np.arange(8760)
    angle = 2.0 * np.pi * (hour + 0.5 - year.timezone_h) / 24.0 / 365.0
    declination = (
        0.006918 - 0.399912 * np.cos(angle) + 0.070257 * np.sin(angle)
        - 0.006758 * np.cos(2 * angle) + 0.000907 * np.sin(2 * angle)
        - 0.002697 * np.cos(3 * angle) + 0.001480 * np.sin(3 * angle)
    )  # fmt: skip
    minutes = 229.18 * (
        0.000075 + 0.001868 * np.cos(angle) - 0.032077 * np.sin(angle)
        - 0.014615 * np.cos(2 * angle) - 0.040849 * np.sin(2 * angle)
    )  # fmt: skip
    solar_hour = hour % 24 + 0.5 + year.longitude_deg / 15.0 - year.timezone_h + minutes / 60.0
    turn = np.pi / 12.0 * (solar_hour - 12.0)
    latitude = np.radians(year.latitude_deg)
    sine = np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.cos(turn)
    south = (sine * np.sin(latitude) - np.sin(declination)) / np.cos(latitude)
    return np.degrees(np.arcsin(sine)), south, -np.cos(declination) * np.sin(turn)


@pytest.mark.parametrize("name", list(EMBEDDED))
def test_the_sun_is_up_when_the_file_has_sun(name, request):
    """Hours that hold sunrise or sunset have the sun within 9 degrees of the horizon at their middle; all others must agree."""
    year = request.getfixturevalue(name.split("-")[0])
    height, _, _ = sun_at_mid_hour(year)
    assert (year.ghi_w_m2[height > 9.0] > 0.0).all()
    assert (year.ghi_w_m2[height < -9.0] == 0.0).all()
    assert (year.facade_w_m2[height < -9.0] == 0.0).all()


def test_opposite_walls_differ_by_the_beam_at_mid_hour(greensboro, greensboro_cells):
    """Sky and ground are the same for opposite walls, so their difference is the beam and the bright ring about the sun:
    cos(incidence) x (DNI + DHI x DNI / ETRN / sin(height)) (own-derivation from the sky of Hay and Davies).

    4 W/m2 and 1 %: the series' 0.3 degrees are 0.005 x 950 W/m2, ETRN is printed whole; half an hour off would be 100 W/m2.
    """
    dni, dhi, extra = (np.array(greensboro_cells[f"{head} (W/m^2)"], dtype=float) for head in ("DNI", "DHI", "ETRN"))
    height, south_cosine, east_cosine = sun_at_mid_hour(greensboro)
    high = height > 15.0
    bright = (dni + dhi * dni / np.maximum(extra, 1.0) / np.sin(np.radians(height)))[high]
    north, east, south, west = greensboro.facade_w_m2[high].T
    np.testing.assert_allclose(east - west, east_cosine[high] * bright, rtol=0.01, atol=4.0)
    np.testing.assert_allclose(south - north, south_cosine[high] * bright, rtol=0.01, atol=4.0)


def test_ground_and_sky_light_the_shaded_wall(greensboro, greensboro_cells):
    """A wall turned from the sun sees half the even part of the sky and half the ground of reflectance 0.2."""
    ghi, dni, dhi, extra = (
        np.array(greensboro_cells[f"{head} (W/m^2)"], dtype=float) for head in ("GHI", "DNI", "DHI", "ETRN")
    )
    height, _, east_cosine = sun_at_mid_hour(greensboro)
    away = (height > 15.0) & (east_cosine < -0.1)
    expected = 0.5 * dhi * (1.0 - dni / np.maximum(extra, 1.0)) + 0.5 * 0.2 * ghi
    np.testing.assert_allclose(greensboro.facade_w_m2[away, 1], expected[away], rtol=0.01, atol=2.0)


@pytest.mark.parametrize("name", list(EMBEDDED))
def test_design_hour_by_counting(name, request):
    """The 88th warmest of 8,760 hours has 1 % above it; its wet-bulb by psychrolib from the hours as warm (own-derivation)."""
    year = request.getfixturevalue(name.split("-")[0])
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert year.design_dry_bulb_c == pytest.approx(np.sort(year.dry_bulb_c)[-88], abs=0.05)
    near = np.flatnonzero(np.abs(year.dry_bulb_c - year.design_dry_bulb_c) <= 0.6)
    wet = np.mean(
        [
            psychrolib.GetTWetBulbFromHumRatio(year.dry_bulb_c[hour], year.humidity_ratio[hour], year.pressure_pa)
            for hour in near
        ]
    )
    expected = psychrolib.GetHumRatioFromTWetBulb(year.design_dry_bulb_c, float(wet), year.pressure_pa)
    assert year.design_humidity_ratio == pytest.approx(expected, rel=0.01)


def test_weather_for_takes_a_name_or_a_path(greensboro):
    for year in (weather_for("greensboro-nc"), weather_for(str(GREENSBORO)), weather_for(GREENSBORO.name, DATA)):
        np.testing.assert_array_equal(year.facade_w_m2, greensboro.facade_w_m2)


def test_denver_sun_on_walls_lies_within_the_reference_results():
    """ASHRAE 140-2020 section 7, NREL/TP-5500-77628: annual incident sun, kWh/m2, the range of six programs."""
    year = read_weather(more_weather("CO-Denver_Intl_Ap.tmy3"))
    north, east, south, west = year.facade_w_m2.sum(axis=0) / 1000.0
    assert year.ghi_w_m2.sum() / 1000.0 == pytest.approx(1670.2, abs=0.05)  # the file's own sum
    assert 1291.0 <= south <= 1387.0
    assert 1017.0 <= east <= 1068.0
    assert 903.0 <= west <= 997.0
    assert 399.0 <= north <= 477.0


def test_one_station_in_two_formats_agrees():
    """Tampa International, TMY3 and EPW of the same NREL year; pressure in mbar there and in Pa here."""
    tmy3 = read_weather(more_weather("FL-Tampa_International_Ap.tmy3"))
    epw = read_weather(more_weather("USA_FL_Tampa.Intl.AP.722110_TMY3.epw"))
    assert tmy3.notes == epw.notes
    assert tmy3.pressure_pa == pytest.approx(epw.pressure_pa, abs=5.0)
    np.testing.assert_allclose(tmy3.dry_bulb_c, epw.dry_bulb_c, atol=0.05)
    np.testing.assert_allclose(tmy3.wind_m_s, epw.wind_m_s, atol=0.05)
    np.testing.assert_allclose(tmy3.ghi_w_m2, epw.ghi_w_m2, atol=0.5)
    np.testing.assert_allclose(tmy3.humidity_ratio, epw.humidity_ratio, rtol=0.005)
    np.testing.assert_allclose(tmy3.facade_w_m2.sum(axis=0), epw.facade_w_m2.sum(axis=0), rtol=0.002)


@pytest.mark.parametrize("pattern", ["*.tmy3", "*.epw"])
def test_every_file_at_hand_is_read_whole(pattern):
    folder = more_weather("CO-Denver_Intl_Ap.tmy3").parent
    for path in sorted(folder.glob(pattern)):
        year = read_weather(path)
        assert year.notes == (), path.name
        assert np.isfinite(year.facade_w_m2).all(), path.name
