"""The stepping kernel against the same house in continuous time (tests/reference), and against itself at finer steps."""

import time
from typing import Any

DAYS = 7


def run() -> list[dict[str, Any]]:
    import numpy as np

    from airtrim.physics.season.layout import parameter_rows, setting_rows
    from airtrim.physics.season.many import (
        DAYS_OF_MONTH,
        LANES,
        HouseYear,
        first_state,
        run_house_years,
        weather_arguments,
    )
    from airtrim.weather.files import embedded_weather
    from tests.physics.season.season_cases import humid_year, invented_systems
    from tests.reference.continuous_house import House
    from tests.reference.test_continuous_house import FIXED, HELD, JULY, stepped

    house, year = invented_systems(LANES), embedded_weather("greensboro-nc")
    weather = weather_arguments(year)
    seconds = []
    for program in (FIXED, HELD):
        row, settings = parameter_rows(house, program, house.fan_watts)[0], setting_rows(house, program)[0]
        state = first_state(row[:, None], year)[:, 0].copy()
        stepped(row, settings, house.surfaces[0], weather, state, range(JULY - 3, JULY), 10.0)
        House(row, settings, house.surfaces[0], weather, state.copy()).run(JULY, 1)  # compiled
        clock = time.process_time()
        House(row, settings, house.surfaces[0], weather, state.copy()).run(JULY, DAYS)
        seconds.append(time.process_time() - clock)
    reference_day = float(np.mean(seconds)) / DAYS

    def house_years(step_s: float, count: int) -> tuple[Any, float]:
        rows, settings = parameter_rows(house, HELD, house.fan_watts), setting_rows(house, HELD)
        wanted = [HouseYear(rows[n], house.surfaces[n], settings[n], 0) for n in range(LANES)] * (count // LANES)
        clock = time.process_time()
        told = run_house_years(wanted, [humid_year()], step_s, threads=1)
        return told.months[:LANES].sum(axis=1), (time.process_time() - clock) / count

    house_years(60.0, LANES)  # compiled
    # as long as a July day takes: the reference has not been given a whole year, of which half is quick
    july = _share_of_july(house, year, DAYS_OF_MONTH)
    coarse, each = house_years(10.0, 4 * LANES)
    fine, _ = house_years(0.25, LANES)
    from airtrim.physics.season.layout import MONTHLY

    def worst(name: str) -> float:
        place = MONTHLY.index(name)
        return 100.0 * float(np.abs(coarse[:, place] / fine[:, place] - 1.0).max())

    entries = [
        ("season_against_reference", reference_day / (each * july), "times faster", "higher"),
        ("season_step_energy", worst("compressor_j"), "% of 0.25 s", "lower"),
        ("season_step_latent", worst("latent_j"), "% of 0.25 s", "lower"),
        ("season_step_starts", worst("starts"), "% of 0.25 s", "lower"),
    ]
    return [
        {"bench": name, "value": value, "unit": unit, "better": better, "against": None, "ratio": None}
        for name, value, unit, better in entries
    ]


def _share_of_july(house: Any, year: Any, lengths: tuple[int, ...]) -> float:
    """A July day's part of a year's time in lanes."""
    import numpy as np

    from airtrim.physics.season.layout import parameter_rows, setting_rows
    from airtrim.physics.season.many import Asked, _Run, lane_form
    from tests.reference.test_continuous_house import HELD

    form = lane_form()
    run = _Run(form, parameter_rows(house, HELD, house.fan_watts).T.copy(), year, 10.0, Asked())
    form.part("surfaces", run.block)[:] = house.surfaces.T
    run.settings[:] = np.moveaxis(setting_rows(house, HELD), 0, 2)
    times, day = [], 0
    for month, length in enumerate(lengths):
        clock = time.process_time()
        for _ in range(length):
            run.whole_day(day, month)
            day += 1
        times.append(time.process_time() - clock)
    return times[6] / lengths[6] / sum(times)
