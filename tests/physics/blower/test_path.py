"""Ducts, filter and coil: exponents, fitting from pressures, frost, face velocity."""

import tomllib
from pathlib import Path as FilePath

import numpy as np
import pytest

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.physics.blower.path import (
    COIL_EXPONENT,
    DUCT_EXPONENT,
    EXPONENT_SIGMA,
    FILTER_EXPONENT,
    Path,
    Resistance,
    StaticReading,
    carries_over,
    carry_over_limit_m_s,
    face_velocity_m_s,
    fit_path,
    frosted_coil_factor,
    path_pressure,
)

FOLDER = FilePath(__file__).resolve().parents[2] / "published" / "blower"
COIL = tomllib.loads((FOLDER / "dry_coil.toml").read_text())
INCH, FPM = 249.08891, 0.00508


def published_errors(table):
    """A line of our exponent, its level by the whole row, against every value: a printed digit is allowed."""
    speed, found = np.array(table["fpm"], dtype=float), []
    for fins, pressures in table["pressures"].items():
        printed = np.array(pressures)
        level = np.exp(np.mean(np.log(printed / speed**COIL_EXPONENT)))
        errors = level * speed**COIL_EXPONENT - printed
        found += [
            (f"{fins} fins an inch at {fpm:g} fpm", float(error), table["tolerance"]["absolute"])
            for fpm, error in zip(speed, errors, strict=True)
        ]
    return found


def test_a_catalogues_dry_coil_has_our_exponent():
    for what, error, allowed in published_errors(COIL):
        assert abs(error) <= allowed * (1.0 + 1e-12), what


def test_a_coil_read_at_four_speeds_is_fitted():
    speed, printed = COIL["fpm"], COIL["pressures"]["8"]
    readings = [StaticReading(fpm * FPM, coil_pa=inches * INCH) for fpm, inches in zip(speed, printed, strict=True)]
    fit = fit_path(readings)
    assert 1.4 <= fit.path.coil_exponent <= 1.9
    assert fit.exponent_sigma[2] < 0.12  # the readings told something
    assert max(abs(off) for _, _, off in fit.residuals) < COIL["tolerance"]["absolute"] * INCH


TRUE = Path(150.0, 60.0, 80.0, 1.95, 1.3, 1.7)


def readings(*flows, known=True):
    made = []
    for number, flow in enumerate(flows):
        drops = [coefficient * flow**exponent for coefficient, exponent in zip(TRUE[:3], TRUE[3:], strict=True)]
        made.append(StaticReading(flow if known or number == 0 else None, *drops))
    return made


def test_one_speed_keeps_the_usual_exponents():
    path = fit_path(readings(0.6)).path
    assert path[3:] == pytest.approx((DUCT_EXPONENT, FILTER_EXPONENT, COIL_EXPONENT), abs=1e-9)
    assert path_pressure(0.6, path, Resistance())[0] == pytest.approx(
        path_pressure(0.6, TRUE, Resistance())[0], rel=1e-9
    )


def test_more_speeds_move_the_exponents_to_the_truth():
    """Own invention: pressures made with other exponents; the fit of five speeds lies nearer to them than the usual ones do."""
    fit = fit_path(readings(0.25, 0.35, 0.45, 0.6, 0.8))
    path = fit.path
    assert all(sigma < usual for sigma, usual in zip(fit.exponent_sigma, EXPONENT_SIGMA, strict=True))
    for got, true, usual in zip(path[3:], TRUE[3:], (DUCT_EXPONENT, FILTER_EXPONENT, COIL_EXPONENT), strict=True):
        assert abs(got - true) < 0.9 * abs(usual - true)


def test_ducts_tell_an_airflow_that_was_not_read():
    told, read = fit_path(readings(0.6, 0.45, known=False)), fit_path(readings(0.6, 0.45))
    assert told.path[:3] == pytest.approx(read.path[:3], rel=0.02)


def test_a_reading_that_contradicts_is_named():
    good = readings(0.4, 0.6)
    wrong = StaticReading(0.7, filter_pa=10.0)
    with pytest.raises(InputError, match=r"static reading \d: filter at .* does not go with the other readings"):
        fit_path([*good, wrong])


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ([], "need the airflow of the first reading"),
        ([StaticReading(None, 50.0)], "need the airflow of the first reading"),
        (
            [StaticReading(0.6, 50.0), StaticReading(None, filter_pa=20.0)],
            "reading 2 has no airflow and no duct pressure",
        ),
        ([StaticReading(60.0, 50.0)], "airflow must lie in 0.005 to 5"),
        ([StaticReading(0.6, -50.0)], "give its magnitude"),
    ],
)
def test_readings_that_cannot_be_are_one_sentence(given, sentence):
    with pytest.raises(InputError, match=sentence):
        fit_path(given)


def test_frost_closes_the_coil():
    """Half the face closed: the rest sees twice the velocity (continuity), so 2^1.65 times the pressure."""
    assert frosted_coil_factor(0.0) == 1.0
    assert frosted_coil_factor(0.5) == pytest.approx(2.0**1.65)
    with pytest.raises(OutOfRangeError, match="closed by frost"):
        frosted_coil_factor(0.95)


def test_a_filter_loads_and_a_coil_wets_their_own_part_only():
    clear, slope = path_pressure(0.6, TRUE, Resistance())
    loaded, _ = path_pressure(0.6, TRUE, Resistance(filter_load=2.0))
    assert loaded - clear == pytest.approx(60.0 * 0.6**1.3)
    above, below = (path_pressure(0.6 + d, TRUE, Resistance())[0] for d in (1e-6, -1e-6))
    assert slope == pytest.approx((above - below) / 2e-6, rel=1e-6)


def test_face_velocity_and_carry_over():
    """1200 cfm through 2.6 square feet are 462 fpm, 1800 through 3.5 are 514: over 500, under 550."""
    assert face_velocity_m_s(1200 * 0.0004719474432, 2.6 * 0.09290304) / FPM == pytest.approx(461.5, rel=1e-3)
    assert not carries_over(1200 * 0.0004719474432, 2.6 * 0.09290304, 14.0)
    assert carries_over(1800 * 0.0004719474432, 3.5 * 0.09290304, 14.0)
    assert not carries_over(1800 * 0.0004719474432, 3.5 * 0.09290304, 8.0)
    assert carry_over_limit_m_s() == carry_over_limit_m_s(14.0)
    with pytest.raises(OutOfRangeError, match="count them"):
        carry_over_limit_m_s(0.0)
    with pytest.raises(OutOfRangeError, match="finned face"):
        face_velocity_m_s(0.6, 0.0)
