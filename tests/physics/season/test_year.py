"""The year: balances, ordering facts of humid houses, sameness whatever the batch."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from airtrim.core.errors import Cancelled, OutOfRangeError, WeatherError
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from tests.physics.season.season_cases import Year, changed, humid_year, invented_systems

AUTO = AirflowProgram()
ALWAYS_ON = AirflowProgram(circulation_flow=1.0)
SLOW = AirflowProgram(cooling_flow=0.75, least_flow=0.75, greatest_flow=0.75)
FEEDBACK = AirflowProgram(cooling_flow=0.8, least_flow=0.55, greatest_flow=1.0, coil_sensor_drop_k=14.0)


def test_fan_left_on_makes_the_house_damper():
    """Shirey and Henderson 2006 (FSEC-CR-1537-05): a blower that never stops gives the coil's water back. Direction only."""
    years = run_years(invented_systems(2), [AUTO, ALWAYS_ON], humid_year(), step_s=30.0)
    assert np.all(years.mean_relative_humidity[:, 1] > years.mean_relative_humidity[:, 0] + 0.01)
    assert np.all(years.blower_kwh[:, 1] > 2.0 * years.blower_kwh[:, 0])


def test_slower_blower_dries_more_and_runs_longer():
    """Lower coil temperature at less airflow takes out more water per hour of cooling (common-practice). Direction only."""
    years = run_years(invented_systems(2), [AUTO, SLOW], humid_year(), step_s=30.0)
    assert np.all(years.damp_hours[:, 1] < years.damp_hours[:, 0])
    assert np.all(years.run_hours[:, 1] > years.run_hours[:, 0])
    assert np.all(years.least_saturated_suction_c[:, 1] < years.least_saturated_suction_c[:, 0])
    assert np.all(years.design_margin_w[:, 1] < years.design_margin_w[:, 0])


def test_larger_coil_sensor_drop_lowers_humidity_until_a_limit_binds():
    drops = [
        AirflowProgram(cooling_flow=0.8, least_flow=0.5, greatest_flow=1.0, coil_sensor_drop_k=d)
        for d in (10.0, 13.0, 16.0)
    ]
    damp = run_years(invented_systems(2), drops, humid_year(), step_s=30.0).mean_relative_humidity
    assert np.all(np.diff(damp, axis=1) <= 1e-4)
    assert np.all(damp[:, 2] < damp[:, 0])


def test_return_leak_from_the_attic_raises_load():
    """Cummings and Tooley 1990 (ESL-HH-90-10-20): attic return leaks raise cooling demand. Direction only."""
    tight, leaky = (
        run_years(invented_systems(2, leak=leak), [AUTO], humid_year(), step_s=60.0) for leak in (0.0, 0.15)
    )
    assert np.all(leaky.compressor_kwh > 1.05 * tight.compressor_kwh)


def test_less_sensible_gain_at_equal_sources_is_wetter():
    """Rudd and Henderson 2007 (CP-0702): efficient houses with the same moisture are damper. Direction only."""
    house = invented_systems(2)
    gains = [
        run_years(changed(house, internal_gain_w=w), [AUTO], humid_year(), step_s=60.0).mean_relative_humidity
        for w in (1200.0, 400.0)
    ]
    assert np.all(gains[1] > gains[0])


def test_vacant_house_without_cooling_in_a_florida_summer_is_humid():
    """FSEC vacant-home study (2005): AC off, windows shut, mean RH about 70 %; accepted 65 to 75 %. Miami TMY2, June to August."""
    from airtrim.weather.files import embedded_weather

    empty = changed(invented_systems(1), internal_gain_w=50.0, moisture_gain_kg_s=0.0)
    empty = replace(empty, solar_aperture_m2=empty.solar_aperture_m2 * 0.7)  # blinds drawn
    off = AirflowProgram(cooling_set_point_c=60.0)
    years = run_years(empty, [off], embedded_weather("miami-fl"), step_s=60.0)
    assert 0.65 < years.monthly_relative_humidity[0, 0, 5:8].mean() < 0.75
    assert years.run_hours[0, 0] == 0.0


ICED = {
    "moisture": 1e-4, "buffer": 4000.0, "leak": 0.05, "supply": 0.05, "water": 0.9, "offset": 2.0, "drop": 0.0, "heavy": 0.0,
    "dehumidifier": 0.0, "blown_in": 0.0, "area": 700.0, "overcool": 0.0, "two_stage": False, "pump": 0.0,
}  # fmt: skip


@settings(max_examples=16, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    moisture=st.floats(0.0, 2e-4),
    buffer=st.floats(50.0, 2e4),
    leak=st.floats(0.0, 0.3),
    supply=st.floats(0.0, 0.3),
    water=st.floats(0.05, 2.0),
    ducts=st.sampled_from([(1.0, 0.0), (0.0, 1.0), (0.0, 0.0)]),
    offset=st.floats(0.0, 3.0),
    flow=st.floats(0.4, 0.9),
    set_point=st.floats(17.0, 25.0),
    circulation=st.sampled_from([0.0, 0.4, 1.0]),
    drop=st.sampled_from([0.0, 13.0, 20.0]),
    heavy=st.sampled_from([0.0, 1e6, 6e7]),
    dehumidifier=st.sampled_from([0.0, 3e-4, 1e-3]),
    blown_in=st.sampled_from([0.0, 0.05]),
    area=st.floats(0.0, 3000.0),
    overcool=st.sampled_from([0.0, 1.5]),
    two_stage=st.booleans(),
    pump=st.sampled_from([0.0, 9000.0]),
)
@example(
    ducts=(0.0, 0.0), flow=0.42, set_point=19.5, circulation=0.0, **ICED
)  # iced, thawed by the room without the fan
@example(ducts=(1.0, 0.0), flow=0.45, set_point=19.5, circulation=0.4, **ICED)  # iced, thawed by the fan
def test_water_and_heat_close_over_any_year(
    moisture, buffer, leak, supply, water, ducts, offset, flow, set_point, circulation, drop, heavy, dehumidifier, blown_in,
    area, overcool, two_stage, pump,
):  # fmt: skip
    """Conservation: in = out + held (frost with it), to 1e-9 of the sum of the absolute flows: bare coils and iced ones, light
    houses and heavy ones, dehumidifiers, panes, fans, two stages and heat pumps."""
    house = changed(
        invented_systems(1), moisture_gain_kg_s=moisture, moisture_buffer_kg=buffer, return_leak=leak, supply_leak=supply,
        coil_water_max_kg=water, ducts_in_attic=ducts[0], ducts_in_crawl_space=ducts[1], circuit_offset_k=offset,
        heavy_capacity_j_k=heavy, heavy_coupling_w_k=heavy / 1e5, heavy_part=0.3 if heavy > 0.0 else 0.0,
        dehumidifier_kg_s=dehumidifier, dehumidifier_w=2e6 * dehumidifier, supply_air_kg_s=blown_in, leakage_area_cm2=area,
    )  # fmt: skip
    house = replace(
        house, heat_pump_heat_w=np.array([[pump, 0.6 * pump]]), heat_pump_power_w=np.array([[pump / 3.3, pump / 4.0]])
    )
    if two_stage:
        house = replace(
            house, low_stage_units=house.units, low_stage_surfaces=house.surfaces, low_stage_bypass=house.bypass
        )
    program = AirflowProgram(
        cooling_flow=flow, least_flow=0.4, greatest_flow=1.0, coil_sensor_drop_k=drop, circulation_flow=circulation,
        cooling_set_point_c=set_point, heating_set_point_c=set_point - 3.0, dehumidifier_set=0.5, humidity_set=0.5,
        overcool_k=overcool, drying_flow=0.4,
    )  # fmt: skip
    years = run_years(house, [program], humid_year(), step_s=60.0)
    assert abs(years.water_balance[0, 0]) < 1e-9
    assert abs(years.energy_balance[0, 0]) < 1e-9


def test_results_do_not_depend_on_the_batch():
    house = invented_systems(4)
    together = run_years(house, [AUTO, FEEDBACK], humid_year(), step_s=60.0)
    alone = run_years(house.first(1), [FEEDBACK], humid_year(), step_s=60.0, threads=1)
    assert together.damp_hours[0, 1] == alone.damp_hours[0, 0]
    assert together.water_kg[0, 1] == alone.water_kg[0, 0]


@pytest.mark.slow
def test_step_of_ten_seconds_is_fine_enough():
    """Own refinement study, not an outside value: 10 s against 1 s within what is asked of 0.25 s: energy and water 0.1 %, starts
    2 %; a drying program's blower alone, a tenth of the energy, within 0.2 %. Against 0.25 s: `./run bench season_step`."""
    held = replace(FEEDBACK, coil_sensor_drop_k=0.0, saturated_suction_c=6.5, humidity_set=0.5, overcool_k=1.0)
    coarse, fine = (run_years(invented_systems(1), [AUTO, FEEDBACK, held], humid_year(), step_s=s) for s in (10.0, 1.0))
    for name in ("compressor_kwh", "heating_kwh", "sensible_kwh", "water_kg"):
        np.testing.assert_allclose(getattr(coarse, name), getattr(fine, name), rtol=0.001, err_msg=name)
    np.testing.assert_allclose(coarse.blower_kwh, fine.blower_kwh, rtol=0.002)
    np.testing.assert_allclose(coarse.starts, fine.starts, rtol=0.02)
    np.testing.assert_allclose(coarse.mean_relative_humidity, fine.mean_relative_humidity, atol=0.0005)


@pytest.mark.slow
def test_step_of_a_minute_is_good_enough_to_screen():
    """Own refinement study: what is asked of 60 s is that its error be stated (docs/decisions/year.md); held here to twice that."""
    coarse, fine = (run_years(invented_systems(1), [AUTO, FEEDBACK], humid_year(), step_s=s) for s in (60.0, 10.0))
    for name, allowed in (("compressor_kwh", 0.01), ("water_kg", 0.015), ("starts", 0.02), ("blower_kwh", 0.06)):
        np.testing.assert_allclose(getattr(coarse, name), getattr(fine, name), rtol=allowed, err_msg=name)


def test_gap_in_the_weather_is_named():
    year = humid_year()
    broken = year.dry_bulb_c.copy()
    broken[100] = np.nan
    holed = Year(
        year.pressure_pa, broken, year.humidity_ratio, year.wind_m_s, year.ghi_w_m2, year.facade_w_m2, 34.0, 0.016
    )
    with pytest.raises(WeatherError, match="dry_bulb_c must hold 8,760 finite hours"):
        run_years(invented_systems(1), [AUTO], holed)


def test_least_above_greatest_airflow_is_refused():
    with pytest.raises(OutOfRangeError, match=r"least airflow 0.90 and greatest airflow 0.70"):
        AirflowProgram(cooling_flow=0.8, least_flow=0.9, greatest_flow=0.7)


def test_the_year_can_be_stopped():
    with pytest.raises(Cancelled, match="stopped"):
        run_years(invented_systems(4), [AUTO], humid_year(), step_s=60.0, progress=lambda done: True)
