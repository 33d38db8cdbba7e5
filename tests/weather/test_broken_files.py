"""Weather files with something wrong: mended and said, or refused in one sentence."""

import csv
from pathlib import Path

import numpy as np
import pvlib
import pytest

from airtrim.core.errors import WeatherError
from airtrim.weather.files import EMBEDDED, embedded_weather, read_weather

DATA = Path(pvlib.__file__).parent / "data"
TMY3 = (DATA / EMBEDDED["greensboro-nc"]).read_text().splitlines()
TMY2 = (DATA / EMBEDDED["miami-fl"]).read_text().splitlines()
HEADS = next(csv.reader([TMY3[1]]))


@pytest.fixture
def reading(tmp_path):
    def read(lines, name="changed.csv", encoding="utf-8"):
        path = tmp_path / name
        path.write_text("\n".join(lines) + "\n", encoding=encoding)
        return read_weather(path)

    return read


@pytest.fixture(scope="module")
def greensboro():
    return embedded_weather("greensboro-nc")


def with_cells(head, first, count, value, lines=TMY3):
    """`count` hours from hour `first` (counted from 0) with another value."""
    lines = list(lines)
    for index in range(first + 2, first + 2 + count):
        cells = lines[index].split(",")
        cells[HEADS.index(head)] = value
        lines[index] = ",".join(cells)
    return lines


def with_head(old, new):
    assert old in TMY3[0]
    return [TMY3[0].replace(old, new), *TMY3[1:]]


def as_epw(year=1995):
    """The TMY3 year written as EPW: column order of the EnergyPlus Auxiliary Programs manual; pressure in Pa."""
    heads = ["LOCATION,Greensboro,NC,USA,TMY3,723170,36.1,-79.95,-5.0,273.0", *["OTHER"] * 6, "DATA PERIODS"]
    rows = []
    for line in TMY3[2:]:
        cells = dict(zip(HEADS, line.split(","), strict=True))
        month, day, _ = cells["Date (MM/DD/YYYY)"].split("/")
        row = ["0"] * 35
        row[:5] = [str(year), str(int(month)), str(int(day)), str(int(cells["Time (HH:MM)"][:2])), "0"]
        row[6:9] = [cells["Dry-bulb (C)"], cells["Dew-point (C)"], cells["RHum (%)"]]
        row[9] = str(int(cells["Pressure (mbar)"]) * 100)
        row[13:16] = [cells["GHI (W/m^2)"], cells["DNI (W/m^2)"], cells["DHI (W/m^2)"]]
        row[21] = cells["Wspd (m/s)"]
        rows.append(",".join(row))
    return heads + rows


def assert_same(year, other):
    for name in ("dry_bulb_c", "humidity_ratio", "wind_m_s", "ghi_w_m2", "facade_w_m2"):
        np.testing.assert_allclose(getattr(year, name), getattr(other, name), rtol=1e-12, err_msg=name)


def test_the_same_year_as_epw(reading, greensboro):
    assert_same(reading(as_epw(), "year.epw"), greensboro)


@pytest.mark.parametrize("name", ["year.txt", "year.csv", "YEAR.EPW"])
def test_the_kind_is_seen_from_the_lines(reading, greensboro, name):
    assert_same(reading(as_epw(), name), greensboro)
    assert_same(reading(TMY3, name), greensboro)


def test_short_gap_is_bridged_and_said(reading):
    year = reading(with_cells("Dry-bulb (C)", 500, 2, "-9900"))
    assert year.notes == ("2 hours of dry-bulb were missing and bridged in a straight line.",)
    before, after = (float(TMY3[index + 2].split(",")[HEADS.index("Dry-bulb (C)")]) for index in (499, 502))
    np.testing.assert_allclose(year.dry_bulb_c[500:502], [before + (after - before) * part / 3 for part in (1, 2)])


@pytest.mark.parametrize("value", ["", "-9900", "9999", "99.9", "abc", "nan", "inf"])
def test_marks_for_missing_are_seen(reading, value):
    year = reading(with_cells("Dry-bulb (C)", 500, 1, value))
    assert year.notes == ("1 hour of dry-bulb was missing and bridged in a straight line.",)


@pytest.mark.parametrize(
    ("place", "value", "label"),
    [
        (6, "99.9", "dry-bulb"),
        (9, "999999", "pressure"),
        (13, "9999", "global horizontal"),
        (14, "9999", "direct normal"),
        (15, "9999", "diffuse horizontal"),
        (21, "999", "wind"),
    ],
)
def test_marks_for_missing_in_epw_are_seen(reading, place, value, label):
    """EnergyPlus Auxiliary Programs manual, the field list of the weather file."""
    lines = as_epw()
    cells = lines[8 + 500].split(",")
    cells[place] = value
    lines[8 + 500] = ",".join(cells)
    assert reading(lines, "year.epw").notes == (f"1 hour of {label} was missing and bridged in a straight line.",)


def test_marks_for_missing_in_tmy2_are_seen(reading):
    """9999 in the dry-bulb's place, TMY2 manual table 3-2."""
    lines = list(TMY2)
    lines[501] = lines[501][:67] + "9999" + lines[501][71:]
    assert reading(lines, "y.tm2").notes == ("1 hour of dry-bulb was missing and bridged in a straight line.",)


def test_three_hours_are_bridged_and_four_are_not(reading):
    assert len(reading(with_cells("Wspd (m/s)", 100, 3, "-9900")).notes) == 1
    with pytest.raises(WeatherError, match=r"no believable wind for 4 hours from hour 101 \(day 5\): fill the gap"):
        reading(with_cells("Wspd (m/s)", 100, 4, "-9900"))


def test_the_first_long_gap_is_named(reading):
    lines = with_cells("Dry-bulb (C)", 5000, 60, "-9900", with_cells("Dry-bulb (C)", 500, 30, "-9900"))
    with pytest.raises(WeatherError, match=r"no believable dry-bulb for 30 hours from hour 501 \(day 21\)"):
        reading(lines)


def test_missing_dew_point_comes_from_relative_humidity(reading, greensboro):
    """A gap too long to bridge; relative humidity is given in whole percent, so half a percent of it is allowed for."""
    year = reading(with_cells("Dew-point (C)", 4000, 200, "-9900"))
    assert year.notes == ("200 hours of dew point were worked out from relative humidity.",)
    gap = slice(4000, 4200)
    ratio = year.humidity_ratio[gap] / greensboro.humidity_ratio[gap]
    assert np.abs(ratio - 1.0).max() < 0.03
    assert ratio.mean() == pytest.approx(1.0, abs=0.005)
    np.testing.assert_array_equal(np.delete(year.humidity_ratio, gap), np.delete(greensboro.humidity_ratio, gap))


def test_dew_point_and_relative_humidity_both_missing(reading):
    lines = with_cells("RHum (%)", 4000, 5, "-9900", with_cells("Dew-point (C)", 4000, 5, "-9900"))
    with pytest.raises(WeatherError, match="no believable dew point for 5 hours from hour 4001"):
        reading(lines)


def test_dew_point_above_dry_bulb_is_said(reading):
    year = reading(with_cells("Dew-point (C)", 4000, 1, "39.0"))
    assert year.notes == ("1 hour had a dew point above the dry-bulb and was taken as saturated.",)


@pytest.mark.parametrize("head", ["Dry-bulb (C)", "Pressure (mbar)", "Wspd (m/s)", "GHI (W/m^2)", "DNI (W/m^2)"])
def test_missing_column_is_refused(reading, head):
    with pytest.raises(WeatherError, match=r"lacks the column for .*: use a complete TMY3 file"):
        reading([TMY3[0], TMY3[1].replace(head, "Nothing"), *TMY3[2:]])


def test_missing_columns_of_humidity_are_refused(reading):
    without_dew = TMY3[1].replace("Dew-point (C)", "Nothing")
    assert "8760 hours of dew point" in reading([TMY3[0], without_dew, *TMY3[2:]]).notes[0]
    with pytest.raises(WeatherError, match="lacks the column for dew point"):
        reading([TMY3[0], without_dew.replace("RHum (%)", "None"), *TMY3[2:]])


def test_truncated_file_is_refused(reading):
    with pytest.raises(WeatherError, match=r"holds 1998 hours, expected 8,760"):
        reading(TMY3[:2000])
    with pytest.raises(WeatherError, match=r"holds 8759 hours, expected 8,760"):
        reading(TMY2[:-1], "year.tm2")


def test_hours_out_of_order_are_refused(reading):
    with pytest.raises(
        WeatherError, match=r"out of order at data row 1, .* month 7 day 1 hour 1, expected month 1 day 1"
    ):
        reading(TMY3[:2] + TMY3[2 + 181 * 24 :] + TMY3[2 : 2 + 181 * 24])
    with pytest.raises(WeatherError, match=r"out of order at data row 25, .*expected month 1 day 2 hour 1"):
        reading(TMY3[:26] + TMY3[2:26] + TMY3[50:])


def leap_tmy3():
    """The 29 February has the weather of 15 July, so that leaving out another day would show."""
    last = max(index for index, line in enumerate(TMY3) if line.startswith("02/28/"))
    extra = ["02/29/1996" + line[10:] for line in TMY3 if line.startswith("07/15/")]
    return TMY3[: last + 1] + extra + TMY3[last + 1 :]


def leap_epw():
    lines = as_epw(1996)
    last = max(index for index, line in enumerate(lines) if line.startswith("1996,2,28,"))
    extra = [line.replace("1996,7,15,", "1996,2,29,") for line in lines if line.startswith("1996,7,15,")]
    return lines[: last + 1] + extra + lines[last + 1 :]


@pytest.mark.parametrize(("lines", "name"), [(leap_tmy3(), "year.csv"), (leap_epw(), "year.epw")])
def test_leap_day_is_left_out_and_said(reading, greensboro, lines, name):
    year = reading(lines, name)
    assert year.notes == ("29 February was left out.",)
    assert_same(year, greensboro)


def test_leap_day_in_tmy2(reading):
    last = max(index for index, line in enumerate(TMY2) if line[3:7] == "0228")
    extra = [" 640229" + line[7:] for line in TMY2 if line[3:7] == "0715"]
    lines = TMY2[: last + 1] + extra + TMY2[last + 1 :]
    year = reading(lines, "year.tm2")
    assert year.notes == ("29 February was left out.",)
    assert_same(year, embedded_weather("miami-fl"))


@pytest.mark.parametrize("zone", ["5.0", "-8.0", "-3.0"])
def test_wrong_zone_is_refused(reading, zone):
    with pytest.raises(WeatherError, match=r"sun centred on 12\.\d h, expected .* correct the time zone"):
        reading(with_head("-5.0,", f"{zone},"))


def test_hours_in_another_clock_are_refused(reading):
    """The whole file five hours late, as if in UTC."""
    tails = [line[16:] for line in TMY3[2:]]
    late = [line[:16] + tail for line, tail in zip(TMY3[2:], tails[-5:] + tails[:-5], strict=True)]
    with pytest.raises(WeatherError, match="sun centred on 17"):
        reading(TMY3[:2] + late)


def test_places_beyond_the_date_line_are_read(reading, greensboro):
    """Clocks of UTC+13 at 169.95 degrees west (as Tonga's and Samoa's) stand to the sun as UTC-5 does at 79.95 degrees west."""
    year = reading(with_head("-5.0,36.100,-79.950", "13.0,36.100,-169.950"))
    np.testing.assert_allclose(year.facade_w_m2.sum(axis=0), greensboro.facade_w_m2.sum(axis=0), rtol=0.01)


def test_south_of_the_equator_the_north_wall_has_the_sun(reading, greensboro):
    """The same year half a year on, at the mirrored latitude: north and south change places (own-derivation; 3 %: the
    seasons are not of one length and the earth is nearest the sun in January)."""
    tails = [line[16:] for line in TMY3[2:]]
    shift = 182 * 24
    lines = [line[:16] + tail for line, tail in zip(TMY3[2:], tails[shift:] + tails[:shift], strict=True)]
    year = reading([*with_head("36.100", "-36.100")[:2], *lines])
    mirrored = greensboro.facade_w_m2.sum(axis=0)[[2, 1, 0, 3]]
    np.testing.assert_allclose(year.facade_w_m2.sum(axis=0), mirrored, rtol=0.03)


@pytest.mark.parametrize(
    ("old", "new", "label"),
    [("36.100", "136.1", "latitude 136.1"), ("-79.950", "-279.95", "longitude"), (",273", ",27300", "altitude")],
)
def test_a_station_nowhere_is_refused(reading, old, new, label):
    with pytest.raises(WeatherError, match=f"gives {label}.* in its first line, expected"):
        reading(with_head(old, new))


def test_a_head_without_zone_is_refused(reading):
    with pytest.raises(WeatherError, match="does not give its station in line 1"):
        reading(with_head("-5.0,", ","))


@pytest.mark.parametrize("encoding", ["latin-1", "utf-8", "utf-8-sig"])
def test_letters_beyond_ascii_in_the_place(reading, encoding):
    assert reading(with_head("GREENSBORO", "MAYAGÜEZ, PR"), encoding=encoding).place.startswith("Mayagüez, Pr Piedmont")


def test_tmy2_place_of_several_words(reading):
    assert reading([TMY2[0].replace("MIAMI          ", "WEST PALM BEACH"), *TMY2[1:]], "y.tm2").place == (
        "West Palm Beach, FL"
    )


def test_no_sun_is_refused(reading):
    with pytest.raises(WeatherError, match="no sun in the whole year"):
        reading(with_cells("GHI (W/m^2)", 0, 8760, "0"))


def test_what_is_no_weather_file_is_refused(reading, tmp_path):
    with pytest.raises(WeatherError, match="does not exist"):
        read_weather(tmp_path / "nothing.epw")
    with pytest.raises(WeatherError, match="unknown ending"):
        reading(["x"], "weather.xyz")
    for ending in (".epw", ".csv", ".tm2"):
        with pytest.raises(WeatherError, match="does not give its station in line 1"):
            reading([], f"empty{ending}")
    with pytest.raises(WeatherError, match="cannot be read as TMY2"):
        reading([TMY2[0], "some text"], "year.tm2")
    with pytest.raises(WeatherError, match="is not embedded: use one of"):
        embedded_weather("atlantis")
