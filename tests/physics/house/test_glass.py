"""Glass against recalled handbook tables, and against what must hold of any glass."""

from math import cos, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.house.glass import (
    CLEAR_3_MM,
    WINTER_INSIDE_W_M2K,
    WINTER_OUTSIDE_W_M2K,
    Glazing,
    Pane,
    diffuse_glazing,
    glazing_at,
    glazing_constants,
    glazing_over,
    glazing_u_value_w_m2k,
    rated_glazing,
    solar_heat_gain,
)
from tests.published.loader import FOLDER, read_table

ANGLES = read_table(FOLDER / "house" / "glass_angles.toml")
GAPS = read_table(FOLDER / "house" / "glass_gaps.toml")
ONE = Glazing((CLEAR_3_MM,))
TWO = Glazing((CLEAR_3_MM, CLEAR_3_MM), (0.0127,))
BY_PANES = {1: ONE, 2: TWO}


def published_errors(table):
    """(case, error, allowed) for the page of outside checks."""
    if "angles_deg" not in table:
        pane, films = Pane(**table["pane"]), (table["outside_film_w_m2k"], table["inside_film_w_m2k"])
        return [
            (
                f"gap {case['gap_m']} m",
                glazing_u_value_w_m2k(Glazing((pane, pane), (case["gap_m"],)), *films) - case["u_value_w_m2k"],
                table["tolerance"]["absolute"],
            )
            for case in table["cases"]
        ]
    found = []
    for case in table["cases"]:
        glazing = BY_PANES[case["panes"]]
        index, extinction = glazing_constants(glazing)
        cosines = np.cos(np.radians(np.array(table["angles_deg"], dtype=float)))
        through, _ = glazing_over(cosines, index, extinction)
        gains = [solar_heat_gain(glazing, angle) for angle in table["angles_deg"]]
        for name, got, expected in (
            ("SHGC", gains, case["solar_heat_gain"]),
            ("transmittance", through, case["transmittance"]),
            ("diffuse", [diffuse_glazing(index, extinction)[0]], [case["diffuse_transmittance"]]),
        ):
            for place, (one, printed) in enumerate(zip(got, expected, strict=True)):
                allowed = table["tolerance"]["absolute" if case["panes"] == 1 else "two_panes_absolute"]
                found.append((f"{case['id']} {name} {place}", one - printed, allowed))
    return found


@pytest.mark.parametrize("table", [ANGLES, GAPS], ids=["glass_angles", "glass_gaps"])
def test_recalled_handbook_tables(table):
    assert [one for one in published_errors(table) if abs(one[1]) > one[2]] == []


def test_two_panes_added_as_the_handbook_does():
    """By the means of both polarisations, T = t^2 / (1 - r^2), the table is met as well as for one pane; ours lies above it."""
    single, double = glazing_constants(ONE), glazing_constants(TWO)
    two = ANGLES["cases"][1]
    for angle, printed in zip(ANGLES["angles_deg"], two["transmittance"], strict=True):
        cosine = np.array([cos(radians(angle))])
        through, kept = glazing_over(cosine, *single)
        t, r = through[0], 1.0 - through[0] - kept[0, 0]
        added = t * t / (1.0 - r * r)
        assert added == pytest.approx(printed, abs=ANGLES["tolerance"]["absolute"])
        assert glazing_over(cosine, *double)[0][0] > added - 1e-9


@given(st.floats(0.2, 0.9), st.floats(0.04, 0.1), st.floats(0.02, 1.0), st.integers(1, 3))
def test_what_passes_is_kept_or_is_thrown_back(transmittance, reflectance, cosine, count):
    """Nothing is made: transmitted and kept sum to less than all, and a pane's constants give back its values (own-derivation)."""
    if transmittance + reflectance > 0.97:
        transmittance = 0.97 - reflectance
    pane = Pane(transmittance, reflectance)
    index, extinction = glazing_constants(Glazing((pane,)))
    assert glazing_over(np.array([1.0]), index, extinction)[0][0] == pytest.approx(transmittance, abs=1e-9)
    kept = np.zeros(count)
    through = glazing_at(cosine, np.repeat(index, count), np.repeat(extinction, count), kept)
    assert 0.0 <= through <= 1.0 and (kept >= 0.0).all()
    assert through + kept.sum() < 1.0


def test_two_panes_add_up_as_two_mirrors_do():
    """At normal incidence T = t^2 / (1 - r^2) for two equal panes (own-derivation: the geometric series between them)."""
    index, extinction = glazing_constants(TWO)
    through, kept = glazing_over(np.array([1.0]), index, extinction)
    t, r = CLEAR_3_MM.transmittance, CLEAR_3_MM.reflectance
    assert through[0] == pytest.approx(t * t / (1.0 - r * r), rel=1e-9)
    assert kept[0, 1] == pytest.approx((1.0 - t - r) * t / (1.0 - r * r), rel=1e-9)
    assert kept[0, 0] == pytest.approx((1.0 - t - r) * (1.0 + t * r / (1.0 - r * r)), rel=1e-9)


def test_dark_and_broken_glass():
    index, extinction = glazing_constants(TWO)
    kept = np.ones(2)
    assert glazing_at(0.0, index, extinction, kept) == 0.0 and (kept == 0.0).all()
    assert np.isnan(glazing_at(float("nan"), index, extinction, kept))
    with pytest.raises(OutOfRangeError, match="is no glass"):
        Pane(0.9, 0.2)
    with pytest.raises(OutOfRangeError, match="needs 1 gaps, got 0"):
        Glazing((CLEAR_3_MM, CLEAR_3_MM))


@pytest.mark.parametrize(("u_value", "shgc"), [(6.0, 0.75), (4.0, 0.6), (2.8, 0.65), (1.9, 0.25)])
def test_rated_glass_has_its_ratings(u_value, shgc):
    """Own-derivation: the ratings come back, but for the U-value of one pane, which is the glass's own 5.9 W/m2K."""
    glazing = rated_glazing(u_value, shgc)
    assert solar_heat_gain(glazing, 0.0) == pytest.approx(shgc, rel=1e-9)
    if len(glazing.panes) == 2:
        got = glazing_u_value_w_m2k(glazing, WINTER_OUTSIDE_W_M2K, WINTER_INSIDE_W_M2K)
        assert got == pytest.approx(u_value, rel=1e-9)
    with pytest.raises(OutOfRangeError, match="check its ratings"):
        rated_glazing(9.0, shgc)


def test_light_even_over_the_sky_is_near_the_light_at_sixty_degrees():
    """Duffie and Beckman: diffuse light passes glass as a beam at 59 to 60 degrees does; within 0.02 [from-memory]."""
    for glazing in (ONE, TWO):
        index, extinction = glazing_constants(glazing)
        at_sixty, _ = glazing_over(np.array([cos(radians(59.7))]), index, extinction)
        assert diffuse_glazing(index, extinction)[0] == pytest.approx(at_sixty[0], abs=0.02)
