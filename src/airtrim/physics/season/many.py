"""Many house-years at once: side by side in the processor's lanes, in groups over the cores, a day at a time.

House-years are put into groups of `LANES` under one weather; a last group is padded with copies of its last one, and one of no
more than `SINGLY` runs in the readable form of the hour. Both forms do the same operations in the same order, so a house-year
gives the same bits alone, in any group, in any order and on any number of cores, and none can spoil another.

Memory: a block of `rows` x LANES numbers for each core (about 80 kB), and for each house-year its parameters, its settings by hour,
twelve months of sums and the year's figures: about 10 kB, with 3 kB for each system (6 kB with two stages). Only where asked
for: 32 kB more for sums by month and hour of the day, 140 kB for 8,760 hourly means, 7 MB for each day told step by step at
10 s. `benchmarks/bench_season.py` measures it.
"""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import accumulate
from threading import Event
from types import SimpleNamespace
from typing import Any, Final

import numpy as np

from airtrim.core.ahead import compile_ahead, is_under_way, wait_for
from airtrim.core.errors import Cancelled
from airtrim.core.lanes.write import LANES, lane_kernel
from airtrim.physics.house.habits import HOURS
from airtrim.physics.season.layout import BY_HOUR, GREATEST, LEAST, MONTHLY, PARAMETERS, SETTINGS, STATE, SUMS
from airtrim.physics.season.system import Array, WeatherArrays
from airtrim.physics.season.watch import CARRIED, begin_hour, end_hour
from airtrim.physics.season.weeks import DAYS_OF_MONTH as DAYS_OF_MONTH
from airtrim.physics.season.weeks import WARM_UP_DAYS as WARM_UP_DAYS
from airtrim.physics.season.weeks import WHOLE_YEAR, Calendar
from airtrim.physics.unit.surface import SURFACE_SIZE

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
    "low_surfaces": SURFACE_SIZE,
}
#: Places in a month's row of what is added up, and so grows with the days that stand for others.
_ADDED: Final = [MONTHLY.index(name) for name in MONTHLY if name not in (*LEAST, *GREATEST) and "_peak" not in name]
#: What moves while a house rests.
MOVING: Final = (
    "air_c", "mass_c", "heavy_c", "attic_c", "humidity", "buffer_humidity", "deep_humidity", "held_water_kg", "held_s",
    "time_off_s",
)  # fmt: skip
Progress = Callable[[float], bool | None]


@dataclass(frozen=True)
class HouseYear:
    """One house-year to run: a row of parameters and of surfaces [values], settings [24, values], and which weather.

    `low_surfaces` is empty for a unit of one stage.
    """

    parameters: Array
    surfaces: Array
    settings: Array
    weather: int
    low_surfaces: Array = field(default_factory=lambda: np.zeros(SURFACE_SIZE))


@dataclass(frozen=True)
class Asked:
    """What is wanted beside the sums: by month and hour of the day, hourly means, days of the year (0 to 364) step by step."""

    by_hour: bool = False
    hourly: bool = False
    days: tuple[int, ...] = ()


@dataclass(frozen=True)
class Told:
    """Of T house-years: sums by month `[T, 12, len(MONTHLY)]` and the balances of water and heat `[T, 2]`.

    Where asked for `by_hour` `[T, 12, 24, len(BY_HOUR)]`, `hourly` `[T, 8760, 2]` (mean temperature degC, relative humidity), and
    of each day the state after every step `states` `[T, days, steps, len(STATE)]` and what the step added `added`
    `[T, days, steps, len(SUMS)]`; else these are of length 0 from the second axis on.
    """

    months: Array
    balances: Array
    by_hour: Array
    hourly: Array
    states: Array
    added: Array

    @classmethod
    def room_for(cls, count: int, asked: Asked, step_s: float) -> "Told":
        steps = round(86400.0 / step_s)
        return cls(
            np.zeros((count, 12, len(MONTHLY))),
            np.zeros((count, 2)),
            np.zeros((count, 12 * asked.by_hour, HOURS, len(BY_HOUR))),
            np.zeros((count, 8760 * asked.hourly, 2)),
            np.zeros((count, len(asked.days), steps, len(STATE))),
            np.zeros((count, len(asked.days), steps, len(SUMS))),
        )


@dataclass(frozen=True)
class Form:
    """The kernels for `lanes` house-years at once, that lie in one flat block.

    `hour(day, hour, first, last, step_s, weather ..., block)` and `day(day, month, step_s, weather ..., lanes, settings, block,
    months, watched, by_hour, hourly)`, the weather as `weather_arguments` gives it.
    """

    lanes: int
    rows: int
    hour: Callable[..., Any]
    day: Callable[..., Any]
    kernel: Callable[..., Any]

    def part(self, name: str, block: Array) -> Array:
        """One of LANE_ARRAYS as a view `[length, lanes]` of the block."""
        start = _FIRST[name] * self.lanes
        return block[start : start + LANE_ARRAYS[name] * self.lanes].reshape(-1, self.lanes)


_FIRST: Final[Mapping[str, int]] = dict(zip(LANE_ARRAYS, accumulate(LANE_ARRAYS.values(), initial=0), strict=False))


@lru_cache(maxsize=1)
def single_form() -> Form:
    """The readable kernel itself."""
    from airtrim.physics.season.day import advance_day, advance_hour

    def hour(*given: Any) -> None:
        block = given[-1]
        parts = {name: block[_FIRST[name] : _FIRST[name] + length] for name, length in LANE_ARRAYS.items()}
        order = ("parameters", "surfaces", "low_surfaces", "state", "sums")
        advance_hour(*given[:-1], *(parts[name] for name in order))

    return Form(1, sum(LANE_ARRAYS.values()), hour, advance_day, advance_hour)


@lru_cache(maxsize=1)
def lane_form() -> Form:
    """The form written from the readable kernel for LANES at once."""
    from airtrim.physics.season.day import advance_day, advance_hour

    kernel = lane_kernel(advance_hour, LANE_ARRAYS, advance_day)
    return Form(LANES, kernel.rows, kernel.function, kernel.around, kernel.function)


def weather_arguments(weather: WeatherArrays) -> tuple[Any, ...]:
    """Pressure, the ground's temperature, and the hourly arrays, in the kernels' order."""
    return (weather.pressure_pa, float(np.mean(weather.dry_bulb_c)), weather.dry_bulb_c, weather.humidity_ratio,
            weather.wind_m_s, weather.ghi_w_m2, weather.facade_w_m2)  # fmt: skip


def run_house_years(
    wanted: Sequence[HouseYear],
    weathers: Sequence[WeatherArrays],
    step_s: float,
    progress: Progress | None = None,
    threads: int = 2,
    asked: Asked | None = None,
    calendar: Calendar = WHOLE_YEAR,
) -> Told:
    """Run T house-years, or the days of a `calendar` in their place; see `Told`.

    `step_s` divides 3,600. `progress(done)` hears 0 to 1 between days, from the calling thread, and stops the run by
    returning True: then `Cancelled` is raised.
    """
    asked = asked or Asked()
    told = Told.room_for(len(wanted), asked, step_s)
    groups = grouped([one.weather for one in wanted])
    stop, days = Event(), np.zeros(len(groups), dtype=np.int64)

    def run(index: int) -> None:
        members = groups[index]
        form = single_form() if len(members) == 1 else lane_form()
        padded = [wanted[one] for one in [*members, *[members[-1]] * (form.lanes - len(members))]]

        def tick() -> None:
            days[index] += 1
            if stop.is_set():
                raise Cancelled("The year was stopped.")

        found = one_year(form, padded, weathers[padded[0].weather], step_s, tick, asked, calendar)
        for whole, part in zip(vars(told).values(), vars(found).values(), strict=True):
            whole[members] = part[: len(members)]

    for single in {len(one) == 1 for one in groups}:
        wait_for(__name__, "compile_single" if single else "compile_lanes")
        _compile(single_form() if single else lane_form(), weathers[0], step_s)
    with ThreadPoolExecutor(max_workers=max(threads, 1)) as pool:
        pending: set[Future[None]] = {pool.submit(run, index) for index in range(len(groups))}
        try:
            while pending:
                finished, pending = wait(pending, LISTENING_S, FIRST_COMPLETED)
                for one in finished:
                    one.result()
                if progress is not None and progress(float(days.sum()) / (len(groups) * len(calendar.days))):
                    raise Cancelled("The year was stopped before it was finished: run it again for the answer.")
        finally:
            stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
    return told


def _compile(form: Form, weather: WeatherArrays, step_s: float) -> None:
    """Before the threads start."""
    _Run(form, np.zeros((len(PARAMETERS), form.lanes)), weather, step_s, Asked()).whole_day(0, -1)


def compile_years_ahead(lanes: bool) -> None:
    """Have the year compiled beside what comes before it: in lanes for many house-years, else for one or two.

    While lanes are being compiled the single form is not: it is seldom wanted then.
    """
    if lanes:
        compile_ahead(__name__, "compile_lanes")
    elif not is_under_way(__name__, "compile_lanes"):
        compile_ahead(__name__, "compile_single")


def compile_single() -> None:
    _compile(single_form(), _still_weather(), 10.0)


def compile_lanes() -> None:
    _compile(lane_form(), _still_weather(), 10.0)


def _still_weather() -> Any:
    """Weather of the right kind to compile for."""
    hours = {name: np.full(8760, 0.01) for name in ("dry_bulb_c", "humidity_ratio", "wind_m_s", "ghi_w_m2")}
    return SimpleNamespace(pressure_pa=101325.0, facade_w_m2=np.zeros((8760, 4)), **hours)


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


class _Run:
    """A group on its way through the year: its block and what it is told into."""

    def __init__(self, form: Form, rows: Array, weather: WeatherArrays, step_s: float, asked: Asked) -> None:
        self.form, self.weather, self.step_s, self.asked = form, weather_arguments(weather), step_s, asked
        lanes = form.lanes
        self.block = np.zeros(form.rows * lanes)
        self.state, self.sums = form.part("state", self.block), form.part("sums", self.block)
        form.part("parameters", self.block)[:] = rows
        self.state[:] = first_state(rows, weather)
        self.settings = np.zeros((HOURS, len(SETTINGS), lanes))
        self.months = np.zeros((12, len(MONTHLY), lanes))
        for name in LEAST:
            self.months[:, MONTHLY.index(name)] = 99.0
        self.watched = np.zeros((len(CARRIED), lanes))
        self.by_hour = np.zeros((12 * asked.by_hour, HOURS, len(BY_HOUR), lanes))
        self.hourly = np.zeros((8760 * asked.hourly, 2, lanes))
        steps = round(86400.0 / step_s)
        self.states = np.zeros((len(asked.days), steps, len(STATE), lanes))
        self.added = np.zeros((len(asked.days), steps, len(SUMS), lanes))

    def whole_day(self, day: int, month: int) -> None:
        """Advance by a day; `month` -1 while the house settles."""
        if month >= 0 and day in self.asked.days:
            self._step_by_step(day, month)
            return
        self.form.day(day, month, self.step_s, *self.weather, self.form.lanes, self.settings, self.block, self.months,
                      self.watched, self.by_hour, self.hourly)  # fmt: skip

    def _step_by_step(self, day: int, month: int) -> None:
        """The same steps, looked at after each; within a resting house's longer step what moves is told as moving evenly."""
        place, per_hour, lanes = self.asked.days.index(day), round(3600.0 / self.step_s), self.form.lanes
        done = self.state[STATE.index("done_steps")]
        moving = [STATE.index(name) for name in MOVING]
        for hour in range(HOURS):
            begin_hour(hour, lanes, self.settings, self.block)
            reached = np.zeros(lanes, dtype=np.int64)
            for turn in range(per_hour):
                state, sums = self.state.copy(), self.sums.copy()
                self.form.hour(day, hour, turn, turn + 1, self.step_s, *self.weather, self.block)
                for lane, (start, end) in enumerate(zip(reached, done.astype(np.int64), strict=True)):
                    steps = slice(hour * per_hour + start, hour * per_hour + end)
                    parts = np.arange(1, end - start + 1)[:, None] / max(end - start, 1)
                    self.states[place, steps, :, lane] = self.state[:, lane]
                    self.states[place, steps, moving, lane] = (
                        state[moving, lane] + parts * (self.state[moving, lane] - state[moving, lane])
                    ).T
                    self.added[place, steps, :, lane] = (self.sums[:, lane] - sums[:, lane]) / max(end - start, 1)
                reached = done.astype(np.int64)
                if reached.min() >= per_hour:
                    break
            end_hour(day, month, hour, lanes, self.weather[0], self.weather[2], self.block, self.months, self.watched,
                     self.by_hour, self.hourly)  # fmt: skip


def one_year(
    form: Form,
    wanted: Sequence[HouseYear],
    weather: WeatherArrays,
    step_s: float,
    tick: Callable[[], None],
    asked: Asked,
    calendar: Calendar = WHOLE_YEAR,
) -> Told:
    """A year of as many house-years as the form has lanes. `tick` is called after every day.

    Two weeks of the year's end come first, so that the house has settled. Balances are NaN where not every day is run.
    """
    rows = np.stack([one.parameters for one in wanted], axis=1)
    run = _Run(form, rows, weather, step_s, asked)
    form.part("surfaces", run.block)[:] = np.stack([one.surfaces for one in wanted], axis=1)
    form.part("low_surfaces", run.block)[:] = np.stack([one.low_surfaces for one in wanted], axis=1)
    run.settings[:] = np.stack([one.settings for one in wanted], axis=2)
    before = held(rows, run.state, weather.pressure_pa)
    for place, (day, month) in enumerate(calendar.days):
        if place == calendar.settling:
            before = held(rows, run.state, weather.pressure_pa)
        run.whole_day(day, month)
        tick()
    if calendar is not WHOLE_YEAR:
        run.months[:, _ADDED] *= np.asarray(calendar.weights)[:, None, None]
    change = held(rows, run.state, weather.pressure_pa) - before
    total = dict(zip(MONTHLY, over_months(run.months, 0), strict=True))
    water = (total["water_in_kg"] - total["water_out_kg"] - change[0]) / total["water_absolute_kg"]
    heat = (total["heat_in_j"] - change[1]) / total["heat_absolute_j"]
    balances = np.stack([water, heat], axis=1) if calendar is WHOLE_YEAR else np.full((form.lanes, 2), np.nan)
    parts = (run.by_hour, run.hourly, run.states, run.added)
    return Told(np.moveaxis(run.months, 2, 0), balances, *(np.moveaxis(one, -1, 0) for one in parts))


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
    first = {"air_c": room, "mass_c": room, "heavy_c": room, "attic_c": outdoor, "humidity": humidity, "buffer_humidity": humidity,
             "deep_humidity": humidity, "held_s": 3600.0, "wet_bulb_c": 15.0, "suction_c": 7.0, "sensor_c": 10.0,
             "time_off_s": 3600.0, "relative_humidity": 0.5}  # fmt: skip
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
    heat = (
        p["air_capacity_j_k"] * s["air_c"]
        + p["mass_capacity_j_k"] * s["mass_c"]
        + p["heavy_capacity_j_k"] * s["heavy_c"]
    )
    return np.stack([water, heat])
