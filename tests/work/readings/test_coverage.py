"""Invented houses with known truth: the joined airflow and the cooling hold it about nine times in ten.

The truth is made here by its own formulas and each reading is spoiled by its instrument (evenly within its limits) and its placing
(normal); the readings room sees only the text of the job.
"""

import numpy as np

from airtrim.physics.air.moist import humidity_ratio_from_relative_humidity, wet_bulb_c
from airtrim.work.readings import read_job
from tests.work.readings.readings_cases import figure_of, job_with

HOUSES = 120
PRESSURE = 101325.0
GAS = 287.042


def even(rng, limit):
    return rng.uniform(-limit, limit)


def one_house(rng):
    """(job, truth): an airflow read in heat, by plate, by matching and by the maker's table, then a cooling run."""
    flow = rng.uniform(0.45, 0.72)  # kg/s of dry air
    back, humid = rng.uniform(22.5, 26.0), rng.uniform(0.42, 0.62)
    ratio = humidity_ratio_from_relative_humidity(back, humid, PRESSURE)
    volume = GAS * (back + 273.15) * (1.0 + 1.607858 * ratio) / PRESSURE
    supply, watts = back - rng.uniform(8.5, 11.5), rng.uniform(350.0, 600.0)
    out = min(0.88 * ratio, humidity_ratio_from_relative_humidity(supply, rng.uniform(0.86, 0.96), PRESSURE))
    meter, clamp, gauge, fan = even(rng, 1.0), even(rng, 1.0), even(rng, 1.0), even(rng, 1.0)

    def thermometer(true, placed):
        return true + even(rng, 0.001 * abs(true) + 1.3 / 1.8) + rng.normal(0.0, placed)

    volts, amps, cold = rng.uniform(225.0, 245.0), rng.uniform(36.0, 44.0), rng.uniform(19.0, 22.0)
    dry_flow = flow / 0.98 * (1.0 + rng.normal(0.0, 0.015))
    w_heat = humidity_ratio_from_relative_humidity(cold, 0.5, PRESSURE)
    hot = cold + volts * amps / (dry_flow * (1006.0 + 1860.0 * w_heat))
    # one thermometer in the supply plenum, three places
    one_bias = even(rng, 0.001 * hot + 1.3 / 1.8)
    places = [hot + one_bias + rng.normal(0.0, 0.5) for _ in range(3)]
    heat = f"""operation = "heating"
running_for = "12 min"
blower_place = "after_supply_reading"
strip_circuits = [{{volts = "{volts + meter * (0.015 * volts + 0.5):.3f} V", amps = "{amps + clamp * (0.02 * amps + 0.05):.4f} A"}}]
supply_dry_bulbs = [{", ".join(f'"{one:.4f} C"' for one in places)}]
return_dry_bulb = "{thermometer(cold, 0.2):.4f} C"
return_relative_humidity = "50 %"
"""
    actual = flow * volume
    density = (1.0 + ratio) / volume
    plate_error = 1.0 + even(rng, 0.07)
    drop = 1.2013848**-1.0 * density * (actual / (plate_error * 0.09)) ** 2
    ratio_errors = [1.0 + 0.03 * rng.normal() for _ in range(4)]
    match = actual * (1.0 + fan * 0.05)
    table = actual * float(np.exp(rng.normal(0.0, 0.12)))
    wet_in = wet_bulb_c(back, ratio, PRESSURE)
    wet_out = wet_bulb_c(supply, out, PRESSURE)
    water = flow * (ratio - out)
    dry_in, dry_out = thermometer(back, 0.2), thermometer(supply, 0.5)
    # what would be refused (a wet-bulb 1.5 K above its dry-bulb) is read again in the house as well
    wet_in_read = min(thermometer(wet_in, 0.3), dry_in + 1.4)
    wet_out_read = min(thermometer(wet_out, 0.5), dry_out + 1.4)
    cool = f"""coil = "wet"
running_for = "30 min"
return_dry_bulb = "{dry_in:.4f} C"
return_wet_bulb = "{wet_in_read:.4f} C"
supply_dry_bulb = "{dry_out:.4f} C"
supply_wet_bulb = "{wet_out_read:.4f} C"
blower_power = "{watts * (1.0 + even(rng, 0.02)):.2f} W"
total_external_static = "125 Pa"
plate = {{drop = "{drop * (1.0 + gauge * 0.01):.3f} Pa", airflow_at_1_pa = "0.09 m**3/s", \
supply_static_with = "{46 * ratio_errors[0]:.3f} Pa", supply_static_without = "{46 * ratio_errors[1]:.3f} Pa"}}
matching = {{fan_airflow = "{match:.5f} m**3/s", \
reached = "{46 * ratio_errors[2]:.3f} Pa", wanted = "{46 * ratio_errors[3]:.3f} Pa"}}
condensate = {{volume = "{water * 1200 / 998.5 * 1000 * (1 + even(rng, 0.03)) * (1 + rng.normal(0, 0.05)):.4f} L", time = "20 min"}}
"""
    rows = "".join(
        f'\n[[blower.fan_table]]\ntap = 1\nstatic = "{static} Pa"\nairflow = "{table * part:.5f} m**3/s"\n'
        for static, part in ((75, 1.08), (125, 1.0), (200, 0.85))
    )
    coil = supply - watts / (flow * (1006.0 + 1860.0 * ratio))
    truth = {
        "airflow": actual,
        "sensible_capacity": flow * (1006.0 + 1860.0 * out) * (back - coil),
        "latent_capacity": water * (2501000.0 + 1860.0 * back - 4186.0 * coil),
    }
    return job_with(heat, cool, more=rows), truth


def test_joined_airflow_and_cooling_hold_the_truth():
    rng = np.random.default_rng(11)
    hits = dict.fromkeys(("airflow", "sensible_capacity", "latent_capacity"), 0)
    narrower = []
    for _ in range(HOUSES):
        job, truth = one_house(rng)
        answers = read_job(job)
        figures = answers["airflow"]["figures"] + answers["points"][1]["figures"]
        for name in hits:
            found = figure_of(figures, name)
            hits[name] += found["low"] <= truth[name] <= found["high"]
        joined = answers["airflow"]["figures"][0]
        narrower.append(joined["high"] / joined["low"])
    # 90 %, give or take 2.5 sigma of a binomial of this many houses
    spread = 2.5 * np.sqrt(0.9 * 0.1 / HOUSES)
    for name, count in hits.items():
        assert 0.9 - spread <= count / HOUSES <= 0.9 + spread, (name, count)
    assert np.median(narrower) < 1.10  # four ways of 7 to 20 % make better than 5 % each way


def test_a_gross_mistake_in_one_way_is_said_nearly_always():
    """A plate read at half its pressure (29 % low) against three sound ways."""
    rng = np.random.default_rng(12)
    said = 0
    for _ in range(30):
        job, _ = one_house(rng)
        cool = job.readings[1]
        plate = cool.plate.model_copy(
            update={"drop": cool.plate.drop.model_copy(update={"si": 0.5 * cool.plate.drop.si, "text": "spoiled"})}
        )
        spoiled = job.model_copy(update={"readings": [job.readings[0], cool.model_copy(update={"plate": plate})]})
        messages = [one for one in read_job(spoiled)["messages"] if one["id"] == "reading.ways_disagree"]
        said += any("reading.way.plate" in (m["values"]["first"]["id"], m["values"]["second"]["id"]) for m in messages)
    assert said >= 27


def test_sound_ways_are_seldom_said_to_disagree():
    """One job in twenty, however many ways it has; 9 of 80 is three sigma of that."""
    rng = np.random.default_rng(3)
    said = sum(
        any(one["id"] == "reading.ways_disagree" for one in read_job(one_house(rng)[0])["messages"]) for _ in range(80)
    )
    assert said <= 9
