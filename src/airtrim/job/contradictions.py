"""Readings that cannot stand together: which two, where they are in the file, and what each would imply.

Only what is impossible is refused; what is merely unlikely is asked by work/readings.
"""

from collections.abc import Callable
from datetime import datetime

from airtrim.core.errors import JobError
from airtrim.job.measured import Measured
from airtrim.job.model import Job, Readings

Line = Callable[[int, str], int | None]
#: Two thermometers may part by this much, K (1.3 F and 0.1 % each [title24ra3]): a wet-bulb so little above the dry-bulb is air
#: near saturation.
TWO_THERMOMETERS_K = 1.5


def check_readings(job: Job, where: str, line_of: Line) -> None:
    """Raise `JobError` at the first contradiction; `line_of(index, key)` finds the line of a key in the file."""
    for index, reading in enumerate(job.readings):

        def place(key: str, index: int = index) -> str:
            return f"{where}, line {line_of(index, key)}, readings.{index + 1}.{key}"

        _air(reading, place)
        _order(reading, place)
        _parts(reading, place)
        if index:
            _after(job.readings[index - 1], reading, place)


def _air(reading: Readings, place: Callable[[str], str]) -> None:
    for where in ("return", "grille", "supply"):
        wet, dry = getattr(reading, f"{where}_wet_bulb"), getattr(reading, f"{where}_dry_bulb")
        if wet is not None and dry is not None and wet.si > dry.si + TWO_THERMOMETERS_K:
            raise JobError(
                f"{place(f'{where}_wet_bulb')}: {wet.text} wet-bulb is above {dry.text} dry-bulb ({where}_dry_bulb), which cannot "
                "be: the two may be swapped, or the wick dry."
            )
    back, out = reading.return_dry_bulb, reading.supply_dry_bulb
    if back is not None and out is not None:
        if reading.operation == "cooling" and out.si >= back.si:
            raise JobError(
                f"{place('supply_dry_bulb')}: supply {out.text} is not colder than return {back.text} (return_dry_bulb) while "
                'cooling: swap them, read again once the system cools, or write operation = "heating".'
            )
        if reading.operation == "heating" and out.si <= back.si:
            raise JobError(
                f"{place('supply_dry_bulb')}: supply {out.text} is not warmer than return {back.text} (return_dry_bulb) while "
                "heating: swap them, or read again once the heat is on."
            )
    suction = reading.saturated_suction
    if suction is not None and out is not None and reading.operation == "cooling" and suction.si > out.si:
        raise JobError(
            f"{place('saturated_suction')}: saturated suction {suction.text} is warmer than supply air {out.text} "
            "(supply_dry_bulb), which cannot be: check gauge, refrigerant and thermometer."
        )


def _order(reading: Readings, place: Callable[[str], str]) -> None:
    for first, second in zip(reading.log, reading.log[1:], strict=False):
        if second.at.si == first.at.si:
            raise JobError(f"{place('log')}: two rows stand at {second.at.text}; leave one out.")
        if second.at.si < first.at.si:
            raise JobError(
                f"{place('log')}: {second.at.text} comes after {first.at.text}; write the rows in the order of time."
            )


def _parts(reading: Readings, place: Callable[[str], str]) -> None:
    if reading.supply_dry_bulb is not None and reading.supply_dry_bulbs:
        raise JobError(f"{place('supply_dry_bulbs')}: supply_dry_bulb is given as well; leave one of the two out.")
    both = reading.return_wet_bulb is not None and reading.return_relative_humidity is not None
    if both and reading.return_dry_bulb is None:
        raise JobError(f"{place('return_wet_bulb')}: wet-bulb and RH without return_dry_bulb; add the dry-bulb.")
    for number, one in enumerate(reading.traverses, start=1):
        at = f"{place('traverses')}.{number}"
        needed = ("width", "height") if one.shape == "rectangular" else ("diameter",)
        for name in needed:
            if getattr(one, name) is None:
                raise JobError(f"{at}: a {one.shape} duct needs {' and '.join(needed)} inside; add {name}.")
        if bool(one.velocities) == bool(one.velocity_pressures):
            raise JobError(f"{at}: give velocities or velocity_pressures, one of the two, a list for each line.")
    for number, grille in enumerate(reading.grilles, start=1):
        by_speed = grille.velocity is not None and grille.free_area is not None
        if grille.airflow is None and not by_speed:
            raise JobError(
                f"{place('grilles')}.{number}: {grille.name} has no airflow; give airflow, or velocity and free_area."
            )
    plate = reading.plate
    if plate is not None:
        if (plate.airflow_at_1_pa is None) == (plate.open_area is None):
            raise JobError(f"{place('plate')}: give airflow_at_1_pa, or open_area, one of the two.")
        if (plate.supply_static_with is None) != (plate.supply_static_without is None):
            raise JobError(
                f"{place('plate')}: supply_static_with and supply_static_without go together; add the other one."
            )
    known = reading.known_point
    if known is not None and known.speed is None and known.static is None:
        raise JobError(f"{place('known_point')}: an airflow alone scales to nothing; add its speed or its static.")


def _after(before: Readings, reading: Readings, place: Callable[[str], str]) -> None:
    if before.time is None or reading.time is None:
        return
    first, second = datetime.fromisoformat(before.time), datetime.fromisoformat(reading.time)
    if second < first:
        raise JobError(
            f"{place('time')}: {reading.time} lies before the reading above it ({before.time}); put them in the order of time."
        )
    same = (before.operation, before.tap) == (reading.operation, reading.tap)
    if second == first and same and _doubled(before, reading):
        raise JobError(
            f"{place('time')}: {', '.join(_doubled(before, reading))} stand twice at {reading.time}; leave one reading out."
        )


def _doubled(before: Readings, reading: Readings) -> list[str]:
    """Readings that both hold."""
    return [
        name
        for name in type(reading).model_fields
        if isinstance(getattr(reading, name), Measured) and isinstance(getattr(before, name), Measured)
    ]
