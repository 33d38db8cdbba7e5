"""Control over the year: schedules, humidity terminals, the airflow program, two stages, heat pump, dehumidifier, faults."""

from dataclasses import replace

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.control.faults import FAULTS, with_fault
from airtrim.physics.season.layout import parameter_rows
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from airtrim.physics.unit.dehumidifier import LATENT_HEAT, dehumidifier_from_rating
from airtrim.physics.unit.fit import bypass_constants, fit_surfaces
from tests.physics.season.season_cases import PRESSURE, changed, humid_year, invented_systems

AUTO = AirflowProgram()
#: July.
SUMMER = 6
DAY = 195


def year_of(program, house=None, step_s=60.0, **asked):
    return run_years(invented_systems(1) if house is None else house, [program], humid_year(), step_s=step_s, **asked)


def trace_of(program, house=None, day=DAY, step_s=60.0):
    traces = year_of(program, house, step_s, traces=[day]).details.traces[day]
    return {name: values[0, 0] if values.ndim == 3 else values for name, values in traces.items()}


def test_set_point_follows_the_hours():
    """Set up to 27 C from 8 to 16: the house is warmer then, recovers after, and the compressor does less in the year."""
    up = tuple(27.0 if 8 <= hour < 16 else 24.0 for hour in range(24))
    flat, scheduled = (year_of(program, by_hour=True) for program in (AUTO, replace(AUTO, cooling_set_by_hour_c=up)))
    room = scheduled.details.by_hour["temperature_c"][0, 0, SUMMER]
    assert room[14] > 25.5 and abs(room[5] - 24.0) < 0.5 and abs(room[20] - 24.0) < 0.6
    assert scheduled.compressor_kwh[0, 0] < flat.compressor_kwh[0, 0]


def test_set_point_swinging_daily_gives_a_sensible_year():
    swing = replace(AUTO, cooling_set_by_hour_c=(22.0, 29.0) * 12, heating_set_by_hour_c=(15.0, 21.0) * 12)
    year = year_of(swing)
    assert abs(year.energy_balance[0, 0]) < 1e-9 and abs(year.water_balance[0, 0]) < 1e-9
    assert 15.0 < year.mean_temperature_c[0, 0] < 29.0


def test_humidity_terminals_overcool_by_no_more_than_the_limit():
    """While damp the room goes to the set-point less the limit, and no further than half the deadband and one call's overshoot."""
    house = changed(invented_systems(1), moisture_gain_kg_s=12.0 / 86400.0)
    years = {k: year_of(replace(AUTO, humidity_set=0.5, overcool_k=k), house, hourly=True) for k in (0.0, 1.5)}
    assert years[1.5].damp_hours[0, 0] < years[0.0].damp_hours[0, 0]
    room = years[1.5].details.hourly["temperature_c"][0, 0, 180 * 24 : 240 * 24]
    assert room.min() > 24.0 - 1.5 - 0.3 - 0.4 and room.min() < 24.0 - 1.0


def test_drying_airflow_runs_while_the_humidity_input_says_so():
    program = replace(AUTO, least_flow=0.6, drying_flow=0.6, humidity_set=0.55)
    trace = trace_of(program)
    settled = (trace["running"] > 0.95) & (trace["call"] == 1.0)
    drying = settled & (trace["drying_call_s"] == 1.0)
    assert drying.any()
    np.testing.assert_allclose(trace["flow"][drying], 0.6)
    other = settled & (trace["drying_call_s"] == 0.0)
    assert not other.any() or np.median(trace["flow"][other]) == 1.0


@pytest.mark.parametrize(
    ("opens", "drying_open", "wire", "expected"),
    [
        (False, False, "", (0.0, 1.0)),
        (True, True, "", (0.0, 1.0)),
        (True, False, "", (1.0, -1.0)),
        (False, True, "", (1.0, -1.0)),
        (False, False, "open", (0.0, 0.0)),
        (True, True, "open", (1.0, 0.0)),
        (True, True, "closed", (0.0, 0.0)),
        (False, False, "closed", (1.0, 0.0)),
    ],
)
def test_humidity_input_by_contact_and_wire(opens, drying_open, wire, expected):
    """Truth table of a contact: what the drive takes for damp, without and with a humidity call."""
    program = replace(
        AUTO, humidity_set=0.55, humidistat_opens_on_rise=opens, drying_when_open=drying_open, humidity_wire=wire
    )
    assert program.drying_signal == expected


def test_reversed_humidity_input_dries_when_it_is_dry():
    program = with_fault(
        replace(AUTO, least_flow=0.55, drying_flow=0.55, humidity_set=0.55, coil_floor_c=-20.0), "humidity_reversed"
    )
    for humidity_set, flow in ((0.3, 1.0), (0.85, 0.55)):  # July is always above the first and never above the second
        trace = trace_of(replace(program, humidity_set=humidity_set))
        settled = (trace["running"] > 0.95) & (trace["call"] == 1.0) & (trace["held_s"] > 120.0)
        assert settled.any() and np.all(trace["flow"][settled] == flow)


def test_held_suction_is_held_between_the_airflows():
    """On a settled coil at 10 s the suction lies within 0.5 K of what is held wherever the flow is between its bounds."""
    program = AirflowProgram(
        least_flow=0.4, greatest_flow=1.0, saturated_suction_c=6.0, coil_floor_c=-5.0, ramp_time_s=30.0
    )
    trace = trace_of(program, day=200, step_s=10.0, house=invented_systems(1, tons=2.0))
    inside = (trace["running"] > 0.999) & (trace["flow"] > 0.45) & (trace["flow"] < 0.98) & (trace["held_s"] > 1200.0)
    assert inside.sum() > 100
    assert abs(np.median(trace["suction_c"][inside]) - 6.0) < 0.5


def test_long_call_gives_the_greatest_airflow():
    """A small unit on a hot day: one call longer than an hour ends at full airflow; its hours are counted."""
    house = invented_systems(1, tons=1.5)
    program = AirflowProgram(cooling_flow=0.7, least_flow=0.7, long_call_s=3600.0)
    trace = trace_of(program, house, 200)
    long = (trace["call"] == 1.0) & (trace["held_s"] > 3700.0)
    assert long.any() and np.all(trace["flow"][long] == 1.0)
    early = (trace["call"] == 1.0) & (trace["held_s"] > 300.0) & (trace["held_s"] < 3500.0)
    np.testing.assert_allclose(trace["flow"][early], 0.7)
    year = year_of(program, house)
    assert (
        year.long_call_hours[0, 0] > 0.0
        and year_of(replace(program, long_call_s=0.0), house).long_call_hours[0, 0] == 0.0
    )


def two_stage(count=1, tons=3.0):
    """Low stage of 0.72 of the capacity at 0.86 of the flow (a public two-speed unit, second-hand), 0.66 of the power."""
    house = invented_systems(count, tons=tons)
    low = house.units * np.array([0.72, 0.66, 1.0, 1.0, 1.0, 0.86, 1.0])
    return replace(
        house,
        low_stage_units=low,
        low_stage_surfaces=fit_surfaces(low, PRESSURE),
        low_stage_bypass=bypass_constants(low, PRESSURE),
    )


def test_two_stages_run_longer_and_start_less():
    """common-practice: the low stage carries most hours; starts fall, running hours rise, energy falls. Direction only."""
    program = AirflowProgram(least_flow=0.86, low_stage_flow=0.86)
    one, two = year_of(program), year_of(program, two_stage())
    assert two.starts[0, 0] < one.starts[0, 0] and two.run_hours[0, 0] > 1.1 * one.run_hours[0, 0]
    assert two.high_stage_hours[0, 0] < 0.5 * two.run_hours[0, 0]
    assert one.high_stage_hours[0, 0] == pytest.approx(one.run_hours[0, 0])
    assert two.compressor_kwh[0, 0] < one.compressor_kwh[0, 0]


def test_second_stage_comes_by_time_and_by_temperature():
    house = two_stage(tons=2.0)
    by_time = trace_of(AirflowProgram(second_stage_after_s=900.0, second_stage_above_k=9.0), house, 200)
    cooling = by_time["call"] == 1.0
    assert np.all(by_time["stage"][cooling & (by_time["held_s"] > 1000.0)] == 1.0)
    assert np.all(by_time["stage"][cooling & (by_time["held_s"] < 900.0)] == 0.0)
    never = trace_of(AirflowProgram(second_stage_after_s=86400.0, second_stage_above_k=9.0), house, 200)
    assert np.all(never["stage"][never["call"] == 1.0] == 0.0)
    soon = trace_of(AirflowProgram(second_stage_after_s=86400.0, second_stage_above_k=0.4), house, 200)
    assert np.any(soon["stage"][soon["call"] == 1.0] == 1.0)


def test_second_stage_alone_is_the_one_stage_unit():
    """With both stages described alike a two-stage unit's year is the one-stage year to the last bit."""
    house = invented_systems(1)
    same = replace(house, low_stage_units=house.units, low_stage_surfaces=house.surfaces, low_stage_bypass=house.bypass)
    one, two = year_of(AUTO, house), year_of(AUTO, same)
    assert one.compressor_kwh[0, 0] == two.compressor_kwh[0, 0] and one.damp_hours[0, 0] == two.damp_hours[0, 0]


def test_heat_pump_heats_by_its_line_and_strips_come_when_it_falls_short():
    """Capacity and power at 47 and 17 F, straight between; where defrosting is, AHRI 210/240's 0.90 of it at 35 F, straight from
    17 to 45 F [from-memory]; by hand from the trace's outdoor temperatures."""
    house = changed(invented_systems(1), heating_capacity_w=9000.0)
    strips_alone = year_of(AUTO, house)
    pump = replace(house, heat_pump_heat_w=np.array([[9500.0, 5600.0]]), heat_pump_power_w=np.array([[2800.0, 2500.0]]))
    year = year_of(AUTO, pump)
    assert year.heat_pump_heat_kwh[0, 0] > 0.9 * year.heating_kwh[0, 0]
    assert abs(year.heating_kwh[0, 0] / strips_alone.heating_kwh[0, 0] - 1.0) < 0.03
    assert 2.5 < year.heat_pump_heat_kwh[0, 0] / year.heat_pump_kwh[0, 0] < 3.6
    weak = year_of(AUTO, replace(pump, heat_pump_heat_w=0.3 * pump.heat_pump_heat_w))
    assert weak.strips_or_furnace_kwh[0, 0] > 2.0 * year.strips_or_furnace_kwh[0, 0]
    trace = trace_of(AUTO, pump, day=20)
    heating = (trace["call"] == 2.0) & (trace["pump_heat_j"] > 0.0)
    dry = humid_year().dry_bulb_c[20 * 24 - 1 : 21 * 24]
    outdoor = np.interp((np.arange(1440) + 0.5) / 60.0, np.arange(25), dry)[heating]
    fahrenheit = 32.0 + 1.8 * outdoor
    line = 5600.0 + (fahrenheit - 17.0) / 30.0 * 3900.0
    at_35 = 0.90 * (5600.0 + 0.6 * 3900.0)
    frosty = 5600.0 + (at_35 - 5600.0) * (fahrenheit - 17.0) / 18.0
    by_hand = np.where((fahrenheit > 17.0) & (fahrenheit < 45.0), frosty, line)
    assert np.any(by_hand == frosty)
    np.testing.assert_allclose(trace["pump_heat_j"][heating], by_hand, rtol=1e-9)


def with_dehumidifier(count=1, litres=33.0):
    unit = dehumidifier_from_rating(litres, 1.85)
    return changed(
        invented_systems(count),
        dehumidifier_kg_s=unit.water_kg_s,
        dehumidifier_w=unit.power_w,
        dehumidifier_lost_part=unit.lost_part,
    )


def test_dehumidifier_holds_its_humidistat_and_heats_the_house():
    off, on = year_of(AUTO, with_dehumidifier()), year_of(replace(AUTO, dehumidifier_set=0.50), with_dehumidifier())
    assert off.dehumidifier_kwh[0, 0] == 0.0 and off.dehumidified_kg[0, 0] == 0.0
    assert on.damp_hours[0, 0] < 0.02 * off.damp_hours[0, 0]
    assert on.monthly_relative_humidity[0, 0, SUMMER] == pytest.approx(0.50, abs=0.015)
    assert on.sensible_kwh[0, 0] > off.sensible_kwh[0, 0]  # its heat is cooled away
    # near 24 C and 50 % these units take out 0.7 to 0.9 of their rating for each kWh
    assert 0.6 * 1.85 < on.dehumidified_kg[0, 0] / on.dehumidifier_kwh[0, 0] < 1.0 * 1.85


def test_dehumidifier_gives_power_and_latent_heat_to_the_room():
    """One day, nothing else on: heat in rises by power + water x latent heat."""
    house = with_dehumidifier()
    off = AirflowProgram(cooling_set_point_c=60.0, heating_set_point_c=-20.0)
    trace = trace_of(replace(off, dehumidifier_set=0.3), house, 195)
    on = trace["dehumidifying"] == 1.0
    assert on.any()
    heat = trace["dehumidifier_j"] + LATENT_HEAT * trace["dehumidified_kg"]
    assert np.all(heat[on] > 500.0) and np.all(heat[~on] == 0.0)
    closed = year_of(replace(off, dehumidifier_set=0.3), house)
    assert abs(closed.energy_balance[0, 0]) < 1e-9 and abs(closed.water_balance[0, 0]) < 1e-9


DRIVE = AirflowProgram(
    cooling_flow=0.8,
    least_flow=0.5,
    greatest_flow=1.0,
    coil_sensor_drop_k=15.0,
    humidity_set=0.55,
    circulation_flow=0.0,
)


def test_each_fault_of_a_drive_shows():
    """Own reasoning, directions: a sensor reading warm slows the blower, one reading cold speeds it up, a lost one and the line
    give full airflow, a stopped drive cools nothing."""
    faults = ("sensor_high", "sensor_low", "sensor_lost", "line_frequency", "stopped")
    sound, *others = (year_of(one) for one in (DRIVE, *(with_fault(DRIVE, fault) for fault in faults)))
    high, low, lost, line, stopped = others
    flow = [year.mean_flow_fraction[0, 0] for year in (high, sound, low, lost)]
    assert flow[0] < flow[1] < flow[2] <= flow[3] + 1e-9 and flow[3] > 0.97
    assert line.mean_flow_fraction[0, 0] == pytest.approx(1.0, abs=2e-3)  # but for the first second of a call
    assert stopped.run_hours[0, 0] == 0.0 and stopped.blower_kwh[0, 0] == 0.0 and stopped.starts[0, 0] == 0.0
    assert stopped.hours_set_point_missed[0, 0] > 1000.0
    assert high.least_saturated_suction_c[0, 0] < sound.least_saturated_suction_c[0, 0]
    assert set(FAULTS) >= {"sensor_high", "stopped"}


def test_a_fault_that_cannot_be_is_refused():
    with pytest.raises(OutOfRangeError, match="reads no coil sensor"):
        with_fault(AUTO, "sensor_high")
    with pytest.raises(OutOfRangeError, match="no humidity input"):
        with_fault(AUTO, "humidity_reversed")
    with pytest.raises(OutOfRangeError, match="not a fault of a drive that is known"):
        with_fault(AUTO, "on_fire")


def test_equipment_too_small_misses_its_set_point_and_says_so():
    year = year_of(AUTO, invented_systems(1, tons=1.0))
    assert year.design_margin_w[0, 0] < 0.0 and year.hours_set_point_missed[0, 0] > 100.0
    assert year.run_hours[0, 0] > 2500.0 and abs(year.energy_balance[0, 0]) < 1e-9


def test_no_windows_and_no_leaks_give_a_sensible_year():
    house = changed(invented_systems(1), leakage_area_cm2=0.0)
    house = replace(house, solar_aperture_m2=0.0 * house.solar_aperture_m2)
    year = year_of(AUTO, house)
    assert abs(year.energy_balance[0, 0]) < 1e-9 and abs(year.water_balance[0, 0]) < 1e-9
    assert 0.2 < year.mean_relative_humidity[0, 0] < 1.0


def test_a_sealed_house_in_winter_runs_down_its_panes():
    """Nothing leaves but by the panes: a year's water on them is a year's moisture (own balance, within 15 % for what the materials
    keep), and the room stays below 100 %."""
    house = changed(invented_systems(1), leakage_area_cm2=0.0, return_leak=0.0, supply_leak=0.0)
    off = AirflowProgram(cooling_set_point_c=60.0, heating_set_point_c=20.0)
    sealed, leaky = year_of(off, house, hourly=True), year_of(off)
    assert sealed.window_water_kg[0, 0] == pytest.approx(6.0 * 365.0, rel=0.15)
    assert leaky.window_water_kg[0, 0] < 0.1 * sealed.window_water_kg[0, 0]
    assert sealed.details.hourly["relative_humidity"][0, 0, : 31 * 24].max() < 1.0


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"drying_flow": 0.4}, "drying airflow 0.40 must lie between least 1.00 and greatest 1.00"),
        ({"low_stage_flow": 1.2}, "low-stage airflow 1.20 must lie between"),
        ({"coil_sensor_drop_k": 14.0, "saturated_suction_c": 4.0}, "at once: leave one of them out"),
        ({"cooling_set_by_hour_c": (24.0,) * 23}, "holds 23 set-points, expected 24"),
        ({"cooling_set_by_hour_c": (24.0,) * 23 + (20.0,)}, "in the hour from 23:00 must stay below"),
        ({"humidity_set": 0.55, "overcool_k": 3.0, "cooling_set_point_c": 23.0}, "less 3.0 K of overcooling"),
        ({"overcool_k": 1.0}, "need a humidity set-point"),
        ({"humidity_set": 0.1}, "humidity_set must be 0 .none. or at least 0.3"),
        ({"dehumidifier_set": 55.0}, "dehumidifier_set must lie in 0 to 0.9"),
        ({"humidity_wire": "cut"}, "humidity_wire must be"),
        ({"long_call_s": 5.0}, "long_call_s must be 0 .never. or lie in 600"),
        ({"heating_flow": 0.0}, "heating_flow must lie in"),
        ({"sensor_error_k": float("nan")}, "sensor_error_k must lie in"),
        ({"cooling_set_point_c": float("nan")}, "must stay below cooling set-point"),
    ],
)
def test_impossible_program_is_refused_in_one_sentence(fields, sentence):
    with pytest.raises(OutOfRangeError, match=sentence):
        AirflowProgram(**fields)


def test_long_call_never_is_infinite_in_the_row():
    house = invented_systems(1)
    assert np.all(np.isinf(parameter_rows(house, AUTO, house.fan_watts)[0]).sum() == 1)
