"""What is known of humid houses, and the warm wet spring: directions and orders, each a test of its own."""

from dataclasses import replace

import numpy as np
import pytest

from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from airtrim.weather.files import embedded_weather
from tests.physics.season.season_cases import changed, humid_year, invented_systems, steady_weather

AUTO = AirflowProgram()
#: kg/s of dry air in a cubic foot a minute of air at 1.18 kg/m3; watts in a thousand Btu an hour.
CFM, KBTU_H = 0.00047195 * 1.18, 293.071


def efficient_house(count=1, tons=2.5):
    house = changed(
        invented_systems(count, tons=tons),
        envelope_w_k=90.0,
        internal_gain_w=500.0,
        leakage_area_cm2=200.0,
        attic_gain_k=8.0,
    )
    return replace(house, solar_aperture_m2=house.solar_aperture_m2 * 0.5)


def test_right_sized_unit_is_dry_enough_in_midsummer_and_has_its_trouble_in_mild_seasons():
    """Rudd and Henderson 2007 (CP-0702): usual houses are below 60 % in midsummer, and damp at modest load. Miami, a unit within a
    tenth of the design load: July and August below 60 % in the mean, and fewer damp hours than in January, April, May, October
    and November's mean."""
    years = run_years(invented_systems(1, tons=2.5), [AUTO], embedded_weather("miami-fl"), step_s=60.0)
    assert 0.0 <= years.design_margin_w[0, 0] < 0.1 * 2.5 * 3516.85
    assert np.all(years.monthly_relative_humidity[0, 0, [6, 7]] < 0.60)
    damp = years.monthly_hours_over_humidity[0, 0, 2]
    assert damp[[0, 3, 4, 9, 10]].mean() > damp[[5, 6, 7, 8]].mean()


def test_added_outdoor_air_makes_an_efficient_house_wetter():
    """Rudd and Henderson 2007: highest humidity in efficient houses with ventilation. Miami; direction only."""
    years = [
        run_years(changed(efficient_house(), supply_air_kg_s=air), [AUTO], embedded_weather("miami-fl"), step_s=60.0)
        for air in (0.0, 40.0 * CFM, 80.0 * CFM)
    ]
    damp = np.array([year.damp_hours[0, 0] for year in years])
    assert np.all(np.diff(damp) > 0.0)


def test_more_sensible_gain_at_equal_sources_is_drier_in_an_efficient_house():
    """The same with sun and gains apart from moisture (Rudd and Henderson 2007). Miami; direction only."""
    lean, plain = (
        run_years(changed(efficient_house(), internal_gain_w=gain), [AUTO], embedded_weather("miami-fl"), step_s=60.0)
        for gain in (500.0, 900.0)
    )
    assert lean.mean_relative_humidity[0, 0] > plain.mean_relative_humidity[0, 0]


def test_constant_fan_is_wetter_than_auto_in_miami():
    """Shirey and Henderson 2006 (FSEC-CR-1537-05). Direction only."""
    on = AirflowProgram(circulation_flow=1.0)
    years = run_years(invented_systems(1, tons=2.5), [AUTO, on], embedded_weather("miami-fl"), step_s=60.0)
    assert years.mean_relative_humidity[0, 1] > years.mean_relative_humidity[0, 0] + 0.02
    assert years.damp_hours[0, 1] > years.damp_hours[0, 0]


def test_return_leak_from_a_hot_attic_raises_load_and_humidity():
    """NIST TN 1848; Cummings and Tooley 1990: direction only, June to August."""
    weather = embedded_weather("miami-fl")
    leaks = [
        run_years(
            changed(invented_systems(1, tons=2.5), return_leak=leak, supply_leak=0.0), [AUTO], weather, step_s=60.0
        )
        for leak in (0.0, 0.1, 0.2)
    ]
    energy = np.array([year.monthly_compressor_kwh[0, 0, 5:8].sum() for year in leaks])
    humidity = np.array([year.monthly_relative_humidity[0, 0, 5:8].mean() for year in leaks])
    assert np.all(np.diff(energy) > 0.0) and np.all(np.diff(humidity) > 0.0)


def spring_house(load_kbtu_h, outdoor_cfm):
    """2 tons at 350 cfm a ton, 6 kg of water a day; what outdoor air and a little envelope do not bring of the load is gain.
    A coil without water to give back; even habits."""
    house = invented_systems(1, tons=2.0, leak=0.0)
    air = outdoor_cfm * CFM
    house = changed(
        house, envelope_w_k=1.0, leakage_area_cm2=0.0, internal_gain_w=load_kbtu_h * KBTU_H - air * 1023.0 * 1.1,
        moisture_gain_kg_s=6.0 / 86400.0, supply_air_kg_s=air, coil_water_max_kg=0.0, duct_w_k=0.0, ducts_in_attic=0.0,
        full_flow_kg_s=700.0 * CFM, attic_gain_k=0.0,
    )  # fmt: skip
    return replace(house, gain_by_hour=np.ones((1, 24)), moisture_by_hour=np.ones((1, 24)))


#: The suction held that goes with a mean surface of 46 F on this coil: 3 K below it (the own derivation guesses 6 K).
SURFACE_46F_AT = AirflowProgram(
    least_flow=0.2,
    greatest_flow=1.3,
    saturated_suction_c=5.2,
    coil_floor_c=-30.0,
    cooling_set_point_c=23.9,
    off_delay_s=30.0,
)
SPRING = steady_weather(25.0, 20.0)


def _spring(load, air, program, step_s=60.0):
    """Relative humidity of February, after the two weeks of warm-up and a month, and the mean surface while running, F."""
    years = run_years(spring_house(load, air), [program], SPRING, step_s=step_s, traces=[45])
    trace = {name: values[0, 0] for name, values in years.details.traces[45].items() if values.ndim == 3}
    running = trace["running"] > 0.95
    surface = (2.0 * trace["sensor_c"] - trace["suction_c"])[running].mean()
    return years.monthly_relative_humidity[0, 0, 1], 32.0 + 1.8 * surface


@pytest.mark.parametrize(("load", "air"), [(8.0, 40.0), (8.0, 80.0), (9.5, 60.0), (11.0, 40.0), (11.0, 80.0)])
def test_warm_wet_spring(load, air):
    """Own derivation, part-load losses and re-evaporation off, safe limits not applied: outdoors 77 F with dew point 68 F, 75 F
    inside, a mean coil surface near 46 F holds 41 to 51 %."""
    humidity, surface = _spring(load, air, SURFACE_46F_AT)
    assert 45.0 < surface < 47.0
    assert 0.41 <= humidity <= 0.51


def test_warm_wet_spring_with_little_load_stays_above_52_percent():
    """The same with 4.8 kBtu/h and 80 cfm."""
    humidity, surface = _spring(4.8, 80.0, SURFACE_46F_AT)
    assert 45.0 < surface < 47.0
    assert humidity > 0.52


def test_a_larger_coil_sensor_drop_dries_the_warm_wet_spring_or_leaves_it_where_a_limit_binds():
    held = replace(SURFACE_46F_AT, saturated_suction_c=None, greatest_flow=1.0, least_flow=0.55)
    programs = [replace(held, coil_sensor_drop_k=drop) for drop in (17.0, 18.5, 20.0, 24.0, 28.0)]
    years = run_years(spring_house(9.5, 60.0), programs, SPRING, step_s=60.0)
    humidity = years.monthly_relative_humidity[0, :, 1]
    assert np.all(np.diff(humidity) < 5e-4)
    assert humidity[2] < humidity[0] - 0.01
    assert abs(humidity[4] - humidity[3]) < 1e-3  # the least airflow binds


def test_about_30_f_below_return_keeps_the_warm_wet_spring_between_42_and_50_percent():
    """Common practice, no source; 30 F is 16.7 K."""
    program = replace(SURFACE_46F_AT, saturated_suction_c=None, greatest_flow=1.0, coil_sensor_drop_k=16.7)
    assert 0.42 < _spring(9.5, 60.0, program)[0] < 0.50


@pytest.mark.slow
@pytest.mark.parametrize("storeys", [1.0, 3.0])
def test_tightness_alone_has_no_asserted_sign_but_every_result_is_finite(storeys):
    for area in (0.0, 200.0, 2000.0):
        house = changed(invented_systems(1), leakage_area_cm2=area, storeys=storeys)
        years = run_years(house, [AUTO], humid_year(), step_s=60.0)
        assert 0.2 < years.mean_relative_humidity[0, 0] < 0.9
