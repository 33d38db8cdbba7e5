"""The same house-years on the workers of a dask.distributed client: many machines, or processes of this one.

A task is a chunk of up to CHUNK house-years under one weather, in whole groups of lanes, and carries all it needs: a lost worker's
chunk is run again elsewhere. Results are those of one machine to the last bit, whatever the workers, since each house-year is
computed alone. No more than AHEAD chunks for each worker thread are under way, so the scheduler's memory is bounded however many
house-years are asked for; the caller keeps the results. A chunk of CHUNK sends about 3 MB and brings back about 1 MB.
"""

from collections.abc import Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import replace
from typing import Any, Final, Protocol

from airtrim.core.errors import Cancelled, OutOfRangeError
from airtrim.core.lanes.write import LANES
from airtrim.physics.season.many import (
    LISTENING_S,
    Asked,
    HouseYear,
    Progress,
    Told,
    grouped,
    run_house_years,
)
from airtrim.physics.season.system import WeatherArrays

#: House-years of one task: about half a minute of one core at 10 s, so that sending it does not show.
CHUNK: Final = 32 * LANES
AHEAD: Final = 2
#: How often a chunk is tried on another worker when its own is lost.
RETRIES: Final = 3


class Client(Protocol):
    """What is used of `distributed.Client`."""

    def get_executor(self, **options: Any) -> Executor: ...

    def ncores(self) -> dict[str, int]: ...


def run_on_machines(
    client: Client,
    wanted: Sequence[HouseYear],
    weathers: Sequence[WeatherArrays],
    step_s: float,
    progress: Progress | None,
    asked: Asked,
) -> Told:
    """Run T house-years on the client's workers; arguments, `Told` and the bits of the result as of `many.run_house_years`.

    `progress` hears the part of the chunks that are done; when it stops the run, chunks under way run to their end on their workers
    and are dropped. Raises OutOfRangeError where the client has no workers, and what a worker raised.
    """
    threads = sum(client.ncores().values())
    if threads == 0:
        raise OutOfRangeError("The dask client has no workers: start one that reaches its scheduler, then run again.")
    told = Told.room_for(len(wanted), asked, step_s)
    waiting = _chunks([one.weather for one in wanted])
    count, done = len(waiting), 0
    waiting.reverse()
    under_way: dict[Future[Told], list[int]] = {}
    executor = client.get_executor(pure=False, retries=RETRIES)
    try:
        while waiting or under_way:
            while waiting and len(under_way) < AHEAD * threads:
                members = waiting.pop()
                chunk = [wanted[one] for one in members]
                under_way[executor.submit(_chunk, chunk, weathers[chunk[0].weather], step_s, asked)] = members
            for future in wait(under_way, LISTENING_S, FIRST_COMPLETED).done:
                members = under_way.pop(future)
                for whole, part in zip(vars(told).values(), vars(future.result()).values(), strict=True):
                    whole[members] = part
                done += 1
            if progress is not None and progress(done / count):
                raise Cancelled("The year was stopped before it was finished: run it again for the answer.")
    finally:
        for future in under_way:
            future.cancel()
        executor.shutdown(wait=False)
    return told


def _chunks(weather_of: Sequence[int]) -> list[list[int]]:
    """Groups of lanes of one weather, joined while a chunk has room."""
    chunks: list[list[int]] = []
    for group in grouped(weather_of):
        last = chunks[-1] if chunks else []
        if last and len(last) + len(group) <= CHUNK and weather_of[last[0]] == weather_of[group[0]]:
            last.extend(group)
        else:
            chunks.append(list(group))
    return chunks


def _chunk(chunk: list[HouseYear], weather: WeatherArrays, step_s: float, asked: Asked) -> Told:
    """On a worker, whose own threads are the cores."""
    return run_house_years([replace(one, weather=0) for one in chunk], [weather], step_s, None, 1, asked)
