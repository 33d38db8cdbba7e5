"""Plate and every reading on the motor reach the fitted blower: any subset, at the house's volts, with the maker's rows."""

from dataclasses import replace

import pytest

from airtrim.core.errors import NoSolutionError
from airtrim.job import new_job_text, parse_job
from airtrim.physics.blower.circuit import Supply
from airtrim.physics.blower.motor import default_motor
from airtrim.physics.blower.system import operating_point
from airtrim.work.findings.blower import blower_of
from airtrim.work.findings.motor import motor_of, motor_readings
from airtrim.work.readings.electrical import electrical
from airtrim.work.readings.point import Point

CFM, IN_WC = 0.0004719474432, 249.08891
PLATE = (
    '\n[blower]\nhorsepower = 0.5\nnameplate_volts = "230 V"\nnameplate_rpm = "1075 rpm"\nrun_capacitor = "7.5 uF"\n'
)
FLOW, VOLTS, SPEED = 1200.0 * CFM, 241.0, 1080.0


def truth(capacitor=1.0):
    """A motor of our invention, unlike the default one of its plate, at the house's volts."""
    usual = default_motor(0.5, capacitor_f=7.5e-6)
    return replace(usual, r1=1.1 * usual.r1, r2=1.1 * usual.r2, capacitor_f=capacitor * usual.capacitor_f)


def texts(motor, tap_factor=1.0):
    supply = Supply(VOLTS, 60.0, tap_factor)
    state = motor.state(SPEED, supply)
    return {
        "blower_power": f"{motor.watts(SPEED, supply):.2f} W",
        "blower_volts": f"{VOLTS} V",
        "blower_amps": f"{state.line_a:.4f} A",
        "blower_speed": f"{SPEED} rpm",
        "capacitor_volts": f"{state.capacitor_v:.2f} V",
        "capacitor_amps": f"{state.auxiliary_a:.4f} A",
        "capacitor_read": f"{1e6 * motor.capacitor_f:.3f} uF",
    }


def job_of(names, motor=None, more=PLATE, readings=""):
    given = texts(motor or truth())
    lines = "".join(f'{name} = "{given[name]}"\n' for name in names if name != "capacitor_read")
    if "capacitor_read" in names:
        more = more + f'capacitor_read = "{given["capacitor_read"]}"\n'
    text = new_job_text().replace(
        'airflow = "1200 cfm"', f'airflow = "1200 cfm"\ntotal_external_static = "0.5 inH2O"\n{lines}'
    )
    return parse_job(text + readings + more, "x")


def built(job):
    return blower_of(job, job, FLOW, 500.0, 0.92)


SUBSETS = [
    ("blower_power",),
    ("blower_amps", "blower_volts"),
    ("blower_speed", "blower_volts"),
    ("capacitor_volts", "blower_volts"),
    ("capacitor_read", "blower_power"),
    ("blower_power", "blower_volts", "blower_speed"),
    (
        "blower_power",
        "blower_volts",
        "blower_amps",
        "blower_speed",
        "capacitor_volts",
        "capacitor_amps",
        "capacitor_read",
    ),
]


@pytest.mark.parametrize("names", SUBSETS, ids="+".join)
def test_each_reading_of_the_job_reaches_the_fit(names):
    """What was read comes out of the operating point again: volts, watts, amps, speed, the capacitor's volts and microfarads."""
    weak = truth(capacitor=0.9)
    job = job_of(names, weak)
    fields = {"blower_power": "watts", "blower_amps": "amps", "blower_speed": "rpm", "capacitor_amps": "auxiliary_amps"}
    fields |= {"capacitor_volts": "capacitor_volts", "capacitor_read": "capacitor_uf"}
    residuals = {one.what for one in motor_of(job).fit.residuals if one.reading >= 1}
    assert residuals == {fields[name] for name in names if name != "blower_volts"}
    system, told = built(job)
    assert told == []
    point = operating_point(system)
    assert point.airflow_m3_s == pytest.approx(FLOW, rel=1e-6)
    assert system.motor.volts == (VOLTS if "blower_volts" in names else 230.0)
    state = weak.state(SPEED, Supply(VOLTS, 60.0, 1.0))
    if "blower_power" in names:
        assert point.watts == pytest.approx(weak.watts(SPEED, Supply(VOLTS, 60.0, 1.0)), rel=0.02)
    if "blower_amps" in names:
        assert point.amps == pytest.approx(state.line_a, rel=0.02)
    if "blower_speed" in names:
        assert point.speed_rpm == pytest.approx(SPEED, abs=4.0)
    if "capacitor_volts" in names:
        assert point.motor.capacitor_v == pytest.approx(state.capacitor_v, rel=0.02)
    if "capacitor_read" in names:
        assert system.motor.capacitor_f == pytest.approx(weak.capacitor_f, rel=0.02)


def test_a_slower_taps_turns_are_fitted_and_its_neighbours_follow():
    names = ("blower_power", "blower_volts", "blower_amps", "blower_speed")
    given = texts(truth(), tap_factor=1.38)
    text = new_job_text().replace(
        'airflow = "1200 cfm"',
        'airflow = "1200 cfm"\ntotal_external_static = "0.5 inH2O"\n' + "".join(f'{n} = "{given[n]}"\n' for n in names),
    )
    system, _ = built(parse_job(text + PLATE + "tap_in_use = 2\n", "x"))
    assert system.tap_factors[1] == pytest.approx(1.38, rel=0.05)
    assert system.tap_factors[0] == 1.0 and list(system.tap_factors) == sorted(system.tap_factors)


def test_a_fan_only_reading_counts_and_one_on_another_tap_does_not():
    extra = '\n[[readings]]\noperation = "fan_only"\nblower_amps = "2.4 A"\n'
    extra += '\n[[readings]]\noperation = "fan_only"\ntap = 3\nblower_amps = "2.0 A"\n'
    found = motor_readings(job_of(("blower_power", "capacitor_read"), readings=extra))
    assert [(one.watts is not None, one.amps, one.capacitor_uf) for one in found] == [
        (True, None, None),
        (False, 2.4, None),
        (False, None, pytest.approx(1e6 * truth().capacitor_f, rel=1e-3)),
    ]


def test_readings_no_motor_gives_are_refused_by_name():
    wrong = '"1200 cfm"\nblower_speed = "700 rpm"\nblower_power = "150 W"\nblower_volts = "240 V"'
    job = parse_job(new_job_text().replace('"1200 cfm"', wrong, 1) + PLATE, "x")
    with pytest.raises(NoSolutionError, match=r"reading 1's (rpm|watts) of"):
        built(job)


ROWS = {  # cfm over in w.c. of a 1/2 hp cabinet [fan-tables]
    1: {0.1: 1635, 0.3: 1525, 0.5: 1400, 0.7: 1260},
    2: {0.1: 1435, 0.3: 1350, 0.5: 1255, 0.7: 1150},
    3: {0.1: 1230, 0.3: 1165, 0.5: 1090, 0.7: 1000},
}


def table(rows):
    return "".join(
        f'[[blower.fan_table]]\ntap = {tap}\nstatic = "{static} inH2O"\nairflow = "{flow} cfm"\n'
        for tap, row in rows.items()
        for static, flow in row.items()
    )


def test_the_makers_rows_tell_the_wheel_and_the_other_taps():
    """On tap 2, read 4 % under its row: the third tap keeps the table's step, and between the two
    rows fitted the rest of the table holds within 5 %, as makers' tables do with two points fitted; beyond them within 6."""
    text = new_job_text().replace(
        'airflow = "1200 cfm"', 'airflow = "1205 cfm"\ntotal_external_static = "0.5 inH2O"\nblower_power = "480 W"'
    )
    job = parse_job(text + "\n[blower]\nhorsepower = 0.5\ntap_in_use = 2\n" + table(ROWS), "x")
    system, told = blower_of(job, job, 1205.0 * CFM, 500.0, 0.92)
    assert told == []
    inside = replace(system, path=system.path._replace(ducts=0.0))
    part = 1205.0 / 1255.0
    for tap, static, off in (
        (1, 0.5, 0.01),
        (2, 0.5, 0.01),
        (3, 0.5, 0.01),
        (2, 0.1, 0.01),
        (2, 0.3, 0.05),
        (2, 0.7, 0.06),
    ):
        moved = operating_point(inside, tap=tap, held_pa=static * IN_WC).airflow_m3_s / CFM
        assert moved == pytest.approx(part * ROWS[tap][static], rel=off)


def test_rows_of_another_blower_are_told():
    text = new_job_text().replace('"1200 cfm"', '"1200 cfm"\ntotal_external_static = "0.5 inH2O"', 1)
    odd = {2: ROWS[2], 3: {0.1: 1500, 0.5: 1480}}  # "slower", yet moving more than its faster neighbour
    job = parse_job(text + "\n[blower]\nhorsepower = 0.5\ntap_in_use = 2\ntaps = 3\n" + table(odd), "x")
    assert [one["id"] for one in built(job)[1]] == ["finding.fan_table_off"]


def test_the_capacitor_by_meter_is_judged_as_the_one_under_load_is():
    job = job_of(("capacitor_read",), truth(capacitor=0.8))
    read = electrical(Point(job, job.readings[0], 1, 101325.0), None)
    assert [one["id"] for one in read.figures] == ["capacitance_by_meter"]
    assert read.figures[0]["mid"] == pytest.approx(6.0, rel=1e-3)
    assert [one["id"] for one in read.messages] == ["reading.capacitor_weak"]
