"""Weather files: the embedded years against their own lines, and files that are broken."""

import csv
import os
from pathlib import Path

import numpy as np
import pvlib
import pytest

from airtrim.core.errors import WeatherError
from airtrim.weather.files import EMBEDDED, embedded_weather, read_weather

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO = DATA / EMBEDDED["greensboro-nc"]


def more_weather(name: str) -> Path:
    folder = os.environ.get("AIRTRIM_WEATHER")
    if not folder:
        pytest.skip("AIRTRIM_WEATHER=DIR is not set: no further weather files")
    return Path(folder) / name


def test_greensboro_equals_the_lines_of_its_file():
    """NREL TMY3 723170, read independently with the csv module."""
    with GREENSBORO.open() as handle:
        rows = list(csv.reader(handle))
    heads, lines = rows[1], rows[2:]
    year = embedded_weather("greensboro-nc")
    for hour in (0, 4000, 8759):
        assert year.dry_bulb_c[hour] == float(lines[hour][heads.index("Dry-bulb (C)")])
        assert year.ghi_w_m2[hour] == float(lines[hour][heads.index("GHI (W/m^2)")])
        assert year.wind_m_s[hour] == float(lines[hour][heads.index("Wspd (m/s)")])
    assert year.ghi_w_m2.sum() == sum(float(line[heads.index("GHI (W/m^2)")]) for line in lines)


def test_miami_equals_the_columns_of_its_file():
    """NREL TMY2 12839: dry-bulb in tenths of a degree at columns 68 to 71 of each line (TMY2 manual, table 3-2)."""
    lines = (DATA / EMBEDDED["miami-fl"]).read_text().splitlines()[1:]
    year = embedded_weather("miami-fl")
    for hour in (0, 4000, 8759):
        assert year.dry_bulb_c[hour] == pytest.approx(float(lines[hour][67:71]) / 10.0)


@pytest.mark.parametrize("name", list(EMBEDDED))
def test_embedded_years_are_whole_and_plausible(name):
    year = embedded_weather(name)
    assert year.facade_w_m2.shape == (8760, 4)
    sums = year.facade_w_m2.sum(axis=0) / 1000.0
    assert sums[0] < min(sums[1:])  # the north wall sees least sun in the northern hemisphere
    assert year.facade_w_m2[np.arange(8760) % 24 == 1].sum() == 0.0  # no sun at 1 h
    assert 0.005 < year.design_humidity_ratio < 0.022
    assert (
        (year.dry_bulb_c > year.design_dry_bulb_c).mean() <= 0.01 <= (year.dry_bulb_c >= year.design_dry_bulb_c).mean()
    )
    assert year.notes == ()


def broken(tmp_path: Path, change) -> Path:
    lines = GREENSBORO.read_text().splitlines()
    path = tmp_path / "broken.csv"
    path.write_text("\n".join(change(lines)) + "\n")
    return path


def without_dry_bulb(lines, first, count):
    column = next(csv.reader([lines[1]])).index("Dry-bulb (C)")
    for index in range(first + 2, first + 2 + count):
        cells = lines[index].split(",")
        cells[column] = "-9900"
        lines[index] = ",".join(cells)
    return lines


def test_short_gap_is_bridged_and_said(tmp_path):
    year = read_weather(broken(tmp_path, lambda lines: without_dry_bulb(lines, 500, 2)))
    assert year.notes == ("2 hours of dry-bulb were missing and bridged in a straight line.",)


def test_long_gap_is_refused(tmp_path):
    with pytest.raises(WeatherError, match=r"no believable dry-bulb for 30 hours from hour 501 \(day 21\)"):
        read_weather(broken(tmp_path, lambda lines: without_dry_bulb(lines, 500, 30)))


def test_truncated_file_is_refused(tmp_path):
    with pytest.raises(WeatherError, match=r"holds 1998 hours, expected 8,760"):
        read_weather(broken(tmp_path, lambda lines: lines[:2000]))


def test_wrong_zone_is_refused(tmp_path):
    def shifted(lines):
        lines[0] = lines[0].replace("-5.0", "5.0")
        return lines

    with pytest.raises(WeatherError, match="correct the time zone"):
        read_weather(broken(tmp_path, shifted))


def test_missing_column_is_refused(tmp_path):
    def renamed(lines):
        lines[1] = lines[1].replace("Dew-point (C)", "Nothing")
        return lines

    with pytest.raises(WeatherError, match="lacks the column for dew point"):
        read_weather(broken(tmp_path, renamed))


def test_no_file_and_unknown_ending(tmp_path):
    with pytest.raises(WeatherError, match="does not exist"):
        read_weather(tmp_path / "nothing.epw")
    other = tmp_path / "weather.xyz"
    other.write_text("x")
    with pytest.raises(WeatherError, match="unknown ending"):
        read_weather(other)


def test_denver_sun_on_walls_lies_within_the_reference_results():
    """ASHRAE 140-2020 section 7, NREL/TP-5500-77628: annual incident sun, kWh/m2, the range of six programs."""
    year = read_weather(more_weather("CO-Denver_Intl_Ap.tmy3"))
    north, east, south, west = year.facade_w_m2.sum(axis=0) / 1000.0
    assert 1663.0 <= year.ghi_w_m2.sum() / 1000.0 <= 1672.0
    assert 1291.0 <= south <= 1387.0
    assert 1017.0 <= east <= 1068.0
    assert 903.0 <= west <= 997.0
    assert 399.0 <= north <= 477.0


def test_one_station_in_two_formats_agrees():
    """Tampa International, TMY3 and EPW of the same NREL year."""
    tmy3 = read_weather(more_weather("FL-Tampa_International_Ap.tmy3"))
    epw = read_weather(more_weather("USA_FL_Tampa.Intl.AP.722110_TMY3.epw"))
    np.testing.assert_allclose(tmy3.dry_bulb_c, epw.dry_bulb_c, atol=0.05)
    np.testing.assert_allclose(tmy3.humidity_ratio, epw.humidity_ratio, atol=3e-4)
    np.testing.assert_allclose(tmy3.facade_w_m2.sum(axis=0), epw.facade_w_m2.sum(axis=0), rtol=0.005)
