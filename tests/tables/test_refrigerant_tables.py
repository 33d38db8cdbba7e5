"""The stored tables: whole, frozen, small, and what CoolProp says.

CoolProp is the source of the tables, so agreement with it shows that they were built and stored right; printed charts are in
tests/published/refrigerant.
"""

import numpy as np
import pytest

from airtrim.core.errors import InputError
from airtrim.physics.refrigerant import saturation as rs
from airtrim.tables import NAMES, build_refrigerants, refrigerant
from airtrim.tables.refrigerants import PATH, _read, digest


def test_the_file_is_small_and_holds_what_its_digest_says():
    assert PATH.stat().st_size < 200_000
    with np.load(PATH) as stored:
        assert str(stored["digest"]) == digest({key: stored[key] for key in stored.files})


def test_names_are_read_as_people_write_them():
    assert refrigerant("r410a") is refrigerant("R-410A") and refrigerant("R 454B").name == "R-454B"
    with pytest.raises(InputError, match=r"Refrigerant 'R-12' has no table: give one of R-22, R-32"):
        refrigerant("R-12")


@pytest.mark.parametrize("name", NAMES)
def test_arrays_are_finite_frozen_and_say_where_they_come_from(name):
    one = refrigerant(name)
    assert one.origin.startswith("CoolProp 8.")
    for values in one.table:
        assert np.all(np.isfinite(values))
        if isinstance(values, np.ndarray):
            with pytest.raises(ValueError, match="read-only"):
                values[0] = 0.0


def test_a_damaged_file_is_refused_in_one_sentence(tmp_path):
    path = tmp_path / "refrigerants.npz"
    with pytest.raises(InputError, match=r"cannot be read .*: install airtrim again"):
        _read(path)
    path.write_bytes(PATH.read_bytes()[:5000])
    with pytest.raises(InputError, match=r"cannot be read .*: install airtrim again"):
        _read(path)
    with np.load(PATH) as stored:
        arrays = {key: stored[key].copy() for key in stored.files}
    arrays["R-32/by_temperature"][3, 0, 0] += 1.0
    path = tmp_path / "changed.npz"
    np.savez_compressed(path, **arrays)
    with pytest.raises(InputError, match="is not what was stored with the release"):
        _read(path)


@pytest.mark.parametrize("name", NAMES)
def test_agreement_with_coolprop_off_the_nodes(name):
    """Saturation 0.001 K (asked: 0.05), enthalpy and density as `saturation` promises; steps that miss the nodes."""
    table, fluid = refrigerant(name).table, build_refrigerants.Fluid(build_refrigerants.FLUIDS[name][0])
    for t in np.arange(-39.9, 65.6, 2.93):
        for quality, temperature, density in (
            (0.0, rs.bubble_temperature_c, lambda one: rs.saturated_liquid_density_kg_m3(table, one)),
            (1.0, rs.dew_temperature_c, lambda one: rs.vapour_density_kg_m3(table, one, 0.0)),
        ):
            pressure, enthalpy, heaviness = fluid.saturated(t, quality)
            pressure_of = rs.dew_pressure_pa if quality else rs.bubble_pressure_pa
            ours = rs.vapour_enthalpy_j_kg(table, t, 0.0) if quality else rs.saturated_liquid_enthalpy_j_kg(table, t)
            assert temperature(table, pressure) == pytest.approx(t, abs=1e-4)
            assert pressure_of(table, t) == pytest.approx(pressure, rel=2e-6)
            assert ours == pytest.approx(enthalpy, abs=1.0)
            assert density(t) == pytest.approx(heaviness, rel=1e-4)
        dew_pa, bubble_pa = fluid.saturated(t, 1.0)[0], fluid.saturated(t, 0.0)[0]
        for offset in (0.7, 4.0, 11.0, 21.0, 38.0):
            enthalpy, heaviness = fluid.vapour(t + offset, dew_pa)
            assert rs.vapour_enthalpy_j_kg(table, t, offset) == pytest.approx(enthalpy, abs=1.0 if t < 30.0 else 100.0)
            assert rs.vapour_density_kg_m3(table, t, offset) == pytest.approx(
                heaviness, rel=1e-4 if t < 30.0 else 1.5e-3
            )
        for offset in (0.7, 4.0, 11.0, 28.0):
            if t > -6.0:
                liquid = fluid.liquid(t - offset, bubble_pa)
                assert rs.liquid_enthalpy_j_kg(table, t, offset) == pytest.approx(
                    liquid, abs=1.0 if t < 55.0 else 100.0
                )


@pytest.mark.parametrize("name", ["R-454B", "R-407C"])
def test_a_boiling_blend_is_coolprops(name):
    """0.005 K; R-407C's table is pseudo-pure, so its mixture is met at equal bubble point, not at equal pressure."""
    table, fluid = refrigerant(name).table, build_refrigerants.Fluid(build_refrigerants.FLUIDS[name][1])
    for t in np.arange(-30.0, 26.0, 4.7):
        theirs, ours = fluid.saturated(t, 0.0)[0], rs.bubble_pressure_pa(table, t)
        for quality in (0.08, 0.2, 0.5, 0.85):
            boiling, enthalpy = fluid.boiling(theirs, quality)
            assert rs.boiling_temperature_c(table, ours, quality) == pytest.approx(boiling, abs=5e-3)
            assert rs.boiling_enthalpy_j_kg(table, ours, quality) == pytest.approx(enthalpy, abs=150.0)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_building_again_gives_what_is_stored(name):
    """To float32's rounding and CoolProp's own last digits."""
    stored = refrigerant(name).table._asdict()
    for field, values in build_refrigerants.build(name).items():
        assert np.allclose(values, stored[field], rtol=1e-6, atol=1e-6 * float(np.max(np.abs(values))))
