"""What the fit of the system is handed."""

import pytest

from airtrim.core.errors import JobError
from airtrim.job import check_job
from airtrim.weather.files import embedded_weather
from airtrim.work.findings import find
from airtrim.work.readings import job_for_fit, known_airflow
from tests.work.readings.readings_cases import CFM, FAN_TABLE, job_with

SEA = 101325.0
RAW = """return_dry_bulb = "75 F"
return_relative_humidity = "50 %"
supply_dry_bulbs = ["56 F", "58 F"]
suction_pressure = "118.8 psi"
suction_line = "52 F"
static_after_filter = "-0.30 inH2O"
static_supply = "0.20 inH2O"
"""


def test_raw_readings_become_what_the_fit_reads():
    """75 F at 50 % is 62.6 F wet-bulb; 118.8 psig of R-410A is 40 F, the line 12 F above [handbook, refprop-chart]."""
    (read,) = job_for_fit(job_with(RAW, system='refrigerant = "R-410A"'), SEA).readings
    assert read.return_wet_bulb.si * 1.8 + 32.0 == pytest.approx(62.6, abs=0.05)
    assert read.saturated_suction.si * 1.8 + 32.0 == pytest.approx(40.0, abs=0.2)
    assert read.superheat.si * 1.8 == pytest.approx(12.0, abs=0.2)
    assert read.supply_dry_bulb.si * 1.8 + 32.0 == pytest.approx(57.0)
    assert read.total_external_static.si / 249.0889 == pytest.approx(0.5, abs=0.001)


def test_what_was_read_is_never_replaced_and_heat_is_left_out():
    job = job_with(
        RAW + 'superheat = "9 F"\n',
        'operation = "heating"\nsupply_dry_bulb = "100 F"\n',
        'tap = 2\nairflow = "900 cfm"\n',
    )
    fitted = job_for_fit(job, SEA)
    assert len(fitted.readings) == 1 and fitted.readings[0].superheat.text == "9 F"
    assert len(job.readings) == 3


def test_the_joined_airflow_is_known_and_a_missing_one_is_said():
    one = known_airflow(job_with('airflow = "1200 cfm"\nairflow_uncertainty = "8 %"\nreturn_dry_bulb = "75 F"\n'), SEA)
    assert one.m3_s / CFM == pytest.approx(1200.0) and one.sigma == pytest.approx(0.08 / 1.645, rel=0.001)
    both = known_airflow(
        job_with(
            'airflow = "1200 cfm"\ntotal_external_static = "0.6 inH2O"\nreturn_dry_bulb = "75 F"\n', more=FAN_TABLE
        ),
        SEA,
    )
    assert 1200.0 < both.m3_s / CFM < 1320.0 and both.sigma < 0.07
    with pytest.raises(JobError, match="alone gives no airflow"):
        known_airflow(job_with('total_external_static = "0.6 inH2O"'), SEA)


STRIP = """operation = "heating"
running_for = "12 min"
strip_circuits = [{volts = "235 V", amps = "40 A"}]
supply_dry_bulb = "95 F"
return_dry_bulb = "72 F"
"""


def test_a_job_with_strip_heat_alone_has_findings():
    """235 V x 40 A and 525 W of blower over 23 F: 9,925 x 3.412 / (1.08 x 23) = 1,363 cfm of dry standard air; 2 % less on a wet
    coil, and 0.444 W / 0.240 = 1.7 % less for the vapour of air at 72 F, 55 % (W 0.0092).
    """
    job = job_with(STRIP)
    dry_density = 1.0 / 0.848  # kg/m3 of dry air in air at 72 F, 55 % [handbook chart]
    assert known_airflow(job, SEA).m3_s * dry_density / 1.2014 / CFM == pytest.approx(1363 * 0.98 / 1.017, rel=0.005)
    assert not any("airflow" in remark for remark in check_job(job))
    found = find(job, embedded_weather("greensboro-nc"), count=2)
    assert next(one for one in found.figures if one["id"] == "airflow")["mid"] > 0.0


def test_an_airflow_of_another_tap_is_not_the_cooling_airflow():
    with pytest.raises(JobError, match="the airflow is not known"):
        known_airflow(job_with('operation = "heating"\ntap = 3\nairflow = "900 cfm"\n'), SEA)
