"""House-years on the workers of a dask.distributed client: the bits of one machine, and no half answers."""

import dataclasses

import numpy as np
import pytest

from airtrim.core.errors import Cancelled, OutOfRangeError
from airtrim.physics.season import machines
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from tests.physics.season.season_cases import humid_year, invented_systems

distributed = pytest.importorskip("distributed")
PROGRAMS = [AirflowProgram(), AirflowProgram(cooling_flow=0.8, least_flow=0.6, coil_sensor_drop_k=14.0)]


@pytest.fixture(scope="module")
def client():
    """A scheduler and two workers in this process: what they are sent still goes through pickle when `inproc` is not used."""
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=2, processes=False, protocol="tcp://", dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as found,
    ):
        yield found


def test_workers_give_the_bits_of_one_machine(client, monkeypatch):
    monkeypatch.setattr(machines, "CHUNK", 8)
    systems, year = invented_systems(5), humid_year()
    warmer = dataclasses.replace(year, dry_bulb_c=year.dry_bulb_c + 1.0)
    heard: list[float] = []
    here = run_years(systems, PROGRAMS, [year, warmer], 60.0, by_hour=True)
    there = run_years(systems, PROGRAMS, [year, warmer], 60.0, by_hour=True, client=client, progress=heard.append)
    assert heard[-1] == 1.0 and heard == sorted(heard)
    compared = 0
    for field in dataclasses.fields(here):
        ours, theirs = getattr(here, field.name), getattr(there, field.name)
        if isinstance(ours, np.ndarray):
            np.testing.assert_array_equal(theirs, ours, strict=True)
            compared += 1
    assert compared > 10


def test_a_run_on_workers_can_be_stopped(client):
    with pytest.raises(Cancelled, match="stopped"):
        run_years(invented_systems(2), PROGRAMS[:1], humid_year(), 60.0, client=client, progress=lambda done: True)


def test_what_a_worker_raises_reaches_the_caller(client, monkeypatch):
    def failing(*given):
        raise ValueError("a worker's trouble")

    monkeypatch.setattr(machines, "run_house_years", failing)
    with pytest.raises(ValueError, match="a worker's trouble"):
        run_years(invented_systems(2), PROGRAMS[:1], humid_year(), 60.0, client=client)


def test_a_client_without_workers_is_refused_in_a_sentence():
    class Lonely:
        def ncores(self):
            return {}

    with pytest.raises(OutOfRangeError, match="no workers: start one"):
        run_years(invented_systems(2), PROGRAMS[:1], humid_year(), 60.0, client=Lonely())


def test_chunks_hold_whole_groups_of_one_weather(monkeypatch):
    monkeypatch.setattr(machines, "CHUNK", 16)
    chunks = machines._chunks([0] * 40 + [1] * 3)
    assert [len(one) for one in chunks] == [16, 16, 8, 3]
    assert sorted(place for one in chunks for place in one) == list(range(43))
