"""What is possible but unlikely is asked, with the two readings it is about and what may have happened."""

import pytest

from airtrim.core.errors import JobError
from airtrim.work.readings import read_job
from tests.work.readings.readings_cases import ids, job_with

R410A = 'refrigerant = "R-410A"'


def asked(reading, **more):
    """The questions of a reading: (id, values)."""
    messages = read_job(job_with(reading, **more))["points"][0]["messages"]
    return [(one["id"].removeprefix("reading."), one["values"]) for one in messages if ".ask." in one["id"]]


@pytest.mark.parametrize(
    ("line", "other"),
    [
        ('return_dry_bulb = "24 F"', "24 C"),
        ('return_dry_bulb = "75 C"', "75 F"),
        ('supply_dry_bulb = "13 F"', "13 C"),
        ('outdoor_dry_bulb = "33 F"', "33 C"),
        ('total_external_static = "0.5 Pa"', "0.5 inH2O"),
    ],
)
def test_the_other_unit_is_asked(line, other):
    ((identity, values),) = asked(line)
    assert identity == "ask.unit" and values["other"] == other


@pytest.mark.parametrize(
    ("line", "other"),
    [
        ('return_dry_bulb = "57 F"', "75 F"),
        ('return_wet_bulb = "46 F"', "64 F"),
        ('supply_dry_bulb = "95 F"', "59 F"),
        ('airflow = "2100 cfm"', "1200 cfm"),
    ],
)
def test_swapped_digits_are_asked(line, other):
    ((identity, values),) = asked(line)
    assert identity == "ask.digits" and values["other"] == other


def test_a_usual_reading_is_not_asked_about():
    text = """return_dry_bulb = "75 F"
return_wet_bulb = "63 F"
supply_dry_bulb = "56 F"
supply_wet_bulb = "54.5 F"
outdoor_dry_bulb = "92 F"
suction_pressure = "128 psi"
liquid_pressure = "380 psi"
suction_line = "56 F"
liquid_line = "102 F"
total_external_static = "0.55 inH2O"
airflow = "1150 cfm"
"""
    assert asked(text, system=R410A) == []


def test_heating_has_its_own_usual_values():
    assert asked('operation = "heating"\nsupply_dry_bulb = "110 F"\nreturn_dry_bulb = "68 F"\n') == []


@pytest.mark.parametrize("wet", ["55.4 F", "56.5 F"])
def test_a_wet_bulb_a_little_above_the_dry_bulb_is_saturated_air(wet):
    text = f'supply_dry_bulb = "55 F"\nsupply_wet_bulb = "{wet}"\nreturn_dry_bulb = "75 F"\n'
    told = ids(read_job(job_with(text))["points"][0]["messages"])
    assert "saturated" in told


def test_a_wet_bulb_far_above_is_refused_with_both_readings():
    with pytest.raises(
        JobError, match=r"readings.1.supply_wet_bulb: 60 F wet-bulb is above 55 F dry-bulb \(supply_dry_bulb\)"
    ):
        job_with('supply_dry_bulb = "55 F"\nsupply_wet_bulb = "60 F"\n')


def test_very_dry_return_air_asks_for_the_wick_or_the_digits():
    ((identity, values),) = asked('return_dry_bulb = "75 F"\nreturn_wet_bulb = "48 F"\n')
    assert identity == "ask.odd_humidity" and values["first"]["id"] == "reading.return_wet_bulb"
    ((identity, values),) = asked('return_dry_bulb = "95 F"\nreturn_wet_bulb = "57 F"\n')
    assert identity == "ask.digits" and {values["given"], values["other"]} & {"95 F", "57 F", "75 F", "59 F"}


def test_supply_air_wetter_than_the_return_is_asked():
    text = 'return_dry_bulb = "75 F"\nreturn_wet_bulb = "55 F"\nsupply_dry_bulb = "62 F"\nsupply_wet_bulb = "61 F"\n'
    assert "ask.supply_wetter" in [one for one, _ in asked(text)]


def test_supply_colder_than_the_coil_is_asked_with_both():
    """130 psig of R-410A is about 45 F: supply air of 43 F cannot come from that coil."""
    ((identity, values),) = asked(
        'supply_dry_bulb = "43 F"\nreturn_dry_bulb = "75 F"\nsuction_pressure = "130 psi"\n', system=R410A
    )
    assert identity == "ask.supply_colder_than_coil"
    assert values["suction"]["value"] * 1.8 + 32.0 == pytest.approx(45.0, abs=1.0)


def test_pressures_of_another_refrigerant_are_asked():
    """70 and 226 psig run R-22 (41 and 110 F) and would freeze R-410A (about 13 F)."""
    text = 'suction_pressure = "62 psi"\nliquid_pressure = "226 psi"\noutdoor_dry_bulb = "60 F"\n'
    found = dict(asked(text, system=R410A))
    assert "R-22" in found["ask.refrigerant"]["other"]
    assert asked(text.replace("60 F", "92 F"), system='refrigerant = "R-22"') == []


def test_swapped_digits_of_a_pressure_are_asked():
    """211 psig of R-410A is about 73 F, 121 psig 41 F [refprop-chart, roughly]."""
    text = 'suction_pressure = "211 psi"\nliquid_pressure = "330 psi"\noutdoor_dry_bulb = "88 F"\n'
    ((identity, values),) = asked(text, system=R410A)
    assert identity == "ask.digits" and values["other"] == "121 psi"


def test_negative_superheat_and_subcooling_are_asked():
    text = 'suction_pressure = "130 psi"\nliquid_pressure = "366 psi"\nsuction_line = "36 F"\nliquid_line = "118 F"\n'
    assert {"ask.negative_superheat", "ask.negative_subcooling"} <= {one for one, _ in asked(text, system=R410A)}


def test_condensing_below_the_outdoor_air_is_asked():
    """250 psig of R-410A condenses at about 84 F: not in 100 F air."""
    found = [one for one, _ in asked('liquid_pressure = "250 psi"\noutdoor_dry_bulb = "100 F"\n', system=R410A)]
    assert found == ["ask.condensing_below_outdoor"]


def test_static_against_its_ports_is_asked():
    text = 'total_external_static = "0.9 inH2O"\nstatic_after_filter = "-0.3 inH2O"\nstatic_supply = "0.2 inH2O"\n'
    assert [one for one, _ in asked(text)] == ["ask.static_against_ports"]


def test_ports_the_wrong_way_round_are_asked():
    text = 'static_before_filter = "-0.4 inH2O"\nstatic_after_filter = "-0.1 inH2O"\n'
    assert "ask.drop_backwards" in [one for one, _ in asked(text)]


def test_a_capacitor_below_the_line_is_asked():
    text = 'capacitor_volts = "200 V"\ncapacitor_amps = "0.6 A"\nblower_volts = "240 V"\n'
    assert "ask.capacitor_volts" in [one for one, _ in asked(text)]


def test_airflow_outside_what_the_field_met_is_asked():
    """130 to 510 cfm/ton over 27 systems [fsec-pf-321]."""
    assert [one for one, _ in asked('airflow = "330 cfm"')] == ["ask.airflow_per_ton"]
    assert asked('airflow = "450 cfm"') == []


def test_stop_signs_stand_before_questions_before_the_rest():
    text = """coil = "frosted"
return_dry_bulb = "57 F"
total_external_static = "0.8 inH2O"
"""
    told = ids(read_job(job_with(text))["points"][0]["messages"])
    kinds = [0 if one.startswith("stop.") else 1 if one.startswith("ask.") else 2 for one in told]
    assert kinds == sorted(kinds) and {0, 1, 2} <= set(kinds)
