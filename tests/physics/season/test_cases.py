"""Cases with samples of their own, run together: the same bits as each by itself."""

from dataclasses import fields, replace

import numpy as np
import pytest

from airtrim.core.errors import OutOfRangeError
from airtrim.physics.season.cases import Case, run_cases
from airtrim.physics.season.system import AirflowProgram
from airtrim.physics.season.year import run_years
from tests.physics.season.season_cases import humid_year, invented_systems

AUTO = AirflowProgram()


def test_each_case_gives_the_bits_it_gives_alone():
    house = invented_systems(3)
    sealed = replace(
        house, return_leak=0.3 * house.return_leak, dehumidifier_kg_s=np.full(3, 3e-4), dehumidifier_w=np.full(3, 500.0)
    )
    slow = AirflowProgram(cooling_flow=0.8, least_flow=0.8, greatest_flow=0.8, dehumidifier_set=0.55)
    watts = 0.6 * house.fan_watts
    together = run_cases([Case(house, AUTO), Case(sealed, slow, watts)], humid_year(), 60.0, by_hour=True, hourly=True)
    alone = [
        run_years(house, [AUTO], humid_year(), 60.0, by_hour=True, hourly=True),
        run_years(sealed, [slow], humid_year(), 60.0, [watts], by_hour=True, hourly=True),
    ]
    for m, one in enumerate(alone):
        for field in fields(one):
            if field.name != "details":
                np.testing.assert_array_equal(getattr(together, field.name)[:, m], getattr(one, field.name)[:, 0])
        for kind in ("by_hour", "hourly"):
            for name, values in getattr(one.details, kind).items():
                np.testing.assert_array_equal(getattr(together.details, kind)[name][:, m], values[:, 0])


def test_cases_of_different_numbers_of_systems_are_refused():
    with pytest.raises(OutOfRangeError, match=r"hold \[1, 2\] systems: give all cases the same number"):
        run_cases([Case(invented_systems(1), AUTO), Case(invented_systems(2), AUTO)], humid_year(), 60.0)
    with pytest.raises(OutOfRangeError, match="No airflow program"):
        run_cases([], humid_year(), 60.0)
