"""The gate, the errors and the cache of compiled code."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
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


@si_gate(roof=CELSIUS, floor=lambda given: ("degC", -50.0, given["roof"]), returns="degC", source="own-derivation")
def below(floor, roof):
    return roof - floor


def test_bounds_may_depend_on_the_call_element_by_element():
    roof = Quantity([10.0, 20.0], "degC")
    assert below(Quantity([5.0, 15.0], "degC"), roof).m == pytest.approx([5.0, 5.0])
    with pytest.raises(errors.OutOfRangeError, match=r"floor must lie in -58 to 68 °F, got 2 values from 41 to 77"):
        below(Quantity([41.0, 77.0], "degF"), roof)


def test_to_si_refuses_what_is_not_a_number():
    with pytest.raises(errors.OutOfRangeError):
        to_si(Quantity(float("nan"), "degC"), CELSIUS, "the value")


def test_every_error_of_ours_is_of_one_tree():
    ours = [one for one in vars(errors).values() if isinstance(one, type) and issubclass(one, Exception)]
    assert len(ours) > 4 and all(issubclass(one, errors.AirtrimError) for one in ours)


def test_the_cache_of_compiled_code_changes_with_what_a_module_imports_and_with_nothing_else(tmp_path, monkeypatch):
    room = tmp_path / "room"
    room.mkdir()
    (room / "__init__.py").write_text("")
    (room / "kernel.py").write_text("from airtrim.room import (\n    helper,\n)\n")
    (room / "helper.py").write_text("from airtrim.far import x\n")
    (tmp_path / "far.py").write_text("x = 1\n")
    (tmp_path / "page.py").write_text("y = 1\n")
    monkeypatch.setattr(kernels, "_PACKAGE", tmp_path)

    def folder():
        kernels._imports.cache_clear()
        return kernels.cache_folder("airtrim.room.kernel")

    before = folder()
    (tmp_path / "page.py").write_text("y = 2\n")
    assert folder() == before
    (tmp_path / "far.py").write_text("x = 2\n")
    assert folder() != before
    assert kernels.cache_folder("airtrim.page") not in (before, folder())


PLAIN = """
import json, sys
import numpy as np
sys.path[:0] = [{root!r}, {src!r}]
from airtrim.physics.season.many import first_state
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.unit.steady import unit_state
from tests.physics.season.season_cases import humid_year, invented_systems
from tests.physics.unit.unit_cases import MIDDLE, MIDDLE_ORIFICE
from airtrim.physics.season.layout import parameter_rows
from tests.physics.season.season_cases import days_of
systems, weather = invented_systems(1), humid_year()
row = parameter_rows(systems, AirflowProgram(cooling_flow=0.8, least_flow=0.6, coil_sensor_drop_k=14.0), systems.fan_watts)[0]
state = first_state(row[:, None], weather)[:, 0].copy()
sums = days_of(row, systems, state, [200], 60.0)
units = [list(unit_state(25.0, 0.010, 33.0, 0.6, 101325.0, one)[:6]) for one in (MIDDLE, MIDDLE_ORIFICE)]
print(json.dumps([list(state), list(sums.values()), units]))
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


AIR = """
import json, sys
import numpy as np
sys.path.insert(0, {src!r})
from airtrim.core.units import Quantity
from airtrim.physics.air import moist, states
from airtrim.physics.air.many import air_states
t, rh = np.array([-30.0, -3.0, 1.0, 25.0, 44.0, 70.0]), np.array([0.9, 0.5, 0.2, 0.55, 0.1, 0.3])
lanes = np.concatenate(air_states(t, rh, 95000.0))
ratio = moist.humidity_ratio_from_relative_humidity(25.0, 0.55, 95000.0)
wet = states.wet_bulb(Quantity(np.full(3, 25.0), "degC"), Quantity(ratio, ""), Quantity(95.0, "kPa")).m
dry = states.temperature_from_wet_bulb(Quantity(18.0, "degC"), Quantity(0.4, ""), Quantity(95.0, "kPa")).m
print(json.dumps([*lanes, *wet, float(dry), moist.dew_point_c(ratio, 95000.0)]))
"""


@pytest.mark.nojit
def test_moist_air_says_the_same_as_plain_python():
    """Lanes, solvers and the checked functions, compiled and not: to 1e-9 of each value (sums are reordered)."""
    import json

    answers = []
    for plain in ("0", "1"):
        environment = os.environ | {"NUMBA_DISABLE_JIT": plain}
        program = [sys.executable, "-c", AIR.format(src=str(ROOT / "src"))]
        done = subprocess.run(program, env=environment, capture_output=True, text=True, check=True)
        answers.append(json.loads(done.stdout))
    assert answers[0] == pytest.approx(answers[1], rel=1e-9, abs=1e-12)


def test_every_kernel_keeps_its_plain_form():
    """Found by looking through all of physics; the plain form of a formula gives what the compiled one gives."""
    import importlib
    import pkgutil

    from airtrim import physics

    found = 0
    for module in pkgutil.walk_packages(physics.__path__, "airtrim.physics."):
        for name, one in vars(importlib.import_module(module.name)).items():
            if hasattr(one, "inspect_llvm"):
                found += 1
                assert callable(one.reference) and one.reference.__name__ == name
                assert not hasattr(one.reference, "inspect_llvm")
    assert found > 40
    from airtrim.physics.air.moist import enthalpy_j_kg

    assert enthalpy_j_kg.reference(25.0, 0.01) == pytest.approx(enthalpy_j_kg(25.0, 0.01), rel=1e-14)


REQUIRED = """
import pytest
@pytest.mark.browser
def test_needs_a_browser():
    assert pytest.__version__
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


@kernels.kernel
def _fused(x: float, y: float, z: float) -> float:
    return kernels.fma(x, y, z)


def test_the_fused_multiply_add_is_rounded_once_and_the_same_in_plain_python():
    """IEEE 754-2008, 5.4.1: fusedMultiplyAdd rounds the exact x y + z once."""
    tiny = 2.0**-30
    assert (
        kernels.fma(1.0 + tiny, 1.0 + tiny, -1.0 - 2.0 * tiny)
        == tiny * tiny
        == _fused(1.0 + tiny, 1.0 + tiny, -1.0 - 2.0 * tiny)
    )
    draws = np.random.default_rng(3).normal(size=(2000, 3)) * 10.0 ** np.arange(-8, 8, 0.008)[:, None]
    for x, y, z in draws:
        assert _fused(x, y, z) == kernels.fma(x, y, z)
    for x, y, z in ((0.0, -1.0, 0.0), (-0.0, 1.0, -0.0), (np.inf, 1.0, 0.0), (1.0, np.nan, 1.0)):
        np.testing.assert_array_equal(
            np.float64(_fused(x, y, z)).view(np.int64) >> 63, np.float64(kernels.fma(x, y, z)).view(np.int64) >> 63
        )
        np.testing.assert_equal(_fused(x, y, z), kernels.fma(x, y, z))
