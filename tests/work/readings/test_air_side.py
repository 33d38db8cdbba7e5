"""Cooling from states of air, blower heat, altitude, and the drain as the independent check."""

from math import sqrt

import pytest

from airtrim.work.readings import points_of, read_job
from airtrim.work.readings.air_side import air_side
from airtrim.work.readings.uncertain import Uncertain
from tests.published.loader import FOLDER, read_table
from tests.work.readings.readings_cases import BTU_H, CFM, F, figure_of, ids, job_with, point_with

EXAMPLE = """return_dry_bulb = "30 C"
return_relative_humidity = "50 %"
supply_dry_bulb = "10 C"
supply_relative_humidity = "100 %"
blower_place = "after_supply_reading"
coil = "wet"
"""


def test_the_handbooks_cooling_example():
    """cooling_example: 5 m3/s at 30 degC, 50 %, to saturated air at 10 degC."""
    table = read_table(FOLDER / "readings" / "cooling_example.toml")
    point = point_with(EXAMPLE)
    found = air_side(point, Uncertain(5.0 / point.return_volume().value))
    (case,) = table["cases"]
    assert found.total_w.value == pytest.approx(case["total_w"], abs=table["tolerance"]["absolute"])
    assert found.sensible_w.value + found.latent_w.value == pytest.approx(found.total_w.value)


PLAIN = """return_dry_bulb = "75 F"
return_wet_bulb = "63 F"
supply_dry_bulb = "56 F"
supply_wet_bulb = "54 F"
coil = "wet"
"""


def test_blower_heat_is_the_trades_one_and_a_half_degrees():
    """500 W at 1,050 cfm is 1.5 F (3.412 W / 1.08 cfm)."""
    point = point_with(PLAIN + 'blower_power = "500 W"\n')
    found = air_side(point, Uncertain(1050.0 * CFM * 1.2013848))
    assert figure_of(found.figures, "blower_heat_rise")["mid"] / F == pytest.approx(1.5, abs=0.05)


def test_sensible_at_return_air_uses_its_own_factor():
    """The factor of return air at 75 F, W 0.0093, is 1.071 (field formulas), not 1.08."""
    text = PLAIN.replace("coil =", 'blower_place = "after_supply_reading"\ncoil =')
    point = point_with(text)
    found = air_side(point, Uncertain(1200.0 * CFM / point.return_volume().value))
    assert found.sensible_w.value / BTU_H == pytest.approx(1.071 * 1200.0 * 19.0, rel=0.003)


def test_altitude_takes_its_share():
    """The same volume of air at 5,000 ft cools 0.832 as much [field formulas, standard atmosphere]."""
    text = PLAIN.replace("coil =", 'blower_place = "after_supply_reading"\nairflow = "1200 cfm"\ncoil =')
    job = job_with(text)
    house = job.house.model_copy(update={"altitude": None})
    sensible = [
        figure_of(read_job(job.model_copy(update={"house": house}), p)["points"][0]["figures"], "sensible_capacity")[
            "mid"
        ]
        for p in (101325.0, 0.832 * 101325.0)
    ]
    assert sensible[1] / sensible[0] == pytest.approx(0.832, rel=0.005)
    raised = job.model_copy(update={"house": house.model_copy(update={"altitude": _feet(5000)})})
    assert points_of(raised)[0].pressure_pa == pytest.approx(0.832 * 101325.0, rel=0.002)


def _feet(feet):
    from airtrim.job.measured import Measured

    return Measured(text=f"{feet} ft", si=0.3048 * feet, unit="m")


def test_one_degree_of_wet_bulb_is_nearly_a_third_of_a_ton():
    """1 F of wet-bulb at 63 F on 1,050 cfm is about 3,450 Btu/h of total cooling [field formulas]."""
    probe = '\n[[instruments]]\nid = "wick"\nkind = "thermometer"\nleast = "1 F"\nused_for = ["return_wet_bulb"]\n'
    text = PLAIN.replace("coil =", 'blower_place = "after_supply_reading"\ncoil =')
    point = point_with(text, more=probe)
    found = air_side(point, Uncertain(1050.0 * CFM * 1.2013848))
    effect = abs(found.total_w.parts["instrument.wick"]) * sqrt(3.0)  # a limit is root three sigmas
    assert effect / BTU_H == pytest.approx(3450.0, rel=0.03)


def test_a_latent_ton_at_the_drain():
    """1 latent ton is about 11.3 lb/h = 1.36 US gal/h at 1,060 Btu/lb; cooling the vapour to the coil makes it 1,071, 1 % more."""
    point = point_with(
        PLAIN.replace('supply_wet_bulb = "54 F"\n', "") + 'condensate = {volume = "1.36 gal", time = "60 min"}\n'
    )
    found = air_side(point, Uncertain(0.6))
    assert figure_of(found.figures, "latent_by_drain")["mid"] / BTU_H == pytest.approx(
        12000.0 * 1071.0 / 1060.0, rel=0.005
    )
    assert found.latent_w.value == figure_of(found.figures, "latent_by_drain")["mid"]


def test_drain_and_wet_bulbs_agree_or_are_said_to_part():
    base = PLAIN + 'running_for = "30 min"\nairflow = "1200 cfm"\nairflow_uncertainty = "5 %"\n'
    sharp = "".join(
        f'\n[[instruments]]\nid = "{name}"\nkind = "thermometer"\nleast = "0.1 F"\nused_for = ["{name}"]\n'
        for name in ("return_wet_bulb", "supply_wet_bulb")
    )
    # W 0.00953 (75/63 F) less about 0.0084 (56/54 F) on 1,200 cfm is about 6 lb/h
    for gallons, wanted in (("0.24 gal", "latent_agrees"), ("0.70 gal", "latent_disagrees")):
        text = base + f'condensate = {{volume = "{gallons}", time = "20 min"}}\n'
        told = ids(read_job(job_with(text, more=sharp))["points"][0]["messages"])
        assert wanted in told


def test_the_drain_checks_nothing_where_the_airflow_came_from_it():
    text = PLAIN + 'running_for = "30 min"\ncondensate = {volume = "0.3 gal", time = "20 min"}\n'
    told = ids(read_job(job_with(text))["points"][0]["messages"])
    assert "latent_agrees" not in told and "latent_disagrees" not in told


def test_without_an_airflow_there_is_a_split_and_no_heat():
    point = read_job(job_with(PLAIN))["points"][0]
    assert figure_of(point["figures"], "temperature_split")["mid"] / F == pytest.approx(19.0)
    assert "no_heat_without_airflow" in ids(point["messages"])
    assert all(one["id"] != "sensible_capacity" for one in point["figures"])


def test_a_register_reading_is_corrected_and_said():
    text = PLAIN + 'airflow = "1200 cfm"\n'
    plenum = read_job(job_with(text))["points"][0]
    register = read_job(job_with(text + 'supply_place = "register"\n'))["points"][0]
    assert "register_reading" in ids(register["messages"])
    colder, colder_at = (figure_of(one["figures"], "coil_leaving_air") for one in (register, plenum))
    assert colder["mid"] < colder_at["mid"]
    assert colder["high"] - colder["low"] > colder_at["high"] - colder_at["low"]


def test_moisture_is_the_handbooks():
    """75/63 F: W 0.0095293 (PsychroLib); 78.2 gr/lb at 80/67 F."""
    point = point_with(PLAIN)
    assert point.humidity("return").value == pytest.approx(0.0095293, rel=1e-3)
    other = point_with(PLAIN.replace('"75 F"', '"80 F"').replace('"63 F"', '"67 F"'))
    assert other.humidity("return").value * 7000.0 == pytest.approx(78.2, abs=0.1)
