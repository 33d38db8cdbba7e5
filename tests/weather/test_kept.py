"""Years kept on disk: the same year back, and a damaged or missing file costs time only."""

from dataclasses import fields

import numpy as np
import pytest

from airtrim.weather import kept as keeping
from airtrim.weather.files import embedded_path, read_weather, weather_for
from airtrim.weather.kept import kept
from airtrim.weather.year import WeatherYear


@pytest.fixture(scope="module")
def year():
    return read_weather(embedded_path("greensboro-nc"))


class Maker:
    def __init__(self, year):
        self.year, self.calls = year, 0

    def __call__(self):
        self.calls += 1
        return self.year


def assert_same(one, other):
    for field in fields(WeatherYear):
        a, b = getattr(one, field.name), getattr(other, field.name)
        if isinstance(a, np.ndarray):
            # a kernel compiles anew for another kind of array
            assert a.dtype == b.dtype and a.flags.c_contiguous and a.flags.writeable == b.flags.writeable, field.name
            np.testing.assert_array_equal(a, b)
        else:
            assert a == b, field.name


def test_a_year_comes_back_as_it_was(year, tmp_path):
    make = Maker(year)
    assert kept(b"x", make, tmp_path) is year
    assert_same(kept(b"x", make, tmp_path), year)
    assert make.calls == 1
    kept(b"y", make, tmp_path)
    assert make.calls == 2 and not list(tmp_path.glob("*.part"))


def damaged(raw, kind):
    middle = len(raw) // 2
    return {
        "cut": raw[:middle],
        "empty": b"",
        "no zip": b"x" * 1000,
        "one byte": raw[:middle] + bytes([raw[middle] ^ 1]) + raw[middle + 1 :],
    }[kind]


@pytest.mark.parametrize("kind", ["cut", "empty", "no zip", "one byte"])
def test_a_damaged_file_is_made_again_and_mended(year, tmp_path, kind):
    make = Maker(year)
    kept(b"x", make, tmp_path)
    (path,) = tmp_path.glob("*.npz")
    path.write_bytes(damaged(path.read_bytes(), kind))
    assert_same(kept(b"x", make, tmp_path), year)
    assert make.calls == 2
    assert_same(kept(b"x", make, tmp_path), year)
    assert make.calls == 2


def test_contents_that_were_changed_whole_are_not_believed(year, tmp_path):
    make = Maker(year)
    kept(b"x", make, tmp_path)
    (path,) = tmp_path.glob("*.npz")
    with np.load(path) as stored:
        arrays = {key: stored[key] for key in stored.files}
    arrays["dry_bulb_c"] = arrays["dry_bulb_c"] + 1.0
    np.savez(path, **arrays)
    assert_same(kept(b"x", make, tmp_path), year)
    assert make.calls == 2


def test_a_folder_that_cannot_be_written_costs_time_only(year, tmp_path):
    (tmp_path / "file").write_text("")
    make = Maker(year)
    for _ in range(2):
        assert_same(kept(b"x", make, tmp_path / "file" / "below"), year)
    assert make.calls == 2


def test_the_oldest_go_first(year, tmp_path, monkeypatch):
    import os

    monkeypatch.setattr(keeping, "MOST_KEPT", 3)
    for number in range(5):
        kept(bytes([number]), Maker(year), tmp_path)
        for age, path in enumerate(sorted(tmp_path.glob("*.npz"), key=lambda one: -one.stat().st_mtime)):
            os.utime(path, (1e9 - age, 1e9 - age))
    assert len(list(tmp_path.glob("*.npz"))) == 3
    make = Maker(year)
    kept(bytes([4]), make, tmp_path)
    assert make.calls == 0


def test_a_changed_weather_file_is_another_year(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    path = tmp_path / "year.csv"
    text = embedded_path("greensboro-nc").read_text()
    path.write_text(text)
    first = weather_for(str(path))
    assert_same(weather_for(str(path)), first)
    path.write_text(text.replace("GREENSBORO", "SUMMERFIELD"))
    assert weather_for(str(path)).place.startswith("Summerfield")
