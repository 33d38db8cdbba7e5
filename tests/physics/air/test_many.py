"""Long arrays of moist air: the exact forms' answer everywhere, frost and impossible air included, and really in lanes."""

import os
import platform
import subprocess
import sys

import numpy as np
import psychrolib
import pytest

from airtrim.core.errors import InputError
from airtrim.physics.air import many, moist
from airtrim.physics.air.many import air_states

SEA = 101325.0


def exact_states(t, rh, p):
    ratio = np.array([moist.humidity_ratio_from_relative_humidity(*one) for one in zip(t, rh, p, strict=True)])
    wet_bulb = np.array([moist.wet_bulb_c(*one) for one in zip(t, ratio, p, strict=True)])
    return ratio, np.array([moist.enthalpy_j_kg(*one) for one in zip(t, ratio, strict=True)]), wet_bulb


@pytest.mark.parametrize(
    ("low", "high", "wet_bulb_k"),
    [(5.0, 45.0, 5e-8), (-20.0, 5.0, 5e-8), (0.0, 60.0, 1e-6), (-60.0, 85.0, 1e-6), (-0.02, 0.03, 1e-6)],
)
def test_arrays_are_the_exact_forms(low, high, wet_bulb_k):
    """own-derivation: two roads to one number, any humidity from none to saturation, any altitude to 4,300 m."""
    generator = np.random.default_rng(8)
    count = 6000
    t, p = generator.uniform(low, high, count), generator.uniform(60000.0, 108000.0, count)
    rh = generator.uniform(0.0, 1.0, count)
    rh[:100], rh[100:200] = 0.0, 1.0
    ratio, enthalpy, wet_bulb = air_states(t, rh, p)
    expected = exact_states(t, rh, p)
    np.testing.assert_allclose(ratio, expected[0], rtol=2e-9)
    np.testing.assert_allclose(enthalpy, expected[1], rtol=0.0, atol=1e-3)
    np.testing.assert_allclose(wet_bulb, expected[2], rtol=0.0, atol=wet_bulb_k)


def test_frost_and_thaw_part_where_the_exact_form_parts_them():
    """Right beside the jump between an ice and a water wick, to a part in 1e8 of humidity ratio on either side."""
    for dry in (0.02, 0.5, 2.0, 5.0, 9.0):
        for pressure in (70000.0, SEA):
            edge = moist.humidity_ratio_from_wet_bulb(dry, 0.0, pressure)
            humidity = moist.relative_humidity(dry, edge, pressure) * (
                1.0 + np.array([-1e-3, -1e-6, -1e-8, 1e-8, 1e-6])
            )
            t, p = np.full(5, dry), np.full(5, pressure)
            got = air_states(t, humidity, p)[2]
            np.testing.assert_allclose(got, exact_states(t, humidity, p)[2], rtol=0.0, atol=1e-6)
            assert np.all(got[:3] < 0.0) and np.all(got[3:] >= 0.0)


def test_arrays_against_psychrolib():
    """PsychroLib 2.5.0 [psychrolib]: 1e-4 relative or 20 J/kg; wet bulb 0.002 K, as its bisection stops at 0.001 K."""
    generator = np.random.default_rng(9)
    t, rh, p = (
        generator.uniform(-20.0, 45.0, 800),
        generator.uniform(0.1, 0.98, 800),
        generator.uniform(75000.0, SEA, 800),
    )
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio, enthalpy, wet_bulb = air_states(t, rh, p)
    theirs = psychrolib.GetHumRatioFromRelHum(t, rh, p)
    np.testing.assert_allclose(ratio, theirs, rtol=1e-4)
    np.testing.assert_allclose(enthalpy, psychrolib.GetMoistAirEnthalpy(t, theirs), rtol=1e-4, atol=20.0)
    clear = np.abs(wet_bulb) > 0.6  # nearer to freezing its bisection may land on either wick
    assert clear.sum() > 700
    by_bisection = psychrolib.GetTWetBulbFromHumRatio(t[clear], theirs[clear], p[clear])
    np.testing.assert_allclose(wet_bulb[clear], by_bisection, rtol=0.0, atol=0.002)


def test_impossible_air_is_not_a_number_and_spoils_no_neighbour():
    t, rh, p = np.full(1500, 25.0), np.full(1500, 0.5), np.full(1500, SEA)
    t[700], rh[701], p[702], rh[703], t[704] = np.nan, 1.4, np.nan, -0.1, np.inf
    ratio, enthalpy, wet_bulb = air_states(t, rh, p)
    assert np.isnan(ratio[[700, 702]]).all() and np.isnan(enthalpy[[700, 702]]).all()
    assert np.isnan(wet_bulb[700:705]).all()
    others = np.r_[0:700, 705:1500]
    assert np.ptp(wet_bulb[others]) < 1e-12 and np.isfinite(ratio[others]).all()
    assert np.isnan(air_states(np.full(3, np.nan), np.full(3, 0.5), np.full(3, SEA))[2]).all()


def test_arrays_broadcast_and_keep_their_shape():
    ratio, _, wet_bulb = air_states(np.array([[20.0], [30.0]]), np.array([0.2, 0.5, 0.8]), SEA)
    assert ratio.shape == wet_bulb.shape == (2, 3)
    assert wet_bulb[1, 1] == pytest.approx(moist.wet_bulb_c(30.0, ratio[1, 1], SEA), abs=1e-6)
    assert air_states(np.empty(0), np.empty(0), SEA)[0].shape == (0,)


def test_answers_can_be_written_into_an_array_of_the_callers():
    t, out = np.linspace(-10.0, 40.0, 700), np.empty((3, 700))
    fresh, written = air_states(t, 0.5, SEA), air_states(t, 0.5, SEA, out)
    assert all(np.array_equal(one, other) for one, other in zip(fresh, out, strict=True))
    assert all(np.shares_memory(one, out) for one in written)
    for wrong in (np.empty((3, 699)), np.empty((3, 700), np.float32), np.empty((700, 3)).T):
        with pytest.raises(InputError, match=r"out must be a contiguous float64 array of shape \(3, 700\)"):
            air_states(t, 0.5, SEA, wrong)


def test_no_state_depends_on_its_place_in_the_array():
    """Warm and frosty stretches, mixed and apart, cross the blocks and the changes of lanes."""
    generator = np.random.default_rng(10)
    t = np.concatenate([generator.uniform(*ends, 1300) for ends in ((10, 40), (-20, -5), (-5, 12), (61, 70), (20, 30))])
    rh = generator.uniform(0.05, 1.0, len(t))
    together = air_states(t, rh, SEA)
    order = generator.permutation(len(t))
    shuffled = air_states(t[order], rh[order], SEA)
    for one, other in zip(together, shuffled, strict=True):
        np.testing.assert_allclose(one[order], other, rtol=0.0, atol=1e-6 * max(1.0, np.max(np.abs(one)) * 1e-3))


PROBE = """
import numpy as np
from airtrim.physics.air import many
for lanes in (many._warm_lanes, many._frost_lanes):
    lanes(*(np.full(64, one) for one in (20.0, 0.5, 101325.0, 0.0, 0.0, 0.0)))
    code = next(iter(lanes.inspect_asm().values()))
    print(code.count("divpd"), code.count("sqrtpd"), code.count("mulpd") + code.count("fmadd"))
"""


@pytest.mark.skipif(platform.machine() not in ("x86_64", "AMD64"), reason="x86 instructions are looked for")
def test_the_lanes_are_vectorised(tmp_path):
    """Packed divides, roots and multiply-adds in machine code compiled afresh: their loss would be silent and threefold."""
    environment = os.environ | {"NUMBA_CACHE_DIR": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    program = [sys.executable, "-c", PROBE]
    said = subprocess.run(program, env=environment, capture_output=True, text=True, check=True).stdout
    for line in said.splitlines():
        divides, roots, products = map(int, line.split())
        assert divides >= 3 and roots >= 1 and products > 40
    assert len(said.splitlines()) == 2


def test_polynomials_of_the_lanes_against_the_handbook_formulas():
    for t in np.linspace(many.THAWED_C, many.HOTTEST_C, 500):
        assert many._water(t) == pytest.approx(moist.saturation_pressure_pa(t), rel=5e-10)
    for t in np.linspace(many.COLDEST_C, 0.01, 500):
        assert many._ice(t) == pytest.approx(moist.saturation_pressure_pa(t), rel=2e-9)
