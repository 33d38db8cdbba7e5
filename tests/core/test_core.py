"""The gate, the errors and the cache of compiled code."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from airtrim.core import errors, kernels
from airtrim.core.units import Quantity, si_gate, to_si

ROOT = Path(__file__).resolve().parents[2]
CELSIUS = ("degC", -50.0, 90.0)


@si_gate(temperature=CELSIUS, returns="degC", source="own-derivation")
def doubled(temperature):
    return 2.0 * temperature


def test_the_gate_takes_any_unit_of_the_dimension_and_gives_one_back():
    assert doubled(Quantity(50.0, "degF")).m_as("degC") == pytest.approx(20.0)


def test_errors_speak_in_the_callers_own_unit():
    with pytest.raises(errors.OutOfRangeError, match=r"temperature must lie in -58 to 194 °F, got 300 °F"):
        doubled(Quantity(300.0, "degF"))
    with pytest.raises(errors.UnitError, match="convertible"):
        doubled(Quantity(3.0, "psi"))
    with pytest.raises(errors.UnitError, match="needs a unit"):
        doubled(20.0)


def test_to_si_refuses_what_is_not_a_number():
    with pytest.raises(errors.OutOfRangeError):
        to_si(Quantity(float("nan"), "degC"), CELSIUS, "the value")


def test_every_error_of_ours_is_of_one_tree():
    ours = [one for one in vars(errors).values() if isinstance(one, type) and issubclass(one, Exception)]
    assert len(ours) > 4 and all(issubclass(one, errors.AirtrimError) for one in ours)


def test_the_cache_of_compiled_code_changes_with_any_source(tmp_path, monkeypatch):
    (tmp_path / "a.py").write_text("x = 1")
    monkeypatch.setattr(kernels, "_PACKAGE", tmp_path)
    before = kernels._cache_folder()
    assert kernels._cache_folder() == before
    (tmp_path / "a.py").write_text("x = 2")
    assert kernels._cache_folder() != before


PLAIN = """
import json, sys
import numpy as np
sys.path[:0] = [{root!r}, {src!r}]
from airtrim.physics.season import year
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.unit.steady import unit_state
from tests.physics.season.season_cases import humid_year, invented_systems
from tests.physics.unit.unit_cases import MIDDLE, MIDDLE_ORIFICE
from airtrim.physics.season.layout import parameter_rows
from airtrim.physics.season.day import advance_day
systems, weather = invented_systems(1), humid_year()
row = parameter_rows(systems, AirflowProgram(cooling_flow=0.8, least_flow=0.6, coil_sensor_drop_k=14.0), systems.fan_watts)[0]
state, sums = year._first_state(row, weather), np.zeros(len(year.SUMS))
advance_day(200, 60.0, weather.pressure_pa, weather.dry_bulb_c, weather.humidity_ratio, weather.wind_m_s, weather.ghi_w_m2,
            weather.facade_w_m2, row, systems.surfaces[0], state, sums)
units = [list(unit_state(25.0, 0.010, 33.0, 0.6, 101325.0, one)[:6]) for one in (MIDDLE, MIDDLE_ORIFICE)]
print(json.dumps([list(state), list(sums), units]))
"""


@pytest.mark.nojit
def test_kernels_say_the_same_as_plain_python():
    """One day of the season and the unit in balance, compiled and not: to 1e-9 of each value (sums are reordered)."""
    import json

    program = PLAIN.format(root=str(ROOT), src=str(ROOT / "src"))
    answers = []
    for plain in ("0", "1"):
        environment = os.environ | {"NUMBA_DISABLE_JIT": plain}
        done = subprocess.run(
            [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True
        )
        answers.append(json.loads(done.stdout))
    compiled, by_hand = ([*answer[0], *answer[1], *answer[2][0], *answer[2][1]] for answer in answers)
    assert compiled == pytest.approx(by_hand, rel=1e-9, abs=1e-12)


REQUIRED = """
import pytest
@pytest.mark.browser
def test_needs_a_browser():
    assert True
"""


def _run(folder, **environment):
    (folder / "test_it.py").write_text(REQUIRED)
    (folder / "conftest.py").write_text((ROOT / "tests" / "conftest.py").read_text())
    command = [sys.executable, "-m", "pytest", "-c", str(ROOT / "pyproject.toml"), str(folder)]
    bare = {key: value for key, value in os.environ.items() if key != "AIRTRIM_REQUIRE_BROWSER"} | {"PATH": str(folder)}
    return subprocess.run(command, cwd=ROOT, env=bare | environment, capture_output=True, text=True, check=False)


def test_what_cannot_run_is_skipped_with_one_counted_sentence_or_refused_where_promised(tmp_path):
    skipped = _run(tmp_path)
    assert skipped.returncode == 0 and "Skipped here: 1 because Chromium is not installed" in skipped.stdout
    refused = _run(tmp_path, AIRTRIM_REQUIRE_BROWSER="1")
    assert (
        refused.returncode != 0
        and "must run here but cannot: Chromium is not installed" in refused.stderr + refused.stdout
    )
