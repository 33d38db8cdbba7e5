"""Units from nameplates and from makers' tables: complete rows with ranges, contradictions named."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, NoSolutionError, OutOfRangeError
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.closure import closure
from airtrim.physics.unit.describe import TON_W, describe_unit
from airtrim.physics.unit.fields import FIXED_ORIFICE, RECIPROCATING, UNIT_FIELDS
from airtrim.physics.unit.maker_table import check_table, fit_unit
from airtrim.physics.unit.steady import RATED_PRESSURE_PA, steady_state, working_state
from tests.physics.unit.unit_cases import MIDDLE


@pytest.mark.parametrize("tons", [1.5, 3.0, 5.0])
@pytest.mark.parametrize("year", [1985, 1999, 2012, 2024, 2026])
def test_a_nameplate_makes_a_unit_that_works(tons: float, year: int) -> None:
    described = describe_unit(tons * TON_W, tons * TON_W, year=year)
    for which in ("low", "mid", "high"):
        assert np.isfinite(described.row(which)).all()
    assert np.isfinite(closure(described.row())).all()
    for one in described.columns:
        assert one.low <= one.mid <= one.high and one.source
    state = working_state(25.0, 0.0105, 33.0, described.row()[5], RATED_PRESSURE_PA, described.row())
    assert 0.8 * tons * TON_W < state.total_w < 1.1 * tons * TON_W


def test_what_is_known_is_used() -> None:
    by_label = describe_unit(3.0 * TON_W, 3.0 * TON_W, "R-22", "fixed_orifice", eer=9.0, year=1990)
    row = by_label.row()
    assert row[UNIT_FIELDS.index("metering_device")] == FIXED_ORIFICE
    assert row[UNIT_FIELDS.index("compressor")] == RECIPROCATING
    assert by_label["metering_device"].low == by_label["metering_device"].high == FIXED_ORIFICE
    # EER counts the blower's heat and power: (Q - b) / (P + b) in Btu/Wh, with 365 W per 1,000 cfm at 400 cfm a ton
    size, power, blower = 3.0 * TON_W, by_label["compressor_power_w"].mid, 365.0 * 0.4 * 3.0
    assert 3.412142 * (size - blower) / (power + blower) == pytest.approx(9.0, rel=1e-6)
    assert describe_unit(3.0 * TON_W, 3.0 * TON_W)["metering_device"].high == FIXED_ORIFICE
    better = describe_unit(3.0 * TON_W, 3.0 * TON_W, seer=18.0)
    assert better["compressor_power_w"].mid < by_label["compressor_power_w"].mid
    assert better["condenser_lift_k"].mid < by_label["condenser_lift_k"].mid


def test_a_larger_coil_works_warmer_on_the_same_outdoor_unit() -> None:
    """common-practice: the coil scales its own conductances; capacity hardly changes and less water is taken out."""
    matched, large = (
        working_state(
            26.7, 0.0112, 35.0, 0.58, RATED_PRESSURE_PA, describe_unit(2.5 * TON_W, size * TON_W, "R-410A").row()
        )
        for size in (2.5, 3.5)
    )
    assert large.suction_c > matched.suction_c + 1.0
    assert 1.0 < large.total_w / matched.total_w < 1.10
    assert large.sensible_heat_ratio > matched.sensible_heat_ratio


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"outdoor_w": 900.0}, "size of the outdoor unit must lie in 1 to 6 tons, got 0.26"),
        ({"coil_w": 6.0 * TON_W}, "no match anyone lists"),
        ({"seer": 40.0}, "SEER must lie in 6 to 26"),
        ({"eer": 2.0}, "EER must lie in 5 to 15"),
        ({"seer": 10.0, "eer": 12.0}, "EER 12 above SEER 10"),
        ({"year": 1850}, "year made must lie in"),
        ({"metering_device": "capillary"}, "Metering device 'capillary' is not known"),
        ({"refrigerant": "R-500"}, "Refrigerant 'R-500' is not known"),
    ],
)
def test_impossible_nameplates_are_refused(given: dict[str, object], sentence: str) -> None:
    fine: dict[str, object] = {"outdoor_w": 3.0 * TON_W, "coil_w": 3.0 * TON_W}
    with pytest.raises((InputError, OutOfRangeError), match=sentence):
        describe_unit(**(fine | given))  # type: ignore[arg-type]


def made_table() -> np.ndarray:
    """A table as a maker might print it, of our own unit, rounded to 10 W."""
    rows = []
    for flow in (0.55, 0.68):
        for wet_bulb in (17.2, 19.4, 21.7):
            for outdoor in (29.4, 35.0, 40.6):
                humidity = humidity_ratio_from_wet_bulb(26.7, wet_bulb, RATED_PRESSURE_PA)
                total, sensible, power, *_ = steady_state(26.7, humidity, outdoor, flow, RATED_PRESSURE_PA, MIDDLE)
                rows.append((flow, wet_bulb, 26.7, outdoor, round(total, -1), round(sensible, -1), round(power, -1)))
    return np.array(rows)


def test_a_table_gives_back_the_unit_it_was_made_of() -> None:
    """Own derivation, a round trip: figures rounded to 10 W, so half a per cent."""
    fitted = fit_unit(made_table(), rated_flow_kg_s=0.68)
    assert fitted.row[:2] == pytest.approx(MIDDLE[:2], rel=0.005)
    assert fitted.row[3] == pytest.approx(MIDDLE[3], abs=0.005)
    assert max(fitted.worst) < 0.005


@pytest.mark.parametrize(
    ("row", "column", "factor", "sentence"),
    [
        (4, 5, 1.6, "Row 5 .* more sensible"),
        (2, 4, 1.2, "Row 3 .* more capacity than the same row at a cooler outdoor"),
        (2, 6, 0.5, "Row 3 .* less power than the same row at a cooler outdoor"),
        (3, 4, 0.86, "less capacity than the same row at a lower wet bulb|more capacity than the same row at a cooler"),
        (1, 1, 1.9, "Row 2 .* wet bulb"),
        (0, 4, np.nan, "Row 1 .* missing"),
    ],
)
def test_a_table_that_contradicts_itself_names_the_row(row: int, column: int, factor: float, sentence: str) -> None:
    table = made_table()
    table[row, column] *= factor
    with pytest.raises(InputError, match=sentence):
        check_table(table)


def test_a_table_that_repeats_a_row_otherwise_or_says_too_little() -> None:
    table = made_table()
    table = np.vstack([table, table[7] * np.array([1.0, 1.0, 1.0, 1.0, 1.05, 1.0, 1.0])])
    with pytest.raises(InputError, match=r"Row 19 .* repeats the conditions of row 8"):
        check_table(table)
    with pytest.raises(InputError, match="at least 5 rows"):
        check_table(table[:3])
    with pytest.raises(InputError, match="two outdoor temperatures"):
        check_table(np.array([one for one in made_table() if one[3] == 35.0]))
    swollen = made_table()
    swollen[:, 0] /= 20.0  # airflow in other units
    with pytest.raises(NoSolutionError, match="check the units"):
        fit_unit(swollen)
