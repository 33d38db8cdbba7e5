"""Many house-years at once: side by side in the processor's lanes, in groups over the cores, a day at a time.

House-years are put into groups of `LANES` under one weather; a last group is padded with copies of its last one, and one of no
more than `SINGLY` runs in the readable form of the day. Both forms do the same operations in the same order, so a house-year
gives the same bits alone, in any group, in any order and on any number of cores, and none can spoil another.

Memory: a block of `rows` x LANES numbers for each core (about 40 kB), and for each house-year its parameters, twelve months of
sums and the year's figures: about 5 kB, with 3 kB for each system. `benchmarks/bench_season.py` measures it.
"""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from threading import Event
from typing import Any, Final

import numpy as np

from airtrim.core.errors import Cancelled
from airtrim.core.lanes.write import LANES, lane_kernel
from airtrim.physics.season.layout import PARAMETERS, STATE, SUMS
from airtrim.physics.season.system import Array, WeatherArrays
from airtrim.physics.unit.surface import SURFACE_SIZE

DAYS_OF_MONTH: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WARM_UP_DAYS: Final = 14
#: A group of this many house-years or fewer takes less time one after the other in the readable form than in lanes.
SINGLY: Final = 2
#: How often, in seconds, progress is told and a wish to stop is heard.
LISTENING_S: Final = 0.1
#: The arrays of the day's kernel that hold one row for each house-year, in the order in which they lie in a block.
LANE_ARRAYS: Final = {
    "parameters": len(PARAMETERS),
    "state": len(STATE),
    "sums": len(SUMS),
    "surfaces": SURFACE_SIZE,
}
Progress = Callable[[float], bool | None]


@dataclass(frozen=True)
class HouseYear:
    """One house-year to run: a row of parameters and of surfaces [values], and which weather."""

    parameters: Array
    surfaces: Array
    weather: int


@dataclass(frozen=True)
class Form:
    """A day's `kernel` for `lanes` house-years at once; `advance(day, step_s, weather, block)` with a flat block."""

    lanes: int
    rows: int
    kernel: Callable[..., Any]
    advance: Callable[[int, float, WeatherArrays, Array], None]

    def part(self, name: str, block: Array) -> Array:
        """One of LANE_ARRAYS as a view `[length, lanes]` of the block."""
        start = _FIRST[name] * self.lanes
        return block[start : start + LANE_ARRAYS[name] * self.lanes].reshape(-1, self.lanes)


_FIRST: Final[Mapping[str, int]] = dict(zip(LANE_ARRAYS, accumulate(LANE_ARRAYS.values(), initial=0), strict=False))


@lru_cache(maxsize=1)
def single_form() -> Form:
    """The readable kernel itself."""
    from airtrim.physics.season.day import advance_day

    def advance(day: int, step_s: float, weather: WeatherArrays, block: Array) -> None:
        parameters, state, sums, surfaces = (
            block[_FIRST[name] : _FIRST[name] + length] for name, length in LANE_ARRAYS.items()
        )
        dry_bulb, humidity, wind, ghi, facade = _arrays(weather)
        advance_day(
            day, step_s, weather.pressure_pa, dry_bulb, humidity, wind, ghi, facade, parameters, surfaces, state, sums
        )

    return Form(1, sum(LANE_ARRAYS.values()), advance_day, advance)


@lru_cache(maxsize=1)
def lane_form() -> Form:
    """The form written from the readable kernel for LANES at once."""
    from airtrim.physics.season.day import advance_day

    kernel = lane_kernel(advance_day, LANE_ARRAYS)

    def advance(day: int, step_s: float, weather: WeatherArrays, block: Array) -> None:
        kernel.function(day, step_s, weather.pressure_pa, *_arrays(weather), block)

    return Form(LANES, kernel.rows, kernel.function, advance)


def _arrays(weather: WeatherArrays) -> tuple[Array, Array, Array, Array, Array]:
    return (weather.dry_bulb_c, weather.humidity_ratio, weather.wind_m_s, weather.ghi_w_m2, weather.facade_w_m2)


def run_house_years(
    wanted: Sequence[HouseYear],
    weathers: Sequence[WeatherArrays],
    step_s: float,
    progress: Progress | None = None,
    threads: int = 2,
) -> tuple[Array, Array]:
    """Monthly sums `[T, 12, len(SUMS)]` and the balances of water and heat `[T, 2]` of T house-years.

    `step_s` divides 3,600. `progress(done)` hears 0 to 1 between days, from the calling thread, and stops the run by
    returning True: then `Cancelled` is raised.
    """
    months, balances = np.zeros((len(wanted), 12, len(SUMS))), np.zeros((len(wanted), 2))
    groups = grouped([one.weather for one in wanted])
    stop, days = Event(), np.zeros(len(groups), dtype=np.int64)

    def run(index: int) -> None:
        members = groups[index]
        form = single_form() if len(members) == 1 else lane_form()
        padded = [*members, *[members[-1]] * (form.lanes - len(members))]
        rows = np.stack([wanted[one].parameters for one in padded], axis=1)
        surfaces = np.stack([wanted[one].surfaces for one in padded], axis=1)

        def tick() -> None:
            days[index] += 1
            if stop.is_set():
                raise Cancelled("The year was stopped.")

        weather = weathers[wanted[members[0]].weather]
        found, closing = one_year(form, rows, surfaces, weather, step_s, tick)
        for lane, one in enumerate(members):
            months[one], balances[one] = found[lane], closing[lane]

    for form in {single_form() if len(one) == 1 else lane_form() for one in groups}:
        form.advance(
            0, step_s, weathers[0], np.zeros(form.rows * form.lanes)
        )  # compiled once, before the threads start
    with ThreadPoolExecutor(max_workers=max(threads, 1)) as pool:
        pending: set[Future[None]] = {pool.submit(run, index) for index in range(len(groups))}
        try:
            while pending:
                finished, pending = wait(pending, LISTENING_S, FIRST_COMPLETED)
                for one in finished:
                    one.result()
                if progress is not None and progress(float(days.sum()) / (len(groups) * (WARM_UP_DAYS + 365))):
                    raise Cancelled("The year was stopped before it was finished: run it again for the answer.")
        finally:
            stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
    return months, balances


def grouped(weather_of: Sequence[int]) -> list[list[int]]:
    """House-years (their places) in groups of one weather: full ones, then the rest, singly where they are few."""
    by_weather: dict[int, list[int]] = {}
    for place, weather in enumerate(weather_of):
        by_weather.setdefault(weather, []).append(place)
    groups = []
    for places in by_weather.values():
        for start in range(0, len(places), LANES):
            group = places[start : start + LANES]
            groups += [[one] for one in group] if len(group) <= SINGLY else [group]
    return groups


def one_year(
    form: Form, rows: Array, surfaces: Array, weather: WeatherArrays, step_s: float, tick: Callable[[], None]
) -> tuple[Array, Array]:
    """Monthly sums `[lanes, 12, len(SUMS)]` and balances `[lanes, 2]`; `rows` and `surfaces` are `[values, lanes]`.

    Two weeks of the year's end come first, so that the house has settled. `tick` is called after every day.
    """
    block = np.zeros(form.rows * form.lanes)
    state, sums = form.part("state", block), form.part("sums", block)
    form.part("parameters", block)[:], form.part("surfaces", block)[:] = rows, surfaces
    state[:] = first_state(rows, weather)
    for day in range(365 - WARM_UP_DAYS, 365):
        form.advance(day, step_s, weather, block)
        tick()
    before = held(rows, state, weather.pressure_pa)
    months = np.zeros((12, len(SUMS), form.lanes))
    day = 0
    for month, length in enumerate(DAYS_OF_MONTH):
        sums[:] = 0.0
        sums[[SUMS.index("least_suction_c"), SUMS.index("least_supply_c")]] = 99.0
        for _ in range(length):
            form.advance(day, step_s, weather, block)
            tick()
            day += 1
        months[month] = sums
    change = held(rows, state, weather.pressure_pa) - before
    total = dict(zip(SUMS, over_months(months, 0), strict=True))
    water = (total["water_in_kg"] - total["water_out_kg"] - change[0]) / total["water_absolute_kg"]
    heat = (total["heat_in_j"] - change[1]) / total["heat_absolute_j"]
    return np.moveaxis(months, 2, 0), np.stack([water, heat], axis=1)


def over_months(values: Array, axis: int) -> Array:
    """Sum over the twelve months, always one after the other: numpy's own order depends on the array's shape."""
    total = np.take(values, 0, axis=axis)
    for month in range(1, 12):
        total = total + np.take(values, month, axis=axis)
    return np.asarray(total)


def first_state(rows: Array, weather: WeatherArrays) -> Array:
    """State `[len(STATE), lanes]` before the warm-up, of parameters `[len(PARAMETERS), lanes]`."""
    outdoor = float(weather.dry_bulb_c[-1])
    room = np.clip(outdoor, rows[PARAMETERS.index("heating_set_c")], rows[PARAMETERS.index("cooling_set_c")])
    humidity = min(float(weather.humidity_ratio[-1]), 0.010)
    first = {"air_c": room, "mass_c": room, "attic_c": outdoor, "humidity": humidity, "buffer_humidity": humidity,
             "deep_humidity": humidity, "held_s": 3600.0, "wet_bulb_c": 15.0, "suction_c": 7.0, "sensor_c": 10.0,
             "time_off_s": 3600.0}  # fmt: skip
    return np.array([np.broadcast_to(first.get(name, 0.0), room.shape) for name in STATE])


def held(rows: Array, state: Array, pressure_pa: float) -> Array:
    """Water (kg, frost with it) and heat (J) held by the house and its coil, `[2, lanes]`."""
    from airtrim.physics.season.day import room_air_kg

    p = dict(zip(PARAMETERS, rows, strict=True))
    s = dict(zip(STATE, state, strict=True))
    water = (
        np.array([room_air_kg(volume, pressure_pa) for volume in p["volume_m3"]]) * s["humidity"]
        + p["moisture_buffer_kg"] * s["buffer_humidity"]
        + p["deep_buffer_kg"] * s["deep_humidity"]
        + s["held_water_kg"]
        + s["frost_kg"]
    )
    return np.stack([water, p["air_capacity_j_k"] * s["air_c"] + p["mass_capacity_j_k"] * s["mass_c"]])
