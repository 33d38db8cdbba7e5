"""Long arrays of moist air: the same as state by state, over freezing, drought and impossible air; really run in lanes."""

import platform
import subprocess
import sys

import numpy as np
import psychrolib
import pytest

from airtrim.physics.air import moist
from airtrim.physics.air.many import air_states


@pytest.mark.parametrize(("low", "high", "count"), [(5.0, 45.0, 6000), (-30.0, 6.0, 2000), (45.0, 80.0, 1000)])
def test_arrays_are_the_exact_forms(low, high, count):
    rng = np.random.default_rng(8)
    t, rh, p = rng.uniform(low, high, count), rng.uniform(0.0, 1.0, count), rng.uniform(70000.0, 105000.0, count)
    ratio, enthalpy, wet_bulb = air_states(t, rh, p)
    exact = np.array([moist.humidity_ratio_from_relative_humidity(*one) for one in zip(t, rh, p, strict=True)])
    np.testing.assert_allclose(ratio, exact, rtol=1e-8)
    np.testing.assert_allclose(enthalpy, [moist.enthalpy_j_kg(*one) for one in zip(t, exact, strict=True)], atol=0.01)
    by_one = np.array([moist.wet_bulb_c(*one) for one in zip(t, exact, p, strict=True)])
    np.testing.assert_allclose(wet_bulb, by_one, atol=2e-6)


def test_arrays_against_psychrolib():
    """PsychroLib 2.5.0 [psychrolib], 5 to 45 C: 1e-4 relative or 20 J/kg, wet bulb 0.002 K (its own bisection stops at 0.001)."""
    rng = np.random.default_rng(9)
    t, rh, p = rng.uniform(5.0, 45.0, 500), rng.uniform(0.1, 0.98, 500), rng.uniform(75000.0, 101325.0, 500)
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio, enthalpy, wet_bulb = air_states(t, rh, p)
    for k in range(500):
        assert ratio[k] == pytest.approx(psychrolib.GetHumRatioFromRelHum(t[k], rh[k], p[k]), rel=1e-4)
        assert enthalpy[k] == pytest.approx(psychrolib.GetMoistAirEnthalpy(t[k], ratio[k]), rel=1e-4, abs=20.0)
        if wet_bulb[k] > 0.6:
            assert wet_bulb[k] == pytest.approx(psychrolib.GetTWetBulbFromRelHum(t[k], rh[k], p[k]), abs=0.002)


def test_impossible_air_is_not_a_number_and_spoils_no_neighbour():
    t, rh, p = np.full(9, 25.0), np.full(9, 0.5), np.full(9, 101325.0)
    t[2], rh[5] = np.nan, 1.4
    ratio, _, wet_bulb = air_states(t, rh, p)
    assert np.isnan(ratio[2]) and np.isnan(wet_bulb[[2, 5]]).all()
    assert len(set(wet_bulb[[0, 1, 3, 4, 6, 7, 8]])) == 1


PROBE = """
import numpy as np
from airtrim.physics.air import many
a = np.full(64, 20.0)
many._lanes(a, a / 40, a * 5000, a.copy(), a.copy(), a.copy())
print(next(iter(many._lanes.inspect_asm().values())))
"""


@pytest.mark.skipif(platform.machine() not in ("x86_64", "AMD64"), reason="looks for x86 instructions")
def test_the_lanes_are_vectorised(tmp_path):
    """Packed divides and multiply-adds in the machine code, compiled afresh."""
    import os

    environment = os.environ | {"NUMBA_CACHE_DIR": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    code = subprocess.run(
        [sys.executable, "-c", PROBE], env=environment, capture_output=True, text=True, check=True
    ).stdout
    assert code.count("divpd") >= 4 and (code.count("mulpd") + code.count("fmadd")) > 20
