"""What a contractor knows of the unit reaches the fit: SEER or EER by the label, the maker's extended table with residuals."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, JobError
from airtrim.job import new_job_text, parse_job
from airtrim.physics.air.moist import humidity_ratio_from_wet_bulb
from airtrim.physics.unit.fields import unit_rows
from airtrim.physics.unit.steady import RATED_PRESSURE_PA, unit_state
from airtrim.report.sentences import sentence
from airtrim.weather.files import embedded_weather
from airtrim.work.findings import find
from airtrim.work.findings.maker import by_maker, maker_messages
from airtrim.work.findings.parameters import described

TEXT = new_job_text()
STANDARD_AIR, CFM = 1.2014, 0.0004719474432
#: A unit of our invention, well off the usual one of its nameplate.
TRUE = unit_rows(
    gross_capacity_w=10900.0, compressor_power_w=2450.0, coil_td_k=18.6, sensible_heat_ratio=0.735, air_exponent=0.5,
    rated_flow_kg_s=1200.0 * CFM * STANDARD_AIR, metering_device=0.0, refrigerant="R-410A", compressor=0.0,
    condenser_lift_k=10.0,
)[0]  # fmt: skip


def table(changed=None):
    rows = []
    for cfm, wet, out in (
        (1200, 67, 95),
        (1200, 63, 95),
        (1200, 71, 95),
        (1200, 67, 82),
        (1200, 67, 105),
        (1050, 67, 95),
        (1350, 67, 95),
    ):
        flow = cfm * CFM * STANDARD_AIR
        humidity = humidity_ratio_from_wet_bulb(80.0 / 1.8 - 32.0 / 1.8, (wet - 32.0) / 1.8, RATED_PRESSURE_PA)
        total, sensible, power = unit_state(
            (80.0 - 32.0) / 1.8, humidity, (out - 32.0) / 1.8, flow, RATED_PRESSURE_PA, TRUE
        )[:3]
        rows.append(f"{cfm} cfm, {wet} F, 80 F, {out} F, {total:.0f} W, {sensible:.0f} W, {power:.0f} W")
    return changed(rows) if changed else rows


def job_of(system=""):
    text = TEXT.replace(
        'coil_size = "3 tons"',
        f'coil_size = "3 tons"\nrefrigerant = "R-410A"\nmetering_device = "expansion_valve"\nyear = 2015\n{system}',
    )
    return parse_job(text, "x")


def with_table(rows):
    return job_of("performance = [\n" + "".join(f'  "{row}",\n' for row in rows) + "]\n")


def test_the_table_makes_the_unit_and_its_residuals_are_told():
    job = with_table(table())
    unit = described(job, "expansion_valve")
    ends = by_maker(job, unit)
    assert ends["gross_capacity_w"][1] == pytest.approx(10900.0, rel=0.01)
    assert ends["compressor_power_w"][1] == pytest.approx(2450.0, rel=0.02)
    low, _, high = ends["gross_capacity_w"]
    assert high - low < 0.6 * (unit["gross_capacity_w"].high - unit["gross_capacity_w"].low)
    (told,) = maker_messages(job, unit)
    assert told["id"] == "finding.maker_table" and told["values"]["rows"] == 7
    assert float(told["values"]["total"]) < 1.5
    assert sentence(told).count(";") == 6  # every row


def test_the_sample_follows_the_table():
    plain, told = (
        find(job, embedded_weather("greensboro-nc"), count=8, seed=2) for job in (job_of(), with_table(table()))
    )
    spread = [float(np.std(found.system.units[:, 0]) / np.mean(found.system.units[:, 0])) for found in (plain, told)]
    assert spread[1] < spread[0]
    assert float(np.median(told.system.units[:, 0])) == pytest.approx(10900.0, rel=0.04)
    assert any(one["id"] == "finding.maker_table" for one in told.messages)


def test_a_table_that_contradicts_itself_names_the_row():
    def hotter_gives_more(rows):
        return [*rows[:4], rows[4].replace(rows[4].split(", ")[4], "14000 W"), *rows[5:]]

    with pytest.raises(InputError, match=r"Row 5 of the maker's table gives more capacity"):
        find(with_table(table(hotter_gives_more)), embedded_weather("greensboro-nc"), count=4)


def test_another_units_table_is_told_as_far_off():
    rows = [table()[0], *table()[3:5], *table()[5:]]
    rows = [
        row.rsplit(", ", 1)[0] + f", {power} W" for row, power in zip(rows, (2000, 1100, 5000, 2000, 2000), strict=True)
    ]
    job = with_table(rows)
    assert maker_messages(job, described(job, "expansion_valve"))[0]["id"] == "finding.maker_table_far"


@pytest.mark.parametrize(
    ("row", "sentence_part"),
    [
        ("1200 cfm, 67 F, 80 F, 95 F, 36 kBtu/h, 27 kBtu/h", r"row 2 of the performance table needs 7 values"),
        (
            "1200 cfm, 67 F, 80 F, 95 F, 36, 27 kBtu/h, 2.9 kW",
            r"total capacity of row 2 of the performance table needs a number and a",
        ),
        ("1200 cfm, 670 F, 80 F, 95 F, 36 kBtu/h, 27 kBtu/h, 2.9 kW", r"entering wet-bulb of row 2"),
    ],
)
def test_an_ill_row_is_one_sentence(row, sentence_part):
    with pytest.raises(JobError, match=sentence_part):
        with_table([table()[0], row])


def test_the_label_goes_before_the_year():
    seers = [
        described(job_of(f"seer = {value}.0"), "expansion_valve")["compressor_power_w"].mid for value in (10, 13, 18)
    ]
    assert seers[0] > seers[1] > seers[2]
    with pytest.raises(JobError, match="eer 14 above seer 13 cannot be"):
        job_of("seer = 13.0\neer = 14.0")


def test_a_table_is_of_the_match_so_the_coils_size_is_in_it():
    larger = with_table(table()).model_copy(deep=True)
    system = larger.system.model_copy(update={"coil_size": larger.system.coil_size.model_copy(update={"si": 14000.0})})
    assert described(larger.model_copy(update={"system": system}), "expansion_valve")["coil_scale"].mid == 1.0
    plain = job_of()
    system = plain.system.model_copy(update={"coil_size": plain.system.coil_size.model_copy(update={"si": 14000.0})})
    assert described(plain.model_copy(update={"system": system}), "expansion_valve")["coil_scale"].mid > 1.2
