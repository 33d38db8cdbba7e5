"""The season in lanes: the same bits as the readable day, step by step and whatever the batch; really vectorised on x86."""

import platform
import re
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airtrim.core.errors import Cancelled, OutOfRangeError
from airtrim.core.lanes.write import LANES
from airtrim.physics.season import many
from airtrim.physics.season.layout import BY_HOUR, MONTHLY, PARAMETERS, STATE, parameter_rows, setting_rows
from airtrim.physics.season.many import (
    Asked,
    HouseYear,
    Told,
    first_state,
    grouped,
    lane_form,
    run_house_years,
    single_form,
    weather_arguments,
)
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.watch import CARRIED
from airtrim.physics.season.year import YearResults, run_years
from tests.physics.season.season_cases import humid_year, icy_program, invented_systems

AUTO = AirflowProgram()
FEEDBACK = AirflowProgram(cooling_flow=0.8, least_flow=0.55, greatest_flow=1.0, coil_sensor_drop_k=14.0)
CIRCULATING = replace(FEEDBACK, circulation_flow=0.4, off_delay_s=300.0)


def eight_different():
    """Parameters, surfaces, low-stage surfaces `[values, LANES]` and settings `[24, values, LANES]` of houses unlike each other
    under unlike programs, icy ones among them.

    With fixed orifice and expansion valve, ducts in attic, crawl space and inside, leaks, exhaust, blown-in air and a coil without
    water; heavy masses, heat pumps, dehumidifiers, two stages, and every part of the airflow program somewhere.
    """
    from airtrim.physics.unit.fit import bypass_constants, fit_surfaces

    systems = invented_systems(LANES)
    orifice = systems.units.copy()
    orifice[::2, 6] = 1.0 - orifice[::2, 6]
    small = orifice * np.array([0.72, 0.66, 1.0, 1.0, 1.0, 0.86, 1.0])
    alternately, rarely = np.array([0.0, 1.0] * 4), np.array([0.0, 0.0, 0.0, 1.0] * 2)
    systems = replace(
        systems, units=orifice, surfaces=fit_surfaces(orifice, systems.pressure_pa),
        bypass=bypass_constants(orifice, systems.pressure_pa), ducts_in_attic=1.0 - alternately,
        ducts_in_crawl_space=np.array([0.0, 1.0, 0.0, 0.0] * 2), return_leak=np.linspace(0.0, 0.2, LANES),
        exhaust_kg_s=np.linspace(0.0, 0.05, LANES), coil_water_max_kg=np.array([0.0] + [0.9] * 7),
        outdoor_air_part=np.array([0.1] + [0.0] * 7), heavy_capacity_j_k=3e7 * alternately,
        heavy_coupling_w_k=600.0 * alternately, heavy_part=0.3 * alternately, supply_air_kg_s=0.03 * rarely,
        heat_pump_heat_w=np.outer(alternately, [9000.0, 5500.0]), heat_pump_power_w=np.outer(alternately, [2800.0, 2400.0]),
        dehumidifier_kg_s=np.full(LANES, 3e-4), dehumidifier_w=np.full(LANES, 600.0), dehumidifier_lost_part=0.1 * rarely,
        low_stage_units=small, low_stage_surfaces=fit_surfaces(small, systems.pressure_pa),
        low_stage_bypass=bypass_constants(small, systems.pressure_pa),
    )  # fmt: skip
    back = tuple(26.0 if 8 <= hour < 16 else 23.5 for hour in range(24))
    drive = AirflowProgram(
        cooling_flow=0.9, drying_flow=0.6, least_flow=0.5, low_stage_flow=0.7, coil_sensor_drop_k=15.0, humidity_set=0.55,
        overcool_k=1.0, hold_only_when_drying=True, long_call_s=3600.0, cooling_set_by_hour_c=back, dehumidifier_set=0.5,
    )  # fmt: skip
    programs = [AUTO, FEEDBACK, CIRCULATING, icy_program(), drive, icy_program(0.6, 20.0),
                replace(drive, coil_sensor_drop_k=0.0, saturated_suction_c=5.0, drying_when_open=True),
                AirflowProgram(heating_set_point_c=22.0, heating_flow=0.8, dehumidifier_set=0.55)]  # fmt: skip
    rows = [parameter_rows(systems, one, systems.fan_watts)[lane] for lane, one in enumerate(programs)]
    rows = np.stack(rows, axis=1)
    rows[PARAMETERS.index("has_low_stage"), [0, 3, 5]] = 0.0
    settings = np.stack([setting_rows(systems, one)[lane] for lane, one in enumerate(programs)], axis=2)
    return rows, systems.surfaces.T, systems.low_stage_surfaces.T, settings


def _told_into(lanes):
    months = np.zeros((12, len(MONTHLY), lanes))
    watched, by_hour = np.zeros((len(CARRIED), lanes)), np.zeros((12, 24, len(BY_HOUR), lanes))
    return months, watched, by_hour, np.zeros((8760, 2, lanes))


def test_lanes_equal_the_readable_day_bit_for_bit_day_by_day():
    """Both forms do the same operations in the same order, without fused or reordered sums: no tolerance is needed."""
    rows, surfaces, low_surfaces, settings = eight_different()
    weather, lanes, single = humid_year(), lane_form(), single_form()
    given = weather_arguments(weather)
    block, told = np.zeros(lanes.rows * LANES), _told_into(LANES)
    for name, values in (("parameters", rows), ("surfaces", surfaces), ("low_surfaces", low_surfaces)):
        lanes.part(name, block)[:] = values
    lanes.part("state", block)[:] = first_state(rows, weather)
    singles = [(np.zeros(single.rows), _told_into(1)) for _ in range(LANES)]
    for lane, (one, _) in enumerate(singles):
        for name, values in (("parameters", rows), ("surfaces", surfaces), ("low_surfaces", low_surfaces)):
            single.part(name, one)[:, 0] = values[:, lane]
        single.part("state", one)[:, 0] = first_state(rows[:, [lane]], weather)[:, 0]
    for step_s, days in ((60.0, range(0, 365, 5)), (10.0, range(100, 320, 40)), (3600.0 / 128.0, (200,))):
        for day in days:
            month = day // 31
            lanes.day(day, month, step_s, *given, LANES, settings, block, *told)
            for lane, (one, singly) in enumerate(singles):
                single.day(day, month, step_s, *given, 1, np.ascontiguousarray(settings[:, :, [lane]]), one, *singly)
                for name in ("state", "sums"):
                    np.testing.assert_array_equal(
                        lanes.part(name, block)[:, lane], single.part(name, one)[:, 0], f"{name}, {day=}, {lane=}"
                    )
    for lane, (_, singly) in enumerate(singles):
        for ours, theirs in zip(told, singly, strict=True):
            np.testing.assert_array_equal(ours[..., lane], theirs[..., 0])
    sums = dict(zip(MONTHLY, told[0].sum(axis=0), strict=True))
    for name in ("frozen_kg", "drained_kg", "run_s", "strips_or_furnace_j", "pump_heat_j", "sweat_s", "duct_sweat_s",
                 "dehumidified_kg", "high_stage_s", "long_call_s", "drying_call_s", "mould_peak", "over_dry_s"):  # fmt: skip
        assert np.any(sums[name] > 0.0), name  # the days met what they should compare
    assert np.all(np.isfinite(lanes.part("state", block))) and len(STATE) == lanes.part("state", block).shape[0]


def _few(count):
    systems = invented_systems(16)
    programs = (AUTO, FEEDBACK, CIRCULATING)
    rows = [parameter_rows(systems, one, systems.fan_watts) for one in programs]
    settings = [setting_rows(systems, one) for one in programs]
    return [HouseYear(rows[i % 3][i % 16], systems.surfaces[i % 16], settings[i % 3][i % 16], 0) for i in range(count)]


@pytest.fixture
def short_year(monkeypatch):
    """Three days of warm-up and twelve months of sixteen days: how groups are made does not depend on the year's length."""
    monkeypatch.setattr(many, "WARM_UP_DAYS", 3)
    monkeypatch.setattr(many, "DAYS_OF_MONTH", (16,) * 12)


def _same(one, other):
    for ours, theirs in zip(vars(one).values(), vars(other).values(), strict=True):
        np.testing.assert_array_equal(ours, theirs)


def _of(told, places):
    return Told(*(values[places] for values in vars(told).values()))


ALL = Asked(by_hour=True, hourly=True, days=(150,))


@pytest.mark.usefixtures("short_year")
def test_results_are_the_same_bits_whatever_the_batch():
    wanted = _few(48)
    everyone = run_house_years(wanted, [humid_year()], 60.0)
    for count in (1, 2, 3, 7, 8, 9, 47):
        for threads in (1, 2):
            some = run_house_years(wanted[:count], [humid_year()], 60.0, threads=threads)
            _same(some, _of(everyone, slice(count)))
    order = np.random.default_rng(2).permutation(48)
    _same(run_house_years([wanted[one] for one in order], [humid_year()], 60.0), _of(everyone, order))


@pytest.mark.usefixtures("short_year")
def test_what_is_asked_for_beside_the_sums_moves_nothing_and_does_not_depend_on_the_batch():
    wanted = _few(9)
    plain, told = (run_house_years(wanted, [humid_year()], 60.0, asked=asked) for asked in (Asked(), ALL))
    np.testing.assert_array_equal(plain.months, told.months)
    np.testing.assert_array_equal(plain.balances, told.balances)
    assert told.states.shape == (9, 1, 1440, len(STATE)) and plain.states.shape[1] == 0
    _same(run_house_years(wanted[4:5], [humid_year()], 60.0, asked=ALL), _of(told, slice(4, 5)))


@pytest.mark.usefixtures("short_year")
def test_257_systems_hold_the_first_one_unchanged():
    wanted = _few(257)
    everyone = run_house_years(wanted, [humid_year()], 60.0)
    for place in (0, 128, 256):
        _same(run_house_years([wanted[place]], [humid_year()], 60.0), _of(everyone, slice(place, place + 1)))


@pytest.mark.usefixtures("short_year")
def test_a_spoiled_house_spoils_no_other():
    wanted = _few(11)
    sound = run_house_years(wanted, [humid_year()], 60.0)
    for name, value in (("volume_m3", np.nan), ("glass_w_k", np.inf), ("full_flow_kg_s", 0.0)):
        broken = wanted[4].parameters.copy()
        broken[PARAMETERS.index(name)] = value
        spoiled = [*wanted[:4], replace(wanted[4], parameters=broken), *wanted[5:]]
        with np.errstate(invalid="ignore"):
            found = run_house_years(spoiled, [humid_year()], 60.0)
        others = [place for place in range(11) if place != 4]
        _same(_of(found, others), _of(sound, others))
        assert not np.all(np.isfinite([*found.months[4].ravel(), *found.balances[4]])) or value == 0.0


def test_systems_by_programs_by_weathers_in_one_call():
    """K years of weather give what each gives alone, at its own place."""
    warm = humid_year()
    hotter = replace(warm, dry_bulb_c=warm.dry_bulb_c + 2.0)
    systems = invented_systems(3)
    both = run_years(systems, [AUTO, FEEDBACK], [warm, hotter], step_s=60.0)
    for k, weather in enumerate((warm, hotter)):
        alone = run_years(systems, [AUTO, FEEDBACK], weather, step_s=60.0)
        for name in set(YearResults.__dataclass_fields__) - {"details"}:
            np.testing.assert_array_equal(getattr(both, name)[:, :, k], getattr(alone, name), name)
    assert both.damp_hours.shape == (3, 2, 2) and both.monthly_relative_humidity.shape == (3, 2, 2, 12)
    assert np.all(both.compressor_kwh[..., 1] > both.compressor_kwh[..., 0])
    with pytest.raises(OutOfRangeError, match="No weather year"):
        run_years(systems, [AUTO], [])


def test_groups_are_of_one_weather_and_hold_everyone_once():
    weather_of = [place % 3 for place in range(100)]
    groups = grouped(weather_of)
    assert sorted(place for group in groups for place in group) == list(range(100))
    assert all(len({weather_of[place] for place in group}) == 1 and len(group) <= LANES for group in groups)
    assert all(len(group) == 1 or len(group) > many.SINGLY for group in groups)


def test_progress_is_told_between_days_and_a_stop_is_heard_at_once():
    heard: list[float] = []
    callers = set()

    def listen(done: float) -> bool:
        heard.append(done)
        callers.add(threading.current_thread())
        return done > 0.02

    with pytest.raises(Cancelled, match="stopped before it was finished"):
        run_years(invented_systems(2), [AUTO] * 64, humid_year(), step_s=10.0, progress=listen)
    # a fiftieth was wanted of 128 house-years that take 4 s and more
    assert heard == sorted(heard) and heard[-1] < 0.5 and heard[-1] > 0.02
    assert callers == {threading.current_thread()}


def test_progress_reaches_the_end():
    heard: list[float] = []
    run_years(invented_systems(1), [AUTO], humid_year(), step_s=60.0, progress=heard.append)
    assert heard[-1] == 1.0 and heard == sorted(heard)


@pytest.mark.skipif(platform.machine() not in ("x86_64", "AMD64"), reason="the instructions looked for are x86's")
def test_lanes_are_vectorised_in_machine_code():
    """The loss would be silent and threefold. What runs once an hour, or once a step for all lanes, is single: a thirtieth of the
    arithmetic in the text. The shortest loops over lanes left so would make it a sixth."""
    from numba import njit

    form, weather = lane_form(), humid_year()
    fresh = njit(error_model="numpy")(form.kernel.reference)  # machine code from the cache cannot be looked at
    fresh(0, 0, 0, 60, 60.0, *weather_arguments(weather), np.zeros(form.rows * LANES))
    (machine_code,) = fresh.inspect_asm().values()
    arithmetic = r"\tv?(?:add|sub|mul|div|fn?m(?:add|sub)\d+)"  # fused ones are two in one
    packed, single = (len(re.findall(rf"{arithmetic}{kind}\t", machine_code)) for kind in ("pd", "sd"))
    divisions = len(re.findall(r"\tv?divpd\t", machine_code))
    written = Path(form.kernel.reference.__code__.co_filename).read_text().count(" / ")
    assert single < 0.06 * packed, (single, packed)
    assert divisions > 0.7 * written  # equal ones are joined, and what is the same in all lanes is single
